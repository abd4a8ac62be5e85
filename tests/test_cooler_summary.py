"""What is told about a cooler: its lots, its figures, and its dial."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import date, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tagmaker.farm import Cooler
from tagmaker.lot import Lot, Move, Stage, StorageCode, Surface
from tagmaker.storage.air import Gap, plain_spells, read_air
from tagmaker.storage.climate import DIAL_MARGIN_C, HIGH_C, dew_point_c, saturation_pa, vapour_deficit_pa
from tagmaker.storage.cooler_stretch import BAND_EDGES_C
from tagmaker.storage.cooler_summary import CoolerSummary, Look, LotChange
from tagmaker.storage.dial import Dial
from tagmaker.storage.history import Spell
from tagmaker.storage.readings import Readings, SetAside
from tests.cooler_stories import DAY, HOUR, NOW, barn_set_to, broken_door, by_hand, logged, story, swinging
from tests.farms import celsius, make_farm, make_lot
from tests.paper_samples import sample_dates

QUARTERS = 15 * timedelta(minutes=1)


def peony(**changes: object) -> Lot:
    """A lot of peonies, which freeze at -1.1 °C."""
    return make_lot(**{"lot_code": "P1", "crop": "peony", "stage": Stage.TIGHT, **changes})


def zinnia(**changes: object) -> Lot:
    """A lot of zinnias, which are harmed below 5 °C."""
    return make_lot(**{"lot_code": "Z1", "crop": "zinnia", "stage": Stage.OPEN, **changes})


def codes(summary: CoolerSummary) -> list[str]:
    """The lots of a summary, in its order."""
    return [lot.read.lot.lot_code for lot in summary.lots]


# ---- the lots


def test_only_the_lots_that_stand_in_the_cooler_are_its_own() -> None:
    """Lots elsewhere, outside, used up, still wet or soaking in the shed are left out."""
    farm = make_farm()
    shed = replace(farm.coolers["barn"], soak_inside=False)
    farm = replace(farm, coolers={"barn": shed, "porch": Cooler(name="porch")})
    away = Move(since=NOW - DAY, place="porch")
    lots = [
        make_lot(lot_code="IN"),
        make_lot(lot_code="ELSEWHERE", cooler="porch"),
        make_lot(lot_code="MOVED", moves=(away,)),
        make_lot(lot_code="OUT", moves=(Move(since=NOW - HOUR, place="out"),)),
        make_lot(lot_code="BACK", moves=(away, Move(since=NOW - HOUR, place="barn"))),
        make_lot(lot_code="GONE", gone=300),
        make_lot(lot_code="WET", in_cooler=None),
        make_lot(lot_code="SOAKING", in_water=NOW - HOUR),
        make_lot(lot_code="IN-WATER", storage=StorageCode.WATER),
    ]
    assert sorted(codes(story(lots=lots, farm=farm))) == ["BACK", "IN", "IN-WATER"]


def test_a_warm_week_takes_days_and_a_cold_one_gives_some() -> None:
    """Peonies that count at 41 °F without readings lose days at 45 °F and gain some at 34 °F."""
    (warm,) = story(logged(celsius(45), days=12), [peony()]).lots
    (cold,) = story(logged(celsius(34), days=12), [peony()]).lots
    assert warm.days is not None
    assert cold.days is not None
    assert warm.days < 0 < cold.days
    assert (warm.lost, cold.lost, warm.moved, cold.moved) == (True, False, True, True)


def test_the_lots_that_lose_most_come_first() -> None:
    """Then those that gain most, then the unmoved ones."""

    def change(code: str, read: int | None, assumed: int | None = 10) -> LotChange:
        lot = make_lot(lot_code=code)
        read_on, assumed_on = (day and datetime(2027, 4, day, 8) for day in (read, assumed))
        return LotChange(
            read=sample_dates(lot, sell_by=read_on), assumed=sample_dates(lot, sell_by=assumed_on)
        )

    assert [change("A", 8).days, change("A", 12).days, change("A", None).days] == [-2, 2, None]
    assert (change("A", None).lost, change("A", None).moved) == (True, True)
    assert (change("A", 9, None).lost, change("A", 9, None).moved) == (False, True)
    assert (change("A", None, None).lost, change("A", None, None).moved) == (False, False)
    readings = logged(celsius(45), days=12)
    found = story(readings, [make_lot(lot_code="T"), peony(), peony(lot_code="P0", cut=NOW - 2 * DAY)])
    assert [lot.days for lot in found.lots] == sorted(lot.days or 0 for lot in found.lots)


def test_minutes_do_not_make_a_day() -> None:
    """Two sell-bys on one day at different hours are the same day."""
    early, late = (sample_dates(sell_by=datetime(2027, 4, 8, hour)) for hour in (6, 18))
    assert (LotChange(read=early, assumed=late).days, LotChange(read=early, assumed=late).moved) == (0, False)


# ---- plain readings


def test_a_reading_stands_for_half_the_way_to_its_neighbours() -> None:
    """Steps of one and two hours are bridged, three hours are not, and what came before is left out."""
    start = datetime(2027, 3, 10)
    moments = tuple(start + hours * HOUR for hours in (0, 1, 2, 4, 7, 8))
    readings = Readings(cooler="barn", moments=moments, t_c=(9, 1, -2, 3, 4, 5))
    expected = [
        (1, 1.5, 1),
        (1.5, 3, -2),
        (3, 4, 3),
        (7, 7.5, 4),
        (7.5, 8, 5),
    ]
    assert plain_spells(readings, (), start + HOUR) == tuple(
        Spell(start + first * HOUR, start + last * HOUR, t_c) for first, last, t_c in expected
    )


@given(st.lists(st.floats(-5, 30), min_size=2, max_size=60))
def test_plain_spells_have_the_mean_of_straight_lines(t_c: list[float]) -> None:
    """Half way to each side gives the area under the line through the readings."""
    moments = tuple(NOW + n * HOUR for n in range(len(t_c)))
    spells = plain_spells(Readings(cooler="barn", moments=moments, t_c=tuple(t_c)))
    area = sum((spell.end - spell.start) / HOUR * spell.t_c for spell in spells)
    assert area == pytest.approx(sum(t_c) - (t_c[0] + t_c[-1]) / 2, abs=1e-9)


def test_looks_fill_what_the_logger_leaves_open() -> None:
    """Hand readings inside a gap are among the plain spells, in order of time."""
    hole = (NOW - 3 * DAY, NOW - DAY)
    readings = logged(4.0, days=5, without=hole)
    air = read_air(make_farm().coolers["barn"], readings, by_hand(2.0, 9.0))
    spells = plain_spells(readings, air.looks, NOW - 4 * DAY)
    assert [spell.start for spell in spells] == sorted(spell.start for spell in spells)
    assert {spell.t_c for spell in spells if hole[0] < spell.start < hole[1]} == {2.0, 9.0}
    assert {spell.t_c for spell in spells if spell.start < hole[0] - QUARTERS} == {4.0}


# ---- the figures


def test_the_coldest_reading_is_told_as_cold_as_it_was() -> None:
    """Ageing takes nothing below 0 °C into account; a minimum and the frost do."""
    readings = logged(lambda moment: -3.0 if moment.hour < 2 else 4.0)
    week = story(readings, [peony()]).week
    assert week is not None
    assert (week.low_c, week.high_c) == (-3.0, 4.0)
    assert week.frost_h == pytest.approx(7 * 2)


def test_frost_begins_half_a_degree_above_the_freezing_point_of_the_tenderest() -> None:
    """Peonies freeze at −1.1 °C: −0.6 counts, −0.5 does not; with tulips alone (−1.7 °C) neither."""
    for t_c, lot, hours in ((-0.6, peony(), 168.0), (-0.5, peony(), 0.0), (-0.6, make_lot(), 0.0)):
        week = story(logged(t_c), [make_lot(), lot]).week
        assert week is not None
        assert week.frost_h == pytest.approx(hours)


def test_an_empty_cooler_has_no_frost() -> None:
    """Nothing inside: no limit, no hours, no advice on the dial."""
    found = story(logged(-3.0), [])
    assert found.week is not None
    assert (found.week.frost_h, found.week.chill_h, found.tender, found.dial) == (None, None, None, None)


def test_chilling_counts_only_for_crops_that_are_chilled() -> None:
    """Zinnias are harmed below 5 °C, not at it; tulips have no such limit."""
    readings = logged(lambda moment: 4.9 if moment.hour == 3 else 5.0)
    week, tulips = story(readings, [make_lot(), zinnia()]).week, story(readings).week
    assert week is not None
    assert tulips is not None
    assert week.chill_h == pytest.approx(7.0)
    assert tulips.chill_h is None


def test_a_constant_log_is_constant_in_every_figure() -> None:
    """Lowest, mean, highest, equivalent and kinetic are the one temperature; it swings by nothing."""
    week = story(logged(4.5)).week
    assert week is not None
    assert (week.low_c, week.high_c, week.swing_c, week.longest) == (4.5, 4.5, 0, None)
    for figure in (week.mean_c, week.equivalent_c, week.kinetic_c):
        assert figure == pytest.approx(4.5, abs=1e-9)


def test_a_broken_door_night() -> None:
    """Nine hours at 18 °C: warm hours, the longest stretch and the worst day's kinetic mean show it."""
    week = story(logged(broken_door)).week
    assert week is not None
    assert week.longest is not None
    assert week.longest.high_c == 18.0
    assert week.warm_h == pytest.approx((week.longest.end - week.longest.start) / HOUR)
    assert week.warm_h == pytest.approx(8.75)  # 21:15 to 5:45, and half a step to each side
    assert week.kinetic_c > 10 > week.mean_c


