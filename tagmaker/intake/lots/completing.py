"""From an entry to a lot: blanks filled, hours found, and contradictions caught.

The counts of stems are judged later, when all lots that were split off are known.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from typing import Any

from tagmaker.errors import Problem
from tagmaker.intake.cells import moments
from tagmaker.intake.cells import readers as cells
from tagmaker.intake.cells.dates import SheetCut
from tagmaker.intake.cells.lists import OUTSIDE
from tagmaker.intake.cells.plain_text import listed
from tagmaker.intake.cells.readers import Amount
from tagmaker.intake.cells.reading import Reading
from tagmaker.intake.cells.unfit import UnfitCellError
from tagmaker.intake.columns import COLUMNS
from tagmaker.intake.lots.column import Judged
from tagmaker.intake.lots.entry import Entry
from tagmaker.intake.lots.inheritance import with_parents, with_usual
from tagmaker.lot import Lot, Move, Order, StorageCode, Surface


@dataclass(frozen=True, slots=True)
class _Times:
    """The moments of a lot, and how its surface is since the last of them."""

    cut: datetime
    in_cooler: datetime | None  # None: still wet
    in_water: datetime | None
    moves: tuple[Move, ...]
    surface: Surface
    place: str


PLAN_AHEAD = timedelta(days=45)  # a cut further ahead needs the word plan (chosen)
ORDER_AHEAD = timedelta(days=366)  # an order is no later after the cut (chosen)
_NONE = Amount()  # nothing gone, or dumped
MOST_ORIGINS = 24  # lots that one may come from, however far back (chosen: each is dated alone)


class Completion:
    """One row on its way from an entry to a lot."""

    def __init__(self, entry: Entry, usual: Entry, parents: Sequence[Lot], reading: Reading) -> None:
        self._typed = entry  # what the grower wrote
        self._parents = parents
        self._reading = reading
        self._usual = usual
        self.problems: list[Problem] = []
        self._entry = (
            with_parents(entry, parents, reading) if parents else with_usual(entry, usual, reading.crops)
        )

    def lot(self) -> Lot | None:
        """The lot, without the stems that are gone or split off; None if there are problems."""
        crop, form, assumed = self._crop()
        self._check_parents(crop)
        self._check_storage(crop, self._ways(crop, form))
        times = self._times()
        use = self._use()
        orders = self._orders(use, times.cut if times else None)
        stems = self._stems(self._entry.per_bunch or 10)
        if self.problems or self._entry.faulty or times is None:
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
        alone = self._alone()
        return None if self.problems else replace(lot, alone=alone)

    def _alone(self) -> tuple[Lot, ...]:
        """The lot as the child of each of its parents, where it has several."""
        origins: list[Lot] = []
        for parent in self._parents:
            origins += [lot for lot in parent.alone or (parent,) if lot not in origins]
        if len(origins) > MOST_ORIGINS:
            must = f"go back to at most {MOST_ORIGINS} lots"
            self._refuse("split from", must, "Start a bucket of leftovers of its own.")
        elif len(origins) > 1:
            each = [Completion(self._typed, self._usual, [origin], self._reading) for origin in origins]
            lots = [lot for lot in (completion.lot() for completion in each) if lot is not None]
            self.problems += dict.fromkeys(problem for completion in each for problem in completion.problems)
            return tuple(lots)
        return ()

    def _as_written(self, cut: datetime, crop: str, use: str) -> Lot:
        """The lot with what its cells say, blanks filled where nothing needs to be worked out."""
        entry, row, farm = self._entry, self._entry.row, self._reading.farm
        written = entry.cut is not None and entry.cut.plan
        planned = written or cut.date() > self._reading.now.date()
        kept: dict[str, Any] = {
            column.field: entry.values.get(column.name, column.otherwise)
            for column in COLUMNS
            if column.otherwise is not Judged.WITH_ITS_ROW
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
        typed, found = self._typed.row, {}
        for column in COLUMNS:
            name = self._entry.values.get(column.name)
            if not column.papers or not isinstance(name, str) or name.isascii():
                continue
            inherited = (
                lot.name_cells[column.field] for lot in self._parents if column.field in lot.name_cells
            )
            elsewhere = next(inherited, self._usual.row.where)
            found[column.field] = typed.place(column.name) if column.name in typed.cells else elsewhere
        return found

    def _refuse(self, column: str, must: str, remedy: str, got: str = "") -> None:
        """Note that a cell contradicts the rest of its row, unless it could not be read at all."""
        if column in self._entry.faulty:
            return
        found = got or self._typed.got(column)
        what = f"{column} must {must} (got {found})"
        self.problems.append(self._entry.row.problem(column, what, remedy, self._entry.lot))

    def _crop(self) -> tuple[str, str, bool]:
        """Crop, form, and whether the form is assumed; "" for a crop that is missing or unreadable."""
        crop, form = self._entry.crop, self._entry.form
        if crop is None:
            if not self._parents:
                self._refuse("crop", "be filled in", "Write what was cut, like tulip.")
            return "", "", False
        if not form:
            forms = self._reading.crops.forms(crop)
            return (crop, self._reading.crops.shortest_form(crop), True) if forms else (crop, "", False)
        try:
            return crop, cells.crop_form(form, crop, self._reading.crops), self._entry.form_assumed
        except UnfitCellError as unfit:
            self._refuse("form", f"be {unfit.must}", unfit.remedy)
            return crop, "", False

    def _ways(self, crop: str, form: str) -> frozenset[StorageCode]:
        """Ways in which the crop is kept; all where it is not known."""
        ways = self._reading.crops.ways(crop, form)
        return frozenset(way.code for way in ways) if ways else frozenset(StorageCode)

    def _check_parents(self, crop: str) -> None:
        parents, typed = self._parents, self._typed
        if not parents:
            return
        crops = sorted({lot.crop for lot in parents})
        codes = listed((lot.lot_code for lot in parents), "and")
        if len(crops) > 1:
            remedy = "Make a lot of its own for each crop."
            self._refuse("split from", f"name lots of one crop, not of {listed(crops, 'and')}", remedy)
        elif crop and crop not in crops:
            self._refuse("crop", f"be {crops[0]}, as in lot {codes}", "Correct it, or leave it blank.")
        if typed.bulb and any(lot.bulb is False for lot in parents):
            self._refuse("bulb", f"be off, as it is off in lot {codes}", "Correct one of them.")

    def _check_storage(self, crop: str, ways: frozenset[StorageCode]) -> None:
        entry = self._entry
        if entry.bulb and entry.storage is StorageCode.WATER:
            remedy = "Take the bulb off for water, or leave the storage blank."
            self._refuse("bulb", "be off for stems kept in water", remedy)
        elif entry.bulb and StorageCode.BULB not in ways:
            self._refuse(
                "bulb", f"be off: {crop} is not kept with a bulb on", "Write off, or leave it blank."
            )
        if entry.storage is not None and entry.storage not in ways:
            known = listed(way.value.lower() for way in sorted(ways) if way is not StorageCode.BULB)
            remedy = "Correct it, or leave it blank to have it decided."
            self._refuse("storage", f"be {known} for {crop}", remedy)

    def _times(self) -> _Times | None:
        """When it was cut, went in, into water and elsewhere; None where the cut is not known."""
        entry = self._entry
        if entry.cut is None:
            day = self._reading.now.date()
            self._refuse("cut", "be filled in", f"Write the day of the cut, like {day}.")
            return None
        workday, now = self._reading.farm.workday, self._reading.now
        cut = moments.cut_moment(entry.cut.when, entry.in_cooler, workday, now)
        self._check_plan(entry.cut)
        self._check_tests(cut)
        in_cooler, surface = self._in_cooler(cut)
        moves = self._moves(in_cooler)
        return _Times(cut, in_cooler, self._in_water(cut), moves, surface, self._place(moves))

    def _check_plan(self, cut: SheetCut) -> None:
        """What is not cut yet cannot have left, gone in or been moved; nor is it a year away."""
        typed, today = self._typed, self._reading.now.date()
        if not cut.plan and cut.when.day <= today:
            return
        if not cut.plan and cut.when.day - today > PLAN_AHEAD:
            ahead = (cut.when.day - today).days
            must = f"be at most {PLAN_AHEAD.days} days ahead, not {ahead}"
            self._refuse("cut", must, f"Correct it, or write plan {cut.when.day}.")
        for column in ("gone", "dumped", "in cooler", "in water", "moved"):
            if typed.values.get(column, _NONE) != _NONE:
                remedy = (
                    f"Clear it, or write the day of the cut without the word plan (cut: {typed.got('cut')})."
                )
                self._refuse(column, "be blank for a plan", remedy)

    def _check_tests(self, cut: datetime) -> None:
        if any(test.day < cut.date() for test in self._typed.tested or ()):
            self._refuse("tested", f"come after the cut, {_said(cut)}", "Correct one of the two.")

    def _place(self, moves: Sequence[Move]) -> str:
        """Where in its cooler the lot stands now: a move of its own drops the place, unless it names one."""
        own = moves[len(moves) - len(self._typed.moved or ()) :]
        made = [move for move in own if move.since <= self._reading.now]
        return made[-1].spot if made else self._entry.place or ""

    def _in_cooler(self, cut: datetime) -> tuple[datetime | None, Surface]:
        """When it went in, None while it is wet; and how its surface is since then."""
        entry = self._entry
        surface = entry.surface or Surface.DRY
        if surface is Surface.WET:
            if entry.in_cooler is None:
                return None, surface
            surface = Surface.DRIED
        moment = moments.in_cooler_moment(entry.in_cooler, cut, self._reading.farm.workday)
        got = _got_moment(self._typed, "in cooler", moment)
        if moment < cut:
            self._refuse("in cooler", f"be after the cut, {_said(cut)}", "Correct one of the two.", got)
        elif self._typed.in_cooler is not None and moment.date() > self._reading.now.date():
            must = f"not lie after today, {self._reading.now.date()}"
            self._refuse("in cooler", must, "Leave it blank until the stems stand there.", got)
        return moment, surface

    def _in_water(self, cut: datetime) -> datetime | None:
        entry, now = self._entry, self._reading.now
        if entry.in_water is None:
            return None
        moment = moments.in_water_moment(entry.in_water, cut, self._reading.farm.workday, now)
        got = _got_moment(self._typed, "in water", moment)
        if moment < cut:
            self._refuse("in water", f"be after the cut, {_said(cut)}", "Correct one of the two.", got)
        elif moment > now:
            remedy = "Leave it blank until the stems stand in water."
            self._refuse("in water", f"not lie in the future, after {_said(now)}", remedy, got)
        return moment

    def _moves(self, in_cooler: datetime | None) -> tuple[Move, ...]:
        moved = self._entry.moved or ()
        if in_cooler is None and self._typed.moved:
            must = "be blank for a lot that is still wet and has not gone in"
            self._refuse("moved", must, "Fill in the column in cooler first.")
        if in_cooler is None:
            return ()
        moves: list[Move] = []
        before, out = in_cooler, False
        inherited = len(moved) - len(self._typed.moved or ())
        for index, move in enumerate(moved):
            workday = self._reading.farm.workday
            since = moments.move_moment(move.when, before, back=out, workday=workday)
            if since < before and index < inherited:
                continue  # of several parents, one that went in later
            if since < before:
                after = "in cooler" if not moves else "the move before it"
                must = f"name its moves in order: {move.place} must come after {after}, {_said(before)}"
                self._refuse("moved", must, "Correct the dates or their order.")
                return ()
            moves.append(
                Move(since=since, place=move.place, temperature_c=move.temperature_c, spot=move.spot)
            )
            before, out = since, move.place == OUTSIDE
        return tuple(moves)

    def _use(self) -> str:
        """The use of the row, or the one that promises the most vase days."""
        uses = self._reading.farm.uses
        return self._entry.use or max(uses, key=lambda name: uses[name].vase_days)

    def _orders(self, use: str, cut: datetime | None) -> tuple[Order, ...]:
        uses, per_bunch = self._reading.farm.uses, self._entry.per_bunch or 10
        orders = [
            Order(
                leaves=moments.order_moment(order.when, uses[order.use or use].leaves),
                stems=None if order.stems is None else order.stems.stems(per_bunch),
                use=order.use or use,
            )
            for order in self._entry.needed or ()
        ]
        for order, typed in zip(orders, self._entry.needed or (), strict=True):
            day = order.leaves.date()
            if cut is None:
                continue
            if day < cut.date() or (typed.when.hour is not None and order.leaves < cut):
                self._refuse(
                    "needed", f"come after the cut, {_said(cut)}, not on {day}", "Correct one of the two."
                )
            elif day - cut.date() > ORDER_AHEAD:
                must = f"be at most a year after the cut, {cut.date()}, not on {day}"
                self._refuse("needed", must, "Correct the year.")
        return tuple(sorted(orders, key=lambda order: order.leaves))

    def _stems(self, per_bunch: int) -> int | None:
        entry = self._entry
        shares = [share.stems for share in entry.split_from]
        counted = [share.stems(per_bunch) for share in shares if share is not None]
        if entry.stems is None:
            if shares and not counted:
                self._refuse(
                    "stems", "be filled in for a lot that was split off", "Write the stems it took along."
                )
            return sum(counted) if counted else None
        stems = entry.stems.stems(per_bunch)
        if stems > cells.MOST_STEMS:
            must = f"be at most {cells.MOST_STEMS:,} stems, not {stems:,}"
            self._refuse("stems", must, "Make two lots of it.")
        if counted and sum(counted) != stems:
            must = f"be the sum of what it was split from, {sum(counted)}"
            self._refuse("stems", must, "Correct one of the two, or leave the stems blank.")
        return stems


def _said(moment: datetime) -> str:
    return f"{moment:%Y-%m-%d %H:%M}"


def _got_moment(typed: Entry, column: str, moment: datetime) -> str:
    """What the grower wrote, or the moment where it comes from elsewhere."""
    return typed.got(column) if column in typed.row.cells else _said(moment)
