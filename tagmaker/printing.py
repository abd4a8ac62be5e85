"""The main job: which lots to print, draw them, prove the files, put them in place, remember it."""

from __future__ import annotations

import difflib
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import wraps
from pathlib import Path
from typing import Concatenate, ParamSpec, TypeVar

from tagmaker import record as records
from tagmaker.errors import InputProblems, Problem, UsageProblem
from tagmaker.farm import Farm
from tagmaker.lot import State, StorageDates
from tagmaker.paper.filing import Filed, file_papers, place_files
from tagmaker.paper.fonts import typeface
from tagmaker.paper.ink import Inked
from tagmaker.paper.label_stock import label_stock, next_label
from tagmaker.paper.lot_names import name_problems
from tagmaker.paper.proof import prove
from tagmaker.season import Season
from tagmaker.storage.cooler_summary import CoolerSummary, summarise
from tagmaker.storage.lot_week import is_wet

ON_LABELS = frozenset({"wraps", "buyers"})  # kinds that are printed on label stock
P = ParamSpec("P")
T = TypeVar("T")
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
    reprint: bool = False  # wrap labels that are no longer true
    remember: bool = True
    count: int | None = None  # wrap labels of each lot; None: one a bunch
    first: int | None = 1  # label of the first sheet to begin with; None: the next free one, as remembered
    label_stock: str | None = None  # None: the farm's
    printer: str | None = None  # of the settings; None: the farm's
    card: str | None = None  # kind of crate card; None: the farm's
    weeks: int = 1  # of the checklist
    limit: int | None = None  # wrap labels at most; None: any number
    preview: bool = False  # a picture of every page beside its paper


@dataclass(frozen=True, slots=True)
class Job:
    """The lots that a printing command prints, and how many labels of each where not all."""

    lots: Sequence[StorageDates]
    labels: Mapping[str, int] = field(default_factory=dict)  # lot code -> labels; absent: all
    left_out: Sequence[str] = ()  # lot codes with problems


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


@dataclass(frozen=True, slots=True)
class Printing:
    """What came of a printing command."""

    filed: Sequence[Filed]  # the papers, in the order of printing
    left_out: Sequence[str]  # lot codes with problems


def _in_its_fonts(printing: Callable[Concatenate[Season, P], T]) -> Callable[Concatenate[Season, P], T]:
    """The same, drawn in the fonts of the season's farm."""

    @wraps(printing)
    def drawn(season: Season, /, *rest: P.args, **named: P.kwargs) -> T:
        with typeface(season.farm.fonts):
            return printing(season, *rest, **named)

    return drawn


@_in_its_fonts
def print_papers(season: Season, wanted: Wanted, tell: Tell) -> Printing:
    """Print what is wanted; nothing is written unless all of it can be.

    Raises:
        InputProblems: a lot asked for is not sound, and the rest was not asked for alone.
        OutputProblem: a file does not read back or cannot be written.
    """
    season = _for_printer(season, wanted)
    job, record = _narrow_job(season, wanted, tell)
    wanted = _from_first(season, wanted, record, tell)
    drawn = {kind: _draw(kind, job, season, wanted, tell) for kind in wanted.kinds}
    inked = {kind: paper for kind, paper in drawn.items() if paper is not None}
    folder = wanted.out or season.sheet.parent / "papers"
    filed = file_papers(folder, list(inked.values()), preview=wanted.preview)
    for paper in filed:
        for warning in paper.proof.warnings:
            tell(f"{paper.path.name}: {warning}")
    _remember(record, job, season, wanted, inked, tell)
    return Printing(filed, job.left_out)


def _for_printer(season: Season, wanted: Wanted) -> Season:
    """The season with the label stock and the printer that are asked for."""
    return replace(season, farm=_farm_for(season.farm, wanted.label_stock, wanted.printer))


