"""The journal against the sheet: nothing is lost, nothing counted twice, nothing guessed."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import pytest

from tagmaker.record.journal.entries import Kind, Topic
from tests.journal_yard import Yard


@pytest.fixture(params=[False, True], ids=["no column", "column journal"])
def yard(request: pytest.FixtureRequest) -> Yard:
    """Two lots of 120 and 80 stems, in a sheet with the column journal and in one without it."""
    yard = Yard(has_column=request.param)
    yard.type("104", 120)
    yard.type("105", 80)
    return yard


def settle(yard: Yard) -> list[tuple[str, Topic, tuple[int | None, int | None]]]:
    """What is TO SETTLE: lot, topic, what is left by the sheet and by the journal."""
    return [(item.lot, item.topic, item.lefts) for item in yard.read().unsettled]


def test_typed_as_well_as_tapped(yard: Yard) -> None:
    """Three bunches tapped and typed too: the same three, or three more? The smaller count, TO SETTLE."""
    yard.tap(Kind.SOLD, stems=30)
    yard.type("104", gone=30)
    assert settle(yard) == [("104", Topic.AMOUNTS, (90, 90))]
    assert yard.left() == 90
    yard.tap(Kind.COUNT, stems=90)
    assert (settle(yard), yard.left()) == ([], 90)


def test_typed_four_against_tapped_three_and_two(yard: Yard) -> None:
    """Until it is counted what is left is the smaller of the two; then what was counted, and what follows."""
    yard.tap(Kind.SOLD, stems=30)
    yard.tap(Kind.SOLD, stems=20)
    yard.type("104", gone=40)
    assert settle(yard) == [("104", Topic.AMOUNTS, (80, 70))]
    assert yard.left() == 70
    yard.tap(Kind.COUNT, stems=80)
    assert (settle(yard), yard.left()) == ([], 80)
    yard.tap(Kind.SOLD, stems=10)
    assert yard.left() == 70


def test_typing_while_nothing_is_open_is_accepted(yard: Yard) -> None:
    """The row is the grower's: what is typed before the first tap or after a catch-up counts at once."""
    yard.type("104", gone=20)
    assert yard.left() == 100
    yard.tap(Kind.SOLD, stems=30)
    yard.put_in_place(yard.copy())
    yard.type("104", gone=60)
    assert (settle(yard), yard.left()) == ([], 60)
    yard.tap(Kind.SOLD, stems=10)
    assert yard.left() == 50


def test_an_entry_that_was_undone_is_not_open(yard: Yard) -> None:
    """Tapped, undone and typed instead: the sheet counts."""
    yard.undo(yard.tap(Kind.SOLD, stems=30))
    yard.type("104", gone=30)
    assert (settle(yard), yard.left()) == ([], 90)


def test_other_cells_are_no_matter_of_amounts(yard: Yard) -> None:
    """A note or the water that is typed while a sale is open leaves the sale open, and sound."""
    yard.tap(Kind.SOLD, stems=30)
    yard.type("104", note="by the door", in_water="2027-04-21T10:00")
    assert (settle(yard), yard.left()) == ([], 90)


def test_caught_up_and_tapped_on(yard: Yard) -> None:
    """The copy counts what happened before it, the entries after it come on top."""
    yard.tap(Kind.SOLD, stems=30)
    copy = yard.copy()
    yard.tap(Kind.SOLD, stems=10)
    yard.put_in_place(copy)
    assert (settle(yard), yard.left(), yard.rows["104"].gone) == ([], 80, 30)
    yard.tap(Kind.SOLD, stems=10)
    assert yard.left() == 70


def test_a_copy_that_was_never_put_in_place(yard: Yard) -> None:
    """The old row goes on counting nothing; a second copy counts it all."""
    yard.tap(Kind.SOLD, stems=30)
    yard.copy()
    yard.tap(Kind.SOLD, stems=10)
    assert (settle(yard), yard.left()) == ([], 80)
    yard.put_in_place(yard.copy())
    assert (settle(yard), yard.left(), yard.rows["104"].gone) == ([], 80, 40)


