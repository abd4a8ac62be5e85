"""The foot of a checklist: limits, a chart or room for notes, what to do when, the code."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from datetime import datetime

from tagmaker.paper.checklist.grid import THIN, WRITE_ON
from tagmaker.paper.cooler.charts import empty_chart, week_chart
from tagmaker.paper.press.boxes import Box, Code, Element, Frame, Rule
from tagmaker.paper.press.fitting import fit
from tagmaker.paper.press.qr import SizedSymbol
from tagmaker.paper.press.stacking import Paragraph, squeezed, stack
from tagmaker.storage.cooler_summary import CoolerSummary
from tagmaker.telling.cooler_week import CoolerWeek, Limits
from tagmaker.telling.wording import Wording

TEMPLATE = "cooler-checklist.j2"
LIMITS = 5.0  # [mm] height of the line on limits
QR_SIDE = 25.2  # [mm] of the code: 37 modules of 8 printer dots, 0.68 mm
FOOT = LIMITS + QR_SIDE  # [mm]
CHART_WIDTH = 64.0  # [mm]
GAP = 2.5  # [mm] between two columns
LAST_LINE = 3.8  # [mm] height of the line on laminating
NOTES_HEAD = 4.5  # [mm]
SIZES = (8.0, 7.5, 7.0, 6.5, 6.0)  # [pt] tried for the advice; longer wording is cut


def foot(
    box: Box, chart: Iterable[Element], code: SizedSymbol, limits: str, wording: Wording
) -> Iterator[Element]:
    """A line on the limits; below it the chart, advice in columns with a line on laminating, and the code."""
    say = wording.macros(TEMPLATE)
    yield fit(limits, box._replace(height=LIMITS), most=10, least=6, weight="bold")
    yield from chart
    below = _below(box)
    x, right = below.x + CHART_WIDTH + GAP, below.right - QR_SIDE
    advice = (
        (say.limits_head(), say.limits_text()),
        (say.mould_head(), say.mould_text()),
        (say.never_head(), say.never_text()),
        (say.care_head(), say.care_text()),
    )
    last = Box(x, below.bottom - LAST_LINE, right - x - GAP, LAST_LINE)
    letters = sum(len(text) for _, text in advice)
    for head, text in advice:
        wide = (right - last.x) * len(text) / max(letters, 1)
        column = Box(x, below.y, max(wide - GAP, LAST_LINE), last.y - below.y)
        yield from stack(squeezed((Paragraph(head, 8, "bold"), Paragraph(text, 8)), column, SIZES), column)
        x += wide
    yield fit(say.laminating(), last, most=8, least=6, weight="bold", stand="bottom")
    yield Code(Box(right, below.y, QR_SIDE, QR_SIDE), code)


def _below(box: Box) -> Box:
    """A foot without its line on limits."""
    return Box(box.x, box.y + LIMITS, box.width, box.height - LIMITS)


def _chart_box(box: Box) -> Box:
    return _below(box)._replace(width=CHART_WIDTH)


def chart(
    box: Box, week: CoolerWeek, summary: CoolerSummary | None, wording: Wording, now: datetime
) -> Iterable[Element]:
    """What was read last week; without any, the week to come, to be plotted by hand.

    What was read stands on the first week's page; the later ones have room for notes in its place.
    """
    say = wording.macros(TEMPLATE)
    if summary is None or summary.week is None:
        names = tuple(wording.day(day).split(" ")[0] for day in week.days)
        return chart_by_hand(box, week.limits, names, wording)
    if week.days[0] != now.date():
        return _notes(_chart_box(box), say.notes_head())
    head = say.chart_head(by_hand=False)
    return week_chart(summary, _chart_box(box), wording, head, week.limits.low_c, week.limits.high_c)


def chart_by_hand(box: Box, bounds: Limits, names: tuple[str, ...], wording: Wording) -> tuple[Element, ...]:
    """A chart of the days of these names, to be plotted by hand."""
    head = wording.macros(TEMPLATE).chart_head(by_hand=True)
    return empty_chart(names, _chart_box(box), wording, head, bounds.low_c, bounds.high_c)


def _notes(box: Box, head: str) -> Iterator[Element]:
    """Lines to write on, in place of a chart."""
    yield fit(head, Box(box.x, box.y, box.width, NOTES_HEAD - 1), most=9, least=6, weight="bold")
    room = Box(box.x, box.y + NOTES_HEAD, box.width, box.height - NOTES_HEAD)
    yield Frame(room, width=THIN)
    count = int(room.height / WRITE_ON)
    for n in range(1, count):
        y = room.y + room.height * n / count
        yield Rule(room.x, y, room.right, y, width=THIN)
