"""A season after an entry: only the lot that was touched, and its kin, are dated anew."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from datetime import datetime

from tagmaker.desk.keeping import kept_departures
from tagmaker.desk.publishing import lot_journals, printed_tags
from tagmaker.desk.season import Season
from tagmaker.desk.season_journal import SheetJournal
from tagmaker.intake.lots.codes import code_of
from tagmaker.lot import Lot, StorageDates
from tagmaker.notes import Note
from tagmaker.record.journal.book import Book
from tagmaker.record.journal.entries import Entry
from tagmaker.record.journal.laid import Laid
from tagmaker.record.rows import Known
from tagmaker.scan.source import PageSource
from tagmaker.storage.dating import date_lots
from tagmaker.storage.planning import plan_lots
from tagmaker.storage.room import fits_until


def kin_of(part: SheetJournal) -> frozenset[str]:
    """Every code, of today and before, of the lots in a part of sheet and journal."""
    rows = {code_of(row) for row in part.opened.rows}
    return frozenset(rows | part.book.codes | set(part.laid.lots)) - {""}


def after_entry(season: Season, part: SheetJournal, entry: Entry) -> Season:
    """The season with an entry that was kept; `part` is sheet and journal of its lot and kin, with it."""
    assert season.journal is not None
    whole, known = season.journal.book, set(season.journal.book.pairs)
    book = replace(
        whole,
        name=whole.name or part.book.name,
        entries=(*whole.entries, *([entry] if entry.number > whole.last else [])),
        pairs=(*whole.pairs, *(pair for pair in part.book.pairs if pair not in known)),
    )
    return with_part(season, part, book)


def caught_up(season: Season, book: Book, now: datetime) -> Season:
    """The season with what was entered since it was read.

    Args:
        season: before
        book: the journal as it is now
        now: what happened later is not laid over
    """
    assert season.journal is not None
    fresh = [entry for entry in book.entries if entry.number > season.journal.book.last]
    codes = {code for entry in fresh for code in (entry.lot, entry.child)} - {""}
    if not codes:
        return season
    return with_part(season, replace(season.journal, book=book).part(codes, now), book)


def with_part(season: Season, part: SheetJournal, book: Book) -> Season:
    """The season with what became of some lots.

    Args:
        season: before
        part: sheet and journal of these lots, as they are now
        book: the whole journal
    """
    assert season.journal is not None
    kin, found = kin_of(part), part.lots()
    fresh = {lot.lot_code: lot for lot in found.lots}
    whole = season.journal
    problems = (*found.problems, *(p for p in season.problems if p.lot not in kin))
    journal = replace(whole, book=book, now=part.now, laid=_merged(whole.laid, part.laid, kin))
    after = replace(
        season, lots=tuple(_in_place(season.lots, fresh, kin)), problems=problems, journal=journal
    )
    dated = {
        d.lot.lot_code: d for d in date_lots(found.lots, season.farm, season.crops, season.now, season.airs)
    }
    before = {d.lot.lot_code: d for d in season.dated} | dated
    vars(after)["dated"] = tuple(
        before[lot.lot_code] for lot in after.lots if lot.lot_code in before and not lot.planned
    )
    return after


def _in_place(lots: Sequence[Lot], fresh: Mapping[str, Lot], kin: frozenset[str]) -> Iterable[Lot]:
    """The lots in their order, those of a kin as they are now, new ones at the end."""
    left = dict(fresh)
    for lot in lots:
        if lot.lot_code not in kin:
            yield lot
        elif lot.lot_code in left:
            yield left.pop(lot.lot_code)
    yield from left.values()


def _merged(whole: Laid, part: Laid, kin: frozenset[str]) -> Laid:
    lots = {code: state for code, state in whole.lots.items() if code not in kin}
    asked = [question for question in whole.questions if question.lot not in kin]
    return replace(whole, lots={**lots, **part.lots}, questions=(*asked, *part.questions))


def after_entry_source(source: PageSource, season: Season, kin: frozenset[str], known: Known) -> PageSource:
    """What the pages show after an entry; room and coolers are as they were until all is read again.

    Args:
        source: before
        season: after
        kin: codes of the lots that were touched
        known: what was printed
    """
    touched = [dates for dates in season.dated if dates.lot.lot_code in kin]
    lots = [lot for lot in season.lots if lot.lot_code in kin]
    plans = plan_lots(lots, season.farm, season.crops, season.now, season.airs)
    printed = {code: said for code, said in source.printed.items() if code not in kin}
    warnings = {code: notes for code, notes in source.warnings.items() if code not in kin}
    return replace(
        source,
        dated=season.dated,
        warnings={**warnings, **{d.lot.lot_code: _warnings(d, source, season) for d in touched}},
        plans=[*(plan for plan in source.plans if plan.lot.lot_code not in kin), *plans],
        printed={
            **printed,
            **{code: said for code, said in printed_tags(known, touched).items() if code in kin},
        },
        problems=season.problems,
        kept=frozenset(one for one in source.kept if one[0] not in kin) | kept_departures(season, kin),
        journal={
            **{c: told for c, told in source.journal.items() if c not in kin},
            **lot_journals(season, kin),
        },
    )


def _warnings(dates: StorageDates, source: PageSource, season: Season) -> list[Note]:
    """Notes of one lot; what its coolers cost it comes with the next reading."""
    fits = fits_until(dates, source.rooms, season.now)
    return [*dates.warnings, *([fits] if fits else [])]
