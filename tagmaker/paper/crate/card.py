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
from tagmaker.paper.crate.column import SMALL, Crate, column, largest, plan_column
from tagmaker.paper.crate.day_scale import TALL, DayScale, draw_scale
from tagmaker.paper.crate.words import CardWords
from tagmaker.paper.press.boxes import MM, Box, Code, Drawing, Element, Frame, Text
from tagmaker.paper.press.fitting import fit
from tagmaker.paper.press.fonts import CAP_HEIGHT, face
from tagmaker.paper.press.qr import SizedSymbol
from tagmaker.paper.press.stacking import Paragraph, stack, stack_height
from tagmaker.paper.stock.card_stock import CARDS, CardStock
from tagmaker.paper.tag.captions import halves

# Sizes on a card of a quarter page; larger cards have them larger, see `measures`.
CODE_SIZE = 40.0  # [pt] storage code, read at more than a metre
LOT_MOST = 52.0  # [pt]
DATE_MOST = 32.0  # [pt]; the longest moment of a year still fits at 25, read at 1 m (22 arc minutes)
HEAD = 14.0  # [mm] height of lot and storage code
BELOW_HEAD = 8.0  # [mm] height of the line with the crate's number and place, and of the white around it
DATE = 9.4  # [mm] height of a date
DATE_LEAST = 25.0  # [pt]; beside marks
CAPTIONS = 13.7  # [mm] height of both captions and of the white between the dates
SCALE = 10.5  # [mm] height of the day scale with the white above it
LEAST_COLUMN = 22.0  # [mm] below the scale of a lying card, where all else stands beside the code (chosen)
TAKE_MOST, HOW_MOST = 14.0, 10.0  # [pt] of the lines below the dates
SHARES = (1.0, 0.9, 0.8, 0.7, 0.6)  # of these sizes, tried one after another
ONE_LINE = 0.8  # of a size wished for, down to which one line is better than two (chosen)
LEAVES_SHARE = 0.85  # size of the hour behind a caption, over that of the caption (chosen)
MARK_PITCH = 1.3  # from line to line in a frame, over the height of capitals (chosen)
BETWEEN = " · "
MARK_LEAST = 9.0  # [pt] of one of two marks on one line
MARK_MOST, MARK_PAD, MARK_WHITE = 13.0, 0.9, 2.5  # [pt], [mm] inside a frame, and [mm] before it
NOTICE_SIZES = (30, 26, 22, 19, 16, 14, 12, 11, 10, 9)  # [pt]

QUARTER_WIDTH = 97.95  # [mm] inside the margins of a quarter of a Letter page
MOST_GROWTH = 1.8  # times the type of a quarter page: every moment stands at 50 pt and more, read at 2 m
GROWTH_STEP = 0.05
QR_SIDE = 42.0  # [mm] 33 modules of 15 printer dots, 1.27 mm; 37 of 1.10: a scan at half a metre
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
    place = Box(inner.x, y, right - inner.x, inner.bottom - y)
    lines = _lines(words, crate, place, sizes, SCALE if scale is not None else 0.0)
    for line in stack(lines, place):
        elements.append(line)
        y = line.box.bottom + 0.5
    if scale is not None:
        elements += draw_scale(Box(inner.x, y + 0.8, right - inner.x, TALL), words, scale)
        y += SCALE
    elements.append(Code(quiet, code))
    lower = _lower(sizes, y + 1, words)
    elements += [*lower.above, *column(lower.column, words, crate, lower.said, lower.beside)]
    return Drawing(sizes.width, sizes.height, tuple(elements), lot=words.lot, where=where)


@dataclass(frozen=True, slots=True)
class _Lower:
    """What stands to the left of the code, in one column or, on a lying card, in two."""

    column: Box
    said: tuple[str, ...]
    beside: Box | None = None
    above: tuple[Text, ...] = ()  # over the code


def _lower(sizes: Measures, y: float, words: CardWords) -> _Lower:
    inner, quiet = sizes.inner, sizes.quiet
    box = Box(inner.x, y, quiet.x - inner.x, inner.bottom - y)
    said = (words.handling, words.caution)
    if sizes.lying:
        half = (box.width - 5) / 2
        second = Box(box.x + half + 4, box.y, half, box.height)
        return _Lower(box._replace(width=half), (*said, words.dated_for), second)
    dated_for = Paragraph(words.dated_for, SMALL)
    above = Box(quiet.x + QR_WHITE, y, inner.right - quiet.x - QR_WHITE, quiet.y - y)
    if stack_height([dated_for], above.width) <= above.height:
        return _Lower(box, said, above=stack([dated_for], above))
    return _Lower(box, (*said, words.dated_for))


def _lines(
    words: CardWords, crate: Crate, place: Box, sizes: Measures, scale: float
) -> tuple[Paragraph, ...]:
    """Below the dates: marks, what to take here, how, and how long it keeps.

    As large as leaves all below it its room; then as the code's place allows; then with fewer orders.
    """
    least = sizes.inner.bottom - LEAST_COLUMN if sizes.lying else sizes.quiet.y
    tried: list[tuple[Paragraph, ...]] = []
    for shown in range(len(words.takes), -1, -1):
        for share in SHARES:
            lines = _line_paragraphs(words, shown, place.width, sizes.lesser * share)
            y = place.y + stack_height(lines, place.width) + 0.5 + scale
            if y > least:
                continue
            tried.append(lines)
            lower = _lower(sizes, y + 1, words)
            if plan_column(lower.column, words, crate, lower.said, lower.beside).easy:
                return lines
    return tried[0] if tried else ()


