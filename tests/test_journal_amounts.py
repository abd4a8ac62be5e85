"""Stems that are left after what happened, in the order in which it happened."""

from __future__ import annotations

from datetime import datetime, timedelta

import pytest

from tagmaker.record.journal.entries import Kind, Topic
from tests.journal_yard import Yard


@pytest.fixture
def yard() -> Yard:
    """A lot of 120 stems in bunches of ten, 20 of them gone when the journal begins."""
    yard = Yard()
    yard.type("104", 120, gone=20)
    return yard


def cells(yard: Yard, code: str = "104") -> dict[str, str]:
    """The cells of a row that the journal changes."""
    return dict(yard.look().lots[code].change.cells)


def test_what_left_is_written_where_it_belongs(yard: Yard) -> None:
    """Sold stems come to `gone`, thrown out ones to `dumped`, stems cut later to `stems`."""
    yard.tap(Kind.SOLD, stems=30)
    yard.tap(Kind.THROWN_OUT, stems=10, details={"why": "mould"})
    yard.tap(Kind.MORE, stems=20)
    assert yard.left() == 80
    assert cells(yard) == {"stems": "140", "gone": "50", "dumped": "10", "why dumped": "mould"}


def test_a_count_voids_what_happened_before_it(yard: Yard) -> None:
    """What is left is what was counted; the difference stands in `gone` as unexplained."""
    yard.tap(Kind.SOLD, stems=30)
    yard.tap(Kind.COUNT, stems=60)
    assert (yard.left(), cells(yard)) == (60, {"gone": "60"})
    yard.tap(Kind.SOLD, stems=10)
    assert (yard.left(), cells(yard)) == (50, {"gone": "70"})


@pytest.mark.parametrize("late", [0.5, 1.5, 1.9])
def test_what_is_entered_late_but_happened_before_a_count_is_void(yard: Yard, late: float) -> None:
    """Whenever it arrives: the count saw it already."""
    yard.tap(Kind.SOLD, stems=30)
    yard.tap(Kind.COUNT, stems=60)
    yard.tap(Kind.SOLD, stems=10, at=late)
    yard.tap(Kind.THROWN_OUT, stems=10, at=late)
    assert (yard.left(), cells(yard)["dumped"], cells(yard)["gone"]) == (60, "10", "50")


def test_a_count_that_arrives_late_stands_before_what_happened_after_it(yard: Yard) -> None:
    """A count of an hour ago, sent from the phone only now, and ten sold since."""
    yard.tap(Kind.SOLD, stems=10)
    yard.tap(Kind.SOLD, stems=10)
    yard.tap(Kind.COUNT, stems=70, at=1.5)
    assert yard.left() == 60


def test_everything_means_everything_that_was_there(yard: Yard) -> None:
    """ALL leaves nothing, also where something sold before arrives later."""
    yard.tap(Kind.SOLD, stems=100, details={"all": True})
    yard.tap(Kind.SOLD, stems=30, at=0.5)
    assert (yard.left(), yard.look().unsettled) == (0, [])
    assert cells(yard) == {"gone": "120"}


def test_two_phones_on_the_last_bunch_are_to_settle(yard: Yard) -> None:
    """Facts from a queue are kept; what overdraws is shown, and nothing is left of the lot until it is."""
    yard.tap(Kind.SOLD, stems=100)
    yard.tap(Kind.SOLD, stems=10)
    (item,) = yard.look().unsettled
    assert (item.topic, item.reason) == (Topic.AMOUNTS, "10 stems more were taken than there were")
    assert yard.left() == 0
    yard.tap(Kind.COUNT, stems=0)
    assert (yard.left(), yard.look().unsettled) == (0, [])


def test_a_count_above_what_can_be_there_is_to_settle(yard: Yard) -> None:
    """More stems than were cut: the smaller number holds until `stems` or the count is corrected."""
    yard.tap(Kind.COUNT, stems=130)
    (item,) = yard.look().unsettled
    assert item.reason == "10 stems more are there than can be"
    assert (yard.left(), item.lefts) == (100, (100, 120))
    yard.tap(Kind.MORE, stems=10, at=0.5)
    assert (yard.left(), yard.look().unsettled) == (130, [])


@pytest.mark.parametrize("kind", [Kind.SOLD, Kind.THROWN_OUT, Kind.OUT, Kind.MORE, Kind.COUNT])
def test_undo_is_as_if_it_had_not_been(yard: Yard, kind: Kind) -> None:
    """Before the sheet counts an entry, its undo leaves no trace in any cell."""
    entry = yard.tap(kind, stems=30)
    yard.undo(entry)
    assert (yard.left(), cells(yard)) == (100, {})


def test_stems_unknown_stay_unknown_until_they_are_counted(yard: Yard) -> None:
    """A lot without `stems` takes up what is gone; a count makes its stems known."""
    yard.type("105", gone=20)
    yard.tap(Kind.SOLD, "105", stems=10)
    assert (yard.left("105"), cells(yard, "105")) == (None, {"gone": "30"})
    yard.tap(Kind.COUNT, "105", stems=40)
    assert yard.left("105") == 40


