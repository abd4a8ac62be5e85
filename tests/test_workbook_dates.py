"""Dates of the lot sheet: what reads as one, which way, and what hour it stands for."""

from __future__ import annotations

from datetime import date, datetime, time
from pathlib import Path

import pytest

from tagmaker.intake.cells.dates import DateColumn, SheetDate
from tagmaker.intake.cells.unfit import UnfitCellError
from tagmaker.intake.files.grid import CellValue
from tagmaker.lot import Move, Order, Surface
from tests.small_sheets import NOW, SETTINGS, read_lot, read_problems, read_rows

DAY = date(2027, 2, 12)
MOMENT = SheetDate(DAY, time(7, 30))


def column(day_first: bool | None = None) -> DateColumn:
    """A column that has read no cell yet."""
    return DateColumn("cut", day_first, NOW)


@pytest.mark.parametrize(
    ("value", "read"),
    [
        ("2027-02-12", SheetDate(DAY)),
        ("2027/2/12", SheetDate(DAY)),
        ("2027-02-12T07:30", MOMENT),
        ("2027-02-12 07:30:00", MOMENT),
        ("2027-02-12 7:30 am", MOMENT),
        ("12 Feb 2027 at 7:30", MOMENT),
        ("2027-02-12 7:30 p.m.", SheetDate(DAY, time(19, 30))),
        ("12 Feb 2027, 12 am", SheetDate(DAY)),
        ("12 February 2027.", SheetDate(DAY)),
        ("12-Feb-27", SheetDate(DAY)),
        ("Feb 12, 2027", SheetDate(DAY)),
        ("Fri 12th Feb 2027", SheetDate(DAY)),
        ("12 Sept 2026", SheetDate(date(2026, 9, 12))),
        ("2027‑02‑12", SheetDate(DAY)),
        ("25/03/2027", SheetDate(date(2027, 3, 25))),
        ("03/25/2027", SheetDate(date(2027, 3, 25))),
        ("05.05.2027", SheetDate(date(2027, 5, 5))),
        ("46430", SheetDate(DAY)),
        (46430, SheetDate(DAY)),
        (46430.3125, MOMENT),
        (datetime(2027, 2, 12), SheetDate(DAY)),
        (datetime(2027, 2, 12, 7, 29, 59, 999_000), MOMENT),
        (DAY, SheetDate(DAY)),
    ],
)
def test_what_reads_as_a_date(value: CellValue, read: SheetDate) -> None:
    """Real dates, ISO text, named months, one-way dates and serials near to now are read."""
    assert column().read(value) == read


@pytest.mark.parametrize(
    ("value", "said"),
    [
        ("12.o2.", 'a date (got "12.o2."). Write it as 2027-02-12.'),
        ("soon", 'a date (got "soon"). Write it like 2027-03-23.'),
        ("2027-02-30", 'a date (got "2027-02-30"). Write it like 2027-03-23.'),
        ("2027-02-12 25:00", 'a date (got "2027-02-12 25:00"). Write it like 2027-03-23.'),
        ("2027-02-12T09:00Z", 'a date (got "2027-02-12T09:00Z"). Write it like 2027-03-23.'),
        ("1", 'a date (got "1"). Write it like 2027-03-23.'),
        ("27/04/10", 'a date with all four digits of its year (got "27/04/10"). Write it like 2027-03-23.'),
        (
            "4/12/27",
            (
                'a date with all four digits of its year (got "4/12/27"). '
                "Write it like 2027-03-23, or set day_first = true or false in the settings."
            ),
        ),
        (
            "27-Feb-12",
            (
                'a date with all four digits of its year (got "27-Feb-12": it would be 2012-02-27). '
                "Write it like 2027-03-23."
            ),
        ),
        (True, 'a date (got "TRUE"). Write it like 2027-03-23.'),
        (time(9), 'a date (got "09:00"). Write it like 2027-03-23.'),
        ("1900-02-12", 'a date from 2000-01-01 to 2030-12-31 (got "1900-02-12"). Write it like 2027-03-23.'),
        (
            datetime(9999, 12, 31, 23, 59, 59),
            'a date from 2000-01-01 to 2030-12-31 (got "9999-12-31 23:59"). Write it like 2027-03-23.',
        ),
        (
            "44000",
            'a date (got "44000": as a number of days it would be 2020-06-18). Write it like 2027-03-23.',
        ),
        (
            "Sat 12 Feb 2027",
            (
                'a date on its own weekday (got "Sat 12 Feb 2027": 2027-02-12 is a Friday). '
                "Write it as 2027-02-12."
            ),
        ),
        (
            "05/06/2027",
            (
                'a date that reads one way (got "05/06/2027": 2027-06-05 or 2027-05-06). '
                "Write it as 2027-06-05 or 2027-05-06, or set day_first = true or false in the settings."
            ),
        ),
    ],
)
def test_what_is_no_date(value: CellValue, said: str) -> None:
    """What cannot be read, lies far off or reads two ways is refused with what to write."""
    with pytest.raises(UnfitCellError) as caught:
        column().read(value)
    assert f"{caught.value.must}. {caught.value.remedy}" == said


