"""Where everything stands on a crate card, in mm."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from tagmaker.paper.boxes import MM, Box, Code, Drawing, Element, Frame, Rule, Text
from tagmaker.paper.crate_words import CardWords
from tagmaker.paper.fitting import LEADING, fit
from tagmaker.paper.fonts import face
from tagmaker.paper.qr import SizedSymbol
from tagmaker.paper.stacking import Paragraph, squeezed, stack, stack_height

MARGIN = 5.0  # [mm] of white inside the cut lines, and to the edge of the page (lasers ask for 5)
FOOT_MARGIN = 7.0  # [mm] of white at the lower edge (inkjets ask for 7)
CODE_SIZE = 40.0  # [pt] storage code, read at more than a metre
DATE_MOST = 32.0  # [pt]; the longest moment of a year still fits at 25, read at 1 m (22 arc minutes)
SMALL = 8.0  # [pt] running words
NUMBERS_IN_ROW = 8
NUMBER_GAP = 1.4  # [mm] between two numbers, so that 10 9 is never read as 109
NUMBER_PITCH = 6.0  # [mm] between rows of numbers
QR_SIDE = 47.05  # [mm] 37 modules of 15 printer dots, 1.27 mm; 41 of 1.10: a scan at half a metre
STEPS = (1, 2, 5, 10, 20, 50, 100, 200, 500, 1000)
# Size of running words [pt], orders to name and numbers to cross off: from as it should be to the least.
CROWDING = (
    *((10, 3, 24), (9, 3, 24), (8, 3, 24), (8, 2, 24), (8, 1, 24)),
    *((8, 1, 16), (8, 1, 8), (8, 0, 16), (8, 0, 8)),
)


@dataclass(frozen=True, slots=True)
class DayScale:
    """The days from the cut to the sell-by."""

    cut: date
    sell_by: date
    into_water: date | None


@dataclass(frozen=True, slots=True)
class Crate:
    """One crate or bucket of a lot."""

    label: str  # "CRATE 2 of 3"
    bunches: int | None  # None: the sheet does not say
    bunches_caption: str


def card(
    width: float,
    height: float,
    words: CardWords,
    crate: Crate,
    scale: DayScale | None,
    code: SizedSymbol,
    where: str,
) -> Drawing:
    """A crate card of a size [mm]."""
    inner = Box(MARGIN, MARGIN, width - 2 * MARGIN, height - MARGIN - FOOT_MARGIN)
    elements: list[Element] = [*_head(inner, words, crate)]
    dates = Box(inner.x, inner.y + 22, inner.width, 32.5)
    elements += _notice(dates, words.notice) if words.notice else _dates(dates, words)
    y = dates.bottom + 1.2
    for text in (words.keep, words.how):
        if text and not words.notice:
            line = _one_line_or_two(text, Box(inner.x, y, inner.width, 0))
            elements.append(line)
            y = line.box.bottom + 0.5
    if scale is not None:
        elements += _scale(Box(inner.x, y + 0.8, inner.width, 9.7), words, scale)
        y += 10.5
    lower = Box(inner.x, y + 1, inner.width, inner.bottom - y - 1)
    quiet = Box(width - QR_SIDE, height - QR_SIDE - 2.4, QR_SIDE, QR_SIDE)  # white reaches into the margins
    elements.append(Code(quiet, code))
    dated_for = Paragraph(words.dated_for, SMALL)
    beside = Box(quiet.x + 4, lower.y, inner.right - quiet.x - 4, quiet.y - lower.y)
    said = [words.handling, words.caution]
    if stack_height([dated_for], beside.width) <= beside.height:
        elements += stack([dated_for], beside)
    else:
        said.append(words.dated_for)
    column = Box(lower.x, lower.y, quiet.x - lower.x, lower.height)
    elements += _column(column, words, crate, said)
    return Drawing(width, height, tuple(elements), lot=words.lot, where=where)


def _one_line_or_two(text: str, place: Box) -> Text:
    """Bold words on one line where they fit at 8 pt, else on two."""
    size = next((s for s in (10.0, 9.0, SMALL) if face("bold").width(text) * s / MM <= place.width), SMALL)
    paragraph = Paragraph(text, size, "bold", lines=2)
    return stack([paragraph], Box(place.x, place.y, place.width, 20))[0]


def _head(inner: Box, words: CardWords, crate: Crate) -> Iterator[Element]:
    """Lot and storage code, then which crate it is and where it stands."""
    tall = 14.0
    boxed = 0.0
    if words.code:
        boxed = face("bold").width(words.code) * CODE_SIZE / MM + 5
        box = Box(inner.right - boxed, inner.y, boxed, tall)
        yield Frame(box, width=2)
        yield fit(words.code, box.inset(1), most=CODE_SIZE, least=CODE_SIZE, weight="bold", align="centre")
    lot = Box(inner.x, inner.y, inner.width - boxed - 2, tall)
    yield fit(words.lot, lot, most=52, least=10, weight="bold")
    left = Box(inner.x, inner.y + 15, 40, 5.5)
    yield fit(crate.label, left, most=15, least=9, weight="bold")
    right = Box(left.right + 2, left.y, inner.right - left.right - 2, left.height)
    yield fit(words.stands_in, right, most=13, least=8, align="right")


def _notice(box: Box, notice: str) -> Iterator[Element]:
    """The sentence in place of the dates, as large as fits."""
    yield Frame(box, width=2)
    room = box.inset(2.5)
    yield from stack([_largest(notice, room, (30, 26, 22, 19, 16, 14, 12, 11, 10, 9))], room)


def _largest(text: str, box: Box, sizes: Sequence[float]) -> Paragraph:
    """Bold words in the largest of some sizes that fills no more than the box."""
    for size in sizes:
        if stack_height([Paragraph(text, size, "bold")], box.width) <= box.height:
            return Paragraph(text, size, "bold")
    return Paragraph(text, sizes[-1], "bold", lines=max(int(box.height / sizes[-1] * MM / LEADING), 1))


def _dates(box: Box, words: CardWords) -> Iterator[Element]:
    """Both dates with their captions, and the marks beside the first."""
    top = Box(box.x, box.y, box.width, 5.8)
    room = box.width
    marks = " · ".join(words.marks)
    if marks:
        room = 24.0
        mark = fit(marks, Box(0, 0, box.width - room - 5, 4.4), most=15, least=8, weight="bold")
        wide = face("bold").width(mark.lines[0].text) * mark.size / MM + 3
        place = Box(top.right - wide, top.y, wide, top.height)
        yield Frame(place, width=1.5)
        yield fit(marks, place.inset(0.7), most=mark.size, least=8, weight="bold", align="centre")
    caption = Box(top.x, top.y, room, top.height - 0.8)
    yield fit(words.sell_by_caption, caption, most=12, least=9, weight="bold", stand="bottom")
    tall = 9.4
    yield _date(words.sell_by, Box(box.x, top.bottom, box.width, tall))
    second = Box(box.x, top.bottom + tall + 2.1, box.width, 4.8)
    if words.water:
        caption = Box(second.x, second.y, second.width, second.height - 0.8)
        yield fit(words.water_caption, caption, most=12, least=8, weight="bold", stand="bottom")
        yield _date(words.water, Box(box.x, second.bottom, box.width, tall))
    else:
        yield _date(words.water_caption, Box(box.x, second.y + 2.5, box.width, tall))


def _date(text: str, box: Box) -> Text:
    """A date as large as fits. It is never cut: a grower's longer wording makes it smaller."""
    return fit(text, box, most=DATE_MOST, least=6, weight="bold")


