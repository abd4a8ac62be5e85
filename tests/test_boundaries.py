"""Edges that a slip of one would move: the hour, the day, the moment itself, the row below."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, datetime, time, timedelta
from pathlib import Path

import pytest

from tagmaker.errors import InputProblems
from tagmaker.farm import Cooler, Use
from tagmaker.intake.cells.dates import DateColumn
from tagmaker.intake.cells.unfit import UnfitCellError
from tagmaker.lot import Move, State, StorageCode
from tagmaker.storage.cooling import Stay, follow
from tagmaker.storage.crops import CropTable, crop_table
from tagmaker.storage.history import constant, hours
from tagmaker.storage.room import fits_until, room
from tagmaker.telling.agenda import Kind, agenda
from tests import farms, told_lots
from tests.cooler_stories import barn_set_to, logged, story
from tests.farms import CROPS, CUT, NOW, USES, dated, make_farm, make_lot
from tests.paper_samples import in_water, sample_dates
from tests.sheet_checks import texts
from tests.test_crates import sheets_of
from tests.test_room import FRIDGE
from tests.thermometer_logs import fahrenheit, read_text

DAY = timedelta(days=1)


# ---- hours in water


def test_dry_stems_stand_in_water_for_six_hours_however_few_the_crop_asks_for() -> None:
    """A crop said to need three hours goes into water six hours before it leaves, not five."""
    quick = CropTable(replace(keeping, water_hours=3.0) for keeping in CROPS.keepings)
    farm = make_farm(uses={**USES, "shop": Use(name="shop", vase_days=4, leaves=time(15))})
    found = dated(farm, crops=quick, storage=StorageCode.DRY)
    assert found.sell_by is not None
    assert found.into_water_by == found.sell_by - timedelta(hours=6)


@pytest.mark.parametrize(("hours", "sound"), [(5.9, False), (6, True)])
def test_settings_cannot_ask_for_less_than_six_hours_in_water(hours: float, sound: bool) -> None:
    """A figure of six hours is taken, one just below it is a problem."""
    figures = {"tulip single": {"dry": {"water_hours": hours}}}
    if sound:
        keeping = crop_table(figures).keeping("tulip", "single", StorageCode.DRY)
        assert keeping is not None
        assert keeping.water_hours == hours
    else:
        with pytest.raises(InputProblems, match="water_hours"):
            crop_table(figures)


def test_the_least_hours_in_water_of_the_settings_are_those_that_are_counted() -> None:
    """What dry stems stand in water for at least is the least figure that the settings take."""
    quick = CropTable(replace(keeping, water_hours=0.0) for keeping in CROPS.keepings)
    farm = make_farm(uses={**USES, "shop": Use(name="shop", vase_days=4, leaves=time(15))})
    found = dated(farm, crops=quick, storage=StorageCode.DRY)
    assert found.sell_by is not None
    assert found.into_water_by is not None
    least = (found.sell_by - found.into_water_by) / timedelta(hours=1)
    with pytest.raises(InputProblems, match=f"water_hours must be a number from {least:g} to"):
        crop_table({"tulip single": {"dry": {"water_hours": 0}}})


def test_a_card_names_no_hours_in_water_for_stems_that_stand_in_it() -> None:
    """What was kept dry needs its eight hours said while it is dry, and no longer."""
    standing = in_water(kept=StorageCode.DRY, ready_from=datetime(2027, 2, 20, 17))
    assert [text for text in texts(sheets_of(sample_dates())) if "8 h in water" in text] != []
    assert [text for text in texts(sheets_of(standing)) if "h in water" in text] == []


# ---- cooling and cooler


def test_stems_go_on_cooling_in_their_last_place_until_they_are_as_warm() -> None:
    """A crate that takes a day to lose half of its warmth has a 64th of it on the sixth day, and goes on."""
    start = CUT + timedelta(hours=2)
    history = follow([Stay(CUT, constant(25.0)), Stay(start, constant(2.0))], 24.0)
    assert history.temperature(hours(start + 6 * DAY)) == pytest.approx(2 + 23 / 64, abs=0.05)
    assert history.temperature(hours(start + 20 * DAY)) == 2.0


def test_one_day_of_readings_is_enough_for_the_dial() -> None:
    """Exactly a day shows a fridge's swing."""
    assert story(logged(4.0, days=1)).dial is not None


