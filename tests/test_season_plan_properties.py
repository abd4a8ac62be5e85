"""What holds of every season plan: it promises nothing that the dates refuse, and nothing twice."""

from __future__ import annotations

import random
from collections import Counter
from collections.abc import Sequence
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tagmaker.desk.season_planning import PlannedSeason, plan_season
from tagmaker.lot import Lot, Plan, State
from tagmaker.storage.dating import date_lots
from tagmaker.storage.orders import still_to_serve
from tagmaker.storage.planning import as_planned, plan_lots
from tagmaker.storage.room import room
from tagmaker.storage.season_accepted import accepted_lots
from tagmaker.storage.season_ground import PLAN_DAYS, Ground
from tests.farms import CROPS
from tests.season_farms import NOW, random_ground

SEEDS = st.integers(0, 10**9)


def accepted(plan: PlannedSeason) -> tuple[Lot, ...]:
    """The lots with all rows accepted."""
    return accepted_lots(
        plan.ground.lots, plan.found.rows, NOW, lambda lot, n: f"{lot.lot_code}{'BCDEFG'[n]}"
    )


def check(ground: Ground) -> None:
    """All that has to hold of the plan of a farm."""
    plan = plan_season(ground)
    lots = accepted(plan)
    advice = plan_lots(lots, ground.farm, CROPS, NOW, ground.airs)
    check_cut_lots(plan, lots)
    check_plans(plan, advice)
    check_amounts(plan, lots)
    check_room(plan, lots, advice)


def check_cut_lots(plan: PlannedSeason, lots: tuple[Lot, ...]) -> None:
    """Each row of a lot that is cut is an order that its dates serve, as the row says it."""
    wanted = {(row.lot, row.leaves, row.use): row for row in plan.found.rows if not row.planned}
    for dates in date_lots(lots, plan.ground.farm, CROPS, NOW, plan.ground.airs):
        for judged in dates.orders:
            row = wanted.pop((dates.lot.lot_code, judged.leaves, judged.use), None)
            if row is None:
                continue
            assert judged.ok
            assert judged.stems == row.stems
            assert judged.into_water_by == row.serving.into_water_by
            assert judged.test_on == row.serving.test_on
            assert dates.state not in (State.TOO_OLD, State.NO_DATE)
    assert wanted == {}


def check_plans(plan: PlannedSeason, advice: Sequence[Plan]) -> None:
    """Each row of a plan is an order that it is advised for, in the row's way and cooler."""
    wanted: Counter[object] = Counter(
        (row.lot, row.leaves, row.use, row.stems, row.way, row.cooler)
        for row in plan.found.rows
        if row.planned
    )
    told: Counter[object] = Counter(
        (
            (each.lot.parents or (each.lot.lot_code,))[0],
            each.needed,
            each.use,
            each.stems,
            each.advice,
            each.lot.cooler,
        )
        for each in advice
    )
    assert wanted - told == Counter()


def check_amounts(plan: PlannedSeason, lots: tuple[Lot, ...]) -> None:
    """No stems are promised twice."""
    promised: Counter[str] = Counter()
    for row in plan.found.rows:
        promised[row.lot] += row.stems
    for lot in plan.ground.lots:
        kept = sum(
            (lot.left or 0) if stems is None else stems
            for order, stems in still_to_serve(lot)
            if order.leaves >= NOW
        )
        if promised[lot.lot_code]:
            assert promised[lot.lot_code] + kept <= (lot.left or 0)
    for lot in lots:
        assert (lot.left or 0) >= 0


def check_room(plan: PlannedSeason, lots: tuple[Lot, ...], advice: Sequence[Plan]) -> None:
    """The room that is said is the room that the accepted lots take."""
    farm, airs = plan.ground.farm, plan.ground.airs
    dated = date_lots(lots, farm, CROPS, NOW, airs)
    days = room(dated, farm, CROPS, NOW, PLAN_DAYS, as_planned(advice, farm, CROPS, airs))
    told = [replace(day, overflow=()) for day in plan.rooms]  # a plan that is split has other codes
    assert told == [replace(day, overflow=()) for day in days]


@pytest.mark.slow
@settings(max_examples=6, deadline=None)
@given(SEEDS)
def test_every_row_is_one_that_the_dates_would_serve(seed: int) -> None:
    """Accepted, none is NOT FOR, TOO LATE FOR or of a lot too old; nothing is twice; the room is as said."""
    check(random_ground(seed))


@pytest.mark.slow
@settings(max_examples=12, deadline=None)
@given(SEEDS)
def test_every_row_is_one_that_the_dates_would_serve_on_many_farms(seed: int) -> None:
    """The same on more farms."""
    check(random_ground(seed, lots=6, plans=4, orders=6))


@pytest.mark.slow
@settings(max_examples=5, deadline=None)
@given(SEEDS)
def test_the_order_of_rows_decides_nothing(seed: int) -> None:
    """The same lots and orders in another order give the same plan."""
    ground = random_ground(seed)
    chance = random.Random(seed)
    lots, orders, dated = list(ground.lots), list(ground.orders), list(ground.dated)
    for rows in (lots, orders, dated):
        chance.shuffle(rows)
    again = plan_season(replace(ground, lots=lots, orders=orders, dated=dated))
    assert again.found == plan_season(ground).found
