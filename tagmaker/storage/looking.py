"""What somebody should look at before a lot is promised: a bunch, the buds, mould."""

from __future__ import annotations

from datetime import date, datetime

from tagmaker.farm import Use
from tagmaker.lot import Finding, Lot, Surface, Verdict
from tagmaker.storage.basis import View
from tagmaker.storage.choosing import Choice
from tagmaker.storage.judging import Judge
from tagmaker.storage.moments import DAY, workday_after, workday_on_or_before
from tagmaker.storage.orders import JudgedOrder

LONG_STAY_DAYS = 21  # [d] beyond it a buyer's four vase days are uncertain (common practice, no source)
LONG_STAY_PROMISE = 4.0  # [d] vase days of the uses that are meant (common practice, no source)
UNSURE_DAYS = 10  # [d] from the cut within which an order after the early date is not tried (chosen)
TEST_DAYS_BEFORE = 6  # [d] before the departure a bunch is opened (chosen)
DRIED_STAY_DAYS = 7  # [d] a lot that was wet may stay without a look for mould (chosen)
MOULD_WORKDAY = 5  # workday after the cut on which somebody looks (chosen)


def order_test(view: View, order: JudgedOrder, early: datetime | None) -> date | None:
    """The day to open a bunch for an order that can be served; None where no test is wanted, or it is done.

    Args:
        view: the stems.
        order: judged.
        early: the lot's own early moment, to the hour; None on a careful basis.
    """
    judge = view.judge
    use, days = judge.farm.uses[order.use], _days(judge, order.leaves)
    unsure = early is not None and order.leaves > early and days > UNSURE_DAYS
    hardly_tried = judge.keeping.always_test
    if order.verdict is Verdict.STRETCHED or unsure or hardly_tried or _stays_long(judge, use, order.leaves):
        return _test_for(judge, order.leaves)
    return None


def stay_test(view: View, choice: Choice) -> date | None:
    """The day to open a bunch of a lot without orders; None where its stay is short, or it is done."""
    if not view.judge.keeping.always_test and not _stays_long(view.judge, choice.use, choice.moment):
        return None
    return _test_for(view.judge, choice.moment)


def _days(judge: Judge, departure: datetime) -> int:
    return (departure.date() - judge.lot.cut.date()).days


def _stays_long(judge: Judge, use: Use, departure: datetime) -> bool:
    return use.vase_days >= LONG_STAY_PROMISE and _days(judge, departure) > LONG_STAY_DAYS


def _test_for(judge: Judge, departure: datetime) -> date | None:
    """The workday six days before a departure, or the last before; not before the first after the cut."""
    if not judge.is_dry:
        return None
    workday = judge.farm.workday
    day = workday_on_or_before(workday, departure.date() - TEST_DAYS_BEFORE * DAY)
    first = workday_after(workday, judge.lot.cut.date())
    found = max(day or departure.date(), first or departure.date())
    done = any(test.found is Finding.OK and test.day >= found for test in judge.lot.tested)
    return None if done else found


def mould_day(view: View, departure: datetime) -> date | None:
    """The day to look for mould in a lot that was wet and stays over a week."""
    judge = view.judge
    if judge.lot.surface is not Surface.DRIED or _days(judge, departure) <= DRIED_STAY_DAYS:
        return None
    day: date | None = judge.lot.cut.date()
    for _ in range(MOULD_WORKDAY):
        day = None if day is None else workday_after(judge.farm.workday, day)
    return day


def bad_since(lot: Lot, now: datetime) -> date | None:
    """The day of the first test that found the stems bad; None: none did."""
    return min((t.day for t in lot.tested if t.found is Finding.BAD and t.day <= now.date()), default=None)


def look_at_test_on(lot: Lot) -> date | None:
    """The day after a bunch was opened of which nothing was written since."""
    tests = [test for test in lot.tested if isinstance(test.found, Finding)]
    if not tests or tests[-1].found is not Finding.OPENED:
        return None
    return tests[-1].day + DAY
