"""A small cooler and its readings, for the tests of what is told about it."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import replace
from datetime import datetime, timedelta

from tagmaker.farm import Farm
from tagmaker.lot import Lot
from tagmaker.storage.air import assumed_airs, read_air
from tagmaker.storage.cooler_summary import CoolerSummary, summarise
from tagmaker.storage.dating import date_lots
from tagmaker.storage.readings import HandReading, Readings
from tests.farms import CROPS, celsius, make_farm, make_lot

NOW = datetime(2027, 4, 1, 9)
HOUR = timedelta(hours=1)
DAY = timedelta(days=1)


def logged(
    t_c: Callable[[datetime], float] | float,
    days: float = 7,
    step: timedelta = 15 * timedelta(minutes=1),
    until: datetime = NOW,
    rh: Callable[[datetime], float | None] | None = None,
    without: tuple[datetime, datetime] | None = None,
) -> Readings:
    """Readings of the barn at even steps up to a moment, perhaps with a hole."""
    count = round(days * DAY / step)
    moments = tuple(until - (count - n) * step for n in range(count + 1))
    if without is not None:
        moments = tuple(moment for moment in moments if not without[0] < moment < without[1])
    return Readings(
        cooler="barn",
        moments=moments,
        t_c=tuple(t_c(moment) if callable(t_c) else t_c for moment in moments),
        rh=tuple(rh(moment) for moment in moments) if rh is not None else (),
    )


def swinging(moment: datetime) -> float:
    """A fridge between 36 and 40 °F [°C]."""
    return celsius(38 + 2 * math.sin(moment.hour / 24 * 2 * math.pi))


def broken_door(moment: datetime) -> float:
    """The same fridge, its door open for the night to Monday 29 March [°C]."""
    return 18.0 if datetime(2027, 3, 28, 21) < moment < datetime(2027, 3, 29, 6) else swinging(moment)


def by_hand(low_c: float, high_c: float, days: int = 7, until: datetime = NOW) -> tuple[HandReading, ...]:
    """Two looks a day at the barn's thermometer."""
    looks = (until - n * 12 * HOUR for n in range(2 * days, -1, -1))
    return tuple(HandReading(cooler="barn", moment=look, low_c=low_c, high_c=high_c) for look in looks)


def story(
    readings: Readings | None = None,
    lots: Sequence[Lot] = (make_lot(),),
    hands: Sequence[HandReading] = (),
    farm: Farm | None = None,
    now: datetime = NOW,
) -> CoolerSummary:
    """What is told about the barn, from its readings and the farm's lots."""
    farm = farm or make_farm()
    airs = {**assumed_airs(farm), "barn": read_air(farm.coolers["barn"], readings, hands)}
    dated = date_lots(lots, farm, CROPS, now, airs)
    assumed = date_lots(lots, farm, CROPS, now, assumed_airs(farm))
    return summarise(airs["barn"], readings, dated, assumed, CROPS, farm, now)


def barn_set_to(set_point_c: float | None, units: str | None = "F") -> Farm:
    """The farm with another set point [°C]."""
    farm = make_farm(units=units)
    return replace(farm, coolers={"barn": replace(farm.coolers["barn"], set_point_c=set_point_c)})
