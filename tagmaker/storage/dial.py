"""What to change on a cooler's dial, for the crops that stand in it. Advice, never more."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from tagmaker.lot import StorageDates
from tagmaker.storage.ageing import rate
from tagmaker.storage.air import Air
from tagmaker.storage.climate import DIAL_MARGIN_C
from tagmaker.storage.crops import CropTable, Keeping

COLDEST_C = 0.0  # [°C] below it stems gain nothing, so no colder setting is advised
LEAST_LOGGED_DAYS = 1.0  # [d] a fridge must have shown its swing of a day (chosen)
STEPS_C = {"F": 1 / 1.8, "C": 0.5}  # [°C] of a dial: a degree Fahrenheit, half a degree Celsius (chosen)
ZEROS_C = {"F": -32 / 1.8, "C": 0.0}  # [°C] from which the steps are counted


@dataclass(frozen=True, slots=True)
class Tender:
    """A crop inside and the cold it bears."""

    keeping: Keeping
    limit_c: float  # [°C]
    chilled: bool  # a chilling limit; else the freezing point


@dataclass(frozen=True, slots=True)
class Gain:
    """Storage days of a crop, kept its way, at the present temperature and at the advised one."""

    keeping: Keeping
    days_now: float  # [d]
    days_then: float  # [d]

    @property
    def days(self) -> float:
        """Days gained [d], below 0 for days given up; those beyond the crop's cap do not count."""
        cap = self.keeping.cap_days
        return min(self.days_then, cap) - min(self.days_now, cap)


@dataclass(frozen=True, slots=True, kw_only=True)
class Dial:
    """The coldest setting that what is inside bears."""

    set_point_c: float  # [°C] of now
    set_c: float  # [°C] advised, on the dial's own steps
    lowest_c: float  # [°C] coldest reading of the last seven days
    tender: Tender  # whose limit it is, inside or to come
    gains: tuple[Gain, ...]  # per crop and way inside

    @property
    def change_c(self) -> float:
        """From the setting of now [°C], below 0 for colder; exactly 0 where it may stay."""
        change = self.set_c - self.set_point_c
        return change if abs(change) > 1e-6 else 0.0


def keepings_inside(dated: Sequence[StorageDates], crops: CropTable) -> tuple[Keeping, ...]:
    """The crops and ways of some lots, each once, in order."""
    found = (crops.keeping(lot.lot.crop, lot.lot.form, lot.kept) for lot in dated)
    return tuple(dict.fromkeys(keeping for keeping in found if keeping is not None))


def tenderest(inside: Sequence[Keeping]) -> tuple[Tender | None, Tender | None]:
    """The crop that freezes first, and the one with the warmest chilling limit, if any has one."""
    frost = max((Tender(k, k.freezes_c, False) for k in inside), key=lambda t: t.limit_c, default=None)
    chilled = (Tender(k, k.never_below_c, True) for k in inside if k.never_below_c is not None)
    return frost, max(chilled, key=lambda t: t.limit_c, default=None)


def dial_for(
    air: Air,
    lowest_c: float,
    limits: tuple[Tender | None, Tender | None],
    inside: Sequence[Keeping],
    units: str | None,
) -> Dial | None:
    """The coldest dial setting that keeps the coldest reading above a limit, with a margin.

    The swing is taken to stay as it was, so the whole cooler moves with its dial. The setting is rounded
    up to the dial's own steps; it is never colder than 0 °C, where nothing more is gained, nor itself
    below a freezing point. Less than a step colder is not worth a turn.

    Args:
        air: the cooler's air.
        lowest_c: the coldest reading of the last seven days [°C].
        limits: what freezes first and what is chilled first of all that is inside or to come (`tenderest`).
        inside: the crops and ways inside.
        units: of the dial, "F" or "C"; None: half degrees Celsius.
    """
    set_point = air.cooler.set_point_c
    frost = limits[0]
    if set_point is None or frost is None or air.recent_c is None or air.logged_days < LEAST_LOGGED_DAYS:
        return None
    tender = max((limit for limit in limits if limit is not None), key=lambda limit: limit.limit_c)
    exact = set_point + tender.limit_c + DIAL_MARGIN_C - lowest_c
    set_c = _on_the_dial(max(exact, min(COLDEST_C, set_point), frost.limit_c), units or "C")
    if 0 < set_point - set_c < STEPS_C[units or "C"] * (1 - 1e-6):
        set_c = set_point
    then_c = air.recent_c + set_c - set_point
    return Dial(
        set_point_c=set_point,
        set_c=set_c,
        lowest_c=lowest_c,
        tender=tender,
        gains=tuple(Gain(k, k.life_days / rate(air.recent_c), k.life_days / rate(then_c)) for k in inside),
    )


def _on_the_dial(t_c: float, units: str) -> float:
    """The first step of a dial that is no colder than a temperature [°C].

    >>> round(_on_the_dial(2.0, "F") * 1.8 + 32, 6), _on_the_dial(2.2, "C")
    (36.0, 2.5)
    """
    step, zero = STEPS_C[units], ZEROS_C[units]
    return math.ceil((t_c - zero) / step - 1e-6) * step + zero
