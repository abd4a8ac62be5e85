"""What is packed for a departure: which bunches of which lots, from where, in water by when, in which bucket.

Sheet, page and command set what is decided here. Lots are told in walking order: cooler by cooler as in the
settings, place by place.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from tagmaker.lot import Lot, Mark, StorageCode, StorageDates
from tagmaker.notes import Note
from tagmaker.storage.allocation import Allocation, Line, Shortfall
from tagmaker.storage.crops import Keeping
from tagmaker.storage.moments import quarter_after
from tagmaker.storage.promises import Demand, Wanted
from tagmaker.telling.agenda import Kind, Task, spot_at
from tagmaker.telling.deadlines import Water, WaterWord
from tagmaker.telling.order import Work, works
from tagmaker.telling.teller import Teller

_ROUNDING = 1e-9  # parts of a bucket that floating point makes a hair fuller


@dataclass(frozen=True, slots=True, kw_only=True)
class Take:
    """Bunches of a line that one buyer gets."""

    code: str  # of the order; "": promised of this lot alone, or for the outlet's own sale
    written: bool  # somebody ordered them
    bunches: int
    stems: int
    is_kept: bool  # the lot keeps them already
    why: Note  # why this lot


@dataclass(frozen=True, slots=True, kw_only=True)
class PackLine:
    """What is taken of one lot."""

    lot: Lot
    code: StorageCode  # how the stems stand
    cooler: str  # where they stand; "out"
    place: str
    bunches: int
    stems: int
    water: Water
    warm: datetime | None  # into the warm to open; None: they need not
    marks: tuple[Mark, ...]
    test_on: date | None  # day to open a bunch
    buckets: tuple[int, int]  # number of the first and of the last one that they leave in
    takes: tuple[Take, ...]

    @property
    def is_kept(self) -> bool:
        """Whether all of it is kept already."""
        return all(take.is_kept for take in self.takes)


@dataclass(frozen=True, slots=True, kw_only=True)
class PackedOrder:
    """A row of the Orders sheet that leaves with a departure."""

    demand: Demand
    bunches: int  # that it gets
    stems: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Packed:
    """A departure: everything that leaves for one outlet at one moment."""

    leaves: datetime
    use: str
    lines: tuple[PackLine, ...]  # in walking order
    works: tuple[Work, ...]  # what goes into water and into the warm for it, first things first
    orders: tuple[PackedOrder, ...]
    short: tuple[Shortfall, ...]
    buckets: int  # that all of it fills

    @property
    def bunches(self) -> int:
        """Bunches in all."""
        return sum(line.bunches for line in self.lines)

    @property
    def stems(self) -> int:
        """Stems in all."""
        return sum(line.stems for line in self.lines)

    @property
    def in_water(self) -> int:
        """Bunches that stand in water."""
        dry = (WaterWord.BY, WaterWord.NOW)
        return sum(line.bunches for line in self.lines if line.water.word not in dry)


def packed(
    allocation: Allocation,
    departures: Iterable[tuple[datetime, str]],
    dates_of: Mapping[str, StorageDates],
    teller: Teller,
    to_sell: Mapping[tuple[str, datetime, str], int],
) -> tuple[Packed, ...]:
    """What is packed for some departures, by moment and use.

    Args:
        allocation: which bunches go to whom
        departures: when and for which use
        dates_of: the lots' dates, by lot code
        teller: coolers, figures and the moment that is told
        to_sell: lot code, departure and use -> stems that are kept without an order
    """
    making = _Making(allocation, dates_of, teller, to_sell)
    return tuple(making.departure(leaves, use) for leaves, use in sorted(set(departures)))


@dataclass(frozen=True, slots=True)
class _Making:
    """What departures are made from."""

    allocation: Allocation
    dates_of: Mapping[str, StorageDates]
    teller: Teller
    to_sell: Mapping[tuple[str, datetime, str], int]

    def departure(self, leaves: datetime, use: str) -> Packed:
        """Everything that leaves for one use at one moment."""

        def is_here(demand: Demand) -> bool:
            return (demand.leaves, demand.use) == (leaves, use)

        by_lot: dict[str, list[Line]] = {}
        for line in self.allocation.lines:
            if is_here(line.demand):
                by_lot.setdefault(line.supply.lot.lot_code, []).append(line)
        walked = sorted(by_lot.values(), key=lambda lines: _walk(lines[0], self.teller))
        fills = [(lines[0].supply.keeping, sum(line.stems for line in lines)) for lines in walked]
        buckets = numbered_buckets(fills)
        lines = tuple(self.line(own, numbers) for own, numbers in zip(walked, buckets, strict=True))
        return Packed(
            leaves=leaves,
            use=use,
            lines=lines,
            works=works(_tasks(lines, use, leaves, self.teller), self.dates_of, self.teller.crops),
            orders=tuple(_orders(self.allocation, is_here)),
            short=tuple(short for short in self.allocation.shortfalls if is_here(short.demand)),
            buckets=max((last for _, last in buckets), default=0),
        )

    def line(self, lines: Sequence[Line], buckets: tuple[int, int]) -> PackLine:
        """What is taken of one lot, for all its buyers."""
        first = lines[0]
        serving, lot, teller = first.serving, first.supply.lot, self.teller
        return PackLine(
            lot=lot,
            code=first.supply.code,
            cooler=first.supply.cooler,
            place=spot_at(lot, teller.now),
            bunches=sum(line.bunches for line in lines),
            stems=sum(line.stems for line in lines),
            water=_water(first, self.dates_of.get(lot.lot_code), teller),
            warm=serving.stand_warm_from,
            marks=tuple(mark for mark in serving.marks if mark is not Mark.PUT_IN_WATER_NOW),
            test_on=serving.test_on,
            buckets=buckets,
            takes=tuple(take for line in lines for take in self.takes(line)),
        )

    def takes(self, line: Line) -> Iterator[Take]:
        """What one buyer gets of it; what is kept without an order apart from what was ordered."""
        demand, per_bunch = line.demand, line.supply.lot.per_bunch
        kept = self.to_sell.get((line.supply.lot.lot_code, demand.leaves, demand.use), 0)
        unordered = min(kept, line.stems) if demand.source is Wanted.NEEDED else 0
        ordered = line.stems - unordered
        bunches = line.bunches if not unordered else -(-ordered // per_bunch)
        if ordered:
            yield _take(line, bunches, ordered, written=demand.written)
        if unordered:
            yield _take(line, line.bunches - (bunches if ordered else 0), unordered, written=False)


def _take(line: Line, bunches: int, stems: int, *, written: bool) -> Take:
    return Take(
        code=line.demand.code,
        written=written,
        bunches=bunches,
        stems=stems,
        is_kept=line.fixed,
        why=line.why,
    )


def _walk(line: Line, teller: Teller) -> tuple[int, list[tuple[bool, int, str]], str]:
    """Sort key: the coolers as in the settings, what stands outside last; places as a reader counts them."""
    coolers, lot = list(teller.farm.coolers), line.supply.lot
    cooler = line.supply.cooler
    number = coolers.index(cooler) if cooler in coolers else len(coolers)
    return number, _counted(spot_at(lot, teller.now)), lot.lot_code


def _counted(text: str) -> list[tuple[bool, int, str]]:
    """A text as it is sorted: rack 2 before rack 10."""
    parts = re.findall(r"\d+|\D+", text.casefold())
    return [(part.isdigit(), int(part) if part.isdigit() else 0, part) for part in parts]


def numbered_buckets(parts: Sequence[tuple[Keeping, int]]) -> list[tuple[int, int]]:
    """Numbers of the first and the last bucket of each part, when they are filled one after another.

    A crop that never shares its water has buckets of its own.
    """
    fills: dict[str, float] = {}
    spans: list[tuple[str, float, float]] = []
    for keeping, stems in parts:
        alone = keeping.crop if keeping.own_bucket else ""
        begin = fills.get(alone, 0.0)
        fills[alone] = begin + stems / keeping.per_bucket
        spans.append((alone, begin, fills[alone]))
    base, before = 0, {}
    for alone, fill in fills.items():
        before[alone] = base
        base += math.ceil(fill - _ROUNDING)
    return [
        (
            before[alone] + math.floor(begin + _ROUNDING) + 1,
            before[alone] + max(math.ceil(end - _ROUNDING), math.floor(begin + _ROUNDING) + 1),
        )
        for alone, begin, end in spans
    ]


def _water(line: Line, dates: StorageDates | None, teller: Teller) -> Water:
    """What is said of water: it is theirs already, the hour by which, or now and when they are ready then."""
    by, now = line.serving.into_water_by, teller.now
    if by is None:
        ready = None if dates is None else dates.ready_from
        return (
            Water(WaterWord.READY_FROM, ready) if ready is not None and ready > now else Water(WaterWord.IN)
        )
    if by >= now:
        return Water(WaterWord.BY, by)
    return Water(WaterWord.NOW, quarter_after(now + timedelta(hours=line.serving.water_hours)))


def _tasks(lines: Iterable[PackLine], use: str, leaves: datetime, teller: Teller) -> Iterator[Task]:
    """What has to be done for a departure before it leaves."""

    def task(line: PackLine, by: datetime, kind: Kind, now: bool, ready: datetime | None = None) -> Task:
        return Task(
            by=by,
            kind=kind,
            lot=line.lot.lot_code,
            bunches=line.bunches,
            stems=line.stems,
            cooler=line.cooler,
            place=line.place,
            use=use,
            leaves=leaves,
            now=now,
            ready=ready,
        )

    for line in lines:
        water = line.water
        if water.word is WaterWord.BY and water.moment is not None:
            yield task(line, water.moment, Kind.INTO_WATER, now=False)
        if water.word is WaterWord.NOW:
            yield task(line, teller.now, Kind.INTO_WATER, now=True, ready=water.moment)
        if line.warm is not None:
            yield task(line, line.warm, Kind.INTO_THE_WARM, now=line.warm < teller.now)


def _orders(allocation: Allocation, is_here: Callable[[Demand], bool]) -> Iterator[PackedOrder]:
    """The orders of a departure, those that get nothing too, by code."""
    got: dict[str, PackedOrder] = {}
    demands = [line.demand for line in allocation.lines] + [short.demand for short in allocation.shortfalls]
    for demand in sorted(demands, key=lambda demand: demand.code):
        if demand.code and is_here(demand) and demand.code not in got:
            own = [line for line in allocation.lines if line.demand.code == demand.code]
            bunches, stems = sum(line.bunches for line in own), sum(line.stems for line in own)
            got[demand.code] = PackedOrder(demand=demand, bunches=bunches, stems=stems)
    yield from got.values()
