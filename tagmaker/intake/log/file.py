"""The file of a thermometer log as tables: csv, xlsx, xls or ods, by its content, not its name.

The lines of a text are counted before it is read, so a file beyond the limit costs no memory.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Callable, Iterator, Sequence
from itertools import islice
from pathlib import Path

from tagmaker.errors import InputProblems, Problem
from tagmaker.intake.files.text_file import SEPARATORS, decoded
from tagmaker.intake.log.table import LOOKED_AT, WAYS_OUT, Row, Table, refused, too_many

MOST_BYTES = 250_000_000  # of a file (chosen: 125 a row)
_CHUNK = 1 << 20  # bytes read at a time when lines are counted
_FIELD_LETTERS = 1_000_000  # letters a field may have before the reader gives up (chosen)
_OLE = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"  # container of old and of encrypted workbooks


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
        InputProblems: it cannot be read as a table, or is too large.
    """
    try:
        if path.is_dir():
            raise refused(name, "a folder", f'Name the files inside it, like "{name}/*.csv".')
        with path.open("rb") as file:
            start = file.read(4096)
            if not start.startswith((b"PK", _OLE)):
                _count_lines(start, file, name, most_rows)
        if path.stat().st_size > MOST_BYTES:
            got = f"{path.stat().st_size / 1e6:,.0f} MB"
            what = f"must be at most {MOST_BYTES / 1e6:.0f} MB (got {got})"
            raise InputProblems([Problem(name, what, WAYS_OUT)])
        content = path.read_bytes()
    except OSError as error:
        what = f"must be a readable file (got: {error.strerror})"
        raise InputProblems([Problem(name, what, "Check its name and its rights.")]) from None
    if content.startswith((b"PK", _OLE)):
        from tagmaker.intake.log.workbook import read_sheets

        sheets = tuple(sheet for sheet in read_sheets(content, name, most_rows) if sheet.head)
        if not sheets:
            raise refused(name, "a workbook without a filled cell", "Export the readings again.")
        return sheets
    return (_text_table(content, name, fits),)


def _count_lines(start: bytes, file: io.BufferedReader, name: str, most_rows: int) -> None:
    """Refuse a text with more lines than the limit, a chunk at a time."""
    lines = returns = 0
    chunk = start
    while chunk:
        lines += chunk.count(b"\n")
        returns += chunk.count(b"\r")
        if max(lines, returns) > most_rows:
            raise too_many(name)
        chunk = file.read(_CHUNK)


def _text_table(content: bytes, name: str, fits: Callable[[Sequence[list[str]]], int]) -> Table:
    if content.startswith(b"%PDF"):
        raise refused(name, "a PDF", "Export the readings from the logger again, as csv.")
    if not content.strip(b"\x00 \t\r\n\xef\xbb\xbf\xff\xfe"):
        raise refused(name, "an empty file", "Export the readings from the logger again.")
    text = decoded(content, name)
    if any(letter < " " and letter not in "\t\r\n\x0c\x1a" for letter in text[:4096]):
        raise refused(name, "bytes that are no text", "Export the readings from the logger again, as csv.")
    if text.count('"') % 2:
        what = "every quotation mark that opens a cell must have one that closes it (got one without)"
        raise InputProblems([Problem(name, what, "Close it, or take it out.")])
    csv.field_size_limit(_FIELD_LETTERS)
    told = text[4:5] if text[:4].lower() == "sep=" and text[5:6] in "\r\n" else ""
    first = 1 + bool(told)  # line on which the table begins

    def rows(separator: str) -> Iterator[Row]:
        reader = csv.reader(islice(_lines(text), first - 1, None), delimiter=separator)
        try:
            for row in reader:
                yield reader.line_num + first - 1, row
        except csv.Error as error:
            what = f"must be a table saved as text (got: {error})"
            raise InputProblems([Problem(name, what, "Export it again as csv.")]) from None

    heads = {mark: tuple(islice(rows(mark), LOOKED_AT)) for mark in told or SEPARATORS}
    best = max(heads, key=lambda mark: fits([row for _, row in heads[mark]]))
    return Table(name, None, heads[best], lambda: rows(best))


def _lines(text: str) -> Iterator[str]:
    """The lines of a text, whichever way they end; a part at a time, because a line costs memory."""
    end = "\n" if "\n" in text else "\r"
    begin = 0
    while begin < len(text):
        stop = text.find(end, begin + _CHUNK) + 1 or len(text)
        yield from io.StringIO(text[begin:stop], newline=None)
        begin = stop
