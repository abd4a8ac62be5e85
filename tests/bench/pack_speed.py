"""How long `pack` takes: 200 lots and 80 departures, stage by stage, in seconds of the processor.

Run it as `python -m tests.bench.pack_speed`.
"""

from __future__ import annotations

import random
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path
from typing import TypeVar

from tagmaker.desk.pack_printing import draw_pack_sheet, pack_text
from tagmaker.desk.packing import Asked, packing
from tagmaker.paper.proof.proving import prove
from tests.packed_season import season_of, write_season

LOTS, DEPARTURES = 200, 80
T = TypeVar("T")


def rows() -> list[str]:
    """Lots of five crops in two coolers."""
    pick = random.Random(5)
    crops = ("tulip,double", "tulip,single", "tulip,parrot", "narcissus,", "lily,")
    return [
        f"{n + 100},{pick.choice(crops)},Var {n % 40},{pick.choice(('white', 'red', 'pink'))},"
        f"2027-04-{pick.randint(8, 20):02}T08:00,tight,{pick.choice((60, 120, 240))},,"
        f"{pick.choice(('walk-in', 'annexe'))},rack {n % 9},{pick.choice(('stall', 'florist'))},"
        for n in range(LOTS)
    ]


def orders() -> list[str]:
    """An order for each departure, over nine days."""
    pick = random.Random(7)
    days = [f"2027-04-{day}" for day in range(22, 31)]
    return [
        f"A-{n},{days[n % 9]}T{8 + n % 10:02}:{n * 7 % 60:02},{pick.choice(('stall', 'florist', 'wedding'))},"
        f"{pick.choice(('tulip', ''))},,,{pick.choice(('white', 'red', '', 'pink'))},,{pick.randint(2, 15)},,"
        for n in range(DEPARTURES)
    ]


def timed(what: str, work: Callable[[], T]) -> T:
    """Do it, and say how long it took."""
    begun = time.process_time()
    done = work()
    sys.stdout.write(f"{what:28} {time.process_time() - begun:6.2f} s\n")
    return done


def main() -> None:
    """Time each stage."""
    with tempfile.TemporaryDirectory() as folder:
        sheet = write_season(Path(folder) / "season", rows=rows(), orders=orders())
        season = timed("read", lambda: season_of(sheet))
        timed("dates of all lots", lambda: season.dated)
        found = timed("who gets what", lambda: packing(season, Asked()))
        timed("a better answer", lambda: found.offer)
        timed(f"table of {len(found.departures)} departures", lambda: pack_text(found))
        inked = timed(f"{len(found.departures)} pages", lambda: draw_pack_sheet(season, found.departures))
        timed("their proof", lambda: prove(inked))


if __name__ == "__main__":
    main()
