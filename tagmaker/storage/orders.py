"""Orders of a lot: which of them its stems can serve, each judged by itself."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from tagmaker.farm import Use
from tagmaker.lot import Lot, Order, Verdict
from tagmaker.storage.basis import Basis, View
from tagmaker.storage.judging import IN_WATER_DAYS, Judge, Limit
from tagmaker.storage.moments import DAY
from tagmaker.storage.stems import AFTER_TRIP_H
from tagmaker.storage.whereabouts import last_trip


@dataclass(frozen=True, slots=True, kw_only=True)
class JudgedOrder:
    """An order with what became of it."""

    leaves: datetime
    stems: int | None  # still to be served after what has gone; None: the whole lot
    use: str
    verdict: Verdict
    limit: Limit | None  # what stops it
    bound: date | None  # whole lot: last day on which the stems put in water for it may leave

    @property
    def would_do(self) -> bool:
        """Whether the stems would do, whatever the time is now."""
        return self.verdict is not Verdict.NOT_FOR

    @property
    def ok(self) -> bool:
        """Whether it can be served."""
        return self.verdict in (Verdict.USABLE, Verdict.STRETCHED)

    def is_listed(self, now: datetime) -> bool:
        """Whether the order is still to come and not yet served."""
        return self.leaves >= now and self.stems != 0


def judge_orders(view: View, now: datetime) -> tuple[JudgedOrder, ...]:
    """All orders of a lot in order of departure, past ones too, each judged by itself."""
    return tuple(judge_order(view, order, stems, now) for order, stems in still_to_serve(view.judge.lot))


def judge_order(view: View, order: Order, stems: int | None, now: datetime) -> JudgedOrder:
    """An order judged by itself; `stems` are those still to be served, None: the whole lot."""
    view = view.on(Basis.PRACTICE) if view.basis is Basis.EARLY else view  # a test decides, not the band
    judge, use = view.judge, view.judge.farm.uses[order.use]
    limit = view.shortfall(order.leaves, use)
    verdict = Verdict.USABLE
    if limit is not None:
        verdict = Verdict.STRETCHED if view.stretches(order.leaves, use) else Verdict.NOT_FOR
    bound = None
    if stems is None and verdict is not Verdict.NOT_FOR and judge.is_dry:
        soak = judge.into_water_by(order.leaves, use)
        if soak is not None:
            bound = max(soak.date() + IN_WATER_DAYS * DAY, order.leaves.date())
    if verdict is not Verdict.NOT_FOR and ready_at(judge, use, order.leaves, now) > order.leaves:
        verdict = Verdict.TOO_LATE
    return JudgedOrder(
        leaves=order.leaves, stems=stems, use=order.use, verdict=verdict, limit=limit, bound=bound
    )


def ready_at(judge: Judge, use: Use, departure: datetime, now: datetime) -> datetime:
    """When the stems can be ready for a departure if what is still to be done begins now."""
    opening_h = judge.opening_hours(use, departure)
    if judge.is_dry:
        return now + timedelta(hours=judge.water_hours() + opening_h)
    soaked = judge.put_in_water
    ready = datetime.min if soaked is None else soaked + timedelta(hours=judge.water_hours())
    if not opening_h:
        return ready
    since, end = _warm_stay(judge.lot, departure, now)
    warmed_h = min((end - since) / timedelta(hours=1), opening_h)
    return max(now, ready) + timedelta(hours=opening_h - warmed_h)


def _warm_stay(lot: Lot, departure: datetime, now: datetime) -> tuple[datetime, datetime]:
    """The last stay outside as far as it is over, where it was for a departure; else none at all."""
    trip = last_trip(lot)
    if trip is None or trip[0] > now:
        return now, now
    end = now if trip[1] is None else min(trip[1], now)
    ended = trip[1] is not None and departure - trip[1] > timedelta(hours=AFTER_TRIP_H)
    return (now, now) if ended else (trip[0], end)


def whole_lot_orders(orders: Sequence[JudgedOrder], is_dry: bool, now: datetime) -> list[JudgedOrder]:
    """The orders for the whole lot that hold its sell by, in order of departure.

    A dry lot whose orders are all past, or too late to be put in water for, is free of them: the one
    thing by which the clock moves a sell by.
    """
    whole = [order for order in orders if order.stems is None and order.would_do]
    held = not is_dry or any(order.leaves >= now and order.ok for order in whole)
    return [order for order in whole if order.ok or not is_dry] if held else []


def still_to_serve(lot: Lot) -> Iterator[tuple[Order, int | None]]:
    """Each order with the stems it still wants: what has gone uses up the nearest order first."""
    gone = lot.gone
    for order in sorted(lot.orders, key=lambda order: order.leaves):
        if order.stems is None:
            gone = 0
            yield order, None
            continue
        served = min(gone, order.stems)
        gone -= served
        yield order, order.stems - served
