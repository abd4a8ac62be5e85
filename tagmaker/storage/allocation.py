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

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime
from enum import Enum, auto
from itertools import groupby

from tagmaker import notes
from tagmaker.farm import Farm
from tagmaker.lot import StorageCode, Verdict
from tagmaker.notes import Note
from tagmaker.storage.demand import WrittenOrder
from tagmaker.storage.judging import Limit
from tagmaker.storage.promises import Demand, Kept, Promise, UsualSale, Wanted, promised
from tagmaker.storage.serving import DOUBTS, Refusal, Serving, Supply


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


@dataclass(slots=True)
class _Pile:
    """The stems of a lot that are still free."""

    supply: Supply
    stems: int
    given: list[str] = field(default_factory=list)  # to whom the others went

    @property
    def per_bunch(self) -> int:
        return self.supply.lot.per_bunch

    @property
    def bunches(self) -> int:
        """Bunches that are free, the last one perhaps short."""
        return -(-self.stems // self.per_bunch)

    @property
    def full(self) -> int:
        return self.stems // self.per_bunch

    @property
    def per_crate(self) -> int:
        """Bunches that its crate or bucket takes."""
        return max(crate_stems(self.supply) // self.per_bunch, 1)

    def take(self, bunches: int, demand: Demand) -> tuple[int, int]:
        """Take up to so many bunches: how many that were, and their stems."""
        taken = min(bunches, self.bunches)
        stems = min(taken * self.per_bunch, self.stems)
        self.stems -= stems
        if taken:
            self.given.append(_called(demand))
        return taken, stems


def crate_stems(supply: Supply) -> int:
    """Stems that a crate takes, or a bucket where they stand in one."""
    keeping = supply.keeping
    dry = supply.code is not StorageCode.WATER and keeping.per_crate is not None
    return keeping.per_crate or keeping.per_bucket if dry else keeping.per_bucket


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
        self.piles = {s.lot.lot_code: _Pile(s, max(s.lot.left or 0, 0)) for s in supplies}
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
        will_do: list[tuple[_Pile, Serving]] = []
        taken: dict[str, list[int]] = {}
        groups = self._will_do(demand)
        for group in groups:
            will_do += group
            for pile, bunches in _from_crates([pile for pile, _ in group], demand, missing):
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
                why = _why(will_do, place, taken)
                self._add(demand, pile, serving, bunches, stems, why)
        if missing > 0:
            self.shortfalls.append(self._short(demand, missing))

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

    def _will_do(self, demand: Demand) -> Iterator[list[tuple[_Pile, Serving]]]:
        """The lots that may serve a demand and have bunches free, those that are alike together.

        The ones to take first come first; as few are asked as the caller wants.
        """
        if demand.source is Wanted.NEEDED:
            return
        use, doubtful = self.farm.uses[demand.use], []
        there = [p for p in self.piles.values() if _available(p, demand) and demand.fits(p.supply.lot)]
        there.sort(key=lambda pile: (_kept_day(pile), pile.supply.lot.lot_code))
        for _, alike in groupby(there, key=_kept_day):
            asked = [(pile, pile.supply.serves(demand.leaves, use)) for pile in alike]
            will_do = [found for found in asked if (found[1].ok if demand.written else found[1].ok_unordered)]
            if plain := [found for found in will_do if not found[1].marked]:
                yield plain
            doubtful += [found for found in will_do if found[1].marked]
        for _, same in groupby(doubtful, key=lambda found: _kept_day(found[0])):
            yield list(same)

    def _asked(self, demand: Demand) -> Iterator[tuple[_Pile, Serving]]:
        use = self.farm.uses[demand.use]
        for pile in self.piles.values():
            if demand.fits(pile.supply.lot) and pile.supply.lot.left != 0:
                yield pile, pile.supply.serves(demand.leaves, use)

    def _add(
        self,
        demand: Demand,
        pile: _Pile,
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

    def _short(self, demand: Demand, missing: int) -> Shortfall:
        """What a demand lacks, and why no lot gives it."""
        asked = list(self._asked(demand))
        too_old, not_ready, undated, held = [], [], [], []
        given: list[tuple[str, str]] = []
        for pile, serving in asked:
            code = pile.supply.lot.lot_code
            late = serving.limit is Limit.NOT_READY or serving.verdict is Verdict.TOO_LATE or serving.away
            if serving.refusal is Refusal.HELD:
                held.append(code)
            elif serving.refusal in (Refusal.NO_DATE, Refusal.NOT_COUNTED):
                undated.append(code)
            elif late and serving.refusal is None:
                not_ready.append(code)
            elif not (serving.ok if demand.written else serving.ok_unordered):
                too_old.append(code)
            else:
                given += [(code, to) for to in dict.fromkeys(pile.given) if to != _called(demand)]
        in_stems = demand.stems is not None
        why = notes.WhyShort(
            stems=missing if in_stems else None,
            bunches=None if in_stems else missing,
            nothing_fits=not asked,
            too_old=tuple(too_old),
            not_ready=tuple(not_ready),
            undated=tuple(undated),
            held=tuple(held),
            given=tuple(given),
        )
        return Shortfall(demand=demand, stems=why.stems, bunches=why.bunches, why=why)


def _called(demand: Demand) -> str:
    """What a demand is called where a lot was given to it: its order's code, else its use."""
    return demand.code or demand.use


def _available(pile: _Pile, demand: Demand) -> int:
    """Bunches that a demand may take of a lot: a short one is no bunch to who orders bunches."""
    return pile.full if demand.stems is None else pile.bunches


def _kept_day(pile: _Pile) -> date:
    """The day that a lot keeps until; one that only an open use would still take comes first."""
    return pile.supply.keeps_until.date() if pile.supply.keeps_until else date.min


class _From(Enum):
    """Where bunches are taken from, of lots that keep equally long, in this order."""

    ONE_LOT_AS_IT_STANDS = auto()  # all of one lot, and no whole crate is broken for it
    ONE_LOT = auto()  # all of one lot
    WHOLE_CRATES = auto()  # of which all is wanted
    BROKEN_CRATES = auto()
    ANY_CRATE = auto()


def _from_crates(piles: Sequence[_Pile], demand: Demand, missing: int) -> Iterator[tuple[_Pile, int]]:
    """Bunches to take of lots that keep equally long, in the order of `_From`, then of code.

    A lot that gives some already comes before the others. The caller takes what is yielded before it asks
    for more.
    """
    giving: list[str] = []
    for source in _From:
        for pile in sorted(piles, key=lambda pile: pile.supply.lot.lot_code not in giving):
            wanted = missing if demand.stems is None else -(-missing // pile.per_bunch)
            bunches = _taken_from(source, pile, wanted, _available(pile, demand))
            if bunches > 0:
                missing -= bunches if demand.stems is None else min(bunches * pile.per_bunch, pile.stems)
                giving.append(pile.supply.lot.lot_code)
                yield pile, bunches
            if missing <= 0:
                return


def _taken_from(source: _From, pile: _Pile, wanted: int, there: int) -> int:
    """How many of the bunches wanted a lot gives at a step."""
    crates, rest = divmod(there, pile.per_crate)
    match source:
        case _From.ONE_LOT_AS_IT_STANDS:
            return wanted if wanted <= there and wanted % pile.per_crate <= rest else 0
        case _From.ONE_LOT:
            return wanted if wanted <= there else 0
        case _From.WHOLE_CRATES:
            return min(wanted // pile.per_crate, crates) * pile.per_crate
        case _From.BROKEN_CRATES:
            return min(wanted, rest)
    return min(wanted, there)


def _why(
    will_do: Sequence[tuple[_Pile, Serving]], place: int, taken: Mapping[str, Sequence[int]]
) -> notes.WhyTaken:
    """Why a lot is taken before the next one that would do, or after those that were not enough."""
    pile, serving = will_do[place]
    code = pile.supply.lot.lot_code
    untaken = [found for found in will_do if found[0].supply.lot.lot_code not in taken]
    others = untaken or will_do[place + 1 :]
    if not others:
        before = will_do[place - 1][0].supply.lot.lot_code if place else ""
        return notes.WhyTaken(
            lot=code, other=before, ground="after" if before else "only", until=None, doubt=""
        )
    other_pile, other = others[0]
    other_code, bunches, other_bunches = other_pile.supply.lot.lot_code, taken[code][0], other_pile.bunches
    ground = "code" if code < other_code else "crates" if other_bunches >= bunches else "enough"
    if serving.marked != other.marked:
        ground = "unmarked"
    elif _kept_day(pile) != _kept_day(other_pile):
        ground = "keeps"
    doubt = next((mark.value for mark in other.marks if mark in DOUBTS), "")
    return notes.WhyTaken(
        lot=code, other=other_code, ground=ground, until=pile.supply.keeps_until, doubt=doubt
    )
