"""Lots of a season that is over, and cuts to come: what is said of them, and what is left out."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import date, timedelta

from tagmaker.errors import Problem
from tagmaker.intake.lots.entry import Entry
from tagmaker.lot import Lot

OLD = timedelta(days=120)  # a lot cut longer ago is of another season (chosen)
WRONG_YEAR = timedelta(days=45)  # this near to today on the calendar, another year was meant (chosen)
_NAMED = 5  # lots that a message names; the others are counted


def is_old(lot: Lot, today: date) -> bool:
    """Whether a lot was cut in another season, though stems of it are left."""
    return today - lot.cut.date() > OLD and lot.left != 0


def wrong_year(lot: Lot, entry: Entry, today: date) -> Problem | None:
    """The problem of an old lot whose cut would lie near to today in another year; None: it does not."""
    meant = min(_in_years(lot.cut.date(), today), key=lambda day: abs(day - today))
    if abs(meant - today) > WRONG_YEAR:
        return None
    found = entry.got("cut") if "cut" in entry.row.cells else lot.cut.date()
    what = f"cut must be at most {OLD.days} days ago while stems are left (got {found})"
    remedy = f"Write {meant} if the year is wrong, or under gone or dumped what became of the stems."
    return entry.row.problem("cut", what, remedy, lot.lot_code)


def _in_years(day: date, today: date) -> Iterable[date]:
    """The same day of last year, this and the next; the last of February for a leap day."""
    for year in (today.year - 1, today.year, today.year + 1):
        try:
            yield day.replace(year=year)
        except ValueError:
            yield date(year, 2, 28)


def said_of_seasons(where: str, lots: Mapping[str, Lot], old: Iterable[str]) -> Iterable[Problem]:
    """What is said once of the lots that are left out, and of cuts to come that are not called a plan."""
    left_out = list(old)
    if left_out:
        what = (
            f"lots with stems left must be cut in the last {OLD.days} days (got {_named(left_out)}: left out)"
        )
        yield Problem(where, what, "Write under gone or dumped what became of their stems.")
    bare = [code for code, lot in lots.items() if lot.planned and not lot.plan_written]
    if bare:
        what = f"a cut to come counts as cut from its day on (got {_named(bare)})"
        yield Problem(where, what, "Where it is only planned, write plan before the day.")


def _named(codes: list[str]) -> str:
    more = len(codes) - _NAMED
    return ", ".join(codes[:_NAMED]) + (f" and {more} more" if more > 0 else "")
