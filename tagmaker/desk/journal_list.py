"""The journal as a list to read, or as a table for other programs."""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Callable, Sequence
from datetime import datetime
from pathlib import Path

from tagmaker.desk.computer import this_computer
from tagmaker.desk.entry_making import Clock, Yard
from tagmaker.desk.journal_words import remarks, words_of
from tagmaker.errors import InputProblems, OutputProblem, UsageProblem
from tagmaker.record.journal.beside import conflict_copies, journal_path
from tagmaker.record.journal.book import Book, NotKept, UnreadableJournal
from tagmaker.record.journal.entries import Entry, Kind
from tagmaker.record.journal.file import clock_is_right, keep_here, read_book

COLUMNS = (
    *("number", "happened", "recorded", "lot", "kind", "stems", "cooler", "place", "device", "undoes"),
    *("details", "id", "happened_utc", "recorded_utc"),
)


def show_journal(
    sheet: Path,
    only: Sequence[str],
    clock: Clock,
    tell: Callable[[str], None],
    *,
    as_csv: bool,
    right: bool,
    here: bool,
) -> str:
    """The journal of a sheet's folder, after its keeper or clock was settled; what is to settle is told.

    Raises:
        UsageProblem: there is none yet.
        OutputProblem: it cannot be read or written.
    """
    path, computer = journal_path(sheet), this_computer(create=here)
    if not path.exists():
        raise UsageProblem(f'{path.name} must be there (got none): it begins with the first "tagmaker enter"')
    try:
        if here:
            keep_here(path, computer)
        if right:
            clock_is_right(path, computer)
        book = read_book(path)
    except (NotKept, UnreadableJournal) as error:
        raise OutputProblem(f"{path.name}: {error}") from error
    entries = chosen(book, only)
    for copy in conflict_copies(sheet):
        tell(f"{copy.name}: another journal lies beside this one; move it out of the folder")
    try:
        yard = Yard.of(sheet, None, clock)
        found = yard.journal(max(yard.now, *_moments(book)))
    except InputProblems as error:
        tell(str(error))
    else:
        for problem in (*found.faults, *remarks(found.laid, sheet.name)):
            tell(str(problem))
    return csv_of(entries) if as_csv else as_list(book, entries)


def _moments(book: Book) -> list[datetime]:
    return [datetime.min, *(entry.happened for entry in book.entries)]


def chosen(book: Book, codes: Sequence[str]) -> list[Entry]:
    """The entries of some lots, of all where none is named, by number."""
    wanted = {code.strip().upper() for code in codes}
    return [entry for entry in book.entries if not wanted or wanted & {entry.lot, entry.child}]


def csv_of(entries: Sequence[Entry]) -> str:
    """A line for each entry, under a header; moments as ISO text."""
    table = io.StringIO()
    writer = csv.writer(table, lineterminator="\n")
    writer.writerow(COLUMNS)
    for entry in entries:
        details = json.dumps(dict(entry.details), sort_keys=True, ensure_ascii=False) if entry.details else ""
        values = {"kind": entry.kind.value, "details": details}
        writer.writerow(_plain(values.get(name, getattr(entry, name))) for name in COLUMNS)
    return table.getvalue().rstrip("\n")


def _plain(value: object) -> str:
    if value is None:
        return ""
    text = value.isoformat() if hasattr(value, "isoformat") else str(value)
    return f"'{text}" if text.startswith(("=", "+", "-", "@")) else text


def as_list(book: Book, entries: Sequence[Entry]) -> str:
    """A line for each entry: when it happened, what, and what became of it."""
    undone = {entry.undoes for entry in book.entries if entry.kind is Kind.UNDO}
    keeper = book.keeper.split(" ")[0]
    lines = [f"journal {book.name}, kept by {keeper}, {book.last} entries"]
    lines += [_line(entry, entry.number in undone) for entry in entries]
    return "\n".join(lines)


def _line(entry: Entry, undone: bool) -> str:
    late = entry.recorded.replace(second=0) > entry.happened.replace(second=0)
    noted = f" (noted {entry.recorded:%Y-%m-%d %H:%M})" if late and _is_other(entry) else ""
    mark = " - UNDONE" if undone else ""
    return (
        f"{entry.number:>5}  {entry.happened:%Y-%m-%d %H:%M}  {entry.lot:<12} {words_of(entry)}{noted}{mark}"
    )


def _is_other(entry: Entry) -> bool:
    """Whether it was recorded so much later that it is worth a word (a quarter of an hour, chosen)."""
    return (entry.recorded_utc - entry.happened_utc).total_seconds() > 900
