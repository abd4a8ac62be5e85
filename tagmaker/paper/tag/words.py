"""What a wrap label says, in the order in which it may be given up: words only, no geometry."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from tagmaker.farm import Farm
from tagmaker.lot import Lot, Mark, OrderDates, State, StorageCode, StorageDates
from tagmaker.storage.crops import Keeping
from tagmaker.telling.wording import Wording

TEMPLATE = "wrap-label.j2"
BETWEEN = " · "


@dataclass(frozen=True, slots=True)
class Row:
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
    rows: tuple[Row, ...]
    advice: str  # a sentence in place of dates
    caution: str
    crop: str
    cut: str
    dated_for: str


def tag_words(
    dates: StorageDates,
    order: OrderDates | None,
    stems: int,
    keeping: Keeping | None,
    farm: Farm,
    wording: Wording,
    now: datetime,
) -> TagWords:
    """The words of one bunch's label.

    Args:
        dates: what was computed for its lot
        order: the part order it is for, if any
        stems: in this bunch
        keeping: how its crop is kept, for the caution
        farm: hours at which a date needs no hour
        wording: templates and units
        now: local time of the farm
    """
    say = wording.macros(TEMPLATE)
    lot = dates.lot
    caution = say.caution(key=keeping.caution) if keeping and keeping.caution else ""
    return TagWords(
        lot=lot.lot_code,
        code=dates.code.value,
        was=say.was(code=dates.kept.value) if dates.kept is not dates.code else "",
        name=_name(lot, say),
        details=_details(lot, stems),
        rows=_rows(dates, order, farm, wording, now),
        advice=wording.say(dates.why) if dates.sell_by is None else "",
        caution=caution,
        crop=say.crop_line(crop=lot.crop, form=_form(lot)) if _is_named(lot) else "",
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


def _form(lot: Lot) -> str:
    """The form as the grower wrote it: one that was only assumed is not printed as a fact."""
    return "" if lot.form_assumed else lot.form


def _is_named(lot: Lot) -> bool:
    """Whether the variety says more than the crop."""
    return bool(lot.variety) and lot.variety.casefold() != lot.crop.casefold()


def _name(lot: Lot, say: Any) -> str:
    return str(say.name(crop=lot.crop, form=_form(lot), variety=lot.variety if _is_named(lot) else ""))


def _details(lot: Lot, stems: int) -> tuple[str, ...]:
    wordings = ((lot.colour, str(stems)), (str(stems),))
    return tuple(dict.fromkeys(BETWEEN.join(part for part in parts if part) for parts in wordings))


def _rows(
    dates: StorageDates, order: OrderDates | None, farm: Farm, wording: Wording, now: datetime
) -> tuple[Row, ...]:
    say = wording.macros(TEMPLATE)
    marks = tuple(say.mark(key=mark.value) for mark in _marks(dates, order))
    too_old = dates.state is State.TOO_OLD and order is None
    if dates.sell_by is None or too_old:
        word = say.too_old() if too_old else say.no_date()
        return (Row(word, marks=marks, is_date=False),)
    return (
        *_water_rows(dates, order, wording, now),
        *_for_rows(dates, order, farm, wording),
        _sell_by_row(dates, order, farm, wording, marks),
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
) -> tuple[Row, ...]:
    """Into water by, or what stands in its place, and the hours to open."""
    say = wording.macros(TEMPLATE)
    if dates.code is StorageCode.WATER:
        rows = [Row(say.in_water(), is_date=False)]
        if dates.ready_from is not None and dates.ready_from <= now:
            rows = [Row(say.in_water_ready(), is_date=False)]
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
        rows = [Row(say.water_now(), small=small, is_date=False)]
    elif by is not None:
        rows = [_moment_row(by, say.into_water_by(), wording)]
    if warm is not None:
        rows.append(_moment_row(warm, say.into_the_warm(), wording))
    return tuple(rows)


def _moment_row(moment: datetime, caption: str, wording: Wording) -> Row:
    return Row(wording.day(moment), wording.hour(moment), caption)


def _for_rows(dates: StorageDates, order: OrderDates | None, farm: Farm, wording: Wording) -> tuple[Row, ...]:
    """The whole-lot order that a bunch is for, unless the sell-by row says it too."""
    served = dates.tag_order
    if order is not None or served is None or served.leaves == dates.sell_by:
        return ()
    say = wording.macros(TEMPLATE)
    return (Row(wording.day(served.leaves), "", say.ordered_for(), _leaves(served.leaves, farm, say)),)


def _leaves(moment: datetime, farm: Farm, say: Any) -> str:
    """The hour of a departure, where it is not the workday's start."""
    return "" if moment.time() == farm.workday.opens else str(say.leaves(moment=moment))


def _sell_by_row(
    dates: StorageDates, order: OrderDates | None, farm: Farm, wording: Wording, marks: tuple[str, ...]
) -> Row:
    """The sell-by with its marks; its hour stands small, and only where it is not the workday's start.

    Bunches of a part order are sold when it leaves: once in water for it they last no longer than that.
    Where the lot's own use is over, the next moment at which another would take the stems stands instead.
    """
    say = wording.macros(TEMPLATE)
    served = order or dates.tag_order
    sell_by = order.leaves if order else dates.sell_by
    assert sell_by is not None, "a lot without a date has no such row"
    if served is not None and served.leaves == sell_by:
        return Row(wording.day(sell_by), "", say.ordered_sell_by(), _leaves(sell_by, farm, say), marks=marks)
    if dates.state is State.SELL_ELSEWHERE and dates.elsewhere:
        use, moment = dates.elsewhere[0]
        caption = say.for_use(use=use)
        return Row(wording.day(moment), "", caption, _leaves(moment, farm, say), say.sell_elsewhere(), marks)
    if dates.state is State.SELL_FIRST:
        marks = (say.sell_first(), *marks)
    caption = say.sell_by(use=dates.sell_by_use)
    small = "" if dates.at_close else _leaves(sell_by, farm, say)
    return Row(wording.day(sell_by), "", caption, small, marks=marks)
