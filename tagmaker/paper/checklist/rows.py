"""The lots of a checklist: a row each, with a box a day to write what is left, and blank rows to fill in."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import NamedTuple

from tagmaker.paper.checklist.grid import DAYS, PAD, SMALLEST, THIN
from tagmaker.paper.press.boxes import Box, Element, Frame, Rule
from tagmaker.paper.press.fitting import fit
from tagmaker.paper.press.stacking import Paragraph, squeezed, stack, stack_height

LEAST = 9.0  # [mm] height of a row
HIGHEST = 60.0  # [mm] the same; words that need more are made smaller
BLANK_ROWS = 2  # for lots that come in during the week (chosen)
FILLED_ROWS = 8  # rows, blank ones too, up to which a page with the week's work goes on (chosen)
HEADS = 8.2  # [mm] height of the columns' heads
NAME_HEIGHT = 5.4  # [mm] of the line with lot and storage code
DATE_HEIGHT = 4.7  # [mm] of a day with its hour below it
SIZES = (9.0, 8.5, 8.0, 7.5, 7.0, 6.5, 6.0)  # [pt]
LEAST_WORDS = 8.0  # [pt] by which a row's height is measured


class Widths(NamedTuple):
    """Of the columns before the days [mm]."""

    lot: float = 24.0
    code: float = 14.0
    water: float = 27.0
    sell_by: float = 33.0
    flowers: float = 44.5
    place: float = 21.0
    bunches: float = 13.5


WIDTHS = Widths()
FIXED = sum(WIDTHS)


@dataclass(frozen=True, slots=True, kw_only=True)
class LotRow:
    """The words of a lot's row, and the letters of the tasks that it is marked for."""

    lot: str
    code: str = ""  # storage code; empty for a wet lot
    marks: str = ""  # how it stands
    water: str = ""  # day, or what stands in its place
    water_small: str = ""
    sell_by: str = ""
    sell_small: str = ""
    flowers: str = ""
    place: str = ""
    bunches: str = ""


@dataclass(frozen=True, slots=True)
class Heads:
    """What stands above the columns."""

    columns: tuple[str, ...]  # lot, code, water, sell by, flowers, place, bunches
    left: str  # above the days
    days: tuple[str, ...]


def row_height(row: LotRow) -> float:
    """Height [mm] of a lot's row: as much as its words need, and 9 mm at least."""
    lot = NAME_HEIGHT + stack_height(_marks(row, LEAST_WORDS), WIDTHS.lot + WIDTHS.code - 2 * PAD) - PAD
    others = [
        stack_height((Paragraph(text, LEAST_WORDS),), width - 2 * PAD)
        for text, width in ((row.flowers, WIDTHS.flowers), (row.place, WIDTHS.place))
    ]
    dates = [
        DATE_HEIGHT + stack_height((Paragraph(text, LEAST_WORDS),), width - 2 * PAD) - PAD
        for text, width in ((row.water_small, WIDTHS.water), (row.sell_small, WIDTHS.sell_by))
    ]
    return min(max(LEAST, *(height + 2 * PAD for height in (lot, *others, *dates))), HIGHEST)


def _marks(row: LotRow, size: float) -> tuple[Paragraph, ...]:
    return (Paragraph(row.marks, size, "bold"),) if row.marks else ()


def pages_of(rows: Sequence[LotRow], room: float) -> list[tuple[LotRow, ...]]:
    """The lots' rows of each page of a height [mm], heads apart."""
    pages: list[list[LotRow]] = [[]]
    used = 0.0
    for row in rows:
        height = row_height(row)
        if used + height > room + 1e-6 and pages[-1]:
            pages.append([])
            used = 0.0
        pages[-1].append(row)
        used += height
    return [tuple(page) for page in pages]


def rows_height(rows: Sequence[LotRow]) -> float:
    """Height [mm] of rows and their heads."""
    return HEADS + sum(row_height(row) for row in rows)


