"""How a label is divided: a square for its code, a column for what must be read, and a place at the code.

The code stands to the right, or below on a label that is higher than wide. A large label is divided like a
smaller one and then magnified, letters and all.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from tagmaker.errors import InputProblems
from tagmaker.paper.press.boxes import Box, Code, Drawing, Element, scaled
from tagmaker.paper.press.qr import SizedSymbol, is_address, longest, shrinking, sized_symbol
from tagmaker.paper.stock.label_stock import EDGE

PLAIN = (66.7, 33.0)  # [mm] a label that is larger has everything magnified (chosen)
PLAIN_UPRIGHT = (60.0, 66.0)  # [mm] the same where it is higher than wide (chosen)
UPRIGHT_SHARE = (0.62, 0.42)  # of width and height, at most, for the code at the foot (chosen)
SHORT_LINK = 29  # characters of the smallest symbol that links fit, 25 modules a side (ISO/IEC 18004)
MOST_MODULE = 1.0  # [mm] of a module, at most: the dates need the width more (chosen)
MOST_UPRIGHT = 1.2  # [mm] where the code takes no width from them: reads from half a metre
CODE_SHARE = 0.44  # of a label's width, at most, for the code with its quiet zone (chosen)
FINE = 0.60  # [mm] a module that is finer gets all the height there is (chosen)
FINE_SHARE = 0.47  # of a label's width, at most, for a code with such a module (chosen)
LOW_LABEL = 36.0  # [mm] a label lower than this has its small print along the foot (chosen)
NAME_GAP = 0.7  # [mm] above and below the flowers' names
SMALL = 6.0  # [pt] small print
SMALL_LINE = 2.1  # [mm] height of a line of it
WORDS = 7.5  # [pt] words, at least
NAME = 9.0  # [pt] the flowers' name, at least
NAMED_FROM = (
    25.0  # [mm] height of a label from which on it is so large; on lower ones it is as small as words
)
NAME_LARGE = 12.0  # [pt] the flowers' name where there is height
NAME_SHARE = 0.8  # size of what stands behind a name, over that of the name (chosen)
HIGH = 45.0  # [mm] from which on there is


@dataclass(frozen=True, slots=True)
class TagFrame:
    """The parts of a label, once the side of its code is known; all lengths before it is magnified."""

    width: float  # [mm]
    height: float  # [mm]
    side: float  # [mm] of the code with its quiet zone
    upright: bool  # the code stands below, not beside
    times: float  # magnified so many times

    @property
    def low(self) -> bool:
        """Whether the small print goes along the foot."""
        return not self.upright and self.height < LOW_LABEL

    @property
    def name_size(self) -> float:
        """Size of the flowers' name [pt]."""
        return max(NAME_LARGE if self.upright or self.height > HIGH else WORDS, self.name_least)

    @property
    def name_least(self) -> float:
        """Smallest size of the name [pt]: bunches are hunted by it, so only low labels have it smaller."""
        return NAME / self.times if self.height * self.times >= NAMED_FROM else WORDS

    @property
    def detail_size(self) -> float:
        """Size of what stands behind or below the name [pt]."""
        return max(NAME_SHARE * self.name_size, WORDS)

    @property
    def code(self) -> Box:
        """In the right corner, at the top or at the foot."""
        y = self.height - self.side if self.upright else 0.0
        return Box(self.width - self.side, y, self.side, self.side)

    @property
    def column(self) -> Box:
        """For all but the code and what stands at it."""
        if self.upright:
            return Box(EDGE, EDGE, self.width - 2 * EDGE, self.height - self.side - EDGE - NAME_GAP)
        return Box(EDGE, EDGE, self.width - self.side - EDGE, self.height - 2 * EDGE)

    @property
    def at_code(self) -> Box:
        """For the small print: under the code, or to the left of it."""
        if self.upright:
            return Box(EDGE, self.height - self.side, self.width - self.side - EDGE, self.side - EDGE)
        left, tall = self.width - self.side + EDGE, self.height - EDGE - self.side
        return Box(left, self.side, self.side - 2 * EDGE, tall)

    def drawing(self, elements: Iterable[Element], sized: SizedSymbol, lot: str, where: str) -> Drawing:
        """The whole label, magnified."""
        plain = Drawing(self.width, self.height, (*elements, Code(self.code, sized)), lot, where)
        return scaled(plain, self.times)


def frames(
    code_text: str, width: float, height: float, dpi: float, *, where: str, lot: str
) -> Iterator[tuple[TagFrame, SizedSymbol]]:
    """Ways to divide a label, that with the largest code first; none where it has no room for a code.

    Args:
        code_text: what its code says
        width: of the label [mm]
        height: of the label [mm]
        dpi: dots per inch of the printer
        where: place in the sheet, for a problem
        lot: lot code, for a problem

    Raises:
        InputProblems: a link is too long, and a shorter one would fit.
    """
    times = _magnified(width, height)
    wide, tall = width / times, height / times
    upright = tall > wide
    room = _code_room(wide, tall, upright=upright) * times
    most = MOST_UPRIGHT if upright else MOST_MODULE
    try:
        largest = sized_symbol(code_text, room, where, lot, dpi, most_module=most)
    except InputProblems:
        if is_address(code_text) and longest(room, dpi, compact=True, most=SHORT_LINK) == SHORT_LINK:
            raise
        return
    if largest.module < FINE and not upright:  # the line under the code makes way for a coarser one
        room = min(wide * FINE_SHARE, tall - EDGE / 2) * times
        largest = sized_symbol(code_text, room, where, lot, dpi, most_module=most)
    for sized in shrinking(largest, dpi):
        yield TagFrame(wide, tall, sized.side / times, upright, times), sized


def longest_link(width: float, height: float, dpi: float, most: int) -> int:
    """Characters of the longest link in capitals, `most` at most, that fits a label [mm]."""
    times = _magnified(width, height)
    room = _code_room(width / times, height / times, upright=height > width) * times
    return longest(room, dpi, compact=True, most=most)


def _magnified(width: float, height: float) -> float:
    """How many times a label is as large as one on which the least sizes look right, at least once."""
    plain = PLAIN_UPRIGHT if height > width else PLAIN
    return max(1.0, min(width / plain[0], height / plain[1]))


def _code_room(width: float, height: float, *, upright: bool) -> float:
    """The side [mm] of the square for the code and its quiet zone."""
    if upright:
        return min(width * UPRIGHT_SHARE[0], height * UPRIGHT_SHARE[1])
    if height < LOW_LABEL:
        return min(width * CODE_SHARE, height - EDGE - SMALL_LINE + 0.2)
    return min(width * CODE_SHARE, height * 2 / 3)
