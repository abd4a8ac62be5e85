"""The file of the journal: an SQLite database beside the sheet to which lines are only ever added.

A line that was kept outlives kills and power cuts: the file is synced, and the folder's entry of its rollback
journal too, before `append` returns. It is never set aside, begun anew or edited; triggers refuse that.
"""

from __future__ import annotations

import os
import shutil
import sqlite3
from collections.abc import Callable, Sequence
from contextlib import closing
from dataclasses import replace
from datetime import timedelta
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import TypeVar
from urllib.parse import quote

from tagmaker.record.journal.beside import put_in_place
from tagmaker.record.journal.book import Book, Learnt, NotKept, OtherContent, UnreadableJournal
from tagmaker.record.journal.entries import Entry
from tagmaker.record.journal.tables import FIELDS, SCHEMA, entry_of, pairs_in, row_of, seen_in, statements

PATIENCE_S = 10.0  # [s] to wait for another process that is writing (chosen)
CLOCK_PLAY = timedelta(minutes=1)  # by which a clock may be set back without a word (chosen)
_DAMAGE = frozenset({sqlite3.SQLITE_ERROR, sqlite3.SQLITE_CORRUPT, sqlite3.SQLITE_NOTADB})
_REASONS = {
    sqlite3.SQLITE_BUSY: "another program keeps it locked",
    sqlite3.SQLITE_CANTOPEN: "the folder cannot be written to",
    sqlite3.SQLITE_FULL: "the disk is full",
    sqlite3.SQLITE_PERM: "the file cannot be written to",
    sqlite3.SQLITE_READONLY: "the file cannot be written to",
}

NOTHING_LEARNT = Learnt()
Result = TypeVar("Result")


def read_book(path: Path, known: Book | None = None) -> Book:
    """All that a journal holds. Nothing is written, not even where there is none.

    Args:
        path: of the journal
        known: it as it was read before; its entries, which never change, are not read again

    Raises:
        UnreadableJournal: it cannot be read.
    """
    if not path.exists():
        return Book()
    try:
        return _tried(path, "rw", lambda file: _book(file, known))
    except sqlite3.Error as error:
        reason = _damage(error)
        if reason is not None:
            raise UnreadableJournal(reason) from error
    return _from_copy(path)


def read_on(path: Path, book: Book) -> Book:
    """A journal that was read before, with what has come to it since; as it was where it cannot be read."""

    def work(file: sqlite3.Connection) -> Book:
        fresh = _entries(file, "number > ? ORDER BY number", book.last)
        return replace(book, entries=(*book.entries, *fresh), pairs=pairs_in(file), seen=seen_in(file))

    try:
        return _tried(path, "rw", work) if path.exists() else book
    except (sqlite3.Error, UnreadableJournal):
        return book


def _from_copy(path: Path) -> Book:
    """What is read where even reading would have to write: after a kill, in a folder that is closed."""
    try:
        with TemporaryDirectory() as folder:
            copy = Path(folder) / path.name
            for ending in ("", "-journal"):
                part = path.with_name(path.name + ending)
                if part.exists():
                    shutil.copyfile(part, copy.with_name(part.name))
            return _tried(copy, "rw", _book)
    except (OSError, sqlite3.Error) as error:
        raise UnreadableJournal(f"it cannot be read: {error}") from error


def append(
    path: Path,
    entry: Entry,
    computer: str,
    *,
    name: str,
    learnt: Learnt = NOTHING_LEARNT,
    since: int = 0,
    check: Callable[[Sequence[Entry]], None] = lambda _: None,
) -> tuple[Entry, bool]:
    """Write an entry down; after the return it outlives a power cut.

    Args:
        path: of the journal; begun where there is none
        entry: with its moments, without a number
        computer: this one; another than the keeper's is refused
        name: of the journal, where it has to be begun
        learnt: what is remembered in the same moment; its pairs include all entries before this one
        since: number of the last entry that the caller knows
        check: is shown the entries after that one, and raises where this one may not be added to them

    Returns:
        the entry as it is kept, and whether it is new: one that arrives again is given back as it was.

    Raises:
        NotKept: nothing was written; OtherContent where its id was used for something else.
        UnreadableJournal: it cannot be read.
    """

    def work(file: sqlite3.Connection) -> tuple[Entry, bool]:
        facts = _facts(file)
        if facts["keeper"] != computer:
            raise NotKept(kept_elsewhere(path, facts["keeper"]))
        known = _entries(file, "id = ?", entry.id)
        if known and known[0].content != entry.content:
            raise OtherContent(known[0])
        if known:
            return known[0], False
        _check_clock(path, file, int(facts.get("clock", "0")), entry)
        check(_entries(file, "number > ?", since))
        (number,) = file.execute("SELECT coalesce(max(number), 0) + 1 FROM entries").fetchone()
        kept = replace(entry, number=number)
        file.execute(f"INSERT INTO entries ({FIELDS}) VALUES ({', '.join('?' * 14)})", row_of(kept))
        pairs = [replace(pair, includes=number - 1) for pair in learnt.pairs]
        _learn(file, replace(learnt, pairs=pairs))
        return kept, True

    return _written(path, work, computer, name)


