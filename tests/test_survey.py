"""What a sheet's own XML tells that the reader of its values does not."""

from __future__ import annotations

from pathlib import Path

import openpyxl
import pytest
from openpyxl.styles import Font

from tagmaker.intake.files.grid import Grid
from tagmaker.intake.files.sheet_file import open_sheet


def grid_of(path: Path) -> Grid:
    """The sheet of lots of a file."""
    with open_sheet(path) as file:
        return file.lots(len, bool)


@pytest.fixture
def book(tmp_path: Path) -> Path:
    """A workbook with codes that begin with zeros, a hidden row and a struck one."""
    path = tmp_path / "lots.xlsx"
    made = openpyxl.Workbook()
    sheet = made.create_sheet("Lots", 0)
    sheet.append(["lot", "crop", "stems"])
    for number, code in enumerate((41, 42, 43, 44, 41.5), start=2):
        sheet.append([code, "tulip", 120])
        sheet.cell(number, 1).number_format = "0000"
    sheet.cell(5, 1).number_format = '"L"000'
    sheet.row_dimensions[3].hidden = True
    for column in (1, 2, 3):
        sheet.cell(4, column).font = Font(strike=True)
    sheet.cell(5, 1).font = Font(strike=True)
    made.save(path)
    return path


def test_leading_zeros_are_kept(book: Path) -> None:
    """41 formatted as 0041 is 0041; what its format rounds is read as it stands."""
    grid = grid_of(book)
    assert [grid.shown_at(row, 0) for row in range(1, 6)] == ["0041", "0042", "0043", "L044", "41.5"]
    assert [grid.shown_at(row, 2) for row in range(1, 6)] == ["120"] * 5


def test_hidden_and_struck_rows_are_known(book: Path) -> None:
    """A row is struck through where most of its filled cells are."""
    grid = grid_of(book)
    assert (set(grid.hidden), set(grid.struck)) == ({2}, {3})
