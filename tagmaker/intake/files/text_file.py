"""Sheets saved as text: which encoding, which separator, and the rows."""

from __future__ import annotations

import csv
import io
from collections.abc import Callable

from tagmaker.errors import InputProblems, Problem
from tagmaker.intake.files import encoding
from tagmaker.intake.files.grid import MOST_COLUMNS, MOST_ROWS, Grid, too_large

SEPARATORS = ",;\t"
_LOOKED_AT = 20  # rows in which a separator is judged (chosen: titles above a header are few)
_FIELD_LETTERS = 1_000_000  # letters a field may have before the reader gives up (chosen)


def decoded(content: bytes, name: str) -> str:
    """The text of a file; raises InputProblems where it is none."""
    return text_and_page(content, name)[0]


def text_and_page(content: bytes, name: str) -> tuple[str, str]:
    """The text of a file, and what its code page is called where it has to be told.

    Raises:
        InputProblems: it is no text in any of them.
    """
    try:
        return encoding.decoded(content)
    except UnicodeDecodeError:
        what = "must be a table saved as text (got bytes that are no text)"
        raise InputProblems([Problem(name, what, "Save it as csv with the encoding UTF-8.")]) from None


def read_text(content: bytes, name: str, known: Callable[[list[list[str]]], int]) -> Grid:
    """The rows of a text file.

    Args:
        content: the bytes of the file.
        name: its name, for messages.
        known: how many columns of a header the first rows name; the separator that shows most is taken.

    Raises:
        InputProblems: it is no text, or its quotation marks do not close.
    """
    text, page = text_and_page(content, name)
    text = text.replace("\r\n", "\n").replace("\r", "\n")
    csv.field_size_limit(_FIELD_LETTERS)
    told = text[4:5] if text[:4].lower() == "sep=" and text[5:6] == "\n" else ""
    first = text.index("\n") + 1 if told else 0
    body = text[first:]
    try:
        separator = told or max(SEPARATORS, key=lambda mark: known(_rows(body, mark, _LOOKED_AT)[0]))
        rows, lines = _rows(body, separator, MOST_ROWS + 1)
    except csv.Error as error:
        what = f"must be a table saved as text (got: {error})"
        raise InputProblems([Problem(name, what, "Save it again as csv.")]) from None
    lines = [line + bool(told) for line in lines]
    if body.count('"') % 2 and rows and any("\n" in field for field in rows[-1]):
        where = f"{name}, line {lines[-1]}"
        what = "every quotation mark that opens a cell must have one that closes it (got one without)"
        raise InputProblems([Problem(where, what, "Close it, or take it out.")])
    if len(rows) > MOST_ROWS or max(map(len, rows), default=0) > MOST_COLUMNS:
        raise too_large(name, "more")
    return Grid(name, None, tuple(tuple(row) for row in rows), tuple(lines), code_page=page)


def _rows(text: str, separator: str, most: int) -> tuple[list[list[str]], list[int]]:
    """The first rows of a table, and the line on which each begins."""
    reader = csv.reader(io.StringIO(text, newline="\n"), delimiter=separator)
    rows: list[list[str]] = []
    lines: list[int] = []
    begins = 1
    for row in reader:
        rows.append(row)
        lines.append(begins)
        begins = reader.line_num + 1
        if len(rows) == most:
            break
    return rows, lines
