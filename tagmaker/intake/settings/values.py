"""One value of the settings at a time: what it must be, and what it becomes.

Each reader takes the value as TOML gives it and returns it in the units of `Farm`, or raises
`UnfitValueError` saying what it must be and how to write it, in the file and in a cell of the workbook.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from datetime import date, datetime, time

from tagmaker.farm import EVERY_DAY
from tagmaker.intake.cells.plain_text import control_character, listed, squash
from tagmaker.intake.cells.temperature import NoUnitError, UnreadableTemperatureError, read_temperature

MOST_NAME_LETTERS = 40  # of a farm, use or cooler (chosen: still fits a line of a crate card)
_DIFFERENCE = re.compile(r"([+-]?\d{1,3}(?:[.,]\d{1,3})?)\s*°?\s*([FC]?)", re.ASCII)
_LIKE_41F = 'Write it like "41F" or "5C".', "Write it like 41F or 5C."
DAYS = ("monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday")


class UnfitValueError(ValueError):
    """A value is not what its key must hold."""

    def __init__(self, must: str, remedy: str, in_cell: str = "", must_in_cell: str = "") -> None:
        """Take what it must be and one remedy, and both for a cell, where they are others."""
        super().__init__(must)
        self.must = must
        self.remedy = remedy
        self._said_of_cell = must_in_cell or must, in_cell or remedy

    def said(self, in_cell: bool) -> tuple[str, str]:
        """What it must be, and the remedy."""
        return self._said_of_cell if in_cell else (self.must, self.remedy)


def words(value: object) -> str:
    """A line of text."""
    if not isinstance(value, str) or not value.strip():
        remedy = 'Write it like "Larkmarrow Yard", or leave the key out.'
        in_cell = "Write it like Larkmarrow Yard, or leave the cell blank."
        raise UnfitValueError("be text in quotes", remedy, in_cell, "be text")
    if control_character(value) or "\n" in value:
        raise UnfitValueError("be one line of plain text", "Type it again without special characters.")
    return value.strip()


def short_words(value: object) -> str:
    """A name that fits a line of paper."""
    text = words(value)
    if len(text) > MOST_NAME_LETTERS:
        raise UnfitValueError(f"be at most {MOST_NAME_LETTERS} letters", "Shorten it.")
    return text


def yes_or_no(value: object) -> bool:
    """A TOML truth value."""
    if not isinstance(value, bool):
        remedy = "Write true or false, without quotes."
        raise UnfitValueError("be true or false", remedy, "Write yes or no.", "be yes or no")
    return value


def one_of(*choices: str) -> Callable[[object], str]:
    """A reader for one of several words, in any case."""

    def choice(value: object) -> str:
        by_word = {squash(word): word for word in choices}
        if not isinstance(value, str) or squash(value) not in by_word:
            must = f"be {listed(choices)}"
            quoted = f"be {listed(map(_quoted, choices))}"
            raise UnfitValueError(quoted, "Write one of them, in quotes.", "Write one of them.", must)
        return by_word[squash(value)]

    return choice


def number(least: float, most: float, unit: str = "") -> Callable[[object], float]:
    """A reader for a number within limits."""

    def amount(value: object) -> float:
        plain = isinstance(value, int | float) and not isinstance(value, bool)
        if not plain or not least <= float(value) <= most:  # type: ignore[arg-type]  # plain says it is one
            must = f"be a number from {least:g} to {most:g}{unit and ' ' + unit}"
            remedy = "Write a number within these limits, without quotes."
            raise UnfitValueError(must, remedy, "Write a number within these limits.")
        return float(value)  # type: ignore[arg-type]  # checked above

    return amount


def whole_number(least: int, most: int) -> Callable[[object], int]:
    """A reader for a whole number within limits."""

    def count(value: object) -> int:
        if not isinstance(value, int) or isinstance(value, bool) or not least <= value <= most:
            must = f"be a whole number from {least} to {most:,}"
            remedy = "Write a number within these limits, without quotes."
            raise UnfitValueError(must, remedy, "Write a number within these limits.")
        return value

    return count


def _quoted(word: str) -> str:
    return f'"{word}"'


def _without_unit(value: object) -> UnfitValueError:
    """The fault of a bare number where the farm's unit is not said."""
    return UnfitValueError(
        "have a unit",
        f'Write "{value}F" or "{value}C", or set units = "F" or "C" for the farm.',
        f"Write {value}F or {value}C, or set units to F or C in the sheet Farm.",
    )


def celsius(units: str | None, least_c: float, most_c: float) -> Callable[[object], float]:
    """A reader for a temperature [°C] within limits [°C], given the farm's units."""

    def degrees(value: object) -> float:
        if isinstance(value, bool) or not isinstance(value, str | int | float):
            raise UnfitValueError("be a temperature", *_LIKE_41F)
        try:
            found = read_temperature(f"{value:g}" if isinstance(value, int | float) else value, units)
        except NoUnitError:
            raise _without_unit(value) from None
        except UnreadableTemperatureError:
            raise UnfitValueError("be a temperature", *_LIKE_41F) from None
        if not least_c <= found <= most_c:
            in_f = f"{least_c * 1.8 + 32:g} to {most_c * 1.8 + 32:g} °F"
            raise UnfitValueError(
                f"be from {least_c:g} to {most_c:g} °C ({in_f})", "Check the figure and its unit."
            )
        return found

    return degrees


