"""Bench and selling moments: which hours of which days the dates may fall on."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, datetime, time, timedelta

from tagmaker.farm import QUARTER, Use, Workday

DAY = timedelta(days=1)
_WEEK = 7


def quarter_before(moment: datetime) -> datetime:
    """The last quarter hour that is not after a moment.

    >>> quarter_before(datetime(2027, 3, 5, 10, 29))
    datetime.datetime(2027, 3, 5, 10, 15)
    """
    midnight = datetime.combine(moment.date(), time())
    return midnight + (moment - midnight) // QUARTER * QUARTER


def quarter_after(moment: datetime) -> datetime:
    """The first quarter hour that is not before a moment."""
    before = quarter_before(moment)
    return before if before == moment else before + QUARTER


def latest_bench_moment(workday: Workday, limit: datetime) -> datetime | None:
    """The latest quarter hour of bench time that is not after `limit`; None if nobody ever works.

    >>> latest_bench_moment(Workday(), datetime(2027, 3, 5, 2, 0))
    datetime.datetime(2027, 3, 4, 18, 0)
    """
    for back in range(_WEEK + 1):
        day = limit.date() - back * DAY
        moment = min(quarter_before(limit), workday.end(day))
        if not workday.is_off(day) and moment >= workday.start(day):
            return moment
    return None


def workday_on_or_before(workday: Workday, day: date) -> date | None:
    """The day itself, or the last one before it on which somebody works."""
    for back in range(_WEEK):
        if not workday.is_off(day - back * DAY):
            return day - back * DAY
    return None


def workday_after(workday: Workday, day: date) -> date | None:
    """The first day after a day on which somebody works."""
    for ahead in range(1, _WEEK + 1):
        if not workday.is_off(day + ahead * DAY):
            return day + ahead * DAY
    return None


def selling_moment(use: Use, day: date) -> datetime | None:
    """When a use's flowers leave on a day; None if it does not sell that day."""
    return datetime.combine(day, use.leaves) if use.sells_on(day) else None


def next_selling_moment(use: Use, after: datetime) -> datetime | None:
    """The first selling moment of a use later than a moment; None if there is none."""
    ahead = (after.date() + days * DAY for days in range(_WEEK + 2))
    days = sorted({*(day for day in ahead if day.weekday() in use.days), *use.dates})
    moments = (datetime.combine(day, use.leaves) for day in days)
    return next((moment for moment in moments if moment > after), None)


def nearest_selling_day(use: Use, day: date) -> date | None:
    """The day nearest to a day on which a use sells, the earlier of two; None if it never sells."""
    around = (day + days * DAY for days in range(-_WEEK, _WEEK + 1))
    days = {*(near for near in around if near.weekday() in use.days), *use.dates}
    return min(days, key=lambda near: (abs(near - day), near), default=None)


def days_down(last: date, first: date) -> Iterator[date]:
    """Days from `last` back to `first`, both included."""
    return (last - back * DAY for back in range((last - first).days + 1))
