"""Which tags a command prints: new ones, those that must go, those that could say more; and what was sent."""

from __future__ import annotations

import os
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from tagmaker.cli import main
from tagmaker.desk.season import Day, read_season
from tagmaker.record.printings import open_record
from tests.served import NOW

TODAY = f"{NOW:%Y-%m-%dT%H:%M}"
HEADER = "lot,crop,form,cut,stage,stems,needed"


def run(command: str, sheet: Path, *options: str, today: str = TODAY) -> Result:
    """A command that went well."""
    out = ["-o", str(sheet.parent / "papers")]
    result = CliRunner().invoke(main, [command, str(sheet), "--today", today, *out, *options])
    assert result.exit_code == 0, result.output
    return result


def season(folder: Path, **rows: tuple[str, str]) -> Path:
    """Lots of 120 tulips: code -> day of the cut, needed."""
    (folder / "tagmaker.toml").write_text('units = "F"\n', encoding="utf-8")
    lines = [f"{lot[1:]},tulip,single,{cut},tight,120,{needed}" for lot, (cut, needed) in rows.items()]
    sheet = folder / "lots.csv"
    sheet.write_text("\n".join([HEADER, *lines]) + "\n", encoding="utf-8")
    return sheet


LATE, EARLY = ("2027-03-22T09:00", ""), ("2027-03-12T09:00", "")
OLD = ("2027-01-02T09:00", "")


def printed(sheet: Path, paper: str = "wraps") -> list[str]:
    """Lots of the printings in the record, in order."""
    known = open_record(sheet, NOW, create=False)[0].known
    return [line.lot_code for line in known.printed if line.paper == paper]


@pytest.mark.parametrize(("command", "name"), [("wraps", "label"), ("crates", "card")])
def test_reprint_prints_what_must_go_and_reprint_all_what_could_say_more(
    tmp_path: Path, command: str, name: str
) -> None:
    """One lot turned out to be cut earlier, one later, one as it was."""
    run(command, season(tmp_path, x041=LATE, x042=EARLY, x043=LATE))
    sheet = season(tmp_path, x041=EARLY, x042=LATE, x043=LATE)
    before = len(printed(sheet, command))
    run(command, sheet, "--reprint")
    assert printed(sheet, command)[before:] == ["041"]
    assert f"no printed {name} must go" in run(command, sheet, "--reprint").stderr
    run(command, sheet, "--reprint-all")
    assert printed(sheet, command)[before:] == ["041", "042"]
    assert f"no printed {name} must go or could say more" in run(command, sheet, "--reprint-all").stderr


def test_dates_tell_the_two_kinds_apart(tmp_path: Path) -> None:
    """The table and the JSON name the lots, for both papers; a page says it of each tag."""
    run("papers", season(tmp_path, x041=LATE, x042=EARLY))
    sheet = season(tmp_path, x041=EARLY, x042=LATE)
    table = CliRunner().invoke(main, ["dates", str(sheet), "--today", TODAY]).stdout
    for paper in ("wrap labels", "crate cards"):
        assert f"REPRINT FIRST, {paper} that must go: 041" in table
        assert f"{paper} that hold but could say more: 042" in table


def test_an_order_that_came_later_makes_labels_and_cards_must_go(tmp_path: Path) -> None:
    """Sixty stems are wanted sooner: both papers of that lot are printed again, and then all hold."""
    run("papers", season(tmp_path, x041=LATE, x042=LATE))
    sheet = season(tmp_path, x041=("2027-03-22T09:00", "2027-03-27 x 60"), x042=LATE)
    for command in ("wraps", "crates"):
        before = len(printed(sheet, command))
        run(command, sheet, "--reprint")
        assert set(printed(sheet, command)[before:]) == {"041"}
        assert "must go" in run(command, sheet, "--reprint").stderr


def test_nothing_left_to_label_is_said_of_each_lot(tmp_path: Path) -> None:
    """Beside those that get labels, and where none does."""
    sheet = season(tmp_path, x041=LATE, x042=LATE)
    run("wraps", sheet, "--lot", "041")
    first = run("wraps", sheet, "--new", "--first", "next").stderr
    assert "nothing left to label: 041\n" in first
    again = run("wraps", sheet, "--new").stderr
    assert "nothing left to label: 041, 042\n" in again
    assert "no wrap labels to print: every bunch has its label" in again
    assert printed(sheet) == ["041", "042"]


