"""The file of the print record: an SQLite database that outlives kills, second processes and damage.

It knows its tables and nothing of what stands in them. Every piece of work opens the file, does one whole
transaction and closes it again, so nothing is held while papers are drawn, and between two runs
there is one file without companions.
"""

from __future__ import annotations

import shutil
import sqlite3
import time
from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import TypeVar

from tagmaker.record import aside
from tagmaker.record.aside import FileOutOfReach, UnfitFile, companion, in_folder

# Step n brings a file from schema version n to n + 1. A published step is never changed: add one.
STEPS: tuple[str, ...] = (
    """
    CREATE TABLE printed (
        id INTEGER PRIMARY KEY,    -- in the order of printing
        printing INTEGER NOT NULL, -- lines with the same number were printed together
        moment TEXT NOT NULL,      -- YYYY-MM-DDTHH:MM:SS, local time of the farm, as all moments here
        paper TEXT NOT NULL,       -- wraps or crates
        lot TEXT NOT NULL,
        order_leaves TEXT,         -- departure of the part order; NULL: the lot's own tags
        count INTEGER NOT NULL,    -- tags or cards
        code TEXT NOT NULL,        -- BULB, DRY or WATER
        sell_by TEXT,              -- as printed; NULL: no date
        into_water_by TEXT,        -- as printed; NULL: in water, or no date
        replaces INTEGER NOT NULL, -- 1: in place of every earlier tag of the lot; 0: besides them
        taken INTEGER NOT NULL     -- stems of the lot that were no longer there
    )
    """,
    """
    CREATE TABLE sheets (
        stock TEXT PRIMARY KEY,     -- label stock
        next_label INTEGER NOT NULL -- first free label of the sheet that was printed last, from 1
    )
    """,
    """
    CREATE TABLE printings (
        number INTEGER PRIMARY KEY,   -- as in printed; older ones stand in no row here
        state TEXT NOT NULL,          -- reserved: on its way; printed: handed over; undone: none came
        form TEXT UNIQUE,             -- of the bench that asked for it; NULL: a command
        device TEXT,                  -- browser that the form was given to
        asked INTEGER NOT NULL,       -- 1: whether all came out is still to be asked
        stock TEXT,                   -- label stock; NULL: on none
        per_page INTEGER,             -- labels on a sheet of it
        sheet INTEGER,                -- number of the first sheet
        first INTEGER,                -- and its first label
        labels INTEGER,               -- labels from there on
        was_sheet INTEGER,            -- sheet and first free label before
        was_label INTEGER,
        path TEXT,                    -- file that it goes to; NULL: to a phone or a queue
        queue TEXT,                   -- of the spooler that it is sent to
        digest TEXT,                  -- SHA-256 of the PDF, once it is drawn
        host TEXT NOT NULL,           -- computer and process that reserved it
        process INTEGER NOT NULL,
        began REAL NOT NULL           -- seconds since 1970, by the computer's own clock
    )
    """,
    "ALTER TABLE sheets ADD COLUMN sheet INTEGER NOT NULL DEFAULT 1",  # number of that sheet
    "ALTER TABLE printed ADD COLUMN keeps_until TEXT",  # as printed; NULL: it does not say
    # Bunches of part orders that a card tells of: departure and number, with blanks; NULL: not noted.
    "ALTER TABLE printed ADD COLUMN promised TEXT",
)

# What SQLite says of a file that is not, or no longer, the record. Everything else (no permission, no
# room, no file system, somebody else at work) is not the file's fault, and it is left where it is.
_DAMAGE = frozenset({sqlite3.SQLITE_ERROR, sqlite3.SQLITE_CORRUPT, sqlite3.SQLITE_NOTADB})
_REASONS = {
    sqlite3.SQLITE_BUSY: aside.LOCKED,
    sqlite3.SQLITE_CANTOPEN: "the folder cannot be written to",
    sqlite3.SQLITE_FULL: "the disk is full",
    sqlite3.SQLITE_PERM: "the file cannot be written to",
    sqlite3.SQLITE_READONLY: "the file cannot be written to",
}

Result = TypeVar("Result")
Work = Callable[[sqlite3.Connection], Result]


