"""How open the buds of a lot are today, and when they will be half coloured and too open."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta
from math import inf

from tagmaker.lot import Stage
from tagmaker.storage.history import hours, moment_of
from tagmaker.storage.judging import Judge
from tagmaker.storage.moments import DAY, quarter_after, selling_moment
from tagmaker.storage.stems import AFTER_TRIP_H
from tagmaker.storage.warmth import HALF_COLOURED, TOO_OPEN
from tagmaker.storage.whereabouts import last_trip

INSTANT = 1e-6  # [h] that a sum of hours may be off


@dataclass(frozen=True, slots=True)
class Buds:
    """The buds of a lot as of a moment."""

    opening: float
    aged_days: float  # days at 0 °C that age the stems as much as all until then
    half_coloured_from: datetime | None  # past or to come; None too where they were too open at once
    too_open_from: datetime | None  # past or to come
    unseen: bool  # warmth has coloured or opened them, and nobody has written how far


def buds_at(judge: Judge, now: datetime) -> Buds:
    """The buds of a lot now.

    Hours in the warm on purpose for an open use do not count while a departure that they were for is
    still to come.
    """
    course = _Course(judge)
    half, too_open = (course.reaches(least) for least in (HALF_COLOURED, TOO_OPEN))
    opening = course.at(hours(now))
    return Buds(
        opening=opening,
        aged_days=course.aged_days(hours(now)),
        half_coloured_from=None if half is None or half == too_open else _quarter(half),
        too_open_from=None if too_open is None else _quarter(too_open),
        unseen=_unseen(judge, opening, too_open if opening >= TOO_OPEN else half),
    )


def _quarter(at: float) -> datetime:
    return quarter_after(moment_of(round(at, 5)))


def _unseen(judge: Judge, opening: float, since: float | None) -> bool:
    """Whether it is warmth, not somebody's eye, that says how open the buds are."""
    if opening < HALF_COLOURED or since is None:
        return False
    start = judge.farm.workday.start
    looks = [hours(start(test.day)) for test in judge.lot.tested if isinstance(test.found, Stage)]
    return since - hours(judge.lot.cut) > INSTANT and not any(look >= since - INSTANT for look in looks)


class _Course:
    """The opening that counts at each moment, as it is told of a lot with its own use."""

    def __init__(self, judge: Judge) -> None:
        self._judge = judge
        self._stems = judge.stems
        self._whole = judge.stems.opening()
        use = judge.farm.uses[judge.lot.use]
        trip = last_trip(judge.lot) if use.open and judge.keeping.opening_hours else None
        self._out_since = hours(trip[0]) if trip is not None and trip[1] is None else None
        self._window = judge.stems.warm_trip if use.open else None
        self._until = self._last_departure() if self._window is not None else None

    def _last_departure(self) -> float | None:
        """The last departure [h] that a warm stay which is over may have been for."""
        window = self._window
        if window is None:
            return None
        found = [hours(moment) for moment in self._departures(window[1])]
        return max((at for at in found if window[1] <= at <= window[1] + AFTER_TRIP_H), default=None)

    def _departures(self, since: float) -> Iterator[datetime]:
        """Departures of open uses around a moment [h]."""
        lot, farm = self._judge.lot, self._judge.farm
        for ahead in range(3):
            moment = selling_moment(farm.uses[lot.use], moment_of(since).date() + ahead * DAY)
            if moment is not None:
                yield moment
        yield from (order.leaves for order in lot.orders if farm.uses[order.use].open)

    def at(self, at: float) -> float:
        """The opening at a moment [h]."""
        if self._out_since is not None and at > self._out_since:
            return self._whole.at(self._frozen(self._out_since, at))
        if self._until is not None and at <= self._until:
            return self._stems.opening(self._window).at(at)
        return self._whole.at(at)

    def _frozen(self, since: float, at: float) -> float:
        """Up to when warmth counts, of stems that are in the warm on purpose."""
        return max(since, at - self._judge.keeping.opening_hours)

    def aged_days(self, at: float) -> float:
        """Days at 0 °C that age the stems as much as all until a moment [h]."""
        in_time = self._until is not None and at <= self._until
        return self._stems.aged_days(at, window=self._window if in_time else None)

    def reaches(self, least: float) -> float | None:
        """When the opening was, or will be, so much for good [h]; None: never."""
        found = self._whole.reaches(least)
        if self._out_since is not None and found is not None and found > self._out_since:
            return found + self._judge.keeping.opening_hours
        if self._until is None or found is None:
            return found
        meant = self._stems.opening(self._window).reaches(least)
        if meant is not None and meant <= self._until:
            return meant
        after = self._until + timedelta(minutes=15) / timedelta(hours=1)
        return max(found, after) if found != inf else None
