"""The week of a cooler: its lots in selling order, a strip per day, and the limits to watch."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time

from tagmaker.farm import Cooler, Farm
from tagmaker.lot import StorageCode, StorageDates
from tagmaker.storage.climate import HIGH_C
from tagmaker.storage.crops import CropTable
from tagmaker.storage.moments import DAY
from tagmaker.storage.whereabouts import OUT, cooler_at, place_at
from tagmaker.telling.day_strip import DayStrip, day_strip, selling_days
from tagmaker.telling.lot_week import Job, Task, departures, lot_jobs
from tagmaker.telling.order import selling_order
from tagmaker.telling.readiness import is_wet

WEEK = 7  # [d]
HIGHEST_C = math.floor(HIGH_C * 2) / 2  # [°C] 7 °C, in half degrees as it is written on a list
SWING_C = (
    2.0  # [°C] below the set point a fridge may go: it swings 5 to 7 °F a day (common practice, no source)
)
FROST_MARGIN_C = 0.5  # [°C] kept above a flower's freezing point (chosen)
NO_CREDIT_C = 0.0  # [°C] below it stems gain nothing, tulips with the bulb on apart


@dataclass(frozen=True, slots=True)
class Limits:
    """Between these a cooler's thermometer should stay."""

    low_c: float  # [°C]
    high_c: float  # [°C]


@dataclass(frozen=True, slots=True, kw_only=True)
class LotWeek:
    """One lot on a cooler's page."""

    dated: StorageDates
    jobs: tuple[tuple[Job, ...], ...]  # per day of the week, those that fall to this cooler
    outside: bool  # it is out of any cooler as the week begins; this is the one it was in last


@dataclass(frozen=True, slots=True, kw_only=True)
class CoolerWeek:
    """One cooler's page for a week."""

    cooler: Cooler
    first_day: date
    rows: tuple[LotWeek, ...]  # in selling order
    strips: tuple[DayStrip, ...]  # per day
    limits: Limits


def week_plans(
    dated: Sequence[StorageDates], farm: Farm, crops: CropTable, now: datetime, ahead: int = 0
) -> tuple[CoolerWeek, ...]:
    """A page for every cooler of the farm, in the order of the settings.

    A cooler's lots are those that stand in it now or will within the week; a lot that is outside
    stays on the page of its last cooler. Lots with nothing left are not listed. A week that is
    still to come lists the lots that will not have left by then; what is overdue now stands in
    the first week alone.

    Args:
        dated: all lots of the farm with their dates.
        farm: coolers, uses and workday.
        crops: for buckets, hours in water and the tenderest crop.
        now: the moment of printing.
        ahead: 0: the week from today on; 1: the one after it, and so on.
    """
    first = now.date() + DAY * WEEK * ahead
    listed = [lot for lot in dated if lot.left is None or lot.left > 0]
    lots = sorted((lot for lot in listed if not ahead or _is_there_on(lot, first)), key=selling_order)
    jobs = [(lot, lot_jobs(lot, farm, now, WEEK * (ahead + 1))[-WEEK:]) for lot in lots]
    return tuple(_cooler_week(cooler, jobs, farm, crops, now, first) for cooler in farm.coolers.values())


def _is_there_on(dated: StorageDates, day: date) -> bool:
    """Whether stems of a lot are to leave, or will be missed, on a day or later.

    Lots without a date stay, but not one that waits to dry: what it is told holds for today.
    """
    if is_wet(dated):
        return False
    leaving = [departure.leaves for departure in departures(dated)]
    missed = [order.leaves for order in dated.orders if not order.ok]
    return not leaving or max(leaving + missed).date() >= day