def _line_paragraphs(words: CardWords, shown: int, width: float, times: float) -> tuple[Paragraph, ...]:
    """The lines below the dates, with the first so many orders; sizes [pt] times a factor."""
    takes = [*words.takes[:shown], words.more_takes[shown]] if words.takes else []
    said = [
        (BETWEEN.join(words.marks[words.marks_beside :]), TAKE_MOST),
        *((take, TAKE_MOST) for take in takes),
        *(((words.how, HOW_MOST), (words.keeps_until, HOW_MOST)) if not words.notice else ()),
    ]
    return tuple(
        Paragraph(text, max(_line_size(text, width, most * times), SMALL), "bold", 3, 0.5)
        for text, most in said
        if text
    )


def _line_size(text: str, width: float, most: float) -> float:
    """Size [pt] at which bold words stand on one line, where that is not far below the size wished for."""
    one = width * MM / face("bold").width(text)
    return min(most, one) if one >= ONE_LINE * most else most


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
    """Into water, then until when to sell, each under its caption; the marks beside the second."""
    t, tall, most = sizes.lesser, DATE * sizes.growth, DATE_MOST * sizes.growth
    caption = Box(box.x, box.y, box.width, 4.6 * t)
    first = Box(box.x, caption.bottom + 0.8 * t, box.width, tall)
    if words.water:
        yield fit(words.water_caption, caption, most=12 * t, least=8, weight="bold", stand="bottom")
        yield _date(words.water, first, most)
    elif words.water_caption:
        yield _date(words.water_caption, first._replace(y=first.y - 2.5 * t), most)
    caption = Box(box.x, first.bottom + 2.9 * t, box.width, 4.6 * t)
    second = Box(box.x, caption.bottom + 0.8 * t, box.width, tall)
    beside = words.marks[: words.marks_beside]
    if beside:
        widest = face("bold").width(words.sell_by) * DATE_LEAST * sizes.growth / MM
        room = box.width - widest - MARK_WHITE
        marks = Box(box.right - room, caption.y, room, second.bottom - caption.y)
        drawn = tuple(_marks(beside, marks, t))
        yield from drawn
        left = min(part.box.x for part in drawn if isinstance(part, Frame)) - MARK_WHITE - box.x
        caption, second = caption._replace(width=left), second._replace(width=left)
    yield from _sell_by_caption(words, caption, t)
    yield _date(words.sell_by, second, most)


def _sell_by_caption(words: CardWords, box: Box, t: float) -> Iterator[Element]:
    """The caption, and behind it small the hour, where both have room."""
    bold, small = face("bold").width(words.sell_by_caption) / MM, face("regular").width(words.leaves) / MM
    white = 2.0 * t if words.leaves else 0.0
    size = min(12 * t, (box.width - white) / (bold + small * LEAVES_SHARE))
    named = box._replace(width=bold * size + 0.1)
    yield fit(words.sell_by_caption, named, most=size, least=6, weight="bold", stand="bottom")
    if words.leaves:
        rest = Box(named.right + white, box.y, box.right - named.right - white, box.height)
        yield fit(words.leaves, rest, most=size * LEAVES_SHARE, least=6, stand="bottom")


def _marks(marks: tuple[str, ...], box: Box, t: float) -> Iterator[Element]:
    """Framed words under one another at the right of a box, all of one size; they touch nothing.

    One takes two lines where it would be small on one.
    """
    most_ems = (box.width - 2 * MARK_PAD) * MM / ((MARK_MOST if len(marks) == 1 else MARK_LEAST) * t)
    rows = [(mark,) if face("bold").width(mark) <= most_ems else halves(mark) for mark in marks]
    widest = max(face("bold").width(line) for row in rows for line in row)
    lines = sum(map(len, rows))
    most = (box.height - len(rows) * (2 * MARK_PAD + 1.0)) / (lines * CAP_HEIGHT * MARK_PITCH) * MM
    size = min(MARK_MOST * t, most, (box.width - 2 * MARK_PAD) * MM / widest)
    pitch = CAP_HEIGHT * MARK_PITCH * size / MM
    y = box.bottom
    for row in reversed(rows):
        wide = max(face("bold").width(line) for line in row) * size / MM + 2 * MARK_PAD + 0.1
        tall = pitch * len(row) + 2 * MARK_PAD
        y -= tall
        place = Box(box.right - wide, y, wide, tall)
        yield Frame(place, width=1.5)
        for n, line in enumerate(row):
            room = Box(place.x + MARK_PAD, y + MARK_PAD + n * pitch, wide - 2 * MARK_PAD, pitch)
            yield fit(line, room, most=size, least=6, weight="bold", align="centre")
        y -= 1.0


def _date(text: str, box: Box, most: float) -> Text:
    """A date as large as fits. It is never cut: a grower's longer wording makes it smaller."""
    return fit(text, box, most=most, least=6, weight="bold")
