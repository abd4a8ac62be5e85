"""Bunches in water for a departure that is over: nobody counts on them until it is told that they left."""

from __future__ import annotations

import json
import re
from datetime import timedelta
from pathlib import Path

import pytest
from click.testing import CliRunner

from tagmaker.cli import main
from tagmaker.record.tags import Stale, printed_now, stale
from tests.entered_season import left, run, season, write_four
from tests.paper_samples import sample_dates, sample_lot
from tests.served import NOW, Served, form, row, write_season
from tests.test_checklist import pages_of, row_of
from tests.test_server_crate import SETTINGS, tap

SATURDAY = "2027-04-24T07:00"  # half an hour after the stall left


@pytest.fixture
def sheet(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Four of the twelve bunches of 104 were put in water for the stall on Saturday."""
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path / "config"))
    path = write_four(tmp_path / "season")
    run(path, "104", "into water 4 for 2027-04-24 stall")
    return path


def test_they_are_asked_for(sheet: Path) -> None:
    """From the departure on, in the remarks and as the one thing to do; they still count as left."""
    assert season(sheet, "2027-04-24T06:00").held == frozenset()
    after = season(sheet, SATURDAY)
    assert (after.held, left(sheet, SATURDAY)["104B"]) == (frozenset({"104B"}), 40)
    said = "DID THEY LEAVE? 4 bunches stood in water for 2027-04-24; no label and no order until it is told"
    assert any(said in str(remark) for remark in after.remarks)
    told = CliRunner().invoke(main, ["dates", str(sheet), "--today", SATURDAY, "--json"])
    nexts = {lot["lot"]: lot["next"] for lot in json.loads(told.stdout)["lots"]}
    assert (nexts["104B"]["kind"], nexts["104B"]["bunches"]) == ("did they leave", 4)


@pytest.mark.parametrize(("words", "stems"), [("sold all", 0), ("count 3", 30)])
def test_an_answer_ends_it(sheet: Path, words: str, stems: int) -> None:
    """All that were sold, or a count of those that came home."""
    run(sheet, "104B", words, today="2027-04-24T12:00")
    after = season(sheet, "2027-04-24T13:00")
    assert (after.held, left(sheet, "2027-04-24T13:00")["104B"]) == (frozenset(), stems)


def test_nothing_is_promised_of_them(sheet: Path) -> None:
    """An order that they were kept for waits until it is told that they are there."""
    run(sheet, "104B", "kept 2 for 2027-04-27 florist", today="2027-04-22T09:00")

    def orders(moment: str) -> list[int]:
        found = next(dates for dates in season(sheet, moment).dated if dates.lot.lot_code == "104B")
        return [order.stems or 0 for order in found.orders]

    assert orders("2027-04-24T06:00") == [40, 20]
    assert orders(SATURDAY) == []
    run(sheet, "104B", "count 4", today="2027-04-24T08:00")
    assert orders("2027-04-24T08:30") == [20]


@pytest.mark.parametrize("paper", [("wraps",), ("crates",), ("wraps", "--for-buyer")])
def test_they_get_no_label_and_no_card(sheet: Path, tmp_path: Path, paper: tuple[str, ...]) -> None:
    """Not even by name; the rest of their lot gets its own."""
    command, *more = paper
    settings = sheet.with_name("tagmaker.toml")
    settings.write_text(f'link = "https://larkmarrow.example/pages/{{lot}}.html"\n{settings.read_text()}')
    lots = ["--lot", "104", "--lot", "104B", "-o", str(tmp_path / "papers")]
    options = [command, str(sheet), *more, *lots, "--no-record"]
    before = CliRunner().invoke(main, [*options, "--today", "2027-04-22T09:00"])
    assert (before.exit_code, "whether they left" in before.output) == (0, False), before.output
    after = CliRunner().invoke(main, [*options, "--today", SATURDAY])
    assert after.exit_code == 0, after.output
    assert "no labels or cards before it is entered whether they left: 104B" in after.output


def test_their_tags_are_not_asked_back() -> None:
    """They may have left with them; once it is told that the bunches are there, untrue tags must go."""
    here = sample_dates(sample_lot())
    longer = sample_dates(sample_lot(), sell_by=here.sell_by and here.sell_by + timedelta(days=2))
    tags = [printed_now("wraps", longer, 12, NOW)]
    assert stale(tags, here) is Stale.MUST_GO
    assert stale(tags, sample_dates(sample_lot(may_have_left=NOW))) is None


def test_their_page_the_bench_and_the_first_page_ask(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """What is left is not READY NOW, gets no label at the bench, and its own page says how to answer."""
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path / "config"))
    path = write_season(tmp_path, row("041"), settings=SETTINGS)
    departure = "2027-03-23T07:30"
    run(path, "041", f"into water 4 for {departure} stall", today="2027-03-22T19:00")
    here = Served(path)
    first, page, bench = here.text("/"), here.text("/L/041B"), here.text("/bench")
    assert "DID THEY LEAVE? TUE 23 MAR 7:30 AM: 4 bunches" in first
    assert 'id="ready"' not in first
    assert "Tap SOLD, ALL if they did; MORE, COUNT if they did not." in page
    assert "SELL FIRST" not in page
    assert "DID THEY LEAVE? No labels until it is told" in bench
    answer = here.client.post("/bench/print", data={**form(here.client), "paper": "wraps", "lot": "041B"})
    assert answer.status_code == 400
    assert tap(here.client, "count", "041B", many="4").status_code == 303
    assert "DID THEY LEAVE?" not in here.text("/L/041B")
    ready = re.search(r'id="ready".*?<h1>Lots', here.text("/"), re.DOTALL)
    assert ready is not None
    assert "041B" in ready[0]


def test_a_checklist_row_asks() -> None:
    """In place of how the lot stands."""
    lot = sample_lot(may_have_left=NOW)
    assert "DID THEY LEAVE?" in row_of(lot.lot_code, pages_of(sample_dates(lot)))
