"""Killed at any moment, the journal holds every entry that was reported as kept, and none twice."""

import os
from pathlib import Path

import pytest

from tests.journal_http_kills import kill_servers
from tests.journal_kills import kill_writers

pytestmark = pytest.mark.slow

KILLS = 40  # `python -m tests.bench.journal_kills` does a thousand


def test_no_kill_loses_an_entry(tmp_path: Path) -> None:
    """Writers are killed in the middle of their work; whoever comes after them reads and goes on writing."""
    outcome = kill_writers(tmp_path, KILLS)
    assert (outcome.kills, outcome.lost, outcome.twice) == (KILLS, 0, 0)
    assert outcome.told > KILLS, "the writers were killed before they wrote"


@pytest.mark.skipif(not hasattr(os, "fork"), reason="servers are forked")
def test_no_kill_of_the_server_loses_a_tap_that_was_answered(tmp_path: Path) -> None:
    """Three phones tap while the server is killed: what was answered as saved is there, nothing twice."""
    outcome = kill_servers(tmp_path, KILLS)
    assert (outcome.kills, outcome.lost, outcome.twice) == (KILLS, 0, 0)
    assert min(outcome.saved, outcome.cut) >= KILLS / 2, "the servers were not killed in the middle of taps"
