"""What is to be said about a lot's dates: the reasons and the warnings, as notes without words."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from datetime import date, datetime, timedelta
from typing import Any

from tagmaker import notes
from tagmaker.farm import Use
from tagmaker.lot import OrderDates, StorageCode, StorageDates, Surface, Verdict
from tagmaker.notes import Note
from tagmaker.storage.air import Air
from tagmaker.storage.basis import Basis, View
from tagmaker.storage.choosing import Choice
from tagmaker.storage.judging import Judge, Limit
from tagmaker.storage.moments import DAY, nearest_selling_day, next_selling_moment
from tagmaker.storage.orders import JudgedOrder
from tagmaker.storage.warmth import HALF_COLOURED, TOO_OPEN, opening_of
from tagmaker.storage.whereabouts import cooler_at

HOUR = timedelta(hours=1)
# Two days at 1 °C gave zinnias their longest vase life: Scientia Horticulturae 293:110661 (2022).
CHILL_DAYS = timedelta(days=2)  # below a chilling limit that do no harm
STALE_LOG = timedelta(days=1)  # a log that ended longer ago is said (chosen)
OFF_SET_POINT_C = 2.0  # [°C] a mean further from the set point is said (chosen)
SOON_DAYS = 3  # [d] stems needed within stand in water (common practice, no source)


def _stay(judge: Judge, limit: Limit | None, until: datetime | None = None) -> dict[str, Any]:
    """What every reason begins with: the cut, the crop, the way, the temperature and what stops it."""
    lot, use = judge.lot, judge.farm.uses[judge.lot.use]
    start = lot.in_cooler or lot.cut
    air = judge.airs[cooler_at(lot, judge.farm, start).name]
    logged = until is not None and bool(air.spells) and until > start
    return {
        "cut": lot.cut,
        "title": judge.keeping.title,
        "code": judge.keeping.code.value,
        "stage": lot.stage.word if lot.stage is not None else "",
        "at_c": air.counts_as(start, until) if until is not None and logged else air.after_c,
        "logged": logged,
        "cap": judge.keeping.cap_days,
        "published": judge.keeping.cautious_days,
        "limit": _limit_word(limit),
        "use": use.name,
        "promised": use.vase_days,
    }


def why_sell_by(view: View, choice: Choice) -> notes.WhySellBy:
    """Why a sell-by is what it is: the first thing that stops the moment after it."""
    judge, moment, order = view.judge, choice.moment, choice.order
    use = judge.farm.uses[judge.lot.use]
    following = next_selling_moment(choice.use, moment)
    held = choice.otherwise is not None and choice.otherwise > moment
    limit = view.shortfall(following, choice.use) if following else None
    if order is not None and (moment == order.leaves or held):
        limit = Limit.ORDER
    else:
        order = None
    own = _first_too_long(view, use) if choice.at_close or choice.other_use else None
    return notes.WhySellBy(
        **_stay(judge, limit, moment),
        days=(moment.date() - judge.lot.cut.date()).days,
        at_close=choice.at_close,
        sells_to=choice.use.name if choice.other_use else "",
        order=order.leaves if order is not None else None,
        otherwise=choice.otherwise if held else None,
        stretched=order is not None and order.verdict is Verdict.STRETCHED,
        next_day=own,
        next_vase=max(math.floor(judge.vase_days(own, use)), 0) if own else None,
        next_limit=_limit_word(view.shortfall(own, use)) if own else "",
    )


def _first_too_long(view: View, use: Use) -> datetime | None:
    """The first selling moment of a use that the hours fit, and that would be too long all the same."""
    moment, last = next_selling_moment(use, view.judge.lot.cut), view.judge.last_day
    while moment and moment.date() <= last and view.shortfall(moment, use) is Limit.NOT_READY:
        moment = next_selling_moment(use, moment)
    return moment


def why_undated(view: View) -> notes.WhyUndated:
    """Why a lot can have no date: what stops the first moments at which it could be ready."""
    judge = view.judge
    use = judge.farm.uses[judge.lot.use]
    closes = (judge.farm.workday.end(judge.lot.cut.date() + ahead * DAY) for ahead in range(8))
    limits = [view.shortfall(close, use) for close in closes]
    other = next((limit for limit in limits if limit is not Limit.NOT_READY), Limit.NOT_READY)
    return notes.WhyUndated(
        **_stay(judge, other),
        hours=judge.hours(use, judge.lot.cut) / HOUR,
        opening=judge.opening_hours(use, judge.lot.cut),
    )


def why_into_water(judge: Judge, departure: datetime, use: Use) -> notes.WhyIntoWater:
    """Why the stems go into water by then."""
    return notes.WhyIntoWater(
        departure=departure,
        hours=judge.water_hours(),
        opening=judge.opening_hours(use, departure),
        code=judge.keeping.code.value,
    )


def _limit_word(limit: Limit | None) -> str:
    return limit.value if limit else ""


def warnings(
    view: View,
    choice: Choice | None,
    judged: Sequence[JudgedOrder],
    bare: StorageDates,
    orders: Sequence[OrderDates],
    now: datetime,
) -> tuple[Note, ...]:
    """All warnings of a lot, the most pressing first.

    Args:
        view: the stems.
        choice: their sell by; None: they have none.
        judged: all orders.
        bare: what is known of the lot but for its dates.
        orders: those to come.
        now: the moment asked about.
    """
    return (
        *_about_tested(bare),
        *_about_orders(view, judged, orders),
        *_about_keeping_for_orders(choice, orders, now),
        *_about_buds(view.judge, bare),
        *_about_stems(view, choice),
        *_about_promise(view.judge),
        *_about_cooler(view.judge, choice, now),
        *_advice(view.judge, orders, now),
    )


def _about_tested(bare: StorageDates) -> Iterator[Note]:
    if bare.bad_since is not None:
        yield notes.TestedBad(on=bare.bad_since)


def _about_orders(view: View, judged: Sequence[JudgedOrder], orders: Sequence[OrderDates]) -> Iterator[Note]:
    judge = view.judge
    limits = {(order.leaves, order.stems, order.use): order.limit for order in judged}
    for order in orders:
        use = judge.farm.uses[order.use]
        values: dict[str, Any] = {"leaves": order.leaves, "stems": order.stems, "use": order.use}
        if order.verdict is Verdict.NOT_FOR:
            limit = _limit_word(limits.get((order.leaves, order.stems, order.use)))
            last = view.last_departure(use, order.leaves)
            would = last if last is not None and last < order.leaves else None
            yield notes.NotFor(**values, limit=limit, last=would)
        elif order.verdict is Verdict.TOO_LATE:
            yield notes.TooLateFor(**values, hours=judge.hours(use, order.leaves) / HOUR)
        elif order.verdict is Verdict.STRETCHED:
            yield notes.Stretched(**values, vase=judge.vase_days(order.leaves, use))
        if not use.sells_on(order.leaves.date()):
            yield notes.WrongDay(**values, nearest=nearest_selling_day(use, order.leaves.date()))
    left = judge.lot.left
    wanted = sum(left or 0 if order.stems is None else order.stems for order in orders)
    if left is not None and wanted > left:
        yield notes.OverOrdered(wanted=wanted, left=left)


def about_tests(judge: Judge, tests: Sequence[tuple[datetime, date]], now: datetime) -> Iterator[Note]:
    """When to open a bunch, and for which stay; pairs of departure and day."""
    for departure, day in tests:
        yield notes.TestFirst(
            days=(departure.date() - judge.lot.cut.date()).days,
            on=day,
            overdue=day < now.date(),
        )


def _about_keeping_for_orders(
    choice: Choice | None, orders: Sequence[OrderDates], now: datetime
) -> Iterator[Note]:
    if choice is None or now.date() > choice.moment.date():
        for order in orders:
            if order.ok:
                yield notes.KeepFor(leaves=order.leaves, stems=order.stems, use=order.use)


def _about_buds(judge: Judge, bare: StorageDates) -> Iterator[Note]:
    """What warmth, or the eye, says of buds that were right at the cut."""
    stage = judge.stems.stage
    at_cut = opening_of(stage, judge.keeping.right_stage)
    seen = not bare.look_at_buds
    if bare.too_open_from is not None and at_cut < TOO_OPEN:
        yield notes.TooOpen(since=bare.too_open_from, seen=seen and bare.opening >= TOO_OPEN)
    elif bare.half_coloured_from is not None and at_cut < HALF_COLOURED:
        yield notes.HalfColoured(since=bare.half_coloured_from, seen=seen and bare.opening >= HALF_COLOURED)


def _about_stems(view: View, choice: Choice | None) -> Iterator[Note]:
    judge = view.judge
    lot, keeping, stage = judge.lot, judge.keeping, judge.stems.stage
    if stage is None:
        usual = None
        if choice is not None:
            right = View(judge=judge, basis=Basis.PRACTICE)
            usual = right.last_selling(judge.farm.uses[lot.use])
        right_looks = keeping.stages[keeping.right_stage]
        yield notes.StageBlank(
            title=keeping.title, right=keeping.right_stage.word, looks=right_looks, usual=usual
        )
    elif stage < keeping.right_stage:
        yield notes.StageEarly(stage=stage.word, looks=keeping.stages[stage], right=keeping.right_stage.word)
    elif opening_of(stage, keeping.right_stage) >= HALF_COLOURED:
        half = opening_of(stage, keeping.right_stage) < TOO_OPEN
        yield notes.StageLate(
            stage=stage.word, looks=keeping.stages[stage], right=keeping.right_stage.word, half=half
        )
    if keeping.like:
        yield notes.DatedLike(crop=keeping.title, like=keeping.like)
    if lot.form_assumed:
        yield notes.FormAssumed(crop=lot.crop, form=lot.form)
    if lot.surface is Surface.WET:
        yield notes.Wet(code=keeping.code.value)


def _about_promise(judge: Judge) -> Iterator[Note]:
    use = judge.farm.uses[judge.lot.use]
    promise = judge.promise(judge.departure(judge.lot.cut, use))
    if promise < use.vase_days:
        yield notes.PromiseAboveFresh(use=use.name, promised=use.vase_days, held=promise)


def _about_cooler(judge: Judge, choice: Choice | None, now: datetime) -> Iterator[Note]:
    keeping = judge.keeping
    cooler = cooler_at(judge.lot, judge.farm, now)
    values: dict[str, Any] = {"cooler": cooler.name, "title": keeping.title}
    tulip_with_bulb = keeping.crop == "tulip" and keeping.code is StorageCode.BULB
    set_c = cooler.set_point_c
    went_in = judge.lot.in_cooler or judge.lot.cut
    long = choice is None or choice.moment - went_in > CHILL_DAYS
    if set_c is not None and set_c < 0 and (not tulip_with_bulb or set_c <= keeping.freezes_c):
        yield notes.BelowFreezing(**values, set_c=set_c, freezes_c=keeping.freezes_c)
    elif keeping.never_below_c is not None and (set_c is None or set_c < keeping.never_below_c) and long:
        yield notes.Chilling(**values, set_c=set_c, limit_c=keeping.never_below_c)
    if keeping.code is StorageCode.WATER and not cooler.soak_inside:
        yield notes.NoBucketsInside(**values, room_c=judge.farm.room_c)
    yield from about_readings(judge.airs[cooler.name], now, judge.lot.in_cooler or judge.lot.cut)


def about_readings(air: Air, now: datetime, since: datetime) -> Iterator[Note]:
    """What is to be known of a cooler's readings before its dates are trusted.

    Args:
        air: the cooler's air.
        now: the moment asked about.
        since: power cuts that ended before it are not named.
    """
    if not air.spells:
        return
    name, set_c, ended = air.cooler.name, air.cooler.set_point_c, air.spells[-1].end
    if now - ended > STALE_LOG:
        yield notes.LogEnded(cooler=name, ended=ended, counted_c=air.after_c)
    mean = air.recent_mean_c
    if mean is not None and set_c is not None and abs(mean - set_c) > OFF_SET_POINT_C:
        yield notes.LogOffSetPoint(cooler=name, mean_c=mean, set_c=set_c)
    for gap in air.gaps:
        if gap.power_cut and gap.end > since:
            yield notes.PowerCut(cooler=name, start=gap.start, end=gap.end, counted_c=gap.counted_c)


def _advice(judge: Judge, orders: Sequence[OrderDates], now: datetime) -> Iterator[Note]:
    """On the day of the cut: dry stems that are needed within days are better off in water."""
    lot = judge.lot
    if judge.water is None or not judge.was_dry or lot.bulb or lot.in_water or lot.cut.date() != now.date():
        return
    if lot.storage is StorageCode.DRY:
        return
    needed = min((order.leaves for order in orders), default=None)
    if needed is not None and _within(lot.cut.date(), needed.date(), SOON_DAYS):
        yield notes.PutInWater(needed=needed)


def _within(start: date, end: date, days: int) -> bool:
    return (end - start).days <= days
