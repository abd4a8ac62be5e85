"""The weekly cooler checklist: the week's work on the first page, and behind it the lots."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Any

from tagmaker.lot import Lot, StorageDates
from tagmaker.paper.checklist.foot import foot
from tagmaker.paper.checklist.grid import PAGES, Grid, page_head
from tagmaker.paper.checklist.plan import Plan, foot_box, standing_plan, week_plan
from tagmaker.paper.checklist.rows import (
    BLANK_ROWS,
    FILLED_ROWS,
    HEADS,
    LEAST,
    LotRow,
    draw_rows,
    pages_of,
    rows_height,
)
from tagmaker.paper.checklist.trim import trim_marks
from tagmaker.paper.checklist.words import LINES, TEMPLATE, Told
from tagmaker.paper.checklist.work import (
    Captions,
    Column,
    balanced,
    column_width,
    columns_height,
    draw_work,
    flowing,
)
from tagmaker.paper.press.boxes import Box, Drawing, Element, Placed, Rule, Sheet
from tagmaker.paper.press.ink import Inked, print_sheets
from tagmaker.paper.press.stacking import stack, stack_height
from tagmaker.storage.cooler_summary import CoolerSummary
from tagmaker.storage.room import Overfull
from tagmaker.telling.cooler_week import cooler_weeks
from tagmaker.telling.teller import Teller
from tagmaker.telling.wording import Wording

FILE_NAME = "cooler-checklist.pdf"
LINE = 1.5  # [mm] of white around the line above the foot


def cooler_checklists(
    dated: Sequence[StorageDates],
    teller: Teller,
    overfull: Sequence[Overfull] = (),
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
        overfull: the days on which coolers have too little room, and what makes some.
        told: what the thermometers of the coolers showed; without it the chart is for plotting by hand.
        plans: rows that are still to be cut.
        blank: the standing sheet instead: no dates, everything to be written in.
        weeks: how many, each on pages of its own.

    Raises:
        InputProblems: a link is too long for its code, a template is faulty, or the font lacks a
            character.
    """
    sheets = checklist_sheets(dated, teller, overfull, told, plans, blank=blank, weeks=weeks)
    title = teller.wording.macros(TEMPLATE).title()
    return print_sheets(FILE_NAME, title, sheets, printer=teller.farm.chosen_printer)


def checklist_sheets(
    dated: Sequence[StorageDates],
    teller: Teller,
    overfull: Sequence[Overfull] = (),
    told: Sequence[CoolerSummary] = (),
    plans: Sequence[Lot] = (),
    *,
    blank: bool = False,
    weeks: int = 1,
) -> tuple[Sheet, ...]:
    """The pages of `cooler_checklists`, before they are ink; same arguments."""
    grid = Grid(*PAGES[teller.farm.paper_size])
    if blank:
        found = [standing_plan(grid, cooler, teller) for cooler in teller.farm.coolers.values()]
    else:
        by_cooler = {summary.cooler.name: summary for summary in told}
        found = [
            week_plan(grid, week, teller, overfull, by_cooler.get(week.cooler.name))
            for ahead in range(weeks)
            for week in cooler_weeks(dated, teller, ahead, plans)
        ]
    cuts = trim_marks(grid.width, grid.height)
    return tuple(
        Sheet(grid.width, grid.height, (Placed(drawing, 0, 0), Placed(cuts, 0, 0)))
        for plan in found
        for drawing in _pages(grid, plan, teller.wording)
    )


@dataclass(frozen=True, slots=True)
class _SetOut:
    """The work and the lots on their pages."""

    work: Sequence[tuple[Column, Column]]  # a page each
    lots: Sequence[tuple[LotRow, ...]]  # a page each; empty: all lots stand below the work
    told: Told
    below: float = 0.0  # [mm] height of the lots below the work


