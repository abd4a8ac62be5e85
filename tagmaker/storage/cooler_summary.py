"""A cooler's own story: what it did, which lots it moved, and what to change on its dial.

Figures come from the plain readings, as cold and as warm as they were; only what the stems age by
(`Air`) takes nothing below 0 °C into account.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime

from tagmaker.farm import Cooler, Farm
from tagmaker.lot import Lot, StorageCode, StorageDates
from tagmaker.notes import Note
from tagmaker.storage.air import BRIDGED, RECENT_DAYS, Air, Gap, plain_spells
from tagmaker.storage.climate import ClimateDay, days_of
from tagmaker.storage.cooler_stretch import Stretch, stretch_of
from tagmaker.storage.crops import CropTable
from tagmaker.storage.dial import Dial, Tender, dial_for, keepings_inside, tenderest
from tagmaker.storage.history import Spell
from tagmaker.storage.moments import DAY
from tagmaker.storage.readings import Readings
from tagmaker.storage.remarks import about_readings
from tagmaker.storage.whereabouts import OUT, cooler_at, place_at

SHORT_DAYS = RECENT_DAYS  # [d] the week that stands for the days to come
LONG_DAYS = 28  # [d] most that a report looks back (chosen)


@dataclass(frozen=True, slots=True, kw_only=True)
class LotChange:
    """A lot in the cooler, dated by the readings and as it would be without any."""

    read: StorageDates
    assumed: StorageDates

    @property
    def days(self) -> int | None:
        """Days that the readings add to the sell-by, below 0 for days lost; None where one is missing."""
        if self.read.sell_by is None or self.assumed.sell_by is None:
            return None
        return (self.read.sell_by.date() - self.assumed.sell_by.date()).days

    @property
    def moved(self) -> bool:
        """Whether the readings give another sell-by, or give or take one."""
        return self.days != 0 and not (self.read.sell_by is None and self.assumed.sell_by is None)

    @property
    def lost(self) -> bool:
        """Whether the sell-by is earlier by the readings, or gone."""
        if self.days is None:
            return self.assumed.sell_by is not None
        return self.days < 0


@dataclass(frozen=True, slots=True)
class Look:
    """Lowest and highest temperature between two looks at the thermometer."""

    start: datetime
    end: datetime
    low_c: float  # [°C]
    high_c: float  # [°C]


Run = tuple[tuple[datetime, float], ...]  # readings without a gap: moment and value


@dataclass(frozen=True, slots=True, kw_only=True)
class CoolerSummary:
    """One cooler's story, as of now."""

    cooler: Cooler
    now: datetime
    counted_c: float  # [°C] counted from the end of the readings on; without any: always
    lots: tuple[LotChange, ...]  # that stand in it, those that lose most first
    frost: Tender | None  # the crop inside that freezes first; None: nothing is inside
    chill: Tender | None  # the one with the warmest chilling limit; None: none has any
    set_aside: Mapping[str, int]  # `SetAside` -> readings that do not count
    read_until: datetime | None = None  # end of what was read; None: nothing was
    by_hand: bool = False  # hand readings are among it
    week: Stretch | None = None  # the seven days before `read_until`
    month: Stretch | None = None  # the 28 days; None where no more than the week was read
    days: tuple[ClimateDay, ...] = ()  # up to 28 calendar days
    runs: tuple[Run, ...] = ()  # the logger's readings of the week [°C]
    looks: tuple[Look, ...] = ()  # those by hand of the week
    damp: tuple[Run, ...] = ()  # the week's relative humidity [%]
    gaps: tuple[Gap, ...] = ()  # of the 28 days
    dial: Dial | None = None  # None: no set point, too little read, or that too long ago
    notes: tuple[Note, ...] = ()  # what is to be known before its dates are trusted

    @property
    def tender(self) -> Tender | None:
        """The crop inside with the warmest limit; None: nothing is inside."""
        limits = [limit for limit in (self.chill, self.frost) if limit is not None]
        return max(limits, key=lambda limit: limit.limit_c, default=None)


