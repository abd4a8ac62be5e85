"""What a blank cell means: the usual of the farm, or what the lots it was split from say.

A bucket of leftovers from several lots is dated by the worst of each.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from datetime import datetime
from typing import TypeVar

from tagmaker.intake.cells.dates import SheetDate
from tagmaker.intake.cells.lists import SheetMove
from tagmaker.intake.cells.readers import crop_form
from tagmaker.intake.cells.unfit import UnfitCellError
from tagmaker.intake.lots.entry import Entry
from tagmaker.lot import Lot, Stage, StorageCode, Surface
from tagmaker.storage.crops import CropTable

T = TypeVar("T")
_WORST_SURFACE = (Surface.WET, Surface.DRIED, Surface.DRY)  # worst first
_WORST_STORAGE = (StorageCode.WATER, StorageCode.DRY)  # the shorter life first


def with_usual(entry: Entry, usual: Entry, crops: CropTable) -> Entry:
    """The entry with the farm's usual words in its blank cells.

    A usual form, bulb or storage that its crop does not have, or that contradicts the row, is
    passed over: "form = single" is meant for tulips, not for the peonies in the next row.
    """
    if not usual.row.cells:
        return entry
    crop = entry.crop or ("" if "crop" in entry.faulty else usual.crop or "")
    bulb, storage, form = usual.bulb, usual.storage, usual.form
    if bulb and (entry.storage is StorageCode.WATER or StorageCode.BULB not in _codes(crop, crops)):
        bulb = None
    if storage is not None and (entry.bulb or storage not in _codes(crop, crops)):
        storage = None
    if form is not None and not _has_form(crop, form, crops):
        form = None
    return replace(
        entry,
        crop=_first(entry.crop, crop or None),
        variety=_first(entry.variety, usual.variety),
        form=_first(entry.form, form),
        colour=_first(entry.colour, usual.colour),
        stage=_first(entry.stage, usual.stage),
        stems=_first(entry.stems, usual.stems),
        per_bunch=_first(entry.per_bunch, usual.per_bunch),
        bulb=_first(entry.bulb, bulb),
        storage=_first(entry.storage, storage),
        field_c=_first(entry.field_c, usual.field_c),
        surface=_first(entry.surface, usual.surface),
        cooler=_first(entry.cooler, usual.cooler),
        place=_first(entry.place, usual.place),
        use=_first(entry.use, usual.use),
    )


def with_parents(entry: Entry, parents: Sequence[Lot], crops: CropTable) -> Entry:
    """The entry with its parents' facts in every blank cell but those a lot always has of its own.

    Its own are lot, stems, gone, dumped, needed and note.
    """
    form, assumed = _worst_form(parents, crops)
    return replace(
        entry,
        crop=_first(entry.crop, _same(lot.crop for lot in parents)),
        variety=_first(entry.variety, _same(lot.variety for lot in parents)),
        form=_first(entry.form, form),
        form_assumed=entry.form is None and assumed,
        colour=_first(entry.colour, _same(lot.colour for lot in parents)),
        cut=_first(entry.cut, _sheet_date(min(lot.cut for lot in parents))),
        stage=_first(entry.stage, _most_open(parents)),
        per_bunch=_first(entry.per_bunch, min(lot.per_bunch for lot in parents)),
        bulb=_first(entry.bulb, _bulb(parents)),
        storage=_first(entry.storage, _worst_storage(parents)),
        field_c=_first(entry.field_c, max(lot.field_c for lot in parents)),
        surface=_first(entry.surface, min((lot.surface for lot in parents), key=_WORST_SURFACE.index)),
        cooler=_first(entry.cooler, _same(lot.cooler for lot in parents)),
        place=_first(entry.place, _same(lot.place for lot in parents)),
        in_cooler=_first(entry.in_cooler, _longest_outside(parents)),
        in_water=_first(entry.in_water, _earliest_in_water(parents)),
        moved=_first(entry.moved, _moved(entry, parents)),
        use=_first(entry.use, _same(lot.use for lot in parents)),
        vase_days_seen=_first(entry.vase_days_seen, _same(lot.vase_days_seen for lot in parents)),
        why_dumped=_first(entry.why_dumped, _same(lot.why_dumped for lot in parents)),
    )


def stood_alike(parents: Sequence[Lot]) -> bool:
    """Whether the parents went into the same cooler and were moved alike."""
    return len({(lot.cooler, lot.moves) for lot in parents}) == 1


def _first(own: T | None, other: T | None) -> T | None:
    return own if own is not None else other


def _same(values: Iterable[str]) -> str | None:
    """The value that all have, or None."""
    found = set(values)
    return found.pop() if len(found) == 1 else None


def _codes(crop: str, crops: CropTable) -> set[StorageCode]:
    forms = crops.forms(crop) or ("",)
    return {way.code for form in forms for way in crops.ways(crop, form)}


def _has_form(crop: str, form: str, crops: CropTable) -> bool:
    try:
        return bool(crop_form(form, crop, crops))
    except UnfitCellError:
        return False


def _worst_form(parents: Sequence[Lot], crops: CropTable) -> tuple[str, bool]:
    """The form with the shortest fresh vase life, and whether it is only assumed."""

    def fresh_days(lot: Lot) -> float:
        return min((way.fresh_days for way in crops.ways(lot.crop, lot.form)), default=0.0)

    worst = min(parents, key=lambda lot: (fresh_days(lot), not lot.form_assumed))
    return worst.form, worst.form_assumed


def _most_open(parents: Sequence[Lot]) -> Stage | None:
    """The most open stage; unknown where it is unknown of one."""
    stages = [lot.stage for lot in parents]
    known = [stage for stage in stages if stage is not None]
    return max(known) if len(known) == len(stages) else None


def _bulb(parents: Sequence[Lot]) -> bool | None:
    """Off if it is off on any; blank counts as off, but stays blank where it is blank on all."""
    bulbs = {lot.bulb for lot in parents}
    return None if bulbs == {None} else bulbs == {True}


def _worst_storage(parents: Sequence[Lot]) -> StorageCode | None:
    """Water if any stood in water by choice, dry if all were dry by choice."""
    chosen = {lot.storage for lot in parents}
    if StorageCode.WATER in chosen:
        return StorageCode.WATER
    return StorageCode.DRY if chosen == {StorageCode.DRY} else None


def _longest_outside(parents: Sequence[Lot]) -> SheetDate | None:
    """When a lot cut with the earliest went in, if it stood outside as long as the slowest of them.

    The latest of their moments would not do: it would leave the stems of the earliest cut in the
    field for the days between two cuts. Unknown where one is still wet and has not gone in.
    """
    stays = [lot.in_cooler - lot.cut for lot in parents if lot.in_cooler is not None]
    return _sheet_date(min(lot.cut for lot in parents) + max(stays)) if len(stays) == len(parents) else None


def _earliest_in_water(parents: Sequence[Lot]) -> SheetDate | None:
    known = [lot.in_water for lot in parents if lot.in_water is not None]
    return _sheet_date(min(known)) if known else None


def _moved(entry: Entry, parents: Sequence[Lot]) -> tuple[SheetMove, ...] | None:
    """Their moves, where they were moved alike; a child with a cooler of its own starts there."""
    if len(parents) > 1 and (entry.cooler is not None or not stood_alike(parents)):
        return None
    return tuple(
        SheetMove(move.place, _sheet_date(move.since), move.temperature_c) for move in parents[0].moves
    )


def _sheet_date(moment: datetime) -> SheetDate:
    return SheetDate(moment.date(), moment.time())
