"""The thermometer log of a cooler: exports of any logger, read into one series of °C and local moments.

1. The files that the settings name.
2. `log_file`, `log_workbook`: each as tables of text, counted first.
3. `log_header`, `log_titles`, `log_columns`: which columns hold what.
4. `log_rows`, `log_cells`: the rows, every distinct text read once.
5. `log_units`, `log_moments`: °C and local moments, or a problem where either cannot be told.
6. `log_merge`: one series.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Hashable, Sequence
from datetime import datetime, timedelta
from itertools import repeat, zip_longest
from pathlib import Path

from tagmaker.errors import InputProblems, Problem
from tagmaker.farm import Cooler, Farm
from tagmaker.intake.cells.plain_text import listed, shown
from tagmaker.intake.log.columns import find_columns
from tagmaker.intake.log.file import read_tables
from tagmaker.intake.log.header import likeness
from tagmaker.intake.log.merge import Part, Reading, merge
from tagmaker.intake.log.moments import NO_TIME, local_moments, moment_of, seconds_of
from tagmaker.intake.log.naming import cooler_key, settings_place
from tagmaker.intake.log.rows import RawLog, of_probe, raw_log
from tagmaker.intake.log.table import MOST_ROWS
from tagmaker.intake.log.units import check_plausible, humidities, temperatures_c, unit_of
from tagmaker.storage.readings import Readings, SetAside

DAY = timedelta(days=1)
Faults = dict[SetAside, set[Hashable]]  # what each reading is told apart by
TOO_OLD = 731 * DAY  # before now (chosen): a logger whose clock was reset to some first day
THIS_SEASON = 180 * DAY  # before now (chosen): twice the longest stay in storage


def read_logs(cooler: Cooler, farm: Farm, folder: Path, now: datetime) -> Readings | None:
    """The readings of a cooler's logger, at least one; None where the settings name no log.

    Args:
        cooler: its `log` is a path or glob relative to the settings; `probe`, `log_units` and
            `offset_c` say how to read it.
        farm: units, order of dates and time zone, where the log does not say them.
        folder: where the settings stand.
        now: local moment; later readings do not count.

    Raises:
        InputProblems: all that is wrong with the files.
    """
    if cooler.log is None:
        return None
    paths = _named_files(cooler.log, cooler.name, folder)
    raws, problems = _raw_logs(paths, cooler, now)
    parts: list[Part] = []
    faults: Faults = {}
    try:
        moments = local_moments(raws, farm, now)
    except InputProblems as error:
        problems += error.problems
        moments = []  # the problem has been noted
    for raw, times in zip_longest(raws, moments):
        try:
            part = _part(raw, times, cooler, farm, now, faults)
            parts += [part] if part else []
        except InputProblems as error:
            problems += error.problems
    if problems:
        raise InputProblems(problems)
    aside: Counter[str] = Counter({reason: len(once) for reason, once in faults.items()})
    readings = merge(parts, aside)
    _check_season(readings, cooler, aside, now)
    humid = any(reading[2] >= 0 for reading in readings)
    return Readings(
        cooler=cooler.name,
        moments=tuple([moment_of(reading[0]) for reading in readings]),
        t_c=tuple([reading[1] for reading in readings]),
        rh=tuple(rh if rh >= 0 else None for _, _, rh in readings) if humid else (),
        set_aside={reason: aside[reason] for reason in SetAside if aside[reason]},
        files=tuple(name for _, name in paths),
    )


def log_files(log: str, folder: Path) -> list[Path]:
    """The files that a path or glob names, relative to a folder."""
    if (folder / log).exists():
        return [folder / log]  # even if its name has a * or [ in it
    pattern = Path(log)
    base = Path(pattern.anchor) if pattern.is_absolute() else folder
    try:
        found = sorted(base.glob(pattern.relative_to(pattern.anchor).as_posix()))
    except (ValueError, NotImplementedError, OSError):  # no pattern that can be looked for
        found = []
    return [path for path in found if path.is_file() and not path.name.startswith((".", "~$"))]


def _named_files(log: str, cooler: str, folder: Path) -> list[tuple[Path, str]]:
    """The files of a cooler's log, at least one, with the names that messages give them."""
    files = log_files(log, folder)
    if not files:
        what = f"log must name a file that is there (got {shown(log)})"
        remedy = f"Check the name, or take log out of {cooler_key(cooler)}."
        raise InputProblems([Problem(settings_place(cooler), what, remedy)])
    return [
        (path, path.relative_to(folder).as_posix() if path.is_relative_to(folder) else str(path))
        for path in files
    ]


