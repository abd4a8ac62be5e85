"""What of a lot is due first, and for which order its stems are kept."""

from __future__ import annotations

from datetime import datetime

from tagmaker.lot import OrderDates, StorageCode, StorageDates


def due(order: OrderDates) -> datetime | None:
    """When hands are needed for an order: into water, or out to open; None: only when it leaves."""
    return order.into_water_by or order.stand_warm_from


def first_due(dates: StorageDates) -> OrderDates | None:
    """The part order whose own moment comes before the lot's."""
    own = dates.out_by if dates.code is StorageCode.WATER else dates.into_water_by
    if own is None or dates.water_now:
        return None
    moments = [(at, order) for order in dates.orders if order.ok and order.stems and (at := due(order))]
    at, first = min(moments, key=lambda pair: pair[0], default=(own, None))
    return first if at < own else None


def kept_for(dates: StorageDates, now: datetime) -> OrderDates | None:
    """The order that stems are kept for though the lot's sell-by is over."""
    if dates.sell_by is None or dates.sell_by.date() >= now.date():
        return None
    return next((order for order in dates.orders if order.ok), None)
