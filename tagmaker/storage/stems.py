"""The stems of one lot through time: how warm, how open and how much aged they are at any moment.

The figures may be varied one at a time, to see how far a date would move; the opening of the buds, and
how much faster they age for it, stay those of the lot itself.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from math import inf

from tagmaker.farm import Farm, Use
from tagmaker.lot import Lot, Stage
from tagmaker.storage.ageing import HOLD_C, Weigh, rate, rate_with
from tagmaker.storage.air import Airs
from tagmaker.storage.crops import Keeping
from tagmaker.storage.history import History, Track, constant, hours, settling
from tagmaker.storage.warmth import Opening, Pace, PacedSum, PacedTime, opened, opening_of
from tagmaker.storage.whereabouts import Ground, last_trip, lot_history

DAY_H = 24.0
AFTER_TRIP_H = 24.0  # [h] after a warm stay in which a departure counts as the one it was for (chosen)


@dataclass(frozen=True, slots=True)
class Figures:
    """One way to count: the figures as they stand, or one of them changed."""

    weigh: Weigh = rate
    life: float = 1.0  # factor on the storage life
    fresh_d: float = 0.0  # [d] more fresh vase life
    loss: float = 1.0  # factor on the vase life lost
    shift_c: float = 0.0  # [°C] on air that was not read
    half_cooling: float = 1.0  # factor on the half-cooling time


def _q10(q10: float) -> Figures:
    """Another Q10, with the life at 40 °F left as it is."""
    return Figures(weigh=rate_with(q10), life=rate(HOLD_C, q10) / rate(HOLD_C))


PRACTICE = Figures()
# One change at a time, each to both sides. All chosen; 4.0 and 2.5 are the ends of the handbook's range of
# Q10 over 0 to 10 °C, and 14 to 21 days for DRY are what usual practice spans.
VARIED = (
    *(Figures(life=1 - 0.15), Figures(life=1 + 0.15)),
    *(_q10(4.0), _q10(2.5)),
    *(Figures(fresh_d=-0.7), Figures(fresh_d=0.7)),
    *(Figures(loss=1.3), Figures(loss=0.7)),
    *(Figures(shift_c=0.7), Figures(shift_c=-0.7)),
    *(Figures(half_cooling=1.65), Figures(half_cooling=1 / 1.65)),
)


class Soak:
    """Stems carried into the room to stand in water there, as warm and open as they are then.

    Args:
        t_c: temperature that they come with [°C].
        room_c: of the room [°C].
        half_cooling_h: [h].
        at_cut: opening that they come with.
        opening_hours: of the crop [h].
    """

    def __init__(
        self, t_c: float, room_c: float, half_cooling_h: float, at_cut: float, opening_hours: float
    ) -> None:
        self.history = carried_in(t_c, room_c, half_cooling_h)
        self.opening = opened(self.history, at_cut, opening_hours)


def carried_in(t_c: float, room_c: float, half_cooling_h: float) -> History:
    """Stems of one temperature that stand in a room from hour 0 on."""
    room = constant(room_c)
    pieces = list(settling(room, 0.0, inf, t_c, half_cooling_h))
    return History([(0.0, Track(pieces)), (pieces[-1].end, room)] if pieces else [(0.0, room)])


class Stems:
    """What a lot's stems went through and, as far as anybody knows, will go through.

    Args:
        lot: the row.
        farm: its coolers and hours.
        airs: the air of every cooler.
        keeping: the way that counts.
        now: looks at the buds on later days do not count.
        stage: taken for the cut where the sheet says none; None: the first one seen, or the right one.
    """

    def __init__(
        self, lot: Lot, farm: Farm, airs: Airs, keeping: Keeping, now: datetime, stage: Stage | None = None
    ) -> None:
        self.lot, self.farm, self.airs, self.keeping, self.now = lot, farm, airs, keeping, now
        seen = [(test.day, test.found) for test in lot.tested if test.day <= now.date()]
        looks = [(day, found) for day, found in seen if isinstance(found, Stage)]
        first = looks[0][1] if looks else stage
        self.stage = lot.stage if lot.stage is not None else first
        right = keeping.right_stage
        self._at_cut = opening_of(self.stage, right)
        self._looks = [
            (hours(min(farm.workday.start(day), now)), opening_of(found, right)) for day, found in looks
        ]
        self.warm_trip = (
            self._warm_trip()
        )  # [h] the last opening hours of the last stay outside, if it is over
        self._histories: dict[tuple[float, float], History] = {}
        self._openings: dict[tuple[float, float] | None, Opening] = {}
        self._paced: dict[tuple[History, Pace, Weigh], PacedSum] = {}
        self._times: dict[tuple[History, Pace], PacedTime] = {}
        self._soaks: dict[tuple[float, float], Soak] = {}
        self._rooms: dict[tuple[float, float], History] = {}

    def history(self, figures: Figures = PRACTICE) -> History:
        """The temperatures of the stems."""
        key = (figures.shift_c, figures.half_cooling)
        if key not in self._histories:
            least_c = -inf if self.keeping.never_below_c is None else self.keeping.never_below_c
            ground = Ground(self.farm, self.airs, least_c, *key)
            self._histories[key] = lot_history(self.lot, ground, self.keeping.code)
        return self._histories[key]

    def opening(self, window: tuple[float, float] | None = None) -> Opening:
        """The opening of the buds; the hours of a window [h] do not count."""
        if window not in self._openings:
            self._openings[window] = opened(
                self.history(), self._at_cut, self.keeping.opening_hours, self._looks, window
            )
        return self._openings[window]

    def _warm_trip(self) -> tuple[float, float] | None:
        """The last opening hours of the last stay outside, if it is over [h]; None where there is none."""
        trip, opening_hours = last_trip(self.lot), self.keeping.opening_hours
        if trip is None or trip[1] is None or not opening_hours:
            return None
        start, end = hours(trip[0]), hours(trip[1])
        return max(start, end - opening_hours), end

    def window(self, use: Use, at: float) -> tuple[float, float] | None:
        """Hours that stood warm on purpose for a departure [h] of an open use, within a day before it."""
        if (
            self.warm_trip is None
            or not use.open
            or not self.warm_trip[1] <= at <= self.warm_trip[1] + AFTER_TRIP_H
        ):
            return None
        return self.warm_trip

    def aged_days(
        self, at: float, figures: Figures = PRACTICE, window: tuple[float, float] | None = None
    ) -> float:
        """Days at 0 °C that age the stems as much as all from the cut until a moment [h]."""
        paced = self._paced_sum(figures, window)
        if paced is None:
            return self.history(figures).aged_hours(figures.weigh, at) / DAY_H
        return paced.until(at) / DAY_H

    def reaches(self, aged_days: float, figures: Figures) -> float:
        """When the stems have aged as much as some days at 0 °C: the moment [h], not before the cut."""
        paced = self._paced_sum(figures, None)
        if paced is None:
            return self.history(figures).reaches(figures.weigh, aged_days * DAY_H)
        return paced.reaches(aged_days * DAY_H)

    def _paced_sum(self, figures: Figures, window: tuple[float, float] | None) -> PacedSum | None:
        """The sum of stems whose buds make them age faster; None where they do not."""
        pace = self.opening(window).pace
        if pace is None:
            return None
        return self._sum(self.history(figures), pace, figures.weigh)

    def _sum(self, history: History, pace: Pace, weigh: Weigh) -> PacedSum:
        """A sum, added up once; the hours that count are the same whatever weighs them."""
        key = (history, pace, weigh)
        if key not in self._paced:
            if key[:2] not in self._times:
                self._times[key[:2]] = PacedTime(history, pace)
            self._paced[key] = PacedSum(self._times[key[:2]], weigh)
        return self._paced[key]

    def soak(self, at: float) -> Soak:
        """The stems as they go into water in the room at a moment [h]."""
        key = (self.history().temperature(at), self.opening().at(at))
        if key not in self._soaks:
            farm = self.farm
            self._soaks[key] = Soak(
                key[0], farm.room_c, farm.half_cooling_h, key[1], self.keeping.opening_hours
            )
        return self._soaks[key]

    def soaked_days(self, since: float, at: float, figures: Figures = PRACTICE) -> float:
        """Days at 0 °C that the hours in water in the room add, from one moment to another [h]."""
        soak, length = self.soak(since), at - since
        if figures.half_cooling == 1.0 and not figures.shift_c:
            history = soak.history
        else:
            t_c = self.history(figures).temperature(since)
            half_h = self.farm.half_cooling_h * figures.half_cooling
            history = self._carried_in(t_c, half_h)
        pace = soak.opening.pace
        if pace is None:
            return history.aged_hours(figures.weigh, length) / DAY_H
        return self._sum(history, pace, figures.weigh).until(length) / DAY_H

    def _carried_in(self, t_c: float, half_h: float) -> History:
        key = (t_c, half_h)
        if key not in self._rooms:
            self._rooms[key] = carried_in(t_c, self.farm.room_c, half_h)
        return self._rooms[key]
