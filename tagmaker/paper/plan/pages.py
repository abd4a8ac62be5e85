"""The pages of a season plan: rows to accept and sentences, then a chart for every cooler."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from tagmaker.farm import PAPER_SIZES, Farm
from tagmaker.paper.plan.charts import room_charts
from tagmaker.paper.press.boxes import Box, Drawing, Element, Frame, Placed, Rule, Sheet, Text, Weight
from tagmaker.paper.press.chart import draw_chart
from tagmaker.paper.press.fitting import ELLIPSIS, fit
from tagmaker.paper.press.ink import Inked, print_sheets
from tagmaker.paper.press.stacking import Paragraph, paragraph_height, stack
from tagmaker.storage.room import RoomDay
from tagmaker.telling.season_told import TEMPLATE, PlanWords, RowWords
from tagmaker.telling.wording import Wording

FILE_NAME = "season-plan.pdf"
MARGIN = 12.0  # [mm] of white all round
HEAD = 15.0  # [mm] height of the title and the line below it
SIZE = 11.0  # [pt] of sentences
SMALL = 8.0  # [pt] of the columns' heads
LARGE_LEAST = 9.0  # [pt] of a cell whose words have the room
LEAST = 6.0  # [pt]
ROW = 9.6  # [mm] height of a row to accept
TICK = 4.5  # [mm] side of the box to tick
COLUMNS = ("lot", "bunches", "code", "use", "leaves", "cooler", "water", "marks")
BOLD = ("lot", "bunches", "code")
SHARES = (0.155, 0.075, 0.08, 0.14, 0.115, 0.155, 0.115, 0.165)  # of the width beside the box to tick
CHART = 62.0  # [mm] height of a chart
CHART_GAP = 6.0  # [mm] below it
PARTS = ("room", "lacking", "unplaced", "makes_it")


@dataclass(frozen=True, slots=True)
class _Heads:
    """The heads of the columns of rows."""


_Item = Paragraph | RowWords | _Heads


def season_plan_paper(
    words: PlanWords, rooms: Sequence[RoomDay], farm: Farm, wording: Wording, now: datetime
) -> Inked:
    """The plan as a PDF in memory.

    Args:
        words: what is said.
        rooms: the fullest moment of each cooler and day, all rows accepted.
        farm: paper size, coolers and name.
        wording: the farm's words.
        now: the moment of printing.

    Raises:
        InputProblems: a template is faulty, or the font lacks a character.
    """
    sheets = plan_sheets(words, rooms, farm, wording, now)
    title = wording.macros(TEMPLATE).file_title(farm=farm.name)
    return print_sheets(FILE_NAME, title, sheets, printer=farm.chosen_printer)


def plan_sheets(
    words: PlanWords, rooms: Sequence[RoomDay], farm: Farm, wording: Wording, now: datetime
) -> tuple[Sheet, ...]:
    """The pages of `season_plan_paper`, before they are ink; same arguments."""
    width, height = PAPER_SIZES[farm.paper_size]
    inner = Box(0, 0, width, height).inset(MARGIN)
    body = Box(inner.x, inner.y + HEAD, inner.width, inner.height - HEAD)
    say = wording.macros(TEMPLATE)
    pages = [list(_set_items(page, body, say)) for page in _paged(_items(words, say), body)]
    pages += _chart_pages(rooms, farm, wording, body)
    printed = say.printed(now=now, farm=farm.name)
    return tuple(
        Sheet(width, height, (Placed(Drawing(width, height, (*head, *page), where=say.title()), 0, 0),))
        for number, page in enumerate(pages, start=1)
        for head in [tuple(_head(inner, say, number, len(pages), printed))]
    )


def _head(inner: Box, say: Any, number: int, count: int, printed: str) -> Iterator[Element]:
    title = say.title() if number == 1 else say.goes_on(title=say.title())
    left = Box(inner.x, inner.y, inner.width * 0.6, HEAD - 6)
    yield fit(title, left, most=22, least=12, weight="bold")
    right = Box(left.right, inner.y, inner.right - left.right, (HEAD - 6) / 2)
    yield fit(say.page(number=number, count=count), right, most=10, least=LEAST, weight="bold", align="right")
    yield fit(printed, right.moved(0, right.height), most=9, least=6, align="right")
    yield Rule(inner.x, inner.y + HEAD - 4, inner.right, inner.y + HEAD - 4, width=2)


def _items(words: PlanWords, say: Any) -> Iterator[_Item]:
    """All that stands before the charts, in order."""
    yield Paragraph(words.span, SIZE)
    if words.unproven:
        yield Paragraph(words.unproven, SIZE, "bold", before=2)
    if words.lots:
        yield Paragraph(say.part(name="lots"), SIZE + 2, "bold", before=4)
        yield from (Paragraph(sentence, SIZE, before=1.2) for sentence in words.lots)
    if words.rows:
        yield _Heads()
        yield from words.rows
    for part in PARTS:
        sentences = getattr(words, part)
        if part == "room" and not sentences:
            sentences = (say.fits(),)
        if sentences:
            yield Paragraph(say.part(name=part), SIZE + 2, "bold", before=5)
            yield from (Paragraph(sentence, SIZE, before=1.2) for sentence in sentences)


def _height(item: _Item, width: float) -> float:
    if isinstance(item, Paragraph):
        return item.before + paragraph_height(item, width)
    return ROW


def _paged(items: Iterator[_Item], body: Box) -> list[list[_Item]]:
    """What stands on each page: a heading stands with what follows it, rows go on below their heads."""
    pages: list[list[_Item]] = [[]]
    room = body.height
    waiting: list[_Item] = []
    for item in items:
        waiting.append(item)
        if isinstance(item, _Heads) or (isinstance(item, Paragraph) and item.size > SIZE):
            continue
        height = sum(_height(each, body.width) for each in waiting)
        if height > room + 1e-6 and pages[-1]:
            pages.append([])
            if isinstance(item, RowWords) and not isinstance(waiting[0], _Heads):
                waiting.insert(0, _Heads())
            room, height = body.height, sum(_height(each, body.width) for each in waiting)
        pages[-1] += waiting
        room -= height
        waiting = []
    return pages


def _set_items(items: Sequence[_Item], body: Box, say: Any) -> Iterator[Element]:
    y = body.y
    for item in items:
        height = _height(item, body.width)
        box = Box(body.x, y, body.width, height)
        if isinstance(item, Paragraph):
            yield from stack((item,), Box(box.x, y + item.before, box.width, height - item.before + 0.1))
        elif isinstance(item, RowWords):
            yield from _set_row(item, box)
        else:
            yield from _set_heads(box, say)
        y += height


def _cells(box: Box) -> Iterator[Box]:
    x, room = box.x + TICK + 2.0, box.width - TICK - 2.0
    for share in SHARES:
        yield Box(x, box.y, room * share - 1.5, box.height)
        x += room * share


def _set_heads(box: Box, say: Any) -> Iterator[Element]:
    for cell, column in zip(_cells(box), COLUMNS, strict=True):
        above = cell._replace(height=cell.height - 1.0)
        yield fit(say.heading(column=column), above, most=SMALL, least=6, weight="bold", stand="bottom")
    yield Rule(box.x, box.bottom, box.right, box.bottom, width=1)


def _set_row(row: RowWords, box: Box) -> Iterator[Element]:
    """A box to tick, and the cells; below the lot its row's name, below the use its orders."""
    yield Frame(Box(box.x, box.y + (box.height - TICK) / 2, TICK, TICK), width=0.8)
    small = {"lot": row.id, "use": row.orders}
    for cell, column in zip(_cells(box), COLUMNS, strict=True):
        text, below = getattr(row, column), small.get(column, "")
        lines: tuple[str, ...] = getattr(row, f"{column}_lines", ())
        if len(lines) > 1:
            part = cell._replace(height=cell.height / len(lines))
            for number, line in enumerate(lines):
                yield fit(line, part.moved(0, number * part.height), most=SIZE - 1, least=LEAST)
            continue
        if below:
            upper = cell._replace(height=cell.height * 0.58)
            lower = Box(cell.x, upper.bottom, cell.width, cell.height - upper.height - 0.4)
            yield fit(below, lower, most=7, least=5)
            cell = upper
        if text:
            yield _cell(text, cell, "bold" if column in BOLD else "regular")
    yield Rule(box.x, box.bottom, box.right, box.bottom, width=0.25)


