"""The day scale of a crate card: a tick a day from the cut to the sell-by."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from tagmaker.paper.crate.words import CardWords
from tagmaker.paper.press.boxes import MM, Box, Element, Frame, Rule
from tagmaker.paper.press.fitting import fit
from tagmaker.paper.press.fonts import face

NAMES = 8.0  # [pt] of the days' numbers
ENDS = 9.0  # [pt] of the words at both ends
TALL = 9.7  # [mm] height of a scale


@dataclass(frozen=True, slots=True)
class DayScale:
    """The days from the cut to the sell-by."""

    cut: date
    sell_by: date
    into_water: date | None


def day_scale(cut: datetime, sell_by: datetime | None, into_water: datetime | None) -> DayScale | None:
    """The scale of a dated lot."""
    if sell_by is None:
        return None
    return DayScale(cut.date(), sell_by.date(), into_water.date() if into_water else None)


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
    if scale.into_water is not None and scale.cut <= scale.into_water <= scale.sell_by:
        x = box.x + (scale.into_water - scale.cut).days * pitch
        yield Frame(Box(min(x, box.right - 1.6), line - 0.8, 1.6, 1.6), filled=True)
    third = box.width / 3
    names = Box(box.x, line + 1.2, third, box.bottom - line - 1.2)
    yield fit(words.cut_label, names, most=ENDS, least=6)
    yield fit(words.sell_by_label, names.moved(2 * third, 0), most=ENDS, least=6, align="right")
    if words.water_label:
        label = fit(words.water_label, names.moved(third, 0), most=ENDS, least=6, align="centre")
        yield label
        yield Frame(Box(label.lines[0].x - 2.4, label.lines[0].y - 1.9, 1.6, 1.6), filled=True)
