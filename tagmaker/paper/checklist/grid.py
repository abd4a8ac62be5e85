"""The frame of a checklist page, in mm: its paper, its white edge and its head."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from tagmaker.farm import PAPER_SIZES
from tagmaker.paper.checklist.trim import NOTCH_ROOM, trim_box
from tagmaker.paper.press.boxes import Box, Element, Rule
from tagmaker.paper.press.fitting import fit

PAGES = {name: (tall, wide) for name, (wide, tall) in PAPER_SIZES.items()}  # [mm] width and height, lying
MARGIN = 6.0  # [mm] of white inside the line along which the sheet is trimmed
DAYS = 7
WRITE_ON = 8.0  # [mm] least height and width of a box to write in
PAD = 0.8  # [mm] of white inside a cell
HEAD = 10.5  # [mm] height of the page's head
THIN = 0.4  # [pt]
SMALLEST = 6.5  # [pt] to which a long name shrinks before it is cut


@dataclass(frozen=True, slots=True)
class Grid:
    """A page."""

    width: float  # [mm]
    height: float  # [mm]

    @property
    def trim(self) -> Box:
        """What is left of the page when it is trimmed."""
        return trim_box(self.width, self.height)

    @property
    def inner(self) -> Box:
        """The page without its white edge."""
        return self.trim.inset(MARGIN)

    @property
    def body(self) -> Box:
        """What is below the head."""
        inner = self.inner
        return Box(inner.x, inner.y + HEAD, inner.width, inner.height - HEAD)


def page_head(grid: Grid, cooler: str, title: str, page: str) -> Iterator[Element]:
    """Cooler, what the page shows, its number and when it was printed, over a thick line."""
    inner, tall = grid.inner, HEAD - 2.0
    middle = inner.x + inner.width / 2  # where the notch for the hole is
    left = Box(inner.x, inner.y, inner.width / 2 - NOTCH_ROOM, tall)
    yield fit(cooler, left, most=22, least=SMALLEST, weight="bold")
    upper = Box(middle + NOTCH_ROOM, inner.y, left.width, tall * 0.6)
    yield fit(title, upper, most=14, least=SMALLEST, weight="bold", align="right")
    lower = Box(upper.x, upper.bottom, upper.width, tall - upper.height)
    yield fit(page, lower, most=9, least=SMALLEST, align="right")
    line = inner.y + HEAD - 1
    yield Rule(inner.x, line, inner.right, line, width=2)
