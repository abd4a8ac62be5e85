"""An export of a logger, tried before it is kept: what it holds, and how it goes with what is kept.

It is refused where its cooler's log could not be read with it, and where it is another cooler's.
"""

from __future__ import annotations

from contextlib import suppress
from datetime import date, datetime
from itertools import pairwise
from pathlib import Path
from statistics import median

from tagmaker.errors import InputProblems, Problem
from tagmaker.farm import Cooler, Farm
from tagmaker.intake.cells.plain_text import shown
from tagmaker.intake.files.workbook import is_workbook
from tagmaker.intake.log.cooler_log import Source, raw_log_of, read_logs, readings_of
from tagmaker.intake.log.file import MOST_ROWS, NoRowsError
from tagmaker.intake.log.finding import FOLDER, file_word, is_kept_for, log_paths, names_file, namesakes
from tagmaker.intake.log.naming import settings_place, to_clear
from tagmaker.intake.log.rows import RawLog
from tagmaker.intake.log.units import Unit, unit_of
from tagmaker.storage.readings import EXPORT_BYTES, Export, Readings

# Two coolers have the same readings where so many are of the same moments, this share of them is equal, and
# they are so many different temperatures: two coolers may both stand at 38 °F all night (chosen).
ALIKE, SAME, DISTINCT = 20, 0.98, 4
_HEAD_BYTES = 4096  # of a file, by which its kind is told


def kept_name(cooler: str, first: date, last: date, ending: str, number: int = 1) -> str:
    """The name under which an export is kept.

    >>> kept_name("Old Fridge", date(2027, 3, 1), date(2027, 3, 9), "csv", 2)
    'old-fridge-2027-03-01-2027-03-09-2.csv'
    """
    more = "" if number == 1 else f"-{number}"
    return f"{file_word(cooler)}-{first:%Y-%m-%d}-{last:%Y-%m-%d}{more}.{ending}"


def place_fault(
    cooler: Cooler, farm: Farm, folder: Path, first: date, last: date, ending: str = "csv"
) -> Problem | None:
    """Why an export from a day to a day cannot be kept for a cooler; None: it can be."""
    name, word = kept_name(cooler.name, first, last, ending), file_word(cooler.name)
    others = namesakes(cooler.name, farm.coolers)
    if others or not is_kept_for(cooler.name, name, farm.coolers):
        what = f"the name must be its own in {FOLDER} (got {name}, of {others or 'another cooler'} as well)"
        return Problem(settings_place(cooler), what, "Give one of the coolers another name.")
    if not names_file(cooler, name, folder):
        what = f"log must be blank, or name {FOLDER}/{word}-*.{ending} (got {shown(cooler.log or '')})"
        clear = to_clear(cooler, "log")
        remedy = f"{clear[:1].upper()}{clear[1:]}, and call its files {FOLDER}/{word}-…"
        return Problem(settings_place(cooler), what, remedy)
    return None


def try_export(path: Path, name: str, cooler: Cooler, farm: Farm, folder: Path, now: datetime) -> Export:
    """What a file holds as an export of a cooler's logger.

    Args:
        path: the file; it is only read.
        name: how messages name it.
        cooler: whose it is said to be.
        farm: all coolers.
        folder: where the settings stand.
        now: local moment; later readings do not count.

    Raises:
        InputProblems: it is no log, none of this cooler and season, holds nothing that is not kept, or
            could not be kept.
    """
    if path.stat().st_size > EXPORT_BYTES:
        what = f"must be at most {EXPORT_BYTES / 1e6:.0f} MB (got {path.stat().st_size / 1e6:.1f} MB)"
        raise InputProblems([Problem(name, what, "Export fewer days at once.")])
    raw = raw_log_of(path, name, MOST_ROWS, cooler, now)
    ending, source = _ending(path), Source(name, shown(name), "Export newer readings.")
    read = readings_of([(path, name)], cooler, farm, now, source)
    first, last = read.moments[0].date(), read.moments[-1].date()
    if (fault := place_fault(cooler, farm, folder, first, last, ending)) is not None:
        raise InputProblems([fault])
    kept = _kept(cooler, farm, folder, now)
    at = dict(zip(kept.moments, kept.t_c, strict=True)) if kept is not None else {}
    fresh = sum(moment not in at for moment in read.moments)
    if not fresh:
        what = f"must have readings that are not kept yet (got {len(read.moments):,} that all are)"
        raise InputProblems([Problem(name, what, source.remedy)])
    _check_whose(read, name, cooler, farm, folder, now)
    if kept is not None:  # they must go together
        readings_of([*log_paths(cooler, farm, folder), (path, name)], cooler, farm, now, source)
    differ = sum(at.get(moment, t_c) != t_c for moment, t_c in zip(read.moments, read.t_c, strict=True))
    return _export(ending, raw, read, unit_of(raw, cooler, farm), fresh, differ)


def _kept(cooler: Cooler, farm: Farm, folder: Path, now: datetime) -> Readings | None:
    """The readings that a cooler has; none where its files have none."""
    try:
        return read_logs(cooler, farm, folder, now)
    except NoRowsError:
        return None


def _check_whose(read: Readings, name: str, cooler: Cooler, farm: Farm, folder: Path, now: datetime) -> None:
    """Refuse readings that another cooler has: somebody opened the wrong page."""
    mine = dict(zip(read.moments, read.t_c, strict=True))
    for other in farm.coolers.values():
        kept = None
        if other.name != cooler.name:
            with suppress(InputProblems):  # said where that cooler is read
                kept = read_logs(other, farm, folder, now)
        if kept is None:
            continue
        pairs = [
            (mine[moment] - cooler.offset_c, t_c - other.offset_c)
            for moment, t_c in zip(kept.moments, kept.t_c, strict=True)
            if moment in mine
        ]
        same = [one for one, two in pairs if abs(one - two) < 0.01]
        if len(pairs) >= ALIKE and len(same) >= SAME * len(pairs) and len(set(same)) >= DISTINCT:
            what = f"must be readings of the cooler {shown(cooler.name)} (got those of {shown(other.name)})"
            raise InputProblems([Problem(name, what, "Add them on the page of their cooler.")])


def _export(ending: str, raw: RawLog, read: Readings, unit: Unit, fresh: int, otherwise: int) -> Export:
    layout, moments = raw.layout, read.moments
    columns = {
        "time": layout.time,
        "time of day": layout.clock,
        "temperature": layout.temperature,
        "humidity": layout.humidity,
        "probe": layout.probe_name,
        "unit": layout.unit,
    }
    steps = [(after - before).total_seconds() / 60 for before, after in pairwise(moments)]
    return Export(
        ending=ending,
        sheet=raw.table.sheet or "",
        columns=tuple((what, column.name) for what, column in columns.items() if column is not None),
        unit=unit.letter,
        unit_said_by=unit.said_by,
        first=moments[0],
        last=moments[-1],
        count=len(moments),
        every_min=median(steps) if steps else 0.0,
        low_c=min(read.t_c),
        mean_c=sum(read.t_c) / len(read.t_c),
        high_c=max(read.t_c),
        set_aside=read.set_aside,
        fresh=fresh,
        otherwise=otherwise,
    )


def _ending(path: Path) -> str:
    """The ending of a file's name, by its content."""
    with path.open("rb") as file:
        head = file.read(_HEAD_BYTES)
    if not is_workbook(head):
        return "csv"
    if not head.startswith(b"PK"):
        return "xls"
    return "ods" if b"opendocument" in head else "xlsx"