def _cell(text: str, cell: Box, weight: Weight) -> Text:
    """A cell's text, on two lines rather than small; small rather than cut."""
    large = fit(text, cell, most=SIZE, least=LARGE_LEAST, lines=2, weight=weight)
    if not large.lines[-1].text.endswith(ELLIPSIS):
        return large
    return fit(text, cell, most=SIZE, least=LEAST, lines=3, weight=weight)


def _chart_pages(
    rooms: Sequence[RoomDay], farm: Farm, wording: Wording, body: Box
) -> Iterator[list[Element]]:
    """The charts of every cooler, as many to a page as fit; how to read them stands at the foot."""
    charts = [
        chart
        for cooler in farm.coolers.values()
        for chart in room_charts(cooler, [day for day in rooms if day.cooler == cooler.name], wording)
    ]
    key = Paragraph(wording.macros(TEMPLATE).key(), SIZE - 1)
    foot = paragraph_height(key, body.width)
    each = int((body.height - foot) // (CHART + CHART_GAP))
    for first in range(0, len(charts), each):
        page: list[Element] = []
        y = body.y
        for chart in charts[first : first + each]:
            page += draw_chart(chart, Box(body.x, y, body.width, CHART))
            y += CHART + CHART_GAP
        page += stack((key,), Box(body.x, y, body.width, foot + 0.1))
        yield page