def test_45_degrees_fahrenheit_is_not_warmer_than_itself() -> None:
    """A reading of exactly 45 °F is no excursion, 45.1 °F is."""
    at, above = (story(logged(celsius(fahrenheit))).week for fahrenheit in (45, 45.1))
    assert at is not None
    assert above is not None
    assert at.warm_h == 0
    assert above.warm_h == pytest.approx(168)


def test_the_week_ages_stems_as_the_dates_say() -> None:
    """The equivalent of the plain readings is the one that the dates take for the days to come."""
    readings = logged(broken_door, days=7)
    found = story(readings)
    air = read_air(found.cooler, readings)
    assert found.week is not None
    assert found.week.equivalent_c == pytest.approx(air.recent_c, abs=1e-9)
    assert found.counted_c == air.after_c


@given(st.lists(st.floats(-4, 25), min_size=3, max_size=40))
def test_the_hours_of_the_bands_are_all_the_hours(t_c: list[float]) -> None:
    """Each hour read is in one band; an edge belongs to the colder one."""
    moments = tuple(NOW - (len(t_c) - 1 - n) * HOUR for n in range(len(t_c)))
    week = story(Readings(cooler="barn", moments=moments, t_c=tuple(t_c))).week
    assert week is not None
    assert len(week.band_h) == len(BAND_EDGES_C) + 1
    assert sum(week.band_h) == pytest.approx(week.read_h)
    assert week.band_h[-2] + week.band_h[-1] == pytest.approx(week.warm_h)
    assert BAND_EDGES_C[-2] == HIGH_C


