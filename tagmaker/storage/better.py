"""Whether another answer would serve more of what buyers ordered, held against the order of `allocation`.

The model: for every written order d and lot l that may serve it, x[d, l] whole bunches, and y[d, l] ∈ {0, 1}
for the short last bunch of l where d is in stems. What is kept already is left as it is.

- Σ_d x[d, l] ≤ the full bunches that are free of l, Σ_d y[d, l] ≤ 1
- m[d] ≥ wanted of d − Σ_l size of l · x[d, l] − Σ_l size of the short bunch · y[d, l]; counted in bunches of
  size 1, without y, where d is in bunches; m[d] ≥ 0
- aims, one after the other: Σ m[d] over the orders of `must` uses; Σ m[d] over the others; the bunches that
  go elsewhere than in the allocation. A bunch missing of an order in bunches weighs `A_BUNCH` stems.

Only the orders count that hang together with one that is short: what others have can then not be given to it.
First expired, first out is the plain rule beside it: orders by departure, each from the lots that keep least
long, whatever their marks.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime

from tagmaker import notes
from tagmaker.farm import Farm
from tagmaker.storage.allocation import Allocation
from tagmaker.storage.linear_model import LinearModel, ModelBuilder
from tagmaker.storage.promises import Demand, Wanted
from tagmaker.storage.serving import Supply

A_BUNCH = 10  # stems that a missing bunch of an order in bunches weighs (chosen: the usual bunch)

Missing = tuple[int, int]  # [stems] of orders of must uses, of others


@dataclass(frozen=True, slots=True)
class Pair:
    """Bunches of one size of a lot that may go to an order."""

    demand: int  # index of the order
    lot: str
    short: bool  # the short last bunch
    worth: int  # what one counts for the order, in what it is written in
    marked: bool  # somebody has to look first, or the stems are not as good as they should be


@dataclass(frozen=True, slots=True, kw_only=True)
class Question:
    """Orders and lots that hang together with an order that is short, without what is kept already."""

    demands: tuple[Demand, ...]
    wanted: tuple[int, ...]  # by order: stems or bunches, as it is written
    pairs: tuple[Pair, ...]
    there: Mapping[tuple[str, bool], int]  # lot, short: bunches that are free
    given: Mapping[Pair, int]  # by the allocation
    until: Mapping[str, datetime]  # by lot: that it keeps

    def missing(self, given: Mapping[Pair, int]) -> Missing:
        """Stems that the orders lack by an answer."""
        lacks = [0, 0]
        for at, demand in enumerate(self.demands):
            lacks[not demand.must] += self.weight(at) * self.short_of(at, given)
        return lacks[0], lacks[1]

    def short_of(self, at: int, given: Mapping[Pair, int]) -> int:
        """What an order lacks, in what it is written in."""
        served = sum(pair.worth * count for pair, count in given.items() if pair.demand == at)
        return max(self.wanted[at] - served, 0)

    def weight(self, at: int) -> int:
        """Stems that one of what an order is written in weighs."""
        return 1 if self.demands[at].stems is not None else A_BUNCH


@dataclass(frozen=True, slots=True, kw_only=True)
class Offer:
    """An answer that serves more of what was ordered."""

    given: Mapping[Pair, int]
    missing: Missing  # by it
    missing_now: Missing  # by the allocation
    plain: bool  # first expired, first out gives it
    proven: bool  # no answer serves more
    why: notes.BetterIf


def question(allocation: Allocation, supplies: Sequence[Supply], farm: Farm) -> Question | None:
    """What could be asked of a better answer; None where no other would serve more.

    An order can only gain what a lot that may serve it gives to another, or in bunches of another size.
    """
    codes = {supply.lot.lot_code: supply for supply in supplies}
    usable = [(code, supply) for code, supply in codes.items() if supply.refusal is None]
    lines = [line for line in allocation.lines if not line.fixed and line.demand.source is Wanted.WRITTEN]
    holders: dict[str, list[Demand]] = {}
    for line in lines:
        holders.setdefault(line.supply.lot.lot_code, []).append(line.demand)
    found = [short.demand for short in allocation.shortfalls if short.demand.source is Wanted.WRITTEN]
    serving: dict[str, dict[str, bool]] = {}  # order -> lots that may serve it -> marked
    contended = False
    for demand in found:  # grows while it is walked
        use = farm.uses[demand.use]
        asked = ((c, s.serves(demand.leaves, use)) for c, s in usable if demand.fits(s.lot))
        serving[demand.code] = {code: serves.marked for code, serves in asked if serves.ok}
        for code in serving[demand.code]:
            contended = contended or any(other is not demand for other in holders.get(code, ()))
            found += [other for other in holders.get(code, ()) if other not in found]
    if not contended:
        return None
    return _question(sorted(found, key=lambda demand: demand.rank), serving, allocation, codes)


def _question(
    demands: Sequence[Demand],
    serving: Mapping[str, Mapping[str, bool]],
    allocation: Allocation,
    supplies: Mapping[str, Supply],
) -> Question:
    free = {code: max(supply.lot.left or 0, 0) for code, supply in supplies.items()}
    wanted = [demand.bunches if demand.stems is None else demand.stems for demand in demands]
    for line in allocation.lines:
        if line.fixed:
            free[line.supply.lot.lot_code] -= line.stems
        if line.fixed and line.demand in demands:
            at = demands.index(line.demand)
            wanted[at] = (wanted[at] or 0) - (line.bunches if line.demand.stems is None else line.stems)
    pairs = tuple(_pairs(demands, serving, supplies, free))
    there: dict[tuple[str, bool], int] = {}
    for code, stems in free.items():
        full, rest = divmod(stems, supplies[code].lot.per_bunch)
        there |= {(code, False): full, (code, True): int(rest > 0)}
    until = {code: supply.keeps_until or datetime.min for code, supply in supplies.items()}
    return Question(
        demands=tuple(demands),
        wanted=tuple(max(want or 0, 0) for want in wanted),
        pairs=pairs,
        there=there,
        given=_given(demands, pairs, allocation),
        until=until,
    )


def _pairs(
    demands: Sequence[Demand],
    serving: Mapping[str, Mapping[str, bool]],
    supplies: Mapping[str, Supply],
    free: Mapping[str, int],
) -> Iterator[Pair]:
    for at, demand in enumerate(demands):
        for code, marked in serving[demand.code].items():
            full, rest = divmod(free[code], supplies[code].lot.per_bunch)
            in_stems = demand.stems is not None
            if full:
                yield Pair(at, code, False, supplies[code].lot.per_bunch if in_stems else 1, marked)
            if rest and in_stems:
                yield Pair(at, code, True, rest, marked)


def _given(demands: Sequence[Demand], pairs: Sequence[Pair], allocation: Allocation) -> dict[Pair, int]:
    """The allocation as an answer."""
    known = {(pair.demand, pair.lot, pair.short): pair for pair in pairs}
    given: dict[Pair, int] = {}
    for line in allocation.lines:
        if line.fixed or line.demand not in demands:
            continue
        at, code = demands.index(line.demand), line.supply.lot.lot_code
        full, rest = divmod(line.stems, line.supply.lot.per_bunch)
        for short, count in ((False, full), (True, int(rest > 0))):
            if count:
                given[known[at, code, short]] = count
    return given


def first_expired(asked: Question) -> dict[Pair, int]:
    """The answer of first expired, first out: orders by departure, lots by the day that they keep until."""
    there, given = dict(asked.there), dict[Pair, int]()
    by_departure = sorted(range(len(asked.demands)), key=lambda at: (asked.demands[at].leaves, at))
    for at in by_departure:
        missing = asked.wanted[at]
        own = [pair for pair in asked.pairs if pair.demand == at]
        for pair in sorted(own, key=lambda pair: (asked.until[pair.lot].date(), pair.lot, pair.short)):
            count = min(-(-missing // pair.worth), there[pair.lot, pair.short])
            if count > 0:
                given[pair] = count
                there[pair.lot, pair.short] -= count
                missing -= count * pair.worth
    return given


def model(asked: Question) -> LinearModel:
    """The model; the columns of `asked.pairs` come first, in their order."""
    build = ModelBuilder()
    pairs = [build.column(asked.there[pair.lot, pair.short], whole=True) for pair in asked.pairs]
    lacks = [build.column(want) for want in asked.wanted]
    for lot, high in asked.there.items():
        same = {at: 1.0 for at, pair in zip(pairs, asked.pairs, strict=True) if (pair.lot, pair.short) == lot}
        if same:
            build.row(same, high=high)
    for at, (want, lack) in enumerate(zip(asked.wanted, lacks, strict=True)):
        worth = {c: float(p.worth) for c, p in zip(pairs, asked.pairs, strict=True) if p.demand == at}
        build.row(worth | {lack: 1.0}, low=want)
    for must in (True, False):
        own = [at for at, demand in enumerate(asked.demands) if demand.must is must]
        build.aim("must short" if must else "written short", [(lacks[at], asked.weight(at)) for at in own])
    moved = []
    for column, pair in zip(pairs, asked.pairs, strict=True):
        moved.append(build.column())
        build.row({moved[-1]: 1.0, column: -1.0}, low=-asked.given.get(pair, 0))
    build.aim("bunches moved", [(column, 1.0) for column in moved])
    return build.model()


def answer(asked: Question, values: Sequence[float]) -> dict[Pair, int]:
    """The bunches of a solution; what no order needs is left out."""
    given = {pair: round(value) for pair, value in zip(asked.pairs, values, strict=False) if round(value)}
    for pair in sorted(given, key=lambda pair: (given[pair] <= asked.given.get(pair, 0), pair.worth)):
        spare = sum(p.worth * n for p, n in given.items() if p.demand == pair.demand)
        spare -= asked.wanted[pair.demand]
        given[pair] -= min(max(spare, 0) // pair.worth, given[pair])
    return {pair: count for pair, count in given.items() if count}


def offer(
    asked: Question, given: Mapping[Pair, int], *, plain: bool = False, proven: bool = False
) -> Offer | None:
    """An answer as it is offered; None where it serves no more than the allocation does."""
    now, then = asked.missing(asked.given), asked.missing(given)
    if then >= now:
        return None
    orders = range(len(asked.demands))
    change = [asked.short_of(at, asked.given) - asked.short_of(at, given) for at in orders]
    best = max(orders, key=lambda at: change[at] * asked.weight(at) * (1 + 10**6 * asked.demands[at].must))
    demand = asked.demands[best]
    more = {pair: count - asked.given.get(pair, 0) for pair, count in given.items()}
    moved: dict[tuple[str, str], int] = {}  # order and lot -> bunches
    for pair, count in more.items():
        key = (asked.demands[pair.demand].code, pair.lot)
        moved[key] = moved.get(key, 0) + max(count, 0)
    why = notes.BetterIf(
        more=change[best],
        in_bunches=demand.stems is None,
        order=demand.code,
        leaves=demand.leaves,
        use=demand.use,
        others=tuple(asked.demands[at].code for at in orders if change[at] > 0 and at != best),
        less=tuple(asked.demands[at].code for at in orders if change[at] < 0),
        moved=tuple((count, lot, code) for (code, lot), count in sorted(moved.items()) if count),
        doubtful=tuple(sorted({pair.lot for pair, count in more.items() if count > 0 and pair.marked})),
    )
    return Offer(given=given, missing=then, missing_now=now, plain=plain, proven=proven, why=why)
