"""Rules of the lot sheet: plans, years, tests, places, what contradicts the rest of a row."""

from __future__ import annotations

from datetime import date, datetime
from pathlib import Path

import pytest

from tagmaker.errors import InputProblems
from tagmaker.lot import BunchTest, Finding, JournalMark, SeenVaseDays, Stage
from tests.small_sheets import SETTINGS, read_lot, read_problems, read_rows

NOON = datetime(2027, 4, 21, 12)


def said(folder: Path, **cells: str) -> list[str]:
    """What is said about a sheet of one row, read at noon of 21 April 2027."""
    return read_problems(folder, now=NOON, **{"cut": "2027-04-12T09:00", **cells})


def test_half_is_a_stage(tmp_path: Path) -> None:
    """Between tight and coloured."""
    assert read_lot(tmp_path, stage="Half coloured").stage is Stage.HALF
    assert Stage.TIGHT < Stage.HALF < Stage.COLOURED


@pytest.mark.parametrize("typed", ["plan 2027-04-26", "PLAN: 26 Apr 2027", "planned 2027-04-26"])
def test_a_written_plan(tmp_path: Path, typed: str) -> None:
    """The word plan before the day makes the row a plan, and nothing is said about it."""
    sheet = read_rows(tmp_path, {"cut": typed}, now=NOON)
    (lot,) = sheet.lots
    assert (lot.planned, lot.plan_written, lot.cut.date()) == (True, True, date(2027, 4, 26))
    assert (sheet.problems, sheet.warnings) == ((), ())


def test_a_plan_without_a_day_is_told_as_it_was_typed(tmp_path: Path) -> None:
    """What was found is the word plan, not an empty cell."""
    (problem,) = said(tmp_path, cut="plan")
    assert problem.startswith('cut must be the day of a plan (got "plan"). Write it like plan 2027-')


def test_a_written_plan_whose_day_has_come_stays_one(tmp_path: Path) -> None:
    """It becomes no cut lot by itself; nor does a lot that is to be split from it."""
    rows = [{"cut": "plan 2027-04-19"}, {"split from": "041", "stems": "20"}]
    lots = read_rows(tmp_path, *rows, now=NOON).lots
    assert [(lot.planned, lot.plan_written) for lot in lots] == [(True, True)] * 2


def test_a_bare_day_ahead_is_a_plan_that_says_so(tmp_path: Path) -> None:
    """Once for all of them: it counts as cut from its day on."""
    sheet = read_rows(tmp_path, {"cut": "2027-04-26"}, {"cut": "2027-06-05"}, {}, now=NOON)
    assert [(lot.planned, lot.plan_written) for lot in sheet.lots] == [(True, False)] * 2 + [(False, False)]
    assert [warning.what for warning in sheet.warnings] == [
        "a cut to come counts as cut from its day on (got 041, 042)"
    ]


def test_a_bare_day_far_ahead_is_a_problem(tmp_path: Path) -> None:
    """More than 45 days ahead it may be a wrong year; written as a plan it may be any day."""
    assert said(tmp_path, cut="2028-04-12") == [
        'cut must be at most 45 days ahead, not 357 (got "2028-04-12"). Correct it, or write plan 2028-04-12.'
    ]
    assert len(said(tmp_path, cut="2027-06-06")) == 1
    assert read_lot(tmp_path, cut="plan 2028-04-12", now=NOON).planned


@pytest.mark.parametrize("cut", ["plan 2027-04-26", "2027-04-26", "plan 2027-04-19"])
@pytest.mark.parametrize(
    ("column", "typed"),
    [
        ("gone", "10"),
        ("dumped", "all"),
        ("in_cooler", "2027-04-21"),
        ("in_water", "2027-04-21"),
        ("moved", "porch 2027-04-27"),
    ],
)
def test_what_a_plan_cannot_have(tmp_path: Path, cut: str, column: str, typed: str) -> None:
    """Stems that are not cut have not left, gone in or been moved."""
    name = column.replace("_", " ")
    first = f'{name} must be blank for a plan (got "{typed}"). '
    assert any(words.startswith(first) for words in said(tmp_path, cut=cut, **{column: typed}))
    assert said(tmp_path, cut=cut, gone="0", dumped="0") == []


def test_a_cut_of_last_year_is_a_problem(tmp_path: Path) -> None:
    """The same day of this year lies near to today: a wrong year, or nobody wrote what became of them."""
    (words,) = said(tmp_path, cut="2026-04-12")
    assert words == (
        'cut must be at most 120 days ago while stems are left (got "2026-04-12"). '
        "Write 2027-04-12 if the year is wrong, or under gone or dumped what became of the stems."
    )
    assert read_rows(tmp_path, {"cut": "2024-02-29"}, now=NOON).left_out == ("041",)
    assert read_lot(tmp_path, cut="2026-04-12", gone="all", now=NOON).left == 0


