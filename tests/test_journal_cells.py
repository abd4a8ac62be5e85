"""What the journal writes into cells, and the codes it gives: as a grower would type it."""

from __future__ import annotations

from datetime import datetime

import pytest

from tagmaker.lot import Move
from tagmaker.record.journal.entries import Kind
from tagmaker.record.journal.naming import free_child_code
from tests.journal_yard import Yard


@pytest.fixture
def yard() -> Yard:
    """A lot that was moved once."""
    yard = Yard()
    moved = (Move(since=datetime(2027, 4, 14, 8), place="walk-in"),)
    yard.type("104", 120, moved="walk-in 2027-04-14", moves=moved, in_cooler=datetime(2027, 4, 12, 12))
    return yard


def cells(yard: Yard, code: str = "104") -> dict[str, str]:
    """The cells of a row that the journal changes."""
    return dict(yard.look().lots[code].change.cells)


def test_moves_stand_in_the_order_in_which_they_happened(yard: Yard) -> None:
    """A late entry takes its place between what was typed and what was tapped."""
    yard.tap(Kind.MOVED, cooler="south", place="rack 2")
    yard.tap(Kind.MOVED, cooler="north", at=0.5)
    assert cells(yard) == {
        "moved": "walk-in 2027-04-14; north 2027-04-21T08:30; south, rack 2 2027-04-21T09:00"
    }
    yard.tap(Kind.MOVED, cooler="barn", at=-180.0)
    assert cells(yard)["moved"].startswith("barn 2027-04-13T20:00; walk-in 2027-04-14; north")


def test_a_lot_does_not_move_before_it_went_in(yard: Yard) -> None:
    """A move that happened before `in cooler` is written at that moment."""
    yard.type("104", moved=None, moves=())
    yard.tap(Kind.MOVED, cooler="south", at=-218.0)
    assert cells(yard) == {"moved": "south 2027-04-12T12:00"}


def test_stems_go_into_water_once(yard: Yard) -> None:
    """The first moment stays, in the sheet and in the journal."""
    yard.tap(Kind.INTO_WATER)
    yard.tap(Kind.INTO_WATER)
    assert cells(yard) == {"in water": "2027-04-21T09:00"}
    yard.type("105", 50, in_water="2027-04-20")
    yard.tap(Kind.INTO_WATER, "105")
    assert cells(yard, "105") == {}


def test_what_was_seen_is_added_to_what_stands_there(yard: Yard) -> None:
    """Tests and notes are added, with their day."""
    yard.type("104", tested="2027-04-18 ok", note="by the door")
    yard.tap(Kind.TESTED, details={"found": "bad"})
    yard.tap(Kind.MOULD)
    yard.tap(Kind.NOTE, details={"text": "ask Ada"})
    assert cells(yard) == {
        "tested": "2027-04-18 ok; 2027-04-21 bad",
        "note": "by the door; mould seen 2027-04-21; ask Ada",
    }


def test_a_wet_lot_that_was_dried_went_in_then(yard: Yard) -> None:
    """A wet lot has not gone in; one that had keeps its own moment."""
    yard.type("105", 50, surface="wet")
    yard.tap(Kind.DRIED, "105")
    yard.tap(Kind.DRIED)
    assert cells(yard, "105") == {"surface": "dried", "in cooler": "2027-04-21T09:00"}
    assert cells(yard) == {"surface": "dried"}


def test_what_is_kept_for_an_order_is_needed(yard: Yard) -> None:
    """It comes to the orders that are typed; a later word takes the earlier one's place."""
    yard.type("104", needed="2027-05-08")
    first = {"leaves": "2027-04-24T07:00", "use": "stall", "order": "A"}
    yard.tap(Kind.KEPT, stems=30, details=first)
    assert cells(yard) == {"needed": "2027-05-08; 2027-04-24T07:00 stall x 30"}
    again = {**first, "instead": "2027-04-24T07:00 stall x 30"}
    yard.tap(Kind.KEPT, stems=50, details=again)
    assert cells(yard) == {"needed": "2027-05-08; 2027-04-24T07:00 stall x 50"}


def test_a_new_lot_is_a_row_of_the_cells_that_it_was_given(yard: Yard) -> None:
    """It is a lot like any other, corrected, sold from and moved in the journal, and typed by hand too."""
    given = {"crop": "tulip", "cut": "2027-04-21T08:00", "stems": "60"}
    details = {"cells": given, "cut": "2027-04-21T08:00", "in_cooler": "2027-04-21T10:00"}
    yard.tap(Kind.NEW_LOT, "140", stems=60, details=details)
    yard.tap(Kind.CORRECTED, "140", details={"cells": {"variety": "Cobble Pink"}})
    yard.tap(Kind.SOLD, "140", stems=10)
    yard.tap(Kind.MOVED, "140", cooler="south")
    assert yard.look().added == [
        {
            "lot": "140",
            **given,
            "variety": "Cobble Pink",
            "gone": "10",
            "moved": "south 2027-04-21T12:00",
        }
    ]
    yard.put_in_place(yard.copy())
    assert (yard.look().added, yard.left("140"), yard.look().unsettled) == ([], 50, [])


def test_a_plan_that_is_cut_becomes_a_lot(yard: Yard) -> None:
    """Its cells are filled with the cut, its stems and stage; what was decided stands there too."""
    yard.type("106", cut="plan 2027-04-20")
    yard.tap(Kind.PLANNED, "106", details={"cells": {"storage": "dry", "cooler": "south"}})
    yard.tap(Kind.CUT, "106", details={"cells": {"cut": "2027-04-21T10:00", "stems": "90", "stage": "tight"}})
    assert cells(yard, "106") == {
        "storage": "dry",
        "cooler": "south",
        "cut": "2027-04-21T10:00",
        "stems": "90",
        "stage": "tight",
    }


def test_stems_that_a_cut_or_a_correction_brings_are_counted_from(yard: Yard) -> None:
    """What is sold and counted afterwards goes by them."""
    yard.type("106", cut="plan 2027-04-20")
    yard.tap(Kind.CUT, "106", stems=90, details={"cells": {"cut": "2027-04-21T09:00", "stems": "90"}})
    yard.tap(Kind.SOLD, "106", stems=20)
    assert yard.left("106") == 70
    yard.tap(Kind.COUNT, "106", stems=60)
    assert (yard.left("106"), cells(yard, "106")["stems"], cells(yard, "106")["gone"]) == (60, "90", "30")
    yard.tap(Kind.NEW_LOT, "140", stems=60, details={"cells": {"crop": "tulip", "stems": "60"}})
    yard.tap(Kind.CORRECTED, "140", stems=80, details={"cells": {"stems": "80"}})
    yard.tap(Kind.SOLD, "140", stems=10)
    assert yard.left("140") == 70


@pytest.mark.parametrize(
    ("parent", "taken", "code"),
    [
        ("101", {"101"}, "101B"),
        ("101B", {"101", "101B"}, "101C"),
        ("T-12", {"T-12", "T-12B", "T-12C"}, "T-12D"),
        ("ABCDEFGHIJK1", set[str](), "ABCDEFGHIJKB"),
        ("N", set[str](), "NB"),
    ],
)
def test_the_code_of_a_child_is_free(parent: str, taken: set[str], code: str) -> None:
    """The parent's own with the next letter, twelve characters at most."""
    assert free_child_code(parent, taken) == code


def test_children_never_run_out_of_codes() -> None:
    """After Z come two letters."""
    taken: set[str] = set()
    for _ in range(60):
        taken.add(free_child_code("101", taken))
    assert {"101B", "101Z", "101BB", "101CB"} <= taken