# --- stems that become a lot of their own ------------------------------------------------------------------


def test_a_moved_part_is_a_child_at_once(yard: Yard) -> None:
    """Its row takes its stems along, and the move; the parent keeps the rest."""
    yard.tap(Kind.MOVED, stems=40, cooler="south", place="rack 2", details={"child": "104B"})
    assert yard.left() == 60
    assert yard.look().added == [
        {"lot": "104B", "split from": "104", "stems": "40", "moved": "south, rack 2 2027-04-21T09:00"}
    ]


def test_stems_in_water_for_a_departure_are_a_part_with_a_code(yard: Yard) -> None:
    """It stands in water, is ordered for the departure, and after it is asked for until something is told."""
    leaves = datetime(2027, 4, 24, 7)
    details = {"child": "104B", "leaves": "2027-04-24T07:00", "use": "stall"}
    yard.tap(Kind.INTO_WATER, stems=40, details=details)
    (part,) = yard.look().added
    assert (part["in water"], part["needed"], part["use"]) == (
        "2027-04-21T09:00",
        "2027-04-24T07:00 x 40",
        "stall",
    )
    assert yard.look(leaves - timedelta(minutes=1)).questions == ()
    (question,) = yard.look(leaves).questions
    assert (question.lot, question.kind, question.stems) == ("104B", "left", 40)
    yard.hour = 80.0
    yard.tap(Kind.SOLD, "104B", stems=40)
    assert yard.look().questions == ()
    assert (yard.left("104"), yard.left("104B")) == (60, 0)


def test_what_comes_back_from_market_is_one_child_a_day(yard: Yard) -> None:
    """Two buckets come back one by one: one lot with its hours out, the rest is sold."""
    out = yard.tap(Kind.OUT, stems=60)
    assert yard.left() == 40
    details = {"child": "104B", "went": out.happened.isoformat(), "answers": out.number}
    yard.tap(Kind.CAME_BACK, stems=20, cooler="walk-in", details=details)
    yard.tap(Kind.CAME_BACK, stems=10, cooler="walk-in", details=details)
    assert (yard.left(), yard.left("104B")) == (40, 30)
    assert cells(yard) == {"gone": "50"}
    (child,) = yard.look().added
    assert child["moved"] == "out 2027-04-21T09:00; walk-in 2027-04-21T11:00"
    assert child["stems"] == "30"


def test_what_is_out_stays_out_when_the_rest_is_counted(yard: Yard) -> None:
    """A count is of what stands here; what comes back later comes on top."""
    out = yard.tap(Kind.OUT, stems=60)
    yard.tap(Kind.COUNT, stems=30)
    details = {"child": "104B", "went": out.happened.isoformat(), "answers": out.number}
    yard.tap(Kind.CAME_BACK, stems=20, cooler="walk-in", details=details)
    assert (yard.left(), yard.left("104B")) == (30, 20)


def test_market_bunches_that_nobody_asked_about_count_as_sold_by_the_second_workday(yard: Yard) -> None:
    """Until then it is asked, then it is marked; a late answer takes its place."""
    out = yard.tap(Kind.OUT, stems=60)
    assert [q.counted for q in yard.look().questions] == [False]
    assert [q.counted for q in yard.look(out.happened + timedelta(days=2)).questions] == [True]
    details = {"child": "104B", "went": out.happened.isoformat(), "answers": out.number}
    yard.hour = 60.0
    yard.tap(Kind.CAME_BACK, stems=20, cooler="walk-in", details=details)
    assert (yard.left(), yard.left("104B"), yard.look().questions) == (40, 20, ())


def test_none_came_back(yard: Yard) -> None:
    """An answer of nothing makes no lot, and all is sold."""
    out = yard.tap(Kind.OUT, stems=60)
    yard.tap(Kind.CAME_BACK, stems=0, details={"answers": out.number})
    laid = yard.look()
    assert (laid.questions, laid.added, laid.lots["104"].change.left) == ((), [], 40)


def test_a_child_lives_on_like_any_lot(yard: Yard) -> None:
    """What is sold of it is sold of it, and a part of it is a child of its own."""
    yard.tap(Kind.MOVED, stems=40, cooler="south", details={"child": "104B"})
    yard.tap(Kind.SOLD, "104B", stems=10)
    yard.tap(Kind.MOVED, "104B", stems=10, cooler="walk-in", details={"child": "104C"})
    assert [yard.left(code) for code in ("104", "104B", "104C")] == [60, 20, 10]
    assert [row["split from"] for row in yard.look().added] == ["104", "104B"]
    assert yard.look().added[0]["gone"] == "10"


def test_undoing_a_move_of_some_brings_them_home(yard: Yard) -> None:
    """The child is gone, its stems are the parent's again."""
    moved = yard.tap(Kind.MOVED, stems=40, cooler="south", details={"child": "104B"})
    yard.undo(moved)
    assert (yard.left(), yard.look().added) == (100, [])
