"""The dates of a lot: storage code, sell by, into water by, orders, and why each is what it is.

The storage code comes from the row alone and the clock never moves a sell-by: *now* only decides
the state, what is overdue and which orders are still to come.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta

from tagmaker import notes
from tagmaker.farm import Farm, Use
from tagmaker.lot import Lot, OrderDates, State, StorageCode, StorageDates, Surface, Verdict
from tagmaker.notes import Note
from tagmaker.storage import remarks
from tagmaker.storage.air import Airs, assumed_airs
from tagmaker.storage.crops import CropTable, Keeping
from tagmaker.storage.judging import PRACTICE, VARIATIONS, Judge, Limit, judge_lot
from tagmaker.storage.moments import (
    DAY,
    next_selling_moment,
    quarter_after,
    workday_after,
    workday_on_or_before,
)
from tagmaker.storage.orders import JudgedOrder, judge_orders
from tagmaker.storage.whereabouts import cooler_at, lot_history, waits_to_dry

LONG_STAY_DAYS = 21  # [d] beyond it a buyer's four vase days are uncertain (common practice, no source)
LONG_STAY_PROMISE = 4.0  # [d] vase days of the uses that are meant (common practice, no source)
DRIED_STAY_DAYS = 7  # [d] a lot that was wet may stay untested (chosen)
TEST_DAYS_BEFORE = 6  # [d] before the departure a bunch is opened (chosen)


def date_lots(
    lots: Sequence[Lot], farm: Farm, crops: CropTable, now: datetime, airs: Airs | None = None
) -> tuple[StorageDates, ...]:
    """The dates of every lot that has been cut, in the order given; planned lots are left out."""
    return tuple(date_lot(lot, farm, crops, now, airs) for lot in lots if not lot.planned)


def date_lot(lot: Lot, farm: Farm, crops: CropTable, now: datetime, airs: Airs | None = None) -> StorageDates:
    """The dates of one lot that has been cut.

    Args:
        lot: the row; its crop, form and way are in the table.
        farm: hours, uses and coolers.
        crops: the crop table.
        now: local time of the farm.
        airs: the air of every cooler; None: nothing was read in any.
    """
    judge, practice = judges(lot, farm, crops, airs)
    use = farm.uses[lot.use]
    if waits_to_dry(lot, judge.keeping.code):
        return _without_date(judge, now, notes.WhyWet(lot=lot.lot_code))
    orders = judge_orders(judge)
    choice = choose_sell_by(judge, use, orders)
    if choice is None:
        return _without_date(judge, now, remarks.why_undated(judge, use))
    return _dated(judge, practice, choice, orders, now)


def choose_keeping(lot: Lot, crops: CropTable) -> Keeping:
    """How a lot is kept, from its row alone.

    Bulb on: BULB. Else what the grower chose; else WATER for a late stage where the crop has that
    way; else the first way of the crop's row.
    """
    ways = {way.code: way for way in crops.ways(lot.crop, lot.form)}
    first = next(iter(ways.values()))
    if lot.bulb:
        return ways[StorageCode.BULB]
    if lot.storage is not None:
        return ways[lot.storage]
    late = lot.stage is not None and lot.stage > first.right_stage
    return ways.get(StorageCode.WATER, first) if late else first


def judges(lot: Lot, farm: Farm, crops: CropTable, airs: Airs | None = None) -> tuple[Judge, Judge]:
    """The judge that a lot's sell-by and orders go by, and the one of usual practice."""
    keeping = choose_keeping(lot, crops)
    airs = assumed_airs(farm) if airs is None else airs
    history = lot_history(lot, farm, airs, keeping.code, lot.cut + DAY * 2 * keeping.cap_days)
    water = crops.keeping(lot.crop, lot.form, StorageCode.WATER)
    practice = judge_lot(lot, farm, airs, keeping, water, history)
    return (_cautious(practice) if _on_cautious_basis(lot, farm) else practice), practice


def _on_cautious_basis(lot: Lot, farm: Farm) -> bool:
    return lot.stage is None or farm.basis == "cautious"


def _cautious(practice: Judge) -> Judge:
    """The judge by the published days; where a crop has none, by the worst of the variations."""
    if practice.keeping.cautious_days is not None:
        return replace(practice, cautious=True)
    return replace(practice, readings=(PRACTICE, *VARIATIONS))


@dataclass(frozen=True, slots=True, kw_only=True)
class Choice:
    """A sell-by and how it came about."""

    moment: datetime
    use: Use
    at_close: bool = False  # no selling day was left: the close of a working day
    order: JudgedOrder | None = None  # the whole-lot order that is the sell-by, or that binds it
    bound: date | None = None  # last day that the tag of a whole-lot order leaves
    otherwise: datetime | None = None  # what would hold without that order


