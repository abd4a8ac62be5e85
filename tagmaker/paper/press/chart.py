"""A chart over time as data, then as elements in a box: lines, limits, and what lies beyond them hatched.

Black alone has to do, so nothing is told by shade: readings are lines, limits are dashed, what lies
beyond a limit is hatched up to it, and days are bars.
"""

from __future__ import annotations

import math
from bisect import bisect_left
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from itertools import groupby

from tagmaker.paper.press.boxes import MM, Box, Element, Frame, Rule, Trace
from tagmaker.paper.press.fitting import Align, fit
from tagmaker.paper.press.fonts import face

NAMES = 8.0  # [pt] wished for at the axes
NAMES_LEAST = 6.0  # [pt]
HEAD = 5.5  # [mm] height of the head
DAY_LINE = 4.2  # [mm] height of the days' names
GRAIN = 0.25  # [mm] across the paper in which only the lowest and the highest reading are drawn
NAME_GAP = 1.4  # [mm] between two days' names
HATCH = 0.8  # [mm] between hatching lines
GRID, GRID_DASH = 0.3, (0.3, 1.7)  # [pt] dotted, so that limits and readings stand out
BAR = 0.5  # of a day's width
STACK_GAP = 0.08  # of a day's width on each side of a bar
LIMIT_NAMES = 19.0  # [mm] to the right of the plot

Run = Sequence[tuple[datetime, float]]  # readings without a gap: moment and value


@dataclass(frozen=True, slots=True)
class DayName:
    """A day under the chart, with its names from the longest to the shortest."""

    start: datetime
    end: datetime
    names: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Span:
    """A lowest and a highest value over a stretch of time, and perhaps their mean."""

    start: datetime
    end: datetime
    low: float
    high: float
    mean: float | None = None


@dataclass(frozen=True, slots=True)
class Stack:
    """A bar from zero up in two parts: the lower one is white, the upper one hatched."""

    start: datetime
    end: datetime
    parts: tuple[float, float]


@dataclass(frozen=True, slots=True)
class Limit:
    """A line that values should not pass."""

    value: float
    above: bool  # what lies above it is beyond
    name: str = ""  # to the right of it


@dataclass(frozen=True, slots=True, kw_only=True)
class Chart:
    """What a chart shows."""

    head: str
    start: datetime
    end: datetime
    ticks: tuple[tuple[float, str], ...]  # value and name, lowest first; the outer two are the edges
    days: tuple[DayName, ...]
    limits: tuple[Limit, ...] = ()
    runs: tuple[Run, ...] = ()
    spans: tuple[Span, ...] = ()
    stacks: tuple[Stack, ...] = ()
    gaps: tuple[tuple[datetime, datetime], ...] = ()
    gap_name: str = ""


def round_ticks(low: float, high: float, steps: Sequence[float], most: int) -> tuple[float, ...]:
    """Round values that hold two others between them, in the first of some steps that needs few enough.

    >>> round_ticks(34.2, 57, (5, 10, 20), 5)
    (30.0, 40.0, 50.0, 60.0)
    """
    step = next((s for s in steps if math.ceil(high / s) - math.floor(low / s) <= most), steps[-1])
    first, last = math.floor(low / step), math.ceil(high / step)
    return tuple(float(mark * step) for mark in range(first, max(last, first + 1) + 1))


def draw_chart(chart: Chart, box: Box) -> tuple[Element, ...]:
    """A chart that fills a box: head, plot with ticks to its left, limits' names to its right, days below."""
    left = max(face("regular").width(name) for _, name in chart.ticks) * NAMES / MM + 1.5
    right = LIMIT_NAMES if any(limit.name for limit in chart.limits) else 1.0
    area = Box(box.x + left, box.y + HEAD, box.width - left - right, box.height - HEAD - DAY_LINE)
    plot = _Plot(chart, area)
    head = fit(chart.head, Box(box.x, box.y, box.width, HEAD - 2), most=9, least=NAMES_LEAST, weight="bold")
    return (
        head,
        *plot.grid(Box(box.x, area.y, left - 1, area.height)),
        *plot.day_names(),
        *plot.hatching(),
        *plot.gaps(),
        *(element for span in chart.spans for element in plot.span(span)),
        *(element for bar in chart.stacks for element in plot.stack(bar)),
        *(Trace(points, width=0.8) for run in chart.runs if len(points := plot.thinned(run)) > 1),
        *plot.limits(Box(area.right + 1, area.y, right - 1, area.height)),
        Frame(area, width=0.5),
    )


