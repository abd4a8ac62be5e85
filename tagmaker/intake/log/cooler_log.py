"""The thermometer log of a cooler: exports of any logger, read into one series of °C and local moments.

1. The files that the settings name.
2. `file`: each as tables of text, counted first.
3. `header`, `titles`, `columns`: which columns hold what.
4. `rows`, `cells`: the rows, every distinct text read once.
5. `units`, `moments`: °C and local moments, or a problem where either cannot be told.
6. `series`: one series.
"""

from __future__ import annotations

import os
from collections import Counter
from collections.abc import Hashable, Iterator, Sequence
from datetime import datetime, timedelta
from fnmatch import fnmatch
from itertools import islice, zip_longest
from pathlib import Path
from typing import TYPE_CHECKING, Any

from tagmaker.errors import InputProblems, Problem
from tagmaker.farm import Cooler, Farm
from tagmaker.intake.cells.plain_text import listed, shown
from tagmaker.intake.log.columns import find_columns
from tagmaker.intake.log.file import MOST_ROWS, NoRowsError, read_tables
from tagmaker.intake.log.header import likeness
from tagmaker.intake.log.moments import NO_TIME, local_moments, moment_of, seconds_of
from tagmaker.intake.log.naming import cooler_key, settings_place
from tagmaker.intake.log.rows import RawLog, of_probe, raw_log
from tagmaker.intake.log.series import Part, one_series
from tagmaker.intake.log.units import (
    check_one_unit,
    check_plausible,
    humidities,
    number_of,
    temperatures_c,
    unit_of,
)
from tagmaker.storage.readings import Readings, SetAside

if TYPE_CHECKING:
    from numpy.typing import NDArray
    from pandas import DataFrame

DAY = timedelta(days=1)
Faults = dict[SetAside, set[Hashable]]  # what each reading is told apart by
MOST_FILES = 1_000  # of a cooler (chosen: an export a day for three years)
MOST_LOOKED_AT = 10_000  # names in folders that a glob looks at (chosen)
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
        NoRowsError: no file is there, or none has a row; what is wrong with it.
        InputProblems: all that is wrong with the files.
    """
    if cooler.log is None:
        return None
    paths = _named_files(cooler.log, cooler.name, folder)
    raws, problems, empty = _raw_logs(paths, cooler, now)
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
        raise InputProblems([*problems, *empty])
    if empty and not raws:
        raise NoRowsError(empty)
    aside: Counter[str] = Counter({reason: len(once) for reason, once in faults.items()})
    readings = one_series(parts, aside)
    _check_season(readings, cooler, aside, now)
    rh = readings["rh"].tolist() if readings["rh"].notna().any() else []
    return Readings(
        cooler=cooler.name,
        moments=tuple(readings["moment"].to_numpy().astype("datetime64[s]").tolist()),
        t_c=tuple(readings["t_c"].tolist()),
        rh=tuple([percent if percent == percent else None for percent in rh]),  # NaN is not itself
        set_aside={reason: aside[reason] for reason in SetAside if aside[reason]},
        files=tuple(name for _, name in paths),
        empty=tuple(empty),
    )


def log_files(log: str, folder: Path) -> list[Path]:
    """The files that a path or glob names, relative to a folder, as far as it is looked at."""
    return _found(log, folder)[0]


def _found(log: str, folder: Path) -> tuple[list[Path], bool]:
    """The files that a path or glob names, and whether those are all."""
    try:
        if (folder / log).exists():
            return [folder / log], True  # even if its name has a * or [ in it
    except OSError:  # a name that no file can have
        return [], True
    pattern = Path(log)
    base = Path(pattern.anchor) if pattern.is_absolute() else folder
    looks = iter(range(MOST_LOOKED_AT))
    matching = _matching(base, pattern.relative_to(pattern.anchor).parts, looks)
    found = sorted(islice(matching, MOST_FILES))
    return found, next(looks, None) is not None and next(matching, None) is None


def _matching(base: Path, parts: Sequence[str], looks: Iterator[int]) -> Iterator[Path]:
    """The regular files below a folder that fit a pattern, as long as there are looks left."""
    if not parts:
        if base.is_file() and not base.name.startswith((".", "~$")):
            yield base
        return
    wanted, rest = parts[0], parts[1:]
    if not any(mark in wanted for mark in "*?["):
        yield from _matching(base / wanted, rest, looks)
        return
    if wanted == "**":
        yield from _matching(base, rest, looks)
    try:
        with os.scandir(base) as entries:
            names = sorted(entry.name for entry, _ in zip(entries, looks, strict=False))
    except (OSError, ValueError):  # no folder that can be looked into
        return
    for name in names:
        if wanted == "**" and (base / name).is_dir() and not (base / name).is_symlink():
            yield from _matching(base / name, parts, looks)
        elif wanted != "**" and fnmatch(name, wanted):
            yield from _matching(base / name, rest, looks)


def _named_files(log: str, cooler: str, folder: Path) -> list[tuple[Path, str]]:
    """The files of a cooler's log, at least one, with the names that messages give them."""
    files, whole = _found(log, folder)
    if not files and whole:
        what = f"no such file: {shown(log)}"
        remedy = f"Check the name, or take log out of {cooler_key(cooler)}."
        raise NoRowsError([Problem(settings_place(cooler), what, remedy)])
    if not whole:
        most = f"{MOST_FILES:,} files among {MOST_LOOKED_AT:,} names"
        what = f"log must name at most {most} (got more by {shown(log)})"
        remedy = "Name the folder that they lie in, and nothing above it."
        raise InputProblems([Problem(settings_place(cooler), what, remedy)])
    return [
        (path, path.relative_to(folder).as_posix() if path.is_relative_to(folder) else str(path))
        for path in files
    ]


