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
from tagmaker.paper.press.encoding import encoded

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
        return dates_text(lot.lot_code, order.leaves, order.into_water_by)
    return dates_text(lot.lot_code, dates.sell_by, dates.into_water_by)


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


def dates_text(lot_code: str, sell_by: datetime | None, into_water_by: datetime | None) -> str:
    """The lot and its dates in the compact alphabet, for a scan that answers without a network.

    >>> dates_text("041", datetime(2027, 3, 6, 8), datetime(2027, 3, 5, 18))
    '041 SELL 2027-03-06 TO WATER 2027-03-05 18:00'
    """
    if sell_by is None:
        return f"{lot_code} NO DATE"
    water = f" TO WATER {into_water_by:%Y-%m-%d %H:%M}" if into_water_by else ""
    return f"{lot_code} SELL {sell_by:%Y-%m-%d}{water}"


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
    """The symbol of a text in a square, at level Q or, where only that keeps its modules printable, at M.

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
        for level in "QM":
            found = symbol(text, level)
            quiet = found.modules + 2 * QUIET_MODULES
            module = module_size(found.modules, min(side, most_module * quiet), dpi)
            if module >= LEAST_MODULE:
                return SizedSymbol(found, module)
    compact = bool(ALPHANUMERIC.fullmatch(text))
    what = f"a code of {side:.1f} mm must say at most {longest(side, dpi, compact=compact)} characters"
    remedy = "Shorten the link in the settings, lot code included, or print on a larger label."
    if not compact:
        remedy += f" All in capitals, {longest(side, dpi, compact=True)} would fit."
    raise InputProblems([Problem(where, f'{what} (got {len(text)}: "{text[:60]}")', remedy, lot)])


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
        fits = symbol(("A" if compact else "a") * middle, "M").modules
        if module_size(fits, side, dpi) >= LEAST_MODULE:
            low = middle
        else:
            high = middle - 1
    return low
