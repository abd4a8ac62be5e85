"""The temperatures of a thermometer log in °C, and the unit they were written in: known, never guessed."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import accumulate

from tagmaker.errors import InputProblems, Problem
from tagmaker.farm import Cooler, Farm
from tagmaker.intake.cells.plain_text import shown
from tagmaker.intake.log.cells import read_number
from tagmaker.intake.log.naming import cooler_key, settings_place
from tagmaker.intake.log.rows import RawLog
from tagmaker.intake.log.titles import units_in
from tagmaker.storage.readings import SetAside

# The middle reading of a cooler [°C]: no flower cooler runs below, and 28 °F is the coldest that
# one runs, so that a number above 28 is °F (chosen). Between them the limits tell °F from °C: what a
# cooler of 28 °F and more shows in °F is no temperature of a cooler in °C, and the other way.
RUNS_FROM_C, RUNS_TO_C = -5.0, 28.0
# Beyond these [°C] a number is a fault of the probe, such as -999, 850, -127 or 85.0 °C (chosen).
COLDEST_C, WARMEST_C = -40.0, 60.0
THE_LOG = "the log says so"


@dataclass(frozen=True, slots=True)
class Unit:
    """The unit of a log, and what says so."""

    letter: str  # "F" or "C"
    said_by: str

    def celsius(self, value: float) -> float:
        """A number in this unit [°C]."""
        return (value - 32.0) / 1.8 if self.letter == "F" else value


def unit_of(raw: RawLog, cooler: Cooler, farm: Farm) -> Unit:
    """The unit of a log: as its header, its cells or the lines above say, else the settings.

    Raises:
        InputProblems: nothing says it, or two places contradict each other.
    """
    in_file = _unit_in_file(raw)
    told = cooler.log_units
    if in_file and told and in_file != told:
        what = f'log_units must agree with the log (got "{told}", and °{in_file} in {raw.table.where})'
        remedy = f"Take log_units out of {cooler_key(cooler.name)}, or export the log again."
        raise InputProblems([Problem(settings_place(cooler.name), what, remedy)])
    if in_file:
        return Unit(in_file, THE_LOG)
    if told:
        return Unit(told, f"log_units under {cooler_key(cooler.name)} says so")
    if farm.units:
        return Unit(farm.units, "units in tagmaker.toml says so")
    what = "must be in °F or °C (got no unit, neither in the log nor in tagmaker.toml)"
    remedy = f'Set log_units = "F" or "C" under {cooler_key(cooler.name)} in tagmaker.toml.'
    raise InputProblems([Problem(_column(raw), what, remedy)])


def _column(raw: RawLog) -> str:
    return f"{raw.table.where}, column {raw.layout.temperature.name.removeprefix('column ')}"


def _unit_in_file(raw: RawLog) -> str:
    """The unit that the log itself says; empty where it says none."""
    column = raw.layout.temperature
    in_title = _only(units_in(column.title) or units_in(column.below))
    numbers = {text: read_number(text) for text in raw.temperatures.index}
    in_cells = {number.unit: text for text, number in numbers.items() if number and number.unit in ("F", "C")}
    in_column = {_only(units_in(text) or units_in(f"temp {text}")): text for text in raw.units.index}
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


def temperatures_c(raw: RawLog, unit: Unit) -> list[float | SetAside]:
    """The temperature of every distinct text [°C], or why it has none."""
    found: list[float | SetAside] = []
    for text in raw.temperatures.index:
        number = read_number(text)
        if number is None or number.unit == "%":
            found.append(SetAside.NO_READING)
            continue
        value = unit.celsius(number.value)
        found.append(value if COLDEST_C < value < WARMEST_C else SetAside.OUT_OF_RANGE)
    return found


def check_plausible(raw: RawLog, values: Sequence[float | SetAside], unit: Unit, cooler: str) -> None:
    """Refuse a log whose middle reading no cooler has: its unit is another than it says.

    Raises:
        InputProblems: half of the readings or more lie beyond where coolers run.
    """
    counts = Counter(raw.temperatures.codes)
    known = sorted((v, counts[c]) for c, v in enumerate(values) if isinstance(v, float) and counts[c])
    half = sum(count for _, count in known) / 2
    up_to = accumulate(count for _, count in known)
    middle = next((value for (value, _), count in zip(known, up_to, strict=True) if count >= half), 0.0)
    if RUNS_FROM_C <= middle <= RUNS_TO_C:
        return
    number = middle * 1.8 + 32 if unit.letter == "F" else middle
    what = (
        f"must be temperatures of a cooler: a middle reading from {RUNS_FROM_C:g} to {RUNS_TO_C:g} °C "
        f"(got {number:.1f} read as °{unit.letter}, because {unit.said_by})"
    )
    other = "C" if unit.letter == "F" else "F"
    setting = f'set log_units = "{other}" under {cooler_key(cooler)} in tagmaker.toml'
    mend = "export it again with the unit that it is in" if unit.said_by == THE_LOG else setting
    remedy = f"Is it in °{other}? Then {mend}. Else name the log of a cooler."
    raise InputProblems([Problem(_column(raw), what, remedy)])


def humidities(raw: RawLog) -> list[float | None]:
    """The humidity of every distinct text [%]; None where it has none.

    A column in which no number is above 1 holds shares: a cooler is never that dry.
    """
    numbers = [read_number(text) for text in raw.humidities.index]
    values = [n.value if n is not None and n.unit in ("", "%") else None for n in numbers]
    known = [value for value in values if value is not None]
    scale = 100.0 if known and max(known) <= 1.0 else 1.0
    return [None if v is None or not 1 <= v * scale <= 105 else min(v * scale, 100.0) for v in values]
