"""What is to be said about a lot, a plan or a cooler: one frozen class a sentence.

The sentence itself is the macro of the same name in templates/sentences.j2: `NotFor` is said by
`not_for`, with the fields as its parameters. Moments are local, temperatures are °C, stems are whole
stems; codes, stages and limits come as the words that the sheet and the calculation write them with.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, fields
from datetime import date, datetime


@dataclass(frozen=True, slots=True, kw_only=True)
class Note:
    """Something to be said."""

    @classmethod
    def macro(cls) -> str:
        """Name of the macro that says it: the class's own, in lower case.

        >>> WhyIntoWater.macro()
        'why_into_water'
        """
        return re.sub(r"(?<!^)(?=[A-Z])", "_", cls.__name__).lower()

    @property
    def values(self) -> dict[str, object]:
        """What the macro is given."""
        return {field.name: getattr(self, field.name) for field in fields(self)}


# Why a date is what it is.


@dataclass(frozen=True, slots=True, kw_only=True)
class _Stay(Note):
    """What every reason begins with: the cut, the crop, the way, the temperature and what stops it."""

    cut: datetime
    title: str  # form and crop
    code: str
    stage: str  # empty: blank in the sheet
    at_c: float  # [°C] counted
    logged: bool  # by readings
    cap: int  # [d]
    published: float | None  # [d]
    limit: str  # what stops the moment after it; empty: nothing
    use: str
    promised: float  # [d] vase days


@dataclass(frozen=True, slots=True, kw_only=True)
class WhySellBy(_Stay):
    """Why the sell-by is what it is, with what the next selling day would give."""

    days: int  # from the cut
    at_close: bool  # no selling day was left
    sells_to: str = ""  # the use that it is for, where its own has no moment that would do
    order: datetime | None = None  # that sets it
    otherwise: datetime | None = None  # what would hold without that order
    stretched: bool = False
    next_day: datetime | None = None  # the next selling day, where the sell-by is a close
    next_vase: int | None = None  # [d] vase days then
    next_limit: str = ""  # what stops it


@dataclass(frozen=True, slots=True, kw_only=True)
class WhyUndated(_Stay):
    """Why a lot can have no date."""

    hours: float  # [h] it needs to be ready
    opening: float  # [h] of them at room temperature


@dataclass(frozen=True, slots=True, kw_only=True)
class WhyWet(Note):
    """A lot that still waits to dry."""

    lot: str


@dataclass(frozen=True, slots=True, kw_only=True)
class WhySetTooCold(Note):
    """A lot in a cooler that is set colder than its stems freeze at, and hardly read."""

    cooler: str
    title: str
    set_c: float
    freezes_c: float


@dataclass(frozen=True, slots=True, kw_only=True)
class WhyFrozen(Note):
    """A lot that stood below its freezing point."""

    title: str
    on: date
    freezes_c: float


@dataclass(frozen=True, slots=True, kw_only=True)
class WhyHot(Note):
    """A lot that was so hot that it is lost."""

    hot_c: float


@dataclass(frozen=True, slots=True, kw_only=True)
class WhyIntoWater(Note):
    """Why stems go into water by then."""

    departure: datetime
    hours: float  # [h] in water
    opening: float  # [h] at room temperature
    code: str


# Orders.


@dataclass(frozen=True, slots=True, kw_only=True)
class _AboutOrder(Note):
    """An order that something is to be said about."""

    leaves: datetime
    stems: int | None  # None: the whole lot
    use: str


@dataclass(frozen=True, slots=True, kw_only=True)
class NotFor(_AboutOrder):
    """The lot cannot serve it."""

    limit: str
    last: datetime | None  # the last day that would do


@dataclass(frozen=True, slots=True, kw_only=True)
class TooLateFor(_AboutOrder):
    """Its hours no longer fit."""

    hours: float  # [h]


@dataclass(frozen=True, slots=True, kw_only=True)
class Stretched(_AboutOrder):
    """It is served past the storage life."""

    vase: float  # [d] left


@dataclass(frozen=True, slots=True, kw_only=True)
class WrongDay(_AboutOrder):
    """Its use does not sell that day."""

    nearest: date | None


@dataclass(frozen=True, slots=True, kw_only=True)
class KeepFor(_AboutOrder):
    """Stems to keep for it though the rest is past."""


@dataclass(frozen=True, slots=True, kw_only=True)
class OverOrdered(Note):
    """Orders want more than there is."""

    wanted: int
    left: int


@dataclass(frozen=True, slots=True, kw_only=True)
class TestFirst(Note):
    """When a bunch is to be opened, and for how long a stay."""

    days: int  # from the cut to the departure
    on: date
    overdue: bool


# The stems.


@dataclass(frozen=True, slots=True, kw_only=True)
class StageBlank(Note):
    """The sheet does not say how open the buds were."""

    title: str
    right: str
    looks: str  # what the right stage looks like
    usual: datetime | None  # what the right stage would give


@dataclass(frozen=True, slots=True, kw_only=True)
class _OffStage(Note):
    stage: str
    looks: str  # what it looks like
    right: str


@dataclass(frozen=True, slots=True, kw_only=True)
class StageEarly(_OffStage):
    """Cut earlier than right."""


@dataclass(frozen=True, slots=True, kw_only=True)
class StageLate(_OffStage):
    """Cut later than right."""

    half: bool  # half coloured; else too open to keep


@dataclass(frozen=True, slots=True, kw_only=True)
class HalfColoured(Note):
    """The buds are half coloured, or will be."""

    since: datetime
    seen: bool  # somebody wrote it; else warmth says so


@dataclass(frozen=True, slots=True, kw_only=True)
class TooOpen(Note):
    """The buds are too open to keep, or will be."""

    since: datetime
    seen: bool  # somebody wrote it; else warmth says so


@dataclass(frozen=True, slots=True, kw_only=True)
class TestedBad(Note):
    """A bunch that was opened was bad."""

    on: date


@dataclass(frozen=True, slots=True, kw_only=True)
class DatedLike(Note):
    """A crop that nobody has figures for is dated by those of another."""

    crop: str
    like: str


@dataclass(frozen=True, slots=True, kw_only=True)
class FormAssumed(Note):
    """The form was blank: the one with the shortest vase life was taken."""

    crop: str
    form: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Wet(Note):
    """Drops are left on the stems."""

    code: str


@dataclass(frozen=True, slots=True, kw_only=True)
class PromiseAboveFresh(Note):
    """A use promises more than fresh stems hold."""

    use: str
    promised: float  # [d]
    held: float  # [d] dated for


@dataclass(frozen=True, slots=True, kw_only=True)
class PutInWater(Note):
    """Dry stems that are needed so soon that they are better off in water."""

    needed: datetime


# The cooler.


@dataclass(frozen=True, slots=True, kw_only=True)
class BelowFreezing(Note):
    """Its set point is too cold for the stems."""

    cooler: str
    title: str
    set_c: float
    freezes_c: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Chilling(Note):
    """Its set point is, or may be, below the crop's chilling limit."""

    cooler: str
    title: str
    set_c: float | None
    limit_c: float


