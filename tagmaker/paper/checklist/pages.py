"""The weekly cooler checklist: a lying page a cooler, continued where its lots do not fit."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime

from tagmaker.farm import Cooler, Farm
from tagmaker.lot import Lot, StorageDates
from tagmaker.paper.checklist import grid as layout
from tagmaker.paper.checklist.foot import advice_of, chart_box, foot, notes
from tagmaker.paper.checklist.grid import DAYS, Grid
from tagmaker.paper.checklist.rows import LotRow, draw_row, lot_row, pages_of, rows_head
from tagmaker.paper.checklist.trim import trim_marks
from tagmaker.paper.checklist.words import NAMED, TEMPLATE, row_words, strip_paragraphs, task_paragraphs
from tagmaker.paper.cooler.charts import empty_chart, week_chart
from tagmaker.paper.press.boxes import Box, Drawing, Element, Placed, Rule, Sheet
from tagmaker.paper.press.ink import Inked, print_sheets
from tagmaker.paper.press.qr import SizedSymbol, link_text, sized_symbol
from tagmaker.paper.press.stacking import Paragraph
from tagmaker.storage.cooler_summary import CoolerSummary
from tagmaker.storage.room import RoomDay
from tagmaker.telling.cooler_week import CoolerWeek, Limits, cooler_weeks, limits
from tagmaker.telling.naming import cooler_page_names
from tagmaker.telling.order import Work
from tagmaker.telling.teller import Teller
from tagmaker.telling.wording import Wording

FILE_NAME = "cooler-checklist.pdf"
WRITTEN_STRIP = 30.0  # [mm] height of the strip where it is written by hand


@dataclass(frozen=True, slots=True, kw_only=True)
class _Plan:
    """What stands on the pages of one cooler."""

    cooler: str
    week: str
    printed: str
    days: tuple[str, ...]
    strip_head: tuple[Paragraph, ...]
    strip: tuple[tuple[Paragraph, ...], ...]
    strip_least: float  # [mm]
    low: str
    high: str
    rows: tuple[LotRow, ...]
    chart: Sequence[Element]
    code: SizedSymbol


def cooler_checklists(
    dated: Sequence[StorageDates],
    teller: Teller,
    room: Sequence[RoomDay] = (),
    told: Sequence[CoolerSummary] = (),
    plans: Sequence[Lot] = (),
    *,
    blank: bool = False,
    weeks: int = 1,
) -> Inked:
    """The checklists of all coolers for the weeks from today on, as a PDF in memory.

    Args:
        dated: the lots and their dates.
        teller: coolers, uses, workday, paper size and link; stems per bucket, hours in water, the
            tenderest crop; words, and the moment of printing, whose day is the first.
        room: room taken per cooler and day, and the lots to move where it overflows.
        told: what the thermometers of the coolers showed; without it the chart is for plotting by hand.
        plans: rows that are still to be cut.
        blank: the standing grid instead: no dates, every row to be written in.
        weeks: how many, each on pages of its own.

    Raises:
        InputProblems: a link is too long for its code, a template is faulty, or the font lacks a
            character.
    """
    sheets = checklist_sheets(dated, teller, room, told, plans, blank=blank, weeks=weeks)
    title = teller.wording.macros(TEMPLATE).title()
    return print_sheets(FILE_NAME, title, sheets, printer=teller.farm.chosen_printer)


def checklist_sheets(
    dated: Sequence[StorageDates],
    teller: Teller,
    room: Sequence[RoomDay] = (),
    told: Sequence[CoolerSummary] = (),
    plans: Sequence[Lot] = (),
    *,
    blank: bool = False,
    weeks: int = 1,
) -> tuple[Sheet, ...]:
    """The pages of `cooler_checklists`, before they are ink; same arguments."""
    farm, wording = teller.farm, teller.wording
    grid = Grid(*layout.PAGES[farm.paper_size])
    if blank:
        pages = [_blank_plan(grid, cooler, teller) for cooler in farm.coolers.values()]
    else:
        by_cooler = {summary.cooler.name: summary for summary in told}
        pages = [
            _week_plan(grid, week, teller, room, by_cooler.get(week.cooler.name))
            for ahead in range(weeks)
            for week in cooler_weeks(dated, teller, ahead, plans)
        ]
    cuts = trim_marks(grid.width, grid.height)
    return tuple(
        Sheet(grid.width, grid.height, (Placed(drawing, 0, 0), Placed(cuts, 0, 0)))
        for plan in pages
        for drawing in _pages(grid, plan, wording)
    )


def _week_plan(
    grid: Grid,
    week: CoolerWeek,
    teller: Teller,
    room: Sequence[RoomDay],
    summary: CoolerSummary | None,
) -> _Plan:
    farm, wording, now = teller.farm, teller.wording, teller.now
    say = wording.macros(TEMPLATE)
    rooms = {day.day: day for day in room if day.cooler == week.cooler.name}
    days = week.days
    told = summary.notes if summary and days[0] == now.date() else ()
    rows = [
        lot_row(
            grid,
            row_words(row, teller),
            [task_paragraphs(tasks, week.cooler.name, wording) for tasks in row.tasks],
        )
        for row in week.lots
    ]
    return _Plan(
        cooler=say.cooler(name=week.cooler.name),
        week=say.week(first=days[0], last=days[-1]),
        printed=say.printed(now=now, farm=farm.name),
        days=tuple(wording.day(day) for day in days),
        strip_head=(
            Paragraph(say.strip_head(), 10, "bold"),
            Paragraph(say.strip_help(), 8, before=0.7),
            *(Paragraph(wording.say(note), 8, "bold", before=1.2) for note in told),
        ),
        strip=tuple(
            _strip_cell(grid, works, farm.workday.is_off(day), rooms.get(day), wording)
            for day, works in zip(days, week.works, strict=True)
        ),
        strip_least=0.0,
        low=say.low(limit_c=week.limits.low_c),
        high=say.high(limit_c=week.limits.high_c),
        rows=tuple(rows),
        chart=tuple(_chart(grid, week, summary, wording, now)),
        code=_code(week.cooler, farm, f"{days[0]:%Y-%m-%d}", wording),
    )


def _blank_plan(grid: Grid, cooler: Cooler, teller: Teller) -> _Plan:
    farm, wording = teller.farm, teller.wording
    say = wording.macros(TEMPLATE)
    bounds = limits(cooler, (), teller.crops)
    days = tuple(say.weekday(number=number) for number in range(DAYS))
    return _Plan(
        cooler=say.cooler(name=cooler.name),
        week=say.week_blank(),
        printed=say.standing(farm=farm.name),
        days=days,
        strip_head=(
            Paragraph(say.strip_head(), 10, "bold"),
            Paragraph(say.strip_help_blank(), 8, before=0.7),
        ),
        strip=tuple(
            (Paragraph(say.day_off(), 8),) if n in farm.workday.days_off else () for n in range(DAYS)
        ),
        strip_least=WRITTEN_STRIP,
        low=say.low_blank(limit_c=bounds.low_c),
        high=say.high(limit_c=bounds.high_c),
        rows=(),
        chart=_empty_chart(grid, bounds, tuple(day.split(" ")[0] for day in days), wording),
        code=_code(cooler, farm, "", wording),
    )


def _strip_cell(
    grid: Grid, works: Sequence[Work], off: bool, room: RoomDay | None, wording: Wording
) -> tuple[Paragraph, ...]:
    """A day's strip with as many lots named as keep it low; the rest are counted, and stand in their rows."""
    for named in NAMED:
        cell = strip_paragraphs(works, off, room, wording, named)
        if layout.day_height(grid, cell) <= layout.STRIP_WISHED:
            break
    return cell


