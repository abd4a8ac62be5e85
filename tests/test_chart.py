"""The chart as data: where values stand, what is hatched, which names fit, and that all stays in its box."""

from __future__ import annotations

import math
from dataclasses import replace
from datetime import datetime, timedelta
from itertools import combinations, pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tagmaker.paper.cooler.charts import day_names, days_chart, empty_chart, humidity_chart, week_chart
from tagmaker.paper.press.boxes import Box, Element, Frame, Rule, Text, Trace
from tagmaker.paper.press.chart import (
    GRAIN,
    HATCH,
    Chart,
    DayName,
    Limit,
    Span,
    draw_chart,
    midnights,
    round_ticks,
)
from tagmaker.telling.wording import Wording
from tests.cooler_stories import NOW, broken_door, by_hand, logged, story, swinging
from tests.farms import celsius
from tests.sheet_checks import overlap

START = datetime(2027, 3, 25)
HOUR = timedelta(hours=1)
DAY = timedelta(days=1)
BOX = Box(20, 30, 180, 60)
FAHRENHEIT = Wording("F")


def week_of_days() -> tuple[DayName, ...]:
    """Seven days with their names."""
    return day_names(START, START + 7 * DAY, FAHRENHEIT)


def chart(**changes: object) -> Chart:
    """A week from 0 to 10, limits at 1 and 7, hourly readings at 4."""
    base = Chart(
        head="TEMPERATURE",
        start=START,
        end=START + 7 * DAY,
        ticks=tuple((value, f"{value:g} °C") for value in (0.0, 5.0, 10.0)),
        days=week_of_days(),
        limits=(Limit(7.0, above=True, name="too warm"), Limit(1.0, above=False, name="too cold")),
        runs=(tuple((START + n * HOUR, 4.0) for n in range(169)),),
    )
    return replace(base, **changes)  # type: ignore[arg-type]  # the fields of a chart


def with_peak(at: int, value: float, hours: int = 1) -> tuple[tuple[datetime, float], ...]:
    """The hourly week at 4, some hours of it at another value."""
    return tuple((START + n * HOUR, value if at <= n < at + hours else 4.0) for n in range(169))


def plot_of(elements: tuple[Element, ...]) -> Box:
    """The frame around the plot, drawn last."""
    frame = elements[-1]
    assert isinstance(frame, Frame)
    return frame.box


def texts(elements: tuple[Element, ...]) -> list[str]:
    """The words of a chart, text by text."""
    return [" ".join(line.text for line in e.lines) for e in elements if isinstance(e, Text)]


def upright(elements: tuple[Element, ...]) -> list[Rule]:
    """Solid upright lines: the hatching."""
    return [e for e in elements if isinstance(e, Rule) and e.x1 == e.x2 and not e.dash]


def height(elements: tuple[Element, ...], value: float, low: float = 0.0, high: float = 10.0) -> float:
    """Where a value must stand on paper [mm]."""
    plot = plot_of(elements)
    return plot.bottom - (value - low) / (high - low) * plot.height


def extent(element: Element) -> Box:
    """The box around an element."""
    if isinstance(element, Rule):
        x, y = min(element.x1, element.x2), min(element.y1, element.y2)
        return Box(x, y, abs(element.x1 - element.x2), abs(element.y1 - element.y2))
    if isinstance(element, Trace):
        xs, ys = zip(*element.points, strict=True)
        return Box(min(xs), min(ys), max(xs) - min(xs), max(ys) - min(ys))
    return element.box


@given(
    st.lists(st.floats(-10, 40), min_size=2, max_size=200),
    st.floats(60, 200),
    st.floats(25, 90),
    st.booleans(),
)
def test_everything_stays_in_its_box(values: list[float], width: float, tall: float, named: bool) -> None:
    """Whatever was read, and however small the chart; names may reach over its edge by half a line."""
    run = tuple((START + n * HOUR, value) for n, value in enumerate(values))
    ticks = tuple((value, f"{value:g}") for value in round_ticks(min(values), max(values), (2, 5, 10, 20), 5))
    limits = tuple(Limit(limit.value, limit.above, limit.name * named) for limit in chart().limits)
    box = Box(10, 10, width, tall)
    around = Box(box.x, box.y, box.width, box.height + 1)
    for element in draw_chart(chart(runs=(run,), ticks=ticks, limits=limits), box):
        assert around.holds(extent(element)), element


def test_no_two_texts_overlap() -> None:
    """Head, ticks, days and the limits' names, for a report and for a checklist."""
    for box in (BOX, Box(10, 10, 76, 30)):
        boxes = [e.box for e in draw_chart(chart(), box) if isinstance(e, Text)]
        assert [pair for pair in combinations(boxes, 2) if overlap(*pair, 0.05)] == []


def test_a_value_stands_at_its_height_and_a_moment_at_its_place() -> None:
    """A line from the start at 0 to the end at 10 runs from corner to corner."""
    run = ((START, 0.0), (START + 7 * DAY, 10.0))
    elements = draw_chart(chart(runs=(run,)), BOX)
    plot = plot_of(elements)
    (trace,) = (e for e in elements if isinstance(e, Trace))
    assert trace.points == ((plot.x, plot.bottom), (plot.right, plot.y))