def test_an_old_copy_put_back(yard: Yard) -> None:
    """Last week's sheet: its rows are known, what they do not count is open again, and that is said."""
    old = (dict(yard.rows), dict(yard.numbers))
    yard.tap(Kind.SOLD, stems=30)
    yard.put_in_place(yard.copy())
    yard.tap(Kind.SOLD, stems=10)
    assert yard.read().went_back == ()
    yard.put_in_place(old)
    assert (settle(yard), yard.left(), yard.read().went_back) == ([], 80, ("104",))


def test_an_old_copy_put_back_and_typed_into(yard: Yard) -> None:
    """Stems that the journal counted are in the row again: never more than the journal says, TO SETTLE."""
    old = (dict(yard.rows), dict(yard.numbers))
    yard.tap(Kind.SOLD, stems=50)
    yard.put_in_place(yard.copy())
    yard.put_in_place(old)
    yard.type("104", gone=10)
    assert settle(yard) == [("104", Topic.AMOUNTS, (110, 70))]
    assert yard.left() == 70


def test_rows_typed_between_copy_and_swap(yard: Yard) -> None:
    """What was typed into the sheet while its copy lay ready is named when the copy takes its place."""
    yard.tap(Kind.SOLD, stems=30)
    copy = yard.copy()
    yard.type("106", 50)
    yard.type("105", gone=20)
    assert yard.left("105") == 60
    yard.put_in_place(copy)
    laid = yard.read()
    assert [(seen.lot, seen.stems_left) for seen in laid.went_away] == [("106", 50)]
    assert (settle(yard), yard.left()) == ([], 90)


def test_a_typed_row_that_a_swap_lost_is_named(yard: Yard) -> None:
    """A lot with entries that says again what it said before: the last word of the grower's was elsewhere."""
    yard.tap(Kind.SOLD, stems=30)
    yard.put_in_place(yard.copy())
    copy = yard.copy()
    yard.tap(Kind.SOLD, stems=10)
    yard.put_in_place(yard.copy())
    yard.put_in_place(copy)
    assert (yard.read().went_back, yard.left()) == (("104",), 80)


def test_sorted_wholly(yard: Yard) -> None:
    """Rows go by their codes, wherever they stand."""
    yard.tap(Kind.SOLD, stems=30)
    yard.put_in_place(yard.copy())
    yard.tap(Kind.SOLD, "105", stems=10)
    yard.rows = dict(reversed(yard.rows.items()))
    assert (settle(yard), yard.left(), yard.left("105")) == ([], 90, 70)


def test_sorted_partly(yard: Yard) -> None:
    """A column that was sorted without the others: never more left than the journal knows of."""
    yard.tap(Kind.SOLD, stems=30)
    yard.put_in_place(yard.copy())
    yard.tap(Kind.SOLD, stems=10)
    yard.tap(Kind.SOLD, "105", stems=20)
    one, two = yard.rows["104"], yard.rows["105"]
    yard.type("104", gone=two.gone)
    yard.type("105", gone=one.gone)
    of_104 = [("104", Topic.AMOUNTS, (120, 80))] if yard.has_column else []  # else it is as in an old copy
    assert settle(yard) == [*of_104, ("105", Topic.AMOUNTS, (50, 60))]
    assert (yard.left(), yard.left("105")) == (80, 50)
    assert yard.read().went_back == (() if yard.has_column else ("104",))


def test_a_number_that_is_not_the_row_s(yard: Yard) -> None:
    """Filled down, or sorted alone: a number that these cells never had is TO SETTLE."""
    if not yard.has_column:
        pytest.skip("there is no number")
    first = yard.tap(Kind.SOLD, stems=30)
    yard.tap(Kind.SOLD, stems=10)
    yard.numbers["104"] = first.number
    assert settle(yard) == [("104", Topic.AMOUNTS, (120, 80))]
    assert yard.left() == 80


