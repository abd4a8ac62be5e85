"""The starter's workbook: lots, orders, and the settings, with drop-downs and a note on every header."""

from __future__ import annotations

import io
import re
import zipfile
from collections.abc import Mapping, Sequence
from datetime import datetime
from typing import TYPE_CHECKING

from tagmaker.intake.columns import COLUMNS
from tagmaker.intake.lots.column import Column
from tagmaker.intake.orders.columns import DATE, EXAMPLE, ORDER_COLUMNS
from tagmaker.intake.orders.columns import SHEET_NAME as ORDERS
from tagmaker.intake.settings.cells import cell_value
from tagmaker.intake.settings.sheets import COOLERS, FARM, MEANING, USES
from tagmaker.intake.starter import keys
from tagmaker.intake.starter.beginning import Beginning, Table
from tagmaker.storage.crops import crop_table

if TYPE_CHECKING:
    from openpyxl.worksheet.worksheet import Worksheet

LOTS = "Lots"
NUMBERED_LOTS = 200  # rows that come with a code (chosen: a season of a small farm)
FORMATTED_ORDERS = 200  # rows in which a code stays text and a date a date (chosen likewise)
SETTINGS_ROWS = 50  # of Uses and Coolers with drop-downs, and whose names are proposed elsewhere (chosen)
TEXT = "@"  # the format of a cell that stays as it is typed
_LONG_AGO = (1980, 1, 1, 0, 0, 0)  # the earliest time an archive can hold: the same bytes on every day
_KEY_WIDTH, _VALUE_WIDTH, _MEANING_WIDTH, _ROW_WIDTH = 20, 30, 95, 14  # of columns, in letters


def starter_book(beginning: Beginning, label_stocks: Sequence[str]) -> bytes:
    """The workbook of a new season.

    Args:
        beginning: its settings
        label_stocks: names that are proposed for the labels in the printer
    """
    from openpyxl import Workbook
    from openpyxl.styles import Font

    book = Workbook()
    lots = book.worksheets[0]
    lots.title = LOTS
    _fill(lots, COLUMNS, NUMBERED_LOTS)
    for number in range(NUMBERED_LOTS):
        lots.cell(row=number + 2, column=1, value=f"{beginning.first_code + number:03}")
    orders = book.create_sheet(ORDERS)
    _fill(orders, ORDER_COLUMNS, FORMATTED_ORDERS)
    example = {**EXAMPLE, "use": next(iter(beginning.uses), EXAMPLE["use"])}
    for index, column in enumerate(ORDER_COLUMNS, 1):
        text = example.get(column.name)
        value = datetime.fromisoformat(text) if text and column.form == DATE else text
        orders.cell(row=2, column=index, value=value).font = Font(italic=True)
    _fill_farm(book.create_sheet(FARM), beginning.farm, label_stocks)
    _fill_rows(book.create_sheet(USES), keys.USES, beginning.uses)
    _fill_rows(book.create_sheet(COOLERS), keys.COOLERS, beginning.coolers)
    buffer = io.BytesIO()
    book.save(buffer)
    return _without_times(buffer.getvalue())


def _fill(sheet: Worksheet, columns: Sequence[Column], rows: int) -> None:
    """The header with its notes, so many rows with the formats of their cells, and the drop-downs."""
    _write_header(sheet, {column.name: (column.note, column.width) for column in columns})
    for index, column in enumerate(columns, 1):
        for row in range(2, rows + 2) if column.form != "General" else ():
            sheet.cell(row=row, column=index).number_format = column.form
    crops, names = crop_table(), [column.name for column in columns]
    choices = {column.name: f'"{",".join(column.choices)}"' for column in columns if column.choices}
    for name, words in {"crop": crops.crops, "form": crops.forms("tulip")}.items():
        choices[name] = f'"{",".join(words)}"'
    for name, of in {"use": USES, "cooler": COOLERS}.items():
        if name in names:
            choices[name] = f"{of}!$A$2:$A${SETTINGS_ROWS + 1}"
    for name, proposed in choices.items():
        _propose(sheet, proposed, names.index(name) + 1, 2, rows + 1)