def summarise(
    air: Air,
    readings: Readings | None,
    dated: Sequence[StorageDates],
    assumed: Sequence[StorageDates],
    crops: CropTable,
    farm: Farm,
    now: datetime,
) -> CoolerSummary:
    """What is to be told about one cooler.

    Args:
        air: the cooler's air by everything that was read.
        readings: of its logger; None: there are none.
        dated: all lots, dated by the readings of all coolers.
        assumed: the same lots in the same order, dated as if nothing had been read anywhere.
        crops: lives and limits of what is inside.
        farm: the units, for the dial's steps.
        now: the moment asked about.
    """
    lots = [
        LotChange(read=read, assumed=without)
        for read, without in zip(dated, assumed, strict=True)
        if _stands_in(read, air.cooler, now)
    ]
    inside = keepings_inside([lot.read for lot in lots], crops)
    frost, chill = tenderest(inside)
    story = CoolerSummary(
        cooler=air.cooler,
        now=now,
        counted_c=air.after_c,
        lots=tuple(sorted(lots, key=_most_lost_first)),
        frost=frost,
        chill=chill,
        set_aside=dict(readings.set_aside) if readings is not None else {},
    )
    if not air.spells:
        return story
    until = air.spells[-1].end
    week_ago, month_ago = until - SHORT_DAYS * DAY, until - LONG_DAYS * DAY
    month = plain_spells(readings, air.looks, month_ago)
    recent = plain_spells(readings, air.looks, week_ago)
    week = stretch_of(recent, air.looks, readings, frost, chill)
    expected = [lot for lot in dated if _comes_to(lot.lot, air.cooler, farm, now)]
    limits = (
        tenderest(keepings_inside([*(lot.read for lot in lots), *expected], crops)) if lots else (None, None)
    )
    return replace(
        story,
        read_until=until,
        by_hand=air.by_hand,
        week=week,
        month=stretch_of(month, air.looks, readings, frost, chill) if month[0].start < week_ago else None,
        days=days_of(month)[-LONG_DAYS:],
        runs=_runs(readings, readings.t_c, week_ago) if readings is not None else (),
        looks=_looks(air.looks, week_ago),
        damp=_runs(readings, readings.rh, week_ago) if readings is not None and readings.rh else (),
        gaps=tuple(gap for gap in air.gaps if gap.end > month_ago),
        dial=dial_for(air, week.low_c, limits, inside, farm.units)
        if now - until <= SHORT_DAYS * DAY
        else None,
        notes=tuple(about_readings(air, now, _matters_since(lots, week_ago))),
    )


def _matters_since(lots: Sequence[LotChange], week_ago: datetime) -> datetime:
    """Since when a power cut matters: in the week expected to go on, or to a lot that stood through it."""
    went_in = [lot.read.lot.in_cooler for lot in lots]
    return min(moment for moment in (*went_in, week_ago) if moment is not None)


def _stands_in(dated: StorageDates, cooler: Cooler, now: datetime) -> bool:
    """Whether a lot has stems that stand in a cooler, or go in today: wet ones and soaking ones may not."""
    lot = dated.lot
    if place_at(lot, now) != cooler.name or lot.in_cooler is None or (lot.left is not None and lot.left <= 0):
        return False
    soaks = lot.in_water is not None and dated.kept is not StorageCode.WATER
    return cooler.soak_inside or not soaks


def _comes_to(lot: Lot, cooler: Cooler, farm: Farm, now: datetime) -> bool:
    """Whether stems that are left will stand in a cooler: not yet in, on their way, or out on a trip."""
    if lot.left is not None and lot.left <= 0:
        return False
    if lot.in_cooler is None or lot.in_cooler > now:
        return lot.cooler == cooler.name
    moves_in = any(move.place == cooler.name and move.since > now for move in lot.moves)
    return moves_in or (place_at(lot, now) == OUT and cooler_at(lot, farm, now) == cooler)


def _most_lost_first(lot: LotChange) -> tuple[bool, bool, int, datetime, str]:
    """Sort key: the lost, the gained, the unmoved; of those the most days; of those the earliest sell-by."""
    sell_by = lot.read.sell_by or datetime.max
    return not lot.moved, not lot.lost, -abs(lot.days or 0), sell_by, lot.read.lot.lot_code


def _runs(readings: Readings, values: Sequence[float | None], since: datetime) -> tuple[Run, ...]:
    """Readings from a moment on, cut where one is missing or the next is too far away to be bridged."""
    runs: list[list[tuple[datetime, float]]] = [[]]
    for moment, value in zip(readings.moments, values, strict=True):
        if moment < since:
            continue
        if runs[-1] and (value is None or moment - runs[-1][-1][0] > BRIDGED):
            runs.append([])
        if value is not None:
            runs[-1].append((moment, value))
    return tuple(tuple(run) for run in runs if run)


def _looks(spells: Sequence[Spell], since: datetime) -> tuple[Look, ...]:
    """Hand readings as they were written down, out of the turns of LOW and then HIGH."""
    turns = [spell for spell in spells if spell.end > since]
    found: list[Look] = []
    at = 0
    while at + 1 < len(turns):
        low, high = turns[at : at + 2]
        if low.end != high.start or low.t_c > high.t_c:  # a turn without its other half
            at += 1
            continue
        last = found[-1] if found else None
        if last and (last.end, last.low_c, last.high_c) == (low.start, low.t_c, high.t_c):
            found[-1] = replace(last, end=high.end)
        else:
            found.append(Look(low.start, high.end, low.t_c, high.t_c))
        at += 2
    return tuple(found)
