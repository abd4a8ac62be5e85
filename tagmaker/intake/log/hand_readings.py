"""Readings written down by hand: the sheet "Readings" of the lots workbook, or readings.csv beside it.

One row a look: cooler, moment, lowest and highest temperature since the last look, as the checklist
asks for them.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path
from typing import TypeVar

from tagmaker.errors import InputProblems, Problem
from tagmaker.farm import Farm
from tagmaker.intake.cells import readers as cells
from tagmaker.intake.cells.dates import DateColumn
from tagmaker.intake.cells.plain_text import listed, shown, squash, tidy
from tagmaker.intake.cells.temperature import NoUnitError, UnreadableTemperatureError, read_temperature
from tagmaker.intake.cells.unfit import UnfitCellError
from tagmaker.intake.files.grid import Grid, text_of
from tagmaker.intake.files.kind import SHEET
from tagmaker.intake.files.text_file import read_text
from tagmaker.intake.files.workbook import is_workbook, open_workbook
from tagmaker.intake.log.cells import read_clock
from tagmaker.intake.log.titles import probe_of, units_in
from tagmaker.storage.readings import HandReading

FILE_NAME = "readings.csv"
SHEET_NAME = "Readings"
# Limits chosen: no flower cooler runs colder, and the lowest since the last look is never 28 °C in
# one, so that a °F figure read as °C stands out.
LOW_RANGE_C, HIGH_RANGE_C = (-10.0, 28.0), (-10.0, 45.0)
_HEADER_WITHIN = 20  # rows (chosen)

# Column -> other names for it (common practice, no source).
SYNONYMS: Mapping[str, str] = {
    "cooler": "fridge, refrigerator, walk-in, cold room, cold store, cooler name, which cooler, which fridge",
    "moment": "when, date, day, date time, date and time, datetime, read at, looked at, looked, read on",
    "time": "hour, at, time of day, clock",
    "low": "lowest, min, minimum, lowest since last look, low since last look, coldest, lo",
    "high": "highest, max, maximum, highest since last look, high since last look, warmest, hi",
}
_BY_WORD = {squash(word): name for name, words in SYNONYMS.items() for word in (name, *words.split(","))}
_T = TypeVar("_T")
_MORNING, _EVENING = ("am", "morning"), ("pm", "evening", "afternoon")


@dataclass(frozen=True, slots=True)
class _Sheet:
    """The rows of readings with the columns found in them."""

    grid: Grid
    header: int  # index of the header row
    places: Mapping[str, int]  # column -> where it stands

    def cell(self, row: int, column: str) -> str:
        """Text of a cell; empty where there is none."""
        place = self.places.get(column)
        cells_of_row = self.grid.rows[row]
        return "" if place is None or place >= len(cells_of_row) else tidy(text_of(cells_of_row[place]))

    def where(self, row: int, column: str) -> str:
        """Place of a cell as the grower sees it."""
        place = self.places.get(column)
        return self.grid.row_at(row) if place is None else self.grid.cell_at(row, place, column)

    def units(self, column: str, farm: Farm) -> str | None:
        """The unit of a column: as its title says, else the farm's."""
        found = units_in(text_of(self.grid.rows[self.header][self.places[column]]))
        return next(iter(found)) if len(found) == 1 else farm.units


def read_hand_readings(sheet: Path, farm: Farm, now: datetime) -> tuple[HandReading, ...]:
    """The readings that were written down by hand, in order of time; none where there are no rows.

    A day without an hour counts from the workday's start, "am" and "pm" from its start and its end,
    or from now if that is earlier.

    Args:
        sheet: the sheet of lots; a workbook may hold a sheet "Readings", and readings.csv may lie beside it.
        farm: its coolers, units, workday and order of dates.
        now: no reading lies after it.

    Raises:
        InputProblems: all that is wrong with the rows.
    """
    problems: list[Problem] = []
    found: dict[tuple[datetime, str], HandReading] = {}
    for grid in _grids(sheet):
        try:
            columns = _columns(grid, farm)
        except InputProblems as error:
            problems += error.problems
            continue
        if columns is None:
            continue
        moments = DateColumn("moment", farm.day_first, now)
        for row in range(columns.header + 1, len(grid.rows)):
            reading, faults = _reading(columns, row, farm, moments)
            problems += faults
            if reading is None:
                continue
            other = found.setdefault((reading.moment, reading.cooler), reading)
            if other != reading:
                look = f"{reading.cooler} at {reading.moment:%Y-%m-%d %H:%M}"
                what = f"must be the only reading of {look} (got two)"
                remedy = "Write the hour of each, or strike one out."
                problems.append(Problem(grid.row_at(row), what, remedy))
    if problems:
        raise InputProblems(problems)
    return tuple(found[key] for key in sorted(found))


def _grids(sheet: Path) -> list[Grid]:
    """The sheet of readings in the workbook, and the file beside it, where there are any."""
    grids = []
    content = SHEET.content(sheet, sheet.name) if sheet.is_file() else b""
    beside = sheet.parent / FILE_NAME
    text = SHEET.content(beside, FILE_NAME) if beside.is_file() and beside != sheet else b""
    if is_workbook(content):
        with open_workbook(content, sheet.name, SHEET) as book:
            grids += [book.grid(name) for name in book.sheets if squash(name) == squash(SHEET_NAME)]
    if text.strip():
        grids.append(
            read_text(text, FILE_NAME, lambda rows: max((len(_places(row)) for row in rows), default=0))
        )
    return grids