def _fill_farm(sheet: Worksheet, farm: Table, label_stocks: Sequence[str]) -> None:
    """A row for each key, with its value where it has one, and what it means."""
    from openpyxl.styles import Alignment

    notes = {
        "key": ("What is set. Leave these as they are.", _KEY_WIDTH),
        "value": ("Your own. Blank: as the last column says.", _VALUE_WIDTH),
        MEANING: ("For reading alone.", _MEANING_WIDTH),
    }
    _write_header(sheet, notes)
    more = {key: "What a blank cell means here." for key in farm if key not in keys.FARM}
    for row, (key, meaning) in enumerate({**keys.FARM, **more}.items(), 2):
        sheet.cell(row=row, column=1, value=key)
        value = sheet.cell(row=row, column=2, value=cell_value(key, farm[key]) if key in farm else None)
        value.number_format, value.alignment = TEXT, Alignment(horizontal="left")
        sheet.cell(row=row, column=3, value=meaning)
        choices = label_stocks if key == "label_stock" else keys.FARM_CHOICES.get(key, ())
        if choices:
            _propose(sheet, f'"{",".join(choices)}"', 2, row, row)
    sheet.freeze_panes = "A2"


def _fill_rows(sheet: Worksheet, notes: Mapping[str, str], tables: Mapping[str, Table]) -> None:
    """A row for each use or cooler, below columns that are named like the keys."""
    _write_header(sheet, {key: (note, _ROW_WIDTH) for key, note in notes.items()})
    name_column, *columns = notes
    for row, (name, table) in enumerate(tables.items(), 2):
        values = {name_column: name} | {key: cell_value(key, value) for key, value in table.items()}
        for index, key in enumerate(notes, 1):
            sheet.cell(row=row, column=index, value=values.get(key))
    for index, key in enumerate(columns, 2):
        if key in keys.ROW_CHOICES:
            _propose(sheet, f'"{",".join(keys.ROW_CHOICES[key])}"', index, 2, SETTINGS_ROWS + 1)
        for row in range(2, SETTINGS_ROWS + 2) if key in ("days", "leaves") else ():
            sheet.cell(row=row, column=index).number_format = TEXT
    sheet.freeze_panes = "B2"


def _write_header(sheet: Worksheet, columns: Mapping[str, tuple[str, float]]) -> None:
    """Names in bold, each with its note and the width of its column."""
    from openpyxl.comments import Comment
    from openpyxl.styles import Alignment, Font, PatternFill
    from openpyxl.utils import get_column_letter

    for index, (name, (note, width)) in enumerate(columns.items(), 1):
        cell = sheet.cell(row=1, column=index, value=name)
        cell.font = Font(bold=True)
        cell.fill = PatternFill("solid", start_color="DDDDDD")
        cell.alignment = Alignment(vertical="top", wrap_text=True)
        cell.comment = Comment(note, "tagmaker", height=110, width=280)
        sheet.column_dimensions[get_column_letter(index)].width = width
    sheet.freeze_panes = "B2"  # the header and the codes stay in view
    sheet.print_title_rows = "1:1"
    sheet.page_setup.orientation = "landscape"


def _propose(sheet: Worksheet, words: str, column: int, first: int, last: int) -> None:
    """A drop-down that proposes words and refuses none: a farm has its own coolers and uses."""
    from openpyxl.utils import get_column_letter
    from openpyxl.worksheet.datavalidation import DataValidation

    letter = get_column_letter(column)
    proposed = DataValidation(type="list", formula1=words, allow_blank=True)
    proposed.showErrorMessage = False
    proposed.add(f"{letter}{first}:{letter}{last}")
    sheet.add_data_validation(proposed)


def _without_times(workbook: bytes) -> bytes:
    """The same workbook without the times at which it was written."""
    result = io.BytesIO()
    with (
        zipfile.ZipFile(io.BytesIO(workbook)) as old,
        zipfile.ZipFile(result, "w", zipfile.ZIP_DEFLATED) as new,
    ):
        for name in old.namelist():
            content = old.read(name)
            if name == "docProps/core.xml":
                content = re.sub(rb"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\dZ", b"1980-01-01T00:00:00Z", content)
            new.writestr(zipfile.ZipInfo(name, _LONG_AGO), content, zipfile.ZIP_DEFLATED)
    return result.getvalue()
