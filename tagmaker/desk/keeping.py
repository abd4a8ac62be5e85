"""What the journal keeps of lots for departures: what `pack` chose, and what somebody kept by hand."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime

from tagmaker.desk.season import Season
from tagmaker.lot import Lot, StorageDates
from tagmaker.record.journal.entries import Kind, in_force
from tagmaker.record.journal.kept import kept_stems
from tagmaker.storage.demand import WrittenOrder
from tagmaker.storage.promises import Kept

Departure = tuple[str, datetime, str]  # lot code, when, for which use
BY = "pack"  # who kept it, in an entry's details


@dataclass(frozen=True, slots=True)
class KeptEntry:
    """Stems that an entry in force keeps of a lot."""

    lot: str  # its code of today
    name: str  # the order that it names, or what `pack` calls a usual sale
    leaves: datetime
    use: str
    stems: int
    bunches: int
    by_pack: bool

    @property
    def is_to_sell(self) -> bool:
        """Whether `pack` kept it for the outlet's own sale, not for an order."""
        return self.by_pack and self.name == sale_name(self.leaves, self.use)


def sale_name(leaves: datetime, use: str) -> str:
    """What stands in place of an order's code for what an outlet sells by itself."""
    return f"pack {leaves:%Y-%m-%dT%H:%M} {use}"


def kept_entries(season: Season, codes: Collection[str] | None = None) -> Iterator[KeptEntry]:
    """The last word of the journal about each lot and name, of some lots alone where they are named."""
    if season.journal is None:
        return
    for code, state in season.journal.laid.lots.items():
        if codes is not None and code not in codes:
            continue
        force = in_force(state.entries)
        live = kept_stems(force)
        for entry in force:
            leaves, stems = entry.moment("leaves"), live.get(entry.number, 0)
            if entry.kind is Kind.KEPT and stems and leaves is not None:
                yield KeptEntry(
                    lot=code,
                    name=entry.text("order"),
                    leaves=leaves,
                    use=entry.text("use"),
                    stems=stems,
                    bunches=-(-stems // state.row.per_bunch),
                    by_pack=entry.text("by") == BY,
                )


def kept_departures(season: Season, codes: Collection[str] | None = None) -> frozenset[Departure]:
    """Lot, moment and use of everything that the journal keeps."""
    return frozenset((kept.lot, kept.leaves, kept.use) for kept in kept_entries(season, codes))


def named(entries: Sequence[KeptEntry], orders: Sequence[WrittenOrder]) -> tuple[Kept, ...]:
    """What is kept for rows of the Orders sheet, which it names."""
    rows = {order.order_code for order in orders}
    return tuple(
        Kept(lot=kept.lot, leaves=kept.leaves, use=kept.use, stems=kept.stems, order_code=kept.name)
        for kept in entries
        if kept.name in rows
    )


def without(dates: Sequence[StorageDates], released: Collection[KeptEntry]) -> tuple[StorageDates, ...]:
    """The dates of lots as if they did not keep some of what is kept; a part order moves no date."""
    by_lot: dict[str, list[KeptEntry]] = {}
    for kept in released:
        by_lot.setdefault(kept.lot, []).append(kept)
    return tuple(
        replace(one, lot=_released(one.lot, by_lot[one.lot.lot_code])) if one.lot.lot_code in by_lot else one
        for one in dates
    )


def _released(lot: Lot, released: Sequence[KeptEntry]) -> Lot:
    orders = list(lot.orders)
    for kept in released:
        said = (kept.leaves, kept.stems, kept.use)
        found = next((order for order in orders if (order.leaves, order.stems, order.use) == said), None)
        if found is not None:
            orders.remove(found)
    return replace(lot, orders=tuple(orders))


def with_sold(orders: Sequence[WrittenOrder], season: Season) -> tuple[WrittenOrder, ...]:
    """The orders with what was sold for them according to the journal, where the sheet does not say more."""
    sold: dict[str, list[tuple[int, int]]] = {}
    for state in season.journal.laid.lots.values() if season.journal is not None else ():
        for entry in in_force(state.entries):
            if entry.kind is Kind.SOLD and entry.text("order") and entry.stems:
                bunches = -(-entry.stems // state.row.per_bunch)
                sold.setdefault(entry.text("order").upper(), []).append((entry.stems, bunches))
    return tuple(_with_sold(order, sold) for order in orders)


def _with_sold(order: WrittenOrder, sold: Mapping[str, Sequence[tuple[int, int]]]) -> WrittenOrder:
    own = sold.get(order.order_code, ())
    if not own:
        return order
    if order.stems is not None:
        return replace(order, done_stems=max(order.done_stems, sum(stems for stems, _ in own)))
    return replace(order, done_bunches=max(order.done_bunches, sum(bunches for _, bunches in own)))
