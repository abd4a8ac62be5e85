"""The questions of `start`: what Enter takes, what wrong answers are told, and the season of it."""

from __future__ import annotations

import os
import pty
import subprocess
import sys
from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest

from tagmaker.desk import starting
from tagmaker.desk.starting import asked, begin, fault
from tagmaker.errors import InputProblems
from tagmaker.farm import Farm
from tagmaker.intake.settings.farm import settings_beside
from tagmaker.intake.starter.answers import with_coolers, with_uses
from tagmaker.intake.starter.beginning import Beginning

ANSWERS = (
    "Larkmarrow Yard",
    "c",
    "A4",
    "a4-2x7",
    "walk-in 3.5; back room 41F; porch",
    "shop: every day, 4; market: Wed, Sat, 5; fair: 2027-05-08, 3",
)


@pytest.fixture(autouse=True)
def no_printer(monkeypatch: pytest.MonkeyPatch) -> None:
    """The printers of the computer that tests are no matter."""
    monkeypatch.setattr(starting, "queues", lambda: ())


def season_of(folder: Path, *answers: str) -> tuple[Farm, list[str], list[str]]:
    """The farm after some answers, with what was asked and what wrong answers were told; "" is Enter."""
    waiting, questions, told = list(answers), [], []

    def ask(question: str, usual: str, check: object) -> str:
        questions.append(question)
        while True:
            answer = (waiting.pop(0) if waiting else "") or usual
            try:
                check(answer)  # type: ignore[operator]
            except InputProblems as error:
                told.append(fault(error))
            else:
                return answer

    sheet, *_ = begin(folder, asked(ask))
    return settings_beside(sheet), questions, told


def test_enter_takes_what_is_usual(tmp_path: Path) -> None:
    """At most eight questions, and a season that reads comes of Enter alone."""
    farm, questions, told = season_of(tmp_path)
    assert (len(questions) <= 8, told) == (True, [])
    assert (farm.name, farm.units, farm.paper_size, farm.label_stock) == ("", "F", "letter", "letter-3x10")
    assert {name: use.vase_days for name, use in farm.uses.items()} == {"shop": 4.0}
    assert list(farm.coolers) == ["walk-in"]


def test_answers_become_settings(tmp_path: Path) -> None:
    """Farm, units, paper, labels, coolers with their set points, outlets with their days and vase days."""
    farm, _, told = season_of(tmp_path, *ANSWERS)
    assert told == []
    assert (farm.name, farm.units, farm.paper_size, farm.label_stock) == (
        "Larkmarrow Yard",
        "C",
        "a4",
        "a4-2x7",
    )
    assert {name: cooler.set_point_c for name, cooler in farm.coolers.items()} == {
        "walk-in": 3.5,
        "back room": pytest.approx(5.0),
        "porch": None,
    }
    assert {name: use.vase_days for name, use in farm.uses.items()} == {"shop": 4, "market": 5, "fair": 3}
    assert (set(farm.uses["market"].days), set(farm.uses["fair"].days)) == ({2, 5}, set())
    assert farm.uses["fair"].dates == {date(2027, 5, 8)}


def test_a_wrong_answer_is_asked_again_with_what_must_be(tmp_path: Path) -> None:
    """What must be, what was found and what to write; then the right one counts."""
    answers = (
        "Larkmarrow" * 5,
        "Larkmarrow Yard",
        "Kelvin",
        "F",
        "A3",
        "letter",
        "labels",
        "letter-2x5",
        "walk-in 339",
        "walk-in 39; Walk in 41",
        "walk-in 39",
        "stall",
        "stall: Satt, 4",
        "stall: Sat, four",
        "stall: Sat, 4",
    )
    farm, _, told = season_of(tmp_path, *answers)
    assert [line.partition(" (got")[0] for line in told] == [
        "farm must be at most 40 letters",
        "units must be F or C",
        "paper_size must be letter or a4",
        told[3].partition(" (got")[0],
        "set_point must be from -5 to 20 °C (23 to 68 °F)",
        "a cooler must be named once",
        "an outlet must have its name, a colon, its days and its vase days",
        "days must be days of the week or dates",
        "vase_days must be a number from 0.5 to 60 days",
    ]
    assert told[3].startswith("labels must be letter-3x10, letter-2x5,")
    assert all("got " in line and line.endswith(".") for line in told)
    assert (farm.label_stock, list(farm.coolers), list(farm.uses)) == ("letter-2x5", ["walk-in"], ["stall"])