def _scale(box: Box, words: CardWords, scale: DayScale) -> Iterator[Element]:
    """A tick a day from the cut to the sell-by, Mondays named, a block where the stems go into water."""
    days = max((scale.sell_by - scale.cut).days, 1)
    pitch = box.width / days
    line = box.y + 5.5
    yield Rule(box.x, line, box.right, line, width=1)
    free = box.x  # up to where the names above the line have gone
    for ahead in range(days + 1):
        day, x = scale.cut + timedelta(days=ahead), box.x + ahead * pitch
        monday = day.weekday() == 0
        yield Rule(x, line - (1.8 if monday else 1.0), x, line, width=0.75 if monday else 0.5)
        name = str(day.day)
        half = face("regular").width(name) * SMALL / MM / 2 + 0.3
        if (monday or pitch >= 3.9) and x - half >= free and x + half <= box.right:
            place = Box(x - half, box.y, 2 * half, 3.2)
            yield fit(name, place, most=SMALL, least=SMALL, align="centre")
            free = x + half + 0.2
    if scale.into_water is not None and scale.cut <= scale.into_water <= scale.sell_by:
        x = box.x + (scale.into_water - scale.cut).days * pitch
        yield Frame(Box(min(x, box.right - 1.6), line - 0.8, 1.6, 1.6), filled=True)
    third = box.width / 3
    names = Box(box.x, line + 1.2, third, box.bottom - line - 1.2)
    yield fit(words.cut_label, names, most=SMALL + 1, least=6)
    yield fit(words.sell_by_label, names.moved(2 * third, 0), most=SMALL + 1, least=6, align="right")
    if words.water_label:
        label = fit(words.water_label, names.moved(third, 0), most=SMALL + 1, least=6, align="centre")
        yield label
        yield Frame(Box(label.lines[0].x - 2.4, label.lines[0].y - 1.9, 1.6, 1.6), filled=True)


