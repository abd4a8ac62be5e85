"""The air of a cooler over time, as it counts for the stems in it.

Readings count wherever there are any. Before and after them the cooler counts at what is usual for it
(see `usual`) or at its dial, and in gaps at the warmer side: see `_gap`.
"""

from __future__ import annotations

import math
from bisect import bisect_left, bisect_right
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import datetime, timedelta
from itertools import pairwise

from tagmaker.farm import Cooler, Farm
from tagmaker.storage.ageing import rate
from tagmaker.storage.climate import mean_c
from tagmaker.storage.history import Spell, Track, hours, track_of
from tagmaker.storage.moments import DAY
from tagmaker.storage.readings import HandReading, Readings
from tagmaker.storage.usual import daily_equivalents, temperature_at, usual_c

UNMEASURED_C = 5.0  # [°C] least that is counted for a cooler without readings (chosen)
BRIDGED = timedelta(hours=2)  # neighbours this near are joined (chosen)
POWER_CUT = timedelta(hours=6)  # a longer gap is taken for a power cut: the logger stops too (chosen)
POWER_CUT_C = 10.0  # [°C] least that counts in one (chosen)
RECENT_DAYS = 7  # [d] that a cooler's summary is made of
KNOWN_DAYS = 7  # [d] read before they stand for the days to come (chosen)
HALF_KNOWN_DAYS = 3  # [d] read before they are heard at all (chosen)
HAND_STEP = timedelta(minutes=30)  # between two looks, LOW and HIGH take turns of this length (chosen)


@dataclass(frozen=True, slots=True)
class Gap:
    """A stretch without readings that is too long to be bridged."""

    start: datetime
    end: datetime
    counted_c: float  # [°C]

    @property
    def power_cut(self) -> bool:
        """Whether it is taken for one."""
        return self.end - self.start > POWER_CUT


@dataclass(frozen=True, slots=True, kw_only=True)
class Air:
    """A cooler's air: what was measured, then what is expected."""

    cooler: Cooler
    measured: tuple[Spell, ...] = ()  # readings and bridges between them, in order
    spells: tuple[Spell, ...] = ()  # measured, with the gaps between filled, without holes
    gaps: tuple[Gap, ...] = ()
    before_c: float  # [°C] counted before the first reading
    after_c: float  # [°C] counted after the last one
    usual_c: float | None = None  # [°C] what its read days came to; None: not one was read
    read_days: int = 0  # days with readings for 18 h or more
    readings: Readings | None = None  # of the logger
    coldest_c: float = math.inf  # [°C] of them
    hottest_c: float = -math.inf  # [°C] of them
    recent_c: float | None = None  # [°C] equivalent of the last seven logged days
    recent_mean_c: float | None = None  # [°C] their plain mean
    logged_days: float = 0.0  # [d]
    last_reading: datetime | None = None  # of the logger
    looks: tuple[Spell, ...] = ()  # what was read by hand, where the logger has none
    written: tuple[HandReading, ...] = ()  # all that was read by hand, in order
    tracks: dict[tuple[float, float], Track] = field(
        default_factory=dict, init=False, compare=False, repr=False
    )

    @property
    def by_hand(self) -> bool:
        """Whether hand readings are among the measured ones."""
        return bool(self.looks)

    def track(self, least_c: float = -math.inf, shift_c: float = 0.0) -> Track:
        """The air as a track, made once.

        Args:
            least_c: the air counts at no less [°C].
            shift_c: by which what was not read is varied [°C]; gaps apart.
        """
        if (least_c, shift_c) not in self.tracks:
            gaps = {gap.start for gap in self.gaps}
            spells = (
                (spell, spell.start in gaps, _edge_c(spell.start, spell, self.readings))
                for spell in self.spells
            )
            self.tracks[least_c, shift_c] = track_of(
                self.before_c,
                spells,
                self.after_c,
                least_c,
                shift_c,
                self.track(least_c) if shift_c else None,
            )
        return self.tracks[least_c, shift_c]

    def as_of(self, moment: datetime) -> Air:
        """The air as it was known at a moment, from what had been read by then."""
        if not self.spells or self.spells[-1].end <= moment:
            return self
        measured = (
            tuple(_clipped(self.measured, datetime.min, moment)) if self.spells[0].start < moment else ()
        )
        return _air_of(self.cooler, measured, self.looks, self.readings)

    def counts_as(self, start: datetime, end: datetime) -> float:
        """The constant temperature that ages stems as much as a stretch of time [°C]."""
        track, first, last = self.track(), hours(start), hours(end)
        return temperature_at((track.total(rate, last) - track.total(rate, first)) / (last - first))


