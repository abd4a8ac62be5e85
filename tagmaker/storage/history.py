"""The temperatures that the stems of a lot live through, and what they add up to.

Time is counted in hours since a fixed moment. A track is the temperature of one place, in spells that
follow each other without a gap; a history goes from track to track as a lot is carried about, with the
spells of cooling or warming between. Tracks are shared by the lots of a cooler, so that their sums are
added up once.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from itertools import accumulate, pairwise, zip_longest
from math import inf, log2

from tagmaker.storage.ageing import HOTTEST_C, Weigh

EPOCH = datetime(2000, 1, 1)
HOUR = timedelta(hours=1)
STEP_H = 0.25  # [h] cooling is followed in steps of bench time, or longer ones while it is slow
STEP_C = 0.1  # [°C] that the stems change over such a longer step at most (chosen: 1e-4 of the ageing)
SAME_C = 1e-9  # [°C] what floating point makes of equal temperatures
NEAR_ENOUGH_C = 0.005  # [°C] a difference under which cooling is over: less than any thermometer shows
SETTLED_HALVINGS = 12  # after which any difference is that small


def hours(moment: datetime) -> float:
    """Hours since the fixed moment from which all time is counted [h]."""
    return (moment - EPOCH) / HOUR


def moment_of(at: float) -> datetime:
    """The moment that lies some hours after the fixed one."""
    return EPOCH + at * HOUR


@dataclass(frozen=True, slots=True)
class Spell:
    """A stretch of time at one temperature."""

    start: datetime
    end: datetime
    t_c: float  # [°C]


class Piece:
    """A spell of a track, in hours; the last one of a track has no end."""

    __slots__ = ("end", "gap", "start", "start_c", "t_c")

    def __init__(
        self, start: float, end: float, t_c: float, gap: bool = False, start_c: float | None = None
    ) -> None:
        self.start = start  # [h]
        self.end = end  # [h]
        self.t_c = t_c  # [°C] that ages stems as much as the spell, never above 40
        self.gap = gap  # nothing was read in it for more than two hours
        self.start_c = t_c if start_c is None else start_c  # [°C] read where it begins

    def goes_on(self, following: Piece) -> bool:
        """Whether the next piece is but more of the same."""
        known = (following.t_c, following.start_c, self.start_c)
        return following.gap == self.gap and all(abs(t_c - self.t_c) < SAME_C for t_c in known)


class Track:
    """The temperature of one place over time.

    Args:
        pieces: that follow each other; the last goes on for ever, and before the first it is as warm
            as in the first.
        as_read: the same place with other counts for what was not read; but for the first and the last
            piece the two are alike.
    """

    def __init__(self, pieces: Sequence[Piece], as_read: Track | None = None) -> None:
        self.pieces = pieces
        self._as_read = as_read
        self._starts = [piece.start for piece in pieces]
        self._sums: dict[Weigh, tuple[tuple[float, ...], tuple[float, ...]]] = {}
        self._settling: dict[tuple[float, float, float, float], Track | None] = {}
        self._warm: tuple[Piece, ...] | None = None
        self._warm_limit = inf

    def index(self, at: float) -> int:
        """Number of the piece that a moment [h] lies in."""
        return max(bisect_right(self._starts, at) - 1, 0)

    def temperature(self, at: float) -> float:
        """Temperature at a moment [h], of two that meet there the later [°C]."""
        return self.pieces[self.index(at)].t_c

    def reads(self, at: float) -> float:
        """What a thermometer shows at a moment [h]: straight from one spell's beginning to the next [°C]."""
        index = self.index(at)
        here = self.pieces[index]
        if index + 1 == len(self.pieces):
            return here.start_c
        if here.start_c == here.t_c:
            return here.t_c
        share = (at - here.start) / (here.end - here.start)
        return here.start_c + share * (self.pieces[index + 1].start_c - here.start_c)

    def between(self, start: float, end: float) -> Iterator[Piece]:
        """The pieces from one moment to another [h], cut off at both."""
        for piece in self.pieces[self.index(start) :]:
            if piece.start >= end:
                return
            yield Piece(max(piece.start, start), min(piece.end, end), piece.t_c, piece.gap)

    def warmer(self, limit_c: float, start: float, end: float) -> Iterator[Piece]:
        """Those of them that are warmer than a limit and no gaps."""
        if self._warm is None or self._warm_limit != limit_c:
            self._warm = tuple(piece for piece in self.pieces if piece.t_c > limit_c and not piece.gap)
            self._warm_limit = limit_c
        for piece in self._warm:
            if piece.start < end and piece.end > start:
                yield Piece(max(piece.start, start), min(piece.end, end), piece.t_c)

    def settled_by(self, since: float, end: float, arrival_c: float, half_cooling_h: float) -> Track | None:
        """What stems live through here until they are as warm as the place; made once for all alike."""
        key = (since, end, arrival_c, half_cooling_h)
        if self._as_read is not None and self._is_read(since, min(end, _settled_at(since, half_cooling_h))):
            return self._as_read.settled_by(*key)
        if key not in self._settling:
            pieces = list(settling(self, *key))
            self._settling[key] = Track(pieces) if pieces else None
        return self._settling[key]

    def _is_read(self, start: float, end: float) -> bool:
        """Whether a stretch of time [h] lies between the first piece and the last two."""
        return len(self._starts) > 3 and self._starts[1] <= start and end <= self._starts[-2]

    def total(self, weigh: Weigh, at: float) -> float:
        """Σ weigh(T)·Δt from the track's beginning until a moment [h]."""
        sums, rates = self._sums.get(weigh) or self._summed(weigh)
        index = self.index(at)
        return sums[index] + (at - self._starts[index]) * rates[index]

    def reaches(self, weigh: Weigh, total: float) -> float:
        """When the sum comes to so much [h]."""
        sums, rates = self._sums.get(weigh) or self._summed(weigh)
        index = max(bisect_right(sums, total) - 1, 0)
        return self._starts[index] + (total - sums[index]) / rates[index]

    def _summed(self, weigh: Weigh) -> tuple[tuple[float, ...], tuple[float, ...]]:
        """The sum at each piece's beginning, and the rate of each."""
        rates = tuple(weigh(piece.t_c) for piece in self.pieces)
        spans = (end - start for start, end in pairwise(self._starts))
        parts = (span * k for span, k in zip(spans, rates, strict=False))
        self._sums[weigh] = tuple(accumulate(parts, initial=0.0)), rates
        return self._sums[weigh]


