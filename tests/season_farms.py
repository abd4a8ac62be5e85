"""Farms with lots, plans, orders and outlets, to be planned."""

from __future__ import annotations

import random
from collections.abc import Sequence
from dataclasses import replace
from datetime import datetime, time, timedelta
from typing import Any

from tagmaker.desk.season_planning import PlannedSeason, plan_season
from tagmaker.farm import Cooler, Farm, Use
from tagmaker.lot import Lot, Stage, StorageCode
from tagmaker.storage.air import assumed_airs
from tagmaker.storage.dating import date_lots
from tagmaker.storage.demand import WrittenOrder
from tagmaker.storage.season_ground import Ground
from tests.farms import CROPS, celsius, make_farm, make_lot, order

NOW = datetime(2027, 4, 12, 9)  # a Monday
FRIDAY = 4


def shop(stems: int = 400, **more: Any) -> Use:
    """An outlet that sells every Friday at eight."""
    values = {"name": "shop", "vase_days": 5, "days": frozenset({FRIDAY}), "leaves": time(8), "stems": stems}
    return Use(**{**values, **more})


def a_cooler(name: str = "barn", fahrenheit: float = 36, **more: Any) -> Cooler:
    """A cooler that is known to hold its temperature."""
    return Cooler(name=name, set_point_c=celsius(fahrenheit), **{"trusted": True, **more})


def farm_of(*uses: Use, coolers: Sequence[Cooler] = (a_cooler(),)) -> Farm:
    """A farm with some outlets and coolers."""
    return make_farm(uses={use.name: use for use in uses}, coolers={each.name: each for each in coolers})


def planned(days: int, code: str = "201", stems: int = 1000, **more: Any) -> Lot:
    """Single tulips to be cut in some days; everything of them is undecided."""
    cut = datetime.combine(NOW.date() + timedelta(days=days), time(8))
    plan = {"in_cooler": None, "planned": True, "plan_written": True, "stage": None}
    return make_lot(lot_code=code, cut=cut, stems=stems, **{**plan, **more})


def cut_before(days: int, code: str = "101", stems: int = 300, **more: Any) -> Lot:
    """Single tulips that were cut some days ago."""
    return make_lot(lot_code=code, cut=NOW - timedelta(days=days), stems=stems, **more)


def ground(farm: Farm, lots: Sequence[Lot], orders: Sequence[WrittenOrder] = (), **more: Any) -> Ground:
    """What a plan of a farm is made from."""
    airs = more.pop("airs", assumed_airs(farm))
    return Ground(
        lots=lots,
        dated=date_lots(lots, farm, CROPS, NOW, airs),
        orders=orders,
        kept=(),
        farm=farm,
        crops=CROPS,
        airs=airs,
        now=NOW,
        **more,
    )


def plan_of(
    farm: Farm, lots: Sequence[Lot], orders: Sequence[WrittenOrder] = (), **more: Any
) -> PlannedSeason:
    """The plan of a farm."""
    return plan_season(ground(farm, lots, orders, **more))


def random_ground(
    seed: int, lots: int = 4, plans: int = 3, orders: int = 3, coolers: Sequence[str] = ("barn", "south")
) -> Ground:
    """An invented farm: outlets, coolers, lots, plans and orders by chance."""
    chance = random.Random(seed)
    uses = [
        shop(stems=chance.randrange(50, 600)),
        Use(
            name="stall",
            vase_days=4,
            days=frozenset({5}),
            leaves=time(6, 30),
            stems=chance.randrange(50, 400),
        ),
        Use(name="hall", vase_days=2, leaves=time(10), must=chance.random() < 0.5),
        Use(
            name="feast",
            vase_days=3,
            days=frozenset(),
            dates=frozenset({(NOW + timedelta(days=chance.randrange(3, 40))).date() for _ in range(2)}),
            leaves=time(7),
            stems=chance.choice([None, 300]),
        ),
        Use(name="table", vase_days=2, days=frozenset({FRIDAY}), leaves=time(15), open=True, stems=80),
    ]
    boxes = [
        a_cooler(
            name,
            chance.choice([33, 36, 39, 41]),
            trusted=chance.random() < 0.6,
            crates=chance.choice([None, 3, 8, 20]),
            buckets=chance.choice([None, 2, 6, 15]),
            shared=chance.random() < 0.7,
            soak_inside=chance.random() < 0.8,
        )
        for name in coolers
    ]
    farm = farm_of(*uses, coolers=boxes)
    found = [_random_lot(chance, f"1{number:03}", farm) for number in range(lots)]
    found += [_random_plan(chance, f"2{number:03}", farm) for number in range(plans)]
    rows = [_random_order(chance, f"W{number}", farm) for number in range(orders)]
    return ground(farm, found, rows)


def _random_crop(chance: random.Random) -> dict[str, Any]:
    crop = chance.choice(["tulip", "tulip", "tulip", "peony", "ranunculus"])
    forms = CROPS.forms(crop)
    return {"crop": crop, "form": chance.choice(forms) if forms else ""}


def _random_needed(chance: random.Random, farm: Farm, stems: int) -> tuple[Any, ...]:
    if chance.random() < 0.7:
        return ()
    leaves = datetime.combine((NOW + timedelta(days=chance.randrange(1, 20))).date(), time(11))
    return (order(leaves, chance.choice([None, stems // 3 + 1]), chance.choice(list(farm.uses))),)


def _random_lot(chance: random.Random, code: str, farm: Farm) -> Lot:
    stems = chance.randrange(20, 500)
    lot = cut_before(
        chance.randrange(0, 20),
        code,
        stems,
        per_bunch=chance.choice([5, 10, 12]),
        cooler=chance.choice(list(farm.coolers)),
        use=chance.choice(list(farm.uses)),
        gone=chance.choice([0, 0, stems // 4]),
        orders=_random_needed(chance, farm, stems),
        **_random_crop(chance),
    )
    codes = {way.code for way in CROPS.ways(lot.crop, lot.form)}
    ways: list[StorageCode | None] = [None]
    ways += [code for code in (StorageCode.WATER,) if code in codes]
    bulb = StorageCode.BULB in codes and chance.random() < 0.3
    stage = chance.choice([Stage.TIGHT, Stage.HALF, None]) if lot.crop == "tulip" else None
    return replace(lot, bulb=bulb, storage=None if bulb else chance.choice(ways), stage=stage)


def _random_plan(chance: random.Random, code: str, farm: Farm) -> Lot:
    stems = chance.randrange(50, 2000)
    return planned(
        chance.randrange(0, 30),
        code,
        stems,
        per_bunch=chance.choice([5, 10, 12]),
        cooler=chance.choice(list(farm.coolers)),
        use=chance.choice(list(farm.uses)),
        orders=_random_needed(chance, farm, stems),
        **_random_crop(chance),
    )


def _random_order(chance: random.Random, code: str, farm: Farm) -> WrittenOrder:
    leaves = datetime.combine((NOW + timedelta(days=chance.randrange(1, 35))).date(), time(9))
    crops = chance.choice([frozenset[str](), frozenset({"tulip"})])
    in_stems = chance.random() < 0.5
    return WrittenOrder(
        order_code=code,
        leaves=leaves,
        use=chance.choice(list(farm.uses)),
        crops=crops,
        stems=chance.randrange(5, 300) if in_stems else None,
        bunches=None if in_stems else chance.randrange(1, 30),
    )
