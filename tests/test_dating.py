"""Every rule of the dates and the storage code, each with a test named after it."""

from __future__ import annotations

import itertools
from dataclasses import replace
from datetime import date, datetime, time, timedelta
from typing import Any

import pytest

from tagmaker.farm import Cooler, Use, Workday
from tagmaker.lot import (
    BunchTest,
    Finding,
    HandLow,
    Mark,
    Move,
    NoDate,
    Stage,
    State,
    StorageCode,
    StorageDates,
    Surface,
    Verdict,
)
from tagmaker.storage.ageing import HOLD_C, rate
from tagmaker.storage.air import counted_c, read_air
from tagmaker.storage.dating import date_lot, view_of
from tagmaker.storage.readings import HandReading, Readings
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


def test_storage_code_of_a_cut_too_open_is_water_where_the_crop_has_it() -> None:
    """A fully coloured tulip stands in water, a half coloured one does not; a peony has no such way."""
    assert dated(stage=Stage.COLOURED).code is StorageCode.WATER
    assert dated(stage=Stage.HALF).code is StorageCode.DRY
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


def test_stage_too_open_leaves_within_two_days_of_the_cut() -> None:
    """A coloured tulip leaves on the second day after the cut at the latest."""
    dates = dated(stage=Stage.COLOURED)
    assert (dates.sell_by, dates.marks) == (at(24, month=3), (Mark.TOO_OPEN,))
    assert "stage_late" in kinds(dates)


def test_stage_too_open_has_a_vase_day_less_and_no_opening_hours() -> None:
    """A peony cut open is not stood warm, and has one vase day less at the same use of life."""
    late = dated(crop="peony", stage=Stage.OPEN, use="table")
    assert late.stand_warm_from is None
    assert late.vase_days is not None
    assert late.vase_days[1] == pytest.approx(6 - 1 + 1, abs=0.05)  # next to no life used by then


def test_stage_half_coloured_ages_twice_as_fast_and_has_half_a_vase_day_less() -> None:
    """Half coloured tulips use twice the life, are marked, and are not stretched."""
    tight, half = dated(trusted_at(36), use="event"), dated(trusted_at(36), use="event", stage=Stage.HALF)
    assert half.life_used == pytest.approx(2 * tight.life_used, rel=0.01)
    assert (half.marks, half.half_coloured_from) == ((Mark.HALF_COLOURED,), CUT)
    assert half.vase_days is not None
    assert half.sell_by is not None
    soon = (order(at(14, 6, 30), 60, "event"),)
    assert dated(trusted_at(36), use="event", orders=soon).orders[0].verdict is Verdict.STRETCHED
    stretched = dated(trusted_at(36), use="event", stage=Stage.HALF, orders=soon)
    assert stretched.orders[0].verdict is Verdict.NOT_FOR


def test_stage_blank_is_never_dated_later_than_half() -> None:
    """Without a stage a rose, which has no published days, goes by its early end and by half coloured."""
    rose: dict[str, Any] = {"crop": "rose", "storage": StorageCode.DRY}
    blank, half, tight = (dated(stage=stage, **rose) for stage in (None, Stage.HALF, Stage.TIGHT))
    assert blank.sell_by is not None
    assert half.sell_by is not None
    assert tight.early is not None
    assert blank.sell_by <= min(half.sell_by, tight.early)
    assert blank.keeps_until == half.keeps_until
    assert blank.marks == (Mark.HOW_OPEN,)


def test_stage_seen_later_takes_the_place_of_a_blank_one() -> None:
    """Looked at on the day after the cut and found tight, a lot of unknown stage is dated as usual."""
    seen = dated(stage=None, tested=(BunchTest(date(2027, 3, 23), Stage.TIGHT),))
    assert (seen.sell_by, seen.marks) == (dated().sell_by, ())
    open_ = dated(stage=None, tested=(BunchTest(date(2027, 3, 23), Stage.COLOURED),))
    assert (open_.code, open_.too_open_from) == (StorageCode.WATER, CUT)


# Opening of the buds


def out(hours: float, fahrenheit: float = 75) -> tuple[Move, ...]:
    """A trip on the third day."""
    start = at(24, 6, month=3)
    away = Move(since=start, place="out", temperature_c=celsius(fahrenheit))
    return (away, Move(since=start + timedelta(hours=hours), place="barn"))


