"""The file of a thermometer log as tables: csv, xlsx, xls or ods, by its content, not its name.

The lines of a text are counted before it is read, so a file beyond the limit costs no memory.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, time, timedelta
from functools import partial
from itertools import islice
from pathlib import Path
from typing import TYPE_CHECKING, Any

from tagmaker.errors import InputProblems, Problem
from tagmaker.intake.files.grid import column_letters
from tagmaker.intake.files.kind import FileKind
from tagmaker.intake.files.text_file import TextTable, decoded, text_table
from tagmaker.intake.files.workbook import Workbook, is_workbook, open_workbook

if TYPE_CHECKING:
    from numpy.typing import NDArray
    from pandas import DataFrame

MOST_ROWS = 2_000_000  # of all files of a cooler (chosen: four years at one minute)
LOOKED_AT = 200  # rows in which columns are found (chosen)
_TIME = "S64"  # UTF-8 of a time, in full-width forms too; more than 60 letters are none (see `cells`)
_CHUNK = 1 << 20  # bytes read at a time when lines are counted
_WAYS_OUT = "Export fewer days at once, or one reading every five minutes."
LOG = FileKind(
    must="a thermometer log as csv, xlsx or ods",
    again="Export it again, or as csv.",
    missing="Check its name and its rights.",
    folder='Name the files inside it, like "{name}/*.csv".',
    rights="Check its name and its rights.",
    smaller=_WAYS_OUT,
    stray=f"Delete the stray cell far from the readings. {_WAYS_OUT}",
    most_bytes=250_000_000,  # (chosen: 125 a row)
    most_rows=MOST_ROWS,
    most=f"{MOST_ROWS:,} rows, all files of a cooler together",
)


class NoRowsError(InputProblems):
    """A log without a row: nobody has read this cooler, and everything else can go on."""


@dataclass(frozen=True, slots=True)
class Table:
    """The rows of a text file or of one sheet, every cell as text. Rows are counted from 0."""

    name: str  # the file as messages name it
    sheet: str | None  # None for a text file
    head: tuple[list[str], ...]  # the first rows
    source: TextTable | DataFrame

    @property
    def where(self) -> str:
        """File and sheet."""
        return self.name if self.sheet is None else f'{self.name}, sheet "{self.sheet}"'

    def cell_at(self, row: int, column: int, title: str) -> str:
        """A cell as the grower sees it; columns count from 0."""
        if isinstance(self.source, TextTable):
            return f"{self.name}, line {self.source.line_at(row)}, column {title or column_letters(column)}"
        return f"{self.where}, cell {column_letters(column)}{row + 1}"

    def columns(self, places: Iterable[int], first: int, time: int) -> dict[int, NDArray[Any]]:
        """The cells of some columns from a row on, as texts; blank where there are none.

        The column of the time, in which hardly a text comes twice, is UTF-8 of one length: a cell that is
        longer is no time.

        Raises:
            InputProblems: the text is no table below its first rows.
        """
        import numpy as np
        import pandas as pd

        wanted: list[Any] = sorted(set(places))
        if isinstance(self.source, TextTable):
            try:
                frame = _parsed(self.source, wanted, first, time)
            except (ValueError, pd.errors.ParserError) as error:
                raise _no_table(self.name, error) from None
            return {place: frame[place].to_numpy() for place in wanted}
        columns = {place: _texts(self.source.iloc[first:], place) for place in wanted}
        columns[time] = np.array([text.encode() for text in columns[time]], dtype=_TIME)
        return columns


def _parsed(text: TextTable, wanted: list[Any], first: int, time: int) -> DataFrame:
    """Some columns of a text from a row on."""
    import pandas as pd

    # What pandas reads from memory fastest is bytes; a NUL would end a cell early.
    body = io.BytesIO(text.body.replace("\0", "\ufffd").encode("utf-8"))
    return pd.read_csv(
        body,
        sep=text.separator,
        header=None,
        names=range(wanted[-1] + 1),
        usecols=wanted,
        index_col=False,
        skiprows=first,
        dtype={place: _TIME if place == time else object for place in wanted},
        na_filter=False,
        skip_blank_lines=False,
        low_memory=False,
    )


def read_tables(
    path: Path, name: str, most_rows: int, fits: Callable[[Sequence[list[str]]], int]
) -> tuple[Table, ...]:
    """The tables of a file: one of a text file, one for each filled sheet of a workbook.

    Args:
        path: the file; it is only read.
        name: how messages name it.
        most_rows: rows that are left of the limit.
        fits: how much the first rows look like a log; the separator that does best is taken.

    Raises:
        NoRowsError: it is empty.
        InputProblems: it cannot be read as a table, or is too large.
    """
    kind = replace(LOG, folder=LOG.folder.format(name=name), most_rows=most_rows)
    kind.check(path, name)
    _count_lines(path, name, kind)
    content = kind.content(path, name)
    if not is_workbook(content):
        return (_text_table(content, name, fits),)
    with open_workbook(content, name, kind) as book:
        sheets = tuple(table for sheet in book.sheets if (table := _sheet_table(book, sheet)).head)
    if not sheets:
        raise NoRowsError(
            kind.refused(name, "a workbook without a filled cell", "Export the readings again.").problems
        )
    return sheets


def _count_lines(path: Path, name: str, kind: FileKind) -> None:
    """Refuse a text with more lines than the limit, a chunk at a time."""
    lines = returns = 0
    with path.open("rb") as file:
        for chunk in iter(partial(file.read, _CHUNK), b""):
            if file.tell() <= _CHUNK and is_workbook(chunk):
                return
            lines += chunk.count(b"\n")
            returns += chunk.count(b"\r")
            if max(lines, returns) > kind.most_rows:
                raise kind.too_large(name)


def _text_table(content: bytes, name: str, fits: Callable[[Sequence[list[str]]], int]) -> Table:
    again = "Export the readings from the logger again"
    if content.startswith(b"%PDF"):
        raise LOG.refused(name, "a PDF", f"{again}, as csv.")
    if not content.strip(b"\x00 \t\r\n\xef\xbb\xbf\xff\xfe"):
        raise NoRowsError(LOG.refused(name, "an empty file", f"{again}.").problems)
    text, _ = decoded(content, name)
    if any(letter < " " and letter not in "\t\r\n\x0c\x1a" for letter in text[:4096]):
        raise LOG.refused(name, "bytes that are no text", f"{again}, as csv.")
    if text.count('"') % 2:
        what = "every quotation mark that opens a cell must have one that closes it (got one without)"
        raise InputProblems([Problem(name, what, "Close it, or take it out.")])
    try:
        table = text_table(text, fits, LOOKED_AT)
        return Table(name, None, tuple(table.head(LOOKED_AT)), table)
    except csv.Error as error:
        raise _no_table(name, error) from None


def _no_table(name: str, error: Exception) -> InputProblems:
    what = f"must be a table saved as text (got: {error})"
    return InputProblems([Problem(name, what, "Export it again as csv.")])


def _sheet_table(book: Workbook, sheet: str) -> Table:
    frame, _ = book.frame(sheet)
    rows = islice(frame.itertuples(index=False, name=None), LOOKED_AT)
    return Table(book.name, sheet, tuple([*map(cell_text, row)] for row in rows), frame)


def _texts(frame: DataFrame, place: int) -> NDArray[Any]:
    import numpy as np

    cells = frame[place] if place in frame.columns else [""] * len(frame)
    return np.array([cell_text(value) for value in cells], dtype=object)


def cell_text(value: object) -> str:
    """A cell of a workbook as a text export would have it, to the second.

    >>> cell_text(datetime(2027, 3, 31, 0, 14, 59, 999900)), cell_text(time(0, 15)), cell_text(38.0)
    ('2027-03-31 00:15:00', '00:15:00', '38')
    """
    match value:
        case str():
            return value
        case float():
            return str(int(value)) if value.is_integer() and abs(value) < 1e15 else repr(value)
        case datetime():
            if value.microsecond and value.year < 9999:
                value = (value + timedelta(seconds=0.5)).replace(microsecond=0)
            return value.isoformat(" ", "seconds")
        case time():
            return value.isoformat("seconds")
        case timedelta():
            minutes, seconds = divmod(round(value.total_seconds()), 60)
            return f"{minutes // 60:02}:{minutes % 60:02}:{seconds:02}"
        case date():
            return value.isoformat()
        case _:
            return "" if value is None else str(value)


def filled(row: Iterable[str]) -> int:
    """How many cells a row has up to its last filled one."""
    return max((index for index, cell in enumerate(row, 1) if cell.strip()), default=0)
