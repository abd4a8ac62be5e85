"""Random farms with lots, orders and outlets, for what has to hold whoever gets which bunches."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import datetime, time, timedelta
from random import Random
from typing import Any

from tagmaker.farm import Cooler, Farm, Use, Workday
from tagmaker.lot import BunchTest, Finding, Lot, Move, Order, Stage, StorageDates, Surface
from tagmaker.storage.air import Airs, assumed_airs
from tagmaker.storage.allocation import Allocation, allocate
from tagmaker.storage.dating import date_lots
from tagmaker.storage.demand import WrittenOrder
from tagmaker.storage.orders import still_to_serve
from tagmaker.storage.promises import UsualSale, usual_sales
from tagmaker.storage.serving import Supply, supplies
from tests.farms import CROPS, celsius, make_lot

NOW = datetime(2027, 4, 15, 19)  # a Thursday evening
DAY = timedelta(days=1)
USES = {
    "stall": Use(name="stall", vase_days=4, days=frozenset({5}), leaves=time(6, 30), stems=120),
    "shop": Use(name="shop", vase_days=5, days=frozenset({1, 4}), leaves=time(8, 30), stems=60),
    "boxes": Use(name="boxes", vase_days=5, days=frozenset({3}), leaves=time(13)),
    "wedding": Use(name="wedding", vase_days=2, leaves=time(10), must=True),
    "table": Use(name="table", vase_days=2, days=frozenset({4, 5}), leaves=time(15), open=True),
}
COOLERS = {
    "walk-in": Cooler(name="walk-in", set_point_c=celsius(37)),
    "bulb room": Cooler(name="bulb room", set_point_c=celsius(33), trusted=True, soak_inside=False),
    "fridge": Cooler(name="fridge", set_point_c=celsius(41), trusted=True),
}
SOLD = ("tulip", "tulip", "tulip", "narcissus", "peony", "ranunculus", "snapdragon", "zinnia")
VARIETIES = ("Pale Harbour", "Dun Heron", "Tern")
COLOURS = ("white", "apricot")


@dataclass(frozen=True, slots=True, kw_only=True)
class Yard:
    """A farm at a moment, with what it has and what is wanted of it."""

    farm: Farm
    lots: tuple[Lot, ...]
    orders: tuple[WrittenOrder, ...]
    usual: tuple[UsualSale, ...]
    now: datetime = NOW

    @property
    def airs(self) -> Airs:
        """Air that nobody read."""
        return assumed_airs(self.farm)

    def dated(self) -> tuple[StorageDates, ...]:
        """The dates of its lots."""
        return date_lots(self.lots, self.farm, CROPS, self.now, self.airs)

    def supplies(self) -> tuple[Supply, ...]:
        """What it has to give."""
        return supplies(self.dated(), self.farm, CROPS, self.now, self.airs)

    def allocated(self) -> Allocation:
        """Who gets what."""
        return allocate(self.supplies(), self.orders, self.farm, self.now, self.usual)


def a_yard(random: Random, lots: int = 6, orders: int = 6, *, days: int = 14, plain: bool = False) -> Yard:
    """A farm of so many lots and orders; `plain`: without what is rare in a row."""
    basis = random.choice(["practice", "practice", "early", "cautious"])
    workday = Workday(days_off=frozenset({6}))
    farm = Farm(units="F", basis="practice" if plain else basis, workday=workday, uses=USES, coolers=COOLERS)
    return Yard(
        farm=farm,
        lots=tuple(_lot(random, f"{101 + n}", plain) for n in range(lots)),
        orders=tuple(_order(random, f"A{n + 1}", days) for n in range(orders)),
        usual=usual_sales(farm, NOW, NOW.date() + days * DAY),
    )


def _lot(random: Random, code: str, plain: bool) -> Lot:
    crop = random.choice(SOLD)
    form = random.choice(CROPS.forms(crop) or ("",))
    ways = [way.code for way in CROPS.ways(crop, form)]
    way = random.choice(ways)
    cut = datetime.combine(NOW.date() - random.randrange(0, 16) * DAY, time(random.randrange(6, 9)))
    right = CROPS.ways(crop, form)[0].right_stage
    values: dict[str, Any] = {
        "lot_code": code,
        "crop": crop,
        "form": form,
        "variety": random.choice(VARIETIES),
        "colour": random.choice(COLOURS),
        "cut": cut,
        "stage": right if plain else random.choice([right, right, right, None, Stage.HALF, Stage.COLOURED]),
        "stems": random.randrange(2, 41) * 10 + random.choice([0, 0, 0, 4]),
        "per_bunch": random.choice([10, 10, 10, 5, 25]),
        "bulb": way.value == "BULB",
        "storage": None if way.value == "BULB" else way,
        "field_c": random.uniform(2, 14),
        "cooler": random.choice(sorted(COOLERS)),
        "in_cooler": cut + timedelta(hours=2),
        "use": random.choice(sorted(USES)),
        "gone": random.choice([0, 0, 10, 13]),
    }
    return make_lot(**(values if plain else values | _rare(random, cut, way.value == "WATER")))


def _rare(random: Random, cut: datetime, in_water: bool) -> dict[str, Any]:
    """Cells that few rows have."""
    cells: dict[str, Any] = {}
    age = (NOW - cut) / DAY
    if random.random() < 0.25:
        wanted = [_departure(random, 10) for _ in range(random.randrange(1, 4))]
        orders = [
            Order(leaves=leaves, stems=random.choice([None, 20, 25, 100]), use=use) for leaves, use in wanted
        ]
        cells["orders"] = tuple(sorted(orders, key=lambda order: order.leaves))
    if random.random() < 0.1 and not in_water and age > 1:
        cells["in_water"] = NOW - timedelta(hours=random.randrange(1, 20))
    if random.random() < 0.1:
        cells |= {"surface": Surface.WET, "in_cooler": None} if age < 1 else {"surface": Surface.DRIED}
    elif random.random() < 0.1 and age > 2:
        since = NOW - timedelta(hours=random.randrange(1, 30))
        cells["moves"] = (Move(since=since, place="out", temperature_c=random.uniform(8, 22)),)
        if random.random() < 0.5:
            cells["moves"] += (Move(since=since + timedelta(hours=5), place="fridge"),)
    if random.random() < 0.1:
        found: Finding | Stage = random.choice([*Finding, Stage.TIGHT])
        cells["tested"] = (BunchTest(NOW.date() - random.randrange(0, 3) * DAY, found),)
    return cells


def _departure(random: Random, days: int) -> tuple[datetime, str]:
    use = random.choice(sorted(USES))
    day = NOW.date() + random.randrange(0, days) * DAY
    return datetime.combine(day, USES[use].leaves), use


def _order(random: Random, code: str, days: int) -> WrittenOrder:
    leaves, use = _departure(random, days)
    some = {
        "crops": frozenset({random.choice(SOLD)}),
        "varieties": frozenset({random.choice(VARIETIES).casefold()}),
        "colours": frozenset({random.choice(COLOURS)}),
    }
    words = {name: words for name, words in some.items() if random.random() < 0.5}
    amount = random.randrange(1, 13)
    wanted = {"bunches": amount} if random.random() < 0.5 else {"stems": amount * 10 + random.choice([0, 5])}
    return WrittenOrder(order_code=code, leaves=leaves, use=use, **words, **wanted)  # type: ignore[arg-type]


def with_kept(yard: Yard, allocation: Allocation) -> tuple[Lot, ...]:
    """The lots as their rows would be if every line were kept; what is gone uses up no line."""
    found = []
    for lot in yard.lots:
        old = [replace(order, stems=stems) for order, stems in still_to_serve(lot)]
        new = [
            Order(leaves=line.demand.leaves, stems=line.stems, use=line.demand.use)
            for line in allocation.lines
            if line.supply.lot.lot_code == lot.lot_code and not line.fixed
        ]
        orders = sorted((*old, *new), key=lambda order: order.leaves)
        stems = None if lot.stems is None else lot.stems - lot.gone
        found.append(replace(lot, stems=stems, gone=0, orders=tuple(orders)))
    return tuple(found)