def _cooler_week(
    cooler: Cooler,
    lots: Sequence[tuple[StorageDates, tuple[tuple[Job, ...], ...]]],
    farm: Farm,
    crops: CropTable,
    now: datetime,
    first: date,
) -> CoolerWeek:
    days_shown = [first + DAY * n for n in range(WEEK)]
    start = max(datetime.combine(first, time()), now)
    rows = []
    for dated, jobs in lots:
        if any(_stands_here(dated, farm, cooler, now, day) for day in days_shown):
            here = tuple(
                tuple(job for job in jobs_of_day if _is_done_here(dated, farm, cooler, now, day, job))
                for day, jobs_of_day in zip(days_shown, jobs, strict=True)
            )
            rows.append(LotWeek(dated=dated, jobs=here, outside=place_at(dated.lot, start) == OUT))
    days = (days_shown[-1] - now.date()).days + 1
    selling = selling_days([row.dated for row in rows], cooler.name, farm, crops, now, days)
    strips = tuple(
        day_strip(
            day,
            [(row.dated, row.jobs[n]) for row in rows],
            [sale for sale in selling if sale.act_on == day],
            farm,
            crops,
        )
        for n, day in enumerate(days_shown)
    )
    return CoolerWeek(
        cooler=cooler,
        first_day=first,
        rows=tuple(rows),
        strips=strips,
        limits=limits(cooler, (row.dated for row in rows), crops),
    )


def _stands_here(dated: StorageDates, farm: Farm, cooler: Cooler, now: datetime, day: date) -> bool:
    """Whether a lot is in a cooler at any hour of a day from now on."""
    start = max(datetime.combine(day, time()), now)
    moves = [move.since for move in dated.lot.moves if start < move.since and move.since.date() == day]
    return any(cooler_at(dated.lot, farm, moment) == cooler for moment in (start, *moves))


def _is_done_here(
    dated: StorageDates, farm: Farm, cooler: Cooler, now: datetime, day: date, job: Job
) -> bool:
    """Whether a job falls to this cooler on a day on which the lot may change places."""
    if job.task is Task.COMES:
        return job.at is not None and cooler_at(dated.lot, farm, job.at) == cooler
    if job.task is Task.MOVE:
        return job.at is not None and _came_from(dated, farm, job.at) == cooler
    moment = now if job.now or job.at is None or job.at.date() != day else max(job.at, now)
    if day != now.date():
        moment = max(moment, datetime.combine(day, time()))
    return cooler_at(dated.lot, farm, moment) == cooler


def _came_from(dated: StorageDates, farm: Farm, moment: datetime) -> Cooler:
    """The cooler a lot stood in before a move."""
    earlier = [move.since for move in dated.lot.moves if move.since < moment]
    return cooler_at(dated.lot, farm, max(earlier)) if earlier else farm.coolers[dated.lot.cooler]


def limits(cooler: Cooler, lots: Iterable[StorageDates], crops: CropTable) -> Limits:
    """Lowest and highest temperature a cooler should show.

    The low limit is the warmer of what the tenderest crop inside bears and two degrees below the
    set point, rounded up to half a degree; the high one is 7 °C (45 °F), or two degrees above the
    low one if that is more.

    >>> from tagmaker.storage.crops import crop_table
    >>> limits(Cooler(name="barn", set_point_c=2.5), [], crop_table())
    Limits(low_c=0.5, high_c=7.0)
    """
    low = max((_bears_c(dated, crops) for dated in lots), default=NO_CREDIT_C)
    if cooler.set_point_c is not None:
        low = max(low, min(cooler.set_point_c, HIGHEST_C - SWING_C) - SWING_C)
    low = math.ceil(low * 2) / 2
    return Limits(low, max(HIGHEST_C, low + SWING_C))


def _bears_c(dated: StorageDates, crops: CropTable) -> float:
    """The lowest temperature a lot should see [°C].

    Its chilling limit if it has one; else 0 °C, below which nothing is gained, or just above its
    freezing point where that is warmer; tulips with the bulb on may go down to there.
    """
    keeping = crops.keeping(dated.lot.crop, dated.lot.form, dated.kept)
    if keeping is None:
        return NO_CREDIT_C
    frost = keeping.freezes_c + FROST_MARGIN_C
    if keeping.never_below_c is not None:
        return max(keeping.never_below_c, frost)
    return frost if dated.code is StorageCode.BULB else max(frost, NO_CREDIT_C)
