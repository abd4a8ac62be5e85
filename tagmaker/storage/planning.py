"""Advice for rows whose cut lies in the future: when to cut, and how to keep the stems.

A plan is never stretched: what would need that is better cut later.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterator, Sequence
from dataclasses import replace
from datetime import date, datetime
from itertools import groupby
from typing import NamedTuple

from tagmaker import notes
from tagmaker.farm import Cooler, Farm
from tagmaker.lot import CutWindow, Lot, NoDate, Order, Plan, Stage, StorageCode, StorageDates, Surface
from tagmaker.notes import Note
from tagmaker.storage.air import Airs
from tagmaker.storage.crops import CropTable, Keeping
from tagmaker.storage.dating import date_lot, view_of
from tagmaker.storage.moments import DAY
from tagmaker.storage.remarks import SOON_DAYS
from tagmaker.storage.whereabouts import TO_THE_COOLER

# Why a lot would have no date whatever it is cut for: its cooler is set too cold, its field is too hot.
NEVER_TO_BE_CUT = (NoDate.SET_POINT, NoDate.FROST, NoDate.HEAT)


def plan_lots(
    lots: Sequence[Lot], farm: Farm, crops: CropTable, now: datetime, airs: Airs | None = None
) -> tuple[Plan, ...]:
    """Advice for every planned lot, one plan an order, in the order given."""
    ground = Ground(farm, crops, airs)
    return tuple(plan for lot in lots if lot.planned for plan in _plans(lot, ground, now))


class Ground(NamedTuple):
    """What every plan is worked out on."""

    farm: Farm
    crops: CropTable
    airs: Airs | None


def _plans(lot: Lot, ground: Ground, now: datetime) -> Iterator[Plan]:
    ways = ways_open(lot, ground.crops)
    stage = lot.stage if lot.stage is not None else ways[0].right_stage
    orders = [order for order in lot.orders if order.leaves >= now]
    for order in orders:
        yield _plan_for_order(replace(lot, stage=stage), order, ways, ground, now)
    if not orders:
        yield _plan_without_order(replace(lot, stage=stage), ways, ground)


def ways_open(lot: Lot, crops: CropTable) -> tuple[Keeping, ...]:
    """The ways a planned lot may still be kept: what the row has decided is not asked again."""
    ways = crops.ways(lot.crop, lot.form)
    if lot.bulb:
        return tuple(way for way in ways if way.code is StorageCode.BULB)
    if lot.bulb is False or lot.storage is StorageCode.WATER:
        ways = tuple(way for way in ways if way.code is not StorageCode.BULB)
    if lot.storage is StorageCode.WATER:
        return tuple(way for way in ways if way.code is StorageCode.WATER)
    if lot.storage is StorageCode.DRY:
        return tuple(way for way in ways if way.code is not StorageCode.WATER)
    return ways


def as_cut(lot: Lot, day: date, code: StorageCode, farm: Farm, orders: tuple[Order, ...]) -> Lot:
    """The planned lot as if it had been cut at the start of a workday and kept one way."""
    cut = lot.cut if day == lot.cut.date() else farm.workday.start(day)
    return replace(
        lot,
        cut=cut,
        in_cooler=cut + TO_THE_COOLER,
        bulb=code is StorageCode.BULB,
        storage=None if code is StorageCode.BULB else code,
        surface=Surface.DRY,
        in_water=None,
        moves=(),
        orders=orders,
        planned=False,
    )


def _serves(lot: Lot, order: Order, ground: Ground) -> bool:
    """Whether a cut would serve an order unstretched."""
    view = view_of(lot, ground.farm, ground.crops, lot.cut, ground.airs)
    return view.will_do(order.leaves, ground.farm.uses[order.use])


def _plan_for_order(lot: Lot, order: Order, ways: Sequence[Keeping], ground: Ground, now: datetime) -> Plan:
    whole = (replace(order, stems=None),)
    windows: dict[StorageCode, CutWindow] = {}
    good: dict[StorageCode, bool] = {}  # ways that do for the planned cut -> test first
    refused: Note | None = None
    for way in ways:
        refused = never_dated(lot, way.code, ground)
        if refused is not None:
            continue
        dates = _dated_as_cut(lot, way.code, ground, whole)
        if _serves(dates.lot, order, ground):
            good[way.code] = any(judged.test_first for judged in dates.orders)
        window = _window(lot, order, way, ground, now.date())
        if window is not None:
            first, last = window
            windows[way.code] = CutWindow(
                first_cut=first, last_cut=last, test_first=good.get(way.code, False)
            )
    advice = advised(good, (order.leaves.date() - lot.cut.date()).days)
    test_first = advice is not None and good[advice]
    return Plan(
        lot=lot,
        needed=order.leaves,
        stems=order.stems,
        use=order.use,
        advice=advice,
        test_first=test_first,
        stage=lot.stage or Stage.GREEN,
        ways=windows,
        why=refused
        if refused and not windows
        else _why(lot, order.leaves, advice, windows, test_first, ways[0]),
    )


def _window(lot: Lot, order: Order, way: Keeping, ground: Ground, today: date) -> tuple[date, date] | None:
    """The first day from today and the last one on which a cut would serve an order; None: no day would.

    The last one leaves the hours in water. Before it a later cut is only fresher, so that the first is
    found by halving.
    """

    def serves(day: date) -> bool:
        return _serves(as_cut(lot, day, way.code, ground.farm, ()), order, ground)

    earliest = max(today, order.leaves.date() - way.cap_days * DAY)
    days = [earliest + ahead * DAY for ahead in range((order.leaves.date() - earliest).days + 1)]
    last = next((at for at in range(len(days) - 1, -1, -1) if serves(days[at])), None)
    if last is None:
        return None
    return days[bisect_left(range(last), True, key=lambda at: serves(days[at]))], days[last]


def advised(good: dict[StorageCode, bool], stay_days: int) -> StorageCode | None:
    """WATER within days; else the first way without a test; else bulb on before the others."""
    if stay_days <= SOON_DAYS and StorageCode.WATER in good:
        return StorageCode.WATER
    untested = [code for code, test_first in good.items() if not test_first]
    if untested:
        return untested[0]
    by_safety = (StorageCode.BULB, StorageCode.DRY, StorageCode.WATER)
    return next((code for code in by_safety if code in good), None)


def _why(
    lot: Lot,
    needed: datetime,
    advice: StorageCode | None,
    windows: dict[StorageCode, CutWindow],
    test_first: bool,
    way: Keeping,
) -> Note:
    if advice is None:
        first = min((window.first_cut for window in windows.values()), default=None)
        last = max((window.last_cut for window in windows.values()), default=None)
        return notes.PlanBad(needed=needed, cut=lot.cut, first=first, last=last)
    window = windows[advice]
    stage = lot.stage if lot.stage is not None else way.right_stage
    return notes.PlanGood(
        code=advice.value,
        first=window.first_cut,
        last=window.last_cut,
        needed=needed,
        test_first=test_first,
        stage=stage.word,
        looks=way.stages[stage],
    )


def _plan_without_order(lot: Lot, ways: Sequence[Keeping], ground: Ground) -> Plan:
    """What a planned cut would come to if nothing is ordered from it; with the bulb on too, if it may be."""
    way, *others = ways
    dates = _dated_as_cut(lot, way.code, ground)
    bulb = next((other for other in others if other.code is StorageCode.BULB), None)
    refused = never_dated(lot, way.code, ground)
    why = refused or notes.PlanNothing(code=way.code.value)
    if refused is None and dates.sell_by is not None:
        with_bulb = _dated_as_cut(lot, bulb.code, ground).sell_by if bulb is not None else None
        why = notes.PlanOpen(code=way.code.value, sell_by=dates.sell_by, with_bulb=with_bulb)
    return Plan(
        lot=lot,
        needed=None,
        stems=None,
        use=lot.use,
        advice=way.code if isinstance(why, notes.PlanOpen) else None,
        test_first=dates.test_first,
        stage=lot.stage or Stage.GREEN,
        ways={},
        why=why,
    )


def never_dated(lot: Lot, code: StorageCode, ground: Ground) -> Note | None:
    """Why a lot would have no date in its cooler, whatever it is cut for; None: nothing is wrong."""
    cut = as_cut(lot, lot.cut.date(), code, ground.farm, ())
    dates = date_lot(cut, ground.farm, ground.crops, cut.cut + TO_THE_COOLER, ground.airs)
    return dates.why if dates.no_date in NEVER_TO_BE_CUT else None


def _dated_as_cut(
    lot: Lot, code: StorageCode, ground: Ground, orders: tuple[Order, ...] = ()
) -> StorageDates:
    cut = as_cut(lot, lot.cut.date(), code, ground.farm, orders)
    return date_lot(cut, ground.farm, ground.crops, cut.cut, ground.airs)


def as_planned(
    plans: Sequence[Plan], farm: Farm, crops: CropTable, airs: Airs | None = None
) -> tuple[StorageDates, ...]:
    """What is planned, dated as if it were cut and kept as advised: for the room that it will take.

    Stems that no advice is for are kept the way that takes most room; those that no order takes, the
    first way of their crop.
    """
    ground = Ground(farm, crops, airs)
    found: list[StorageDates] = []
    for _, group in groupby(plans, key=lambda plan: plan.lot.lot_code):
        own = list(group)
        left = own[0].lot.left or 0
        lot = replace(own[0].lot, split_off=0)
        ways = ways_open(lot, crops)
        for plan in own:
            stems = left if plan.stems is None else min(plan.stems, left)
            left -= stems
            code = plan.advice or _roomiest(ways, farm.coolers[lot.cooler])
            orders = (Order(leaves=plan.needed, stems=None, use=plan.use),) if plan.needed else ()
            found.append(_dated_as_cut(replace(lot, stems=stems), code, ground, orders))
        found.append(_dated_as_cut(replace(lot, stems=left), ways[0].code, ground))
    return tuple(dates for dates in found if dates.left)


def _roomiest(ways: Sequence[Keeping], cooler: Cooler) -> StorageCode:
    """The way in which a stem takes the largest share of a cooler."""

    def share(way: Keeping) -> float:
        if way.code is StorageCode.WATER:
            return 1 / (way.per_bucket * (cooler.buckets or 1))
        return 1 / ((way.per_crate or way.per_bucket) * (cooler.crates or 1))

    return max(ways, key=share).code
