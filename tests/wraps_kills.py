"""Whole runs of `wraps` that are killed, and what the next run makes of the record and the paper.

`kill_runs` can be called with any number of kills; a test does a few, `tests.bench.wraps_kills` 100.
"""

from __future__ import annotations

import random
import signal
import subprocess
import sys
import time
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import timedelta
from pathlib import Path

from click.testing import CliRunner
from pypdf import PdfReader

from tagmaker.cli import main
from tagmaker.record.labels import Sheet
from tagmaker.record.printings import open_record
from tests.served import NOW, row, write_season

LOT, OTHER = "041", "042"
STOCK = "letter-3x10"
LABELS = 12


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
    """Kill a run of `wraps` at each of these shares of its usual length, and let another follow."""
    sheet = write_season(folder, row(LOT), row(OTHER))
    length_s = min(_length_s(sheet, folder / f"warm{n}") for n in range(2))
    outcome = Outcome()
    for n, share in enumerate(shares):
        moment = NOW + timedelta(minutes=n + 10)
        _one(sheet, folder / f"out{n}", f"{moment:%Y-%m-%dT%H:%M}", length_s * share, outcome)
    return outcome


def some_shares(kills: int, seed: int = 1) -> list[float]:
    """Shares of a run, most of them in its second half, where something is written."""
    chance = random.Random(seed)
    return [chance.triangular(0.3, 1.25, 0.95) for _ in range(kills)]


def _one(sheet: Path, out: Path, today: str, after_s: float, outcome: Outcome) -> None:
    run = subprocess.Popen(_wraps(sheet, out, today), stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    time.sleep(after_s)
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


def _length_s(sheet: Path, out: Path) -> float:
    began = time.monotonic()
    subprocess.run(_wraps(sheet, out, f"{NOW:%Y-%m-%dT%H:%M}"), check=True, capture_output=True)
    return time.monotonic() - began


def _wraps(sheet: Path, out: Path, today: str) -> list[str]:
    options = ["--lot", LOT, "--first", "next", "--today", today, "-o", str(out)]
    return [sys.executable, "-m", "tagmaker", "wraps", str(sheet), *options]


def told(outcome: Outcome) -> list[str]:
    """The result in lines."""
    return [f"{name}: {getattr(outcome, name)}" for name in Outcome.__annotations__]