Airs = Mapping[str, Air]  # by cooler name


def counted_c(cooler: Cooler) -> float:
    """The temperature that counts for a cooler where nothing was logged [°C], never below 0 °C.

    A set point is not a measurement: unless the cooler is trusted, 5 °C (41 °F) is counted at the
    least, where growers' fridges run (39 to 41 °F: common practice, no source).
    """
    if cooler.set_point_c is None:
        return UNMEASURED_C
    return max(cooler.set_point_c, 0.0 if cooler.trusted else UNMEASURED_C)


def assumed_airs(farm: Farm) -> dict[str, Air]:
    """The air of every cooler where nothing was read."""
    return {name: assumed_air(cooler) for name, cooler in farm.coolers.items()}


def assumed_air(cooler: Cooler) -> Air:
    """The air of a cooler without readings."""
    return Air(cooler=cooler, before_c=counted_c(cooler), after_c=counted_c(cooler))


def read_air(cooler: Cooler, readings: Readings | None, by_hand: Sequence[HandReading] = ()) -> Air:
    """The air of a cooler from its logger and from what was read by hand.

    Up to two hours between readings are bridged. Up to six count as the warmer of the neighbours
    and the set point. More is taken for a power cut: 10 °C or the warmer neighbour. Hand readings
    serve where the logger has none: between two looks, half the time counts at LOW, half at HIGH.
    Seven read days stand for the time to come, three are heard where they are warmer than the dial.
    """
    written = tuple(sorted(by_hand, key=lambda reading: reading.moment))
    logged = _bridged(readings) if readings is not None else []
    looks = tuple(spell for spell in _hand_spells(written) for spell in _outside(spell, logged))
    measured = tuple(sorted([*logged, *looks], key=lambda spell: spell.start))
    if not measured:
        return replace(assumed_air(cooler), written=written)
    since = measured[-1].end - RECENT_DAYS * DAY
    return replace(
        _air_of(cooler, measured, looks, readings),
        readings=readings,
        coldest_c=min(readings.t_c) if readings is not None else math.inf,
        hottest_c=max(readings.t_c) if readings is not None else -math.inf,
        recent_c=equivalent_c(_clipped(measured, since, measured[-1].end)),
        recent_mean_c=mean_c(plain_spells(readings, looks, since)),
        last_reading=readings.moments[-1] if readings is not None else None,
        written=written,
    )


def _air_of(
    cooler: Cooler, measured: Sequence[Spell], looks: Sequence[Spell], readings: Readings | None
) -> Air:
    """The air of a cooler from what was measured in it, in order of time."""
    if not measured:
        return assumed_air(cooler)
    gaps = tuple(
        _gap(one, next_, cooler, readings) for one, next_ in pairwise(measured) if next_.start > one.end
    )
    filled = (*measured, *(Spell(gap.start, gap.end, gap.counted_c) for gap in gaps))
    equivalents = daily_equivalents(measured)
    usual = usual_c(equivalents)
    careful_c = max(counted_c(cooler), usual)
    unread_c = careful_c if len(equivalents) >= HALF_KNOWN_DAYS else counted_c(cooler)
    return Air(
        cooler=cooler,
        measured=tuple(measured),
        spells=tuple(sorted(filled, key=lambda spell: spell.start)),
        gaps=gaps,
        before_c=unread_c,
        after_c=usual if len(equivalents) >= KNOWN_DAYS else unread_c,
        usual_c=usual if equivalents else None,
        read_days=len(equivalents),
        logged_days=sum((spell.end - spell.start for spell in measured), timedelta()) / DAY,
        looks=tuple(looks),
    )


def equivalent_c(spells: Iterable[Spell]) -> float:
    """The constant temperature that ages stems as much as some spells do [°C]; 0 and up."""
    aged = length = 0.0
    for spell in spells:
        seconds = (spell.end - spell.start).total_seconds()
        aged += seconds * rate(spell.t_c)
        length += seconds
    return temperature_at(aged / length) if length else 0.0


