"""The bunches of lots that are free, and from which crates of which lots they are taken."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from datetime import date
from enum import Enum, auto

from tagmaker.lot import StorageCode
from tagmaker.storage.promises import Demand
from tagmaker.storage.serving import Supply


@dataclass(slots=True)
class Pile:
    """The stems of a lot that are still free."""

    supply: Supply
    stems: int
    given: list[str] = field(default_factory=list)  # to whom the others went

    @property
    def per_bunch(self) -> int:
        """Stems of a whole bunch."""
        return self.supply.lot.per_bunch

    @property
    def bunches(self) -> int:
        """Bunches that are free, the last one perhaps short."""
        return -(-self.stems // self.per_bunch)

    @property
    def full(self) -> int:
        """Bunches that are free and whole."""
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
            self.given.append(called(demand))
        return taken, stems


def crate_stems(supply: Supply) -> int:
    """Stems that a crate takes, or a bucket where they stand in one."""
    keeping = supply.keeping
    dry = supply.code is not StorageCode.WATER and keeping.per_crate is not None
    return keeping.per_crate or keeping.per_bucket if dry else keeping.per_bucket


def called(demand: Demand) -> str:
    """What a demand is called where a lot was given to it: its order's code, else its use."""
    return demand.code or demand.use


def available(pile: Pile, demand: Demand) -> int:
    """Bunches that a demand may take of a lot: a short one is no bunch to who orders bunches."""
    return pile.full if demand.stems is None else pile.bunches


def kept_day(pile: Pile) -> date:
    """The day that a lot keeps until; one that only an open use would still take comes first."""
    return pile.supply.keeps_until.date() if pile.supply.keeps_until else date.min


class From(Enum):
    """Where bunches are taken from, of lots that keep equally long, in this order."""

    ONE_LOT_AS_IT_STANDS = auto()  # all of one lot, and no whole crate is broken for it
    ONE_LOT = auto()  # all of one lot
    WHOLE_CRATES = auto()  # of which all is wanted
    BROKEN_CRATES = auto()
    ANY_CRATE = auto()


def from_crates(piles: Sequence[Pile], demand: Demand, missing: int) -> Iterator[tuple[Pile, int]]:
    """Bunches to take of lots that keep equally long, in the order of `From`, then of code.

    A lot that gives some already comes before the others. The caller takes what is yielded before it asks
    for more.
    """
    giving: list[str] = []
    for source in From:
        for pile in sorted(piles, key=lambda pile: pile.supply.lot.lot_code not in giving):
            wanted = missing if demand.stems is None else -(-missing // pile.per_bunch)
            bunches = _taken_from(source, pile, wanted, available(pile, demand))
            if bunches > 0:
                missing -= bunches if demand.stems is None else min(bunches * pile.per_bunch, pile.stems)
                giving.append(pile.supply.lot.lot_code)
                yield pile, bunches
            if missing <= 0:
                return


def _taken_from(source: From, pile: Pile, wanted: int, there: int) -> int:
    """How many of the bunches wanted a lot gives at a step."""
    crates, rest = divmod(there, pile.per_crate)
    match source:
        case From.ONE_LOT_AS_IT_STANDS:
            return wanted if wanted <= there and wanted % pile.per_crate <= rest else 0
        case From.ONE_LOT:
            return wanted if wanted <= there else 0
        case From.WHOLE_CRATES:
            return min(wanted // pile.per_crate, crates) * pile.per_crate
        case From.BROKEN_CRATES:
            return min(wanted, rest)
    return min(wanted, there)
