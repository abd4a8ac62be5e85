"""What temperature is usual for a cooler, from the days on which it was read."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date
from math import log
from statistics import median

from tagmaker.storage.ageing import Q10, UPPER_Q10, rate
from tagmaker.storage.climate import by_day
from tagmaker.storage.history import HOUR, Spell

USUAL_DAYS = 14  # [d] the latest read days, whose median is usual (chosen)
BROKEN_DAYS = 3  # [d] all warmer than that: the cooler has changed (chosen)
DAY_HOURS = 18.0  # [h] with readings that make a read day (chosen)


def temperature_at(k: float) -> float:
    """The constant temperature that ages stems k times as fast as 0 °C does [°C]: `rate` inverted.

    >>> [round(temperature_at(rate(t)), 9) for t in (-3, 0, 4.4, 10, 27, 40)]
    [0.0, 0.0, 4.4, 10.0, 27.0, 40.0]
    """
    t_c, remaining = 0.0, k
    for q10 in (Q10, *UPPER_Q10):
        if remaining <= q10:
            return t_c + 10 * log(max(remaining, 1.0), q10)
        t_c, remaining = t_c + 10, remaining / q10
    return t_c


def daily_equivalents(measured: Iterable[Spell]) -> tuple[float, ...]:
    """The constant temperature that ages stems as much as each read day did [°C], in order of day."""
    sums: dict[date, list[float]] = {}
    for spell in measured:
        for part in by_day(spell):
            day = sums.setdefault(part.start.date(), [0.0, 0.0])
            span = (part.end - part.start) / HOUR
            day[0] += span
            day[1] += span * rate(part.t_c)
    return tuple(temperature_at(aged / span) for span, aged in sums.values() if span >= DAY_HOURS)


def usual_c(equivalents: Sequence[float]) -> float:
    """What a cooler's read days come to [°C]: the median of the last 14, but no colder than the last 3.

    So one open door is not taken for the days to come, and a cooler that broke is. 0 of none.
    """
    if not equivalents:
        return 0.0
    return max(median(equivalents[-USUAL_DAYS:]), min(equivalents[-BROKEN_DAYS:]))