def _set_out(plan: Plan, width: float, first: float, later: float) -> _SetOut:
    """Everything on one page where it fits, else the work, as short as it must be, and the lots behind it.

    Args:
        plan: what is to be set.
        width: of a column of the work [mm].
        first: room on the first page, without what is above the work and the foot [mm].
        later: room on any other [mm].
    """
    lots = rows_height(plan.rows) + LINE
    for most in () if plan.by_hand else LINES:
        told = plan.work({row.lot: 0 for row in plan.rows}, most)
        if columns := balanced(told.days, width, first - lots):
            spare = first - lots - columns_height(columns, width)
            blanks = min(max(BLANK_ROWS, FILLED_ROWS - len(plan.rows)), int(spare / LEAST))
            return _SetOut([columns], (), told, lots + blanks * LEAST)
    pages = pages_of(plan.rows, later - HEADS)
    for most in LINES:
        told = plan.work(_numbers(pages, 2), most)
        if columns := balanced(told.days, width, first):
            return _SetOut([columns], pages, told)
    count = 1
    while True:
        told = plan.work(_numbers(pages, count + 1), LINES[-1])
        work = flowing(told.days, width, first, later)
        if len(work) <= count:
            return _SetOut(work, pages, told)
        count = len(work)


def _numbers(pages: Sequence[Sequence[LotRow]], first: int) -> dict[str, int]:
    """The number of the page on which each lot stands, counted from that of the first."""
    return {row.lot: number for number, rows in enumerate(pages, first) for row in rows}


def _pages(grid: Grid, plan: Plan, wording: Wording) -> Iterator[Drawing]:
    """The pages of a cooler."""
    say, body, end = wording.macros(TEMPLATE), grid.body, foot_box(grid).y - LINE
    above = stack_height(plan.said, body.width)
    first = Box(body.x, body.y + above, body.width, end - body.y - above)
    found = _set_out(plan, column_width(body.width), first.height, body.height)
    count = len(found.work) + len(found.lots)

    def page(number: int, title: str, elements: Iterable[Element]) -> Drawing:
        said = " · ".join(filter(None, (say.page(number=number, count=count), plan.printed)))
        head = page_head(grid, plan.cooler, title, said)
        return Drawing(grid.width, grid.height, (*head, *elements), where=plan.cooler)

    for number, columns in enumerate(found.work, start=1):
        box = first if number == 1 else body
        work = draw_work(
            _named(columns, say), _shorter(box, found.below), _captions(say), by_hand=plan.by_hand
        )
        elements = [*work, *(_foot_of(grid, plan, wording) if number == 1 else ())]
        if found.below:
            low = Box(box.x, box.bottom - found.below + LINE, box.width, found.below - LINE)
            elements += draw_rows(low, plan.rows, plan.heads, found.told.marks)
        yield page(number, say.work_title(week=plan.week), elements)
    for number, rows in enumerate(found.lots, start=len(found.work) + 1):
        elements = list(draw_rows(body, rows, plan.heads, found.told.marks))
        yield page(number, say.lots_title(week=plan.week), elements)


def _shorter(box: Box, by: float) -> Box:
    return box._replace(height=box.height - by)


def _captions(say: Any) -> Captions:
    return Captions(say.low_box(), say.high_box(), say.mould_box())


def _named(columns: tuple[Column, Column], say: Any) -> tuple[Column, Column]:
    """Two columns in which a day that goes on from another says so."""
    left, right = (
        tuple(day if day.boxes else replace(day, name=say.goes_on(day=day.name)) for day in column)
        for column in columns
    )
    return left, right


def _foot_of(grid: Grid, plan: Plan, wording: Wording) -> Iterator[Element]:
    """What stands above the work, and the foot below it."""
    body, box = grid.body, foot_box(grid)
    yield from stack(plan.said, body)
    yield Rule(box.x, box.y - LINE / 2, box.right, box.y - LINE / 2, width=1)
    yield from foot(box, plan.chart, plan.code, plan.limits, wording)
