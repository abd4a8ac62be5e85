"""The season plan as a linear programme.

Columns, all of them ≥ 0:

- stems[s, w]: stems of a stay s (a lot, a way, a cooler) that leave for want w, where the rules allow it;
- rest[s]: stems of a stay that nobody gets;
- short[w]: what a want lacks, in its own unit;
- over[c, d]: by how much a cooler is over-full at its fullest moment of a day, as a share of it;
- fill[m]: how full a cooler is, as a share of it, when something comes in and as a day begins.

Rows:

- of each lot, Σ stems + Σ rest = its stems; rest ≥ what it holds for orders that it cannot serve;
- of each want, Σ stems (or Σ stems / bunch) + short = amount;
- fill at a moment = fill at the one before + what came in − what left, in crates / crates of the cooler and
  buckets / buckets of it, added up where they share its space (the rules of `room`, in fractions);
- fill − over ≤ 1, or a little less on days on which rounding up would not fit.

Aims, one after the other: what is kept is short · must orders short · written orders short · marked stems
among those · room over · usual sales short, the nearest weighing most · marked stems in usual sales · stems
past their last outlet · stems in another cooler than their row's · stems kept another way than is advised ·
what keeps longer leaving before what ends first. The last three only choose among equals.

Marked stems count in the third aim where they are for orders; for usual sales they count after what is
short: a bunch that has to be opened first is worth more than one thrown out.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time
from typing import NamedTuple

from tagmaker.farm import Cooler
from tagmaker.storage.linear_model import LinearModel, ModelBuilder
from tagmaker.storage.moments import DAY
from tagmaker.storage.season_problem import Chance, Claim, Rest, SeasonProblem, Stay, Stock, Want

UNWRITTEN_BUNCH = 10.0  # [stems] that a bunch short counts as where no lot could serve it (the usual bunch)


class Leaving(NamedTuple):
    """A column of stems: which stock and stay they are of, and what they leave for."""

    column: int
    stock: int
    stay: int
    chance: int


@dataclass(frozen=True, slots=True)
class SeasonModel:
    """The programme, and what its columns mean."""

    linear: LinearModel
    leaving: tuple[Leaving, ...]
    short: tuple[int, ...]  # by want
    over: tuple[tuple[str, date, int], ...]  # cooler, day, column


AIMS = (
    *("kept", "must", "ordered", "marked", "room", "usual"),
    *("marked usual", "past", "elsewhere", "advised", "first"),
)


def season_model(problem: SeasonProblem) -> SeasonModel:
    """The programme of a problem; the same for the same problem."""
    return _Building(problem).model()


class _Flow(NamedTuple):
    """Stems of a column that stand in a cooler for a time, in crates or in buckets."""

    column: int
    start: datetime
    end: datetime
    in_bucket: bool
    per: float  # containers a unit of the column


class _Building:
    """One building of the programme."""

    def __init__(self, problem: SeasonProblem) -> None:
        self.problem = problem
        self.lp = ModelBuilder()
        self.flows: dict[str, list[_Flow]] = defaultdict(list)
        self.leaving: list[Leaving] = []
        self.rest: list[tuple[int, Rest]] = []
        self.served: dict[int, dict[int, float]] = defaultdict(dict)  # want -> column -> factor
        self.over: list[tuple[str, date, int]] = []

    def model(self) -> SeasonModel:
        for at, stock in enumerate(self.problem.stocks):
            self._stock(at, stock)
        short = [self._want(at, want) for at, want in enumerate(self.problem.wants)]
        for cooler in self.problem.coolers:
            self._room(cooler)
        self._aims(short)
        return SeasonModel(self.lp.model(), tuple(self.leaving), tuple(short), tuple(self.over))

    # --- stems and wants ---

    def _stock(self, at: int, stock: Stock) -> None:
        share: dict[int, float] = {}
        rests: dict[int, float] = {}
        for number, stay in enumerate(stock.stays):
            for chance_at, chance in enumerate(stay.chances):
                want = self.problem.wants[chance.want]
                column = self.lp.column(high=stock.stems)
                share[column] = 1.0
                self.leaving.append(Leaving(column, at, number, chance_at))
                self.served[chance.want][column] = 1 / stock.per_bunch if want.in_bunches else 1.0
                self._stands(column, stay, chance.into_water, want.leaves)
            if stay.rest is not None:
                rest = self.lp.column(high=stock.stems)
                share[rest] = rests[rest] = 1.0
                self.rest.append((rest, stay.rest))
                self._stands(rest, stay, stay.rest.into_water, stay.rest.until)
        self.lp.row(share, low=stock.stems, high=stock.stems)
        if stock.held:
            self.lp.row(rests, low=stock.held)

    def _want(self, at: int, want: Want) -> int:
        short = self.lp.column(high=want.amount)
        self.lp.row({**self.served[at], short: 1.0}, low=want.amount, high=want.amount)
        return short

    # --- room ---

    def _stands(self, column: int, stay: Stay, into_water: datetime | None, until: datetime) -> None:
        """Where stems of a column stand until they leave: dry in crates, then in buckets."""
        since = max(stay.since, self.problem.now)
        soaked = stay.in_water if stay.in_water is not None else into_water
        soaked = min(max(soaked, since), until) if soaked is not None else until
        for start, end, in_bucket in ((since, soaked, False), (soaked, until, True)):
            if start < end:
                per = 1 / (stay.per_bucket if in_bucket else stay.per_crate)
                self.flows[stay.cooler].append(_Flow(column, start, end, in_bucket, per))

    def _room(self, cooler: Cooler) -> None:
        """The fill of a cooler at each moment at which something comes into it, in crates and in buckets."""
        flows = [f for f in self.flows[cooler.name] if not f.in_bucket or cooler.soak_inside]
        over: dict[date, int] = {}
        for shares in _meters(cooler):
            self._meter(cooler, [f for f in flows if f.in_bucket in shares], shares, over)
        self.over += [(cooler.name, day, column) for day, column in sorted(over.items())]

    def _meter(
        self, cooler: Cooler, flows: Sequence[_Flow], shares: Mapping[bool, float], over: dict[date, int]
    ) -> None:
        """Fill and over-fill by one measure; `over` has the column of each day and grows."""
        changes = sorted(_changes(flows, shares))
        before, at = None, 0
        for moment in self._moments(flows):
            factors: dict[int, float] = defaultdict(float)
            while at < len(changes) and changes[at][0] <= moment:
                factors[changes[at][1]] -= changes[at][2]
                at += 1
            fill = self.lp.column()
            factors[fill] = 1.0
            if before is not None:
                factors[before] = -1.0
            self.lp.row(factors, low=0.0, high=0.0)
            day = moment.date()
            if day not in over:
                over[day] = self.lp.column()
            margin = self.problem.margins.get((cooler.name, day), 0.0)
            self.lp.row({fill: 1.0, over[day]: -1.0}, high=1.0 - margin)
            before = fill

    def _moments(self, flows: Sequence[_Flow]) -> list[datetime]:
        """When something comes in, and the beginning of each day on which something stands there."""
        now = self.problem.now
        midnights = [datetime.combine(now.date() + n * DAY, time()) for n in range(self.problem.days + 1)]
        last = min(max((flow.end for flow in flows), default=now), midnights[-1])
        found = {flow.start for flow in flows if flow.start < last}
        return sorted(found | {midnight for midnight in midnights if now < midnight < last})

    # --- aims ---

    def _aims(self, short: Sequence[int]) -> None:
        wants, lp = self.problem.wants, self.lp
        for name, claim in (("kept", Claim.KEPT), ("must", Claim.MUST), ("ordered", Claim.ORDERED)):
            lp.aim(name, self._shorts(short, claim))
        marked = [(one.column, self._of(one)) for one in self.leaving if self._chance(one).marked]
        lp.aim("marked", [(column, 1.0) for column, want in marked if want.claim is not Claim.USUAL])
        size = {cooler.name: cooler.crates or cooler.buckets or 1.0 for cooler in self.problem.coolers}
        lp.aim("room", [(column, size[cooler]) for cooler, _, column in self.over])
        today = self.problem.now.date()
        nearest = {at: self.problem.days - (w.leaves.date() - today).days for at, w in enumerate(wants)}
        usual = self._shorts(short, Claim.USUAL)
        index = {column: at for at, column in enumerate(short)}
        lp.aim("usual", [(c, cost * nearest[index[c]] / self.problem.days) for c, cost in usual])
        lp.aim("marked usual", [(column, 1.0) for column, want in marked if want.claim is Claim.USUAL])
        lp.aim("past", [(column, 1.0) for column, rest in self.rest if not rest.keeps_on])
        lp.aim("elsewhere", [(one.column, 1.0) for one in self.leaving if self._stay(one).elsewhere])
        lp.aim("advised", [(one.column, float(self._chance(one).unadvised)) for one in self.leaving])
        lp.aim("first", self._first_ending_first())

    def _shorts(self, short: Sequence[int], claim: Claim) -> list[tuple[int, float]]:
        """What wants of a claim lack, in stems."""
        found = []
        for at, want in enumerate(self.problem.wants):
            if want.claim is claim:
                sizes = [1 / factor for factor in self.served[at].values()]
                cost = max(sizes, default=UNWRITTEN_BUNCH) if want.in_bunches else 1.0
                found.append((short[at], cost))
        return found

    def _first_ending_first(self) -> Iterator[tuple[int, float]]:
        """A stem that keeps long costs more the earlier it leaves; no two of a pair cost the same."""
        stocks, last = self.problem.stocks, len(self.problem.wants)
        order = sorted(range(len(stocks)), key=lambda at: (stocks[at].ends, stocks[at].lot))
        rank = {stock: place + 1 for place, stock in enumerate(order)}
        for one in self.leaving:
            early = last - self._chance(one).want
            yield one.column, rank[one.stock] * early / (len(stocks) * last)

    def _stay(self, one: Leaving) -> Stay:
        return self.problem.stocks[one.stock].stays[one.stay]

    def _chance(self, one: Leaving) -> Chance:
        return self._stay(one).chances[one.chance]

    def _of(self, one: Leaving) -> Want:
        return self.problem.wants[self._chance(one).want]


def _meters(cooler: Cooler) -> list[dict[bool, float]]:
    """What is measured of a cooler: of buckets (True) and crates, the share that one takes."""
    shares = {
        in_bucket: 1 / limit
        for in_bucket, limit in ((False, cooler.crates), (True, cooler.buckets))
        if limit is not None
    }
    return [shares] if cooler.shared and shares else [{kind: share} for kind, share in shares.items()]


def _changes(flows: Sequence[_Flow], shares: Mapping[bool, float]) -> Iterator[tuple[datetime, int, float]]:
    for flow in flows:
        share = flow.per * shares[flow.in_bucket]
        yield flow.start, flow.column, share
        yield flow.end, flow.column, -share