def test_renamed_in_the_journal(yard: Yard) -> None:
    """The row keeps its entries under the new code, before and after the sheet follows."""
    yard.tap(Kind.SOLD, stems=30)
    yard.tap(Kind.RENAMED, details={"code": "204"})
    laid = yard.read()
    assert (laid.changes["104"]["lot"], laid.lots["204"].change.left) == ("204", 90)
    yard.tap(Kind.SOLD, "204", stems=10)
    assert yard.left("204") == 80
    yard.put_in_place(yard.copy())
    assert (settle(yard), yard.left("204"), sorted(yard.rows)) == ([], 80, ["105", "204"])
    assert yard.read().went_away == ()


def test_renamed_in_the_sheet(yard: Yard) -> None:
    """The old code is named as gone; once the journal is told, the entries belong to the new one."""
    yard.tap(Kind.SOLD, stems=30)
    yard.rows["204"] = replace(yard.rows.pop("104"), code="204")
    assert [seen.lot for seen in yard.read().went_away] == ["104"]
    assert yard.left("204") == 120
    yard.tap(Kind.RENAMED, details={"code": "204"})
    assert (settle(yard), yard.left("204"), yard.read().went_away) == ([], 90, ())


def test_a_renamed_parent_is_followed_by_its_children(yard: Yard) -> None:
    """The child's row names its parent by the new code."""
    yard.type("104B", 20, split_from="104", parents=("104",))
    yard.tap(Kind.RENAMED, details={"code": "204"})
    assert yard.read().changes["104B"] == {"split from": "204"}


def test_deleted(yard: Yard) -> None:
    """A row that went away with stems left is named as long as it is remembered; without any, it is not."""
    yard.tap(Kind.SOLD, stems=30)
    yard.type("105", gone=80)
    yard.read()
    del yard.rows["104"], yard.rows["105"]
    assert [(seen.lot, seen.stems_left) for seen in yard.read().went_away] == [("104", 90)]
    assert yard.look(yard.now + timedelta(days=121)).went_away == ()


def test_a_code_used_again_a_season_later(yard: Yard) -> None:
    """Entries that nobody counted are from before the new lot's cut: TO SETTLE, never silently taken off."""
    yard.tap(Kind.SOLD, stems=30)
    yard.type("104", 200, cut=date(2028, 4, 10))
    yard.hour = 24.0 * 360
    ((lot, topic, _),) = settle(yard)
    assert (lot, topic) == ("104", Topic.AMOUNTS)
    assert yard.left() is not None
    yard.tap(Kind.COUNT, stems=200)
    assert (settle(yard), yard.left()) == ([], 200)


def test_a_code_used_again_after_all_was_counted(yard: Yard) -> None:
    """Last season's entries are in last season's row; the new lot begins with what is typed."""
    yard.tap(Kind.SOLD, stems=30)
    yard.put_in_place(yard.copy())
    yard.rows.pop("104")
    yard.numbers.pop("104", None)
    yard.read()
    yard.hour = 24.0 * 360
    yard.type("104", 90, cut=date(2028, 4, 10))
    yard.tap(Kind.SOLD, stems=10)
    assert yard.left() == 80


def test_one_code_in_two_sheets(yard: Yard) -> None:
    """A lot with entries that another sheet of the folder has too: whose they are cannot be told."""
    yard.tap(Kind.SOLD, stems=30)
    yard.read()
    yard.sheet, yard.beside = "spring", {"lots", "spring"}
    assert yard.look().twice == {"104": "lots"}
    yard.beside = {"spring"}
    assert yard.look().twice == {}


def test_undo_of_what_was_caught_up(yard: Yard) -> None:
    """It is the opposite, and open, until the next catch-up counts it."""
    sold = yard.tap(Kind.SOLD, stems=30)
    yard.put_in_place(yard.copy())
    yard.undo(sold)
    assert (settle(yard), yard.left(), yard.rows["104"].gone) == ([], 120, 30)
    yard.put_in_place(yard.copy())
    assert (settle(yard), yard.left(), yard.rows["104"].gone) == ([], 120, 0)