@dataclass(frozen=True, slots=True)
class _Plot:
    """A chart's values on paper."""

    chart: Chart
    area: Box

    def across(self, moment: datetime) -> float:
        """Where a moment lies [mm]; what lies outside is at the edge."""
        share = (moment - self.chart.start) / (self.chart.end - self.chart.start)
        return self.area.x + min(max(share, 0.0), 1.0) * self.area.width

    def down(self, value: float) -> float:
        """Where a value lies [mm]; what lies outside is at the edge."""
        low, high = self.chart.ticks[0][0], self.chart.ticks[-1][0]
        share = (value - low) / (high - low)
        return self.area.bottom - min(max(share, 0.0), 1.0) * self.area.height

    def grid(self, names: Box) -> Iterator[Element]:
        """A thin line at each tick and midnight; the ticks' names."""
        for value, name in self.chart.ticks:
            y = self.down(value)
            yield fit(
                name, Box(names.x, y - 1.5, names.width, 3), most=NAMES, least=NAMES_LEAST, align="right"
            )
            if self.area.y + 0.01 < y < self.area.bottom - 0.01:
                yield Rule(self.area.x, y, self.area.right, y, width=GRID, dash=GRID_DASH)
        for day in self.chart.days:
            x = self.across(day.start)
            if self.area.x + 0.01 < x < self.area.right - 0.01:
                yield Rule(x, self.area.y, x, self.area.bottom, width=GRID, dash=GRID_DASH)

    def day_names(self) -> Iterator[Element]:
        """The longest names that fit their days; where none does, Mondays alone are named."""
        wide = {day: self.across(day.end) - self.across(day.start) for day in self.chart.days}
        widest = max(wide.values(), default=0.0)
        whole = [day for day in self.chart.days if wide[day] > widest * 0.99]
        for form in range(min((len(day.names) for day in whole), default=0)):
            if all(_width(day.names[form]) <= wide[day] - NAME_GAP for day in whole):
                named = [(day, day.names[form], wide[day]) for day in self.chart.days]
                break
        else:
            mondays = [day for day in self.chart.days if day.start.weekday() == 0]
            named = [
                (day, day.names[0], min(7 * widest, self.area.right - self.across(day.start)))
                for day in mondays
            ]
        shown = [(day, name, width) for day, name, width in named if _width(name) <= width - NAME_GAP]
        sizes = [NAMES_LEAST * (width - NAME_GAP) / _width(name) for _, name, width in shown]
        for day, name, width in shown:  # all of one size, the largest at which each has room
            x = self.across(day.start) + NAME_GAP / 2
            box = Box(x, self.area.bottom + 0.7, width - NAME_GAP, DAY_LINE - 0.7)
            align: Align = "centre" if width <= widest * 1.01 else "left"
            yield fit(name, box, most=min(NAMES, *sizes), least=NAMES_LEAST, align=align)

    def limits(self, names: Box) -> Iterator[Element]:
        """The limits dashed, with their names."""
        for limit in self.chart.limits:
            if not self.chart.ticks[0][0] <= limit.value <= self.chart.ticks[-1][0]:
                continue
            y = self.down(limit.value)
            yield Rule(self.area.x, y, self.area.right, y, width=1, dash=(3, 2))
            if limit.name:
                height = 7.0
                top = min(max(y - height / 2, names.y - 2), names.bottom - height + 2)
                yield fit(
                    limit.name, Box(names.x, top, names.width, height), most=NAMES, least=NAMES_LEAST, lines=2
                )

    def hatching(self) -> Iterator[Element]:
        """Upright lines every `HATCH` mm from a limit to readings beyond it, at least one a stretch."""
        for limit in self.chart.limits:
            y = self.down(limit.value)
            for points in self._beyond(limit):
                first, last = points[0][0], points[-1][0]
                marks = [n * HATCH for n in range(math.ceil(first / HATCH), math.floor(last / HATCH) + 1)]
                if not marks:
                    marks = [(min if limit.above else max)(points, key=lambda point: point[1])[0]]
                for x in marks:
                    yield Rule(x, y, x, _at(points, x), width=0.4)

    def _beyond(self, limit: Limit) -> Iterator[list[tuple[float, float]]]:
        """The points of each unbroken stretch beyond a limit, on paper."""
        for run in self.chart.runs:
            for beyond, points in groupby(run, key=lambda point: (point[1] > limit.value) == limit.above):
                if beyond:
                    yield [(self.across(moment), self.down(value)) for moment, value in points]

    def gaps(self) -> Iterator[Element]:
        """Where nothing was read: dashed ends, and a word where there is room."""
        for start, end in self.chart.gaps:
            x, right = self.across(start), self.across(end)
            for edge in (x, right):
                if self.area.x < edge < self.area.right:
                    yield Rule(edge, self.area.y, edge, self.area.bottom, width=0.5, dash=(1, 1.5))
            box = Box(x + 0.5, self.area.y + 1, right - x - 1, min(10.0, self.area.height / 2))
            if box.width >= 9 and self.chart.gap_name:
                yield fit(self.chart.gap_name, box, most=NAMES, least=NAMES_LEAST, lines=3, align="centre")

    def span(self, span: Span) -> Iterator[Element]:
        """A box from lowest to highest, hatched beyond a limit.

        One with a mean is a narrower bar with a line at the mean, and solid beyond a limit.
        """
        if span.end <= self.chart.start or span.start >= self.chart.end:
            return
        x, right = self.across(span.start), self.across(span.end)
        if span.mean is not None:
            x, right = x + (right - x) * (1 - BAR) / 2, right - (right - x) * (1 - BAR) / 2
        top, bottom = self.down(span.high), self.down(span.low)
        yield Frame(Box(x, top, right - x, max(bottom - top, 0.1)), width=0.5)
        for limit in self.chart.limits:
            y = self.down(limit.value)
            upper, lower = (top, min(y, bottom)) if limit.above else (max(y, top), bottom)
            if lower - upper < 0.01:
                continue
            if span.mean is not None:
                yield Frame(Box(x, upper, right - x, lower - upper), filled=True)
            else:
                lines = int((right - x) / HATCH)
                yield from (Rule(at, upper, at, lower) for at in (x + n * HATCH for n in range(1, lines + 1)))
        if span.mean is not None:
            y = self.down(span.mean)
            yield Rule(x - 0.5, y, right + 0.5, y, width=1)

    def stack(self, bar: Stack) -> Iterator[Element]:
        """A bar in two parts, solid beyond a limit."""
        x, right = self.across(bar.start), self.across(bar.end)
        x, right = x + (right - x) * STACK_GAP, right - (right - x) * STACK_GAP
        bottom, middle, top = (self.down(value) for value in (0.0, bar.parts[0], sum(bar.parts)))
        for upper, lower, is_hatched in ((middle, bottom, False), (top, middle, True)):
            if lower - upper < 0.01:
                continue
            yield Frame(Box(x, upper, right - x, lower - upper), width=0.5)
            lines = int((lower - upper) / HATCH) if is_hatched else 0
            yield from (
                Rule(x, lower - n * HATCH, right, lower - n * HATCH, width=0.4) for n in range(1, lines + 1)
            )
        for limit in self.chart.limits:
            y = self.down(limit.value)
            if limit.above and y - top > 0.01:
                yield Frame(Box(x, top, right - x, y - top), filled=True)

    def thinned(self, run: Run) -> tuple[tuple[float, float], ...]:
        """A run's points on paper; of those closer than `GRAIN` only first, lowest, highest and last."""
        points: list[tuple[float, float]] = []
        inside = (point for point in run if self.chart.start <= point[0] <= self.chart.end)
        for _, near in groupby(inside, key=lambda point: int(self.across(point[0]) / GRAIN)):
            some = list(near)
            kept = {some[0], some[-1], min(some, key=_value), max(some, key=_value)}
            points += ((self.across(moment), self.down(value)) for moment, value in sorted(kept))
        return tuple(points)


def _at(points: Sequence[tuple[float, float]], x: float) -> float:
    """The height of a line through points at a place between the first and the last of them."""
    after = min(max(bisect_left(points, (x,)), 1), len(points) - 1)
    if len(points) == 1:
        return points[0][1]
    (x1, y1), (x2, y2) = points[after - 1 : after + 1]
    return y2 if x2 == x1 else y1 + (y2 - y1) * (x - x1) / (x2 - x1)


def _value(point: tuple[datetime, float]) -> float:
    return point[1]


def _width(name: str) -> float:
    """Width of a name at its smallest [mm]."""
    return face("regular").width(name) * NAMES_LEAST / MM


def midnights(start: datetime, end: datetime) -> Iterator[tuple[datetime, datetime]]:
    """The calendar days between two moments, cut off at both."""
    while start < end:
        midnight = datetime(start.year, start.month, start.day) + timedelta(days=1)
        yield start, min(midnight, end)
        start = midnight
