"""The door through which the values of every workbook come: pandas, with python-calamine under it.

A workbook is looked at before it is read: as an archive (`archives`), then each sheet's XML (`survey`).
"""

from __future__ import annotations

import io
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import datetime
from typing import TYPE_CHECKING, Any

from tagmaker.errors import InputProblems, Problem
from tagmaker.intake.files.archives import ArchiveFault, archive_fault
from tagmaker.intake.files.grid import CellValue, Grid, column_letters
from tagmaker.intake.files.kind import FileKind
from tagmaker.intake.files.survey import Survey, survey
from tagmaker.intake.files.xml_parts import StrangeSheetError

if TYPE_CHECKING:
    from pandas import DataFrame

MOST_CELLS = 3_000_000  # a sheet may span (chosen: a year at one minute in five columns)
_OLE = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"  # container of old and of encrypted workbooks
_ENCRYPTED_STREAM = "EncryptedPackage".encode("utf-16-le")


def is_workbook(content: bytes) -> bool:
    """Whether the first bytes of a file are those of a workbook, whatever its name."""
    return content.startswith((b"PK", _OLE))


@dataclass(frozen=True, slots=True)
class Workbook:
    """A workbook that was found sound as an archive."""

    content: bytes
    name: str  # the file as messages name it
    kind: FileKind
    sheets: tuple[str, ...]  # names, in order
    _book: Any  # pandas' own
    _read: dict[str, tuple[DataFrame, Survey]] = field(default_factory=dict)  # sheets that were read

    def frame(self, sheet: str) -> tuple[DataFrame, Survey]:
        """The values of a sheet from its first row and column on, as objects, and what its XML tells.

        Raises:
            InputProblems: it is damaged or too large.
        """
        import pandas as pd

        if sheet in self._read:
            return self._read[sheet]
        with _sound(self.name, self.kind):
            found = survey(self.content, sheet) if self.content.startswith(b"PK") else self._counted(sheet)
            self._check_size(sheet, found)
            frame = pd.read_excel(self._book, sheet_name=sheet, header=None, dtype=object, na_filter=False)
        self._read[sheet] = frame, found
        return frame, found

    def grid(self, sheet: str, most_rows: int | None = None) -> Grid:
        """A sheet, or its first rows, as rows of cells; raises InputProblems as `frame` does."""
        frame, found = self.frame(sheet)
        rows = (
            tuple(found.unread.get((index, column)) or _cell(value) for column, value in enumerate(values))
            for index, values in enumerate(frame[:most_rows].itertuples(index=False, name=None))
        )
        return Grid(
            self.name,
            sheet,
            tuple(rows),
            displayed=found.displayed,
            hidden=frozenset(found.hidden),
            struck=frozenset(found.struck),
        )

    def _counted(self, sheet: str) -> Survey:
        """What an old workbook spans, which has no XML; its rows and columns are few by its nature."""
        read = self._book.book.get_sheet_by_name(sheet)
        return Survey(rows=read.total_height, columns=read.total_width)

    def _check_size(self, sheet: str, found: Survey) -> None:
        where = f'{self.name}, sheet "{sheet}"'
        if found.rows > self.kind.most_rows or found.columns > self.kind.most_columns:
            row, column = found.last
            raise self.kind.too_large(where, f"something in cell {column_letters(column)}{row + 1}")
        if found.rows * found.columns > MOST_CELLS:
            got = f"{found.rows:,} rows and {found.columns:,} columns"
            what = f"must span at most {MOST_CELLS:,} cells (got {got})"
            raise InputProblems([Problem(where, what, self.kind.stray)])


@contextmanager
def open_workbook(content: bytes, name: str, kind: FileKind) -> Iterator[Workbook]:
    """A workbook by its bytes.

    Raises:
        InputProblems: it is damaged, locked, or unpacks beyond all measure.
    """
    import pandas as pd

    _check(content, name, kind)
    with _sound(name, kind):
        book = pd.ExcelFile(io.BytesIO(content), engine="calamine")
    with book:
        yield Workbook(content, name, kind, tuple(map(str, book.sheet_names)), book)


@contextmanager
def _sound(name: str, kind: FileKind) -> Iterator[None]:
    """Whatever breaks in a reader on a damaged file, its panics too, is the same problem."""
    try:
        yield
    except (InputProblems, KeyboardInterrupt, SystemExit, MemoryError):
        raise
    except StrangeSheetError as error:
        raise kind.refused(name, str(error)) from None
    except BaseException:  # noqa: BLE001 - the reader's panics derive from BaseException
        raise kind.refused(name, "a damaged workbook") from None


def _check(content: bytes, name: str, kind: FileKind) -> None:
    """Refuse an archive that is broken, locked or unpacks beyond all measure."""
    fault = archive_fault(content) if content.startswith(b"PK") else None
    if fault is ArchiveFault.LOCKED or (content.startswith(_OLE) and _ENCRYPTED_STREAM in content):
        what = "must be a workbook without a password (got one that is locked with a password)"
        raise InputProblems([Problem(name, what, "Save a copy without the password and name that.")])
    if fault is ArchiveFault.DAMAGED:
        raise kind.refused(name, "a damaged workbook")
    if fault is ArchiveFault.VAST:
        raise kind.refused(name, "a workbook that unpacks beyond all measure", "Save it again, or as csv.")
    if fault is ArchiveFault.BINARY:
        raise kind.refused(name, "a binary workbook, xlsb", "Save it as xlsx, ods or csv.")


def _cell(value: object) -> CellValue:
    """A cell of the data frame; blank text is no text."""
    if isinstance(value, datetime):
        return datetime.combine(value.date(), value.time())
    if isinstance(value, str):
        return value or None
    return value  # type: ignore[return-value]  # numbers, times and None as the reader gave them
