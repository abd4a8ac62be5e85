"""A small farm and its lots, to be changed one field at a time."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime, time, timedelta
from typing import Any

from tagmaker.farm import Cooler, Farm, Use, Workday
from tagmaker.lot import Lot, Order, Stage, StorageDates
from tagmaker.storage.crops import CropTable, crop_table
from tagmaker.storage.dating import date_lot

CROPS = crop_table()
NOW = datetime(2027, 3, 23, 8)  # a Tuesday
CUT = datetime(2027, 3, 22, 9)  # the day before
SATURDAY = 5


def celsius(fahrenheit: float) -> float:
    """°C of a temperature in °F."""
    return (fahrenheit - 32) / 1.8


USES = {
    "stall": Use(name="stall", vase_days=4, days=frozenset({SATURDAY}), leaves=time(6, 30)),
    "shop": Use(name="shop", vase_days=4, leaves=time(8)),
    "event": Use(name="event", vase_days=2, leaves=time(6, 30)),
    "table": Use(name="table", vase_days=2, leaves=time(8), open=True),
}
COOLERS = {"barn": Cooler(name="barn", set_point_c=celsius(36))}


def make_farm(**changes: Any) -> Farm:
    """A °F farm with Sundays off, four uses and one cooler set to 36 °F."""
    workday = Workday(days_off=frozenset({6}))
    farm = Farm(units="F", workday=workday, uses=USES, coolers=COOLERS)
    return replace(farm, **changes)


def trusted_at(fahrenheit: float) -> Farm:
    """The farm with a cooler that is known to hold a temperature, and no warmth from the field."""
    cooler = Cooler(name="barn", set_point_c=celsius(fahrenheit), trusted=True)
    return make_farm(coolers={"barn": cooler})


def make_lot(**changes: Any) -> Lot:
    """300 single tulips, cut tight on Monday 22 March, in the cooler two hours later."""
    cut = changes.get("cut", CUT)
    values: dict[str, Any] = {
        "lot_code": "041",
        "crop": "tulip",
        "form": "single" if changes.get("crop", "tulip") == "tulip" else "",
        "cut": cut,
        "stage": Stage.TIGHT,
        "stems": 300,
        "field_c": 15.0,
        "cooler": "barn",
        "in_cooler": cut + timedelta(hours=2),
        "use": "shop",
    }
    return Lot(**{**values, **changes})


def order(leaves: datetime, stems: int | None = None, use: str = "shop") -> Order:
    """An order that leaves at a moment; for the whole lot unless stems are given."""
    return Order(leaves=leaves, stems=stems, use=use)


def dated(
    farm: Farm | None = None, now: datetime = NOW, crops: CropTable = CROPS, **lot: Any
) -> StorageDates:
    """The dates of `make_lot(**lot)`."""
    return date_lot(make_lot(**lot), farm or make_farm(), crops, now)
