"""Whole runs of `wraps` that are killed, and what the next run makes of the record and the paper.

`kill_runs` can be called with any number of kills; a test does a few, `tests.bench.wraps_kills` 100.
"""

from __future__ import annotations

import random
import signal
import sqlite3
import subprocess
import sys
import time
from collections.abc import Sequence
from contextlib import closing, suppress
from dataclasses import dataclass
from datetime import timedelta
from pathlib import Path

from click.testing import CliRunner
from pypdf import PdfReader

from tagmaker.cli import main
from tagmaker.record.labels import Sheet
from tagmaker.record.printings import open_record, record_path
from tests.served import NOW, row, write_season

LOT, OTHER = "041", "042"
STOCK = "letter-3x10"
LABELS = 12
LOOK_S = 0.005  # [s] between two looks whether labels are reserved
PATIENCE_S = 5.0  # [s] for a record that is being written


@dataclass(slots=True)
class Outcome:
    """What many kills came to."""

    kills: int = 0
    ended: int = 0  # runs that were done before they were killed
    papers: int = 0  # kills after which the paper was there
    reserved: int = 0  # kills that left labels reserved
    said_printed: int = 0  # kills of which the next run said that their paper counts
    said_not: int = 0  # and that it does not
    leftovers: int = 0  # kills that left a half-written file behind
    disagree: int = 0  # kills after whose next run record and paper did not agree
    unsaid: int = 0  # reserved by a killed run, and not a word in the next
    parts: int = 0  # half-written files that were still there after the next run


def kill_runs(folder: Path, shares: Sequence[float]) -> Outcome:
    """Kill runs of `wraps` at shares of what follows once labels are reserved; another run follows each.

    Below 0 it is a share of what comes before that.
    """
    sheet = write_season(folder, row(LOT), row(OTHER))
    _timed(sheet, folder / "warm")
    start_s, rest_s = _timed(sheet, folder / "timed")
    outcome = Outcome()
    for n, share in enumerate(shares):
        moment = NOW + timedelta(minutes=n + 10)
        wait_s = rest_s * share if share >= 0 else start_s * (1 + share)
        _one(sheet, folder / f"out{n}", f"{moment:%Y-%m-%dT%H:%M}", wait_s, share >= 0, outcome)
    return outcome


def some_shares(kills: int, seed: int = 1) -> list[float]:
    """Shares of a run, most of them once something is written."""
    chance = random.Random(seed)
    return [chance.uniform(-0.1, 1.1) for _ in range(kills)]


def _one(sheet: Path, out: Path, today: str, wait_s: float, reserved: bool, outcome: Outcome) -> None:
    run = subprocess.Popen(_wraps(sheet, out, today), stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    if reserved:
        _wait_for_labels(sheet, run)
    time.sleep(wait_s)
    run.send_signal(signal.SIGKILL)
    ended = run.wait() == 0
    paper = out / "wrap-labels.pdf"
    is_there = paper.exists()
    if is_there:
        assert len(PdfReader(paper).pages) > 0
    before = open_record(sheet, NOW, create=False)[0].known
    left = [line for line in before.on_its_way if line.lot_code == LOT]
    parts = list(out.glob(".*.part"))
    told = _next_run(sheet, out, today)
    after = open_record(sheet, NOW)[0].known
    counted = [line for line in after.lines("wraps", LOT) if f"{line.moment:%Y-%m-%dT%H:%M}" == today]
    outcome.kills += 1
    outcome.ended += ended
    outcome.papers += is_there
    outcome.reserved += bool(left)
    outcome.said_printed += "counts as printed" in told
    outcome.said_not += "not printed" in told
    outcome.leftovers += bool(parts)
    outcome.disagree += (sum(line.count for line in counted) == LABELS) != is_there or bool(after.on_its_way)
    outcome.unsaid += bool(left) and not ("counts as printed" in told or "not printed" in told)
    outcome.parts += bool(list(out.glob(".*.part")))
    assert after.sheet(STOCK) != Sheet()


def _next_run(sheet: Path, out: Path, today: str) -> str:
    """What the next run says; it prints cards of another lot into the same folder."""
    options = ["--lot", OTHER, "--today", today, "-o", str(out)]
    result = CliRunner().invoke(main, ["crates", str(sheet), *options])
    assert result.exit_code == 0, result.output
    return result.stderr


def _timed(sheet: Path, out: Path) -> tuple[float, float]:
    """Seconds of a run until its labels are reserved, and from then on."""
    began = time.monotonic()
    today = f"{NOW:%Y-%m-%dT%H:%M}"
    run = subprocess.Popen(_wraps(sheet, out, today), stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    _wait_for_labels(sheet, run)
    reserved = time.monotonic()
    assert run.wait() == 0
    return reserved - began, time.monotonic() - reserved


def _wait_for_labels(sheet: Path, run: subprocess.Popen[bytes]) -> None:
    """Wait until a run has reserved its labels, or has ended."""
    while run.poll() is None:
        time.sleep(LOOK_S)
        if record_path(sheet).exists():
            with (
                suppress(sqlite3.OperationalError),  # it is just being begun
                closing(sqlite3.connect(record_path(sheet), timeout=PATIENCE_S)) as file,
            ):
                if file.execute("SELECT 1 FROM printings WHERE process = ?", [run.pid]).fetchone():
                    return


def _wraps(sheet: Path, out: Path, today: str) -> list[str]:
    options = ["--lot", LOT, "--first", "next", "--today", today, "-o", str(out)]
    return [sys.executable, "-m", "tagmaker", "wraps", str(sheet), *options]


def told(outcome: Outcome) -> list[str]:
    """The result in lines."""
    return [f"{name}: {getattr(outcome, name)}" for name in Outcome.__annotations__]
