"""From the days of a row to moments: what hour a date without one stands for.

Every function takes days and hours as the grower wrote them and returns naive local moments.
"""

from __future__ import annotations

from datetime import datetime, time, timedelta

from tagmaker.farm import Workday
from tagmaker.intake.cells.dates import SheetDate

FIELD_TIME = timedelta(hours=2)  # between the cut and the cooler (common practice, no source)


def cut_moment(cut: SheetDate, in_cooler: SheetDate | None, workday: Workday, now: datetime) -> datetime:
    """When a lot was cut: the workday's start, or now, or two hours before `in_cooler`, if that is earlier.

    It never leaves the day of the cut.
    """
    if cut.moment is not None:
        return cut.moment
    moment = workday.start(cut.day)
    if cut.day == now.date():
        moment = min(moment, now)
    if in_cooler is not None and in_cooler.moment is not None and in_cooler.day >= cut.day:
        moment = min(moment, in_cooler.moment - FIELD_TIME)
    return max(moment, datetime.combine(cut.day, time()))


def in_cooler_moment(in_cooler: SheetDate | None, cut: datetime, workday: Workday) -> datetime:
    """When a lot went in: two hours after the cut if blank; without an hour the workday's start, if later."""
    if in_cooler is None:
        return cut + FIELD_TIME
    if in_cooler.moment is not None:
        return in_cooler.moment
    return (
        max(workday.start(in_cooler.day), cut + FIELD_TIME)
        if in_cooler.day >= cut.date()
        else workday.start(in_cooler.day)
    )


def in_water_moment(in_water: SheetDate, cut: datetime, workday: Workday, now: datetime) -> datetime:
    """When a lot was put in water: without an hour the workday's end, or now if that is earlier.

    Put in on the day of a cut that was later than that, it is the cut.
    """
    if in_water.moment is not None:
        return in_water.moment
    moment = workday.end(in_water.day)
    if in_water.day == now.date():
        moment = min(moment, now)
    return max(moment, cut) if in_water.day == cut.date() else moment


def move_moment(when: SheetDate, before: datetime, *, back: bool, workday: Workday) -> datetime:
    """When a lot was moved.

    Without an hour it is the workday's start, or its end where the lot came back from outside, and
    never before the move that was made earlier on that day (`before`).
    """
    if when.moment is not None:
        return when.moment
    moment = workday.end(when.day) if back else workday.start(when.day)
    return max(moment, before) if when.day == before.date() else moment


def order_moment(when: SheetDate, leaves: time) -> datetime:
    """When an order leaves: without an hour, when its use leaves."""
    return when.moment or datetime.combine(when.day, leaves)