@pytest.mark.parametrize(
    ("kind", "fields", "column"),
    [
        (Kind.INTO_WATER, {}, "in water"),
        (Kind.MOVED, {"cooler": "south"}, "moved"),
        (Kind.TESTED, {"details": {"found": "bad"}}, "tested"),
    ],
)
def test_undo_of_a_caught_up_cell(yard: Yard, kind: Kind, fields: dict[str, object], column: str) -> None:
    """What it wrote is taken out again; what stood beside it stays."""
    yard.type("104", None, **{column: "walk-in 2027-04-14" if column == "moved" else None})
    before = yard.rows["104"].cells.get(column, "")
    entry = yard.tap(kind, **fields)  # type: ignore[arg-type]
    yard.put_in_place(yard.copy())
    assert yard.rows["104"].cells[column] != before
    yard.undo(entry)
    yard.put_in_place(yard.copy())
    assert (settle(yard), yard.rows["104"].cells.get(column, "")) == ([], before)


def test_a_child_caught_up(yard: Yard) -> None:
    """It is a row of the sheet then, and counted once."""
    yard.tap(Kind.MOVED, stems=40, cooler="south", details={"child": "104B"})
    yard.tap(Kind.SOLD, "104B", stems=10)
    yard.put_in_place(yard.copy())
    assert (yard.look().added, settle(yard)) == ([], [])
    assert (yard.left(), yard.left("104B")) == (80, 30)


def test_a_child_typed_by_hand_too(yard: Yard) -> None:
    """A row with its code and parent is that child: it is not made twice, and its entries count on."""
    yard.tap(Kind.MOVED, stems=40, cooler="south", details={"child": "104B"})
    yard.type("104B", 40, split_from="104", parents=("104",), moved="south, rack 9 2027-04-21T10:00")
    yard.type("104", split_off=40)
    laid = yard.read()
    assert (laid.added, settle(yard), yard.left()) == ([], [], 80)
    assert laid.lots["104B"].change.cells == {}
    yard.tap(Kind.SOLD, "104B", stems=10)
    assert yard.left("104B") == 30


def test_a_child_typed_by_hand_with_other_stems(yard: Yard) -> None:
    """Its cells win, and the stems are TO SETTLE: the smaller number until they are counted."""
    yard.tap(Kind.MOVED, stems=40, cooler="south", details={"child": "104B"})
    yard.type("104B", 50, split_from="104", parents=("104",))
    yard.type("104", split_off=50)
    assert settle(yard) == [("104B", Topic.AMOUNTS, (50, 40))]
    assert (yard.left("104B"), yard.left()) == (40, 70)
    yard.tap(Kind.COUNT, "104B", stems=50)
    assert (settle(yard), yard.left("104B")) == ([], 50)


def test_a_parent_typed_by_hand_before_its_child(yard: Yard) -> None:
    """The number of a catch-up is typed with the parent first: the child stands in the journal until then."""
    yard.tap(Kind.MOVED, stems=40, cooler="south", details={"child": "104B"})
    yard.tap(Kind.SOLD, stems=10)
    rows, numbers = yard.copy()
    yard.rows["104"] = replace(rows["104"], split_off=0)
    yard.numbers = {"104": numbers["104"]} if yard.has_column else {}
    assert (settle(yard), yard.left(), yard.left("104B")) == ([], 70, 40)


def test_a_count_after_missed_and_late_entries(yard: Yard) -> None:
    """Nobody entered two bunches, and one arrives late, after a catch-up: the count holds."""
    yard.tap(Kind.SOLD, stems=30)
    yard.tap(Kind.COUNT, stems=70)
    yard.put_in_place(yard.copy())
    yard.tap(Kind.SOLD, stems=10, at=1.5)
    assert (settle(yard), yard.left()) == ([], 70)
    yard.tap(Kind.SOLD, stems=10)
    yard.put_in_place(yard.copy())
    assert (settle(yard), yard.left(), yard.rows["104"].gone) == ([], 60, 60)


