"""The lots of a checklist page: a row each, as high as its words, and blank rows to write in."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from tagmaker.paper.checklist.grid import CAPTION, DAYS, LOT_WIDTH, PAD, WRITE_ON, Grid
from tagmaker.paper.checklist.words import RowWords
from tagmaker.paper.press.boxes import Box, Element, Frame
from tagmaker.paper.press.fitting import fit
from tagmaker.paper.press.stacking import Paragraph, squeezed, stack, stack_height

BLANK_HEIGHT = WRITE_ON + 0.2  # [mm]
BLANK_ROWS = 8  # for lots that come in during the week
BLANK_LEAST = 4  # the same where more would begin a second page (chosen)
BLANK_FEWEST = 2  # the same where more would fill a page of their own (chosen)
BLANK_MOST = 11.0  # [mm] height of a blank row where there is room
BELOW = 1.0  # [mm] of white below the last row where its height can be chosen
HIGHEST = 100.0  # [mm] of a row; with more to do on a day than that, its words are made smaller
SIZES = (8.0, 7.5, 7.0, 6.5, 6.0)  # [pt]
NAME_HEIGHT = 5.2  # [mm] of the line with lot, storage code and sell-by
CODE_WIDTH = 12.5  # [mm]
SELL_BY_WIDTH = 31.0  # [mm]


@dataclass(frozen=True, slots=True)
class LotRow:
    """A lot's row, or a blank one."""

    words: RowWords | None  # None: blank
    days: tuple[tuple[Paragraph, ...], ...]
    height: float  # [mm]


def lot_row(grid: Grid, words: RowWords, days: Sequence[Sequence[Paragraph]]) -> LotRow:
    """A lot's row, high enough for all of its words."""
    name = NAME_HEIGHT + stack_height(words.below, LOT_WIDTH - 2 * PAD) + 0.6
    tallest = max((stack_height(day, grid.day_width - 2 * PAD) for day in days), default=0.0)
    height = min(max(name, tallest, WRITE_ON) + 2 * PAD, HIGHEST)
    return LotRow(words, tuple(tuple(day) for day in days), height)


def blank_row() -> LotRow:
    """A row for a lot that comes in during the week."""
    return LotRow(None, ((),) * DAYS, BLANK_HEIGHT)


def rows_head(grid: Grid, y: float, lot: str, sell_by: str, left: str) -> Iterator[Element]:
    """The captions over the lots' columns."""
    box = grid.lot_cell(y, CAPTION)
    wide = box.width - SELL_BY_WIDTH - PAD
    yield fit(lot, Box(box.x + PAD, y, wide - 2 * PAD, CAPTION), most=8, least=6)
    date = Box(box.right - SELL_BY_WIDTH - PAD, y, SELL_BY_WIDTH, CAPTION)
    yield fit(sell_by, date, most=8, least=6, align="right")
    yield fit(left, grid.left_cell(y, CAPTION), most=8, least=6, align="centre")


def draw_row(grid: Grid, y: float, row: LotRow) -> Iterator[Element]:
    """A row with its lines and words."""
    yield from grid.row(y, row.height)
    if row.words is not None:
        yield from _name(grid.lot_cell(y, row.height).inset(PAD), row.words)
    for n, day in enumerate(row.days):
        cell = grid.day_cell(n, y, row.height).inset(PAD)
        yield from stack(squeezed(day, cell, SIZES), cell)


def _name(box: Box, words: RowWords) -> Iterator[Element]:
    lot = Box(box.x, box.y, box.width - CODE_WIDTH - SELL_BY_WIDTH - 2, NAME_HEIGHT)
    yield fit(words.lot, lot, most=14, least=7, weight="bold")
    if words.code:
        code = Box(lot.right + 1, box.y + 0.3, CODE_WIDTH, NAME_HEIGHT - 0.6)
        yield Frame(code, width=0.75)
        yield fit(words.code, code.inset(0.4), most=10, least=8, weight="bold", align="centre")
    date = Box(box.right - SELL_BY_WIDTH, box.y, SELL_BY_WIDTH, NAME_HEIGHT)
    yield fit(words.sell_by, date, most=12, least=6, weight="bold", align="right")
    y = box.y + NAME_HEIGHT + 0.5
    below = Box(box.x, y, box.width, box.bottom - y + 0.2)
    yield from stack(squeezed(words.below, below, SIZES), below)


def pages_of(rows: Sequence[LotRow], first: float, later: float) -> list[tuple[LotRow, ...]]:
    """The lots' rows of each page, and blank ones behind them that fill the last page.

    Args:
        rows: the lots', in order.
        first: room on the first page [mm].
        later: room on every other page [mm].
    """
    on_one_page = sum(row.height for row in rows) + BLANK_LEAST * BLANK_HEIGHT <= first
    rows = (*rows, *(blank_row(),) * (BLANK_LEAST if on_one_page else BLANK_ROWS))
    pages: list[tuple[LotRow, ...]] = []
    start = 0
    for count in paginate([row.height for row in rows], first, later):
        pages.append(tuple(rows[start : start + count]))
        start += count
    if len(pages) > 1 and _blanks(pages[-1]) == len(pages[-1]) and _blanks(pages[-2]) >= BLANK_FEWEST:
        pages.pop()
    room = first if len(pages) == 1 else later
    spare = room - sum(row.height for row in pages[-1])
    pages[-1] = _stretched((*pages[-1], *(blank_row(),) * int(spare / BLANK_HEIGHT)), room - BELOW)
    return pages


def _blanks(rows: Sequence[LotRow]) -> int:
    """How many rows are blank."""
    return sum(row.words is None for row in rows)


def _stretched(rows: Sequence[LotRow], room: float) -> tuple[LotRow, ...]:
    """The rows of a page with its blank ones higher, so that they take all of the room [mm]."""
    blanks = _blanks(rows)
    spare = room - sum(row.height for row in rows)
    if not blanks or spare < 0:
        return tuple(rows)
    height = min(BLANK_MOST, BLANK_HEIGHT + spare / blanks)
    return tuple(replace(row, height=height) if row.words is None else row for row in rows)


def paginate(heights: Sequence[float], first: float, later: float) -> list[int]:
    """How many rows stand on each page; the first page may hold none.

    Args:
        heights: of the rows, in order [mm].
        first: room on the first page [mm].
        later: room on every other page [mm].
    """
    counts = [0]
    used = 0.0
    for height in heights:
        room = first if len(counts) == 1 else later
        if used + height > room + 1e-6 and (counts[-1] or len(counts) == 1):
            counts.append(0)
            used = 0.0
        counts[-1] += 1
        used += height
    return counts