def test_opening_grows_with_warmth_outside_and_has_no_step() -> None:
    """Each hour longer outside costs a little: no hour costs eleven days."""
    kept = [dated(now=at(27, month=3), moves=out(hours)).keeps_until for hours in range(1, 13)]
    days = [(moment - CUT) / DAY for moment in kept if moment is not None]
    assert len(days) == 12
    assert days == sorted(days, reverse=True)
    assert max(one - other for one, other in itertools.pairwise(days)) < 4


def test_opening_grows_alike_in_a_cooler_that_failed() -> None:
    """Twenty hours at 20 °C open the buds, read in the cooler or stated of a trip."""
    moments = tuple(CUT + timedelta(hours=2 + n / 2) for n in range(10 * 48))
    warm = at(26, 6, month=3)
    t_c = tuple(20.0 if warm <= m < warm + timedelta(hours=20) else 3.0 for m in moments)
    cold = read_air(COOLERS["barn"], Readings(cooler="barn", moments=moments, t_c=(3.0,) * len(moments)))
    broken = read_air(COOLERS["barn"], Readings(cooler="barn", moments=moments, t_c=t_c))
    now = moments[-1]
    away = Move(since=warm, place="out", temperature_c=20.0)
    trip = (away, Move(since=warm + timedelta(hours=20), place="barn"))
    stayed = date_lot(make_lot(), make_farm(), CROPS, now, {"barn": broken})
    went = date_lot(make_lot(moves=trip), make_farm(), CROPS, now, {"barn": cold})
    assert stayed.opening > 0.75
    assert went.opening > 0.5
    assert {Mark.HALF_COLOURED} == {*stayed.marks, *went.marks}


def test_opening_is_overruled_by_the_eye() -> None:
    """Twelve hours outside colour the buds by the sum; seen tight two days later they are tight."""
    now = at(27, month=3)
    warm = dated(now=now, moves=out(14))
    seen = dated(now=now, moves=out(14), tested=(BunchTest(date(2027, 3, 26), Stage.TIGHT),))
    assert warm.look_at_buds
    assert (warm.marks, seen.marks) == ((Mark.HALF_COLOURED,), ())
    assert (seen.opening, seen.look_at_buds) == (0.0, False)


def test_opening_leaves_out_hours_in_the_warm_on_purpose() -> None:
    """Irises that stood warm for a day to open, for this morning, are no half coloured ones."""
    away = Move(since=at(22, 12, month=3), place="out", temperature_c=20.0)
    trip = (away, Move(since=at(23, 6, month=3), place="barn"))
    iris: dict[str, Any] = {"crop": "iris", "moves": trip, "storage": StorageCode.WATER}
    meant, not_meant = (dated(make_farm(), use=use, **iris) for use in ("table", "shop"))
    assert meant.opening < 0.25
    assert not_meant.opening > 0.5
    (tomorrow,) = dated(use="table", orders=(order(at(23, 10, month=3), use="table"),), **iris).orders
    assert tomorrow.verdict is Verdict.TOO_LATE  # four hours are wanting to the day in the warm


def test_opening_does_not_count_gaps() -> None:
    """A night without readings between two warm ones ages the stems, but opens no bud."""
    start = CUT + timedelta(hours=2)
    kept = [start + timedelta(hours=n) for n in range(100) if not 20 < n < 32]
    log = Readings(
        cooler="barn",
        moments=tuple(kept),
        t_c=tuple(18.0 if (m - start) / timedelta(hours=1) in (20, 32) else 3.0 for m in kept),
    )
    holed = date_lot(make_lot(), make_farm(), CROPS, kept[-1], {"barn": read_air(COOLERS["barn"], log)})
    assert holed.opening < 0.1
    assert holed.life_used > dated(trusted_at(37.4), now=kept[-1]).life_used + 0.03


# Frost and heat


def read_at(t_c: float, hours: float, crop: str = "tulip", **lot: Any) -> StorageDates:
    """A lot in a cooler that was read for ten days, some hours of the third at a temperature."""
    cold = at(25, 2, month=3)
    moments = tuple(CUT + timedelta(hours=2, minutes=15 * n) for n in range(10 * 96))
    until = cold + timedelta(hours=hours)
    log = Readings(
        cooler="barn", moments=moments, t_c=tuple(t_c if cold <= m <= until else 2.0 for m in moments)
    )
    airs = {"barn": read_air(COOLERS["barn"], log)}
    return date_lot(make_lot(crop=crop, **lot), make_farm(), CROPS, moments[-1], airs)