def _raw_logs(
    paths: Sequence[tuple[Path, str]], cooler: Cooler, now: datetime
) -> tuple[list[RawLog], list[Problem], list[Problem]]:
    """The rows of every file, what is wrong with the others, and which have no row."""
    raws: list[RawLog] = []
    problems: list[Problem] = []
    empty: list[Problem] = []
    for path, name in paths:
        left = MOST_ROWS - sum(map(len, raws))
        try:
            raws.append(_raw_log(path, name, left, cooler, now))
        except NoRowsError as error:
            empty += error.problems
        except InputProblems as error:
            problems += error.problems
    return raws, problems, empty


def _raw_log(path: Path, name: str, most_rows: int, cooler: Cooler, now: datetime) -> RawLog:
    """The rows of one file; of a workbook, those of its first sheet that is a log."""
    faults: list[InputProblems] = []
    for table in read_tables(path, name, most_rows, likeness):
        try:
            layout = find_columns(table, cooler.probe, cooler.name, now)
            return of_probe(raw_log(table, layout), cooler.probe, cooler.name)
        except InputProblems as error:
            faults.append(error)
    raise max(faults, key=_nearness)


def _nearness(fault: InputProblems) -> tuple[bool, int]:
    """How near a sheet came to being a log: the fewer problems, the nearer."""
    return not isinstance(fault, NoRowsError), -len(fault.problems)


def _part(
    raw: RawLog, moments: NDArray[Any] | None, cooler: Cooler, farm: Farm, now: datetime, faults: Faults
) -> Part | None:
    """The readings of one file; None where its times cannot be told, which has been said elsewhere.

    Raises:
        InputProblems: its unit, its times or all of its temperatures are at fault.
    """
    unit = unit_of(raw, cooler, farm)
    t_c, aside = temperatures_c(raw, unit)
    check_plausible(raw, t_c, unit, cooler.name)
    if moments is None:
        return None
    _check_future(raw, moments, now)
    check_one_unit(raw, moments, t_c, unit)
    return Part(raw.table.where, _sound(raw, moments, t_c + cooler.offset_c, aside, now, faults))


def _check_future(raw: RawLog, moments: NDArray[Any], now: datetime) -> None:
    """Refuse a log with a time more than a day after now."""
    later = moments > seconds_of(now + DAY)
    if not later.any():
        return
    row = int(later.argmax())
    got = f"{moment_of(int(moments[row])):%Y-%m-%d %H:%M}; now it is {now:%Y-%m-%d %H:%M}"
    what = f"must not lie in the future (got {got})"
    remedy = "Check the clock of the logger, the order of day and month, and --today."
    raise InputProblems([Problem(raw.time_at(row), what, remedy)])


def _sound(
    raw: RawLog,
    moments: NDArray[Any],
    t_c: NDArray[Any],
    aside: NDArray[Any],
    now: datetime,
    faults: Faults,
) -> DataFrame:
    """The readings that count; the others are noted by moment, so that a second export adds none."""
    import pandas as pd

    aside = aside.copy()
    aside[moments < seconds_of(now - TOO_OLD)] = number_of(SetAside.TOO_OLD)
    aside[moments > seconds_of(now)] = number_of(SetAside.LATER_TODAY)
    aside[moments == NO_TIME] = number_of(SetAside.NO_TIME)
    for reason in SetAside:
        rows = (aside == number_of(reason)).nonzero()[0]
        untold = reason is SetAside.NO_TIME  # each counts, in whichever file it stands
        once = ((raw.table.where, row) for row in rows.tolist()) if untold else moments[rows].tolist()
        faults.setdefault(reason, set()).update(once)
    sound = aside == 0
    columns = {"moment": moments, "t_c": t_c, "rh": humidities(raw)}
    return pd.DataFrame({name: values[sound] for name, values in columns.items()})


def _check_season(readings: DataFrame, cooler: Cooler, aside: Counter[str], now: datetime) -> None:
    """Refuse a log that ended before this season, or has nothing left."""
    place = settings_place(cooler.name)
    remedy = f"Export it again, or take log out of {cooler_key(cooler.name)}."
    if not len(readings):
        left_out = listed([f"{aside[reason]:,} {reason}" for reason in SetAside if aside[reason]], "and")
        what = f"log must have readings up to now, {now:%Y-%m-%d %H:%M} (got {left_out})"
        raise InputProblems([Problem(place, what, remedy)])
    last = moment_of(int(readings["moment"].iloc[-1]))
    if now - last > THIS_SEASON:
        got = f"{shown(cooler.log or '')}, whose last reading is of {last:%Y-%m-%d}"
        what = f"log must be of this season (got {got})"
        raise InputProblems([Problem(place, what, remedy)])
