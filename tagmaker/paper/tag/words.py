"""What a wrap label says, in the order in which it may be given up: words only, no geometry."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from tagmaker.lot import Lot, Mark, OrderDates, State, StorageDates
from tagmaker.telling.deadlines import (
    SellWord,
    WaterWord,
    asks_still_dry,
    ordered_told,
    selling_told,
    warm_told,
    water_told,
)
from tagmaker.telling.naming import form, variety
from tagmaker.telling.readiness import hour_matters
from tagmaker.telling.teller import Teller
from tagmaker.telling.wording import Wording

TEMPLATE = "wrap-label.j2"
BETWEEN = " · "


@dataclass(frozen=True, slots=True)
class DateRow:
    """A date, or a word in place of one, with its caption and its marks."""

    day: str  # the day, or the word
    hour: str = ""
    caption: str = ""
    small: str = ""  # behind the caption, the first to go: "leaves 6:30 AM"
    lead: str = ""  # a mark before the caption
    marks: tuple[str, ...] = ()  # marks behind the caption
    is_date: bool = True

    @property
    def value(self) -> str:
        """Day and hour on one line."""
        return f"{self.day} {self.hour}".rstrip()


@dataclass(frozen=True, slots=True)
class TagWords:
    """Everything that a label may say."""

    lot: str
    code: str  # the word in the box
    was: str  # "was DRY", or nothing
    name: str  # the flowers: bunches are hunted by it
    details: tuple[str, ...]  # behind the name, fullest wording first
    rows: tuple[DateRow, ...]
    advice: str  # a sentence in place of dates
    caution: str
    crop: str
    cut: str
    dated_for: str


def tag_words(dates: StorageDates, order: OrderDates | None, stems: int, teller: Teller) -> TagWords:
    """The words of one bunch's label.

    Args:
        dates: what was computed for its lot
        order: the part order it is for, if any
        stems: in this bunch
        teller: crops for the caution, hours at which a date needs no hour, words
    """
    wording, keeping = teller.wording, teller.keeping(dates)
    say = wording.macros(TEMPLATE)
    lot = dates.lot
    caution = say.caution(key=keeping.caution) if keeping and keeping.caution else ""
    return TagWords(
        lot=lot.lot_code,
        code=dates.code.value,
        was=say.was(code=dates.kept.value) if dates.kept is not dates.code else "",
        name=_name(lot, say),
        details=_details(lot, stems),
        rows=_rows(dates, order, teller),
        advice=wording.say(dates.why) if dates.sell_by is None else "",
        caution=caution,
        crop=say.crop_line(crop=lot.crop, form=form(lot)) if variety(lot) else "",
        cut=say.cut(day=lot.cut),
        dated_for=say.dated_for(t_c=dates.dated_for_c),
    )


def wet_words(dates: StorageDates, wording: Wording) -> TagWords:
    """The slip of a lot that must be fanned before it is wrapped."""
    say, lot = wording.macros(TEMPLATE), dates.lot
    return TagWords(
        lot=lot.lot_code,
        code=say.wet(),
        was="",
        name=_name(lot, say),
        details=(),
        rows=(),
        advice=say.wet_advice(),
        caution="",
        crop="",
        cut=say.cut(day=lot.cut),
        dated_for="",
    )


def _name(lot: Lot, say: Any) -> str:
    return str(say.name(crop=lot.crop, form=form(lot), variety=variety(lot)))


def _details(lot: Lot, stems: int) -> tuple[str, ...]:
    wordings = ((lot.colour, str(stems)), (str(stems),))
    return tuple(dict.fromkeys(BETWEEN.join(part for part in parts if part) for parts in wordings))


def _rows(dates: StorageDates, order: OrderDates | None, teller: Teller) -> tuple[DateRow, ...]:
    """Water before selling, with the whole-lot order between them that a bunch is for."""
    wording = teller.wording
    say = wording.macros(TEMPLATE)
    marks = tuple(say.mark(key=mark.value) for mark in _marks(dates, order))
    selling = selling_told(dates, order, teller.farm.workday, teller.now)
    if selling.moment is None:
        return (DateRow(getattr(say, selling.word)(), marks=marks, is_date=False),)
    rows = [*_water_rows(dates, order, teller)]
    served = ordered_told(dates, order)
    if served is not None:
        hour = served.leaves if hour_matters(served.leaves, teller.farm.workday) else None
        rows.append(DateRow(wording.day(served.leaves), "", say.ordered_for(), _leaves(hour, say)))
    lead, caption = "", getattr(say, selling.word)(use=selling.use)
    if selling.word is SellWord.ELSEWHERE:
        lead, caption = caption, selling.use
        marks = (*marks, say.still_dry()) if asks_still_dry(dates, teller.now) else marks
    elif selling.word is SellWord.BY and dates.state is State.SELL_FIRST:
        marks = (say.sell_first(), *marks)
    small = _leaves(selling.leaves, say)
    return (*rows, DateRow(wording.day(selling.moment), "", caption, small, lead, marks))


def _marks(dates: StorageDates, order: OrderDates | None) -> Iterator[Mark]:
    """The marks of a bunch; a label for a part order has the test of that order alone."""
    tests = order.test_first if order else dates.test_first
    for mark in Mark:
        is_test = mark is Mark.TEST_A_BUNCH
        if mark is not Mark.PUT_IN_WATER_NOW and (tests if is_test else mark in dates.marks):
            yield mark


def _water_rows(dates: StorageDates, order: OrderDates | None, teller: Teller) -> Iterator[DateRow]:
    """Into water by, or what stands in its place, and when into the warm."""
    wording, water = teller.wording, water_told(dates, order, teller.now)
    say = wording.macros(TEMPLATE)
    if water is not None:
        caption = getattr(say, water.word)()
        if water.word is WaterWord.NOW:
            small = say.if_watered_now(moment=water.moment) if water.moment else ""
            yield DateRow(caption, small=small, is_date=False)
        elif water.moment is None:
            yield DateRow(caption, is_date=False)
        else:
            yield DateRow(wording.day(water.moment), wording.hour(water.moment), caption)
    warm = warm_told(dates, order)
    if warm is not None:
        yield DateRow(wording.day(warm), wording.hour(warm), say.into_the_warm())


def _leaves(moment: datetime | None, say: Any) -> str:
    return "" if moment is None else str(say.leaves(moment=moment))
