"""Every rule of the dates and the storage code, each with a test named after it."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, datetime, time, timedelta
from typing import Any

import pytest

from tagmaker.farm import Cooler, Use, Workday
from tagmaker.lot import Move, Stage, State, StorageCode, StorageDates, Surface, Verdict
from tagmaker.storage.ageing import HOLD_C
from tagmaker.storage.air import counted_c
from tagmaker.storage.dating import judges
from tests.farms import COOLERS, CROPS, CUT, NOW, USES, celsius, dated, make_farm, make_lot, order, trusted_at

DAY = timedelta(days=1)


def at(day: int, hour: int = 8, minute: int = 0, month: int = 4) -> datetime:
    """A moment in spring 2027."""
    return datetime(2027, month, day, hour, minute)


def kinds(dates: StorageDates) -> set[str]:
    """Kinds of a lot's warnings."""
    return {note.macro() for note in dates.warnings}


def stay(dates: StorageDates) -> int:
    """Calendar days from the cut to the sell-by."""
    assert dates.sell_by is not None
    return (dates.sell_by.date() - dates.lot.cut.date()).days


# Storage code


def test_storage_code_is_bulb_when_the_bulb_is_on() -> None:
    """A bulb that is on decides the code before anything else."""
    assert dated(bulb=True, stage=Stage.COLOURED).code is StorageCode.BULB


def test_storage_code_is_what_the_grower_wrote() -> None:
    """A filled storage cell decides, for a late stage too."""
    assert dated(storage=StorageCode.DRY, stage=Stage.COLOURED).code is StorageCode.DRY
    assert dated(storage=StorageCode.WATER).code is StorageCode.WATER


def test_storage_code_of_a_late_stage_is_water_where_the_crop_has_it() -> None:
    """A fully coloured tulip stands in water; a peony has no such way and stays dry."""
    assert dated(stage=Stage.COLOURED).code is StorageCode.WATER
    assert dated(crop="peony", stage=Stage.OPEN).code is StorageCode.DRY


def test_storage_code_is_the_first_way_of_the_crop() -> None:
    """Tulips are kept dry and dahlias in water unless the row says otherwise."""
    assert dated().code is StorageCode.DRY
    assert dated(crop="dahlia", stage=Stage.OPEN).code is StorageCode.WATER


def test_storage_code_is_water_once_in_water_and_the_way_goes_on_counting() -> None:
    """A dry lot put in water stands in water, and is still counted as dry."""
    dates = dated(in_water=NOW)
    assert (dates.code, dates.kept) == (StorageCode.WATER, StorageCode.DRY)
    assert dates.life_used == dated().life_used


def test_storage_code_never_follows_orders() -> None:
    """An order for tomorrow leaves a dry lot DRY, with advice on the day of the cut."""
    dates = dated(now=CUT, orders=(order(at(24, month=3)),))
    assert dates.code is StorageCode.DRY
    assert "put_in_water" in kinds(dates)


# Stage


def test_stage_earlier_than_right_is_warned_and_dated_as_usual() -> None:
    """A green tulip may not open, and keeps as long as a tight one."""
    assert "stage_early" in kinds(dated(stage=Stage.GREEN))
    assert dated(stage=Stage.GREEN).sell_by == dated().sell_by


def test_stage_later_than_right_leaves_within_two_days_of_the_cut() -> None:
    """A coloured tulip leaves on the second day after the cut at the latest."""
    assert dated(stage=Stage.COLOURED).sell_by == at(24, month=3)
    assert "stage_late" in kinds(dated(stage=Stage.COLOURED))


def test_stage_later_than_right_has_a_vase_day_less_and_no_opening_hours() -> None:
    """A late peony is not stood warm, and has one vase day less at the same use of life."""
    late = dated(crop="peony", stage=Stage.OPEN, use="table")
    assert late.stand_warm_from is None
    assert late.vase_days is not None
    assert late.vase_days[1] == pytest.approx(6 - 1 + 1, abs=0.05)  # next to no life used by then


def test_stage_of_a_dahlia_cut_open_is_right() -> None:
    """A dahlia is cut open, so open is not late (common practice, no source)."""
    assert kinds(dated(crop="dahlia", stage=Stage.OPEN)) == set()