def test_new_labels_beside_older_cards_are_said(tmp_path: Path) -> None:
    """The cards say the dates of before; labels and cards together are of one kind."""
    run("papers", season(tmp_path, x041=LATE, x042=LATE))
    sheet = season(tmp_path, x041=EARLY, x042=LATE)
    said = "the crate cards of these lots are older and say something else: 041"
    assert said in run("wraps", sheet).stderr
    assert "older" not in run("papers", sheet).stderr
    assert "older" not in run("wraps", sheet).stderr


def test_a_lot_too_old_gets_no_labels_unless_it_is_named(tmp_path: Path) -> None:
    """It is said; its card is printed all the same."""
    sheet = season(tmp_path, x041=LATE, x042=OLD)
    assert read_season(sheet, Day(NOW.date(), NOW)).dated[1].state.value == "too old"
    said = "lots that are too old or without a date (--lot CODE prints them all the same): 042"
    assert said in run("papers", sheet).stderr
    assert (printed(sheet), printed(sheet, "crates")) == (["041"], ["041", "042"])
    assert said not in run("wraps", sheet, "--lot", "042").stderr
    assert printed(sheet) == ["041", "042"]


# --- sent, or not


@pytest.fixture
def tools(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The folder of our own commands of the spooler."""
    folder = tmp_path / "tools"
    folder.mkdir()
    monkeypatch.setenv("PATH", f"{folder}{os.pathsep}/bin{os.pathsep}/usr/bin")
    return folder


def lp(tools: Path, script: str) -> None:
    """Stand scripts in for the spooler."""
    for name, text in (("lp", script), ("lpstat", "echo TAGS")):
        (tools / name).write_text(f"#!/bin/sh\n{text}\n", encoding="utf-8")
        (tools / name).chmod(0o755)


def test_what_was_not_sent_is_not_recorded(tmp_path: Path, tools: Path) -> None:
    """The labels were taken, the cards refused: the one counts, the other does not; then both do."""
    sheet = season(tmp_path, x041=LATE)
    arguments = ["papers", str(sheet), "--today", TODAY, "--first", "next", "--send", "TAGS"]
    lp(tools, "exit 1")
    result = CliRunner().invoke(main, arguments)
    assert (result.exit_code, printed(sheet), printed(sheet, "crates")) == (3, [], [])
    assert "the files are written; what was not sent is not recorded as printed" in result.stderr
    lp(tools, 'case "$*" in *crate-cards.pdf) exit 1;; esac')
    assert CliRunner().invoke(main, arguments).exit_code == 3
    assert (printed(sheet), printed(sheet, "crates")) == (["041"], [])
    lp(tools, "exit 0")
    assert CliRunner().invoke(main, arguments).exit_code == 0
    assert (printed(sheet), printed(sheet, "crates")) == (["041", "041"], ["041"])
    assert open_record(sheet, NOW)[0].known.sheet("letter-3x10").next_label == 25


def test_a_printer_of_the_settings_is_sent_to_by_either_name(tmp_path: Path, tools: Path) -> None:
    """Its own or its queue's; its corrections count both ways."""
    sheet = season(tmp_path, x041=LATE)
    with (tmp_path / "tagmaker.toml").open("a", encoding="utf-8") as settings:
        settings.write('[printers.bench]\nqueue = "TAGS"\noffset_x = 2\n')
    lp(tools, f'printf "%s\\n" "$2" >> {tmp_path / "told"}')
    plain = tmp_path / "papers" / "wrap-labels.pdf"
    run("wraps", sheet, "--no-record")
    straight = plain.read_bytes()
    for name in ("bench", "TAGS"):
        run("wraps", sheet, "--no-record", "--send", name)
        assert plain.read_bytes() != straight
    assert (tmp_path / "told").read_text(encoding="utf-8").split() == ["TAGS", "TAGS"]
