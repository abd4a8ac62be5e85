"""How a farm works: its hours, outlets and coolers, as the settings give them.

Frozen data without behaviour beyond calendar questions and look-ups; °C, hours and stems inside.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, datetime, time, timedelta
from pathlib import Path

EVERY_DAY = frozenset(range(7))  # Monday 0 ... Sunday 6
CARD_NAMES = ("quarter", "roll-102x152mm", "half", "twin", "tent")  # kinds of crate card
PAPER_SIZES = {"letter": (215.9, 279.4), "a4": (210.0, 297.0)}  # [mm] upright: 8.5 x 11 in, and ISO 216
QUARTER = timedelta(minutes=15)  # bench work is timed to a quarter hour
# Of a printer's corrections; limits chosen: what is further off is the tray's to mend, or not to scale.
MOST_OFFSET = 30.0  # [mm]
SCALES = (0.9, 1.1)


@dataclass(frozen=True, slots=True)
class Workday:
    """Hours at the bench. Both ends are bench time."""

    opens: time = time(8, 0)
    closes: time = time(18, 0)
    days_off: frozenset[int] = frozenset()  # weekdays, Monday 0

    def is_off(self, day: date) -> bool:
        """Whether nobody works at the bench that day."""
        return day.weekday() in self.days_off

    def start(self, day: date) -> datetime:
        """The moment the bench opens."""
        return datetime.combine(day, self.opens)

    def end(self, day: date) -> datetime:
        """The moment the bench closes."""
        return datetime.combine(day, self.closes)


@dataclass(frozen=True, slots=True, kw_only=True)
class Use:
    """An outlet and what it promises its buyers."""

    name: str
    vase_days: float  # [d] promised in the buyer's vase
    days: frozenset[int] = EVERY_DAY  # weekdays on which it sells, Monday 0; none where it has dates only
    dates: frozenset[date] = frozenset()  # single days on which it sells
    leaves: time  # when its flowers leave the farm
    open: bool = False  # wants the flowers open on arrival
    stems: int | None = None  # what it usually sells a selling day; None: not said
    must: bool = False  # orders for it are filled first

    def sells_on(self, day: date) -> bool:
        """Whether its flowers leave the farm on a day."""
        return day.weekday() in self.days or day in self.dates


@dataclass(frozen=True, slots=True, kw_only=True)
class Cooler:
    """A fridge or walk-in."""

    name: str
    set_point_c: float | None = None  # [°C]; None: unknown
    trusted: bool = False  # the set point has been checked against a thermometer
    log: str | None = None  # path or glob of its thermometer log, relative to the settings
    probe: str | None = None  # its column, or its name in the rows, of a log of several probes
    log_units: str | None = None  # "F" or "C" of a log that does not say so; None: not said
    offset_c: float = 0.0  # [°C] added to every reading of the log, from an ice-water check
    crates: float | None = None  # crates it takes; None: unlimited
    buckets: float | None = None  # buckets it takes; None: unlimited
    shared: bool = True  # crates and buckets take the same space
    soak_inside: bool = True  # stems put in water stand in this cooler
    # and where each key stands, or would, of a cooler that the workbook names; none: in the settings file
    cells: Mapping[str, str] = field(default_factory=dict, compare=False)


@dataclass(frozen=True, slots=True)
class FontFiles:
    """A TrueType font of the farm's own, for characters that the packaged one lacks."""

    regular: Path
    bold: Path  # the same file where there is no bold one


@dataclass(frozen=True, slots=True, kw_only=True)
class StockFigures:
    """Where equal labels lie on a page, or how large the single label of a roll is."""

    name: str
    page_width: float  # [mm]
    page_height: float  # [mm]
    columns: int = 1
    rows: int = 1
    width: float  # [mm] of a label
    height: float  # [mm] of a label
    left: float = 0.0  # [mm] from the page's edge to the first column
    top: float = 0.0  # [mm] from the page's edge to the first row
    pitch_x: float = 0.0  # [mm] from one column to the next
    pitch_y: float = 0.0  # [mm] from one row to the next
    is_roll: bool = False  # one label is one page
    is_plain: bool = False  # plain paper, to be cut apart


@dataclass(frozen=True, slots=True, kw_only=True)
class Printer:
    """What the test page showed of a printer, and what it is.

    Measured lengths are made right again: a point meant for x is printed at x · scale_x + offset_x.
    """

    name: str = ""
    queue: str | None = None  # of the spooler, as it names it: the bench prints there; None: not said
    offset_x: float = 0.0  # [mm] everything is moved to the right
    offset_y: float = 0.0  # [mm] and downwards
    scale_x: float = 1.0
    scale_y: float = 1.0
    turn: int = 0  # [°] pages are turned clockwise: 0, 90, 180 or 270
    dpi: int | None = None  # dots per inch; None: 203 for rolls, 300 for sheets
    unprintable: tuple[float, float, float, float] | None = None  # [mm] left, top, right, bottom; None: usual


@dataclass(frozen=True, slots=True, kw_only=True)
class Farm:
    """All settings, completed with their defaults."""

    name: str = ""
    units: str | None = None  # "F", "C" or None: not said
    day_first: bool | None = None
    timezone: str | None = None
    basis: str = "practice"  # or "early" or "cautious"
    link: str | None = None  # address pattern with {lot} and/or {row}
    paper_size: str = "letter"  # or "a4"
    label_stock: str = "letter-3x10"
    label_stocks: Mapping[str, StockFigures] = field(default_factory=dict)  # the farm's own, by name
    printer: str | None = None  # the one to print for; None: one that prints everything where it belongs
    printers: Mapping[str, Printer] = field(default_factory=dict)  # by name
    crate_card: str = "quarter"  # one of CARD_NAMES
    fonts: tuple[FontFiles, ...] = ()  # the first that has a character sets it
    workday: Workday = Workday()
    field_c: tuple[float, ...] = (15.0,) * 12  # [°C] by month of the cut
    room_c: float = 20.0  # [°C] where stems open
    half_cooling_h: float = 4.0  # [h]
    usual: Mapping[str, str] = field(default_factory=dict)  # column -> text for a blank cell
    usual_where: Mapping[str, str] = field(default_factory=dict, compare=False)  # and where it is said
    # and where every other key stands, or would: table, name in it, key
    places: Mapping[tuple[str, str, str], str] = field(default_factory=dict, compare=False)
    uses: Mapping[str, Use]  # by name, at least one
    coolers: Mapping[str, Cooler]  # by name, at least one, in the order of the settings
    crops: Mapping[str, Mapping[str, object]] = field(default_factory=dict)  # overrides, as written
    columns: Mapping[str, str] = field(default_factory=dict)  # column -> the grower's own header
    ignored: frozenset[str] = frozenset()  # headers of columns that need no word

    @property
    def chosen_printer(self) -> Printer:
        """The printer to print for."""
        return Printer() if self.printer is None else self.printers[self.printer]