def test_a_late_count_after_a_catch_up(yard: Yard) -> None:
    """It happened between two sales that the sheet counts: the second sale is taken from it."""
    yard.tap(Kind.SOLD, stems=30)
    yard.tap(Kind.SOLD, stems=10)
    yard.put_in_place(yard.copy())
    yard.tap(Kind.COUNT, stems=70, at=1.5)
    assert (settle(yard), yard.left()) == ([], 60)


def test_back_after_the_day_s_end(yard: Yard) -> None:
    """What came home at night, after the sheet was caught up, is a lot again and no longer sold."""
    out = yard.tap(Kind.OUT, stems=60)
    yard.put_in_place(yard.copy())
    assert yard.rows["104"].gone == 60
    yard.hour = 14.0
    details = {"child": "104B", "went": out.happened.isoformat(), "answers": out.number}
    yard.tap(Kind.CAME_BACK, stems=20, cooler="walk-in", details=details)
    assert (settle(yard), yard.left(), yard.left("104B")) == ([], 60, 20)
    yard.put_in_place(yard.copy())
    assert (yard.rows["104"].gone, yard.left(), yard.left("104B")) == (40, 60, 20)
    yard.tap(Kind.CAME_BACK, stems=10, cooler="walk-in", details=details)
    assert (yard.left(), yard.left("104B"), yard.look().changes["104B"]) == (60, 30, {"stems": "30"})


def test_all_gone_includes_what_is_open(yard: Yard) -> None:
    """`gone = all` typed over three tapped bunches counts them, and what is tapped of it later too."""
    yard.tap(Kind.SOLD, stems=30)
    yard.type("104", gone="all")
    assert (settle(yard), yard.left()) == ([], 0)
    yard.tap(Kind.SOLD, stems=10)
    assert (settle(yard), yard.left()) == ([], 0)
    yard.tap(Kind.COUNT, stems=30)
    assert settle(yard) == [("104", Topic.AMOUNTS, (0, 0))]
    assert yard.left() == 0


@pytest.mark.parametrize(
    ("kind", "fields", "typed", "until"),
    [
        (Kind.INTO_WATER, {}, {"in_water": "2027-04-20"}, {}),
        (Kind.MOVED, {"cooler": "south"}, {"moved": "north 2027-04-20"}, {}),
        (
            Kind.TESTED,
            {"details": {"found": "bad"}},
            {"tested": "2027-04-20 ok"},
            {"tested": "2027-04-20 ok; 2027-04-21 bad"},
        ),
    ],
)
def test_water_place_and_tests_are_settled_by_choosing(
    yard: Yard, kind: Kind, fields: dict[str, object], typed: dict[str, object], until: dict[str, str]
) -> None:
    """Typed while the entry was open: both are shown, what the grower chooses holds."""
    entry = yard.tap(kind, **fields)  # type: ignore[arg-type]
    yard.type("104", None, **typed)
    laid = yard.read()
    (item,) = laid.unsettled
    assert (item.topic, item.entries) == (entry.topic, (entry.number,))
    assert laid.lots["104"].change.cells == until
    column = next(iter(typed)).replace("_", " ")
    assert "2027-04-21" in item.cells[column]
    chosen = {"topic": item.topic.value, "cells": dict(item.cells)}
    for take in ("sheet", "journal"):
        other = replace(yard, book=yard.book)
        other.tap(Kind.SETTLE, details=chosen if take == "journal" else {"topic": item.topic.value})
        after = other.read()
        assert after.unsettled == []
        expected = {} if take == "sheet" else {column: item.cells[column]}
        assert after.lots["104"].change.cells == expected


def test_looking_into_the_past_remembers_nothing(yard: Yard) -> None:
    """As of this morning nothing was sold yet; what is accepted does not depend on it."""
    yard.tap(Kind.SOLD, stems=30)
    yard.type("104", gone=30)
    laid = yard.look(yard.now - timedelta(hours=1))
    assert (laid.lots["104"].change.left, list(laid.learnt.pairs), list(laid.learnt.seen)) == (90, [], [])
    assert [item.topic for item in laid.unsettled] == [Topic.AMOUNTS]
