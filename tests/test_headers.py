"""Headers of the lot sheet: what is matched, what is only said, and what is refused."""

from __future__ import annotations

import csv
import io
import random
from collections.abc import Iterable
from functools import cache
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tagmaker.desk.season import Day
from tagmaker.desk.serving import Folder
from tagmaker.errors import InputProblems
from tagmaker.intake.columns import COLUMNS, NAMES
from tagmaker.intake.lots.header import column_meant, find_header
from tagmaker.intake.lots.sheet import LotSheet, read_lots
from tagmaker.intake.settings.farm import read_settings
from tagmaker.storage.crops import crop_table
from tests.small_sheets import NOW, SETTINGS

# A sound row for every column; words in one that is new.
CELLS = {column.name: "Abc" for column in COLUMNS} | {
    "lot": "041",
    "crop": "tulip",
    "variety": "Pale Harbour",
    "form": "single",
    "colour": "apricot",
    "cut": "2027-03-20T09:00",
    "stage": "tight",
    "stems": "120",
    "per bunch": "10",
    "bulb": "off",
    "storage": "dry",
    "field": "60F",
    "surface": "dried",
    "cooler": "porch",
    "place": "rack 2",
    "in cooler": "2027-03-20T12:00",
    "in water": "2027-03-22T09:00",
    "moved": "barn 2027-03-21",
    "tested": "2027-03-22 ok",
    "use": "stall",
    "needed": "2027-04-03",
    "gone": "10",
    "dumped": "10",
    "split from": "",
    "journal": "K7-50",
    "vase days seen": "2027-03-22: 5",
    "why dumped": "mould",
    "note": "mine",
}
BASE = {name: CELLS[name] for name in ("lot", "crop", "cut", "stems")}


def read(folder: Path, rows: Iterable[dict[str, str]], more: str = "") -> LotSheet:
    """A sheet with the headers of its rows as they are."""
    table = list(rows)
    text = io.StringIO()
    writer = csv.writer(text)
    writer.writerows([list(table[0]), *(row.values() for row in table)])
    path = folder / "headers.csv"
    path.write_text(text.getvalue(), encoding="utf-8")
    toml = folder / "headers.toml"
    toml.write_text(SETTINGS + more, encoding="utf-8")
    return read_lots(path, read_settings(toml), crop_table(), NOW)


def said(sheet: LotSheet) -> list[str]:
    """What is said about columns that are not used."""
    return [warning.what for warning in sheet.warnings if "not used" in warning.what]


def refused(folder: Path, header: str, cell: str) -> list[str]:
    """What is said where a sheet with one more column is refused; nothing where it is read."""
    try:
        read(folder, [BASE | {header: cell}])
    except InputProblems as error:
        return [str(problem) for problem in error.problems]
    return []


@pytest.mark.parametrize(
    ("title", "column"),
    [
        ("Needed (date x stems)", "needed"),
        ("Moved to / when", "moved"),
        ("Field (°F)", "field"),
        ("Field temp [F]", "field"),
        ("Cut (date)", "cut"),
        ("Cut: date/time", "cut"),
        ("In cooler (date, time)", "in cooler"),
        ("Bulb (on/off)", "bulb"),
        ("Lot (no)", "lot"),
        ("Lot #", "lot"),
        ("Cut (plan)", None),
        ("Cut (planned date)", None),
        ("Gone (stems)", None),  # the bracket is the name of another column
        ("Cut / in cooler", None),
        ("Cooler (crates)", None),
        ("Bulb supplier", None),
    ],
)
def test_a_header_is_matched_whole_or_without_its_unit(title: str, column: str | None) -> None:
    """A bracket or what follows a slash goes only where it names a unit or a form of writing."""
    assert column_meant(title) == column


def test_the_first_of_two_rows_that_name_as_many_is_the_header() -> None:
    """A row of cells below the header may be made of its words."""
    header = find_header([["x"], ["lot", "cut", "crop"], ["lot", "cut", "crop"]], {})
    assert header is not None
    assert header.row == 1


@pytest.mark.parametrize(
    ("title", "cell", "column"),
    [
        ("Neded", "2027-04-03", "needed"),
        ("In cooller", "2027-03-20", "in cooler"),
        ("Movd", "barn 2027-03-21", "moved"),
        ("Cut (plan) needed", "2027-04-03", "needed"),
        ("Orders (from stall)", "05/06/2027 x 20", "needed"),
        ("Gone (stems)", "40", "gone"),
        ("Stagee", "tight", "stage"),
        ("Split fromm", "040", "split from"),
        ("Varity", "Pale Harbour", "variety"),
    ],
)
def test_a_near_miss_is_a_problem(tmp_path: Path, title: str, cell: str, column: str) -> None:
    """A letter or two off, or around a known name: where its cells read as that column, which is absent."""
    (message,) = refused(tmp_path, title, cell)
    assert message.startswith(
        f"headers.csv, line 1, column {title}: the header must be a known name where its"
    )
    assert f"cells read as {column} (got " in message
    assert f'[columns] {column.replace(" ", "_")} = "{title}"' in message
    ignored = read(tmp_path, [BASE | {title: cell}], f'[columns]\nignore = ["{title}"]\n')
    assert (len(ignored.lots), said(ignored)) == (1, [])


