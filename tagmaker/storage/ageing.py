"""How fast stored flowers age.

The rate is a segmented Q10: 3.0 over the first ten degrees, then 2.5, 2.0 and 1.5. Storage life
used is the rate summed over the hours, divided by the life at 0 °C.

References:
    The Commercial Storage of Fruits, Vegetables, and Florist and Nursery Stocks, USDA Agriculture
    Handbook 66, respiratory metabolism, table of relative rates at 0 to 40 °C (a produce table;
    for flowers, Q10 = 3 over 0 to 10 °C was found in rose and gypsophila).
"""

from __future__ import annotations

import math
from collections.abc import Callable
from functools import lru_cache

Q10 = 3.0  # over 0 to 10 °C; the handbook's range there is 2.5 to 4.0
UPPER_Q10 = (2.5, 2.0, 1.5)  # over 10 to 20, 20 to 30 and 30 to 40 °C
HOTTEST_C = 40.0  # above it the stems count as lost
HOLD_C = (40 - 32) / 1.8  # 40 °F, where life is held when Q10 is varied (chosen: practice is given there)


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
    above_c = t_c
    for ratio in (q10, *UPPER_Q10):
        if above_c <= 0:
            break
        k *= ratio ** (min(above_c, 10.0) / 10)
        above_c -= 10
    return k


def vase_days(fresh_days: float, loss_days: float, used: float) -> float:
    """Vase life left after a stay: fresh − loss · used² (chosen shape).

    Args:
        fresh_days: vase life of fresh stems [d].
        loss_days: vase life lost over a full stay [d].
        used: share of the storage life used [-], 0 and up.

    >>> vase_days(6, 2.5, 0), vase_days(6, 2.5, 1)
    (6.0, 3.5)
    """
    return fresh_days - loss_days * used**2 if used else float(fresh_days)


Weigh = Callable[[float], float]  # a rate as a function of temperature [°C]


@lru_cache(maxsize=8)
def rate_with(q10: float) -> Weigh:
    """`rate` with another Q10, one function per value so that sums over a history are kept."""
    return lambda t_c: rate(t_c, q10)


def cautious_rate(t_c: float) -> float:
    """Rate relative to 40 °F, never under 1: published days are taken to hold up to 4.4 °C.

    >>> cautious_rate(0), cautious_rate(HOLD_C)
    (1.0, 1.0)
    """
    return max(rate(t_c) / rate(HOLD_C), 1.0)
