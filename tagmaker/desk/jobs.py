"""Which lots a printing command prints, and how many labels of each where not all of them."""

from __future__ import annotations

import difflib
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path

from tagmaker.desk.season import Season
from tagmaker.errors import InputProblems, Problem, UsageProblem
from tagmaker.intake.columns import ON_PAPER
from tagmaker.lot import State, StorageDates
from tagmaker.paper.names import name_problems
from tagmaker.record import tags
from tagmaker.record.rows import Known
from tagmaker.telling.readiness import is_wet

ON_LABELS = frozenset({"wraps", "buyers"})  # kinds that are printed on label stock
NAMED = 12  # lots that a message names one by one (chosen)
Tell = Callable[[str], None]  # says a line to whoever runs the command


@dataclass(frozen=True, slots=True, kw_only=True)
class Wanted:
    """What a printing command asks for."""

    kinds: Sequence[str]  # "wraps", "buyers", "crates", "checklist", in the order of printing
    only: Sequence[str] = ()  # lot codes; none: all
    out: Path | None = None  # None: papers/ beside the sheet
    skip_bad: bool = False
    blank: bool = False  # the checklist as a standing grid
    new: bool = False  # wrap labels that were never printed
    reprint: bool = False  # wrap labels and crate cards that must go
    reprint_all: bool = False  # and those that could say more
    remember: bool = True
    count: int | None = None  # wrap labels of each lot; None: one a bunch
    first: int | None = 1  # label of the first sheet to begin with; None: the next free one, as remembered
    offered: int | None = None  # what a form showed as the first free label
    another_sheet: bool = False  # the sheet in the printer is not the one printed last
    label_stock: str | None = None  # None: the farm's
    printer: str | None = None  # of the settings; None: the farm's
    card: str | None = None  # kind of crate card; None: the farm's
    weeks: int = 1  # of the checklist
    limit: int | None = None  # wrap labels at most; None: any number
    preview: bool = False  # a picture of every page beside its paper
    send_to: str | None = None  # queue of the spooler
    form: str | None = None  # id of the bench's form
    device: str | None = None  # browser that it was given to


@dataclass(frozen=True, slots=True)
class Job:
    """The lots that a paper shows, and how many labels of each where not all."""

    lots: Sequence[StorageDates]
    labels: Mapping[str, int] = field(default_factory=dict)  # lot code -> labels; absent: all
    left_out: Sequence[str] = ()  # lot codes with problems
    held: frozenset[str] = frozenset()  # codes of lots that may have left already: no labels, no cards


def asked_for(only: Sequence[str], season: Season) -> set[str]:
    """The lot codes asked for; all where none was named.

    Raises:
        UsageProblem: a code that is not in the sheet; names the nearest.
    """
    known = {lot.lot_code for lot in season.lots} | {p.lot for p in season.problems if p.lot}
    if not only:
        return known
    wanted = {code.strip().upper() for code in only}
    unknown = sorted(wanted - known)
    if unknown:
        near = difflib.get_close_matches(unknown[0], sorted(known), n=3, cutoff=0.4)
        hint = f" Nearest: {', '.join(near)}." if near else ""
        got = ", ".join(unknown)
        raise UsageProblem(f"--lot must name a lot of {season.sheet.name} (got {got}).{hint}")
    return wanted


def problems_of(asked: set[str], season: Season) -> list[Problem]:
    """The problems of the lots asked for, and of the sheet as a whole."""
    return [problem for problem in season.problems if not problem.lot or problem.lot in asked]


def sound_job(season: Season, wanted: Wanted, tell: Tell) -> Job:
    """The sound lots among those asked for; refuses, or skips and says so, where some are not."""
    asked = asked_for(wanted.only, season)
    shown = season.dates_of(asked)
    problems = problems_of(asked, season)
    if (ON_LABELS | {"crates"}) & set(wanted.kinds):
        problems += _without_stems(shown)
    printed = [lot.lot for lot in shown if lot.left is None or lot.left > 0]
    problems += name_problems(wanted.kinds, printed, season.farm, ON_PAPER)
    if problems and (not wanted.skip_bad or any(not problem.lot for problem in problems)):
        tell("nothing was written; correct these, or print the rest with --skip-bad")
        raise InputProblems(problems)
    bad = sorted({problem.lot for problem in problems})
    for problem in problems:
        tell(str(problem))
    if bad:
        tell(f"left out: {', '.join(bad)}")
    sound = [lot for lot in shown if lot.lot.lot_code not in bad and (lot.left is None or lot.left > 0)]
    return Job(sound, left_out=bad, held=season.held)


def _without_stems(dates: Iterable[StorageDates]) -> list[Problem]:
    """Lots whose labels cannot be counted."""
    what = "stems must be filled to print labels and cards (got a blank)"
    return [
        Problem(lot.lot.where, what, "Write how many stems were cut.", lot.lot.lot_code)
        for lot in dates
        if lot.left is None
    ]


