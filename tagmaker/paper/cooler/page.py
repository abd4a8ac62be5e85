"""A page of the thermometer report: lots first, then the charts, what to do, and the small print."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass

from tagmaker.paper.cooler.charts import days_chart, humidity_chart, temperature_chart
from tagmaker.paper.cooler.words import (
    TEMPLATE,
    Advice,
    Figure,
    bands,
    figures,
    headings,
    lead,
    lot_rows,
    small_print,
    to_do,
    unmoved,
)
from tagmaker.paper.press.boxes import Box, Element, Rule
from tagmaker.paper.press.chart import Chart, draw_chart
from tagmaker.paper.press.fitting import fit
from tagmaker.paper.press.stacking import Paragraph, squeezed, stack, stack_height
from tagmaker.storage.cooler_summary import CoolerSummary
from tagmaker.telling.wording import Wording

GAP = 2.6  # [mm] between parts
HEAD = 12.0  # [mm]
LEAD = 10.0  # [mm]
ROW = 4.8  # [mm] height of a lot's row
SHARES = (0.13, 0.09, 0.14, 0.18, 0.14, 0.32)  # of the width, per column of the lots
LEAST = 6.0  # [pt]
CHART_LEAST, CHART_MOST = 38.0, 70.0  # [mm] height of the week's temperature
HUMIDITY, DAYS = 24.0, 27.0  # [mm] heights of the charts below it
ADVICE_MOST = 60.0  # [mm] height of what to do
ADVICE_SIZES = (9.0, 8.5, 8.0, 7.5, 7.0, 6.5, 6.0)  # [pt] tried in turn
UNREAD_SIZE = 11.0  # [pt] of the advice on a page without readings
NOTE, NOTES_MOST = 7.0, 12.0  # [pt] and [mm] of the small print's sentences
SMALL_ROW = 3.4  # [mm] height of a line of figures
COLUMN_GAP = 5.0  # [mm]
FIGURES = 0.68  # of the width for the figures; the rest is for the hours by temperature


@dataclass(frozen=True, slots=True)
class _Part:
    """A part of the page that knows how high it is, and draws itself from a height [mm] on."""

    height: float  # [mm]
    draw: Callable[[float], Iterable[Element]]


def cooler_pages(
    summary: CoolerSummary, inner: Box, wording: Wording, printed: str
) -> Iterator[tuple[Element, ...]]:
    """A cooler's page; lots for which it has no room go on further ones.

    Args:
        summary: the cooler's story.
        inner: the page without its margins [mm].
        wording: the farm's words.
        printed: when, as it stands in the head.
    """
    if summary.week is None:
        yield tuple(_unread_page(summary, inner, wording, printed))
        return
    rows = lot_rows(summary, wording)
    below = [_paragraph(unmoved(summary, wording), inner), _advice(summary, inner, wording)]
    foot = _small_print(summary, inner, wording)
    lower = _lower_charts(summary, inner, wording)
    fixed = sum(part.height + GAP for part in (*lower, *below, foot) if part.height)
    room = inner.height - HEAD - LEAD - fixed - CHART_LEAST
    first = _fitting_rows(len(rows), room - GAP)
    later = _fitting_rows(len(rows), inner.height - HEAD)
    count = 1 + -(-(len(rows) - first) // max(later, 1))
    tall = min(CHART_LEAST + room - ((first + 1) * ROW + GAP if first else 0.0), CHART_MOST)
    week = temperature_chart(summary, wording)
    upper = [
        _table(rows[:first], inner, wording),
        _Part(tall, lambda y: draw_chart(week, Box(inner.x, y, inner.width, tall))),
    ]
    elements = [*_head(summary, inner, wording, printed, 1, count), *_lead(summary, inner, wording)]
    elements += _under_one_another([*upper, *lower, *below], inner.y + HEAD + LEAD)
    yield (*elements, *foot.draw(inner.bottom - foot.height))
    for n in range(1, count):
        shown = _table(rows[first + (n - 1) * later : first + n * later], inner, wording)
        head = _head(summary, inner, wording, printed, n + 1, count)
        yield (*head, *shown.draw(inner.y + HEAD))


def _under_one_another(parts: Sequence[_Part], y: float) -> Iterator[Element]:
    for part in parts:
        if part.height:
            yield from part.draw(y)
            y += part.height + GAP


def _unread_page(summary: CoolerSummary, inner: Box, wording: Wording, printed: str) -> Iterator[Element]:
    """Nothing was read: what counts instead, and how to begin."""
    yield from _head(summary, inner, wording, printed, 1, 1)
    yield from _lead(summary, inner, wording)
    said = [
        paragraph
        for advice in to_do(summary, wording)
        for paragraph in (
            Paragraph(advice.head, UNREAD_SIZE, "bold", before=5),
            Paragraph(advice.text, UNREAD_SIZE, before=1),
        )
    ]
    said += [Paragraph(note, UNREAD_SIZE - 2, before=5) for note in small_print(summary, wording)]
    top = inner.y + HEAD + LEAD + GAP
    box = Box(inner.x, top, inner.width, inner.bottom - top)
    yield from stack(squeezed(said, box, (UNREAD_SIZE, *ADVICE_SIZES)), box)


def _head(
    summary: CoolerSummary, inner: Box, wording: Wording, printed: str, number: int, count: int
) -> Iterator[Element]:
    """Cooler, how far it was read and when it was printed, over a thick line."""
    say = wording.macros(TEMPLATE)
    tall = HEAD - 3.5
    left = Box(inner.x, inner.y, inner.width * 0.58, tall)
    yield fit(say.cooler(name=summary.cooler.name), left, most=22, least=LEAST, weight="bold")
    right = Box(left.right + 2, inner.y, inner.right - left.right - 2, tall / 2)
    read = (say.read(until=summary.read_until), say.page(number=number, count=count))
    yield fit(", ".join(filter(None, read)), right, most=10, least=LEAST, weight="bold", align="right")
    yield fit(printed, right.moved(0, tall / 2), most=9, least=LEAST, align="right")
    yield Rule(inner.x, inner.y + HEAD - 2, inner.right, inner.y + HEAD - 2, width=2)


def _lead(summary: CoolerSummary, inner: Box, wording: Wording) -> Iterator[Element]:
    box = Box(inner.x, inner.y + HEAD, inner.width, LEAD - 1.5)
    yield fit(lead(summary, wording), box, most=14, least=8, lines=2, weight="bold")


def _fitting_rows(count: int, room: float) -> int:
    """How many lots' rows, and their heads, go into a height [mm]."""
    return min(count, max(int(room / ROW + 1e-6) - 1, 0))