def _farm_for(farm: Farm, stock: str | None, printer: str | None) -> Farm:
    """The farm with a label stock and a printer in place of those of its settings; None: those.

    Raises:
        UsageProblem: there is no such printer in the settings.
    """
    if printer is not None and printer not in farm.printers:
        known = ", ".join(farm.printers) or "none"
        raise UsageProblem(f"--printer must be one of the settings' printers: {known} (got {printer})")
    return replace(farm, label_stock=stock or farm.label_stock, printer=printer or farm.printer)


def _from_first(season: Season, wanted: Wanted, record: records.PrintRecord, tell: Tell) -> Wanted:
    """What is wanted, with the label of the sheet to begin with.

    Raises:
        UsageProblem: the sheet has no such label.
    """
    if not ON_LABELS & set(wanted.kinds):
        return wanted
    stock = label_stock(season.farm)
    following = min(record.next_label(stock.name), stock.per_page)
    if wanted.first is None:
        return replace(wanted, first=following)
    if wanted.first > stock.per_page:
        what = f"--first must be a label of {stock.name}, from 1 to {stock.per_page} (got {wanted.first})"
        raise UsageProblem(what)
    if following > 1 and wanted.first != following:
        tell(
            f"{stock.name}: label {following} was next on the sheet printed last; this begins at label "
            f"{wanted.first}. --first next goes on where that one ended."
        )
    return wanted


@dataclass(frozen=True, slots=True)
class Handout:
    """A proven paper that is handed over and put in no folder."""

    file_name: str
    pdf: bytes
    labels: int  # wrap labels on it


@_in_its_fonts
def hand_out(season: Season, wanted: Wanted, tell: Tell) -> Handout:
    """Print one kind of paper in memory, prove it and remember it.

    Raises:
        InputProblems: a lot asked for is not sound, and the rest was not asked for alone.
        UsageProblem: nothing is to be printed, or more than there is or than the limit allows.
        OutputProblem: the paper does not read back.
    """
    season = _for_printer(season, wanted)
    job, record = _narrow_job(season, wanted, tell)
    wanted = _from_first(season, wanted, record, _silent)
    (kind,) = wanted.kinds
    lines = list(_printed(kind, job, season, wanted.count))
    labels = sum(line.count or 1 for line in lines) if kind == "wraps" else 0  # a wet lot's slip counts 0
    if wanted.limit is not None and labels > wanted.limit:
        raise UsageProblem(f"there must be at most {wanted.limit} labels at a time (got {labels})")
    inked = _draw(kind, job, season, wanted, tell)
    if inked is None:
        raise UsageProblem(f"nothing to print: {_why_none(wanted)}")
    prove(inked)
    _remember(record, job, season, wanted, {kind: inked}, tell)
    return Handout(inked.file_name, inked.pdf, labels)


def _narrow_job(season: Season, wanted: Wanted, tell: Tell) -> tuple[Job, records.PrintRecord]:
    """The lots to print, and the record that tells which of their labels were."""
    job = _job(season, wanted, tell)
    record, message = records.open_record(season.sheet, season.now, create=False)
    if message and wanted.remember:
        tell(message)
    lines = records.by_lot(record.lines("wraps"))
    if wanted.new or wanted.reprint:
        job = _narrowed(job, lines, wanted)
    elif wanted.count is not None:
        job = _counted(job, lines, wanted.count)
    return job, record


def _silent(_: str) -> None:
    """Say nothing: a page says it in its own way."""


def _remember(
    record: records.PrintRecord,
    job: Job,
    season: Season,
    wanted: Wanted,
    inked: Mapping[str, Inked],
    tell: Tell,
) -> None:
    if not wanted.remember:
        return
    stock = label_stock(season.farm)
    on_labels = [paper for kind, paper in inked.items() if kind in ON_LABELS]
    labels = sum(len(page) for paper in on_labels for page in paper.pages)
    following = next_label(stock, wanted.first or 1, labels)
    printed = [line for kind in wanted.kinds for line in _printed(kind, job, season, wanted.count)]
    message = record.remember(printed, {stock.name: following} if labels else {})
    if message:
        tell(message)
    if labels and following > 1:
        tell(f"{stock.name}: label {following} is next on the last sheet (--first next)")


