"""The charts of a cooler: its week, its humidity, its days; for the report and for the checklist."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import date, datetime, time, timedelta
from itertools import chain

from tagmaker.paper.press.boxes import Box, Element
from tagmaker.paper.press.chart import Chart, DayName, Limit, Span, draw_chart, midnights, round_ticks
from tagmaker.storage.climate import HIGH_C, MOULD_RH
from tagmaker.storage.cooler_summary import SHORT_DAYS, CoolerSummary
from tagmaker.storage.moments import DAY
from tagmaker.telling.cooler_week import HIGHEST_C
from tagmaker.telling.wording import Wording

TEMPLATE = "cooler-report.j2"
STEPS = {"F": (5, 10, 20, 40), "C": (2, 5, 10, 20)}  # degrees between two ticks
WET_STEPS = (5, 10, 20, 50)  # [%] between two ticks
MOST_STEPS = 6
FEWER_STEPS = 4  # where a chart is low
PAD_C = 0.5  # [°C] of white beyond the readings


def week_chart(
    summary: CoolerSummary, box: Box, wording: Wording, head: str, low_c: float | None, high_c: float
) -> tuple[Element, ...]:
    """The seven days before the end of what was read, small: for a checklist.

    Args:
        summary: the cooler's; without readings the chart is an empty week from today.
        box: where it goes [mm].
        wording: the farm's words.
        head: what stands above it.
        low_c: lower limit [°C], if there is one.
        high_c: upper limit [°C].
    """
    if summary.week is None:
        days = [wording.day(summary.now.date() + ahead * DAY).split(" ")[0] for ahead in range(SHORT_DAYS)]
        return empty_chart(days, box, wording, head, low_c, high_c)
    limits = (*([Limit(low_c, above=False)] if low_c is not None else []), Limit(high_c, above=True))
    return draw_chart(_week(summary, wording, head, limits, FEWER_STEPS), box)


def empty_chart(
    days: Sequence[str], box: Box, wording: Wording, head: str, low_c: float | None, high_c: float
) -> tuple[Element, ...]:
    """A chart to plot into by hand.

    Args:
        days: names of its days.
        box: where it goes [mm].
        wording: the farm's words.
        head: what stands above it.
        low_c: lower limit [°C], if there is one.
        high_c: upper limit [°C].
    """
    start = datetime(2001, 1, 1)  # any: the days carry the names given
    limits = (*([Limit(low_c, above=False)] if low_c is not None else []), Limit(high_c, above=True))
    values = [limit.value for limit in limits]
    chart = Chart(
        head=head,
        start=start,
        end=start + len(days) * DAY,
        ticks=_ticks(values, wording, FEWER_STEPS),
        days=tuple(DayName(start + n * DAY, start + (n + 1) * DAY, (day,)) for n, day in enumerate(days)),
        limits=limits,
    )
    return draw_chart(chart, box)


def temperature_chart(summary: CoolerSummary, wording: Wording) -> Chart:
    """The week's temperature with the limits named; the summary has readings."""
    return _week(
        summary,
        wording,
        wording.macros(TEMPLATE).chart_week(by_hand=summary.by_hand, logged=bool(summary.runs)),
        named_limits(summary, wording),
        MOST_STEPS,
    )


def humidity_chart(summary: CoolerSummary, wording: Wording) -> Chart:
    """The week's relative humidity; the summary has some."""
    say = wording.macros(TEMPLATE)
    lowest = min(value for run in summary.damp for _, value in run)
    start, end = _week_span(summary)
    return Chart(
        head=say.chart_humidity(),
        start=start,
        end=end,
        ticks=tuple(
            (tick, say.percent(value=tick))
            for tick in round_ticks(min(lowest, 85), 100, WET_STEPS, FEWER_STEPS)
        ),
        days=day_names(start, end, wording),
        limits=(Limit(MOULD_RH, above=True, name=say.limit_mould(rh=MOULD_RH)),),
        runs=summary.damp,
    )


def days_chart(summary: CoolerSummary, wording: Wording) -> Chart:
    """A bar a day for up to four weeks; the summary has readings."""
    spans = tuple(
        Span(_midnight(day.day), _midnight(day.day + DAY), day.low_c, day.high_c, day.mean_c)
        for day in summary.days
    )
    limits = tuple(Limit(limit.value, limit.above) for limit in named_limits(summary, wording))
    start, end = spans[0].start, spans[-1].end
    values = [*(span.low for span in spans), *(span.high for span in spans)]
    return Chart(
        head=wording.macros(TEMPLATE).chart_days(days=(end - start).days),
        start=start,
        end=end,
        ticks=_ticks([*values, *_near(limits, values)], wording, FEWER_STEPS),
        days=tuple(replace(day, names=day.names[:2]) for day in day_names(start, end, wording)),
        limits=limits,
        spans=spans,
    )


def named_limits(summary: CoolerSummary, wording: Wording) -> tuple[Limit, ...]:
    """Where it is too warm, and what the tenderest crop inside bears."""
    say = wording.macros(TEMPLATE)
    warm = Limit(HIGH_C, above=True, name=say.limit_warm(limit_c=HIGHEST_C))
    if summary.tender is None:
        return (warm,)
    tender = summary.tender
    name = say.limit_cold(crop=tender.keeping.crop, limit_c=tender.limit_c, chilled=tender.chilled)
    return warm, Limit(tender.limit_c, above=False, name=name)


def day_names(start: datetime, end: datetime, wording: Wording) -> tuple[DayName, ...]:
    """The days between two moments, each with its names from the longest to the shortest."""
    return tuple(
        DayName(first, last, (name := wording.day(first), name.rpartition(" ")[0], name.split(" ")[0]))
        for first, last in midnights(start, end)
    )


def _week(summary: CoolerSummary, wording: Wording, head: str, limits: tuple[Limit, ...], most: int) -> Chart:
    start, end = _week_span(summary)
    values = [value for run in summary.runs for _, value in run]
    values += chain.from_iterable((look.low_c, look.high_c) for look in summary.looks)
    return Chart(
        head=head,
        start=start,
        end=end,
        ticks=_ticks([*values, *(limit.value for limit in limits)], wording, most),
        days=day_names(start, end, wording),
        limits=limits,
        runs=summary.runs,
        spans=tuple(Span(look.start, look.end, look.low_c, look.high_c) for look in summary.looks),
        gaps=tuple((gap.start, gap.end) for gap in summary.gaps if gap.end > start),
        gap_name=wording.macros(TEMPLATE).gap(),
    )


def _near(limits: Sequence[Limit], values: Sequence[float]) -> list[float]:
    return [limit.value for limit in limits if limit.above or limit.value > min(values) - 2]


def _week_span(summary: CoolerSummary) -> tuple[datetime, datetime]:
    """The seven days before the end of what was read."""
    end = summary.read_until or summary.now
    return end - timedelta(days=SHORT_DAYS), end


def _ticks(values: Sequence[float], wording: Wording, most: int) -> tuple[tuple[float, str], ...]:
    """Round temperatures in the farm's unit around some [°C], each with its name."""
    scale, zero, steps = (1.0, 0.0, STEPS["C"]) if wording.units == "C" else (1.8, 32.0, STEPS["F"])
    low, high = (t_c * scale + zero for t_c in (min(values) - PAD_C, max(values) + PAD_C))
    in_c = ((tick - zero) / scale for tick in round_ticks(low, high, steps, most))
    return tuple((t_c, wording.temp(t_c)) for t_c in in_c)


def _midnight(day: date) -> datetime:
    return datetime.combine(day, time())
