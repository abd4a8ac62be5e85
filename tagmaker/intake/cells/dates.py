"""Dates as growers write them: real dates, ISO text, named months, serials, and two-way dates.

05/06/2027 reads two ways. It is read only where the settings say which, never guessed, and two
ways are never mixed in one column.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from datetime import date, datetime, time, timedelta

from tagmaker.intake.cells.plain_text import shown, typed
from tagmaker.intake.cells.unfit import DateFaultError, NoDateError
from tagmaker.intake.files.grid import CellValue, text_of

EARLIEST = date(2000, 1, 1)  # no sheet of lots is older (chosen)
YEARS_AHEAD = 3  # plans reach no further (chosen)
NEAR_YEARS = 2  # a bare number, or a year of two digits, counts only this near to now (chosen)
_SERIAL_ZERO = datetime(1899, 12, 30)  # day 0 of spreadsheet dates from March 1900 on
_DAY_WORDS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")
# fmt: off
_MONTHS = (
    "january", "february", "march", "april", "may", "june",
    "july", "august", "september", "october", "november", "december",
)
# fmt: on

_TIME = re.compile(
    r"(?:t|,?\s*\bat\s|,?\s)\s*(?P<h>\d{1,2})(?::(?P<m>\d{2})(?::\d{2}(?:\.\d+)?)?)?\s*(?P<half>[ap]\.?m\.?)?$",
    re.ASCII,
)
_YEAR_FIRST = re.compile(r"(\d{4})([-/.])(\d{1,2})\2(\d{1,2})", re.ASCII)
_YEAR_LAST = re.compile(r"(\d{1,2})([-/. ])\s?(\d{1,2})\2\s?(\d{4}|\d{2})", re.ASCII)
_DAY_MONTH = re.compile(r"(\d{1,2})(?:st|nd|rd|th)?[-\s./]*([a-z]{3,9})[-\s.,/]*(\d{4}|\d{2})", re.ASCII)
_MONTH_DAY = re.compile(r"([a-z]{3,9})[-\s./]*(\d{1,2})(?:st|nd|rd|th)?[-\s.,/]+(\d{4}|\d{2})", re.ASCII)
_WEEKDAY = re.compile(r"(mon|tues?|wed(?:nes)?|thu(?:rs?)?|fri|sat(?:ur)?|sun)(?:day)?\.?,?\s+", re.ASCII)
_PLAN = re.compile(r"^\s*plan(?:ned)?\b[\s:]*", re.IGNORECASE)
_SERIAL = re.compile(r"\d{5}(?:[.,]\d+)?", re.ASCII)


@dataclass(frozen=True, slots=True)
class SheetDate:
    """A day of the sheet, with its hour where the grower gave one."""

    day: date
    hour: time | None = None

    @property
    def moment(self) -> datetime | None:
        """The moment, where the hour is known."""
        return None if self.hour is None else datetime.combine(self.day, self.hour)


@dataclass(frozen=True, slots=True)
class SheetCut:
    """The cut of a row."""

    when: SheetDate
    plan: bool = False  # "plan" stands before it


@dataclass(slots=True)
class DateColumn:
    """Reads the dates of one column and remembers which way its two-way dates run."""

    name: str
    day_first: bool | None  # as the settings say
    now: datetime
    first_seen: dict[bool, str] = field(default_factory=dict)  # day first? -> the cell that showed it
    known: dict[str, SheetDate] = field(default_factory=dict)  # texts read so far

    def read(self, value: CellValue) -> SheetDate:
        """The date in a cell.

        Raises:
            UnfitCellError: it is none, reads two ways, or lies beyond what a sheet of lots can hold.
        """
        if isinstance(value, datetime):
            self._plausible(SheetDate(value.date()), text_of(value))
            return _sheet_date(value)
        if isinstance(value, date):
            return self._plausible(SheetDate(value), text_of(value))
        text = text_of(value)
        if text not in self.known:
            serial = _SERIAL.fullmatch(text.strip())
            self.known[text] = self._serial(text) if serial else self._plausible(self._text(text), text)
        return self.known[text]

    def read_cut(self, value: CellValue) -> SheetCut:
        """The cut in a cell: a date, or "plan" and a date.

        Raises:
            UnfitCellError: as for `read`.
        """
        bare = _PLAN.sub("", value, count=1) if isinstance(value, str) else value
        if bare == "" and value != "":
            must = f"the day of a plan (got {shown(str(value))})"
            raise NoDateError(must, f"Write it like plan {self.now.date()}.", complete=True)
        return SheetCut(self.read(bare), plan=bare != value)

    def _serial(self, text: str) -> SheetDate:
        days = float(text.strip().replace(",", "."))
        found = _sheet_date(_SERIAL_ZERO + timedelta(days=days))
        if not self._near(found.day):
            must = f"a date (got {shown(text)}: as a number of days it would be {found.day})"
            raise NoDateError(must, f"Write it like {self.now.date()}.", complete=True)
        return found

    def _near(self, day: date) -> bool:
        return abs(day - self.now.date()) <= timedelta(days=366 * NEAR_YEARS)

    def _plausible(self, found: SheetDate, text: str) -> SheetDate:
        latest = date(self.now.year + YEARS_AHEAD, 12, 31)
        if EARLIEST <= found.day <= latest:
            return found
        must = f"a date from {EARLIEST} to {latest} (got {shown(text)})"
        raise DateFaultError(must, f"Write it like {self.now.date()}.", complete=True)

    def _text(self, text: str) -> SheetDate:
        line = " ".join(typed(text).lower().split()).rstrip(".,;")
        weekday = _WEEKDAY.match(line)
        if weekday:
            line = line[weekday.end() :]
        day, hour = self._day(line, text), None
        if day is None:
            clock = _TIME.search(line)
            hour = _hour(clock) if clock else None
            day = self._day(line[: clock.start()].rstrip(","), text) if clock and hour is not None else None
        if day is None:
            raise self._no_date(text)
        if not re.search(r"\d{4}", line) and not self._near(day):
            must = f"a date with all four digits of its year (got {shown(text)}: it would be {day})"
            raise DateFaultError(must, f"Write it like {self.now.date()}.", complete=True)
        if weekday and _DAY_WORDS[day.weekday()] != weekday[1][:3]:
            must = f"a date on its own weekday (got {shown(text)}: {day} is a {day:%A})"
            raise DateFaultError(must, f"Write it as {day}.", complete=True)
        return SheetDate(day, hour if hour != time() else None)

    def _day(self, line: str, text: str) -> date | None:
        match = _YEAR_FIRST.fullmatch(line)
        if match:
            return _date(match[1], int(match[3]), match[4])
        match = _DAY_MONTH.fullmatch(line)
        if match and _month(match[2]):
            return _date(match[3], _month(match[2]), match[1])
        match = _MONTH_DAY.fullmatch(line)
        if match and _month(match[1]):
            return _date(match[3], _month(match[1]), match[2])
        match = _YEAR_LAST.fullmatch(line)
        return self._two_way(match[1], match[3], match[4], text) if match else None

    def _two_way(self, first: str, second: str, year: str, text: str) -> date | None:
        """A date of three numbers with the year last: read by the settings, or the only way it can be."""
        if len(year) == 2 and (self.day_first is None or len(first) == len(second) == 2):
            remedy = f"Write it like {self.now.date()}."
            if len(first) != 2 or len(second) != 2:
                remedy = f"{remedy[:-1]}, or set day_first = true or false in the settings."
            must = f"a date with all four digits of its year (got {shown(text)})"
            raise DateFaultError(must, remedy, complete=True)
        by_day, by_month = _date(year, int(second), first), _date(year, int(first), second)
        if self.day_first is not None:
            return self._as_told(by_day, by_month, text)
        if by_day and by_month and by_day != by_month:
            must = f"a date that reads one way (got {shown(text)}: {by_day} or {by_month})"
            remedy = f"Write it as {by_day} or {by_month}, or set day_first = true or false in the settings."
            raise DateFaultError(must, remedy, complete=True)
        if by_day and by_month:
            return by_day  # 05/05/2027 reads the same both ways
        if by_day or by_month:
            self._keep_order(by_day is not None, text, (by_day or by_month))
        return by_day or by_month

    def _as_told(self, by_day: date | None, by_month: date | None, text: str) -> date | None:
        told, other = (by_day, by_month) if self.day_first else (by_month, by_day)
        if told is None and other is not None:
            order = "day" if self.day_first else "month"
            must = f"a date with the {order} first, as the settings say (got {shown(text)})"
            raise DateFaultError(must, f"Write it as {other}.", complete=True)
        return told

    def _keep_order(self, day_first: bool, text: str, found: date | None) -> None:
        other = self.first_seen.get(not day_first)
        if other is not None:
            must = f"a date written in the order of its column (got {shown(text)} below {shown(other)})"
            raise DateFaultError(must, f"Write it as {found}.", complete=True)
        self.first_seen.setdefault(day_first, text)

    def _no_date(self, text: str) -> NoDateError:
        repaired = _repaired(text, self.now, self.day_first)
        remedy = f"Write it as {repaired}." if repaired else f"Write it like {self.now.date()}."
        return NoDateError(f"a date (got {shown(text)})", remedy, complete=True)


def _sheet_date(moment: datetime) -> SheetDate:
    """A spreadsheet's own date; midnight is how it stores a day without an hour."""
    moment = (moment + timedelta(seconds=30)).replace(second=0, microsecond=0)
    return SheetDate(moment.date(), moment.time() if moment.time() != time() else None)


