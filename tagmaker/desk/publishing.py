"""What the pages are made from, put together out of a season folder and the record of printed tags."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping, Sequence
from pathlib import Path

from tagmaker.desk.jobs import asked_for
from tagmaker.desk.journal_words import to_settle, words_of
from tagmaker.desk.keeping import kept_departures
from tagmaker.desk.leftovers import sweep
from tagmaker.desk.overview import overview
from tagmaker.desk.packing import promised_to_orders
from tagmaker.desk.season import Season, summaries
from tagmaker.lot import StorageDates
from tagmaker.record import tags
from tagmaker.record.journal.entries import Entry, Kind
from tagmaker.record.printings import open_record
from tagmaker.record.rows import Known
from tagmaker.scan.page_files import write_pages
from tagmaker.scan.source import LotJournal, PageSource, PrintedTag, Told

TOLD = 12  # entries of a lot that its page tells, the last ones (chosen)


def page_source(season: Season) -> PageSource:
    """Everything that the pages of a season show; the record of printed tags is only looked at."""
    everything = asked_for((), season)
    found = overview(season, everything)
    return PageSource(
        farm=season.farm,
        crops=season.crops,
        wording=season.wording,
        now=season.now,
        dated=season.dated,
        warnings=found.warnings,
        plans=found.plans,
        rooms=found.rooms,
        coolers=summaries(season, everything),
        printed=_printed(season),
        problems=season.problems,
        sheet=str(season.sheet.absolute()),
        journal=lot_journals(season),
        remarks=season.remarks,
        log_files={name: readings.files for name, readings in season.readings.items()},
        promised=promised_to_orders(season),
        kept=kept_departures(season),
    )


def lot_journals(season: Season, codes: Collection[str] | None = None) -> Mapping[str, LotJournal]:
    """What the journal holds of lots, by their codes; of some alone where they are named."""
    if season.journal is None:
        return {}
    laid, book = season.journal.laid, season.journal.book
    undone = {entry.undoes for entry in book.entries if entry.kind is Kind.UNDO}
    asked = {question.lot: question for question in laid.questions}
    found = {}
    for code, state in laid.lots.items():
        if not state.entries or (codes is not None and code not in codes):
            continue
        last = sorted(state.entries, key=lambda entry: -entry.number)
        question = asked.get(code)
        found[code] = LotJournal(
            last=last[0].number,
            told=tuple(_told(entry, entry.number in undone, state.row.per_bunch) for entry in last[:TOLD]),
            to_settle=tuple(str(to_settle(item, state.row, season.sheet.name)) for item in state.unsettled),
            asked=question.kind if question is not None and not question.counted else "",
            asked_stems=question.stems if question is not None else 0,
        )
    return found


def _told(entry: Entry, undone: bool, per_bunch: int) -> Told:
    moments = (entry.happened, entry.recorded)
    return Told(entry.number, *moments, words_of(entry, per_bunch), entry.device, undone)


def publish(season: Season, out: Path | None, only: Sequence[str] = ()) -> tuple[Path, ...]:
    """Write the pages of a season, and say where they are; the index comes last.

    Args:
        season: the season folder, read.
        out: the folder that gets the folder `pages`; None: papers/ beside the sheet.
        only: lot codes whose pages alone are written again.

    Raises:
        UsageProblem: a code is not in the sheet.
        OutputProblem: the pages could not be written.
    """
    codes = sorted(asked_for(only, season)) if only else ()
    source, folder = page_source(season), (out or season.sheet.parent / "papers") / "pages"
    sweep(folder)
    return write_pages(source, folder, codes)


def _printed(season: Season) -> Mapping[str, Sequence[PrintedTag]]:
    """What the tags of each lot say, by lot code: of those in the sheet, and of those that have left it."""
    record, _ = open_record(season.sheet, season.now, create=False)
    return printed_tags(record.known, season.dated)


def printed_tags(known: Known, dated: Iterable[StorageDates]) -> Mapping[str, Sequence[PrintedTag]]:
    """What printed tags say against dates, by lot code."""
    dates_of = {dates.lot.lot_code: dates for dates in dated}
    said: defaultdict[str, list[PrintedTag]] = defaultdict(list)
    for paper in ("wraps", "crates"):
        for code, lines in tags.by_lot(known.lines(paper)).items():
            if code in dates_of:
                found = tags.standing(lines, dates_of[code])
            else:
                found = tuple(tags.Standing(line) for line in tags.last_printed(lines) if line.count)
            said[code] += [_tag(tag) for tag in found]
    return {code: tags for code, tags in said.items() if tags}


def _tag(tag: tags.Standing) -> PrintedTag:
    line = tag.line
    return PrintedTag(
        paper=line.paper,
        moment=line.moment,
        order=line.order,
        code=line.code,
        sell_by=line.sell_by,
        into_water_by=line.into_water_by,
        differs=tag.stale is not None,
        untrue=tag.stale is tags.Stale.MUST_GO,
    )
