"""The week of a cooler: its lots in selling order, the tasks of each day, and the limits to watch."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time

from tagmaker.farm import Cooler
from tagmaker.lot import Lot, StorageCode, StorageDates
from tagmaker.storage.climate import HIGH_C
from tagmaker.storage.crops import CropTable
from tagmaker.storage.moments import DAY
from tagmaker.storage.whereabouts import OUT, cooler_at, place_at
from tagmaker.telling.agenda import Task, agenda
from tagmaker.telling.order import Work, selling_order, works
from tagmaker.telling.parts import parts
from tagmaker.telling.readiness import is_wet
from tagmaker.telling.teller import Teller

WEEK = 7  # [d]
HIGHEST_C = math.floor(HIGH_C * 2) / 2  # [°C] 7 °C, in half degrees as it is written on a list
SWING_C = 2.0  # [°C] below its set point that a fridge swings in a day (common practice, no source)

FROST_MARGIN_C = 0.5  # [°C] kept above a flower's freezing point (chosen)
NO_CREDIT_C = 0.0  # [°C] below it stems gain nothing, tulips with the bulb on apart


@dataclass(frozen=True, slots=True)
class Limits:
    """Between these a cooler's thermometer should stay."""

    low_c: float  # [°C]
    high_c: float  # [°C]


@dataclass(frozen=True, slots=True, kw_only=True)
class LotWeek:
    """One lot in a cooler's week."""

    dates: StorageDates
    tasks: tuple[tuple[Task, ...], ...]  # per day of the week, those that fall to this cooler
    outside: bool  # it is out of any cooler as the week begins; this is the one it was in last


@dataclass(frozen=True, slots=True, kw_only=True)
class CoolerWeek:
    """One cooler's week."""

    cooler: Cooler
    days: tuple[date, ...]
    lots: tuple[LotWeek, ...]  # in selling order
    works: tuple[tuple[Work, ...], ...]  # per day, lots together, plans to be cut too
    limits: Limits


def cooler_weeks(
    dated: Sequence[StorageDates], teller: Teller, ahead: int = 0, plans: Iterable[Lot] = ()
) -> tuple[CoolerWeek, ...]:
    """A week of every cooler of the farm, in the order of the settings.

    A cooler's lots are those that stand in it now or will within the week; a lot that is outside
    stays with its last cooler. Lots with nothing left are not listed. A week that is still to come
    lists the lots that will not have left by then; what is overdue now stands in the first week alone.

    Args:
        dated: all lots of the farm with their dates.
        teller: coolers and workday, buckets and the tenderest crop, and the moment that is told.
        ahead: 0: the week from today on; 1: the one after it, and so on.
        plans: rows that are still to be cut.
    """
    now = teller.now
    first = now.date() + DAY * WEEK * ahead
    days = tuple(first + DAY * n for n in range(WEEK))
    listed = [dates for dates in dated if dates.left is None or dates.left > 0]
    lots = sorted(
        (dates for dates in listed if not ahead or _is_there_on(dates, first, now)), key=selling_order
    )
    tasks = agenda(lots, teller.farm, now, WEEK * (ahead + 1), plans)
    by_day = [[task for task in tasks if task.day(now.date()) == day] for day in days]
    return tuple(_cooler_week(cooler, lots, by_day, days, teller) for cooler in teller.farm.coolers.values())


def _is_there_on(dates: StorageDates, day: date, now: datetime) -> bool:
    """Whether stems of a lot are to leave, or will be missed, on a day or later.

    Lots without a date stay, but not one that waits to dry: what it is told holds for today.
    """
    if is_wet(dates):
        return False
    leaving = [part.order.leaves if part.order else dates.sell_by for part in parts(dates, now)]
    known = [moment for moment in leaving if moment is not None]
    missed = [order.leaves for order in dates.orders if not order.ok]
    return not known or max(known + missed).date() >= day


def _cooler_week(
    cooler: Cooler,
    lots: Sequence[StorageDates],
    by_day: Sequence[Sequence[Task]],
    days: tuple[date, ...],
    teller: Teller,
) -> CoolerWeek:
    here = [[task for task in tasks if cooler.name in (task.cooler, task.to)] for tasks in by_day]
    start = max(datetime.combine(days[0], time()), teller.now)
    standing = [dates for dates in lots if any(_stands_in(dates, cooler, teller, day) for day in days)]
    dates_of = {dates.lot.lot_code: dates for dates in lots}
    return CoolerWeek(
        cooler=cooler,
        days=days,
        lots=tuple(
            LotWeek(
                dates=dates,
                tasks=tuple(tuple(task for task in day if task.lot == dates.lot.lot_code) for day in here),
                outside=place_at(dates.lot, start) == OUT,
            )
            for dates in standing
        ),
        works=tuple(works(tasks, dates_of, teller.crops) for tasks in here),
        limits=limits(cooler, standing, teller.crops),
    )


def _stands_in(dates: StorageDates, cooler: Cooler, teller: Teller, day: date) -> bool:
    """Whether a lot is in a cooler at any hour of a day from now on."""
    start = max(datetime.combine(day, time()), teller.now)
    moves = [move.since for move in dates.lot.moves if start < move.since and move.since.date() == day]
    return any(cooler_at(dates.lot, teller.farm, moment) == cooler for moment in (start, *moves))


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
