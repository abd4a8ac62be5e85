"""What a wrap label says, in the order in which it may be given up: words only, no geometry."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from tagmaker.lot import Lot, Mark, OrderDates, State, StorageCode, StorageDates
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
    say = teller.wording.macros(TEMPLATE)
    marks = tuple(say.mark(key=mark.value) for mark in _marks(dates, order))
    too_old = dates.state is State.TOO_OLD and order is None
    if dates.sell_by is None or too_old:
        word = say.too_old() if too_old else say.no_date()
        return (DateRow(word, marks=marks, is_date=False),)
    return (
        *_water_rows(dates, order, teller.wording, teller.now),
        *_for_rows(dates, order, teller),
        _sell_by_row(dates, order, teller, marks),
    )


def _marks(dates: StorageDates, order: OrderDates | None) -> Iterator[Mark]:
    """The marks of a bunch; a label for a part order has the test of that order alone."""
    tests = order.test_first if order else dates.test_first
    for mark in Mark:
        is_test = mark is Mark.TEST_A_BUNCH
        if mark is not Mark.PUT_IN_WATER_NOW and (tests if is_test else mark in dates.marks):
            yield mark


def _water_rows(
    dates: StorageDates, order: OrderDates | None, wording: Wording, now: datetime
) -> tuple[DateRow, ...]:
    """Into water by, or what stands in its place, and the hours to open."""
    say = wording.macros(TEMPLATE)
    if dates.code is StorageCode.WATER:
        rows = [DateRow(say.in_water(), is_date=False)]
        if dates.ready_from is not None and dates.ready_from <= now:
            rows = [DateRow(say.in_water_ready(), is_date=False)]
        elif dates.ready_from is not None:
            rows = [_moment_row(dates.ready_from, say.ready_from(), wording)]
        out_by = order.stand_warm_from if order else dates.out_by
        if out_by is not None:
            rows.append(_moment_row(out_by, say.into_the_warm(), wording))
        return tuple(rows)
    by = order.into_water_by if order else dates.into_water_by
    warm = order.stand_warm_from if order else dates.stand_warm_from
    rows = []
    if by is not None and by < now:
        ready = dates.ready_from
        small = say.if_watered_now(moment=ready) if ready is not None else ""
        rows = [DateRow(say.water_now(), small=small, is_date=False)]
    elif by is not None:
        rows = [_moment_row(by, say.into_water_by(), wording)]
    if warm is not None:
        rows.append(_moment_row(warm, say.into_the_warm(), wording))
    return tuple(rows)


def _moment_row(moment: datetime, caption: str, wording: Wording) -> DateRow:
    return DateRow(wording.day(moment), wording.hour(moment), caption)


def _for_rows(dates: StorageDates, order: OrderDates | None, teller: Teller) -> tuple[DateRow, ...]:
    """The whole-lot order that a bunch is for, unless the sell-by row says it too."""
    served = dates.tag_order
    if order is not None or served is None or served.leaves == dates.sell_by:
        return ()
    caption = teller.wording.macros(TEMPLATE).ordered_for()
    return (DateRow(teller.wording.day(served.leaves), "", caption, _leaves(served.leaves, teller)),)


def _leaves(moment: datetime, teller: Teller) -> str:
    """The hour of a departure, where it is not the workday's start."""
    if not hour_matters(moment, teller.farm.workday):
        return ""
    return str(teller.wording.macros(TEMPLATE).leaves(moment=moment))


def _sell_by_row(
    dates: StorageDates, order: OrderDates | None, teller: Teller, marks: tuple[str, ...]
) -> DateRow:
    """The sell-by with its marks; its hour stands small, and only where it is not the workday's start.

    Bunches of a part order are sold when it leaves: once in water for it they last no longer than that.
    Where the lot's own use is over, the next moment at which another would take the stems stands instead.
    """
    wording = teller.wording
    say = wording.macros(TEMPLATE)
    served = order or dates.tag_order
    sell_by = order.leaves if order else dates.sell_by
    assert sell_by is not None, "a lot without a date has no such row"
    if served is not None and served.leaves == sell_by:
        return DateRow(wording.day(sell_by), "", say.ordered_sell_by(), _leaves(sell_by, teller), marks=marks)
    if dates.state is State.SELL_ELSEWHERE and dates.elsewhere:
        use, moment = dates.elsewhere[0]
        caption = say.for_use(use=use)
        return DateRow(wording.day(moment), "", caption, _leaves(moment, teller), say.sell_elsewhere(), marks)
    if dates.state is State.SELL_FIRST:
        marks = (say.sell_first(), *marks)
    caption = say.sell_by(use=dates.sell_by_use)
    small = "" if dates.at_close else _leaves(sell_by, teller)
    return DateRow(wording.day(sell_by), "", caption, small, marks=marks)
