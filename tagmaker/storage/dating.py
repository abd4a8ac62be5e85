"""The dates of a lot: storage code, sell by, into water by, orders, and why each is what it is.

The storage code comes from the row alone and the clock moves a sell-by in one case only; *now* decides
the state, what is overdue and which orders are still to come.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import datetime, timedelta

from tagmaker import notes
from tagmaker.farm import Farm, Use
from tagmaker.lot import (
    Lot,
    Mark,
    NoDate,
    OrderDates,
    Stage,
    State,
    StorageCode,
    StorageDates,
)
from tagmaker.notes import Note
from tagmaker.storage import remarks
from tagmaker.storage.air import Airs, assumed_airs
from tagmaker.storage.basis import Basis, View, view_of_way
from tagmaker.storage.buds import Buds, buds_at
from tagmaker.storage.choosing import Choice, cautious_sell_by, choose_sell_by, kept_until, shown_band
from tagmaker.storage.crops import CropTable, Keeping
from tagmaker.storage.frost import frozen_on, hottest_c, low_by_hand, set_too_cold
from tagmaker.storage.judging import Judge
from tagmaker.storage.leftovers import of_several
from tagmaker.storage.looking import bad_since, look_at_test_on, mould_day, order_test, stay_test
from tagmaker.storage.moments import quarter_after
from tagmaker.storage.orders import JudgedOrder, judge_orders, whole_lot_orders
from tagmaker.storage.outlets import (
    at_end_of_cut_day,
    outlets_from,
    state_of,
    takes_all,
    water_for,
    watered_until,
    would_have_done,
)
from tagmaker.storage.warmth import HALF_COLOURED, TOO_OPEN, opening_of
from tagmaker.storage.whereabouts import cooler_at, waits_to_dry


def date_lots(
    lots: Sequence[Lot], farm: Farm, crops: CropTable, now: datetime, airs: Airs | None = None
) -> tuple[StorageDates, ...]:
    """The dates of every lot that has been cut, in the order given; planned lots are left out."""
    known = assumed_airs(farm) if airs is None else airs  # one for all, so that sums are added up once
    return tuple(date_lot(lot, farm, crops, now, known) for lot in lots if not lot.planned)


def date_lot(lot: Lot, farm: Farm, crops: CropTable, now: datetime, airs: Airs | None = None) -> StorageDates:
    """The dates of one lot that has been cut.

    A lot of several parents is dated as the child of each alone: see `leftovers`.

    Args:
        lot: the row; its crop, form and way are in the table.
        farm: hours, uses and coolers.
        crops: the crop table.
        now: local time of the farm.
        airs: the air of every cooler; None: nothing was read in any.
    """
    if not lot.alone:
        return _date(view_of(lot, farm, crops, now, airs), now)
    views = [view_of(child, farm, crops, now, airs) for child in lot.alone]
    return of_several(lot, [(view, _date(view, now)) for view in views], now)


def sell_by_of(
    lot: Lot, farm: Farm, crops: CropTable, now: datetime, airs: Airs | None = None
) -> datetime | None:
    """The sell by alone of a lot that has been cut; None: it has none. Args as of `date_lot`."""
    if lot.alone:
        return date_lot(lot, farm, crops, now, airs).sell_by
    view = view_of(lot, farm, crops, now, airs)
    reason, _ = _no_date(view.judge, now)
    choice = None if reason else _choice(view, judge_orders(view, now), now)
    return None if choice is None else choice.moment


def choose_keeping(lot: Lot, crops: CropTable) -> Keeping:
    """How a lot is kept, from its row alone.

    Bulb on: BULB. Else what the grower chose; else WATER for a cut that is too open, where the crop has
    that way; else the first way of the crop's row.
    """
    ways = {way.code: way for way in crops.ways(lot.crop, lot.form)}
    first = next(iter(ways.values()))
    if lot.bulb:
        return ways[StorageCode.BULB]
    if lot.storage is not None:
        return ways[lot.storage]
    seen = next((test.found for test in lot.tested if isinstance(test.found, Stage)), None)
    stage = lot.stage if lot.stage is not None else seen
    too_open = opening_of(stage, first.right_stage) >= TOO_OPEN
    return ways.get(StorageCode.WATER, first) if too_open else first


def view_of(lot: Lot, farm: Farm, crops: CropTable, now: datetime, airs: Airs | None = None) -> View:
    """The stems of a lot, ready to be asked, on the basis that its sell by and orders go by."""
    airs = assumed_airs(farm) if airs is None else airs
    water = crops.keeping(lot.crop, lot.form, StorageCode.WATER)
    return view_of_way(lot, farm, airs, choose_keeping(lot, crops), water, now)


def _date(view: View, now: datetime) -> StorageDates:
    """The dates of a lot of one parent, or of none."""
    judge = view.judge
    buds = buds_at(judge, now)
    reason, why = _no_date(judge, now)
    if reason is not None and why is not None:
        return _without_date(view, buds, now, reason, why)
    orders = judge_orders(view, now)
    choice = _choice(view, orders, now)
    if choice is None:
        return _undated(view, buds, orders, now)
    return _dated(view, buds, choice, orders, now)


def _choice(view: View, orders: Sequence[JudgedOrder], now: datetime) -> Choice | None:
    use = view.judge.farm.uses[view.judge.lot.use]
    return choose_sell_by(view, use, whole_lot_orders(orders, view.judge.is_dry, now))


def _no_date(judge: Judge, now: datetime) -> tuple[NoDate | None, Note | None]:
    """Why a lot can have no date, whatever it would be."""
    lot, farm, airs, keeping = judge.lot, judge.farm, judge.airs, judge.keeping
    if waits_to_dry(lot):
        return NoDate.WET, notes.WhyWet(lot=lot.lot_code)
    cooler = set_too_cold(lot, farm, airs, keeping, now)
    if cooler is not None:
        set_c = farm.coolers[cooler].set_point_c
        why = notes.WhySetTooCold(
            cooler=cooler, title=keeping.title, set_c=set_c or 0.0, freezes_c=keeping.freezes_c
        )
        return NoDate.SET_POINT, why
    frozen = frozen_on(lot, farm, airs, keeping, now)
    if frozen is not None:
        return NoDate.FROST, notes.WhyFrozen(title=keeping.title, on=frozen, freezes_c=keeping.freezes_c)
    hot_c = hottest_c(lot, farm, airs, now)
    if hot_c is not None:
        return NoDate.HEAT, notes.WhyHot(hot_c=hot_c)
    return None, None


def _dated(
    view: View, buds: Buds, choice: Choice, judged: Sequence[JudgedOrder], now: datetime
) -> StorageDates:
    """All dates of a lot that has a sell-by."""
    judge, lot = view.judge, view.judge.lot
    use = judge.farm.uses[lot.use]
    careful = view.basis is Basis.CAUTIOUS
    band = None if careful else view.band(use)
    early, late = (None, None) if band is None else shown_band(judge, use, choice.moment, band)
    orders = tuple(
        _order_dates(view, order, band.early if band else None) for order in judged if order.is_listed(now)
    )
    to_serve = [order for order in orders if order.ok]
    keeps_until = kept_until(view, choice)
    state = state_of(view, choice, keeps_until, to_serve, now, buds.opening >= TOO_OPEN)
    tag_order = next((order for order in to_serve if order.stems is None), None)
    departure = tag_order.leaves if tag_order else choice.moment
    leaving_for = judge.farm.uses[tag_order.use] if tag_order else choice.use
    into_water_by = judge.into_water_by(departure, leaving_for) if judge.is_dry else None
    in_time = state in (State.KEEP, State.SELL_FIRST)
    water_now = into_water_by is not None and into_water_by < now and in_time
    tests = [(order.leaves, order.test_on) for order in to_serve if order.test_on is not None]
    stay = None if orders else stay_test(view, choice)
    if stay is not None:
        tests.append((choice.moment, stay))
    tests_on = tuple(sorted({day for _, day in tests}))
    middle = judge.vase_days(choice.moment, choice.use)
    elsewhere = outlets_from([view], keeps_until, now) if state is State.SELL_ELSEWHERE else ()
    bare = _bare(view, buds, now, remarks.why_sell_by(view, choice))
    return replace(
        bare,
        state=state,
        keeps_until=keeps_until,
        sell_by=choice.moment,
        sell_by_use=choice.use.name if choice.other_use else None,
        elsewhere=elsewhere,
        elsewhere_water=water_for([view], elsewhere),
        marks=_marks(view, buds, bool(tests_on), water_now),
        into_water_by=into_water_by,
        water_now=water_now,
        watered_until=watered_until([view], into_water_by, state, now),
        ready_from=_ready_from(judge, leaving_for, departure, now if water_now else None),
        stand_warm_from=judge.stand_warm_from(departure, leaving_for) if judge.is_dry else None,
        out_by=None if judge.is_dry else judge.stand_warm_from(departure, leaving_for),
        at_close=choice.at_close,
        tag_order=tag_order,
        test_first=bool(tests_on),
        tests_on=tests_on,
        mould_on=mould_day(view, departure),
        vase_days=(max(middle - 1, 0.0), max(middle + 1, 0.0)),
        early=early,
        late=late,
        early_hour=band.early if band else None,
        cautious_sell_by=choice.moment if careful else cautious_sell_by(view, choice.moment, now),
        orders=orders,
        why_into_water=remarks.why_into_water(judge, departure, leaving_for) if into_water_by else None,
        warnings=(
            *remarks.warnings(view, choice, judged, bare, orders, now),
            *remarks.about_tests(judge, tests, now),
        ),
    )


def _marks(view: View, buds: Buds, test: bool, water_now: bool) -> tuple[Mark, ...]:
    """The words beside the dates, the gravest first."""
    marks = {
        Mark.TOO_OPEN: buds.opening >= TOO_OPEN,
        Mark.HALF_COLOURED: HALF_COLOURED <= buds.opening < TOO_OPEN,
        Mark.HOW_OPEN: view.judge.stems.stage is None,
        Mark.TEST_A_BUNCH: test,
        Mark.PUT_IN_WATER_NOW: water_now,
    }
    return tuple(mark for mark, holds in marks.items() if holds)


def _bare(view: View, buds: Buds, now: datetime, why: Note) -> StorageDates:
    """What is known of a lot before it has any date."""
    judge, lot = view.judge, view.judge.lot
    air = judge.airs[cooler_at(lot, judge.farm, now).name]
    return StorageDates(
        lot=lot,
        code=judge.keeping.code if judge.put_in_water is None else StorageCode.WATER,
        kept=judge.keeping.code,
        state=State.NO_DATE,
        sell_by=None,
        low_by_hand=low_by_hand(lot, judge.farm, judge.airs, judge.keeping, now),
        bad_since=bad_since(lot, now),
        marks=_marks(view, buds, False, False),
        opening=buds.opening,
        half_coloured_from=buds.half_coloured_from,
        too_open_from=buds.too_open_from,
        look_at_buds=buds.unseen,
        look_at_test_on=look_at_test_on(lot),
        into_water_by=None,
        water_now=False,
        ready_from=None,
        stand_warm_from=None,
        out_by=None,
        tag_order=None,
        test_first=False,
        tests_on=(),
        life_used=buds.aged_days / judge.keeping.life_days,
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


def _without_date(view: View, buds: Buds, now: datetime, reason: NoDate, why: Note) -> StorageDates:
    """A lot that must not be given a date: nothing is promised from it."""
    bare = _bare(view, buds, now, why)
    frost = reason in (NoDate.FROST, NoDate.SET_POINT)
    return replace(
        bare,
        no_date=reason,
        frost=why.on if isinstance(why, notes.WhyFrozen) else None,
        marks=((Mark.FROST, *bare.marks) if frost else bare.marks),
        warnings=remarks.warnings(view, None, (), bare, (), now),
    )


def _undated(view: View, buds: Buds, judged: Sequence[JudgedOrder], now: datetime) -> StorageDates:
    """A lot of which nothing will do any more but an order, or a departure of an open use."""
    orders = tuple(_order_dates(view, order, None) for order in judged if order.is_listed(now))
    to_serve = [order for order in orders if order.ok]
    elsewhere = outlets_from([view], None, now)
    no_date = None
    if to_serve or elsewhere:
        state = State.KEEP if takes_all(view.judge.lot.left, to_serve) else State.SELL_ELSEWHERE
    elif would_have_done(view, at_end_of_cut_day(view), now):
        state = State.TOO_OLD
    else:
        state, no_date = State.NO_DATE, NoDate.NOTHING
    bare = _bare(view, buds, now, remarks.why_undated(view))
    return replace(
        bare,
        state=State.TOO_OLD if bare.bad_since is not None else state,
        no_date=no_date,
        elsewhere=elsewhere if state is State.SELL_ELSEWHERE else (),
        elsewhere_water=water_for([view], elsewhere) if state is State.SELL_ELSEWHERE else {},
        orders=orders,
        ready_from=_ready_from(view.judge, view.judge.farm.uses[view.judge.lot.use], now, None),
        warnings=remarks.warnings(view, None, judged, bare, orders, now),
    )


def _order_dates(view: View, order: JudgedOrder, early: datetime | None) -> OrderDates:
    """An order as it stands today."""
    judge = view.judge
    use = judge.farm.uses[order.use]
    test_on = order_test(view, order, early) if order.ok else None
    tell_water = judge.is_dry and order.would_do
    return OrderDates(
        leaves=order.leaves,
        stems=order.stems,
        use=order.use,
        verdict=order.verdict,
        test_first=test_on is not None,
        test_on=test_on,
        into_water_by=judge.into_water_by(order.leaves, use) if tell_water else None,
        stand_warm_from=judge.stand_warm_from(order.leaves, use),
    )


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
