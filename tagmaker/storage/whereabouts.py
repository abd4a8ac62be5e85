"""Where the stems of a lot were, and are: its field, its coolers and its trips outside."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta
from itertools import zip_longest
from math import inf

from tagmaker.farm import Cooler, Farm
from tagmaker.lot import Lot, Move, StorageCode, Surface
from tagmaker.storage.air import Airs
from tagmaker.storage.cooling import Stay, follow
from tagmaker.storage.history import History, Track, constant

OUT = "out"  # the place outside any cooler
TO_THE_COOLER = timedelta(hours=2)  # between the cut and the cooler (common practice, no source)


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


def waits_to_dry(lot: Lot) -> bool:
    """Whether a lot, whatever its way, still has drops on it: it has not gone in, and nothing is promised."""
    return lot.surface is Surface.WET and lot.in_cooler is None


@dataclass(frozen=True, slots=True)
class Ground:
    """What the places of a lot are counted at: the farm's hours and coolers, as they are or varied."""

    farm: Farm
    airs: Airs
    least_c: float = -inf  # [°C] places count at no less: a crop's chilling limit
    shift_c: float = 0.0  # [°C] by which air that was not read is varied
    half_cooling: float = 1.0  # factor on the half-cooling time


def lot_history(lot: Lot, ground: Ground, kept: StorageCode) -> History:
    """The temperatures of a lot's stems from the cut on.

    Field until it went in, then each cooler or trip in turn with half-cooling after every move.
    Stems that stand in water are at room temperature wherever a cooler has no room for buckets.
    """
    return follow(list(_stays(lot, ground, kept)), ground.farm.half_cooling_h * ground.half_cooling)


def _stays(lot: Lot, ground: Ground, kept: StorageCode) -> Iterator[Stay]:
    """The places of a lot in order of time."""
    yield Stay(lot.cut, _at(lot.field_c, ground))
    if lot.in_cooler is None:
        return
    soaked = lot.in_cooler if kept is StorageCode.WATER else lot.in_water
    moves = [Move(since=lot.in_cooler, place=lot.cooler), *lot.moves]
    for move, following in zip_longest(moves, moves[1:]):
        if move.place == OUT:
            yield Stay(move.since, _at(outside_c(lot, move, ground.farm), ground))
            continue
        outside = soaked is not None and not ground.farm.coolers[move.place].soak_inside
        if not outside or soaked is None or soaked > move.since:
            yield Stay(move.since, ground.airs[move.place].track(ground.least_c, ground.shift_c))
        if outside and soaked is not None and (following is None or soaked < following.since):
            yield Stay(max(soaked, move.since), _at(ground.farm.room_c, ground))


def _at(t_c: float, ground: Ground) -> Track:
    return constant(max(t_c, ground.least_c))


def coolers_of(lot: Lot, farm: Farm, now: datetime) -> Iterator[tuple[Cooler, datetime, datetime]]:
    """The coolers that a lot has stood in until now: cooler, since when and until when."""
    if lot.in_cooler is None:
        return
    moves = [Move(since=lot.in_cooler, place=lot.cooler), *lot.moves]
    for move, following in zip_longest(moves, moves[1:]):
        end = now if following is None else min(following.since, now)
        if move.place != OUT and move.since <= end:
            yield farm.coolers[move.place], move.since, end


def last_trip(lot: Lot) -> tuple[datetime, datetime | None] | None:
    """The last stay outside: since when and until when; None: it goes on, or there was none."""
    trips = [
        (move.since, None if following is None else following.since)
        for move, following in zip_longest(lot.moves, lot.moves[1:])
        if move.place == OUT
    ]
    return trips[-1] if trips else None


def outside_c(lot: Lot, move: Move, farm: Farm) -> float:
    """The temperature of a trip outside [°C]: its own, or the field's, which may change by the month."""
    if move.temperature_c is not None:
        return move.temperature_c
    usual_c = farm.field_c[lot.cut.month - 1]
    return farm.field_c[move.since.month - 1] if lot.field_c == usual_c else lot.field_c
