"""What a wrap label says, in the order in which it may be given up: words only, no geometry."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any

from tagmaker.farm import Farm
from tagmaker.lot import Lot, OrderDates, State, StorageCode, StorageDates
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
    names: tuple[str, ...]  # the flowers, fullest wording first
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
        names=_names(dates, stems, say),
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
        names=(say.name(crop=lot.crop, form=lot.form, variety=lot.variety),),
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


def _names(dates: StorageDates, stems: int, say: Any) -> tuple[str, ...]:
    lot = dates.lot
    name = say.name(crop=lot.crop, form=_form(lot), variety=lot.variety if _is_named(lot) else "")
    wordings = ((name, lot.colour, str(stems)), (name, str(stems)), (name,))
    return tuple(dict.fromkeys(BETWEEN.join(part for part in parts if part) for parts in wordings))


def _rows(
    dates: StorageDates, order: OrderDates | None, farm: Farm, wording: Wording, now: datetime
) -> tuple[Row, ...]:
    say = wording.macros(TEMPLATE)
    unknown_stage = (say.stage_unknown(),) if dates.lot.stage is None else ()
    if dates.sell_by is None:
        return (Row(say.no_date(), marks=unknown_stage, is_date=False),)
    return (
        *_water_rows(dates, order, wording, now),
        *_for_rows(dates, order, farm, wording),
        _sell_by_row(dates, order, farm, wording, now, unknown_stage),
    )


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
            rows.append(_moment_row(out_by, say.out_by(), wording))
        return tuple(rows)
    by = order.into_water_by if order else dates.into_water_by
    warm = order.stand_warm_from if order else dates.stand_warm_from
    rows = []
    if by is not None and by < now:
        rows = [Row(say.water_now(), is_date=False)]
        if dates.ready_from is not None:
            row = _moment_row(dates.ready_from, say.if_watered_now(), wording)
            rows = [replace(row, lead=say.water_now())]
    elif by is not None:
        rows = [_moment_row(by, say.into_water_by(), wording)]
    if warm is not None:
        rows.append(_moment_row(warm, say.stand_warm_from(), wording))
    return tuple(rows)


def _moment_row(moment: datetime, caption: str, wording: Wording) -> Row:
    return Row(wording.day(moment), wording.hour(moment), caption)


def _for_rows(dates: StorageDates, order: OrderDates | None, farm: Farm, wording: Wording) -> tuple[Row, ...]:
    """The whole-lot order that a bunch is for, unless the sell-by row says it too."""
    served = dates.tag_order
    if order is not None or served is None or served.leaves == dates.sell_by:
        return ()
    caption = wording.macros(TEMPLATE).for_day()
    return (Row(wording.day(served.leaves), _hour(served.leaves, farm, wording), caption),)


def _hour(moment: datetime, farm: Farm, wording: Wording) -> str:
    """The hour of a departure, where it is not the workday's start."""
    return "" if moment.time() == farm.workday.opens else wording.hour(moment)


def _sell_by_row(
    dates: StorageDates,
    order: OrderDates | None,
    farm: Farm,
    wording: Wording,
    now: datetime,
    unknown_stage: tuple[str, ...],
) -> Row:
    """The sell-by with its marks, its hour only where it is not the workday's start.

    Bunches of a part order are sold when it leaves: once in water for it they last no longer than that.
    Bunches that no order takes are past on the day after the sell-by.
    """
    say = wording.macros(TEMPLATE)
    sell_by = order.leaves if order else dates.sell_by
    assert sell_by is not None, "a lot without a date has no such row"
    test_first = order.test_first if order else dates.test_first
    marks = (*unknown_stage, *((say.test_first(),) if test_first else ()))
    served = order or dates.tag_order
    caption, lead = say.sell_by(), ""
    if served is not None and served.leaves == sell_by:
        caption = say.for_and_sell_by()
    elif dates.state is State.TOO_OLD or (served is None and sell_by.date() < now.date()):
        caption, lead = "", say.past_since()
    elif dates.state is State.SELL_FIRST:
        marks = (say.sell_now(), *marks)
    return Row(wording.day(sell_by), _hour(sell_by, farm, wording), caption, lead, marks)
