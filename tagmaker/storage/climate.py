"""What a cooler did: swing, warm and freezing hours, humidity, and what to change on its dial.

References:
    ASHRAE Handbook - Fundamentals, chapter 1 (2017), saturation pressure over water and ice.
    USP <1160> and <1079>, ICH Q1A: mean kinetic temperature, a drug convention, for small print.
    Grey mould needs a relative humidity of 93 % and more, or hours of free water (floral endowment
    bulletin); flowers generally freeze near -1.7 °C (state growers' bulletin).
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta

from tagmaker.storage.history import Spell
from tagmaker.storage.moments import DAY

HOUR = timedelta(hours=1)
HIGH_C = (45 - 32) / 1.8  # [°C] 45 °F: warmer than this is an excursion (chosen)
MOULD_RH = 93.0  # [%] from which grey mould grows
KINETIC_K = 10_000.0  # [K] activation energy over the gas constant: 83.144 kJ/mol / 8.3144e-3
ZERO_K = 273.15  # [K] at 0 °C
DIAL_MARGIN_C = 0.5  # [°C] kept above a freezing limit: what a cheap probe may be off (chosen)


@dataclass(frozen=True, slots=True)
class ClimateDay:
    """A cooler's calendar day."""

    day: date
    low_c: float  # [°C]
    mean_c: float  # [°C]
    high_c: float  # [°C]

    @property
    def swing_c(self) -> float:
        """Difference of the day's highest and lowest reading [°C]."""
        return self.high_c - self.low_c


@dataclass(frozen=True, slots=True)
class Excursion:
    """A stretch warmer than a limit."""

    start: datetime
    end: datetime
    high_c: float  # [°C] the warmest of it


def days_of(spells: Sequence[Spell]) -> tuple[ClimateDay, ...]:
    """Each calendar day's lowest, mean and highest temperature, from measured spells in order."""
    parts: dict[date, list[Spell]] = {}
    for spell in spells:
        for part in by_day(spell):
            parts.setdefault(part.start.date(), []).append(part)
    return tuple(
        ClimateDay(day, min(s.t_c for s in inside), mean_c(inside), max(s.t_c for s in inside))
        for day, inside in parts.items()
    )


def by_day(spell: Spell) -> Iterator[Spell]:
    """A spell, parted at each midnight in it."""
    start = spell.start
    if start.date() == spell.end.date():  # nearly all are: a year of minutes has half a million
        yield spell
        return
    while start < spell.end:
        midnight = datetime.combine(start.date() + DAY, time())
        end = min(midnight, spell.end)
        yield Spell(start, end, spell.t_c)
        start = end


def mean_c(spells: Iterable[Spell]) -> float:
    """The plain mean temperature of some spells, weighed by their length [°C]; 0 of none."""
    total = length = 0.0
    for spell in spells:
        seconds = (spell.end - spell.start).total_seconds()
        total += seconds * spell.t_c
        length += seconds
    return total / length if length else 0.0


def hours_above(spells: Iterable[Spell], limit_c: float) -> float:
    """Hours warmer than a limit [h]."""
    return sum((spell.end - spell.start) / HOUR for spell in spells if spell.t_c > limit_c)


def hours_at_or_below(spells: Iterable[Spell], limit_c: float) -> float:
    """Hours at a limit or colder [h]."""
    return sum((spell.end - spell.start) / HOUR for spell in spells if spell.t_c <= limit_c)


def excursions(spells: Iterable[Spell], limit_c: float = HIGH_C) -> tuple[Excursion, ...]:
    """Every unbroken stretch warmer than a limit, in order of time."""
    found: list[Excursion] = []
    for spell in spells:
        if spell.t_c <= limit_c:
            continue
        if found and found[-1].end == spell.start:
            found[-1] = Excursion(found[-1].start, spell.end, max(found[-1].high_c, spell.t_c))
        else:
            found.append(Excursion(spell.start, spell.end, spell.t_c))
    return tuple(found)


def longest(found: Sequence[Excursion]) -> Excursion | None:
    """The longest excursion; None of none."""
    return max(found, key=lambda excursion: excursion.end - excursion.start, default=None)


