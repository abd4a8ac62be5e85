"""A copy of an xlsx workbook in which only some cells of one sheet are others, and rows come at its end.

The XML of those cells is written anew, as text or as number, and the workbook is marked to be calculated when
it is opened; every other byte of the sheet's part and every other part stay as they are. ECMA-376 part 1:
18.3.1.73 "row", 18.3.1.4 "c", 18.2.2 "calcPr".
"""

from __future__ import annotations

import io
import re
import zipfile
from collections.abc import Mapping, Sequence
from xml.etree import ElementTree as ET
from xml.sax.saxutils import escape, quoteattr

from tagmaker.intake.files.grid import column_letters

_MAIN = "{http://schemas.openxmlformats.org/spreadsheetml/2006/main}"
_RELATION = "{http://schemas.openxmlformats.org/officeDocument/2006/relationships}id"
_ROW = re.compile(r"<((?:\w+:)?)row\b([^>]*?)(?:/>|>(.*?)</\1row>)", re.DOTALL)
_CELL = re.compile(r"<((?:\w+:)?)c\b([^>]*?)(?:/>|>(.*?)</\1c>)", re.DOTALL)
_DIMENSION = re.compile(r'(<(?:\w+:)?dimension\b[^>]*\bref=")([A-Z]+\d+)(?::([A-Z]+)(\d+))?(")')


class UnchangeableError(ValueError):
    """The workbook is built in a way in which nothing of it is changed."""


def changed_workbook(
    content: bytes, sheet: str, cells: Mapping[tuple[int, int], str], added: Sequence[Mapping[int, str]]
) -> bytes | None:
    """The workbook with other texts in some cells of a sheet and with more rows.

    Args:
        content: of the file
        sheet: its name
        cells: (row, column), counted from 0 -> text; "" clears the cell
        added: column -> text of rows that come after the last one

    Returns:
        the content of the copy; None where a cell holds a formula, or the workbook is built in another way.
    """
    try:
        with zipfile.ZipFile(io.BytesIO(content)) as book:
            part = _part(book, sheet)
            parts = {
                part: _sheet(book.read(part).decode("utf-8"), cells, added).encode("utf-8"),
                "xl/workbook.xml": _recalculated(book.read("xl/workbook.xml").decode("utf-8")).encode(
                    "utf-8"
                ),
            }
            return _rewritten(book, parts)
    except (zipfile.BadZipFile, KeyError, ET.ParseError, ValueError, RuntimeError, OSError):
        return None


def width_of(content: bytes, sheet: str) -> int:
    """Columns of a sheet up to the last that has a cell, empty or not; 0 where it is built otherwise."""
    try:
        with zipfile.ZipFile(io.BytesIO(content)) as book:
            cells = _CELL.finditer(book.read(_part(book, sheet)).decode("utf-8"))
            return 1 + max((_column(cell[2]) for cell in cells), default=-1)
    except (zipfile.BadZipFile, KeyError, ET.ParseError, ValueError, RuntimeError, OSError):
        return 0


def _rewritten(book: zipfile.ZipFile, parts: Mapping[str, bytes]) -> bytes:
    written = io.BytesIO()
    with zipfile.ZipFile(written, "w") as copy:
        for info in book.infolist():
            copy.writestr(info, parts.get(info.filename, book.read(info.filename)), info.compress_type)
    return written.getvalue()


def _part(book: zipfile.ZipFile, sheet: str) -> str:
    """Name of the part that holds a sheet."""
    names = ET.fromstring(book.read("xl/workbook.xml")).iter(f"{_MAIN}sheet")
    key = next((found.get(_RELATION) for found in names if found.get("name") == sheet), None)
    relations = ET.fromstring(book.read("xl/_rels/workbook.xml.rels"))
    target = next((r.get("Target", "") for r in relations if r.get("Id") == key), "")
    if not target:
        raise UnchangeableError("the sheet has no part")
    return target.removeprefix("/") if target.startswith("/") else f"xl/{target}"


def _recalculated(book: str) -> str:
    """The workbook's part, told to calculate all formulas when it is opened."""
    flag = 'fullCalcOnLoad="1"'
    found = re.search(r"<((?:\w+:)?)calcPr\b[^>]*?(/?)>", book)
    if found:
        tag = re.sub(r'\s+fullCalcOnLoad="[^"]*"', "", found[0])
        end = "/>" if found[2] else ">"
        return book.replace(found[0], f"{tag.removesuffix(end).rstrip()} {flag}{end}", 1)
    # It stands after these, in this order of preference (18.2.27 "workbook").
    for before in ("definedNames", "externalReferences", "functionGroups", "sheets"):
        found = re.search(rf"</((?:\w+:)?){before}>|<((?:\w+:)?){before}\b[^>]*/>", book)
        if found:
            prefix = found[1] or found[2] or ""
            return f"{book[: found.end()]}<{prefix}calcPr {flag}/>{book[found.end() :]}"
    raise UnchangeableError("the workbook has no sheets")


