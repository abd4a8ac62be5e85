"""Which season is meant where no sheet is named: that of the folder one stands in, else the last one."""

from __future__ import annotations

from pathlib import Path

from tagmaker.desk.season_journal import COPY_ENDING
from tagmaker.errors import UsageProblem
from tagmaker.intake.cells.plain_text import listed
from tagmaker.intake.log.hand_readings import FILE_NAME as READINGS
from tagmaker.intake.orders.columns import FILE_NAME as ORDERS
from tagmaker.intake.settings.keys import FILE_NAME as SETTINGS

SUFFIXES = (".xlsx", ".xlsm", ".ods", ".csv")
SHEET = "lots"  # what a sheet is called by whom `start` began the season


def season_sheet(given: Path | None, here: Path, last: Path | None) -> Path:
    """The sheet that is meant.

    Args:
        given: a sheet, or the folder of a season; None: not said
        here: the folder one stands in
        last: the sheet that was served or begun last

    Raises:
        UsageProblem: there is none, or more than one.
    """
    if given is not None and not given.is_dir():
        return given
    found = sheet_in(given or here)
    if found is None and given is not None:
        raise UsageProblem(f"{given} must hold a season (got no sheet named {SHEET}). Name the sheet itself")
    if found is None and last is None:
        raise UsageProblem(
            "LOTS must be given: there is no season in this folder, and none was served before. "
            "Begin one with: tagmaker start FOLDER"
        )
    return found or last  # type: ignore[return-value]  # one of the two is there


def sheet_in(folder: Path) -> Path | None:
    """The sheet of lots in a folder; None where there is none.

    Raises:
        UsageProblem: there are several, and none can be told from the others.
    """
    sheets = [path for path in sorted(folder.iterdir()) if path.suffix.lower() in SUFFIXES and path.is_file()]
    found = [path for path in sheets if path.stem == SHEET]
    if not found and (folder / SETTINGS).is_file():
        others = (READINGS, ORDERS)
        found = [path for path in sheets if path.name not in others and not path.stem.endswith(COPY_ENDING)]
    if len(found) > 1:
        names = listed((path.name for path in found), "and")
        raise UsageProblem(f"LOTS must be one sheet (got {names} in {folder}). Name the one that is meant")
    return found[0] if found else None
