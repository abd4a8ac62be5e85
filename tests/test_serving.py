"""Which lots may serve a departure as a part order: nothing is promised that the dates refuse."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime, timedelta
from typing import Any

import pytest

from tagmaker.lot import BunchTest, Finding, Lot, Mark, Move, Stage, StorageCode, Surface, Verdict
from tagmaker.storage.dating import date_lots
from tagmaker.storage.judging import Limit
from tagmaker.storage.serving import Refusal, Serving, Supply, planned_supplies, supplies
from tests.farms import CROPS, NOW, USES, make_farm, make_lot, order

SATURDAY = datetime(2027, 3, 27, 8)


def supply(lot: Lot, now: datetime = NOW, held: tuple[str, ...] = ()) -> Supply:
    """What one lot has to give."""
    (found,) = supplies(date_lots([lot], make_farm(), CROPS, now), make_farm(), CROPS, now, held=held)
    return found


def asked(leaves: datetime, use: str = "shop", now: datetime = NOW, **cells: Any) -> Serving:
    """What is said of single tulips of the 22nd for a departure."""
    return supply(make_lot(**cells), now).serves(leaves, USES[use])


def test_a_lot_in_order_says_its_hours() -> None:
    """Dry tulips go into water the evening before; nothing has to be looked at."""
    found = asked(SATURDAY)
    assert (found.ok, found.marks, found.water_hours) == (True, (), 8.0)
    assert found.into_water_by == datetime(2027, 3, 26, 18)
    assert found.stand_warm_from is None
    assert asked(SATURDAY, storage=StorageCode.WATER).into_water_by is None


@pytest.mark.parametrize(
    ("cells", "refusal"),
    [
        ({"surface": Surface.WET, "in_cooler": None}, Refusal.NO_DATE),
        ({"field_c": 45.0}, Refusal.NO_DATE),
        ({"tested": (BunchTest(NOW.date(), Finding.BAD),)}, Refusal.BAD),
        ({"cut": datetime(2027, 2, 1, 8)}, Refusal.TOO_OLD),
        ({"stems": None}, Refusal.NOT_COUNTED),
    ],
    ids=["wet", "hot", "tested bad", "too old", "not counted"],
)
def test_what_is_refused_promises_nothing(cells: dict[str, Any], refusal: Refusal) -> None:
    """Whatever the departure, and the reason is told apart."""
    found = asked(SATURDAY, **cells)
    assert (found.ok, found.refusal) == (False, refusal)


def test_a_lot_that_may_have_left_promises_nothing() -> None:
    """Neither anew nor what it keeps already."""
    found = supply(make_lot(orders=(order(SATURDAY, 40),)), held=("041",)).serves(SATURDAY, USES["shop"])
    assert (found.ok, found.keeps_promise, found.refusal) == (False, False, Refusal.HELD)


def test_what_is_too_old_still_keeps_its_promise() -> None:
    """A lot whose rest is over keeps the bunches of an order that they may serve, and promises no more."""
    hall = datetime(2027, 4, 15, 6, 30)
    now = datetime(2027, 4, 14, 9)
    found = supply(make_lot(orders=(order(hall, 40, "event"),)), now).serves(hall, USES["event"])
    assert (found.verdict, found.refusal) == (Verdict.STRETCHED, Refusal.TOO_OLD)
    assert (found.ok, found.keeps_promise) == (False, True)


def test_only_who_ordered_gets_stretched_stems() -> None:
    """Past the storage life stems may serve an order of few vase days, never what an outlet usually sells."""
    found = asked(datetime(2027, 4, 15, 6, 30), "event")
    assert (found.verdict, found.ok, found.ok_unordered) == (Verdict.STRETCHED, True, False)
    assert found.marks == (Mark.TEST_A_BUNCH,)
    assert found.test_on is not None


def test_too_late_is_not_too_old() -> None:
    """Dry stems cannot be ready within three hours; the day after they can."""
    found = asked(NOW + timedelta(hours=3))
    assert (found.verdict, found.limit) == (Verdict.TOO_LATE, None)
    assert asked(NOW + timedelta(days=1)).ok
    assert asked(datetime(2027, 5, 20, 8)).limit is Limit.CAP


def test_an_hour_that_is_over_is_put_in_water_now() -> None:
    """After the bench hour that the tag would say, as long as the hours in water still fit."""
    evening = datetime(2027, 3, 25, 21)
    found = asked(datetime(2027, 3, 26, 8), now=evening)
    assert found.ok
    assert found.marks == (Mark.PUT_IN_WATER_NOW,)
    assert not found.marked  # it is no worse for it


def test_stems_outside_serve_open_uses_alone() -> None:
    """What stands in the warm is for a table; the shop gets nothing that is not in its cooler."""
    out = (Move(since=datetime(2027, 3, 23, 6), place="out", temperature_c=15.0),)
    lot: dict[str, Any] = {"cut": datetime(2027, 3, 21, 9), "storage": StorageCode.WATER, "moves": out}
    assert asked(datetime(2027, 3, 24, 8), "table", **lot).ok
    found = asked(datetime(2027, 3, 24, 8), "shop", **lot)
    assert (found.ok, found.away) == (False, True)


def test_an_unknown_stage_is_judged_by_the_cautious_figures() -> None:
    """It is marked, and serves no day that stems of a noted stage would not."""
    days = [NOW + timedelta(days=ahead) for ahead in range(1, 20)]
    noted, blank = supply(make_lot()), supply(make_lot(stage=None))
    will = [(noted.serves(day, USES["shop"]).ok, blank.serves(day, USES["shop"]).ok) for day in days]
    assert all(known or not unknown for known, unknown in will)
    assert (True, False) in will
    assert blank.serves(NOW + timedelta(days=1), USES["shop"]).marks == (Mark.HOW_OPEN,)


def test_a_lot_of_two_parents_serves_what_each_alone_would() -> None:
    """Leftovers of a good and a half coloured lot are judged by the worse, and carry its mark."""
    good, half = make_lot(), make_lot(stage=Stage.HALF, cut=datetime(2027, 3, 20, 9))
    both = replace(good, alone=(good, half), parents=("1", "2"))
    days = [NOW + timedelta(days=ahead) for ahead in range(1, 20)]
    alone = [[supply(lot).serves(day, USES["shop"]).ok for lot in (good, half)] for day in days]
    assert [supply(both).serves(day, USES["shop"]).ok for day in days] == [all(each) for each in alone]
    assert [True, False] in alone
    assert supply(both).serves(days[0], USES["shop"]).marks == (Mark.HALF_COLOURED,)


def test_a_plan_is_asked_once_a_way_and_a_cooler() -> None:
    """As if cut on its day; it is never stretched, and a way that was decided is not asked again."""
    farm = make_farm()
    plan = make_lot(cut=datetime(2027, 3, 30, 8), planned=True, in_cooler=None, stage=None, use="event")
    found = planned_supplies([plan], farm, CROPS, NOW)
    assert [one.kept for one in found] == [StorageCode.DRY, StorageCode.BULB, StorageCode.WATER]
    assert {one.cooler for one in found} == {"barn"}
    dry, bulb, _ = found
    days = [datetime(2027, 3, 31, 18) + timedelta(days=ahead) for ahead in range(30)]
    will = [tuple(one.serves(day, USES["event"]).verdict for one in (dry, bulb)) for day in days]
    assert (Verdict.NOT_FOR, Verdict.USABLE) in will
    assert {verdict for both in will for verdict in both} == {Verdict.USABLE, Verdict.NOT_FOR}
    assert not any(one.serves(datetime(2027, 3, 30, 9), USES["event"]).ok for one in (dry, bulb))
    decided = planned_supplies([replace(plan, bulb=True)], farm, CROPS, NOW)
    assert [one.kept for one in decided] == [StorageCode.BULB]
