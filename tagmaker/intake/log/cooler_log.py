"""The thermometer log of a cooler: exports of any logger, read into one series of °C and local moments.

1. `finding`: the files that the settings name, or that are kept in `logs/`.
2. `file`: each as tables of text, counted first.
3. `header`, `titles`, `columns`: which columns hold what.
4. `rows`, `cells`: the rows, every distinct text read once.
5. `units`, `moments`: °C and local moments, or a problem where either cannot be told.
6. `series`: one series.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Hashable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from itertools import zip_longest
from pathlib import Path
from typing import TYPE_CHECKING, Any

from tagmaker.errors import InputProblems, Problem
from tagmaker.farm import Cooler, Farm
from tagmaker.intake.cells.plain_text import listed, shown
from tagmaker.intake.log.columns import find_columns
from tagmaker.intake.log.file import MOST_ROWS, NoRowsError, read_tables
from tagmaker.intake.log.finding import FOLDER, file_word, log_paths
from tagmaker.intake.log.header import likeness
from tagmaker.intake.log.moments import NO_TIME, local_moments, moment_of, seconds_of
from tagmaker.intake.log.naming import settings_place, to_clear
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
TOO_OLD = 731 * DAY  # before now (chosen): a logger whose clock was reset to some first day
THIS_SEASON = 180 * DAY  # before now (chosen): twice the longest stay in storage


@dataclass(frozen=True, slots=True)
class Source:
    """Where a log is from, for what is said of a whole log."""

    place: str  # where it is named
    log: str  # its name in a sentence
    remedy: str
    fault: type[InputProblems] = InputProblems


def read_logs(cooler: Cooler, farm: Farm, folder: Path, now: datetime) -> Readings | None:
    """The readings of a cooler's logger, at least one; None where no log is named or kept.

    Args:
        cooler: its `log` is a path or glob relative to the settings, None for what is kept; `probe`,
            `log_units` and `offset_c` say how to read it.
        farm: units, order of dates and time zone, where the log does not say them.
        folder: where the settings stand.
        now: local moment; later readings do not count.

    Raises:
        NoRowsError: no file is there, or none has a row; what is wrong with it.
        InputProblems: all that is wrong with the files.
    """
    paths = log_paths(cooler, farm, folder)
    return readings_of(paths, cooler, farm, now, _source(cooler)) if paths else None


def _source(cooler: Cooler) -> Source:
    """What is said of a cooler's whole log; one that nobody named stops nobody."""
    if cooler.log is not None:
        remedy = f"Export it again, or {to_clear(cooler, 'log')}."
        return Source(settings_place(cooler), shown(cooler.log), remedy)
    log = f"{FOLDER}/{file_word(cooler.name)}-*"
    return Source(log, log, f"Add newer readings, or take these files out of {FOLDER}.", NoRowsError)


def readings_of(
    paths: Sequence[tuple[Path, str]], cooler: Cooler, farm: Farm, now: datetime, source: Source
) -> Readings:
    """The readings of some files, at least one, with the names that messages give them; as `read_logs`."""
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
    _check_season(readings, source, aside, now)
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
            raws.append(raw_log_of(path, name, left, cooler, now))
        except NoRowsError as error:
            empty += error.problems
        except InputProblems as error:
            problems += error.problems
    return raws, problems, empty


def raw_log_of(path: Path, name: str, most_rows: int, cooler: Cooler, now: datetime) -> RawLog:
    """The rows of one file; of a workbook, those of its first sheet that is a log."""
    faults: list[InputProblems] = []
    for table in read_tables(path, name, most_rows, likeness):
        try:
            layout = find_columns(table, cooler, now)
            return of_probe(raw_log(table, layout), cooler)
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
    check_plausible(raw, t_c, unit, cooler)
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


def _check_season(readings: DataFrame, source: Source, aside: Counter[str], now: datetime) -> None:
    """Refuse a log that ended before this season, or has nothing left."""
    if not len(readings):
        left_out = listed([f"{aside[reason]:,} {reason}" for reason in SetAside if aside[reason]], "and")
        what = f"log must have readings up to now, {now:%Y-%m-%d %H:%M} (got {left_out})"
        raise source.fault([Problem(source.place, what, source.remedy)])
    last = moment_of(int(readings["moment"].iloc[-1]))
    if now - last > THIS_SEASON:
        what = f"log must be of this season (got {source.log}, whose last reading is of {last:%Y-%m-%d})"
        raise source.fault([Problem(source.place, what, source.remedy)])
