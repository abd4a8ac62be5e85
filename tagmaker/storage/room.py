"""Room in the coolers, day by day: crates and buckets against what a cooler takes."""

from __future__ import annotations

import math
from bisect import bisect_left
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time
from itertools import groupby
from typing import NamedTuple

from tagmaker import notes
from tagmaker.farm import Cooler, Farm
from tagmaker.lot import StorageDates
from tagmaker.storage.crops import CropTable, Keeping
from tagmaker.storage.moments import DAY
from tagmaker.storage.standing import Pile, Stand, stands_by_cooler

ROOM_DAYS = 42  # [d] how far room is looked at (chosen: the longest that anything is stored)
_ROUNDING = 1e-9  # full crates that floating point makes a hair fuller are still full crates


@dataclass(frozen=True, slots=True, kw_only=True)
class RoomDay:
    """The fullest moment of a cooler's day."""

    cooler: str
    day: date
    crates: int
    buckets: int
    fill: float | None  # share of the room taken; None: the cooler's room is not known
    overflow: tuple[str, ...]  # lot codes to move or sell first, in selling order


@dataclass(frozen=True, slots=True, kw_only=True)
class Overfull:
    """A run of days on which a cooler has less room than its lots need."""

    cooler: str
    first: date
    last: date
    crates: int  # too many at the fullest moment; what is left over then in buckets
    buckets: int
    throw_out: tuple[str, ...]  # lots too old that are to go first, if that is a part of what makes room
    sell: tuple[str, ...]  # lots promised to nobody whose sale makes room, in selling order; or none
    move: tuple[str, ...]  # else: lots that make room elsewhere, promised ones too; or none
    plans: tuple[str, ...]  # planned lots that stand in it in these days


def room(
    dates: Sequence[StorageDates],
    farm: Farm,
    crops: CropTable,
    now: datetime,
    days: int = ROOM_DAYS,
    planned: Sequence[StorageDates] = (),
) -> tuple[RoomDay, ...]:
    """The room that every cooler needs on each of some days from today; earlier hours are over.

    Stems are pooled by container, each crop by its own stems per crate and bucket, and rounded up
    once; crops that never share water have their buckets apart.

    Args:
        dates: the lots that are cut.
        farm: the coolers.
        crops: stems per crate and bucket.
        now: local time of the farm.
        days: how many, today the first.
        planned: cuts to come, as they would stand (`planning.as_planned`).
    """
    stands = stands_by_cooler(dates, planned, farm, crops, now)
    return tuple(
        day for cooler in farm.coolers.values() for day in _room_days(cooler, stands[cooler.name], now, days)
    )


def overfull(
    dates: Sequence[StorageDates],
    farm: Farm,
    crops: CropTable,
    now: datetime,
    days: int = ROOM_DAYS,
    planned: Sequence[StorageDates] = (),
) -> tuple[Overfull, ...]:
    """Each run of days on which a cooler has too little room, and which lots sold first would make it.

    Args: as of `room`.
    """
    stands = stands_by_cooler(dates, planned, farm, crops, now)
    found = []
    for cooler in farm.coolers.values():
        inside = stands[cooler.name]
        peaks = list(_peaks(cooler, inside, now, days))
        is_over = [_is_over(cooler, peak) for peak in peaks]
        for over, group in groupby(range(days), key=is_over.__getitem__):
            if over:
                run = list(group)
                start = max(datetime.combine(now.date() + run[0] * DAY, time()), now)
                found.append(_run(cooler, inside, start, [peaks[ahead] for ahead in run]))
    return tuple(found)


# ---- how much they fill


class _Peak(NamedTuple):
    """The fullest moment of a day, the first of those that are alike."""

    moment: datetime
    crates: int
    buckets: int


def _room_days(cooler: Cooler, stands: Sequence[Stand], now: datetime, days: int) -> Iterator[RoomDay]:
    for ahead, peak in enumerate(_peaks(cooler, stands, now, days)):
        fill = _fill(cooler, peak.crates, peak.buckets)[0]
        over = [s for s in stands if s.start <= peak.moment < s.end] if _is_over(cooler, peak) else []
        yield RoomDay(
            cooler=cooler.name,
            day=now.date() + ahead * DAY,
            crates=peak.crates,
            buckets=peak.buckets,
            fill=fill,
            overflow=_to_move(cooler, over),
        )


def _peaks(cooler: Cooler, stands: Sequence[Stand], now: datetime, days: int) -> Iterator[_Peak]:
    """The peak of each of some days from now on."""
    changes = sorted(
        [(stand.start, stand.pile, stand.stems) for stand in stands]
        + [(stand.end, stand.pile, -stand.stems) for stand in stands],
        key=lambda change: change[0],
    )
    load: Counter[Pile] = Counter()
    at = 0
    for ahead in range(days):
        midnight = datetime.combine(now.date() + ahead * DAY, time())
        moment, fullest, peak = max(midnight, now), -1.0, _Peak(midnight, 0, 0)
        while moment < midnight + DAY:
            while at < len(changes) and changes[at][0] <= moment:
                load[changes[at][1]] += changes[at][2]
                at += 1
            crates, buckets = _containers(load)
            rank = _fill(cooler, crates, buckets)[1]
            if rank > fullest:
                fullest, peak = rank, _Peak(moment, crates, buckets)
            moment = changes[at][0] if at < len(changes) else datetime.max
        yield peak


def _is_over(cooler: Cooler, peak: _Peak) -> bool:
    return (_fill(cooler, peak.crates, peak.buckets)[0] or 0.0) > 1 + _ROUNDING