def _column(box: Box, words: CardWords, crate: Crate, said: Sequence[str]) -> Iterator[Element]:
    """Crop and variety, the bunches to cross off, the orders, then handling and cautions."""
    top = Box(box.x, box.y, box.width, 12)
    (crop,) = stack([_largest(words.crop, top, (15, 13, 11, 10, 9, SMALL))], top)
    yield crop
    caption = Box(box.x, crop.box.bottom + 1.5, box.width, 4)
    yield fit(crate.bunches_caption, caption, most=11, least=SMALL, weight="bold")
    below = Box(box.x, caption.bottom + 0.5, box.width, box.bottom - caption.bottom - 0.5)
    for size, shown, most in CROWDING:
        numbers = bunch_numbers(crate.bunches, most)
        tall = -(-len(numbers) // NUMBERS_IN_ROW) * NUMBER_PITCH
        orders = [*words.orders[:shown], words.more_orders[shown]]
        lines = [
            *(Paragraph(order, size, "bold", before=0.6) for order in orders),
            *(Paragraph(text, size, before=0.6) for text in said),
        ]
        if tall + 0.5 + stack_height(lines, below.width) <= below.height:
            break
    yield from _numbers(below, numbers)
    rest = Box(below.x, below.y + tall + 0.5, below.width, below.height - tall - 0.5)
    yield from stack(squeezed(lines, rest, (size, 7.5, 7.0, 6.5, 6.0)), rest)


def _numbers(box: Box, numbers: tuple[int, ...]) -> Iterator[Element]:
    pitch = box.width / NUMBERS_IN_ROW
    widest = max((face("regular").width(str(number)) for number in numbers), default=1.0)
    most = min(14.0, (pitch - NUMBER_GAP) * MM / widest)
    for n, number in enumerate(numbers):
        row, column = divmod(n, NUMBERS_IN_ROW)
        place = Box(
            box.x + column * pitch, box.y + row * NUMBER_PITCH, pitch - NUMBER_GAP, NUMBER_PITCH - 0.6
        )
        yield fit(str(number), place, most=most, least=min(most, 6))


def bunch_numbers(bunches: int | None, most: int) -> tuple[int, ...]:
    """The numbers to cross off as bunches leave, from all of them down; in steps where they are many.

    >>> bunch_numbers(4, 21), bunch_numbers(50, 21)
    ((4, 3, 2, 1), (50, 45, 40, 35, 30, 25, 20, 15, 10, 5))
    """
    if not bunches:
        return ()
    step = next((step for step in STEPS if bunches / step <= most), STEPS[-1])
    return tuple(range(bunches, 0, -step))[:most]


def day_scale(cut: datetime, sell_by: datetime | None, into_water: datetime | None) -> DayScale | None:
    """The scale of a dated lot."""
    if sell_by is None:
        return None
    return DayScale(cut.date(), sell_by.date(), into_water.date() if into_water else None)
