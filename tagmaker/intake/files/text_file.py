"""Tables saved as text: which encoding, which separator, and the rows."""

from __future__ import annotations

import csv
import io
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from itertools import islice

from tagmaker.errors import InputProblems, Problem
from tagmaker.intake.files import encoding
from tagmaker.intake.files.grid import MOST_COLUMNS, MOST_ROWS, Grid
from tagmaker.intake.files.kind import SHEET

SEPARATORS = ",;\t"
_LOOKED_AT = 20  # rows in which a separator is judged (chosen: titles above a header are few)
_PART = 1 << 16  # letters that are parted into lines at a time
_FIELD_LETTERS = 1_000_000  # letters a field may have before the reader gives up (chosen)


def decoded(content: bytes, name: str) -> tuple[str, str]:
    """The text of a file, and what its code page is called where it has to be told.

    Raises:
        InputProblems: it is no text in any of them.
    """
    try:
        return encoding.decoded(content)
    except UnicodeDecodeError:
        what = "must be a table saved as text (got bytes that are no text)"
        raise InputProblems([Problem(name, what, "Save it as csv with the encoding UTF-8.")]) from None


@dataclass(frozen=True, slots=True)
class TextTable:
    """A table as text."""

    body: str  # its lines end with \n
    first: int  # line of the file on which it begins
    separator: str

    def rows(self) -> Iterator[tuple[int, list[str]]]:
        """Its rows, each with the line on which it begins; raises csv.Error where it is no table."""
        csv.field_size_limit(_FIELD_LETTERS)
        reader = csv.reader(_lines(self.body), delimiter=self.separator)
        begins = self.first
        for row in reader:
            yield begins, row
            begins = self.first + reader.line_num

    def line_at(self, row: int) -> int:
        """The line of the file on which a row begins, counted from 0."""
        if '"' not in self.body:
            return self.first + row
        return next(islice((line for line, _ in self.rows()), row, None))

    def head(self, most: int) -> list[list[str]]:
        """Its first rows."""
        return [row for _, row in islice(self.rows(), most)]


def _lines(text: str) -> Iterator[str]:
    """The lines of a text, a part at a time: whoever wants the first ones does not pay for all."""
    begin = 0
    while begin < len(text):
        end = text.find("\n", begin + _PART) + 1 or len(text)
        yield from io.StringIO(text[begin:end], newline="\n")
        begin = end


def text_table(text: str, fits: Callable[[list[list[str]]], int], looked_at: int = _LOOKED_AT) -> TextTable:
    """A text as a table: parted as its first line says ("sep=;"), else by the separator that fits best.

    Args:
        text: the text of the file.
        fits: how well the first rows go, when they are so parted.
        looked_at: how many rows those are.

    Raises:
        csv.Error: it is no table.
    """
    body = text.replace("\r\n", "\n").replace("\r", "\n") if "\r" in text else text
    if body[:4].lower() == "sep=" and body[5:6] == "\n" and body[4] not in '"\n':
        return TextTable(body[6:], 2, body[4])
    tables = [TextTable(body, 1, mark) for mark in SEPARATORS]
    return max(tables, key=lambda table: fits(table.head(looked_at)))


def read_text(content: bytes, name: str, known: Callable[[list[list[str]]], int]) -> Grid:
    """The rows of a text file.

    Args:
        content: the bytes of the file.
        name: its name, for messages.
        known: how many columns of a header the first rows name; the separator that shows most is taken.

    Raises:
        InputProblems: it is no text, or its quotation marks do not close.
    """
    rows: list[tuple[str, ...]] = []
    lines: list[int] = []
    text, page = decoded(content, name)
    try:
        table = text_table(text, known)
        for line, row in table.rows():
            rows.append(tuple(row))
            lines.append(line)
            if len(rows) > MOST_ROWS or len(row) > MOST_COLUMNS:
                raise SHEET.too_large(name)
    except csv.Error as error:
        what = f"must be a table saved as text (got: {error})"
        raise InputProblems([Problem(name, what, "Save it again as csv.")]) from None
    if table.body.count('"') % 2 and rows and any("\n" in field for field in rows[-1]):
        where = f"{name}, line {lines[-1]}"
        what = "every quotation mark that opens a cell must have one that closes it (got one without)"
        raise InputProblems([Problem(where, what, "Close it, or take it out.")])
    return Grid(name, None, tuple(rows), tuple(lines), code_page=page)
