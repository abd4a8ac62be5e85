"""The day scale of a crate card: a tick a day from the cut to the sell-by."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta

from tagmaker.paper.crate.words import CardWords
from tagmaker.paper.press.boxes import MM, Box, Element, Frame, Rule
from tagmaker.paper.press.fitting import fit
from tagmaker.paper.press.fonts import face

NAMES = 8.0  # [pt] of the days' numbers
ENDS = 9.0  # [pt] of the words at both ends
BETWEEN = 2.0  # [mm] between two words under the line
BLOCK = 1.6  # [mm] side of the block where the stems go into water
TALL = 9.7  # [mm] height of a scale


@dataclass(frozen=True, slots=True)
class DayScale:
    """The days from the cut to the sell-by."""

    cut: date
    sell_by: date
    into_water: date | None


def day_scale(cut: date, sell_by: date | None, into_water: date | None) -> DayScale | None:
    """The scale of a dated lot."""
    return None if sell_by is None else DayScale(cut, sell_by, into_water)


def draw_scale(box: Box, words: CardWords, scale: DayScale) -> Iterator[Element]:
    """A tick a day, Mondays named, a block where the stems go into water."""
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
        half = face("regular").width(name) * NAMES / MM / 2 + 0.3
        if (monday or pitch >= 3.9) and x - half >= free and x + half <= box.right:
            place = Box(x - half, box.y, 2 * half, 3.2)
            yield fit(name, place, most=NAMES, least=NAMES, align="centre")
            free = x + half + 0.2
    mark = None
    if scale.into_water is not None and scale.cut <= scale.into_water <= scale.sell_by:
        x = min(box.x + (scale.into_water - scale.cut).days * pitch, box.right - BLOCK / 2)
        mark = Box(x - BLOCK / 2, line - BLOCK / 2, BLOCK, BLOCK)
        yield Frame(mark, filled=True)
    yield from _names(box._replace(y=line + 1.2, height=box.bottom - line - 1.2), words, mark)


def _names(box: Box, words: CardWords, mark: Box | None) -> Iterator[Element]:
    """The words under their marks: the cut to the left, the sell-by to the right, into water at its block.

    Where the block is so near to an end that its words would meet those of the end, the two stand together.
    """
    left, right, water = words.cut_label, words.sell_by_label, words.water_label if mark else ""
    wide = {text: face("regular").width(text) * ENDS / MM + 0.2 for text in (left, right, water)}
    middle = mark.x + mark.width / 2 if mark else box.x
    begin = middle - wide[water] / 2
    if water and begin + wide[water] > box.right - wide[right] - BETWEEN:
        right, water = f"{water} · {right}", ""
    elif water and begin < box.x + wide[left] + BETWEEN:
        left, water = f"{left} · {water}", ""
    ends = [face("regular").width(text) * ENDS / MM + 0.2 for text in (left, right)]
    share = min(1.0, (box.width - BETWEEN) / sum(ends))
    yield fit(left, box._replace(width=ends[0] * share), most=ENDS, least=6)
    yield fit(
        right,
        Box(box.right - ends[1] * share, box.y, ends[1] * share, box.height),
        most=ENDS,
        least=6,
        align="right",
    )
    if water:
        yield fit(water, Box(begin, box.y, wide[water], box.height), most=ENDS, least=6, align="centre")