def draw_rows(
    box: Box, rows: Sequence[LotRow], heads: Heads, marks: Mapping[tuple[str, int], str]
) -> Iterator[Element]:
    """Rows from the top of a box on, and blank ones in what is left of it.

    Args:
        box: where they go.
        rows: the lots'.
        heads: of the columns.
        marks: lot code and number of the day -> letters of tasks, with bunches.
    """
    yield from _draw_heads(Box(box.x, box.y, box.width, HEADS), heads)
    y = box.y + HEADS
    for row in rows:
        place = Box(box.x, y, box.width, row_height(row))
        yield from _draw_row(place, row, marks)
        y = place.bottom
    blanks = int((box.bottom - y) / LEAST + 1e-6)
    for n in range(blanks):
        height = (box.bottom - y) / (blanks - n)
        yield from _lines(Box(box.x, y, box.width, height))
        y += height


def _cells(row: Box) -> Iterator[Box]:
    """The columns' cells of a row: those of the lot, then the days."""
    x = row.x
    for width in (*WIDTHS, *((row.width - FIXED) / DAYS,) * DAYS):
        yield Box(x, row.y, width, row.height)
        x += width


def _lines(row: Box) -> Iterator[Element]:
    """A frame and the columns in it; lot and code share one."""
    yield Frame(row, width=THIN)
    for n, cell in enumerate(_cells(row)):
        if n > 1:
            yield Rule(cell.x, row.y, cell.x, row.bottom, width=THIN)


def _draw_heads(row: Box, heads: Heads) -> Iterator[Element]:
    cells = list(_cells(row))
    for cell, head in zip(cells, heads.columns, strict=False):
        place = Box(cell.x + PAD, cell.y, cell.width - PAD, row.height)
        yield fit(head, place, most=9, least=7, lines=2, weight="bold")
    days = cells[len(WIDTHS) :]
    over = Box(days[0].x + PAD, row.y, days[-1].right - days[0].x - PAD, row.height / 2)
    yield fit(heads.left, over, most=9, least=7, weight="bold")
    for cell, day in zip(days, heads.days, strict=True):
        place = Box(cell.x + PAD, row.y + row.height / 2, cell.width - PAD, row.height / 2)
        yield fit(day, place, most=8, least=6.5, weight="bold")


def _draw_row(box: Box, row: LotRow, marks: Mapping[tuple[str, int], str]) -> Iterator[Element]:
    yield from _lines(box)
    lot, code, water, sell_by, flowers, place, bunches, *days = _cells(box)
    name = Box(lot.x + PAD, lot.y, lot.width - PAD - 1, NAME_HEIGHT)
    yield fit(row.lot, name, most=14, least=7, weight="bold")
    if row.code:
        frame = Box(code.x, code.y + 0.6, code.width - PAD, NAME_HEIGHT - 1.6)
        yield Frame(frame, width=0.75)
        yield fit(row.code, frame.inset(0.4), most=9, least=8, weight="bold", align="centre")
    below = Box(lot.x + PAD, lot.y + NAME_HEIGHT, lot.width + code.width - 2 * PAD, box.height - NAME_HEIGHT)
    yield from stack(squeezed(_marks(row, SIZES[0]), below, SIZES), below)
    for cell, large, small in ((water, row.water, row.water_small), (sell_by, row.sell_by, row.sell_small)):
        yield from _date(cell, large, small)
    for cell, text in ((flowers, row.flowers), (place, row.place)):
        words = (Paragraph(text, SIZES[0]),) if text else ()
        yield from stack(squeezed(words, cell.inset(PAD), SIZES), cell.inset(PAD))
    if row.bunches:
        yield fit(row.bunches, bunches.inset(PAD), most=12, least=7, weight="bold", align="centre")
    for n, day in enumerate(days):
        if letters := marks.get((row.lot, n)):
            corner = Box(day.x + 0.4, day.y + 0.3, day.width - 0.8, 3.4)
            yield fit(letters, corner, most=8, least=SMALLEST, weight="bold")


def _date(cell: Box, large: str, small: str) -> Iterator[Element]:
    """A day, and below it its hour."""
    box = Box(cell.x + PAD, cell.y + PAD / 2, cell.width - 2 * PAD, cell.height - PAD)
    tall = DATE_HEIGHT if small else LEAST - PAD
    if large:
        place = box._replace(height=tall)
        yield fit(large, place, most=12, least=10, weight="bold", lines=1 if small else 2)
    words = (Paragraph(small, LEAST_WORDS),)
    below = Box(box.x, box.y + tall, box.width, box.height - tall)
    yield from stack(squeezed(words, below, SIZES), below)
