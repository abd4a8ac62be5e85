"""What a cooler did, held against published rows and an independent library."""

from __future__ import annotations

from datetime import date, datetime, timedelta

import psychrolib  # type: ignore[import-untyped]  # it ships no types
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tagmaker.storage.climate import (
    Excursion,
    days_of,
    dew_point_c,
    excursions,
    hours_above,
    hours_at_or_below,
    longest,
    mean_c,
    mould_hours,
    rolling_kinetic_c,
    saturation_pa,
    vapour_deficit_pa,
)
from tagmaker.storage.history import Spell

START = datetime(2027, 4, 20)
HOUR = timedelta(hours=1)
psychrolib.SetUnitSystem(psychrolib.SI)


def hourly(*t_c: float, hours: float = 1) -> tuple[Spell, ...]:
    """Spells of even length."""
    step = hours * HOUR
    return tuple(Spell(START + at * step, START + (at + 1) * step, t) for at, t in enumerate(t_c))


def stretches(*parts: tuple[float, float]) -> tuple[Spell, ...]:
    """Spells of some hours at some temperature each."""
    spells: list[Spell] = []
    start = START
    for hours, t_c in parts:
        spells.append(Spell(start, start + hours * HOUR, t_c))
        start += hours * HOUR
    return tuple(spells)


# Mean kinetic temperature: USP <1160>/<1079>, ICH Q1A, with ΔH/R = 10 000 K; arithmetic. The rows
# are rounded to four decimals, so half of the last one is the tolerance there could be; 5e-4 is kept.
@pytest.mark.parametrize(
    ("spells", "kinetic"),
    [
        (stretches((1, 0), (1, 10)), 6.4327),
        (stretches((1, 2), (1, 8)), 5.5364),
        (stretches((1, 20), (1, 30)), 26.2599),
        (stretches((18, 5), (6, 14)), 8.2852),
        (stretches((23, 1), (1, 20)), 3.5604),
    ],
)
def test_mean_kinetic_temperature_rows(spells: tuple[Spell, ...], kinetic: float) -> None:
    """Each row of the arithmetic comes out."""
    # All rows end warmer than they begin, so the highest window is the one that holds all of it.
    assert rolling_kinetic_c(spells, timedelta(days=30)) == pytest.approx(kinetic, abs=5e-4)


@given(st.floats(-5, 40), st.integers(1, 50))
def test_mean_kinetic_temperature_of_a_constant_is_itself(t_c: float, count: int) -> None:
    """However long."""
    assert rolling_kinetic_c(hourly(*[t_c] * count)) == pytest.approx(t_c, abs=1e-6)


def test_rolling_kinetic_temperature_shows_what_a_long_mean_hides() -> None:
    """Six hours at 14 °C in three weeks at 5 °C: the worst day stands out, the whole hides it."""
    spells = stretches((400, 5), *[(1, 14)] * 6, (100, 5))
    assert rolling_kinetic_c(spells, timedelta(days=30)) < 5.3
    assert rolling_kinetic_c(hourly(*[5.0] * 400, *[14.0] * 6, *[5.0] * 100)) == pytest.approx(
        8.2852, abs=5e-4
    )


# ASHRAE Handbook - Fundamentals (2017), chapter 1, table 3, as in psychrolib's own tests. The table was
# computed from another formulation than the chapter's equations; both agree within 0.03 %, which is
# the tolerance that those tests have too.
@pytest.mark.parametrize(("t_c", "pressure"), [(5, 872.6), (25, 3169.7), (-5, 401.74)])
def test_saturation_pressure_rows(t_c: float, pressure: float) -> None:
    """Over water, and over ice below the triple point."""
    assert saturation_pa(t_c) == pytest.approx(pressure, rel=3e-4)


def test_relative_humidity_from_the_dew_point_row() -> None:
    """25 °C with a dew point of 15 °C is 53.80 % (a row of MetPy's tests)."""
    assert saturation_pa(15) / saturation_pa(25) * 100 == pytest.approx(53.80, abs=0.02)


@pytest.mark.parametrize("t_c", [1, 2, 3.3, 5, 7.2, 10, 15, 20, 25])
@pytest.mark.parametrize("rh", [60, 75, 85, 93, 99])
def test_dew_point_agrees_with_psychrolib_above_freezing(t_c: float, rh: float) -> None:
    """The library is the oracle wherever the dew point lies above 0 °C: water and ice differ below."""
    expected = psychrolib.GetTDewPointFromRelHum(t_c, rh / 100)
    if expected > 0:
        assert dew_point_c(t_c, rh) == pytest.approx(expected, abs=2e-3)
    else:
        assert dew_point_c(t_c, rh) < 0.02


@pytest.mark.parametrize("t_c", [-2, 0.5, 2, 5, 7.2, 10, 15, 25])
@pytest.mark.parametrize("rh", [40, 75, 93, 100])
def test_vapour_pressure_deficit_agrees_with_psychrolib(t_c: float, rh: float) -> None:
    """Over the whole range of a cooler."""
    expected = psychrolib.GetSatVapPres(t_c) - psychrolib.GetVapPresFromRelHum(t_c, rh / 100)
    assert vapour_deficit_pa(t_c, rh) == pytest.approx(expected, abs=0.01)


def test_dew_point_needs_a_humidity() -> None:
    """0 % and 101 % are refused, not extrapolated."""
    for rh in (0, -1, 101):
        with pytest.raises(ValueError, match="relative humidity must be above 0"):
            dew_point_c(5, rh)


def test_days_have_their_low_mean_high_and_swing() -> None:
    """A spell over midnight belongs to both days."""
    spells = stretches((12, 2), (18, 6), (18, 4))
    first, second = days_of(spells)
    assert (first.day, first.low_c, first.mean_c, first.high_c, first.swing_c) == (
        date(2027, 4, 20),
        2,
        4,
        6,
        4,
    )
    assert (second.low_c, second.high_c, second.mean_c) == (4, 6, 4.5)
    assert mean_c(spells) == pytest.approx(4.25)


def test_hours_outside_the_limits() -> None:
    """Warmer than a limit, and at a freezing limit or colder."""
    spells = stretches((3, -1), (5, 4), (2, 9))
    assert (hours_above(spells, 7.2), hours_at_or_below(spells, -1)) == (2, 3)


def test_the_longest_excursion_is_one_stretch() -> None:
    """Two warm hours, a pause, three warm hours."""
    spells = hourly(4, 8, 9, 4, 8, 11, 8, 4)
    found = excursions(spells)
    assert len(found) == 2
    assert longest(found) == Excursion(START + 4 * HOUR, START + 7 * HOUR, 11)
    assert longest(()) is None


def test_mould_hours_count_from_93_percent() -> None:
    """Grey mould needs 93 % and more (floral endowment bulletin); a gap is not counted."""
    moments = [START, START + HOUR, START + 2 * HOUR, START + 12 * HOUR]
    assert mould_hours(moments, [93.0, 92.9, 99.0, 99.0], 2 * HOUR) == 1
    assert mould_hours(moments, [None, None, None, None], 2 * HOUR) == 0
