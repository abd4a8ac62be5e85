"""The main job: which lots to print, draw them, prove the files, hand them over, remember it."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from tempfile import TemporaryDirectory

from tagmaker.desk.drawing import draw, farm_for, for_printer, in_its_fonts
from tagmaker.desk.jobs import Tell, Wanted, asked_for, lots_said, sound_job, why_none
from tagmaker.desk.leftovers import sweep
from tagmaker.desk.reserving import Reservation, first_of, old_cards, reserve
from tagmaker.desk.season import Season, summaries
from tagmaker.errors import OutputProblem, UsageProblem
from tagmaker.farm import Farm
from tagmaker.paper.deliver.filing import Filed, file_papers, place_files
from tagmaker.paper.deliver.spooler import PaperFile, send
from tagmaker.paper.press.fonts import typeface
from tagmaker.paper.press.ink import Inked
from tagmaker.paper.proof.proving import prove
from tagmaker.telling.wording import Wording


@dataclass(frozen=True, slots=True)
class Printing:
    """What came of a printing command."""

    filed: Sequence[Filed]  # the papers, in the order of printing
    left_out: Sequence[str]  # lot codes with problems


def _nothing(_: Sequence[Filed]) -> None:
    """Show no file."""


@in_its_fonts
def print_papers(
    season: Season, wanted: Wanted, tell: Tell, show: Callable[[Sequence[Filed]], None] = _nothing
) -> Printing:
    """Print what is wanted; nothing is written unless all of it can be, and only what was handed over counts.

    Args:
        season: the season folder, read
        wanted: what to print
        tell: says a line to whoever runs the command
        show: takes the files once they are in place, before they are sent

    Raises:
        InputProblems: a lot asked for is not sound, and the rest was not asked for alone.
        UsageProblem: a label or a printer that there is not.
        OutputProblem: a file does not read back, cannot be written or was not sent.
    """
    season = for_printer(season, wanted)
    sound = sound_job(season, wanted, tell)
    with reserve(season, sound, wanted, tell) as reserved:
        wanted = first_of(wanted, reserved.taken)
        drawn = {kind: draw(kind, job, season, wanted, tell) for kind, job in reserved.jobs.items()}
        inked = {kind: paper for kind, paper in drawn.items() if paper is not None}
        folder = wanted.out or season.sheet.parent / "papers"
        sweep(folder)
        for kind, paper in inked.items():
            reserved.drawn(kind, paper.pdf, folder / paper.file_name)
        filed = file_papers(folder, list(inked.values()), preview=wanted.preview)
        for one in filed:
            for warning in one.proof.warnings:
                tell(f"{one.path.name}: {warning}")
        show(filed)
        _hand_over(reserved, dict(zip(inked, filed, strict=True)), wanted, tell)
        _say_what_follows(reserved, wanted, tell)
    return Printing(filed, sound.left_out)


def _hand_over(reserved: Reservation, filed: dict[str, Filed], wanted: Wanted, tell: Tell) -> None:
    """Send each paper where that is asked for; what was taken counts from then on."""
    papers = [PaperFile(one.path, *one.proof.size) for one in filed.values()]
    kinds = iter(filed)
    if wanted.send_to is None:
        for kind in kinds:
            reserved.keep(kind)
        return
    try:
        send(papers, wanted.send_to, tell, sent=lambda _: reserved.keep(next(kinds)))
    except OutputProblem:
        tell("the files are written; what was not sent is not recorded as printed")
        raise


def _say_what_follows(reserved: Reservation, wanted: Wanted, tell: Tell) -> None:
    """Where the next labels go, and which cards are older than the labels."""
    taken = reserved.taken
    if wanted.remember and taken is not None and taken.follows.next_label > 1:
        tell(f"{taken.stock}: label {taken.follows.next_label} is next on the last sheet (--first next)")
    if "wraps" in reserved.jobs and "crates" not in reserved.jobs:
        old = old_cards(reserved.record, reserved.jobs["wraps"])
        if old:
            tell(f"the crate cards of these lots are older and say something else: {lots_said(old)}")


@dataclass(frozen=True, slots=True)
class Handout:
    """A proven paper that is handed over and put in no folder."""

    file_name: str
    pdf: bytes
    labels: int  # wrap labels on it
    reserved: Reservation  # to be kept once it was handed over, or dropped
    old_cards: Sequence[str] = ()  # lots whose crate cards say something else than these labels


@in_its_fonts
def hand_out(season: Season, wanted: Wanted, tell: Tell) -> Handout:
    """Print one kind of paper in memory and prove it; where it is to be sent, it was when this returns.

    Raises:
        InputProblems: a lot asked for is not sound, and the rest was not asked for alone.
        UsageProblem: nothing is to be printed, or more than there is or than the limit allows.
        OutputProblem: the paper does not read back, or was not sent.
    """
    season = for_printer(season, wanted)
    (kind,) = wanted.kinds
    sound = sound_job(season, wanted, tell)
    said: list[str] = []
    reserved = reserve(season, sound, wanted, said.append)
    try:
        job = reserved.jobs[kind]
        wanted = first_of(wanted, reserved.taken)
        inked = draw(kind, job, season, wanted, said.append)
        if inked is None:
            raise UsageProblem(_why_none(kind, wanted, said))
        proof = prove(inked)
        reserved.drawn(kind, inked.pdf)
        if wanted.send_to is not None:
            _send_from_memory(inked.file_name, inked.pdf, proof.size, wanted.send_to, tell)
            reserved.keep(kind)
    except BaseException:
        reserved.drop()
        raise
    labels = 0 if reserved.taken is None else reserved.taken.labels
    old = old_cards(reserved.record, job) if kind == "wraps" else ()
    return Handout(inked.file_name, inked.pdf, labels, reserved, old)


def _why_none(kind: str, wanted: Wanted, said: Sequence[str]) -> str:
    """Why there is nothing to print, with the lots named."""
    named = [line for line in said if line.startswith("nothing left to label")]
    return named[0] if named else f"nothing to print: {why_none(kind, wanted)}"


def _send_from_memory(name: str, pdf: bytes, size: tuple[float, float], queue: str, tell: Tell) -> None:
    """Hand a paper to the spooler, which copies it before it says that it took it."""
    with TemporaryDirectory() as folder:
        path = Path(folder) / name
        path.write_bytes(pdf)
        send([PaperFile(path, *size)], queue, tell)


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

    farm = farm_for(farm, stock, printer)
    wording = Wording(farm.units)
    (path,) = place_files(folder, [test_page(farm, wording)])
    return path, steps(farm, wording)


def hand_out_test_page(
    farm: Farm, wording: Wording, stock: str, printer: str, queue: str | None, tell: Tell
) -> bytes:
    """The test page in memory, proven, and sent where that is asked for; no printer: without corrections.

    Raises:
        InputProblems: the stock is too small for lines to measure.
        OutputProblem: it does not read back, or was not sent.
    """
    from tagmaker.paper.stock.test_page import test_page

    farm = replace(farm_for(farm, stock, printer or None), printer=printer or None)
    with typeface(farm.fonts):
        return proven(test_page(farm, wording), queue, tell)


@in_its_fonts
def hand_out_report(season: Season, queue: str | None, tell: Tell) -> bytes:
    """The cooler report in memory, likewise."""
    from tagmaker.intake.columns import ON_PAPER
    from tagmaker.paper.cooler.report import cooler_report

    found = summaries(season, asked_for((), season))
    return proven(cooler_report(found, season.farm, season.wording, season.now, ON_PAPER), queue, tell)


def proven(inked: Inked, queue: str | None, tell: Tell) -> bytes:
    """A paper in memory that reads back; where it is to be sent, it was when this returns."""
    proof = prove(inked)
    if queue is not None:
        _send_from_memory(inked.file_name, inked.pdf, proof.size, queue, tell)
    return inked.pdf