def learn(path: Path, learnt: Learnt, computer: str) -> bool:
    """Remember what was read of the rows; False where that cannot be written or is another computer's."""

    def work(file: sqlite3.Connection) -> bool:
        if _facts(file).get("keeper", computer) != computer:
            return False
        _learn(file, learnt)
        return True

    if not path.exists():
        return False
    try:
        return _written(path, work, computer, "")
    except (NotKept, UnreadableJournal):
        return False


def keep_here(path: Path, computer: str) -> None:
    """From now on, this computer records. Raises NotKept or UnreadableJournal."""
    _written(path, lambda file: _set_fact(file, "keeper", computer), computer, "")


def clock_is_right(path: Path, computer: str) -> None:
    """The clock is right although entries were recorded later. Raises NotKept or UnreadableJournal."""

    def work(file: sqlite3.Connection) -> None:
        (last,) = file.execute("SELECT coalesce(max(number), 0) FROM entries").fetchone()
        _set_fact(file, "clock", str(last))

    _written(path, work, computer, "")


def kept_elsewhere(path: Path, keeper: str) -> str:
    """What is said where another computer keeps the journal."""
    return (
        f"{path.name} must be kept by one computer (got {keeper.split(' ')[0]}, which keeps it). "
        "Enter it there, or keep the journal on this one: tagmaker journal LOTS --keep-here."
    )


# --- inside the file ---------------------------------------------------------------------------------------


def _check_clock(path: Path, file: sqlite3.Connection, declared: int, entry: Entry) -> None:
    """Refuse to record before what is recorded. `declared`: the clock was right after that entry."""
    latest = _entries(file, "number > ? ORDER BY recorded_utc DESC LIMIT 1", declared)
    if latest and entry.recorded_utc < latest[0].recorded_utc - CLOCK_PLAY:
        what = f"the clock must not run back (got {entry.recorded:%Y-%m-%d %H:%M}, and entry "
        what += f"{latest[0].number} was recorded {latest[0].recorded:%Y-%m-%d %H:%M})"
        remedy = "Set the clock right, or say that it is: tagmaker journal LOTS --clock-is-right."
        raise NotKept(f"{path.name}: {what}. {remedy}")


def _written(path: Path, work: Callable[[sqlite3.Connection], Result], computer: str, name: str) -> Result:
    """Do one piece of work in a transaction of its own, in a file that is begun where a name is given."""

    def whole(file: sqlite3.Connection) -> Result:
        file.execute("PRAGMA synchronous = EXTRA")
        file.execute("BEGIN IMMEDIATE")
        result = work(file)
        file.execute("COMMIT")
        return result

    try:
        if name and not path.exists():
            _begin(path, computer, name)
        return _tried(path, "rw", whole)
    except (OSError, sqlite3.Error) as error:
        reason = _damage(error) if isinstance(error, sqlite3.Error) else None
        if reason is not None:
            raise UnreadableJournal(reason) from error
        code = getattr(error, "sqlite_errorcode", 0) & 0xFF
        reason = _REASONS.get(code, str(error))
        raise NotKept(f"{path}: the journal must be a file that can be written (got: {reason})") from error


