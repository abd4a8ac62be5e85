"""A file of lots or orders as a grid of cells: what kind of file it is, and which of its sheets is meant.

The content of the file decides, not its name: a workbook renamed to csv is still a workbook.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from tagmaker.errors import InputProblems, Problem
from tagmaker.intake.cells.plain_text import listed, shown, squash
from tagmaker.intake.files.choosing import LOTS_SHEET, chosen_sheet
from tagmaker.intake.files.grid import Grid, text_of
from tagmaker.intake.files.kind import SHEET
from tagmaker.intake.files.text_file import read_text
from tagmaker.intake.files.workbook import Workbook, is_workbook, open_workbook

HEAD_ROWS = 25  # first rows among which a header is looked for (chosen)
_WORKBOOK_SUFFIXES = (".xlsx", ".xlsm", ".xls", ".xlsb", ".ods")


@dataclass(frozen=True, slots=True)
class SheetFile:
    """A csv, xlsx or ods file whose bytes were read, once."""

    path: Path
    content: bytes
    book: Workbook | None  # None: a text file

    def lots(self, known: Callable[[list[list[str]]], int], fits: Callable[[list[list[str]]], bool]) -> Grid:
        """The sheet of lots in it.

        Args:
            known: how many columns of a header the first rows of a text file name.
            fits: whether the first rows of a sheet of a workbook have a header of lots.

        Raises:
            InputProblems: it cannot be read as a sheet.
        """
        book = self.book
        if book is None:
            return read_text(self.content, self.path.name, known)
        return book.grid(chosen_sheet(self.path.name, book.sheets, lambda sheet: _fits(book, sheet, fits)))

    def named(self, name: str) -> Grid | None:
        """A sheet of a workbook by its name, whatever its case and spaces; None where there is none.

        Raises:
            InputProblems: it is damaged, or two sheets are named so.
        """
        sheets = self.book.sheets if self.book else ()
        found = [sheet for sheet in sheets if squash(sheet) == squash(name)]
        if len(found) > 1:
            what = f"must have one sheet {name} (got {listed(map(shown, found), 'and')})"
            raise InputProblems([Problem(self.path.name, what, "Move all its rows into one of them.")])
        return self.book.grid(found[0]) if self.book and found else None


@contextmanager
def open_sheet(path: Path) -> Iterator[SheetFile]:
    """A csv, xlsx or ods file, which is only read; raises InputProblems where it is none."""
    content = _content(path)
    if content.startswith(b"%PDF"):
        raise SHEET.refused(path.name, "a PDF", "Name the spreadsheet that it was printed from.")
    if is_workbook(content):
        with open_workbook(content, path.name, SHEET) as book:
            yield SheetFile(path, content, book)
        return
    if path.suffix.lower() in _WORKBOOK_SUFFIXES:
        remedy = "Save it again as xlsx, ods or csv."
        raise SHEET.refused(path.name, "something else under that name", remedy)
    yield SheetFile(path, content, None)


def read_text_grid(path: Path, known: Callable[[list[list[str]]], int]) -> Grid:
    """The rows of a csv file; raises InputProblems where it is none, as `open_sheet` does."""
    content = _content(path)
    if is_workbook(content):
        raise SHEET.refused(path.name, "a workbook under that name", "Save it as csv.")
    return read_text(content, path.name, known)


def _content(path: Path) -> bytes:
    content = SHEET.content(path, path.name)
    if not content:
        remedy = "Save the sheet again, or take yesterday's copy."
        raise SHEET.refused(path.name, "an empty file of 0 bytes", remedy)
    return content


def _fits(book: Workbook, sheet: str, fits: Callable[[list[list[str]]], bool]) -> bool:
    """Whether a sheet has a header of lots; one that cannot be read is none, unless it is named so."""
    try:
        head = book.grid(sheet, HEAD_ROWS).rows
    except InputProblems:
        if squash(sheet) == LOTS_SHEET:
            raise
        return False
    return fits([[text_of(value) for value in row] for row in head])