def _bridged(readings: Readings) -> list[Spell]:
    """Readings as spells: between two of them stems age as the mean of both rates.

    Readings closer than a quarter hour are taken together, quarter hour by quarter hour, so that a
    year of minutes is no slower than a year of quarters; the ageing of each stays the same.
    """
    rates = [rate(t_c) for t_c in readings.t_c]
    result: list[Spell] = []
    aged = 0.0
    start: datetime | None = None
    moments = readings.moments
    for index in range(len(moments) - 1):
        here, there = moments[index], moments[index + 1]
        joined = there - here <= BRIDGED
        if joined:
            start = here if start is None else start
            aged += (there - here).total_seconds() * (rates[index] + rates[index + 1]) / 2
        if start is not None and (
            not joined or _quarter(there) > _quarter(start) or index == len(moments) - 2
        ):
            end = there if joined else here
            if end > start:
                result.append(Spell(start, end, temperature_at(aged / (end - start).total_seconds())))
            start, aged = None, 0.0
    return result


def plain_spells(
    readings: Readings | None, looks: Sequence[Spell] = (), since: datetime = datetime.min
) -> tuple[Spell, ...]:
    """What was read from a moment on, as cold and as warm as it was, in order of time.

    Each reading stands for half the way to its neighbours, so that minima, means and hours come
    out of the readings themselves; what `Air.measured` holds is made for ageing, never below 0 °C.

    Args:
        readings: of the logger; None: there is none.
        looks: read by hand, outside the logger's time: `Air.looks`.
        since: what was read before it is left out.
    """
    spells = [] if readings is None else list(_halfway(readings, bisect_left(readings.moments, since)))
    spells += _clipped(looks, since, datetime.max)
    return tuple(sorted(spells, key=lambda spell: spell.start))


def _halfway(readings: Readings, first: int) -> Iterator[Spell]:
    """A spell for each reading from an index on, from halfway to its neighbours; gaps stay open."""
    moments, t_c = readings.moments, readings.t_c
    start = moments[first] if first < len(moments) else datetime.max
    for index in range(first, len(moments)):
        here = moments[index]
        there = moments[index + 1] if index + 1 < len(moments) else None
        joined = there is not None and there - here <= BRIDGED
        end = here + (there - here) / 2 if there is not None and joined else here
        if end > start:
            yield Spell(start, end, t_c[index])
        start = end if joined else there or end


def _quarter(moment: datetime) -> int:
    """The number of quarter hours gone by at a moment, counted from some fixed one."""
    return moment.toordinal() * 96 + moment.hour * 4 + moment.minute // 15


def _gap(before: Spell, after: Spell, cooler: Cooler, readings: Readings | None) -> Gap:
    """What counts between two measured spells that are too far apart to be bridged."""
    warmer_c = max(_edge_c(before.end, before, readings), _edge_c(after.start, after, readings))
    if after.start - before.end > POWER_CUT:
        return Gap(before.end, after.start, max(warmer_c, POWER_CUT_C))
    set_c = cooler.set_point_c
    return Gap(before.end, after.start, warmer_c if set_c is None else max(warmer_c, set_c))


def _edge_c(moment: datetime, spell: Spell, readings: Readings | None) -> float:
    """The reading at the edge of a spell [°C]; its own temperature where the logger has none."""
    index = bisect_left(readings.moments, moment) if readings is not None else 0
    if readings is None or index == len(readings.moments) or readings.moments[index] != moment:
        return spell.t_c
    return readings.t_c[index]


def _hand_spells(by_hand: Sequence[HandReading]) -> Iterator[Spell]:
    """In order of time: between two looks LOW and HIGH of the later one take turns, half the time each."""
    for before, look in pairwise(by_hand):
        turns = max(round((look.moment - before.moment) / (2 * HAND_STEP)), 1)
        step = (look.moment - before.moment) / (2 * turns)
        for turn in range(2 * turns):
            start = before.moment + turn * step
            end = look.moment if turn == 2 * turns - 1 else start + step
            yield Spell(start, end, look.high_c if turn % 2 else look.low_c)


def _outside(spell: Spell, others: Sequence[Spell]) -> Iterator[Spell]:
    """The parts of a spell that no other spell covers."""
    start = spell.start
    for other in _clipped(others, spell.start, spell.end):
        if other.start > start:
            yield Spell(start, other.start, spell.t_c)
        start = other.end
    if start < spell.end:
        yield Spell(start, spell.end, spell.t_c)


def _clipped(spells: Sequence[Spell], start: datetime, end: datetime) -> Iterator[Spell]:
    """The spells between two moments, cut off at both."""
    first = max(bisect_right(spells, start, key=lambda spell: spell.start) - 1, 0)
    for spell in spells[first:]:
        if spell.start >= end:
            return
        if spell.end > start:
            yield Spell(max(spell.start, start), min(spell.end, end), spell.t_c)
