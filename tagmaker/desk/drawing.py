"""Drawing one kind of paper for a job, in the fonts, on the stock and for the printer that are asked for."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace
from functools import wraps
from typing import Concatenate, ParamSpec, TypeVar

from tagmaker.desk.jobs import Job, Tell, Wanted, asked_for, labels_due, why_none
from tagmaker.desk.season import Season, told
from tagmaker.errors import UsageProblem
from tagmaker.farm import Farm
from tagmaker.paper.press.fonts import typeface
from tagmaker.paper.press.ink import Inked
from tagmaker.paper.press.on_paper import check_on_paper
from tagmaker.paper.stock.label_stock import stocks
from tagmaker.record.tags import Printed, printed_now
from tagmaker.telling.bunches import bunches_of, crates_of
from tagmaker.telling.readiness import is_wet

NAMES = {"buyers": "buyer's labels", "wraps": "wrap labels", "crates": "crate cards"}  # of kinds, in words
P = ParamSpec("P")
T = TypeVar("T")


def in_its_fonts(printing: Callable[Concatenate[Season, P], T]) -> Callable[Concatenate[Season, P], T]:
    """The same, drawn in the fonts of the season's farm."""

    @wraps(printing)
    def drawn(season: Season, /, *rest: P.args, **named: P.kwargs) -> T:
        with typeface(season.farm.fonts):
            return printing(season, *rest, **named)

    return drawn


def for_printer(season: Season, wanted: Wanted) -> Season:
    """The season with the label stock and the printer that are asked for."""
    return replace(season, farm=farm_for(season.farm, wanted.label_stock, wanted.printer))


def farm_for(farm: Farm, stock: str | None, printer: str | None) -> Farm:
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


def draw(kind: str, job: Job, season: Season, wanted: Wanted, tell: Tell) -> Inked | None:
    """One paper that the printer leaves on its sheets; None, and said, where there is nothing to print."""
    if kind != "checklist" and not job.lots:
        tell(f"no {NAMES[kind]} to print: {why_none(kind, wanted)}")
        return None
    inked = _drawn(kind, job, season, wanted)
    check_on_paper(inked)
    return inked


def _drawn(kind: str, job: Job, season: Season, wanted: Wanted) -> Inked:
    if kind == "checklist":
        from tagmaker.paper.checklist.pages import cooler_checklists
        from tagmaker.storage.room import overfull

        runs = overfull(season.dated, season.farm, season.crops, season.now, planned=season.planned)
        stories = told(season, season.dated)  # what the readings cost each lot is the report's to say
        asked = asked_for(wanted.only, season)
        plans = [lot for lot in season.lots if lot.planned and lot.lot_code in asked]
        return cooler_checklists(
            job.lots, season, runs, stories, plans, blank=wanted.blank, weeks=wanted.weeks
        )
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


def lines_for(kind: str, job: Job, season: Season, count: int | None) -> Iterator[Printed]:
    """The lines of the record for one paper, in the order in which its tags are drawn."""
    if kind == "crates":
        for dates in job.lots:
            yield printed_now("crates", dates, len(crates_of(dates, season.crops)), season.now)
    elif kind == "wraps":
        for dates in job.lots:
            most = job.labels.get(dates.lot.lot_code)
            if is_wet(dates):
                yield printed_now("wraps", dates, 1, season.now, replaces=most is None)
                continue
            for bunches in bunches_of(dates, most, count):
                yield printed_now(
                    "wraps", dates, bunches.count, season.now, order=bunches.order, replaces=most is None
                )
