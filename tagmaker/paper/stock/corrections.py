"""What the lines of a test page measure, turned into the corrections of its printer.

A point meant for x was printed at x · scale + offset; the printer made a · (x · scale + offset) + b of it.
The length of the line tells a, the place of its corner b; the new scale and offset undo both.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from tagmaker.errors import UsageProblem
from tagmaker.farm import MOST_OFFSET, SCALES, Printer
from tagmaker.paper.stock.label_stock import LabelStock
from tagmaker.paper.stock.test_page import line_length

MOST_OFF = 0.25  # of a line's length, by which its measure may differ: more is a slip, or inches (chosen)


@dataclass(frozen=True, slots=True, kw_only=True)
class Measured:
    """What a ruler showed on a test page [mm]."""

    across: float  # the line across
    down: float  # the line down
    left: float  # from the paper's left edge to the corner of the lines
    top: float  # from its top edge


def corrected(stock: LabelStock, printer: Printer, found: Measured) -> Printer:
    """The printer with the corrections that make its test page right.

    Args:
        stock: whose test page was printed.
        printer: with the corrections that it was printed with.
        found: what it measures.

    Raises:
        UsageProblem: a measure cannot be, or the printer is too far off to be corrected.

    >>> from tagmaker.paper.stock.label_stock import STOCKS
    >>> page = Measured(across=97.0, down=100.0, left=18.0, top=21.0)
    >>> right = corrected(STOCKS["letter-3x10"], Printer(), page)
    >>> right.scale_x, right.scale_y, right.offset_x, right.offset_y
    (1.0309, 1.0, 1.4, -1.0)
    """
    scale_x, offset_x = _axis(stock, printer.scale_x, printer.offset_x, found.across, found.left, "across")
    scale_y, offset_y = _axis(stock, printer.scale_y, printer.offset_y, found.down, found.top, "down")
    return replace(printer, scale_x=scale_x, scale_y=scale_y, offset_x=offset_x, offset_y=offset_y)


def _axis(
    stock: LabelStock, scale: float, offset: float, measured: float, place: float, line: str
) -> tuple[float, float]:
    length, corner = line_length(stock)
    if abs(measured - length) > MOST_OFF * length:
        raise UsageProblem(
            f"the line {line} must measure about {length:g} mm (got {measured:g} mm): measure it in "
            "millimetres, on the page of this label stock"
        )
    stretched = measured / (length * scale)
    right, moved = 1 / stretched, corner * scale + offset - place / stretched
    if not SCALES[0] <= right <= SCALES[1] or abs(moved) > MOST_OFFSET:
        raise UsageProblem(
            f"the printer must be off by at most {MOST_OFFSET:g} mm and {SCALES[1] - 1:.0%} (got "
            f"{moved:.1f} mm and {right - 1:.0%}): print at 100 %, and put the paper in straight"
        )
    return round(right, 4), round(moved, 1) + 0.0
