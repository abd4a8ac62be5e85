"""The demo's week at the crates: the lines of its page, run on a copy."""

from __future__ import annotations

import re
import shlex
import shutil
from datetime import datetime
from pathlib import Path

import pytest
from click.testing import CliRunner

from tagmaker.cli import main
from tagmaker.desk.season import Day, read_season

EVENING = datetime(2027, 4, 24, 19)


@pytest.mark.slow
def test_the_week_of_the_demo_s_page(demo: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Every line is taken down, the lots are as the page says, and the sheet is caught up with them."""
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path / "config"))
    shutil.copytree(demo, tmp_path / "week")
    monkeypatch.chdir(tmp_path)
    lines = re.findall(
        r"^tagmaker (enter .*)$", (demo / "README.md").read_text(encoding="utf-8"), re.MULTILINE
    )
    assert len(lines) == 9
    for line in lines:
        done = CliRunner().invoke(main, shlex.split(line))
        assert (done.exit_code, done.output.startswith("SAVED")) == (0, True), done.output
    sheet = tmp_path / "week" / "lots.xlsx"
    week = read_season(sheet, Day(EVENING.date(), EVENING))
    left = {lot.lot_code: lot.left for lot in week.lots}
    shown = {code: left[code] for code in ("101", "102", "102B", "105", "109", "118", "118B")}
    assert shown == {"101": 50, "102": 140, "102B": 40, "105": 90, "109": 80, "118": 60, "118B": 20}
    assert week.held == {"102B"}
    (home,) = [lot for lot in week.lots if lot.lot_code == "118B"]
    assert [move.place for move in home.moves] == ["out", "walk-in"]
    done = CliRunner().invoke(main, ["catch-up", str(sheet), "--today", "2027-04-24T19:00"])
    assert (done.exit_code, "wrote" in done.output) == (0, True), done.output
    shutil.move(sheet.with_name("lots-caught-up.xlsx"), sheet)
    after = read_season(sheet, Day(EVENING.date(), EVENING))
    assert {lot.lot_code: lot.left for lot in after.lots} == left
