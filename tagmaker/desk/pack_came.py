"""What was sold of a departure and what came back, as entries of the journal."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import datetime

from tagmaker.desk.entry_making import stands_in
from tagmaker.desk.entry_words import Said
from tagmaker.desk.journal_words import words_of
from tagmaker.desk.keeping import kept_entries
from tagmaker.desk.season import Season
from tagmaker.lot import Lot
from tagmaker.record.journal.entries import Kind, in_force
from tagmaker.record.journal.kept import followed
from tagmaker.scan.pack_wish import Came, PackAsked

DEPARTURE = "departure"  # detail of an entry that was written here


@dataclass(frozen=True, slots=True)
class Left:
    """Bunches of a lot that were kept for a departure which is over."""

    lot: Lot
    leaves: datetime
    bunches: int
    told: str  # what was entered of it already


def departure_key(asked: PackAsked) -> str:
    """What entries of a departure have in common."""
    return f"{asked.day} {asked.use}"


def left_with(season: Season, asked: PackAsked) -> list[Left]:
    """The lots that kept bunches for a departure, by code; what became a lot of its own is told apart."""
    stems: dict[str, int] = {}
    moments: dict[str, datetime] = {}
    lots = {lot.lot_code: lot for lot in season.lots if not lot.planned}
    for lot in lots.values():
        own = [o for o in lot.orders if (o.leaves.date(), o.use) == (asked.day, asked.use)]
        own = [order for order in own if order.leaves <= season.now]
        if own:
            whole = any(order.stems is None for order in own)
            stems[lot.lot_code] = (
                (lot.left or 0) + lot.gone if whole else sum(order.stems or 0 for order in own)
            )
            moments[lot.lot_code] = min(order.leaves for order in own)
    for code in list(stems):
        for parent in lots[code].parents:
            if parent in stems:  # what went along with the promise of the journal is not in it any more
                typed = max(stems[code] - _went_along(season, parent, moments[code], asked.use), 0)
                stems[parent] = max(stems[parent] - typed, 0)
    return [
        Left(lots[code], moments[code], -(-count // lots[code].per_bunch), _told(season, code, asked))
        for code, count in sorted(stems.items())
        if count or _told(season, code, asked)
    ]


def _went_along(season: Season, code: str, leaves: datetime, use: str) -> int:
    """Stems that went into water for a departure with what the journal kept of their lot."""
    state = None if season.journal is None else season.journal.laid.lots.get(code)
    return 0 if state is None else followed(in_force(state.entries)).went.get((leaves, use), 0)


def _told(season: Season, code: str, asked: PackAsked) -> str:
    state = None if season.journal is None else season.journal.laid.lots.get(code)
    entries = [] if state is None else in_force(state.entries)
    own = [entry for entry in entries if entry.text(DEPARTURE) == departure_key(asked)]
    per_bunch = 10 if state is None else state.row.per_bunch
    return "; ".join(words_of(entry, per_bunch) for entry in own)


def came_of(season: Season, left: Left, came: Came) -> Iterator[tuple[Said, datetime | None]]:
    """What has to be written down, each with the moment at which it happened; None: now.

    Where only BACK is said, the others were sold. What goes to an order is told as sold for it; what went to
    market went out, and comes back with its hours in the warm.
    """
    lot, key = left.lot, {DEPARTURE: departure_key(came.asked)}
    back = came.back or 0
    sold = came.sold if came.sold is not None else max(left.bunches - back, 0)
    rest = _stems(sold, lot, lot.left or 0)
    for name, stems in _ordered(season, left, came.asked):
        count = min(stems, rest)
        if count:
            rest -= count
            yield Said(Kind.SOLD, count, details={**key, "order": name}), left.leaves
    if back:
        returned = _stems(back, lot, max((lot.left or 0) - _stems(sold, lot, lot.left or 0), 0))
        yield Said(Kind.OUT, rest + returned, details={**key, "use": came.asked.use}), left.leaves
        yield Said(Kind.CAME_BACK, returned, stands_in(lot), details=dict(key), part=True), None
    elif rest:
        yield Said(Kind.SOLD, rest, details=dict(key)), left.leaves


def _stems(bunches: int, lot: Lot, there: int) -> int:
    """Bunches in stems; the last one has what remains."""
    stems = bunches * lot.per_bunch
    return there if there < stems < there + lot.per_bunch else stems


def _ordered(season: Season, left: Left, asked: PackAsked) -> Iterator[tuple[str, int]]:
    """Orders that the lot kept bunches for, with their stems."""
    for kept in kept_entries(season):
        here = (kept.lot, kept.leaves, kept.use) == (left.lot.lot_code, left.leaves, asked.use)
        if here and kept.name and not kept.is_to_sell:
            yield kept.name, kept.stems


def without_notes(season: Season) -> Season:
    """The season without the notes of its orders, which only paired phones are shown."""
    return replace(season, orders=tuple(replace(order, note="") for order in season.orders))
