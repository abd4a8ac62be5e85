"""The rows of a sheet below its header, and what is said of the file that they stand in."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from functools import partial

from tagmaker.errors import Problem
from tagmaker.intake.cells.plain_text import listed, shown, tidy
from tagmaker.intake.columns import LOTS
from tagmaker.intake.files.grid import CellValue, Grid, text_of
from tagmaker.intake.lots.entry import Row
from tagmaker.intake.lots.header import Header
from tagmaker.intake.lots.unused import title_at
from tagmaker.intake.settings.keys import FILE_NAME


def filled_rows(grid: Grid, header: Header, codes: Sequence[str]) -> Iterable[Row]:
    """The rows below the header that have a filled cell in a known column.

    Args:
        grid: the sheet.
        header: which column of it holds what.
        codes: columns that count as the spreadsheet displays them.
    """
    columns = {index: column for column, index in header.places.items()}
    for index in range(header.row + 1, len(grid.rows)):
        filled = {
            place: _tidied(value) for place, value in enumerate(grid.rows[index]) if value not in ("", None)
        }
        known = {columns[place]: value for place, value in filled.items() if place in columns and value != ""}
        known |= {
            column: grid.displayed[at]
            for column in codes
            if (at := (index, header.places.get(column, -1))) in grid.displayed
        }
        if known:
            typed = {title_at(header, place): _printable(text_of(value)) for place, value in filled.items()}
            yield Row(grid.row_at(index), index + 1, known, partial(_cell_at, grid, header, index), typed)


def _tidied(value: CellValue) -> CellValue:
    return tidy(value) if isinstance(value, str) else value


def _printable(text: str) -> str:
    if text.isprintable():
        return text
    return "".join(letter if letter.isprintable() or letter == "\n" else "\ufffd" for letter in text)


def _cell_at(grid: Grid, header: Header, index: int, column: str) -> str:
    place = header.places.get(column)
    return grid.row_at(index) if place is None else grid.cell_at(index, place, header.titles[place])


def doubled_columns(grid: Grid, header: Header) -> Iterable[Problem]:
    """The problems of columns that the header names twice."""
    for column, places in header.doubled.items():
        first, second = places[:2]
        titles = [header.titles[first], header.titles[second]]
        what = f"the header must name the column {column} once (got {listed(map(shown, titles), 'and')})"
        remedy = "Rename one of the two."
        if LOTS.named(column) == column:
            remedy = f'Rename one, or say in {FILE_NAME} which it is: [columns] {column} = "My header".'
        yield Problem(grid.cell_at(header.row, second, header.titles[second]), what, remedy)


def said_of_file(grid: Grid, header: Header) -> Iterable[Problem]:
    """What a grower may not see in the file, though it counts."""
    if grid.code_page:
        what = f"is no UTF-8 (read as {grid.code_page})"
        yield Problem(grid.where, what, "Where names look wrong, save it again as UTF-8.")
    for what, rows in (("hidden", grid.hidden), ("struck-through", grid.struck)):
        below = sorted(row + 1 for row in rows if row > header.row)
        if below:
            named = ", ".join(map(str, below[:5])) + (f" and {len(below) - 5} more" if len(below) > 5 else "")
            yield Problem(
                grid.where, f"{what} rows count like the others (got {named})", "Delete what is not meant."
            )
