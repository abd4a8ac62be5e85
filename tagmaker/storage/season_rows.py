"""A solved season plan in whole bunches: rows that may be accepted, what orders lack, what finds no outlet.

Stems are rounded down to bunches; where that leaves a written order short, it gets one more bunch of a lot
that it has some of already. What is over finds no outlet.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from hashlib import sha256

from tagmaker.lot import Lot, StorageCode
from tagmaker.storage.season_model import Leaving, SeasonModel
from tagmaker.storage.season_plan import SeasonPlan
from tagmaker.storage.season_problem import Claim, Want
from tagmaker.storage.serving import Serving

ROUNDING = 1e-5  # [stems] by which a solver misses whole stems
ID_DIGITS = 5  # of a row's fingerprint, in hexadecimal: one in a million to be another's (chosen)


@dataclass(frozen=True, slots=True, kw_only=True)
class Proposal:
    """Bunches of one lot for one outlet and day: a row that may be accepted."""

    id: str  # tells what it came from: another amount, date or lot has another one
    lot: str
    planned: bool  # the lot is still to be cut
    use: str
    leaves: datetime
    way: StorageCode
    cooler: str
    elsewhere: bool  # another cooler than that of its row, which is over-full
    bunches: int
    stems: int
    serving: Serving
    orders: tuple[str, ...]  # codes of the written orders in it
    usual_stems: int  # of it for what the outlet usually sells


@dataclass(frozen=True, slots=True)
class Lacking:
    """What a want does not get."""

    want: Want
    amount: int  # stems, or bunches where those are wanted


@dataclass(frozen=True, slots=True)
class Unplaced:
    """Stems of a lot that nobody gets."""

    lot: str
    stems: int
    held: int  # of them promised for what they cannot serve
    keeps_on: bool  # they would still do for somebody after the plan's last day


@dataclass(frozen=True, slots=True, kw_only=True)
class Proposals:
    """A season plan in whole bunches."""

    rows: tuple[Proposal, ...]  # by lot, then by departure
    lacking: tuple[Lacking, ...]  # by departure
    unplaced: tuple[Unplaced, ...]  # by lot


def proposals(plan: SeasonPlan, model: SeasonModel, values: Sequence[float]) -> Proposals:
    """The rows of a solution.

    Args:
        plan: what was planned.
        model: its programme.
        values: of the programme's columns.
    """
    return _Rounding(plan, model, values).proposals()


@dataclass(slots=True)
class _Group:
    """Stems of one stay for one departure, before and after rounding."""

    stems: float = 0.0
    bunches: int = 0
    wants: list[tuple[int, float]] = field(default_factory=list)  # want, stems; orders first


Key = tuple[int, int, datetime, str]  # stock, stay, departure, use


class _Rounding:
    """One rounding of a solution."""

    def __init__(self, plan: SeasonPlan, model: SeasonModel, values: Sequence[float]) -> None:
        self.plan, self.problem = plan, plan.problem
        self.lacks = [want.amount for want in self.problem.wants]
        self.spare = [stock.stems - stock.held for stock in self.problem.stocks]
        self.groups: dict[Key, _Group] = defaultdict(_Group)
        for one in model.leaving:
            self._take(one, values[one.column])
        for group in self.groups.values():
            group.wants.sort(key=lambda pair: (self.problem.wants[pair[0]].claim, pair[0]))

    def _take(self, one: Leaving, stems: float) -> None:
        if stems <= ROUNDING:
            return
        stock = self.problem.stocks[one.stock]
        chance = stock.stays[one.stay].chances[one.chance]
        want = self.problem.wants[chance.want]
        if want.claim is Claim.KEPT:
            self.lacks[chance.want] -= stems
            self.spare[one.stock] -= round(stems)
            return
        group = self.groups[one.stock, one.stay, want.leaves, want.use]
        group.stems += stems
        group.wants.append((chance.want, stems))

    def proposals(self) -> Proposals:
        for key, group in self.groups.items():
            size = self.problem.stocks[key[0]].per_bunch
            self._give(key, group, math.floor((group.stems + ROUNDING) / size))
        self._make_up()
        rows = [self._row(key, group) for key, group in self.groups.items() if group.bunches]
        rows.sort(key=lambda row: (row.lot, row.leaves, row.use, row.way.value, row.cooler))
        lacking = (
            Lacking(want, math.ceil(lack - ROUNDING))
            for want, lack in zip(self.problem.wants, self.lacks, strict=True)
        )
        return Proposals(
            rows=tuple(rows),
            lacking=tuple(lack for lack in lacking if lack.amount > 0),
            unplaced=tuple(self._unplaced()),
        )

    def _give(self, key: Key, group: _Group, bunches: int) -> None:
        """Give whole bunches to the wants of a group, orders first."""
        size = self.problem.stocks[key[0]].per_bunch
        group.bunches += bunches
        self.spare[key[0]] -= bunches * size
        for want, _ in group.wants:
            each = 1 if self.problem.wants[want].in_bunches else size
            given = min(bunches, max(math.ceil((self.lacks[want] - ROUNDING) / each), 0))
            self.lacks[want] -= given * each
            bunches -= given

    def _make_up(self) -> None:
        """One more bunch where rounding left a written order short, the first one first."""
        for want_at, want in sorted(enumerate(self.problem.wants), key=lambda pair: (pair[1].claim, pair[0])):
            if want.claim not in (Claim.MUST, Claim.ORDERED):
                continue
            for key, group in self.groups.items():
                size = self.problem.stocks[key[0]].per_bunch
                serves = any(at == want_at for at, _ in group.wants)
                if self.lacks[want_at] > ROUNDING and serves and self.spare[key[0]] >= size:
                    self._give(key, group, 1)

    def _row(self, key: Key, group: _Group) -> Proposal:
        stock_at, stay_at, leaves, use = key
        stock = self.problem.stocks[stock_at]
        stay, supply = stock.stays[stay_at], self.plan.supplies[stock_at][stay_at]
        stems = group.bunches * stock.per_bunch
        wants = [self.problem.wants[at] for at, _ in group.wants]
        serving = self.plan.serving(stock_at, stay_at, group.wants[0][0])
        usual = sum(stems for at, stems in group.wants if self.problem.wants[at].claim is Claim.USUAL)
        content = (stock.lot, use, leaves, stay.way, stay.cooler, stems, serving, wants)
        return Proposal(
            id=f"{stock.lot}-{leaves:%m%d}-{_fingerprint(content, supply.lot)}",
            lot=stock.lot,
            planned=supply.planned,
            use=use,
            leaves=leaves,
            way=stay.way,
            cooler=stay.cooler,
            elsewhere=stay.elsewhere,
            bunches=group.bunches,
            stems=stems,
            serving=serving,
            orders=tuple(want.name for want in wants if want.claim is not Claim.USUAL),
            usual_stems=min(round(usual), stems),
        )

    def _unplaced(self) -> Iterator[Unplaced]:
        for stock, spare in zip(self.problem.stocks, self.spare, strict=True):
            keeps_on = any(stay.rest is not None and stay.rest.keeps_on for stay in stock.stays)
            if spare + stock.held > 0:
                yield Unplaced(stock.lot, spare + stock.held, stock.held, keeps_on)


def _fingerprint(content: object, lot: Lot) -> str:
    """What tells a row that came from something else, in some letters: the row, and its lot as it is."""
    of_lot = (
        lot.cut,
        lot.stage,
        lot.stems,
        lot.left,
        lot.gone,
        lot.orders,
        lot.in_water,
        lot.tested,
        lot.moves,
    )
    return sha256(repr((content, of_lot)).encode()).hexdigest()[:ID_DIGITS].upper()
