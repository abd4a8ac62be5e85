"""A lot sheet read with its journal laid over it, and what has to be said of the two."""

from __future__ import annotations

import secrets
from collections.abc import Collection, Iterator
from dataclasses import dataclass, field, replace
from datetime import datetime
from pathlib import Path

from tagmaker.desk.computer import this_computer
from tagmaker.desk.journal_words import remarks
from tagmaker.errors import Problem
from tagmaker.farm import Farm
from tagmaker.intake.files.grid import text_of
from tagmaker.intake.lots.changes import with_changes
from tagmaker.intake.lots.codes import code_of
from tagmaker.intake.lots.sheet import LotSheet, OpenSheet, lots_of, open_lots
from tagmaker.lot import Lot
from tagmaker.record.journal.beside import conflict_copies, journal_path
from tagmaker.record.journal.book import Book, Learnt, UnreadableJournal
from tagmaker.record.journal.entries import Entry
from tagmaker.record.journal.file import NOTHING_LEARNT, learn, read_book
from tagmaker.record.journal.laid import Laid
from tagmaker.record.journal.laying import lay
from tagmaker.record.journal.naming import family
from tagmaker.record.journal.rows import SheetRow
from tagmaker.storage.crops import CropTable

COPY_ENDING = "-caught-up"  # of a copy that catch-up wrote: the same sheet
SHEETS = ("*.csv", "*.xlsx", "*.xlsm", "*.ods")


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetJournal:
    """A sheet and its journal, as they were read together."""

    path: Path  # of the journal, there or not
    sheet: Path
    opened: OpenSheet
    farm: Farm
    crops: CropTable
    now: datetime
    alone: LotSheet  # what the sheet says without the journal
    book: Book = field(default_factory=Book)
    laid: Laid = field(default_factory=Laid)
    faults: tuple[Problem, ...] = ()  # for which nothing is laid over
    taken: frozenset[str] = frozenset()  # of a part: every code that sheet and journal have used

    @property
    def used(self) -> frozenset[str]:
        """Every code that the sheet or the journal has used."""
        rows = {code_of(row) for row in self.opened.rows}
        return self.taken | rows | self.book.codes

    def part(self, codes: Collection[str], now: datetime) -> SheetJournal:
        """Sheet and journal of some lots and those that hang together with them, laid over as of a moment."""
        parents = {lot.lot_code: lot.parents for lot in self.alone.lots}
        kin = family(codes, self.book.entries, parents)
        rows = tuple(row for row in self.opened.rows if code_of(row) in kin)
        left_out = tuple(code for code in self.alone.left_out if code in kin)
        alone = replace(
            self.alone,
            lots=tuple(lot for lot in self.alone.lots if lot.lot_code in kin),
            problems=tuple(problem for problem in self.alone.problems if problem.lot in kin),
            warnings=(),
            left_out=left_out,
        )
        found = replace(
            self,
            opened=replace(self.opened, rows=rows),
            alone=alone,
            book=self.book.of(kin),
            now=now,
            taken=self.used,
        )
        return replace(found, laid=laid_over(found, found.book, now))

    def with_entry(self, entry: Entry) -> tuple[LotSheet, Laid]:
        """The lots and the laying as they would be with one more entry."""
        kept = self.and_entry(replace(entry, number=self.book.last + 1))
        return kept._lots(kept.laid, kept.now), kept.laid

    def and_entry(self, entry: Entry, learnt: Learnt = NOTHING_LEARNT) -> SheetJournal:
        """Sheet and journal with one more entry, and what was accepted with it."""
        pairs = [replace(pair, includes=entry.number - 1) for pair in learnt.pairs]
        book = replace(self.book, entries=(*self.book.entries, entry), pairs=(*self.book.pairs, *pairs))
        now = max(self.now, entry.happened)
        return replace(self, book=book, now=now, laid=laid_over(self, book, now))

    def lots(self) -> LotSheet:
        """The lots with the journal laid over them, and what is wrong with them."""
        if self.faults or not self.book.entries:
            return replace(self.alone, problems=(*self.faults, *self.alone.problems))
        found = self._lots(self.laid, self.now)
        asked = {q.lot: q.since for q in self.laid.questions if q.kind == "left"}
        said = (*found.warnings, *remarks(self.laid, self.sheet.name))
        twice = [_in_two_sheets(code, other, self.sheet.name) for code, other in self.laid.twice.items()]
        bad = self.laid.twice.keys()
        lots = (lot for lot in found.lots if lot.lot_code not in bad)
        told = tuple(
            _may_have_left(lot, asked[lot.lot_code]) if lot.lot_code in asked else lot for lot in lots
        )
        return replace(found, lots=told, problems=(*twice, *found.problems), warnings=said)

    def _lots(self, laid: Laid, now: datetime) -> LotSheet:
        if not laid.changes and not laid.added:
            return self.alone
        changed = with_changes(self.opened, laid.changes, laid.added, "journal")
        return lots_of(changed, self.farm, self.crops, now)


