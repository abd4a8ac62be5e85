"""Room in the coolers, day by day: crates and buckets against what a cooler takes."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time

from tagmaker import notes
from tagmaker.farm import Cooler, Farm
from tagmaker.lot import StorageCode, StorageDates
from tagmaker.storage.crops import CropTable, Keeping
from tagmaker.storage.moments import DAY
from tagmaker.storage.whereabouts import OUT, place_at

_ROUNDING = 1e-9  # full crates that floating point makes a hair fuller are still full crates


@dataclass(frozen=True, slots=True, kw_only=True)
class RoomDay:
    """The fullest moment of a cooler's day."""

    cooler: str
    day: date
    crates: int
    buckets: int
    fill: float | None  # share of the room taken; None: the cooler's room is not known
    overflow: tuple[str, ...]  # lot codes to move or sell first, in selling order


@dataclass(frozen=True, slots=True)
class Batch:
    """Stems of a lot that go into water and leave together."""

    dates: StorageDates
    keeping: Keeping
    stems: int
    into_water: datetime | None  # from when they stand in water; None: never
    leaves: datetime  # gone from then on

    def containers(self, moment: datetime, cooler: Cooler) -> tuple[float, float]:
        """Crates and buckets that the batch fills in a cooler at a moment, in parts of one."""
        lot = self.dates.lot
        if lot.in_cooler is None or not lot.in_cooler <= moment < self.leaves:
            return 0.0, 0.0
        if place_at(lot, moment) != cooler.name:
            return 0.0, 0.0
        stand_in_water = self.into_water is not None and moment >= self.into_water
        if self.dates.kept is StorageCode.WATER or stand_in_water:
            return 0.0, self.stems / self.keeping.per_bucket if cooler.soak_inside else 0.0
        return self.stems / (self.keeping.per_crate or self.keeping.per_bucket), 0.0


def batches(dates: Sequence[StorageDates], crops: CropTable, now: datetime) -> tuple[Batch, ...]:
    """The stems left, split by the orders that take them; the rest leaves at the sell-by."""
    return tuple(batch for lot_dates in dates for batch in _batches(lot_dates, crops, now))


def _batches(dates: StorageDates, crops: CropTable, now: datetime) -> Iterable[Batch]:
    lot = dates.lot
    keeping = crops.keeping(lot.crop, lot.form, dates.kept)
    left = lot.left or 0
    if keeping is None or left <= 0:
        return
    for order in dates.orders:
        if not order.ok or order.stems is None:
            continue
        stems = min(order.stems, left)
        left -= stems
        if stems:
            yield Batch(dates, keeping, stems, _in_water_from(dates, order.into_water_by, now), order.leaves)
    if left:
        leaves = dates.tag_order.leaves if dates.tag_order else dates.sell_by
        end_of_today = datetime.combine(now.date() + DAY, time())
        stays_until = (
            end_of_today if leaves is None else max(leaves, end_of_today) if leaves < now else leaves
        )
        yield Batch(dates, keeping, left, _in_water_from(dates, dates.into_water_by, now), stays_until)


def _in_water_from(dates: StorageDates, planned: datetime | None, now: datetime) -> datetime | None:
    """From when dry stems stand in water: as it was, as the tag says, or now where that is overdue."""
    if dates.lot.in_water is not None:
        return dates.lot.in_water
    return max(planned, now) if planned is not None else None


def room(
    dates: Sequence[StorageDates], farm: Farm, crops: CropTable, now: datetime, days: int
) -> tuple[RoomDay, ...]:
    """The room that every cooler needs on each of some days from today; earlier hours are over.

    Stems are pooled by container, each crop by its own stems per crate and bucket, and rounded up
    once; crops that never share water have their buckets apart.
    """
    everything = batches(dates, crops, now)
    return tuple(
        _room_day(cooler, now.date() + ahead * DAY, _near(everything, cooler), now)
        for cooler in farm.coolers.values()
        for ahead in range(days)
    )


def _near(everything: Sequence[Batch], cooler: Cooler) -> list[Batch]:
    """The batches that stand in a cooler at some time."""
    return [
        batch
        for batch in everything
        if batch.dates.lot.cooler == cooler.name
        or any(move.place == cooler.name for move in batch.dates.lot.moves if move.place != OUT)
    ]


def _room_day(cooler: Cooler, day: date, near: Sequence[Batch], now: datetime) -> RoomDay:
    start = max(datetime.combine(day, time()), now)
    changes = {start}
    for batch in near:
        lot = batch.dates.lot
        moments = [lot.in_cooler, batch.into_water, *(move.since for move in lot.moves)]
        changes.update(m for m in moments if m is not None and m.date() == day and m > start)
    peak = max(sorted(changes), key=lambda moment: _fill(cooler, *_count(cooler, near, moment))[1])
    crates, buckets = _count(cooler, near, peak)
    return RoomDay(
        cooler=cooler.name,
        day=day,
        crates=crates,
        buckets=buckets,
        fill=_fill(cooler, crates, buckets)[0],
        overflow=_to_move(cooler, near, peak),
    )


def _count(cooler: Cooler, near: Iterable[Batch], moment: datetime) -> tuple[int, int]:
    """Crates and buckets in a cooler at a moment."""
    filled = [(batch.keeping, *batch.containers(moment, cooler)) for batch in near]
    crates = math.ceil(sum(crate for _, crate, _ in filled) - _ROUNDING)
    return crates, whole_buckets((keeping, bucket) for keeping, _, bucket in filled)


def whole_buckets(parts: Iterable[tuple[Keeping, float]]) -> int:
    """Buckets that parts of a bucket add up to over the crops, rounded up once.

    A crop that never shares its water is rounded up by itself.
    """
    shared: dict[str, float] = {}
    for keeping, part in parts:
        alone = keeping.crop if keeping.own_bucket else ""
        shared[alone] = shared.get(alone, 0.0) + part
    return sum(math.ceil(part - _ROUNDING) for part in shared.values())


def _fill(cooler: Cooler, crates: int, buckets: int) -> tuple[float | None, float]:
    """The share of a cooler's room that is taken, and what to rank moments by where it is not known."""
    parts = [
        count / limit
        for count, limit in ((crates, cooler.crates), (buckets, cooler.buckets))
        if limit is not None
    ]
    if not parts:
        return None, float(crates + buckets)
    fill = sum(parts) if cooler.shared else max(parts)
    return fill, fill


def _to_move(cooler: Cooler, near: Sequence[Batch], moment: datetime) -> tuple[str, ...]:
    """The lots to move or sell, the first to sell first, until the rest fits."""
    inside = [batch for batch in near if any(batch.containers(moment, cooler))]
    inside.sort(key=lambda b: (b.dates.sell_by or datetime.max, b.dates.lot.lot_code))
    moved: list[str] = []
    while inside and (_fill(cooler, *_count(cooler, inside, moment))[0] or 0.0) > 1 + _ROUNDING:
        code = inside[0].dates.lot.lot_code
        inside = [batch for batch in inside if batch.dates.lot.lot_code != code]
        moved.append(code)
    return tuple(moved)


def fits_until(dates: StorageDates, days: Sequence[RoomDay], now: datetime) -> notes.FitsUntil | None:
    """On the day of the cut: until when the lot's cooler has room, if it will be over-full."""
    lot = dates.lot
    if lot.cut.date() != now.date():
        return None
    full = min((day.day for day in days if day.cooler == lot.cooler and day.overflow), default=None)
    if full is None or full == now.date() or dates.sell_by is None or full > dates.sell_by.date():
        return None
    return notes.FitsUntil(cooler=lot.cooler, last=full - DAY)
