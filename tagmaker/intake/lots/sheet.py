"""The lot sheet: from a csv, xlsx or ods file to lots.

The steps: the file becomes a grid of cells, the header says which column is which, every row is
read cell by cell into an entry, entries are completed to lots (parents before the lots that were
split from them), and the stems are counted. Problems are collected on the way, all of them; a row
with a problem is left out, the others go on.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from pathlib import Path

from tagmaker.errors import InputProblems, Problem
from tagmaker.farm import Farm
from tagmaker.intake.cells.plain_text import listed, shown, squash, tidy
from tagmaker.intake.cells.reading import Reading
from tagmaker.intake.cells.words import FORMS
from tagmaker.intake.files.grid import Grid, text_of
from tagmaker.intake.files.sheet_file import HEAD_ROWS, SheetFile, open_sheet
from tagmaker.intake.lots.codes import code_of, code_problem
from tagmaker.intake.lots.completing import Completion
from tagmaker.intake.lots.counting import counted_lots
from tagmaker.intake.lots.entry import Entry, Row, read_entry
from tagmaker.intake.lots.families import parents_first, sound_families, unsound_parent, with_known_parents
from tagmaker.intake.lots.header import Header, find_header
from tagmaker.intake.lots.rows import doubled_columns, filled_rows, said_of_file
from tagmaker.intake.lots.seasons import is_old, said_of_seasons, wrong_year
from tagmaker.intake.lots.unused import near_misses, said_of_unused, title_at, unused_columns
from tagmaker.intake.settings.keys import FILE_NAME
from tagmaker.lot import Lot
from tagmaker.storage.crops import CropTable

CODES = ("lot", "split from")  # columns that count as the spreadsheet displays them
REQUIRED = ("lot", "crop", "cut")


@dataclass(frozen=True, slots=True)
class LotSheet:
    """What a sheet of lots holds."""

    lots: tuple[Lot, ...]  # sound rows, in the order of the sheet
    problems: tuple[Problem, ...]  # of the other rows; `lot` is "row 7" where a row has no readable code
    warnings: tuple[Problem, ...] = ()  # worth a word, but no fault
    left_out: tuple[str, ...] = ()  # codes of lots that were cut too long ago


@dataclass(frozen=True, slots=True)
class OpenSheet:
    """A sheet of lots whose header and rows are found, and whose cells are not read yet."""

    grid: Grid
    header: Header
    rows: tuple[Row, ...]


def read_lots(path: Path, farm: Farm, crops: CropTable, now: datetime) -> LotSheet:
    """The lots of a sheet, which is only read, never written to.

    Args:
        path: a csv, xlsx or ods file.
        farm: the settings.
        crops: the crop table.
        now: naive local moment; a cut after that day is a planned row.

    Raises:
        InputProblems: the file is no sheet of lots, or `[usual]` of the settings is wrong.
    """
    return lots_of(open_lots(path, farm), farm, crops, now)


def open_lots(path: Path, farm: Farm) -> OpenSheet:
    """A sheet with its rows, as they stand there; raises InputProblems where it is none of lots."""
    with open_sheet(path) as file:
        return lots_in(file, farm)


def lots_in(file: SheetFile, farm: Farm) -> OpenSheet:
    """The same of a file that is open."""
    grid = file.lots(lambda rows: len(_named(rows, farm)), lambda rows: {"lot", "cut"} <= _named(rows, farm))
    return rows_in(grid, farm)


def rows_in(grid: Grid, farm: Farm) -> OpenSheet:
    """The same of a grid of cells."""
    header = _header(grid, farm)
    return OpenSheet(grid, header, tuple(filled_rows(grid, header, CODES)))


def lots_of(sheet: OpenSheet, farm: Farm, crops: CropTable, now: datetime) -> LotSheet:
    """The lots of an open sheet; see read_lots."""
    reading, grid, header = Reading.begin(farm, crops, now), sheet.grid, sheet.header
    unused = unused_columns(grid, header, farm.ignored)
    missed = list(near_misses(grid, header, unused, reading))
    if missed:
        raise InputProblems(missed)
    usual = _usual(farm, Reading.begin(farm, crops, now))
    problems: list[Problem] = []
    entries = _entries(sheet.rows, reading, problems)
    sound = _lots(entries, usual, reading, problems)
    old = tuple(code for code, lot in sound.items() if is_old(lot, now.date()))
    lots = {code: lot for code, lot in sound.items() if code not in old}
    warnings = (
        *said_of_file(grid, header),
        *said_of_unused(grid.where, [title_at(header, index) for index in unused]),
        *said_of_seasons(grid.where, lots, old),
        *(() if entries else (_no_lots(grid),)),
    )
    return LotSheet(tuple(lots.values()), _in_sheet_order(problems, entries), warnings, old)


def _in_sheet_order(problems: Iterable[Problem], entries: Sequence[Entry]) -> tuple[Problem, ...]:
    """The problems row by row, each once."""
    rows = {entry.lot or f"row {entry.row.number}": entry.row.number for entry in reversed(entries)}
    return tuple(sorted(dict.fromkeys(problems), key=lambda problem: rows.get(problem.lot, 0)))


def _named(rows: Sequence[Sequence[str]], farm: Farm) -> set[str]:
    """The columns that the header among some rows names."""
    header = find_header(rows, farm.columns)
    return set(header.places) if header else set()


def _header(grid: Grid, farm: Farm) -> Header:
    """The header row, with all columns it must have."""
    texts = [[tidy(text_of(value)) for value in row] for row in grid.rows[:HEAD_ROWS]]
    header = find_header(texts, farm.columns)
    if header is None:
        filled = any(text for row in texts for text in row)
        found = "no row with such names" if filled else "an empty sheet"
        what = f"must have a header row with the columns {listed(REQUIRED, 'and')} (got {found})"
        remedy = "Name the columns in the row above the lots, or begin with: tagmaker start FOLDER."
        raise InputProblems([Problem(grid.where, what, remedy)])
    problems = [*_missing_columns(grid, header, farm), *doubled_columns(grid, header)]
    if problems:
        raise InputProblems(problems)
    return header


def _missing_columns(grid: Grid, header: Header, farm: Farm) -> Iterable[Problem]:
    titles = [title for title in header.titles if title]
    for column in REQUIRED:
        if column in header.places or column in farm.usual or column in farm.columns:
            continue
        what = f"the header must have a column {column} (got {shown(', '.join(titles))})"
        remedy = f'Add it, or say in {FILE_NAME} which column it is: [columns] {column} = "My header".'
        yield Problem(grid.row_at(header.row), what, remedy)
    for column, own in farm.columns.items():
        if column not in header.places:
            what = f"the header must have the column {shown(own)}, as [columns] says for {column} (got none)"
            yield Problem(grid.row_at(header.row), what, f"Correct the header, or {FILE_NAME}.")


def _usual(farm: Farm, reading: Reading) -> Entry:
    """What blank cells mean on this farm, read like a row of the sheet."""
    place = f"{FILE_NAME}, [usual]"
    row = Row(place, 0, dict(farm.usual), lambda column: farm.usual_where.get(column, place))
    entry, problems = read_entry(row, reading)
    crops = reading.crops
    forms = {squash(form) for crop in crops.crops for form in crops.forms(crop)} | FORMS.keys()
    if entry.form and squash(entry.form) not in forms:
        what = f"form must be a form of some crop (got {shown(entry.form)})"
        problems.append(Problem(row.place("form"), what, "Correct it, or leave it out."))
    if problems:
        raise InputProblems(replace(problem, lot="") for problem in problems)
    return entry


def _entries(rows: Sequence[Row], reading: Reading, problems: list[Problem]) -> list[Entry]:
    """The rows that hold more than a lot code, read cell by cell."""
    codes = [code_of(row) for row in rows]
    taken = {code for code in codes if code}
    entries = []
    for row, code in zip(rows, codes, strict=True):
        if row.cells.keys() == {"lot"}:
            continue
        if not code:
            problems.append(code_problem(row, taken))
        entry, faults = read_entry(row, reading, code)
        problems += faults
        entries.append(entry)
    return entries


def _lots(
    entries: Sequence[Entry], usual: Entry, reading: Reading, problems: list[Problem]
) -> dict[str, Lot]:
    """The sound lots by code, in the order of the sheet."""
    entries = with_known_parents(entries, problems.append)
    single = _single(entries, problems)
    bad = {problem.lot for problem in problems}
    ordered = parents_first(single, problems.append)
    lots: dict[str, Lot] = {}
    for entry in ordered:
        if "split from" in entry.faulty:
            continue
        missing = next((share.parent for share in entry.split_from if share.parent not in lots), None)
        if missing is not None:
            problems.append(unsound_parent(entry, missing))
            continue
        completion = Completion(entry, usual, [lots[share.parent] for share in entry.split_from], reading)
        lot = completion.lot()
        problems += completion.problems
        if lot is not None and entry.lot not in bad:
            lots[entry.lot] = lot
    lots = counted_lots(lots, entries, problems.append)
    today, rows = reading.now.date(), {entry.lot: entry for entry in single}
    mistyped = [wrong_year(lot, rows[code], today) for code, lot in lots.items() if is_old(lot, today)]
    problems += [problem for problem in mistyped if problem is not None]
    bad = {problem.lot for problem in problems}
    problems += sound_families(lots, bad, ordered)
    return {entry.lot: lots[entry.lot] for entry in single if entry.lot in lots and entry.lot not in bad}


def _single(entries: Sequence[Entry], problems: list[Problem]) -> list[Entry]:
    """The entries whose code no other row has; rows without a code are none of them."""
    first: dict[str, Entry] = {}
    doubled: set[str] = set()
    for entry in entries:
        if not entry.lot:
            continue
        if entry.lot in first:
            doubled.add(entry.lot)
            where = first[entry.lot].row.place("lot")
            what = f"code {entry.lot} is already used in {_short(where)}"
            remedy = "Give one of the two rows another code."
            problems.append(entry.row.problem("lot", what, remedy, entry.lot))
        first.setdefault(entry.lot, entry)
    return [entry for code, entry in first.items() if code not in doubled]


def _short(where: str) -> str:
    """The last part of a place: 'cell A2', 'line 7'."""
    parts = [part for part in where.split(", ") if part.startswith(("cell ", "line ", "row "))]
    return parts[-1] if parts else where


def _no_lots(grid: Grid) -> Problem:
    what = "has no lots yet (got a header and no row below it with more than a code)"
    return Problem(grid.where, what, "Fill in a row for each lot.")
