"""Printed days against an independent calendar."""

from datetime import date, datetime, timedelta

import pytest
from dateutil.parser import parse
from dateutil.relativedelta import SU, relativedelta
from dateutil.rrule import FR, MO, SA, TH, TU, WE, WEEKLY, rrule, weekday
from dateutil.rrule import SU as SUNDAYS

from tagmaker.telling.wording import Wording

WORDING = Wording("F")
FIRST, LAST = datetime(2027, 1, 1), datetime(2028, 12, 31)  # a common year and a leap year
DAYS = [FIRST.date() + timedelta(days=n) for n in range((LAST - FIRST).days + 1)]


@pytest.mark.parametrize(
    ("name", "rule"),
    [("MON", MO), ("TUE", TU), ("WED", WE), ("THU", TH), ("FRI", FR), ("SAT", SA), ("SUN", SUNDAYS)],
)
def test_weekdays_are_those_of_dateutil(name: str, rule: weekday) -> None:
    """python-dateutil's recurrence rules give the same days to each weekday, over two years."""
    expected = [moment.date() for moment in rrule(WEEKLY, byweekday=rule, dtstart=FIRST, until=LAST)]
    assert [day for day in DAYS if WORDING.day(day).startswith(f"{name} ")] == expected


def test_printed_days_are_read_back_by_dateutil() -> None:
    """python-dateutil's parser finds the day and month that were printed."""
    assert [parse(f"{WORDING.day(day)} {day.year}").date() for day in DAYS] == DAYS


@pytest.mark.parametrize("year_and_day", [(2024, 12), (2025, 11), (2026, 10), (2027, 9), (2028, 14)])
def test_second_sundays_of_may(year_and_day: tuple[int, int]) -> None:
    """36 U.S.C. § 117 names the second Sunday of May: its days 2024 to 2028, and dateutil's."""
    year, number = year_and_day
    assert (date(year, 5, 1) + relativedelta(weekday=SU(2))).day == number
    assert WORDING.day(date(year, 5, number)) == f"SUN {number} MAY"


@pytest.mark.parametrize("units", ["F", "C"])
def test_printed_hours_are_read_back_by_dateutil(units: str) -> None:
    """Every quarter hour of a day, in the twelve-hour and the 24-hour way of writing it.

    But for noon and midnight of the twelve-hour way: 12 AM and 12 PM are read both ways by people.
    """
    wording = Wording(units)
    moments = [FIRST + timedelta(minutes=15 * n) for n in range(96) if units == "C" or n not in (0, 48)]
    assert [parse(f"2027-01-01 {wording.hour(moment)}") for moment in moments] == moments
    assert wording.hour(FIRST + timedelta(hours=12)) == {"F": "NOON", "C": "12:00"}[units]
