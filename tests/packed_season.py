"""A season of some lots with orders, on two coolers, to pack from; and the command that does it."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from pathlib import Path

from click.testing import CliRunner, Result

from tagmaker.cli import main
from tagmaker.desk.packing import Packing, asked_of, packing
from tagmaker.desk.season import Day, Season, read_season

NOW = datetime(2027, 4, 21, 9)  # a Wednesday
SETTINGS = """
farm = "Larkmarrow Yard"
units = "F"
[uses.stall]
vase_days = 4
days = ["Sat"]
leaves = "06:30"
[uses.florist]
vase_days = 4
days = ["Tue", "Fri"]
leaves = "08:30"
[uses.wedding]
vase_days = 2
must = true
[coolers.walk-in]
set_point = 34
trusted = true
[coolers.annexe]
set_point = 34
trusted = true
"""
HEADER = "lot,crop,form,variety,colour,cut,stage,stems,storage,cooler,place,use,needed"
ROWS = (
    "201,tulip,double,Pale Harbour,apricot,2027-04-18T08:00,tight,200,dry,annexe,rack 10,stall,",
    "202,tulip,double,Butter Lantern,yellow,2027-04-19T08:00,tight,120,dry,annexe,rack 2,stall,",
    "101,tulip,single,Grey Wicket,lilac,2027-04-17T08:00,tight,120,dry,walk-in,rack 1,stall,2027-04-24 x 30",
    "102,narcissus,,Thimble Snow,white,2027-04-20T08:00,tight,100,water,walk-in,floor,stall,",
)
ORDERS_HEADER = "order,leaves,use,crop,form,variety,colour,stems,bunches,done,note"
ORDERS = (
    "A-1,2027-04-23,florist,tulip,double,,,,6,,at the back door",
    "A-2,2027-04-24T06:30,stall,tulip,,Pale Harbour,,45,,,",
)


def write_season(
    folder: Path, rows: Sequence[str] = ROWS, orders: Sequence[str] = ORDERS, settings: str = SETTINGS
) -> Path:
    """The season's folder; returns its sheet."""
    folder.mkdir(exist_ok=True)
    (folder / "tagmaker.toml").write_text(settings, encoding="utf-8")
    (folder / "orders.csv").write_text("\n".join((ORDERS_HEADER, *orders)) + "\n", encoding="utf-8")
    path = folder / "lots.csv"
    path.write_text("\n".join((HEADER, *rows)) + "\n", encoding="utf-8")
    return path


def season_of(sheet: Path, now: datetime = NOW) -> Season:
    """The season as of a moment."""
    return read_season(sheet, Day(now.date(), now))


def pack(sheet: Path, *words: str, ok: int = 0, today: str = "2027-04-21T09:00") -> Result:
    """Run `pack` with its options, and see how it ends."""
    done = CliRunner().invoke(main, ["pack", str(sheet), "--today", today, *words])
    assert done.exit_code == ok, done.output
    return done


def chosen(sheet: Path, use: str | None = None, on: str | None = None, bunches: int | None = None) -> Packing:
    """Who gets what."""
    season = season_of(sheet)
    return packing(season, asked_of(season, use, on, bunches))


def bunches_of(found: Packing) -> list[dict[str, int]]:
    """Bunches by lot code, of each departure."""
    return [{line.lot.lot_code: line.bunches for line in one.lines} for one in found.departures]
