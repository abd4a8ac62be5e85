"""The glut: 3,000 single tulips on Thursday, a shop every week, and a holiday on two dates 26 days on."""

from __future__ import annotations

import re
from datetime import datetime, timedelta
from pathlib import Path

from click.testing import CliRunner, Result

from tagmaker.cli import main
from tagmaker.desk.season import Day, Season, read_season

SUNDAY = "2027-04-11T09:00"
SETTINGS = """
farm = "Larkmarrow Yard"
units = "F"
timezone = "America/New_York"
workday = ["07:30", "17:30"]
days_off = ["Sun"]

[uses.shop]
vase_days = 5
days = ["Fri"]
leaves = "08:00"
stems = 400

[uses.holiday]
vase_days = 3
dates_here
leaves = "07:00"
stems = 600

[coolers.walk-in]
set_point = 39
log = "walk-in.csv"
crates = 60
buckets = 40

[coolers.barn]
set_point = 39
crates = 60
buckets = 40
"""
HEADER = "lot,crop,variety,form,cut,stage,stems,per bunch,bulb,cooler,use"
ROW = re.compile(r"^(\w+-\d{4}-[0-9A-F]{5}) ", re.MULTILINE)


def write_glut(folder: Path, cooler: str, cut: str = "plan 2027-04-15") -> Path:
    """The season: the walk-in is read at 39 °F by its logger, of the barn only the dial says so."""
    folder.mkdir(exist_ok=True)
    days = 'days = ["2027-05-10", "2027-05-11"]'
    (folder / "tagmaker.toml").write_text(SETTINGS.replace("dates_here", days), encoding="utf-8")
    start = datetime(2027, 3, 28)
    moments = (start + timedelta(minutes=30 * n) for n in range(14 * 48))
    readings = [f"{moment:%Y-%m-%d %H:%M},39.0" for moment in moments]
    log = "\n".join(["Time,Temperature (°F)", *readings])
    (folder / "walk-in.csv").write_text(f"{log}\n", encoding="utf-8")
    sheet = folder / "lots.csv"
    sheet.write_text(
        f"{HEADER}\n201,tulip,Pale Harbour,single,{cut},tight,3000,10,,{cooler},shop\n", encoding="utf-8"
    )
    return sheet


def run(sheet: Path, *words: str, command: str = "plan", today: str = SUNDAY, ok: int = 0) -> Result:
    """Run a command of the sheet, and see how it ends."""
    done = CliRunner().invoke(main, [command, str(sheet), "--today", today, *words])
    assert done.exit_code == ok, done.output
    return done


def row_names(output: str) -> list[str]:
    """The names of the rows that a plan lists."""
    return ROW.findall(output)


def season(sheet: Path, moment: str = SUNDAY) -> Season:
    """The season as of a moment."""
    at = datetime.fromisoformat(moment)
    return read_season(sheet, Day(at.date(), at))