def test_an_ordinary_swing_is_not_the_day_of_the_broken_door() -> None:
    """The middle one of the daily swings: 4 °F, though one day had 25."""
    week = story(logged(broken_door)).week
    assert week is not None
    assert week.swing_c * 1.8 == pytest.approx(4.0, abs=0.1)


def test_a_week_has_no_month_and_ten_days_have_one() -> None:
    """The longer stretch is told where more than the week was read, and never more than 28 days."""
    assert story(logged(4.0, days=7)).month is None
    ten, year = story(logged(4.0, days=10)).month, story(logged(4.0, days=60, step=HOUR))
    assert ten is not None
    assert year.month is not None
    assert (ten.end - ten.start, year.month.end - year.month.start) == (10 * DAY, 28 * DAY)
    assert len(year.days) == 28
    assert (year.days[0].day, year.days[-1].day) == (date(2027, 3, 5), date(2027, 4, 1))


def test_one_reading_is_none() -> None:
    """A single moment has no length: the cooler counts as unread."""
    found = story(Readings(cooler="barn", moments=(NOW,), t_c=(4.0,)))
    assert (found.week, found.read_until, found.counted_c) == (None, None, 5.0)


def test_hand_readings_are_told_as_they_were_written_down() -> None:
    """Looks are put together again; LOW and HIGH in turns are no warm stretches."""
    hands = by_hand(2.0, 9.0)
    found = story(hands=hands)
    assert found.week is not None
    assert (found.by_hand, found.runs, found.week.longest) == (True, (), None)
    assert found.looks == (Look(hands[0].moment, hands[-1].moment, 2.0, 9.0),)
    assert found.week.warm_h == pytest.approx(84)
    warmer = [replace(look, high_c=11.0) if n == 3 else look for n, look in enumerate(hands)]
    assert story(hands=warmer).looks == (
        Look(hands[0].moment, hands[2].moment, 2.0, 9.0),
        Look(hands[2].moment, hands[3].moment, 2.0, 11.0),
        Look(hands[3].moment, hands[-1].moment, 2.0, 9.0),
    )