def test_two_way_dates_are_read_as_the_settings_say(tmp_path: Path) -> None:
    """05/03/2027 is the fifth of March or the third of May only where day_first says which."""
    first, last = f"day_first = true\n{SETTINGS}", f"day_first = false\n{SETTINGS}"
    assert read_lot(tmp_path, settings=first, cut="05/03/2027").cut.date() == date(2027, 3, 5)
    assert read_lot(tmp_path, settings=last, cut="02/03/2027").cut.date() == date(2027, 2, 3)
    assert len(read_problems(tmp_path, cut="05/03/2027")) == 1


def test_a_year_of_two_digits(tmp_path: Path) -> None:
    """Three numbers without a year of four digits wait for day_first; three of two digits are never read."""
    assert column(day_first=True).read("4/3/27") == SheetDate(date(2027, 3, 4))
    assert column(day_first=False).read("3.4.27") == SheetDate(date(2027, 3, 4))
    for text in ("27/04/10", "10.04.27", "04-10-27"):
        for day_first in (True, False, None):
            with pytest.raises(UnfitCellError, match="all four digits of its year"):
                column(day_first).read(text)
    first = f"day_first = true\n{SETTINGS}"
    assert len(read_problems(tmp_path, settings=first, needed="27/04/10")) == 1


def test_a_date_against_the_settings_is_a_problem() -> None:
    """A date that only reads the other way is not turned around."""
    with pytest.raises(UnfitCellError) as caught:
        column(day_first=True).read("03/25/2027")
    assert caught.value.must == 'a date with the day first, as the settings say (got "03/25/2027")'


def test_two_orders_are_never_mixed_in_one_column(tmp_path: Path) -> None:
    """The first order that a column shows holds for all its cells; another column may have its own."""
    rows = [{"cut": "22/03/2027"}, {"cut": "03/21/2027"}, {"cut": "21/03/2027", "in water": "03/22/2027"}]
    sheet = read_rows(tmp_path, *rows)
    assert [problem.lot for problem in sheet.problems] == ["042"]
    assert [lot.lot_code for lot in sheet.lots] == ["041", "043"]


HOURS = [
    # cut, in cooler -> moment of the cut, moment in the cooler; the workday begins at eight
    ("2027-03-22", "", (22, 8, 0), (22, 10, 0)),
    ("2027-03-22T15:00", "", (22, 15, 0), (22, 17, 0)),
    ("2027-03-22", "2027-03-22", (22, 8, 0), (22, 10, 0)),
    ("2027-03-22", "2027-03-22T09:15", (22, 7, 15), (22, 9, 15)),
    ("2027-03-22", "2027-03-22T18:00", (22, 8, 0), (22, 18, 0)),
    ("2027-03-22", "2027-03-23", (22, 8, 0), (23, 8, 0)),
    ("2027-03-22", "2027-03-22T01:00", (22, 0, 0), (22, 1, 0)),
    ("2027-03-22T17:00", "2027-03-22", (22, 17, 0), (22, 19, 0)),
]


@pytest.mark.parametrize(("cut", "in_cooler", "cut_at", "in_at"), HOURS)
def test_hours_of_cut_and_cooler(
    tmp_path: Path, cut: str, in_cooler: str, cut_at: tuple[int, int, int], in_at: tuple[int, int, int]
) -> None:
    """Without an hour: the workday's start, two hours between cut and cooler, whichever is given."""
    lot = read_lot(tmp_path, cut=cut, in_cooler=in_cooler)
    assert (lot.cut, lot.in_cooler) == (datetime(2027, 3, *cut_at), datetime(2027, 3, *in_at))


def test_a_cut_of_today_is_not_later_than_now(tmp_path: Path) -> None:
    """Before the workday begins, a cut of today without an hour was made now."""
    lot = read_lot(tmp_path, now=datetime(2027, 3, 23, 6, 30, 59), cut="2027-03-23")
    assert (lot.cut, lot.in_cooler) == (datetime(2027, 3, 23, 6, 30), datetime(2027, 3, 23, 8, 30))
    assert read_lot(tmp_path, now=datetime(2027, 3, 23, 12), cut="2027-03-23").cut == datetime(2027, 3, 23, 8)


