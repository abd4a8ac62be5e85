"""Room in the coolers: crates and buckets, the day's peak, and what to move first."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, datetime, timedelta
from fractions import Fraction
from math import ceil
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tagmaker.farm import Farm
from tagmaker.lot import Lot, Move, State, StorageCode
from tagmaker.storage.dating import date_lots
from tagmaker.storage.planning import as_planned, plan_lots
from tagmaker.storage.room import Overfull, RoomDay, fits_until, overfull, room
from tagmaker.telling.overflow import overflow_note
from tagmaker.telling.wording import Wording
from tests.farms import COOLERS, CROPS, CUT, NOW, dated, make_farm, make_lot, order

# One fridge takes three crates of 12 bunches of 10, or two buckets of about 80 stems, in the same
# space: common practice, no source.
FRIDGE = make_farm(coolers={"barn": replace(COOLERS["barn"], crates=3, buckets=2)})
# The same where stems that are put in water leave it.
DRY_FRIDGE = make_farm(coolers={"barn": replace(FRIDGE.coolers["barn"], soak_inside=False)})


def today(*lots: Lot, farm: Farm = FRIDGE, now: datetime = NOW, days: int = 1) -> RoomDay:
    """The fullest moment of the last of some days."""
    return room(date_lots(lots, farm, CROPS, now), farm, CROPS, now, days)[-1]


def dry(stems: int, code: str = "041", **more: Any) -> Lot:
    """Dry tulips."""
    return make_lot(lot_code=code, stems=stems, **more)


def wet(stems: int, code: str = "042", **more: Any) -> Lot:
    """Tulips in water."""
    return make_lot(lot_code=code, stems=stems, storage=StorageCode.WATER, **more)


def test_room_fits_one_crate_and_one_bucket() -> None:
    """1/3 + 1/2 of a fridge is not full."""
    found = today(dry(120), wet(80))
    assert (found.crates, found.buckets, found.overflow) == (1, 1, ())
    assert found.fill == pytest.approx(5 / 6)


def test_room_does_not_fit_two_crates_and_one_bucket() -> None:
    """2/3 + 1/2 is over-full, and the lot that sells first is to be moved first."""
    found = today(dry(240), wet(80))
    assert (found.crates, found.buckets, found.overflow) == (2, 1, ("042",))


def test_room_takes_360_stems_dry_against_160_in_water() -> None:
    """Three crates or two buckets fill a fridge to the brim."""
    assert (today(dry(360)).fill, today(wet(160)).fill) == (1.0, 1.0)
    assert today(dry(361)).overflow == ("041",)
    assert today(wet(161)).overflow == ("042",)


def test_room_of_bulb_on_stems_is_sixty_a_crate() -> None:
    """Bulbs take the room of twice the stems (common practice, no source)."""
    assert today(dry(360, bulb=True)).crates == 6


def test_room_is_rounded_up_once() -> None:
    """Three lots of half a crate take two crates, not three."""
    assert today(*(dry(60, code) for code in ("041", "043", "044"))).crates == 2


def test_room_keeps_daffodils_in_buckets_of_their_own() -> None:
    """Half a bucket of tulips and half of daffodils are two buckets: they never share water."""
    daffodils = make_lot(lot_code="050", crop="narcissus", stems=50, storage=StorageCode.WATER)
    assert today(wet(40), daffodils).buckets == 2
    assert today(wet(40), wet(40, "043")).buckets == 1


def test_room_with_a_space_of_their_own_counts_the_fuller_kind() -> None:
    """Where crates and buckets do not share space, 2/3 and 1/2 fit."""
    apart = make_farm(coolers={"barn": replace(FRIDGE.coolers["barn"], shared=False)})
    found = today(dry(240), wet(80), farm=apart)
    assert (found.fill, found.overflow) == (2 / 3, ())


def test_room_that_is_not_set_is_unlimited() -> None:
    """Without figures for a cooler nothing overflows."""
    found = today(dry(12000), farm=make_farm())
    assert (found.crates, found.fill, found.overflow) == (100, None, ())


def test_room_counts_stems_put_in_water_as_buckets_unless_they_soak_outside() -> None:
    """A dry lot put in water moves from crates to buckets, or out of the cooler."""
    soaking = dry(80, in_water=NOW)
    assert (today(soaking).crates, today(soaking).buckets) == (0, 1)
    outside = make_farm(coolers={"barn": replace(FRIDGE.coolers["barn"], soak_inside=False)})
    found = today(soaking, farm=outside)
    assert (found.crates, found.buckets) == (0, 0)


def test_room_is_the_peak_of_the_day() -> None:
    """Stems that go into water at six fill a bucket that evening, though dry until then."""
    evening = dry(160, orders=(order(datetime(2027, 3, 24, 8), 160),))
    found = today(evening)
    assert (found.crates, found.buckets, found.fill) == (0, 2, 1.0)


def test_room_is_free_again_when_an_order_has_left() -> None:
    """The day after an order for the whole lot the cooler is empty."""
    found = today(dry(120, orders=(order(datetime(2027, 3, 24, 8)),)), days=3)
    assert (found.crates, found.buckets) == (0, 0)


def test_room_follows_a_lot_that_moves() -> None:
    """From the day of a move the other cooler holds the crates."""
    farm = make_farm(coolers={**FRIDGE.coolers, "south": replace(COOLERS["barn"], name="south")})
    moved = dry(120, moves=(Move(since=datetime(2027, 3, 24, 9), place="south"),))
    days = room(date_lots([moved], farm, CROPS, NOW), farm, CROPS, NOW, 3)
    assert [(day.cooler, day.crates) for day in days] == [
        ("barn", 1),
        ("barn", 1),
        ("barn", 0),
        ("south", 0),
        ("south", 1),
        ("south", 1),
    ]


def runs(
    *lots: Lot, planned: tuple[Lot, ...] = (), farm: Farm = DRY_FRIDGE, days: int = 42
) -> list[Overfull]:
    """The runs of days on which some lots are too many."""
    to_come = as_planned(plan_lots(planned, farm, CROPS, NOW), farm, CROPS)
    return list(overfull(date_lots(lots, farm, CROPS, NOW), farm, CROPS, NOW, days, to_come))


def said(run: Overfull) -> str:
    """A run as a grower reads it."""
    return Wording("C").say(overflow_note(run))


def test_room_overflow_is_one_run_of_days_with_what_to_sell_first() -> None:
    """Six crates in a fridge for three, until the lot that sells first has gone."""
    first, last = dry(240, "109"), dry(240, "202", bulb=True)
    (run,) = runs(first, last)
    assert (run.first, run.crates, run.buckets, run.sell) == (NOW.date(), 3, 0, ("109", "202"))
    days = room(date_lots((first, last), DRY_FRIDGE, CROPS, NOW), DRY_FRIDGE, CROPS, NOW)
    over = [day.day for day in days if day.overflow]
    assert (len(days), run.first, run.last) == (42, over[0], over[-1])
    assert len(over) == (over[-1] - over[0]).days + 1
    assert said(replace(run, first=date(2027, 4, 18), last=date(2027, 4, 24), crates=5)) == (
        "barn, 18–24 Apr: 5 crates too many. Selling 109 and 202 first makes room."
    )


@pytest.mark.parametrize(
    ("last", "words"),
    [(date(2027, 4, 28), "28 Apr"), (date(2027, 4, 30), "28–30 Apr"), (date(2027, 5, 3), "28 Apr – 3 May")],
)
def test_room_writes_a_run_of_days_as_short_as_it_is_clear(last: date, words: str) -> None:
    """A day, days of one month, days of two."""
    (run,) = runs(dry(480), days=1)
    assert said(replace(run, first=date(2027, 4, 28), last=last)).startswith(
        f"barn, {words}: 1 crate too many"
    )


def test_room_names_only_as_many_lots_as_make_room() -> None:
    """One crate too many of four lots: the one that sells first is enough, and without it all fits."""
    lots = [dry(120, "040", use="shop"), *(dry(120, code, use="event") for code in ("041", "043", "044"))]
    (run,) = runs(*lots)
    assert (run.crates, run.sell) == (1, ("040",))
    assert runs(*lots[1:]) == []


def test_room_never_tells_to_sell_what_is_promised() -> None:
    """Stems for an order may only be moved."""
    promised = dry(480, "041", orders=(order(datetime(2027, 3, 27, 8)),))
    (run,) = runs(promised)
    assert (run.sell, run.move) == ((), ("041",))
    assert said(run).endswith("crate too many. Moving 041 to another cooler makes room.")


def test_room_never_tells_to_sell_what_is_too_old() -> None:
    """It is thrown out, before anything is sold; stems that froze are neither sold nor thrown out."""
    old, sound = dated(FRIDGE, lot_code="044", stems=240), dated(FRIDGE, lot_code="041", stems=360)
    old = replace(old, state=State.TOO_OLD, sell_by=None)
    (run,) = overfull([sound, old], FRIDGE, CROPS, NOW, 1)
    assert (run.throw_out, run.sell, run.move) == (("044",), (), ())
    assert said(run).endswith("Throwing out 044 makes room.")
    (run,) = overfull([replace(sound, lot=dry(480)), old], FRIDGE, CROPS, NOW, 1)
    assert said(run).endswith("Throwing out 044 and selling 041 first makes room.")
    frozen = replace(old, state=State.NO_DATE)
    (run,) = overfull([sound, frozen], FRIDGE, CROPS, NOW, 1)
    assert (run.throw_out, "044" in run.sell) == ((), False)


def test_room_counts_plans_from_their_day_in_the_advised_way() -> None:
    """Three crates of tulips planned for Thursday beside one that stands there: one too many from then on."""
    thursday = datetime(2027, 3, 25, 8)
    saturday = order(datetime(2027, 4, 3, 8))
    plan = dry(360, "P-1", cut=thursday, planned=True, stage=None, orders=(saturday,), bulb=False)
    (run,) = runs(dry(120), planned=(plan,))
    assert (run.first, run.crates, run.plans, run.sell) == (thursday.date(), 1, ("P-1",), ("041",))
    (alone,) = runs(planned=(replace(plan, stems=480),))
    assert (alone.sell, alone.move) == ((), ())
    assert said(alone).endswith("Cut P-1 later, or for another cooler.")


def test_room_counts_a_plan_without_advice_the_way_that_takes_most() -> None:
    """An order far too late: in a fridge for two buckets or three crates, 120 stems fill one crate of three
    dry, two with the bulb on, and three quarters of the fridge in water.
    """
    late = order(datetime(2027, 6, 30, 8))
    plan = dry(120, "P-1", cut=datetime(2027, 3, 25, 8), planned=True, stage=None, orders=(late,))
    for bulb, kept in ((False, StorageCode.WATER), (None, StorageCode.WATER), (True, StorageCode.BULB)):
        (advised,) = plan_lots([replace(plan, bulb=bulb)], FRIDGE, CROPS, NOW)
        (stands,) = as_planned([advised], FRIDGE, CROPS)
        assert (advised.advice, stands.kept, stands.left) == (None, kept, 120)
    roomy = make_farm(coolers={"barn": replace(FRIDGE.coolers["barn"], buckets=9)})
    (stands,) = as_planned(plan_lots([plan], roomy, CROPS, NOW), roomy, CROPS)
    assert stands.kept is StorageCode.BULB


def test_room_counts_each_order_of_a_plan_its_own_way_and_the_rest_the_first() -> None:
    """Sixty stems for Saturday stand in water, sixty for the week after dry, and what is left dry."""
    orders = (order(datetime(2027, 3, 27, 8), 60), order(datetime(2027, 4, 3, 8), 60))
    plan = dry(300, "P-1", cut=datetime(2027, 3, 25, 8), planned=True, stage=None, orders=orders, bulb=False)
    stands = as_planned(plan_lots([plan], FRIDGE, CROPS, NOW), FRIDGE, CROPS)
    assert [(dates.kept.value, dates.left) for dates in stands] == [("WATER", 60), ("DRY", 60), ("DRY", 180)]


@pytest.mark.parametrize(
    ("cooler", "crates", "buckets", "expected"),
    [
        ({"crates": 3, "buckets": 2}, 4, 0, (1, 0)),
        ({"crates": 3, "buckets": 2}, 2, 1, (1, 0)),
        ({"crates": 3, "buckets": 2}, 1, 3, (1, 1)),
        ({"crates": 3, "buckets": 2, "shared": False}, 5, 3, (2, 1)),
        ({"crates": 3}, 5, 9, (2, 0)),
        ({"buckets": 2}, 5, 9, (0, 7)),
    ],
)
def test_room_says_how_many_are_too_many(
    cooler: dict[str, Any], crates: int, buckets: int, expected: tuple[int, int]
) -> None:
    """Crates go first, then buckets, until the rest fits; arithmetic."""
    limits = make_farm(coolers={"barn": replace(COOLERS["barn"], **cooler)})
    stems = [dry(crates * 120)] if crates else []
    (run,) = runs(*stems, wet(buckets * 80), farm=limits, days=1)
    assert (run.crates, run.buckets) == expected


def test_room_of_a_lot_past_its_sell_by_is_taken_while_it_keeps() -> None:
    """It stands there until another outlet takes it, or until it is too old."""
    gone_by = dated(FRIDGE, stems=120)
    kept = replace(gone_by, sell_by=datetime(2027, 3, 20, 8), keeps_until=datetime(2027, 3, 26, 8))
    days = room([kept], FRIDGE, CROPS, NOW, 6)
    assert [day.crates for day in days] == [1, 1, 1, 1, 0, 0]
    assert [day.crates for day in room([replace(kept, keeps_until=None)], FRIDGE, CROPS, NOW, 3)] == [1, 0, 0]


@given(
    st.lists(
        st.tuples(
            st.integers(1, 400),
            st.sampled_from(["tulip", "narcissus", "stock"]),
            st.booleans(),
            st.integers(-3, 20),
            st.integers(1, 20),
        ),
        min_size=1,
        max_size=6,
    )
)
@settings(max_examples=40, deadline=None)
def test_room_is_what_counting_every_hour_gives(
    rows: list[tuple[int, str, bool, int, int]],
) -> None:
    """The day's peak is the most that any hour of it needs, by a count of its own."""
    lots = []
    for at, (stems, crop, in_water, since, days) in enumerate(rows):
        start = datetime(2027, 3, 23, 6) + timedelta(days=since)
        wet_way = in_water and crop != "stock"
        way = StorageCode.WATER if wet_way else StorageCode.DRY
        lot = make_lot(lot_code=f"L{at}", crop=crop, stems=stems, in_cooler=start, cut=start, storage=way)
        base = dated(FRIDGE, lot_code=f"L{at}")
        leaves = start + timedelta(days=days)
        lots.append(replace(base, lot=lot, kept=way, code=way, sell_by=leaves, into_water_by=None, orders=()))
    for day in room(lots, FRIDGE, CROPS, NOW, 25):
        counts = []
        for hour in range(24):
            moment = datetime.combine(day.day, datetime.min.time()) + timedelta(hours=hour)
            if moment < NOW:
                continue
            crates: Fraction = Fraction(0)
            buckets = {"": Fraction(0), "narcissus": Fraction(0)}
            for lot_dates in lots:
                lot, left_at = lot_dates.lot, lot_dates.sell_by
                assert left_at is not None
                if left_at < NOW:
                    left_at = datetime(2027, 3, 24)
                if lot.in_cooler is None or not lot.in_cooler <= moment < left_at:
                    continue
                keeping = CROPS.keeping(lot.crop, lot.form, lot_dates.kept)
                assert keeping is not None
                if lot_dates.kept is StorageCode.WATER:
                    alone = "narcissus" if lot.crop == "narcissus" else ""
                    buckets[alone] += Fraction(lot.stems or 0, keeping.per_bucket)
                else:
                    crates += Fraction(lot.stems or 0, keeping.per_crate or 1)
            counts.append((ceil(crates), sum(ceil(part) for part in buckets.values())))
        fullest = max(counts, key=lambda count: count[0] / 3 + count[1] / 2)
        assert day.fill == pytest.approx(fullest[0] / 3 + fullest[1] / 2)


def test_room_says_on_the_day_of_the_cut_until_when_a_lot_fits() -> None:
    """A lot cut today is told the last day before its cooler is over-full."""
    first = dated(FRIDGE, now=CUT, stems=240)
    later = make_lot(lot_code="050", field_c=2.0, in_cooler=datetime(2027, 3, 25, 9), stems=240)
    everything = (first, *date_lots([later], FRIDGE, CROPS, CUT))
    days = room(everything, FRIDGE, CROPS, CUT, 7)
    note = fits_until(first, days, CUT)
    assert note is not None
    assert note.values["last"] == datetime(2027, 3, 24).date()
    assert fits_until(first, days, NOW) is None
