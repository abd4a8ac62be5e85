"""Which bunches of which lots go to whom, in an order that a grower can follow by hand.

1. What lots keep already stays: `needed` cells, and what the journal keeps.
2. Then the written orders of `must` uses, the other written orders, and what outlets usually sell; each of
   these by departure.
3. Each is filled from the lots whose words fit and whose stems will do (`serving`): unmarked ones first, then
   by the day that they keep until. Of those that keep equally long one that can give all of it, if may be
   without breaking a crate; else whole crates of which all is wanted before broken ones; then by code.
4. Bunches are whole; a bunch is promised once. The short last bunch of a lot is none to who orders bunches.

The model of it: x[d, l] bunches of lot l for demand d, whole, ≥ 0 where l may serve d and else 0;
Σ_d x[d, l] ≤ the bunches of l; the demands are filled one after another in that order, none ever takes back
what an earlier one has. What orders such a rule leaves unserved is held against the best in `better`.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime
from itertools import groupby

from tagmaker import notes
from tagmaker.farm import Farm
from tagmaker.notes import Note
from tagmaker.storage.demand import WrittenOrder
from tagmaker.storage.piles import Pile, available, from_crates, kept_day
from tagmaker.storage.promises import Demand, Kept, Promise, UsualSale, Wanted, promised
from tagmaker.storage.serving import Serving, Supply
from tagmaker.storage.taking import why_short, why_taken, will


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """Bunches of a lot for a demand."""

    demand: Demand
    supply: Supply
    serving: Serving
    bunches: int
    stems: int
    fixed: bool  # the lot kept them already
    why: Note


@dataclass(frozen=True, slots=True, kw_only=True)
class Shortfall:
    """What a demand lacks."""

    demand: Demand
    stems: int | None  # that lack, of a demand in stems
    bunches: int | None  # likewise in bunches
    why: Note


@dataclass(frozen=True, slots=True, kw_only=True)
class Allocation:
    """Who gets what."""

    lines: tuple[Line, ...]  # by demand, in the order in which they were filled
    shortfalls: tuple[Shortfall, ...]  # likewise
    free: dict[str, int]  # code -> bunches of the lot that nobody takes; what may not be promised counts too


def allocate(
    supplies: Sequence[Supply],
    orders: Sequence[WrittenOrder],
    farm: Farm,
    now: datetime,
    usual: Sequence[UsualSale] = (),
    kept: Sequence[Kept] = (),
) -> Allocation:
    """Fill every demand from the lots that will do.

    Args:
        supplies: what there is, one a lot.
        orders: rows of the Orders sheet.
        farm: its uses.
        now: local time of the farm; what left before it is over.
        usual: what outlets sell on their days, orders included.
        kept: what the journal keeps for rows that it names.
    """
    filling = _Filling(supplies, farm)
    demands, promises = promised([supply.lot for supply in supplies], orders, farm, now, kept)
    for promise in promises:
        filling.keep(promise)
    for demand in demands:
        filling.fill(demand)
    for sale in sorted(usual, key=lambda sale: (sale.leaves, sale.use)):
        rest = filling.rest_of(sale, [demand for demand in demands if _same_day(demand, sale)])
        if rest is not None:
            filling.fill(rest)
    return filling.done()


def _same_day(demand: Demand, sale: UsualSale) -> bool:
    return (demand.use, demand.leaves.date()) == (sale.use, sale.leaves.date())


class _Filling:
    """Demands as they are filled one after another."""

    def __init__(self, supplies: Sequence[Supply], farm: Farm) -> None:
        self.farm = farm
        self.piles = {s.lot.lot_code: Pile(s, max(s.lot.left or 0, 0)) for s in supplies}
        self.lines: list[Line] = []
        self.shortfalls: list[Shortfall] = []

    def keep(self, promise: Promise) -> None:
        """Leave to a demand what a lot keeps for it; nothing where that will not do."""
        pile, demand = self.piles[promise.lot], promise.demand
        serving = pile.supply.serves(demand.leaves, self.farm.uses[demand.use])
        if not serving.keeps_promise:
            return
        wanted = pile.bunches if promise.stems is None else -(-promise.stems // pile.per_bunch)
        bunches, stems = pile.take(wanted, demand)
        if bunches:
            why = notes.WhyKept(lot=promise.lot)
            self._add(demand, pile, serving, bunches, stems, why, fixed=True)

    def fill(self, demand: Demand) -> None:
        """Fill what a demand lacks from the lots that will do, and say what stays short."""
        missing = self._missing(demand)
        if missing <= 0:
            return
        will_do: list[tuple[Pile, Serving]] = []
        taken: dict[str, list[int]] = {}
        groups = self._will_do(demand)
        for group in groups:
            will_do += group
            for pile, bunches in from_crates([pile for pile, _ in group], demand, missing):
                got, stems = pile.take(bunches, demand)
                missing -= got if demand.stems is None else stems
                sums = taken.setdefault(pile.supply.lot.lot_code, [0, 0])
                sums[0], sums[1] = sums[0] + got, sums[1] + stems
            if missing <= 0:
                break
        if len(taken) == len(will_do):
            will_do += next(groups, ())  # the first of them is named as the one that was not taken
        for place, (pile, serving) in enumerate(will_do):
            bunches, stems = taken.get(pile.supply.lot.lot_code, (0, 0))
            if bunches:
                why = why_taken(will_do, place, taken)
                self._add(demand, pile, serving, bunches, stems, why)
        if missing > 0:
            lacks = why_short(self.piles.values(), demand, missing, self.farm.uses[demand.use])
            short = Shortfall(demand=demand, stems=lacks.stems, bunches=lacks.bunches, why=lacks)
            self.shortfalls.append(short)

    def rest_of(self, sale: UsualSale, written: Sequence[Demand]) -> Demand | None:
        """What an outlet usually sells besides the orders of that day; None where they are all of it."""
        lines = [line for line in self.lines if line.demand in written]
        wanted = sale.stems if sale.bunches is None else sale.bunches
        for demand in written:
            own = [line for line in lines if line.demand is demand]
            given = sum(line.stems if sale.bunches is None else line.bunches for line in own)
            asked = demand.stems if sale.bunches is None else demand.bunches
            wanted = (wanted or 0) - max(given, asked or 0)
        if not wanted or wanted <= 0:
            return None
        in_bunches = sale.bunches is not None
        return Demand(
            source=Wanted.USUAL,
            leaves=sale.leaves,
            use=sale.use,
            must=False,
            stems=None if in_bunches else wanted,
            bunches=wanted if in_bunches else None,
        )

    def done(self) -> Allocation:
        """Who got what."""
        lines = sorted(self.lines, key=lambda line: line.demand.rank)
        free = {code: pile.bunches for code, pile in self.piles.items()}
        return Allocation(lines=tuple(lines), shortfalls=tuple(self.shortfalls), free=free)

    def _missing(self, demand: Demand) -> int:
        own = [line for line in self.lines if line.demand is demand]
        if demand.stems is not None:
            return demand.stems - sum(line.stems for line in own)
        return (demand.bunches or 0) - sum(line.bunches for line in own)

    def _will_do(self, demand: Demand) -> Iterator[list[tuple[Pile, Serving]]]:
        """The lots that may serve a demand and have bunches free, those that are alike together.

        The ones to take first come first; as few are asked as the caller wants.
        """
        if demand.source is Wanted.NEEDED:
            return
        use, doubtful = self.farm.uses[demand.use], []
        there = [
            pile
            for pile in self.piles.values()
            if pile.supply.refusal is None and available(pile, demand) and demand.fits(pile.supply.lot)
        ]
        there.sort(key=lambda pile: (kept_day(pile), pile.supply.lot.lot_code))
        for _, alike in groupby(there, key=kept_day):
            asked = [(pile, pile.supply.serves(demand.leaves, use)) for pile in alike]
            will_do = [found for found in asked if will(found[1], demand)]
            if plain := [found for found in will_do if not found[1].marked]:
                yield plain
            doubtful += [found for found in will_do if found[1].marked]
        for _, same in groupby(doubtful, key=lambda found: kept_day(found[0])):
            yield list(same)

    def _add(
        self,
        demand: Demand,
        pile: Pile,
        serving: Serving,
        bunches: int,
        stems: int,
        why: Note,
        fixed: bool = False,
    ) -> None:
        self.lines.append(
            Line(
                demand=demand,
                supply=pile.supply,
                serving=serving,
                bunches=bunches,
                stems=stems,
                fixed=fixed,
                why=why,
            )
        )
