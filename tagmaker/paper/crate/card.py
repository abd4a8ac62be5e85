"""Where everything stands on a crate card of any size, in mm.

One design: lot and storage code, dates, day scale, flowers, bunches and cautions, and the code below the
dates to the right. A card that is larger than a quarter page has larger type, as much as its width and its
height give; one that is wider than high has everything below the dates to the left of the code.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache

from tagmaker.farm import PAPER_SIZES
from tagmaker.paper.crate.column import SMALL, Crate, column, largest
from tagmaker.paper.crate.day_scale import TALL, DayScale, draw_scale
from tagmaker.paper.crate.words import CardWords
from tagmaker.paper.press.boxes import MM, Box, Code, Drawing, Element, Frame, Text
from tagmaker.paper.press.fitting import fit
from tagmaker.paper.press.fonts import face
from tagmaker.paper.press.qr import SizedSymbol
from tagmaker.paper.press.stacking import Paragraph, stack, stack_height
from tagmaker.paper.stock.card_stock import CARDS, CardStock

# Sizes on a card of a quarter page; larger cards have them larger, see `measures`.
CODE_SIZE = 40.0  # [pt] storage code, read at more than a metre
LOT_MOST = 52.0  # [pt]
DATE_MOST = 32.0  # [pt]; the longest moment of a year still fits at 25, read at 1 m (22 arc minutes)
HEAD = 14.0  # [mm] height of lot and storage code
BELOW_HEAD = 8.0  # [mm] height of the line with the crate's number and place, and of the white around it
DATE = 9.4  # [mm] height of a date
CAPTIONS = 13.7  # [mm] height of both captions and of the white between the dates
NOTICE_SIZES = (30, 26, 22, 19, 16, 14, 12, 11, 10, 9)  # [pt]

QUARTER_WIDTH = 97.95  # [mm] inside the margins of a quarter of a Letter page
MOST_GROWTH = 1.8  # times the type of a quarter page: every moment stands at 50 pt and more, read at 2 m
GROWTH_STEP = 0.05
QR_SIDE = 47.05  # [mm] 37 modules of 15 printer dots, 1.27 mm; 41 of 1.10: a scan at half a metre
QR_WHITE = 4.0  # [mm] of the code's box that is its quiet zone for certain: it may reach into the margins
QR_FOOT = 2.4  # [mm] from a code's box to the lower edge of the card


@dataclass(frozen=True, slots=True)
class Measures:
    """The sizes of a card's type and bands, from the card's own; made by `measures`."""

    width: float  # [mm] of the card
    height: float  # [mm] of the card
    inner: Box  # the card without its margins
    quiet: Box  # the code in the lower right corner; its white reaches into the margins
    growth: float  # how much larger the dates are than on a quarter page
    lesser: float  # the same of everything else above the day scale, which is read from nearer by

    @property
    def lying(self) -> bool:
        """Whether the card is wider than high."""
        return self.width > self.height


@lru_cache(maxsize=len(CARDS) * len(PAPER_SIZES))
def measures(stock: CardStock, paper: str) -> Measures:
    """The sizes of a kind of card on a farm's paper: dates as large as its width and height give."""
    width, height = stock.card_size(paper)
    inner = Box(stock.margin, stock.margin, width - 2 * stock.margin, height - stock.margin - stock.foot)
    quiet = Box(width - QR_SIDE, height - QR_SIDE - QR_FOOT, QR_SIDE, QR_SIDE)
    growth = max(min(inner.width / QUARTER_WIDTH, MOST_GROWTH), 1.0)
    if width > height:
        room = quiet.y - inner.y
        steps = range(int((growth - 1) / GROWTH_STEP + 1e-9), 0, -1)
        growth = next((g for n in steps if _upper_height(g := 1 + n * GROWTH_STEP) <= room), 1.0)
    return Measures(width, height, inner, quiet, growth, math.sqrt(growth))


def _upper_height(growth: float) -> float:
    """Height [mm] of what stands above the code of a lying card."""
    return (HEAD + BELOW_HEAD + CAPTIONS) * math.sqrt(growth) + 2 * DATE * growth


def card(
    stock: CardStock,
    paper: str,
    words: CardWords,
    crate: Crate,
    scale: DayScale | None,
    code: SizedSymbol,
    where: str,
) -> Drawing:
    """A crate card.

    Args:
        stock: the kind of card.
        paper: the farm's paper size.
        words: what it says.
        crate: which of the lot's crates.
        scale: its day scale; None for a lot without dates.
        code: its code.
        where: place in the sheet, for messages.
    """
    sizes = measures(stock, paper)
    inner, quiet = sizes.inner, sizes.quiet
    elements: list[Element] = [*_head(sizes, words, crate)]
    y = inner.y + (HEAD + BELOW_HEAD) * sizes.lesser
    dates = Box(inner.x, y, inner.width, CAPTIONS * sizes.lesser + 2 * DATE * sizes.growth)
    elements += _notice(dates, words.notice, sizes) if words.notice else _dates(dates, words, sizes)
    right = quiet.x if sizes.lying else inner.right
    y = dates.bottom + (0.5 if sizes.lying else 1.2)
    for text in (words.keep, words.how):
        if text and not words.notice:
            line = _one_line_or_two(text, Box(inner.x, y, right - inner.x, 0), sizes)
            elements.append(line)
            y = line.box.bottom + 0.5
    if scale is not None:
        elements += draw_scale(Box(inner.x, y + 0.8, right - inner.x, TALL), words, scale)
        y += 10.5
    elements.append(Code(quiet, code))
    elements += _lower(sizes, y + 1, words, crate)
    return Drawing(sizes.width, sizes.height, tuple(elements), lot=words.lot, where=where)