def choose_sell_by(judge: Judge, use: Use, orders: Sequence[JudgedOrder] = ()) -> Choice | None:
    """The last usable selling moment that stays usable when the tag is obeyed.

    A usable order for the whole lot puts all stems in water, so nothing later than three days
    after that holds; the order itself always counts.
    """
    whole = [order for order in orders if order.stems is None and order.ok]
    binding = min(
        (order for order in whole if order.bound), key=lambda order: order.bound or date.max, default=None
    )
    bound = binding.bound if binding else None
    moment, at_close = _last_moment(judge, use, bound)
    otherwise = _last_moment(judge, use, None)[0] if whole else None
    last = max(whole, key=lambda order: order.leaves, default=None)
    if last is not None and (moment is None or last.leaves > moment):
        return Choice(
            moment=last.leaves, use=judge.farm.uses[last.use], order=last, bound=bound, otherwise=otherwise
        )
    if moment is None:
        return None
    return Choice(moment=moment, use=use, at_close=at_close, order=binding, bound=bound, otherwise=otherwise)


def _last_moment(judge: Judge, use: Use, until: date | None) -> tuple[datetime | None, bool]:
    """The last selling moment, or else the last close of a working day and True."""
    moment = judge.last_selling(use, until)
    return (moment, False) if moment is not None else (judge.last_close(use, until), True)


def _band(practice: Judge, use: Use, sell_by: datetime) -> tuple[datetime | None, datetime]:
    """The earliest and the latest sell-by when one figure at a time is varied."""
    choices = [choose_sell_by(replace(practice, readings=(varied,)), use) for varied in VARIATIONS]
    moments = [choice.moment for choice in choices if choice is not None]
    early = min([*moments, sell_by]) if len(moments) == len(choices) else None
    return early, max([*moments, sell_by])


def _cautious_sell_by(
    practice: Judge, use: Use, sell_by: datetime, early: datetime | None
) -> datetime | None:
    if practice.keeping.cautious_days is None:
        return early
    choice = choose_sell_by(_cautious(practice), use)
    return min(choice.moment, sell_by) if choice is not None else None


def _dated(
    judge: Judge, practice: Judge, choice: Choice, judged: Sequence[JudgedOrder], now: datetime
) -> StorageDates:
    """All dates of a lot that has a sell-by."""
    lot, use = judge.lot, judge.farm.uses[judge.lot.use]
    early: datetime | None = None
    late: datetime | None = None
    if _on_cautious_basis(lot, judge.farm):
        cautious: datetime | None = choice.moment
    else:
        early, late = _band(practice, use, choice.moment)
        cautious = _cautious_sell_by(practice, use, choice.moment, early)
    orders = tuple(_order_dates(judge, order, early, now) for order in judged if order.is_listed(now))
    to_serve = [order for order in orders if order.ok]
    tag_order = next((order for order in to_serve if order.stems is None), None)
    departure = tag_order.leaves if tag_order else choice.moment
    leaving_for = judge.farm.uses[tag_order.use] if tag_order else choice.use
    tests = [(order.leaves, order.test_on) for order in to_serve if order.test_on is not None]
    if _rest_to_sell(lot, to_serve) and _stays_long(judge, use, choice.moment):
        tests.append((choice.moment, _test_day(judge, choice.moment)))
    tests_on = tuple(sorted({day for _, day in tests}))
    dry = judge.was_dry and judge.put_in_water is None
    into_water_by = judge.into_water_by(departure, leaving_for) if dry else None
    water_now = into_water_by is not None and into_water_by < now
    low_high = judge.vase_days(choice.moment, choice.use)
    return replace(
        _undated(judge, now, _why(judge, choice)),
        state=_state(judge, choice.moment, to_serve, now),
        sell_by=choice.moment,
        into_water_by=into_water_by,
        water_now=water_now,
        ready_from=_ready_from(judge, leaving_for, departure, now if water_now else None),
        stand_warm_from=judge.stand_warm_from(departure, leaving_for) if dry else None,
        out_by=None if dry else judge.stand_warm_from(departure, leaving_for),
        at_close=choice.at_close,
        tag_order=tag_order,
        test_first=bool(tests_on),
        tests_on=tests_on,
        vase_days=(max(low_high - 1, 0.0), max(low_high + 1, 0.0)),
        early=early,
        late=late,
        cautious_sell_by=cautious,
        orders=orders,
        why_into_water=remarks.why_into_water(judge, departure, leaving_for) if into_water_by else None,
        warnings=(
            *remarks.warnings(judge, choice.moment, judged, orders, now),
            *remarks.about_tests(judge, tests, now),
        ),
    )


def _undated(judge: Judge, now: datetime, why: Note) -> StorageDates:
    """What is known of a lot before it has any date."""
    lot = judge.lot
    in_water = judge.put_in_water is not None
    air = judge.airs[cooler_at(lot, judge.farm, now).name]
    return StorageDates(
        lot=lot,
        code=StorageCode.WATER if in_water else judge.keeping.code,
        kept=judge.keeping.code,
        state=State.NO_DATE,
        sell_by=None,
        into_water_by=None,
        water_now=False,
        ready_from=None,
        stand_warm_from=None,
        out_by=None,
        tag_order=None,
        test_first=False,
        tests_on=(),
        life_used=judge.history.aged_days(now) / judge.keeping.life_days,
        vase_days=None,
        early=None,
        late=None,
        cautious_sell_by=None,
        orders=(),
        dated_for_c=air.after_c,
        log_until=air.spells[-1].end if air.spells else None,
        why=why,
        why_into_water=None,
        warnings=(),
    )


