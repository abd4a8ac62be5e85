"""Whole runs of `wraps` that are killed, and one that is killed where it hurts most."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
from pathlib import Path

import pytest
from click.testing import CliRunner

from tagmaker.cli import main
from tagmaker.record.printings import open_record
from tests.served import NOW, row, write_season
from tests.wraps_kills import kill_runs

SHARES = (-0.3, 0.1, 0.5, 0.8, 0.95)  # before and after its labels are reserved
TODAY = f"{NOW:%Y-%m-%dT%H:%M}"

# Runs a command that kills itself at its first call of a function.
SUICIDE = """
import importlib, os, signal, sys
from tagmaker.cli import main

module, name, when = sys.argv[1:4]
owner = importlib.import_module(module)
for part in name.split(".")[:-1]:
    owner = getattr(owner, part)
name = name.split(".")[-1]
real = getattr(owner, name)

def dies(*rest, **named):
    if when == "after":
        real(*rest, **named)
    os.kill(os.getpid(), signal.SIGKILL)

setattr(owner, name, dies)
main(sys.argv[4:])
"""


@pytest.mark.slow
def test_record_and_paper_agree_after_any_kill(tmp_path: Path) -> None:
    """What lies there counts, what does not does not, and no half-written file stays."""
    outcome = kill_runs(tmp_path, SHARES)
    assert (outcome.kills, outcome.disagree, outcome.unsaid, outcome.parts) == (len(SHARES), 0, 0, 0)
    assert outcome.reserved > 0, "no kill hit a run at work"


@pytest.mark.slow
@pytest.mark.parametrize(
    ("module", "name", "when", "counts", "parts"),
    [
        ("tagmaker.desk.printing", "draw", "before", False, False),
        ("tagmaker.desk.printing", "file_papers", "before", False, False),
        ("os", "fsync", "after", False, True),
        ("tagmaker.desk.printing", "file_papers", "after", True, False),
        ("tagmaker.record.printings", "PrintRecord.keep", "after", True, False),
    ],
)
def test_a_run_that_is_killed_in_between(
    tmp_path: Path, module: str, name: str, when: str, counts: bool, parts: bool
) -> None:
    """Reserved, drawn, half written, in place, kept: the next run says what it made of it."""
    sheet, out = write_season(tmp_path, row("041"), row("042")), tmp_path / "out"
    command = ["wraps", str(sheet), "--lot", "041", "--today", TODAY, "-o", str(out)]
    killed = subprocess.run(
        [sys.executable, "-c", SUICIDE, module, name, when, *command], check=False, capture_output=True
    )
    assert killed.returncode == -signal.SIGKILL, killed.stderr
    assert ((out / "wrap-labels.pdf").exists(), bool(list(out.glob(".*.part")))) == (counts, parts)
    crates = ["crates", str(sheet), "--lot", "042", "--today", TODAY, "-o", str(out)]
    result = CliRunner().invoke(main, crates)
    assert result.exit_code == 0, result.output
    known = open_record(sheet, NOW)[0].known
    assert [(line.lot_code, line.count) for line in known.lines("wraps")] == ([("041", 12)] if counts else [])
    if name != "PrintRecord.keep":
        said = "is whole and counts as printed" if counts else "not printed: 12 labels of 041"
        assert said in result.stderr
    assert list(out.glob(".*.part")) == []


def test_a_file_that_another_run_is_writing_stays(tmp_path: Path) -> None:
    """Its process is there; only those that nobody writes any more are taken away."""
    sheet, out = write_season(tmp_path, row("041")), tmp_path / "out"
    out.mkdir()
    ours, theirs = out / f".wrap-labels.pdf.{os.getppid()}.part", out / ".wrap-labels.pdf.4194304.part"
    own = out / ".notes.txt.4194304.part"
    for path in (ours, theirs, own):
        path.write_bytes(b"%PDF-")
    assert CliRunner().invoke(main, ["wraps", str(sheet), "--today", TODAY, "-o", str(out)]).exit_code == 0
    assert (ours.exists(), theirs.exists(), own.exists()) == (True, False, True)
