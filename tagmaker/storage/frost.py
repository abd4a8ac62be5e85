"""Whether a lot's stems froze, or were so hot that they are lost."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterator
from datetime import date, datetime, time, timedelta

from tagmaker.farm import Farm
from tagmaker.lot import Finding, HandLow, Lot
from tagmaker.storage.ageing import HOTTEST_C
from tagmaker.storage.air import BRIDGED, KNOWN_DAYS, Air, Airs
from tagmaker.storage.crops import Keeping
from tagmaker.storage.readings import Readings
from tagmaker.storage.whereabouts import OUT, coolers_of, outside_c

DEEP_C = 0.5  # [°C] below the freezing point that freezes stems within the hour (chosen)
DEEP_H = 1.0  # [h] of it in all (chosen)
COLD_H = 6.0  # [h] below the freezing point itself that freezes them (chosen)
HOT_H = 1.0  # [h] read above 40 °C in all that cost a lot (chosen)
SAME_C = 1e-6  # [°C] what floating point makes of equal temperatures
HOUR = timedelta(hours=1)


def frozen_on(lot: Lot, farm: Farm, airs: Airs, keeping: Keeping, now: datetime) -> date | None:
    """The day on which a lot's stems froze by what was read where they stood; None if they did not.

    Below the freezing point for six hours, or half a degree below it for one, in all. A test that was
    found ok on a later day clears the cold of all days before it.
    """
    since = _cleared_until(lot)
    cold = deep = 0.0
    for cooler, start, end in coolers_of(lot, farm, now):
        for day, at_c, below_h in _cold_hours(airs[cooler.name], max(start, since), end, keeping.freezes_c):
            cold += below_h if at_c == keeping.freezes_c else 0.0
            deep += below_h if at_c < keeping.freezes_c else 0.0
            if cold >= COLD_H - 1e-6 or deep >= DEEP_H - 1e-6:
                return day
    return None


def low_by_hand(lot: Lot, farm: Farm, airs: Airs, keeping: Keeping, now: datetime) -> HandLow | None:
    """The coldest LOW below the freezing point that was written where a lot stood; None: there is none.

    A LOW is of the time since the look before, the first of any earlier time: one that a part of a stay
    falls into counts. Nobody knows for how long it was as cold, so that it is looked at and the date
    stays. A test that was found ok on a later day clears it.
    """
    since = _cleared_until(lot)
    found = []
    for cooler, start, end in coolers_of(lot, farm, now):
        looks = airs[cooler.name].written
        for before, look in zip((datetime.min, *(look.moment for look in looks)), looks, strict=False):
            there = before < end and start < look.moment and since <= look.moment
            if there and look.low_c < keeping.freezes_c - SAME_C:
                found.append(HandLow(look.moment.date(), look.low_c))
    return min(found, key=lambda low: low.low_c, default=None)


def _cleared_until(lot: Lot) -> datetime:
    """The start of the last day on which a bunch was found ok: the cold of all days before is cleared."""
    cleared = [datetime.combine(test.day, time()) for test in lot.tested if test.found is Finding.OK]
    return max(cleared, default=datetime.min)


def _cold_hours(
    air: Air, start: datetime, end: datetime, freezes_c: float
) -> Iterator[tuple[date, float, float]]:
    """Hours below the freezing point and half a degree below it: day, limit [°C], hours [h]."""
    if air.readings is None or air.coldest_c >= freezes_c:
        return
    for one, next_, one_c, next_c in _between(air.readings, start, end):
        for limit_c in (freezes_c, freezes_c - DEEP_C):
            below_h = _share_below(one_c, next_c, limit_c) * ((next_ - one) / HOUR)
            if below_h:
                yield one.date(), limit_c, below_h


def _between(
    readings: Readings, start: datetime, end: datetime
) -> Iterator[tuple[datetime, datetime, float, float]]:
    """Neighbouring readings of a stretch of time, and the straight line between them: no gaps."""
    moments, t_c = readings.moments, readings.t_c
    for n in range(max(bisect_left(moments, start) - 1, 0), len(moments) - 1):
        one, next_ = moments[n], moments[n + 1]
        if one >= end:
            return
        if next_ - one > BRIDGED or next_ <= start:
            continue
        first, last = max(one, start), min(next_, end)
        slope = (t_c[n + 1] - t_c[n]) / ((next_ - one) / HOUR)
        first_c = t_c[n] + slope * ((first - one) / HOUR)
        yield first, last, first_c, first_c + slope * ((last - first) / HOUR)


def _share_below(one_c: float, next_c: float, limit_c: float) -> float:
    """The share of a straight line between two temperatures that lies below a limit.

    >>> _share_below(-1.0, 1.0, 0.0), _share_below(-1.0, -2.0, 0.0), _share_below(0.0, 0.0, 0.0)
    (0.5, 1.0, 0.0)
    """
    low, high = sorted((one_c, next_c))
    if low >= limit_c - SAME_C:
        return 0.0
    return 1.0 if high <= limit_c else (limit_c - low) / (high - low)


def set_too_cold(lot: Lot, farm: Farm, airs: Airs, keeping: Keeping, now: datetime) -> str | None:
    """The cooler, of all a lot has stood in, that is set colder than it freezes and hardly read; or None.

    The first one counts before the stems are in it: their labels are printed on the way there.
    """
    for cooler, _, _ in coolers_of(lot, farm, max(now, lot.in_cooler or now)):
        set_c = cooler.set_point_c
        if set_c is not None and set_c < keeping.freezes_c and airs[cooler.name].read_days < KNOWN_DAYS:
            return cooler.name
    return None


def hottest_c(lot: Lot, farm: Farm, airs: Airs, now: datetime) -> float | None:
    """The heat that cost a lot [°C]: above 40 °C, stated for any time or read for an hour in all; or None."""
    stated = [lot.field_c]
    stated += [outside_c(lot, m, farm) for m in lot.moves if m.place == OUT and m.since <= now]
    if max(stated) > HOTTEST_C:
        return max(stated)
    hot_h, hottest = 0.0, 0.0
    for cooler, start, end in coolers_of(lot, farm, now):
        air = airs[cooler.name]
        if air.readings is None or air.hottest_c <= HOTTEST_C:
            continue
        for one, next_, one_c, next_c in _between(air.readings, start, end):
            hot_h += (1 - _share_below(one_c, next_c, HOTTEST_C)) * ((next_ - one) / HOUR)
            hottest = max(hottest, one_c, next_c)
    return hottest if hot_h >= HOT_H - 1e-6 else None
