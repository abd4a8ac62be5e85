"""Which bunches of a lot are an order's, and in which of its crates or buckets they lie.

The bunches of part orders are the first of the lot, in order of departure, and lie in its first crates. What
is said of an order stands on their labels and on those crates alone; all others say the lot's own dates.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import groupby, islice, repeat

from tagmaker.errors import InputProblems, Problem
from tagmaker.lot import OrderDates, StorageCode, StorageDates
from tagmaker.storage.crops import CropTable
from tagmaker.telling.parts import bunches_for, part_orders
from tagmaker.telling.readiness import is_wet


@dataclass(frozen=True, slots=True)
class Bunches:
    """Bunches of a lot that carry the same label."""

    order: OrderDates | None  # the part order they are for; None: the lot's own dates
    stems: int  # in each
    count: int


@dataclass(frozen=True, slots=True)
class CrateLoad:
    """What one crate or bucket of a lot holds."""

    bunches: int | None  # None: not counted
    takes: tuple[tuple[OrderDates, int], ...]  # part orders, and how many of these bunches are theirs

    @property
    def own(self) -> int | None:
        """Bunches that no part order takes."""
        return None if self.bunches is None else self.bunches - sum(count for _, count in self.takes)


def bunches_of(dates: StorageDates, most: int | None = None, count: int | None = None) -> Sequence[Bunches]:
    """The bunches left, those of part orders first; the very last has what remains.

    With `most` the last so many: those of part orders were labelled first. With `count` the first so many
    of these.

    Raises:
        InputProblems: the sheet does not say how many stems there are.
    """
    lot = dates.lot
    if dates.left is None:
        remedy = "Write how many stems were cut; labels are counted from it."
        what = f"stems of lot {lot.lot_code} must be given for wrap labels (got nothing)"
        raise InputProblems([Problem(lot.where, what, remedy, lot.lot_code)])
    last = _first_of(reversed(tuple(_all_bunches(dates, dates.left))), most)
    return _first_of(reversed(last), count)


def _first_of(bunches: Iterable[Bunches], count: int | None) -> Sequence[Bunches]:
    """The first so many bunches; None: all."""
    found: list[Bunches] = []
    for some in bunches:
        taken = some.count if count is None else min(some.count, count)
        count = None if count is None else count - taken
        if taken:
            found.append(replace(some, count=taken))
    return found


def _all_bunches(dates: StorageDates, left: int) -> Iterator[Bunches]:
    """Every bunch left.

    A part order takes whole bunches; what it cannot be served with has no labels.
    """
    per_bunch = dates.lot.per_bunch
    for order in (*part_orders(dates), None):
        wanted = left if order is None or order.stems is None else order.stems
        count = min(-(-wanted // per_bunch), max(-(-left // per_bunch), 0))
        full = min(count, left // per_bunch) if left > 0 else 0
        if full:
            yield Bunches(order, per_bunch, full)
        if count > full:
            yield Bunches(order, left - full * per_bunch, 1)
        left -= count * per_bunch


def per_container(dates: StorageDates, crops: CropTable) -> tuple[int, bool]:
    """Stems that a crate or bucket of a lot takes, and whether it is a crate."""
    keeping = crops.keeping(dates.lot.crop, dates.lot.form, dates.kept)
    if keeping is None:
        return 1, True
    if dates.code is StorageCode.WATER or keeping.per_crate is None:
        return keeping.per_bucket, False
    return keeping.per_crate, True


def crates_of(dates: StorageDates, crops: CropTable) -> tuple[CrateLoad, ...]:
    """The crates or buckets of a lot, filled one after another, each with the bunches that orders take of it.

    A lot of unknown size, and a wet one that is not in crates yet, has one; its bunches, and those that are
    larger than a bucket, are not counted: the first then has every order.
    """
    loads = _loads(dates, crops)
    lying = iter(() if is_wet(dates) else _one_by_one(dates))  # the order of one bunch after another
    crates = []
    for bunches in loads:
        here = [order for order in islice(lying, bunches) if order is not None]
        crates.append(CrateLoad(bunches, tuple((order, len(list(same))) for order, same in groupby(here))))
    return tuple(crates)


def _one_by_one(dates: StorageDates) -> Iterator[OrderDates | None]:
    """The part order of every bunch, then None for those that are the lot's own."""
    for order in part_orders(dates):
        yield from repeat(order, bunches_for(order, dates))
    if dates.left is not None:
        yield from repeat(None, dates.lot.bunches_left or 0)


def _loads(dates: StorageDates, crops: CropTable) -> tuple[int | None, ...]:
    left, bunches = dates.left, dates.lot.bunches_left
    if left is None or bunches is None or is_wet(dates):
        return (None,)
    room, _ = per_container(dates, crops)
    count = math.ceil(left / room)
    if bunches < count:
        return (None,) * count
    full = room // dates.lot.per_bunch
    if full * count >= bunches:
        return tuple(min(full, bunches - n * full) for n in range(count))
    each, over = divmod(bunches, count)
    return tuple(each + (n < over) for n in range(count))