@dataclass(frozen=True, slots=True, kw_only=True)
class NoBucketsInside(Note):
    """Stems in water cannot stand in it."""

    cooler: str
    title: str
    room_c: float


@dataclass(frozen=True, slots=True, kw_only=True)
class LogEnded(Note):
    """Its log ended a while ago."""

    cooler: str
    ended: datetime
    counted_c: float


@dataclass(frozen=True, slots=True, kw_only=True)
class LogUnread(Note):
    """A log file that the settings name is not there, or has no row."""

    cooler: str
    whole: bool  # nothing of its log was read
    fault: str  # where and what


@dataclass(frozen=True, slots=True, kw_only=True)
class LogOffSetPoint(Note):
    """It runs far from its set point."""

    cooler: str
    mean_c: float
    set_c: float


@dataclass(frozen=True, slots=True, kw_only=True)
class PowerCut(Note):
    """A gap in its log was taken for a power cut."""

    cooler: str
    start: datetime
    end: datetime
    counted_c: float


@dataclass(frozen=True, slots=True, kw_only=True)
class DaysLost(Note):
    """What its readings cost a lot."""

    days: int | None  # None: no date is left
    without: datetime  # sell-by as it would be without readings


@dataclass(frozen=True, slots=True, kw_only=True)
class FitsUntil(Note):
    """Until when it has room for a lot."""

    cooler: str
    last: date


@dataclass(frozen=True, slots=True, kw_only=True)
class Overflow(Note):
    """It has less room than its lots need, for some days."""

    cooler: str
    first: date
    last: date
    crates: int  # too many
    buckets: int  # too many
    throw_out: tuple[str, ...]  # lots too old that make room, alone or with those to sell; or none
    sell: tuple[str, ...]  # lots that make room if they are sold first; or none
    move: tuple[str, ...]  # else: lots that make room elsewhere; or none
    plans: tuple[str, ...]  # planned lots that stand in it in these days


# Planned cuts.


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanGood(Note):
    """The planned cut serves."""

    code: str
    first: date
    last: date
    needed: datetime | None
    test_first: bool
    stage: str
    looks: str  # what that stage looks like


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanBad(Note):
    """The planned cut does not serve its order."""

    needed: datetime
    cut: datetime
    first: date | None  # None: no day to cut would
    last: date | None


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanOpen(Note):
    """Nothing is ordered from the planned cut."""

    code: str
    sell_by: datetime
    with_bulb: datetime | None  # sell by with the bulb on; None: not asked, or the code is BULB


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanNothing(Note):
    """Nothing is ordered, and it could not be given a sell-by."""

    code: str


# Who gets which bunches.


@dataclass(frozen=True, slots=True, kw_only=True)
class WhyTaken(Note):
    """Why a lot is taken for an order, and not another that would do."""

    lot: str
    other: str  # empty: no other would do
    ground: str  # unmarked, keeps, enough, crates, code; after: the other was not enough; only
    until: datetime | None  # that the lot keeps cold
    doubt: str  # mark of the other; empty: none


@dataclass(frozen=True, slots=True, kw_only=True)
class WhyKept(Note):
    """The lot keeps these bunches for the order already."""

    lot: str


@dataclass(frozen=True, slots=True, kw_only=True)
class WhyShort(Note):
    """What an order lacks, and what stops the lots that its words fit."""

    stems: int | None  # that lack; None: the order is in bunches
    bunches: int | None
    nothing_fits: bool  # no lot has what its words say
    too_old: tuple[str, ...]  # codes: by then too old, or with too few vase days
    not_ready: tuple[str, ...]
    undated: tuple[str, ...]  # no date, or not counted
    held: tuple[str, ...]  # may have left
    given: tuple[tuple[str, str], ...]  # a lot and to whom it is promised: an order's code, else its use


@dataclass(frozen=True, slots=True, kw_only=True)
class BetterIf(Note):
    """What another answer would serve more of what was ordered, and the change that does it."""

    more: int  # stems or bunches more for one order
    in_bunches: bool
    order: str  # its code
    leaves: datetime
    use: str
    others: tuple[str, ...]  # codes of other orders that get more
    less: tuple[str, ...]  # codes of orders that get less
    moved: tuple[tuple[int, str, str], ...]  # bunches of a lot that go to an order: more than in the list
    doubtful: tuple[str, ...]  # of these lots: those that somebody has to look at first
