"""The air of a cooler: readings, gaps, hand readings, and what is expected after them."""

from __future__ import annotations

import math
from dataclasses import replace
from datetime import datetime, timedelta
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tagmaker.farm import Cooler
from tagmaker.lot import StorageDates
from tagmaker.storage.ageing import rate
from tagmaker.storage.air import Air, assumed_air, read_air
from tagmaker.storage.dating import date_lot
from tagmaker.storage.history import hours
from tagmaker.storage.readings import HandReading, Readings
from tagmaker.storage.usual import temperature_at
from tests.farms import COOLERS, CROPS, CUT, NOW, celsius, make_farm, make_lot, trusted_at

BARN = COOLERS["barn"]
START = datetime(2027, 3, 10)
HOUR = timedelta(hours=1)


def readings(*t_c: float, start: datetime = START, step: timedelta = HOUR) -> Readings:
    """Readings at even steps."""
    moments = tuple(start + index * step for index in range(len(t_c)))
    return Readings(cooler="barn", moments=moments, t_c=t_c)


def holed(hours: float) -> Air:
    """A cooler at 4 and 5 °C with a hole of some hours between."""
    before, after = START + HOUR, START + HOUR + timedelta(hours=hours)
    moments = (START, before, after, after + HOUR)
    return read_air(
        replace(BARN, set_point_c=6.0), Readings(cooler="barn", moments=moments, t_c=(4, 4, 5, 5))
    )


def dated_by(air: Air, now: datetime = NOW, **lot: Any) -> StorageDates:
    """The dates of a lot in a cooler with this air."""
    return date_lot(make_lot(**lot), make_farm(), CROPS, now, {"barn": air})


@given(st.floats(0, 40))
def test_temperature_at_turns_the_rate_around(t_c: float) -> None:
    """The temperature of a rate is the temperature it came from."""
    assert temperature_at(rate(t_c)) == pytest.approx(t_c, abs=1e-9)


@pytest.mark.parametrize("t_c", [0.0, 2.0, 5.0, 7.5, 12.0])
def test_a_constant_log_equals_the_set_point(t_c: float) -> None:
    """Readings at one temperature age a lot as a trusted set point of it does, to 1e-9."""
    air = read_air(BARN, readings(*[t_c] * 1500))
    logged = dated_by(air, now=NOW + timedelta(days=10))
    trusted = date_lot(make_lot(), trusted_at(t_c * 1.8 + 32), CROPS, NOW + timedelta(days=10))
    assert logged.life_used == pytest.approx(trusted.life_used, abs=1e-9)
    assert logged.sell_by == trusted.sell_by


@given(st.lists(st.floats(-2, 15), min_size=2, max_size=300), st.integers(0, 299))
def test_a_log_split_in_two_equals_the_whole(t_c: list[float], at: int) -> None:
    """What is counted over a stretch is the sum over its parts."""
    air = read_air(BARN, readings(*t_c))
    start, end = START - HOUR, START + len(t_c) * HOUR
    middle = min(START + at * HOUR, end)

    def aged(first: datetime, last: datetime) -> float:
        return air.track().total(rate, hours(last)) - air.track().total(rate, hours(first))

    assert aged(start, middle) + aged(middle, end) == pytest.approx(aged(start, end), abs=1e-6)


def test_a_smooth_log_resampled_from_1_to_15_minutes_moves_a_date_by_less_than_two_hours() -> None:
    """A fridge that swings 6 °F a day ages a lot alike, read by the minute or by the quarter hour."""
    minutes = 14 * 24 * 60
    wave = [celsius(41 + 3 * math.sin(2 * math.pi * minute / 1440)) for minute in range(minutes)]
    fine = read_air(BARN, readings(*wave, step=timedelta(minutes=1)))
    coarse = read_air(BARN, readings(*wave[::15], step=timedelta(minutes=15)))
    one, other = (dated_by(air, now=datetime(2027, 3, 24)) for air in (fine, coarse))
    hours_of_life = abs(one.life_used - other.life_used) * 34 * 24 / rate(5.0)
    assert hours_of_life < 2
    assert one.sell_by == other.sell_by


def test_readings_up_to_two_hours_apart_are_bridged() -> None:
    """No gap, and the mean of both rates counts."""
    air = holed(2)
    assert air.gaps == ()
    middle = air.track().temperature(hours(START + 1.1 * HOUR))
    assert rate(middle) == pytest.approx((rate(4) + rate(5)) / 2)


def test_a_gap_of_up_to_six_hours_counts_as_the_warmer_of_neighbours_and_set_point() -> None:
    """4 and 5 °C around it, 6 °C on the dial: 6 °C."""
    (gap,) = holed(6).gaps
    assert (gap.counted_c, gap.power_cut) == (6.0, False)


def test_a_gap_of_more_than_six_hours_counts_as_a_power_cut() -> None:
    """10 °C, or the warmer neighbour if that is more."""
    (gap,) = holed(6.1).gaps
    assert (gap.counted_c, gap.power_cut) == (10.0, True)
    warm = Readings(
        cooler="barn", moments=(START, START + HOUR, START + 9 * HOUR, START + 10 * HOUR), t_c=(4, 4, 13, 13)
    )
    assert read_air(BARN, warm).gaps[0].counted_c == 13


def test_a_power_cut_is_said_where_a_date_depends_on_it() -> None:
    """A lot that stood through it is told, one that came later is not."""
    moments = (CUT, CUT + 3 * HOUR, CUT + 13 * HOUR, CUT + 14 * HOUR)
    joined = tuple(sorted({*moments, CUT + HOUR, CUT + 2 * HOUR}))
    air = read_air(BARN, Readings(cooler="barn", moments=joined, t_c=(4.0,) * len(joined)))
    later = CUT + 20 * HOUR
    assert "power_cut" in {note.macro() for note in dated_by(air).warnings}
    lot: dict[str, Any] = {"cut": later, "in_cooler": later + 2 * HOUR}
    assert "power_cut" not in {note.macro() for note in dated_by(air, now=later + 3 * HOUR, **lot).warnings}


