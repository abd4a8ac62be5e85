"""What the pages show right now: read again when files change, the last good state where they do not read."""

from __future__ import annotations

import threading
import time
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, replace
from typing import Any

from tagmaker.errors import InputProblems, Problem, TagmakerError
from tagmaker.scan.pack_wish import Packing
from tagmaker.scan.plan_wish import Planning
from tagmaker.scan.source import PageSource
from tagmaker.scan.tap import Taken, Tap
from tagmaker.scan.wish import Corrections, Ledger, Paper, StockDrawing, Wish
from tagmaker.storage.readings import Export

WATCH_EVERY_S = 0.5  # [s] between two looks at the files while the pages are served (chosen)
LOOK_EVERY_S = 1.0  # [s] after which a request looks itself, where nobody else did (chosen)
OLD_S = 60.0  # [s] without a look after which a request waits for one: the machine was asleep (chosen)
PATIENCE_S = 3.0  # [s] that a request waits for a new state before it shows the old one (chosen)
SETTLE_S = 1.0  # [s] that files must stay as they are before they count as saved (chosen)
SETTLE_LOOKS = 5  # looks at files that go on changing; then they are read as they are (chosen)
ROUNDS = 2  # readings, where files changed while they were read (chosen)
SAID = 12  # problems that a banner names one by one (chosen)


@dataclass(frozen=True, slots=True, kw_only=True)
class Logs:
    """How an export of a logger is added to its cooler's log."""

    fault: Callable[[str], Problem | None]  # why nothing can be kept for a cooler
    check: Callable[[str, str, bytes], Export]  # cooler, name of the file, the file; raises InputProblems
    keep: Callable[[str, str, bytes, str], str]  # likewise, and from which phone; gives the place where it is


@dataclass(frozen=True, kw_only=True)
class Shown:
    """A season as it was read: what its pages show, and how its papers are printed."""

    source: PageSource
    missing: Mapping[str, int]  # lot code -> wrap labels that were never printed
    stocks: Mapping[str, int]  # label stocks and the labels on a sheet of each
    columns: Mapping[str, int]  # and how many of them lie side by side
    ledger: Ledger  # what was printed, and what came out
    new_lot: Callable[[], Mapping[str, str]]  # cells that a new lot most likely has, its code among them
    take: Callable[[Tap, str], Taken]  # from a phone; raises TagmakerError where nothing was recorded
    caught_up: Callable[[], Shown]  # with what was taken down since this was read
    drawings: Callable[[], Mapping[str, StockDrawing]]  # of every label stock
    lines: Callable[
        [str], tuple[float, float]
    ]  # of a stock's test page [mm]: their length, place of their corner
    correct: Callable[[str, str, Sequence[float]], Corrections]  # stock, printer, measures: see `Corrections`
    logs: Logs  # exports of loggers that come from phones
    packing: Packing  # what to pack, and what is taken down of it
    planning: Planning  # the season plan, and what is accepted of it
    draw: Callable[[Wish, str], Paper]  # for a browser; raises TagmakerError; not to be called twice at once


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
        seconds: Callable[[], float] = time.time,
        pause: Callable[[float], None] = time.sleep,
    ) -> None:
        """Read for the first time.

        Args:
            load: reads the season; raises TagmakerError or OSError where it cannot
            stamp: differs as soon as anything changed that `load` reads
            seconds: a clock that goes on while the machine sleeps [s]
            pause: waits for so long [s]

        Raises:
            InputProblems: it cannot be read, and there is no good state yet.
        """
        self._load = load
        self._stamp = stamp
        self._seconds = seconds
        self._pause = pause
        self._reading = threading.Lock()
        self._read = threading.Event()  # nobody is reading
        self._looked = seconds()
        self._seen = stamp()  # before reading: what changes meanwhile is read at the next look
        shown = load()
        self._view = View(shown=shown, sound=shown.source)
        self._changing = threading.Lock()  # one entry at a time, and none between two views

    def take(self, tap: Tap, device: str) -> Taken:
        """Take a tap down, and show what comes of it from now on.

        Raises:
            TagmakerError: nothing was recorded.
        """
        with self._changing:
            taken = self._view.shown.take(tap, device)
            view = replace(self._view, shown=taken.shown)
            self._view = view if taken.shown.source.problems else replace(view, sound=taken.shown.source)
        return taken

    def change(self, change: Callable[[Shown], tuple[Any, str]]) -> str:
        """Take something down that touches several lots, show what comes of it, and say what that was.

        Raises:
            TagmakerError: not all of it was recorded; what was is read again.
        """
        with self._changing:
            shown, said = change(self._view.shown)
            view = replace(self._view, shown=shown)
            self._view = view if shown.source.problems else replace(view, sound=shown.source)
        return said

    def look(self) -> View:
        """The view; looks at the files itself where nobody did for a second.

        While `watched`, that is when the machine was asleep: otherwise no request waits for a reading.
        """
        late_s = abs(self._seconds() - self._looked)
        if late_s >= LOOK_EVERY_S and (self._begin() or late_s >= OLD_S):
            self._read.wait(PATIENCE_S)
        return self._view

    @contextmanager
    def watched(self) -> Iterator[None]:
        """Look at the files again and again, so that requests need not."""
        ended = threading.Event()

        def watch() -> None:
            while not ended.wait(WATCH_EVERY_S):
                self._begin()

        watcher = threading.Thread(target=watch, daemon=True)
        watcher.start()
        try:
            yield
        finally:
            ended.set()
            watcher.join()

    def _begin(self) -> bool:
        """Have the files looked at by a thread of its own; False where one is at it."""
        if not self._reading.acquire(blocking=False):
            return False
        self._read.clear()
        threading.Thread(target=self._look_again, daemon=True).start()
        return True

    def _look_again(self) -> None:
        try:
            before = self._view
            view = self._next_view(before)
            if view is not before:
                self._show(view, before)
        finally:
            self._looked = self._seconds()
            self._read.set()
            self._reading.release()

    def _show(self, view: View, before: View) -> None:
        """Show a new view; what was taken down while it was read is laid over it first."""
        with self._changing:
            if view.shown is before.shown:  # the files cannot be read
                self._view = replace(self._view, faults=view.faults)
                return
            shown = view.shown.caught_up()
            sound = view.sound if shown.source.problems else shown.source
            self._view = replace(view, shown=shown, sound=sound)

    def _next_view(self, last: View) -> View:
        """The view of the files once they are saved; the last one where nothing changed."""
        for _ in range(ROUNDS):
            stamp = self._settled()
            if stamp == self._seen:
                return last
            view = self._view_now(last)
            if self._stamp_now() == stamp:
                break
        self._seen = stamp
        return view

    def _settled(self) -> object:
        """The stamp of the files after they stayed as they are for a moment.

        A sheet that is cut off between two rows reads well: it is only shorter.
        """
        stamp = self._stamp_now()
        for _ in range(SETTLE_LOOKS):
            if stamp == self._seen:
                break
            self._pause(SETTLE_S)
            before, stamp = stamp, self._stamp_now()
            if stamp == before:
                break
        return stamp

    def _stamp_now(self) -> object:
        try:
            return self._stamp()
        except OSError as error:  # reading fails for the same reason, and says so
            return str(error)

    def _view_now(self, last: View) -> View:
        try:
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
