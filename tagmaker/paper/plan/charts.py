"""The room of a cooler over the weeks of a plan: crates and buckets a day, against what it takes."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import datetime, time
from typing import Any

from tagmaker.farm import Cooler
from tagmaker.paper.press.chart import Chart, DayName, Limit, Stack, round_ticks
from tagmaker.storage.moments import DAY
from tagmaker.storage.room import RoomDay
from tagmaker.telling.season_told import TEMPLATE
from tagmaker.telling.wording import Wording

SHARE_STEPS = (25, 50, 100, 200, 500, 1000, 2000, 5000, 10_000)  # [%] between two ticks
COUNT_STEPS = (1, 2, 5, 10, 20, 50, 100, 200, 500, 1000, 2000)  # containers between two ticks
MOST_STEPS = 5
FULL = 100.0  # [%]


def room_charts(cooler: Cooler, days: Sequence[RoomDay], wording: Wording) -> tuple[Chart, ...]:
    """The charts of a cooler: one where crates and buckets share its space, else one each.

    Args:
        cooler: with its room.
        days: the fullest moment of each day, in order; at least one.
        wording: the farm's words.
    """
    say = wording.macros(TEMPLATE)
    if cooler.shared and cooler.crates and cooler.buckets:
        return (_shares(cooler, days, say, wording),)
    if not cooler.crates and not cooler.buckets:
        head = f"{_head(cooler.name, days, say)}; {say.no_room_said()}"
        return (_counts(head, days, [(day.crates, day.buckets) for day in days], None, "", wording),)
    return tuple(_by_kind(cooler, days, say, wording))


def _head(name: str, days: Sequence[RoomDay], say: Any) -> str:
    """The cooler, and the fullest of its days."""
    peak = max(days, key=lambda day: (day.fill or 0.0, day.crates + day.buckets, -day.day.toordinal()))
    if not peak.crates and not peak.buckets:
        return f"{name}: {say.nothing_inside()}"
    return f"{name}, {say.most(crates=peak.crates, buckets=peak.buckets, day=peak.day)}"


def _shares(cooler: Cooler, days: Sequence[RoomDay], say: Any, wording: Wording) -> Chart:
    """Crates and buckets above one another, as shares of the room."""
    one_crate, one_bucket = (FULL / limit if limit else 0.0 for limit in (cooler.crates, cooler.buckets))
    parts = [(one_crate * day.crates, one_bucket * day.buckets) for day in days]
    top = max(FULL, *(sum(part) for part in parts))
    ticks = round_ticks(0, top * 1.01, SHARE_STEPS, MOST_STEPS)
    name = say.full(crates=cooler.crates, buckets=cooler.buckets, shared=True)
    return _chart(
        _head(cooler.name, days, say),
        days,
        parts,
        tuple((tick, say.percent(value=round(tick))) for tick in ticks),
        (Limit(FULL, above=True, name=name),),
        wording,
    )


def _by_kind(cooler: Cooler, days: Sequence[RoomDay], say: Any, wording: Wording) -> Iterator[Chart]:
    """Crates, and buckets, each in numbers of its own; a kind without a limit only where there are some."""
    kinds = (
        ("crates", cooler.crates, [(float(day.crates), 0.0) for day in days]),
        ("buckets", cooler.buckets, [(0.0, float(day.buckets)) for day in days]),
    )
    for kind, limit, parts in kinds:
        if limit is None and not any(sum(part) for part in parts):
            continue
        full = {
            "crates": limit if kind == "crates" else None,
            "buckets": limit if kind == "buckets" else None,
        }
        name = say.full(**full, shared=False) if limit else ""
        head = _head(say.chart_kind(cooler=cooler.name, kind=kind), days, say)
        yield _counts(head, days, parts, limit, name, wording)


def _counts(
    head: str,
    days: Sequence[RoomDay],
    parts: Sequence[tuple[float, float]],
    limit: float | None,
    name: str,
    wording: Wording,
) -> Chart:
    top = max(limit or 1.0, 1.0, *(sum(part) for part in parts))
    ticks = round_ticks(0, top * 1.01, COUNT_STEPS, MOST_STEPS)
    limits = (Limit(limit, above=True, name=name),) if limit is not None else ()
    named = tuple((tick, f"{tick:g}") for tick in ticks)
    return _chart(head, days, parts, named, limits, wording)


def _chart(
    head: str,
    days: Sequence[RoomDay],
    parts: Sequence[tuple[float, float]],
    ticks: tuple[tuple[float, str], ...],
    limits: tuple[Limit, ...],
    wording: Wording,
) -> Chart:
    starts = [datetime.combine(day.day, time()) for day in days]
    return Chart(
        head=head,
        start=starts[0],
        end=starts[-1] + DAY,
        ticks=ticks,
        days=tuple(
            DayName(start, start + DAY, (name := wording.day(start), name.rpartition(" ")[0]))
            for start in starts
        ),
        limits=limits,
        stacks=tuple(
            Stack(start, start + DAY, part) for start, part in zip(starts, parts, strict=True) if sum(part)
        ),
    )