def _raw_logs(
    paths: Sequence[tuple[Path, str]], cooler: Cooler, now: datetime
) -> tuple[list[RawLog], list[Problem]]:
    """The rows of every file, and what is wrong with the others."""
    raws: list[RawLog] = []
    problems: list[Problem] = []
    for path, name in paths:
        left = MOST_ROWS - sum(map(len, raws))
        try:
            raws.append(_raw_log(path, name, left, cooler, now))
        except InputProblems as error:
            problems += error.problems
    return raws, problems


def _raw_log(path: Path, name: str, most_rows: int, cooler: Cooler, now: datetime) -> RawLog:
    """The rows of one file; of a workbook, those of its first sheet that is a log."""
    faults: list[InputProblems] = []
    for table in read_tables(path, name, most_rows, likeness):
        try:
            layout = find_columns(table, cooler.probe, cooler.name, now)
            return of_probe(raw_log(table, layout, most_rows), cooler.probe, cooler.name)
        except InputProblems as error:
            faults.append(error)
    raise max(faults, key=_nearness)


def _nearness(fault: InputProblems) -> int:
    """How near a sheet came to being a log: the fewer problems, the nearer."""
    return -len(fault.problems)


def _part(
    raw: RawLog, times: Sequence[int] | None, cooler: Cooler, farm: Farm, now: datetime, faults: Faults
) -> Part | None:
    """The readings of one file; None where its times cannot be told, which has been said elsewhere.

    Raises:
        InputProblems: its unit, its times or all of its temperatures are at fault.
    """
    unit = unit_of(raw, cooler, farm)
    values = temperatures_c(raw, unit)
    check_plausible(raw, values, unit, cooler.name)
    if not any(isinstance(values[code], float) for code in raw.temperatures.codes):
        what = f"must have readings (got {len(raw):,} rows, none of them with a temperature)"
        raise InputProblems([Problem(raw.table.where, what, "Check the logger, and export it again.")])
    if times is None:
        return None
    _check_future(raw, times, now)
    return Part(raw.table.where, _sound(raw, times, values, cooler.offset_c, now, faults))


def _check_future(raw: RawLog, times: Sequence[int], now: datetime) -> None:
    """Refuse a log with a time more than a day after now."""
    if max(times, default=NO_TIME) <= seconds_of(now + DAY):
        return
    row = next(row for row, moment in enumerate(times) if moment > seconds_of(now + DAY))
    got = f"{moment_of(times[row]):%Y-%m-%d %H:%M}; now it is {now:%Y-%m-%d %H:%M}"
    what = f"must not lie in the future (got {got})"
    remedy = "Check the clock of the logger, the order of day and month, and --today."
    raise InputProblems([Problem(raw.time_at(row), what, remedy)])


def _sound(
    raw: RawLog,
    times: Sequence[int],
    values: Sequence[float | SetAside],
    offset_c: float,
    now: datetime,
    faults: Faults,
) -> list[Reading]:
    """The readings that count; the others are noted by moment, so that a second export adds none."""
    earliest, latest = seconds_of(now - TOO_OLD), seconds_of(now)
    shifted = [value + offset_c if isinstance(value, float) else value for value in values]
    percent = [-1.0 if rh is None else rh for rh in humidities(raw)]
    humid = map(percent.__getitem__, raw.humidities.codes) if percent else repeat(-1.0)
    sound: list[Reading] = []
    for moment, code, rh in zip(times, raw.temperatures.codes, humid, strict=False):
        value = shifted[code]
        if isinstance(value, float) and earliest <= moment <= latest:
            sound.append((moment, value, rh))
        elif moment > latest:
            faults.setdefault(SetAside.LATER_TODAY, set()).add(moment)
        elif NO_TIME < moment < earliest:
            faults.setdefault(SetAside.TOO_OLD, set()).add(moment)
        elif isinstance(value, SetAside) and moment != NO_TIME:
            faults.setdefault(value, set()).add(moment)
    untimed = ((raw.table.where, row) for row, moment in enumerate(times) if moment == NO_TIME)
    faults.setdefault(SetAside.NO_TIME, set()).update(untimed)
    return sound


def _check_season(readings: Sequence[Reading], cooler: Cooler, aside: Counter[str], now: datetime) -> None:
    """Refuse a log that ended before this season, or has nothing left."""
    place = settings_place(cooler.name)
    remedy = f"Export it again, or take log out of {cooler_key(cooler.name)}."
    if not readings:
        left_out = listed([f"{aside[reason]:,} {reason}" for reason in SetAside if aside[reason]], "and")
        what = f"log must have readings up to now, {now:%Y-%m-%d %H:%M} (got {left_out})"
        raise InputProblems([Problem(place, what, remedy)])
    last = moment_of(readings[-1][0])
    if now - last > THIS_SEASON:
        got = f"{shown(cooler.log or '')}, whose last reading is of {last:%Y-%m-%d}"
        what = f"log must be of this season (got {got})"
        raise InputProblems([Problem(place, what, remedy)])
