"""Files, read by a process of its own: whatever a file does to its reader, the pages go on.

The process is started when it is first needed and reads one season, or one export, after the other. It has
a limit of time, and of memory where the system knows one; beyond either, or when it dies, the reading ends
in a problem and the next one begins in a new process.
"""

from __future__ import annotations

import os
import pickle
import signal
import subprocess
import sys
import threading
import time
import weakref
from contextlib import suppress
from datetime import datetime
from pathlib import Path
from typing import Any, BinaryIO, TypeVar

from tagmaker.desk.season import Inputs, read_inputs
from tagmaker.errors import InputProblems, Problem
from tagmaker.farm import Cooler, Farm
from tagmaker.intake.log.trying import try_export
from tagmaker.intake.opening import Opened, open_season
from tagmaker.storage.readings import Export

MOST_SECONDS = 60.0  # for a reading (chosen: twice what the largest sheet takes)
MOST_BYTES = 2_000_000_000  # of addresses (chosen: three times what the largest log takes)
TAKE_BACK = "Take back what was changed last, or save it as csv."
FEWER = "Export fewer days at once, or as csv."
_START = "from tagmaker.desk.apart import main; main()"


Answer = Opened | Inputs | Export | tuple[Problem, ...]
Question = tuple[str, *tuple[Any, ...]]  # what is to be done, and what with
A = TypeVar("A", Opened, Inputs, Export)


class Apart:
    """Reads in a process of its own, one question at a time."""

    def __init__(self, most_seconds: float = MOST_SECONDS, most_bytes: int = MOST_BYTES) -> None:
        self._most_seconds = most_seconds
        self._most_bytes = most_bytes
        self._process: subprocess.Popen[bytes] | None = None
        self._one = threading.Lock()

    def open(self, sheet: Path) -> Opened:
        """What `opening.open_season` gives: settings and rows.

        Raises:
            InputProblems: something in the settings is wrong, or they cannot be read within the limits.
        """
        return self._answer(("open", sheet.absolute()), Opened, sheet.name, TAKE_BACK)

    def read(self, sheet: Path, farm: Farm, now: datetime) -> Inputs:
        """What `season.read_inputs` gives.

        Raises:
            InputProblems: the files cannot be read, or not within the limits.
        """
        return self._answer(("season", sheet.absolute(), farm, now), Inputs, sheet.name, TAKE_BACK)

    def try_export(
        self, path: Path, name: str, cooler: Cooler, farm: Farm, folder: Path, now: datetime
    ) -> Export:
        """What `intake.log.trying.try_export` gives, or its problems; also beyond the limits."""
        question = ("export", path.absolute(), name, cooler, farm, folder.absolute(), now)
        return self._answer(question, Export, name, FEWER)

    def _answer(self, question: Question, kind: type[A], name: str, remedy: str) -> A:
        with self._one:
            process = self._running()
            limit = threading.Timer(self._most_seconds, process.kill)
            begun = time.monotonic()
            limit.start()
            try:
                answer = _asked(process, question)
            except (OSError, EOFError, pickle.UnpicklingError):
                late = time.monotonic() - begun >= self._most_seconds  # the timer killed it
                self._process = None
                process.kill()
                process.wait()
                raise self._beyond(name, remedy, late) from None
            finally:
                limit.cancel()
        if isinstance(answer, kind):
            return answer
        assert isinstance(answer, tuple)
        raise InputProblems(answer)

    def _beyond(self, name: str, remedy: str, late: bool) -> InputProblems:
        got = "no end of it" if late else "a reader that broke down"
        most = f"{self._most_seconds:.0f} s and {self._most_bytes / 1e9:.1f} GB"
        what = f"must be readable, with its logs, within {most} (got {got})"
        return InputProblems([Problem(name, what, remedy)])

    def _running(self) -> subprocess.Popen[bytes]:
        if self._process is None or self._process.poll() is not None:
            paths = os.pathsep.join(path for path in sys.path if path)
            # One thread, because each would take addresses of its own.
            environment = {**os.environ, "PYTHONPATH": paths, "OPENBLAS_NUM_THREADS": "1"}
            self._process = subprocess.Popen(
                [sys.executable, "-c", _START, str(self._most_bytes)],
                stdin=subprocess.PIPE,
                stdout=subprocess.PIPE,
                stderr=subprocess.DEVNULL,
                env=environment,
            )
            weakref.finalize(self, _end, self._process)
        return self._process


SHARED = Apart()  # one process is enough for all that this one serves
TRYING = Apart()  # and one for what comes from phones, so that it keeps no season waiting


def _asked(process: subprocess.Popen[bytes], question: Question) -> Answer:
    assert process.stdin is not None
    assert process.stdout is not None
    pickle.dump(question, process.stdin)
    process.stdin.flush()
    answer: Answer = pickle.load(process.stdout)
    return answer


def _end(process: subprocess.Popen[bytes]) -> None:
    process.kill()
    process.wait()
    for pipe in (process.stdin, process.stdout):
        if pipe is not None:
            with suppress(OSError):
                pipe.close()


def main() -> None:
    """What the process does: answer one question after the other, until nobody asks any more."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # Ctrl+C is for whoever asks
    with suppress(ImportError, ValueError, OSError):  # not every system knows the limit
        import resource

        most = int(sys.argv[1])
        resource.setrlimit(resource.RLIMIT_AS, (most, most))
    answers = os.fdopen(os.dup(sys.stdout.fileno()), "wb")
    os.dup2(sys.stderr.fileno(), sys.stdout.fileno())  # whatever a library prints is no answer
    _answer(sys.stdin.buffer, answers)


def _answer(questions: BinaryIO, answers: BinaryIO) -> None:
    while True:
        try:
            what, first, *rest = pickle.load(questions)
        except EOFError:
            return
        answer: Answer
        try:
            match what:
                case "open":
                    answer = open_season(first)
                case "season":
                    answer = read_inputs(first, *rest)
                case _:
                    answer = try_export(first, *rest)
        except InputProblems as error:
            answer = error.problems
        except (Exception, MemoryError) as error:  # noqa: BLE001 - said above the pages; the last good dates stay
            fault = f"must be readable (got: {type(error).__name__} {error})"
            name, remedy = (first.name, TAKE_BACK) if what == "season" else (rest[0], FEWER)
            answer = (Problem(name, fault, remedy),)
        pickle.dump(answer, answers)
        answers.flush()
