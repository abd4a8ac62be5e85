"""What is wanted, and what of it lots keep already: orders, `needed` cells, what outlets usually sell.

What a lot keeps for an order of the sheet counts against that order; what it keeps for any other buyer is an
order of its own. What an outlet usually sells counts every order of that outlet and day in.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from enum import StrEnum

from tagmaker.farm import Farm
from tagmaker.lot import Lot, Order
from tagmaker.storage.demand import WrittenOrder
from tagmaker.storage.moments import next_selling_moment
from tagmaker.storage.orders import still_to_serve


class Wanted(StrEnum):
    """Where a demand is from."""

    WRITTEN = "written"  # a row of the Orders sheet
    NEEDED = "needed"  # promised of one lot, and in no row
    USUAL = "usual"  # what the outlet usually sells on a selling day


@dataclass(frozen=True, slots=True, kw_only=True)
class Demand:
    """Stems or bunches that are wanted for a departure. One of `stems` and `bunches` is given."""

    source: Wanted
    leaves: datetime
    use: str
    must: bool  # orders of this use are filled first
    stems: int | None = None  # still to be served, what is kept included
    bunches: int | None = None
    order: WrittenOrder | None = None  # of WRITTEN: its row
    lot: str = ""  # of NEEDED: the lot that it is promised of

    @property
    def code(self) -> str:
        """The code of its row; "" where it has none."""
        return "" if self.order is None else self.order.order_code

    @property
    def written(self) -> bool:
        """Whether a buyer has ordered it."""
        return self.source is not Wanted.USUAL

    @property
    def rank(self) -> tuple[int, datetime, str, str, str]:
        """Which is filled first: written orders of must uses, other orders, usual sales; by departure."""
        kind = 2 if not self.written else 0 if self.must else 1
        return (kind, self.leaves, self.use, self.code, self.lot)

    def fits(self, lot: Lot) -> bool:
        """Whether a lot's words are those that are wanted."""
        if self.source is Wanted.NEEDED:
            return lot.lot_code == self.lot
        return self.order is None or self.order.fits(lot)


@dataclass(frozen=True, slots=True, kw_only=True)
class Kept:
    """Stems that the journal keeps of a lot for an order of the sheet, which it names."""

    lot: str
    leaves: datetime
    use: str
    stems: int
    order_code: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Promise:
    """Stems that a lot keeps already for a demand."""

    lot: str
    stems: int | None  # still to be served; None: all that no other order takes
    demand: Demand  # what it counts against


@dataclass(frozen=True, slots=True, kw_only=True)
class UsualSale:
    """What an outlet sells on a day in all, orders included. One of `stems` and `bunches` is given."""

    leaves: datetime
    use: str
    stems: int | None = None
    bunches: int | None = None


def usual_sales(farm: Farm, now: datetime, until: date) -> tuple[UsualSale, ...]:
    """What every use that says so usually sells on its selling days from now until a day, by moment."""
    found = []
    for use in farm.uses.values():
        moment = next_selling_moment(use, now)
        while use.stems and moment is not None and moment.date() <= until:
            found.append(UsualSale(leaves=moment, use=use.name, stems=use.stems))
            moment = next_selling_moment(use, moment)
    return tuple(sorted(found, key=lambda sale: (sale.leaves, sale.use)))


def promised(
    lots: Sequence[Lot], orders: Sequence[WrittenOrder], farm: Farm, now: datetime, kept: Sequence[Kept] = ()
) -> tuple[tuple[Demand, ...], tuple[Promise, ...]]:
    """Every demand that was written, and what lots keep for it, in the order in which they are filled.

    A kept names its row. A `needed` of a row's use and departure counts against that row, where its words fit
    the lot: of several rows the first by code that still lacks something.

    Args:
        lots: with all their orders.
        orders: rows of the Orders sheet.
        farm: its uses.
        now: what has left by then is over.
        kept: what the journal keeps for rows that it names.
    """
    rows = {o.order_code: _row_demand(o, farm) for o in orders if o.leaves >= now and not o.is_done}
    lacking: dict[str, float] = {
        code: d.stems if d.stems is not None else (d.bunches or 0) for code, d in rows.items()
    }
    promises = []
    for lot in sorted(lots, key=lambda lot: lot.lot_code):
        own: dict[tuple[datetime, str], list[int | None]] = {}
        for order, stems, code in _named(lot, kept):
            if order.leaves < now or stems == 0:
                continue
            row = rows.get(code) or _row_for(lot, order, rows, lacking)
            if row is None:
                own.setdefault((order.leaves, order.use), []).append(stems)
                continue
            per = 1 if row.stems is not None else lot.per_bunch
            lacking[row.code] -= (_rest(lot, now) if stems is None else stems) / per
            promises.append(_promise(lot, row, stems))
        for (leaves, use), several in own.items():
            whole = None in several
            parts = sum(stems or 0 for stems in several)
            wanted = parts + (_rest(lot, now) if whole else 0)
            demand = Demand(
                source=Wanted.NEEDED,
                leaves=leaves,
                use=use,
                must=farm.uses[use].must,
                stems=wanted,
                lot=lot.lot_code,
            )
            promises.append(_promise(lot, demand, None if whole else parts))
    written = [promise.demand for promise in promises if promise.demand.source is Wanted.NEEDED]
    demands = sorted([*rows.values(), *written], key=lambda demand: demand.rank)
    return tuple(demands), tuple(sorted(promises, key=lambda p: (p.stems is None, p.demand.leaves, p.lot)))


def _promise(lot: Lot, demand: Demand, stems: int | None) -> Promise:
    return Promise(lot=lot.lot_code, stems=stems, demand=demand)


def _rest(lot: Lot, now: datetime) -> int:
    """Stems that an order for the whole lot takes: what orders for a part of it leave."""
    parts = sum(stems or 0 for order, stems in still_to_serve(lot) if order.leaves >= now)
    return max((lot.left or 0) - parts, 0)


def _row_demand(order: WrittenOrder, farm: Farm) -> Demand:
    return Demand(
        source=Wanted.WRITTEN,
        leaves=order.leaves,
        use=order.use,
        must=farm.uses[order.use].must,
        stems=order.open_stems,
        bunches=order.open_bunches,
        order=order,
    )


def _named(lot: Lot, kept: Sequence[Kept]) -> Iterator[tuple[Order, int | None, str]]:
    """Each order of a lot with the stems still to be served and the row that it names; "" for none."""
    names = [keep for keep in kept if keep.lot == lot.lot_code]
    for order, stems in still_to_serve(lot):
        same = (keep for keep in names if (keep.leaves, keep.use, keep.stems) == _said(order))
        keep = next(same, None)
        if keep is not None:
            names.remove(keep)
        yield order, stems, "" if keep is None else keep.order_code


def _said(order: Order) -> tuple[datetime, str, int | None]:
    return order.leaves, order.use, order.stems


def _row_for(
    lot: Lot, order: Order, rows: Mapping[str, Demand], lacking: Mapping[str, float]
) -> Demand | None:
    """The first row by code that a `needed` counts against; the first that fits where none lacks anything."""
    fitting = [
        row
        for _, row in sorted(rows.items())
        if (row.leaves, row.use) == (order.leaves, order.use) and row.fits(lot)
    ]
    return next((row for row in fitting if lacking[row.code] > 0), next(iter(fitting), None))
