"""The main job: which lots to print, draw them, prove the files, put them in place, remember it."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import wraps
from pathlib import Path
from typing import Concatenate, ParamSpec, TypeVar

from tagmaker.desk.jobs import ON_LABELS, Job, Tell, Wanted, labels_due, narrow_job, why_none
from tagmaker.desk.season import Season, told
from tagmaker.errors import UsageProblem
from tagmaker.farm import Farm
from tagmaker.paper.deliver.filing import Filed, file_papers, place_files
from tagmaker.paper.press.fonts import typeface
from tagmaker.paper.press.ink import Inked
from tagmaker.paper.press.on_paper import check_on_paper
from tagmaker.paper.proof.proving import prove
from tagmaker.paper.stock.label_stock import label_stock, next_label, stocks
from tagmaker.record import tags as records
from tagmaker.telling.bunches import bunches_of, crates_of

NAMES = {"buyers": "buyer's labels"}  # of kinds, where theirs is no word to say
P = ParamSpec("P")
T = TypeVar("T")


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
    job, record = narrow_job(season, wanted, tell)
    wanted = _from_first(season, wanted, record, tell if job.lots else _silent)
    drawn = {kind: _draw(kind, job, season, wanted, tell) for kind in wanted.kinds}
    inked = {kind: paper for kind, paper in drawn.items() if paper is not None}
    folder = wanted.out or season.sheet.parent / "papers"
    filed = file_papers(folder, list(inked.values()), preview=wanted.preview)
    for paper in filed:
        for warning in paper.proof.warnings:
            tell(f"{paper.path.name}: {warning}")
    sheets = _sheets_left(season, wanted, inked)
    _remember(record, job, season, wanted, sheets, tell)
    for stock, following in sheets.items():
        if wanted.remember and following > 1:
            tell(f"{stock}: label {following} is next on the last sheet (--first next)")
    return Printing(filed, job.left_out)


def _for_printer(season: Season, wanted: Wanted) -> Season:
    """The season with the label stock and the printer that are asked for."""
    return replace(season, farm=_farm_for(season.farm, wanted.label_stock, wanted.printer))


def _farm_for(farm: Farm, stock: str | None, printer: str | None) -> Farm:
    """The farm with a label stock and a printer in place of those of its settings; None: those.

    Raises:
        UsageProblem: there is no such label stock, or no such printer in the settings.
        InputProblems: a label stock of the settings does not close.
    """
    if stock is not None and stock not in (known_stocks := stocks(farm)):
        raise UsageProblem(f"--label-stock must be one of {', '.join(known_stocks)} (got {stock})")
    if printer is not None and printer not in farm.printers:
        known = ", ".join(farm.printers) or "none"
        raise UsageProblem(f"--printer must be one of the settings' printers: {known} (got {printer})")
    stock = farm.label_stock if stock is None else stock
    return replace(farm, label_stock=stock, printer=printer or farm.printer)


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
    next_label: int  # first free label of the last sheet; 1 where there is none


@_in_its_fonts
def hand_out(season: Season, wanted: Wanted, tell: Tell) -> Handout:
    """Print one kind of paper in memory, prove it and remember it.

    Raises:
        InputProblems: a lot asked for is not sound, and the rest was not asked for alone.
        UsageProblem: nothing is to be printed, or more than there is or than the limit allows.
        OutputProblem: the paper does not read back.
    """
    season = _for_printer(season, wanted)
    job, record = narrow_job(season, wanted, tell)
    wanted = _from_first(season, wanted, record, _silent)
    (kind,) = wanted.kinds
    lines = list(_printed(kind, job, season, wanted.count))
    labels = sum(line.count or 1 for line in lines) if kind == "wraps" else 0  # a wet lot's slip counts 0
    if wanted.limit is not None and labels > wanted.limit:
        raise UsageProblem(f"there must be at most {wanted.limit} labels at a time (got {labels})")
    inked = _draw(kind, job, season, wanted, tell)
    if inked is None:
        raise UsageProblem(f"nothing to print: {why_none(wanted)}")
    prove(inked)
    sheets = _sheets_left(season, wanted, {kind: inked})
    _remember(record, job, season, wanted, sheets, tell)
    return Handout(inked.file_name, inked.pdf, labels, next(iter(sheets.values()), 1))


def _silent(_: str) -> None:
    """Say nothing: a page says it in its own way."""


def _remember(
    record: records.PrintRecord,
    job: Job,
    season: Season,
    wanted: Wanted,
    sheets: Mapping[str, int],
    tell: Tell,
) -> None:
    """Remember what was printed, and the first free label of each label stock from now on."""
    if not wanted.remember:
        return
    printed = [line for kind in wanted.kinds for line in _printed(kind, job, season, wanted.count)]
    message = record.remember(printed, sheets)
    if message:
        tell(message)


def _sheets_left(season: Season, wanted: Wanted, inked: Mapping[str, Inked]) -> Mapping[str, int]:
    """The label stock that was printed on, and the first free label of its last sheet."""
    on_labels = [paper for kind, paper in inked.items() if kind in ON_LABELS]
    labels = sum(len(page) for paper in on_labels for page in paper.pages)
    stock = label_stock(season.farm)
    return {stock.name: next_label(stock, wanted.first or 1, labels)} if labels else {}


def _draw(kind: str, job: Job, season: Season, wanted: Wanted, tell: Tell) -> Inked | None:
    """One paper that the printer leaves on its sheets; None, and said, where there is nothing to print."""
    inked = _drawn(kind, job, season, wanted, tell)
    if inked is not None:
        check_on_paper(inked)
    return inked


def _drawn(kind: str, job: Job, season: Season, wanted: Wanted, tell: Tell) -> Inked | None:
    """One paper; None, and said, where there is nothing to print."""
    if kind == "checklist":
        from tagmaker.paper.checklist.pages import cooler_checklists
        from tagmaker.storage.room import room

        rooms = room(season.dated, season.farm, season.crops, season.now, 7 * wanted.weeks, season.planned)
        stories = told(season, season.dated)  # what the readings cost each lot is the report's to say
        return cooler_checklists(job.lots, season, rooms, stories, blank=wanted.blank, weeks=wanted.weeks)
    if not job.lots:
        tell(f"no {NAMES.get(kind, kind)} to print: {why_none(wanted)}")
        return None
    if kind == "wraps":
        from tagmaker.paper.tag.wraps import wrap_labels

        inked = wrap_labels(job.lots, season, job.labels, wanted.count, wanted.first or 1)
        return replace(inked, labels=labels_due(job, wanted.count))
    if kind == "buyers":
        from tagmaker.paper.tag.buyer_labels import buyer_labels

        inked = buyer_labels(job.lots, season, wanted.first or 1)
        return replace(inked, labels=labels_due(job, None))
    from tagmaker.paper.crate.cards import crate_cards

    if wanted.card is not None:
        season = replace(season, farm=replace(season.farm, crate_card=wanted.card))
    return crate_cards(job.lots, season)


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
    from tagmaker.paper.stock.test_page import steps, test_page
    from tagmaker.telling.wording import Wording

    farm = _farm_for(farm, stock, printer)
    wording = Wording(farm.units)
    (path,) = place_files(folder, [test_page(farm, wording)])
    return path, steps(farm, wording)


def _printed(kind: str, job: Job, season: Season, count: int | None) -> Iterable[records.Printed]:
    """The lines of the record for one paper."""
    if kind == "crates":
        for dates in job.lots:
            yield records.printed_now("crates", dates, len(crates_of(dates, season.crops)), season.now)
    elif kind == "wraps":
        for dates in job.lots:
            most = job.labels.get(dates.lot.lot_code)
            for bunches in bunches_of(dates, most, count):
                yield records.printed_now(
                    "wraps", dates, bunches.count, season.now, order=bunches.order, replaces=most is None
                )
