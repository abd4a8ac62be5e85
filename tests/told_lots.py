"""Lots of March 2027 whose dates are given, not computed, for tests of what is told about them."""

from datetime import datetime, time, timedelta
from typing import Any

from tagmaker import notes
from tagmaker.farm import Cooler, Farm, Use, Workday
from tagmaker.lot import (
    Lot,
    OrderDates,
    Stage,
    State,
    StorageCode,
    StorageDates,
    Verdict,
)
from tagmaker.storage.crops import crop_table

NOW = datetime(2027, 3, 22, 10)  # a Monday
CROPS = crop_table()
SATURDAY = frozenset({5})
SUNDAY = frozenset({6})
FARM = Farm(
    workday=Workday(days_off=SUNDAY),
    uses={
        "shop": Use(name="shop", vase_days=4, leaves=time(8)),
        "stall": Use(name="stall", vase_days=4, days=SATURDAY, leaves=time(6, 30)),
        "table": Use(name="table", vase_days=2, days=SATURDAY, leaves=time(6, 30), open=True),
    },
    coolers={
        "barn": Cooler(name="barn", set_point_c=2.0),
        "porch": Cooler(name="porch", set_point_c=4.0),
    },
)


def at(day: int, hour: int = 8, minute: int = 0) -> datetime:
    """A moment of March 2027; the 22nd is a Monday, days past the 31st run on into April."""
    return datetime(2027, 3, 1, hour, minute) + timedelta(days=day - 1)


def a_lot(**changes: Any) -> Lot:
    """A lot of twelve bunches of tulips in the barn."""
    values: dict[str, Any] = {
        "lot_code": "401",
        "crop": "tulip",
        "form": "single",
        "cut": at(15, 9),
        "stage": Stage.TIGHT,
        "stems": 120,
        "field_c": 15.0,
        "cooler": "barn",
        "in_cooler": at(15, 11),
        "use": "shop",
    }
    return Lot(**{**values, **changes})


def dates(lot: Lot | None = None, **changes: Any) -> StorageDates:
    """The lot kept dry, to go into water on Friday the 26th by 18:00 and to be sold by Saturday at 8:00."""
    values: dict[str, Any] = {
        "lot": lot or a_lot(),
        "code": StorageCode.DRY,
        "kept": StorageCode.DRY,
        "state": State.KEEP,
        "sell_by": at(27),
        "into_water_by": at(26, 18),
        "water_now": False,
        "ready_from": None,
        "stand_warm_from": None,
        "out_by": None,
        "tag_order": None,
        "test_first": False,
        "tests_on": (),
        "life_used": 0.3,
        "vase_days": (4.0, 6.0),
        "early": at(26),
        "late": at(29),
        "cautious_sell_by": None,
        "orders": (),
        "dated_for_c": 5.0,
        "why": notes.WhyWet(lot="041"),
        "why_into_water": None,
        "warnings": (),
    }
    return StorageDates(**{**values, **changes})


def standing_in_water(lot: Lot | None = None, **changes: Any) -> StorageDates:
    """The lot cut and in water from the start."""
    wet = {"code": StorageCode.WATER, "kept": StorageCode.WATER, "into_water_by": None}
    return dates(lot, **{**wet, **changes})


def an_order(leaves: datetime, stems: int | None, **changes: Any) -> OrderDates:
    """An order the lot can serve."""
    values: dict[str, Any] = {
        "leaves": leaves,
        "stems": stems,
        "use": "shop",
        "verdict": Verdict.USABLE,
        "test_first": False,
        "test_on": None,
        "into_water_by": None,
        "stand_warm_from": None,
    }
    return OrderDates(**{**values, **changes})