def difference(units: str | None, most_c: float) -> Callable[[object], float]:
    """A reader for a difference of temperature [°C], up or down, given the farm's units."""

    def degrees(value: object) -> float:
        text = f"{value:g}" if isinstance(value, int | float) and not isinstance(value, bool) else value
        match = _DIFFERENCE.fullmatch(text.strip().upper()) if isinstance(text, str) else None
        if match is None:
            remedy = 'Write it like "-0.5F" or "0.3C".'
            raise UnfitValueError("be a difference of temperature", remedy, remedy.replace('"', ""))
        unit = match[2] or units
        if unit is None:
            raise _without_unit(text)
        found = float(match[1].replace(",", ".")) / (1.8 if unit == "F" else 1.0)
        if not -most_c <= found <= most_c:
            must = f"be from {-most_c:g} to {most_c:g} °C ({most_c * 1.8:g} °F either way)"
            raise UnfitValueError(must, "Check the figure and its unit, or the thermometer.")
        return found

    return degrees


def hour(value: object) -> time:
    """An hour of the day."""
    if isinstance(value, time):
        return value.replace(second=0, microsecond=0)
    match = (
        re.fullmatch(r"([01]?\d|2[0-3]):([0-5]\d)", value.strip(), re.ASCII)
        if isinstance(value, str)
        else None
    )
    if match is None:
        raise UnfitValueError("be an hour of the day", 'Write it like "06:30".', "Write it like 06:30.")
    return time(int(match[1]), int(match[2]))


def quarter_hours(value: object) -> tuple[time, time]:
    """First and last bench hour of a working day, both on the quarter hour."""
    remedy = 'Write it like ["08:00", "18:00"].', "Write it like 08:00 to 18:00."
    if not isinstance(value, list) or len(value) != 2:
        raise UnfitValueError("be the first and the last hour at the bench", *remedy)
    opens, closes = hour(value[0]), hour(value[1])
    if opens.minute % 15 or closes.minute % 15:
        raise UnfitValueError("be quarter hours (minutes 00, 15, 30 or 45)", *remedy)
    if opens >= closes:
        raise UnfitValueError("end later than it begins", *remedy)
    return opens, closes


def weekdays(value: object) -> frozenset[int]:
    """Days of the week, Monday 0."""
    names = [value] if isinstance(value, str) else value
    remedy = 'Write it like ["Wed", "Sat"].', "Write it like Wed, Sat."
    if not isinstance(names, list):
        raise UnfitValueError("be days of the week", *remedy)
    return frozenset(_weekday(name, "days of the week", remedy) for name in names)


def _weekday(name: object, what: str, remedy: tuple[str, str]) -> int:
    word = squash(name).rstrip("s") if isinstance(name, str) else ""
    hits = [index for index, day in enumerate(DAYS) if len(word) >= 3 and day.startswith(word)]
    if len(hits) != 1:
        raise UnfitValueError(f"be {what}", *remedy)
    return hits[0]


def selling_days(value: object) -> tuple[frozenset[int], frozenset[date]]:
    """Days of the week on which an outlet sells, and single dates: at least one of either."""
    entries = value if isinstance(value, list) else [value]
    if not entries:
        raise UnfitValueError("name at least one day", "Name its days, or leave the key out for every day.")
    remedy = 'Write it like ["Wed", "2027-05-08"].', "Write it like Wed, 2027-05-08."
    dates = {entry: _date(entry) for entry in entries if isinstance(entry, str | date)}
    days = frozenset(
        _weekday(entry, "days of the week or dates", remedy)
        for entry in entries
        if not isinstance(entry, str | date) or dates[entry] is None
    )
    return days, frozenset(day for day in dates.values() if day is not None)


def _date(entry: str | date) -> date | None:
    """The date that an entry is or says; None for a word."""
    if isinstance(entry, date):
        return None if isinstance(entry, datetime) else entry
    match = re.fullmatch(r"\d{4}-\d\d-\d\d", entry.strip(), re.ASCII)
    try:
        return date.fromisoformat(match[0]) if match else None
    except ValueError:
        return None


def days_off(value: object) -> frozenset[int]:
    """Days of the week on which nobody works at the bench: not all seven."""
    days = weekdays(value)
    if days == EVERY_DAY:
        raise UnfitValueError("leave at least one working day", "Take out the days on which somebody works.")
    return days


def link_pattern(value: object) -> str:
    """An address with {lot} or {row} in it."""
    text = words(value)
    remedy = 'Write it like "https://example.org/l/{lot}".', "Write it like https://example.org/l/{lot}."
    fields = set(re.findall(r"\{[^{}]*\}", text))
    rest = re.sub(r"\{(?:lot|row)\}", "", text)
    if not fields & {"{lot}", "{row}"}:
        raise UnfitValueError("contain {lot} or {row}", *remedy)
    if "{" in rest or "}" in rest:
        raise UnfitValueError("have no other braces than {lot} and {row}", *remedy)
    if not re.fullmatch(r"[A-Za-z][A-Za-z0-9+.-]*:[!-~]+", rest):
        raise UnfitValueError("be an address without spaces and special letters", *remedy)
    return text


def plain_cell(value: object) -> str:
    """The text of a cell, for `[usual]`."""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, int | float):
        return f"{value:g}" if isinstance(value, float) else str(value)
    return words(value)


def listing(of: str, example: str) -> Callable[[object], list[object]]:
    """A reader for a TOML list."""

    def entries(value: object) -> list[object]:
        if not isinstance(value, list):
            raise UnfitValueError(f"be a list of {of}", f"Write it like {example}.")
        return value

    return entries


def table(value: object) -> Mapping[str, object]:
    """A TOML table."""
    if not isinstance(value, dict):
        raise UnfitValueError("be a table", "Write its name in square brackets on a line of its own.")
    return value
