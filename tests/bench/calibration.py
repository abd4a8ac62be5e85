"""How often early and late hold what a simulated lot does: `python -m tests.bench.calibration [DRAWS]`.

Every crop and way stands at 2 and at 5 °C, unread, cut at the right stage on a Monday, Wednesday or Friday,
for a shop that sells daily, one that sells on Wednesdays and Saturdays, and a stall on Saturdays. Each draw
varies all figures at once: life by 15 %, fresh life by 0.7 d, the cooler by 0.7 °C, half-cooling by a factor
of 1.65, the loss by 30 % (standard deviations, chosen). Early, late and the end of a draw are selling
moments, all cut at the calendar limits, as a grower sees them.
"""

from __future__ import annotations

import random
import sys
from collections.abc import Iterator, Sequence
from datetime import datetime, time, timedelta
from math import log
from statistics import mean

from tagmaker.farm import EVERY_DAY, Cooler, Farm, Use, Workday
from tagmaker.lot import Lot, StorageCode
from tagmaker.storage.band import Ends
from tagmaker.storage.crops import WARM_CAP_C, CropTable, Keeping, crop_table
from tagmaker.storage.dating import date_lot, view_of
from tagmaker.storage.history import hours
from tagmaker.storage.moments import DAY
from tagmaker.storage.stems import Figures
from tests.farms import make_farm, make_lot

CUTS = tuple(datetime(2027, 3, 22, 8) + days * DAY for days in (0, 2, 4))
OUTLETS = {"daily": EVERY_DAY, "Wed and Sat": frozenset({2, 5}), "Sat": frozenset({5})}
LEAVES = time(8)
TEMPERATURES_C = (2.0, 5.0)
PROMISE = 4.0  # [d] vase days
OVER_ALL, IN_EACH = 0.85, 0.80  # least share of draws that the band holds
LEAST_FACTOR = 0.1  # of a figure's usual value: a normal draw may fall below nothing


def draw(chance: random.Random) -> Figures:
    """One lot's figures, all of them varied."""
    return Figures(
        life=max(chance.gauss(1, 0.15), LEAST_FACTOR),
        fresh_d=chance.gauss(0, 0.7),
        shift_c=chance.gauss(0, 0.7),
        half_cooling=chance.lognormvariate(0, log(1.65)),
        loss=max(chance.gauss(1, 0.3), 0.0),
    )


def farm_of(days: frozenset[int], t_c: float) -> Farm:
    """One outlet, and one cooler that is trusted to hold its temperature."""
    use = Use(name="shop", vase_days=PROMISE, leaves=LEAVES, days=days)
    barn = Cooler(name="barn", set_point_c=t_c, trusted=True)
    return make_farm(coolers={"barn": barn}, uses={"shop": use}, workday=Workday())


def lot_of(kept: Keeping, cut: datetime) -> Lot:
    """A lot kept one way."""
    bulb = kept.code is StorageCode.BULB
    return make_lot(
        crop=kept.crop,
        form=kept.form,
        cut=cut,
        in_cooler=cut + timedelta(hours=2),
        stage=kept.right_stage,
        bulb=bulb,
        storage=None if bulb else kept.code,
    )


def stays(kept: Keeping, t_c: float, draws: int) -> list[timedelta]:
    """How long after the cut each draw's stems last would do, the calendar set aside."""
    farm = farm_of(EVERY_DAY, t_c)
    judge = view_of(lot_of(kept, CUTS[0]), farm, CropTable([kept]), CUTS[0]).judge
    ends, chance = Ends(judge, farm.uses["shop"]), random.Random(f"{kept.title} {kept.code} {t_c}")
    found = [ends.last_hour(draw(chance)) for _ in range(draws)]
    return [timedelta(hours=max(0 if end is None else end - hours(CUTS[0]), 0)) for end in found]


def share_held(kept: Keeping, t_c: float, days: frozenset[int], ends: Sequence[timedelta]) -> float | None:
    """The share of draws that end between early and late; None where no selling day is left anyhow."""
    cap = kept.cap_days if kept.warm_cap_days is None or t_c <= WARM_CAP_C else kept.warm_cap_days
    farm, found = farm_of(days, t_c), []
    for cut in CUTS:
        dates = date_lot(lot_of(kept, cut), farm, CropTable([kept]), cut)
        if dates.sell_by is None or dates.late is None or dates.at_close:
            continue
        early = cut if dates.early is None else dates.early
        for end in ends:
            last = _selling_moment(cut + min(end, cap * DAY), days, cut)
            found.append(early <= last <= dates.late)
    return mean(found) if found else None


def _selling_moment(until: datetime, days: frozenset[int], cut: datetime) -> datetime:
    """The last selling moment not after a moment; the cut where there is none."""
    day = until.date() if until.time() >= LEAVES else until.date() - DAY
    while day > cut.date() and day.weekday() not in days:
        day -= DAY
    return max(datetime.combine(day, LEAVES), cut)


def shares(draws: int) -> Iterator[tuple[str, dict[str, float]]]:
    """What is held by crop, way and temperature, for each outlet; of the forms of tulip, singles alone."""
    for kept in crop_table().keepings:
        if kept.form not in ("", "single"):
            continue
        for t_c in TEMPERATURES_C:
            ends = stays(kept, t_c, draws)
            held = {name: share_held(kept, t_c, days, ends) for name, days in OUTLETS.items()}
            name = f"{kept.title} {kept.code} {t_c:g} °C"
            yield name, {outlet: share for outlet, share in held.items() if share is not None}


def main(draws: int) -> int:
    """Print every share, the least ones first, and whether they are enough."""
    found = sorted(shares(draws), key=lambda pair: mean(pair[1].values()))
    for name, held in found:
        by_outlet = ", ".join(f"{outlet} {share:.0%}" for outlet, share in held.items())
        _say(f"{mean(held.values()):6.1%}  {name:28}  {by_outlet}")
    worst, overall = mean(found[0][1].values()), mean(mean(held.values()) for _, held in found)
    for outlet in OUTLETS:
        of_outlet = [held[outlet] for _, held in found if outlet in held]
        _say(f"{outlet}: {mean(of_outlet):.1%}, worst {min(of_outlet):.1%}")
    _say(f"all: {overall:.1%} of {draws} draws each, worst {worst:.1%}")
    enough = overall >= OVER_ALL and worst >= IN_EACH
    _say("enough" if enough else f"not enough: {OVER_ALL:.0%} over all and {IN_EACH:.0%} in each")
    return 0 if enough else 1


def _say(line: str) -> None:
    sys.stdout.write(line + "\n")


if __name__ == "__main__":
    sys.exit(main(int(sys.argv[1]) if len(sys.argv) > 1 else 1000))
