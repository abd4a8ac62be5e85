"""A sheet as rows of cells, and how its places are called in messages."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, datetime, time, timedelta

from tagmaker.intake.cells.plain_text import shown

MOST_ROWS = 100_000  # of a sheet (chosen: a hundred seasons of a large farm, read in half a minute)
MOST_COLUMNS = 500  # of a sheet (chosen)


@dataclass(frozen=True, slots=True)
class Unread:
    """A cell whose content the file does not hold: a formula that failed or was never calculated."""

    got: str  # as messages say it


CellValue = str | int | float | bool | datetime | date | time | timedelta | Unread | None


@dataclass(frozen=True, slots=True)
class Grid:
    """One sheet: its cells row by row, the first row and column included even where they are empty."""

    file: str  # name of the file
    sheet: str | None  # name of the sheet; None for a text file
    rows: tuple[tuple[CellValue, ...], ...]
    lines: tuple[int, ...] = ()  # text file: line on which each row begins
    displayed: Mapping[tuple[int, int], str] = field(default_factory=dict)  # as shown, where zeros lead
    hidden: frozenset[int] = frozenset()  # filled rows that the workbook does not show, counted from 0
    struck: frozenset[int] = frozenset()  # rows that are struck through
    code_page: str = ""  # text file: what its code page is called; empty for UTF-8 and UTF-16

    def shown_at(self, row: int, column: int) -> str:
        """Text of a cell as the grower sees it: 0041 where 41 is so formatted."""
        return self.displayed.get((row, column)) or text_of(self.rows[row][column])

    @property
    def where(self) -> str:
        """File and sheet."""
        return self.file if self.sheet is None else f'{self.file}, sheet "{self.sheet}"'

    def row_at(self, row: int) -> str:
        """File, sheet and row (counted from 0) as the grower sees them."""
        if self.sheet is None:
            return f"{self.file}, line {self.lines[row]}"
        return f"{self.where}, row {row + 1}"

    def cell_at(self, row: int, column: int, title: str) -> str:
        """File, sheet and cell (both counted from 0) as the grower sees them."""
        if self.sheet is None:
            return f"{self.row_at(row)}, column {title or column_letters(column)}"
        return f"{self.where}, cell {column_letters(column)}{row + 1}"


def column_letters(index: int) -> str:
    """The letters of a spreadsheet column, counted from 0.

    >>> column_letters(0), column_letters(27)
    ('A', 'AB')
    """
    letters = ""
    index += 1
    while index:
        index, rest = divmod(index - 1, 26)
        letters = chr(ord("A") + rest) + letters
    return letters


def text_of(value: CellValue) -> str:
    """A cell as text: the way a grower would type it.

    >>> text_of(120.0), text_of(datetime(2027, 3, 22, 9, 0)), text_of(None)
    ('120', '2027-03-22 09:00', '')
    """
    match value:
        case None:
            return ""
        case str():
            return value
        case bool():
            return "TRUE" if value else "FALSE"
        case int():
            return str(value)
        case float():
            return str(int(value)) if value.is_integer() and abs(value) < 1e15 else repr(value)
        case datetime():
            return f"{value:%Y-%m-%d}" if value.time() == time() else f"{value:%Y-%m-%d %H:%M}"
        case time():
            return f"{value:%H:%M}"
        case Unread():
            return value.got
        case _:
            return str(value)


def got(value: CellValue) -> str:
    """A cell as messages repeat it."""
    return (
        value.got if isinstance(value, Unread) else shown(text_of(value)) if value is not None else "nothing"
    )