def test_a_power_cut_counts_as_read_once_hand_readings_cover_it() -> None:
    """Looks at both ends of the gap take the place of 10 °C."""
    moments = (START, START + HOUR, START + 11 * HOUR, START + 12 * HOUR)
    log = Readings(cooler="barn", moments=moments, t_c=(4, 4, 4, 4))
    looks = [
        HandReading(cooler="barn", moment=START + hours * HOUR, low_c=3.0, high_c=6.0) for hours in (0, 12)
    ]
    air = read_air(BARN, log, looks)
    assert air.gaps == ()
    pieces = air.track().between(hours(START + 2 * HOUR), hours(START + 10 * HOUR))
    assert {piece.t_c for piece in pieces} == {3.0, 6.0}


def test_before_the_readings_the_warmest_counts() -> None:
    """Set point, 5 °C and what is usual: three days at 7 °C count before they began, two are not heard."""
    assert read_air(BARN, readings(*[7.0] * 73)).before_c == pytest.approx(7.0)
    assert read_air(BARN, readings(*[7.0] * 49)).before_c == 5.0
    assert read_air(BARN, readings(*[1.0] * 240)).before_c == 5.0


def test_the_future_after_seven_read_days_is_what_is_usual() -> None:
    """A week at 1 °C is believed, six days are not."""
    assert read_air(BARN, readings(*[1.0] * (7 * 24 + 1))).after_c == pytest.approx(1.0)
    assert read_air(BARN, readings(*[1.0] * (6 * 24 + 1))).after_c == 5.0


def test_the_future_after_three_read_days_is_the_warmest() -> None:
    """Three days at 8 °C are heard beside a dial of 36 °F, two are not."""
    assert read_air(BARN, readings(*[8.0] * 73)).after_c == pytest.approx(8.0)
    assert read_air(BARN, readings(*[8.0] * 49)).after_c == 5.0


def test_one_open_door_is_not_usual() -> None:
    """A day at 20 °C among nine at 2 °C moves neither the past nor the future."""
    air = read_air(BARN, readings(*[2.0] * 5 * 24, *[20.0] * 24, *[2.0] * (4 * 24 + 1)))
    assert air.after_c == pytest.approx(2.0)
    assert air.before_c == 5.0


def test_a_cooler_that_broke_is_usual_after_three_days() -> None:
    """Three days at 8 °C after a fortnight at 1 °C go on, two do not."""
    broke = [read_air(BARN, readings(*[1.0] * 14 * 24, *[8.0] * (days * 24 + 1))).after_c for days in (2, 3)]
    assert broke == [pytest.approx(1.0, abs=0.3), pytest.approx(8.0, abs=1e-6)]  # it warmed up in an hour


def test_a_day_is_read_by_eighteen_hours() -> None:
    """Days with a night missing do not count as read."""
    kept = [START + n * HOUR for n in range(10 * 24) if n % 24 < 17]
    air = read_air(BARN, Readings(cooler="barn", moments=tuple(kept), t_c=(1.0,) * len(kept)))
    assert (air.read_days, air.after_c) == (0, 5.0)


def hand(fahrenheit: float, days: int = 8) -> list[HandReading]:
    """Two looks a day for a week and more at a steady temperature, up to the evening before NOW."""
    steady = celsius(fahrenheit)
    return [
        HandReading(cooler="barn", moment=NOW + (look - 2 * days) * 12 * HOUR, low_c=steady, high_c=steady)
        for look in range(2 * days + 1)
    ]


@pytest.mark.parametrize("trusted", [False, True])
def test_a_week_of_hand_readings_moves_the_dates_whatever_trusted_says(trusted: bool) -> None:
    """Held at 34 °F peonies last longer than at the 41 °F that counts without readings, at 45 °F less."""
    barn = Cooler(name="barn", set_point_c=celsius(36), trusted=trusted)
    peony: dict[str, Any] = {"crop": "peony", "use": "event"}
    without = dated_by(assumed_air(BARN), **peony).sell_by
    cold = dated_by(read_air(barn, None, hand(34)), **peony).sell_by
    warm = dated_by(read_air(barn, None, hand(45)), **peony).sell_by
    assert cold is not None
    assert warm is not None
    assert without is not None
    assert cold > without > warm


def test_between_two_looks_half_the_time_counts_at_low_and_half_at_high() -> None:
    """From 34 to 46 °F the ageing is the mean of both rates."""
    low, high = celsius(34), celsius(46)
    looks = [HandReading(cooler="barn", moment=START + at * HOUR, low_c=low, high_c=high) for at in (0, 12)]
    air = read_air(BARN, None, looks)
    assert rate(air.counts_as(START, START + 12 * HOUR)) == pytest.approx((rate(low) + rate(high)) / 2)


def test_a_log_that_ended_or_disagrees_with_the_dial_is_said() -> None:
    """Over a day old, and 3 °C off the set point on average."""
    air = read_air(BARN, readings(*[celsius(36) + 3] * 24))
    kinds = {note.macro() for note in dated_by(air, now=datetime(2027, 3, 23)).warnings}
    assert {"log_ended", "log_off_set_point"} <= kinds
    near = read_air(BARN, readings(*[celsius(36) + 1] * 14 * 24))
    assert not {"log_ended", "log_off_set_point"} & {
        n.macro() for n in dated_by(near, now=CUT + 11 * HOUR).warnings
    }
