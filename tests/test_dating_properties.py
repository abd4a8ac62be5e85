"""What holds for every lot, whatever is in its row."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime, time, timedelta
from typing import Any

from hypothesis import given
from hypothesis import strategies as st

from tagmaker.farm import Cooler, Farm
from tagmaker.lot import Lot, Stage, State, StorageCode, Surface, Verdict
from tagmaker.storage.ageing import Stay, TemperatureHistory, constant, follow
from tagmaker.storage.dating import choose_keeping, date_lot, date_lots
from tests.farms import CROPS, NOW, USES, make_farm, make_lot, order

CUT_DAYS = st.dates(datetime(2027, 3, 1).date(), datetime(2027, 3, 23).date())
HOURS = st.builds(time, st.integers(6, 20), st.integers(0, 59))


@st.composite
def lots(draw: st.DrawFn, orders: bool = True) -> Lot:
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
        "use": draw(st.sampled_from(sorted(USES))),
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


@given(lots(orders=False), st.floats(0, 20), st.floats(0, 10))
def test_warmer_is_never_later(lot: Lot, celsius: float, more: float) -> None:
    """At a fixed code a warmer cooler never gives a later sell-by."""
    cold, warm = (date_lot(lot, farm_at(t), CROPS, NOW).sell_by for t in (celsius, celsius + more))
    assert warm is None or (cold is not None and warm <= cold)


@given(
    st.floats(0, 40),
    st.floats(0, 20),
    st.floats(0.5, 12),
    st.lists(st.integers(0, 60_000), min_size=2, max_size=6),
)
def test_life_used_adds_over_split_intervals_and_never_falls(
    field: float, cooler: float, half: float, minutes: list[int]
) -> None:
    """The days aged by each moment are the sum over the stretches before it, and only ever grow."""
    cut = datetime(2027, 3, 1, 8)
    stays = [Stay(cut, constant(field)), Stay(cut + timedelta(hours=2), constant(cooler))]
    history = follow(stays, half, cut + timedelta(days=60))
    moments = [cut + timedelta(minutes=at) for at in sorted(minutes)]
    aged = [history.aged_days(moment) for moment in moments]
    assert aged == sorted(aged)
    for moment, total in zip(moments, aged, strict=True):
        later = [replace_start(history, moment).aged_days(after) for after in moments if after >= moment]
        whole = [history.aged_days(after) for after in moments if after >= moment]
        assert all(abs(total + rest - all_) < 1e-9 for rest, all_ in zip(later, whole, strict=True))


def replace_start(history: TemperatureHistory, start: datetime) -> TemperatureHistory:
    """The rest of a history from a moment on."""
    spells = [spell for spell in history.spells[:-1] if spell.end > start]
    rest = [*spells, history.spells[-1]]
    return TemperatureHistory([replace(rest[0], start=start), *rest[1:]])


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


@given(lots(), st.integers(0, 60 * 24), st.integers(0, 300))
def test_code_and_sell_by_stay_as_the_clock_moves_and_stems_leave(lot: Lot, hours: int, gone: int) -> None:
    """Later, with stems gone and another row beside it, a lot has the same code and sell-by."""
    now = date_lot(lot, make_farm(), CROPS, NOW)
    other = make_lot(lot_code="099", orders=(order(NOW + timedelta(days=3)),))
    later = date_lots([other, replace(lot, gone=gone)], make_farm(), CROPS, NOW + timedelta(hours=hours))[1]
    assert (later.code, later.sell_by, later.early, later.late) == (
        now.code,
        now.sell_by,
        now.early,
        now.late,
    )


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


@given(lots(), st.integers(0, 8))
def test_putting_a_lot_in_water_when_its_tag_says_so_never_makes_it_past(lot: Lot, hours: int) -> None:
    """Obeying the tag keeps the lot usable until the departure that the tag is for."""
    tag = date_lot(lot, make_farm(), CROPS, lot.cut)
    if tag.into_water_by is None or tag.sell_by is None or tag.into_water_by < lot.cut:
        return
    departure = tag.tag_order.leaves if tag.tag_order else tag.sell_by
    soaking = replace(lot, in_water=tag.into_water_by)
    now = min(tag.into_water_by + timedelta(hours=hours), departure)
    after = date_lot(soaking, make_farm(), CROPS, now)
    assert after.sell_by is not None
    assert after.sell_by >= departure
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
    """early ≤ sell by ≤ late, and the cautious date is not after the sell-by."""
    dates = date_lot(lot, make_farm(), CROPS, NOW)
    if dates.sell_by is None:
        assert (dates.early, dates.late, dates.cautious_sell_by) == (None, None, None)
        return
    assert dates.early is None or dates.early <= dates.sell_by
    assert dates.late is None or dates.late >= dates.sell_by
    assert dates.cautious_sell_by is None or dates.cautious_sell_by <= dates.sell_by