def test_a_dial_is_turned_by_a_whole_step_and_never_by_less() -> None:
    """Half a degree colder is advised on a dial of half degrees; four tenths are not."""
    changes = []
    for colder_c in (0.5, 0.4):
        # Nothing is gained below 0 °C, so that is how far a dial is turned where the crop bears it.
        found = story(logged(4.0), [make_lot(bulb=True)], farm=barn_set_to(colder_c, "C"))
        assert found.dial is not None
        changes.append(found.dial.change_c)
    assert changes == [pytest.approx(-0.5), 0]


# ---- days of a lot


def test_sell_first_begins_when_the_next_selling_moment_is_the_last() -> None:
    """The shop sells daily at eight: after the last but one of these, not before it."""
    found = dated()
    assert found.sell_by is not None
    assert dated(now=found.sell_by - DAY - timedelta(hours=1)).state is State.KEEP
    assert dated(now=found.sell_by - DAY + timedelta(hours=1)).state is State.SELL_FIRST


def test_a_task_is_due_at_its_moment_and_overdue_after_it() -> None:
    """On the minute stems can still go into water; a minute later they should have."""
    dates, by = told_lots.dates(), told_lots.at(26, 18)

    def overdue(now: datetime) -> bool:
        return next(task.now for task in agenda([dates], told_lots.FARM, now) if task.kind is Kind.INTO_WATER)

    assert not overdue(by)
    assert overdue(by + timedelta(minutes=1))


def test_stems_on_their_way_into_a_cooler_that_freezes_them_have_no_date() -> None:
    """Labels are printed before the two hours to the cooler are over."""
    deep = make_farm(coolers={"barn": Cooler(name="barn", set_point_c=-5.0)})
    assert [dated(deep, now).sell_by for now in (CUT, NOW)] == [None, None]


# ---- room


def test_room_of_today_leaves_out_the_hours_that_are_over() -> None:
    """Crates that came in at eight and were carried on at nine take no room at ten."""
    farm = make_farm(
        coolers={**FRIDGE.coolers, "south": replace(farms.COOLERS["barn"], name="south", crates=9)}
    )
    morning = datetime(2027, 3, 23)
    moves = (Move(since=morning.replace(hour=9), place="south"),)

    def crates(hour: float) -> dict[str, int]:
        now = morning + timedelta(hours=hour)
        carried = dated(farm, now, in_cooler=morning.replace(hour=8), moves=moves)
        return {day.cooler: day.crates for day in room([carried], farm, CROPS, now, 1)}

    assert crates(8.5) == {"barn": 3, "south": 3}
    assert crates(10) == {"barn": 0, "south": 3}


def test_a_cooler_that_is_over_full_today_has_no_day_until_which_a_lot_fits() -> None:
    """A lot cut today into a full cooler is not told that it fitted yesterday."""
    crowd = dated(FRIDGE, now=CUT, stems=600)
    days = room([crowd], FRIDGE, CROPS, CUT, 7)
    assert days[0].overflow
    assert fits_until(crowd, days, CUT) is None


# ---- the sheet and the log


@pytest.mark.parametrize(("days", "taken"), [(732, True), (733, False)])
@pytest.mark.parametrize("sign", [-1, 1])
def test_a_bare_number_is_a_date_within_two_years_of_now(days: int, taken: bool, sign: int) -> None:
    """The serial number of a day further off is a problem: it may as well be a count."""
    day = NOW.date() + sign * timedelta(days=days)
    serial = str((day - date(1899, 12, 30)).days)
    column = DateColumn("cut", None, NOW)
    if taken:
        assert column.read(serial).day == day
    else:
        with pytest.raises(UnfitCellError, match=serial):
            column.read(serial)


def test_of_two_headers_in_a_log_the_one_above_the_readings_counts(tmp_path: Path) -> None:
    """An export that lists its ranges under the same words is read by the row that is nearer."""
    found = read_text(
        tmp_path,
        "Start time,Humidity range (%),Temperature range (°F)",
        "Time,Temperature (°F),Humidity (%)",
        "2027-04-20 06:00,38,91",
        "2027-04-20 06:15,39,92",
    )
    assert (fahrenheit(found), found.rh) == ([38, 39], (91, 92))
