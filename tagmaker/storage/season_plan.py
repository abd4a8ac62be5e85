"""A farm's next eight weeks as a problem to be planned: what there is, what is wanted, who may serve what.

Who may serve what is asked of `serving` alone. What is promised already is wanted of its own lot before
anything else; what an outlet usually sells counts the orders of its day in.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import datetime

from tagmaker.farm import Farm
from tagmaker.lot import Lot, StorageCode, StorageDates
from tagmaker.storage.air import Airs
from tagmaker.storage.crops import CropTable
from tagmaker.storage.dating import date_lot
from tagmaker.storage.demand import WrittenOrder
from tagmaker.storage.moments import DAY
from tagmaker.storage.orders import still_to_serve
from tagmaker.storage.planning import advised
from tagmaker.storage.promises import Demand, Kept, Promise, Wanted, promised, usual_sales
from tagmaker.storage.season_problem import Chance, Claim, Rest, SeasonProblem, Stay, Stock, Want
from tagmaker.storage.serving import Serving, Supply, planned_supplies, supplies
from tagmaker.storage.standing import in_water_from, rest_leaves

PLAN_DAYS = 56  # [d] that a plan looks ahead: eight weeks (chosen: longer than anything is stored)


@dataclass(frozen=True, kw_only=True)
class Ground:
    """All that a plan is made from."""

    lots: Sequence[Lot]
    dated: Sequence[StorageDates]  # of those that are cut
    orders: Sequence[WrittenOrder]
    kept: Sequence[Kept]  # what the journal keeps for rows that it names
    farm: Farm
    crops: CropTable
    airs: Airs
    now: datetime
    held: Collection[str] = ()  # codes of lots that may have left
    _known: dict[tuple[str, str], tuple[Supply, ...]] = field(
        default_factory=dict, init=False, compare=False, repr=False
    )

    @property
    def standing(self) -> tuple[Supply, ...]:
        """What stands there of lots that are cut, worked out once."""
        if ("", "") not in self._known:
            self._known["", ""] = supplies(self.dated, self.farm, self.crops, self.now, self.airs, self.held)
        return self._known["", ""]

    def ways(self, lot: Lot, cooler: str) -> tuple[Supply, ...]:
        """A planned lot in a cooler, each way that is open to it, worked out once."""
        key = (lot.lot_code, cooler)
        if key not in self._known:
            there = [replace(lot, cooler=cooler)]
            self._known[key] = planned_supplies(there, self.farm, self.crops, self.now, self.airs)
        return self._known[key]

    def others(self, lot: Lot) -> list[str]:
        """The coolers that are not that of a lot's row."""
        return [name for name in self.farm.coolers if name != lot.cooler]

    @property
    def until(self) -> datetime:
        """The last moment that is looked at."""
        return datetime.combine(self.now.date() + PLAN_DAYS * DAY, datetime.min.time())


@dataclass(frozen=True, slots=True)
class Wish:
    """A want, and what is asked of a lot for it."""

    want: Want
    demand: Demand
    lot: str = ""  # the only lot that may serve it

    def serves(self, supply: Supply, farm: Farm) -> Serving | None:
        """How stems would serve it; None: they may not."""
        lot, demand = supply.lot, self.demand
        if (self.lot or lot.lot_code) != lot.lot_code or (not self.lot and not demand.fits(lot)):
            return None
        serving = supply.serves(self.want.leaves, farm.uses[self.want.use])
        if self.want.claim is Claim.KEPT:
            return serving if serving.keeps_promise else None
        allowed = serving.ok if demand.written else serving.ok_unordered
        return serving if allowed and may_promise(lot, self.want.leaves) else None


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
    wishes, promises = _wishes(ground)
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


# --- what is wanted ---