def _table(rows: Sequence[Sequence[str]], inner: Box, wording: Wording) -> _Part:
    """The lots whose date moves, with heads; no height where there are none."""

    def draw(y: float) -> Iterator[Element]:
        for n, row in enumerate((headings(wording), *rows)):
            x = inner.x
            for column, (share, text) in enumerate(zip(SHARES, row, strict=True)):
                cell = Box(x, y + n * ROW, inner.width * share - 1.5, ROW - 0.6)
                bold = n > 0 and column < 3
                size = 8.0 if n == 0 else 10.0
                yield fit(text, cell, most=size, least=LEAST, weight="bold" if bold else "regular")
                x += inner.width * share
            line = y + (n + 1) * ROW - 0.3
            yield Rule(inner.x, line, inner.right, line, width=0.75 if n == 0 else 0.25)

    return _Part((len(rows) + 1) * ROW if rows else 0.0, draw)


def _lower_charts(summary: CoolerSummary, inner: Box, wording: Wording) -> tuple[_Part, ...]:
    """Humidity and the longer time, where they were read."""
    charts = []
    if summary.damp:
        charts.append((humidity_chart(summary, wording), HUMIDITY))
    if summary.month is not None:
        charts.append((days_chart(summary, wording), DAYS))

    def part(chart: Chart, height: float) -> _Part:
        return _Part(height, lambda y: draw_chart(chart, Box(inner.x, y, inner.width, height)))

    return tuple(part(chart, height) for chart, height in charts)