def test_a_run_ends_where_the_next_reading_is_too_far() -> None:
    """A hole of three hours cuts the line in two, one of two hours does not."""
    middle = NOW - 2 * DAY
    holed = story(logged(swinging, without=(middle, middle + 3 * HOUR)))
    bridged = story(logged(swinging, without=(middle, middle + 2 * HOUR)))
    assert [len(holed.runs), len(bridged.runs)] == [2, 1]
    assert (holed.runs[0][-1][0], holed.runs[1][0][0]) == (middle, middle + 3 * HOUR)


# ---- humidity


def test_humidity_agrees_with_the_formulas_at_a_constant() -> None:
    """Mean humidity, dew point and deficit of steady air are those of the air."""
    found = story(logged(4.0, rh=lambda _: 90.0))
    assert found.week is not None
    air = found.week.humidity
    assert air is not None
    assert air.mean_rh == pytest.approx(90)
    assert air.dew_point_c == pytest.approx(dew_point_c(4.0, 90.0), abs=1e-6)
    assert air.deficit_pa == pytest.approx(vapour_deficit_pa(4.0, 90.0))
    assert air.mould_h == 0


def test_saturated_air_that_swings_has_a_dew_point_and_no_deficit() -> None:
    """100 % at every temperature: the vapour is the mean of the saturated ones."""
    found = story(logged(lambda moment: 2.0 if moment.hour % 2 else 6.0, rh=lambda _: 100.0))
    assert found.week is not None
    air = found.week.humidity
    assert air is not None
    assert air.deficit_pa == pytest.approx(0, abs=1e-6)
    assert saturation_pa(air.dew_point_c) == pytest.approx(
        (saturation_pa(2) + saturation_pa(6)) / 2, rel=2e-3
    )
    assert air.mould_h == pytest.approx(168)


