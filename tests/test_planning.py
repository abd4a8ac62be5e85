"""Planned rows: when to cut for an order, and how to keep what is cut."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, datetime, timedelta

import pytest

from tagmaker import notes
from tagmaker.lot import Lot, Plan, Stage, StorageCode, Verdict
from tagmaker.storage.planning import plan_lots
from tests.farms import COOLERS, CROPS, NOW, USES, dated, make_farm, make_lot, order

SATURDAY = datetime(2027, 4, 24, 8)


def planned(cut: datetime, **more: object) -> Lot:
    """Tulips whose cut lies in the future."""
    return make_lot(**{"cut": cut, "planned": True, "stage": None, **more})


def plan(lot: Lot) -> Plan:
    """The one plan of a lot."""
    (found,) = plan_lots([lot], make_farm(), CROPS, NOW)
    return found


def days_before(departure: datetime, days: int) -> datetime:
    """A cut at eight in the morning, some days before a departure."""
    return (departure - timedelta(days=days)).replace(hour=8)


def test_a_planned_row_is_not_dated() -> None:
    """It has no storage dates: nothing is printed for it."""
    from tagmaker.storage.dating import date_lots

    assert date_lots([planned(days_before(SATURDAY, 5))], make_farm(), CROPS, NOW) == ()


def test_a_planned_row_takes_the_right_stage_of_its_crop() -> None:
    """A blank stage is the one to cut at."""
    assert plan(planned(days_before(SATURDAY, 5), orders=(order(SATURDAY),))).stage is Stage.TIGHT


@pytest.mark.parametrize(
    ("days", "advice", "test_first"),
    [
        (2, StorageCode.WATER, False),  # within three days
        (3, StorageCode.WATER, False),
        (4, StorageCode.DRY, False),  # the first way without a test
        (14, StorageCode.BULB, False),  # DRY would want a test: it is after its early date
        (16, StorageCode.BULB, False),  # DRY would be after its early date
        (21, StorageCode.BULB, True),  # nothing goes without a test: bulb on before the others
        (26, None, False),
    ],
)
def test_a_planned_row_is_advised_by_its_stay(
    days: int, advice: StorageCode | None, test_first: bool
) -> None:
    """Water for days, dry for weeks, bulb on beyond, and nothing past that."""
    found = plan(planned(days_before(SATURDAY, days), orders=(order(SATURDAY),)))
    assert (found.advice, found.test_first) == (advice, test_first)


def test_a_planned_row_says_from_when_to_cut_for_each_way() -> None:
    """The first cut is the last one that still serves the order, the last leaves its hours in water."""
    found = plan(planned(days_before(SATURDAY, 30), orders=(order(SATURDAY),)))
    dry = found.ways[StorageCode.DRY]
    assert found.advice is None
    assert found.why.macro() == "plan_bad"
    assert (SATURDAY.date() - dry.first_cut).days == 17  # as test_dating: a single at 41 °F for a shop
    assert dry.last_cut == date(2027, 4, 23)  # eight hours in water before Saturday at eight
    assert found.ways[StorageCode.BULB].first_cut < dry.first_cut < found.ways[StorageCode.WATER].first_cut


@pytest.mark.parametrize("code", list(StorageCode))
def test_a_planned_window_is_what_the_dates_would_say(code: StorageCode) -> None:
    """A lot cut on the first day serves the order, one cut the day before does not."""
    window = plan(planned(days_before(SATURDAY, 5), orders=(order(SATURDAY),))).ways[code]
    way = {"bulb": True} if code is StorageCode.BULB else {"storage": code}
    for day, ok in ((window.first_cut, True), (window.first_cut - timedelta(days=1), False)):
        cut = datetime.combine(day, NOW.time())
        assert dated(cut=cut, now=cut, orders=(order(SATURDAY),), **way).orders[0].ok is ok


def test_a_planned_row_keeps_to_what_the_grower_decided() -> None:
    """Bulb off or storage filled leaves the other ways out."""
    orders = (order(SATURDAY),)
    off = plan(planned(days_before(SATURDAY, 5), bulb=False, orders=orders))
    water = plan(planned(days_before(SATURDAY, 5), storage=StorageCode.WATER, orders=orders))
    bulb = plan(planned(days_before(SATURDAY, 5), bulb=True, orders=orders))
    assert [set(found.ways) for found in (off, water, bulb)] == [
        {StorageCode.DRY, StorageCode.WATER},
        {StorageCode.WATER},
        {StorageCode.BULB},
    ]


def test_a_planned_row_is_never_stretched() -> None:
    """An event in 24 days would stretch a dry lot; it is better cut later or with its bulb on."""
    saturday = SATURDAY.replace(hour=6, minute=30)
    found = plan(planned(days_before(SATURDAY, 24), bulb=False, orders=(order(saturday, use="event"),)))
    assert found.advice is None
    assert USES["event"].vase_days == 2


def test_a_planned_row_without_an_order_says_what_it_would_come_to() -> None:
    """Nothing ordered: the sell-by of the first way."""
    found = plan(planned(days_before(SATURDAY, 5)))
    assert (found.needed, found.advice, found.why.macro()) == (None, StorageCode.DRY, "plan_open")


def test_a_planned_row_with_two_orders_has_a_plan_for_each() -> None:
    """Each order is advised by its own stay."""
    later = SATURDAY + timedelta(days=7)
    lot = planned(days_before(SATURDAY, 2), orders=(order(SATURDAY, 60), order(later, 60)))
    found = plan_lots([lot], make_farm(), CROPS, NOW)
    assert [(p.needed, p.advice) for p in found] == [(SATURDAY, StorageCode.WATER), (later, StorageCode.DRY)]


def test_a_planned_row_for_a_cooler_that_would_freeze_it_is_refused_with_the_reason() -> None:
    """Peonies freeze at −1.1 °C: with a set point of −2 °C there is no day to cut for, order or not."""
    cold = make_farm(coolers={"barn": replace(COOLERS["barn"], set_point_c=-2.0)})
    lot = planned(days_before(SATURDAY, 5), crop="peony", orders=(order(SATURDAY),))
    for row in (lot, replace(lot, orders=())):
        (found,) = plan_lots([row], cold, CROPS, NOW)
        assert (found.advice, dict(found.ways)) == (None, {})
        assert isinstance(found.why, notes.WhySetTooCold)


@pytest.mark.parametrize("bulb", [None, True, False])
def test_a_planned_row_has_both_answers_where_nobody_said_whether_the_bulb_is_on(bulb: bool | None) -> None:
    """Blank: a window for each way, and both sell-bys where nothing is ordered."""
    ordered = plan(planned(days_before(SATURDAY, 5), bulb=bulb, orders=(order(SATURDAY),)))
    expected = {None: set(StorageCode), True: {StorageCode.BULB}, False: {StorageCode.DRY, StorageCode.WATER}}
    assert set(ordered.ways) == expected[bulb]
    why = plan(planned(days_before(SATURDAY, 5), bulb=bulb)).why
    assert isinstance(why, notes.PlanOpen)
    assert (why.with_bulb is not None) is (bulb is None)
    if why.with_bulb is not None:
        assert why.with_bulb > why.sell_by


@pytest.mark.parametrize("crop", ["tulip", "iris", "stock", "daffodil"])
def test_every_day_of_a_planned_window_would_do(crop: str) -> None:
    """Each cut from the first to the last day serves the order, and none outside it does."""
    name = CROPS.find(crop) or ""
    lot = planned(days_before(SATURDAY, 5), crop=name, orders=(order(SATURDAY, use="event"),))
    (found,) = plan_lots([lot], make_farm(), CROPS, days_before(SATURDAY, 40))
    assert found.ways
    for code, window in found.ways.items():
        way = {"bulb": True} if code is StorageCode.BULB else {"storage": code}
        for ahead in range(45):
            cut = datetime.combine(SATURDAY.date() - timedelta(days=ahead), NOW.time())
            one = dated(cut=cut, now=cut, crop=name, orders=(order(SATURDAY, use="event"),), **way)
            usable = [judged.verdict is Verdict.USABLE for judged in one.orders] == [True]
            assert usable is (window.first_cut <= cut.date() <= window.last_cut), (code, cut)


def test_a_planned_row_says_what_the_stage_to_cut_at_looks_like() -> None:
    """In words that can be held against the bud."""
    why = plan(planned(days_before(SATURDAY, 5), orders=(order(SATURDAY),))).why
    assert isinstance(why, notes.PlanGood)
    assert (why.stage, why.looks) == ("tight", "first colour shows on a green bud")