def _lower(sizes: Measures, y: float, words: CardWords, crate: Crate) -> Iterator[Element]:
    """What stands to the left of the code, in one column or, on a lying card, in two."""
    inner, quiet = sizes.inner, sizes.quiet
    box = Box(inner.x, y, quiet.x - inner.x, inner.bottom - y)
    said = [words.handling, words.caution]
    if sizes.lying:
        half = (box.width - 5) / 2
        second = Box(box.x + half + 4, box.y, half, box.height)
        yield from column(box._replace(width=half), words, crate, [*said, words.dated_for], second)
        return
    dated_for = Paragraph(words.dated_for, SMALL)
    above = Box(quiet.x + QR_WHITE, y, inner.right - quiet.x - QR_WHITE, quiet.y - y)
    if stack_height([dated_for], above.width) <= above.height:
        yield from stack([dated_for], above)
    else:
        said.append(words.dated_for)
    yield from column(box, words, crate, said)


def _one_line_or_two(text: str, place: Box, sizes: Measures) -> Text:
    """Bold words on one line where they fit at 8 pt and more, else on two."""
    tried = (*(size * sizes.lesser for size in (10.0, 9.0)), 9.0, SMALL)
    size = next((s for s in tried if face("bold").width(text) * s / MM <= place.width), SMALL)
    paragraph = Paragraph(text, size, "bold", lines=2)
    return stack([paragraph], Box(place.x, place.y, place.width, 20))[0]


def _head(sizes: Measures, words: CardWords, crate: Crate) -> Iterator[Element]:
    """Lot and storage code, then which crate it is and where it stands."""
    inner, t = sizes.inner, sizes.lesser
    boxed = 0.0
    if words.code:
        size = CODE_SIZE * t
        boxed = face("bold").width(words.code) * size / MM + 5
        box = Box(inner.right - boxed, inner.y, boxed, HEAD * t)
        yield Frame(box, width=2)
        yield fit(words.code, box.inset(1), most=size, least=size, weight="bold", align="centre")
    lot = Box(inner.x, inner.y, inner.width - boxed - 2, HEAD * t)
    yield fit(words.lot, lot, most=LOT_MOST * t, least=10, weight="bold")
    left = Box(inner.x, lot.bottom + t, 40 * t, 5.5 * t)
    yield fit(crate.label, left, most=15 * t, least=9, weight="bold")
    right = Box(left.right + 2, left.y, inner.right - left.right - 2, left.height)
    yield fit(words.stands_in, right, most=13 * t, least=8, align="right")


def _notice(box: Box, notice: str, sizes: Measures) -> Iterator[Element]:
    """The sentence in place of the dates, as large as fits."""
    yield Frame(box, width=2)
    room = box.inset(2.5)
    tried = sorted({*NOTICE_SIZES, *(size * sizes.growth for size in NOTICE_SIZES)}, reverse=True)
    yield from stack([largest(notice, room, tried)], room)


def _dates(box: Box, words: CardWords, sizes: Measures) -> Iterator[Element]:
    """Both dates with their captions, and the marks beside the first."""
    t, tall, most = sizes.lesser, DATE * sizes.growth, DATE_MOST * sizes.growth
    top = Box(box.x, box.y, box.width, 5.8 * t)
    room = box.width
    marks = " · ".join(words.marks)
    if marks:
        room = 24.0 * t
        wide = box.width - room - 5 * t
        mark = fit(marks, Box(0, 0, wide, 4.4 * t), most=15 * t, least=8, weight="bold")
        wide = face("bold").width(mark.lines[0].text) * mark.size / MM + 3 * t
        place = Box(top.right - wide, top.y, wide, top.height)
        yield Frame(place, width=1.5)
        yield fit(marks, place.inset(0.7 * t), most=mark.size, least=8, weight="bold", align="centre")
    caption = Box(top.x, top.y, room, top.height - 0.8 * t)
    yield fit(words.sell_by_caption, caption, most=12 * t, least=9, weight="bold", stand="bottom")
    yield _date(words.sell_by, Box(box.x, top.bottom, box.width, tall), most)
    second = Box(box.x, top.bottom + tall + 2.1 * t, box.width, 4.8 * t)
    if words.water:
        caption = Box(second.x, second.y, second.width, second.height - 0.8 * t)
        yield fit(words.water_caption, caption, most=12 * t, least=8, weight="bold", stand="bottom")
        yield _date(words.water, Box(box.x, second.bottom, box.width, tall), most)
    else:
        yield _date(words.water_caption, Box(box.x, second.y + 2.5 * t, box.width, tall), most)


def _date(text: str, box: Box, most: float) -> Text:
    """A date as large as fits. It is never cut: a grower's longer wording makes it smaller."""
    return fit(text, box, most=most, least=6, weight="bold")