def job_for(kind: str, sound: Job, known: Known, wanted: Wanted, tell: Tell) -> Job:
    """The lots that one kind of paper shows, by what was printed before and is being printed just now."""
    if kind != "checklist":
        why = "no labels or cards before it is entered whether they left"
        sound = _fit(sound, lambda dates: dates.lot.lot_code not in sound.held, tell, why)
    if kind == "buyers":
        return _fit(
            sound, _may_leave, tell, "no buyer's labels for lots that are too old, wet or without a date"
        )
    if kind == "checklist":
        return sound
    job = sound
    if kind == "wraps" and not wanted.only:
        why = (
            "no wrap labels for lots that are too old or without a date (--lot CODE prints them all the same)"
        )
        job = _fit(job, gets_labels, tell, why)
    lines = tags.by_lot(known.claimed("wraps" if kind == "wraps" else "crates"))
    if wanted.new or wanted.reprint or wanted.reprint_all:
        return _narrowed(job, lines, wanted, tell)
    if kind == "wraps" and wanted.count is not None:
        return _counted(job, lines, wanted.count)
    return job


def gets_labels(dates: StorageDates) -> bool:
    """Whether bunches of a lot get labels without being asked for by name; a wet lot gets its slip."""
    fit = is_wet(dates) or dates.state not in (State.TOO_OLD, State.NO_DATE)
    return fit and dates.lot.may_have_left is None


def _may_leave(dates: StorageDates) -> bool:
    """Whether bunches of a lot may go to a buyer."""
    return dates.state in (State.KEEP, State.SELL_FIRST) and not is_wet(dates)


def _fit(job: Job, fits: Callable[[StorageDates], bool], tell: Tell, why: str) -> Job:
    """Without the lots that are unfit, which are named."""
    unfit = sorted(dates.lot.lot_code for dates in job.lots if not fits(dates))
    if unfit:
        tell(f"{why}: {lots_said(unfit)}")
    return replace(job, lots=[dates for dates in job.lots if fits(dates)])


def _narrowed(job: Job, lines: Mapping[str, Sequence[tags.Printed]], wanted: Wanted, tell: Tell) -> Job:
    """The lots whose tags are missing or stale, with the number of missing ones."""
    labels: dict[str, int] = {}
    lots: list[StorageDates] = []
    labelled: list[str] = []
    worst = {tags.Stale.MUST_GO} | ({tags.Stale.COULD_SAY_MORE} if wanted.reprint_all else set())
    for dates in job.lots:
        code = dates.lot.lot_code
        known = lines.get(code, ())
        missing = tags.missing(known, dates) if wanted.new else 0
        if (wanted.reprint or wanted.reprint_all) and tags.stale(known, dates) in worst:
            lots.append(dates)
        elif missing:
            lots.append(dates)
            labels[code] = missing
        elif wanted.new:
            labelled.append(code)
    if labelled:
        tell(f"nothing left to label: {lots_said(labelled)}")
    return Job(lots, labels, job.left_out)


def _counted(job: Job, lines: Mapping[str, Sequence[tags.Printed]], count: int) -> Job:
    """So many labels of each lot: for bunches that have none, where there are enough of them.

    Raises:
        UsageProblem: a lot has fewer bunches left.
    """
    labels: dict[str, int] = {}
    for dates in job.lots:
        code, bunches = dates.lot.lot_code, dates.lot.bunches_left or 0
        if count > bunches:
            raise UsageProblem(f"lot {code} must have the bunches for its labels (got {bunches} for {count})")
        missing = tags.missing(lines.get(code, ()), dates)
        if count < bunches and not is_wet(dates):
            labels[code] = max(count, missing)
    return Job(job.lots, labels, job.left_out)


def labels_due(job: Job, count: int | None) -> Mapping[str, int]:
    """How many wrap labels each lot must get: one a bunch, fewer where fewer are wanted, one slip if wet."""
    due = {}
    for dates in job.lots:
        code, bunches = dates.lot.lot_code, dates.lot.bunches_left or 0
        wanted = min(bunches, job.labels.get(code, bunches), bunches if count is None else count)
        due[code] = 1 if is_wet(dates) else wanted
    return due


def lots_said(codes: Sequence[str]) -> str:
    """Lot codes in a message."""
    more = len(codes) - NAMED
    return ", ".join(codes[:NAMED]) + (f" and {more} more" if more > 0 else "")


def why_none(kind: str, wanted: Wanted) -> str:
    """Why there is nothing to print."""
    reprint = wanted.reprint or wanted.reprint_all
    must = "must go or could say more" if wanted.reprint_all else "must go"
    if wanted.new:
        return "every bunch has its label" + (f", and none {must}" if reprint else "")
    if reprint:
        return f"no printed {'card' if kind == 'crates' else 'label'} {must}"
    who = "lot that may leave" if kind == "buyers" else "cut lot"
    return f"no {who} has stems left"