def _chart(
    grid: Grid, week: CoolerWeek, summary: CoolerSummary | None, wording: Wording, now: datetime
) -> Iterable[Element]:
    """What was read last week; without any, the week to come, to be plotted by hand.

    What was read stands on the first week's page; the later ones have room for notes in its place.
    """
    box, say = chart_box(_foot_box(grid)), wording.macros(TEMPLATE)
    if summary is None or summary.week is None:
        days = tuple(wording.day(day).split(" ")[0] for day in week.days)
        return _empty_chart(grid, week.limits, days, wording)
    if week.days[0] != now.date():
        return notes(box, say.notes_head())
    head = say.chart_head(by_hand=False)
    return week_chart(summary, box, wording, head, week.limits.low_c, week.limits.high_c)


def _empty_chart(grid: Grid, bounds: Limits, days: tuple[str, ...], wording: Wording) -> Sequence[Element]:
    head = wording.macros(TEMPLATE).chart_head(by_hand=True)
    return empty_chart(days, chart_box(_foot_box(grid)), wording, head, bounds.low_c, bounds.high_c)


def _foot_box(grid: Grid) -> Box:
    inner = grid.inner
    return Box(inner.x, inner.bottom - layout.FOOT, inner.width, layout.FOOT)


def _code(cooler: Cooler, farm: Farm, week: str, wording: Wording) -> SizedSymbol:
    """The code of the cooler's page: the farm's link with that page for a lot's, else its name."""
    if farm.link is not None and "{lot}" in farm.link:
        text = link_text(farm.link, cooler_page_names(farm.coolers)[cooler.name], 0)
    else:
        text = wording.macros(TEMPLATE).code_text(cooler=cooler.name, first=week)
    return sized_symbol(text, layout.QR_SIDE, f"the checklist of {cooler.name}")


