"""What holds for every lot, whatever is in its row."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime, time, timedelta
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tagmaker.farm import Cooler, Farm, Workday
from tagmaker.lot import Lot, Move, Stage, State, StorageCode, StorageDates, Surface, Verdict
from tagmaker.storage.ageing import rate
from tagmaker.storage.air import Air, read_air
from tagmaker.storage.cooling import Stay, follow
from tagmaker.storage.dating import choose_keeping, date_lot, date_lots
from tagmaker.storage.history import History, constant, hours
from tagmaker.storage.readings import Readings
from tests.farms import COOLERS, CROPS, NOW, USES, make_farm, make_lot, order

CUT_DAYS = st.dates(datetime(2027, 3, 1).date(), datetime(2027, 3, 23).date())
HOURS = st.builds(time, st.integers(6, 20), st.integers(0, 59))


@st.composite
def lots(draw: st.DrawFn, orders: bool = True, opened: bool = True) -> Lot:
    """Any lot that the sheet can give: any crop, form, way, stage, use, and orders of it."""
    crop = draw(st.sampled_from(CROPS.crops))
    form = draw(st.sampled_from(CROPS.forms(crop) or ("",)))
    codes = [way.code for way in CROPS.ways(crop, form)]
    cut = datetime.combine(draw(CUT_DAYS), draw(HOURS))
    cut = min(cut, NOW)
    values: dict[str, Any] = {
        "crop": crop,
        "form": form,
        "cut": cut,
        "stage": draw(st.sampled_from([None, *Stage])),
        "bulb": draw(st.booleans()) if StorageCode.BULB in codes else None,
        "use": draw(st.sampled_from(sorted(USES) if opened else ["event", "shop", "stall"])),
        "field_c": draw(st.floats(0, 35)),
        "surface": draw(st.sampled_from([Surface.DRY, Surface.DRIED])),
        "in_cooler": cut + timedelta(hours=draw(st.integers(0, 12))),
    }
    ways = [code for code in codes if code is not StorageCode.BULB]
    if not values["bulb"]:
        values["storage"] = draw(st.sampled_from([None, *ways]))
    if orders:
        wanted = draw(st.lists(st.tuples(st.integers(1, 45), st.sampled_from([None, 20, 100])), max_size=3))
        values["orders"] = tuple(
            order(
                datetime.combine(cut.date() + timedelta(days=days), USES[values["use"]].leaves),
                stems,
                values["use"],
            )
            for days, stems in sorted(wanted, key=lambda pair: pair[0])
        )
    return make_lot(**values)


def farm_at(celsius: float) -> Farm:
    """A farm whose trusted cooler holds a temperature."""
    return make_farm(coolers={"barn": Cooler(name="barn", set_point_c=celsius, trusted=True)})


def trip(day: int, length: int, t_c: float) -> tuple[Move, ...]:
    """Some hours outside at a temperature, from the morning of a day after the cut."""
    start = datetime(2027, 3, 24, 6) + timedelta(days=day)
    away = Move(since=start, place="out", temperature_c=t_c)
    return (away, Move(since=start + timedelta(hours=length), place="barn"))


def never_later(cold: StorageDates, warm: StorageDates) -> bool:
    """Whether the warmer of two neither sells nor keeps longer."""
    pairs = ((cold.sell_by, warm.sell_by), (cold.keeps_until, warm.keeps_until))
    return all(late is None or (early is not None and late <= early) for early, late in pairs)


@given(lots(orders=False, opened=False), st.floats(0, 38), st.floats(0, 20), st.floats(0, 38), st.data())
def test_warmer_is_never_later(
    lot: Lot, field: float, cooler: float, out: float, data: st.DataObject
) -> None:
    """In the field, in the cooler and out alike a warmer lot of the same code never has a later date."""
    more = data.draw(st.sampled_from([(1, 0, 0), (0, 1, 0), (0, 0, 1)]))
    by = data.draw(st.floats(0, 2))
    moves = trip(data.draw(st.integers(0, 3)), data.draw(st.integers(1, 30)), out)
    code = choose_keeping(lot, CROPS).code
    kept = replace(lot, field_c=field, moves=moves, storage=None if lot.bulb else code)
    warmer = replace(
        kept,
        field_c=field + by * more[0],
        moves=(replace(moves[0], temperature_c=out + by * more[2]), moves[1]),
    )
    cold = date_lot(kept, farm_at(cooler), CROPS, NOW)
    assert never_later(cold, date_lot(warmer, farm_at(cooler + by * more[1]), CROPS, NOW))


@given(lots(orders=False), st.floats(-1.6, 0))
def test_freezing_never_lengthens(lot: Lot, below: float) -> None:
    """A cooler below freezing gives no later date than one at 0 °C."""
    assert never_later(date_lot(lot, farm_at(0.0), CROPS, NOW), date_lot(lot, farm_at(below), CROPS, NOW))


@pytest.mark.slow
@given(st.integers(3, 30), st.integers(0, 23), st.integers(1, 24), st.floats(10, 30))
def test_one_event_is_charged_once(days: int, hour: int, length: int, t_c: float) -> None:
    """A warm stretch adds the same life used in a log of three days and in one of thirty."""
    start, now = datetime(2027, 3, 20, 12), datetime(2027, 3, 23, 12)
    warm = datetime(2027, 3, 21, hour)
    added = []
    for read in (3, days):
        moments = tuple(now - timedelta(minutes=30 * n) for n in reversed(range(48 * read + 1)))
        hot = tuple(t_c if warm <= m < warm + timedelta(hours=length) else 3.0 for m in moments)
        lot = make_lot(crop="narcissus", cut=start, in_cooler=start + timedelta(hours=2))
        used = [
            date_lot(lot, make_farm(), CROPS, now, {"barn": aired(moments, kept)}).life_used
            for kept in ((3.0,) * len(moments), hot)
        ]
        added.append(used[1] - used[0])
    assert abs(added[0] - added[1]) < 1e-9


def aired(moments: tuple[datetime, ...], t_c: tuple[float, ...]) -> Air:
    """The air of a cooler that was read."""
    cooler = Cooler(name="barn", set_point_c=3.0)
    return read_air(cooler, Readings(cooler="barn", moments=moments, t_c=t_c))


@given(
    st.floats(0, 40),
    st.floats(0, 20),
    st.floats(0.5, 12),
    st.lists(st.integers(0, 60_000), min_size=2, max_size=6),
)
def test_life_used_adds_over_split_intervals_and_never_falls(
    field: float, cooler: float, half: float, minutes: list[int]
) -> None:
    """The hours aged by each moment are the sum over the stretches before it, and only ever grow."""
    cut = datetime(2027, 3, 1, 8)
    stays = [Stay(cut, constant(field)), Stay(cut + timedelta(hours=2), constant(cooler))]
    history = follow(stays, half)
    moments = [hours(cut) + at / 60 for at in sorted(minutes)]
    aged = [history.aged_hours(rate, moment) for moment in moments]
    assert aged == sorted(aged)
    for moment, total in zip(moments, aged, strict=True):
        assert abs(_added_up(history, moment) - total) < 1e-6


def _added_up(history: History, until: float) -> float:
    """Hours aged until a moment [h], piece by piece."""
    return sum(
        (min(piece.end, until) - piece.start) * rate(piece.t_c)
        for piece in history.pieces()
        if piece.start < until
    )


@given(lots(orders=False))
def test_bulb_on_is_never_shorter_than_off(lot: Lot) -> None:
    """The same tulips with the bulb on sell by no earlier date than with it off."""
    tulip = replace(lot, crop="tulip", form=lot.form or "single", storage=None)
    on = date_lot(replace(tulip, bulb=True), make_farm(), CROPS, NOW).sell_by
    off = date_lot(replace(tulip, bulb=False, storage=StorageCode.DRY), make_farm(), CROPS, NOW).sell_by
    assert off is None or (on is not None and on >= off)


@given(lots())
def test_sell_by_is_neither_before_the_cut_nor_past_the_cap(lot: Lot) -> None:
    """Only an order that was stretched may pass the cap."""
    dates = date_lot(lot, make_farm(), CROPS, NOW)
    if dates.sell_by is None:
        return
    assert dates.sell_by >= lot.cut
    stretched = any(
        found.verdict is Verdict.STRETCHED and found.leaves == dates.sell_by for found in dates.orders
    )
    past = [o for o in lot.orders if o.stems is None and o.leaves == dates.sell_by and o.leaves < NOW]
    if not stretched and not past:
        assert (dates.sell_by.date() - lot.cut.date()).days <= choose_keeping(lot, CROPS).cap_days


@given(lots(orders=False), st.integers(0, 60 * 24), st.integers(0, 300))
def test_code_and_dates_stay_as_the_clock_moves_and_stems_leave(lot: Lot, ahead: int, gone: int) -> None:
    """Later, with stems gone and another row beside it, a lot has the same code and dates."""
    now = date_lot(lot, make_farm(), CROPS, NOW)
    other = make_lot(lot_code="099", orders=(order(NOW + timedelta(days=3)),))
    later = date_lots([other, replace(lot, gone=gone)], make_farm(), CROPS, NOW + timedelta(hours=ahead))[1]
    assert later.code == now.code
    assert (later.sell_by, later.keeps_until) == (now.sell_by, now.keeps_until)
    assert (later.early, later.late) == (now.early, now.late)


FORWARD = (State.KEEP, State.SELL_FIRST, State.SELL_ELSEWHERE, State.TOO_OLD)


@given(lots(orders=False), st.lists(st.integers(0, 60 * 24), min_size=2, max_size=5))
def test_state_only_moves_forward_as_the_clock_moves(lot: Lot, ahead: list[int]) -> None:
    """Keep, sell first, sell elsewhere, too old: in this order as time goes on, or no date for good."""
    states = [
        date_lot(lot, make_farm(), CROPS, NOW + timedelta(hours=hours_on)).state for hours_on in sorted(ahead)
    ]
    if State.NO_DATE in states:
        assert set(states) == {State.NO_DATE}
    else:
        assert states == sorted(states, key=FORWARD.index)


@given(lots(orders=False), st.integers(0, 59), st.integers(0, 59))
def test_minutes_of_the_cut_never_change_a_limit_counted_in_days(lot: Lot, one: int, other: int) -> None:
    """In a cooler that ages nothing within the limits of days, the minute of the cut is no matter."""
    still = replace(lot, cut=datetime(2027, 3, 22, 9), field_c=0.0, stage=Stage.OPEN)
    cuts = [
        replace(still, cut=still.cut.replace(minute=m), in_cooler=datetime(2027, 3, 22, 12))
        for m in (one, other)
    ]
    late = [date_lot(cut, farm_at(0.0), CROPS, NOW).sell_by for cut in cuts]
    assert late[0] == late[1]


OFF = st.frozensets(st.integers(0, 6), max_size=3)


@pytest.mark.slow
@given(lots(), st.integers(0, 8), OFF, st.booleans())
def test_obeying_a_tag_never_makes_a_lot_too_old_before_its_departure(
    lot: Lot, late: int, days_off: frozenset[int], inside: bool
) -> None:
    """Put in water when its tag says so, whatever days are off and wherever it soaks, a lot stays usable."""
    coolers = {"barn": replace(COOLERS["barn"], soak_inside=inside)}
    farm = make_farm(workday=Workday(days_off=days_off), coolers=coolers)
    tag = date_lot(lot, farm, CROPS, lot.cut)
    if tag.into_water_by is None or tag.sell_by is None:
        return
    departure = tag.tag_order.leaves if tag.tag_order else tag.sell_by
    stretched = tag.tag_order is not None and tag.tag_order.verdict is Verdict.STRETCHED
    soaking = replace(lot, in_water=tag.into_water_by)
    now = min(tag.into_water_by + timedelta(hours=late), departure)
    after = date_lot(soaking, farm, CROPS, now)
    assert after.sell_by is not None
    assert after.sell_by >= departure or stretched
    assert after.state is not State.TOO_OLD


@given(lots())
def test_into_water_by_is_inside_the_workday_and_leaves_the_hours(lot: Lot) -> None:
    """Every into-water-by is a quarter hour of bench time, at least six hours before its departure."""
    farm = make_farm()
    dates = date_lot(lot, farm, CROPS, NOW)
    departure = dates.tag_order.leaves if dates.tag_order else dates.sell_by
    pairs = [(found.into_water_by, found.leaves) for found in dates.orders]
    for into_water, leaves in [*pairs, (dates.into_water_by, departure)]:
        if into_water is None or leaves is None:
            continue
        assert not farm.workday.is_off(into_water.date())
        assert farm.workday.start(into_water.date()) <= into_water <= farm.workday.end(into_water.date())
        assert into_water.minute % 15 == 0
        hours = max(choose_keeping(lot, CROPS).water_hours, 6.0)
        assert leaves - into_water >= timedelta(hours=hours)


@given(lots())
def test_no_code_bulb_without_a_bulb(lot: Lot) -> None:
    """BULB is printed for stems that have one, and for no others."""
    assert (date_lot(lot, make_farm(), CROPS, NOW).code is StorageCode.BULB) == bool(lot.bulb)


@given(lots())
def test_early_and_late_enclose_the_sell_by_and_cautious_is_never_later(lot: Lot) -> None:
    """early ≤ sell by ≤ late, sell by ≤ keeps until, and the cautious date is not after the sell-by."""
    dates = date_lot(lot, make_farm(), CROPS, NOW)
    if dates.sell_by is not None:
        assert dates.keeps_until is not None
        assert dates.sell_by <= dates.keeps_until
    if dates.sell_by is None:
        assert (dates.early, dates.late, dates.cautious_sell_by) == (None, None, None)
        return
    assert dates.early is None or dates.early <= dates.sell_by
    assert dates.late is None or dates.late >= dates.sell_by
    assert dates.cautious_sell_by is None or dates.cautious_sell_by <= dates.sell_by
