"""Every date says why, in one sentence."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, datetime
from typing import Any

import pytest

from tagmaker.farm import Cooler, Farm
from tagmaker.lot import BunchTest, Finding, Move, Stage, StorageCode, Surface
from tagmaker.telling.wording import Wording
from tests.farms import NOW, USES, dated, make_farm, order, trusted_at

WORDING = Wording("F")


DOUBLE = "cut 22 Mar, tulip double"
SINGLE = "cut 22 Mar, tulip single"
REASONS: dict[str, tuple[dict[str, Any], str]] = {
    "life": ({"form": "double"}, f"{DOUBLE}, dry at 41 °F: 19 days, set by storage life"),
    "vase": ({}, f"{SINGLE}, dry at 41 °F: 17 days, set by the vase days that are promised"),
    "too open": (
        {"stage": Stage.COLOURED},
        f"{SINGLE}, in water at 41 °F: 2 days, set by the two days that buds too open may be kept",
    ),
    "cautious": (
        {"stage": None},
        f"{SINGLE}, stage not noted, dry at 41 °F: 4 days, set by the 5 days that are published",
    ),
    "order": (
        {"form": "double", "orders": (order(datetime(2027, 3, 30, 8)),)},
        f"{DOUBLE}, dry at 41 °F: 10 days, set by the order of TUE 30 MAR; without this order: SAT 10 APR",
    ),
    "other use": (
        {"crop": "ranunculus", "use": "stall", "cut": datetime(2027, 3, 21, 9)},
        (
            "cut 21 Mar, ranunculus, in water at 41 °F: 5 days, set by storage life; for event; "
            "no day of stall is left: SAT 27 MAR is past its storage life"
        ),
    ),
    "stretched": (
        {"use": "event", "orders": (order(datetime(2027, 4, 15, 6, 30), None, "event"),)},
        f"{SINGLE}, dry at 41 °F: 24 days, stretched for the order of THU 15 APR",
    ),
    "in water": (
        {"cut": datetime(2027, 3, 18, 9), "in_water": datetime(2027, 3, 22, 18)},
        (
            "cut 18 Mar, tulip single, dry at 41 °F: 7 days, "
            "set by the three days that dry stems last once in water"
        ),
    ),
    "wet": (
        {"surface": Surface.WET, "in_cooler": None},
        "still wet: no date until it is dry to the touch and in the cooler",
    ),
}


@pytest.mark.parametrize(("lot", "why"), REASONS.values(), ids=list(REASONS))
def test_a_sell_by_says_why(lot: dict[str, Any], why: str) -> None:
    """The cut, the crop, how it is kept, the temperature counted, the days, and what sets the date."""
    assert WORDING.say(dated(**lot).why) == why


def test_a_sell_by_at_the_cap_says_so() -> None:
    """The most that the crop may be kept is named."""
    why = WORDING.say(dated(trusted_at(32), use="event").why)
    assert why == "cut 22 Mar, tulip single, dry at 32 °F: 21 days, 21 days is the most for this crop"


def test_an_into_water_by_says_why() -> None:
    """The hours in water, the hours to open, and the departure."""
    peony = dated(crop="peony", use="table")
    assert peony.why_into_water is not None
    assert WORDING.say(peony.why_into_water) == (
        "8 h in water and 36 h at room temperature to open before it leaves MON 12 APR 8 AM"
    )


def test_a_lot_without_a_date_says_what_stops_it() -> None:
    """Half a day at 95 °F leaves a hyacinth no storage life."""
    hot: dict[str, Any] = {
        "crop": "hyacinth",
        "stage": Stage.COLOURED,
        "storage": StorageCode.DRY,
        "field_c": 35.0,
    }
    assert WORDING.say(dated(in_cooler=datetime(2027, 3, 22, 22), **hot).why) == (
        "cut 22 Mar, hyacinth, dry at 41 °F: its storage life ended before it could be sold"
    )


def test_frost_and_heat_are_named() -> None:
    """Why there is no date: what was cold, or how hot it was."""
    deep = make_farm(coolers={"barn": Cooler(name="barn", set_point_c=-5.0)})
    assert WORDING.say(dated(deep).why) == (
        "barn is set to 23 °F, colder than tulip single freezes (near 29 °F), and hardly read: do not sell"
    )
    assert WORDING.say(dated(field_c=41.5).why) == "it was at 107 °F: lost, throw out"


def every_kind_of_lot() -> list[tuple[Farm | None, dict[str, Any]]]:
    """Lots and farms that between them bring out each warning."""
    soon, far = order(datetime(2027, 3, 24, 8)), order(datetime(2027, 6, 1, 8))
    six = make_farm(uses={**USES, "shop": replace(USES["shop"], vase_days=9.0)})
    return [
        (None, {"orders": (soon, far)}),
        (None, {"form_assumed": True, "stage": Stage.GREEN}),
        (None, {"surface": Surface.WET, "storage": StorageCode.WATER}),
        (six, {}),
        (None, {"stage": Stage.HALF}),
        (None, {"stage": None, "tested": (BunchTest(date(2027, 3, 23), Finding.BAD),)}),
        (None, {"moves": (Move(since=datetime(2027, 3, 22, 20), place="out", temperature_c=30.0),)}),
        (trusted_at(30), {"crop": "peony"}),
        (trusted_at(34), {"crop": "zinnia", "stage": Stage.OPEN}),
        (None, {"orders": (order(datetime(2027, 3, 23, 9), 60),)}),
    ]


def test_every_warning_is_a_sentence_without_holes() -> None:
    """No warning shows a None, a brace or a double space."""
    said = [
        WORDING.say(note) for farm, lot in every_kind_of_lot() for note in dated(farm, NOW, **lot).warnings
    ]
    assert len(said) >= 8
    for sentence in said:
        assert "None" not in sentence
        assert "{" not in sentence
        assert "  " not in sentence
