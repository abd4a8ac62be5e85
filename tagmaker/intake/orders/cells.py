"""Cells that only the orders have: names of which any will do, counts with their unit, and what is done."""

from __future__ import annotations

import re
from dataclasses import dataclass

from tagmaker.intake.cells import readers as cells
from tagmaker.intake.cells.plain_text import one_line, squash, typed
from tagmaker.intake.cells.unfit import UnfitCellError

STEMS, BUNCHES = "stems", "bunches"
_DONE = frozenset(map(squash, ("yes", "y", "done", "all", "true", "x", "served", "all done", "all served")))
_OPEN = frozenset(map(squash, ("no", "n", "none", "false", "not yet", "open", "nothing")))
_TICKS = frozenset("\u2713\u2714\u2611")


@dataclass(frozen=True, slots=True)
class Count:
    """How many, of stems or of bunches."""

    number: int = 0
    unit: str = ""  # STEMS or BUNCHES where the cell says it
    everything: bool = False  # all that was ordered


def names(text: str) -> tuple[str, ...]:
    """Names of which any will do, parted by "/"; blank ones do not count.

    >>> names("Pale Harbour / Grey Wicket")
    ('Pale Harbour', 'Grey Wicket')
    """
    parts = (one_line(part) for part in text.replace("\uff0f", "/").split("/"))
    found = tuple(cells.name_text(part) for part in parts if part)
    if not found:
        raise UnfitCellError("a name, or several parted by /", "Write one, or leave it blank for any.")
    return found


def wanted(text: str, unit: str) -> Count:
    """How many are ordered, in the unit of its column."""
    found = _count(text, 1)
    if found.unit not in ("", unit):
        raise UnfitCellError(f"a number of {unit}", f"Write it in the column {found.unit}.")
    return Count(found.number, unit)


def done(text: str) -> Count:
    """How much of an order has been served: all of it, or an amount."""
    word = squash(text)
    if word in _DONE or text.strip() in _TICKS:
        return Count(everything=True)
    if word in _OPEN:
        return Count()
    try:
        return _count(text, 0)
    except UnfitCellError as unfit:
        remedy = "Write yes once all of it has left, or how many have."
        raise UnfitCellError(f"yes, or {unfit.must}", remedy) from None


def _count(text: str, least: int) -> Count:
    amount = cells.amount(text, least, cells.MOST_STEMS)
    said = re.sub(r"[^a-z]", "", typed(text).casefold())
    return Count(amount.number, BUNCHES if amount.bunches else STEMS if said else "")
