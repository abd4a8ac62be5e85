"""How long a season plan takes, and what is left of it unproven: `python -m tests.bench.season_plan`.

Farms of the size that a plan is made for (60 lots, 30 plans, 80 departures, 3 coolers: at most 10 s) and of a
large one (200 lots: at most 30 s). Written orders fill the departures up to 80 beside the outlets' own days.
"""

from __future__ import annotations

import sys
import time
from itertools import count

from tagmaker.desk.season_planning import plan_season
from tagmaker.storage.season_plan import season_plan
from tests.season_farms import random_ground

COOLERS = ("barn", "south", "north")
DEPARTURES = 80
SIZES = ((60, 30), (200, 0), (200, 30))
FARMS = 5  # of each size


def main() -> None:
    """Plan some farms of each size, and say how long each took."""
    for lots, plans in SIZES:
        for seed in range(FARMS):
            ground = random_ground(seed, lots, plans, orders=0, coolers=COOLERS)
            own = len({(wish.want.leaves, wish.want.use) for wish in season_plan(ground).wishes})
            for orders in count(max(DEPARTURES - own, 0)):
                ground = random_ground(seed, lots, plans, orders=orders, coolers=COOLERS)
                asked = {(wish.want.leaves, wish.want.use) for wish in season_plan(ground).wishes}
                if len(asked) >= DEPARTURES:
                    break
            begun, worked = time.perf_counter(), time.process_time()
            found = plan_season(ground)
            wall, cpu = time.perf_counter() - begun, time.process_time() - worked
            said = "proven" if found.unproven is None else f"not proven from {found.unproven} on"
            sys.stdout.write(
                f"{lots} lots, {plans} plans, {len(asked)} departures, {len(COOLERS)} coolers, farm {seed}: "
                f"{wall:.1f} s ({cpu:.1f} s of the processor), {len(found.found.rows)} rows, {said}\n"
            )


if __name__ == "__main__":
    main()
