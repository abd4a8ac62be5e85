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
from zoneinfo import ZoneInfo

from tagmaker.errors import InputProblems, Problem
from tagmaker.farm import Farm
from tagmaker.intake.cells.plain_text import shown
from tagmaker.intake.log.cells import EPOCH_DAY, Clock, read_clock, read_day, split_moment
from tagmaker.intake.log.rows import RawLog
from tagmaker.intake.log.titles import zone_in

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


def local_moments(raws: Sequence[RawLog], farm: Farm, now: datetime) -> list[list[int]]:
    """The moment of every row of every log; NO_TIME where its time cannot be read.

    Raises:
        InputProblems: dates that read two ways, or offsets that cannot be told to be local.
    """
    orders = _day_order(raws, farm, now)
    clocks = [_clocks(raw) for raw in raws]
    zone = _zone(raws, clocks, farm)
    found = []
    for raw, of_day in zip(raws, clocks, strict=True):
        days = [_day_start(text, now, orders) for text in raw.days.index]
        starts = [_NOWHERE if clock is None else clock.seconds for clock in of_day]
        pairs = zip(raw.days.codes, raw.clocks.codes, strict=True)
        if zone is None or all(clock is None or clock.offset is None for clock in of_day):
            found.append([max(days[day] + starts[code], NO_TIME) for day, code in pairs])
        else:
            offsets = [clock.offset if clock else None for clock in of_day]
            local = _Localiser(zone)
            found.append(
                [max(local(days[day] + starts[code], offsets[code]), NO_TIME) for day, code in pairs]
            )
    for raw, moments in zip(raws, found, strict=True):
        _check_readable(raw, moments)
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
    for text in raw.clocks.index:
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
        for text in raw.days.index:
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
    where = raw.table.cell_at(
        raw.days.lines[raw.days.index[text]], raw.layout.time.place, raw.layout.time.title
    )
    by_day, by_month = (date.fromordinal(day + EPOCH_DAY) for day in two_way[text])
    if farm.day_first is None:
        what = f"must be a date that reads one way (got {shown(text)}: {by_day} or {by_month})"
        remedy = "Set day_first = true or false in tagmaker.toml, or export it with the year first."
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
    where = raw.table.cell_at(raw.clocks.lines[code], column.place, column.title)
    texts = list(raw.clocks.index)
    kind = "world time" if odd == 0 else "offsets that change"
    what = f"must be local time, or the settings must name the time zone (got {kind}: {shown(texts[code])})"
    remedy = 'Set timezone in tagmaker.toml, like timezone = "Europe/Dublin".'
    raise InputProblems([Problem(where, what, remedy)])


class _Localiser:
    """Turns moments with an offset into local ones; zones change on quarter hours only."""

    def __init__(self, zone: ZoneInfo) -> None:
        self._zone = zone
        self._ahead: dict[int, int] = {}  # quarter hour of world time -> seconds ahead of it

    def __call__(self, seconds: int, offset: int | None) -> int:
        if offset is None or seconds < 0:
            return seconds
        world = seconds - offset * 60
        quarter = world // 900
        ahead = self._ahead.get(quarter)
        if ahead is None:
            shift = datetime.fromtimestamp(quarter * 900, UTC).astimezone(self._zone).utcoffset()
            ahead = self._ahead[quarter] = int(shift.total_seconds()) if shift is not None else 0
        return world + ahead


def _check_readable(raw: RawLog, moments: Sequence[int]) -> None:
    """Refuse a log in which more than half of the times cannot be read."""
    if 2 * moments.count(NO_TIME) <= len(moments):
        return
    row = moments.index(NO_TIME)
    texts = list(raw.days.index)[raw.days.codes[row]], list(raw.clocks.index)[raw.clocks.codes[row]]
    what = f"must be a date and time (got {shown(' '.join(texts))})"
    raise InputProblems(
        [Problem(raw.time_at(row), what, "Export it again with dates like 2027-03-31 18:00.")]
    )