# Days


@pytest.mark.parametrize("minute", [0, 1, 29, 59])
def test_days_are_calendar_days_so_minutes_never_move_a_date(minute: int) -> None:
    """A late lot cut at any minute of a Monday leaves on Wednesday."""
    cut = datetime(2027, 3, 22, 9, minute)
    assert dated(cut=cut, stage=Stage.COLOURED).sell_by == at(24, month=3)


# Temperature of the stems


def test_temperature_of_an_untrusted_cooler_is_five_degrees_at_least() -> None:
    """A set point is not a measurement: 36 °F counts as 41 °F, 46 °F as itself."""
    assert counted_c(Cooler(name="barn", set_point_c=celsius(36))) == 5.0
    assert counted_c(Cooler(name="barn", set_point_c=celsius(46))) == celsius(46)
    assert counted_c(Cooler(name="barn")) == 5.0


def test_temperature_of_a_trusted_cooler_is_its_set_point() -> None:
    """Trusted takes the five degrees away."""
    assert counted_c(Cooler(name="barn", set_point_c=1.0, trusted=True)) == 1.0


def test_temperature_in_the_field_counts_until_the_cooler() -> None:
    """Six hours at 75 °F use more life than six hours at 50 °F."""
    warm = dated(field_c=celsius(75), in_cooler=CUT + timedelta(hours=6))
    mild = dated(field_c=celsius(50), in_cooler=CUT + timedelta(hours=6))
    assert warm.life_used > mild.life_used


def test_temperature_of_the_field_is_carried_in_by_a_lot_that_goes_in_at_once() -> None:
    """In the cooler the moment it is cut, a warm lot still has to cool: no sudden gain over 15 minutes."""
    warm: dict[str, Any] = {"field_c": 30.0, "crop": "narcissus"}
    used = [dated(**warm, in_cooler=CUT + timedelta(minutes=m)).life_used for m in (0, 1, 15)]
    assert used == sorted(used)
    assert used[2] - used[0] < 0.02
    assert used[0] > dated(**{**warm, "field_c": 5.0}, in_cooler=CUT).life_used + 0.05


def test_temperature_outside_counts_by_its_air_however_slowly_the_crates_warm() -> None:
    """Five hours at 75 °F are more than four, though wrapped crates warm slowly."""
    out = Move(since=at(24, 6, month=3), place="out", temperature_c=celsius(75))
    for hours, late in ((4, False), (5, True)):
        moves = (out, Move(since=at(24, 6 + hours, month=3), place="barn"))
        assert ("warmed" in kinds(dated(moves=moves))) is late
    still_out = dated(moves=(out,), now=at(24, 12, month=3))
    assert "warmed" in kinds(still_out)


def test_temperature_in_water_is_the_rooms_where_no_buckets_stand_inside() -> None:
    """A WATER lot in a cooler whose soak is outside is counted warm, and told so."""
    outside = {"barn": replace(COOLERS["barn"], soak_inside=False)}
    dates = dated(make_farm(coolers=outside), storage=StorageCode.WATER)
    assert dates.life_used > dated(storage=StorageCode.WATER).life_used
    assert "no_buckets_inside" in kinds(dates)


def test_temperature_falls_by_half_cooling_times() -> None:
    """A crate that cools twice as slowly has used more life."""
    assert dated(make_farm(half_cooling_h=8.0)).life_used > dated().life_used


def test_temperature_outside_counts_as_its_own() -> None:
    """Eight hours at a 75 °F market use the life that the rate says, half-cooling included."""
    out = Move(since=at(24, 6, month=3), place="out", temperature_c=celsius(75))
    back = Move(since=at(24, 14, month=3), place="barn")
    away, home = dated(now=at(27, month=3), moves=(out, back)), dated(now=at(27, month=3))
    # At 75 °F stems age 3 * 2.5 * 2^0.389 = 9.8 times as fast as at 0 °C, at 41 °F 1.73 times. Over
    # 8 h they warm, and cool again, with a half time of 4 h: an eighth of a DRY life at the most.
    assert 0.03 < away.life_used - home.life_used < 8 / 24 * (9.82 - 1.73) / 34 + 0.03