def _sheet(xml: str, cells: Mapping[tuple[int, int], str], added: Sequence[Mapping[int, str]]) -> str:
    """The part of the sheet with its cells changed; rows and cells must say where they stand."""
    by_row: dict[int, dict[int, str]] = {}
    for (row, column), text in cells.items():
        by_row.setdefault(row + 1, {})[column] = text
    rows = {_number(match[2]): match for match in _ROW.finditer(xml)}
    if by_row.keys() - rows.keys() or not rows:
        raise UnchangeableError("a row that is to be changed is not there")
    last = max(rows)
    end = rows[last].end()
    prefix = rows[last][1]
    new = "".join(
        f'<{prefix}row r="{number}">'
        + "".join(_cell(prefix, column, number, "", text) for column, text in sorted(row.items()))
        + f"</{prefix}row>"
        for number, row in enumerate(added, start=last + 1)
    )
    pieces, at = [], 0
    for number, match in rows.items():
        pieces.append(xml[at : match.start()])
        pieces.append(_row(match, number, by_row[number]) if number in by_row else match[0])
        at = match.end()
        if at == end:
            pieces.append(new)
    pieces.append(xml[at:])
    columns = [column for row in (*by_row.values(), *added) for column in row]
    return _wider("".join(pieces), max(columns, default=0), last + len(added))


def _wider(xml: str, column: int, row: int) -> str:
    """The sheet with a dimension that its cells fit in."""
    found = _DIMENSION.search(xml)
    if found is None or found[3] is None:
        return xml
    letters = max(found[3], column_letters(column), key=lambda name: (len(name), name))
    ref = f"{found[1]}{found[2]}:{letters}{max(int(found[4]), row)}{found[5]}"
    return f"{xml[: found.start()]}{ref}{xml[found.end() :]}"


def _row(match: re.Match[str], number: int, changes: Mapping[int, str]) -> str:
    """One row with some of its cells changed, in the order of the columns."""
    prefix, attributes, inside = match[1], match[2], match[3] or ""
    left = dict(changes)
    pieces, at = [], 0
    for cell in _CELL.finditer(inside):
        column = _column(cell[2])
        before = [c for c in sorted(left) if c < column]
        pieces.append(inside[at : cell.start()])
        pieces += [_cell(prefix, c, number, "", left.pop(c)) for c in before]
        if column in left:
            if re.search(r"<(?:\w+:)?f\b", cell[3] or ""):
                raise UnchangeableError("a formula stands where a cell is to be changed")
            style = re.search(r'\ss="\d+"', cell[2])
            pieces.append(_cell(prefix, column, number, style[0] if style else "", left.pop(column)))
        else:
            pieces.append(cell[0])
        at = cell.end()
    pieces.append(inside[at:])
    pieces += [_cell(prefix, column, number, "", left[column]) for column in sorted(left)]
    attributes = re.sub(r'\sspans="[^"]*"', "", attributes) if left else attributes
    return f"<{prefix}row{attributes}>{''.join(pieces)}</{prefix}row>"


def _cell(prefix: str, column: int, row: int, style: str, text: str) -> str:
    place = f"r={quoteattr(column_letters(column) + str(row))}{style}"
    if not text:
        return f"<{prefix}c {place}/>"
    if re.fullmatch(r"0|[1-9]\d{0,8}", text):
        return f"<{prefix}c {place}><{prefix}v>{text}</{prefix}v></{prefix}c>"
    inside = f'<{prefix}t xml:space="preserve">{escape(text)}</{prefix}t>'
    return f'<{prefix}c {place} t="inlineStr"><{prefix}is>{inside}</{prefix}is></{prefix}c>'


def _number(attributes: str) -> int:
    found = re.search(r'\sr="(\d{1,7})"', attributes)
    if found is None:
        raise UnchangeableError("a row does not say where it stands")
    return int(found[1])


def _column(attributes: str) -> int:
    found = re.search(r'\sr="([A-Z]{1,3})\d+"', attributes)
    if found is None:
        raise UnchangeableError("a cell does not say where it stands")
    column = 0
    for letter in found[1]:
        column = column * 26 + ord(letter) - ord("A") + 1
    return column - 1
