"""What was entered on the live pages, and is shown already, as against what another program wrote."""

from __future__ import annotations

import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

from tagmaker.desk.season_journal import SheetJournal
from tagmaker.record.journal.file import read_on

READ_AFTER_S = 60.0  # [s] after which all is read again where something was entered (chosen)


def state_of(path: Path, *, empty: bool = True) -> object:
    """What tells one state of a file from another; None: not there, or empty where that is the same."""
    try:
        found = path.stat()
    except OSError:
        return None
    if not empty and not found.st_size:
        return None
    return found.st_mtime_ns, found.st_size, found.st_ino


class Entered:
    """Tells what was entered here, and is shown already, from what another program wrote into the journal."""

    def __init__(self, seconds: Callable[[], float] = time.monotonic) -> None:
        """Take a clock that only goes forward [s]."""
        self._seconds = seconds
        self._state: object = None
        self._count = 0
        self._fresh_since: float | None = None  # when something was entered that only its lot shows
        self._lock = threading.Lock()

    def changes(self, path: Path) -> int:
        """Counts up where the journal was changed by others, or a while after something was entered here."""
        with self._lock:
            return self._changes(state_of(path))

    def _changes(self, state: object) -> int:
        if state != self._state:
            self._state, self._count = state, self._count + 1
        elif self._fresh_since is not None and self._seconds() - self._fresh_since > READ_AFTER_S:
            self._fresh_since, self._count = None, self._count + 1
        return self._count

    def read(self) -> None:
        """All is being read."""
        self._fresh_since = None

    def known(self, journal: SheetJournal) -> None:
        """A journal was read, and rows were accepted in it: as it looks now, it is known."""
        with self._lock:
            state = state_of(journal.path)
            if read_on(journal.path, journal.book).last == journal.book.last:
                self._state = state

    def all_is_touched(self) -> None:
        """Something was entered that touches more than a lot: all is read again as soon as can be."""
        with self._lock:
            self._count += 1

    @contextmanager
    def entering(self, path: Path) -> Iterator[None]:
        """What is entered here meanwhile is shown at once."""
        with self._lock:
            before = state_of(path) == self._state
            yield
            if before:
                self._state = state_of(path)
            self._fresh_since = self._seconds() if self._fresh_since is None else self._fresh_since
