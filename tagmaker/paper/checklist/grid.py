"""The fixed parts of a checklist page, in mm: its columns, head, day strip and write-on rows."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from tagmaker.farm import PAPER_SIZES
from tagmaker.paper.checklist.trim import NOTCH_ROOM, trim_box
from tagmaker.paper.press.boxes import Box, Code, Element, Frame, Rule
from tagmaker.paper.press.fitting import fit
from tagmaker.paper.press.qr import SizedSymbol
from tagmaker.paper.press.stacking import Paragraph, squeezed, stack, stack_height

PAGES = {name: (tall, wide) for name, (wide, tall) in PAPER_SIZES.items()}  # [mm] width and height, lying
MARGIN = 6.0  # [mm] of white inside the line along which the sheet is trimmed
DAYS = 7
LOT_WIDTH = 66.5  # [mm] column of the lots' names
LEFT_WIDTH = 10.0  # [mm] column to write what is left
WRITE_ON = 8.0  # [mm] least height and width of a box to write in
PAD = 0.8  # [mm] of white inside a cell
HEAD = 10.5  # [mm] height of the page's head
CONTINUED_HEAD = 10.0  # [mm] the same on further pages
DAY_HEAD = 5.4  # [mm] height of the days' names
QR_SIDE = 25.2  # [mm] of the code in the strip: 37 modules of 8 printer dots, 0.68 mm
SIZES = (8.0, 7.5, 7.0, 6.5, 6.0)  # [pt] tried for the strip; longer wording is cut
CAPTION = 4.2  # [mm] height of a line of column captions
FOOT = 25.0  # [mm]
WEEK_SHARE = 0.5  # of the head to the right of the notch that is the week's
STRIP_WISHED = (
    42.0  # [mm] height of the strip above which a day's lots are named in their rows alone (chosen)
)
THIN = 0.4  # [pt]
SMALLEST = 6.5  # [pt] to which a long name shrinks before it is cut


@dataclass(frozen=True, slots=True)
class Grid:
    """The columns of a page."""

    width: float  # [mm] of the page
    height: float  # [mm] of the page

    @property
    def trim(self) -> Box:
        """What is left of the page when it is trimmed."""
        return trim_box(self.width, self.height)

    @property
    def inner(self) -> Box:
        """The page without its white edge."""
        return self.trim.inset(MARGIN)

    @property
    def day_width(self) -> float:
        """Width of a day's column [mm]."""
        return (self.inner.width - LOT_WIDTH - LEFT_WIDTH) / DAYS

    def lot_cell(self, y: float, height: float) -> Box:
        """The first column's cell of a row."""
        return Box(self.inner.x, y, LOT_WIDTH, height)

    def day_cell(self, n: int, y: float, height: float) -> Box:
        """The cell of the n-th day of a row."""
        return Box(self.inner.x + LOT_WIDTH + n * self.day_width, y, self.day_width, height)

    def left_cell(self, y: float, height: float) -> Box:
        """The last column's cell of a row."""
        return Box(self.inner.right - LEFT_WIDTH, y, LEFT_WIDTH, height)

    def row(self, y: float, height: float, *, left: bool = True) -> Iterator[Element]:
        """The lines of a row: a frame and the columns in it."""
        right = self.inner.right if left else self.left_cell(y, height).x
        yield Frame(Box(self.inner.x, y, right - self.inner.x, height), width=THIN)
        for n in range(DAYS + left):
            x = self.day_cell(n, y, height).x
            yield Rule(x, y, x, y + height, width=THIN)