def test_a_cut_after_today_is_a_plan(tmp_path: Path) -> None:
    """A day to come makes the row a plan, whose blank bulb stays open; a later hour of today does not."""
    plan = read_lot(tmp_path, cut="2027-03-24")
    assert (plan.planned, plan.bulb, plan.cut) == (True, None, datetime(2027, 3, 24, 8))
    today = read_lot(tmp_path, cut="2027-03-23T15:00")
    assert (today.planned, today.bulb) == (False, False)


@pytest.mark.parametrize(
    ("in_water", "now", "moment"),
    [
        ("2027-03-22", NOW, datetime(2027, 3, 22, 18)),
        ("2027-03-23", NOW, datetime(2027, 3, 23, 8)),
        ("2027-03-23", datetime(2027, 3, 23, 20), datetime(2027, 3, 23, 18)),
        ("2027-03-22T16:00", NOW, datetime(2027, 3, 22, 16)),
    ],
)
def test_hour_of_in_water(tmp_path: Path, in_water: str, now: datetime, moment: datetime) -> None:
    """In water without an hour: the workday's end, or now if that is earlier."""
    assert read_lot(tmp_path, in_water=in_water, now=now).in_water == moment


def test_in_water_on_the_evening_of_the_cut(tmp_path: Path) -> None:
    """A lot cut after hours and put in water that day was not in water before its cut."""
    lot = read_lot(tmp_path, cut="2027-03-22T19:00", in_water="2027-03-22")
    assert lot.in_water == datetime(2027, 3, 22, 19)


def test_orders_and_their_hours(tmp_path: Path) -> None:
    """An order without an hour leaves when its use does; orders stand in order of departure."""
    lot = read_lot(
        tmp_path, use="stall", needed="2027-04-17 event x 60; 2027-04-10 x 10 bunches, 2027-04-12T15:00"
    )
    assert lot.orders == (
        Order(leaves=datetime(2027, 4, 10, 6, 30), stems=100, use="stall"),
        Order(leaves=datetime(2027, 4, 12, 15), stems=None, use="stall"),
        Order(leaves=datetime(2027, 4, 17, 7, 15), stems=60, use="event"),
    )


@pytest.mark.parametrize(
    "typed",
    [
        "2027-04-10 x100",
        "Sat 10 Apr 2027 × 100 stems",
        "2027-04-10 stall * 100",
        "stall 2027-04-10 06:30 X 100.",
    ],
)
def test_orders_may_be_written_in_other_ways(tmp_path: Path, typed: str) -> None:
    """Spaces, the sign of times, the place of the use and the words around it are the grower's own."""
    assert read_lot(tmp_path, use="stall", needed=typed).orders == (
        Order(leaves=datetime(2027, 4, 10, 6, 30), stems=100, use="stall"),
    )


def test_moves_and_their_hours(tmp_path: Path) -> None:
    """Without an hour a move is at the workday's start, one back from outside at its end, in their order."""
    moved = "porch 2027-03-22; out 2027-03-23T06:00 75F; to barn 2027-03-23"
    lot = read_lot(tmp_path, cut="2027-03-22", moved=moved)
    assert lot.moves == (
        Move(since=datetime(2027, 3, 22, 10), place="porch"),
        Move(since=datetime(2027, 3, 23, 6), place="out", temperature_c=(75 - 32) / 1.8),
        Move(since=datetime(2027, 3, 23, 18), place="barn"),
    )
    trip = read_lot(tmp_path, cut="2027-03-21", moved="out 2027-03-22; barn 2027-03-22; porch 2027-03-22")
    assert [move.since.hour for move in trip.moves] == [8, 18, 18]


def test_wet_lots_go_in_when_the_column_is_filled(tmp_path: Path) -> None:
    """A wet lot has not gone in; filled, the column makes it dried."""
    wet = read_lot(tmp_path, surface="wet")
    assert (wet.surface, wet.in_cooler) == (Surface.WET, None)
    dried = read_lot(tmp_path, surface="wet", in_cooler="2027-03-22T16:00")
    assert (dried.surface, dried.in_cooler) == (Surface.DRIED, datetime(2027, 3, 22, 16))


def test_workday_and_uses_of_the_settings_count(tmp_path: Path) -> None:
    """Hours follow the workday of the farm, not a fixed one."""
    lot = read_lot(
        tmp_path,
        settings='workday = ["06:15", "14:45"]\n' + SETTINGS,
        cut="2027-03-22",
        in_water="2027-03-22",
        use="shop",
        needed="2027-03-30",
    )
    assert (lot.cut, lot.in_water) == (datetime(2027, 3, 22, 6, 15), datetime(2027, 3, 22, 14, 45))
    assert [order.leaves for order in lot.orders] == [datetime(2027, 3, 30, 6, 15)]
