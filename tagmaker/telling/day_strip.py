"""What one day asks for in one cooler, lots together: into water, out of the door, selling days."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from tagmaker.farm import EVERY_DAY, Farm, Use
from tagmaker.lot import State, StorageCode, StorageDates, Surface
from tagmaker.storage.crops import CropTable, Keeping
from tagmaker.storage.moments import DAY, latest_bench_moment, selling_moment
from tagmaker.storage.room import whole_buckets
from tagmaker.storage.whereabouts import place_at
from tagmaker.telling.lot_week import Job, Task, spare_stems


@dataclass(frozen=True, slots=True)
class Share:
    """Stems of one lot in a line of the strip."""

    lot_code: str
    stems: int | None  # None: the sheet does not say
    bunches: int | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Soak:
    """Stems that go into water by the same moment."""

    by: datetime
    now: bool  # overdue
    shares: tuple[Share, ...]
    buckets: int | None  # buckets they fill; None: no lot says how many stems it has


@dataclass(frozen=True, slots=True, kw_only=True)
class Outgoing:
    """Stems that leave by the same moment for the same outlet."""

    by: datetime
    now: bool  # overdue
    use: str
    order: bool  # promised to a buyer; else what is left at the sell-by
    shares: tuple[Share, ...]

    @property
    def bunches(self) -> int | None:
        """Bunches of all lots; None where one of them does not say."""
        counts = [share.bunches for share in self.shares]
        return None if None in counts else sum(count or 0 for count in counts)


@dataclass(frozen=True, slots=True)
class Draw:
    """Lots that a selling day can draw on, and when they go into water for it."""

    into_water_by: datetime | None  # None: they stand in water
    lot_codes: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class SellingDay:
    """A selling day of an outlet, and the unpromised lots of the cooler that would do for it."""

    use: str
    leaves: datetime
    draws: tuple[Draw, ...]

    @property
    def act_on(self) -> date:
        """The day on which the first hand is needed."""
        moments = [draw.into_water_by for draw in self.draws if draw.into_water_by is not None]
        return min(moments, default=self.leaves).date()


@dataclass(frozen=True, slots=True, kw_only=True)
class DayStrip:
    """One day of one cooler."""

    day: date
    off: bool  # nobody works at the bench
    soaks: tuple[Soak, ...]
    outgoing: tuple[Outgoing, ...]
    selling: tuple[SellingDay, ...]


Row = tuple[StorageDates, Sequence[Job]]  # a lot and its jobs of one day


def day_strip(
    day: date, rows: Sequence[Row], selling: Iterable[SellingDay], farm: Farm, crops: CropTable
) -> DayStrip:
    """The lots' jobs of one day put together.

    Args:
        day: the day.
        rows: the cooler's lots in selling order, each with its jobs of that day.
        selling: selling days on which hands are needed this day.
        farm: for its days off.
        crops: for the stems a bucket takes.
    """
    return DayStrip(
        day=day,
        off=farm.workday.is_off(day),
        soaks=tuple(_soaks(rows, crops)),
        outgoing=tuple(_outgoing(rows)),
        selling=tuple(selling),
    )


def _soaks(rows: Sequence[Row], crops: CropTable) -> list[Soak]:
    groups: dict[tuple[bool, datetime], list[tuple[StorageDates, Job]]] = {}
    for dated, jobs in rows:
        for job in jobs:
            if job.task is Task.INTO_WATER and job.at is not None:
                when = (False, job.at) if not job.now else (True, datetime.min)
                groups.setdefault(when, []).append((dated, job))
    return [
        Soak(
            by=min(job.at for _, job in members if job.at is not None),
            now=overdue,
            shares=tuple(_share(dated, job) for dated, job in members),
            buckets=buckets_filled(((dated, job.stems) for dated, job in members), crops),
        )
        for (overdue, _), members in sorted(groups.items(), key=lambda item: (not item[0][0], item[0][1]))
    ]


def _share(dated: StorageDates, job: Job) -> Share:
    return Share(dated.lot.lot_code, job.stems, job.bunches)


def _outgoing(rows: Sequence[Row]) -> list[Outgoing]:
    groups: dict[tuple[bool, datetime, str, bool], list[Share]] = {}
    for dated, jobs in rows:
        for job in jobs:
            if job.task in (Task.LEAVES, Task.LAST) and job.at is not None:
                key = (job.now, job.at, job.use, job.task is Task.LEAVES)
                groups.setdefault(key, []).append(_share(dated, job))
    ordered = sorted(
        groups.items(), key=lambda item: (not item[0][0], item[0][1], not item[0][3], item[0][2])
    )
    return [
        Outgoing(by=by, now=overdue, use=use, order=order, shares=tuple(shares))
        for (overdue, by, use, order), shares in ordered
    ]


def buckets_filled(lots: Iterable[tuple[StorageDates, int | None]], crops: CropTable) -> int | None:
    """Buckets that stems fill when they go into water together.

    Args:
        lots: each lot with the stems that go into water, None where they are not known.
        crops: for the stems a bucket takes.

    Returns:
        Whole buckets; None if no lot says how many stems.
    """
    parts = [
        (keeping, stems / keeping.per_bucket)
        for dated, stems in lots
        if stems is not None and (keeping := _keeping(dated, crops)) is not None
    ]
    return whole_buckets(parts) if parts else None


def _keeping(dated: StorageDates, crops: CropTable) -> Keeping | None:
    return crops.keeping(dated.lot.crop, dated.lot.form, dated.kept)


def selling_days(
    lots: Sequence[StorageDates], cooler: str, farm: Farm, crops: CropTable, now: datetime, days: int = 7
) -> tuple[SellingDay, ...]:
    """Selling days to come on which hands are needed in the time asked for.

    Only outlets that sell on set days have selling days; one that sells every day draws on all
    its lots until their sell-by, so a line for it would say nothing.

    Args:
        lots: the cooler's lots in selling order.
        cooler: only lots that stand in it then.
        farm: its uses and workday.
        crops: for the hours in water.
        now: the moment of printing.
        days: days from today on.
    """
    last = now.date() + DAY * (days - 1)
    found = []
    for use in farm.uses.values():
        if use.days == EVERY_DAY:
            continue
        for ahead in range(days + 7):
            leaves = selling_moment(use, now.date() + DAY * ahead)
            if leaves is None or leaves < now:
                continue
            selling = SellingDay(
                use=use.name, leaves=leaves, draws=_draws(lots, use, leaves, cooler, farm, crops, now)
            )
            if selling.draws and selling.act_on <= last:
                found.append(selling)
    return tuple(sorted(found, key=lambda selling: (selling.leaves, selling.use)))


def _draws(
    lots: Sequence[StorageDates],
    use: Use,
    leaves: datetime,
    cooler: str,
    farm: Farm,
    crops: CropTable,
    now: datetime,
) -> tuple[Draw, ...]:
    """The lots of an outlet that would do for a departure, by when they go into water."""
    groups: dict[datetime | None, list[str]] = {}
    for dated in lots:
        if dated.lot.use != use.name or dated.sell_by is None or dated.sell_by < leaves:
            continue
        if dated.state is State.TOO_OLD or spare_stems(dated) == 0:
            continue
        ready, by = _readiness(dated, use, leaves, farm, crops, now)
        if ready and place_at(dated.lot, max(by or leaves, now)) == cooler:
            groups.setdefault(by, []).append(dated.lot.lot_code)
    ordered = sorted(groups.items(), key=lambda item: (item[0] is None, item[0] or leaves))
    return tuple(Draw(by, tuple(codes)) for by, codes in ordered)


def _readiness(
    dated: StorageDates, use: Use, leaves: datetime, farm: Farm, crops: CropTable, now: datetime
) -> tuple[bool, datetime | None]:
    """Whether a lot can still be ready for a departure, and when it goes into water for it."""
    if dated.code is StorageCode.WATER:
        return dated.ready_from is None or dated.ready_from <= leaves, None
    keeping = _keeping(dated, crops)
    if keeping is None or dated.lot.surface is Surface.WET:
        return False, None
    late = dated.lot.stage is not None and dated.lot.stage > keeping.right_stage
    opening = keeping.opening_hours if use.open and not late else 0.0
    by = latest_bench_moment(farm.workday, leaves - timedelta(hours=keeping.water_hours + opening))
    return by is not None and by >= now, by
