"""What is to be done about a lot, and when: the one source of every instruction.

Checklist, card, page, table and bench set these tasks; none works out by itself what is due. A lot, or the
part of it that an order takes, is told one thing at a time: where two fall on one moment, the graver stands.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from enum import StrEnum
from typing import Any

from tagmaker.farm import Farm, Workday
from tagmaker.lot import HandLow, Lot, NoDate, OrderDates, State, StorageCode, StorageDates, Surface
from tagmaker.storage.moments import DAY
from tagmaker.storage.whereabouts import cooler_at, place_at
from tagmaker.telling.deadlines import asks_still_dry
from tagmaker.telling.parts import Part, next_outlet, parts
from tagmaker.telling.readiness import is_wet

FRESH_WATER_DAYS = 2  # [d] between changes of the water that stems stand in (chosen)
AHEAD_DAYS = 60  # [d] that the next task of a lot is looked for: longer than anything is kept (chosen)


class Kind(StrEnum):
    """What a task is, the gravest first."""

    FAN = "fan"  # still wet: fan until no drops are left
    DO_NOT_SELL = "do not sell"
    THROW_OUT = "throw out"
    DID_THEY_LEAVE = "did they leave"  # stood in water for a departure that is over, and nobody said
    SELL_ELSEWHERE = "sell elsewhere"
    CONFIRM_CUT = "confirm cut"  # the day of a written plan has come
    LOOK_FOR_FROST = "look for frost"  # a LOW written by hand is below its freezing point
    LOOK_AT_BUDS = "look at the buds"
    LOOK_FOR_MOULD = "look for mould"
    LOOK_AT_TEST = "look at the test bunch"
    TEST_A_BUNCH = "test a bunch"
    INTO_WATER = "into water"
    INTO_THE_WARM = "into the warm"
    LEAVES = "leaves"
    MOVE = "move"
    FRESH_WATER = "fresh water"
    ANY_DROPS = "any drops"  # day of the cut: touch whether the stems are dry


_GRAVITY = {kind: n for n, kind in enumerate(Kind)}
HELD = (State.KEEP, State.SELL_FIRST, State.SELL_ELSEWHERE)  # stems that go on being looked after


@dataclass(frozen=True, slots=True, kw_only=True)
class Task:
    """One thing to do with a lot, or with the part of it that an order takes."""

    by: datetime  # do it by then
    kind: Kind
    lot: str  # lot code
    bunches: int | None = None  # that it is about; None: not known, or all of them
    cooler: str  # where the lot stands then, or stood before it was taken out
    place: str = ""  # where in it
    order: OrderDates | None = None  # whose bunches they are; None: the lot's own
    stems: int | None = None
    now: bool = False  # it holds already, or is overdue
    any_hour: bool = False  # at some time of that day
    use: str = ""  # outlet of the departure that it is for
    to: str = ""  # MOVE: where it leads
    leaves: datetime | None = None  # the departure that it is for
    ready: datetime | None = None  # INTO_WATER overdue: ready then, if done now
    low: HandLow | None = None  # LOOK_FOR_FROST: what was read
    still_dry: bool = (
        False  # SELL_ELSEWHERE: its hour for water is over, and nobody wrote whether it was kept
    )
    reason: str = ""  # DO_NOT_SELL, THROW_OUT: a `NoDate`, "tested bad" or "too old"

    def day(self, today: date) -> date:
        """The day on which it is told: what holds now is told today."""
        return today if self.now else self.by.date()


def agenda(
    dated: Iterable[StorageDates], farm: Farm, now: datetime, days: int = 7, plans: Iterable[Lot] = ()
) -> tuple[Task, ...]:
    """Every task of the days from today on, the first to do first; what holds now or is overdue leads.

    Args:
        dated: lots and their dates; those with nothing left have no task.
        farm: its workday and coolers.
        now: the moment that is told; its day is the first.
        days: how many days.
        plans: rows that are still to be cut.
    """
    end = now.date() + DAY * days
    tasks = [task for dates in dated for task in lot_tasks(dates, farm, now, end)]
    tasks += [task for lot in plans for task in _about_plan(lot, now) if task.day(now.date()) < end]
    return tuple(sorted(tasks, key=task_order))


def task_order(task: Task) -> tuple[bool, datetime, int, str]:
    """Sort key: what holds now first, the gravest first; then by the hour, the graver, the lot."""
    return not task.now, datetime.min if task.now else task.by, _GRAVITY[task.kind], task.lot


def next_task(dates: StorageDates, farm: Farm, now: datetime) -> Task | None:
    """What is to be done about a lot next; None: nothing."""
    return next(iter(lot_tasks(dates, farm, now, now.date() + DAY * AHEAD_DAYS)), None)


def lot_tasks(dates: StorageDates, farm: Farm, now: datetime, end: date) -> tuple[Task, ...]:
    """The tasks of one lot up to the day before `end`, in order.

    At most one a part and moment; the same to do with several parts at one moment is one task.
    """
    if dates.left is not None and dates.left <= 0:
        return ()
    told: dict[tuple[datetime | None, int], Task] = {}
    for task in sorted(_tasks(dates, farm, now, end), key=lambda task: _GRAVITY[task.kind]):
        if task.day(now.date()) < end:
            part = 0 if task.order is None else id(task.order)  # two orders may be alike
            told.setdefault((None if task.now else task.by, part), task)
    together: dict[object, Task] = {}
    for task in told.values():
        departure = (task.use, task.order is None) if task.kind is Kind.LEAVES else None
        alike = (None if task.now else task.by, task.kind, departure)
        together[alike] = _added(together[alike], task) if alike in together else task
    return tuple(sorted(together.values(), key=task_order))


def _added(task: Task, other: Task) -> Task:
    """The same to do at one moment with the bunches of several orders, or of an order and the rest.

    What is promised and what is left to sell leave apart.
    """
    return replace(
        task,
        order=task.order if task.kind is Kind.LEAVES else None,
        bunches=None if None in (task.bunches, other.bunches) else (task.bunches or 0) + (other.bunches or 0),
        stems=None if None in (task.stems, other.stems) else (task.stems or 0) + (other.stems or 0),
        by=min(task.by, other.by),
    )


@dataclass(frozen=True, slots=True)
class _Maker:
    """Makes the tasks of one lot."""

    dates: StorageDates
    farm: Farm
    now: datetime

    def at(self, by: datetime, kind: Kind, part: Part | None = None, **more: Any) -> Task:
        """A task by an hour."""
        return self._make(by, kind, part, **{"now": by < self.now, **more})

    def on(self, day: date, kind: Kind, part: Part | None = None, **more: Any) -> Task:
        """A task at some time of a day; looks come before the work, water and drops after it."""
        late = kind in (Kind.FRESH_WATER, Kind.ANY_DROPS)
        by = self.farm.workday.end(day) if late else self.farm.workday.start(day)
        return self._make(by, kind, part, now=day < self.now.date(), any_hour=True, **more)

    def _make(self, by: datetime, kind: Kind, part: Part | None, **more: Any) -> Task:
        lot, moment = self.dates.lot, max(by, self.now)
        values = {
            "bunches": part.bunches if part else lot.bunches_left,
            "stems": part.stems if part else lot.left,
            "order": part.order if part else None,
            "cooler": cooler_at(lot, self.farm, moment).name,
            "place": spot_at(lot, moment),
        }
        return Task(by=by, kind=kind, lot=lot.lot_code, **{**values, **more})


def spot_at(lot: Lot, moment: datetime) -> str:
    """Where in its cooler a lot stands: a move drops the place unless it names one."""
    spot = lot.place
    for move in lot.moves:
        if move.since <= moment:
            spot = move.spot
    return spot


def _tasks(dates: StorageDates, farm: Farm, now: datetime, end: date) -> Iterator[Task]:
    """Everything that could be told of a lot."""
    make, today = _Maker(dates, farm, now), now.date()
    kind, reason = _no_sale(dates)
    if kind is not None:
        yield make.at(now, kind, now=True, any_hour=True, reason=reason)
        return
    if dates.lot.may_have_left is not None:
        yield make.at(dates.lot.may_have_left, Kind.DID_THEY_LEAVE, now=True)
        return
    divided = parts(dates, now)
    for part in divided:
        yield from _of_part(part, make)
    if not any(part.state in HELD for part in divided):
        return
    if dates.low_by_hand is not None:
        yield _frost_look(dates.low_by_hand, make)
    if dates.look_at_buds:
        yield make.on(today, Kind.LOOK_AT_BUDS)
    if dates.mould_on is not None and dates.mould_on >= today:
        yield make.on(dates.mould_on, Kind.LOOK_FOR_MOULD)
    if dates.look_at_test_on is not None:
        yield make.on(dates.look_at_test_on, Kind.LOOK_AT_TEST)
    yield from _tests(dates, make)
    yield from _moves(dates, make)
    for day in fresh_water_days(dates, divided, farm.workday, today, end):
        yield make.on(day, Kind.FRESH_WATER)
    dry = dates.code is not StorageCode.WATER
    if dry and dates.lot.surface is Surface.DRY and dates.lot.cut.date() == today:
        yield make.on(today, Kind.ANY_DROPS)


def _no_sale(dates: StorageDates) -> tuple[Kind | None, str]:
    """What a lot is told of which nothing can be sold, and why."""
    if is_wet(dates):
        return Kind.FAN, ""
    if dates.no_date is NoDate.HEAT:
        return Kind.THROW_OUT, NoDate.HEAT.value
    if dates.bad_since is not None:
        return Kind.THROW_OUT, "tested bad"
    if dates.state is State.NO_DATE:
        return Kind.DO_NOT_SELL, (dates.no_date or NoDate.NOTHING).value
    return None, ""


def _of_part(part: Part, make: _Maker) -> Iterator[Task]:
    """What the bunches of an order, or those of none, are told."""
    dates, order = make.dates, part.order
    if order is not None:
        water, warm = order.into_water_by, order.stand_warm_from
        yield from _departure(part, order.leaves, order.use, water, warm, make)
        return
    if part.state is State.TOO_OLD:
        yield make.at(make.now, Kind.THROW_OUT, part, now=True, any_hour=True, reason="too old")
        return
    water, elsewhere = dates.into_water_by, part.state is State.SELL_ELSEWHERE
    if elsewhere:
        yield _elsewhere(part, make)
    if dates.sell_by is None or dates.sell_by.date() < make.now.date():
        return
    if elsewhere and water is not None and water < make.now:
        water = None  # the card asks whether it is still dry
    use = dates.sell_by_use or ("" if dates.at_close else dates.lot.use)
    yield from _departure(part, dates.sell_by, use, water, dates.stand_warm_from or dates.out_by, make)


def _elsewhere(part: Part, make: _Maker) -> Task:
    """Sell to the next use that would take the stems; where none would, by the day that they keep until.

    Somebody is to look first where it may have frozen, and where nobody wrote its stage: it may keep longer.
    """
    dates, outlet = make.dates, next_outlet(make.dates, make.now)
    if dates.low_by_hand is not None:
        return _frost_look(dates.low_by_hand, make)
    if outlet is not None:
        use, moment = outlet
        dry = asks_still_dry(dates, make.now)
        return make.at(moment, Kind.SELL_ELSEWHERE, part, now=True, use=use, leaves=moment, still_dry=dry)
    if dates.lot.stage is None:
        return make.on(make.now.date(), Kind.LOOK_AT_BUDS, part)
    return make.at(dates.keeps_until or make.now, Kind.SELL_ELSEWHERE, part, now=True)


def _frost_look(low: HandLow, make: _Maker) -> Task:
    """Today's, until a bunch was opened on a day after the cold, which then tells; the dates stay."""
    looked = make.dates.look_at_test_on
    if looked is not None and looked > low.on + DAY:
        return make.on(looked, Kind.LOOK_AT_TEST)
    return make.on(make.now.date(), Kind.LOOK_FOR_FROST, low=low)