def test_temperature_above_sixty_for_over_four_hours_makes_a_lot_late_from_its_return() -> None:
    """A warm trip opens the buds: two days from the return at most."""
    out = Move(since=at(24, 6, month=3), place="out", temperature_c=celsius(75))
    long = (out, Move(since=at(24, 18, month=3), place="barn"))
    short = (out, Move(since=at(24, 9, month=3), place="barn"))
    assert dated(moves=long).sell_by == at(26, month=3)
    assert "warmed" in kinds(dated(moves=long))
    assert "warmed" not in kinds(dated(moves=short))


# Life used


def test_life_used_below_freezing_earns_nothing_and_warns() -> None:
    """At −1 °C life is used as at 0 °C; only a tulip with its bulb on goes without a warning."""
    below, zero = trusted_at(30.2), trusted_at(32)
    assert dated(below).life_used == pytest.approx(dated(zero).life_used)
    assert "below_freezing" in kinds(dated(below))
    assert "below_freezing" not in kinds(dated(below, bulb=True))
    assert "below_freezing" in kinds(dated(below, crop="peony"))


# Vase days


def test_vase_days_are_shown_as_plus_and_minus_one_day() -> None:
    """The range at sell-by is two days wide around fresh − loss · used²."""
    dates = dated()
    assert dates.vase_days is not None
    assert dates.vase_days[1] - dates.vase_days[0] == pytest.approx(2.0)


# Usable


def test_usable_needs_the_vase_days_that_the_use_promises() -> None:
    """A shop that promises five days gets a single sooner than one that promises four."""
    five = replace(USES["shop"], vase_days=5.0)
    four, less = dated(), dated(make_farm(uses={**USES, "shop": five}))
    assert four.sell_by is not None
    assert less.sell_by is not None
    assert less.sell_by < four.sell_by


def test_usable_holds_no_more_than_fresh_stems_less_one_and_warns() -> None:
    """An iris of four fresh days that is sold for six is dated for three, and says so."""
    six = replace(USES["shop"], vase_days=6.0)
    dates = dated(make_farm(uses={**USES, "shop": six}), crop="iris")
    assert "promise_above_fresh" in kinds(dates)
    assert (
        dates.sell_by
        == dated(make_farm(uses={**USES, "shop": replace(six, vase_days=3.0)}), crop="iris").sell_by
    )


def test_usable_ends_at_the_cap_however_cold() -> None:
    """DRY at a trusted 32 °F ends on day 21, BULB on day 42, WATER on day 10."""
    cold = trusted_at(32)
    assert stay(dated(cold, use="event")) == 21
    assert stay(dated(cold, use="event", bulb=True, field_c=0.0, cut=at(22, 7, month=3))) == 42
    assert stay(dated(cold, use="event", storage=StorageCode.WATER)) == 10


def test_usable_in_water_lasts_three_days_or_as_long_as_water_from_the_cut() -> None:
    """Put in water on day ten a lot leaves within three days, on day one as WATER would."""
    assert dated(now=at(1), in_water=at(1)).sell_by == at(4)
    soon = dated(in_water=NOW)
    assert soon.sell_by == dated(storage=StorageCode.WATER).sell_by


def test_usable_needs_its_hours_in_water_from_the_cut() -> None:
    """Stems cut at noon cannot leave at six that evening: six hours are not eight."""
    cut = at(22, 12, month=3)
    six = Use(name="shop", vase_days=4, leaves=time(18))
    dates = dated(
        make_farm(uses={**USES, "shop": six}), cut=cut, orders=(order(at(22, 18, month=3)),), now=cut
    )
    assert dates.orders[0].verdict is Verdict.NOT_FOR


# Sell by


def test_sell_by_falls_on_the_last_selling_day_of_the_use() -> None:
    """A stall that sells on Saturdays at 6:30 gets a Saturday at 6:30."""
    sell_by = dated(use="stall").sell_by
    assert sell_by == at(3, 6, 30)


def test_sell_by_may_fall_on_a_day_off_work() -> None:
    """Days off stop bench work, not selling: a Sunday is a selling day."""
    sunday = replace(USES["shop"], days=frozenset({6}))
    sell_by = dated(make_farm(uses={**USES, "shop": sunday})).sell_by
    assert sell_by == at(4)
    assert sell_by.weekday() == 6