def _wishes(ground: Ground) -> tuple[list[Wish], list[Promise]]:
    """All that is wanted until the plan ends, in order; and what lots have promised of it."""
    demands, promises = promised(ground.lots, ground.orders, ground.farm, ground.now, ground.kept)
    demands = tuple(demand for demand in demands if demand.leaves < ground.until)
    promises = tuple(promise for promise in promises if promise.demand.leaves < ground.until)
    left = {lot.lot_code: max(lot.left or 0, 0) for lot in ground.lots}
    counted = [(promise, _promised_stems(promise, promises, left)) for promise in promises]
    wishes = [_kept_wish(promise, stems) for promise, stems in counted if stems]
    per_bunch = {lot.lot_code: lot.per_bunch for lot in ground.lots}
    wishes += _ordered_wishes(demands, counted, per_bunch)
    wishes += _usual_wishes(ground, demands)
    own = [promise for promise, _ in counted]
    return sorted(wishes, key=lambda wish: (wish.want.rank, wish.want.amount)), own


def _promised_stems(promise: Promise, promises: Sequence[Promise], left: Mapping[str, int]) -> int:
    """Stems that a promise keeps: as it says, else all that no other one of its lot counts."""
    if promise.stems is not None:
        return min(promise.stems, left[promise.lot])
    others = sum(p.stems or 0 for p in promises if p.lot == promise.lot)
    return max(left[promise.lot] - others, 0)


def _kept_wish(promise: Promise, stems: int) -> Wish:
    want = Want(
        claim=Claim.KEPT,
        leaves=promise.demand.leaves,
        use=promise.demand.use,
        name=promise.lot,
        amount=float(stems),
    )
    return Wish(want, promise.demand, promise.lot)


def _ordered_wishes(
    demands: Sequence[Demand], counted: Sequence[tuple[Promise, int]], per_bunch: Mapping[str, int]
) -> Iterator[Wish]:
    """What rows of the Orders sheet want beyond what is kept for them."""
    for demand in demands:
        if demand.source is not Wanted.WRITTEN:
            continue
        own = [(p, stems) for p, stems in counted if p.demand is demand]
        in_bunches = demand.stems is None
        kept = sum(stems / per_bunch[p.lot] if in_bunches else stems for p, stems in own)
        amount = float(demand.bunches or 0 if in_bunches else demand.stems or 0) - kept
        if amount > 0:
            claim = Claim.MUST if demand.must else Claim.ORDERED
            want = Want(
                claim=claim,
                leaves=demand.leaves,
                use=demand.use,
                name=demand.code,
                amount=amount,
                in_bunches=in_bunches,
            )
            yield Wish(want, demand)


def _usual_wishes(ground: Ground, demands: Sequence[Demand]) -> Iterator[Wish]:
    """What outlets usually sell besides the orders of the day; a bunch ordered counts as the usual ten."""
    for sale in usual_sales(ground.farm, ground.now, ground.until.date() - DAY):
        ordered = sum(
            float(demand.stems if demand.stems is not None else 10 * (demand.bunches or 0))
            for demand in demands
            if (demand.use, demand.leaves.date()) == (sale.use, sale.leaves.date())
        )
        amount = float(sale.stems or 0) - ordered
        if amount > 0:
            want = Want(claim=Claim.USUAL, leaves=sale.leaves, use=sale.use, amount=amount)
            demand = Demand(
                source=Wanted.USUAL, leaves=sale.leaves, use=sale.use, must=False, stems=sale.stems
            )
            yield Wish(want, demand)


# --- what there is ---


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


def may_promise(lot: Lot, leaves: datetime) -> bool:
    """Whether one more order of a lot would be told as it is meant.

    What has gone of a lot counts for its nearest orders: one before those that it used up would count as
    served. And a lot has one order a departure.
    """
    used = [
        order.leaves
        for order, stems in still_to_serve(lot)
        if order.stems is not None and stems is not None and stems < order.stems
    ]
    return leaves > max(used, default=datetime.min) and all(order.leaves != leaves for order in lot.orders)


def surplus(lot: Lot) -> int:
    """Stems that have gone of a lot beyond its orders: they would use up those written from now on."""
    gone = lot.gone
    for order in sorted(lot.orders, key=lambda order: order.leaves):
        gone = 0 if order.stems is None else max(gone - order.stems, 0)
    return gone