def page_head(
    grid: Grid, cooler: str, week: str, page: str, printed: str, height: float = HEAD
) -> Iterator[Element]:
    """Cooler, week, page number and when it was printed, over a thick line."""
    inner = grid.inner
    tall = height - 2.0
    large = 22 if height >= HEAD else 14
    middle = inner.x + inner.width / 2  # where the notch for the hole is
    left = Box(inner.x, inner.y, inner.width / 2 - NOTCH_ROOM, tall)
    yield fit(cooler, left, most=large, least=SMALLEST, weight="bold")
    beside = Box(middle + NOTCH_ROOM, inner.y, left.width * WEEK_SHARE, tall)
    yield fit(week, beside, most=large * 0.7, least=SMALLEST, weight="bold")
    right = Box(beside.right + 2, inner.y, inner.right - beside.right - 2, tall)
    upper = Box(right.x, right.y, right.width, tall / 2)
    yield fit(page, upper, most=9, least=SMALLEST, align="right")
    if printed:
        yield fit(printed, upper.moved(0, tall / 2), most=9, least=SMALLEST, align="right")
    line = inner.y + height - 1
    yield Rule(inner.x, line, inner.right, line, width=2)


def day_heads(grid: Grid, y: float, days: Sequence[str]) -> Iterator[Element]:
    """The days' names."""
    for n, day in enumerate(days):
        cell = grid.day_cell(n, y, DAY_HEAD)
        box = Box(cell.x + PAD, cell.y, cell.width - 2 * PAD, DAY_HEAD)
        yield fit(day, box, most=11, least=6, weight="bold")


def strip_height(
    grid: Grid, head: Sequence[Paragraph], cells: Sequence[Sequence[Paragraph]], most: float
) -> float:
    """Height [mm] of a strip in which its head, the code and the fullest day fit, but no more than `most`."""
    beside = stack_height(head, _strip_head(grid, 0, 0).width)
    tallest = max(beside, QR_SIDE, *(day_height(grid, cell) for cell in cells))
    return min(tallest + 2 * PAD, most)


def day_height(grid: Grid, cell: Sequence[Paragraph]) -> float:
    """Height [mm] of a day's words in the strip."""
    return stack_height(cell, grid.day_width - 2 * PAD)


def _strip_head(grid: Grid, y: float, height: float) -> Box:
    """Where the words to the left of the days stand; the code stands beside them."""
    cell = grid.lot_cell(y, height).inset(PAD)
    return cell._replace(width=cell.width - QR_SIDE - 1)


def strip(
    grid: Grid,
    y: float,
    height: float,
    head: Sequence[Paragraph],
    cells: Sequence[Sequence[Paragraph]],
    code: SizedSymbol,
) -> Iterator[Element]:
    """The strip of the days' work, with the code of the cooler's page."""
    yield from grid.row(y, height, left=False)
    beside = _strip_head(grid, y, height)
    fits = stack_height(head, beside.width) <= beside.height
    yield from stack(head if fits else squeezed(head, beside, SIZES), beside)
    yield Code(Box(beside.right + 1, beside.y, QR_SIDE, QR_SIDE), code)
    for n, cell in enumerate(cells):
        box = grid.day_cell(n, y, height).inset(PAD)
        yield from stack(squeezed(cell, box, SIZES), box)


def write_on_row(grid: Grid, y: float, height: float, label: str, halves: int = 1) -> Iterator[Element]:
    """A row to write in by hand, each day in one box or in several side by side."""
    yield from grid.row(y, height, left=False)
    box = grid.lot_cell(y, height).inset(PAD)
    yield fit(label, box, most=10, least=8, lines=2, weight="bold")
    for n in range(DAYS):
        cell = grid.day_cell(n, y, height)
        for part in range(1, halves):
            x = cell.x + cell.width * part / halves
            yield Rule(x, y, x, y + height, width=THIN)


def half_day_captions(grid: Grid, y: float, captions: Sequence[str]) -> Iterator[Element]:
    """Morning and evening over the boxes of each day."""
    for n in range(DAYS):
        cell = grid.day_cell(n, y, CAPTION)
        wide = cell.width / len(captions)
        for part, caption in enumerate(captions):
            box = Box(cell.x + part * wide, y, wide, CAPTION)
            yield fit(caption, box, most=8, least=6, align="centre")
