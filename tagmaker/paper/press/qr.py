"""What a tag's code says, and the QR symbol that says it at a size that printers and phones manage.

Sizes are in mm. Each distinct text is encoded once. zxing-cpp could encode too, but it reads the finished
file in the proof, and a reader proves more about a writer that is not its own. Rules of ISO/IEC 18004 that
matter here: a symbol of version v has 17 + 4 v modules a side and a quiet zone of four modules all round.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from functools import lru_cache
from math import floor

from tagmaker.errors import InputProblems, Problem
from tagmaker.lot import OrderDates, StorageDates
from tagmaker.paper.press.encoding import encoded, modules_of
from tagmaker.telling.wording import MONTHS

QUIET_MODULES = 4  # light modules on each side (ISO/IEC 18004)
LEAST_MODULE = 0.40  # [mm] wrinkled kraft reads 95 % at 0.40 and 2 % at 0.33 (simulated, 300 dpi)
PRINTER_DPI = 300  # dots per inch of the printer, unless told otherwise
LONGEST_TEXT = 1000  # characters; nothing longer is tried
ALPHANUMERIC = re.compile(r"[0-9A-Z $%*+\-./:]+")  # the compact alphabet (ISO/IEC 18004)
SCHEME = re.compile(r"[A-Za-z][A-Za-z0-9+.-]*:")
ADDRESS = re.compile(r"(https?://[^/?#@]+)(.*)", re.IGNORECASE | re.DOTALL)  # scheme and host, then the rest


@dataclass(frozen=True, slots=True, eq=False)
class Symbol:
    """An encoded text."""

    text: str
    level: str  # error correction, "Q" or "M"
    rows: tuple[str, ...]  # "1" for a dark module, from the top

    @property
    def modules(self) -> int:
        """Modules along a side, without the quiet zone."""
        return len(self.rows)


@dataclass(frozen=True, slots=True, eq=False)
class SizedSymbol:
    """A symbol at the module size it is printed with."""

    symbol: Symbol
    module: float  # [mm], a whole number of printer dots

    @property
    def side(self) -> float:
        """Width of the symbol with its quiet zone [mm]."""
        return (self.symbol.modules + 2 * QUIET_MODULES) * self.module


def lot_text(dates: StorageDates, link: str | None, order: OrderDates | None = None) -> str:
    """What the code of a lot's tag or card says: the settings' link, or else the lot and its dates.

    The label of a bunch that is for a part order says the dates of that order.
    """
    lot = dates.lot
    if link is not None:
        return link_text(link, lot.lot_code, lot.row)
    if order is not None and dates.sell_by is not None:
        return dates_text(lot.lot_code, order.leaves, order.into_water_by, lot.cut.year)
    return dates_text(lot.lot_code, dates.sell_by, dates.into_water_by, lot.cut.year)


def link_text(pattern: str, lot_code: str, row: int) -> str:
    """The address of a lot's row.

    Scheme and host mean the same in either case (RFC 3986, 3.1 and 3.2.2), so they are put in upper case
    where that makes the whole address fit the compact alphabet. The case of a path is never touched.
    """
    address = pattern.replace("{lot}", lot_code).replace("{row}", str(row))
    split = ADDRESS.fullmatch(address)
    if split is None:
        return address
    raised = split[1].upper() + split[2]
    return raised if ALPHANUMERIC.fullmatch(raised) else address


def is_address(text: str) -> bool:
    """Whether a code's text begins with a scheme, as links do and lot codes cannot (RFC 3986, 3.1)."""
    return SCHEME.match(text) is not None


def dates_text(
    lot_code: str, sell_by: datetime | None, into_water_by: datetime | None, year: int | None = None
) -> str:
    """The lot and its dates in the compact alphabet, for a scan that answers without a network.

    Short, so that most lots fit a symbol of 25 modules: a year is told where it is not the one of the cut.

    >>> dates_text("041", datetime(2027, 3, 6, 8), datetime(2027, 3, 5, 17, 30), 2027)
    '041 WATER 05MAR17H30 SELL 06MAR'
    >>> dates_text("041", datetime(2027, 1, 2, 8), None, 2026)
    '041 SELL 02JAN2027'
    """
    if sell_by is None:
        return f"{lot_code} NO DATE"
    water = f" WATER {_day(into_water_by, year)}{_hour(into_water_by)}" if into_water_by else ""
    return f"{lot_code}{water} SELL {_day(sell_by, year)}"