def read_with_journal(
    sheet: Path,
    farm: Farm,
    crops: CropTable,
    now: datetime,
    *,
    without: bool = False,
    opened: OpenSheet | None = None,
    known: Book | None = None,
) -> SheetJournal:
    """A sheet and the journal beside it; the computer that keeps it remembers what was seen and accepted.

    Args:
        sheet: the lot sheet
        farm: the settings
        crops: the crop table
        now: local time of the farm; what happened later is not laid over
        without: leave the journal alone
        opened: the sheet, where it has been read
        known: the journal as it was read before

    Raises:
        InputProblems: the sheet as a whole cannot be read.
    """
    opened = opened or open_lots(sheet, farm)
    alone, path = lots_of(opened, farm, crops, now), journal_path(sheet)
    found = SheetJournal(path=path, sheet=sheet, opened=opened, farm=farm, crops=crops, now=now, alone=alone)
    if without:
        return found
    try:
        found = replace(found, book=read_book(path, known))
    except UnreadableJournal as error:
        return replace(found, faults=(_unreadable(path, error),))
    faults = tuple(_faults(found))
    if faults or not found.book.entries:
        return replace(found, faults=faults)
    found = replace(found, laid=laid_over(found, found.book, now))
    learnt = found.laid.learnt
    if (learnt.pairs or learnt.seen or learnt.forget) and found.book.keeper == this_computer():
        learn(path, learnt, found.book.keeper)
    return found


def laid_over(found: SheetJournal, book: Book, now: datetime) -> Laid:
    """What a journal makes of a sheet as of a moment."""
    rows = {code_of(row): row for row in found.opened.rows}
    lots = found.alone.lots
    return lay(
        [
            _sheet_row(lot, {name: text_of(value) for name, value in rows[lot.lot_code].cells.items()})
            for lot in lots
        ],
        book,
        sheet=sheet_name(found.sheet),
        codes={code for code in rows if code},
        numbers={lot.lot_code: lot.journal.number for lot in lots if lot.journal is not None},
        beside={sheet_name(path) for pattern in SHEETS for path in found.sheet.parent.glob(pattern)},
        workday=found.farm.workday,
        now=now,
    )


def _sheet_row(lot: Lot, cells: dict[str, str]) -> SheetRow:
    return SheetRow(
        code=lot.lot_code,
        cells=cells,
        where=lot.where,
        cut=lot.cut.date(),
        planned=lot.planned,
        stems=lot.stems,
        per_bunch=lot.per_bunch,
        gone=lot.gone,
        dumped=lot.dumped,
        split_off=lot.split_off,
        in_cooler=lot.in_cooler,
        moves=lot.moves,
        parents=lot.parents,
    )


def sheet_name(sheet: Path) -> str:
    """What the journal calls a sheet: one name for all its endings and for the copies of it."""
    return sheet.stem.removesuffix(COPY_ENDING)


def new_name() -> str:
    """A name for a journal: a letter that is no digit, and a digit."""
    return secrets.choice("ABCDEFGHJKLMNPQRSTUVWXYZ") + secrets.choice("23456789")


def _faults(found: SheetJournal) -> Iterator[Problem]:
    """Why nothing can be laid over this sheet."""
    for copy in conflict_copies(found.sheet):
        what = f"there must be one journal in a folder (got {copy.name} besides {found.path.name})"
        remedy = (
            "Look which of the two has the later entries (tagmaker journal), enter what only the other has, "
        )
        yield Problem(found.path.name, what, f"{remedy}and move that one out of the folder.")
    book = found.book
    for lot in found.alone.lots:
        mark = lot.journal
        if mark is None:
            continue
        if mark.journal != book.name:
            is_it = (
                f"the journal of this folder is {book.name}" if book.name else "this folder has no journal"
            )
            what = f"journal must name the journal of its folder (got {mark.journal}-{mark.number}: {is_it})"
            yield Problem(lot.where, what, "Bring that journal here, or clear the cell and count the lot.")
        elif mark.number > book.last:
            what = f"journal must be at most {book.name}-{book.last} (got {mark.journal}-{mark.number})"
            yield Problem(lot.where, what, "The journal is an old copy: bring the newest one here.")


def _unreadable(path: Path, error: UnreadableJournal) -> Problem:
    what = f"THE JOURNAL CANNOT BE READ: what happened at the crates is not in these dates (got: {error})"
    remedy = "Put back one of its daily copies under that name, or print with --without-journal."
    return Problem(path.name, what, remedy)


def _in_two_sheets(code: str, other: str, sheet: str) -> Problem:
    what = f"lot must stand in one sheet while the journal has entries of it (got {code} in {other} too)"
    return Problem(
        sheet, what, "Give one of the two another code, or move that sheet out of the folder.", code
    )


def _may_have_left(lot: Lot, leaves: datetime) -> Lot:
    """A lot of which nobody said whether it left: the orders that were still to come wait for the answer."""
    return replace(
        lot,
        may_have_left=leaves,
        orders=tuple(order for order in lot.orders if order.leaves <= leaves),
        alone=tuple(_may_have_left(alone, leaves) for alone in lot.alone),
    )