@pytest.mark.parametrize(("t_c", "hours", "frozen"), [(-5, 10, True), (-5, 0.25, False), (-1.9, 7, True)])
def test_frost_read_in_the_cooler_gives_no_date(t_c: float, hours: float, frozen: bool) -> None:
    """Ten hours at −5 °C, or seven just below freezing, are no clean label; a quarter of an hour is."""
    dates = read_at(t_c, hours)
    assert (dates.state is State.NO_DATE) is frozen
    assert dates.frost == (date(2027, 3, 25) if frozen else None)
    assert (Mark.FROST in dates.marks) is frozen
    assert (dates.sell_by is None) is frozen


def test_frost_is_cleared_by_a_test_on_a_later_day() -> None:
    """A bunch opened on the day of the frost tells nothing yet; one of the day after does."""
    ok = [BunchTest(date(2027, 3, day), Finding.OK) for day in (25, 26)]
    assert read_at(-5, 10, tested=(ok[0],)).state is State.NO_DATE
    assert read_at(-5, 10, tested=(ok[1],)).sell_by is not None


def written(*lows_c: float, **lot: Any) -> StorageDates:
    """A lot in a cooler whose LOW was written every twelve hours, from the evening after the cut on."""
    looks = [
        HandReading(cooler="barn", moment=at(22, 18, month=3) + n * DAY / 2, low_c=low_c, high_c=4.0)
        for n, low_c in enumerate(lows_c)
    ]
    porch = Cooler(name="porch", set_point_c=2.0)
    airs = {"barn": read_air(COOLERS["barn"], None, looks), "porch": read_air(porch, None)}
    farm = make_farm(coolers={**COOLERS, "porch": porch})
    return date_lot(make_lot(**lot), farm, CROPS, at(26, month=3), airs)