def test_limits_are_dashed_at_their_height() -> None:
    """Both lines run across the plot; one that lies outside the ticks is not drawn."""
    elements = draw_chart(chart(limits=(*chart().limits, Limit(12.0, above=True))), BOX)
    dashed = [e for e in elements if isinstance(e, Rule) and e.width == 1]
    assert [rule.y1 for rule in dashed] == [height(elements, 7.0), height(elements, 1.0)]
    assert {(rule.x1, rule.x2) for rule in dashed} == {(plot_of(elements).x, plot_of(elements).right)}


def test_nothing_is_hatched_between_the_limits() -> None:
    """A constant at 4, and readings on a limit, are no excursion."""
    for run in (with_peak(50, 4.0), with_peak(50, 7.0, hours=9)):
        assert [r for r in upright(draw_chart(chart(runs=(run,)), BOX)) if r.y1 != r.y2] == []


@pytest.mark.parametrize(("value", "limit"), [(9.0, 7.0), (0.5, 1.0)])
def test_a_single_reading_beyond_a_limit_is_hatched(value: float, limit: float) -> None:
    """However short: one line from the limit to the reading, above or below."""
    elements = draw_chart(chart(runs=(with_peak(50, value),)), Box(10, 10, 76, 30))
    (rule,) = upright(elements)
    assert (rule.y1, rule.y2) == (height(elements, limit), height(elements, value))


def test_a_long_excursion_is_hatched_evenly_up_to_the_line() -> None:
    """A day at 9: lines at even steps, none longer than the excursion is high."""
    elements = draw_chart(chart(runs=(with_peak(48, 9.0, hours=24),)), BOX)
    rules = upright(elements)
    plot = plot_of(elements)
    assert len(rules) == pytest.approx(23 / 168 * plot.width / HATCH, abs=1)
    steps = {round(right.x1 - left.x1, 6) for left, right in pairwise(rules)}
    assert steps == {HATCH}
    assert {(rule.y1, round(rule.y2, 9)) for rule in rules} == {
        (height(elements, 7.0), round(height(elements, 9.0), 9))
    }


def test_thinning_keeps_the_extremes_and_bounds_the_points() -> None:
    """A week of minutes: one spike up and one down are still there, in a few points a quarter millimetre."""
    minutes = 7 * 24 * 60
    run = tuple(
        (START + timedelta(minutes=n), {4000: 9.75, 7000: 0.25}.get(n, 4 + math.sin(n)))
        for n in range(minutes)
    )
    elements = draw_chart(chart(runs=(run,)), BOX)
    (trace,) = (e for e in elements if isinstance(e, Trace))
    heights = [y for _, y in trace.points]
    assert (min(heights), max(heights)) == (height(elements, 9.75), height(elements, 0.25))
    assert len(trace.points) <= 4 * (plot_of(elements).width / GRAIN + 2)
    assert [x for x, _ in trace.points] == sorted(x for x, _ in trace.points)


def test_a_gap_breaks_the_line_and_says_so_where_there_is_room() -> None:
    """Two runs are two lines; a day's hole holds the word, three hours' does not."""
    run = chart().runs[0]
    for hours, words in ((24, ["nothing read"]), (3, [])):
        gap = (START + 50 * HOUR, START + (50 + hours) * HOUR)
        runs = (run[:51], run[50 + hours :])
        elements = draw_chart(chart(runs=runs, gaps=(gap,), gap_name="nothing read"), BOX)
        assert sum(isinstance(e, Trace) for e in elements) == 2
        assert [text for text in texts(elements) if text == "nothing read"] == words


def test_a_look_is_a_box_hatched_beyond_the_limit() -> None:
    """LOW 3 and HIGH 9 for twelve hours: a frame from 3 to 9, hatched above 7."""
    span = Span(START + 24 * HOUR, START + 36 * HOUR, 3.0, 9.0)
    elements = draw_chart(chart(runs=(), spans=(span,)), BOX)
    frame = next(e for e in elements if isinstance(e, Frame))
    assert frame.box.y == height(elements, 9.0)
    assert frame.box.bottom == pytest.approx(height(elements, 3.0))
    rules = upright(elements)
    assert len(rules) == int(frame.box.width / HATCH)
    assert {(rule.y1, rule.y2) for rule in rules} == {(height(elements, 9.0), height(elements, 7.0))}


def test_a_days_bar_is_solid_beyond_both_limits() -> None:
    """From 0.5 to 9 with a mean of 4: two solid parts, a line at the mean."""
    span = Span(START, START + DAY, 0.5, 9.0, 4.0)
    elements = draw_chart(chart(runs=(), spans=(span,)), BOX)
    solid = [(e.box.y, round(e.box.bottom, 9)) for e in elements if isinstance(e, Frame) and e.filled]
    assert solid == [
        (height(elements, 9.0), round(height(elements, 7.0), 9)),
        (height(elements, 1.0), round(height(elements, 0.5), 9)),
    ]
    assert any(isinstance(e, Rule) and e.y1 == e.y2 == height(elements, 4.0) and not e.dash for e in elements)


