"""The readings of all exports of one logger as one series: in order, each moment once, faults set aside.

Where one moment has two different readings the warmer counts. That is how the hour that comes twice
at the end of daylight saving is kept: the local clock has room for one of the two, and the warmer
never makes a date later than it should be.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import combinations, pairwise

from tagmaker.errors import InputProblems, Problem
from tagmaker.storage.readings import SetAside

# A change this large [°C] between two neighbours, and back within half an hour, is a fault: air of
# 22 °C beside a probe of 2 °C could not do it (chosen).
JUMP_C = 20.0
BACK_WITHIN = 30 * 60  # [s]
_CONFLICTS, _CONFLICT_SHARE = 120, 0.25  # two readings of one moment: two hours at one minute, and a quarter
_COMPARED = 20  # readings in which two exports overlap, from which they must agree (chosen)

Reading = tuple[int, float, float]  # [s since 1970], [°C], [%] or -1 where there is no humidity


@dataclass(frozen=True, slots=True)
class Part:
    """What one file holds."""

    where: str
    readings: Sequence[Reading]


def merge(parts: Sequence[Part], aside: Counter[str]) -> list[Reading]:
    """All readings in order of time; what is left out is counted in `aside`.

    The order of the rows and of the files, and how often a reading was exported, make no difference.

    Raises:
        InputProblems: the files are of more than one thermometer.
    """
    _check_overlaps(parts)
    readings = [reading for part in parts for reading in part.readings]
    readings.sort()
    kept = list(_one_a_moment(readings))
    conflicts = _conflicts(readings)
    if conflicts > max(_CONFLICTS, _CONFLICT_SHARE * len(kept)):
        where = " and ".join(part.where for part in parts[:2])
        got = f"two temperatures at {conflicts:,} of {len(kept):,} moments"
        what = f"must be the log of one thermometer (got {got})"
        remedy = (
            "Name the exports of one logger, or its probe with probe = …, under the cooler in tagmaker.toml."
        )
        raise InputProblems([Problem(where, what, remedy)])
    if conflicts:
        aside[SetAside.SAME_MOMENT] += conflicts
    return _without_jumps(kept, aside)


def _check_overlaps(parts: Sequence[Part]) -> None:
    """Refuse two files that cover the same hours with readings at other moments."""
    spans = [(min(p.readings)[0], max(p.readings)[0], p) for p in parts if p.readings]
    for (begin, end, one), (other_begin, other_end, other) in combinations(spans, 2):
        since, until = max(begin, other_begin), min(end, other_end)
        if since > until:
            continue
        moments = [{s for s, _, _ in part.readings if since <= s <= until} for part in (one, other)]
        fewer = min(map(len, moments))
        if fewer >= _COMPARED and 2 * len(moments[0] & moments[1]) < fewer:
            what = "must be exports of one logger (got two that cover the same days at other moments)"
            remedy = "Name the exports of one logger under each cooler in tagmaker.toml."
            raise InputProblems([Problem(f"{one.where} and {other.where}", what, remedy)])


def _one_a_moment(ordered: Sequence[Reading]) -> Iterator[Reading]:
    """The last reading of every moment: the warmest, and of these the one with humidity."""
    before: Reading | None = None
    for reading in ordered:
        if before is not None and reading[0] != before[0]:
            yield before
        before = reading
    if before is not None:
        yield before


def _conflicts(ordered: Sequence[Reading]) -> int:
    """How many readings differ in temperature from another one of their moment."""
    return sum(before[0] == after[0] and before[1] != after[1] for before, after in pairwise(ordered))


def _without_jumps(ordered: Sequence[Reading], aside: Counter[str]) -> list[Reading]:
    """The series without what jumps away from the last reading and is back within half an hour."""
    if all(abs(after[1] - before[1]) <= JUMP_C for before, after in pairwise(ordered)):
        return list(ordered)
    kept: list[Reading] = list(ordered[:1])
    index = 1
    while index < len(ordered):
        base = kept[-1]
        back = _back_at(ordered, index, base) if abs(ordered[index][1] - base[1]) > JUMP_C else index
        if back > index:
            aside[SetAside.JUMP] += back - index
        kept.append(ordered[back])
        index = back + 1
    return kept


def _back_at(ordered: Sequence[Reading], index: int, base: Reading) -> int:
    """Index of the first reading that is near the base again; `index` itself where none is in time."""
    for later in range(index, len(ordered)):
        if ordered[later][0] - base[0] > BACK_WITHIN:
            return index
        if abs(ordered[later][1] - base[1]) <= JUMP_C / 2:
            return later
    return index
