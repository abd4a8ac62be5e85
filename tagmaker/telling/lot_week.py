"""What one lot asks for in a week: jobs, each on its day, the overdue ones today.

The dates themselves are taken as they were computed; here they only find their day.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from enum import StrEnum

from tagmaker.farm import Farm, Workday
from tagmaker.lot import OrderDates, State, StorageCode, StorageDates, Surface, Verdict
from tagmaker.notes import PutInWater
from tagmaker.storage.moments import DAY
from tagmaker.storage.whereabouts import OUT, place_at
from tagmaker.telling.readiness import is_wet

FRESH_WATER_DAYS = 2  # [d] between changes of the water that stems stand in (chosen)


class Task(StrEnum):
    """What is to be done with a lot; the members stand in the order they are done on a day."""

    FAN = "fan"  # still wet: fan until no drops
    FEEL = "feel"  # day of the cut: feel whether the stems are dry
    PAST = "past"  # its sell-by is over
    SELL = "sell"  # must go today or tomorrow
    INTO_WATER = "into water"
    ADVISE_WATER = "advise water"  # day of the cut: needed so soon that it might stand in water
    READY = "ready"  # in water long enough
    WARM = "warm"  # out of the cooler to open
    LEAVES = "leaves"  # an order goes out
    LAST = "last"  # the sell-by: what is left goes out
    CANNOT = "cannot"  # an order this lot cannot serve
    TEST = "test"  # open a bunch
    FRESH = "fresh"  # new water
    MOVE = "move"  # taken to another place
    COMES = "comes"  # arrives from another place


@dataclass(frozen=True, slots=True, kw_only=True)
class Job:
    """One thing to do with a lot on a day."""

    task: Task
    at: datetime | None = None  # do it by then, or it happens then; None: any hour of the day
    now: bool = False  # it is overdue
    stems: int | None = None  # None: not known, or not to the point
    bunches: int | None = None
    use: str = ""  # outlet of the departure it belongs to
    place: str = ""  # where a move leads, or where it comes from
    ready: datetime | None = None  # INTO_WATER overdue: ready then, if done now
    verdict: Verdict | None = None  # CANNOT: why


@dataclass(frozen=True, slots=True, kw_only=True)
class Departure:
    """Stems that go out together: an order, or what is left at the sell-by."""

    leaves: datetime
    stems: int | None  # None: the sheet does not say
    use: str
    into_water_by: datetime | None
    warm_from: datetime | None
    order: bool  # promised to a buyer; else the sell-by


def departures(dated: StorageDates) -> tuple[Departure, ...]:
    """The departures a lot still has, in order of time, each with its stems.

    Part orders take their stems; a whole-lot order takes what they leave; without one the
    rest goes at the sell-by. Orders that the lot cannot serve are left out.
    """
    served = [order for order in dated.orders if order.ok]
    rest = dated.left
    if rest is not None:
        rest -= sum(order.stems or 0 for order in served)
    whole = next((order for order in served if order.stems is None), None)
    found = [_of_order(order, order.stems) for order in served if order.stems is not None]
    if rest is None or rest > 0:
        if whole is not None:
            found.append(_of_order(whole, rest))
        elif dated.sell_by is not None:
            found.append(
                Departure(
                    leaves=dated.sell_by,
                    stems=rest,
                    use="" if dated.at_close else dated.lot.use,
                    into_water_by=dated.into_water_by,
                    warm_from=dated.stand_warm_from or dated.out_by,
                    order=False,
                )
            )
    return tuple(sorted(found, key=lambda departure: departure.leaves))


def _of_order(order: OrderDates, stems: int | None) -> Departure:
    return Departure(
        leaves=order.leaves,
        stems=stems,
        use=order.use,
        into_water_by=order.into_water_by,
        warm_from=order.stand_warm_from,
        order=True,
    )


def spare_stems(dated: StorageDates) -> int | None:
    """Stems promised to no order, which a selling day may draw on; None: not known.

    A whole-lot order that the lot can serve, and orders that it cannot, leave 0 and take none.
    """
    if any(order.ok and order.stems is None for order in dated.orders):
        return 0
    if dated.left is None:
        return None
    return max(dated.left - sum(order.stems or 0 for order in dated.orders if order.ok), 0)


def lot_jobs(dated: StorageDates, farm: Farm, now: datetime, days: int = 7) -> tuple[tuple[Job, ...], ...]:
    """The jobs of a lot on each day from today on.

    Args:
        dated: the lot and its dates.
        farm: its workday, days off and coolers.
        now: the moment of printing; its day is the first.
        days: how many days.

    Returns:
        One tuple of jobs per day, in the order they are done; overdue jobs are today's.
    """
    today = now.date()
    found: dict[date, list[Job]] = {today + DAY * ahead: [] for ahead in range(days)}

    def add(day: date, job: Job) -> None:
        if day in found and job not in found[day]:
            found[day].append(job)

    for job in _jobs_today(dated, now):
        add(today, job)
    for departure in departures(dated):
        for day, job in _jobs_of_departure(dated, departure, now):
            add(day, job)
    for order in dated.orders:
        if not order.ok:
            job = Job(
                task=Task.CANNOT, at=order.leaves, stems=order.stems, use=order.use, verdict=order.verdict
            )
            add(order.leaves.date(), job)
    for day, job in (*_tests(dated, now), *_moves(dated, now)):
        add(day, job)
    if dated.ready_from is not None and not dated.water_now and dated.ready_from > now:
        add(dated.ready_from.date(), Job(task=Task.READY, at=dated.ready_from))
    for day in fresh_water_days(dated, farm.workday, today, today + DAY * days):
        add(day, Job(task=Task.FRESH))
    return tuple(tuple(sorted(jobs, key=_when)) for jobs in found.values())


def _when(job: Job) -> tuple[bool, datetime, int]:
    """Sort key within a day: overdue first, then any hour, then by the hour."""
    return not job.now, job.at or datetime.min, list(Task).index(job.task)


def _jobs_today(dated: StorageDates, now: datetime) -> list[Job]:
    """What concerns today whatever the departures are."""
    lot = dated.lot
    cut_today = lot.cut.date() == now.date()
    jobs = []
    if is_wet(dated):
        jobs.append(Job(task=Task.FAN, now=True))
    elif lot.surface is Surface.DRY and cut_today:
        jobs.append(Job(task=Task.FEEL))
    if cut_today and any(isinstance(note, PutInWater) for note in dated.warnings):
        jobs.append(Job(task=Task.ADVISE_WATER))
    left = Job(task=Task.PAST, stems=dated.left, bunches=lot.bunches_left)
    if dated.state is State.TOO_OLD:
        jobs.append(replace(left, now=True, at=dated.sell_by))
    elif dated.state is State.SELL_FIRST:
        jobs.append(Job(task=Task.SELL))
    if dated.water_now:
        water = replace(left, task=Task.INTO_WATER, now=True)
        jobs.append(replace(water, at=dated.into_water_by, ready=dated.ready_from))
    return jobs


def _jobs_of_departure(dated: StorageDates, departure: Departure, now: datetime) -> list[tuple[date, Job]]:
    """Into water, out to open and out of the door, each on its day; what is overdue today."""
    today = now.date()
    gone_by = departure.leaves < now
    if gone_by and dated.state is State.TOO_OLD:
        return []  # PAST says it
    bunches = None if departure.stems is None else -(-departure.stems // dated.lot.per_bunch)
    steps = [(Task.LEAVES if departure.order else Task.LAST, departure.leaves)]
    if dated.code is not StorageCode.WATER and departure.into_water_by and not dated.water_now:
        steps.append((Task.INTO_WATER, departure.into_water_by))
    if departure.warm_from:
        steps.append((Task.WARM, departure.warm_from))
    return [
        (
            today if at < now else at.date(),
            Job(task=task, at=at, now=at < now, stems=departure.stems, bunches=bunches, use=departure.use),
        )
        for task, at in steps
    ]


def _tests(dated: StorageDates, now: datetime) -> list[tuple[date, Job]]:
    """Days to open a bunch; a day gone by is today's while its departure is still to come."""
    today = now.date()
    jobs = []
    for day in dated.tests_on:
        order = next((order for order in dated.orders if order.test_on == day), None)
        leaves = order.leaves if order else dated.sell_by
        if leaves is not None and leaves < now:
            continue
        job = Job(task=Task.TEST, now=day < today)
        jobs.append((max(day, today), job))
    overdue = [job for job in jobs if job[1].now]
    return overdue[:1] + [job for job in jobs if not job[1].now]