def test_a_set_point_is_written_with_its_unit() -> None:
    """So that it still means the same where the farm's units are changed later."""
    beginning = replace(Beginning(), farm={"units": "C"})
    found = with_coolers(beginning, "walk-in 3.5; porch 41 F")
    assert {name: table["set_point"] for name, table in found.coolers.items()} == {
        "walk-in": "3.5C",
        "porch": "41 F",
    }


def test_a_printer_is_asked_for_where_there_is_one(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The bench prints to it; no other name is taken, and none is one of the answers."""
    monkeypatch.setattr(starting, "queues", lambda: ("shed_1", "2"))
    farm, questions, told = season_of(tmp_path / "a", *ANSWERS, "sched", "Shed_1")
    assert len(questions) == 7
    assert told == ['the printer must be shed_1, 2 or none (got "sched"). Write one of them.']
    assert {name: printer.queue for name, printer in farm.printers.items()} == {"shed_1": "shed_1"}
    assert season_of(tmp_path / "b", *ANSWERS, "2")[0].printers["bench"].queue == "2"
    assert season_of(tmp_path / "c", *ANSWERS)[0].printers == {}


@pytest.mark.parametrize("take", [with_coolers, with_uses])
def test_nothing_is_no_answer(take: object) -> None:
    """A season has a cooler and an outlet."""
    with pytest.raises(InputProblems, match="one at least must be named"):
        take(Beginning(), " ; ")  # type: ignore[operator]


def at_a_terminal(folder: Path, typed: str, *options: str) -> tuple[int, str]:
    """`start` at a terminal: its exit code, and what the terminal shows."""
    main, side = pty.openpty()
    command = [sys.executable, "-m", "tagmaker", "start", *options, str(folder)]
    home = {"XDG_CONFIG_HOME": str(folder.parent / "config")}  # where no season was before
    with subprocess.Popen(
        command, stdin=side, stdout=side, stderr=side, env={**os.environ, **home}
    ) as process:
        os.close(side)
        os.write(main, typed.encode())
        shown = b""
        while True:
            try:
                piece = os.read(main, 4096)
            except OSError:  # the other side is closed
                break
            if not piece:
                break
            shown += piece
    os.close(main)
    return process.returncode, shown.decode()


def test_a_terminal_is_asked_and_told(tmp_path: Path) -> None:
    """Each question with what Enter takes in brackets; a wrong answer is told what must be."""
    folder = tmp_path / "season"
    code, shown = at_a_terminal(folder, "Larkmarrow Yard\nK\nF\n\n\n\n\n")
    assert code == 0, shown
    assert "Temperatures in F or C [F]:" in shown
    assert 'Error: units must be F or C (got "K"). Write one of them.' in shown
    farm = settings_beside(folder / "lots.xlsx")
    assert (farm.name, farm.units) == ("Larkmarrow Yard", "F")


def test_with_yes_nothing_is_asked(tmp_path: Path) -> None:
    """Nor without a terminal, which every other test of `start` shows."""
    code, shown = at_a_terminal(tmp_path / "season", "", "--yes")
    assert (code, "[F]" in shown) == (0, False)


def test_who_breaks_off_has_nothing_written(tmp_path: Path) -> None:
    """Ctrl+D at a question leaves no folder."""
    code, shown = at_a_terminal(tmp_path / "season", "Larkmarrow Yard\n\x04")
    assert (code, "Aborted" in shown, (tmp_path / "season").exists()) == (1, True, False)
