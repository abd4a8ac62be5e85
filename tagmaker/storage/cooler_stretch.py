"""What a cooler did over some days, in figures."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from itertools import pairwise
from statistics import median

from tagmaker.storage.air import BRIDGED, equivalent_c
from tagmaker.storage.climate import (
    DIAL_MARGIN_C,
    HIGH_C,
    HOUR,
    ClimateDay,
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
from tagmaker.storage.dial import Tender
from tagmaker.storage.history import Spell
from tagmaker.storage.readings import Readings

# [°C] between the bands that hours are counted in: freezing, the holding standard's side of 41 °F,
# the limit of an excursion, and what a power cut counts at (chosen)
BAND_EDGES_C = (0.0, 2.0, 5.0, HIGH_C, 10.0)


@dataclass(frozen=True, slots=True)
class Humidity:
    """The moisture of a cooler's air over a stretch of time."""

    mean_rh: float  # [%]
    dew_point_c: float  # [°C] of the mean vapour pressure
    deficit_pa: float  # [Pa] mean vapour-pressure deficit
    mould_h: float  # [h] at 93 % and more


@dataclass(frozen=True, slots=True, kw_only=True)
class Stretch:
    """What a cooler did over some days, by its plain readings."""

    start: datetime
    end: datetime
    read_h: float  # [h] with readings
    low_c: float  # [°C] coldest reading
    mean_c: float  # [°C] plain mean
    high_c: float  # [°C] warmest reading
    swing_c: float  # [°C] of an ordinary day: the middle one of the daily swings
    warm_h: float  # [h] above `climate.HIGH_C`
    frost_h: float | None  # [h] within half a degree of the freezing point, or colder; None: nothing inside
    chill_h: float | None  # [h] below the chilling limit; None: nothing inside has one
    longest: Excursion | None  # above `climate.HIGH_C`, by the logger
    kinetic_c: float  # [°C] highest mean kinetic temperature of any 24 hours
    equivalent_c: float  # [°C] constant temperature that ages stems as much
    band_h: tuple[float, ...]  # [h] per band, coldest first: one more than `BAND_EDGES_C`
    humidity: Humidity | None  # None: not read


def stretch_of(
    spells: Sequence[Spell],
    looks: Sequence[Spell],
    readings: Readings | None,
    frost: Tender | None,
    chill: Tender | None,
) -> Stretch:
    """The figures of a stretch of time.

    Args:
        spells: what was read in it (`plain_spells`), at least one.
        looks: those read by hand; LOW and HIGH take turns in them, so they have no warm stretches.
        readings: of the logger, if there is one, for its humidity.
        frost: the crop inside that freezes first.
        chill: the crop inside with the warmest chilling limit.
    """
    by_hand = set(looks)
    logged = [spell for spell in spells if spell not in by_hand] if by_hand else spells
    return Stretch(
        start=spells[0].start,
        end=spells[-1].end,
        read_h=sum((spell.end - spell.start) / HOUR for spell in spells),
        low_c=min(spell.t_c for spell in spells),
        mean_c=mean_c(spells),
        high_c=max(spell.t_c for spell in spells),
        swing_c=_ordinary_swing(days_of(spells)),
        warm_h=hours_above(spells, HIGH_C),
        frost_h=hours_at_or_below(spells, round(frost.limit_c + DIAL_MARGIN_C, 6)) if frost else None,
        chill_h=_hours_below(spells, chill.limit_c) if chill else None,
        longest=longest(excursions(logged)),
        kinetic_c=rolling_kinetic_c(spells),
        equivalent_c=equivalent_c(spells),
        band_h=_hours_by_band(spells),
        humidity=_humidity(readings, spells[0].start),
    )


def _ordinary_swing(days: Sequence[ClimateDay]) -> float:
    """The middle one of the daily swings [°C], without the two days that were read in part."""
    whole = days[1:-1] or days
    return median(day.swing_c for day in whole)


def _hours_below(spells: Sequence[Spell], limit_c: float) -> float:
    return sum((spell.end - spell.start) / HOUR for spell in spells if spell.t_c < limit_c)


def _hours_by_band(spells: Sequence[Spell]) -> tuple[float, ...]:
    """Hours in each band; a reading on an edge belongs to the colder band."""
    above = [hours_above(spells, edge) for edge in BAND_EDGES_C]
    total = sum((spell.end - spell.start) / HOUR for spell in spells)
    return tuple(warmer - warmest for warmer, warmest in pairwise((total, *above, 0.0)))


def _humidity(readings: Readings | None, start: datetime) -> Humidity | None:
    """The moisture of the air; readings of 0 % are a sensor's fault and left out."""
    if readings is None or not readings.rh:
        return None
    rows = [row for row in zip(readings.moments, readings.t_c, readings.rh, strict=True) if row[0] >= start]
    read = [(t_c, min(rh, 100.0)) for _, t_c, rh in rows if rh is not None and rh > 0]
    if not read:
        return None
    saturated = [saturation_pa(t_c) for t_c, _ in read]
    deficits = [vapour_deficit_pa(t_c, rh) for t_c, rh in read]
    warmest = max(t_c for t_c, _ in read)  # there the mean vapour is surely no more than saturated
    deficit_pa = sum(deficits) / len(deficits)
    mean_pa = sum(saturated) / len(saturated) - deficit_pa
    return Humidity(
        mean_rh=sum(rh for _, rh in read) / len(read),
        dew_point_c=dew_point_c(warmest, min(mean_pa / saturation_pa(warmest) * 100, 100.0)),
        deficit_pa=deficit_pa,
        mould_h=mould_hours([row[0] for row in rows], [row[2] for row in rows], BRIDGED),
    )
