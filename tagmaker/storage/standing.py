"""Which stems stand in which cooler from when to when, in crates or in buckets."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, time
from typing import NamedTuple

from tagmaker.farm import Farm
from tagmaker.lot import State, StorageCode, StorageDates
from tagmaker.storage.crops import CropTable, Keeping
from tagmaker.storage.moments import DAY
from tagmaker.storage.whereabouts import OUT


class Pile(NamedTuple):
    """Containers that are filled together."""

    bucket: bool
    alone: str  # the crop, where it never shares its water
    per: int  # stems a container


@dataclass(frozen=True, slots=True)
class Stand:
    """Stems of a lot that stand in one cooler, in crates or in buckets, for a time."""

    code: str
    sell_by: datetime
    spare: bool  # cut, and promised to nobody: they may be sold, or are too old
    waste: bool  # too old: to be thrown out
    planned: bool
    cooler: str
    start: datetime
    end: datetime
    pile: Pile
    stems: int


@dataclass(frozen=True, slots=True)
class _Batch:
    """Stems of a lot that go into water and leave together."""

    stems: int
    into_water: datetime | None  # from when they stand in water; None: never
    leaves: datetime  # gone from then on
    promised: bool


def stands_by_cooler(
    dates: Sequence[StorageDates],
    planned: Sequence[StorageDates],
    farm: Farm,
    crops: CropTable,
    now: datetime,
) -> Mapping[str, list[Stand]]:
    """By cooler, the stems of lots that are cut and of planned ones, split by what takes them."""
    found: dict[str, list[Stand]] = {name: [] for name in farm.coolers}
    for lots, to_come in ((dates, False), (planned, True)):
        for lot in lots:
            keeping = crops.keeping(lot.lot.crop, lot.lot.form, lot.kept)
            if keeping is None or lot.lot.in_cooler is None:
                continue
            for batch in _batches(lot, now):
                for stand in _stays(lot, batch, keeping, farm, to_come):
                    found[stand.cooler].append(stand)
    return found


def _batches(dates: StorageDates, now: datetime) -> Iterator[_Batch]:
    """The stems left, split by the orders that take them; the rest leaves at the sell-by."""
    left = dates.lot.left or 0
    for order in dates.orders:
        if not order.ok or order.stems is None or left <= 0:
            continue
        stems = min(order.stems, left)
        left -= stems
        yield _Batch(stems, in_water_from(dates, order.into_water_by, now), order.leaves, promised=True)
    if left > 0:
        water = in_water_from(dates, dates.into_water_by, now)
        yield _Batch(left, water, rest_leaves(dates, now), promised=dates.tag_order is not None)


def rest_leaves(dates: StorageDates, now: datetime) -> datetime:
    """When stems leave that no order counts: sold by then, else while they keep, else with today."""
    leaves = dates.tag_order.leaves if dates.tag_order else dates.sell_by
    if leaves is None or leaves < now:
        tonight = datetime.combine(max(now, dates.lot.cut).date() + DAY, time())
        return max(dates.keeps_until or tonight, tonight)
    return leaves


def in_water_from(dates: StorageDates, planned: datetime | None, now: datetime) -> datetime | None:
    """From when dry stems stand in water: as it was, as the tag says, or now where that is overdue."""
    if dates.lot.in_water is not None:
        return dates.lot.in_water
    return max(planned, now) if planned is not None else None


def _stays(
    dates: StorageDates, batch: _Batch, keeping: Keeping, farm: Farm, planned: bool
) -> Iterator[Stand]:
    """A batch in each cooler that it stands in, dry and then in water."""
    lot = dates.lot
    kept_wet = dates.kept is StorageCode.WATER
    soaked = datetime.min if kept_wet else batch.into_water or datetime.max
    crate = Pile(False, "", keeping.per_crate or keeping.per_bucket)
    bucket = Pile(True, keeping.crop if keeping.own_bucket else "", keeping.per_bucket)
    arrival = lot.in_cooler or datetime.max
    places = [(arrival, lot.cooler), *((max(move.since, arrival), move.place) for move in lot.moves)]
    for (since, place), (until, _) in zip(places, [*places[1:], (batch.leaves, "")], strict=True):
        if place == OUT:
            continue
        until = min(until, batch.leaves)
        dry, wet = (since, min(until, soaked)), (max(since, soaked), until)
        for pile, (start, end) in ((crate, dry), (bucket, wet)):
            if start < end and (pile is crate or farm.coolers[place].soak_inside):
                yield Stand(
                    code=lot.lot_code,
                    sell_by=dates.sell_by or datetime.max,
                    spare=not batch.promised and not planned and dates.state is not State.NO_DATE,
                    waste=not batch.promised and dates.state is State.TOO_OLD,
                    planned=planned,
                    cooler=place,
                    start=start,
                    end=end,
                    pile=pile,
                    stems=batch.stems,
                )
