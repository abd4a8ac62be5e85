"""The tables of the settings that are about printing: the farm's own label stocks, and its printers."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping

from tagmaker.errors import Problem
from tagmaker.farm import MOST_OFFSET, PAPER_SIZES, SCALES, Printer, StockFigures
from tagmaker.intake.cells.plain_text import nearest, shown
from tagmaker.intake.settings import values
from tagmaker.intake.settings.table import SettingsTable, named_tables
from tagmaker.intake.settings.values import UnfitValueError

# fmt: off
STOCK_KEYS = (
    "page", "columns", "rows", "width", "height", "left", "top", "pitch_x", "pitch_y", "roll", "plain",
)
PRINTER_KEYS = ("queue", "offset_x", "offset_y", "scale_x", "scale_y", "turn", "dpi", "unprintable")
# fmt: on
MOST_LENGTH = 450.0  # [mm] of a page: a large desktop printer's (chosen)
_LENGTH = re.compile(r"([+-]?\d{1,4}(?:\.\d{1,4})?)\s*(mm|cm|in)", re.ASCII)
_MM = {"mm": 1.0, "cm": 10.0, "in": 25.4}


def length(least: float, most: float) -> Callable[[object], float]:
    """A reader for a length within limits [mm]: a number of millimetres, or text with its unit."""

    def millimetres(value: object) -> float:
        text = f"{value} mm" if isinstance(value, int | float) and not isinstance(value, bool) else value
        match = _LENGTH.fullmatch(text.strip().lower()) if isinstance(text, str) else None
        if match is None:
            raise UnfitValueError("be a length", 'Write millimetres like 25.4, or a text like "1 in".')
        found = float(match[1]) * _MM[match[2]]
        if not least <= found <= most:
            raise UnfitValueError(f"be from {least:g} to {most:g} mm", "Measure it again.")
        return found

    return millimetres


def _page(value: object) -> tuple[float, float]:
    """Width and height of a page [mm]."""
    remedy = 'Write "letter", "a4" or its width and height: [215.9, 279.4].'
    if isinstance(value, str) and value.strip().lower() in PAPER_SIZES:
        return PAPER_SIZES[value.strip().lower()]
    if not isinstance(value, list) or len(value) != 2:
        raise UnfitValueError("be a size of paper", remedy)
    width, height = (length(10, MOST_LENGTH)(side) for side in value)
    return width, height


def _whole(least: int, most: int) -> Callable[[object], int]:
    """A reader for a whole number within limits."""

    def count(value: object) -> int:
        if isinstance(value, bool) or not isinstance(value, int) or not least <= value <= most:
            must = f"be a whole number from {least} to {most}"
            raise UnfitValueError(must, "Write a number within these limits, without quotes.")
        return value

    return count


def _turn(value: object) -> int:
    if isinstance(value, bool) or not isinstance(value, int) or value not in (0, 90, 180, 270):
        raise UnfitValueError("be 0, 90, 180 or 270", "Write by how many degrees pages are turned clockwise.")
    return value


def _margins(value: object) -> tuple[float, float, float, float]:
    """What a printer leaves white along the edges [mm]: one length, or left, top, right and bottom."""
    edge = length(0, 50)  # limit chosen
    if not isinstance(value, list):
        return (edge(value),) * 4
    if len(value) != 4:
        raise UnfitValueError("be one length, or four", "Write them as [left, top, right, bottom].")
    left, top, right, bottom = map(edge, value)
    return left, top, right, bottom


def _queue(value: object) -> str | None:
    """A queue of the spooler; a name that begins with "-" would be taken for an option of its commands."""
    if not isinstance(value, str) or not re.fullmatch(r"[^\s-]\S*", value) or not value.isprintable():
        remedy = 'Write a name that "lpstat -e" lists.'
        raise UnfitValueError('be the name of a queue: no blanks, no "-" in front', remedy)
    return value


def stock_figures(name: str, table: SettingsTable) -> StockFigures | None:
    """The farm's own label stock of a name; None where a figure is missing, which is noted."""
    is_roll = table.read("roll", values.yes_or_no, False)
    needed = ("width", "height") if is_roll else ("page", "columns", "rows", "width", "height", "left", "top")
    missing = [key for key in needed if key not in table.content]
    for key in missing:
        table.refuse(key, "be given", "Measure it on the sheet, and write it in mm or in inches.")
    if missing:
        return None
    side = length(5, MOST_LENGTH)
    width, height = table.read("width", side, 50.0), table.read("height", side, 50.0)
    page = (width, height) if is_roll else table.read("page", _page, PAPER_SIZES["letter"])
    edge = length(0, MOST_LENGTH)
    return StockFigures(
        name=name,
        page_width=page[0],
        page_height=page[1],
        columns=table.read("columns", _whole(1, 50), 1),
        rows=table.read("rows", _whole(1, 50), 1),
        width=width,
        height=height,
        left=table.read("left", edge, 0.0),
        top=table.read("top", edge, 0.0),
        pitch_x=table.read("pitch_x", edge, width),
        pitch_y=table.read("pitch_y", edge, height),
        is_roll=is_roll,
        is_plain=table.read("plain", values.yes_or_no, False),
    )


def printer(name: str, table: SettingsTable) -> Printer:
    """The printer of a name."""
    offset, scale = length(-MOST_OFFSET, MOST_OFFSET), values.number(*SCALES)
    return Printer(
        name=name,
        queue=table.read("queue", _queue, None),
        offset_x=table.read("offset_x", offset, 0.0),
        offset_y=table.read("offset_y", offset, 0.0),
        scale_x=table.read("scale_x", scale, 1.0),
        scale_y=table.read("scale_y", scale, 1.0),
        turn=table.read("turn", _turn, 0),
        dpi=table.read("dpi", _whole_or_none(100, 2400), None),
        unprintable=table.read("unprintable", _margins_or_none, None),
    )


def _whole_or_none(least: int, most: int) -> Callable[[object], int | None]:
    return _whole(least, most)


def _margins_or_none(value: object) -> tuple[float, float, float, float] | None:
    return _margins(value)


def own_stocks(top: SettingsTable, problems: list[Problem]) -> dict[str, StockFigures]:
    """The farm's own label stocks, by name; one that lacks a figure is left out, and noted."""
    tables = named_tables(top, "label_stocks", STOCK_KEYS, problems)
    found = {name: stock_figures(name, table) for name, table in tables.items()}
    return {name: figures for name, figures in found.items() if figures is not None}


def own_printers(top: SettingsTable, problems: list[Problem]) -> dict[str, Printer]:
    """The farm's printers, by name."""
    tables = named_tables(top, "printers", PRINTER_KEYS, problems)
    return {name: printer(name, table) for name, table in tables.items()}


def default_printer(top: SettingsTable, printers: Mapping[str, Printer]) -> str | None:
    """The name of the printer to print for; one that is not described is noted."""
    name = top.read("printer", values.words, "") or None
    if name is not None and name not in printers:
        near = nearest(name, printers)
        hint = f" The nearest is {shown(near)}." if near else ""
        top.refuse("printer", "be a printer of these settings", f"Describe it in [printers.{name}].{hint}")
    return name
