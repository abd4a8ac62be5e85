"""Which columns of a thermometer log hold the time, the temperature, the humidity and the probe's name.

Titles are asked first and cells second.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime
from itertools import pairwise

from tagmaker.errors import InputProblems, Problem
from tagmaker.farm import Cooler
from tagmaker.intake.cells.plain_text import listed, shown, squash
from tagmaker.intake.log import titles
from tagmaker.intake.log.cells import Clock, Kind, read_clock, read_number, split_count, split_moment
from tagmaker.intake.log.file import NoRowsError, Table
from tagmaker.intake.log.header import Column, columns_of
from tagmaker.intake.log.naming import settings_place, to_set

_NAMED = 12  # columns that a message names at most (chosen)


@dataclass(frozen=True, slots=True)
class Layout:
    """Where a table holds what."""

    first: int  # row of the first reading, counted from 0
    time: Column  # date and time, or the date alone
    clock: Column | None  # the time of day, where it has a column of its own
    counted: bool  # the time is a bare number of days or seconds
    temperature: Column
    humidity: Column | None
    probe_name: Column | None  # names the probe of each row
    unit: Column | None  # names the unit of each row
    above: tuple[str, ...]  # lines above the header


def find_columns(table: Table, cooler: Cooler, now: datetime) -> Layout:
    """The columns of a log.

    Args:
        table: the log.
        cooler: whose settings may name the column or probe.
        now: the moment of reading.

    Raises:
        InputProblems: there is no time or no temperature, or more than one and nothing says which.
    """
    columns, first, above = columns_of(table, now)
    if not any(column.kinds for column in columns):
        what = "must have readings (got none below the header)"
        raise NoRowsError([Problem(table.where, what, "Export the readings from the logger again.")])
    problems: list[Problem] = []
    time, clock, counted = _time_columns(columns)
    if time is None:
        problems.append(_no_time(table, columns, first))
    rest = [column for column in columns if column not in (time, clock)]
    names = next((c for c in rest if titles.is_probe_name(c.title) and _holds_names(c)), None)
    unit = next((c for c in rest if titles.is_unit_title(c.title)), None)
    rest = [column for column in rest if column not in (names, unit)]
    temperature = _temperature(table, rest, cooler, named=names is not None)
    if isinstance(temperature, Problem):
        problems.append(temperature)
    elif time is not None:
        problems += _stray_commas(table, columns, temperature)
    if problems or time is None or isinstance(temperature, Problem):
        raise InputProblems(problems)
    humidity = _humidity(rest, temperature)
    return Layout(first, time, clock, counted, temperature, humidity, names, unit, above)


def _time_columns(columns: Sequence[Column]) -> tuple[Column | None, Column | None, bool]:
    """The column of the time, that of the time of day, and whether the time is a bare number."""

    def best(found: Iterable[Column]) -> Column | None:
        return min(found, key=lambda column: (titles.time_rank(column.title), column.place), default=None)

    moment = best(c for c in columns if c.is_mostly(Kind.MOMENT, Kind.DAY) and Kind.MOMENT in c.kinds)
    day = best(c for c in columns if c.is_mostly(Kind.DAY) and Kind.MOMENT not in c.kinds)
    clock = best(c for c in columns if c.is_mostly(Kind.CLOCK))
    if clock and moment and _all_midnight(moment):
        day = day or moment  # a spreadsheet's date, shown with its midnight
    elif moment:
        return moment, None, False
    if clock and day:
        return day, clock, False
    if clock or day:
        return None, None, False
    numbers = (c for c in columns if titles.time_rank(c.title) != 2 and c.is_mostly(Kind.NUMBER))
    counted = best(c for c in numbers if all(map(split_count, c.samples)))
    return counted, None, counted is not None


def _all_midnight(column: Column) -> bool:
    parts = [part for part in map(split_moment, column.samples) if part]
    return len(parts) > 1 and all(clock == Clock(0) for clock in map(read_clock, (part[1] for part in parts)))


def _no_time(table: Table, columns: Sequence[Column], first: int) -> Problem:
    """The problem of a log whose readings have no moment."""
    remedy = "Export it again with the date and the time of every reading."
    half = next((c for c in columns if c.is_mostly(Kind.DAY)), None)
    if half is not None:
        got = f"only dates, in {_quoted(half)}"
    elif (half := next((c for c in columns if c.is_mostly(Kind.CLOCK)), None)) is not None:
        got = f"only times of day, in {_quoted(half)}"
    elif (half := next((c for c in columns if titles.is_time(c.title) and c.samples), None)) is not None:
        where = table.cell_at(first, half.place, half.title)
        return Problem(where, f"must be a date and time (got {shown(half.samples[0])})", remedy)
    else:
        got = _named(columns)
    return Problem(
        table.where, f"must have a column with the date and time of each reading (got {got})", remedy
    )


def _quoted(column: Column) -> str:
    return f"the column {shown(column.name)}" if column.title else column.name


def _named(columns: Sequence[Column]) -> str:
    """The columns as messages list them."""
    names = [shown(column.name) if column.title else column.name for column in columns[:_NAMED]]
    more = len(columns) - len(names)
    names += [f"{more} more"] if more else []
    if not columns[0].title:
        return listed(names, "and")
    return f"the column{'s' if len(names) > 1 else ''} {listed(names, 'and')}"


def _holds_names(column: Column) -> bool:
    """Whether the cells of a column can be names: words, or the numbers of devices, each many times."""
    few = len(column.samples) < 4 or 2 * len(set(column.samples)) <= len(column.samples)
    return few and (column.is_mostly(Kind.WORD) or (bool(column.kinds) and titles.is_device(column.title)))


def _temperature(table: Table, columns: Sequence[Column], cooler: Cooler, *, named: bool) -> Column | Problem:
    """The column of the temperature, or what is wrong.

    Args:
        table: the log.
        columns: those that hold no time.
        cooler: whose settings may name it.
        named: each row names its probe.
    """
    probe = cooler.probe
    candidates = [c for c in columns if titles.is_temperature(f"{c.title} {c.below}".strip())]
    candidates = [c for c in candidates if c.samples] or candidates
    if not candidates:
        candidates = [c for c in columns if _may_be_probe(c)]
    if probe is not None:
        hits = [c for c in columns if squash(probe) in (squash(c.title), squash(c.name))]
        hits = hits or [c for c in candidates if squash(probe) == titles.probe_of(c.title)]
        if len(hits) == 1:
            return hits[0]
        if not (named and len(candidates) == 1):
            what = (
                f"probe must be a column of the log (got {shown(probe)}: {table.where} has {_named(columns)})"
            )
            return Problem(
                settings_place(cooler, "probe"), what, "Write the title of the column with its temperature."
            )
    if not candidates:
        what = f"must have a column of temperatures (got {_named(columns) if columns else 'none'})"
        named_as = to_set(cooler, "probe", '"…"')
        remedy = f"Export it again, or name the column as {named_as}."
        return Problem(table.where, what, remedy)
    if len(candidates) > 1 and not _same_in_both_units(candidates):
        what = f"must have one column of temperatures (got {len(candidates)}: {_named(candidates)})"
        example = candidates[0].name.replace('"', "'")
        one_of = to_set(cooler, "probe", f'"{example}" or another')
        return Problem(table.where, what, f"Set {one_of}.")
    return candidates[0]


def _may_be_probe(column: Column) -> bool:
    """Whether a column under a title that says nothing may hold temperatures; a count of rows may not."""
    if not column.is_mostly(Kind.NUMBER) or not titles.may_be_probe(f"{column.title} {column.below}"):
        return False
    numbers = [number.value for number in map(read_number, column.samples) if number]
    steps = {after - before for before, after in pairwise(numbers)}
    return not (len(numbers) > 2 and steps in ({1.0}, {-1.0}))


def _same_in_both_units(columns: Sequence[Column]) -> bool:
    """Whether two columns are one probe, once in °F and once in °C."""
    units = [titles.units_in(f"{c.title} {c.below}") for c in columns]
    one_probe = len({titles.probe_of(c.title) for c in columns}) == 1
    return len(columns) == 2 and one_probe and sorted(map(sorted, units)) == [["C"], ["F"]]


def _humidity(columns: Sequence[Column], temperature: Column) -> Column | None:
    """The humidity beside a temperature; None where there is none, or none that is clearly its own."""
    found = [
        c for c in columns if c is not temperature and titles.is_humidity(f"{c.title} {c.below}".strip())
    ]
    own = [c for c in found if titles.probe_of(c.title) == titles.probe_of(temperature.title)]
    of_all = [c for c in found if not titles.probe_of(c.title)]
    return (own + of_all)[0] if len(own) == 1 or len(own + of_all) == 1 else None


def _stray_commas(table: Table, columns: Sequence[Column], temperature: Column) -> list[Problem]:
    """The problem of decimal commas in a file whose cells are parted by commas as well."""
    titled = max((column.place for column in columns if column.title), default=len(columns)) + 1
    beyond = [c for c in columns if c.place >= titled and all(cell.strip().isdigit() for cell in c.samples)]
    cells = temperature.samples
    if table.sheet is not None or not any(2 * len(c.samples) >= len(cells) for c in beyond):
        return []
    what = f"must have as many cells in a row as in the header (got {titled} titles and more cells below)"
    remedy = "If its numbers have decimal commas, export it with semicolons or tabs between the cells."
    return [Problem(table.where, what, remedy)]
