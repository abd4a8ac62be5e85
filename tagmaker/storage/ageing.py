"""How fast stored flowers age, and the temperatures that the stems of a lot lived through.

The rate is a segmented Q10: 3.0 over the first ten degrees, then 2.5, 2.0 and 1.5. Storage life
used is the rate summed over the hours, divided by the life at 0 °C.

References:
    The Commercial Storage of Fruits, Vegetables, and Florist and Nursery Stocks, USDA Agriculture
    Handbook 66, respiratory metabolism, table of relative rates at 0 to 40 °C (a produce table;
    for flowers, Q10 = 3 over 0 to 10 °C was found in rose and gypsophila).
"""

from __future__ import annotations

import math
from bisect import bisect_right
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from functools import lru_cache
from itertools import accumulate, zip_longest

Q10 = 3.0  # over 0 to 10 °C; the handbook's range there is 2.5 to 4.0
UPPER_Q10 = (2.5, 2.0, 1.5)  # over 10 to 20, 20 to 30 and 30 to 40 °C
HOTTEST_C = 40.0  # above it the stems count as lost
HOLD_C = (40 - 32) / 1.8  # 40 °F, where life is held when Q10 is varied (chosen: practice is given there)
SETTLED = timedelta(days=3)  # after which a last stay has cooled or warmed through
STEP = timedelta(minutes=15)  # cooling is followed in steps of bench time


@lru_cache(maxsize=1 << 16)  # lots of one day cool through the same temperatures
def rate(t_c: float, q10: float = Q10) -> float:
    """How many times as fast stems age at a temperature as at 0 °C.

    k = q10^(T/10) up to 10 °C, then times 2.5, 2.0 and 1.5 for each further ten degrees.
    Below 0 °C no credit is given; above 40 °C the stems are lost.

    Args:
        t_c: temperature of the stems [°C].
        q10: ratio of the rates at 10 and 0 °C [-].

    Returns:
        Relative rate [-]; exactly 1, 3, 7.5, 15 and 22.5 at 0, 10, 20, 30 and 40 °C.

    Raises:
        ValueError: the temperature is not a number.

    >>> [round(rate(t), 3) for t in (-5, 0, 4, 10, 20, 30, 40, 41)]
    [1.0, 1.0, 1.552, 3.0, 7.5, 15.0, 22.5, inf]
    """
    if math.isnan(t_c):
        raise ValueError("a temperature must be a number (got nan)")
    if t_c > HOTTEST_C:
        return math.inf
    k = 1.0
    for decade, ratio in enumerate((q10, *UPPER_Q10)):
        k *= ratio ** (min(max(t_c - 10 * decade, 0.0), 10.0) / 10)
    return k


def vase_days(fresh_days: float, loss_days: float, used: float) -> float:
    """Vase life left after a stay: fresh − loss · used² (chosen shape, see the README).

    Args:
        fresh_days: vase life of fresh stems [d].
        loss_days: vase life lost over a full stay [d].
        used: share of the storage life used [-], 0 and up.

    >>> vase_days(6, 2.5, 0), vase_days(6, 2.5, 1)
    (6.0, 3.5)
    """
    return fresh_days - loss_days * used**2 if used else float(fresh_days)


@dataclass(frozen=True, slots=True)
class Spell:
    """A stretch of time at one temperature."""

    start: datetime
    end: datetime
    t_c: float  # [°C]


# The temperature of a place over a stretch of time, as spells that follow each other without a gap.
Ambient = Callable[[datetime, datetime], Iterable[Spell]]


def constant(t_c: float) -> Ambient:
    """A place that stays at one temperature [°C]."""
    return lambda start, end: (Spell(start, end, t_c),)