def _departure(
    part: Part, leaves: datetime, use: str, water: datetime | None, warm: datetime | None, make: _Maker
) -> Iterator[Task]:
    """Into water, into the warm and out of the door; what is overdue is told now."""
    dates = make.dates
    if leaves >= make.now:
        if water is not None and dates.code is not StorageCode.WATER:
            ready = dates.ready_from if dates.water_now and water == dates.into_water_by else None
            yield make.at(water, Kind.INTO_WATER, part, use=use, leaves=leaves, ready=ready)
        if warm is not None:
            yield make.at(warm, Kind.INTO_THE_WARM, part, use=use, leaves=leaves)
    yield make.at(leaves, Kind.LEAVES, part, use=use, leaves=leaves)


def _tests(dates: StorageDates, make: _Maker) -> Iterator[Task]:
    """Days to open a bunch; a day gone by is today's, once, while its departure is to come."""
    today, missed = make.now.date(), False
    for day in dates.tests_on:
        order = next((order for order in dates.orders if order.test_on == day), None)
        leaves = order.leaves if order else dates.sell_by
        if leaves is None or leaves < make.now or (missed and day < today):
            continue
        missed = missed or day < today
        yield make.on(day, Kind.TEST_A_BUNCH, bunches=1, stems=None, order=order, leaves=leaves)


