"""Where the stems of a lot were, and are: its field, its coolers and its trips outside."""

from __future__ import annotations

from datetime import datetime, timedelta
from itertools import zip_longest

from tagmaker.farm import Cooler, Farm
from tagmaker.lot import Lot, Move, StorageCode, Surface
from tagmaker.storage.ageing import Stay, TemperatureHistory, constant, follow
from tagmaker.storage.air import Airs
from tagmaker.storage.moments import quarter_after

OUT = "out"  # the place outside any cooler
WARM_C = (60 - 32) / 1.8  # [°C] 60 °F: warmer than this outside opens the buds (chosen)
WARM_HOURS = 4.0  # [h] of it that a lot may take before it counts as late (chosen)


def place_at(lot: Lot, moment: datetime) -> str:
    """Where a lot stands at a moment: a cooler's name, or "out"."""
    here = lot.cooler
    for move in lot.moves:
        if move.since <= moment:
            here = move.place
    return here


def cooler_at(lot: Lot, farm: Farm, moment: datetime) -> Cooler:
    """The cooler a lot stands in at a moment, or the last one it stood in before it went out."""
    here = lot.cooler
    for move in lot.moves:
        if move.since <= moment and move.place != OUT:
            here = move.place
    return farm.coolers[here]


def waits_to_dry(lot: Lot, kept: StorageCode) -> bool:
    """Whether a lot to be kept dry still has drops on it: it has not gone in, and nothing is promised."""
    return lot.surface is Surface.WET and lot.in_cooler is None and kept is not StorageCode.WATER


def lot_history(lot: Lot, farm: Farm, airs: Airs, kept: StorageCode, until: datetime) -> TemperatureHistory:
    """The temperatures of a lot's stems from the cut on.

    Field until it went in, then each cooler or trip in turn with half-cooling after every move.
    Stems that stand in water where no buckets stand in the cooler are at room temperature from then.
    """
    stays = [Stay(lot.cut, constant(lot.field_c))]
    if lot.in_cooler is not None:
        stays.append(Stay(lot.in_cooler, airs[lot.cooler].ambient))
    for move in lot.moves:
        if move.place == OUT:
            stays.append(Stay(move.since, constant(outside_c(move, farm))))
        else:
            stays.append(Stay(move.since, airs[move.place].ambient))
    soaked = lot.in_water if kept is not StorageCode.WATER else lot.in_cooler
    if soaked is not None and not cooler_at(lot, farm, soaked).soak_inside:
        stays = [stay for stay in stays if stay.since < soaked or stay is stays[0]]
        stays.append(Stay(soaked, constant(farm.room_c)))
    return follow(stays, farm.half_cooling_h, until)


def warmed_since(lot: Lot, farm: Farm) -> datetime | None:
    """When a lot came back from a trip that opened its buds; None if none did.

    A trip counts when it was more than four hours in air above 60 °F, however slowly the stems in
    the crates warmed. A lot still outside counts from the quarter hour in which the four hours
    were full.
    """
    for move, following in zip_longest(lot.moves, lot.moves[1:]):
        if move.place != OUT or outside_c(move, farm) <= WARM_C:
            continue
        full = move.since + timedelta(hours=WARM_HOURS)
        if following is None:
            return quarter_after(full)
        if following.since > full:
            return following.since
    return None


def outside_c(move: Move, farm: Farm) -> float:
    """The temperature of a trip outside [°C]: its own, or the field's in that month."""
    return farm.field_c[move.since.month - 1] if move.temperature_c is None else move.temperature_c
