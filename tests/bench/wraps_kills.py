"""A hundred whole runs of `wraps` are killed: `python -m tests.bench.wraps_kills [kills]`."""

from __future__ import annotations

import sys
import tempfile
from pathlib import Path

from tests.wraps_kills import kill_runs, some_shares, told

KILLS = 100


def main(kills: int = KILLS) -> None:
    """Kill so many, and tell what it came to; fails where record and paper do not agree afterwards."""
    with tempfile.TemporaryDirectory() as folder:
        outcome = kill_runs(Path(folder), some_shares(kills))
    sys.stdout.write("\n".join(told(outcome)) + "\n")
    if outcome.disagree or outcome.unsaid or outcome.parts:
        sys.exit("record and paper do not agree")


if __name__ == "__main__":
    main(*map(int, sys.argv[1:]))
