"""Cells of a workbook that read as blank although the grower sees something in them.

A formula whose result was never stored, or that ended in an error, must not count as a blank
cell: "gone" would be 0 and the stems would be sold twice. The readers of the cells do not tell, so
this looks into the workbook's own XML: ECMA-376 part 1 (18.3.1.4 "c", 18.3.1.40 "f") for xlsx,
OpenDocument 1.3 part 3 (9.1.4 "table:table-cell") for ods.
"""

from __future__ import annotations

import io
from collections.abc import Iterator, Mapping
from xml.etree import ElementTree as ET

from tagmaker.intake.files.grid import Unread
from tagmaker.intake.files.workbook_parts import SPREADSHEET, cell_place, within_limits

UNCALCULATED = Unread("a formula without its result")
FAILED = Unread("a formula that ends in an error")

_TABLE = "{urn:oasis:names:tc:opendocument:xmlns:table:1.0}"
_OFFICE = "{urn:oasis:names:tc:opendocument:xmlns:office:1.0}"
_CALC_TYPE = "{urn:org:documentfoundation:names:experimental:calc:xmlns:calcext:1.0}value-type"

Places = Mapping[tuple[int, int], Unread]  # (row, column), both counted from 0


def unread_cells(part: bytes, sheet: str) -> Places:
    """Where the formulas without a result stand in one sheet of an xlsx or ods workbook.

    Args:
        part: XML that holds the cells, as `workbook_parts.sheet_xml` gives it.
        sheet: name of the sheet.
    """
    try:
        return dict(
            _in_ods(part, sheet) if b"urn:oasis:names:tc:opendocument" in part[:5000] else _in_xlsx(part)
        )
    except (ET.ParseError, ValueError):
        return {}


def _in_xlsx(part: bytes) -> Iterator[tuple[tuple[int, int], Unread]]:
    if b"<f" not in part and b":f" not in part and b't="e"' not in part:
        return  # no formula and no error value: nothing to look for
    for _, cell in ET.iterparse(io.BytesIO(part)):
        if cell.tag == f"{SPREADSHEET}row":
            cell.clear()
        if cell.tag != f"{SPREADSHEET}c":
            continue
        place = cell_place(cell.get("r", ""))
        if place is None:
            continue
        if cell.get("t") == "e":
            yield place, FAILED
        elif cell.find(f"{SPREADSHEET}f") is not None and not _has_result(cell):
            yield place, UNCALCULATED


def _has_result(cell: ET.Element) -> bool:
    """Whether the result of a formula is stored; an empty text is one."""
    return cell.get("t") == "str" or bool(cell.findtext(f"{SPREADSHEET}v", ""))


def _in_ods(content: bytes, sheet: str) -> Iterator[tuple[tuple[int, int], Unread]]:
    if b"table:formula" not in content:
        return
    for table in ET.fromstring(content).iter(f"{_TABLE}table"):
        if table.get(f"{_TABLE}name") != sheet:
            continue
        row = 0
        for line in table.iter(f"{_TABLE}table-row"):
            column = 0
            for cell in line:
                unread = _ods_cell(cell)
                if unread is not None and within_limits(row, column):
                    yield (row, column), unread
                column += int(cell.get(f"{_TABLE}number-columns-repeated", "1"))
            row += int(line.get(f"{_TABLE}number-rows-repeated", "1"))


def _ods_cell(cell: ET.Element) -> Unread | None:
    if cell.get(f"{_TABLE}formula") is None:
        return None
    if cell.get(_CALC_TYPE) == "error":
        return FAILED
    return UNCALCULATED if cell.get(f"{_OFFICE}value-type") is None else None
