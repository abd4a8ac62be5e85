"""How sure a date is: how far the last usable moment moves when one figure at a time is changed.

The calendar is set aside for that: limits of days and days off. What moves it to the earlier side is
added in quadrature, and so is what moves it to the later one.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import datetime
from itertools import pairwise
from math import ceil, floor, inf, sqrt

from tagmaker.farm import Use
from tagmaker.storage.history import hours, moment_of
from tagmaker.storage.judging import CLOSE, Departure, Judge
from tagmaker.storage.stems import AFTER_TRIP_H, PRACTICE, VARIED, Figures
from tagmaker.storage.warmth import HALF_COLOURED, TOO_OPEN

LONGEST_H = 400 * 24  # [h] beyond which nothing is looked for


@dataclass(frozen=True, slots=True)
class Band:
    """The last usable moment of a lot for a use, to the hour, and how far it may be off."""

    last: datetime
    early: datetime
    late: datetime


class Ends:
    """Up to when life and vase days are left for a use, by usual practice and with figures changed."""

    def __init__(self, judge: Judge, use: Use) -> None:
        self._judge, self._use = judge, use
        self._stretches = list(_stretches(judge, use))
        self._leaving: dict[int, Departure] = {}  # by hour: the same whatever figures are changed
        self.usual: int | None = None  # [h]; None: never
        self.usual = self.last_hour(PRACTICE)

    def band(self) -> Band | None:
        """The last hour and how far it may be off; None if the stems never would do."""
        last = self.usual
        if last is None:
            return None
        earlier = later = 0.0
        for figures in VARIED:
            found = self.last_hour(figures)
            shift = (floor(hours(self._judge.lot.cut)) if found is None else found) - last
            earlier += min(shift, 0) ** 2
            later += max(shift, 0) ** 2
        early, late = floor(last - sqrt(earlier)), floor(last + sqrt(later))
        return Band(moment_of(last), moment_of(early), moment_of(late))

    def last_hour(self, figures: Figures) -> int | None:
        """The last hour [h] at which life and vase days are left, the calendar set aside; None: none is."""
        changing = self._judge.changes_on_the_way(self._use)
        for first, beyond, leaving in reversed(self._stretches):
            if changing:
                found = self._halved(figures, first, beyond)
            else:
                found = self._reached(figures, beyond, leaving)
            if found is not None:
                return found
        return None

    def _halved(self, figures: Figures, first: int, beyond: int) -> int | None:
        """By halving: within a stretch the stems only get worse."""

        def do(at: int) -> bool:
            return self._judge.fresh_enough(self._leaving_at(at), figures) is None

        near = first if self.usual is None else self.usual
        return _last(do, first, beyond, near) if do(first) else None

    def _leaving_at(self, at: int) -> Departure:
        if at not in self._leaving:
            self._leaving[at] = self._judge.departure(moment_of(at), self._use, straight=True)
        return self._leaving[at]

    def _reached(self, figures: Figures, beyond: int, leaving: Departure) -> int | None:
        """By the share of the life at which vase days or life run out."""
        judge = self._judge
        spare = judge.vase_left(leaving, 0.0, figures) - judge.promise(leaving, figures)
        if spare < -CLOSE:
            return None
        loss = judge.keeping.loss_days * figures.loss
        used = 1.0 if loss <= spare else sqrt(max(spare, 0.0) / loss)
        aged_days = (used + CLOSE) * judge.keeping.life_days * figures.life
        if judge.aged_days(leaving, figures) > aged_days:
            return None
        return min(floor(judge.stems.reaches(aged_days, figures) + leaving.opening_hours), beyond - 1)


def _stretches(judge: Judge, use: Use) -> Iterator[tuple[int, int, Departure]]:
    """Stretches of hours [h] in which the buds stay in their class: first, beyond, stems at first."""
    for start, end in pairwise([*_edges(judge, use), inf]):
        first, beyond = ceil(start), ceil(min(end, start + LONGEST_H))
        if first < beyond:
            yield first, beyond, judge.departure(moment_of(first), use, straight=True)


def _last(do: Callable[[int], bool], first: int, beyond: int, near: int) -> int:
    """The last hour before `beyond` up to which what holds at the first holds; looked for around one."""
    low, high, step = first, beyond, 24
    if low < near < high and not do(near):
        high = near
        while high - step > low and not do(high - step):
            high, step = high - step, step * 2
        low = max(low, high - step)
    else:
        low = max(low, near) if near < high else low
        while low + step < high and do(low + step):
            low, step = low + step, step * 2
        high = min(low + step, high)
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (middle, high) if do(middle) else (low, middle)
    return low


def _edges(judge: Judge, use: Use) -> list[float]:
    """Moments [h] at which the stems change by a step, the cut first."""
    cut = hours(judge.lot.cut)
    opening_h = judge.keeping.opening_hours if use.open else 0.0
    opening = judge.stems.opening()
    found = {cut}
    for least in (HALF_COLOURED, TOO_OPEN):
        for moment in opening.turns(least):
            found |= {moment, moment + opening_h}
    window = judge.stems.warm_trip if use.open else None
    if window is not None:
        found |= {window[1], window[1] + AFTER_TRIP_H + 1}
    return sorted(at for at in found if at >= cut)