def test_sell_by_without_a_selling_day_is_the_last_usable_close_and_says_what_comes_next() -> None:
    """A ranunculus for a Saturday stall that does not last till then leaves by Wednesday's close."""
    dates = dated(crop="ranunculus", use="stall")
    assert dates.sell_by == at(24, 18, month=3)
    assert dates.why.values["next_day"] == at(27, 6, 30, month=3)
    assert dates.why.values["next_vase"] == 2


def test_sell_by_is_bound_by_an_order_for_the_whole_lot() -> None:
    """Put in water for Tuesday 30 March, all stems leave within three days of that evening."""
    dates = dated(form="double", orders=(order(at(30, month=3)),))
    assert dates.sell_by == at(1)
    assert dates.why.values["otherwise"] == at(10)


def test_sell_by_is_bound_by_an_order_that_has_passed() -> None:
    """The clock never moves a sell-by, nor frees it from yesterday's order."""
    orders = (order(at(30, month=3)),)
    assert dated(orders=orders).sell_by == dated(now=at(5), orders=orders).sell_by


def test_sell_by_is_none_when_nothing_would_do() -> None:
    """A lot that was put in water too late for its life has no date, and the reason is said."""
    dates = dated(now=at(20), cut=at(1, month=3), in_water=at(20), stage=Stage.TIGHT)
    assert (dates.sell_by, dates.state, dates.why.macro()) == (None, State.NO_DATE, "why_undated")


def test_sell_by_of_a_wet_lot_is_none_until_it_has_gone_in() -> None:
    """A wet lot to be kept dry has no date; filled `in cooler` makes it a dried one."""
    wet = dated(surface=Surface.WET, in_cooler=None)
    assert (wet.sell_by, wet.state, wet.why.macro()) == (None, State.NO_DATE, "why_wet")
    in_water = dated(surface=Surface.WET, storage=StorageCode.WATER)
    assert in_water.sell_by is not None


# State


def test_state_is_past_from_the_day_after_the_sell_by() -> None:
    """On its last day a lot is to sell now, on the next it is past."""
    sell_by = dated().sell_by
    assert sell_by is not None
    assert dated(now=sell_by + timedelta(hours=9)).state is State.SELL_FIRST
    assert dated(now=sell_by + DAY).state is State.TOO_OLD


def test_state_is_not_past_while_a_usable_order_is_to_come() -> None:
    """Sixty stems for a stretched order on 15 April keep the lot from being past on the 12th."""
    dates = dated(use="event", now=at(12), orders=(order(at(15, 6, 30), 60, "event"),))
    assert dates.sell_by == at(10, 6, 30)
    assert dates.state is not State.TOO_OLD
    assert "keep_for" in kinds(dates)


def test_state_of_a_late_lot_is_sell_now_unless_it_is_all_ordered() -> None:
    """A late lot is sold now; one promised as a whole for tomorrow is held."""
    assert dated(stage=Stage.COLOURED).state is State.SELL_FIRST
    assert dated(stage=Stage.COLOURED, orders=(order(at(24, month=3)),)).state is State.KEEP


# Orders


def test_orders_are_judged_each_by_its_own_use() -> None:
    """On day 18 a single is no longer for a shop, but still for an event."""
    orders = (order(at(9), 60), order(at(9, 9), 60, "event"))
    assert [found.verdict for found in dated(orders=orders).orders] == [Verdict.NOT_FOR, Verdict.USABLE]


def test_orders_that_cannot_be_served_name_the_last_day_that_would_do() -> None:
    """NOT FOR carries the last day, a stretched one where that would do."""
    dates = dated(use="event", orders=(order(at(19, 6, 30), use="event"),))
    note = next(note for note in dates.warnings if note.macro() == "not_for")
    assert note.values["last"] == at(15, 6, 30)  # stretched, while two vase days are left


