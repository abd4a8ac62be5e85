"""The sheets of a workbook as rows of text, with the seconds that a thermometer log needs.

The reader sets up every cell between the first and the last one, so what a sheet spans is found
out first. xlsx: ECMA-376 part 1, 18.3. ods: OpenDocument 1.3 part 3, 9.1.
"""

from __future__ import annotations

import io
import re
from collections.abc import Callable, Iterator, Sequence
from datetime import date, datetime, time, timedelta
from itertools import islice
from xml.etree import ElementTree as ET

from tagmaker.errors import InputProblems, Problem
from tagmaker.intake.files.archives import ArchiveFault, archive_fault
from tagmaker.intake.files.workbook_parts import cell_place, sheet_xml
from tagmaker.intake.log.table import LOOKED_AT, WAYS_OUT, Row, Table, refused, too_many

MOST_CELLS = 20_000_000  # a sheet may span (chosen: 1.2 GB when read)
_ENCRYPTED_STREAM = "EncryptedPackage".encode("utf-16-le")
_FILLED_CELL = re.compile(rb'<(?:\w+:)?c\s[^>]*?\br="([A-Z]{1,3}\d{1,7})"[^>/]*>')
_LETTERS, _DIGITS = b"ABCDEFGHIJKLMNOPQRSTUVWXYZ", b"0123456789"
_TABLE = "{urn:oasis:names:tc:opendocument:xmlns:table:1.0}"


def read_sheets(
    content: bytes, name: str, most_rows: int, wanted: Callable[[str], bool] = bool
) -> tuple[Table, ...]:
    """The sheets of a workbook.

    Args:
        content: the bytes of the file.
        name: the file as messages name it.
        most_rows: rows that a sheet may have.
        wanted: whether to read the sheet of a name.

    Raises:
        InputProblems: it is damaged, locked or too large.
    """
    if content.startswith(b"PK"):
        _check_archive(content, name)
    elif _ENCRYPTED_STREAM in content:
        raise _locked(name)
    try:
        from python_calamine import CalamineWorkbook

        tables = []
        with CalamineWorkbook.from_filelike(io.BytesIO(content)) as book:
            for sheet in filter(wanted, book.sheet_names):
                _check_span(sheet_xml(content, sheet), name, sheet, most_rows)
                values = book.get_sheet_by_name(sheet).to_python(skip_empty_area=False)
                if len(values) > most_rows:
                    raise too_many(name)
                tables.append(_table(name, sheet, values))
    except (InputProblems, KeyboardInterrupt, SystemExit):
        raise
    except BaseException:  # noqa: BLE001 - the reader's panics on a damaged file derive from BaseException
        raise refused(name, "a damaged workbook", "Export it again, or as csv.") from None
    return tuple(tables)


def _table(name: str, sheet: str, values: Sequence[Sequence[object]]) -> Table:
    def rows() -> Iterator[Row]:
        return ((number, [cell_text(cell) for cell in row]) for number, row in enumerate(values, 1))

    return Table(name, sheet, tuple(islice(rows(), LOOKED_AT)), rows)


def cell_text(value: object) -> str:
    """A cell as a text export would have it, to the second.

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


def _locked(name: str) -> InputProblems:
    what = "must be a workbook without a password (got one that is locked with a password)"
    return InputProblems([Problem(name, what, "Save a copy without the password and name that.")])


def _check_archive(content: bytes, name: str) -> None:
    """Refuse an archive that is broken, locked or unpacks beyond all measure."""
    match archive_fault(content):
        case ArchiveFault.DAMAGED:
            raise refused(name, "a damaged workbook", "Export it again, or as csv.")
        case ArchiveFault.LOCKED:
            raise _locked(name)
        case ArchiveFault.VAST:
            raise refused(name, "a workbook that unpacks beyond all measure", "Export it as csv.")


def _check_span(part: bytes, name: str, sheet: str, most_rows: int) -> None:
    """Refuse a sheet whose filled cells lie too far apart."""
    ods = b"urn:oasis:names:tc:opendocument" in part[:5000]
    rows, columns = _span_of_ods(part, sheet) if ods else _span_of_xlsx(part)
    if rows > most_rows:
        raise too_many(name)
    if rows * columns > MOST_CELLS:
        what = f"must span at most {MOST_CELLS:,} cells (got {rows:,} rows and {columns:,} columns)"
        remedy = f"Delete the stray cell far from the readings. {WAYS_OUT}"
        raise InputProblems([Problem(f'{name}, sheet "{sheet}"', what, remedy)])


def _span_of_xlsx(part: bytes) -> tuple[int, int]:
    """Last row and column that hold something."""
    names = _FILLED_CELL.findall(part)
    if not names:
        return 0, 0
    last = cell_place(f"A{names[-1].lstrip(_LETTERS).decode()}")  # rows stand in order
    columns = (cell_place(f"{column.decode()}1") for column in {name.rstrip(_DIGITS) for name in names})
    return (last[0] + 1 if last else 0), max(place[1] + 1 for place in columns if place)


def _span_of_ods(part: bytes, sheet: str) -> tuple[int, int]:
    """Last row and column that hold something; runs of repeated cells are counted out."""
    last_row = last_column = row = 0
    inside = False
    for event, element in ET.iterparse(io.BytesIO(part), events=("start", "end")):
        if element.tag == f"{_TABLE}table":
            inside = event == "start" and element.get(f"{_TABLE}name") == sheet
            row = 0
        elif inside and event == "end" and element.tag == f"{_TABLE}table-row":
            row += int(element.get(f"{_TABLE}number-rows-repeated", "1"))
            column = filled_to = 0
            for cell in element:
                column += int(cell.get(f"{_TABLE}number-columns-repeated", "1"))
                if len(cell):
                    filled_to = column
            if filled_to:
                last_row, last_column = row, max(last_column, filled_to)
            element.clear()
    return last_row, last_column
