"""What a season plan decides on, as plain data: stems, the ways they may be kept, what is wanted, and room.

Everything that the dating rules have to say is in it already: which stems may leave for which departure, from
when they stand in water for it, and which would be marked.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime
from enum import IntEnum

from tagmaker.farm import Cooler
from tagmaker.lot import StorageCode


class Claim(IntEnum):
    """How strong a claim to stems is, the strongest first."""

    KEPT = 0  # promised of one lot already
    MUST = 1  # ordered, of a use whose orders are filled first
    ORDERED = 2
    USUAL = 3  # what the outlet usually sells on the day


@dataclass(frozen=True, slots=True, kw_only=True)
class Want:
    """Stems or bunches that are wanted for one departure."""

    claim: Claim
    leaves: datetime
    use: str
    name: str = ""  # code of an order, or of the lot that promised; sorts wants of one departure
    amount: float  # stems, or bunches
    in_bunches: bool = False  # of whatever size a lot has them

    @property
    def rank(self) -> tuple[datetime, str, Claim, str]:
        """The order of wants, whatever order they come in."""
        return self.leaves, self.use, self.claim, self.name


@dataclass(frozen=True, slots=True, kw_only=True)
class Chance:
    """Stems kept one way may leave for a want: the dating rules allow it."""

    want: int  # index of the want
    into_water: datetime | None  # from when they stand in water; None: never before they leave
    marked: bool  # somebody has to look first, or they are not as good as they should be
    unadvised: int  # ways that are advised rather for this departure


@dataclass(frozen=True, slots=True, kw_only=True)
class Rest:
    """What becomes of stems of a stay that nobody wants."""

    into_water: datetime | None  # from when they stand in water; None: never
    until: datetime  # how long they take room
    keeps_on: bool  # they would still do for somebody after the last day of the plan


@dataclass(frozen=True, slots=True, kw_only=True)
class Stay:
    """Stems of a lot kept one way in one cooler."""

    way: StorageCode
    cooler: str
    elsewhere: bool = False  # another cooler than that of the row
    since: datetime  # from when they stand there
    per_crate: int  # stems
    per_bucket: int  # stems
    in_water: datetime | None = None  # from when all of it stands in water; None: it is dry
    chances: tuple[Chance, ...] = ()
    rest: Rest | None = None  # None: what nobody wants is not kept this way


@dataclass(frozen=True, slots=True, kw_only=True)
class Stock:
    """The stems of one lot that the plan decides on, those promised included."""

    lot: str
    stems: int
    held: int = 0  # of them promised for what they cannot serve: nobody else gets them
    per_bunch: int
    ends: datetime  # until when they keep: what ends first is sold first
    stays: tuple[Stay, ...]  # at least one; one of them keeps the rest


@dataclass(frozen=True, kw_only=True)
class SeasonProblem:
    """All that a plan is made from."""

    now: datetime
    days: int  # that it looks ahead, today the first
    stocks: Sequence[Stock]  # in order of lot code
    wants: Sequence[Want]  # in order of `rank`
    coolers: Sequence[Cooler]
    # (cooler, day) -> share of it that is left free, so that what is rounded up to whole crates fits too
    margins: Mapping[tuple[str, date], float] = field(default_factory=dict)
