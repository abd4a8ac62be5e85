"""The file of the print record: an SQLite database that outlives kills, second processes and damage.

It holds rows and knows nothing of lots. Every reading or writing opens the file, does one whole
transaction and closes it again, so nothing is held while papers are drawn, and between two runs
there is one file without companions.
"""

from __future__ import annotations

import os
import shutil
import sqlite3
import sys
import time
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import closing, contextmanager
from datetime import datetime
from pathlib import Path
from tempfile import TemporaryDirectory
from types import MappingProxyType
from typing import Any, TypeVar

PATIENCE_S = 10.0  # [s] to wait for another process that is writing (chosen)
PAUSE_S = 0.02  # [s] between two tries at the lock of the folder (chosen)
TRIES = 3  # at setting a file aside while other processes do the same (chosen)
COLUMNS = (
    "moment",
    "paper",
    "lot",
    "order_leaves",
    "count",
    "code",
    "sell_by",
    "into_water_by",
    "replaces",
    "taken",
)

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
)

# What SQLite says of a file that is not, or no longer, the record. Everything else (no permission, no
# room, no file system, somebody else at work) is not the file's fault, and it is left where it is.
_DAMAGE = frozenset({sqlite3.SQLITE_ERROR, sqlite3.SQLITE_CORRUPT, sqlite3.SQLITE_NOTADB})
_REASONS = {
    sqlite3.SQLITE_BUSY: "another program keeps it locked",
    sqlite3.SQLITE_CANTOPEN: "the folder cannot be written to",
    sqlite3.SQLITE_FULL: "the disk is full",
    sqlite3.SQLITE_PERM: "the file cannot be written to",
    sqlite3.SQLITE_READONLY: "the file cannot be written to",
}

Row = tuple[Any, ...]  # printing, then COLUMNS; a file may hold anything, so its reader checks
Result = TypeVar("Result")


class UnfitFile(Exception):
    """What lies there is no record that this version can read; the text says why."""


class FileOutOfReach(Exception):
    """The record cannot be read or written just now; the text says why."""


def read_rows(path: Path) -> list[Row]:
    """All rows in the order of printing; a file that is not there is begun.

    Raises:
        UnfitFile: it is damaged, of a later schema version, or something else.
        FileOutOfReach: it cannot be opened, or another process does not let go of it.
    """

    def work(file: sqlite3.Connection) -> list[Row]:
        (verdict,) = file.execute("PRAGMA quick_check(1)").fetchone()
        if verdict != "ok":
            raise UnfitFile(f"it is damaged: {' '.join(str(verdict).split())}")
        return file.execute(f"SELECT printing, {', '.join(COLUMNS)} FROM printed ORDER BY id").fetchall()

    return _in_file(path, work)


def read_sheets(path: Path) -> dict[str, int]:
    """The first free label of each label stock that was printed on.

    Raises:
        UnfitFile: it is damaged, of a later schema version, or something else.
        FileOutOfReach: it cannot be opened, or another process does not let go of it.
    """
    rows = _in_file(path, lambda file: file.execute("SELECT stock, next_label FROM sheets").fetchall())
    if not all(isinstance(stock, str) and isinstance(label, int) and label > 0 for stock, label in rows):
        raise UnfitFile("it is damaged: next_label must be a number from 1")
    return dict(rows)


def append_rows(path: Path, rows: Sequence[Row], sheets: Mapping[str, int] = MappingProxyType({})) -> int:
    """Add rows of COLUMNS in one transaction; after the return they outlive a power cut.

    Args:
        path: of the record
        rows: of COLUMNS
        sheets: label stock -> its first free label from now on

    Returns:
        the number of the printing that they were given.

    Raises:
        UnfitFile: it is damaged, of a later schema version, or something else.
        FileOutOfReach: it cannot be written; nothing was added.
    """

    def work(file: sqlite3.Connection) -> int:
        file.execute("BEGIN IMMEDIATE")
        (number,) = file.execute("SELECT coalesce(max(printing), 0) + 1 FROM printed").fetchone()
        places = ", ".join("?" * len(COLUMNS))
        file.executemany(
            f"INSERT INTO printed (printing, {', '.join(COLUMNS)}) VALUES ({number:d}, {places})", rows
        )
        file.executemany("INSERT OR REPLACE INTO sheets (stock, next_label) VALUES (?, ?)", sheets.items())
        file.execute("COMMIT")
        return int(number)

    return _in_file(path, work)


