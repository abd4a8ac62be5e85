"""What a season plan proposes, aim by aim, and what it says would make it."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, datetime, time, timedelta

import pytest

from tagmaker.desk import season_planning
from tagmaker.desk.season_planning import PlannedSeason, plan_season
from tagmaker.farm import Use
from tagmaker.lot import StorageCode
from tagmaker.storage.demand import WrittenOrder
from tagmaker.storage.season_hints import Unsaid
from tagmaker.storage.season_problem import Claim
from tests.farms import celsius, order
from tests.season_farms import NOW, a_cooler, cut_before, farm_of, ground, plan_of, planned, shop

FRIDAY = datetime(2027, 4, 16, 8)
WEDNESDAY = datetime(2027, 4, 14, 9)


def written(code: str, stems: int | None = None, use: str = "hall", **more: object) -> WrittenOrder:
    """A row of the Orders sheet for Wednesday."""
    return WrittenOrder(order_code=code, leaves=WEDNESDAY, use=use, stems=stems, **more)  # type: ignore[arg-type]


def hall(**more: object) -> Use:
    """An outlet that sells only what was ordered."""
    return Use(name="hall", vase_days=2, leaves=time(9), **more)  # type: ignore[arg-type]


def rows(plan: PlannedSeason) -> list[tuple[str, str, date, str, int]]:
    """Lot, use, day, way and stems of every row."""
    return [(row.lot, row.use, row.leaves.date(), row.way.value, row.stems) for row in plan.found.rows]


def lacking(plan: PlannedSeason, claim: Claim) -> list[tuple[str, int]]:
    """What wants of a claim lack, by name or day."""
    return [
        (lack.want.name or f"{lack.want.leaves:%m-%d}", lack.amount)
        for lack in plan.found.lacking
        if lack.want.claim is claim
    ]


def test_orders_of_a_must_use_come_before_others_and_those_before_usual_sales() -> None:
    """Of too few stems the order that must be filled gets its own, then the other one; the shop gets none."""
    farm = farm_of(shop(), hall(), Use(name="feast", vase_days=2, leaves=time(9), must=True))
    plan = plan_of(farm, [cut_before(2, stems=300)], [written("A", 250), written("B", 200, use="feast")])
    assert lacking(plan, Claim.MUST) == []
    assert lacking(plan, Claim.ORDERED) == [("A", 150)]
    assert {row.use for row in plan.found.rows} == {"hall", "feast"}


def test_of_usual_sales_the_nearest_is_filled_first() -> None:
    """500 stems fill this Friday and a part of the next."""
    plan = plan_of(farm_of(shop(400)), [cut_before(2, stems=500)])
    assert [(row.leaves, row.stems) for row in plan.found.rows] == [
        (FRIDAY, 400),
        (FRIDAY + timedelta(days=7), 100),
    ]


def test_what_ends_first_goes_to_the_day_that_comes_first() -> None:
    """The older lot goes this Friday, the younger one the next."""
    lots = [cut_before(1, "101", 400), cut_before(4, "102", 400)]
    plan = plan_of(farm_of(shop(400)), lots)
    assert [(row.lot, row.leaves.date().day) for row in plan.found.rows] == [("101", 23), ("102", 16)]


def test_an_order_is_a_part_of_what_the_outlet_usually_sells() -> None:
    """A shop that usually sells 400 and has ordered 150 of them gets 400 in all, in one row."""
    wish = WrittenOrder(order_code="A", leaves=FRIDAY, use="shop", stems=150)
    plan = plan_of(farm_of(shop(400)), [cut_before(2, stems=400)], [wish])
    (row,) = plan.found.rows
    assert (row.stems, row.orders, row.usual_stems) == (400, ("A",), 250)


def test_stems_are_whole_bunches_and_an_order_is_not_left_short_for_a_part_of_one() -> None:
    """An order for 35 stems gets four bunches of ten; usual sales of 35 get three, and 5 find no outlet."""
    plan = plan_of(farm_of(hall()), [cut_before(2, stems=100, use="hall")], [written("A", 35)])
    assert [(row.bunches, row.stems) for row in plan.found.rows] == [(4, 40)]
    usual = plan_of(farm_of(shop(35)), [cut_before(12, stems=35)])
    assert [(row.bunches, row.stems) for row in usual.found.rows] == [(3, 30)]
    assert [(rest.lot, rest.stems) for rest in usual.found.unplaced] == [("101", 5)]


def test_a_want_in_bunches_counts_bunches_of_any_size() -> None:
    """Nine bunches may be of ten stems from one lot and of five from another."""
    lots = [cut_before(2, "101", 40, use="hall"), cut_before(2, "102", 100, per_bunch=5, use="hall")]
    plan = plan_of(farm_of(hall()), lots, [written("A", bunches=9)])
    assert sum(row.bunches for row in plan.found.rows) == 9
    assert lacking(plan, Claim.ORDERED) == []


def test_what_is_promised_stays_and_what_it_cannot_serve_goes_to_nobody() -> None:
    """100 stems needed in May from stems that will not last are given to nobody; the rest is sold."""
    late = order(datetime(2027, 5, 20, 8), 100)
    plan = plan_of(farm_of(shop(400)), [cut_before(2, stems=300, orders=(late,))])
    assert [row.stems for row in plan.found.rows] == [200]
    (rest,) = plan.found.unplaced
    assert (rest.stems, rest.held) == (100, 100)


def test_another_cooler_is_proposed_only_where_the_row_s_own_is_too_full() -> None:
    """With room in the barn all stays there; with three crates of it the rest goes south."""
    coolers = [a_cooler("barn", crates=40), a_cooler("south", crates=40)]
    lot = planned(1, stems=1200)
    roomy = plan_of(farm_of(shop(400), coolers=coolers), [lot])
    assert {(row.cooler, row.elsewhere) for row in roomy.found.rows} == {("barn", False)}
    full = plan_of(farm_of(shop(400), coolers=[replace(coolers[0], crates=3), coolers[1]]), [lot])
    assert {(row.cooler, row.elsewhere) for row in full.found.rows} == {("barn", False), ("south", True)}
    assert full.overfull == ()


def test_whole_crates_fit_where_the_plan_says_so() -> None:
    """Room that fractions of crates and buckets would just fill is not filled to the last: no day is over."""
    coolers = [a_cooler(name, 39, crates=40, buckets=30) for name in ("barn", "south")]
    feast = frozenset({date(2027, 5, 8), date(2027, 5, 9)})
    use = Use(name="feast", vase_days=3, days=frozenset(), dates=feast, leaves=time(7), stems=900)
    plan = plan_of(farm_of(shop(500), use, coolers=coolers), [planned(1, stems=3000)])
    assert sum(row.stems for row in plan.found.rows) > 2000
    assert plan.overfull == ()
    assert max(day.fill or 0.0 for day in plan.rooms if day.cooler == "barn") > 0.9


def test_nobody_s_stems_are_not_proposed_to_an_outlet_that_does_not_say_how_much_it_sells() -> None:
    """It is asked instead what it sells, with the stems that would do for it."""
    plan = plan_of(farm_of(shop(100), hall()), [cut_before(2, stems=500)])
    assert {row.use for row in plan.found.rows} == {"shop"}
    assert plan.unsaid == (Unsaid(use="hall", leaves=datetime(2027, 4, 13, 9), lots=("101",), stems=300),)


def test_a_dial_that_would_do_if_it_were_measured_is_named() -> None:
    """26 days are too long at the 41 °F that an unmeasured cooler counts at, and not at its dial's 39 °F."""
    feast = Use(
        name="feast",
        vase_days=3,
        days=frozenset(),
        dates=frozenset({date(2027, 5, 9)}),
        leaves=time(7),
        stems=300,
    )
    barn, lot = a_cooler("barn", 39, trusted=False), planned(1, stems=300, use="feast")
    plan = plan_of(farm_of(feast, coolers=[barn]), [lot])
    assert plan.found.rows == ()
    (hint,) = plan.would_do
    assert (hint.lot, hint.way, hint.cooler, hint.days) == ("201", StorageCode.BULB, "barn", 26)
    assert hint.measured_c == celsius(39)
    known = plan_of(farm_of(feast, coolers=[replace(barn, trusted=True)]), [lot])
    assert rows(known) == [("201", "feast", date(2027, 5, 9), "BULB", 300)]
    assert known.would_do == ()