@contextmanager
def transaction(file: sqlite3.Connection) -> Iterator[None]:
    """All that is written within, or nothing; nobody else writes meanwhile."""
    file.execute("BEGIN IMMEDIATE")
    try:
        yield
    except BaseException:
        file.execute("ROLLBACK")
        raise
    file.execute("COMMIT")


def check(file: sqlite3.Connection) -> None:
    """Raise UnfitFile where the file's structure is damaged."""
    (verdict,) = file.execute("PRAGMA quick_check(1)").fetchone()
    if verdict != "ok":
        raise UnfitFile(f"it is damaged: {' '.join(str(verdict).split())}")


def in_file(path: Path, work: Work[Result]) -> Result:
    """Open the file, bring its schema up to date, do one piece of work and close it; it is begun if need be.

    Work that fails, or is killed, has changed nothing, so what met a lock is tried again: SQLite does not
    wait by itself where two processes turn on write-ahead logging at once.

    Raises:
        UnfitFile: it is damaged, of a later schema version, or something else.
        FileOutOfReach: it cannot be opened or written, or another process does not let go of it.
    """
    end = time.monotonic() + aside.PATIENCE_S
    while True:
        try:
            return _tried(path, work)
        except sqlite3.Error as error:
            # Text that is no UTF-8 is found by Python, not by SQLite, and has no code.
            code = getattr(error, "sqlite_errorcode", sqlite3.SQLITE_ERROR) & 0xFF
            if code in _DAMAGE:
                raise UnfitFile(f"it is damaged: {error}") from error
            if code != sqlite3.SQLITE_BUSY or time.monotonic() > end:
                raise FileOutOfReach(_REASONS.get(code, str(error))) from error
        time.sleep(aside.PAUSE_S)


def in_memory(path: Path | None = None) -> sqlite3.Connection:
    """A record that lasts as long as this run, with what a copy of a file tells, where that can be read."""
    memory = sqlite3.connect(":memory:", isolation_level=None, check_same_thread=False)
    if path is not None:
        try:
            with TemporaryDirectory() as folder:
                copy = Path(folder) / path.name
                for part in (path, companion(path, "-wal")):
                    if part.exists():
                        shutil.copyfile(part, copy.with_name(part.name))
                in_file(copy, lambda file: _copy(file, memory))
        except (OSError, FileOutOfReach, UnfitFile):
            memory = sqlite3.connect(":memory:", isolation_level=None, check_same_thread=False)
    _prepare(memory)
    return memory


def _copy(file: sqlite3.Connection, memory: sqlite3.Connection) -> None:
    check(file)
    file.backup(memory)


def _tried(path: Path, work: Work[Result]) -> Result:
    with (
        in_folder(path.parent, alone=False),
        closing(sqlite3.connect(path, timeout=aside.PATIENCE_S, isolation_level=None)) as file,
    ):
        _prepare(file)
        return work(file)


def _prepare(file: sqlite3.Connection) -> None:
    """Make sure that it is ours, in write-ahead logging and of the latest schema version."""
    file.execute("BEGIN")
    version = _version(file)
    file.execute("COMMIT")
    if version < len(STEPS):
        file.execute("PRAGMA journal_mode = WAL")
        file.execute("BEGIN IMMEDIATE")
        for step in STEPS[_version(file) :]:
            file.execute(step)
        file.execute(f"PRAGMA user_version = {len(STEPS):d}")
        file.execute("COMMIT")
    file.execute("PRAGMA journal_mode = WAL")
    file.execute("PRAGMA synchronous = FULL")


def _version(file: sqlite3.Connection) -> int:
    """The schema version of a record; 0 for an empty file. To be asked inside a transaction."""
    (version,) = file.execute("PRAGMA user_version").fetchone()
    if version > len(STEPS):
        raise UnfitFile(
            f"it is of a later version of tagmaker: schema {version}, this one knows up to {len(STEPS)}"
        )
    (tables,) = file.execute("SELECT count(*) FROM sqlite_master").fetchone()
    if version < 0 or (version == 0 and tables):
        raise UnfitFile("it is a database of something else")
    return int(version)