def _day(moment: datetime, year: int | None) -> str:
    """A day in the compact alphabet: 05MAR, or 05MAR2027 in another year."""
    return f"{moment.day:02}{MONTHS[moment.month - 1]}{'' if moment.year == year else moment.year}"


def _hour(moment: datetime) -> str:
    """An hour in the compact alphabet: 18H, or 17H30."""
    return f"{moment.hour}H{moment.minute:02}" if moment.minute else f"{moment.hour}H"


@lru_cache(maxsize=4096)
def symbol(text: str, level: str) -> Symbol:
    """The smallest symbol that holds a text at an error correction level, "Q" or "M"."""
    return Symbol(text, level, encoded(text, level))


def outline(rows: tuple[str, ...]) -> str:
    """The dark modules as one path of PDF rectangles, in modules, x to the right and y downwards.

    One path has one fill, so that no viewer shows seams.
    """
    rectangles = []
    for y, row in enumerate(rows):
        x = 0
        for run in row.split("0"):  # an empty run is a light module
            if run:
                rectangles.append(f"{x} {y} {len(run)} 1 re")
            x += len(run) + 1
    return "\n".join(rectangles)


def module_size(modules: int, side: float, dpi: float = PRINTER_DPI) -> float:
    """The largest module [mm] of whole printer dots with which a symbol and its quiet zone fit a side [mm].

    >>> round(module_size(29, 25.4), 3)
    0.677
    """
    dot = 25.4 / dpi
    return floor(side / (modules + 2 * QUIET_MODULES) / dot + 1e-9) * dot


def sized_symbol(
    text: str,
    side: float,
    where: str,
    lot: str = "",
    dpi: float = PRINTER_DPI,
    most_module: float = float("inf"),
) -> SizedSymbol:
    """The symbol of a text in a square, at level Q or, where that makes its modules coarser, at M.

    A coarser module read better than the stronger level in simulated scans of wrinkled kraft; level M still
    bears a blot of 15 %.

    Args:
        text: what the code says
        side: room for the symbol and its quiet zone [mm]
        where: place in the sheet, for the problem
        lot: lot code, for the problem
        dpi: dots per inch of the printer
        most_module: the largest module wished for [mm]

    Raises:
        InputProblems: the text is too long at 0.40 mm a module; names the longest that fits.
    """
    if len(text) <= LONGEST_TEXT:
        sizes = {level: modules_of(text, level) for level in "QM"}
        module, level = max(
            ((_module(modules, side, dpi, most_module), level) for level, modules in sizes.items()),
            key=lambda one: one[0],  # of two alike, the stronger level
        )
        if module >= LEAST_MODULE:
            return SizedSymbol(symbol(text, level), module)
    compact = bool(ALPHANUMERIC.fullmatch(text))
    what = f"a code of {side:.1f} mm must say at most {longest(side, dpi, compact=compact)} characters"
    remedy = "Shorten the link in the settings, lot code included, or print on a larger label."
    if not compact:
        remedy += f" All in capitals, {longest(side, dpi, compact=True)} would fit."
    raise InputProblems([Problem(where, f'{what} (got {len(text)}: "{text[:60]}")', remedy, lot)])


def _module(modules: int, side: float, dpi: float, most: float) -> float:
    """The largest module [mm], `most` at most, with which a symbol fits a side [mm]."""
    return module_size(modules, min(side, most * (modules + 2 * QUIET_MODULES)), dpi)


def shrinking(sized: SizedSymbol, dpi: float = PRINTER_DPI) -> Iterator[SizedSymbol]:
    """The symbol, then the same one dot of the printer smaller each time, down to a module of 0.40 mm."""
    dot = 25.4 / dpi
    module = sized.module
    while module >= LEAST_MODULE:
        yield SizedSymbol(sized.symbol, module)
        module -= dot


def longest(side: float, dpi: float = PRINTER_DPI, *, compact: bool = False, most: int = LONGEST_TEXT) -> int:
    """Characters of the longest text, `most` at most, whose code fits a side [mm] at 0.40 mm a module."""
    low, high = 0, most
    while low < high:
        middle = (low + high + 1) // 2
        fits = modules_of(("A" if compact else "a") * middle, "M")
        if module_size(fits, side, dpi) >= LEAST_MODULE:
            low = middle
        else:
            high = middle - 1
    return low
