"""Ten invented seasons, packed by the allocation and beside it by first expired, first out.

    python -m tests.bench.packing_seasons [SEASONS]

Every evening what leaves within a day is packed, and goes; what is too old is thrown out. Cuts follow an
invented weather, orders come days ahead, and an outlet sells more or less than usual; both ways see the same
of it, in seasons of plenty and of want. Both ask the dating rules what may serve. First expired, first out
takes for each departure the lot that keeps least long, marked or not, whatever is ordered for later;
the orders of a departure before its usual sale.
"""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, time, timedelta
from random import Random

from tagmaker.farm import Cooler, Farm, Use, Workday
from tagmaker.lot import Lot, Stage, StorageCode
from tagmaker.storage.air import assumed_airs
from tagmaker.storage.allocation import allocate
from tagmaker.storage.crops import crop_table
from tagmaker.storage.dating import date_lots
from tagmaker.storage.demand import WrittenOrder
from tagmaker.storage.promises import UsualSale, usual_sales
from tagmaker.storage.serving import Supply, supplies

CROPS = crop_table()
START = datetime(2027, 3, 22, 17)  # a Monday; packed every day at five in the afternoon
DAYS = 49
DAY = timedelta(days=1)
AHEAD = 10  # [d] that the allocation looks at usual sales
FARM = Farm(
    units="C",
    workday=Workday(opens=time(7), closes=time(18)),
    uses={
        "stall": Use(name="stall", vase_days=4, days=frozenset({5}), leaves=time(6, 30), stems=300),
        "shop": Use(name="shop", vase_days=5, days=frozenset({1, 4}), leaves=time(8, 30), stems=120),
        "florist": Use(name="florist", vase_days=5, leaves=time(9)),
        "wedding": Use(name="wedding", vase_days=4, leaves=time(8), must=True),
    },
    coolers={"walk-in": Cooler(name="walk-in", set_point_c=2.5, trusted=True)},
)
KINDS = (  # crop, form, colour, stems a day in full flow
    ("tulip", "single", "white", 60),
    ("tulip", "single", "apricot", 60),
    ("tulip", "double", "apricot", 40),
    ("narcissus", "", "white", 40),
    ("ranunculus", "", "apricot", 30),
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Season:
    """What comes about in a season, whatever is packed."""

    cuts: tuple[Lot, ...]  # all of them, in order of day
    orders: tuple[tuple[datetime, WrittenOrder], ...]  # from when it is known
    sales: dict[tuple[datetime, str], float]  # share of the usual sale that finds a buyer


@dataclass(slots=True)
class Tally:
    """What came of a season."""

    orders: int = 0
    kept: int = 0  # orders served in full
    must: int = 0
    must_kept: int = 0
    missing: int = 0  # stems that orders lacked
    thrown: int = 0  # stems too old
    unsold: int = 0  # stems that were taken to an outlet and found no buyer
    usual_sold: int = 0  # stems sold without an order
    marked: int = 0  # stems that left half coloured, too open, or to be tested first
    left: int = 0  # stems there when it ends


Given = list[tuple[str, int, str, bool, bool]]  # lot, stems, order's code or use, whether ordered, marked
Rule = Callable[[Sequence[Supply], Sequence[WrittenOrder], datetime], Given]


def by_allocation(there: Sequence[Supply], orders: Sequence[WrittenOrder], now: datetime) -> Given:
    """What the allocation gives to what leaves within a day, with all that is known of later."""
    usual = usual_sales(FARM, now, (now + AHEAD * DAY).date())
    found = allocate(there, orders, FARM, now, usual)
    return [
        (
            line.supply.lot.lot_code,
            line.stems,
            line.demand.code or line.demand.use,
            line.demand.written,
            line.serving.marked,
        )
        for line in found.lines
        if line.demand.leaves <= now + DAY
    ]


def first_expired(there: Sequence[Supply], orders: Sequence[WrittenOrder], now: datetime) -> Given:
    """The lot that keeps least long goes first, departure by departure."""
    free = {supply.lot.lot_code: supply.lot.left or 0 for supply in there}
    by_age = sorted(there, key=lambda s: (s.keeps_until or datetime.min, s.lot.lot_code))
    given: Given = []
    soon: list[tuple[datetime, bool, str, WrittenOrder | UsualSale]] = [
        (order.leaves, False, order.order_code, order) for order in orders if order.leaves <= now + DAY
    ]
    soon += [(sale.leaves, True, sale.use, sale) for sale in usual_sales(FARM, now, (now + DAY).date())]
    for leaves, is_usual, name, wanted in sorted(soon, key=lambda one: one[:3]):
        missing = wanted.stems or 0
        for supply in by_age:
            code, serving = supply.lot.lot_code, supply.serves(leaves, FARM.uses[wanted.use])
            will_do = serving.ok_unordered if is_usual else serving.ok
            if (
                missing <= 0
                or not will_do
                or (isinstance(wanted, WrittenOrder) and not wanted.fits(supply.lot))
            ):
                continue
            stems = min(-(-missing // supply.lot.per_bunch) * supply.lot.per_bunch, free[code])
            if stems:
                free[code] -= stems
                missing -= stems
                given.append((code, stems, name, not is_usual, serving.marked))
    return given


def a_season(random: Random) -> Season:
    """Weather, cuts, orders and how well the outlets sell."""
    sales = {}
    for sale in usual_sales(FARM, START, (START + (DAYS + 1) * DAY).date()):
        sales[sale.leaves, sale.use] = min(max(random.gauss(0.9, 0.2), 0.2), 1.0)
    orders = sorted(_orders(random), key=lambda order: (order[0], order[1].order_code))
    return Season(cuts=tuple(_cuts(random)), orders=tuple(orders), sales=sales)


def _cuts(random: Random) -> Iterator[Lot]:
    """A lot a day and kind, more after warm days, more open then, fewer of each kind at its ends."""
    warmth, plenty = random.gauss(0, 2), random.uniform(0.6, 1.5)
    for ahead in range(DAYS - 7):
        warmth = 0.8 * warmth + random.gauss(0, 2)
        field_c = 8 + 6 * ahead / DAYS + warmth
        for crop, form, colour, full in KINDS:
            stems = int(plenty * full * max(0.0, 1 + warmth / 4) * random.uniform(0.3, 1.7)) // 10 * 10
            if stems < 10:
                continue
            right = CROPS.ways(crop, form)[0].right_stage
            dry = next(way.code for way in CROPS.ways(crop, form))
            late = Stage(min(right + 1, Stage.OPEN)) if random.random() < 0.04 * max(warmth, 0) else right
            cut = datetime.combine((START + ahead * DAY).date(), time(8))
            yield Lot(
                lot_code=f"{ahead:02}{crop[0].upper()}{form[:1].upper()}{colour[0].upper()}",
                crop=crop,
                form=form,
                colour=colour,
                cut=cut,
                stage=late,
                stems=stems,
                per_bunch=10,
                bulb=False,
                storage=None if dry is StorageCode.BULB else dry,
                field_c=max(field_c, 1.0),
                cooler="walk-in",
                in_cooler=cut + timedelta(hours=2),
                use="stall",
            )


def _orders(random: Random) -> Iterator[tuple[datetime, WrittenOrder]]:
    """Florists order some days ahead, weddings a week or two; half of them want a colour, a third a crop."""
    number = 0
    for ahead in range(2, DAYS):
        day = START + ahead * DAY
        for use, chance, stems, notice in (("florist", 0.6, (20, 120), 6), ("wedding", 0.15, (60, 240), 14)):
            if random.random() > chance or day.weekday() == 6:
                continue
            number += 1
            crop, _, colour, _ = random.choice(KINDS)
            yield (
                day - random.randrange(1, notice) * DAY,
                WrittenOrder(
                    order_code=f"{use[0].upper()}{number}",
                    leaves=datetime.combine(day.date(), FARM.uses[use].leaves),
                    use=use,
                    crops=frozenset({crop} if random.random() < 1 / 3 else ()),
                    colours=frozenset({colour} if random.random() < 1 / 2 else ()),
                    stems=random.randrange(stems[0], stems[1], 10),
                ),
            )


def lived(season: Season, rule: Rule) -> Tally:
    """A season packed by a rule."""
    tally, lots = Tally(), dict[str, Lot]()
    airs = assumed_airs(FARM)
    served: dict[str, int] = {}
    for ahead in range(DAYS):
        now = START + ahead * DAY
        lots |= {lot.lot_code: lot for lot in season.cuts if now - DAY < lot.cut <= now}
        dates = date_lots([lot for lot in lots.values() if lot.left], FARM, CROPS, now, airs)
        for one in dates:
            if one.keeps_until is None or one.keeps_until < now:
                tally.thrown += one.lot.left or 0
                del lots[one.lot.lot_code]
        there = supplies([d for d in dates if d.lot.lot_code in lots], FARM, CROPS, now, airs)
        known = [order for since, order in season.orders if since <= now <= order.leaves]
        taken: dict[str, int] = {}
        for code, stems, name, ordered, marked in rule(there, known, now):
            tally.marked += stems * marked
            lots[code] = replace(lots[code], gone=lots[code].gone + stems)
            if ordered:
                served[name] = served.get(name, 0) + stems
            else:
                taken[name] = taken.get(name, 0) + stems
        _sell(tally, taken, season, now)
    for _, order in season.orders:
        lacks = max((order.stems or 0) - served.get(order.order_code, 0), 0)
        tally.orders += 1
        tally.must += FARM.uses[order.use].must
        tally.kept += lacks == 0
        tally.must_kept += lacks == 0 and FARM.uses[order.use].must
        tally.missing += lacks
    tally.left = sum(lot.left or 0 for lot in lots.values())
    return tally


def _sell(tally: Tally, taken: dict[str, int], season: Season, now: datetime) -> None:
    for use, stems in taken.items():
        share = next(s for (leaves, name), s in season.sales.items() if name == use and leaves > now)
        sold = min(stems, int((FARM.uses[use].stems or 0) * share))
        tally.usual_sold += sold
        tally.unsold += stems - sold


HEADER = (
    f"{'season':>6}  {'rule':16}{'orders':>7}{'kept':>6}{'must':>6}{'kept':>6}"
    f"{'missing':>9}{'too old':>9}{'unsold':>8}{'sold besides':>14}{'marked':>8}{'left':>7}"
)


def _row(name: str, rule: str, tally: Tally) -> str:
    return (
        f"{name:>6}  {rule:16}{tally.orders:7}{tally.kept:6}{tally.must:6}{tally.must_kept:6}"
        f"{tally.missing:9}{tally.thrown:9}{tally.unsold:8}{tally.usual_sold:14}{tally.marked:8}{tally.left:7}"
    )


def main() -> None:
    """Print what came of every season, and of all."""
    rules: dict[str, Rule] = {"allocation": by_allocation, "first expired": first_expired}
    totals = {name: Tally() for name in rules}
    sys.stdout.write(f"{HEADER}\n")
    for seed in range(int(sys.argv[1]) if len(sys.argv) > 1 else 10):
        season = a_season(Random(seed))
        for name, rule in rules.items():
            tally = lived(season, rule)
            for figure in Tally.__slots__:
                setattr(totals[name], figure, getattr(totals[name], figure) + getattr(tally, figure))
            sys.stdout.write(f"{_row(str(seed + 1), name, tally)}\n")
            sys.stdout.flush()
    for name, tally in totals.items():
        sys.stdout.write(f"{_row('all', name, tally)}\n")


if __name__ == "__main__":
    main()