def _paragraph(text: str, inner: Box) -> _Part:
    said = [Paragraph(text, 9, lines=3)]
    height = stack_height(said, inner.width)
    return _Part(height, lambda y: stack(said, Box(inner.x, y, inner.width, height + 0.1)))


def _advice(summary: CoolerSummary, inner: Box, wording: Wording) -> _Part:
    """What to do, in two columns of about the same height, as large as fits."""
    wide = (inner.width - COLUMN_GAP) / 2
    title = 5.5
    advice = to_do(summary, wording)
    for size in ADVICE_SIZES:
        columns = _two_columns([_said(one, size) for one in advice], wide)
        height = max(stack_height(column, wide) for column in columns)
        if height <= ADVICE_MOST:
            break
    height = min(height, ADVICE_MOST)

    def draw(y: float) -> Iterator[Element]:
        head = Box(inner.x, y, inner.width, title - 1)
        yield fit(wording.macros(TEMPLATE).to_do(), head, most=11, least=8, weight="bold")
        for n, column in enumerate(columns):
            box = Box(inner.x + n * (wide + COLUMN_GAP), y + title, wide, height + 0.1)
            yield from stack(squeezed(column, box, (size,)), box)

    return _Part(title + height, draw)


def _said(advice: Advice, size: float) -> tuple[Paragraph, ...]:
    return Paragraph(advice.head, size, "bold", before=1.8), Paragraph(advice.text, size, before=0.3)


def _two_columns(
    groups: Sequence[Sequence[Paragraph]], width: float
) -> tuple[tuple[Paragraph, ...], tuple[Paragraph, ...]]:
    """Groups of paragraphs in two columns, in order, split where the higher one is lowest."""

    def columns(at: int) -> tuple[tuple[Paragraph, ...], tuple[Paragraph, ...]]:
        left, right = groups[:at], groups[at:]
        return tuple(p for group in left for p in group), tuple(p for group in right for p in group)

    splits = [columns(at) for at in range(1, len(groups) + 1)]
    return min(splits, key=lambda split: max(stack_height(column, width) for column in split))


def _small_print(summary: CoolerSummary, inner: Box, wording: Wording) -> _Part:
    """Two tables of figures side by side, and a few sentences."""
    left, right = figures(summary, wording), bands(summary, wording)
    notes = [Paragraph(" ".join(small_print(summary, wording)), NOTE)]
    below = min(stack_height(notes, inner.width), NOTES_MOST)
    tall = max(len(left), len(right)) * SMALL_ROW

    def draw(y: float) -> Iterator[Element]:
        wide = inner.width * FIGURES
        yield Rule(inner.x, y, inner.right, y, width=0.75)
        yield from _figures(left, Box(inner.x, y + 1, wide - COLUMN_GAP, tall), 0.33)
        yield from _figures(right, Box(inner.x + wide, y + 1, inner.width - wide, tall), 0.54)
        box = Box(inner.x, y + tall + 1.5, inner.width, below + 0.1)
        yield from stack(squeezed(notes, box, (NOTE, 6.5, 6.0)), box)

    return _Part(tall + 1.6 + below, draw)


def _figures(rows: Sequence[Figure], box: Box, names: float) -> Iterator[Element]:
    """Names, the week and the month in three columns; the first takes a share of the width."""
    wide = box.width * (1 - names) / 2
    for n, row in enumerate(rows):
        y = box.y + n * SMALL_ROW
        cells = (
            Box(box.x, y, box.width * names - 1, SMALL_ROW),
            Box(box.x + box.width * names, y, wide - 1, SMALL_ROW),
            Box(box.x + box.width * names + wide, y, wide - 1, SMALL_ROW),
        )
        for text, cell in zip(row, cells, strict=True):
            if text:
                yield fit(text, cell, most=NOTE, least=5.0, weight="bold" if n == 0 else "regular")
