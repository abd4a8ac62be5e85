"""A cell of the settings' sheets and the value that the settings file would have for it, both ways.

Nothing is judged here: what cannot be understood stays as it is typed, for the checks to refuse.
"""

from __future__ import annotations

import re
from datetime import date, datetime, time, timedelta

from tagmaker.intake.cells.plain_text import squash, tidy, typed
from tagmaker.intake.files.grid import CellValue, Unread
from tagmaker.intake.settings.values import DAYS

YES_OR_NO = ("day_first", "trusted", "shared", "open", "must")
AMOUNTS = ("half_cooling", "vase_days", "stems", "crates", "buckets")
DEGREES = ("room_temperature", "set_point", "offset")
SELLING_DAYS, HOURS, MONTHS, WEEKDAYS = "days", "workday", "field_temperature", "days_off"
DEPARTURE = "leaves"
_WORDS = {
    "yes": True,
    "y": True,
    "true": True,
    "1": True,
    "no": False,
    "n": False,
    "false": False,
    "0": False,
}
_WHOLE, _PARTS = re.compile(r"-?\d{1,9}", re.ASCII), re.compile(r"-?\d{1,6}[.,]\d{1,2}", re.ASCII)
_RANGE = re.compile(r"([A-Za-z]+)\s*(?:-|to)\s*([A-Za-z]+)")
_EVERY_DAY = ("everyday", "daily", "anyday")


def plain_value(key: str, value: CellValue, text: str) -> object:
    """The value of a filled cell as the settings file would have it.

    Args:
        key: of the settings; one that has none of the forms below is text.
        value: of the cell.
        text: of the cell, as it is displayed.

    >>> plain_value("trusted", "Yes", "Yes"), plain_value("days", "Wed, Sat", "Wed, Sat")
    (True, ['Wed', 'Sat'])
    """
    if isinstance(value, Unread):
        return value
    text = _unquoted(tidy(text))
    number = _number(value, text)
    if key in YES_OR_NO:
        return _WORDS.get(squash(text), text)
    if key in AMOUNTS:
        return text if number is None else number
    if key in DEGREES:
        return number if isinstance(value, int | float) and number is not None else text
    if key == MONTHS:
        months = [_unquoted(part) for part in re.split(r"\s*;\s*|,\s+|\n", text)]
        return months if len(months) > 1 else text
    if key == HOURS:
        return re.split(r"\s*(?:to|-|;|,)\s*", typed(text))
    if key == DEPARTURE:
        return _hour(value, text)
    if key in (SELLING_DAYS, WEEKDAYS):
        return _days(value, text)
    return text


def cell_value(key: str, value: object) -> str | int | float:
    """What is typed into a cell for a value of the settings file: `plain_value` the other way round.

    >>> cell_value("workday", ["08:00", "18:00"]), cell_value("trusted", True)
    ('08:00 to 18:00', 'yes')
    """
    match value:
        case bool():
            return "yes" if value else "no"
        case list():
            return (" to " if key == HOURS else "; ").join(str(cell_value(key, entry)) for entry in value)
        case datetime() | date():
            return value.isoformat()
        case time():
            return f"{value:%H:%M}"
        case int() | float():
            return value
        case _:
            return str(value)


def _unquoted(text: str) -> str:
    """The text without the quotes that the settings file would need."""
    return text[1:-1].strip() if len(text) > 1 and text[0] == text[-1] == '"' else text


def _number(value: CellValue, text: str) -> int | float | None:
    """The number that a cell holds or plainly says; 2.000 and 1,000 say none."""
    if isinstance(value, bool):
        return None
    if isinstance(value, int | float):
        return int(value) if float(value).is_integer() else value
    if _WHOLE.fullmatch(text):
        return int(text)
    return float(text.replace(",", ".")) if _PARTS.fullmatch(text) else None


def _hour(value: CellValue, text: str) -> object:
    """An hour of the day, as spreadsheets keep it."""
    if isinstance(value, datetime):
        return text
    if isinstance(value, timedelta) and timedelta() <= value < timedelta(days=1):
        return (datetime.min + value).time()
    return value if isinstance(value, time) else text


def _days(value: CellValue, text: str) -> object:
    """Weekdays and dates: "Mon-Fri, 2027-05-08"."""
    if isinstance(value, datetime) and value.time() == time():
        return [value.date()]
    if squash(text) in _EVERY_DAY:
        return list(DAYS)
    entries = (entry.strip() for entry in re.split(r"[;,/\n]|\s(?:and|&)\s", text))
    return [day for entry in entries if entry for day in _in_range(_unquoted(entry))]


def _in_range(entry: str) -> list[str]:
    """The days from one weekday to another; any other entry is one of its own."""
    ends = _RANGE.fullmatch(typed(entry))
    hits = [
        [index for index, day in enumerate(DAYS) if len(end) >= 3 and day.startswith(squash(end).rstrip("s"))]
        for end in (ends.groups() if ends else ())
    ]
    if not hits or any(len(hit) != 1 for hit in hits):
        return [entry]
    (first,), (last,) = hits
    return [DAYS[(first + step) % 7] for step in range((last - first) % 7 + 1)]