@pytest.mark.parametrize(
    ("title", "cell"),
    [
        ("Bed", "7"),
        ("Bulb supplier", "Smith"),
        ("Price per bunch", "4.50"),
        ("Season", "spring"),
        ("Planted", "2026-10-20"),
        ("", "x"),
    ],
)
def test_other_columns_are_only_said(tmp_path: Path, title: str, cell: str) -> None:
    """On every run, by header or letter; in one line for all."""
    sheet = read(tmp_path, [BASE | {title: cell}])
    assert said(sheet) == [f"{title or 'E'}: not used"]
    assert len(sheet.lots) == 1
    two = read(tmp_path, [BASE | {title: cell, "Picker": "Ann"}])
    assert said(two) == [f"{title or 'E'}, Picker: not used"]
    assert said(read(tmp_path, [BASE | {"Bed": ""}])) == []


def test_the_same_cells_give_the_same_lot_under_headers_with_units(tmp_path: Path) -> None:
    """Orders and moves of such columns count: a lot in water with an order is not one without."""
    cells = {"needed": "2027-04-03 x 100", "moved": "barn 2027-03-21", "in water": "2027-03-22"}
    titles = {"needed": "Needed (date x stems)", "moved": "Moved to / when", "in water": "In water (date)"}
    (plain,) = read(tmp_path, [BASE | cells]).lots
    (lot,) = read(tmp_path, [BASE | {titles[name]: cell for name, cell in cells.items()}]).lots
    assert vars_of(lot) == vars_of(plain)
    assert (len(lot.orders), len(lot.moves), lot.in_water) != (0, 0, None)


def test_the_live_pages_say_it_once(tmp_path: Path) -> None:
    """In the terminal when they start, and again only where it is something else."""
    path, heard = tmp_path / "lots.csv", list[str]()
    day = Day(NOW.date(), NOW)
    folder = Folder(sheet=path, today=day, templates=None, wall=lambda _: NOW, tell=heard.append)
    reader = folder.reader()
    for header in ("Bed", "Bed", "Picker"):
        path.write_text(f"lot,crop,cut,stems,{header}\n041,tulip,2027-03-22,{len(heard) + 100},7\n")
        reader.load()
    assert [line.split(" Say")[0] for line in heard] == [
        "lots.csv: Bed: not used.",
        "lots.csv: Picker: not used.",
    ]


def test_a_near_miss_of_a_column_that_is_there_is_only_said(tmp_path: Path) -> None:
    """Two columns of orders: the plain one counts, the other is named."""
    sheet = read(tmp_path, [BASE | {"needed": "2027-04-03", "Neded": "2027-04-10", "Orders": "2027-04-17"}])
    assert said(sheet) == ["Neded, Orders: not used"]
    assert [len(lot.orders) for lot in sheet.lots] == [1]


@pytest.mark.parametrize("column", [column for column in NAMES if CELLS[column] and column != "note"])
def test_a_header_misspelt_by_one_letter_is_never_silent(tmp_path: Path, column: str) -> None:
    """Each letter left out, doubled, changed or swapped: refused, said, or still the same column."""
    shuffled = random.Random(column)
    wrong = {
        changed
        for at in range(len(column))
        for changed in (
            column[:at] + column[at + 1 :],
            column[:at] + column[at] + column[at:],
            column[:at] + shuffled.choice("abcdefghijklmnopqrstuvwxyz") + column[at + 1 :],
            column[:at] + column[at : at + 2][::-1] + column[at + 2 :],
        )
    }
    for title in sorted(wrong - {column}):
        assert not silent(tmp_path, column, title), title


@pytest.mark.slow
@settings(max_examples=150)
@given(st.sampled_from([column for column in COLUMNS if CELLS[column.name]]), st.data())
def test_a_synonym_misspelt_by_one_letter_is_never_silent(
    tmp_path_factory: pytest.TempPathFactory, column: object, data: st.DataObject
) -> None:
    """The same for every other name of the trade."""
    assert isinstance(column, type(COLUMNS[0]))
    names = [name.strip() for name in column.synonyms.split(",") if len(name.strip()) > 2]
    name = data.draw(st.sampled_from(names))
    at = data.draw(st.integers(0, len(name) - 1))
    letter = data.draw(st.sampled_from("abcdefghijklmnopqrstuvwxyz"))
    assert not silent(tmp_path_factory.getbasetemp(), column.name, name[:at] + letter + name[at + 1 :])


def silent(folder: Path, column: str, title: str) -> bool:
    """Whether a sheet whose column has another title is read without its cells, and nobody says so."""
    row = {title if name == column else name: cell for name, cell in CELLS.items()}
    if len(row) < len(CELLS):
        return False  # the title of another column, which is then there twice
    try:
        sheet = read(folder, [row])
    except InputProblems:
        return False
    if sheet.problems or any(title in words for words in said(sheet)):
        return False
    (lot,) = sheet.lots
    return vars_of(lot) != plain(folder)


@cache
def plain(folder: Path) -> dict[str, object]:
    """What the lot says under the plain names of its columns."""
    (lot,) = read(folder, [CELLS]).lots
    return vars_of(lot)


def vars_of(lot: object) -> dict[str, object]:
    """What a lot says, without the text of its cells."""
    return {name: getattr(lot, name) for name in lot.__slots__ if name != "cells"}  # type: ignore[attr-defined]
