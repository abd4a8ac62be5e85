"""A thousand kills of the server in the middle of taps: `python -m tests.bench.journal_kills [KILLS]`."""

import sys
import tempfile
from pathlib import Path

from tests.journal_http_kills import kill_servers


def main() -> None:
    """Print what came of so many kills."""
    kills = int(sys.argv[1]) if len(sys.argv) > 1 else 1000
    with tempfile.TemporaryDirectory() as folder:
        outcome = kill_servers(Path(folder), kills, seed=7)
    print(  # noqa: T201 - the result
        f"{outcome.kills} kills with {outcome.cut} taps on their way: {outcome.saved} taps were answered as "
        f"saved, {outcome.lost} of them lost, {outcome.twice} twice"
    )


if __name__ == "__main__":
    main()