def _moves(dated: StorageDates, now: datetime) -> list[tuple[date, Job]]:
    """Moves that are still to come."""
    jobs = []
    for move in dated.lot.moves:
        if move.since > now:
            came_from = place_at(dated.lot, move.since - timedelta(minutes=1))
            if came_from == move.place:
                continue
            jobs.append((move.since.date(), Job(task=Task.MOVE, at=move.since, place=move.place)))
            if move.place != OUT:
                jobs.append((move.since.date(), Job(task=Task.COMES, at=move.since, place=came_from)))
    return jobs


def fresh_water_days(dated: StorageDates, workday: Workday, first: date, end: date) -> tuple[date, ...]:
    """Days on which the water is changed: every second day for what stands in water.

    Counted from the day the stems went in; a day off moves the change to the working day before
    it, or after it where that would be the day after the last change. Dry lots count from the day
    their last stems go in. No change on or after the day the last of them leave, nor for what is
    past.

    Args:
        dated: the lot and its dates.
        workday: for the days off.
        first: first day asked for.
        end: the day after the last one.
    """
    if dated.state is State.TOO_OLD:
        return ()
    leaving = departures(dated)
    last = max((departure.leaves.date() for departure in leaving), default=end)
    if last < first:
        last = end  # past, and still standing there
    if dated.code is StorageCode.WATER:
        day = (dated.lot.in_water or dated.lot.cut).date()
    elif dated.water_now:
        day = first
    elif leaving and leaving[-1].into_water_by is not None:
        day = max(leaving[-1].into_water_by.date(), first)
    else:
        return ()
    end = min(last, end)
    found = []
    while (due := day + DAY * FRESH_WATER_DAYS) < last:
        day = _working_day_near(due, day, workday)
        if day >= end:
            break
        if day >= first:
            found.append(day)
    return tuple(found)


def _working_day_near(due: date, before: date, workday: Workday) -> date:
    """A working day for a change that is due, not the day after the change before it."""
    for candidate in (due, due - DAY, due + DAY):
        if not workday.is_off(candidate) and candidate - before > DAY:
            return candidate
    return due