def test_orders_are_too_late_when_their_hours_no_longer_fit() -> None:
    """At 2 AM a dry lot cannot be ready for 8 AM, one in water since the evening can."""
    night, orders = at(25, 2, month=3), (order(at(25, month=3)),)
    assert dated(now=night, orders=orders).orders[0].verdict is Verdict.TOO_LATE
    soaking = dated(now=night, orders=orders, in_water=at(24, 18, month=3))
    assert soaking.orders[0].verdict is Verdict.USABLE


def test_orders_on_a_day_without_selling_are_warned_with_the_nearest() -> None:
    """A Wednesday order of a Saturday stall names the Saturday nearest to it."""
    dates = dated(use="stall", orders=(order(at(24, 10, month=3), use="stall"),))
    note = next(note for note in dates.warnings if note.macro() == "wrong_day")
    assert note.values["nearest"] == date(2027, 3, 27)


def test_orders_are_used_up_by_what_has_gone_nearest_first() -> None:
    """150 stems gone serve the first order of 100 and half of the second."""
    orders = (order(at(27, month=3), 100), order(at(3), 100))
    assert [(found.leaves, found.stems) for found in dated(orders=orders, gone=150).orders] == [(at(3), 50)]


def test_orders_for_more_than_is_left_are_warned() -> None:
    """Two orders of 200 cannot come from 300 stems."""
    orders = (order(at(27, month=3), 200), order(at(3), 200))
    assert "over_ordered" in kinds(dated(orders=orders))
    assert "over_ordered" not in kinds(dated(orders=orders[:1]))


def test_orders_that_have_passed_are_not_listed() -> None:
    """Yesterday's order is history."""
    assert dated(now=at(28, month=3), orders=(order(at(27, month=3), 100),)).orders == ()


def test_orders_for_the_whole_lot_are_each_judged_by_themselves() -> None:
    """A missed order for the whole lot does not cost the next one its stems."""
    orders = (order(at(23, 15, month=3)), order(at(30, month=3)))
    dates = dated(orders=orders)
    assert [found.verdict for found in dates.orders] == [Verdict.TOO_LATE, Verdict.USABLE]
    assert dates.sell_by == at(30, month=3)


# Into water by


def test_into_water_by_is_the_latest_bench_moment_that_leaves_the_hours() -> None:
    """Eight hours before Saturday 6:30 is Friday night, so Friday's close."""
    assert dated(use="stall").into_water_by == at(2, 18)


def test_into_water_by_is_never_on_a_day_off() -> None:
    """For a Monday at eight after a free Sunday the stems go in on Saturday."""
    monday = (order(at(29, month=3)),)
    assert dated(orders=monday).into_water_by == at(27, 18, month=3)


def test_into_water_by_counts_bulb_on_six_hours_and_bulb_off_eight() -> None:
    """For 5 PM bulb-on stems go in by 11, bulb-off stems by 9 (common practice, no source)."""
    five = (order(at(25, 17, month=3)),)
    assert dated(bulb=True, orders=five).into_water_by == at(25, 11, month=3)
    assert dated(orders=five).into_water_by == at(25, 9, month=3)


def test_into_water_by_adds_the_opening_hours_of_an_open_use() -> None:
    """A peony that must be open on Saturday 8 AM needs 8 + 36 hours: Thursday noon."""
    dates = dated(crop="peony", use="table", orders=(order(at(27, month=3), use="table"),))
    assert dates.into_water_by == at(25, 12, month=3)
    assert dates.stand_warm_from == at(25, 18, month=3)  # 36 hours before is at night: the close before


def test_into_water_by_is_for_the_earliest_whole_lot_order_that_can_be_served() -> None:
    """Neither an impossible order nor a part order decides the tag."""
    impossible = order(at(23, 9, month=3))
    part, whole = order(at(25, month=3), 60), order(at(30, month=3))
    dates = dated(orders=(impossible, part, whole))
    assert dates.into_water_by == at(29, 18, month=3)
    assert dates.tag_order is not None
    assert dates.tag_order.leaves == at(30, month=3)


def test_into_water_by_is_none_in_water_and_ready_from_is_said() -> None:
    """Eight hours after it was put in water a lot is ready."""
    dates = dated(in_water=NOW)
    assert (dates.into_water_by, dates.ready_from) == (None, NOW + timedelta(hours=8))
    assert dated(storage=StorageCode.WATER).into_water_by is None


