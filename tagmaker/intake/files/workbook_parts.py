"""The parts inside a workbook file, and a sheet that is too large to be unpacked.

xlsx: ECMA-376 part 1, 18.2 (workbook) and 18.3 (sheets). ods: OpenDocument 1.3 part 3, 9.1 (tables).
"""

from __future__ import annotations

import io
import re
import zipfile
from xml.etree import ElementTree as ET

from tagmaker.intake.files.grid import MOST_COLUMNS, MOST_ROWS

SPREADSHEET = "{http://schemas.openxmlformats.org/spreadsheetml/2006/main}"
_RELATION = "{http://schemas.openxmlformats.org/officeDocument/2006/relationships}id"

# A filled cell of an xlsx sheet in row 100,000 or beyond, or right of column 500 ("SF").
_FAR_ROW = re.compile(rb'<(?:\w+:)?c\s[^>]*?\br="([A-Z]{1,3})(\d{6,7})"[^>/]*>')
_FAR_COLUMN = re.compile(rb'<(?:\w+:)?c\s[^>]*?\br="((?:[A-Z]{3}|S[G-Z]|[T-Z][A-Z])\d{1,7})"[^>/]*>')


def sheet_xml(content: bytes, sheet: str) -> bytes:
    """The XML that holds the cells of a sheet: its part of an xlsx, the whole content of an ods.

    Empty where the workbook is built in another way.
    """
    try:
        with zipfile.ZipFile(io.BytesIO(content)) as archive:
            if "content.xml" in archive.namelist():
                return archive.read("content.xml")
            part = _part_of(archive, sheet)
            return archive.read(part) if part else b""
    except (zipfile.BadZipFile, KeyError, ET.ParseError, ValueError, RuntimeError, OSError):
        return b""


def _part_of(archive: zipfile.ZipFile, sheet: str) -> str:
    """Name of the part of an xlsx workbook that holds a sheet; empty where there is none."""
    book = ET.fromstring(archive.read("xl/workbook.xml"))
    key = next((s.get(_RELATION) for s in book.iter(f"{SPREADSHEET}sheet") if s.get("name") == sheet), None)
    relations = ET.fromstring(archive.read("xl/_rels/workbook.xml.rels"))
    target = next((r.get("Target", "") for r in relations if r.get("Id") == key), "")
    return target.removeprefix("/") if target.startswith("/") else f"xl/{target}" if target else ""


def far_cell(part: bytes) -> str:
    """Name of a filled cell of an xlsx sheet beyond the limits, or "".

    The reader sets up every cell between the first and the last one, so that one stray cell in the
    far corner would take all memory there is.
    """
    column = _FAR_COLUMN.search(part)
    if column:
        return column[1].decode()
    rows = (match for match in _FAR_ROW.finditer(part) if int(match[2]) > MOST_ROWS)
    return next((f"{match[1].decode()}{match[2].decode()}" for match in rows), "")


def cell_place(name: str) -> tuple[int, int] | None:
    """Row and column of a cell name, both counted from 0.

    >>> cell_place("AB7")
    (6, 27)
    """
    match = re.fullmatch(r"([A-Z]{1,3})(\d{1,7})", name)
    if match is None:
        return None
    column = 0
    for letter in match[1]:
        column = column * 26 + ord(letter) - ord("A") + 1
    return int(match[2]) - 1, column - 1


def within_limits(row: int, column: int) -> bool:
    """Whether a cell (counted from 0) lies where lots can stand."""
    return row < MOST_ROWS and column < MOST_COLUMNS
