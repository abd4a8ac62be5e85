"""The temperatures of a thermometer log in °C, and the unit they were written in: known, never guessed."""

from __future__ import annotations

from dataclasses import dataclass
from math import nan
from typing import TYPE_CHECKING, Any

from tagmaker.errors import InputProblems, Problem
from tagmaker.farm import Cooler, Farm
from tagmaker.intake.cells.plain_text import shown
from tagmaker.intake.log.cells import read_number
from tagmaker.intake.log.naming import FILE_NAME, cooler_key, settings_place, to_clear, to_set
from tagmaker.intake.log.rows import RawLog
from tagmaker.intake.log.titles import units_in
from tagmaker.storage.readings import SetAside

if TYPE_CHECKING:
    from numpy.typing import NDArray

# The middle reading of a cooler [°C]: no flower cooler runs below, and 28 °F is the coldest that
# one runs, so that a number above 28 is °F (chosen). Between them the limits tell °F from °C: what a
# cooler of 28 °F and more shows in °F is no temperature of a cooler in °C, and the other way.
RUNS_FROM_C, RUNS_TO_C = -5.0, 28.0
# Beyond these [°C] a number is a fault of the probe, such as -999, 850, -127 or 85.0 °C (chosen).
COLDEST_C, WARMEST_C = -40.0, 60.0
# The middle reading of a full day beyond these [°C] is in the other unit (chosen): 3 °C read as °F is -16 °C.
DAY_FROM_C, DAY_TO_C = -10.0, 45.0
JUMP_C = 20.0  # between two readings: air of 22 °C beside a probe of 2 °C could not do it (chosen)
_FULL_DAY_S, _FULL_DAY_READINGS = (
    18 * 3600,
    4,
)  # [s] from the first to the last reading of a full day (chosen)
THE_LOG = "the log says so"


@dataclass(frozen=True, slots=True)
class Unit:
    """The unit of a log, and what says so."""

    letter: str  # "F" or "C"
    said_by: str

    def celsius(self, value: float) -> float:
        """A number in this unit [°C]."""
        return (value - 32.0) / 1.8 if self.letter == "F" else value

    def number(self, t_c: float) -> float:
        """A temperature [°C] as this unit writes it."""
        return t_c * 1.8 + 32 if self.letter == "F" else t_c


def unit_of(raw: RawLog, cooler: Cooler, farm: Farm) -> Unit:
    """The unit of a log: as its header, its cells or the lines above say, else the settings.

    Raises:
        InputProblems: nothing says it, or two places contradict each other.
    """
    in_file = _unit_in_file(raw)
    told = cooler.log_units
    if in_file and told and in_file != told:
        what = f'log_units must agree with the log (got "{told}", and °{in_file} in {raw.table.where})'
        clear = to_clear(cooler, "log_units")
        remedy = f"{clear[:1].upper()}{clear[1:]}, or export the log again."
        raise InputProblems([Problem(settings_place(cooler, "log_units"), what, remedy)])
    if in_file:
        return Unit(in_file, THE_LOG)
    if told:
        place = cooler.cells.get("log_units", f"log_units under {cooler_key(cooler.name)}")
        return Unit(told, f"{place} says so")
    if farm.units:
        place = farm.places.get(("", "", "units"), FILE_NAME)
        return Unit(farm.units, f"{f'units in {FILE_NAME}' if FILE_NAME in place else place} says so")
    what = "must be in °F or °C (got no unit, neither in the log nor in the settings)"
    either = to_set(cooler, "log_units", '"F" or "C"')
    raise InputProblems([Problem(_column(raw), what, f"Set {either}.")])


def _column(raw: RawLog) -> str:
    return f"{raw.table.where}, column {raw.layout.temperature.name.removeprefix('column ')}"


def _unit_in_file(raw: RawLog) -> str:
    """The unit that the log itself says; empty where it says none."""
    column = raw.layout.temperature
    in_title = _only(units_in(column.title) or units_in(column.below))
    numbers = {text: read_number(text) for text in raw.temperatures.texts}
    in_cells = {number.unit: text for text, number in numbers.items() if number and number.unit in ("F", "C")}
    in_column = {
        _only(units_in(text) or units_in(f"temp {text}")): text
        for text in (raw.units.texts if raw.units else ())
    }
    seen = {in_title: column.title, **in_cells, **in_column}
    seen.pop("", None)
    if len(seen) > 1:
        what = f"must be in one unit (got {' and '.join(shown(text) for text in seen.values())})"
        raise InputProblems([Problem(_column(raw), what, "Export it again in °F or in °C.")])
    if seen:
        return next(iter(seen))
    return _only(set().union(*(units_in(line) for line in raw.layout.above)))


def _only(units: set[str]) -> str:
    return next(iter(units)) if len(units) == 1 else ""


def number_of(reason: SetAside) -> int:
    """A reason as a number, from 1 on: millions of readings are compared by it."""
    return list(SetAside).index(reason) + 1