def _containers(load: Mapping[Pile, int]) -> tuple[int, int]:
    """Crates and buckets that are needed."""
    crates = sum(stems / pile.per for pile, stems in load.items() if not pile.bucket)
    return math.ceil(crates - _ROUNDING), _whole(
        (pile.alone, stems / pile.per) for pile, stems in load.items() if pile.bucket
    )


def whole_buckets(parts: Iterable[tuple[Keeping, float]]) -> int:
    """Buckets that parts of a bucket add up to over the crops, rounded up once.

    A crop that never shares its water is rounded up by itself.
    """
    return _whole((keeping.crop if keeping.own_bucket else "", part) for keeping, part in parts)


def _whole(parts: Iterable[tuple[str, float]]) -> int:
    shared: dict[str, float] = {}
    for alone, part in parts:
        shared[alone] = shared.get(alone, 0.0) + part
    return sum(math.ceil(part - _ROUNDING) for part in shared.values())


def _fill(cooler: Cooler, crates: int, buckets: int) -> tuple[float | None, float]:
    """The share of a cooler's room that is taken, and what to rank moments by where it is not known."""
    parts = [
        count / limit
        for count, limit in ((crates, cooler.crates), (buckets, cooler.buckets))
        if limit is not None
    ]
    if not parts:
        return None, float(crates + buckets)
    fill = sum(parts) if cooler.shared else max(parts)
    return fill, fill


# ---- what makes room


def _to_move(cooler: Cooler, inside: Sequence[Stand]) -> tuple[str, ...]:
    """The lots to move or sell of those inside, the first to sell first, until the rest fits."""
    load: Counter[Pile] = Counter()
    of_lot: dict[str, list[Stand]] = {}
    for stand in sorted(inside, key=_selling_order):
        load[stand.pile] += stand.stems
        of_lot.setdefault(stand.code, []).append(stand)
    moved: list[str] = []
    for code, stands in of_lot.items():
        if (_fill(cooler, *_containers(load))[0] or 0.0) <= 1 + _ROUNDING:
            break
        moved.append(code)
        for stand in stands:
            load[stand.pile] -= stand.stems
    return tuple(moved)


def _selling_order(stand: Stand) -> tuple[bool, datetime, str]:
    """What is too old is to go first."""
    return not stand.waste, stand.sell_by, stand.code


def _codes(stands: Iterable[Stand]) -> tuple[str, ...]:
    """The lots of some stands, the first to sell first."""
    return tuple(dict.fromkeys(stand.code for stand in sorted(stands, key=_selling_order)))


def _run(cooler: Cooler, stands: Sequence[Stand], start: datetime, run: Sequence[_Peak]) -> Overfull:
    """A run of over-full days from a moment on, and what would make room in all of it."""
    fullest = max(run, key=lambda peak: _fill(cooler, peak.crates, peak.buckets)[1])
    last = start.date() + (len(run) - 1) * DAY
    inside = [stand for stand in stands if stand.end > start and stand.start.date() <= last]
    away = _fewest(cooler, inside, [stand for stand in inside if stand.spare], start, len(run))
    waste = {stand.code for stand in inside if stand.waste}
    cut = [stand for stand in inside if not stand.planned]
    crates, buckets = _too_many(cooler, fullest.crates, fullest.buckets)
    return Overfull(
        cooler=cooler.name,
        first=start.date(),
        last=last,
        crates=crates,
        buckets=buckets,
        throw_out=tuple(code for code in away if code in waste),
        sell=tuple(code for code in away if code not in waste),
        move=() if away else _fewest(cooler, inside, cut, start, len(run)),
        plans=_codes(stand for stand in inside if stand.planned),
    )


def _fewest(
    cooler: Cooler, inside: Sequence[Stand], candidates: Sequence[Stand], start: datetime, days: int
) -> tuple[str, ...]:
    """The fewest of some lots, in selling order, without which the rest fits; none where it does not."""
    codes = _codes(candidates)

    def fits_without(count: int) -> bool:
        away = set(codes[:count])
        gone = {id(stand) for stand in candidates if stand.code in away}
        kept = [stand for stand in inside if id(stand) not in gone]
        return not any(_is_over(cooler, peak) for peak in _peaks(cooler, kept, start, days))

    if not fits_without(len(codes)):
        return ()
    return codes[: bisect_left(range(len(codes)), True, key=fits_without)]


def _too_many(cooler: Cooler, crates: int, buckets: int) -> tuple[int, int]:
    """How many crates have to go, and then how many buckets, until the rest fits.

    >>> fridge = Cooler(name="fridge", crates=3, buckets=2)
    >>> _too_many(fridge, 2, 1), _too_many(fridge, 1, 4)
    ((1, 0), (1, 2))
    """
    most_buckets = buckets if cooler.buckets is None else math.floor(cooler.buckets + _ROUNDING)
    over_buckets = max(buckets - most_buckets, 0)
    if cooler.crates is None:
        return 0, over_buckets
    taken = 0.0 if cooler.buckets is None or not cooler.shared else buckets / cooler.buckets
    most_crates = math.floor(max(1 - taken, 0.0) * cooler.crates + _ROUNDING)
    return max(crates - most_crates, 0), over_buckets


def fits_until(dates: StorageDates, days: Sequence[RoomDay], now: datetime) -> notes.FitsUntil | None:
    """On the day of the cut: until when the lot's cooler has room, if it will be over-full."""
    lot = dates.lot
    if lot.cut.date() != now.date():
        return None
    full = min((day.day for day in days if day.cooler == lot.cooler and day.overflow), default=None)
    if full is None or full == now.date() or dates.sell_by is None or full > dates.sell_by.date():
        return None
    return notes.FitsUntil(cooler=lot.cooler, last=full - DAY)
