"""What stands on the pages of one cooler: a week's work and lots, or those of any week."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import asdict, dataclass
from functools import partial
from typing import Any

from tagmaker import notes
from tagmaker.farm import Cooler, Farm
from tagmaker.notes import Note
from tagmaker.paper.checklist.foot import FOOT, QR_SIDE, chart, chart_by_hand
from tagmaker.paper.checklist.grid import DAYS, Grid
from tagmaker.paper.checklist.rows import Heads, LotRow
from tagmaker.paper.checklist.words import TEMPLATE, Told, row_words, work_words
from tagmaker.paper.checklist.work import DayBlock, Job, column_width
from tagmaker.paper.press.boxes import Box, Element
from tagmaker.paper.press.qr import SizedSymbol, link_text, sized_symbol
from tagmaker.paper.press.stacking import Paragraph
from tagmaker.storage.cooler_summary import CoolerSummary
from tagmaker.storage.room import Overfull
from tagmaker.telling.cooler_week import CoolerWeek, limits
from tagmaker.telling.naming import cooler_page_names
from tagmaker.telling.teller import Teller
from tagmaker.telling.wording import Wording

LOUD, QUIET = 12.0, 9.0  # [pt] of what is said above the week's work


@dataclass(frozen=True, slots=True, kw_only=True)
class Plan:
    """What stands on the pages of one cooler."""

    cooler: str
    week: str
    printed: str
    said: tuple[Paragraph, ...]  # above the work: a log that is not there, room trouble
    work: Callable[[Mapping[str, int], int], Told]  # from the lots' pages and the most lines of a task
    rows: tuple[LotRow, ...]
    heads: Heads
    limits: str
    chart: tuple[Element, ...]
    code: SizedSymbol
    by_hand: bool = False  # tasks are written by hand


def week_plan(
    grid: Grid, week: CoolerWeek, teller: Teller, overfull: Sequence[Overfull], summary: CoolerSummary | None
) -> Plan:
    """The sheet of a cooler's week; what its thermometer showed is said in the first week alone."""
    wording, days = teller.wording, week.days
    say = wording.macros(TEMPLATE)
    first_week = summary is not None and days[0] == teller.now.date()
    said: list[Note] = list(summary.notes) if summary is not None and first_week else []
    said += [
        notes.Overflow(**asdict(run))
        for run in overfull
        if run.cooler == week.cooler.name and run.first <= days[-1] and run.last >= days[0]
    ]
    return Plan(
        cooler=say.cooler(name=week.cooler.name),
        week=say.week(first=days[0], last=days[-1]),
        printed=say.printed(now=teller.now, farm=teller.farm.name),
        said=tuple(_said(note, wording) for note in said),
        work=partial(work_words, week, teller, column_width(grid.body.width)),
        rows=tuple(row_words(row, week.cooler.name, teller) for row in week.lots),
        heads=_heads([wording.day(day).rpartition(" ")[0] for day in days], say),
        limits=say.limits(low_c=week.limits.low_c, high_c=week.limits.high_c, standing=False),
        chart=tuple(chart(foot_box(grid), week, summary, wording, teller.now)),
        code=_code(week.cooler, teller.farm, f"{days[0]:%Y-%m-%d}", wording),
    )


def _said(note: Note, wording: Wording) -> Paragraph:
    """A sentence above the work: loud where something is wrong that no task below puts right."""
    loud = isinstance(note, notes.LogUnread | notes.Overflow)
    return Paragraph(wording.say(note), LOUD if loud else QUIET, "bold" if loud else "regular")


def standing_plan(grid: Grid, cooler: Cooler, teller: Teller) -> Plan:
    """The sheet of any week."""
    farm, wording = teller.farm, teller.wording
    say = wording.macros(TEMPLATE)
    bounds = limits(cooler, (), teller.crops)
    names = [say.weekday(number=number) for number in range(DAYS)]
    off = [Job(say.day_off(), tick=False)]
    days = tuple(
        DayBlock(name, tuple(off) if number in farm.workday.days_off else ())
        for number, name in enumerate(names)
    )
    short = tuple(name.split(" ")[0] for name in names)
    return Plan(
        cooler=say.cooler(name=cooler.name),
        week=say.week_blank(),
        printed=say.standing(farm=farm.name),
        said=(),
        work=lambda _pages, _most: Told(days, {}),
        rows=(),
        heads=_heads(short, say),
        limits=say.limits(low_c=bounds.low_c, high_c=bounds.high_c, standing=True),
        chart=chart_by_hand(foot_box(grid), bounds, short, wording),
        code=_code(cooler, farm, "", wording),
        by_hand=True,
    )


def _heads(days: Sequence[str], say: Any) -> Heads:
    columns = (
        say.lot_head(),
        "",
        say.water_head(),
        say.sell_by_head(),
        say.flowers_head(),
        say.place_head(),
        say.bunches_head(),
    )
    return Heads(columns, say.left_head(), tuple(days))


def foot_box(grid: Grid) -> Box:
    """Where the foot of a first page stands."""
    inner = grid.inner
    return Box(inner.x, inner.bottom - FOOT, inner.width, FOOT)


def _code(cooler: Cooler, farm: Farm, week: str, wording: Wording) -> SizedSymbol:
    """The code of the cooler's page: the farm's link with that page for a lot's, else its name."""
    if farm.link is not None and "{lot}" in farm.link:
        text = link_text(farm.link, cooler_page_names(farm.coolers)[cooler.name], 0)
    else:
        text = wording.macros(TEMPLATE).code_text(cooler=cooler.name, first=week)
    return sized_symbol(text, QR_SIDE, f"the checklist of {cooler.name}")
