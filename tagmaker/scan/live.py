"""What the pages show right now: read again when files change, the last good state where they do not read."""

from __future__ import annotations

import threading
import time
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from tagmaker.errors import InputProblems, TagmakerError
from tagmaker.scan.source import PageSource
from tagmaker.scan.wish import Paper, Wish

LOOK_EVERY_S = 1.0  # [s] between two looks at the files (chosen)
PATIENCE_S = 3.0  # [s] that a request waits for a new state before it shows the old one (chosen)
SAID = 12  # problems that a banner names one by one (chosen)


@dataclass(frozen=True, kw_only=True)
class Shown:
    """A season as it was read: what its pages show, and how its papers are printed."""

    source: PageSource
    missing: Mapping[str, int]  # lot code -> wrap labels that were never printed
    stocks: Mapping[str, int]  # label stocks and the labels on a sheet of each
    draw: Callable[[Wish], Paper]  # raises TagmakerError; not to be called twice at once


@dataclass(frozen=True, kw_only=True)
class View:
    """What is shown just now."""

    shown: Shown
    sound: PageSource  # the last that had no faulty row, for the lots whose rows are faulty now
    faults: Sequence[str] = ()  # why the files cannot be read; then `shown` is the last good state

    @property
    def words(self) -> Any:
        """What the bench says, by the name of the macro."""
        return self.shown.source.wording.macros("bench-words.j2")

    @property
    def banner(self) -> Sequence[str]:
        """What is said above every page while the files cannot be read."""
        if not self.faults:
            return ()
        more = len(self.faults) - SAID
        rest = [self.words.more_faults(count=more)] if more > 0 else []
        return (self.words.unread(now=self.shown.source.now), *self.faults[:SAID], *rest)


class Live:
    """The view of a season folder. One thread reads; requests go on showing what there is."""

    def __init__(
        self,
        load: Callable[[], Shown],
        stamp: Callable[[], object],
        seconds: Callable[[], float] = time.monotonic,
    ) -> None:
        """Read for the first time.

        Args:
            load: reads the season; raises TagmakerError or OSError where it cannot
            stamp: differs as soon as anything changed that `load` reads
            seconds: a clock that only goes forward [s]

        Raises:
            InputProblems: it cannot be read, and there is no good state yet.
        """
        self._load = load
        self._stamp = stamp
        self._seconds = seconds
        self._reading = threading.Lock()
        self._looked = seconds()
        self._seen = stamp()  # before reading: what changes meanwhile is read at the next look
        shown = load()
        self._view = View(shown=shown, sound=shown.source)

    def look(self) -> View:
        """The view, after a look at the files where the last one is a second ago."""
        if self._seconds() - self._looked >= LOOK_EVERY_S and self._reading.acquire(blocking=False):
            self._looked = self._seconds()
            reader = threading.Thread(target=self._look_again, daemon=True)
            reader.start()
            reader.join(PATIENCE_S)
        return self._view

    def _look_again(self) -> None:
        try:
            self._view = self._next_view(self._view)
        finally:
            self._reading.release()

    def _next_view(self, last: View) -> View:
        try:
            stamp = self._stamp()
            if stamp == self._seen:
                return last
            self._seen = stamp
            shown = self._load()
        except InputProblems as error:
            faults = [str(problem) for problem in error.problems]
        except (TagmakerError, OSError) as error:
            faults = [str(error)]
        except Exception as error:  # noqa: BLE001 - a half-saved file must not take the good pages away
            faults = [f"{type(error).__name__}: {error}"]
        else:
            return View(shown=shown, sound=last.sound if shown.source.problems else shown.source)
        return View(shown=last.shown, sound=last.sound, faults=faults)
