"""What holds of every allocation, whatever lots, orders and outlets a farm has."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from random import Random
from statistics import median

import pytest
from hypothesis import Phase, given, settings
from hypothesis import strategies as st

from tagmaker.lot import Mark, NoDate, OrderDates, State, StorageDates
from tagmaker.storage.allocation import Allocation, Line, allocate
from tagmaker.storage.serving import Supply, supplies
from tests.farms import CROPS
from tests.packing_farms import Yard, a_yard, with_kept

SEEDS = st.integers(0, 2**32 - 1).map(Random)
# A smaller seed is no smaller farm, so that none is looked for.
SEEDS_ONLY = (Phase.explicit, Phase.reuse, Phase.generate)


def kept(yard: Yard, allocation: Allocation) -> dict[str, StorageDates]:
    """The dates of the lots that give any, as they would be if every line were kept, by code."""
    giving = {line.supply.lot.lot_code for line in allocation.lines}
    lots = tuple(lot for lot in with_kept(yard, allocation) if lot.lot_code in giving)
    after = replace(yard, lots=lots)
    return {dates.lot.lot_code: dates for dates in after.dated()}


def order_of(line: Line, dates: StorageDates) -> OrderDates:
    """What `dates` says of a line that is kept."""
    return next(
        order
        for order in dates.orders
        if (order.leaves, order.use) == (line.demand.leaves, line.demand.use)
        and (line.fixed or order.stems == line.stems)
    )


@pytest.mark.slow
@settings(max_examples=500, deadline=None, phases=SEEDS_ONLY)
@given(SEEDS)
def test_a_line_is_what_the_dates_call_good_and_it_moves_no_sell_by(random: Random) -> None:
    """If every line is kept, each is served by its lot with the same hours and marks, and no date moves."""
    yard = a_yard(random, lots=3)
    dated = yard.dated()
    there = supplies(dated, yard.farm, CROPS, yard.now, yard.airs)
    allocation = allocate(there, yard.orders, yard.farm, yard.now, yard.usual)
    before = {dates.lot.lot_code: dates for dates in dated}
    after = kept(yard, allocation)
    for line in allocation.lines:
        dates = after[line.supply.lot.lot_code]
        assert dates.state not in (State.TOO_OLD, State.NO_DATE)
        order = order_of(line, dates)
        assert order.ok
        assert order.into_water_by == line.serving.into_water_by
        assert order.stand_warm_from == line.serving.stand_warm_from
        assert order.test_on == line.serving.test_on
        assert (Mark.TEST_A_BUNCH in line.serving.marks) == order.test_first
        assert set(dates.marks) & {Mark.HOW_OPEN} == set(line.serving.marks) & {Mark.HOW_OPEN}
    for code, dates in after.items():
        assert dates.sell_by == before[code].sell_by
        assert dates.keeps_until == before[code].keeps_until


@given(SEEDS)
@settings(max_examples=12, deadline=None, phases=SEEDS_ONLY)
def test_no_bunch_is_promised_twice(random: Random) -> None:
    """What is given of a lot and what is free of it are its bunches and stems; a bunch is never parted."""
    yard = a_yard(random)
    allocation = yard.allocated()
    bunches: Counter[str] = Counter()
    stems: Counter[str] = Counter()
    for line in allocation.lines:
        code, per = line.supply.lot.lot_code, line.supply.lot.per_bunch
        bunches[code] += line.bunches
        stems[code] += line.stems
        assert (line.bunches - 1) * per < line.stems <= line.bunches * per
    for lot in yard.lots:
        assert bunches[lot.lot_code] + allocation.free[lot.lot_code] == lot.bunches_left
        assert stems[lot.lot_code] <= (lot.left or 0)


@pytest.mark.slow
@given(SEEDS)
@settings(max_examples=12, deadline=None, phases=SEEDS_ONLY)
def test_the_order_of_the_rows_is_no_matter(random: Random) -> None:
    """Lots, orders and usual sales in any other order give the same lines, reasons and shortfalls."""
    yard = a_yard(random)
    one = yard.allocated()
    lots, orders, usual = list(yard.lots), list(yard.orders), list(yard.usual)
    for rows in (lots, orders, usual):
        random.shuffle(rows)
    other = replace(yard, lots=tuple(lots), orders=tuple(orders), usual=tuple(usual)).allocated()
    assert said(one) == said(other)


def said(allocation: Allocation) -> list[object]:
    """Everything that an allocation says, in its order."""
    lines = [(line.demand, line.supply.lot.lot_code, line.bunches, line.why) for line in allocation.lines]
    return [*lines, *((short.demand, short.why) for short in allocation.shortfalls)]


@given(SEEDS)
@settings(max_examples=12, deadline=None, phases=SEEDS_ONLY)
def test_each_demand_gets_what_it_wants_or_is_told_what_lacks(random: Random) -> None:
    """What is given and what is said to be missing come to what is wanted, a bunch of stems more at most."""
    allocation = a_yard(random).allocated()
    missing = {short.demand.rank: short for short in allocation.shortfalls}
    for rank in {line.demand.rank for line in allocation.lines} | set(missing):
        lines = [line for line in allocation.lines if line.demand.rank == rank]
        short = missing.get(rank)
        demand = short.demand if short else lines[0].demand
        if demand.bunches is not None:
            lacks = 0 if short is None else short.bunches or 0
            free_of_kept = [line for line in lines if not line.fixed]
            if free_of_kept or short:
                assert sum(line.bunches for line in lines) + lacks == demand.bunches
            continue
        lacks = 0 if short is None else short.stems or 0
        given_stems = sum(line.stems for line in lines)
        assert given_stems + lacks >= (demand.stems or 0)
        if short is not None:
            assert given_stems + lacks == demand.stems


@pytest.mark.slow
@pytest.mark.slow
def test_selling_one_bunch_changes_few_lines() -> None:
    """On farms of 90 lots and 60 orders half of such sales change two lines of some sixty, or fewer."""
    changes = []
    for seed in range(2):
        random = Random(seed)
        yard = a_yard(random, 90, 60)
        there = yard.supplies()
        before = bunches_by_line(allocate(there, yard.orders, yard.farm, yard.now, yard.usual))
        assert len(before) > 40
        for code in random.sample(sorted({code for _, code in before}), 12):
            sold = [_one_bunch_less(s) if s.lot.lot_code == code else s for s in there]
            after = bunches_by_line(allocate(sold, yard.orders, yard.farm, yard.now, yard.usual))
            changes.append(sum(before[line] != after[line] for line in before | after))
    assert max(changes) > 0
    assert median(changes) <= 2


def bunches_by_line(allocation: Allocation) -> Counter[tuple[object, str]]:
    """Bunches by demand and lot."""
    lines = allocation.lines
    return Counter({(line.demand.rank, line.supply.lot.lot_code): line.bunches for line in lines})


def _one_bunch_less(supply: Supply) -> Supply:
    lot = supply.lot
    return replace(supply, lot=replace(lot, gone=lot.gone + min(lot.per_bunch, lot.left or 0)))


@pytest.mark.slow
def test_the_farms_are_worth_trying() -> None:
    """Among forty of them are lots of every state, refused ones, lines with marks, and shortfalls."""
    found, dated = list[Allocation](), list[StorageDates]()
    for seed in range(40):
        yard = a_yard(Random(seed), lots=5)
        dates = yard.dated()
        there = supplies(dates, yard.farm, CROPS, yard.now, yard.airs)
        found.append(allocate(there, yard.orders, yard.farm, yard.now, yard.usual))
        dated += dates
    assert {dates.state for dates in dated} == set(State)
    assert NoDate.WET in {dates.no_date for dates in dated}
    lines = [line for allocation in found for line in allocation.lines]
    assert {mark for line in lines for mark in line.serving.marks} >= {
        Mark.HALF_COLOURED,
        Mark.HOW_OPEN,
        Mark.TEST_A_BUNCH,
        Mark.PUT_IN_WATER_NOW,
    }
    assert len(lines) > 50
    assert {line.fixed for line in lines} == {True, False}
    assert sum(bool(allocation.shortfalls) for allocation in found) > 12