def _job(season: Season, wanted: Wanted, tell: Tell) -> Job:
    """The sound lots among those asked for; refuses, or skips and says so, where some are not."""
    asked = asked_for(wanted.only, season)
    shown = [lot for lot in season.dated if lot.lot.lot_code in asked]
    problems = problems_of(asked, season)
    if (ON_LABELS | {"crates"}) & set(wanted.kinds):
        problems += _without_stems(shown)
    printed = [lot.lot for lot in shown if lot.left is None or lot.left > 0]
    problems += name_problems(wanted.kinds, printed, season.farm)
    if problems and (not wanted.skip_bad or any(not problem.lot for problem in problems)):
        tell("nothing was written; correct these, or print the rest with --skip-bad")
        raise InputProblems(problems)
    bad = sorted({problem.lot for problem in problems})
    for problem in problems:
        tell(str(problem))
    if bad:
        tell(f"left out: {', '.join(bad)}")
    sound = [lot for lot in shown if lot.lot.lot_code not in bad and (lot.left is None or lot.left > 0)]
    if "buyers" in wanted.kinds:
        past = sorted(lot.lot.lot_code for lot in sound if not _may_leave(lot))
        if past:
            tell(f"no buyer's labels for lots that are past, undated or wet: {', '.join(past)}")
        sound = [lot for lot in sound if _may_leave(lot)]
    return Job(sound, left_out=bad)


def _may_leave(dates: StorageDates) -> bool:
    """Whether bunches of a lot may go to a buyer."""
    return dates.state in (State.HOLD, State.SELL_NOW) and not is_wet(dates)


def _without_stems(dates: Iterable[StorageDates]) -> list[Problem]:
    """Lots whose labels cannot be counted."""
    what = "stems must be filled to print labels and cards (got a blank)"
    return [
        Problem(lot.lot.where, what, "Write how many stems were cut.", lot.lot.lot_code)
        for lot in dates
        if lot.left is None
    ]


def _narrowed(job: Job, lines: Mapping[str, Sequence[records.Printed]], wanted: Wanted) -> Job:
    """The lots whose labels are missing or no longer true, with the number of missing ones."""
    labels: dict[str, int] = {}
    lots: list[StorageDates] = []
    for dates in job.lots:
        known = lines.get(dates.lot.lot_code, ())
        missing = records.missing(known, dates) if wanted.new else 0
        if wanted.reprint and records.stale(known, dates):
            lots.append(dates)
        elif missing:
            lots.append(dates)
            labels[dates.lot.lot_code] = missing
    return Job(lots, labels, job.left_out)


def _counted(job: Job, lines: Mapping[str, Sequence[records.Printed]], count: int) -> Job:
    """So many labels of each lot: for bunches that have none, where there are enough of them.

    Raises:
        UsageProblem: a lot has fewer bunches left.
    """
    labels: dict[str, int] = {}
    for dates in job.lots:
        code, bunches = dates.lot.lot_code, dates.lot.bunches_left or 0
        if count > bunches:
            raise UsageProblem(f"lot {code} must have the bunches for its labels (got {bunches} for {count})")
        missing = records.missing(lines.get(code, ()), dates)
        if count < bunches and not is_wet(dates):
            labels[code] = max(count, missing)
    return Job(job.lots, labels, job.left_out)


