"""Killed at any moment, the journal holds every entry that was reported as kept, and none twice."""

from pathlib import Path

import pytest

from tests.journal_kills import kill_writers

pytestmark = pytest.mark.slow

pytestmark = pytest.mark.slow

KILLS = 40  # `python -m tests.bench.journal_kills` does a thousand


def test_no_kill_loses_an_entry(tmp_path: Path) -> None:
    """Writers are killed in the middle of their work; whoever comes after them reads and goes on writing."""
    outcome = kill_writers(tmp_path, KILLS)
    assert (outcome.kills, outcome.lost, outcome.twice) == (KILLS, 0, 0)
    assert outcome.told > KILLS, "the writers were killed before they wrote"
