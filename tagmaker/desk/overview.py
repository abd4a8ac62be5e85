"""What `dates` shows: every lot's dates with its warnings, plans, room, and tags to print again."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from tagmaker.desk.season import Season
from tagmaker.errors import Problem
from tagmaker.lot import Plan, StorageDates
from tagmaker.notes import DaysLost, Note
from tagmaker.record import tags as records
from tagmaker.storage.cooler_summary import LotChange
from tagmaker.storage.room import Overfull, RoomDay, fits_until, overfull, room


@dataclass(frozen=True, slots=True, kw_only=True)
class Overview:
    """The lots asked for, and what concerns them."""

    problems: Sequence[Problem]
    lots: Sequence[StorageDates]
    warnings: Mapping[str, Sequence[Note]]  # by lot code
    plans: Sequence[Plan]
    rooms: Sequence[RoomDay]
    overfull: Sequence[Overfull]  # by cooler, in order of days
    reprint: Mapping[str, Sequence[str]]  # paper -> lot codes whose tags are no longer true


def overview(season: Season, asked: set[str]) -> Overview:
    """Everything computed for the lots asked for; the record of printed tags is only looked at.

    Args:
        season: the season folder, read.
        asked: lot codes.
    """
    farm, crops, now = season.farm, season.crops, season.now
    rooms = room(season.dated, farm, crops, now, planned=season.planned)
    lots = [dates for dates in season.dated if dates.lot.lot_code in asked]
    warnings: dict[str, list[Note]] = {}
    assumed = {dates.lot.lot_code: dates for dates in season.assumed}
    for dates in lots:
        change = LotChange(read=dates, assumed=assumed[dates.lot.lot_code])
        fits = fits_until(dates, rooms, now)
        warnings[dates.lot.lot_code] = [*_days_lost(change), *dates.warnings, *([fits] if fits else [])]
    return Overview(
        problems=[problem for problem in season.problems if not problem.lot or problem.lot in asked],
        lots=lots,
        warnings=warnings,
        plans=[plan for plan in season.plans if plan.lot.lot_code in asked],
        rooms=rooms,
        overfull=overfull(season.dated, farm, crops, now, planned=season.planned),
        reprint=_to_reprint(season, lots),
    )


def _days_lost(change: LotChange) -> list[Note]:
    """What the readings of its coolers cost a lot, if anything."""
    without = change.assumed.sell_by
    if not change.lost or without is None:
        return []
    return [DaysLost(days=None if change.days is None else -change.days, without=without)]


def _to_reprint(season: Season, lots: Sequence[StorageDates]) -> dict[str, list[str]]:
    """The lots whose printed tags are no longer true, by paper."""
    record, _ = records.open_record(season.sheet, season.now, create=False)
    stale: dict[str, list[str]] = {}
    for paper in ("wraps", "crates"):
        lines = records.by_lot(record.lines(paper))
        codes = [d.lot.lot_code for d in lots if records.stale(lines.get(d.lot.lot_code, ()), d)]
        if codes:
            stale[paper] = codes
    return stale