def test_into_water_by_that_has_passed_means_water_now() -> None:
    """Past and still dry: water now, ready eight hours from now, whatever the state."""
    now = at(8, 9, 5)
    dates = dated(now=now)
    assert dates.water_now
    assert dates.ready_from == at(8, 17, 15)
    assert dated(now=at(20)).water_now


def test_out_by_gives_the_opening_hours_of_stems_in_water() -> None:
    """An iris in water for an open use leaves the cooler 24 hours before, in bench time."""
    dates = dated(crop="iris", use="table", orders=(order(at(24, month=3), use="table"),))
    assert (dates.into_water_by, dates.out_by) == (None, at(23, month=3))


# Early, late


def test_early_and_late_enclose_the_sell_by() -> None:
    """One figure varied at a time gives a band around the date."""
    dates = dated()
    assert (dates.early, dates.sell_by, dates.late) == (at(5), at(8), at(10))


def test_early_and_late_are_none_on_the_cautious_basis() -> None:
    """The published days are the early side already."""
    dates = dated(stage=None)
    assert (dates.early, dates.late) == (None, None)


# Cautious


@pytest.mark.parametrize(
    ("way", "days"),
    [({}, 5), ({"bulb": True}, 14), ({"storage": StorageCode.WATER}, 7)],
)
def test_cautious_sell_by_counts_the_published_days_up_to_forty_degrees(
    way: dict[str, Any], days: int
) -> None:
    """At 40 °F from the cut on: 5 days dry, 14 with the bulb on, 7 in water.

    HortTechnology 32(3):263-274 (2022), doi 10.21273/HORTTECH05010-21, the lower figures.
    """
    cut = at(22, 8, month=3)
    sell_by = dated(trusted_at(40), now=CUT, cut=cut, field_c=HOLD_C, **way).cautious_sell_by
    assert sell_by == at(22, 8, month=3) + days * DAY


def test_cautious_sell_by_is_what_a_blank_stage_is_dated_by() -> None:
    """Without a stage the sell-by is the cautious one, and orders are judged by it unstretched."""
    blank, tight = dated(stage=None), dated()
    assert blank.sell_by == tight.cautious_sell_by == at(26, month=3)
    assert "stage_blank" in kinds(blank)
    later = (order(at(30, month=3), 60, "event"),)
    assert dated(stage=None, orders=later).orders[0].verdict is Verdict.NOT_FOR


def test_cautious_sell_by_is_early_where_nothing_is_published() -> None:
    """A peony has no published cautious days, so the early end of its band stands."""
    dates = dated(crop="peony")
    assert dates.cautious_sell_by == dates.early


def test_cautious_basis_of_the_settings_dates_every_lot() -> None:
    """basis = cautious does what a blank stage does."""
    assert dated(make_farm(basis="cautious")).sell_by == dated().cautious_sell_by


# Stretch


def test_stretch_serves_an_event_to_day_26_dry_and_42_with_the_bulb_on() -> None:
    """DRY goes to 26 days for two vase days; BULB to 42; neither beyond."""
    cold = trusted_at(36)
    verdicts = [
        dated(
            cold,
            use="event",
            bulb=bulb,
            orders=(order(datetime.combine(CUT.date() + days * DAY, time(6, 30)), 60, "event"),),
        )
        .orders[0]
        .verdict
        for bulb, days in ((None, 26), (None, 27), (True, 42), (True, 43))
    ]
    assert verdicts == [Verdict.STRETCHED, Verdict.NOT_FOR, Verdict.STRETCHED, Verdict.NOT_FOR]


def test_stretch_is_not_for_four_vase_days_nor_for_other_crops() -> None:
    """A shop gets no stretched stems, and no crop but the tulip is stretched."""
    assert dated(orders=(order(at(13), 60),)).orders[0].verdict is Verdict.NOT_FOR
    peony = dated(crop="peony", use="event", orders=(order(at(12, 6, 30), 60, "event"),))
    assert peony.orders[0].verdict is Verdict.NOT_FOR


