"""From an entry to a lot: blanks filled, hours found, and contradictions caught.

The counts of stems are judged later, when all lots that were split off are known.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import datetime, timedelta
from typing import Any

from tagmaker.errors import Problem
from tagmaker.intake.cells import moments
from tagmaker.intake.cells import readers as cells
from tagmaker.intake.cells.plain_text import listed
from tagmaker.intake.cells.reading import Reading
from tagmaker.intake.cells.unfit import UnfitCellError
from tagmaker.intake.columns import COLUMNS
from tagmaker.intake.lots.column import Judged
from tagmaker.intake.lots.entry import Entry
from tagmaker.intake.lots.inheritance import with_parents, with_usual
from tagmaker.intake.lots.judged_row import JudgedRow
from tagmaker.intake.lots.times import said, times_of
from tagmaker.lot import Lot, Order, StorageCode

ORDER_AHEAD = timedelta(days=366)  # an order is no later after the cut (chosen)
_KEPT = tuple(column for column in COLUMNS if column.otherwise is not Judged.WITH_ITS_ROW)
_PRINTED = tuple(column for column in COLUMNS if column.papers)
MOST_ORIGINS = 24  # lots that one may come from, however far back (chosen: each is dated alone)


class Completion:
    """One row on its way from an entry to a lot."""

    def __init__(self, entry: Entry, usual: Entry, parents: Sequence[Lot], reading: Reading) -> None:
        self._parents, self._usual = parents, usual
        filled = with_parents(entry, parents, reading) if parents else with_usual(entry, usual, reading.crops)
        self._row = JudgedRow(entry, filled, reading)

    @property
    def problems(self) -> list[Problem]:
        """What contradicts the rest of the row."""
        return self._row.problems

    def lot(self) -> Lot | None:
        """The lot, without the stems that are gone or split off; None if there are problems."""
        crop, form, assumed = self._crop()
        self._check_parents(crop)
        self._check_storage(crop, self._ways(crop, form))
        times = times_of(self._row)
        use = self._use()
        orders = self._orders(use, times.cut if times else None)
        stems = self._stems(self._row.entry.per_bunch or 10)
        if self._row.problems or self._row.entry.faulty or times is None:
            return None
        lot = replace(
            self._as_written(times.cut, crop, use),
            form=form,
            form_assumed=assumed,
            stems=stems,
            orders=orders,
            surface=times.surface,
            in_cooler=times.in_cooler,
            in_water=times.in_water,
            moves=times.moves,
            place=times.place,
        )
        if times.place != (self._row.entry.place or "") and not times.place.isascii():
            lot = replace(lot, name_cells={**lot.name_cells, "place": self._row.typed.row.place("moved")})
        alone = self._alone()
        return None if self._row.problems else replace(lot, alone=alone)

    def _alone(self) -> tuple[Lot, ...]:
        """The lot as the child of each of its parents, where it has several."""
        origins: list[Lot] = []
        for parent in self._parents:
            origins += [lot for lot in parent.alone or (parent,) if lot not in origins]
        if len(origins) > MOST_ORIGINS:
            must = f"go back to at most {MOST_ORIGINS} lots"
            self._row.refuse("split from", must, "Start a bucket of leftovers of its own.")
        elif len(origins) > 1:
            each = [
                Completion(self._row.typed, self._usual, [origin], self._row.reading) for origin in origins
            ]
            lots = [lot for lot in (completion.lot() for completion in each) if lot is not None]
            self._row.problems += dict.fromkeys(
                problem for completion in each for problem in completion.problems
            )
            return tuple(lots)
        return ()

    def _as_written(self, cut: datetime, crop: str, use: str) -> Lot:
        """The lot with what its cells say, blanks filled where nothing needs to be worked out."""
        entry, row, farm = self._row.entry, self._row.entry.row, self._row.reading.farm
        written = entry.cut is not None and entry.cut.plan
        planned = written or cut.date() > self._row.reading.now.date()
        kept: dict[str, Any] = {
            column.field: entry.values.get(column.name, column.otherwise) for column in _KEPT
        }
        return Lot(
            lot_code=entry.lot,
            crop=crop,
            cut=cut,
            bulb=entry.bulb if planned else bool(entry.bulb),
            field_c=farm.field_c[cut.month - 1] if entry.field_c is None else entry.field_c,
            cooler=entry.cooler or next(iter(farm.coolers)),
            in_cooler=None,
            use=use,
            parents=tuple(share.parent for share in entry.split_from),
            planned=planned,
            plan_written=written,
            where=row.where,
            row=row.number,
            cells=row.typed,
            name_cells=self._name_cells(),
            **kept,
        )

    def _name_cells(self) -> dict[str, str]:
        """Where the names beyond ASCII were written: here, in a parent's row, or in the settings."""
        typed, found = self._row.typed.row, {}
        for column in _PRINTED:
            name = self._row.entry.values.get(column.name)
            if not isinstance(name, str) or name.isascii():
                continue
            inherited = (
                lot.name_cells[column.field] for lot in self._parents if column.field in lot.name_cells
            )
            elsewhere = next(inherited, self._usual.row.where)
            found[column.field] = typed.place(column.name) if column.name in typed.cells else elsewhere
        return found

    def _crop(self) -> tuple[str, str, bool]:
        """Crop, form, and whether the form is assumed; "" for a crop that is missing or unreadable."""
        crop, form = self._row.entry.crop, self._row.entry.form
        if crop is None:
            if not self._parents:
                self._row.refuse("crop", "be filled in", "Write what was cut, like tulip.")
            return "", "", False
        if not form:
            forms = self._row.reading.crops.forms(crop)
            return (crop, self._row.reading.crops.shortest_form(crop), True) if forms else (crop, "", False)
        try:
            return crop, cells.crop_form(form, crop, self._row.reading.crops), self._row.entry.form_assumed
        except UnfitCellError as unfit:
            self._row.refuse("form", f"be {unfit.must}", unfit.remedy)
            return crop, "", False

    def _ways(self, crop: str, form: str) -> frozenset[StorageCode]:
        """Ways in which the crop is kept; all where it is not known."""
        ways = self._row.reading.crops.ways(crop, form)
        return frozenset(way.code for way in ways) if ways else frozenset(StorageCode)

    def _check_parents(self, crop: str) -> None:
        parents, typed = self._parents, self._row.typed
        if not parents:
            return
        crops = sorted({lot.crop for lot in parents})
        codes = listed((lot.lot_code for lot in parents), "and")
        if len(crops) > 1:
            remedy = "Make a lot of its own for each crop."
            self._row.refuse("split from", f"name lots of one crop, not of {listed(crops, 'and')}", remedy)
        elif crop and crop not in crops:
            self._row.refuse("crop", f"be {crops[0]}, as in lot {codes}", "Correct it, or leave it blank.")
        if typed.bulb and any(lot.bulb is False for lot in parents):
            self._row.refuse("bulb", f"be off, as it is off in lot {codes}", "Correct one of them.")

    def _check_storage(self, crop: str, ways: frozenset[StorageCode]) -> None:
        entry = self._row.entry
        if entry.bulb and entry.storage is StorageCode.WATER:
            remedy = "Take the bulb off for water, or leave the storage blank."
            self._row.refuse("bulb", "be off for stems kept in water", remedy)
        elif entry.bulb and StorageCode.BULB not in ways:
            self._row.refuse(
                "bulb", f"be off: {crop} is not kept with a bulb on", "Write off, or leave it blank."
            )
        if entry.storage is not None and entry.storage not in ways:
            known = listed(way.value.lower() for way in sorted(ways) if way is not StorageCode.BULB)
            remedy = "Correct it, or leave it blank to have it decided."
            self._row.refuse("storage", f"be {known} for {crop}", remedy)

    def _use(self) -> str:
        """The use of the row, or the one that promises the most vase days."""
        uses = self._row.reading.farm.uses
        return self._row.entry.use or max(uses, key=lambda name: uses[name].vase_days)

    def _orders(self, use: str, cut: datetime | None) -> tuple[Order, ...]:
        uses, per_bunch = self._row.reading.farm.uses, self._row.entry.per_bunch or 10
        orders = [
            Order(
                leaves=moments.order_moment(order.when, uses[order.use or use].leaves),
                stems=None if order.stems is None else order.stems.stems(per_bunch),
                use=order.use or use,
            )
            for order in self._row.entry.needed or ()
        ]
        for order, typed in zip(orders, self._row.entry.needed or (), strict=True):
            day = order.leaves.date()
            if cut is None:
                continue
            if day < cut.date() or (typed.when.hour is not None and order.leaves < cut):
                self._row.refuse(
                    "needed", f"come after the cut, {said(cut)}, not on {day}", "Correct one of the two."
                )
            elif day - cut.date() > ORDER_AHEAD:
                must = f"be at most a year after the cut, {cut.date()}, not on {day}"
                self._row.refuse("needed", must, "Correct the year.")
        return tuple(sorted(orders, key=lambda order: order.leaves))

    def _stems(self, per_bunch: int) -> int | None:
        entry = self._row.entry
        shares = [share.stems for share in entry.split_from]
        counted = [share.stems(per_bunch) for share in shares if share is not None]
        if entry.stems is None:
            if shares and not counted:
                self._row.refuse(
                    "stems", "be filled in for a lot that was split off", "Write the stems it took along."
                )
            return sum(counted) if counted else None
        stems = entry.stems.stems(per_bunch)
        if stems > cells.MOST_STEMS:
            must = f"be at most {cells.MOST_STEMS:,} stems, not {stems:,}"
            self._row.refuse("stems", must, "Make two lots of it.")
        if counted and sum(counted) != stems:
            must = f"be the sum of what it was split from, {sum(counted)}"
            self._row.refuse("stems", must, "Correct one of the two, or leave the stems blank.")
        return stems
