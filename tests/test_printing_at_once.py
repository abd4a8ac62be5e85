"""Two commands and two phones that print on one sheet of labels at the same time."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.printing_at_once import print_at_once

ROUNDS = 5


@pytest.mark.slow
def test_no_label_position_is_printed_on_twice(tmp_path: Path) -> None:
    """Every paper is in the record once, its labels lie where that has them, and no two share a place."""
    outcome = print_at_once(tmp_path, ROUNDS)
    assert (outcome.printings, outcome.papers, outcome.labels) == (4 * ROUNDS, 4 * ROUNDS, 12 * ROUNDS)
    assert (outcome.twice, outcome.elsewhere) == (0, 0)
