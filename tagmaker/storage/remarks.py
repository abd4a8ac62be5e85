"""What is to be said about a lot's dates: the reasons and the warnings, as notes without words."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from datetime import date, datetime, timedelta

from tagmaker.farm import Use
from tagmaker.lot import Note, OrderDates, StorageCode, Surface, Verdict
from tagmaker.storage.air import Air
from tagmaker.storage.judging import Judge, Limit
from tagmaker.storage.moments import DAY, nearest_selling_day
from tagmaker.storage.orders import JudgedOrder
from tagmaker.storage.whereabouts import cooler_at

HOUR = timedelta(hours=1)
STALE_LOG = timedelta(days=1)  # a log that ended longer ago is said (chosen)
OFF_SET_POINT_C = 2.0  # [°C] a mean further from the set point is said (chosen)
SOON_DAYS = 3  # [d] stems needed within stand in water (common practice, no source)


def _stay(judge: Judge, until: datetime | None = None) -> dict[str, object]:
    """What every reason begins with: the cut, the crop, the way and the temperature counted."""
    lot = judge.lot
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
    }


def why_sell_by(judge: Judge, moment: datetime, values: Mapping[str, object]) -> Note:
    """Why a sell-by is what it is, with what the next selling day would give."""
    use = judge.farm.uses[judge.lot.use]
    following = values["next_day"] if isinstance(values["next_day"], datetime) else None
    more: dict[str, object] = {
        "use": use.name,
        "promised": use.vase_days,
        "days": (moment.date() - judge.lot.cut.date()).days,
        "next_vase": max(math.floor(judge.vase_days(following, use)), 0) if following else None,
        "next_limit": _limit_word(judge.shortfall(following, use)) if following else "",
    }
    return Note("why_sell_by", {**_stay(judge, moment), **values, **more})


def why_undated(judge: Judge, use: Use) -> Note:
    """Why a lot can have no date: what stops the first moments at which it could be ready."""
    closes = (judge.farm.workday.end(judge.lot.cut.date() + ahead * DAY) for ahead in range(8))
    limits = [judge.shortfall(close, use) for close in closes]
    other = next((limit for limit in limits if limit is not Limit.NOT_READY), Limit.NOT_READY)
    values = {
        "limit": _limit_word(other),
        "hours": judge.hours(use, judge.lot.cut) / HOUR,
        "opening": judge.opening_hours(use, judge.lot.cut),
        "use": use.name,
        "promised": use.vase_days,
    }
    return Note("why_undated", {**_stay(judge), **values})


def why_into_water(judge: Judge, departure: datetime, use: Use) -> Note:
    """Why the stems go into water by then."""
    values = {
        "departure": departure,
        "hours": judge.water_hours(),
        "opening": judge.opening_hours(use, departure),
        "code": judge.keeping.code.value,
    }
    return Note("why_into_water", values)


def _limit_word(limit: Limit | None) -> str:
    return limit.value if limit else ""


def warnings(
    judge: Judge,
    sell_by: datetime | None,
    judged: Sequence[JudgedOrder],
    orders: Sequence[OrderDates],
    now: datetime,
) -> tuple[Note, ...]:
    """All warnings of a lot, the most pressing first."""
    return (
        *_about_orders(judge, judged, orders),
        *_about_keeping_for_orders(sell_by, orders, now),
        *_about_stems(judge),
        *_about_promise(judge),
        *_about_cooler(judge, now),
        *_advice(judge, orders, now),
    )


def _about_orders(
    judge: Judge, judged: Sequence[JudgedOrder], orders: Sequence[OrderDates]
) -> Iterator[Note]:
    limits = {(order.leaves, order.stems, order.use): order.limit for order in judged}
    for order in orders:
        use = judge.farm.uses[order.use]
        values: dict[str, object] = {"leaves": order.leaves, "stems": order.stems, "use": order.use}
        if order.verdict is Verdict.NOT_FOR:
            limit = _limit_word(limits.get((order.leaves, order.stems, order.use)))
            last = judge.last_departure(use, order.leaves)
            would = last if last is not None and last < order.leaves else None
            yield Note("not_for", {**values, "limit": limit, "last": would})
        elif order.verdict is Verdict.TOO_LATE:
            hours = judge.hours(use, order.leaves) / HOUR
            yield Note("too_late_for", {**values, "hours": hours})
        elif order.verdict is Verdict.STRETCHED:
            yield Note("stretched", {**values, "vase": judge.vase_days(order.leaves, use)})
        if not use.sells_on(order.leaves.date()):
            nearest = nearest_selling_day(use, order.leaves.date())
            yield Note("wrong_day", {**values, "nearest": nearest})
    left = judge.lot.left
    wanted = sum(left or 0 if order.stems is None else order.stems for order in orders)
    if left is not None and wanted > left:
        yield Note("over_ordered", {"wanted": wanted, "left": left})


def about_tests(judge: Judge, tests: Sequence[tuple[datetime, date]], now: datetime) -> Iterator[Note]:
    """When to open a bunch, and for which stay; pairs of departure and day."""
    for departure, day in tests:
        values = {
            "days": (departure.date() - judge.lot.cut.date()).days,
            "on": day,
            "overdue": day < now.date(),
            "surface": judge.lot.surface is Surface.DRIED,
        }
        yield Note("test_first", values)


def _about_keeping_for_orders(
    sell_by: datetime | None, orders: Sequence[OrderDates], now: datetime
) -> Iterator[Note]:
    if sell_by is not None and now.date() > sell_by.date():
        for order in orders:
            if order.ok:
                yield Note("keep_for", {"leaves": order.leaves, "stems": order.stems, "use": order.use})


def _about_stems(judge: Judge) -> Iterator[Note]:
    lot, keeping = judge.lot, judge.keeping
    if lot.stage is None:
        yield Note("stage_blank", {"title": keeping.title, "right": keeping.right_stage.word})
    elif lot.stage < keeping.right_stage:
        yield Note("stage_early", {"stage": lot.stage.word, "right": keeping.right_stage.word})
    elif judge.late_at_cut:
        yield Note("stage_late", {"stage": lot.stage.word, "right": keeping.right_stage.word})
    if judge.warmed is not None and not judge.late_at_cut:
        yield Note("warmed", {"since": judge.warmed})
    if lot.form_assumed:
        yield Note("form_assumed", {"crop": lot.crop, "form": lot.form})
    if lot.surface is Surface.WET:
        yield Note("wet", {"code": keeping.code.value})


def _about_promise(judge: Judge) -> Iterator[Note]:
    use = judge.farm.uses[judge.lot.use]
    promise = judge.promise(use, judge.lot.cut)
    if promise < use.vase_days:
        yield Note("promise_above_fresh", {"use": use.name, "promised": use.vase_days, "held": promise})


def _about_cooler(judge: Judge, now: datetime) -> Iterator[Note]:
    keeping = judge.keeping
    cooler = cooler_at(judge.lot, judge.farm, now)
    values: dict[str, object] = {"cooler": cooler.name, "title": keeping.title}
    tulip_with_bulb = keeping.crop == "tulip" and keeping.code is StorageCode.BULB
    set_c = cooler.set_point_c
    if set_c is not None and set_c < 0 and (not tulip_with_bulb or set_c <= keeping.freezes_c):
        yield Note("below_freezing", {**values, "set_c": set_c, "freezes_c": keeping.freezes_c})
    elif keeping.never_below_c is not None and (set_c is None or set_c < keeping.never_below_c):
        yield Note("chilling", {**values, "set_c": set_c, "limit_c": keeping.never_below_c})
    if keeping.code is StorageCode.WATER and not cooler.soak_inside:
        yield Note("no_buckets_inside", {**values, "room_c": judge.farm.room_c})
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
        yield Note("log_ended", {"cooler": name, "ended": ended, "counted_c": air.after_c})
    mean = air.recent_mean_c
    if mean is not None and set_c is not None and abs(mean - set_c) > OFF_SET_POINT_C:
        yield Note("log_off_set_point", {"cooler": name, "mean_c": mean, "set_c": set_c})
    for gap in air.gaps:
        if gap.power_cut and gap.end > since:
            values = {"cooler": name, "start": gap.start, "end": gap.end, "counted_c": gap.counted_c}
            yield Note("power_cut", values)


def _advice(judge: Judge, orders: Sequence[OrderDates], now: datetime) -> Iterator[Note]:
    """On the day of the cut: dry stems that are needed within days are better off in water."""
    lot = judge.lot
    if judge.water is None or not judge.was_dry or lot.bulb or lot.in_water or lot.cut.date() != now.date():
        return
    if lot.storage is StorageCode.DRY:
        return
    needed = min((order.leaves for order in orders), default=None)
    if needed is not None and _within(lot.cut.date(), needed.date(), SOON_DAYS):
        yield Note("put_in_water", {"needed": needed})


def _within(start: date, end: date, days: int) -> bool:
    return (end - start).days <= days
