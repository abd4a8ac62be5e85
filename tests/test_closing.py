"""The season after a season: what it takes over, what is said to be open, and that nothing old is changed."""

from __future__ import annotations

from datetime import datetime, timedelta
from pathlib import Path

import openpyxl
import pytest
from click.testing import CliRunner, Result

from tagmaker.cli import main
from tagmaker.desk.starting import begin, follows
from tagmaker.errors import InputProblems
from tagmaker.intake.columns import NAMES
from tagmaker.intake.settings.farm import settings_beside
from tagmaker.intake.starter.answers import with_coolers, with_uses
from tagmaker.intake.starter.beginning import Beginning
from tests.served import row, write_season


@pytest.fixture
def old(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A season with three lots in a workbook, an entry, and settings in sheets and file."""
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path / "config"))
    beginning = with_uses(with_coolers(Beginning(), "walk-in 3.5C; porch 41F"), "stall: Sat, 2027-05-08, 4")
    sheet, settings, _ = begin(tmp_path / "spring 1", beginning)
    book = openpyxl.load_workbook(sheet)
    book["Farm"]["B2"] = "Larkmarrow Yard"
    keys = [cell.value for cell in book["Farm"]["A"]]
    book["Farm"].cell(row=keys.index("usual stage") + 1, column=2, value="tight")
    book["Farm"].append(["usual cooler", "porch"])
    yesterday = datetime.now().replace(microsecond=0) - timedelta(days=1)
    for line, code in ((42, "041"), (113, "112"), (202, "112B")):
        cells: dict[str, str | int | datetime] = {
            "lot": code,
            "crop": "tulip",
            "form": "single",
            "cut": yesterday,
            "stems": 20,
        }
        for column, value in cells.items():
            book["Lots"].cell(row=line, column=NAMES.index(column) + 1, value=value)
    book.save(sheet)
    text = settings.read_text(encoding="utf-8")
    settings.write_text(text.replace("#[printers.shed]", "[printers.shed]"), encoding="utf-8")
    entered = run("enter", sheet, "041", "sold 1 bunch")
    assert entered.exit_code == 0, entered.output
    return sheet


def run(*arguments: str | Path) -> Result:
    """A command."""
    return CliRunner().invoke(main, list(map(str, arguments)))


def test_the_next_season_takes_over_and_the_old_one_stays(old: Path) -> None:
    """Sheets, file and printers are the same, codes go on behind the old ones, and what is open is said."""
    before = {path: path.read_bytes() for path in old.parent.iterdir() if path.suffix != ".sqlite"}
    folder = old.parent.parent / "spring 2"
    done = run("start", folder, "--after", old.parent)
    assert done.exit_code == 0, done.output
    assert {path: path.read_bytes() for path in before} == before
    assert settings_beside(folder / "lots.xlsx") == settings_beside(old)
    lots = openpyxl.load_workbook(folder / "lots.xlsx")["Lots"]
    assert [lots["A2"].value, lots["A3"].value, lots["B2"].value] == ["113", "114", None]
    opened = [line.partition(": ")[2] for line in done.stderr.splitlines() if line.startswith("open in ")]
    assert opened == [
        "stems are left of lots 041, 112 and 112B",
        "the sheet does not count all entries of lot 041: tagmaker catch-up types them",
    ]
    note = old.with_name("lots-closed.txt").read_text(encoding="utf-8").splitlines()
    assert note[0].startswith("This season was closed on ")
    assert note[0].endswith(str(folder / "lots.xlsx"))
    assert note[1:] == opened


def test_the_old_journal_is_still_read_and_taken_down_in(old: Path) -> None:
    """Closed is a note, no lock: stems that are left may still be sold."""
    run("start", old.parent.parent / "spring 2", "--after", old)
    assert "sold" in run("journal", old).output
    assert run("enter", old, "041", "sold 1 bunch").exit_code == 0


def test_a_note_that_is_there_is_never_written_over(old: Path) -> None:
    """A season may be followed by two; the first note stays."""
    note = old.with_name("lots-closed.txt")
    note.write_text("mine", encoding="utf-8")
    assert run("start", old.parent.parent / "b", "--after", old).exit_code == 0
    assert note.read_text(encoding="utf-8") == "mine"


def test_a_folder_that_is_in_use_closes_nothing(old: Path) -> None:
    """Where the new season cannot be begun, the old one has no note."""
    assert run("start", old.parent, "--after", old).exit_code == 3
    assert not old.with_name("lots-closed.txt").exists()


def test_a_season_with_its_settings_in_the_file_hands_the_file_on(tmp_path: Path) -> None:
    """Sheets without values leave them to the file, so that nothing is said twice."""
    old = write_season(tmp_path, row("041"), settings='units = "C"\n[uses.stall]\nvase_days = 5\n')
    assert run("start", tmp_path / "next", "--after", old).exit_code == 0
    farm = settings_beside(tmp_path / "next" / "lots.xlsx")
    assert (farm.units, list(farm.uses), list(farm.coolers)) == ("C", ["stall"], ["cooler"])


def test_only_who_says_yes_closes_a_season(tmp_path: Path) -> None:
    """Enter says no; what is neither is told so; the season of the folder itself is not asked about."""
    answers = iter(["perhaps", "yes"])
    told: list[str] = []

    def ask(_: str, usual: str, check: object) -> str:
        assert usual == "no"
        while True:
            answer = next(answers)
            try:
                check(answer)  # type: ignore[operator]
            except InputProblems as error:
                told.append(str(error))
            else:
                return answer

    last = tmp_path / "old" / "lots.xlsx"
    assert follows(ask, last, tmp_path / "new")
    assert ["yes or no" in line for line in told] == [True]
    assert not follows(ask, last, tmp_path / "old")
    assert not follows(lambda *_: "no", last, tmp_path / "new")
