"""A copy of a table saved as text in which only some cells are others, and rows come at its end."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from tagmaker.intake.files.grid import Grid

# The copy is written as the original was: the first of these that gives the cells that were read.
_ENCODINGS = (
    *("utf-8-sig", "utf-8", "utf-16", "utf-16-le", "utf-16-be"),
    *("cp1252", "cp1250", "cp1251", "cp1253", "cp1254", "cp1257", "latin-1", "mac_roman"),
)
_MARKS = ",;\t|"
_FORMULAS = ("=", "+", "-", "@")


@dataclass(frozen=True, slots=True)
class _Field:
    """One cell of the text, from its first letter to its last, marks of quotation included."""

    start: int
    end: int
    value: str


def changed_text(
    content: bytes, grid: Grid, cells: Mapping[tuple[int, int], str], added: Sequence[Sequence[str]]
) -> bytes | None:
    """The table with other texts in some cells and with more rows; all other bytes stay.

    Args:
        content: of the file
        grid: as it was read from it
        cells: (row, column) of the grid, counted from 0 -> text
        added: rows that come at the end

    Returns:
        the content of the copy; None where it is not known how the original was written, or where a
        spreadsheet would take a new text for a formula.
    """
    if any(
        text.startswith(_FORMULAS) for text in (*cells.values(), *(text for row in added for text in row))
    ):
        return None
    for encoding in _ENCODINGS:
        try:
            text = content.decode(encoding)
            if text.encode(encoding) != content:
                continue
        except UnicodeError:
            continue
        for mark in _MARKS:
            found = _fields(text, mark)
            if _is_grid(found, grid):
                try:
                    return _spliced(text, mark, found, cells, added).encode(encoding)
                except UnicodeEncodeError:
                    return None
    return None


def _is_grid(rows: Sequence[Sequence[_Field]], grid: Grid) -> bool:
    values = [tuple(field.value for field in row) for row in rows]
    if len(values) == len(grid.rows) + 1 and values[0][0].lower().startswith("sep="):
        values, rows = values[1:], rows[1:]
    return values == [tuple(row) for row in grid.rows]


def _spliced(
    text: str,
    mark: str,
    rows: list[list[_Field]],
    cells: Mapping[tuple[int, int], str],
    added: Sequence[Sequence[str]],
) -> str:
    """The text with the changes put in, the last first, so that places stay true."""
    told = len(rows) - 1 if rows and rows[0] and rows[0][0].value.lower().startswith("sep=") else len(rows)
    first = len(rows) - told
    wider: dict[int, dict[int, str]] = {}
    splices: list[tuple[int, int, str]] = []
    for (row, column), value in cells.items():
        fields = rows[row + first]
        if column < len(fields):
            splices.append((fields[column].start, fields[column].end, _quoted(value, mark)))
        else:
            wider.setdefault(row + first, {})[column] = value
    for row, more in wider.items():
        fields = rows[row]
        end = fields[-1].end if fields else _end_of(rows, row)
        new = [_quoted(more.get(column, ""), mark) for column in range(len(fields), max(more) + 1)]
        splices.append((end, end, mark * bool(fields) + mark.join(new)))
    for start, end, new_text in sorted(splices, reverse=True):
        text = f"{text[:start]}{new_text}{text[end:]}"
    newline = "\r\n" if "\r\n" in text else "\n" if "\n" in text or "\r" not in text else "\r"
    if added and not text.endswith(("\n", "\r")):
        text += newline
    return text + "".join(mark.join(_quoted(cell, mark) for cell in row) + newline for row in added)


def _end_of(rows: Sequence[Sequence[_Field]], row: int) -> int:
    raise ValueError(f"row {row} of {len(rows)} is blank")  # only rows of lots are changed


def _quoted(value: str, mark: str) -> str:
    if any(letter in value for letter in (mark, '"', "\n", "\r")):
        return '"' + value.replace('"', '""') + '"'
    return value


def _fields(text: str, mark: str) -> list[list[_Field]]:
    """Where every cell stands, row by row, read as the csv reader reads them."""
    rows: list[list[_Field]] = []
    row: list[_Field] = []
    at, end = (1 if text.startswith("\ufeff") else 0), len(text)
    while at < end:
        start = at
        if text[at] == '"':
            value, at = _quotation(text, at)
        else:
            value = ""
        plain = at
        while at < end and text[at] not in f"{mark}\n\r":
            at += 1
        value += text[plain:at]
        if at < end and text[at] == mark:
            row.append(_Field(start, at, value))
            at += 1
            if at == end or text[at] in "\n\r":
                row.append(_Field(at, at, ""))
            else:
                continue
        elif at > start or row:
            row.append(_Field(start, at, value))
        rows.append(row)
        row = []
        at += 2 if text[at : at + 2] == "\r\n" else 1
    return rows


def _quotation(text: str, at: int) -> tuple[str, int]:
    """What stands between marks of quotation, and the place after the closing one."""
    value, end = "", len(text)
    at += 1
    while at < end:
        close = text.find('"', at)
        if close < 0:
            return value + text[at:], end
        value += text[at:close]
        if text[close + 1 : close + 2] != '"':
            return value.replace("\r\n", "\n").replace("\r", "\n"), close + 1
        value += '"'
        at = close + 2
    return value, end
