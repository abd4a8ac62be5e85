"""Whole commands, each in a process of its own: what somebody waits for who types them."""

from __future__ import annotations

import csv
import re
import resource
import shutil
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Sequence
from pathlib import Path
from typing import NamedTuple

REPOSITORY = Path(__file__).resolve().parents[2]
DEMO = REPOSITORY / "demo_lots"
TODAY = ("--today", "2027-04-21T09:00")
LOTS = (1250, 5000)  # of the sheets that `dates` is timed on; four times the lots show whether it is linear
CODE = re.compile(r"[A-Z0-9-]+")


class Taken(NamedTuple):
    """What a command takes; the processor's time changes less on a busy machine."""

    wall: float  # [s]
    processor: float  # [s]

    def __str__(self) -> str:
        return f"{self.wall:.2f} s, {self.processor:.2f} s of the processor"


def taken(command: Sequence[str], runs: int) -> Taken:
    """The medians of some runs."""
    found = []
    for _ in range(runs):
        start, before = time.perf_counter(), resource.getrusage(resource.RUSAGE_CHILDREN)
        subprocess.run([sys.executable, *command], cwd=REPOSITORY, check=True, capture_output=True)
        wall, after = time.perf_counter() - start, resource.getrusage(resource.RUSAGE_CHILDREN)
        busy = after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime
        found.append((wall, busy))
    return Taken(*map(statistics.median, zip(*found, strict=True)))


def many_lots(folder: Path, count: int) -> Path:
    """The demo's season with its lots over and over, each time from another field temperature."""
    shutil.copy(DEMO / "tagmaker.toml", folder)
    shutil.copytree(DEMO / "logs", folder / "logs", dirs_exist_ok=True)
    with (DEMO / "lots.csv").open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    numbers = {row["Lot"]: number for number, row in enumerate(rows)}
    path = folder / f"{count}.csv"
    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.DictWriter(file, rows[0])
        writer.writeheader()
        for n in range(count):
            turn, row = n // len(rows), dict(rows[n % len(rows)])
            for column in ("Lot", "Split from"):
                row[column] = CODE.sub(
                    lambda code: f"{numbers[code[0]]}-{turn}" if code[0] in numbers else code[0],  # noqa: B023 - used up before the next row
                    row[column],
                )
            if row["Cut"] and not row["Cut"].startswith("plan"):
                row["Field"] = f"{40 + turn % 30}.{turn % 10}F"
            writer.writerow(row)
    return path


def about_help() -> str:
    """How long the help takes, beside the import of what parses it."""
    bare, helped = taken(["-c", "import click"], 5), taken(["-m", "tagmaker", "--help"], 5)
    times = helped.processor / bare.processor
    return f"import click {bare}; tagmaker --help {helped}: {times:.1f} × (to reach: 2.5)"


def about_papers() -> str:
    """How long the demo's papers take, and the labels of one of its lots; both with their proof."""
    with tempfile.TemporaryDirectory() as folder:
        options = ["demo_lots/lots.xlsx", *TODAY, "--no-record", "-o", folder]
        papers = taken(["-m", "tagmaker", "papers", *options], 5)
        wraps = taken(["-m", "tagmaker", "wraps", *options, "--lot", "101"], 5)
    return f"papers of the demo {papers} (to reach: 2.0)\nwraps --lot 101 of the demo {wraps} (to reach: 1.1)"


def about_dates() -> str:
    """How long the dates of many lots take, logs and table included, and whether that grows with them."""
    with tempfile.TemporaryDirectory() as folder:
        few, many = (
            taken(["-m", "tagmaker", "dates", str(many_lots(Path(folder), count)), *TODAY], 1)
            for count in LOTS
        )
    times = many.processor / few.processor
    return (
        f"dates of {LOTS[1]:,} lots {many} (to reach: 15), "
        f"{times:.1f} × those of {LOTS[0]:,} (linear: at most {LOTS[1] / LOTS[0]:.0f})"
    )
