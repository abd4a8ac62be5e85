"""All that is wanted of a farm's stems in the time of a season plan, and who may be asked for it.

What is promised already is wanted of its own lot before anything else; what an outlet usually sells counts
the orders of its day in.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime

from tagmaker.farm import Farm
from tagmaker.lot import Lot
from tagmaker.storage.moments import DAY
from tagmaker.storage.orders import still_to_serve
from tagmaker.storage.promises import Demand, Promise, Wanted, promised, usual_sales
from tagmaker.storage.season_ground import Ground
from tagmaker.storage.season_problem import Claim, Want
from tagmaker.storage.serving import Serving, Supply

USUAL_BUNCH = 10  # [stems] that a bunch counts as where the lot is not known (common practice, no source)


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
        if not _thinkable(supply, self.want.leaves):
            return None
        serving = supply.serves(self.want.leaves, farm.uses[self.want.use])
        if self.want.claim is Claim.KEPT:
            return serving if serving.keeps_promise else None
        allowed = serving.ok if demand.written else serving.ok_unordered
        return serving if allowed and may_promise(lot, self.want.leaves) else None


def wishes_of(ground: Ground) -> tuple[list[Wish], list[Promise]]:
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
            float(demand.stems if demand.stems is not None else USUAL_BUNCH * (demand.bunches or 0))
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


def _thinkable(supply: Supply, leaves: datetime) -> bool:
    """Whether a departure lies between the cut and the last day on which anything could be usable.

    It saves asking about the others, of which there are many.
    """
    last = min(view.judge.last_day for view in supply.views)
    return supply.lot.cut <= leaves and leaves.date() <= last


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
