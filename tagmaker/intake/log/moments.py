"""The times of thermometer logs as local moments: which way their dates run, and offsets to world time.

One cooler has one logger, so all its files are judged together. Moments are counted in seconds
since 1970-01-01 00:00 of the farm's own wall clock.

An offset to world time is converted where the settings name the time zone. Without it, one and the
same offset in all rows is dropped, because the logger then showed its local clock; world time itself
or changing offsets are refused.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import UTC, date, datetime, timedelta
from itertools import pairwise
from typing import TYPE_CHECKING, Any
from zoneinfo import ZoneInfo

from tagmaker.errors import InputProblems, Problem
from tagmaker.farm import Farm
from tagmaker.intake.cells.plain_text import shown
from tagmaker.intake.log.cells import EPOCH_DAY, Clock, read_clock, read_day, split_moment
from tagmaker.intake.log.rows import RawLog
from tagmaker.intake.log.titles import zone_in

if TYPE_CHECKING:
    from numpy.typing import NDArray

NO_TIME = -1
_NOWHERE = -(1 << 60)
_EPOCH = datetime(1970, 1, 1)
_MONTH_APART = 28  # [d] least from one month's day to the same day of the next


def seconds_of(moment: datetime) -> int:
    """A naive local moment in seconds since 1970."""
    return (moment - _EPOCH) // timedelta(seconds=1)


def moment_of(seconds: int) -> datetime:
    """Seconds since 1970 as a naive local moment."""
    return _EPOCH + timedelta(0, seconds)


def local_moments(raws: Sequence[RawLog], farm: Farm, now: datetime) -> list[NDArray[Any]]:
    """The moment of every row of every log; NO_TIME where its time cannot be read.

    Raises:
        InputProblems: dates that read two ways, or offsets that cannot be told to be local.
    """
    import numpy as np

    order = _day_order(raws, farm, now)
    clocks = [_clocks(raw) for raw in raws]
    zone = _zone(raws, clocks, farm)
    found = []
    for raw, of_day in zip(raws, clocks, strict=True):
        days = raw.days.each(lambda text: _day_start(text, now, order), np.int64)
        moments = days + np.array([_NOWHERE if c is None else c.seconds for c in of_day])[raw.clocks.codes]
        offsets = np.array([np.nan if c is None or c.offset is None else c.offset for c in of_day])
        if zone is not None and not np.isnan(offsets).all():
            moments = _local(moments, offsets[raw.clocks.codes], zone)
        moments = np.maximum(moments, NO_TIME)
        _check_readable(raw, moments)
        found.append(moments)
    return found


def _date_text(text: str) -> str:
    """The date of a cell that may show its midnight as well."""
    parts = split_moment(text)
    return parts[0] if parts else text


def _day_start(text: str, now: datetime, day_first: bool) -> int:
    day = read_day(_date_text(text), now, day_first)
    return _NOWHERE if day is None else day * 86_400


def _clocks(raw: RawLog) -> list[Clock | None]:
    """The time of day of every distinct text, with the offset of the title where it has none itself.

    A date without a time is its midnight: some exports leave that out. A blank time column is none.
    """
    title = zone_in(raw.layout.time.title)
    if title is None and raw.layout.clock is not None:
        title = zone_in(raw.layout.clock.title)
    found: list[Clock | None] = []
    for text in raw.clocks.texts:
        clock = Clock(0) if not text and raw.layout.clock is None else read_clock(text)
        if clock is not None and clock.offset is None and title is not None:
            clock = Clock(clock.seconds, title)
        found.append(clock)
    return found


def _day_order(raws: Sequence[RawLog], farm: Farm, now: datetime) -> bool:
    """Whether dates of three numbers begin with the day: as any of them shows, else as the settings say."""
    shows: dict[bool, tuple[RawLog, str]] = {}
    two_way: dict[str, tuple[int, int]] = {}
    first: tuple[RawLog, str] | None = None
    for raw in raws:
        for text in raw.days.texts:
            by_day, by_month = (read_day(_date_text(text), now, order) for order in (True, False))
            if by_day is None or by_month is None:
                if (by_day is None) != (by_month is None):
                    shows.setdefault(by_month is None, (raw, text))
            elif by_day != by_month:
                two_way[text] = (by_day, by_month)
                first = first or (raw, text)
    if len(shows) == 2:
        raw, text = shows[True]
        what = f"must have dates that all run one way (got {shown(text)} and {shown(shows[False][1])})"
        remedy = "Export it again with the year first, or with one order of day and month."
        raise InputProblems([Problem(raw.table.where, what, remedy)])
    if len(shows) == 1:
        return next(iter(shows))
    if first is not None:
        return _order_of_settings(first, two_way, farm)
    return bool(farm.day_first)


def _order_of_settings(first: tuple[RawLog, str], two_way: dict[str, tuple[int, int]], farm: Farm) -> bool:
    """The order that the settings give for dates that all read two ways."""
    raw, text = first
    where = raw.time_at(raw.days.first_with(raw.days.texts.index(text)))
    by_day, by_month = (date.fromordinal(day + EPOCH_DAY) for day in two_way[text])
    if farm.day_first is None:
        what = f"must be a date that reads one way (got {shown(text)}: {by_day} or {by_month})"
        remedy = "Set day_first = true or false in the settings, or export it with the year first."
        raise InputProblems([Problem(where, what, remedy)])
    told, other = (
        sorted({pair[i] for pair in two_way.values()}) for i in (not farm.day_first, farm.day_first)
    )
    if len(told) > 2 and _least_step(told) >= _MONTH_APART and _least_step(other) == 1:
        order = "true" if farm.day_first else "false"
        what = (
            f"must be a date in the order of day_first = {order} (got {shown(text)} and others a month apart)"
        )
        remedy = "The logger writes the other order: export it with the year first."
        raise InputProblems([Problem(where, what, remedy)])
    return farm.day_first


def _least_step(days: Iterable[int]) -> int:
    return min(after - before for before, after in pairwise(days))


def _zone(raws: Sequence[RawLog], clocks: Sequence[Sequence[Clock | None]], farm: Farm) -> ZoneInfo | None:
    """The time zone to convert to; None where the times are local as they stand."""
    if farm.timezone is not None:
        return ZoneInfo(farm.timezone)
    offsets: dict[int | None, tuple[RawLog, int]] = {}
    for raw, of_day in zip(raws, clocks, strict=True):
        for code, clock in enumerate(of_day):
            if clock is not None:
                offsets.setdefault(clock.offset, (raw, code))
    given = [offset for offset in offsets if offset is not None]
    if not given or (len(offsets) == 1 and given != [0]):
        return None
    odd = given[-1]
    raw, code = offsets[odd]
    column = raw.layout.clock or raw.layout.time
    where = raw.table.cell_at(int(raw.rows[raw.clocks.first_with(code)]), column.place, column.title)
    kind = "world time" if odd == 0 else "offsets that change"
    got = f"{kind}: {shown(raw.clocks.texts[code])}"
    what = f"must be local time, or the settings must name the time zone (got {got})"
    remedy = 'Set timezone in the settings, like timezone = "Europe/Dublin".'
    raise InputProblems([Problem(where, what, remedy)])


def _local(moments: NDArray[Any], offsets: NDArray[Any], zone: ZoneInfo) -> NDArray[Any]:
    """Moments with an offset [min] as local ones; zones change on quarter hours only."""
    import numpy as np

    given = ~np.isnan(offsets) & (moments >= 0)
    world = moments[given] - (offsets[given] * 60).astype(np.int64)
    quarters, codes = np.unique(world // 900, return_inverse=True)
    shifts = (datetime.fromtimestamp(q * 900, UTC).astimezone(zone).utcoffset() for q in quarters.tolist())
    ahead = np.array([int(shift.total_seconds()) if shift is not None else 0 for shift in shifts], np.int64)
    local = moments.copy()
    local[given] = world + ahead[codes]
    return local


def _check_readable(raw: RawLog, moments: NDArray[Any]) -> None:
    """Refuse a log in which more than half of the times cannot be read."""
    untold = moments == NO_TIME
    if 2 * untold.sum() <= len(moments):
        return
    row = int(untold.argmax())
    texts = raw.days.texts[raw.days.codes[row]], raw.clocks.texts[raw.clocks.codes[row]]
    what = f"must be a date and time (got {shown(' '.join(texts))})"
    raise InputProblems(
        [Problem(raw.time_at(row), what, "Export it again with dates like 2027-03-31 18:00.")]
    )
