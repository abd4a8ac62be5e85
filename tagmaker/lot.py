"""A lot, the way it is kept, and the dates that were computed for it.

All moments are naive local datetimes of the farm; temperatures are °C; stems are whole stems.
Nothing here reads a file, a clock or a setting.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, datetime
from enum import IntEnum, StrEnum

from tagmaker.notes import Note


class StorageCode(StrEnum):
    """How the stems stand: the one word in the box on every tag."""

    BULB = "BULB"  # dry, with the bulb on
    DRY = "DRY"  # dry, cut
    WATER = "WATER"  # cut and in water


class Stage(IntEnum):
    """How far a bud is open, in order of opening."""

    GREEN = 0
    TIGHT = 1
    HALF = 2  # about half of the bud shows its colour, and it is still closed
    COLOURED = 3
    OPEN = 4

    @property
    def word(self) -> str:
        """The stage as it is written in the sheet."""
        return self.name.lower()


class Surface(StrEnum):
    """Drops on the stems: only dry stems are wrapped."""

    WET = "wet"
    DRIED = "dried"  # was wet, has been fanned
    DRY = "dry"


@dataclass(frozen=True, slots=True, kw_only=True)
class Order:
    """Stems promised to a buyer for a moment of departure."""

    leaves: datetime
    stems: int | None  # None: the whole lot
    use: str  # name of one of the farm's uses


@dataclass(frozen=True, slots=True, kw_only=True)
class Move:
    """A lot taken to another place after its first cooler."""

    since: datetime
    place: str  # a cooler's name, or "out"
    temperature_c: float | None = None  # [°C] of "out"; None: the field temperature
    spot: str = ""  # where in that cooler, such as "rack 2"


class Finding(StrEnum):
    """What a bunch that was opened looked like after its day in water."""

    OK = "ok"
    BAD = "bad"
    OPENED = "opened"  # opened on that day, nothing seen yet


@dataclass(frozen=True, slots=True)
class BunchTest:
    """A look at a lot: a bunch that was opened, or how far the buds are open."""

    day: date
    found: Finding | Stage


@dataclass(frozen=True, slots=True)
class HandLow:
    """A lowest temperature that was written down at a cooler."""

    on: date  # day of the look
    low_c: float  # [°C]


@dataclass(frozen=True, slots=True)
class SeenVaseDays:
    """How long a bunch stood in a vase."""

    left: date  # day on which it left the farm
    days: float


@dataclass(frozen=True, slots=True)
class JournalMark:
    """The last entry of the journal that a row of the sheet already counts."""

    journal: str  # its name
    number: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Lot:
    """One row of the lot sheet, read, completed and checked."""

    lot_code: str  # the grower's own code, A-Z 0-9 and -
    crop: str  # a crop of the crop table, lower case
    form: str = ""  # a form of that crop; empty where the crop has none
    form_assumed: bool = False  # the form was blank: the one with the shortest fresh life
    variety: str = ""
    colour: str = ""
    cut: datetime
    stage: Stage | None = None  # None: blank
    stems: int | None = None  # stems cut
    per_bunch: int = 10  # stems
    bulb: bool | None = None  # None: blank, which counts as off once the lot is cut
    storage: StorageCode | None = None  # DRY or WATER where the grower chose; None: decided by the tool
    field_c: float  # [°C] between the cut and the cooler
    surface: Surface = Surface.DRY
    cooler: str  # name of the first cooler
    place: str = ""  # where in its cooler, as of the reading: a move drops it unless it names one
    in_cooler: datetime | None  # None: still wet, so it has not gone in
    in_water: datetime | None = None  # when a dry lot was put in water
    moves: tuple[Move, ...] = ()  # in order of time
    tested: tuple[BunchTest, ...] = ()  # in order of day, those of its parents among them
    use: str  # name of one of the farm's uses
    orders: tuple[Order, ...] = ()  # in order of departure, past ones too
    gone: int = 0  # stems sold or used
    dumped: int = 0  # stems thrown away
    split_off: int = 0  # stems of the lots that were split from this one
    parents: tuple[str, ...] = ()  # lot codes it was split from
    alone: tuple[Lot, ...] = ()  # of several parents: this lot as the child of each of them alone
    journal: JournalMark | None = None  # None: the journal remembers
    vase_days_seen: tuple[SeenVaseDays, ...] = ()
    why_dumped: str = ""
    note: str = ""
    planned: bool = False  # not cut yet
    # stood in water for this departure, which is over, and nobody said whether they left: no label, no order
    may_have_left: datetime | None = None
    plan_written: bool = False  # "plan" stands before its day: it stays one when that day has come
    where: str = ""  # file, sheet and row, as the grower sees them
    row: int = 0  # row of the sheet, counted from 1 as a spreadsheet shows it
    cells: Mapping[str, str] = field(default_factory=dict)  # header -> text of the row, as typed
    # column -> file, sheet and cell that it was written in, of a crop, variety, colour or place beyond ASCII
    name_cells: Mapping[str, str] = field(default_factory=dict)

    @property
    def left(self) -> int | None:
        """Stems still there; None where the sheet does not say how many were cut."""
        if self.stems is None:
            return None
        return self.stems - self.gone - self.dumped - self.split_off

    @property
    def bunches_left(self) -> int | None:
        """Bunches still there, the last one perhaps short."""
        return None if self.left is None else -(-self.left // self.per_bunch)


class State(StrEnum):
    """Where a lot stands today."""

    KEEP = "keep"
    SELL_FIRST = "sell first"
    SELL_ELSEWHERE = "sell elsewhere"  # its own use is over, another would still take it
    TOO_OLD = "too old"
    NO_DATE = "no date"


class NoDate(StrEnum):
    """Why a lot has no date."""

    WET = "wet"  # still has drops on it
    FROST = "frost"  # stood below its freezing point
    SET_POINT = "set point"  # stands in a cooler that is set colder than it freezes
    HEAT = "heat"  # was above 40 °C: lost
    NOTHING = "nothing would do"  # not even on the day of the cut


class Mark(StrEnum):
    """A word beside the dates, the gravest first."""

    FROST = "frost"  # FROST? DO NOT SELL
    TOO_OPEN = "too open"
    HALF_COLOURED = "half coloured"
    HOW_OPEN = "how open"  # HOW OPEN? WRITE IT
    TEST_A_BUNCH = "test a bunch"
    PUT_IN_WATER_NOW = "put in water now"


class Verdict(StrEnum):
    """What became of an order."""

    USABLE = "usable"
    STRETCHED = "stretched"  # past its storage life, within its vase promise: test first
    NOT_FOR = "not for"  # the stems would not do, or could not be ready
    TOO_LATE = "too late"  # its hours in water no longer fit between now and the departure


@dataclass(frozen=True, slots=True, kw_only=True)
class OrderDates:
    """An order, judged."""

    leaves: datetime
    stems: int | None  # still to be served; None: the whole lot
    use: str
    verdict: Verdict
    test_first: bool
    test_on: date | None  # day to open a bunch for this order
    into_water_by: datetime | None  # None: the stems stand in water
    stand_warm_from: datetime | None  # start of the opening hours; None where there are none

    @property
    def ok(self) -> bool:
        """Whether the order can be served from this lot."""
        return self.verdict in (Verdict.USABLE, Verdict.STRETCHED)


@dataclass(frozen=True, slots=True, kw_only=True)
class StorageDates:
    """What was computed for one lot. A date that cannot be given is None, never a guess."""

    lot: Lot
    code: StorageCode  # how the stems stand
    kept: StorageCode  # the way that goes on counting ("was DRY")
    state: State
    keeps_until: datetime | None = None  # last moment at which a use that is not open would take the stems
    sell_by: datetime | None
    sell_by_use: str | None = None  # the use that the sell_by is for; None: the lot's own
    # use -> its next selling moment that would do, of the lot's own use too, in order of moment
    elsewhere: tuple[tuple[str, datetime], ...] = ()
    elsewhere_water: Mapping[str, datetime] = field(
        default_factory=dict
    )  # of these, where still dry: water by
    marks: tuple[Mark, ...] = ()
    no_date: NoDate | None = None  # why the state is NO_DATE
    frost: date | None = None  # day on which the stems froze
    # the coldest below its freezing point that was read by hand where it stood, and nobody has looked since
    low_by_hand: HandLow | None = None
    bad_since: date | None = None  # day of a test that found the stems bad
    opening: float = 0.0  # of the buds now: 0 at the right stage, 1 too open to keep
    half_coloured_from: datetime | None = None  # past or to come
    too_open_from: datetime | None = None  # past or to come
    into_water_by: datetime | None  # None: code WATER, or no date
    water_now: bool  # into_water_by has passed and the stems are still dry
    # sold elsewhere, after into_water_by: how long the stems would do if they did go in by then
    watered_until: datetime | None = None
    ready_from: datetime | None  # in water: since when usable; water_now: if put in now
    stand_warm_from: datetime | None  # start of the opening hours before the tag's departure
    out_by: datetime | None  # code WATER and a use that wants them open: out of the cooler by
    tag_order: OrderDates | None  # the whole-lot order that the tag's dates are for
    test_first: bool
    tests_on: tuple[date, ...]  # days to open a bunch
    look_at_test_on: date | None = None  # day after a bunch was opened, where nothing was written of it yet
    look_at_buds: bool = False  # the warmth has opened them, and nobody has written how far
    mould_on: date | None = None  # day to look for mould
    life_used: float  # share of the storage life, as of now
    vase_days: tuple[float, float] | None  # [d] at sell_by, low and high
    early: datetime | None  # None on the cautious basis
    late: datetime | None
    early_hour: datetime | None = None  # early to the hour, as no selling moment: orders after it are tested
    cautious_sell_by: datetime | None
    orders: tuple[OrderDates, ...]  # still to come
    dated_for_c: float  # [°C] the lot's cooler is counted at from now on, or from the end of its log
    log_until: datetime | None = None  # end of what was read in it; None: nothing was
    at_close: bool = False  # sell_by is the close of a working day: no selling day was left
    why: Note  # why sell_by is what it is
    why_into_water: Note | None
    warnings: tuple[Note, ...]

    @property
    def left(self) -> int | None:
        """Stems still there."""
        return self.lot.left


@dataclass(frozen=True, slots=True, kw_only=True)
class CutWindow:
    """First and last day on which a cut would serve an order, for one way of keeping."""

    first_cut: date
    last_cut: date
    test_first: bool  # at the planned cut


@dataclass(frozen=True, slots=True, kw_only=True)
class Plan:
    """Advice for a row whose cut lies in the future."""

    lot: Lot
    needed: datetime | None  # departure of the order; None: no order
    stems: int | None
    use: str
    advice: StorageCode | None  # None: not for this date
    test_first: bool
    stage: Stage  # the stage to cut at
    ways: Mapping[StorageCode, CutWindow]
    why: Note