def test_what_has_gone_is_not_taken_for_what_is_promised() -> None:
    """Of a lot of which 100 are sold, what is left and no more is proposed."""
    plan = plan_of(farm_of(shop(400)), [cut_before(2, stems=300, gone=100)])
    assert [row.stems for row in plan.found.rows] == [200]


def test_without_time_nothing_is_proposed_and_that_is_said(monkeypatch: pytest.MonkeyPatch) -> None:
    """Where the solver finds nothing in its time nothing is proposed, and no aim is proven."""
    monkeypatch.setattr(season_planning, "solve", lambda *_: None)
    plan = plan_season(ground(farm_of(shop(400)), [cut_before(2, stems=300)]))
    assert (plan.found.rows, plan.unproven) == ((), "kept")
    assert lacking(plan, Claim.USUAL)[0] == ("04-16", 400)


def test_a_row_has_another_name_when_anything_that_it_came_from_is_another() -> None:
    """Stems, an order, the cut, a test or the outlet's sales: each changes the names of the rows."""
    base = cut_before(2, stems=300)
    names = {plan_of(farm_of(shop(400)), [base]).found.rows[0].id}
    for other in (replace(base, stems=310), replace(base, cut=base.cut - timedelta(days=1))):
        names.add(plan_of(farm_of(shop(400)), [other]).found.rows[0].id)
    names.add(plan_of(farm_of(shop(350)), [base]).found.rows[0].id)
    later = order(NOW + timedelta(days=3), 10)
    names.add(plan_of(farm_of(shop(400)), [replace(base, orders=(later,))]).found.rows[0].id)
    assert len(names) == 5
    assert plan_of(farm_of(shop(400)), [base]).found.rows[0].id in names
