"""In which order lots are told, and which tasks are told together."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime

from tagmaker.lot import StorageDates
from tagmaker.storage.crops import CropTable
from tagmaker.storage.room import whole_buckets
from tagmaker.telling.agenda import Kind, Task, task_order


def selling_order(dates: StorageDates) -> tuple[datetime, str]:
    """Sort key: what is to be sold first comes first, then by lot; what has no date last."""
    return dates.sell_by or datetime.max, dates.lot.lot_code


@dataclass(frozen=True, slots=True)
class Share:
    """Bunches of one lot in a piece of work."""

    lot: str
    bunches: int | None  # None: not known, or all of them
    stems: int | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Work:
    """The same thing to do with several lots at one moment."""

    task: Task  # the first of them: kind, hour, outlet and where it leads are those of all
    shares: tuple[Share, ...]  # in selling order
    buckets: int | None = None  # INTO_WATER: that they fill; None: no lot says how many stems

    @property
    def bunches(self) -> int | None:
        """Bunches of all lots; None where one of them does not say."""
        counts = [share.bunches for share in self.shares]
        return None if None in counts else sum(count or 0 for count in counts)


def works(tasks: Iterable[Task], dates_of: Mapping[str, StorageDates], crops: CropTable) -> tuple[Work, ...]:
    """Tasks of a day put together: alike in what is done, by when, for which outlet and where to.

    What is overdue is put together where it is said alike. A lot is named once, with the bunches of all its
    orders.

    Args:
        tasks: of one day.
        dates_of: the lots' dates, by lot code.
        crops: for the stems that a bucket takes.
    """
    groups: dict[object, list[Task]] = {}
    for task in sorted(tasks, key=task_order):
        overdue = task.now and task.kind is Kind.INTO_WATER
        moment = task.ready if overdue else None if task.any_hour else task.by
        outlet = task.use if task.kind in (Kind.LEAVES, Kind.SELL_ELSEWHERE) else ""
        way = (task.cooler, task.to) if task.to else None
        alike = (task.kind, task.now, moment, outlet, way, task.reason, task.low, bool(outlet and task.order))
        groups.setdefault(alike, []).append(task)
    return tuple(
        Work(task=group[0], shares=_shares(group, dates_of), buckets=_buckets(group, dates_of, crops))
        for group in groups.values()
    )


def _shares(group: Iterable[Task], dates_of: Mapping[str, StorageDates]) -> tuple[Share, ...]:
    found: dict[str, Share] = {}
    for task in group:
        known = found.get(task.lot)
        bunches, stems = task.bunches, task.stems
        if known is not None:
            bunches = None if None in (known.bunches, bunches) else (known.bunches or 0) + (bunches or 0)
            stems = None if None in (known.stems, stems) else (known.stems or 0) + (stems or 0)
        found[task.lot] = Share(task.lot, bunches, stems)

    def place(share: Share) -> tuple[bool, tuple[datetime, str]]:
        dates = dates_of.get(share.lot)
        return dates is None, selling_order(dates) if dates else (datetime.max, share.lot)

    return tuple(sorted(found.values(), key=place))


def _buckets(group: Iterable[Task], dates_of: Mapping[str, StorageDates], crops: CropTable) -> int | None:
    """Buckets that stems fill when they go into water together."""
    parts = []
    for task in group:
        dates = dates_of.get(task.lot)
        keeping = crops.keeping(dates.lot.crop, dates.lot.form, dates.kept) if dates else None
        if task.kind is Kind.INTO_WATER and task.stems is not None and keeping is not None:
            parts.append((keeping, task.stems / keeping.per_bucket))
    return whole_buckets(parts) if parts else None
