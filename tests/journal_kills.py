"""Kill writers of a journal at any moment, and look for what they had been told is kept."""

from __future__ import annotations

import os
import random
import signal
import subprocess
import sys
import time
from dataclasses import dataclass
from pathlib import Path

from tagmaker.record.journal.beside import journal_path
from tagmaker.record.journal.entries import Kind
from tagmaker.record.journal.file import read_book
from tests.journal_entries import an_entry, kept

KILLS_PER_JOURNAL = 20  # then a new folder, so that kills hit the making of the file as well
LONGEST_S = 0.4  # [s] from the start of a writer to its kill: a dozen entries on a slow disk

# Keeps entries one after the other, and says so when one is kept, not before.
WRITER = """
import os, sys
from pathlib import Path
from tagmaker.record.journal.entries import Kind
from tests.journal_entries import an_entry, kept

path, name = Path(sys.argv[1]), sys.argv[2]
os.write(1, b"ready\\n")
sys.stdin.readline()
for n in range(400):
    kept(path, an_entry(Kind.SOLD, stems=1, id=f"{name}-{n}"))
    os.write(1, b"saved\\n")
"""


@dataclass(slots=True)
class Outcome:
    """What many kills came to."""

    kills: int = 0
    told: int = 0  # entries that a writer had reported as kept
    lost: int = 0  # of these, not in the journal
    twice: int = 0
    hot: int = 0  # kills in the middle of writing: a rollback journal lay there


def kill_writers(folder: Path, kills: int, seed: int = 1) -> Outcome:
    """Kill writers at random moments; after each kill the journal is read, and written by another."""
    chance, outcome = random.Random(seed), Outcome()
    for n in range(kills):
        path = journal_path(folder / f"{n // KILLS_PER_JOURNAL}" / "lots.xlsx")
        path.parent.mkdir(exist_ok=True)
        told = _killed(path, f"W{n}", chance.random() ** 2 * LONGEST_S)
        outcome.hot += path.with_name(f"{path.name}-journal").exists()
        kept(path, an_entry(Kind.NOTE, id=f"P{n}"))
        ids = [entry.id for entry in read_book(path).entries]
        outcome.kills += 1
        outcome.told += told
        outcome.lost += sum(f"W{n}-{k}" not in ids for k in range(told))
        outcome.twice += len(ids) - len(set(ids))
    for n in range(kills):
        ids = [
            entry.id for entry in read_book(journal_path(folder / f"{n // KILLS_PER_JOURNAL}" / "x")).entries
        ]
        outcome.lost += f"P{n}" not in ids
    return outcome


def _killed(path: Path, name: str, after_s: float) -> int:
    """Start a writer, kill it some time after it began; how many entries it had reported as kept."""
    pipe = subprocess.PIPE
    here = Path(__file__).resolve().parent.parent
    environment = {**os.environ, "PYTHONPATH": str(here)}
    command = [sys.executable, "-c", WRITER, str(path), name]
    writer = subprocess.Popen(command, stdin=pipe, stdout=pipe, cwd=here, env=environment)
    assert writer.stdout is not None
    assert writer.stdin is not None
    assert writer.stdout.readline() == b"ready\n"
    writer.stdin.write(b"begin\n")
    writer.stdin.flush()
    time.sleep(after_s)
    writer.send_signal(signal.SIGKILL)
    told, _ = writer.communicate()
    return told.count(b"saved\n")