@pytest.mark.parametrize(("low_c", "seen"), [(-1.7, False), (-1.8, True), (-9, True)])
@pytest.mark.parametrize("looks", [1, 3])
def test_a_low_by_hand_below_the_freezing_point_is_to_be_looked_at_and_the_date_stays(
    low_c: float, seen: bool, looks: int
) -> None:
    """Tulips freeze at −1.7 °C: a LOW just below it, of a first look too, is kept with its day."""
    dates = written(*[0.0] * (looks - 1), low_c)
    on = date(2027, 3, 22 + looks // 2)
    assert dates.low_by_hand == (HandLow(on, low_c) if seen else None)
    assert (dates.no_date, dates.frost, Mark.FROST in dates.marks) == (None, None, False)
    assert dates.sell_by == written(*[0.0] * looks).sell_by is not None


def test_a_low_by_hand_counts_for_lots_that_stood_there_since_the_look_before() -> None:
    """Also for one that came or went between the two looks; not for one that came at the look or after it."""
    since, look = at(22, 18, month=3), at(23, 6, month=3)
    for came, seen in ((look - DAY / 24, True), (look, False)):
        assert (written(2.0, -3.0, in_cooler=came).low_by_hand is not None) is seen
    for went, seen in ((since + DAY / 24, True), (since, False)):
        moves = (Move(since=went, place="porch"),)
        assert (written(2.0, -3.0, moves=moves).low_by_hand is not None) is seen


def test_a_low_by_hand_is_cleared_by_a_test_on_a_later_day() -> None:
    """As frost of the logger is; the coldest is told of several that are left."""
    lows = (2.0, -3.0, 2.0, -2.0, -2.5)  # the 22nd in the evening, then twice a day
    assert written(*lows).low_by_hand == HandLow(date(2027, 3, 23), -3.0)
    left_after = {23: HandLow(date(2027, 3, 23), -3.0), 24: HandLow(date(2027, 3, 24), -2.5), 25: None}
    for day, left in left_after.items():
        assert written(*lows, tested=(BunchTest(date(2027, 3, day), Finding.OK),)).low_by_hand == left


def test_a_low_by_hand_of_one_parent_is_that_of_the_lot_of_several() -> None:
    """The stems of the parent that stood there in the cold are among them."""
    stood, came = make_lot(), make_lot(in_cooler=at(24, month=3))
    for alone in ((stood, came), (came, stood)):
        assert written(2.0, -3.0, alone=alone).low_by_hand == HandLow(date(2027, 3, 23), -3.0)


@pytest.mark.parametrize("tested", [(), (BunchTest(date(2027, 3, 23), Finding.OK),)])
def test_frost_by_a_set_point_that_nobody_reads_gives_no_date(tested: tuple[BunchTest, ...]) -> None:
    """A cooler set to 23 °F: no date, wherever the lot is now and whatever was tested."""
    coolers = {**COOLERS, "deep": Cooler(name="deep", set_point_c=-5.0, trusted=True)}
    stays = dated(make_farm(coolers=coolers), cooler="deep", tested=tested)
    back = (Move(since=at(23, 7, month=3), place="barn"),)
    went = dated(make_farm(coolers=coolers), cooler="deep", moves=back, tested=tested)
    assert {stays.no_date, went.no_date} == {NoDate.SET_POINT}
    assert {stays.sell_by, went.sell_by} == {None}


def test_heat_above_forty_degrees_is_lost() -> None:
    """A field of 106 °F stated, or an hour of it read, leaves no date; one hot reading does."""
    assert dated(field_c=celsius(106)).no_date is NoDate.HEAT
    assert read_at(41, 1).no_date is NoDate.HEAT
    assert read_at(41, 0).sell_by is not None


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


# Life used


def test_life_used_by_one_open_door_is_charged_once() -> None:
    """44 hours of log with a door open for three move a lot by less than a day, not by a week."""
    start = CUT + timedelta(hours=2)
    moments = tuple(start + timedelta(minutes=15 * n) for n in range(44 * 4 + 1))
    kept = []
    for door_c in (2.0, 20.0):
        hot = tuple(door_c if 20 <= (m - start) / timedelta(hours=1) < 23 else 2.0 for m in moments)
        air = read_air(COOLERS["barn"], Readings(cooler="barn", moments=moments, t_c=hot))
        kept.append(date_lot(make_lot(crop="narcissus"), make_farm(), CROPS, moments[-1], {"barn": air}))
    shut, open_ = kept
    assert 0 < open_.life_used - shut.life_used < 1.5 * rate(5.0) / 14  # [d] at 41 °F over a life of 14
    assert shut.keeps_until is not None
    assert open_.keeps_until is not None
    assert timedelta(0) <= shut.keeps_until - open_.keeps_until <= DAY


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


def test_usable_stays_ready_what_once_was() -> None:
    """Back from market after a day, in water since before it, a lot needs no second soak."""
    trip = (Move(since=at(24, 6, month=3), place="out"), Move(since=at(24, 18, month=3), place="barn"))
    back = dated(now=at(25, 7, month=3), in_water=at(23, 12, month=3), moves=trip)
    assert back.elsewhere == ()
    assert back.ready_from == at(23, 20, month=3)
    (early,) = dated(
        now=at(25, 7, month=3), in_water=at(23, 12, month=3), moves=trip, orders=(order(at(25, month=3), 60),)
    ).orders
    assert early.verdict is Verdict.USABLE


@pytest.mark.parametrize(("fahrenheit", "days"), [(38, 10), (35, 20)])
def test_usable_ends_at_a_crops_cap_for_warm_coolers(fahrenheit: float, days: int) -> None:
    """A hydrangea at 38 °F is kept for ten days, at 35 °F for twenty."""
    assert stay(dated(trusted_at(fahrenheit), crop="hydrangea", stage=Stage.OPEN)) == days


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


def test_sell_by_without_a_day_of_its_own_use_is_that_of_another_which_is_named() -> None:
    """A ranunculus that no Saturday will do for goes to the event, and the reason says why."""
    dates = dated(crop="ranunculus", use="stall", cut=at(21, 9, month=3), now=at(22, month=3))
    assert (dates.sell_by, dates.sell_by_use, dates.state) == (
        at(26, 6, 30, month=3),
        "event",
        State.SELL_ELSEWHERE,
    )
    assert dates.why.values["next_day"] == at(27, 6, 30, month=3)


def test_sell_by_of_another_use_is_told_with_the_first_own_day_that_would_be_too_long() -> None:
    """Half coloured stems lose their vase days before the first Saturday already, not before the next one."""
    for now in (at(29, month=3), at(4)):
        dates = dated(now=now, use="stall", form="lily-flowered", stage=Stage.HALF, cut=at(28, 9, month=3))
        assert (dates.sell_by_use, dates.why.values["next_day"]) == ("event", at(3, 6, 30))


def test_sell_by_is_the_last_close_where_no_use_sells() -> None:
    """A lot whose outlets all sell on a day too late goes by the last close of work."""
    only = {"stall": replace(USES["stall"], days=frozenset(), dates=frozenset({date(2027, 5, 8)}))}
    dates = dated(make_farm(uses=only), use="stall")
    assert (dates.sell_by, dates.at_close) == (dates.keeps_until, True)
    assert dates.sell_by == at(7, 18)


def test_sell_by_of_a_use_with_dates_is_the_last_of_them_that_it_can_serve() -> None:
    """Holiday tulips are not put into water weeks early: their outlet has dates."""
    fair = replace(USES["stall"], days=frozenset(), dates=frozenset({date(2027, 4, 3), date(2027, 5, 8)}))
    dates = dated(make_farm(uses={**USES, "stall": fair}), use="stall")
    assert (dates.sell_by, dates.into_water_by) == (at(3, 6, 30), at(2, 18))


def test_sell_by_is_bound_by_an_order_for_the_whole_lot() -> None:
    """Put in water for Tuesday 30 March, all stems leave within three days of that evening."""
    dates = dated(form="double", orders=(order(at(30, month=3)),))
    assert dates.sell_by == at(1)
    assert dates.why.values["otherwise"] == at(10)


def test_sell_by_of_a_dry_lot_is_free_of_an_order_that_has_passed() -> None:
    """Still dry after its order for the whole lot went by, a lot keeps as long as without it."""
    orders = (order(at(30, month=3)),)
    assert dated(now=at(5), orders=orders).sell_by == dated().sell_by
    soaked = dated(now=at(1), in_water=at(29, 18, month=3), orders=orders)
    assert soaked.sell_by == at(1)


def test_sell_by_is_none_when_nothing_will_do_any_more() -> None:
    """A lot put in water too late for its life would have done on the day of its cut: too old."""
    dates = dated(now=at(20), cut=at(1, month=3), in_water=at(20), stage=Stage.TIGHT)
    assert (dates.sell_by, dates.state, dates.no_date) == (None, State.TOO_OLD, None)


def test_sell_by_is_none_when_nothing_would_have_done_on_the_day_of_the_cut() -> None:
    """Fourteen hours at 95 °F on the day of the cut leave a hyacinth no date at all."""
    hot: dict[str, Any] = {"crop": "hyacinth", "stage": Stage.COLOURED, "storage": StorageCode.DRY}
    hours = timedelta(hours=13)
    dates = dated(field_c=celsius(95), in_cooler=CUT + hours, **hot)
    assert (dates.sell_by, dates.state, dates.no_date) == (None, State.NO_DATE, NoDate.NOTHING)


def test_sell_by_of_a_wet_lot_is_none_until_it_has_gone_in() -> None:
    """A wet lot has no date, whether it is to be kept dry or in water."""
    for storage in (None, StorageCode.DRY, StorageCode.WATER):
        wet = dated(surface=Surface.WET, in_cooler=None, storage=storage)
        assert (wet.sell_by, wet.state, wet.why.macro()) == (None, State.NO_DATE, "why_wet")
        assert dated(surface=Surface.WET, storage=storage).sell_by is not None


# State


def test_state_of_sound_stems_is_sell_elsewhere_after_their_outlets_last_day() -> None:
    """Its last Saturday has gone, the stems have vase days left: other outlets are named, none thrown out."""
    dates = dated(use="stall", now=at(5))
    assert (dates.sell_by, dates.state) == (at(3, 6, 30), State.SELL_ELSEWHERE)
    assert dict(dates.elsewhere) == {"shop": at(6), "event": at(6, 6, 30), "table": at(7)}


def test_elsewhere_has_its_own_hours_for_water_while_the_stems_are_dry() -> None:
    """The latest bench moment before each outlet's departure; none for stems that stand in water."""
    dates = dated(use="stall", now=at(5))
    assert dates.elsewhere_water == {"event": at(5, 18), "shop": at(5, 18), "table": at(5, 18)}
    assert dated(use="stall", now=at(5), in_water=at(3)).elsewhere_water == {}


def test_elsewhere_is_in_order_of_moment() -> None:
    """The outlet that sells first leads, in whatever order the settings name them."""
    for uses in (USES, dict(reversed(USES.items()))):
        dates = dated(make_farm(uses=uses), use="stall", now=at(5))
        assert dates.elsewhere == (("event", at(6, 6, 30)), ("shop", at(6)), ("table", at(7)))


def test_state_sell_elsewhere_says_how_long_stems_do_that_went_into_water_on_time() -> None:
    """Three days from their own hour, whatever outlets they would still have dry; after that not a day."""
    dates = dated(use="stall", now=at(5))
    assert (dates.into_water_by, dates.watered_until) == (at(2, 18), at(5, 18))
    assert max(moment for _, moment in dates.elsewhere) > at(5, 18)
    assert dated(use="stall", now=at(6)).watered_until is None
    assert dated(use="stall", now=at(1)).watered_until is None


def test_state_is_too_old_from_the_day_after_the_stems_keep() -> None:
    """On the last day of its own use a lot is to sell first; too old only after it keeps for none."""
    dates = dated()
    assert dates.sell_by is not None
    assert dates.keeps_until is not None
    assert dates.sell_by <= dates.keeps_until
    assert dated(now=dates.sell_by).state is State.SELL_FIRST
    assert dated(now=dates.sell_by + DAY).state is State.SELL_ELSEWHERE
    assert dated(now=dates.keeps_until.replace(hour=23)).state is not State.TOO_OLD
    assert dated(now=dates.keeps_until + DAY).state is State.TOO_OLD


def test_state_is_too_old_once_tested_bad() -> None:
    """A bad bunch makes the lot too old from that day; its dates stay."""
    bad = (BunchTest(date(2027, 3, 25), Finding.BAD),)
    before, after = dated(tested=bad), dated(now=at(25, month=3), tested=bad)
    assert (before.state, after.state) == (State.KEEP, State.TOO_OLD)
    assert after.sell_by == before.sell_by
    assert "tested_bad" in kinds(after)


def test_state_is_keep_when_orders_to_come_take_all_that_is_left() -> None:
    """Two part orders come to all stems; ten stems more are to sell first."""
    orders = (order(at(9, 6, 30), 60, "event"), order(at(10, 6, 30), 40, "event"))
    now = at(8)
    assert dated(now=now, stems=100, orders=orders).state is State.KEEP
    assert dated(now=now, stems=110, orders=orders).state is State.SELL_FIRST


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


def test_orders_on_a_day_off_their_use_have_an_into_water_by() -> None:
    """A Monday order of a Saturday stall is put in water on the Saturday before the free Sunday."""
    (found,) = dated(use="stall", orders=(order(at(29, 9, month=3), 60, "stall"),)).orders
    assert (found.verdict, found.into_water_by) == (Verdict.USABLE, at(27, 18, month=3))


def test_orders_for_open_lilies_and_roses_can_be_served() -> None:
    """Kept cold until they go into the warm, lilies and roses are sold open."""
    lily = dated(crop="lily", use="table", storage=StorageCode.WATER)
    rose = dated(crop="rose", use="table", storage=StorageCode.DRY)
    assert lily.sell_by is not None
    assert rose.sell_by is not None
    assert (lily.sell_by.date() - CUT.date()).days >= 7
    assert (rose.sell_by.date() - CUT.date()).days >= 8


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
    assert dates.into_water_by == at(29, 18, month=3)
    assert dates.sell_by == at(1)


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
    """Past and still dry: water now, ready eight hours from now; nothing is said of a lot too old."""
    now = at(8, 9, 5)
    dates = dated(now=now)
    assert dates.water_now
    assert dates.ready_from == at(8, 17, 15)
    assert not dated(now=at(20)).water_now


def test_out_by_gives_the_opening_hours_of_stems_in_water() -> None:
    """An iris in water for an open use leaves the cooler 24 hours before, in bench time."""
    dates = dated(crop="iris", use="table", orders=(order(at(24, month=3), use="table"),))
    assert (dates.into_water_by, dates.out_by) == (None, at(23, month=3))


# Early, late


def test_early_and_late_enclose_the_sell_by() -> None:
    """One figure varied at a time, added in quadrature, gives a band around the date; the cap ends it."""
    dates = dated()
    assert (dates.early, dates.sell_by, dates.late) == (at(3), at(8), at(12))


def test_early_is_what_the_basis_early_dates_by() -> None:
    """basis = early takes sell by and keeps until from the early end; orders are judged by practice."""
    orders = (order(at(7), 60),)
    usual, early = dated(orders=orders), dated(make_farm(basis="early"), orders=orders)
    assert early.sell_by == usual.early
    assert early.keeps_until is not None
    assert usual.keeps_until is not None
    assert early.keeps_until < usual.keeps_until
    assert early.orders[0].verdict is Verdict.USABLE
    assert early.orders[0].test_first


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


def test_stretch_ends_where_a_third_more_than_the_life_is_used() -> None:
    """At 41 °F bulb on is stretched to about a month, not to six weeks: those were shown below freezing."""
    warm, cut = trusted_at(41), at(22, 7, month=3)
    alone: dict[str, Any] = {"cut": cut, "in_cooler": cut, "field_c": 5.0, "bulb": True, "use": "event"}
    verdicts = []
    for days in (30, 33, 42):
        departure = datetime.combine(cut.date() + days * DAY, time(6, 30))
        (found,) = dated(warm, orders=(order(departure, 60, "event"),), **alone).orders
        verdicts.append(found.verdict)
    assert verdicts == [Verdict.STRETCHED, Verdict.NOT_FOR, Verdict.NOT_FOR]


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
    """More than ten days after the cut an order after the early moment is tried first, one before is not."""
    assert dated(orders=(order(at(7)),)).test_first
    assert not dated(orders=(order(at(2)),)).test_first
    soon = dated(crop="rose", storage=StorageCode.DRY, orders=(order(at(1)),))
    assert soon.early is not None
    assert soon.early < at(1)
    assert not soon.test_first


def test_test_a_bunch_is_cleared_by_ok_from_its_day_on() -> None:
    """Opened on the day of the task or later the mark goes; the day before does not count."""
    orders = (order(at(7), 60),)
    (day,) = dated(orders=orders).tests_on
    for earlier, left in ((0, ()), (1, (day,))):
        tested = (BunchTest(day - timedelta(days=earlier), Finding.OK),)
        assert dated(orders=orders, tested=tested).tests_on == left
    opened = dated(orders=orders, tested=(BunchTest(day, Finding.OPENED),))
    assert (opened.tests_on, opened.look_at_test_on) == ((day,), day + DAY)


def test_test_a_bunch_is_never_for_stems_in_water() -> None:
    """A bunch of stems that stand in water is there to be looked at."""
    assert not dated(in_water=at(6), now=at(6), orders=(order(at(7), 60),)).test_first


def test_look_for_mould_in_a_dried_lot_that_stays_over_seven_days() -> None:
    """On the fifth workday after the cut somebody looks into a lot that was wet."""
    assert dated(surface=Surface.DRIED).mould_on == date(2027, 3, 27)
    assert dated(surface=Surface.DRIED, orders=(order(at(27, month=3)),)).mould_on is None
    assert dated().mould_on is None


def test_test_first_for_a_stay_over_21_days_for_four_vase_days() -> None:
    """BULB to day 23 for a shop is tried first; for an event, within `early`, it is not."""
    assert dated(bulb=True).test_first
    assert not dated(bulb=True, use="event").test_first


def test_test_first_stands_on_the_workday_six_days_before_the_departure() -> None:
    """Six days before Saturday 10 April is Sunday, so the Saturday before."""
    dates = dated(use="event", orders=(order(at(10, 6, 30), 60, "event"), order(at(15, 6, 30), 60, "event")))
    assert dates.tests_on == (date(2027, 4, 3), date(2027, 4, 9))


def test_test_first_never_stands_before_the_first_workday_after_the_cut() -> None:
    """Bulb-on irises, hardly tried, for Saturday are tried on the day after their cut."""
    iris: dict[str, Any] = {"crop": "iris", "bulb": True}
    dates = dated(use="event", orders=(order(at(27, 6, 30, month=3), use="event"),), **iris)
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
    judge = view_of(make_lot(**alone), farm, CROPS, NOW).judge
    days = next(
        n / 24 for n in range(10 * 24, 42 * 24) if judge.vase_days(cut + DAY * (n / 24), USES["shop"]) < 4
    )
    assert 17.5 <= days <= 21
    assert stay(dated(farm, **alone)) == int(days)
    assert stay(dated(farm, bulb=True, **alone)) > 21
    assert stay(dated(farm, use="event", **alone)) == 20  # 34 days at 0 °C are 20.9 at 40 °F
    stretched = order(at(17, 6, 30), 60, "event")
    assert dated(farm, use="event", orders=(stretched,), **alone).orders[0].verdict is Verdict.STRETCHED
