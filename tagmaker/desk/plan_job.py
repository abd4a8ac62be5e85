"""The command `plan`: the table, rows that are accepted, and the plan on paper."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import timedelta
from pathlib import Path

from tagmaker.desk.drawing import farm_for, in_its_fonts
from tagmaker.desk.entering import Answer
from tagmaker.desk.entry_making import Yard
from tagmaker.desk.handing import hand_out
from tagmaker.desk.plan_accepting import accept, rows_named, taking_of
from tagmaker.desk.season import Season
from tagmaker.desk.season_planning import SECONDS, PlannedSeason, ground_of, plan_season
from tagmaker.errors import InputProblems
from tagmaker.intake.columns import ON_PAPER
from tagmaker.paper.deliver.filing import Filed
from tagmaker.paper.names import name_problems
from tagmaker.paper.plan.pages import PARTS, season_plan_paper
from tagmaker.paper.press.ink import Inked
from tagmaker.storage.season_ground import PLAN_DAYS
from tagmaker.telling.season_told import TEMPLATE, PlanResult, PlanWords, RowWords, plan_words

Say = Callable[[str], None]
COLUMNS = ("id", "lot", "bunches", "code", "use", "leaves", "cooler", "water", "marks", "orders")


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanWish:
    """What the command asks for."""

    accept: Sequence[str] = ()  # names of rows
    skip_bad: bool = False
    out: Path | None = None
    printer: str | None = None
    send_to: str | None = None
    preview: bool = False


def plan_all(
    season: Season, wish: PlanWish, yard: Yard, echo: Say, tell: Say, show: Callable[[Sequence[Filed]], None]
) -> None:
    """Plan; accept rows where that is asked, else list and print the plan.

    Where rows of lots or orders are faulty, the table alone is told: what cannot be read may want the stems.

    Args:
        season: the season folder, read
        wish: what is asked for
        yard: when something is accepted
        echo: says what was asked for
        tell: says everything else
        show: takes the files once they are in place

    Raises:
        UsageProblem: a row or a printer that there is not.
        InputProblems: rows are faulty, and going on without them was not asked for.
        OutputProblem: something could not be accepted, written or sent.
    """
    planned = plan_season(ground_of(season))
    faulty = (*season.problems, *season.order_problems)
    if wish.accept:
        if faulty and not wish.skip_bad:
            raise InputProblems(faulty)
        rows = rows_named(planned, wish.accept)
        for answer in accept(season.lots, rows, taking_of(season), yard):
            echo(accepted_text(answer))
        return
    words = told(planned, season)
    echo(plan_text(words, season))
    if faulty and not wish.skip_bad:
        tell("nothing was written; correct these, or go on without them with --skip-bad")
        raise InputProblems(faulty)
    _print(planned, words, replace(season, farm=farm_for(season.farm, None, wish.printer)), wish, tell, show)


def told(planned: PlannedSeason, season: Season) -> PlanWords:
    """What is said of a plan."""
    result = PlanResult(
        lots=season.lots,
        found=planned.found,
        overfull=planned.overfull,
        would_do=planned.would_do,
        unsaid=planned.unsaid,
        unproven=planned.unproven,
        seconds=SECONDS,
        until=season.now.date() + timedelta(days=PLAN_DAYS - 1),
    )
    return plan_words(result, season)


def accepted_text(answer: Answer) -> str:
    """What is said of a row that was written down."""
    entry = answer.entry
    return f"SAVED {entry.recorded:%H:%M} as entry {entry.number}. Lot {entry.lot}: {answer.said}."


# --- for the terminal ---


def plan_text(words: PlanWords, season: Season) -> str:
    """The plan for a terminal: the table first."""
    return "\n".join(_lines(words, season))


def _lines(words: PlanWords, season: Season) -> Iterator[str]:
    say = season.wording.macros(TEMPLATE)
    yield words.span
    if words.unproven:
        yield f"! {words.unproven}"
    if words.rows:
        heads = tuple(str(say.heading(column=column)) for column in COLUMNS)
        yield from ("", *_aligned([heads, *(_row(row) for row in words.rows)]))
        yield from ("", say.part(name="lots"), *(f"  {sentence}" for sentence in words.lots))
    for part in PARTS:
        sentences = getattr(words, part) or ((say.fits(),) if part == "room" else ())
        if sentences:
            yield from ("", say.part(name=part), *(f"  {sentence}" for sentence in sentences))
    if words.rows:
        yield from ("", say.how_to(row=words.rows[0].id, sheet=season.sheet.name))


def _row(row: RowWords) -> tuple[str, ...]:
    return tuple(getattr(row, column) for column in COLUMNS)


def _aligned(rows: Sequence[Sequence[str]]) -> Iterator[str]:
    widths = [max(map(len, column)) for column in zip(*rows, strict=True)]
    for row in rows:
        yield "  ".join(cell.ljust(width) for cell, width in zip(row, widths, strict=True)).rstrip()


# --- on paper ---


def _print(
    planned: PlannedSeason,
    words: PlanWords,
    season: Season,
    wish: PlanWish,
    tell: Say,
    show: Callable[[Sequence[Filed]], None],
) -> None:
    inked = draw_plan(season, planned, words)
    folder = wish.out or season.sheet.parent / "papers"
    hand_out(inked, folder, tell, show, preview=wish.preview, send_to=wish.send_to)


@in_its_fonts
def draw_plan(season: Season, planned: PlannedSeason, words: PlanWords) -> Inked:
    """The plan on paper, in memory.

    Raises:
        InputProblems: a name that cannot be printed.
    """
    rows = {row.lot for row in words.rows}
    shown = [lot for lot in season.lots if lot.lot_code in rows]
    problems = list(name_problems(["season plan"], shown, season.farm, ON_PAPER))
    if problems:
        raise InputProblems(problems)
    return season_plan_paper(words, planned.rooms, season.farm, season.wording, season.now)
