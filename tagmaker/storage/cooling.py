"""Stems that are taken from place to place, and cool or warm through in each."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from itertools import zip_longest
from math import inf

from tagmaker.storage.history import History, Track, hours


@dataclass(frozen=True, slots=True)
class Stay:
    """A lot in one place from a moment on."""

    since: datetime
    place: Track


def follow(stays: Sequence[Stay], half_cooling_h: float) -> History:
    """The temperature of stems that are taken from place to place.

    In each place T = place + (T at arrival − place) · 2^(−hours / half_cooling), the standard
    measure of how produce cools; the first place is the field, where the stems are as warm as it.
    Once the difference is gone they count at the place's own temperature.

    Args:
        stays: places in order of time; the first begins at the cut.
        half_cooling_h: time in which the difference to the place halves [h].
    """
    legs: list[tuple[float, Track]] = []
    arrival_c: float | None = None
    for stay, following in zip_longest(stays, stays[1:]):
        since, place = hours(stay.since), stay.place
        end = inf if following is None else hours(following.since)
        if end <= since:  # carried straight on: as warm as the first place, or as they came
            arrival_c = place.reads(since) if arrival_c is None else arrival_c
            continue
        if arrival_c is None:
            legs.append((since, place))
            left_c = 0.0
        else:
            cooling = place.settled_by(since, end, arrival_c, half_cooling_h)
            if cooling is not None:
                legs.append((since, cooling))
            settled = cooling.pieces[-1].end if cooling is not None else since
            if settled < end:
                legs.append((settled, place))
            passed = end - since
            left_c = (
                0.0 if settled < end else (arrival_c - place.reads(end)) * 2 ** (-passed / half_cooling_h)
            )
        if end < inf:
            arrival_c = place.reads(end) + left_c
    return History(legs)