def _without_date(judge: Judge, now: datetime, why: Note) -> StorageDates:
    """A lot that cannot be given a date, with its orders judged as far as they go."""
    judged = () if waits_to_dry(judge.lot, judge.keeping.code) else judge_orders(judge)
    orders = tuple(_order_dates(judge, order, None, now) for order in judged if order.is_listed(now))
    return replace(
        _undated(judge, now, why),
        orders=orders,
        ready_from=_ready_from(judge, judge.farm.uses[judge.lot.use], now, None),
        warnings=remarks.warnings(judge, None, judged, orders, now),
    )


def _order_dates(judge: Judge, order: JudgedOrder, early: datetime | None, now: datetime) -> OrderDates:
    """An order as it stands today."""
    use = judge.farm.uses[order.use]
    dry = judge.was_dry and judge.put_in_water is None
    verdict = order.verdict
    if order.ok and dry and now + judge.hours(use, order.leaves) > order.leaves:
        verdict = Verdict.TOO_LATE
    by_practice = not judge.cautious and judge.readings == (PRACTICE,)
    beyond_early = by_practice and (early is None or order.leaves > early)
    to_test = order.verdict is Verdict.STRETCHED or beyond_early or _stays_long(judge, use, order.leaves)
    test_first = verdict in (Verdict.USABLE, Verdict.STRETCHED) and to_test
    return OrderDates(
        leaves=order.leaves,
        stems=order.stems,
        use=order.use,
        verdict=verdict,
        test_first=test_first,
        test_on=_test_day(judge, order.leaves) if test_first else None,
        into_water_by=judge.into_water_by(order.leaves, use) if dry else None,
        stand_warm_from=judge.stand_warm_from(order.leaves, use),
    )


def _stays_long(judge: Judge, use: Use, departure: datetime) -> bool:
    """Whether a stay is so long that a bunch should be tried before it is promised."""
    stay = (departure.date() - judge.lot.cut.date()).days
    if use.vase_days >= LONG_STAY_PROMISE and stay > LONG_STAY_DAYS:
        return True
    return judge.lot.surface is Surface.DRIED and stay > DRIED_STAY_DAYS


def _rest_to_sell(lot: Lot, to_serve: Sequence[OrderDates]) -> bool:
    """Whether stems remain that no order takes, so that the sell-by is what they are kept for."""
    if any(order.stems is None for order in to_serve):
        return False
    return lot.left is None or lot.left > sum(order.stems or 0 for order in to_serve)


def _test_day(judge: Judge, departure: datetime) -> date:
    """The workday six days before a departure, never before the first workday after the cut."""
    workday = judge.farm.workday
    day = workday_on_or_before(workday, departure.date() - TEST_DAYS_BEFORE * DAY)
    first = workday_after(workday, judge.lot.cut.date())
    return max(day or departure.date(), first or departure.date())


def _ready_from(judge: Judge, use: Use, departure: datetime, now: datetime | None) -> datetime | None:
    """Since when stems are ready that were put in water, or would be if put in now.

    Flowers that are to be open are not ready before they have stood warm for their hours.
    """
    start = judge.put_in_water or now
    if start is None:
        return None
    ready = start + judge.hours(use, departure)
    warm = judge.stand_warm_from(departure, use)
    if judge.put_in_water is not None and warm is not None:
        ready = max(ready, warm + timedelta(hours=judge.opening_hours(use, departure)))
    return quarter_after(ready)


def _state(judge: Judge, sell_by: datetime, to_serve: Sequence[OrderDates], now: datetime) -> State:
    """Where a lot stands: a usable order still to come keeps it from being past."""
    if now.date() > sell_by.date() and not to_serve:
        return State.TOO_OLD
    if any(order.stems is None for order in to_serve):
        return State.KEEP
    late = judge.late_since(now) is not None
    return State.SELL_FIRST if late or sell_by - now <= DAY else State.KEEP


def _why(judge: Judge, choice: Choice) -> notes.WhySellBy:
    """What decided a sell-by: the first thing that stops the moment after it."""
    if choice.order is not None and choice.moment == choice.order.leaves:
        limit: Limit | None = Limit.ORDER
    else:
        following = next_selling_moment(choice.use, choice.moment)
        limit = judge.shortfall(following, choice.use) if following else None
        if limit is None or (choice.bound and choice.otherwise and choice.otherwise > choice.moment):
            limit = Limit.ORDER if choice.bound else limit
    return replace(
        remarks.why_sell_by(judge, choice.moment, limit, choice.at_close),
        order=choice.order.leaves if choice.order and limit is Limit.ORDER else None,
        otherwise=choice.otherwise if choice.otherwise and choice.otherwise > choice.moment else None,
        stretched=choice.order is not None and choice.order.verdict is Verdict.STRETCHED,
    )
