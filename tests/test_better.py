"""No answer that serves more of what was ordered goes unsaid."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace
from datetime import datetime
from random import Random

import pytest

from tagmaker.desk.better_packing import better
from tagmaker.lot import StorageCode
from tagmaker.storage.allocation import Allocation, allocate
from tagmaker.storage.better import A_BUNCH, Missing, Offer
from tagmaker.storage.demand import WrittenOrder
from tagmaker.storage.serving import Supply
from tagmaker.telling.wording import Wording
from tests.farms import make_lot
from tests.packing_farms import NOW, USES, Yard, a_yard

SAY = Wording("F").say


def a_row(code: str, day: int, use: str, **more: object) -> WrittenOrder:
    """A row of the Orders sheet for a day of April."""
    leaves = datetime.combine(datetime(2027, 4, day).date(), USES[use].leaves)
    return WrittenOrder(order_code=code, leaves=leaves, use=use, **more)  # type: ignore[arg-type]


def two_lots() -> Yard:
    """A white lot that both orders would take, and an apricot one that the first of them would take too."""
    white = make_lot(lot_code="109", cut=datetime(2027, 4, 12, 8), stems=60, colour="white", use="shop")
    white = replace(white, cooler="walk-in", storage=StorageCode.DRY)
    apricot = replace(white, lot_code="118", colour="apricot", cut=datetime(2027, 4, 14, 8))
    apricot = replace(apricot, in_cooler=datetime(2027, 4, 14, 10))
    yard = a_yard(Random(1), 0, 0)
    orders = (
        a_row("A1", 17, "shop", bunches=6),
        a_row("A2", 20, "shop", bunches=6, colours=frozenset({"white"})),
    )
    return replace(yard, lots=(white, apricot), orders=orders, usual=())


def answered(yard: Yard) -> tuple[Allocation, Offer | None]:
    """Who gets what, and what would serve more."""
    supplies = yard.supplies()
    allocation = allocate(supplies, yard.orders, yard.farm, yard.now)
    return allocation, better(allocation, supplies, yard.farm)


def test_the_change_that_serves_more_is_said_in_words(capfd: pytest.CaptureFixture[str]) -> None:
    """An order that gets nothing could have all it wants if the one before it took another lot."""
    allocation, found = answered(two_lots())
    assert [(line.demand.code, line.supply.lot.lot_code) for line in allocation.lines] == [("A1", "109")]
    assert found is not None
    assert SAY(found.why) == (
        "6 more bunches for A2 (shop, TUE 20 APR) "
        "if you give 6 bunches of 118 to A1 and 6 bunches of 109 to A2"
    )
    assert capfd.readouterr() == ("", "")  # the solver prints nothing of its own


def test_nothing_is_offered_where_everything_is_served() -> None:
    """With one order alone there is nothing to be gained, and no solver is asked."""
    yard = two_lots()
    assert answered(replace(yard, orders=yard.orders[:1]))[1] is None


# ---- against every answer that there is


def weighed(yard: Yard, supplies: tuple[Supply, ...], given: Mapping[tuple[str, str], int]) -> Missing:
    """What orders of must uses, and others, lack if so many bunches of a lot go to an order."""
    lots = {supply.lot.lot_code: supply.lot for supply in supplies}
    lacks = [0, 0]
    for row in yard.orders:
        own = [(lots[lot], count) for (code, lot), count in given.items() if code == row.order_code]
        if row.bunches is not None:
            missing = (row.bunches - sum(count for _, count in own)) * A_BUNCH
        else:
            missing = (row.stems or 0) - sum(count * lot.per_bunch for lot, count in own)
        lacks[not yard.farm.uses[row.use].must] += max(missing, 0)
    return lacks[0], lacks[1]


def best_of_all(yard: Yard, supplies: tuple[Supply, ...]) -> Missing:
    """The least that can be missing, by trying every way to give the bunches of every lot."""
    uses = yard.farm.uses

    def ways(at: int, given: dict[tuple[str, str], int]) -> Iterator[dict[tuple[str, str], int]]:
        if at == len(supplies):
            yield given
            return
        supply = supplies[at]
        takers = [
            row.order_code
            for row in yard.orders
            if row.fits(supply.lot) and supply.serves(row.leaves, uses[row.use]).ok
        ]
        for shares in _shares(supply.lot.bunches_left or 0, len(takers)):
            own = {(code, supply.lot.lot_code): n for code, n in zip(takers, shares, strict=True)}
            yield from ways(at + 1, given | own)

    return min(weighed(yard, supplies, given) for given in ways(0, {}))


def _shares(bunches: int, takers: int) -> Iterator[tuple[int, ...]]:
    """Every way to give at most so many bunches to so many takers."""
    if not takers:
        yield ()
        return
    for first in range(bunches + 1):
        for rest in _shares(bunches - first, takers - 1):
            yield (first, *rest)


def small(random: Random) -> Yard:
    """Three lots of whole bunches and three orders, of few words."""
    yard = a_yard(random, 3, 3, plain=True, days=10)
    lots = tuple(
        replace(lot, crop="tulip", form="single", stems=lot.per_bunch * random.randrange(1, 4), gone=0)
        for lot in yard.lots
        if lot.crop == "tulip"
    )
    orders = []
    for row in yard.orders:
        use = random.choice(["shop", "wedding", "stall"])
        amount = random.randrange(1, 5)
        in_bunches = random.random() < 0.6
        day = NOW.replace(hour=USES[use].leaves.hour, minute=USES[use].leaves.minute)
        words = row.colours if random.random() < 0.7 else frozenset[str]()
        orders.append(
            replace(
                row,
                use=use,
                leaves=day.replace(day=random.randrange(17, 24)),
                crops=frozenset(),
                varieties=frozenset(),
                colours=words,
                bunches=amount if in_bunches else None,
                stems=None if in_bunches else amount * 10,
            )
        )
    return replace(yard, lots=lots, orders=tuple(orders), usual=())


@pytest.mark.slow
def test_no_better_answer_goes_unsaid() -> None:
    """On 200 small farms the allocation, or what is offered beside it, is as good as the best of all."""
    offered = shorts = 0
    for seed in range(200):
        yard = small(Random(seed))
        supplies = yard.supplies()
        allocation, found = answered(yard)
        given = {(line.demand.code, line.supply.lot.lot_code): line.bunches for line in allocation.lines}
        now, best = weighed(yard, supplies, given), best_of_all(yard, supplies)
        shorts += bool(allocation.shortfalls)
        if found is None:
            assert now == best, seed
            continue
        offered += 1
        assert best < now, seed
        assert found.missing_now[0] - found.missing[0] == now[0] - best[0], seed
        assert sum(found.missing_now) - sum(found.missing) == sum(now) - sum(best), seed
    assert offered >= 10
    assert shorts > offered
