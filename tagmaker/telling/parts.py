"""How a lot is divided: what each order takes, and what no order takes."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from tagmaker.lot import OrderDates, State, StorageDates


@dataclass(frozen=True, slots=True, kw_only=True)
class Part:
    """Stems of a lot that are told the same."""

    order: OrderDates | None  # None: what no order takes
    stems: int | None  # None: the sheet does not say
    bunches: int | None
    state: State  # how these stems stand: KEEP for those of an order


def part_orders(dates: StorageDates) -> tuple[OrderDates, ...]:
    """Orders for a part of the lot that it can serve, in order of departure."""
    return tuple(order for order in dates.orders if order.ok and order.stems is not None)


def bunches_for(order: OrderDates, dates: StorageDates) -> int:
    """Whole bunches that a part order takes."""
    return -(-(order.stems or 0) // dates.lot.per_bunch)


def parts(dates: StorageDates, now: datetime) -> tuple[Part, ...]:
    """Each order that can be served with its stems, then the rest, unless nothing is left of it.

    An order for the whole lot takes what part orders leave. Orders that cannot be served take nothing.
    """
    found = [
        Part(order=order, stems=order.stems, bunches=bunches_for(order, dates), state=State.KEEP)
        for order in part_orders(dates)
    ]
    stems, bunches = dates.left, dates.lot.bunches_left
    if stems is not None and bunches is not None:
        stems -= sum(part.stems or 0 for part in found)
        bunches -= sum(part.bunches or 0 for part in found)
        if stems <= 0 or bunches <= 0:
            return tuple(found)
    whole = next((order for order in dates.orders if order.ok and order.stems is None), None)
    state = State.KEEP if whole else rest_state(dates, now)
    return (*found, Part(order=whole, stems=stems, bunches=bunches, state=state))


def rest_state(dates: StorageDates, now: datetime) -> State:
    """How the stems stand that no order takes: they may be too old while an order keeps the others."""
    if dates.state is State.SELL_ELSEWHERE and not dates.elsewhere:
        kept = dates.keeps_until is not None and now.date() <= dates.keeps_until.date()
        return State.SELL_ELSEWHERE if kept else State.TOO_OLD
    return dates.state


def next_outlet(dates: StorageDates, now: datetime) -> tuple[str, datetime] | None:
    """The use that would take a lot next, where its own is over, and when; None: no use would.

    A sell by that is another use's is told as such, while the hour for its water is to come.
    """
    by, water = dates.sell_by, dates.into_water_by
    if dates.sell_by_use is not None and by is not None and now <= min(by, water or by):
        return dates.sell_by_use, by
    return next(iter(dates.elsewhere), None)


def apart(dates: StorageDates, now: datetime) -> tuple[tuple[Part, ...], Part | None]:
    """The parts that are kept for orders, and the rest, where the two are to be told apart: else nothing."""
    divided = parts(dates, now)
    rest = divided[-1] if divided and divided[-1].order is None else None
    if rest is None or len(divided) == 1 or rest.state is State.KEEP:
        return (), None
    return divided[:-1], rest