def constant(t_c: float) -> Track:
    """A place that stays at one temperature [°C]."""
    return Track((Piece(0.0, inf, min(t_c, HOTTEST_C), start_c=t_c),))


class History:
    """What the stems lived through from the cut on: one track after another.

    Args:
        legs: moment [h] from which each track counts, in order of time.
    """

    def __init__(self, legs: Sequence[tuple[float, Track]]) -> None:
        self._starts = [start for start, _ in legs]
        self._tracks = [track for _, track in legs]
        self._before: dict[Weigh, list[float]] = {}  # sums at each leg's start, less the track's own

    @property
    def start(self) -> float:
        """The moment of the cut [h]."""
        return self._starts[0]

    def temperature(self, at: float) -> float:
        """Temperature of the stems at a moment [h], [°C]."""
        return self._tracks[max(bisect_right(self._starts, at) - 1, 0)].temperature(at)

    def aged_hours(self, weigh: Weigh, until: float) -> float:
        """Σ weigh(T)·Δt from the cut until a moment [h]: hours at 0 °C that age the stems as much.

        0 before the cut. It never falls as time goes on.
        """
        if until <= self._starts[0]:
            return 0.0
        if weigh not in self._before:
            total, before = 0.0, []
            for start, end, track in zip_longest(self._starts, self._starts[1:], self._tracks):
                offset = total - track.total(weigh, start)
                before.append(offset)
                if end is not None:
                    total = offset + track.total(weigh, end)
            self._before[weigh] = before
        leg = bisect_right(self._starts, until) - 1
        return self._before[weigh][leg] + self._tracks[leg].total(weigh, until)

    def reaches(self, weigh: Weigh, aged_hours: float) -> float:
        """When the stems have aged as much as some hours at 0 °C: the moment [h], not before the cut."""
        self.aged_hours(weigh, self._starts[-1] + 1)
        before = self._before[weigh]
        leg = len(before) - 1
        while leg and before[leg] + self._tracks[leg].total(weigh, self._starts[leg]) > aged_hours:
            leg -= 1
        return max(self._tracks[leg].reaches(weigh, aged_hours - before[leg]), self._starts[0])

    def pieces(self, since: float = -inf) -> Iterator[Piece]:
        """All pieces from a moment [h] on, the last one without an end."""
        for start, end, track in zip_longest(self._starts, self._starts[1:], self._tracks):
            last = inf if end is None else end
            if last > since:
                yield from track.between(max(start, since), last)

    def warmer(self, limit_c: float) -> Iterator[Piece]:
        """The pieces that are warmer than a limit [°C], gaps apart."""
        for start, end, track in zip_longest(self._starts, self._starts[1:], self._tracks):
            yield from track.warmer(limit_c, start, inf if end is None else end)


