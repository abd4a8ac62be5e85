"""Entering what happened from the keyboard: what is understood, answered and refused, and what follows."""

from __future__ import annotations

import csv
import io
import shutil
from datetime import datetime
from pathlib import Path

import pytest
from click.testing import CliRunner

from tagmaker.cli import main
from tagmaker.lot import Finding, Move, StorageCode
from tagmaker.record.journal.beside import journal_path
from tagmaker.record.journal.entries import Kind
from tagmaker.record.journal.file import read_book
from tests.entered_season import MORNING, entries, left, run, season, write_four


@pytest.fixture
def sheet(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A season of four lots on a computer of its own."""
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path / "config"))
    return write_four(tmp_path / "season")


def test_sold_undone_and_looked_at(sheet: Path) -> None:
    """The answer tells the moment, what is left and how to undo it; the sheet is as it was."""
    before = sheet.read_bytes()
    done = run(sheet, "104", "sold 3 bunches")
    assert "Lot 104: 3 bunches sold, 9 bunches left." in done.output
    assert f"Undo: tagmaker enter {sheet} 104 undo" in done.output
    assert left(sheet)["104"] == 90
    assert left(sheet, "2027-04-21T09:00")["104"] == 120  # it had not happened yet
    assert "entry 1 undone, 12 bunches left" in run(sheet, "104", "undo", today="2027-04-21T09:10").output
    assert left(sheet)["104"] == 120
    assert sheet.read_bytes() == before


@pytest.mark.parametrize(
    ("words", "stems"),
    [
        ("sold 3", 30),
        ("sold 3 bunches", 30),
        ("Sold 25 stems.", 25),
        ("sold all", 85),
        ("sold 9 bunches", 85),
    ],
)
def test_bunches_are_typed_and_stems_are_kept(sheet: Path, words: str, stems: int) -> None:
    """The last bunch is what remains: nine bunches of 85 stems are all of them."""
    run(sheet, "105", words)
    (entry,) = entries(sheet)
    assert (entry.stems, left(sheet)["105"]) == (stems, 85 - stems)


def test_what_went_before_uses_up_nothing_that_is_kept(sheet: Path) -> None:
    """Bunches sold without an order are none of those that are kept afterwards, for one order or several."""
    run(sheet, "104", "sold 4 bunches")
    run(sheet, "104", "kept 3 for 2027-04-24 stall order A", today="2027-04-21T09:12")
    run(sheet, "104", "kept 2 for 2027-04-24 stall order B", today="2027-04-21T09:13")
    run(sheet, "104", "kept 4 for 2027-04-24 stall order A", today="2027-04-21T09:14")
    dates = next(dates for dates in season(sheet).dated if dates.lot.lot_code == "104")
    assert [order.stems for order in dates.orders] == [20, 40]


def test_all_kinds_reach_the_lots(sheet: Path) -> None:
    """Each form of words does to a lot what it says."""
    run(sheet, "104", "thrown out 1 bunch, mould on it")
    run(sheet, "104", "moved to south, rack 2", today="2027-04-21T09:10")
    run(sheet, "104", "tested ok", today="2027-04-21T09:11")
    run(sheet, "104", "kept 2 for 2027-04-24 stall", today="2027-04-21T09:12")
    run(sheet, "104", "into water", today="2027-04-21T09:13")
    run(sheet, "107", "dried", today="2027-04-21T09:14")
    run(sheet, "105", "count 8", today="2027-04-21T09:15")
    run(sheet, "105", "more 2", today="2027-04-21T09:16")
    run(sheet, "106", "cut 90 stems tight", today="2027-04-21T09:17")
    run(sheet, "106", "planned water, south", today="2027-04-21T09:18")
    run(sheet, "106", "note ask Ada", today="2027-04-21T09:19")
    lots = {lot.lot_code: lot for lot in season(sheet).lots}
    assert (lots["104"].dumped, lots["104"].why_dumped) == (10, "mould on it")
    assert lots["104"].moves[-1] == Move(since=datetime(2027, 4, 21, 9, 10), place="south", spot="rack 2")
    assert [test.found for test in lots["104"].tested] == [Finding.OK]
    assert [(order.leaves, order.stems) for order in lots["104"].orders] == [
        (datetime(2027, 4, 24, 6, 30), 20)
    ]
    assert lots["104"].in_water == datetime(2027, 4, 21, 9, 13)
    assert lots["107"].in_cooler == datetime(2027, 4, 21, 9, 14)
    assert lots["105"].left == 100
    assert (lots["106"].planned, lots["106"].stems, lots["106"].storage) == (False, 90, StorageCode.WATER)
    assert (lots["106"].cooler, lots["106"].note) == ("south", "ask Ada")


def test_some_in_water_for_a_departure(sheet: Path) -> None:
    """They are a lot of their own with an order; after the departure it is asked whether they left."""
    done = run(sheet, "104", "into water 4 for 2027-04-24 stall")
    assert "4 bunches into water, now lot 104B, 8 bunches left" in done.output
    part = next(lot for lot in season(sheet).lots if lot.lot_code == "104B")
    assert (part.left, part.in_water, part.orders[0].stems) == (40, datetime(2027, 4, 21, 9, 5), 40)
    after = season(sheet, "2027-04-24T07:00")
    assert after.held == {"104B"}
    assert any("DID THEY LEAVE? 4 bunches stood in water" in str(remark) for remark in after.remarks)
    run(sheet, "104B", "sold all", today="2027-04-24T12:00")
    assert season(sheet, "2027-04-24T13:00").held == frozenset()
    assert left(sheet, "2027-04-24T13:00")["104B"] == 0


def test_out_and_back(sheet: Path) -> None:
    """What comes back is a lot with its hours in the warm; more than went out does not come back."""
    run(sheet, "104", "out 6 for stall at 75F", today="2027-04-21T06:00")
    assert left(sheet)["104"] == 60
    assert (
        "must be at most what went out" in run(sheet, "104", "back 7", today="2027-04-21T13:00", ok=2).output
    )
    run(sheet, "104", "back 2", today="2027-04-21T13:00")
    run(sheet, "104", "back 1 to south", today="2027-04-21T14:00")
    assert left(sheet, "2027-04-21T15:00") == {"104": 60, "105": 85, "106": None, "107": 60, "104B": 30}
    child = next(lot for lot in season(sheet, "2027-04-21T15:00").lots if lot.lot_code == "104B")
    assert [(move.place, move.since.hour, move.temperature_c) for move in child.moves] == [
        ("out", 6, pytest.approx(23.9, abs=0.1)),
        ("walk-in", 14, None),
    ]


def test_a_new_lot_is_dated_and_can_be_sold(sheet: Path) -> None:
    """Its row is checked like one of the sheet; it lives in the journal until the sheet has it."""
    bad = run(sheet, "140", "new crop tulpi; cut 2027-04-21T08:00; stems 60", ok=1)
    assert "crop must be a known crop" in bad.output
    run(sheet, "140", "new crop tulip; cut 2027-04-21T08:00; stems 60; stage tight")
    run(sheet, "140", "corrected variety Cobble Pink", today="2027-04-21T09:10")
    run(sheet, "140", "sold 2", today="2027-04-21T09:15")
    dates = next(found for found in season(sheet).dated if found.lot.lot_code == "140")
    assert (dates.lot.variety, dates.left) == ("Cobble Pink", 40)
    assert dates.sell_by is not None
    assert "must have a code of its own" in run(sheet, "140", "new crop tulip", ok=2).output


def test_renamed(sheet: Path) -> None:
    """The lot goes by its new code, with all that was entered."""
    run(sheet, "104", "sold 3")
    run(sheet, "104", "renamed 204", today="2027-04-21T09:10")
    assert (
        "Lot 204: 1 bunch sold, 8 bunches left"
        in run(sheet, "204", "sold 1", today="2027-04-21T09:15").output
    )
    assert "104" not in left(sheet)


@pytest.mark.parametrize(
    ("lot", "words", "said"),
    [
        ("104", "sold 13", "sold must be at most what is left of lot 104, 12 bunches (got 13 bunches)"),
        ("104", "count 13", "10 stems more are there than can be"),
        ("104", "sould 3", 'an entry must be words like "sold 3 bunches"'),
        ("104", "sold -3", "an entry must be words like"),
        ("104", "sold 3.5", "an entry must be words like"),
        ("104", "moved to sotuh", "The nearest is south"),
        ("104", "back 3", "back must follow an out"),
        ("104", "undo", "undo must name an entry of lot 104"),
        ("104", "undo 7", "undo must name an entry of lot 104"),
        ("104", "settle water sheet", "which is settled"),
        ("104", "corrected stems 3", "must be a lot that stands in the journal alone"),
        ("999", "sold 1", "LOT must be a lot of lots.csv (got 999)"),
        ("1?4", "sold 1", "LOT must be a code"),
        ("106", "sold all", "all must be a number"),
    ],
)
def test_what_cannot_be_is_refused(sheet: Path, lot: str, words: str, said: str) -> None:
    """With what it must be and what was found; nothing is recorded."""
    assert said in run(sheet, lot, words, ok=2).output
    assert not journal_path(sheet).exists()


def test_a_row_that_would_not_be_sound_is_refused(sheet: Path) -> None:
    """What a lot cannot do according to its row is told like a problem of the sheet."""
    done = run(sheet, "107", "moved to south", ok=1)
    assert "moved must be blank for a lot that is still wet" in done.output
    assert not journal_path(sheet).exists()


def test_undo_with_later_entries_offers_a_count(sheet: Path) -> None:
    """Only the last word about a lot and its children is taken back."""
    run(sheet, "104", "moved 4 to south")
    run(sheet, "104B", "sold 1", today="2027-04-21T09:10")
    assert 'Count what is left instead: "count 7"' in run(sheet, "104", "undo 1", ok=2).output
    run(sheet, "104B", "undo", today="2027-04-21T09:15")
    run(sheet, "104", "undo 1", today="2027-04-21T09:20")
    assert left(sheet) == {"104": 120, "105": 85, "106": None, "107": 60}


def test_to_settle_is_said_and_settled_by_a_count(sheet: Path) -> None:
    """Typed as well as entered: both numbers, the smaller one counts, and how it is answered."""
    run(sheet, "104", "sold 3")
    sheet.write_text(sheet.read_text().replace("120,10,,,", "120,10,20,,"))
    found = season(sheet)
    (said,) = [str(remark) for remark in found.remarks if "TO SETTLE" in str(remark)]
    assert "TO SETTLE: by the row 10 bunches left, by the journal 9 bunches." in said
    assert 'tagmaker enter lots.csv 104 "count 9 bunches"' in said
    assert left(sheet)["104"] == 90
    run(sheet, "104", "count 9", today="2027-04-21T10:00")
    assert not [remark for remark in season(sheet).remarks if "TO SETTLE" in str(remark)]


def test_saving_does_not_need_a_readable_sheet(sheet: Path) -> None:
    """A lot that is known is entered in stems; what has to be worked out from the sheet is refused."""
    run(sheet, "104", "sold 1")
    whole = sheet.read_bytes()
    sheet.write_bytes(b"\x00\x01")
    assert "30 stems" in run(sheet, "104", "sold 3 bunches", ok=2).output
    assert (
        "the sheet could not be read" in run(sheet, "104", "sold 30 stems", today="2027-04-21T10:00").output
    )
    sheet.write_bytes(whole)
    assert left(sheet)["104"] == 80


def test_an_unreadable_journal_is_loud_and_stops_printing(sheet: Path, tmp_path: Path) -> None:
    """The sheet's dates go on without it, nothing is recorded, and printing has to be asked for."""
    run(sheet, "104", "sold 3")
    journal_path(sheet).write_bytes(b"broken" * 1000)
    assert "Nothing was recorded" in run(sheet, "104", "sold 1", ok=3).output
    dates = CliRunner().invoke(main, ["dates", str(sheet), "--today", MORNING])
    assert (dates.exit_code, "THE JOURNAL CANNOT BE READ" in dates.output) == (1, True)
    assert "120" in dates.output
    papers = ["wraps", str(sheet), "--lot", "104", "-o", str(tmp_path), "--today", MORNING]
    assert CliRunner().invoke(main, papers).exit_code == 1
    assert CliRunner().invoke(main, [*papers, "--skip-bad"]).exit_code == 1
    assert CliRunner().invoke(main, [*papers, "--without-journal"]).exit_code == 0
    assert journal_path(sheet).read_bytes() == b"broken" * 1000


@pytest.mark.parametrize(
    ("mark", "said"),
    [
        ("Q9-1", "journal must name the journal of its folder (got Q9-1"),
        ("{name}-2", "journal must be at most {name}-1 (got {name}-2)"),
    ],
)
def test_a_number_that_cannot_be_lays_nothing_over(sheet: Path, mark: str, said: str) -> None:
    """Another journal's name, or a number beyond the last: a problem of the whole sheet."""
    run(sheet, "104", "sold 3")
    name = read_book(journal_path(sheet)).name
    first = sheet.read_text().splitlines()[1]
    sheet.write_text(sheet.read_text().replace(first, first + mark.format(name=name)))
    found = season(sheet)
    assert [problem.lot for problem in found.problems] == [""]
    assert said.format(name=name) in str(found.problems[0])
    assert left(sheet)["104"] == 120
    run(sheet, "104", "sold 1", ok=3)


def test_a_conflict_copy_lays_nothing_over(sheet: Path) -> None:
    """Two journals in a folder: which of them is right is the grower's to say."""
    run(sheet, "104", "sold 3")
    other = sheet.with_name("lots-journal (conflicted copy).sqlite")
    shutil.copy(journal_path(sheet), other)
    (problem,) = season(sheet).problems
    assert "there must be one journal in a folder (got lots-journal (conflicted copy).sqlite" in str(problem)
    run(sheet, "104", "sold 1", ok=3)
    other.unlink()
    assert left(sheet)["104"] == 90


def test_the_same_code_in_two_sheets(sheet: Path) -> None:
    """A lot with entries that another sheet has too is left out there, until one gets another code."""
    run(sheet, "104", "sold 3")
    other = sheet.with_name("spring.csv")
    other.write_text(sheet.read_text())
    (problem,) = season(other).problems
    assert (problem.lot, "got 104 in lots too" in str(problem)) == ("104", True)
    other.unlink()
    same = sheet.with_name("lots-caught-up.csv")
    same.write_text(sheet.read_text())
    assert left(same)["104"] == 90  # a copy of it is the same sheet


@pytest.fixture
def elsewhere(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Another computer from now on."""
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path / "other"))
    monkeypatch.setattr("platform.node", lambda: "office")


def test_another_computer_reads_and_does_not_record(sheet: Path, request: pytest.FixtureRequest) -> None:
    """Until it is told that the journal is kept there."""
    run(sheet, "104", "sold 3")
    request.getfixturevalue("elsewhere")
    assert left(sheet)["104"] == 90
    assert "--keep-here" in run(sheet, "104", "sold 1", ok=3).output
    kept = CliRunner().invoke(main, ["journal", str(sheet), "--keep-here"])
    assert (kept.exit_code, "kept by office" in kept.output) == (0, True)
    run(sheet, "104", "sold 1", today="2027-04-21T10:00")
    assert left(sheet)["104"] == 80


def test_the_journal_is_listed(sheet: Path) -> None:
    """Line by line, of one lot, and as a table that no spreadsheet takes for formulas."""
    run(sheet, "104", "sold 3 for Ada")
    run(sheet, "105", "note =1+1", today="2027-04-21T10:00")
    run(sheet, "105", "undo", today="2027-04-21T10:05")
    shown = CliRunner().invoke(main, ["journal", str(sheet)]).output
    assert "    1  2027-04-21 09:05  104          sold 30 stems Ada" in shown
    assert "note =1+1 - UNDONE" in shown
    table = CliRunner().invoke(main, ["journal", str(sheet), "--csv", "--lot", "105"]).output
    rows = list(csv.DictReader(io.StringIO(table)))
    assert [(row["number"], row["kind"], row["undoes"]) for row in rows] == [
        ("2", "note", ""),
        ("3", "undo", "2"),
    ]
    assert CliRunner().invoke(main, ["journal", str(sheet.parent / "x" / "y.csv")]).exit_code == 2


def test_the_first_entry_begins_the_journal(sheet: Path) -> None:
    """Reading commands leave the folder as it is; an entry makes the journal and its copy of the day."""
    assert CliRunner().invoke(main, ["dates", str(sheet), "--today", MORNING]).exit_code == 0
    assert sorted(path.name for path in sheet.parent.iterdir()) == ["lots.csv", "tagmaker.toml"]
    run(sheet, "104", "sold 3")
    names = sorted(path.name for path in sheet.parent.iterdir())
    assert names[-1] == "tagmaker.toml"
    assert [name.startswith("lots-journal") for name in names] == [True, True, False, False]
    assert [entry.kind for entry in entries(sheet)] == [Kind.SOLD]


def test_a_cooler_s_reading_from_the_keyboard(sheet: Path) -> None:
    """Entered under the cooler's name; undone, it counts no more."""
    done = run(sheet, "walk-in", "lowest 33F highest 38")
    assert "Cooler walk-in: lowest 0.6 °C, highest 3.3 °C." in done.output
    assert [look.high_c for look in season(sheet).airs["walk-in"].written] == [pytest.approx(3.33)]
    typed = "readings.csv, a new row: cooler walk-in, moment 2027-04-21T09:05, low 33F, high 38F "
    assert typed in CliRunner().invoke(main, ["catch-up", str(sheet), "--today", MORNING]).output
    readings = sheet.with_name("readings.csv")
    readings.write_text("cooler,moment,low,high\nwalk-in,2027-04-21T09:05,33F,38F\n")
    assert typed not in CliRunner().invoke(main, ["catch-up", str(sheet), "--today", MORNING]).output
    assert [look.high_c for look in season(sheet).airs["walk-in"].written] == [pytest.approx(3.33, abs=0.01)]
    readings.unlink()
    run(sheet, "walk-in", "no mould", today="2027-04-21T09:10")
    assert "must be like" in run(sheet, "walk-in", "sold 3", ok=2).output
    run(sheet, "walk-in", "undo", today="2027-04-21T09:15")
    run(sheet, "walk-in", "undo", today="2027-04-21T09:16")
    assert season(sheet).airs["walk-in"].written == ()
    run(sheet, "104", "sold 1", today="2027-04-21T09:20")
    assert left(sheet)["104"] == 110


def test_a_code_that_stands_alone_further_down_is_no_second_lot(sheet: Path) -> None:
    """A starter's numbered row stays what it is, whatever is entered of the lot of its code."""
    with sheet.open("a", encoding="utf-8") as file:
        file.write("104" + "," * 19 + "\n")
    run(sheet, "104", "sold 3 bunches")
    run(sheet, "104", "sold 2 bunches", today="2027-04-21T10:00")
    assert left(sheet)["104"] == 70
