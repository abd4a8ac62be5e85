"""The table of columns: every name leads to one column, and a split lot takes over what it should."""

from __future__ import annotations

from pathlib import Path

import pytest

from tagmaker.intake.cells.plain_text import squash
from tagmaker.intake.columns import COLUMNS, column_named
from tagmaker.lot import JournalMark
from tests.small_sheets import read_rows

# A cell for each column that parents speak for; words in the others.
CELLS = {
    "crop": "lily",
    "variety": "Pale Harbour",
    "form": "oriental",
    "colour": "apricot",
    "cut": "2027-03-21T09:00",
    "stage": "green",
    "per bunch": "5",
    "bulb": "off",
    "storage": "water",
    "field": "50F",
    "surface": "dried",
    "cooler": "porch",
    "place": "rack 2",
    "in cooler": "2027-03-21T12:00",
    "in water": "2027-03-22T09:00",
    "moved": "barn, rack 2 2027-03-22T10:00",
    "use": "stall",
    "tested": "2027-03-22 ok",
    "vase days seen": "2027-03-22: 5",
    "why dumped": "mould",
}
OWN = {"lot", "stems", "gone", "dumped", "needed", "split from", "journal", "note"}


def test_no_name_leads_to_two_columns() -> None:
    """Every synonym is that of one column."""
    words = [
        (squash(word), column.name)
        for column in COLUMNS
        for word in {squash(name) for name in (column.name, *column.synonyms.split(","))}
    ]
    assert len(dict(words)) == len(words)
    assert [column for word, column in words if column_named(word) != column] == []


def test_what_is_a_lots_own() -> None:
    """The columns that a split lot never takes over."""
    assert {column.name for column in COLUMNS if column.inherit is None} == OWN


@pytest.mark.parametrize("crop", ["lily", "tulip"])
def test_a_split_lot_takes_every_blank_cell(tmp_path: Path, crop: str) -> None:
    """All of its parent's facts, and none of what is the parent's own."""
    words = {column.name: "Abc" for column in COLUMNS if column.inherit is not None}
    cells = words | CELLS | {"crop": crop, "form": "double" if crop == "tulip" else ""}
    own = {"gone": "10", "dumped": "10", "needed": "2027-04-10 x 20", "note": "mine", "journal": "K7-5"}
    sheet = read_rows(tmp_path, cells | own, {"split from": "041", "stems": "30"})
    assert [str(problem) for problem in sheet.problems] == []
    parent, child = sheet.lots
    facts = [column.field for column in COLUMNS if column.inherit is not None and column.name != "field"]
    names = [*(name for name in facts if name != "moved"), "moves", "field_c"]
    assert [getattr(child, name) for name in names] == [getattr(parent, name) for name in names]
    assert (child.gone, child.dumped, child.orders, child.note, child.stems) == (0, 0, (), "", 30)
    assert (parent.journal, child.journal) == (JournalMark("K7", 5), None)