def temperatures_c(raw: RawLog, unit: Unit) -> tuple[NDArray[Any], NDArray[Any]]:
    """The temperature of every reading [°C], NaN where it has none, and why: a number, 0 for none."""
    import numpy as np

    def celsius(text: str) -> float:
        number = read_number(text)
        return nan if number is None or number.unit == "%" else unit.celsius(number.value)

    t_c = raw.temperatures.each(celsius, float)
    aside = np.where(np.isnan(t_c), number_of(SetAside.NO_READING), 0)
    far = (t_c <= COLDEST_C) | (t_c >= WARMEST_C)
    t_c[far], aside[far] = nan, number_of(SetAside.OUT_OF_RANGE)
    return t_c, aside


def check_plausible(raw: RawLog, t_c: NDArray[Any], unit: Unit, cooler: Cooler) -> None:
    """Refuse a log whose middle reading no cooler has: its unit is another than it says.

    Raises:
        InputProblems: half of the readings or more lie beyond where coolers run, or there is none.
    """
    import numpy as np

    known = np.sort(t_c[~np.isnan(t_c)])
    if not len(known):
        what = f"must have readings (got {len(raw):,} rows, none of them with a temperature)"
        raise InputProblems([Problem(raw.table.where, what, "Check the logger, and export it again.")])
    middle = float(known[(len(known) - 1) // 2])
    if RUNS_FROM_C <= middle <= RUNS_TO_C:
        return
    what = (
        f"must be temperatures of a cooler: a middle reading from {RUNS_FROM_C:g} to {RUNS_TO_C:g} °C "
        f"(got {unit.number(middle):.1f} read as °{unit.letter}, because {unit.said_by})"
    )
    other = "C" if unit.letter == "F" else "F"
    setting = "set " + to_set(cooler, "log_units", f'"{other}"')
    mend = "export it again with the unit that it is in" if unit.said_by == THE_LOG else setting
    remedy = f"Is it in °{other}? Then {mend}. Else name the log of a cooler."
    raise InputProblems([Problem(_column(raw), what, remedy)])


def check_one_unit(raw: RawLog, moments: NDArray[Any], t_c: NDArray[Any], unit: Unit) -> None:
    """Refuse a log that changes its unit on the way: a full day in it is like no day of a cooler.

    Two signs count: the middle reading of a day lies beyond -10 to 45 °C; or it lies above 28 °C, would
    be that of a cooler in the other unit, and the readings leapt by more than 20 °C from one to the next.

    Raises:
        InputProblems: it does; the row is that of the leap.
    """
    import numpy as np
    import pandas as pd

    rows = (~np.isnan(t_c) & (moments >= 0)).nonzero()[0]
    rows = rows[np.argsort(moments[rows], kind="stable")]
    series = pd.DataFrame({"day": moments[rows] // 86_400, "moment": moments[rows], "t_c": t_c[rows]})
    days = series.groupby("day").agg(
        middle=("t_c", "median"), first=("moment", "min"), last=("moment", "max"), count=("t_c", "size")
    )
    days = days[(days["last"] - days["first"] >= _FULL_DAY_S) & (days["count"] >= _FULL_DAY_READINGS)]
    leaps = series["t_c"].diff().abs().fillna(0.0)
    odd = (days["middle"] < DAY_FROM_C) | (days["middle"] > DAY_TO_C)
    warm = days["middle"] > RUNS_TO_C
    if unit.letter == "C":
        warm &= days["middle"].map(Unit("F", "").celsius).between(RUNS_FROM_C, RUNS_TO_C)
        odd |= warm & (leaps.max() > JUMP_C)
    if not odd.any():
        return
    day = odd.index[odd][0]
    near = series["day"].between(day - 1, day + 1)
    at = int(np.where(near, leaps, -1.0).argmax())
    row, before = int(rows[at]), float(t_c[rows[max(at - 1, 0)]])
    column = raw.layout.temperature
    where = raw.table.cell_at(int(raw.rows[row]), column.place, column.title)
    got = f"{unit.number(float(t_c[row])):.1f} after {unit.number(before):.1f}, both read as °{unit.letter}"
    what = f"must stay in one unit (got {got})"
    raise InputProblems(
        [Problem(where, what, "Export the days before and after it apart, each with its unit.")]
    )


def humidities(raw: RawLog) -> NDArray[Any]:
    """The humidity of every reading [%]; NaN where it has none.

    A column in which no number is above 1 holds shares: a cooler is never that dry.
    """
    import numpy as np

    def percent(text: str) -> float:
        number = read_number(text)
        return number.value if number is not None and number.unit in ("", "%") else nan

    if raw.humidities is None:
        return np.full(len(raw), nan)
    values = raw.humidities.each(percent, float)
    scaled = values * (100.0 if np.fmax.reduce(values, initial=0.0) <= 1.0 else 1.0)
    return np.where((scaled >= 1) & (scaled <= 105), np.minimum(scaled, 100.0), nan)
