"""A season of four lots in April, on a computer of its own, and what is entered of them from the keyboard."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path

from click.testing import CliRunner, Result

from tagmaker.cli import main
from tagmaker.desk.season import Day, Season, read_season
from tagmaker.record.journal.beside import journal_path
from tagmaker.record.journal.entries import Entry
from tagmaker.record.journal.file import read_book

HEADER = (
    "lot,crop,cut,stage,stems,per bunch,gone,dumped,cooler,in water,moved,tested,use,needed,split from,"
    "surface,in cooler,why dumped,note,journal"
)
ROWS = (
    "104,tulip,2027-04-15,tight,120,10,,,walk-in,,,,stall,,,,,,,",
    "105,tulip,2027-04-16,tight,85,10,,,walk-in,,,,stall,,,,,,,",
    "106,tulip,plan 2027-04-22,tight,,10,,,walk-in,,,,stall,,,,,,,",
    "107,tulip,2027-04-21T07:00,tight,60,10,,,walk-in,,,,stall,,,wet,,,,",
)
SETTINGS = """
units = "F"
timezone = "America/New_York"
[coolers.walk-in]
set_point = 34
[coolers.south]
set_point = 34
[uses.stall]
days = ["sat"]
leaves = "06:30"
vase_days = 4
[uses.florist]
days = ["fri"]
vase_days = 5
"""
MORNING = "2027-04-21T09:05"


def write_four(folder: Path) -> Path:
    """The season's folder; returns its sheet."""
    folder.mkdir()
    (folder / "tagmaker.toml").write_text(SETTINGS)
    path = folder / "lots.csv"
    path.write_text("\n".join((HEADER, *ROWS)) + "\n")
    return path


def run(sheet: Path, *words: str, today: str = MORNING, ok: int = 0) -> Result:
    """Run `enter` with its words, and see how it ends."""
    done = CliRunner().invoke(main, ["enter", str(sheet), *words, "--today", today])
    assert done.exit_code == ok, done.output
    return done


def season(sheet: Path, moment: str = "2027-04-21T12:00") -> Season:
    """The season as of a moment."""
    at = datetime.fromisoformat(moment)
    return read_season(sheet, Day(at.date(), at))


def left(sheet: Path, moment: str = "2027-04-21T12:00") -> dict[str, int | None]:
    """What is left of every lot."""
    return {lot.lot_code: lot.left for lot in season(sheet, moment).lots}


def entries(sheet: Path) -> tuple[Entry, ...]:
    """All that was entered."""
    return read_book(journal_path(sheet)).entries