class TemperatureHistory:
    """What the stems lived through from the cut on, in spells of one temperature each.

    The last spell goes on for ever: what is not known yet is taken to stay as it was.
    """

    def __init__(self, spells: Sequence[Spell]) -> None:
        if not spells:
            raise ValueError("a history must have a spell")
        self.spells = tuple(spells)
        self._starts = [spell.start for spell in spells]
        self._aged: dict[Callable[[float], float], tuple[float, ...]] = {}  # sums at each spell's start

    @property
    def start(self) -> datetime:
        """The moment of the cut."""
        return self._starts[0]

    def temperature(self, moment: datetime) -> float:
        """Temperature of the stems at a moment [°C]."""
        return self.spells[max(bisect_right(self._starts, moment) - 1, 0)].t_c

    def aged_days(self, until: datetime, weigh: Callable[[float], float] = rate) -> float:
        """Days at 0 °C that would age the stems as much as the time from the cut until a moment.

        Args:
            until: the moment; before the cut it is 0.
            weigh: rate as a function of temperature [°C].

        Returns:
            Equivalent days at 0 °C [d]. It never falls as time goes on.
        """
        if until <= self.start:
            return 0.0
        sums = self._sums(weigh)
        index = bisect_right(self._starts, until) - 1
        spell = self.spells[index]
        return sums[index] + _days(until - spell.start) * weigh(spell.t_c)

    def _sums(self, weigh: Callable[[float], float]) -> tuple[float, ...]:
        if weigh not in self._aged:
            parts = (_days(spell.end - spell.start) * weigh(spell.t_c) for spell in self.spells[:-1])
            self._aged[weigh] = tuple(accumulate(parts, initial=0.0))
        return self._aged[weigh]


def _days(span: timedelta) -> float:
    return span / timedelta(days=1)


@dataclass(frozen=True, slots=True)
class Stay:
    """A lot in one place from a moment on."""

    since: datetime
    ambient: Ambient


def follow(stays: Sequence[Stay], half_cooling_h: float, until: datetime) -> TemperatureHistory:
    """The temperature of stems that are taken from place to place.

    In each place T = place + (T at arrival − place) · 2^(−hours / half_cooling), the standard
    measure of how produce cools; the first place is the field, where the stems are as warm as it.

    Args:
        stays: places in order of time; the first begins at the cut.
        half_cooling_h: time in which the difference to the place halves [h].
        until: how far the places' temperatures are asked for; the last one then stays.
    """
    spells: list[Spell] = []
    arrival_c: float | None = None
    for stay, following in zip_longest(stays, stays[1:]):
        end = following.since if following else max(until, stay.since + SETTLED)
        if end <= stay.since:  # carried straight on: as warm as the first place, or as they came
            if arrival_c is None:
                arrival_c = next(iter(stay.ambient(stay.since, stay.since + STEP))).t_c
            continue
        places = tuple(stay.ambient(stay.since, end))
        for place in places:
            spells += _cooled(place, stay.since, arrival_c, half_cooling_h)
        last_c, hours = places[-1].t_c, (end - stay.since) / timedelta(hours=1)
        left_c = 0.0 if arrival_c is None else (arrival_c - last_c) * 2 ** (-hours / half_cooling_h)
        arrival_c = last_c + left_c
    return TemperatureHistory(spells)


NEAR_ENOUGH_C = 0.005  # [°C] a difference under which cooling is over: less than any thermometer shows


def _cooled(place: Spell, since: datetime, arrival_c: float | None, half_cooling_h: float) -> Iterable[Spell]:
    """The stems' spells during one spell of the place they stand in."""
    moment = place.start
    while arrival_c is not None and moment < place.end:
        end = min(moment + STEP, place.end)
        middle_h = (moment + (end - moment) / 2 - since) / timedelta(hours=1)
        difference = (arrival_c - place.t_c) * 2 ** (-middle_h / half_cooling_h)
        if abs(difference) < NEAR_ENOUGH_C:
            break
        yield Spell(moment, end, place.t_c + difference)
        moment = end
    if moment < place.end:
        yield Spell(moment, place.end, place.t_c)


@lru_cache(maxsize=8)
def rate_with(q10: float) -> Callable[[float], float]:
    """`rate` with another Q10, one function per value so that sums over a history are kept."""
    return lambda t_c: rate(t_c, q10)


def cautious_rate(t_c: float) -> float:
    """Rate relative to 40 °F, never under 1: published days are taken to hold up to 4.4 °C.

    >>> cautious_rate(0), cautious_rate(HOLD_C)
    (1.0, 1.0)
    """
    return max(rate(t_c) / rate(HOLD_C), 1.0)