def _places(titles: Sequence[object]) -> dict[str, int]:
    """The columns that a row names."""
    places: dict[str, int] = {}
    for place, title in enumerate(titles):
        word = title if isinstance(title, str) else ""
        column = _BY_WORD.get(squash(word)) or _BY_WORD.get(probe_of(word))
        if column is not None:
            places.setdefault(column, place)
    return places


def _columns(grid: Grid, farm: Farm) -> _Sheet | None:
    """The header and its columns; None for a sheet without a filled cell.

    Raises:
        InputProblems: a column is missing.
    """
    rows = grid.rows
    if not any(text_of(cell).strip() for row in rows for cell in row):
        return None
    named = [(len(_places(row)), -index) for index, row in enumerate(rows[:_HEADER_WITHIN])]
    header = -max(named)[1]
    places = _places(rows[header])
    if "time" in places and "moment" not in places:
        places["moment"] = places.pop("time")
    needed = ["moment", "low", "high"] if len(farm.coolers) == 1 else ["cooler", "moment", "low", "high"]
    missing = [column for column in needed if column not in places]
    if missing:
        what = f"must have the columns {listed(needed, 'and')} (got no {listed(missing)})"
        remedy = "Write these titles above the readings."
        raise InputProblems([Problem(grid.where, what, remedy)])
    return _Sheet(grid, header, places)


def _reading(
    sheet: _Sheet, row: int, farm: Farm, moments: DateColumn
) -> tuple[HandReading | None, list[Problem]]:
    """The reading of a row, or what is wrong with it; neither for a row that holds no reading yet."""
    if not any(sheet.cell(row, column) for column in ("moment", "low", "high")):
        return None, []
    problems: list[Problem] = []

    def refuse(column: str, unfit: UnfitCellError) -> None:
        got = (
            ""
            if unfit.complete
            else f" (got {shown(sheet.cell(row, column)) if sheet.cell(row, column) else 'nothing'})"
        )
        problems.append(
            Problem(sheet.where(row, column), f"{column} must be {unfit.must}{got}", unfit.remedy)
        )

    def told(column: str, read: Callable[[str], _T], otherwise: _T) -> _T:
        try:
            return read(sheet.cell(row, column))
        except UnfitCellError as unfit:
            refuse(column, unfit)
            return otherwise

    def at(text: str) -> datetime:
        return _moment(text, sheet.cell(row, "time"), farm, moments)

    cooler = told("cooler", lambda text: _cooler(text, farm), "")
    moment = told("moment", at, moments.now)
    low_c = told("low", lambda text: _degrees(text, sheet.units("low", farm), LOW_RANGE_C), 0.0)
    high_c = told("high", lambda text: _degrees(text, sheet.units("high", farm), HIGH_RANGE_C), 0.0)
    if not problems and low_c > high_c:
        got = f"{sheet.cell(row, 'high')} below {sheet.cell(row, 'low')}"
        refuse("high", UnfitCellError(f"at least the low (got {got})", "Check both figures.", complete=True))
    if problems:
        return None, problems
    return HandReading(cooler=cooler, moment=moment, low_c=low_c, high_c=high_c), []


def _cooler(text: str, farm: Farm) -> str:
    if not text and len(farm.coolers) == 1:
        return next(iter(farm.coolers))
    return cells.name_among(text, farm.coolers, "cooler")


def _moment(text: str, hour: str, farm: Farm, moments: DateColumn) -> datetime:
    """The moment of a look, from one cell or from two."""
    if not text:
        raise UnfitCellError("a date and time", f"Write it like {moments.now:%Y-%m-%d %H:%M}.")
    found = moments.read(text)
    now, workday = moments.now, farm.workday
    clock = read_clock(hour)
    if clock is not None:
        moment = datetime.combine(found.day, datetime.min.time()) + timedelta(seconds=clock.seconds)
    elif found.moment is not None and not hour:
        moment = found.moment
    elif not hour or squash(hour) in _MORNING + _EVENING:
        of_day = workday.end if squash(hour) in _EVENING else workday.start
        moment = of_day(found.day) if found.day < now.date() else min(of_day(found.day), now)
        moment = max(moment, datetime.combine(found.day, datetime.min.time()))
    else:
        must = f"a date and a time of day (got {shown(text)} and {shown(hour)})"
        raise UnfitCellError(must, f"Write it like {now:%Y-%m-%d} and {now:%H:%M}.", complete=True)
    if moment > now:
        must = f"a moment that has come (got {moment:%Y-%m-%d %H:%M}; now it is {now:%Y-%m-%d %H:%M})"
        raise UnfitCellError(must, "Check the date, or --today.", complete=True)
    return moment


def _degrees(text: str, units: str | None, limits_c: tuple[float, float]) -> float:
    """A temperature of a cooler [°C]."""
    example = 'Write it like "38F" or "3C"'
    if not text:
        raise UnfitCellError("a temperature", f"{example}; strike the row out if nobody looked.")
    try:
        found = read_temperature(text, units)
    except NoUnitError:
        remedy = f'{example}, or set units = "F" or "C" in the settings.'
        raise UnfitCellError("a temperature with its unit", remedy) from None
    except UnreadableTemperatureError:
        raise UnfitCellError("a temperature", f"{example}.") from None
    low, high = limits_c
    if not low <= found <= high:
        in_f = f"{low * 1.8 + 32:.0f} to {high * 1.8 + 32:.0f} °F"
        raise UnfitCellError(f"from {low:g} to {high:g} °C ({in_f})", "Check the figure and its unit.")
    return found