def _begin(path: Path, computer: str, name: str) -> None:
    """Put a whole new journal in place, unless there is one meanwhile: an empty file is never a journal."""
    part = path.with_name(f"{path.stem}-{name}-{os.getpid()}.part")
    with closing(sqlite3.connect(part, isolation_level=None)) as file:
        file.execute("PRAGMA synchronous = EXTRA")
        file.execute("BEGIN IMMEDIATE")
        for statement in statements():
            file.execute(statement)
        file.execute(f"PRAGMA user_version = {SCHEMA:d}")
        _set_fact(file, "name", name)
        _set_fact(file, "keeper", computer)
        file.execute("COMMIT")
    try:
        put_in_place(part, path)
    finally:
        part.unlink(missing_ok=True)


def _tried(path: Path, mode: str, work: Callable[[sqlite3.Connection], Result]) -> Result:
    file = sqlite3.connect(_uri(path, mode), uri=True, timeout=PATIENCE_S, isolation_level=None)
    with closing(file):
        return work(file)


def _uri(path: Path, mode: str) -> str:
    return f"file:{quote(str(path.absolute()))}?mode={mode}"


def _damage(error: sqlite3.Error) -> str | None:
    """Why the file is no journal; None where it is only out of reach."""
    code = getattr(error, "sqlite_errorcode", sqlite3.SQLITE_ERROR) & 0xFF
    return f"it is damaged: {error}" if code in _DAMAGE else None


def _facts(file: sqlite3.Connection) -> dict[str, str]:
    (version,) = file.execute("PRAGMA user_version").fetchone()
    if version > SCHEMA:
        raise UnreadableJournal(f"it is of a later version of tagmaker: schema {version}")
    if version < 1:
        raise UnreadableJournal("it is something else, or was emptied")
    return dict(file.execute("SELECT key, value FROM facts").fetchall())


def _set_fact(file: sqlite3.Connection, key: str, value: str) -> None:
    file.execute("INSERT OR REPLACE INTO facts (key, value) VALUES (?, ?)", (key, value))


def _learn(file: sqlite3.Connection, learnt: Learnt) -> None:
    pairs = [(p.lot, p.topic, p.cells, p.counts, p.includes, p.accepted.isoformat()) for p in learnt.pairs]
    columns = "lot, topic, cells, counts, includes, accepted"
    file.executemany(f"INSERT INTO pairs ({columns}) VALUES (?, ?, ?, ?, ?, ?)", pairs)
    file.executemany("DELETE FROM seen WHERE sheet = ? AND lot = ?", learnt.forget)
    rows = [(s.sheet, s.lot, s.cells, s.stems_left, s.moment.isoformat()) for s in learnt.seen]
    file.executemany("INSERT OR REPLACE INTO seen VALUES (?, ?, ?, ?, ?)", rows)


def _book(file: sqlite3.Connection, known: Book | None = None) -> Book:
    (verdict,) = file.execute("PRAGMA quick_check(1)").fetchone()
    if verdict != "ok":
        raise UnreadableJournal(f"it is damaged: {' '.join(str(verdict).split())}")
    facts = _facts(file)
    try:
        old = known.entries if known is not None and _goes_on(file, known, facts["name"]) else ()
        return Book(
            name=facts["name"],
            keeper=facts["keeper"],
            clock_right=int(facts.get("clock", "0")),
            entries=(*old, *_entries(file, "number > ? ORDER BY number", len(old))),
            pairs=pairs_in(file),
            seen=seen_in(file),
        )
    except (KeyError, TypeError, ValueError) as error:
        raise UnreadableJournal(f"it is damaged: {error}") from error


def _goes_on(file: sqlite3.Connection, known: Book, name: str) -> bool:
    """Whether a file begins with the entries that are known: not another journal, nor an older copy."""
    if known.name != name or not known.entries:
        return False
    last = known.entries[-1]
    if last.number != len(known.entries):
        return False
    found = file.execute("SELECT id FROM entries WHERE number = ?", (last.number,)).fetchone()
    return bool(found == (last.id,))


def _entries(file: sqlite3.Connection, condition: str, value: object) -> tuple[Entry, ...]:
    try:
        rows = file.execute(f"SELECT {FIELDS} FROM entries WHERE {condition}", (value,)).fetchall()
        return tuple(map(entry_of, rows))
    except (TypeError, ValueError) as error:
        raise UnreadableJournal(f"it is damaged: {error}") from error
