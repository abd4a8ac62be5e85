"""A farm's next eight weeks as a problem to be planned: what there is, what is wanted, who may serve what.

Who may serve what is asked of `serving` alone.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace

from tagmaker.lot import StorageCode, StorageDates
from tagmaker.storage.dating import date_lot
from tagmaker.storage.planning import advised
from tagmaker.storage.promises import Promise
from tagmaker.storage.season_ground import PLAN_DAYS, Ground
from tagmaker.storage.season_problem import Chance, Rest, SeasonProblem, Stay, Stock
from tagmaker.storage.season_wishes import Wish, wishes_of
from tagmaker.storage.serving import Serving, Supply
from tagmaker.storage.standing import in_water_from, rest_leaves


@dataclass(frozen=True, kw_only=True)
class SeasonPlan:
    """The problem, and what its stocks and wants are."""

    problem: SeasonProblem
    supplies: tuple[tuple[Supply, ...], ...]  # by stock, by stay
    wishes: tuple[Wish, ...]  # by want

    def serving(self, stock: int, stay: int, want: int) -> Serving:
        """How stems of a stay serve a want that they have a chance for."""
        wish, supply = self.wishes[want].want, self.supplies[stock][stay]
        return supply.serves(wish.leaves, supply.views[0].judge.farm.uses[wish.use])


def season_plan(
    ground: Ground, elsewhere: Collection[str] = (), with_bulb: Collection[str] = ()
) -> SeasonPlan:
    """The problem of a farm; the same whatever order its rows stand in.

    Args:
        ground: what it is made from.
        elsewhere: codes of planned lots that may go into any cooler.
        with_bulb: codes of planned lots of which nobody's stems are kept with the bulb on.
    """
    groups = _supplies(ground, elsewhere)
    wishes, promises = wishes_of(ground)
    stocks, kept = [], []
    dated = {dates.lot.lot_code: dates for dates in ground.dated}
    for code, group in groups.items():
        own = [promise for promise in promises if promise.lot == code]
        kept_so = StorageCode.BULB if code in with_bulb else group[0].kept
        stocks.append(_stock(group, own, wishes, ground, dated.get(code), kept_so))
        kept.append(tuple(group))
    problem = SeasonProblem(
        now=ground.now,
        days=PLAN_DAYS,
        stocks=tuple(stocks),
        wants=tuple(wish.want for wish in wishes),
        coolers=tuple(ground.farm.coolers.values()),
    )
    return SeasonPlan(problem=problem, supplies=tuple(kept), wishes=tuple(wishes))


def _supplies(ground: Ground, elsewhere: Collection[str]) -> dict[str, list[Supply]]:
    """The ways and coolers of every lot of which stems are left, by code; the row's cooler first."""
    found = list(ground.standing)
    for lot in ground.lots:
        others = ground.others(lot) if lot.lot_code in elsewhere else []
        for cooler in (lot.cooler, *others) if lot.planned else ():
            found += ground.ways(lot, cooler)
    groups: dict[str, list[Supply]] = {}
    for supply in sorted(found, key=lambda supply: supply.lot.lot_code):
        if (supply.lot.left or 0) > 0:
            groups.setdefault(supply.lot.lot_code, []).append(supply)
    return groups


def _stock(
    group: Sequence[Supply],
    promises: Sequence[Promise],
    wishes: Sequence[Wish],
    ground: Ground,
    dates: StorageDates | None,
    rest: StorageCode,
) -> Stock:
    """A lot with all its ways; `dates` are those of one that is cut, `rest` how nobody's stems are kept."""
    lot = group[0].lot
    asked = [
        (at, wish, [wish.serves(supply, ground.farm) for supply in group]) for at, wish in enumerate(wishes)
    ]
    own = [(wish, servings) for _, wish, servings in asked if wish.lot == lot.lot_code]
    held = sum(wish.want.amount for wish, servings in own if not any(servings)) if promises else 0
    stays = [_stay(supply, number, asked, group) for number, supply in enumerate(group)]
    kept = next(number for number, supply in enumerate(group) if supply.kept is rest)
    stays[kept] = replace(stays[kept], rest=_rest(group[kept], ground, dates))
    ends = max((supply.keeps_until for supply in group if supply.keeps_until), default=ground.now)
    return Stock(
        lot=lot.lot_code,
        stems=lot.left or 0,
        held=min(int(held), lot.left or 0),
        per_bunch=lot.per_bunch,
        ends=ends,
        stays=tuple(stays),
    )


def _stay(
    supply: Supply,
    number: int,
    asked: Sequence[tuple[int, Wish, Sequence[Serving | None]]],
    group: Sequence[Supply],
) -> Stay:
    """One way and cooler of a lot, and all that it may serve."""
    lot, keeping = supply.lot, supply.keeping
    chances = []
    for at, wish, servings in asked:
        serving = servings[number]
        if serving is not None:
            ways = _ways_that_do(group, servings, supply.cooler)
            best = advised(ways, (wish.want.leaves.date() - lot.cut.date()).days)
            chances.append(
                Chance(
                    want=at,
                    into_water=serving.into_water_by,
                    marked=serving.marked,
                    unadvised=int(supply.kept is not best),
                )
            )
    since = lot.in_cooler or lot.cut
    in_water = lot.in_water
    if supply.kept is StorageCode.WATER:
        in_water = since if in_water is None else in_water
    return Stay(
        way=supply.kept,
        cooler=supply.cooler,
        elsewhere=supply.cooler != group[0].cooler,
        since=since,
        per_crate=keeping.per_crate or keeping.per_bucket,
        per_bucket=keeping.per_bucket,
        in_water=in_water,
        chances=tuple(chances),
    )


def _rest(supply: Supply, ground: Ground, dates: StorageDates | None) -> Rest:
    """Stems that nobody wants stand as `room` counts them."""
    lot = supply.lot
    told = dates or date_lot(lot, ground.farm, ground.crops, lot.cut, ground.airs)
    return Rest(
        into_water=in_water_from(told, told.into_water_by, ground.now),
        until=rest_leaves(told, max(ground.now, lot.cut)),
        keeps_on=supply.keeps_until is not None and supply.keeps_until >= ground.until,
    )


def _ways_that_do(
    group: Sequence[Supply], servings: Sequence[Serving | None], cooler: str
) -> dict[StorageCode, bool]:
    """The ways of a lot that do for a departure in one cooler, and whether a bunch is opened first."""
    return {
        supply.kept: serving.test_on is not None
        for supply, serving in zip(group, servings, strict=True)
        if serving is not None and supply.cooler == cooler
    }