def _draw(kind: str, job: Job, season: Season, wanted: Wanted, tell: Tell) -> Inked | None:
    """One paper; None, and said, where there is nothing to print."""
    farm, crops, wording, now = season.farm, season.crops, season.wording, season.now
    if kind == "checklist":
        from tagmaker.paper.checklist import cooler_checklists
        from tagmaker.storage.room import room

        rooms = room(season.dated, farm, crops, now, 7 * wanted.weeks)
        told = _told(season, season.dated)  # what the readings cost each lot is the report's to say
        return cooler_checklists(
            job.lots, farm, crops, wording, now, rooms, told, blank=wanted.blank, weeks=wanted.weeks
        )
    if not job.lots:
        tell(f"no {kind} to print: {_why_none(wanted)}")
        return None
    if kind == "wraps":
        from tagmaker.paper.wraps import wrap_labels

        first = wanted.first or 1
        inked = wrap_labels(job.lots, farm, crops, wording, now, job.labels, wanted.count, first)
        return replace(inked, labels=_labels_due(job, wanted.count))
    if kind == "buyers":
        from tagmaker.paper.buyer_labels import buyer_labels

        inked = buyer_labels(job.lots, farm, crops, wording, wanted.first or 1)
        return replace(inked, labels=_labels_due(job, None))
    from tagmaker.paper.crates import crate_cards

    if wanted.card is not None:
        farm = replace(farm, crate_card=wanted.card)
    return crate_cards(job.lots, farm, crops, wording, now)


def _labels_due(job: Job, count: int | None) -> Mapping[str, int]:
    """How many wrap labels each lot must get: one a bunch, fewer where fewer are wanted, one slip if wet."""
    due = {}
    for dates in job.lots:
        code, bunches = dates.lot.lot_code, dates.lot.bunches_left or 0
        wanted = min(bunches, job.labels.get(code, bunches), bunches if count is None else count)
        due[code] = 1 if is_wet(dates) else wanted
    return due


def print_test_page(
    farm: Farm, stock: str | None, printer: str | None, folder: Path
) -> tuple[Path, Sequence[str]]:
    """Print the test page for a label stock and a printer of a farm's settings; None: its own.

    Returns:
        where it is, and what to do with it, step by step.

    Raises:
        InputProblems: there is no such stock, or it does not close.
        UsageProblem: there is no such printer.
        OutputProblem: the page cannot be written.
    """
    from tagmaker.paper.test_page import steps, test_page
    from tagmaker.wording import Wording

    farm = _farm_for(farm, stock, printer)
    wording = Wording(farm.units)
    (path,) = place_files(folder, [test_page(farm, wording)])
    return path, steps(farm, wording)


def summaries(season: Season, asked: set[str]) -> tuple[CoolerSummary, ...]:
    """Each cooler's story, with the lots asked for that stand in it."""
    return tuple(
        replace(summary, lots=tuple(lot for lot in summary.lots if lot.read.lot.lot_code in asked))
        for summary in _told(season, season.assumed)
    )


def _told(season: Season, assumed: Sequence[StorageDates]) -> tuple[CoolerSummary, ...]:
    """Each cooler's story; the lots' days are counted from `assumed`."""
    farm, crops, now = season.farm, season.crops, season.now
    return tuple(
        summarise(air, season.readings.get(name), season.dated, assumed, crops, farm, now)
        for name, air in season.airs.items()
    )


def _why_none(wanted: Wanted) -> str:
    if wanted.new and wanted.reprint:
        return "every bunch has its label, and all are still true"
    if wanted.new:
        return "every bunch has its label"
    return "all printed labels are still true" if wanted.reprint else "no cut lot has stems left"


def _printed(kind: str, job: Job, season: Season, count: int | None) -> Iterable[records.Printed]:
    """The lines of the record for one paper."""
    if kind == "crates":
        from tagmaker.paper.crates import containers

        for dates in job.lots:
            yield records.printed_now("crates", dates, len(containers(dates, season.crops)), season.now)
    elif kind == "wraps":
        from tagmaker.paper.wraps import bunches_of

        for dates in job.lots:
            most = job.labels.get(dates.lot.lot_code)
            for bunches in bunches_of(dates, most, count):
                yield records.printed_now(
                    "wraps", dates, bunches.count, season.now, order=bunches.order, replaces=most is None
                )