def test_stretch_for_the_whole_lot_is_the_sell_by() -> None:
    """A whole-lot order so served is then the sell-by."""
    assert dated(use="event", orders=(order(at(15, 6, 30), use="event"),)).sell_by == at(15, 6, 30)


# TEST FIRST


def test_test_first_for_a_stretched_order() -> None:
    """A stretched order is tried before it is promised."""
    dates = dated(use="event", orders=(order(at(15, 6, 30), 60, "event"),))
    assert (dates.test_first, dates.orders[0].test_first) == (True, True)


def test_test_first_for_an_order_after_early() -> None:
    """An order between the early date and the sell-by is tried first, one before it is not."""
    assert dated(orders=(order(at(7)),)).test_first
    assert not dated(orders=(order(at(5)),)).test_first


def test_test_first_for_a_stay_over_21_days_for_four_vase_days() -> None:
    """BULB to day 23 for a shop is tried first; for an event, within `early`, it is not."""
    assert dated(bulb=True).test_first
    assert not dated(bulb=True, use="event").test_first


def test_test_first_for_a_dried_lot_over_seven_days() -> None:
    """A lot that was wet and stays twelve days is tried first, one for day five is not."""
    assert dated(surface=Surface.DRIED).test_first
    assert not dated(surface=Surface.DRIED, orders=(order(at(27, month=3)),)).test_first


def test_test_first_stands_on_the_workday_six_days_before_the_departure() -> None:
    """Six days before Saturday 10 April is Sunday, so the Saturday before."""
    dates = dated(use="event", orders=(order(at(10, 6, 30), 60, "event"), order(at(15, 6, 30), 60, "event")))
    assert dates.tests_on == (date(2027, 4, 3), date(2027, 4, 9))


def test_test_first_never_stands_before_the_first_workday_after_the_cut() -> None:
    """A narcissus for Saturday is tried on the day after its cut."""
    dates = dated(crop="narcissus", use="stall", orders=(order(at(27, 6, 30, month=3), use="stall"),))
    assert dates.tests_on == (date(2027, 3, 23),)


# Room is in test_room.py, planned rows in test_planning.py, the reasons in test_reasons.py.


def test_workday_moments_are_quarter_hours_and_include_both_ends() -> None:
    """A departure at 6:10 PM with eight hours before it gives 10 AM, not 10:10."""
    odd = (order(at(25, 18, 10, month=3)),)
    assert dated(orders=odd).into_water_by == at(25, 10, month=3)
    early = make_farm(workday=Workday(opens=time(10), closes=time(18)))
    assert dated(early, orders=odd).into_water_by == at(25, 10, month=3)


def test_soak_outside_counts_at_room_temperature() -> None:
    """Stems that soak outside the cooler age faster before they leave."""
    outside = {"barn": replace(COOLERS["barn"], soak_inside=False)}
    inside, warm = dated(use="event"), dated(make_farm(coolers=outside), use="event")
    assert inside.sell_by is not None
    assert warm.sell_by is not None
    assert warm.sell_by < inside.sell_by


def test_the_bulb_has_to_stay_on_beyond_what_a_cut_single_gives_a_shop() -> None:
    """At a trusted 40 °F, life alone: four vase days end at 17.5 to 21 days bulb off, later bulb on.

    An event's two vase days let the cut stems run to the end of their life, and stretched to 26 days.
    Common practice, no source; the shape of the vase life is chosen.
    """
    farm, cut = trusted_at(40), at(22, 7, month=3)
    alone: dict[str, Any] = {"cut": cut, "in_cooler": cut, "field_c": HOLD_C}
    judge, _ = judges(make_lot(**alone), farm, CROPS)
    days = next(
        n / 24 for n in range(10 * 24, 42 * 24) if judge.vase_days(cut + DAY * (n / 24), USES["shop"]) < 4
    )
    assert 17.5 <= days <= 21
    assert stay(dated(farm, **alone)) == int(days)
    assert stay(dated(farm, bulb=True, **alone)) > 21
    assert stay(dated(farm, use="event", **alone)) == 20  # 34 days at 0 °C are 20.9 at 40 °F
    stretched = order(at(17, 6, 30), 60, "event")
    assert dated(farm, use="event", orders=(stretched,), **alone).orders[0].verdict is Verdict.STRETCHED
