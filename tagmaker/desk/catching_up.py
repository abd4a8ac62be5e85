"""The sheet caught up with its journal: what to type, cell by cell, and a copy in which it is typed."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass, replace
from datetime import datetime
from pathlib import Path
from tempfile import TemporaryDirectory

from tagmaker.desk.computer import this_computer
from tagmaker.desk.cooler_entries import looks_of
from tagmaker.desk.entry_making import Yard
from tagmaker.desk.season_journal import (
    COPY_ENDING,
    SheetJournal,
    laid_over,
    sheet_name,
)
from tagmaker.errors import InputProblems, OutputProblem
from tagmaker.intake.files.changed_text import changed_text
from tagmaker.intake.files.changed_workbook import changed_workbook, width_of
from tagmaker.intake.files.grid import text_of
from tagmaker.intake.log.hand_readings import FILE_NAME as HAND_READINGS
from tagmaker.intake.log.hand_readings import read_hand_readings
from tagmaker.intake.lots.codes import code_of
from tagmaker.intake.lots.sheet import lots_of, open_lots
from tagmaker.lot import Lot
from tagmaker.record.journal.accepting import caught_up
from tagmaker.record.journal.book import Learnt
from tagmaker.record.journal.file import kept_elsewhere, learn
from tagmaker.record.journal.laid import LotState
from tagmaker.record.journal.rows import said

JOURNAL = "journal"  # the column


@dataclass(frozen=True, slots=True)
class CellToType:
    """One cell that the sheet lacks behind its journal."""

    where: str  # file, sheet and cell
    lot: str
    column: str
    was: str
    now: str


@dataclass(frozen=True, slots=True)
class CaughtUp:
    """What a catch-up gave."""

    cells: Sequence[CellToType]
    copy: Path | None  # where the copy lies
    why_no_copy: str = ""
    unsettled: Sequence[str] = ()  # codes of lots that have to be settled first


def catch_up(found: SheetJournal, out: Path | None = None) -> CaughtUp:
    """Give out what the sheet lacks, and a copy of it where one can be made that gives the same lots.

    Args:
        found: sheet and journal, laid over as of the last entry at least
        out: folder of the copy; None: beside the sheet

    Raises:
        InputProblems: nothing can be laid over.
        OutputProblem: the journal is kept by another computer, or cannot be written.
    """
    if found.faults:
        raise InputProblems(found.faults)
    unsettled = sorted({item.lot for item in found.laid.unsettled})
    states = [state for state in found.laid.lots.values() if _is_behind(state, found.book.last)]
    done = [state for state in states if not state.unsettled and not _hangs_on(state, unsettled)]
    changes = {state.row.code: _cells(found, state) for state in done}
    cells = list(_to_type(found, done, changes))
    if not done:
        return CaughtUp(cells, None, "", unsettled)
    learnt = caught_up(done, found.book.last, found.now)
    content = _copy_of(found, done, changes)
    copy, why = (
        None,
        "the copy can only be written for xlsx and csv without a formula in these cells",
    )
    if content is not None:
        why = "" if _gives_the_same(found, content, learnt) else "the copy would not have given the same lots"
    _accept(found, learnt)
    if content is not None and not why:
        copy = (out or found.sheet.parent) / f"{sheet_name(found.sheet)}{COPY_ENDING}{found.sheet.suffix}"
        _put(content, copy)
    return CaughtUp(cells, copy, why, unsettled)


def _is_behind(state: LotState, last: int) -> bool:
    """Whether the row does not count all entries of its lot."""
    if not state.in_sheet or state.change.cells:
        return True
    mine = [entry.number for entry in state.entries if entry.topic is not None or entry.undoes is not None]
    return any(number > min(j.includes for j in state.judged.values()) for number in mine if number <= last)


def _hangs_on(state: LotState, unsettled: Sequence[str]) -> bool:
    """Whether a lot came from one that has to be settled first."""
    return bool(set(state.row.parents) & set(unsettled))


def _cells(found: SheetJournal, state: LotState) -> dict[str, str]:
    """The cells of a row, its number in the column journal among them."""
    mark = {JOURNAL: f"{found.book.name}-{found.book.last}"} if JOURNAL in found.opened.header.places else {}
    cells = state.change.cells if state.in_sheet else state.row.with_cells(state.change.cells).cells
    return {**cells, **mark}


def _to_type(
    found: SheetJournal, done: Sequence[LotState], changes: Mapping[str, Mapping[str, str]]
) -> Iterator[CellToType]:
    rows = {code_of(row): row for row in found.opened.rows}
    for state in done:
        row = rows.get(state.row.code) if state.in_sheet else None
        for column, text in changes[state.row.code].items():
            if row is None:
                yield CellToType(f"{found.opened.grid.where}, a new row", state.code, column, "", text)
                continue
            where = row.place(column)
            if column not in found.opened.header.places:
                where += f", which needs a column {column}"
            yield CellToType(where, state.code, column, text_of(row.cells.get(column)), text)


# --- the copy ----------------------------------------------------------------------------------------------


def _copy_of(
    found: SheetJournal, done: Sequence[LotState], changes: Mapping[str, Mapping[str, str]]
) -> bytes | None:
    """The file with these cells; None where it cannot be changed so."""
    header, grid = found.opened.header, found.opened.grid
    wanted = dict.fromkeys(column for cells in changes.values() for column in cells)
    missing = [column for column in wanted if column not in header.places]
    content = found.sheet.read_bytes()
    width = max(len(row) for row in grid.rows)
    if grid.sheet is not None and missing:
        width = max(width, width_of(content, grid.sheet))
    places = {**header.places, **{column: width + n for n, column in enumerate(missing)}}
    rows = {code_of(row): row.number - 1 for row in found.opened.rows}
    cells = {
        (rows[state.row.code], places[column]): text
        for state in done
        if state.in_sheet
        for column, text in changes[state.row.code].items()
    }
    cells |= {(header.row, places[column]): column for column in missing}
    born = [
        {places[column]: text for column, text in changes[state.row.code].items()}
        for state in done
        if not state.in_sheet
    ]
    if grid.sheet is not None:
        return changed_workbook(content, grid.sheet, cells, born)
    added = [[row.get(column, "") for column in range(max(places.values()) + 1)] for row in born]
    return changed_text(content, grid, cells, added)


def _gives_the_same(found: SheetJournal, content: bytes, learnt: Learnt) -> bool:
    """Whether the copy, read back with the journal, is the sheet with the journal laid over it."""
    with TemporaryDirectory() as folder:
        copy = Path(folder) / found.sheet.name
        copy.write_bytes(content)
        try:
            opened = open_lots(copy, found.farm)
        except InputProblems:
            return False
    alone = lots_of(opened, found.farm, found.crops, found.now)
    book = replace(found.book, pairs=(*found.book.pairs, *learnt.pairs))
    read = replace(found, opened=opened, alone=alone, book=book)
    read = replace(read, laid=laid_over(read, book, found.now))
    untouched = {state.row.code for state in found.laid.lots.values() if state.unsettled}
    again = {code for code, state in read.laid.lots.items() if state.change.cells} - untouched
    return not again and _plain(read.lots().lots) == _plain(found.lots().lots)


def _plain(lots: Sequence[Lot]) -> dict[str, Lot]:
    """The lots without what only tells where they were written."""
    return {
        lot.lot_code: replace(
            lot,
            where="",
            row=0,
            cells={},
            name_cells={},
            journal=None,
            alone=tuple(_plain(lot.alone).values()),
        )
        for lot in lots
    }


def _accept(found: SheetJournal, learnt: Learnt) -> None:
    if found.book.keeper != this_computer():
        raise OutputProblem(kept_elsewhere(found.path, found.book.keeper))
    if not learn(found.path, learnt, found.book.keeper):
        raise OutputProblem(f"{found.path.name}: the journal must be a file that can be written")


def _put(content: bytes, copy: Path) -> None:
    part = copy.with_name(f"{copy.name}.part")
    try:
        copy.parent.mkdir(parents=True, exist_ok=True)
        part.write_bytes(content)
        part.replace(copy)
    except OSError as error:
        raise OutputProblem(f"{copy} could not be written: {error.strerror or error}") from error
    finally:
        part.unlink(missing_ok=True)


def caught_up_text(yard: Yard, out: Path | None, tell: Callable[[str], None]) -> tuple[str, Path | None]:
    """Catch up with the journal of a sheet: what to type, and where the copy lies.

    Args:
        yard: the sheet, and as of when; all entries are caught up
        out: folder of the copy; None: beside the sheet
        tell: says a line to whoever runs the command
    """
    found = yard.journal()
    latest = max((yard.now, *(entry.happened for entry in found.book.entries)))
    if latest > yard.now:
        found = yard.journal(latest)
    caught = catch_up(found, out)
    for code in caught.unsettled:
        tell(f"lot {code} is left out: it is TO SETTLE")
    if caught.why_no_copy and caught.cells:
        tell(f"no copy was written: {caught.why_no_copy}. Type the cells of the list.")
    lines = [_said(cell) for cell in caught.cells]
    lines += _looks_to_type(found)
    if caught.copy is not None:
        lines.append(f"Or put {caught.copy.name} in the place of {found.sheet.name}: it is all typed there.")
    return "\n".join(lines) or "the sheet counts every entry; there is nothing to type", caught.copy


def _looks_to_type(found: SheetJournal) -> list[str]:
    """Rows for the readings by hand, of what was read at the coolers: no row of a lot has a place for it."""
    there: set[tuple[datetime, str]] = set()
    with suppress(InputProblems):  # then all are given out
        there = {
            (look.moment, look.cooler) for look in read_hand_readings(found.sheet, found.farm, found.now)
        }
    fahrenheit = found.farm.units == "F"

    def written(t_c: float) -> str:
        return f"{round(t_c * 1.8 + 32, 1):g}F" if fahrenheit else f"{t_c:g}C"

    return [
        f"{HAND_READINGS}, a new row: cooler {look.cooler}, moment {said(look.moment)}, "
        f"low {written(look.low_c)}, high {written(look.high_c)} (the journal counts it meanwhile)"
        for look in looks_of(found.book, found.now)
        if (look.moment, look.cooler) not in there
    ]


def _said(cell: CellToType) -> str:
    now = f'type "{cell.now}"' if cell.now else "clear it"
    was = f' (it says "{cell.was}")' if cell.was else ""
    return f"{cell.where}: lot {cell.lot}, {cell.column}: {now}{was}"
