"""The two dates of a lot, told once for every paper, page and table: into water, and until when to sell.

A tag is of a lot, or of the bunches that one part order takes of it. Time runs one way: water comes first.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum

from tagmaker.farm import Workday
from tagmaker.lot import OrderDates, State, StorageCode, StorageDates
from tagmaker.telling.parts import next_outlet, rest_state
from tagmaker.telling.readiness import hour_matters


class WaterWord(StrEnum):
    """What a tag says of water; the value is the name of its macro."""

    BY = "into_water_by"  # the moment is the deadline
    NOW = "water_now"  # the deadline has passed; the moment is when they would be ready
    IN = "in_water"
    READY = "in_water_ready"
    READY_FROM = "ready_from"  # they stand in water; the moment is when they are ready


class SellWord(StrEnum):
    """What a tag says of selling; the value is the name of its macro."""

    BY = "sell_by"
    ORDERED = "ordered_sell_by"  # the moment is an order's departure, and the sell-by
    ELSEWHERE = "sell_elsewhere"  # the next moment at which a use would take them; without one, the last day
    HOW_OPEN = "how_open"  # the cautious date is over, and they may keep longer
    TOO_OLD = "too_old"
    NO_DATE = "no_date"


@dataclass(frozen=True, slots=True)
class Water:
    """What a tag says of water."""

    word: WaterWord
    moment: datetime | None = None


@dataclass(frozen=True, slots=True)
class Selling:
    """What a tag says of selling."""

    word: SellWord
    moment: datetime | None = None
    use: str = ""  # the use, where it is not the lot's own
    leaves: datetime | None = None  # the hour, where it matters


def water_told(dates: StorageDates, order: OrderDates | None, now: datetime) -> Water | None:
    """What the tag of a lot, or of the bunches of a part order, says of water; None: nothing any more.

    A lot too old, and one whose sell-by is over, says nothing: only bunches of orders to come do. Nor does
    one that is sold elsewhere and may be dry although its hour is over.
    """
    if order is None and dates.state is State.TOO_OLD:
        return None
    if dates.code is StorageCode.WATER:
        if dates.ready_from is None:
            return Water(WaterWord.IN)
        ready = dates.ready_from <= now
        return Water(WaterWord.READY) if ready else Water(WaterWord.READY_FROM, dates.ready_from)
    over = dates.sell_by is None or dates.state is State.TOO_OLD or dates.sell_by < now
    if order is None and dates.tag_order is None and over:
        return None
    by = order.into_water_by if order else dates.into_water_by
    if by is None:
        return None
    if by >= now:
        return Water(WaterWord.BY, by)
    if order is None and dates.tag_order is None and dates.state is State.SELL_ELSEWHERE:
        return None
    return Water(WaterWord.NOW, dates.ready_from)


def asks_still_dry(dates: StorageDates, now: datetime) -> bool:
    """Whether a lot to sell elsewhere may be dry or not: its hour to go into water is over."""
    by = dates.into_water_by
    return dates.state is State.SELL_ELSEWHERE and by is not None and by < now and bool(dates.elsewhere)


def warm_told(dates: StorageDates, order: OrderDates | None) -> datetime | None:
    """When the flowers of a tag go into the warm to open; None: they need not."""
    if order is not None:
        return order.stand_warm_from
    return dates.out_by if dates.code is StorageCode.WATER else dates.stand_warm_from


def selling_told(dates: StorageDates, order: OrderDates | None, workday: Workday, now: datetime) -> Selling:
    """What the tag of a lot, or of the bunches of a part order, says of selling.

    Bunches of a part order are sold when it leaves: once in water for it they last no longer than that.
    """
    state = State.KEEP if order else rest_state(dates, now)
    if state is State.TOO_OLD:
        return Selling(SellWord.TOO_OLD)
    moment = order.leaves if order else dates.sell_by
    if state is State.SELL_ELSEWHERE and dates.tag_order is None:
        return _elsewhere(dates, workday, now)
    if moment is None or state is State.NO_DATE:
        return Selling(SellWord.NO_DATE)
    served = order or dates.tag_order
    if served is not None and served.leaves == moment:
        return Selling(SellWord.ORDERED, moment, leaves=_hour(moment, workday))
    leaves = None if dates.at_close else _hour(moment, workday)
    return Selling(SellWord.BY, moment, dates.sell_by_use or "", leaves)


def _elsewhere(dates: StorageDates, workday: Workday, now: datetime) -> Selling:
    """The next use that would take a lot whose own is over; where none would, the day that it keeps until."""
    outlet = next_outlet(dates, now)
    if outlet is not None:
        use, moment = outlet
        return Selling(SellWord.ELSEWHERE, moment, use, _hour(moment, workday))
    if dates.lot.stage is None:
        return Selling(SellWord.HOW_OPEN)
    return Selling(SellWord.ELSEWHERE, dates.keeps_until)


def ordered_told(dates: StorageDates, order: OrderDates | None) -> OrderDates | None:
    """The whole-lot order that a tag names beside its sell-by; None: there is none, or it is the sell-by."""
    served = dates.tag_order
    return None if order is not None or served is None or served.leaves == dates.sell_by else served


def _hour(moment: datetime, workday: Workday) -> datetime | None:
    return moment if hour_matters(moment, workday) else None