def test_a_lot_of_another_season_is_left_out_and_said_once(tmp_path: Path) -> None:
    """More than 120 days ago, with stems left; its children of the same cut too."""
    rows = [{"cut": "2026-12-10"}, {"cut": "2026-12-22"}, {"split from": "041", "stems": "20"}, {}]
    sheet = read_rows(tmp_path, *rows, now=NOON)
    assert ([lot.lot_code for lot in sheet.lots], sheet.left_out) == (["042", "044"], ("041", "043"))
    assert [warning.what for warning in sheet.warnings] == [
        "lots with stems left must be cut in the last 120 days (got 041, 043: left out)"
    ]


def test_new_year_is_no_wrong_year(tmp_path: Path) -> None:
    """A cut of December is read in January; one of next January typed as this one is a problem."""
    assert not read_lot(tmp_path, cut="2026-12-28", now=datetime(2027, 1, 4, 8)).planned
    (words,) = read_problems(tmp_path, cut="2026-01-03", now=datetime(2026, 12, 28, 8))
    assert "Write 2027-01-03 if the year is wrong" in words


def test_what_a_bunch_showed(tmp_path: Path) -> None:
    """Days with ok, bad or a stage, in order; a day alone is a bunch that was opened."""
    typed = "2027-04-20; 2027-04-18 ok; 2027-04-19 tight; bad 2027-04-17"
    assert read_lot(tmp_path, cut="2027-04-12", tested=typed, now=NOON).tested == (
        BunchTest(date(2027, 4, 17), Finding.BAD),
        BunchTest(date(2027, 4, 18), Finding.OK),
        BunchTest(date(2027, 4, 19), Stage.TIGHT),
        BunchTest(date(2027, 4, 20), Finding.OPENED),
    )


@pytest.mark.parametrize(
    "typed", ["2027-04-18 opened", "2027-04-18 perhaps", "ok", "2027-04-22 ok", "2027-04-11 ok"]
)
def test_tests_that_tell_nothing(tmp_path: Path, typed: str) -> None:
    """Said two ways, without a day, to come, or before the cut."""
    assert len(said(tmp_path, tested=typed)) == 1


def test_a_parents_tests_count_for_its_children(tmp_path: Path) -> None:
    """Beside the child's own; of several parents one that was bad is enough, and ok must be found in each."""
    rows = [
        {"tested": "2027-03-22 ok; 2027-03-23 bad"},
        {"tested": "2027-03-22 ok"},
        {"lot": "043", "split from": "042", "stems": "10", "tested": "2027-03-23 tight"},
        {"lot": "044", "split from": "041 x 10; 042 x 10"},
        {"lot": "045"},
        {"lot": "046", "split from": "042 x 10; 045 x 10"},
    ]
    lots = {lot.lot_code: lot for lot in read_rows(tmp_path, *rows).lots}
    assert [test.found for test in lots["043"].tested] == [Finding.OK, Stage.TIGHT]
    assert [test.found for test in lots["044"].tested] == [Finding.OK, Finding.BAD]
    assert [[test.found for test in alone.tested] for alone in lots["046"].alone] == [[Finding.OK], []]
    assert lots["046"].tested == ()


def test_a_move_drops_the_place_unless_it_names_one(tmp_path: Path) -> None:
    """The place is where the lot stands now; a move to come drops nothing yet."""
    moved = "porch, rack 2 2027-03-22T12:00"
    lot = read_lot(tmp_path, place="shelf 1", moved=moved)
    assert (lot.place, lot.moves[0].place, lot.moves[0].spot) == ("rack 2", "porch", "rack 2")
    assert read_lot(tmp_path, place="shelf 1", moved="porch 2027-03-22T12:00").place == ""
    assert read_lot(tmp_path, place="shelf 1", moved="porch 2027-03-24").place == "shelf 1"
    rows = [{"place": "shelf 1", "moved": moved}, {"split from": "041", "stems": "5"}]
    typed = {"split from": "041", "stems": "5", "place": "top", "lot": "043"}
    assert [lot.place for lot in read_rows(tmp_path, *rows, typed).lots] == ["rack 2", "rack 2", "top"]