def test_missing_humidity_is_left_out() -> None:
    """Blanks and zeros are no humidity; a log of nothing else has none."""
    found = story(logged(4.0, rh=lambda moment: (80.0, None, 0.0, 90.0)[moment.minute // 15]))
    nothing = story(logged(4.0, rh=lambda _: None))
    assert found.week is not None
    assert found.week.humidity is not None
    assert nothing.week is not None
    assert found.week.humidity.mean_rh == pytest.approx(85, abs=0.1)
    assert (nothing.week.humidity, nothing.damp) == (None, ())


# ---- gaps and warnings


def test_a_power_cut_is_told_until_it_is_four_weeks_old() -> None:
    """Ten hours without readings: a gap, and a note with what is counted."""
    cut = (NOW - 2 * DAY, NOW - 2 * DAY + 10 * HOUR)
    found = story(logged(swinging, days=12, without=cut))
    assert found.gaps == (Gap(*cut, 10.0),)
    assert [note.macro() for note in found.notes] == ["power_cut"]
    old = story(logged(swinging, days=40, without=(NOW - 30 * DAY, NOW - 29 * DAY)))
    assert (old.gaps, old.notes) == ((), ())


def test_a_log_that_ended_more_than_a_day_ago_is_told() -> None:
    """A day is not more than a day; hand readings after the log go on."""
    kinds = {
        hours: [note.macro() for note in story(logged(celsius(36), until=NOW - hours * HOUR)).notes]
        for hours in (24, 25)
    }
    assert kinds == {24: [], 25: ["log_ended"]}
    ended = logged(celsius(36), until=NOW - 3 * DAY)
    assert story(ended, hands=by_hand(celsius(35), celsius(37))).notes == ()


@pytest.mark.parametrize(
    ("t_c", "kinds"), [(5.9, []), (6.1, ["log_off_set_point"]), (1.9, ["log_off_set_point"])]
)
def test_a_mean_two_degrees_off_the_set_point_is_told(t_c: float, kinds: list[str]) -> None:
    """Set to 4 °C: 1.9 degrees are not more than two."""
    assert [note.macro() for note in story(logged(t_c), farm=barn_set_to(4.0)).notes] == kinds


def test_what_was_set_aside_is_counted_by_reason() -> None:
    """Also where nothing else was read."""
    aside: dict[str, int] = {SetAside.JUMP: 2, SetAside.NO_READING: 7}
    assert story(replace(logged(4.0), set_aside=aside)).set_aside == aside
    assert story(Readings(cooler="barn", moments=(), t_c=(), set_aside=aside)).set_aside == aside


# ---- the dial


def dial(found: CoolerSummary) -> Dial:
    """The advice, which must be there."""
    assert found.dial is not None
    return found.dial


def test_the_dial_goes_as_cold_as_the_tenderest_crop_bears() -> None:
    """Set to 4.5 °C, coldest 3 °C, peonies −1.1 °C: 3.6 colder in theory, 3.5 on a dial of half degrees."""
    readings = logged(lambda moment: 3.0 if moment.hour < 3 else 5.0)
    advice = dial(story(readings, [make_lot(), peony()], farm=barn_set_to(4.5, "C")))
    assert advice.set_c == pytest.approx(1.0)
    assert advice.change_c == pytest.approx(-3.5)
    assert (advice.tender.keeping.crop, advice.tender.limit_c, advice.lowest_c) == ("peony", -1.1, 3.0)


def test_a_fahrenheit_dial_has_whole_degrees() -> None:
    """Set to 40 °F, coldest 39 °F: the peony's 30.02 °F and 0.9 °F kept make 32 °F, not 31.92 °F."""
    advice = dial(story(logged(celsius(39)), [peony()], farm=barn_set_to(celsius(40))))
    assert advice.set_c * 1.8 + 32 == pytest.approx(32)


def test_nothing_colder_than_freezing_is_advised() -> None:
    """Tulips bear −1.7 °C, but below 0 °C nothing is gained."""
    advice = dial(story(logged(4.0), [make_lot()], farm=barn_set_to(2.0, "C")))
    assert advice.set_c == pytest.approx(0)
    bulbs = make_lot(bulb=True)
    assert dial(story(logged(-0.5), [bulbs], farm=barn_set_to(-0.5, "C"))).change_c == 0


def test_the_gain_is_the_life_at_the_new_temperature_minus_that_at_the_old() -> None:
    """Stock lasts 17.4 days at 0 °C, kept dry; three times as fast at 10 °C; no more than its cap of 14."""
    stock = make_lot(crop="stock", stage=Stage.COLOURED)
    advice = dial(story(logged(6.0), [stock], farm=barn_set_to(6.0, "C")))
    (gain,) = advice.gains
    assert advice.set_c == pytest.approx(0)
    assert gain.days_now == pytest.approx(17.4 / 3**0.6)
    assert gain.days_then == pytest.approx(17.4)
    assert gain.days == pytest.approx(14 - 17.4 / 3**0.6)


def test_a_fridge_that_came_too_near_is_to_be_set_warmer() -> None:
    """Set to 1 °C, coldest −1.5 °C: peonies want it 0.9 °C warmer, on the dial 1 °C; days are given up."""
    readings = logged(lambda moment: -1.5 if moment.hour < 3 else 3.0)
    advice = dial(story(readings, [peony()], farm=barn_set_to(1.0, "C")))
    assert advice.change_c == pytest.approx(1.0)
    assert all(gain.days_then < gain.days_now for gain in advice.gains)


def test_a_chilling_limit_is_warmer_than_any_freezing_point() -> None:
    """Zinnias at 5 °C set the limit for the tulips beside them."""
    advice = dial(story(logged(7.0), [make_lot(), zinnia()], farm=barn_set_to(8.0, "C")))
    assert (advice.tender.keeping.crop, advice.tender.chilled) == ("zinnia", True)
    assert advice.set_c == pytest.approx(6.5)


@given(
    st.floats(-1, 9),
    st.floats(-3, 9),
    st.sampled_from(["F", "C", None]),
    st.sampled_from([peony, zinnia, make_lot]),
)
def test_no_advice_takes_the_coldest_reading_near_a_limit(
    set_c: float, lowest: float, units: str | None, lot: Callable[[], Lot]
) -> None:
    """Whatever the dial and the swing: what is advised keeps half a degree above the limit."""
    readings = logged(lambda moment: lowest if moment.hour < 3 else lowest + 3, days=2, step=HOUR)
    advice = dial(story(readings, [lot()], farm=barn_set_to(set_c, units)))
    if advice.change_c:
        assert advice.lowest_c + advice.change_c >= advice.tender.limit_c + DIAL_MARGIN_C - 1e-5
    else:
        assert advice.lowest_c >= advice.tender.limit_c + DIAL_MARGIN_C - 1e-5
    assert advice.set_c >= min(0.0, set_c) - 1e-6


@pytest.mark.parametrize(
    "coming",
    [
        {"in_cooler": None, "surface": Surface.WET},  # still fanned
        {"moves": (Move(since=NOW - DAY, place="out"),)},  # on the market, back tonight
        {"cooler": "south", "moves": (Move(since=NOW + DAY, place="barn"),)},
    ],
)
def test_the_dial_minds_what_is_still_to_come_in(coming: dict[str, object]) -> None:
    """Daffodils freeze at −0.1 °C: the dial stays half a degree above that for lots on their way too."""
    daffodils = make_lot(**{"lot_code": "N1", "crop": "narcissus", "use": "shop", **coming})
    farm = barn_set_to(4.0, "C")
    farm = replace(farm, coolers={**farm.coolers, "south": replace(farm.coolers["barn"], name="south")})
    alone = dial(story(logged(4.0), [make_lot()], farm=farm))
    advice = dial(story(logged(4.0), [make_lot(), daffodils], farm=farm))
    assert (alone.set_c, advice.set_c) == (0, 0.5)
    assert advice.tender.keeping.crop == "narcissus"
    gone = replace(daffodils, gone=300)
    assert dial(story(logged(4.0), [make_lot(), gone], farm=farm)).set_c == 0


def test_no_setting_is_advised_that_is_itself_below_freezing() -> None:
    """A dial that says −3 °C where it is 2 °C: peonies freeze at −1.1 °C, so it goes to −1 °C."""
    assert dial(story(logged(2.0), [peony()], farm=barn_set_to(-3.0, "C"))).set_c == pytest.approx(-1.0)


def test_no_advice_without_a_set_point_or_a_day_of_readings_or_from_last_month() -> None:
    """It takes a dial, the swing of a day, and readings that are about now."""
    assert story(logged(4.0), farm=barn_set_to(None)).dial is None
    assert story(logged(4.0, days=0.9)).dial is None
    assert story(logged(4.0, until=NOW - 8 * DAY)).dial is None
    assert story().dial is None
    assert story(logged(4.0, until=NOW - 6 * DAY)).dial is not None
