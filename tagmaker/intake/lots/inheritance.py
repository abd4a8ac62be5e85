"""What a blank cell means: the usual of the farm, or what the lots it was split from say."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from tagmaker.intake.cells.readers import crop_form
from tagmaker.intake.cells.reading import Reading
from tagmaker.intake.cells.unfit import UnfitCellError
from tagmaker.intake.columns import COLUMNS
from tagmaker.intake.lots.entry import Entry
from tagmaker.intake.lots.parents import Parents, of_worst_form
from tagmaker.lot import Lot, StorageCode
from tagmaker.storage.crops import CropTable


def with_usual(entry: Entry, usual: Entry, crops: CropTable) -> Entry:
    """The entry with the farm's usual words in its blank cells.

    A usual form, bulb or storage that its crop does not have, or that contradicts the row, is
    passed over: "form = single" is meant for tulips, not for the peonies in the next row.
    """
    if not usual.row.cells:
        return entry
    words = dict(usual.values)
    if "crop" in entry.faulty:
        words.pop("crop", None)
    crop = entry.crop or str(words.get("crop", ""))
    ways = {way.code for form in crops.forms(crop) or ("",) for way in crops.ways(crop, form)}
    if usual.bulb and (entry.storage is StorageCode.WATER or StorageCode.BULB not in ways):
        words.pop("bulb")
    if usual.storage is not None and (entry.bulb or usual.storage not in ways):
        words.pop("storage")
    if usual.form is not None and not _has_form(crop, usual.form, crops):
        words.pop("form")
    return replace(entry, values={**words, **entry.values})


def with_parents(entry: Entry, lots: Sequence[Lot], reading: Reading) -> Entry:
    """The entry with its parents' facts in every blank cell but those a lot always has of its own."""
    parents = Parents(lots, entry.values, reading)
    facts = {
        column.name: column.inherit(parents)
        for column in COLUMNS
        if column.inherit is not None and (column.adds or column.name not in entry.values)
    }
    known = {column: fact for column, fact in facts.items() if fact is not None}
    assumed = entry.form is None and of_worst_form(parents).form_assumed
    return replace(entry, values={**entry.values, **known}, form_assumed=assumed)


def _has_form(crop: str, form: str, crops: CropTable) -> bool:
    try:
        return bool(crop_form(form, crop, crops))
    except UnfitCellError:
        return False
