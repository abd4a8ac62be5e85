"""One cell of a thermometer log: a date, a time of day, both, a number, or something else.

Loggers write the same few forms millions of times, so cells are kept as distinct texts and each
text is read once.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from copy import copy
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from enum import Enum, auto
from functools import lru_cache
from typing import TYPE_CHECKING, Any

from tagmaker.intake.cells.dates import DateColumn
from tagmaker.intake.cells.plain_text import tidy, typed
from tagmaker.intake.cells.unfit import NoDateError, UnfitCellError

if TYPE_CHECKING:
    from numpy.typing import NDArray

EPOCH_DAY = date(1970, 1, 1).toordinal()
_SERIAL_ZERO = datetime(1899, 12, 30)  # day 0 of spreadsheet dates from March 1900 on
_DEGREE_SIGNS = str.maketrans("\u00ba\u02da", "\u00b0\u00b0")  # look-alikes that keyboards offer
_MOST_LETTERS = 60  # of a number or time (chosen): longer cells are notes

_SPLIT = re.compile(r"(.*?\d)(?:\s*T\s*|,\s*|\s+,?\s*)(\d{1,2}[:.]\d\d(?!\d).*)", re.IGNORECASE)
_CLOCK = re.compile(
    r"(\d{1,2})[:.](\d\d)(?:[:.](\d\d)(?:[.,]\d+)?)?\s*([ap])?(?(4)\.?\s?m\.?)"
    r"\s*(z|utc|gmt|[a-z]{2,4}t)?\s*([+-]\d\d?(?::?\d\d)?)?",
    re.ASCII,
)
_NUMBER = re.compile(r"([+-]?(?:\d{1,13}(?:[.,]\d*)?|[.,]\d+)(?:e[+-]?\d\d?)?)\s*(.*)", re.ASCII | re.DOTALL)
_TAIL = re.compile(r"(?:\u00b0|deg(?:rees?)?\.?)?\s*(f|c|fahrenheit|celsius|centigrade)\.?", re.ASCII)
_PERCENT = ("%", "%rh", "% rh", "rh", "% r.h.")
_WORLD_TIME = ("z", "utc", "gmt")


class Kind(Enum):
    """What a cell looks like."""

    BLANK = auto()
    MOMENT = auto()  # a date with a time of day
    DAY = auto()  # a date alone
    CLOCK = auto()  # a time of day alone
    NUMBER = auto()
    WORD = auto()


@dataclass(frozen=True, slots=True)
class Number:
    """A number and the unit that stands behind it."""

    value: float
    unit: str = ""  # "F", "C", "%" or ""


@dataclass(frozen=True, slots=True)
class Clock:
    """A time of day."""

    seconds: int  # [s] since midnight
    offset: int | None = None  # [min] ahead of world time; None: not said


class DistinctTexts:
    """A column as its distinct texts, each with a code, and the codes row by row."""

    def __init__(self, cells: Sequence[str] | NDArray[Any]) -> None:
        import numpy as np
        import pandas as pd

        self.codes, found = pd.factorize(np.asarray(cells, dtype=object))
        self.texts: list[str] = list(found)

    @classmethod
    def of_letters(cls, letters: NDArray[Any]) -> DistinctTexts:
        """The texts whose UTF-8 stands in the rows of a table of bytes, zeros before and after them."""
        import numpy as np
        import pandas as pd

        texts = cls([])
        texts.codes = np.zeros(len(letters), np.int64)
        for eight in np.ascontiguousarray(letters).view(np.uint64).T:  # eight letters at a time
            codes, distinct = pd.factorize(eight)
            texts.codes, _ = pd.factorize(texts.codes * len(distinct) + codes)
        first = np.diff(np.maximum.accumulate(texts.codes), prepend=-1).nonzero()[0]  # in order of rows
        texts.texts = [as_text(letters[row].tobytes()) for row in first]
        return texts

    def only(self, rows: NDArray[Any]) -> DistinctTexts:
        """The same texts for some of the rows."""
        part = copy(self)
        part.codes = self.codes[rows]
        return part

    def first_with(self, code: int) -> int:
        """The first row that holds a text."""
        return int((self.codes == code).argmax())

    def each(self, read: Callable[[str], object], kind: type = object) -> NDArray[Any]:
        """What is read from the cells, row by row; every text is read once."""
        import numpy as np

        found: NDArray[Any] = np.empty(len(self.texts), dtype=kind)
        found[:] = [read(text) for text in self.texts]
        return found[self.codes] if len(found) else np.empty(len(self.codes), dtype=kind)


def plain(text: str) -> str:
    """A cell in small letters with plain spaces, dashes and degree signs."""
    return tidy(typed(text.translate(_DEGREE_SIGNS))).lower()


def read_number(text: str) -> Number | None:
    """The number in a cell; None where it is anything else.

    >>> read_number("38,5 °F"), read_number("93 %"), read_number("Err")
    (Number(value=38.5, unit='F'), Number(value=93.0, unit='%'), None)
    """
    if len(text) > _MOST_LETTERS:
        return None
    match = _NUMBER.fullmatch(plain(text))
    if match is None:
        return None
    tail = match[2]
    unit = _TAIL.fullmatch(tail) if tail else None
    if tail and unit is None and tail not in _PERCENT:
        return None
    return Number(float(match[1].replace(",", ".")), unit[1][0].upper() if unit else "%" if tail else "")


def read_clock(text: str) -> Clock | None:
    """The time of day in a cell; None where it is anything else. Letters for a local zone are passed over.

    >>> read_clock("1:05 PM"), read_clock("00:15:30.0Z"), read_clock("25:00")
    (Clock(seconds=47100, offset=None), Clock(seconds=930, offset=0), None)
    """
    match = _CLOCK.fullmatch(plain(text)) if len(text) <= _MOST_LETTERS else None
    if match is None:
        return None
    hour, minute, second = int(match[1]), int(match[2]), int(match[3] or 0)
    if match[4]:
        if not 1 <= hour <= 12:
            return None
        hour = hour % 12 + (12 if match[4] == "p" else 0)
    seconds = (hour * 60 + minute) * 60 + second
    if minute > 59 or second > 59 or seconds > 86_400:  # 24:00 is the next midnight
        return None
    if match[6]:
        return Clock(seconds, offset_minutes(match[6]))
    return Clock(seconds, 0 if match[5] in _WORLD_TIME else None)


def offset_minutes(text: str) -> int:
    """Minutes ahead of world time.

    >>> offset_minutes("-05:00"), offset_minutes("+1"), offset_minutes("+0530")
    (-300, 60, 330)
    """
    digits = text[1:].replace(":", "")
    hours, minutes = (digits[:-2], digits[-2:]) if len(digits) > 2 else (digits, "0")
    size = int(hours) * 60 + int(minutes)
    return -size if text[0] == "-" else size


def split_moment(text: str) -> tuple[str, str] | None:
    """The date and the time of day of a cell that holds both, as text.

    >>> split_moment("3/31/2027 1:05 PM"), split_moment("2027-03-31T00:15"), split_moment("2027-03-31")
    (('3/31/2027', '1:05 PM'), ('2027-03-31', '00:15'), None)
    """
    day, _, clock = text.partition(" ")
    if _is_plain_day(day) and _is_plain_clock(clock):
        return day, clock  # most logs; the rest says the same at greater length
    match = _SPLIT.match(text) if len(text) <= _MOST_LETTERS else None
    return (match[1], match[2]) if match else None


def split_count(text: str) -> tuple[str, str] | None:
    """Date and time of a bare number: spreadsheet days since 1900, or seconds or ms since 1970 (world time).

    >>> split_count("46477.25"), split_count("1806451200"), split_count("7")
    (('2027-03-31', '06:00:00'), ('2027-03-31', '00:00:00Z'), None)
    """
    number = read_number(text)
    if number is None or number.unit:
        return None
    value = number.value
    if 30_000 <= value < 80_000:  # 1982 to 2119
        moment = _SERIAL_ZERO + timedelta(seconds=round(value * 86_400))
        return f"{moment:%Y-%m-%d}", f"{moment:%H:%M:%S}"
    seconds = value / 1000 if value >= 1e11 else value
    if 5e8 <= seconds < 5e9:  # 1985 to 2128
        moment = datetime.fromtimestamp(int(seconds), UTC)
        return f"{moment:%Y-%m-%d}", f"{moment:%H:%M:%S}Z"
    return None


def as_text(cell: bytes) -> str:
    """A cell of UTF-8 without the zeros around it; what was cut off in the middle of a letter is lost."""
    return cell.strip(b"\0").decode("utf-8", "replace")


def split_all(
    cells: NDArray[Any], split: Callable[[str], tuple[str, str] | None]
) -> tuple[DistinctTexts, DistinctTexts]:
    """Dates and times of many cells; a cell that cannot be split is a date without a time.

    Most logs have one mark between the two: all cells are parted there, and where one of the halves
    does not look the part, the cell is split by itself.

    Args:
        cells: UTF-8 of one length, a multiple of eight, as numpy keeps bytes.
        split: the date and the time in one cell.
    """
    import numpy as np

    letters = cells.view(np.uint8).reshape(len(cells), cells.dtype.itemsize)
    letters = letters[:, : -(-int(letters.any(axis=0).sum()) // 8) * 8]
    mark = b"T" if as_text(cells[0])[10:11] == "T" else b" "
    at, places = (letters == ord(mark)).argmax(axis=1)[:, None], np.arange(letters.shape[1])
    days = DistinctTexts.of_letters(letters * (places < at))
    clocks = DistinctTexts.of_letters(letters * (places > at))
    sure = days.each(_is_plain_day, bool) & clocks.each(_is_plain_clock, bool)
    if split is not split_moment:
        sure[:] = False
    if sure.all():
        return days, clocks
    halves = list(zip(days.each(str).tolist(), clocks.each(str).tolist(), strict=True))
    for row in (~sure).nonzero()[0].tolist():
        text = as_text(cells[row])
        halves[row] = split(text) or (text, "")
    return DistinctTexts([day for day, _ in halves]), DistinctTexts([clock for _, clock in halves])


def _is_plain_day(text: str) -> bool:
    return text[-1:].isdigit() and len(text) <= _MOST_LETTERS // 2


def _is_plain_clock(text: str) -> bool:
    return text[:1].isdigit() and ":" in text[1:3] and len(text) < _MOST_LETTERS // 2


def read_day(text: str, now: datetime, day_first: bool | None) -> int | None:
    """The date in a cell, in days since 1970; None where it is none, or none that a log can hold.

    A date that reads two ways is read as `day_first` says.

    Raises:
        UnfitCellError: it reads two ways, and `day_first` is None.
    """
    try:
        found = DateColumn("time", day_first, now).read(_day_text(text))
    except NoDateError:
        return None
    except UnfitCellError:
        both = [read_day(text, now, order) for order in (True, False)] if day_first is None else [None]
        if None not in both:
            raise
        return None
    if found.hour is not None:
        return None
    return found.day.toordinal() - EPOCH_DAY


def _day_text(text: str) -> str:
    line = plain(text)
    return f"{line[:4]}-{line[4:6]}-{line[6:]}" if re.fullmatch(r"20\d{6}", line, re.ASCII) else line


@lru_cache(maxsize=1 << 14)  # the first rows are looked at for their header, and then for their columns
def kind_of(text: str, now: datetime) -> Kind:
    """What a cell looks like."""
    text = tidy(text)
    if not text:
        return Kind.BLANK
    parts = split_moment(text)
    if parts is not None and _is_day(parts[0], now) and read_clock(parts[1]) is not None:
        return Kind.MOMENT
    if _is_day(text, now):
        return Kind.DAY
    if read_number(text) is not None:
        return Kind.NUMBER
    return Kind.WORD if read_clock(text) is None else Kind.CLOCK


def _is_day(text: str, now: datetime) -> bool:
    if len(text) > _MOST_LETTERS or re.fullmatch(r"\s*[+-]?\d{1,7}(?:[.,]\d*)?\s*", text):
        return False  # a bare number is a date only where its column says so
    try:
        return read_day(text, now, None) is not None
    except UnfitCellError:
        return True
