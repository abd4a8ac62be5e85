"""The files of a season that is served are read by a process of its own, which may hang or break down."""

from __future__ import annotations

import os
import time
from datetime import datetime
from pathlib import Path

import pytest

from tagmaker.desk import apart
from tagmaker.desk.apart import Apart
from tagmaker.desk.season import Day, Inputs, read_inputs, read_season, settings_path, told
from tagmaker.errors import InputProblems
from tagmaker.intake.lots.sheet import lots_of
from tagmaker.intake.opening import Opened, open_season
from tagmaker.intake.settings.farm import settings_beside
from tagmaker.storage.crops import crop_table
from tests.served import NOW, Served, row, write_season

LOG = 'units = "F"\n[coolers.barn]\nlog = "log.csv"\n'
RUNS = "import sys; from tagmaker.desk import apart; {fault}; apart.main()"


@pytest.fixture
def sheet(tmp_path: Path) -> Path:
    """A season with a lot, and a cooler with a log."""
    rows = "\n".join(f"2027-03-22 {hour:02}:00,38" for hour in range(24))
    (tmp_path / "log.csv").write_text(f"Time,Temp F\n{rows}\n", encoding="utf-8")
    return write_season(tmp_path, row("041"), settings=LOG)


def held(opened: Opened, inputs: Inputs) -> tuple[object, ...]:
    """What the files of a season hold, lots and all."""
    lots = lots_of(opened.sheet(), opened.farm, crop_table(), NOW)
    assert lots.lots
    return opened.farm, lots, inputs.readings, inputs.looks, inputs.unread


def test_it_reads_what_this_process_would(sheet: Path) -> None:
    """Lots, readings and what is wrong come back as they are."""
    here, there = open_season(sheet), Apart()
    farm = here.farm
    assert held(there.open(sheet), there.read(sheet, farm, NOW)) == held(here, read_inputs(sheet, farm, NOW))


def test_it_has_the_same_problems(sheet: Path) -> None:
    """A sheet that cannot be read is said in the same words."""
    sheet.write_text("nothing of the kind\n", encoding="utf-8")
    here, there = open_season(sheet), Apart().open(sheet)
    assert (there.faults, there.farm, there.lots) == (here.faults, here.farm, None)
    settings_path(sheet).write_text("units = 1\n", encoding="utf-8")
    with pytest.raises(InputProblems) as of_settings_here:
        open_season(sheet)
    with pytest.raises(InputProblems) as of_settings_there:
        Apart().open(sheet)
    assert of_settings_there.value.problems == of_settings_here.value.problems


FAULTS = {
    "hangs": ("apart.read_inputs = lambda *_: __import__('time').sleep(600)", "no end of it"),
    "dies": ("apart.read_inputs = lambda *_: __import__('os').abort()", "a reader that broke down"),
    "eats memory": ("apart.read_inputs = lambda *_: b'x' * 10**10", "MemoryError"),
    "has a fault of its own": ("apart.read_inputs = lambda *_: 1 // 0", "ZeroDivisionError"),
}


@pytest.mark.parametrize("fault", FAULTS)
def test_a_reader_that_fails_is_a_problem(sheet: Path, monkeypatch: pytest.MonkeyPatch, fault: str) -> None:
    """It ends within its time, says so, and the next reading is done by a sound process."""
    how, got = FAULTS[fault]
    farm, reader = settings_beside(sheet), Apart(most_seconds=2 if fault == "hangs" else 20)
    monkeypatch.setattr(apart, "_START", RUNS.format(fault=how))
    begin = time.monotonic()
    with pytest.raises(InputProblems) as caught:
        reader.read(sheet, farm, NOW)
    (problem,) = caught.value.problems
    assert got in problem.what
    assert time.monotonic() - begin < 60
    if got in ("no end of it", "a reader that broke down"):
        monkeypatch.undo()
        monkeypatch.setattr(reader, "_most_seconds", 20)
        assert reader.read(sheet, farm, NOW) == read_inputs(sheet, farm, NOW)


def test_the_last_good_dates_stay(sheet: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """While a changed sheet keeps its reader busy, and after that, the pages show what they showed."""
    broken = Apart(most_seconds=1)
    monkeypatch.setattr(apart.SHARED, "_process", None)
    served = Served(sheet)
    before = served.text("/041")
    monkeypatch.setattr("tagmaker.desk.serving.SHARED", broken)
    monkeypatch.setattr(apart, "_START", RUNS.format(fault=FAULTS["hangs"][0]))
    os.utime(sheet, (1, 1))
    served.later()
    for _ in range(300):
        served.text("/041")
        if served.live.look().faults:
            break
        time.sleep(0.1)
    assert "no end of it" in "".join(served.live.look().faults)
    assert "Pale Harbour" in before
    assert "Pale Harbour" in served.text("/041")


def test_a_log_that_is_not_there_stops_nothing(sheet: Path) -> None:
    """The cooler counts as unread, which is said, and the dates are those without a log."""
    day = Day(NOW.date(), NOW)
    (sheet.parent / "log.csv").unlink()
    season = read_season(sheet, day)
    (remark,) = season.remarks
    assert remark.what == 'no such file: "log.csv"'
    assert [note.macro() for story in told(season, season.assumed) for note in story.notes] == ["log_unread"]
    settings_path(sheet).write_text(LOG.replace('log = "log.csv"\n', ""), encoding="utf-8")
    without = read_season(sheet, day)
    assert [dates.sell_by for dates in season.dated] == [dates.sell_by for dates in without.dated]
    assert isinstance(season.dated[0].sell_by, datetime)
