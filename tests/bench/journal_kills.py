"""A thousand kills in the middle of keeping entries: `python -m tests.bench.journal_kills [KILLS]`."""

import sys
import tempfile
from pathlib import Path

from tests.journal_kills import kill_writers


def main() -> None:
    """Print what came of so many kills."""
    kills = int(sys.argv[1]) if len(sys.argv) > 1 else 1000
    with tempfile.TemporaryDirectory() as folder:
        outcome = kill_writers(Path(folder), kills, seed=7)
    print(  # noqa: T201 - the result
        f"{outcome.kills} kills, {outcome.hot} of them in the middle of a write: {outcome.told} entries were "
        f"reported as kept, {outcome.lost} lost, {outcome.twice} twice"
    )


if __name__ == "__main__":
    main()
