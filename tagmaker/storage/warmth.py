"""How far warmth has opened the buds of a lot, and how much faster they age for it.

The opening O is 0 at the crop's right stage and 1 when the buds are too open to keep. It grows with the
hours that the stems stand warmer than 10 °C, wherever that is; what somebody saw overrules the sum.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterable, Iterator, Sequence
from itertools import accumulate, pairwise
from math import inf

from tagmaker.lot import Stage
from tagmaker.storage.ageing import Weigh, rate
from tagmaker.storage.history import History, Piece

WARM_C = 10.0  # [°C] from which warmth opens buds (chosen)
ROOM_C = 20.0  # [°C] at which a crop's opening hours are given
QUICKER = 0.25  # opening from which stems age faster (chosen)
HALF_COLOURED = 0.5  # opening from which they are marked (chosen)
TOO_OPEN = 1.0  # opening at which they are too open to keep (chosen)


def opening_of(stage: Stage | None, right: Stage) -> float:
    """The opening of buds that are at a stage: 0 up to the right one, ½ for half, 1 for any other.

    >>> opening_of(Stage.HALF, Stage.TIGHT), opening_of(Stage.TIGHT, Stage.GREEN)
    (0.5, 0.0)
    """
    if stage is None or stage <= max(right, Stage.TIGHT):
        return 0.0
    return HALF_COLOURED if stage is Stage.HALF else TOO_OPEN


class Opening:
    """The opening of a lot's buds over time: straight from knot to knot, with jumps where somebody looked.

    Args:
        knots: moment [h], opening there, and its growth from there on [1/h]; in order of time, the first
            at the cut.
    """

    def __init__(self, knots: Sequence[tuple[float, float, float]]) -> None:
        self._knots = knots
        self._starts = [start for start, _, _ in knots]
        self._above: dict[float, Sequence[tuple[float, float]]] = {}
        pace = Pace(knots)
        self.pace = pace if pace.matters else None  # None: the stems age as fast as their temperature says

    def at(self, moment: float) -> float:
        """The opening at a moment [h]."""
        start, value, growth = self._knots[max(bisect_right(self._starts, moment) - 1, 0)]
        return value + growth * (moment - start) if growth else value

    def since(self, least: float, moment: float) -> float | None:
        """Since when the buds are so far open, as seen from a moment [h]; None if they are not."""
        return next((a for a, b in self._stretches(least) if a <= moment < b), None)

    def reaches(self, least: float) -> float | None:
        """When the buds came, or will come, to be so far open for good [h]; None if they do not."""
        return next((start for start, end in self._stretches(least) if end == inf), None)

    def turns(self, least: float) -> Iterator[float]:
        """Moments [h] at which the buds come to be so far open, or are seen not to be."""
        for start, end in self._stretches(least):
            yield start
            if end < inf:
                yield end

    def _stretches(self, least: float) -> Sequence[tuple[float, float]]:
        """The stretches of time [h] in which the buds are at least so far open."""
        if least not in self._above:
            self._above[least] = tuple(_above(self._knots, least))
        return self._above[least]


class Pace:
    """How many times as fast stems age by their opening: m = 1 + min(1, 4·(O − ¼)), from O = ¼ on.

    It is a straight line between its knots, so that its sum is exact.
    """

    def __init__(self, knots: Sequence[tuple[float, float, float]]) -> None:
        parts = [part for knot, end in _with_ends(knots) for part in _lines(*knot, end)]
        self._starts = [start for start, _, _ in parts]
        self._lines = [(faster, growth) for _, faster, growth in parts]
        self._sums = [0.0]
        for (start, faster, growth), (end, _, _) in pairwise(parts):
            span = end - start
            self._sums.append(self._sums[-1] + span * (faster + growth * span / 2))
        self.matters = any(faster or growth for faster, growth in self._lines)

    def more(self, until: float) -> float:
        """Σ (m − 1)·Δt from the cut until a moment [h]: hours that count on top."""
        index = bisect_right(self._starts, until) - 1
        if index < 0:
            return 0.0
        span, (faster, growth) = until - self._starts[index], self._lines[index]
        return self._sums[index] + span * (faster + growth * span / 2)


def _above(knots: Sequence[tuple[float, float, float]], least: float) -> Iterator[tuple[float, float]]:
    """The stretches in which an opening that goes from knot to knot is at least so much."""
    since: float | None = None
    for (start, value, growth), end in _with_ends(knots):
        if value >= least:
            since = start if since is None else since
            continue
        if since is not None:
            yield since, start
            since = None
        reached = start + (least - value) / growth if growth else inf
        since = reached if reached < end else None
    if since is not None:
        yield since, inf


def _with_ends(
    knots: Sequence[tuple[float, float, float]],
) -> Iterator[tuple[tuple[float, float, float], float]]:
    return zip(knots, [*(start for start, _, _ in knots[1:]), inf], strict=True)


def _lines(start: float, value: float, growth: float, end: float) -> Iterator[tuple[float, float, float]]:
    """The straight lines of m − 1 over one knot of the opening: start [h], value, growth [1/h]."""
    slow = start + (QUICKER - value) / growth if growth else inf  # when O reaches ¼
    full = start + (HALF_COLOURED - value) / growth if growth else inf  # when it reaches ½
    if value < QUICKER or (value == QUICKER and not growth):
        yield start, 0.0, 0.0
        if slow >= end:
            return
    if value < HALF_COLOURED:
        begin = max(slow, start) if growth else start
        yield begin, max(4 * (value - QUICKER), 0.0), 4 * growth
        if full >= end:
            return
        yield full, 1.0, 0.0
        return
    yield start, 1.0, 0.0


def opened(
    history: History,
    at_cut: float,
    opening_hours: float,
    seen: Iterable[tuple[float, float]] = (),
    on_purpose: tuple[float, float] | None = None,
) -> Opening:
    """The opening of a lot's buds from the cut on.

    O grows by Σ (k(T) − k(10 °C))·Δt over the time above 10 °C, divided by
    (k(20 °C) − k(10 °C)) × the crop's opening hours.

    Args:
        history: the temperatures of the stems.
        at_cut: the opening at the cut.
        opening_hours: of the crop at room temperature [h]; 0: its buds do not open by warmth.
        seen: moment [h] and opening of every look at the buds, in order.
        on_purpose: a stretch of time [h] that does not count, for the stems were to open.
    """
    scale = (rate(ROOM_C) - rate(WARM_C)) * opening_hours
    warm = list(history.warmer(WARM_C)) if opening_hours else []
    if on_purpose is not None:
        warm = [part for piece in warm for part in _without(piece, *on_purpose)]
    looks = [(max(at, history.start), value) for at, value in seen]
    knots: list[tuple[float, float, float]] = [(history.start, at_cut, 0.0)]

    def go_to(at: float) -> float:
        start, value, growth = knots[-1]
        return value + growth * (at - start) if growth else value

    for start, end, growth in _stretches(warm, looks, scale):
        while looks and looks[0][0] <= start:
            at, value = looks.pop(0)
            knots.append((at, value, 0.0))
        knots.append((start, go_to(start), growth))
        if end < inf:
            knots.append((end, go_to(end), 0.0))
    return Opening([*knots, *((at, value, 0.0) for at, value in looks)])


def _without(piece: Piece, start: float, end: float) -> Iterator[Piece]:
    """What is left of a piece outside a stretch of time."""
    if piece.start < min(piece.end, start):
        yield Piece(piece.start, min(piece.end, start), piece.t_c)
    if piece.end > max(piece.start, end):
        yield Piece(max(piece.start, end), piece.end, piece.t_c)


def _stretches(
    warm: Iterable[Piece], looks: Sequence[tuple[float, float]], scale: float
) -> Iterator[tuple[float, float, float]]:
    """Warm stretches, parted where somebody looked: start, end [h] and growth of the opening [1/h]."""
    parting = [at for at, _ in looks]
    for piece in warm:
        growth = (rate(piece.t_c) - rate(WARM_C)) / scale
        edges = [piece.start, *(at for at in parting if piece.start < at < piece.end), piece.end]
        for start, end in pairwise(edges):
            yield start, end, growth


class PacedTime:
    """The pieces of a history, and the hours that each counts for stems that age m times as fast."""

    def __init__(self, history: History, pace: Pace) -> None:
        self._pace = pace
        pieces = list(history.pieces())
        self.temperatures = [piece.t_c for piece in pieces]
        self.starts = [piece.start for piece in pieces]
        more = map(pace.more, self.starts)
        self.counted = [
            end - start + more_then - more_before
            for (start, end), (more_before, more_then) in zip(
                pairwise(self.starts), pairwise(more), strict=True
            )
        ]

    def count(self, start: float, end: float) -> float:
        """Hours between two moments, those that count on top among them."""
        return end - start + self._pace.more(end) - self._pace.more(start)


class PacedSum:
    """Σ m·weigh(T)·Δt from the cut on, for stems that age m times as fast."""

    def __init__(self, time: PacedTime, weigh: Weigh) -> None:
        self._count, self._starts = time.count, time.starts
        self._rates = [weigh(t_c) for t_c in time.temperatures]
        parts = (k * hours for k, hours in zip(self._rates, time.counted, strict=False))
        self._sums = list(accumulate(parts, initial=0.0))

    def until(self, at: float) -> float:
        """The sum until a moment [h]; 0 before the cut."""
        if at <= self._starts[0]:
            return 0.0
        index = bisect_right(self._starts, at) - 1
        return self._sums[index] + self._rates[index] * self._count(self._starts[index], at)

    def reaches(self, total: float) -> float:
        """When the sum comes to so much: the moment [h], not before the cut."""
        index = max(bisect_right(self._sums, total) - 1, 0)
        start, most = self._starts[index], (total - self._sums[index]) / self._rates[index]
        low, high = start, start + most  # stems age as fast as their temperature says, or faster
        for _ in range(40):  # halves 400 days below a millisecond
            middle = (low + high) / 2
            low, high = (middle, high) if self._count(start, middle) < most else (low, middle)
        return high
