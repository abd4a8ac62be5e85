"""The glut from end to end: the plan's words, rows that are accepted, and the tags once it is cut."""

from __future__ import annotations

import json
from datetime import datetime
from pathlib import Path

import pypdfium2 as pdfium  # type: ignore[import-untyped]  # it comes without types
import pytest
from click.testing import CliRunner

from tagmaker.cli import main
from tagmaker.lot import StorageCode
from tests.glut import SUNDAY, row_names, run, season, write_glut

HOLIDAY = [datetime(2027, 5, 10, 7), datetime(2027, 5, 11, 7)]


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A season's folder on a computer of its own."""
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path / "config"))
    return tmp_path / "season"


def words_of(pdf: Path) -> str:
    """All words of a PDF."""
    document = pdfium.PdfDocument(pdf)
    text = " ".join(" ".join(page.get_textpage().get_text_bounded().split()) for page in document)
    document.close()
    return text


def test_a_measured_walk_in_keeps_the_holiday_s_stems_with_the_bulb_on(folder: Path) -> None:
    """The shop's next Fridays are served dry, later ones and the holiday with the bulb on; all of it fits."""
    done = CliRunner().invoke(main, ["plan", str(write_glut(folder, "walk-in")), "--today", SUNDAY])
    assert done.exit_code == 0
    rows = [line.split() for line in done.output.splitlines() if line.startswith("201-")]
    ways = {(row[4], " ".join(row[5:8])): row[3] for row in rows}
    assert ways == {
        ("shop", "FRI 16 APR"): "WATER",
        ("shop", "FRI 23 APR"): "DRY",
        ("shop", "FRI 30 APR"): "BULB",
        ("shop", "FRI 7 MAY"): "BULB",
        ("holiday", "MON 10 MAY"): "BULB",
        ("holiday", "TUE 11 MAY"): "BULB",
    }
    assert "Everything fits the coolers." in done.output
    assert "200 stems of 201." in done.output
    assert (
        "2,000 stems dry with the bulb on (BULB); 400 stems in water (WATER); 400 stems dry (DRY)"
        in done.output
    )
    assert words_of(folder / "papers" / "season-plan.pdf").count("BULB") >= 4


def test_a_barn_that_nobody_measured_does_not_hold_them_and_it_is_said_what_would(folder: Path) -> None:
    """26 days hold at 39 °F only where it was measured; until then nothing is kept for the holiday."""
    done = run(write_glut(folder, "barn"))
    assert "holiday   " not in done.output
    assert "201 BULB: 26 days hold at a measured 39 °F: check the thermometer of barn" in done.output
    assert "201 BULB would do in walk-in for" in done.output
    assert "holiday: 1,200 stems fewer than it usually sells (MON 10 MAY, TUE 11 MAY)." in done.output


def test_accepted_rows_are_orders_of_lots_that_are_split_from_the_plan(folder: Path) -> None:
    """Each way becomes a planned lot with its stems; what finds no outlet stays in the plan, undecided."""
    sheet = write_glut(folder, "walk-in")
    before = sheet.read_bytes()
    names = row_names(run(sheet).output)
    done = run(sheet, *(f"--accept={name}" for name in names))
    assert done.output.count("SAVED") == len(names) + 4
    lots = {lot.lot_code: lot for lot in season(sheet).lots}
    assert {code: (lot.left, lot.bulb, lot.storage) for code, lot in lots.items()} == {
        "201": (200, True, None),
        "201B": (2000, True, None),
        "201C": (400, False, StorageCode.DRY),
        "201D": (400, False, StorageCode.WATER),
    }
    assert [order.leaves for order in lots["201B"].orders][-2:] == HOLIDAY
    assert all(lot.planned for lot in lots.values())
    assert sheet.read_bytes() == before
    again = run(sheet)
    assert row_names(again.output) == []
    assert "200 stems of 201." in again.output


def test_a_row_is_refused_once_what_it_came_from_has_changed(folder: Path) -> None:
    """After fewer stems are planned its name is another; nothing of what was asked for is accepted."""
    sheet = write_glut(folder, "walk-in")
    first, *others = row_names(run(sheet).output)
    sheet.write_text(sheet.read_text().replace(",3000,", ",900,"), encoding="utf-8")
    refused = run(sheet, f"--accept={first}", f"--accept={others[0]}", ok=2)
    assert f"ROW must be a row of the plan as it is now (got {first}, {others[0]})" in refused.output
    assert season(sheet).journal is not None
    assert not (folder / "lots-journal.sqlite").exists()


def test_rows_accepted_one_after_the_other_come_to_the_same_lot(folder: Path) -> None:
    """Two rows kept the same way, accepted apart, are stems and orders of one lot."""
    sheet = write_glut(folder, "walk-in")
    for use_day in ("0510", "0511"):
        name = next(name for name in row_names(run(sheet).output) if f"-{use_day}-" in name)
        run(sheet, f"--accept={name}")
    lots = {lot.lot_code: lot for lot in season(sheet).lots}
    assert {code: lot.left for code, lot in lots.items()} == {"201": 1800, "201B": 1200}
    assert [order.leaves for order in lots["201B"].orders] == HOLIDAY


@pytest.mark.slow
def test_the_tags_say_what_was_accepted_once_it_is_cut(folder: Path) -> None:
    """On the evening of the cut every order of every part is served by its dates, and is on the labels."""
    sheet = write_glut(folder, "walk-in")
    run(sheet, *(f"--accept={name}" for name in row_names(run(sheet).output)))
    run(sheet, "201", "cut 3000 stems tight", command="enter", today="2027-04-15T08:00")
    evening = "2027-04-15T17:00"
    told = json.loads(run(sheet, "--json", command="dates", today=evening).output)
    by_code = {lot["lot"]: lot for lot in told["lots"]}
    assert {code: lot["code"] for code, lot in by_code.items()} == {
        "201": "BULB",
        "201B": "BULB",
        "201C": "DRY",
        "201D": "WATER",
    }
    assert all(order["ok"] for lot in told["lots"] for order in lot["orders"])
    assert [order["leaves"] for order in by_code["201B"]["orders"]][-2:] == [
        "2027-05-10T07:00",
        "2027-05-11T07:00",
    ]
    assert [order["into_water_by"] for order in by_code["201B"]["orders"]][-2:] == [
        "2027-05-08T17:30",
        "2027-05-10T17:30",
    ]
    run(sheet, "--lot", "201B", command="wraps", today=evening)
    labels = words_of(folder / "papers" / "wrap-labels.pdf")
    assert labels.count("TUE 11 MAY") == 60
    assert "BULB" in labels


def test_a_caught_up_sheet_says_the_same(folder: Path) -> None:
    """What was accepted can be typed: the caught-up copy in place of the sheet gives the same lots."""
    sheet = write_glut(folder, "walk-in")
    run(sheet, *(f"--accept={name}" for name in row_names(run(sheet).output)))
    before = {lot.lot_code: (lot.left, lot.bulb, lot.storage, lot.orders) for lot in season(sheet).lots}
    run(sheet, command="catch-up", today="2027-04-11T10:00")
    (folder / "lots-caught-up.csv").replace(sheet)
    found = season(sheet, "2027-04-11T11:00")
    assert {lot.lot_code: (lot.left, lot.bulb, lot.storage, lot.orders) for lot in found.lots} == before
    assert (found.problems, found.remarks) == ((), ())
