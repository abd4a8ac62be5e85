"""On every day of a week, all papers, pages and tables say the same of each lot."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, timedelta
from pathlib import Path

import pytest

from tests.one_voice import Said, everything_said, read_on

FIRST = date(2027, 4, 21)
DAYS = [FIRST + timedelta(days=ahead) for ahead in range(7)]
SHEETS = {"demo": "demo_lots/lots.xlsx", "thirty-four lots": "tests/data/thirty_four_lots/lots.csv"}


def disagreeing(said: Mapping[str, Said]) -> dict[str, set[str]]:
    """What is said in two ways: of water, of selling, of what is to be done."""
    found = {
        what: {value for one in said.values() if (value := getattr(one, what)) is not None}
        for what in ("water", "sell", "do")
    }
    return {what: values for what, values in found.items() if len(values) > 1}


@pytest.mark.slow
@pytest.mark.parametrize("day", DAYS, ids=str)
@pytest.mark.parametrize("sheet", SHEETS.values(), ids=list(SHEETS))
def test_every_date_and_instruction_agrees(repository: Path, sheet: str, day: date) -> None:
    """Label, card, list, page and table of each lot, and of each order's bunches."""
    table = dict(everything_said(read_on(repository / sheet, day)))
    assert len(table) > 25
    assert {lot: found for lot, said in table.items() if (found := disagreeing(said))} == {}
