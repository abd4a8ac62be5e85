"""What a cooler's thermometer showed: the readings of a logger, and those written down by hand.

Moments are naive local datetimes of the farm, temperatures °C, humidities percent.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from enum import StrEnum

from tagmaker.errors import Problem

EXPORT_BYTES = 20_000_000  # of an export that comes from a phone: half a year at one minute, as text (chosen)


class SetAside(StrEnum):
    """Why a row of a log does not count."""

    NO_READING = "no reading"  # blank, "Err", or any other text in place of a temperature
    NO_TIME = "no time"  # its time cannot be read
    OUT_OF_RANGE = "out of range"  # a number that no cooler has, such as -999, 850 or 85.0 °C
    JUMP = "jump"  # up and back, or down and back, faster than a thermometer can follow
    SAME_MOMENT = "same moment"  # a second, other reading of one moment: the warmer counts
    LATER_TODAY = "later today"  # up to a day after now
    TOO_OLD = "too old"  # more than two years before now: a logger whose clock was reset
    LONE_HEAT = "lone heat"  # one above 40 °C between two that are cool, too far apart for a jump


@dataclass(frozen=True, slots=True, kw_only=True)
class Readings:
    """The readings of one cooler's logger, in order of time."""

    cooler: str  # its name
    moments: tuple[datetime, ...]  # strictly increasing
    t_c: tuple[float, ...]  # [°C], one a moment
    rh: tuple[float | None, ...] = ()  # [%], one a moment; None: not read; empty: no humidity in the log
    set_aside: Mapping[str, int] = field(default_factory=dict)  # SetAside -> readings, where there are any
    files: tuple[str, ...] = ()  # as messages name them, in order
    empty: tuple[Problem, ...] = ()  # those of them without a row


@dataclass(frozen=True, slots=True, kw_only=True)
class HandReading:
    """Lowest and highest temperature since the last look, as written down at the cooler."""

    cooler: str  # its name
    moment: datetime  # when somebody looked
    low_c: float  # [°C]
    high_c: float  # [°C], never below low_c


@dataclass(frozen=True, slots=True, kw_only=True)
class Export:
    """What an export of a logger holds, before it is kept for its cooler."""

    ending: str  # of its file's name: "csv", "xlsx", "xls" or "ods"
    sheet: str  # of a workbook; empty for a text
    columns: tuple[tuple[str, str], ...]  # what is read from it, and the column's name
    unit: str  # "F" or "C"
    unit_said_by: str
    first: datetime
    last: datetime
    count: int  # readings that count
    every_min: float  # [min] between two readings: the middle of them
    low_c: float  # [°C]
    mean_c: float  # [°C]
    high_c: float  # [°C]
    set_aside: Mapping[str, int]  # SetAside -> readings that do not count
    fresh: int  # readings at moments that are not kept yet
    otherwise: int  # at moments that are kept, with another temperature
