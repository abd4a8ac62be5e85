"""Which sheet of a workbook holds the lots, and what is said of things that a grower may not see."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import openpyxl
import pytest
from openpyxl.styles import Font

from tagmaker.errors import InputProblems
from tagmaker.intake.files.grid import Grid
from tagmaker.intake.lots.sheet import LotSheet, lots_of, read_lots, rows_in
from tagmaker.intake.settings.farm import read_settings
from tagmaker.storage.crops import crop_table
from tests.small_sheets import NOW

Rows = list[list[str | int]]

LOTS: Rows = [["lot", "crop", "cut", "stems"], ["041", "tulip", "2027-03-22", 120]]
DIARY: Rows = [["day", "weather"], ["2027-03-22", "rain"]]
ORDERS: Rows = [["order", "lot", "cut", "crop"], ["A1", "041", "2027-04-10", "tulip"]]


def read(folder: Path, **sheets: Sequence[Sequence[str | int]]) -> LotSheet:
    """A workbook of these sheets, in order."""
    book = openpyxl.Workbook()
    book.remove(book.worksheets[0])
    for name, rows in sheets.items():
        sheet = book.create_sheet(name)
        for row in rows:
            sheet.append(row)
    book.save(folder / "lots.xlsx")
    return read_lots(folder / "lots.xlsx", read_settings(None), crop_table(), NOW)


def test_the_header_chooses_the_sheet(tmp_path: Path) -> None:
    """Wherever it stands and whatever it is called; a sheet of orders never is one of lots."""
    sheet = read(tmp_path, Lots=DIARY, Orders=ORDERS, Spring=[["Spring"], [""], *LOTS])
    assert [lot.where for lot in sheet.lots] == ['lots.xlsx, sheet "Spring", row 4']


def test_two_sheets_of_lots_are_a_problem(tmp_path: Path) -> None:
    """It names both; nobody can tell which one is meant."""
    with pytest.raises(InputProblems, match=r'must have one sheet of lots \(got "Lots" and "Spring"\)'):
        read(tmp_path, Lots=LOTS, Spring=LOTS)


@pytest.mark.parametrize("other", ["Orders", "Farm", "Uses", "Coolers", "READINGS"])
def test_sheets_of_other_things_never_are_the_lots(tmp_path: Path, other: str) -> None:
    """Even with a header that would fit; alone, there is no sheet of lots."""
    assert len(read(tmp_path, **{other: LOTS, "Spring": LOTS}).lots) == 1
    with pytest.raises(InputProblems, match="must have a sheet of lots"):
        read(tmp_path, **{other: LOTS})


def test_where_none_fits_the_sheet_named_lots_is_judged(tmp_path: Path) -> None:
    """Its header is what is wrong."""
    with pytest.raises(InputProblems, match='sheet "Lots", row 1: the header must have a column cut'):
        read(tmp_path, Diary=DIARY, Lots=[["lot", "crop", "stems"], ["041", "tulip", 120]])


def as_read(grid: Grid) -> LotSheet:
    """A sheet whose cells were read before."""
    farm = read_settings(None)
    return lots_of(rows_in(grid, farm), farm, crop_table(), NOW)


def test_hidden_and_struck_rows_count_and_are_said_once() -> None:
    """With the rows that they are; those above the header are no matter."""
    rows = (("Spring",), ("lot", "crop", "cut"), *((f"{n:03}", "tulip", "2027-03-22") for n in range(9)))
    sheet = as_read(Grid("lots.xlsx", "Lots", rows, hidden=frozenset({0, 3}), struck=frozenset(range(2, 9))))
    assert len(sheet.lots) == 9
    assert [warning.what for warning in sheet.warnings] == [
        "hidden rows count like the others (got 4)",
        "struck-through rows count like the others (got 3, 4, 5, 6, 7 and 2 more)",
    ]


def test_a_code_counts_as_it_is_displayed() -> None:
    """41 that a number format shows as 0041 is lot 0041, for its children too."""
    rows = (
        ("lot", "crop", "cut", "stems", "split from"),
        (41, "tulip", "2027-03-22", 60, None),
        (42, None, None, 20, 41),
    )
    shown = {(1, 0): "0041", (2, 0): "0042", (2, 4): "0041"}
    sheet = as_read(Grid("lots.xlsx", "Lots", rows, displayed=shown))
    assert [(lot.lot_code, lot.parents) for lot in sheet.lots] == [("0041", ()), ("0042", ("0041",))]


def test_a_workbook_with_hidden_struck_and_formatted_cells(tmp_path: Path) -> None:
    """As a spreadsheet program writes them: all of it counts, and is said once."""
    book = openpyxl.Workbook()
    sheet = book.worksheets[0]
    for row in (LOTS[0], *([number, "tulip", "2027-03-22", 120] for number in (41, 42, 43))):
        sheet.append(row)
        sheet.cell(row=sheet.max_row, column=1).number_format = "0000"
    sheet.row_dimensions[3].hidden = True
    for cell in sheet[4]:
        cell.font = Font(strike=True)
    book.save(tmp_path / "lots.xlsx")
    read_back = read_lots(tmp_path / "lots.xlsx", read_settings(None), crop_table(), NOW)
    assert [lot.lot_code for lot in read_back.lots] == ["0041", "0042", "0043"]
    assert [warning.what for warning in read_back.warnings] == [
        "hidden rows count like the others (got 3)",
        "struck-through rows count like the others (got 4)",
    ]


def test_a_code_page_is_told(tmp_path: Path) -> None:
    """A csv that is no UTF-8 says what it was read as; one that is says nothing."""
    path = tmp_path / "lots.csv"
    text = "lot,crop,cut,variety\n041,tulip,2027-03-22,Тюльпан\n"
    told = {}
    for encoding in ("utf-8", "cp1251"):
        path.write_bytes(text.encode(encoding))
        sheet = read_lots(path, read_settings(None), crop_table(), NOW)
        assert [lot.variety for lot in sheet.lots] == ["Тюльпан"]
        told[encoding] = [str(warning) for warning in sheet.warnings]
    assert told == {
        "utf-8": [],
        "cp1251": [
            "lots.csv: is no UTF-8 (read as Cyrillic). Where names look wrong, save it again as UTF-8.",
        ],
    }
