"""Small sheets of lots, written as csv and read back."""

from __future__ import annotations

import csv
import io
from collections.abc import Mapping
from datetime import datetime
from pathlib import Path

from tagmaker.intake.lots.sheet import LotSheet, read_lots
from tagmaker.intake.settings.farm import read_settings
from tagmaker.lot import Lot
from tagmaker.storage.crops import crop_table

NOW = datetime(2027, 3, 23, 8)  # a Tuesday
SETTINGS = """
units = "F"
[uses.shop]
vase_days = 4
[uses.stall]
vase_days = 4
days = ["Sat"]
leaves = "06:30"
[uses.event]
vase_days = 6
leaves = "07:15"
[coolers.barn]
set_point = 36
[coolers.porch]
set_point = 46
"""


def read_rows(
    folder: Path, *rows: Mapping[str, str], settings: str = SETTINGS, now: datetime = NOW
) -> LotSheet:
    """The sheet of some rows; a row that does not say otherwise is a tulip cut yesterday at nine."""
    usual = {"lot": "", "crop": "tulip", "cut": "2027-03-22T09:00", "stems": "120"}
    filled = [{**(usual if "split from" not in row else {}), **row} for row in rows]
    for number, row in enumerate(filled, 41):
        row["lot"] = row.get("lot") or f"{number:03}"
    text = io.StringIO()
    writer = csv.DictWriter(text, list(dict.fromkeys(key for row in filled for key in row)))
    writer.writeheader()
    writer.writerows(filled)
    path = folder / "lots.csv"
    path.write_text(text.getvalue(), encoding="utf-8")
    (folder / "tagmaker.toml").write_text(settings, encoding="utf-8")
    farm = read_settings(folder / "tagmaker.toml")
    return read_lots(path, farm, crop_table(farm.crops), now)


def read_lot(
    folder: Path,
    more: Mapping[str, str] | None = None,
    *,
    settings: str = SETTINGS,
    now: datetime = NOW,
    **cells: str,
) -> Lot:
    """The only lot of a sheet without problems; `per_bunch` stands for the column per bunch."""
    row = {column.replace("_", " "): text for column, text in {**(more or {}), **cells}.items()}
    sheet = read_rows(folder, row, settings=settings, now=now)
    assert [str(problem) for problem in sheet.problems] == []
    (lot,) = sheet.lots
    return lot


def read_problems(folder: Path, *, settings: str = SETTINGS, now: datetime = NOW, **cells: str) -> list[str]:
    """What is said about a sheet of one row, without the places."""
    row = {column.replace("_", " "): text for column, text in cells.items()}
    sheet = read_rows(folder, row, settings=settings, now=now)
    assert bool(sheet.problems) == (not sheet.lots)
    return [f"{problem.what}. {problem.remedy}" for problem in sheet.problems]
