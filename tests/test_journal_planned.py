"""A part of a plan that is to be kept another way: a planned lot of its own, before and after the cut."""

from __future__ import annotations

import json
from datetime import datetime
from pathlib import Path

import pytest

from tagmaker.lot import StorageCode
from tagmaker.record.journal.entries import Topic
from tagmaker.record.journal.rows import SheetRow
from tests.entered_season import left, run, season, write_four

DAY_BEFORE, CUT = "2027-04-21T10:00", "2027-04-22T08:00"


@pytest.fixture
def sheet(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A season with a plan for Thursday, on a computer of its own."""
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path / "config"))
    sheet = write_four(tmp_path / "season")
    text = sheet.read_text().replace(
        "106,tulip,plan 2027-04-22,tight,,", "106,tulip,plan 2027-04-22,tight,300,"
    )
    sheet.write_text(text)
    return sheet


def test_some_bunches_of_a_plan_become_a_plan_of_their_own(sheet: Path) -> None:
    """They take the plan's cut and flowers; what is planned again in the same way joins them."""
    answer = run(sheet, "106", "planned 12 bunches bulb off, water", today=DAY_BEFORE).output
    assert "Lot 106: 12 bunches planned, now lot 106B, 18 bunches left." in answer
    run(sheet, "106", "planned 3 bulb off, water", today="2027-04-21T10:05")
    run(sheet, "106", "planned 5 bulb on", today="2027-04-21T10:06")
    lots = {lot.lot_code: lot for lot in season(sheet).lots}
    assert [(lots[code].left, lots[code].bulb, lots[code].storage) for code in ("106", "106B", "106C")] == [
        (100, None, None),
        (150, False, StorageCode.WATER),
        (50, True, None),
    ]
    assert all(lots[code].planned and lots[code].crop == "tulip" for code in ("106", "106B", "106C"))


def test_the_cut_of_the_plan_is_that_of_its_parts(sheet: Path) -> None:
    """Once the plan is cut, so are the lots that were split from it before."""
    run(sheet, "106", "planned 12 bulb off, water", today=DAY_BEFORE)
    run(sheet, "106", "cut 300 stems tight", today=CUT)
    lots = {lot.lot_code: lot for lot in season(sheet, "2027-04-22T12:00").lots}
    assert (lots["106B"].planned, lots["106B"].cut) == (False, datetime(2027, 4, 22, 8))
    assert (lots["106"].left, lots["106B"].left) == (180, 120)


def test_no_more_can_be_planned_apart_than_there_is(sheet: Path) -> None:
    """Bunches beyond those of the plan are refused, and nothing is written down."""
    refused = run(sheet, "106", "planned 31 bulb on", today=DAY_BEFORE, ok=1)
    assert "stems must be at most the 300 that lot 106 has left (got 310)" in refused.output
    assert left(sheet)["106"] == 300


def test_a_part_is_given_back_by_undo(sheet: Path) -> None:
    """The stems are the plan's again."""
    run(sheet, "106", "planned 12 bulb on", today=DAY_BEFORE)
    run(sheet, "106", "undo", today="2027-04-21T10:10")
    lots = {lot.lot_code: lot.left for lot in season(sheet).lots}
    assert lots["106"] == 300
    assert "106B" not in lots


def test_what_a_row_says_of_its_plan_has_the_bulb_only_where_it_is_filled() -> None:
    """Rows without it say what they said before the bulb was among what a plan decides."""
    cells = {"cut": "plan 2027-04-22", "storage": "dry"}
    before = SheetRow(code="106", cells=cells).says(Topic.PLAN)
    assert json.loads(before) == ["plan 2027-04-22", "", "dry", "", "", "", ""]
    assert json.loads(SheetRow(code="106", cells={**cells, "bulb": "on"}).says(Topic.PLAN))[-1] == "on"
