"""The file of lots as a grid of cells: what kind of file it is, and which of its sheets holds the lots.

The content of the file decides, not its name: a workbook renamed to csv is still a workbook.
"""

from __future__ import annotations

import io
from collections.abc import Callable
from datetime import datetime
from pathlib import Path

from tagmaker.errors import InputProblems, Problem
from tagmaker.intake.files.archives import ArchiveFault, archive_fault
from tagmaker.intake.files.choosing import chosen_sheet
from tagmaker.intake.files.grid import MOST_COLUMNS, MOST_ROWS, CellValue, Grid, text_of, too_large
from tagmaker.intake.files.text_file import read_text
from tagmaker.intake.files.unread_cells import unread_cells
from tagmaker.intake.files.workbook_parts import far_cell, sheet_xml

MOST_BYTES = 50_000_000  # of a file (chosen: 100,000 rows take about a tenth)
HEAD_ROWS = 25  # first rows among which a header is looked for (chosen)

_WORKBOOK_SUFFIXES = (".xlsx", ".xlsm", ".xls", ".xlsb", ".ods")
_OLE = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"  # container of old and of encrypted workbooks
_ENCRYPTED_STREAM = "EncryptedPackage".encode("utf-16-le")


def read_grid(
    path: Path, known: Callable[[list[list[str]]], int], fits: Callable[[list[list[str]]], bool]
) -> Grid:
    """The sheet of lots in a csv, xlsx or ods file.

    Args:
        path: the file; it is only read.
        known: how many columns of a header the first rows of a text file name.
        fits: whether the first rows of a sheet of a workbook have a header of lots.

    Raises:
        InputProblems: the file cannot be read as a sheet.
    """
    content = _content(path)
    if content.startswith(b"%PDF"):
        raise _refused(path, "a PDF", "Name the spreadsheet that it was printed from.")
    if content.startswith(_OLE):
        if _ENCRYPTED_STREAM in content:
            raise _locked(path)
        return _workbook(path, content, fits)
    if content.startswith(b"PK"):
        _check_archive(path, content)
        return _workbook(path, content, fits)
    if path.suffix.lower() in _WORKBOOK_SUFFIXES:
        raise _refused(path, "something else under that name", "Save it again as xlsx, ods or csv.")
    return read_text(content, path.name, known)


def _refused(path: Path, got: str, remedy: str) -> InputProblems:
    return InputProblems([Problem(path.name, f"must be a csv, xlsx or ods file (got {got})", remedy)])


def _locked(path: Path) -> InputProblems:
    what = "must be a workbook without a password (got one that is locked with a password)"
    return InputProblems([Problem(path.name, what, "Save a copy without the password and name that.")])


def _content(path: Path) -> bytes:
    try:
        if path.is_dir():
            raise _refused(path, "a folder", "Name the file inside it.")
        if path.stat().st_size > MOST_BYTES:
            got = f"{path.stat().st_size / 1e6:.0f} MB"
            what = f"must be at most {MOST_BYTES / 1e6:.0f} MB (got {got})"
            raise InputProblems([Problem(path.name, what, "Start a sheet for each season.")])
        content = path.read_bytes()
    except FileNotFoundError:
        what = "must be a file that is there (got nothing under that name)"
        remedy = "Check the name, or begin with: tagmaker start FOLDER."
        raise InputProblems([Problem(path.name, what, remedy)]) from None
    except OSError as error:
        what = f"must be a readable file (got: {error.strerror})"
        raise InputProblems([Problem(path.name, what, "Close it elsewhere and check its rights.")]) from None
    if not content:
        raise _refused(path, "an empty file of 0 bytes", "Save the sheet again, or take yesterday's copy.")
    return content


def _check_archive(path: Path, content: bytes) -> None:
    """Refuse an archive that is broken, locked or unpacks beyond all measure."""
    match archive_fault(content):
        case ArchiveFault.DAMAGED:
            raise _refused(path, "a damaged workbook", "Save it again, or take yesterday's copy.")
        case ArchiveFault.LOCKED:
            raise _locked(path)
        case ArchiveFault.VAST:
            raise _refused(path, "a workbook that unpacks beyond all measure", "Save it again, or as csv.")


def _workbook(path: Path, content: bytes, fits: Callable[[list[list[str]]], bool]) -> Grid:
    import pandas as pd

    def head_fits(sheet: str) -> bool:
        if far_cell(sheet_xml(content, sheet)):
            return False
        head = pd.read_excel(
            book, sheet_name=sheet, header=None, dtype=object, na_filter=False, nrows=HEAD_ROWS
        )
        return fits(
            [[text_of(_cell(value)) for value in row] for row in head.itertuples(index=False, name=None)]
        )

    try:
        with pd.ExcelFile(io.BytesIO(content), engine="calamine") as book:
            sheet = chosen_sheet(path.name, [str(name) for name in book.sheet_names], head_fits)
            part = sheet_xml(content, sheet)
            stray = far_cell(part)
            if stray:
                raise too_large(f'{path.name}, sheet "{sheet}"', f"something in cell {stray}")
            frame = pd.read_excel(book, sheet_name=sheet, header=None, dtype=object, na_filter=False)
    except (InputProblems, KeyboardInterrupt, SystemExit):
        raise
    except BaseException:  # noqa: BLE001 - the reader's panics on a damaged file derive from BaseException
        raise _refused(path, "a damaged workbook", "Save it again, or take yesterday's copy.") from None
    rows, columns = frame.shape
    if rows > MOST_ROWS or columns > MOST_COLUMNS:
        raise too_large(f'{path.name}, sheet "{sheet}"', f"{rows} rows and {columns} columns")
    unread = unread_cells(part, sheet)
    return Grid(
        path.name,
        sheet,
        tuple(
            tuple(unread.get((index, column)) or _cell(value) for column, value in enumerate(values))
            for index, values in enumerate(frame.itertuples(index=False, name=None))
        ),
    )


def _cell(value: object) -> CellValue:
    """A cell of the data frame; blank text is no text."""
    if isinstance(value, datetime):
        return datetime.combine(value.date(), value.time())
    if isinstance(value, str):
        return value or None
    return value  # type: ignore[return-value]  # numbers, times and None as the reader gave them
