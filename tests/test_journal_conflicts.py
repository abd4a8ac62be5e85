"""What becomes of everything that is both typed and entered, through the files and commands of a grower."""

from __future__ import annotations

import csv
import io
import re
from pathlib import Path

import pytest
from click.testing import CliRunner

from tagmaker.cli import main
from tests.entered_season import HEADER, left, run, season, write_four

NOON = "2027-04-21T12:00"
Cells = dict[str, str]


@pytest.fixture(params=[True, False], ids=["column journal", "no column"])
def sheet(request: pytest.FixtureRequest, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Four lots on a computer of its own, in a csv with the column journal and in one without it."""
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path / "config"))
    path = write_four(tmp_path / "season")
    if not request.param:
        save(path, [{name: row[name] for name in row if name != "journal"} for row in rows(path)])
    season(path)
    return path


def rows(sheet: Path) -> list[Cells]:
    """The rows as they stand in the file."""
    return list(csv.DictReader(io.StringIO(sheet.read_text())))


def save(sheet: Path, lines: list[Cells]) -> None:
    """Write the rows, as a spreadsheet saves them."""
    text = io.StringIO()
    names = [name for name in HEADER.split(",") if name in lines[0]]
    table = csv.DictWriter(text, names, lineterminator="\n", restval="")
    table.writeheader()
    table.writerows(lines)
    sheet.write_text(text.getvalue())


def typed(sheet: Path, lot: str, /, **cells: str) -> None:
    """Type into a row, a new one where there is none, and have the sheet read."""
    lines, given = rows(sheet), {name.replace("_", " "): text for name, text in cells.items()}
    found = [line for line in lines if line["lot"] == lot]
    if found:
        found[0].update(given)
    else:
        lines.append({"lot": lot, **given})
    save(sheet, lines)
    season(sheet, NOON)


def copy_of(sheet: Path, at: str = NOON) -> str:
    """What catch-up writes; it is taken out of the folder until it is put in place."""
    done = CliRunner().invoke(main, ["catch-up", str(sheet), "--today", at])
    assert done.exit_code == 0, done.output
    copy = sheet.with_name("lots-caught-up.csv")
    text = copy.read_text()
    copy.unlink()
    return text


def put(sheet: Path, text: str) -> None:
    """Put a copy, or an older file, in the place of the sheet, and have it read."""
    sheet.write_text(text)
    season(sheet, NOON)


def gone(sheet: Path, lot: str = "104") -> str:
    """What the file says in `gone`."""
    return next(line["gone"] for line in rows(sheet) if line["lot"] == lot)


def to_settle(sheet: Path, at: str = NOON) -> list[str]:
    """Lots that are TO SETTLE, as the remarks say it."""
    said = [str(remark) for remark in season(sheet, at).remarks if "TO SETTLE" in str(remark)]
    return [found[1] for line in said if (found := re.search(r"lots\.csv (\S+) \"", line))]


def said(sheet: Path, words: str, at: str = NOON) -> bool:
    """Whether some remark says it."""
    return any(words in str(remark) for remark in season(sheet, at).remarks)


def test_typed_three_as_well_as_tapped_three(sheet: Path) -> None:
    """The same three, or three more? The smaller count until it is counted."""
    run(sheet, "104", "sold 3")
    typed(sheet, "104", gone="30")
    assert (to_settle(sheet), left(sheet)["104"]) == (["104"], 90)
    run(sheet, "104", "count 6", today="2027-04-21T10:00")
    assert (to_settle(sheet), left(sheet)["104"]) == ([], 60)


def test_typed_four_against_tapped_three_and_two(sheet: Path) -> None:
    """40 typed over 30 and 20: 70 until it is counted; then what was counted, and what follows."""
    run(sheet, "104", "sold 3")
    run(sheet, "104", "sold 2", today="2027-04-21T09:10")
    typed(sheet, "104", gone="40")
    assert (to_settle(sheet), left(sheet)["104"]) == (["104"], 70)
    run(sheet, "104", "count 8", today="2027-04-21T10:00")
    run(sheet, "104", "sold 1", today="2027-04-21T10:10")
    assert (to_settle(sheet), left(sheet)["104"]) == ([], 70)


def test_caught_up_and_tapped_on(sheet: Path) -> None:
    """What was entered after the copy was made counts on top of it."""
    run(sheet, "104", "sold 3")
    copy = copy_of(sheet)
    run(sheet, "104", "sold 1", today="2027-04-21T12:10")
    put(sheet, copy)
    assert (gone(sheet), to_settle(sheet), left(sheet, "2027-04-21T13:00")["104"]) == ("30", [], 80)


def test_a_copy_that_was_never_put_in_place(sheet: Path) -> None:
    """The sheet goes on counting nothing of it, and the next copy counts it all."""
    run(sheet, "104", "sold 3")
    copy_of(sheet)
    run(sheet, "104", "sold 1", today="2027-04-21T12:10")
    assert (to_settle(sheet), left(sheet, "2027-04-21T13:00")["104"]) == ([], 80)
    put(sheet, copy_of(sheet, "2027-04-21T13:00"))
    assert (gone(sheet), to_settle(sheet), left(sheet, "2027-04-21T13:00")["104"]) == ("40", [], 80)


def test_an_old_copy_put_back(sheet: Path) -> None:
    """What it does not count is open again, and that is said; nothing counts twice."""
    old = sheet.read_text()
    run(sheet, "104", "sold 3")
    put(sheet, copy_of(sheet))
    run(sheet, "104", "sold 1", today="2027-04-21T12:10")
    put(sheet, old)
    assert (to_settle(sheet), left(sheet, "2027-04-21T13:00")["104"]) == ([], 80)
    assert said(sheet, "the rows of 104 say again what they said before", "2027-04-21T13:00")


def test_rows_typed_between_copy_and_swap(sheet: Path) -> None:
    """The lot that went with the old file is named, as long as it had stems left."""
    run(sheet, "104", "sold 3")
    copy = copy_of(sheet)
    typed(sheet, "108", crop="tulip", cut="2027-04-20", stage="tight", stems="50", use="stall")
    assert left(sheet)["108"] == 50
    put(sheet, copy)
    assert (to_settle(sheet), left(sheet)["104"]) == ([], 90)
    assert said(sheet, "lot 108 is no longer in the sheet")


def test_sorted_wholly(sheet: Path) -> None:
    """Rows are known by their codes, wherever they stand."""
    run(sheet, "104", "sold 3")
    put(sheet, copy_of(sheet))
    run(sheet, "105", "sold 1", today="2027-04-21T12:10")
    before = left(sheet, "2027-04-21T13:00")
    save(sheet, rows(sheet)[::-1])
    assert (left(sheet, "2027-04-21T13:00"), to_settle(sheet, "2027-04-21T13:00")) == (before, [])
    assert (before["104"], before["105"]) == (90, 75)


def test_sorted_partly(sheet: Path) -> None:
    """The column gone sorted without the others: never more is left than the journal knows of."""
    run(sheet, "104", "sold 3")
    put(sheet, copy_of(sheet))
    run(sheet, "104", "sold 1", today="2027-04-21T12:10")
    run(sheet, "105", "sold 2", today="2027-04-21T12:11")
    lines = rows(sheet)
    lines[0]["gone"], lines[1]["gone"] = lines[1]["gone"], lines[0]["gone"]
    save(sheet, lines)
    after = left(sheet, "2027-04-21T13:00")
    assert (after["104"], after["105"]) == (80, 55)
    assert "105" in to_settle(sheet, "2027-04-21T13:00")
    assert ("104" in to_settle(sheet, "2027-04-21T13:00")) == ("journal" in lines[0])


def test_renamed_in_the_sheet(sheet: Path) -> None:
    """The old code is named as gone; once it is told, what was entered belongs to the new one."""
    run(sheet, "104", "sold 3")
    typed(sheet, "104", lot="204")
    assert said(sheet, "lot 104 is no longer in the sheet")
    run(sheet, "104", "renamed 204", today="2027-04-21T10:00")
    assert (to_settle(sheet), left(sheet)["204"]) == ([], 90)
    assert not said(sheet, "no longer in the sheet")


def test_deleted(sheet: Path) -> None:
    """It is named until it is told what became of it."""
    run(sheet, "104", "sold 3")
    season(sheet, NOON)
    save(sheet, rows(sheet)[1:])
    assert said(sheet, "lot 104 is no longer in the sheet")
    run(sheet, "104", "count 0", today="2027-04-21T12:10")
    assert not said(sheet, "lot 104 is no longer in the sheet", "2027-04-21T13:00")


def test_a_code_used_again_a_season_later(sheet: Path) -> None:
    """Last year's sale, never caught up, is not taken off this year's lot in silence."""
    run(sheet, "104", "sold 3")
    later = "2028-04-20T12:00"
    lines = [{**rows(sheet)[0], "cut": "2028-04-15", "stems": "200"}]
    save(sheet, lines)
    assert to_settle(sheet, later) == ["104"]
    run(sheet, "104", "count 20", today="2028-04-20T11:00")
    assert (to_settle(sheet, later), left(sheet, later)["104"]) == ([], 200)


def test_a_copy_of_the_sheet_that_a_synced_folder_makes(sheet: Path) -> None:
    """Beside the sheet it is nobody's; read by itself it must not have lots with entries too."""
    run(sheet, "104", "sold 3")
    season(sheet, NOON)
    other = sheet.with_name("lots (Ada's conflicted copy).csv")
    other.write_text(sheet.read_text())
    assert (season(sheet, NOON).problems, left(sheet)["104"]) == ((), 90)
    (problem,) = season(other, NOON).problems
    assert (problem.lot, "104 in lots too" in str(problem)) == ("104", True)
    assert "104" not in left(other)


def test_undo_of_what_was_caught_up(sheet: Path) -> None:
    """It is the opposite, and open until the next catch-up."""
    run(sheet, "104", "sold 3")
    put(sheet, copy_of(sheet))
    run(sheet, "104", "undo", today="2027-04-21T12:10")
    assert (gone(sheet), left(sheet, "2027-04-21T13:00")["104"]) == ("30", 120)
    put(sheet, copy_of(sheet, "2027-04-21T13:00"))
    assert (gone(sheet) or "0", to_settle(sheet), left(sheet, "2027-04-21T13:00")["104"]) == ("0", [], 120)


@pytest.mark.parametrize(("stems", "child", "parent"), [("40", 40, 80), ("50", 40, 70)])
def test_a_child_typed_by_hand_too(sheet: Path, stems: str, child: int, parent: int) -> None:
    """A row of its code and parent is that child; other stems are TO SETTLE, and the smaller count holds."""
    run(sheet, "104", "moved 4 to south")
    moved = {"moved": "south, rack 9 2027-04-21T09:05", "split_from": "104"}
    typed(sheet, "104B", stems=stems, crop="tulip", cut="2027-04-15", **moved)
    after = left(sheet)
    assert (after["104"], after["104B"]) == (parent, child)
    assert to_settle(sheet) == ([] if stems == "40" else ["104B"])
    (lot,) = [lot for lot in season(sheet, NOON).lots if lot.lot_code == "104B"]
    assert [move.spot for move in lot.moves] == ["rack 9"]
    run(sheet, "104B", "sold 1", today="2027-04-21T10:00")
    assert left(sheet)["104B"] == child - 10


def test_a_count_after_missed_and_late_entries(sheet: Path) -> None:
    """Two bunches that nobody entered, and a sale that is entered late, after a catch-up: the count holds."""
    run(sheet, "104", "sold 3")
    run(sheet, "104", "count 7", today="2027-04-21T10:00")
    put(sheet, copy_of(sheet))
    run(sheet, "104", "sold 1", today="2027-04-21T09:30")
    assert (to_settle(sheet), left(sheet)["104"], gone(sheet)) == ([], 70, "50")
    run(sheet, "104", "sold 1", today="2027-04-21T12:10")
    put(sheet, copy_of(sheet, "2027-04-21T13:00"))
    assert (gone(sheet), left(sheet, "2027-04-21T13:00")["104"]) == ("60", 60)


@pytest.mark.parametrize("home", ["2027-04-21T22:30", "2027-04-24T09:00"], ids=["that night", "days later"])
def test_back_after_the_day_s_end(sheet: Path, home: str) -> None:
    """What was caught up as sold comes home: a lot again, with its hours outside, and counted once."""
    run(sheet, "104", "out 6 for stall")
    put(sheet, copy_of(sheet))
    assert gone(sheet) == "60"
    run(sheet, "104", "back 2", today=home)
    after = left(sheet, home)
    assert (after["104"], after["104B"], to_settle(sheet, home)) == (60, 20, [])
    put(sheet, copy_of(sheet, home))
    after = left(sheet, home)
    assert (gone(sheet), after["104"], after["104B"], to_settle(sheet, home)) == ("40", 60, 20, [])


def test_gone_typed_as_all(sheet: Path) -> None:
    """It counts what was entered before, and nothing can be sold of it after."""
    run(sheet, "104", "sold 3")
    typed(sheet, "104", gone="all")
    assert (to_settle(sheet), left(sheet)["104"]) == ([], 0)
    assert "at most" in run(sheet, "104", "sold 1", today="2027-04-21T10:00", ok=2).output
    put(sheet, copy_of(sheet) if "journal" in rows(sheet)[0] else sheet.read_text())
    assert (gone(sheet), to_settle(sheet), left(sheet)["104"]) == ("all", [], 0)
