"""After an entry only its lot and its kin are dated anew, and the season is the same as if all were."""

from __future__ import annotations

import random
from dataclasses import replace
from datetime import datetime, timedelta
from pathlib import Path

import pytest

from tagmaker.desk.entering import Tap, take
from tagmaker.desk.season import Season
from tagmaker.desk.touching import after_entry, kin_of
from tagmaker.errors import InputProblems, UsageProblem
from tagmaker.lot import Lot
from tests.entered_season import SETTINGS
from tests.test_journal_catch_up import NOW, WORDS, season, write_xlsx, yard


@pytest.fixture
def sheet(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A season of four lots on a computer of its own."""
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path / "config"))
    (tmp_path / "tagmaker.toml").write_text(SETTINGS)
    return write_xlsx(tmp_path / "lots.xlsx")


def tapped(before: Season, sheet: Path, minute: int, code: str, words: str) -> Season:
    """The season after a tap, dated anew only where it was touched."""
    assert before.journal is not None
    answer, part = take(before.journal, yard(sheet, minute), Tap(code=code, words=words))
    return after_entry(before, part, answer.entry)


def plain(lots: tuple[Lot, ...]) -> dict[str, Lot]:
    """The lots, but for the row that one would get that is in no sheet."""
    return {
        lot.lot_code: replace(lot, row=0, where="") if lot.where[:7] == "journal" else lot for lot in lots
    }


def assert_same(touched: Season, sheet: Path) -> None:
    """What was touched step by step is what is read as a whole."""
    whole = season(sheet, NOW + timedelta(hours=2))
    assert plain(touched.lots) == plain(whole.lots)
    assert {d.lot.lot_code: (d.sell_by, d.into_water_by, d.left, d.state) for d in touched.dated} == {
        d.lot.lot_code: (d.sell_by, d.into_water_by, d.left, d.state) for d in whole.dated
    }
    assert touched.journal is not None
    assert whole.journal is not None
    assert touched.journal.laid.changes == whole.journal.laid.changes
    assert touched.journal.laid.unsettled == whole.journal.laid.unsettled
    assert set(touched.journal.laid.questions) == set(whole.journal.laid.questions)
    assert touched.journal.book.entries == whole.journal.book.entries
    assert set(touched.problems) == set(whole.problems)


def test_a_morning_of_taps_is_what_is_read_afterwards(sheet: Path) -> None:
    """Sold, moved, put in water, cut, a new lot, and a part of a part."""
    now = season(sheet, NOW + timedelta(hours=2))
    for n, (code, words) in enumerate(WORDS):
        now = tapped(now, sheet, n, code, words)
    assert_same(now, sheet)


@pytest.mark.parametrize("seed", range(6))
def test_any_taps_are_what_is_read_afterwards(sheet: Path, seed: int) -> None:
    """Whatever is tapped, undone and renamed."""
    chance = random.Random(seed)
    words = (
        "sold 2",
        "count 3",
        "moved 1 to south",
        "into water 1 for 2027-04-24",
        "undo",
        "out 2",
        "back 1",
        "more 1",
    )
    now = season(sheet, NOW + timedelta(hours=2))
    for n in range(14):
        code = chance.choice(["104", "105", "107", "104B", "204"])
        said = chance.choice((*words, "renamed 204" if code == "104" else "tested ok"))
        try:
            now = tapped(now, sheet, n, code, said)
        except (UsageProblem, InputProblems):
            continue
    assert_same(now, sheet)


def test_only_kin_is_touched(sheet: Path) -> None:
    """The dates of other lots are the very same."""
    before = season(sheet, NOW + timedelta(hours=2))
    assert before.journal is not None
    answer, part = take(before.journal, yard(sheet), Tap(code="104", words="moved 4 to south"))
    after = after_entry(before, part, answer.entry)
    old = {dates.lot.lot_code: dates for dates in before.dated}
    assert kin_of(part) == {"104", "104B"}
    assert [d.lot.lot_code for d in after.dated if d is not old.get(d.lot.lot_code)] == ["104", "104B"]
    assert datetime.min < after.now