def _pages(grid: Grid, plan: _Plan, wording: Wording) -> Iterator[Drawing]:
    """The pages of a cooler: the first with strip, thermometer and foot, the others with rows alone."""
    say = wording.macros(TEMPLATE)
    inner = grid.inner
    fixed = layout.HEAD + layout.DAY_HEAD + 3 * layout.WRITE_ON + 2 * layout.CAPTION + layout.FOOT + 2.5
    tall = max(layout.strip_height(grid, plan.strip_head, plan.strip, inner.height - fixed), plan.strip_least)
    room = inner.height - fixed - tall
    later = inner.height - layout.CONTINUED_HEAD - layout.DAY_HEAD - layout.CAPTION - 1
    pages = pages_of(plan.rows, room, later)
    for number, shown in enumerate(pages, start=1):
        page = say.page(number=number, count=len(pages))
        if number == 1:
            elements = _first_page(grid, plan, tall, shown, page, wording)
        else:
            elements = _further_page(grid, plan, shown, page, wording)
        yield Drawing(grid.width, grid.height, tuple(elements), where=plan.cooler)


def _first_page(
    grid: Grid, plan: _Plan, tall: float, rows: Sequence[LotRow], page: str, wording: Wording
) -> Iterator[Element]:
    say, inner = wording.macros(TEMPLATE), grid.inner
    yield from layout.page_head(grid, plan.cooler, plan.week, page, plan.printed)
    y = inner.y + layout.HEAD
    yield from layout.day_heads(grid, y, plan.days)
    y += layout.DAY_HEAD
    yield from layout.strip(grid, y, tall, plan.strip_head, plan.strip, plan.code)
    y += tall
    yield from layout.write_on_row(grid, y, layout.WRITE_ON, say.mould())
    y += layout.WRITE_ON
    yield from layout.half_day_captions(grid, y, (say.morning(), say.evening()))
    y += layout.CAPTION
    for label in (plan.low, plan.high):
        yield from layout.write_on_row(grid, y, layout.WRITE_ON, label, halves=2)
        y += layout.WRITE_ON
    yield from _rows(grid, y, rows, wording)
    box = _foot_box(grid)
    yield Rule(inner.x, box.y - 1.5, inner.right, box.y - 1.5, width=1)
    yield from foot(box, plan.chart, advice_of(wording, TEMPLATE), say.laminating())


def _further_page(
    grid: Grid, plan: _Plan, rows: Sequence[LotRow], page: str, wording: Wording
) -> Iterator[Element]:
    height = layout.CONTINUED_HEAD
    yield from layout.page_head(grid, plan.cooler, plan.week, page, "", height)
    y = grid.inner.y + height
    yield from layout.day_heads(grid, y, plan.days)
    yield from _rows(grid, y + layout.DAY_HEAD, rows, wording)


def _rows(grid: Grid, y: float, rows: Sequence[LotRow], wording: Wording) -> Iterator[Element]:
    say = wording.macros(TEMPLATE)
    if rows:
        yield from rows_head(grid, y, say.lots_head(), say.sell_by_head(), say.left_head())
    y += layout.CAPTION
    for row in rows:
        yield from draw_row(grid, y, row)
        y += row.height