def test_a_place_that_a_move_names_is_refused_in_its_cell(tmp_path: Path) -> None:
    """Where its letters cannot be printed, the cell of the move is what to correct."""
    sheet = read_rows(tmp_path, {"place": "左", "moved": "porch, 右 2 2027-03-22T12:00"})
    assert [lot.name_cells["place"] for lot in sheet.lots] == ["lots.csv, line 2, column moved"]


def test_a_move_in_a_wrong_year_is_a_problem(tmp_path: Path) -> None:
    """It would leave the lot where it was for a year."""
    assert [words.split(" (")[0] for words in said(tmp_path, moved="porch 2028-04-19")] == [
        "moved must be at most 45 days ahead, not on 2028-04-19"
    ]
    assert said(tmp_path, moved="porch 2027-05-19") == said(tmp_path, cut="plan 2028-04-12") == []


def test_a_childs_moves_follow_its_parents_up_to_its_own_first(tmp_path: Path) -> None:
    """The parent's warm trip counts for it; what the parent did afterwards does not."""
    trip = "out 2027-03-20T06:00 75F; barn 2027-03-20T15:00; porch 2027-03-22"
    rows = [
        {"cut": "2027-03-18", "moved": trip},
        {"split from": "041", "stems": "20", "moved": "porch 2027-03-21"},
    ]
    parent, child = read_rows(tmp_path, *rows).lots
    assert child.moves[:2] == parent.moves[:2]
    assert [(move.place, move.since.day) for move in child.moves[2:]] == [("porch", 21)]


def test_in_cooler_is_not_after_today(tmp_path: Path) -> None:
    """Next year's is a wrong year; a later hour of today is still to come."""
    (words,) = said(tmp_path, in_cooler="2028-04-12")
    assert words.startswith(
        'in cooler must not lie after today, 2027-04-21 (got "2028-04-12"). Leave it blank'
    )
    assert said(tmp_path, in_cooler="2027-04-21T15:00") == []


def test_an_order_before_the_cut_or_a_year_after_it(tmp_path: Path) -> None:
    """Both are a wrong year more often than an order; the day of the cut itself is none."""
    assert [words.split(" (")[0] for words in said(tmp_path, needed="2026-04-24; 2029-04-24")] == [
        "needed must come after the cut, 2027-04-12 09:00, not on 2026-04-24",
        "needed must be at most a year after the cut, 2027-04-12, not on 2029-04-24",
    ]
    assert said(tmp_path, needed="2027-04-12") == []
    assert len(said(tmp_path, needed="2027-04-12T06:00")) == 1


@pytest.mark.parametrize("typed", ["2.000", "1.200", "12.000 bunches"])
def test_stems_with_a_point_for_thousands_are_a_problem(tmp_path: Path, typed: str) -> None:
    """Two stems or two thousand: nobody can tell."""
    assert len(said(tmp_path, stems=typed)) == 1
    assert "Write 2000 without the point" in said(tmp_path, stems="2.000")[0]


def test_the_last_entry_of_the_journal(tmp_path: Path) -> None:
    """Name and number."""
    assert read_lot(tmp_path, journal=" k7-50 ").journal == JournalMark("K7", 50)
    assert len(said(tmp_path, journal="50")) == 1


def test_vase_days_seen_have_a_day(tmp_path: Path) -> None:
    """The day the bunch left, and the days it stood."""
    lot = read_lot(tmp_path, vase_days_seen="2027-03-20: 5; 22 Mar 2027: 3,5 days")
    assert lot.vase_days_seen == (
        SeenVaseDays(date(2027, 3, 20), 5.0),
        SeenVaseDays(date(2027, 3, 22), 3.5),
    )
    assert [
        len(said(tmp_path, vase_days_seen=text)) for text in ("5", "2027-04-20: 90", "2027-05-20: 5")
    ] == [1] * 3


def test_outlets_have_weekdays_and_dates(tmp_path: Path) -> None:
    """A fair that is on two days of the year, and a stall with one more day than its Saturdays."""
    text = (
        SETTINGS + '[uses.fair]\nvase_days = 3\ndays = ["2027-04-24", 2027-05-08]\nstems = 300\nmust = true\n'
    )
    sheet = read_rows(tmp_path, {"use": "fair", "needed": "2027-04-24"}, settings=text)
    assert [order.use for order in sheet.lots[0].orders] == ["fair"]


def test_headers_that_need_no_word(tmp_path: Path) -> None:
    """A list under [columns]; anything else is a problem of the settings."""
    for wrong in ('"Bed"', "[3]", "{ a = 1 }"):
        with pytest.raises(InputProblems, match="ignore must be a list of headers"):
            read_rows(tmp_path, {}, settings=f"{SETTINGS}[columns]\nignore = {wrong}\n")
