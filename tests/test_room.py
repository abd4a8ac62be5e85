"""Room in the coolers: crates and buckets, the day's peak, and what to move first."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime
from typing import Any

import pytest

from tagmaker.farm import Farm
from tagmaker.lot import Lot, Move, StorageCode
from tagmaker.storage.dating import date_lots
from tagmaker.storage.room import RoomDay, fits_until, room
from tests.farms import COOLERS, CROPS, CUT, NOW, dated, make_farm, make_lot, order

# One fridge takes three crates of 12 bunches of 10, or two buckets of about 80 stems, in the same
# space: common practice, no source.
FRIDGE = make_farm(coolers={"barn": replace(COOLERS["barn"], crates=3, buckets=2)})


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


def test_room_says_on_the_day_of_the_cut_until_when_a_lot_fits() -> None:
    """A lot cut today is told the last day before its cooler is over-full."""
    first = dated(FRIDGE, now=CUT, stems=240)
    later = make_lot(lot_code="050", cut=CUT, in_cooler=datetime(2027, 3, 25, 9), stems=240)
    everything = (first, *date_lots([later], FRIDGE, CROPS, CUT))
    days = room(everything, FRIDGE, CROPS, CUT, 7)
    note = fits_until(first, days, CUT)
    assert note is not None
    assert note.values["last"] == datetime(2027, 3, 24).date()
    assert fits_until(first, days, NOW) is None
