"""Which moment is a lot's sell by, how long its stems keep, and what is told around the two."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, time

from tagmaker.farm import Use
from tagmaker.storage.band import Band
from tagmaker.storage.basis import Basis, View
from tagmaker.storage.judging import Judge
from tagmaker.storage.moments import days_down, selling_moment
from tagmaker.storage.orders import JudgedOrder, judge_orders, whole_lot_orders


@dataclass(frozen=True, slots=True, kw_only=True)
class Choice:
    """A sell-by and how it came about."""

    moment: datetime
    use: Use
    other_use: bool = False  # no selling moment of the lot's own use would do
    at_close: bool = False  # of no use: the close of a working day
    order: JudgedOrder | None = None  # the whole-lot order that is the sell-by, or that binds it
    bound: date | None = None  # last day that the tag of a whole-lot order leaves
    otherwise: datetime | None = None  # what would hold without that order


def choose_sell_by(view: View, use: Use, orders: Sequence[JudgedOrder] = ()) -> Choice | None:
    """The last usable selling moment of a lot's own use, else of another, else how long the stems keep.

    An order for the whole lot puts all stems in water: nothing later than three days after that holds,
    but the order itself always counts.

    Args:
        view: the stems on the basis that the date is taken from.
        use: the lot's own.
        orders: those for the whole lot that hold it, in order of departure.
    """
    binding = orders[-1] if orders else None
    bound = binding.bound if binding else None
    moment = view.last_selling(use, bound)
    if binding is not None and (moment is None or binding.leaves > moment):
        otherwise = view.last_selling(use)
        used_for = view.judge.farm.uses[binding.use]
        return Choice(moment=binding.leaves, use=used_for, order=binding, bound=bound, otherwise=otherwise)
    if moment is None:
        return _fallen_back(view, use)
    otherwise = view.last_selling(use) if binding else None
    return Choice(moment=moment, use=use, order=binding, bound=bound, otherwise=otherwise)


def _fallen_back(view: View, use: Use) -> Choice | None:
    """The last moment of a use that is not the lot's own, or of none."""
    others = [u for u in view.judge.farm.uses.values() if u.name != use.name and not u.open]
    found = [(moment, other) for other in others if (moment := view.last_selling(other)) is not None]
    if found:
        moment, other = max(found, key=lambda pair: pair[0])
        return Choice(moment=moment, use=other, other_use=True)
    moment_kept = view.keeps_until()
    if moment_kept is None:
        return None
    return Choice(moment=moment_kept, use=use, at_close=True)


def kept_until(view: View, choice: Choice) -> datetime:
    """How long the stems keep, never before the sell by; of unknown stage, by what half would keep."""
    kept_by = view
    if view.as_half is not None and view.judge.farm.basis == "practice":
        kept_by = View(judge=view.as_half, basis=Basis.PRACTICE)
    return max(kept_by.keeps_until() or choice.moment, choice.moment)


def cautious_sell_by(view: View, sell_by: datetime, now: datetime) -> datetime | None:
    """The sell by of the published days, or of the early end of the band where a crop has none."""
    cautious = view.on(Basis.CAUTIOUS)
    use = view.judge.farm.uses[view.judge.lot.use]
    orders = judge_orders(cautious, now) if view.judge.lot.orders else ()
    choice = choose_sell_by(cautious, use, whole_lot_orders(orders, view.judge.is_dry, now))
    return None if choice is None else min(choice.moment, sell_by)


def shown_band(judge: Judge, use: Use, sell_by: datetime, band: Band) -> tuple[datetime | None, datetime]:
    """The band as selling moments within every calendar limit, around the sell by."""
    first, last = (_last_allowed(judge, use, moment) for moment in (band.early, band.late))
    return None if first is None else min(first, sell_by), sell_by if last is None else max(last, sell_by)


def _last_allowed(judge: Judge, use: Use, limit: datetime) -> datetime | None:
    """The last selling moment of a use until a moment, else the last close, within the calendar limits."""
    days = list(days_down(min(limit.date(), judge.last_day), judge.lot.cut.date()))
    workday = judge.farm.workday
    selling = (selling_moment(use, day) for day in days)
    closes = (workday.end(day) for day in days if not workday.is_off(day))
    for moment in (*selling, *closes):
        if moment is None or moment > limit:
            continue
        midnight = judge.departure(datetime.combine(moment.date(), time()), use, straight=True)
        leaving = replace(judge.departure(moment, use), more_days=midnight.more_days)  # whole days count
        if judge.calendar_limit(leaving, judge.cap_days(judge.keeping)) is None:
            return moment
    return None
