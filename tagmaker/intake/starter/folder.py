"""A folder to begin with: an empty lot sheet with drop-downs and notes, and a commented settings file."""

from __future__ import annotations

import contextlib
import io
import os
import re
import zipfile
from collections.abc import Sequence
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

from tagmaker.errors import OutputProblem
from tagmaker.intake.columns import COLUMNS
from tagmaker.intake.lots.column import Column
from tagmaker.intake.orders.columns import DATE, EXAMPLE, ORDER_COLUMNS
from tagmaker.intake.orders.columns import SHEET_NAME as ORDERS_SHEET
from tagmaker.intake.settings.keys import FILE_NAME
from tagmaker.intake.starter.text import SETTINGS
from tagmaker.storage.crops import crop_table

if TYPE_CHECKING:
    from openpyxl.worksheet.worksheet import Worksheet

SHEET_NAME = "lots.xlsx"
NUMBERED_LOTS = 200  # rows that come with a code (chosen: a season of a small farm)
FORMATTED_ORDERS = 200  # rows in which a code stays text and a date a date (chosen likewise)
_LONG_AGO = (1980, 1, 1, 0, 0, 0)  # the earliest time an archive can hold: the same bytes on every day


def start(folder: Path) -> tuple[Path, ...]:
    """Write `lots.xlsx` and `tagmaker.toml` into a folder, which is made if it is not there.

    Returns:
        The two files.

    Raises:
        OutputProblem: one of the files is there already, or the folder cannot be written; nothing
            is changed then.
    """
    files = {folder / SHEET_NAME: _sheet(), folder / FILE_NAME: SETTINGS.encode()}
    there = " and ".join(path.name for path in files if path.exists())
    if there:
        what = f"{folder} must be a folder without {SHEET_NAME} and {FILE_NAME} (got {there})"
        remedy = "Nothing was written: name another folder, or rename what is there."
        raise OutputProblem(f"{what}. {remedy}")
    _place(folder, files)
    return tuple(files)


def _place(folder: Path, files: dict[Path, bytes]) -> None:
    """Put all files into the folder, or none."""
    drafts = {path: path.with_name(f".{path.name}.{os.getpid()}.tmp") for path in files}
    placed: list[Path] = []
    try:
        folder.mkdir(parents=True, exist_ok=True)
        for path, content in files.items():
            drafts[path].write_bytes(content)
        for path, draft in drafts.items():
            draft.replace(path)
            placed.append(path)
    except OSError as error:
        for path in (*drafts.values(), *placed):
            with contextlib.suppress(OSError):
                path.unlink()
        what = f"{folder} must be a folder that can be written (got: {error.strerror})"
        raise OutputProblem(f"{what}. Name another folder, or check its rights.") from None


def _sheet() -> bytes:
    """The workbook: an empty sheet of lots, and one of orders with a row that shows how to write them."""
    from openpyxl import Workbook
    from openpyxl.styles import Font

    book = Workbook()
    lots = book.worksheets[0]
    lots.title = "Lots"
    _fill(lots, COLUMNS, NUMBERED_LOTS)
    for number in range(1, NUMBERED_LOTS + 1):
        lots.cell(row=number + 1, column=1, value=f"{number:03}")
    orders = book.create_sheet(ORDERS_SHEET)
    _fill(orders, ORDER_COLUMNS, FORMATTED_ORDERS)
    for index, column in enumerate(ORDER_COLUMNS, 1):
        text = EXAMPLE.get(column.name)
        value = datetime.fromisoformat(text) if text and column.form == DATE else text
        orders.cell(row=2, column=index, value=value).font = Font(italic=True)
    buffer = io.BytesIO()
    book.save(buffer)
    return _without_times(buffer.getvalue())


def _fill(sheet: Worksheet, columns: Sequence[Column], rows: int) -> None:
    """The header with its notes, so many rows with the formats of their cells, and the drop-downs."""
    _write_header(sheet, columns)
    for index, column in enumerate(columns, 1):
        for row in range(2, rows + 2) if column.form != "General" else ():
            sheet.cell(row=row, column=index).number_format = column.form
    _add_choices(sheet, columns, rows)
    sheet.freeze_panes = "B2"  # the header and the codes stay in view
    sheet.print_title_rows = "1:1"
    sheet.page_setup.orientation = "landscape"


def _write_header(sheet: Worksheet, columns: Sequence[Column]) -> None:
    from openpyxl.comments import Comment
    from openpyxl.styles import Alignment, Font, PatternFill
    from openpyxl.utils import get_column_letter

    for index, column in enumerate(columns, 1):
        cell = sheet.cell(row=1, column=index, value=column.name)
        cell.font = Font(bold=True)
        cell.fill = PatternFill("solid", start_color="DDDDDD")
        cell.alignment = Alignment(vertical="top", wrap_text=True)
        cell.comment = Comment(column.note, "tagmaker", height=110, width=280)
        sheet.column_dimensions[get_column_letter(index)].width = column.width


def _add_choices(sheet: Worksheet, columns: Sequence[Column], rows: int) -> None:
    """Drop-downs that propose words and refuse none: a farm has its own coolers and uses."""
    from openpyxl.utils import get_column_letter
    from openpyxl.worksheet.datavalidation import DataValidation

    crops, names = crop_table(), [column.name for column in columns]
    choices = {column.name: column.choices for column in columns if column.choices}
    for name, words in {"crop": crops.crops, "form": crops.forms("tulip"), **choices}.items():
        letter = get_column_letter(names.index(name) + 1)
        proposed = DataValidation(type="list", formula1=f'"{",".join(words)}"', allow_blank=True)
        proposed.showErrorMessage = False
        proposed.add(f"{letter}2:{letter}{rows + 1}")
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