def settling(
    place: Track, since: float, end: float, arrival_c: float, half_cooling_h: float
) -> Iterator[Piece]:
    """The stems' pieces from a moment [h] until they are as warm as their place, or are carried on."""
    if abs(arrival_c - place.reads(since)) < NEAR_ENOUGH_C:
        return
    stop = min(end, _settled_at(since, half_cooling_h))
    for number in range(place.index(since), len(place.pieces)):
        spell = place.pieces[number]
        at, last = max(spell.start, since), min(spell.end, stop)
        if at >= stop:
            return
        while at < last:
            difference = (arrival_c - spell.t_c) * 2 ** (-(at - since) / half_cooling_h)
            if abs(difference) < NEAR_ENOUGH_C:
                return
            until = min(last, at + _step_h(abs(difference), half_cooling_h))
            middle_c = difference * 2 ** (-(until - at) / 2 / half_cooling_h)
            yield Piece(at, until, min(spell.t_c + middle_c, HOTTEST_C), spell.gap)
            at = until


def _settled_at(since: float, half_cooling_h: float) -> float:
    return since + SETTLED_HALVINGS * half_cooling_h


def _step_h(difference_c: float, half_cooling_h: float) -> float:
    """How long a step of cooling may be [h], whole quarter hours."""
    if difference_c <= 2 * STEP_C:
        return max(half_cooling_h // STEP_H, 1) * STEP_H
    slow = half_cooling_h * log2(difference_c / (difference_c - STEP_C))
    return max(slow // STEP_H, 1) * STEP_H


def track_of(
    before_c: float,
    spells: Iterable[tuple[Spell, bool, float]],
    after_c: float,
    least_c: float,
    shift_c: float,
    as_read: Track | None = None,
) -> Track:
    """The track of a cooler: what was read, with what is counted before and after it.

    Args:
        before_c: counted before the first spell [°C].
        spells: read, in order and without holes, each with whether it is a gap, and the reading [°C] where
            it begins.
        after_c: counted after the last one [°C].
        least_c: nothing counts for less [°C].
        shift_c: what is counted before and after is varied by it [°C], but not below 0 °C.
        as_read: the track without that.
    """

    def unread(t_c: float) -> float:
        return min(max(max(t_c + shift_c, 0.0) if shift_c else t_c, least_c), HOTTEST_C)

    def counted(t_c: float) -> float:
        return min(max(t_c, least_c), HOTTEST_C)

    pieces: list[Piece] = []
    for spell, gap, start_c in spells:
        piece = Piece(hours(spell.start), hours(spell.end), counted(spell.t_c), gap, counted(start_c))
        if pieces and pieces[-1].goes_on(piece):
            pieces[-1].end = piece.end
        else:
            pieces.append(piece)
    if not pieces:
        return Track((Piece(0.0, inf, unread(after_c)),))
    first, last = pieces[0].start, pieces[-1].end
    ends = Piece(0.0, first, unread(before_c)), Piece(last, inf, unread(after_c))
    return Track((ends[0], *pieces, ends[1]), as_read)
