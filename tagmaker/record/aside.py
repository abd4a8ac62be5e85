"""Setting a file of SQLite aside that cannot be read, and the lock under which that is done."""

from __future__ import annotations

import os
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import datetime
from pathlib import Path
from typing import TypeVar

PATIENCE_S = 10.0  # [s] to wait for another process that is writing (chosen)
PAUSE_S = 0.02  # [s] between two tries at the lock of the folder (chosen)
TRIES = 3  # at setting a file aside while other processes do the same (chosen)
LOCKED = "another program keeps it locked"

Identity = tuple[int, int] | None
Result = TypeVar("Result")


class UnfitFile(Exception):
    """What lies there is no record that this version can read; the text says why."""


class FileOutOfReach(Exception):
    """The record cannot be read or written just now; the text says why."""


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
        with in_folder(path.parent, alone=True):
            if identity(path) != unfit:
                return None
            aside = _free_name(path, now)
            log = companion(path, "-wal")
            if log.exists():
                log.rename(companion(aside, "-wal"))
            companion(path, "-shm").unlink(missing_ok=True)
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


def companion(path: Path, ending: str) -> Path:
    """A file that SQLite keeps beside another: its log ("-wal") or its index ("-shm")."""
    return path.with_name(path.name + ending)


if sys.platform == "win32":

    @contextmanager
    def in_folder(_: Path, *, alone: bool) -> Iterator[None]:
        """Nothing to do: a file that any program has open cannot be renamed here."""
        del alone
        yield

else:
    import fcntl

    @contextmanager
    def in_folder(folder: Path, *, alone: bool) -> Iterator[None]:
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
                    raise FileOutOfReach(LOCKED) from None
                time.sleep(PAUSE_S)
            except OSError:
                return
            else:
                return