def rolling_kinetic_c(spells: Sequence[Spell], window: timedelta = DAY) -> float:
    """The highest mean kinetic temperature of any window that ends with a spell [°C].

    T_K = (ΔH/R) / −ln(mean of exp(−(ΔH/R) / T)); of a constant temperature, that temperature. A mean over
    weeks hides an excursion; a day's does not. Windows shorter than asked, at the beginning, count as they
    are.

    References:
        USP <1160>, ICH Q1A, with ΔH = 83.144 kJ/mol, so that ΔH/R = 10 000 K.
    """
    parts = [_kinetic_part(spell) for spell in spells]
    worst, first = -ZERO_K, 0
    total = length = 0.0
    for spell, (part, seconds) in zip(spells, parts, strict=True):
        total, length = total + part, length + seconds
        while spells[first].start < spell.end - window and spells[first] is not spell:
            total, length = total - parts[first][0], length - parts[first][1]
            first += 1
        worst = max(worst, _kinetic_c(total, length))
    return worst


def _kinetic_part(spell: Spell) -> tuple[float, float]:
    """What a spell adds to the sum of exp(−(ΔH/R) / T) · Δt, and its length [s]."""
    seconds = (spell.end - spell.start).total_seconds()
    return seconds * math.exp(-KINETIC_K / (spell.t_c + ZERO_K)), seconds


def _kinetic_c(total: float, seconds: float) -> float:
    return KINETIC_K / -math.log(total / seconds) - ZERO_K


# ASHRAE Handbook - Fundamentals (2017), chapter 1, equations 5 (ice) and 6 (water); T in kelvin,
# pressure in pascal. The coefficients are written from memory and held by psychrolib in the tests.
_ICE = (-5.6745359e3, 6.3925247, -9.677843e-3, 6.2215701e-7, 2.0747825e-9, -9.484024e-13, 4.1635019)
_WATER = (-5.8002206e3, 1.3914993, -4.8640239e-2, 4.1764768e-5, -1.4452093e-8, 0.0, 6.5459673)
TRIPLE_C = 0.01  # [°C] ice below, water above


def saturation_pa(t_c: float) -> float:
    """Pressure of saturated water vapour, over ice below 0.01 °C [Pa].

    >>> round(saturation_pa(0.01), 1)
    611.7
    """
    c0, c1, c2, c3, c4, c5, c_log = _ICE if t_c < TRIPLE_C else _WATER
    t = t_c + ZERO_K
    return math.exp(c0 / t + c1 + t * (c2 + t * (c3 + t * (c4 + t * c5))) + c_log * math.log(t))


def vapour_deficit_pa(t_c: float, rh: float) -> float:
    """How much more vapour the air could hold [Pa], at a relative humidity [%]."""
    return saturation_pa(t_c) * (1 - rh / 100)


def dew_point_c(t_c: float, rh: float) -> float:
    """The temperature at which the air of a cooler would be saturated [°C].

    Args:
        t_c: air temperature [°C], -20 to 60.
        rh: relative humidity [%], above 0.

    Raises:
        ValueError: the humidity is not above 0 and up to 100.

    >>> dew_point_c(5, 100)
    5.0
    """
    if not 0 < rh <= 100:
        raise ValueError(f"relative humidity must be above 0 and up to 100 % (got {rh})")
    if rh == 100:
        return float(t_c)
    wanted = saturation_pa(t_c) * rh / 100
    low, high = -120.0, t_c
    for _ in range(60):  # halves 180 degrees below any thermometer's last digit
        middle = (low + high) / 2
        low, high = (middle, high) if saturation_pa(middle) < wanted else (low, middle)
    return (low + high) / 2


def mould_hours(moments: Sequence[datetime], rh: Sequence[float | None], longest_step: timedelta) -> float:
    """Hours at a humidity in which grey mould grows [h]; steps longer than given are gaps."""
    total = timedelta()
    for here, there, humidity in zip(moments, moments[1:], rh, strict=False):
        if humidity is not None and humidity >= MOULD_RH and there - here <= longest_step:
            total += there - here
    return total / HOUR
