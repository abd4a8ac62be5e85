"""A lot of several parents: dated as the child of each alone, and told by the earliest and the worst."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import datetime

from tagmaker.lot import Lot, OrderDates, State, StorageDates, Verdict
from tagmaker.storage.basis import View
from tagmaker.storage.outlets import outlets_from, water_for, watered_until

WORST = (State.NO_DATE, State.TOO_OLD, State.SELL_ELSEWHERE, State.SELL_FIRST, State.KEEP)
WORST_VERDICT = (Verdict.NOT_FOR, Verdict.TOO_LATE, Verdict.STRETCHED, Verdict.USABLE)


def of_several(lot: Lot, each: Sequence[tuple[View, StorageDates]], now: datetime) -> StorageDates:
    """The dates of a lot from those of it as the child of each parent alone.

    Code, words and dates are those of the earliest, the state is the worst; an order or another outlet
    will do if it would for each.
    """
    views, all_dates = [view for view, _ in each], [dates for _, dates in each]
    first = min(all_dates, key=_earliest)
    state = min((dates.state for dates in all_dates), key=WORST.index)
    kept = min((dates.keeps_until for dates in all_dates if dates.keeps_until is not None), default=None)
    elsewhere = outlets_from(views, kept, now) if state is State.SELL_ELSEWHERE else ()
    orders = tuple(_worst(judged) for judged in zip(*(dates.orders for dates in all_dates), strict=True))
    return replace(
        first,
        lot=replace(first.lot, alone=lot.alone, parents=lot.parents),
        state=state,
        keeps_until=kept if first.keeps_until is not None else None,
        watered_until=watered_until(views, first.into_water_by, state, now),
        elsewhere=elsewhere,
        elsewhere_water=water_for(views, elsewhere),
        orders=orders,
        marks=tuple(dict.fromkeys(mark for dates in all_dates for mark in dates.marks)),
        low_by_hand=min(
            (d.low_by_hand for d in all_dates if d.low_by_hand is not None),
            key=lambda low: low.low_c,
            default=None,
        ),
        bad_since=next((d.bad_since for d in all_dates if d.bad_since is not None), None),
        warnings=tuple(dict.fromkeys(note for dates in (first, *all_dates) for note in dates.warnings)),
    )


def _earliest(dates: StorageDates) -> tuple[bool, datetime, datetime]:
    """By the reason to have no date, then sell by, then how long they keep."""
    never = datetime.min
    return dates.state is not State.NO_DATE, dates.sell_by or never, dates.keeps_until or never


def _worst(judged: Sequence[OrderDates]) -> OrderDates:
    """An order that is served only if the stems of each parent would do."""
    return min(judged, key=lambda order: WORST_VERDICT.index(order.verdict))
