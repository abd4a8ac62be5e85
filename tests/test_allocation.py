"""Who gets which bunches: in the order that a grower can follow."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from tagmaker.farm import Farm
from tagmaker.lot import Lot, Mark, Stage
from tagmaker.storage.allocation import Allocation, allocate
from tagmaker.storage.dating import date_lots
from tagmaker.storage.demand import WrittenOrder
from tagmaker.storage.promises import Kept, UsualSale
from tagmaker.storage.serving import supplies
from tagmaker.telling.wording import Wording
from tests.farms import CROPS, NOW, make_farm, make_lot, order

SATURDAY = datetime(2027, 3, 27, 8)
SAY = Wording("F").say


def cut_on(day: int, code: str, stems: int = 120, **more: Any) -> Lot:
    """A lot cut on a day of March."""
    return make_lot(lot_code=code, cut=datetime(2027, 3, day, 9), stems=stems, **more)


def ordered(code: str = "W1", leaves: datetime = SATURDAY, use: str = "shop", **more: Any) -> WrittenOrder:
    """A row of the Orders sheet."""
    return WrittenOrder(order_code=code, leaves=leaves, use=use, **more)


def allocated(lots: list[Lot], *orders: WrittenOrder, farm: Farm | None = None, **more: Any) -> Allocation:
    """Who gets what of some lots, as of Tuesday morning."""
    farm = farm or make_farm()
    held = more.pop("held", ())
    there = supplies(date_lots(lots, farm, CROPS, NOW), farm, CROPS, NOW, held=held)
    return allocate(there, orders, farm, NOW, **more)


def given(allocation: Allocation) -> list[tuple[str, str, int]]:
    """To whom, of which lot, how many bunches."""
    return [
        (line.demand.code or line.demand.source.value, line.supply.lot.lot_code, line.bunches)
        for line in allocation.lines
    ]


def test_the_lot_that_keeps_less_long_goes_first_and_it_is_said_why() -> None:
    """Of two lots that would do the older is taken, and the line names the other and the day."""
    found = allocated([cut_on(22, "101"), cut_on(17, "118")], ordered(bunches=6))
    assert given(found) == [("W1", "118", 6)]
    assert SAY(found.lines[0].why) == "118 before 101: keeps cold until MON 5 APR"


def test_a_lot_in_doubt_comes_last() -> None:
    """A half coloured lot is taken after one that is as it should be, though it keeps less long."""
    found = allocated([cut_on(22, "101"), cut_on(20, "102", stage=Stage.HALF)], ordered(bunches=14))
    assert given(found) == [("W1", "101", 12), ("W1", "102", 2)]
    assert Mark.HALF_COLOURED in found.lines[1].serving.marks


def test_what_a_lot_keeps_counts_against_the_row_of_that_departure() -> None:
    """A needed cell of a row's use and hour is a part of it; the rest comes from what is there."""
    lots = [cut_on(22, "101", orders=(order(SATURDAY, 40),)), cut_on(17, "118")]
    found = allocated(lots, ordered(stems=100))
    assert given(found) == [("W1", "101", 4), ("W1", "118", 6)]
    assert [line.fixed for line in found.lines] == [True, False]


def test_what_the_journal_keeps_names_its_row() -> None:
    """A kept counts against the row that it names, though another of that departure stands before it."""
    lots = [cut_on(22, "101", orders=(order(SATURDAY, 40),))]
    kept = [Kept(lot="101", leaves=SATURDAY, use="shop", stems=40, order_code="W2")]
    found = allocated(lots, ordered(bunches=4), ordered("W2", bunches=5), kept=kept)
    assert given(found) == [("W1", "101", 4), ("W2", "101", 4), ("W2", "101", 1)]


def test_an_order_of_no_row_is_one_of_its_own() -> None:
    """Stems needed of a lot alone stay with that lot, and are short where they are more than it has."""
    found = allocated([cut_on(22, "101", 30, orders=(order(SATURDAY, 40),)), cut_on(17, "118")])
    assert given(found) == [("needed", "101", 3)]
    assert [(short.demand.lot, short.stems) for short in found.shortfalls] == [("101", 10)]


def test_what_an_outlet_usually_sells_has_its_orders_in_it() -> None:
    """An order of six bunches leaves four of the ten that the shop sells on a day."""
    sale = UsualSale(leaves=SATURDAY, use="shop", stems=100)
    found = allocated([cut_on(22, "101")], ordered(bunches=6), usual=[sale])
    assert given(found) == [("W1", "101", 6), ("usual", "101", 4)]


def test_a_lot_that_may_have_left_promises_nothing() -> None:
    """What is held is neither promised anew nor counted as kept, and the shortfall names it."""
    lots = [cut_on(22, "101", orders=(order(SATURDAY, 40),))]
    found = allocated(lots, ordered(stems=60), held={"101"})
    assert given(found) == []
    assert SAY(found.shortfalls[0].why) == "60 stems are missing: may have left: 101"


def test_of_lots_that_keep_equally_long_one_gives_all_and_no_crate_is_broken() -> None:
    """Few lots are walked to, and a whole crate is taken before one is broken; the line says which it was."""
    lots = [cut_on(22, "101", 80), cut_on(22, "102", 250)]  # a crate takes 120 stems
    found = allocated(lots, ordered(bunches=24))
    assert given(found) == [("W1", "102", 24)]
    assert SAY(found.lines[0].why) == "102 before 101: enough for all of it"
    assert given(allocated(lots, ordered(bunches=8))) == [("W1", "101", 8)]
    found = allocated([cut_on(22, "101", 120), cut_on(22, "102", 80)], ordered(bunches=8))
    assert given(found) == [("W1", "102", 8)]
    assert SAY(found.lines[0].why) == "102 before 101: no crate is broken for it"


def test_what_no_lot_gives_alone_comes_of_whole_crates_before_broken_ones() -> None:
    """Of two lots that give it together the one with a whole crate goes first."""
    lots = [cut_on(22, "101", 80), cut_on(22, "102", 130)]
    assert given(allocated(lots, ordered(bunches=15))) == [("W1", "101", 2), ("W1", "102", 13)]
