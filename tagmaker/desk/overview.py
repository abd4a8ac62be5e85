"""What `dates` shows: every lot's dates with its warnings, plans, room, and tags to print again."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime

from tagmaker.desk.season import Season
from tagmaker.errors import Problem
from tagmaker.lot import Plan, StorageDates
from tagmaker.notes import DaysLost, Note
from tagmaker.record import tags
from tagmaker.record.printings import open_record
from tagmaker.storage.room import Overfull, RoomDay, fits_until, overfull, room
from tagmaker.telling.order import selling_order


@dataclass(frozen=True, slots=True, kw_only=True)
class Overview:
    """The lots asked for, and what concerns them."""

    problems: Sequence[Problem]
    lots: Sequence[StorageDates]  # in selling order
    warnings: Mapping[str, Sequence[Note]]  # by lot code
    plans: Sequence[Plan]
    rooms: Sequence[RoomDay]
    overfull: Sequence[Overfull]  # by cooler, in order of days
    reprint: Mapping[str, Sequence[str]]  # paper -> lot codes whose tags must go
    say_more: Mapping[str, Sequence[str]]  # paper -> lot codes whose tags hold, but could say more

    def of_what_is_left(self) -> Overview:
        """The same without lots of which nothing is left."""
        return replace(self, lots=[dates for dates in self.lots if dates.left is None or dates.left > 0])


def overview(season: Season, asked: set[str]) -> Overview:
    """Everything computed for the lots asked for; the record of printed tags is only looked at.

    Args:
        season: the season folder, read.
        asked: lot codes.
    """
    farm, crops, now = season.farm, season.crops, season.now
    rooms = room(season.dated, farm, crops, now, planned=season.planned)
    lots = sorted((d for d in season.dated if d.lot.lot_code in asked), key=selling_order)
    warnings: dict[str, list[Note]] = {}
    for dates in lots:
        lost = _days_lost(dates, season.sell_bys_assumed[dates.lot.lot_code])
        fits = fits_until(dates, rooms, now)
        warnings[dates.lot.lot_code] = [*lost, *dates.warnings, *([fits] if fits else [])]
    stale = _stale(season, lots)
    return Overview(
        problems=[problem for problem in season.problems if not problem.lot or problem.lot in asked],
        lots=lots,
        warnings=warnings,
        plans=[plan for plan in season.plans if plan.lot.lot_code in asked],
        rooms=rooms,
        overfull=overfull(season.dated, farm, crops, now, planned=season.planned),
        reprint=stale[tags.Stale.MUST_GO],
        say_more=stale[tags.Stale.COULD_SAY_MORE],
    )


def _days_lost(read: StorageDates, without: datetime | None) -> list[Note]:
    """What the readings of its coolers cost a lot, if anything; `without` is its sell by without any."""
    if without is None or (read.sell_by is not None and read.sell_by.date() >= without.date()):
        return []
    days = None if read.sell_by is None else (without.date() - read.sell_by.date()).days
    return [DaysLost(days=days, without=without)]


def _stale(season: Season, lots: Sequence[StorageDates]) -> dict[tags.Stale, dict[str, list[str]]]:
    """The lots whose printed tags must go, and those whose tags could say more, by paper."""
    record, _ = open_record(season.sheet, season.now, create=False)
    found: dict[tags.Stale, dict[str, list[str]]] = {kind: {} for kind in tags.Stale}
    for paper in ("wraps", "crates"):
        lines = tags.by_lot(record.known.lines(paper))
        for dates in lots:
            kind = tags.stale(lines.get(dates.lot.lot_code, ()), dates)
            if kind is not None:
                found[kind].setdefault(paper, []).append(dates.lot.lot_code)
    return found
