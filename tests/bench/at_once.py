"""Two commands and two phones print at once, 200 times each: `python -m tests.bench.at_once [times]`."""

from __future__ import annotations

import sys
import tempfile
from pathlib import Path

from tests.printing_at_once import print_at_once, told

ROUNDS = 200


def main(rounds: int = ROUNDS) -> None:
    """Print so often each, and tell what it came to; fails where a label position is there twice."""
    with tempfile.TemporaryDirectory() as folder:
        outcome = print_at_once(Path(folder), rounds)
    sys.stdout.write("\n".join(told(outcome)) + "\n")
    if (
        outcome.twice
        or outcome.elsewhere
        or outcome.printings != outcome.papers
        or outcome.papers != 4 * rounds
    ):
        sys.exit("record and papers do not agree")


if __name__ == "__main__":
    main(*map(int, sys.argv[1:]))
