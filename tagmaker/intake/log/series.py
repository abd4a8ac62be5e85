"""The readings of all exports of one logger as one series: in order, each moment once, faults set aside.

Where one moment has two different readings the warmer counts. That is how the hour that comes twice
at the end of daylight saving is kept: the local clock has room for one of the two, and the warmer
never makes a date later than it should be.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations
from typing import TYPE_CHECKING

from tagmaker.errors import InputProblems, Problem
from tagmaker.intake.log.units import JUMP_C, RUNS_TO_C
from tagmaker.storage.ageing import HOTTEST_C
from tagmaker.storage.readings import SetAside

if TYPE_CHECKING:
    from pandas import DataFrame

BACK_WITHIN = 30 * 60  # [s] in which a leap has to be back to count as a fault (chosen)
_CONFLICTS, _CONFLICT_SHARE = 120, 0.25  # two readings of one moment: two hours at one minute, and a quarter
_COMPARED = 20  # readings in which two exports overlap, from which they must agree (chosen)


@dataclass(frozen=True, slots=True)
class Part:
    """What one file holds: columns moment [s since 1970], t_c [°C] and rh [%], NaN without humidity."""

    where: str
    readings: DataFrame


def one_series(parts: Sequence[Part], aside: Counter[str]) -> DataFrame:
    """All readings in order of time; what is left out is counted in `aside`.

    The order of the rows and of the files, and how often a reading was exported, make no difference.

    Raises:
        InputProblems: the files are of more than one thermometer.
    """
    import pandas as pd

    _check_overlaps(parts)
    columns = ["moment", "t_c", "rh"]
    readings = pd.concat([part.readings for part in parts]) if parts else pd.DataFrame(columns=columns)
    if (readings["moment"].diff().iloc[1:] > 0).all():
        return _without_faults(readings, aside)  # most logs: nothing to sort
    readings = readings.sort_values(columns, na_position="first", ignore_index=True)
    same = readings["moment"].diff() == 0
    conflicts = int((same & (readings["t_c"].diff() != 0)).sum())
    kept = readings.drop_duplicates("moment", keep="last")
    if conflicts > max(_CONFLICTS, _CONFLICT_SHARE * len(kept)):
        where = " and ".join(part.where for part in parts[:2])
        got = f"two temperatures at {conflicts:,} of {len(kept):,} moments"
        what = f"must be the log of one thermometer (got {got})"
        remedy = "Name the exports of one logger, or its probe, in the settings of the cooler."
        raise InputProblems([Problem(where, what, remedy)])
    aside[SetAside.SAME_MOMENT] += conflicts
    return _without_faults(kept, aside)


def _check_overlaps(parts: Sequence[Part]) -> None:
    """Refuse two files that cover the same hours with readings at other moments."""
    import numpy as np

    filled = [part for part in parts if len(part.readings)] if len(parts) > 1 else []
    spans = [(part.where, part.readings["moment"].unique()) for part in filled]
    for (one, moments), (other, others) in combinations(spans, 2):
        since, until = max(moments.min(), others.min()), min(moments.max(), others.max())
        within = [of_one[(of_one >= since) & (of_one <= until)] for of_one in (moments, others)]
        fewer = min(map(len, within))
        if fewer >= _COMPARED and 2 * np.isin(*within).sum() < fewer:
            what = "must be exports of one logger (got two that cover the same days at other moments)"
            remedy = "Name the exports of one logger in the settings of each cooler."
            raise InputProblems([Problem(f"{one} and {other}", what, remedy)])


def _without_faults(ordered: DataFrame, aside: Counter[str]) -> DataFrame:
    """The series without what jumps away and is back within half an hour, and without lone hot readings."""
    kept = ordered
    if (ordered["t_c"].diff().abs() > JUMP_C).any():
        kept = ordered.iloc[_kept(ordered["moment"].tolist(), ordered["t_c"].tolist())]
        aside[SetAside.JUMP] += len(ordered) - len(kept)
    cool = kept["t_c"] <= RUNS_TO_C
    lone = (kept["t_c"] > HOTTEST_C) & cool.shift(1, fill_value=False) & cool.shift(-1, fill_value=False)
    aside[SetAside.LONE_HEAT] += int(lone.sum())
    return kept[~lone]


def _kept(moments: Sequence[int], t_c: Sequence[float]) -> list[int]:
    """The readings that do not jump away from the last one and are back within half an hour."""
    kept = [0] if moments else []
    index = 1
    while index < len(t_c):
        base = kept[-1]
        if abs(t_c[index] - t_c[base]) > JUMP_C:
            index = _back_at(moments, t_c, index, base)
        kept.append(index)
        index += 1
    return kept


def _back_at(moments: Sequence[int], t_c: Sequence[float], index: int, base: int) -> int:
    """Index of the first reading that is near the base again; `index` itself where none is in time."""
    for later in range(index, len(moments)):
        if moments[later] - moments[base] > BACK_WITHIN:
            return index
        if abs(t_c[later] - t_c[base]) <= JUMP_C / 2:
            return later
    return index