def _moves(dates: StorageDates, make: _Maker) -> Iterator[Task]:
    """Moves that are still to come."""
    lot = dates.lot
    for move in lot.moves:
        before = move.since - timedelta(minutes=1)
        if move.since > make.now and place_at(lot, before) != move.place:
            here = cooler_at(lot, make.farm, before).name
            yield make.at(move.since, Kind.MOVE, to=move.place, cooler=here, place=spot_at(lot, before))


def _about_plan(lot: Lot, now: datetime) -> Iterator[Task]:
    """A written plan stays one when its day has come, until somebody takes the word away."""
    if lot.plan_written:
        yield Task(
            by=lot.cut,
            kind=Kind.CONFIRM_CUT,
            lot=lot.lot_code,
            bunches=lot.bunches_left,
            stems=lot.left,
            cooler=lot.cooler,
            place=lot.place,
            now=lot.cut < now,
            any_hour=True,
        )


def fresh_water_days(
    dates: StorageDates, divided: tuple[Part, ...], workday: Workday, first: date, end: date
) -> tuple[date, ...]:
    """Days on which the water is changed: every second day for what stands in water.

    Counted from the day the stems went in; a day off moves the change to the working day before
    it, or after it where that would be the day after the last change. Dry lots count from the day
    their last stems go in. No change on or after the day the last of them leave, nor for what is
    too old.

    Args:
        dates: the lot and its dates.
        divided: its parts.
        workday: for the days off.
        first: first day asked for.
        end: the day after the last one.
    """
    leaving = [_departs(part, dates) for part in divided if part.state in HELD]
    last, water = max(leaving, key=lambda pair: pair[0], default=(datetime.min, None))
    last_day = last.date()
    if dates.code is StorageCode.WATER:
        day = (dates.lot.in_water or dates.lot.cut).date()
    elif water is not None:
        day = max(water.date(), first)
    else:
        return ()
    found = []
    while (due := day + DAY * FRESH_WATER_DAYS) < last_day:
        day = _working_day_near(due, day, workday)
        if day >= min(last_day, end):
            break
        if day >= first:
            found.append(day)
    return tuple(found)


def _departs(part: Part, dates: StorageDates) -> tuple[datetime, datetime | None]:
    """When a part leaves at the latest, and when it goes into water for that."""
    if part.order is not None:
        return part.order.leaves, part.order.into_water_by
    if part.state is State.SELL_ELSEWHERE:
        return max((moment for _, moment in dates.elsewhere), default=dates.keeps_until or datetime.min), None
    return dates.sell_by or datetime.min, dates.into_water_by


def _working_day_near(due: date, before: date, workday: Workday) -> date:
    """A working day for a change that is due, not the day after the change before it."""
    for candidate in (due, due - DAY, due + DAY):
        if not workday.is_off(candidate) and candidate - before > DAY:
            return candidate
    return due