def _month(word: str) -> int:
    """Number of a month, by its name or a beginning of it; 0 for another word."""
    if len(word) < 3:
        return 0
    hits = [index for index, name in enumerate(_MONTHS, 1) if name.startswith(word)]
    return hits[0] if len(hits) == 1 else 0


def _date(year: str, month: int, day: str) -> date | None:
    """The date, or None where the calendar has none; 27 stands for 2027."""
    try:
        return date(int(year) if len(year) == 4 else 2000 + int(year), month, int(day))
    except ValueError:
        return None


def _hour(clock: re.Match[str]) -> time | None:
    hour, minute = int(clock["h"]), int(clock["m"] or 0)
    if clock["half"]:
        if not 1 <= hour <= 12:
            return None
        hour = hour % 12 + (12 if clock["half"].startswith("p") else 0)
    elif clock["m"] is None:
        return None
    return time(hour, minute) if hour < 24 and minute < 60 else None


def _repaired(text: str, now: datetime, day_first: bool | None) -> date | None:
    """What an unreadable date may have meant: letters o and l for digits, the year left out.

    Only ever a proposal in a message.
    """
    numbers = re.findall(r"\d+", text.lower().replace("o", "0").replace("l", "1"), re.ASCII)
    if not 2 <= len(numbers) <= 3 or any(len(number) > 4 for number in numbers):
        return None
    if len(numbers[0]) == 4:
        return _date(numbers[0], int(numbers[1]), numbers[2]) if len(numbers) == 3 else None
    year = numbers[2] if len(numbers) == 3 and len(numbers[2]) in (2, 4) else str(now.year)
    day, month = (numbers[0], numbers[1]) if day_first is not False else (numbers[1], numbers[0])
    return _date(year, int(month), day)