@pytest.mark.parametrize(("width", "name"), [(190, "FRI 26 MAR"), (110, "FRI 26"), (80, "FRI")])
def test_days_have_the_longest_name_that_fits(width: float, name: str) -> None:
    """Day with date where there is room, the weekday alone on a checklist."""
    assert name in texts(draw_chart(chart(), Box(10, 10, width, 40)))


def test_four_weeks_are_named_by_their_mondays() -> None:
    """Too narrow for any date: each Monday's stands at its beginning."""
    days = tuple(replace(day, names=day.names[:2]) for day in day_names(START, START + 28 * DAY, FAHRENHEIT))
    words = texts(draw_chart(chart(end=START + 28 * DAY, days=days), BOX))
    assert [word for word in words if word[:3] in ("MON", "TUE", "WED")] == [
        "MON 29 MAR",
        "MON 5 APR",
        "MON 12 APR",
        "MON 19 APR",
    ]


def test_midnights_cut_days_off_at_both_ends() -> None:
    """From an afternoon to a morning two days later."""
    start, end = datetime(2027, 3, 25, 15), datetime(2027, 3, 27, 9)
    assert list(midnights(start, end)) == [
        (start, datetime(2027, 3, 26)),
        (datetime(2027, 3, 26), datetime(2027, 3, 27)),
        (datetime(2027, 3, 27), end),
    ]


@given(st.floats(-40, 60), st.floats(0, 80), st.integers(2, 8))
def test_round_ticks_hold_what_is_between_them(low: float, length: float, most: int) -> None:
    """They are multiples of one step, around both values, and few."""
    ticks = round_ticks(low, low + length, (2, 5, 10, 20, 50, 100), most)
    assert ticks[0] <= low
    assert low + length <= ticks[-1]
    assert 2 <= len(ticks) <= most + 1
    assert len({round(b - a, 6) for a, b in pairwise(ticks)}) == 1


# ---- the charts of a cooler


def test_the_week_chart_of_a_checklist_shows_the_broken_door() -> None:
    """One line, the night hatched, the head and limits given."""
    elements = week_chart(story(logged(broken_door)), Box(8, 8, 76, 30), FAHRENHEIT, "LAST WEEK", 1.0, 7.0)
    assert sum(isinstance(e, Trace) for e in elements) == 1
    assert len(upright(elements)) > 2
    assert "LAST WEEK" in texts(elements)
    assert sum(isinstance(e, Rule) and e.width == 1 for e in elements) == 2


def test_without_readings_the_week_chart_is_empty_and_begins_today() -> None:
    """Seven days from today to plot into by hand."""
    elements = week_chart(story(), Box(8, 8, 76, 30), FAHRENHEIT, "BY HAND", None, 7.0)
    assert not any(isinstance(e, Trace) for e in elements)
    assert texts(elements)[-7:] == ["THU", "FRI", "SAT", "SUN", "MON", "TUE", "WED"]
    assert f"{NOW:%a}".upper() == "THU"


def test_the_standing_grid_has_the_names_it_is_given() -> None:
    """For the checklist that is laminated; in the farm's unit."""
    days = ["MON", "TUE", "WED", "THU", "FRI", "SAT", "SUN"]
    words = texts(empty_chart(days, Box(8, 8, 76, 30), Wording("C"), "BY HAND", 1.0, 7.0))
    assert [word for word in words if word in days] == days
    assert {"0 °C", "8 °C"} <= set(words)


def test_hand_readings_are_boxes_and_no_line() -> None:
    """A week of looks at 36 and 48 °F."""
    found = story(hands=by_hand(celsius(36), celsius(48)))
    elements = week_chart(found, Box(8, 8, 76, 30), FAHRENHEIT, "LAST WEEK", None, 7.0)
    assert not any(isinstance(e, Trace) for e in elements)
    assert sum(isinstance(e, Frame) for e in elements) == 2  # the looks were alike, and the plot


def test_the_humidity_chart_reaches_a_hundred_percent_and_is_hatched_from_93() -> None:
    """Six hours a day at 96 %."""
    found = story(logged(4.0, rh=lambda moment: 96.0 if moment.hour < 6 else 86.0))
    drawn = humidity_chart(found, FAHRENHEIT)
    assert drawn.ticks[-1] == (100.0, "100 %")
    assert len(upright(draw_chart(drawn, BOX))) >= 7 * 4


def test_the_chart_of_days_has_a_bar_for_each() -> None:
    """Twelve days of 24 hours touch thirteen calendar days."""
    drawn = days_chart(story(logged(swinging, days=12)), FAHRENHEIT)
    assert len(drawn.spans) == 13
    assert (drawn.start, drawn.end) == (datetime(2027, 3, 20), datetime(2027, 4, 2))
