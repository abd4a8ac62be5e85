"""What the lots that a lot was split from say in place of its blank cells.

A bucket of leftovers from several lots is dated by the worst of each.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime

from tagmaker.intake.cells.dates import SheetCut, SheetDate
from tagmaker.intake.cells.lists import SheetMove
from tagmaker.intake.cells.reading import Reading
from tagmaker.lot import BunchTest, Finding, Lot, Stage, StorageCode, Surface

_WORST_SURFACE = (Surface.WET, Surface.DRIED, Surface.DRY)  # worst first


@dataclass(frozen=True, slots=True)
class Parents:
    """The lots that a lot was split from, and what its own row says."""

    lots: Sequence[Lot]  # at least one
    own: Mapping[str, object]  # column -> what its cell says; blank ones are missing
    reading: Reading


Inherited = Callable[[Parents], object]


def the_same(name: str) -> Inherited:
    """What all of them have in that field of `Lot`; None where they differ."""

    def found(parents: Parents) -> object:
        values = {getattr(lot, name) for lot in parents.lots}
        return values.pop() if len(values) == 1 else None

    return found


def least(name: str) -> Inherited:
    """The smallest figure of them in that field of `Lot`."""
    return lambda parents: min(getattr(lot, name) for lot in parents.lots)


def most(name: str) -> Inherited:
    """The largest figure of them in that field of `Lot`."""
    return lambda parents: max(getattr(lot, name) for lot in parents.lots)


def of_worst_form(parents: Parents) -> Lot:
    """The lot whose form has the shortest fresh vase life; of equals one whose form was written."""
    crops = parents.reading.crops

    def fresh_days(lot: Lot) -> float:
        return min((way.fresh_days for way in crops.ways(lot.crop, lot.form)), default=0.0)

    return min(parents.lots, key=lambda lot: (fresh_days(lot), not lot.form_assumed))


def earliest_cut(parents: Parents) -> SheetCut:
    """The first of their cuts; a plan if one of them is."""
    first = _sheet_date(min(lot.cut for lot in parents.lots))
    return SheetCut(first, plan=any(lot.plan_written for lot in parents.lots))


def most_open(parents: Parents) -> Stage | None:
    """The most open stage; unknown where it is unknown of one."""
    stages = [lot.stage for lot in parents.lots]
    known = [stage for stage in stages if stage is not None]
    return max(known) if len(known) == len(stages) else None


def bulb(parents: Parents) -> bool | None:
    """Off if it is off on any; blank counts as off, but stays blank where it is blank on all."""
    bulbs = {lot.bulb for lot in parents.lots}
    return None if bulbs == {None} else bulbs == {True}


def worst_storage(parents: Parents) -> StorageCode | None:
    """Water if any stood in water by choice, dry if all were dry by choice."""
    chosen = {lot.storage for lot in parents.lots}
    if StorageCode.WATER in chosen:
        return StorageCode.WATER
    return StorageCode.DRY if chosen == {StorageCode.DRY} else None


def worst_surface(parents: Parents) -> Surface:
    """Wet if any is wet."""
    return min((lot.surface for lot in parents.lots), key=_WORST_SURFACE.index)


def longest_outside(parents: Parents) -> SheetDate | None:
    """When a lot cut with the earliest went in, if it stood outside as long as the slowest of them.

    The latest of their moments would not do: it would leave the stems of the earliest cut in the
    field for the days between two cuts. Unknown where one is still wet and has not gone in.
    """
    stays = [lot.in_cooler - lot.cut for lot in parents.lots if lot.in_cooler is not None]
    first = min(lot.cut for lot in parents.lots)
    return _sheet_date(first + max(stays)) if len(stays) == len(parents.lots) else None


def earliest_in_water(parents: Parents) -> SheetDate | None:
    """The first that stood in water."""
    known = [lot.in_water for lot in parents.lots if lot.in_water is not None]
    return _sheet_date(min(known)) if known else None


def moved(parents: Parents) -> tuple[SheetMove, ...]:
    """The moves of the first of them up to its own first one, and its own."""
    own: tuple[SheetMove, ...] = parents.own.get("moved", ())  # type: ignore[assignment]  # as its column reads it
    workday = parents.reading.farm.workday
    first = min((move.when.moment or workday.start(move.when.day) for move in own), default=datetime.max)
    theirs = (move for move in parents.lots[0].moves if move.since < first)
    before = (
        SheetMove(move.place, _sheet_date(move.since), move.temperature_c, move.spot) for move in theirs
    )
    return (*before, *own)


def tested(parents: Parents) -> tuple[BunchTest, ...]:
    """Its own tests, and theirs: of several parents the bad ones of each, and what was found of all."""
    own: tuple[BunchTest, ...] = parents.own.get("tested", ())  # type: ignore[assignment]  # as its column reads it
    theirs = {
        test
        for lot in parents.lots
        for test in lot.tested
        if test.found is Finding.BAD or all(test in other.tested for other in parents.lots)
    }
    return tuple(sorted({*own, *theirs}, key=lambda test: (test.day, str(test.found))))


def _sheet_date(moment: datetime) -> SheetDate:
    return SheetDate(moment.date(), moment.time())
