"""Where a lot stands today, and which outlets would still take it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import datetime, time, timedelta

from tagmaker.farm import Use
from tagmaker.lot import OrderDates, State
from tagmaker.storage.basis import View
from tagmaker.storage.choosing import Choice, choose_sell_by
from tagmaker.storage.looking import bad_since
from tagmaker.storage.moments import DAY, next_selling_moment, selling_moment
from tagmaker.storage.orders import judge_orders, ready_at
from tagmaker.storage.whereabouts import TO_THE_COOLER

Outlets = tuple[tuple[str, datetime], ...]


def outlets_from(views: Sequence[View], keeps_until: datetime | None, now: datetime) -> Outlets:
    """For every use its next selling moment that would do from now on, for the stems of each view; in order.

    Up to the day that the stems keep until; for an open use as long as it is usable.
    """
    farm = views[0].judge.farm
    last = max(view.judge.last_day for view in views)
    found = []
    for use in farm.uses.values():
        end = datetime.combine(last, time.max) if use.open else keeps_until
        moment = None if end is None else _next_that_does(views, use, now, end)
        if moment is not None:
            found.append((use.name, moment))
    return tuple(sorted(found, key=lambda outlet: outlet[1]))


def water_for(views: Sequence[View], outlets: Outlets) -> dict[str, datetime]:
    """Use -> when the stems of all views are to be in water for it, where they are dry."""
    found = {}
    for use, moment in outlets:
        judges = [view.judge for view in views if view.judge.is_dry]
        hours = [judge.into_water_by(moment, judge.farm.uses[use]) for judge in judges]
        if known := [hour for hour in hours if hour is not None]:
            found[use] = min(known)
    return found


def _next_that_does(views: Sequence[View], use: Use, now: datetime, end: datetime) -> datetime | None:
    for ahead in range((end.date() - now.date()).days + 1):
        moment = selling_moment(use, now.date() + ahead * DAY)
        if moment is None or not now <= moment <= end:
            continue
        if all(_does(view, use, moment, now) for view in views):
            return moment
    return None


def _does(view: View, use: Use, moment: datetime, now: datetime) -> bool:
    return view.will_do(moment, use) and ready_at(view.judge, use, moment, now) <= moment


def watered_until(views: Sequence[View], by: datetime | None, state: State, now: datetime) -> datetime | None:
    """How long dry stems to sell elsewhere do if they went into water on time; None: not a day any more.

    The sheet says dry, but their hour is over, and nobody wrote whether it was kept.
    """
    if by is None or by >= now or state is not State.SELL_ELSEWHERE:
        return None
    watered = [view.for_lot(replace(view.judge.lot, in_water=by), view.judge.airs, now) for view in views]
    ends = [end for view in watered if (end := view.keeps_until()) is not None and end >= now]
    return min(ends) if len(ends) == len(views) else None


def takes_all(left: int | None, to_serve: Sequence[OrderDates]) -> bool:
    """Whether the orders that can be served come to all that is left."""
    if any(order.stems is None for order in to_serve):
        return True
    wanted = sum(order.stems or 0 for order in to_serve)
    return bool(to_serve) and left is not None and wanted >= left


def state_of(
    view: View,
    choice: Choice,
    keeps_until: datetime,
    to_serve: Sequence[OrderDates],
    now: datetime,
    too_open: bool,
) -> State:
    """Where a lot that has a sell by stands.

    Args:
        view: the stems on the basis that the sell by is taken from.
        choice: the sell by.
        keeps_until: how long the stems keep.
        to_serve: the orders to come that can be served.
        now: the moment asked about.
        too_open: the buds are, now.
    """
    judge = view.judge
    if bad_since(judge.lot, now) or (now.date() > keeps_until.date() and not to_serve):
        return State.TOO_OLD
    if takes_all(judge.lot.left, to_serve):
        return State.KEEP
    if choice.other_use or now.date() > choice.moment.date():
        return State.SELL_ELSEWHERE
    following = next_selling_moment(judge.farm.uses[judge.lot.use], now - timedelta(microseconds=1))
    last = following is None or following >= choice.moment
    return State.SELL_FIRST if last or too_open else State.KEEP


def would_have_done(view: View, then: View, now: datetime) -> bool:
    """Whether anything would have done on the day of the cut, by what was known at its end."""
    use = then.judge.farm.uses[view.judge.lot.use]
    orders = judge_orders(then, now)
    if any(order.ok for order in orders) or choose_sell_by(then, use) is not None:
        return True
    return bool(outlets_from([then], None, now))


def at_end_of_cut_day(view: View) -> View:
    """The stems as they were known at the end of the day of the cut: later cells and readings left out."""
    judge, lot = view.judge, view.judge.lot
    end = datetime.combine(lot.cut.date() + DAY, time())
    in_cooler = lot.in_cooler
    if in_cooler is not None and in_cooler >= end:
        in_cooler = lot.cut + TO_THE_COOLER
    then = replace(
        lot,
        in_cooler=in_cooler,
        in_water=lot.in_water if lot.in_water is not None and lot.in_water < end else None,
        moves=tuple(move for move in lot.moves if move.since < end),
        tested=tuple(test for test in lot.tested if test.day <= lot.cut.date()),
    )
    airs = {name: air.as_of(end) for name, air in judge.airs.items()}
    return view.for_lot(then, airs, end)