def read_copy(path: Path, read: Callable[[Path], Result]) -> Result:
    """What is read from a file whose folder cannot be written to: from a copy elsewhere.

    Raises:
        UnfitFile: it is damaged, of a later schema version, or something else.
        FileOutOfReach: it cannot be read, or not even a copy can be made.
    """
    try:
        with TemporaryDirectory() as folder:
            copy = Path(folder) / path.name
            for part in (path, _companion(path, "-wal")):
                if part.exists():
                    shutil.copyfile(part, copy.with_name(part.name))
            return read(copy)
    except OSError as error:
        raise FileOutOfReach(error.strerror or str(error)) from error


def _in_file(path: Path, work: Callable[[sqlite3.Connection], Result]) -> Result:
    """Open the file, bring its schema up to date, do one piece of work and close it.

    Work that fails, or is killed, has changed nothing, so what met a lock is tried again: SQLite does not
    wait by itself where two processes turn on write-ahead logging at once.
    """
    end = time.monotonic() + PATIENCE_S
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
        time.sleep(PAUSE_S)


def _tried(path: Path, work: Callable[[sqlite3.Connection], Result]) -> Result:
    with (
        _in_folder(path.parent, alone=False),
        closing(sqlite3.connect(path, timeout=PATIENCE_S, isolation_level=None)) as file,
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


# --- setting a file aside ----------------------------------------------------------------------------------

Identity = tuple[int, int] | None


def settled(path: Path, now: datetime, work: Callable[[], Result]) -> tuple[Result, str | None]:
    """Do work with a file; one that is unfit is set aside and the work done with a new one.

    Returns:
        what the work gave, and a message where a file was set aside.

    Raises:
        FileOutOfReach: the file cannot be read, written or set aside.
    """
    message = None
    for _ in range(TRIES):
        there = identity(path)
        try:
            return work(), message
        except UnfitFile as error:
            aside = _set_aside(path, there, now)
            if aside is not None:
                message = (
                    f"{path} could not be used as the print record: {error}. It was set aside as "
                    f"{aside.name} and a new one begun; what was printed until now counts as never printed."
                )
    raise FileOutOfReach("other files take its place all the time")


def identity(path: Path) -> Identity:
    """Which file lies there, whatever its name; None where there is none."""
    try:
        found = path.stat()
    except OSError:
        return None
    return found.st_dev, found.st_ino


def _set_aside(path: Path, unfit: Identity, now: datetime) -> Path | None:
    """Rename an unfit file, so that a new one can be begun in its place. Nothing is deleted or overwritten.

    Args:
        path: of the record
        unfit: the file that was found unfit there; one that has taken its place meanwhile stays
        now: local time of the farm, for the new name

    Returns:
        where it is now; None: it is gone, another process was faster.

    Raises:
        FileOutOfReach: it cannot be renamed.
    """
    try:
        with _in_folder(path.parent, alone=True):
            if identity(path) != unfit:
                return None
            aside = _free_name(path, now)
            log = _companion(path, "-wal")
            if log.exists():
                log.rename(_companion(aside, "-wal"))
            _companion(path, "-shm").unlink(missing_ok=True)
            path.rename(aside)
            return aside
    except OSError as error:
        raise FileOutOfReach(f"it cannot be renamed: {error.strerror or error}") from error


def _free_name(path: Path, now: datetime) -> Path:
    stem = f"{path.stem}-set-aside-{now:%Y%m%dT%H%M}"
    name, n = path.with_name(f"{stem}{path.suffix}"), 1
    while name.exists():
        n += 1
        name = path.with_name(f"{stem}-{n}{path.suffix}")
    return name


def _companion(path: Path, ending: str) -> Path:
    return path.with_name(path.name + ending)


if sys.platform == "win32":

    @contextmanager
    def _in_folder(_: Path, *, alone: bool) -> Iterator[None]:
        """Nothing to do: a file that any program has open cannot be renamed here."""
        del alone
        yield

else:
    import fcntl

    @contextmanager
    def _in_folder(folder: Path, *, alone: bool) -> Iterator[None]:
        """Any number of processes may use the record at a time, or one alone rename it.

        SQLite names its companions after the path: a connection to a file that was renamed under it would
        remove those of the new one. The lock is on the folder, since network shares mix up locks on the file
        with SQLite's own; where a folder cannot be locked, it is left at that.
        """
        try:
            handle = os.open(folder, os.O_RDONLY)
        except OSError:
            yield
            return
        try:
            _wait_for(handle, fcntl.LOCK_EX if alone else fcntl.LOCK_SH)
            yield
        finally:
            os.close(handle)

    def _wait_for(handle: int, lock: int) -> None:
        end = time.monotonic() + PATIENCE_S
        while True:
            try:
                fcntl.flock(handle, lock | fcntl.LOCK_NB)
            except BlockingIOError:
                if time.monotonic() > end:
                    raise FileOutOfReach(_REASONS[sqlite3.SQLITE_BUSY]) from None
                time.sleep(PAUSE_S)
            except OSError:
                return
            else:
                return
