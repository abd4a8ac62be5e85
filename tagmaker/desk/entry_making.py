"""An entry, out of what was said and what sheet and journal know of its lot."""

from __future__ import annotations

import secrets
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime
from pathlib import Path

from tagmaker.desk.computer import this_computer
from tagmaker.desk.entry_words import Said, cells_of
from tagmaker.desk.season_journal import SheetJournal, read_with_journal
from tagmaker.errors import InputProblems, UsageProblem
from tagmaker.farm import Farm
from tagmaker.intake.cells.readers import lot_code
from tagmaker.intake.cells.unfit import UnfitCellError
from tagmaker.intake.opening import Opened, open_season
from tagmaker.lot import Lot
from tagmaker.record.journal.entries import Entry, Kind, Topic, in_force, utc_of
from tagmaker.record.journal.kept import kept_stems, writing_of
from tagmaker.record.journal.laid import LotState
from tagmaker.record.journal.naming import free_child_code
from tagmaker.storage.crops import CropTable, crop_table

Clock = Callable[[str | None], datetime]  # local time in a time zone; None: in the machine's own


@dataclass(frozen=True, slots=True, kw_only=True)
class Yard:
    """Where and when something is entered."""

    sheet: Path
    farm: Farm
    crops: CropTable
    now: datetime  # at which it happened
    clock: datetime  # at which it is recorded
    as_of: datetime | None = None  # as of when the lot is looked at; None: after all that was entered
    opened: Opened | None = None  # settings and rows, where they were read for this

    @classmethod
    def of(cls, sheet: Path, today: tuple[date, datetime | None] | None, clock: Clock) -> Yard:
        """The yard of a sheet, now or on another day; without an hour, at the start of its workday."""
        opened = open_season(sheet)
        farm = opened.farm
        now = clock(farm.timezone)
        happened = now
        if today is not None:
            happened = today[1] or farm.workday.start(today[0])
        return cls(
            sheet=sheet,
            farm=farm,
            crops=crop_table(farm.crops),
            now=happened.replace(second=0, microsecond=0),
            clock=now,
            opened=opened,
        )

    def journal(self, now: datetime | None = None) -> SheetJournal:
        """Sheet and journal as of a moment, or of its own; raises InputProblems where there is no sheet."""
        rows = self.opened.sheet() if self.opened else None
        return read_with_journal(self.sheet, self.farm, self.crops, now or self.now, opened=rows)


def code_named(text: str) -> str:
    """The code of a lot, as typed for a command."""
    try:
        return lot_code(text)
    except UnfitCellError as unfit:
        raise UsageProblem(f"LOT must be {unfit.must} (got {text!r}). {unfit.remedy}") from None


def stands_in(lot: Lot) -> str:
    """The cooler that a lot stands in now."""
    inside = [move.place for move in lot.moves if move.place != "out"]
    return inside[-1] if inside else lot.cooler


def plain_entry(yard: Yard, code: str, said: Said) -> Entry:
    """The entry as its words alone say it."""
    return Entry(
        id=secrets.token_hex(8),
        happened=yard.now,
        happened_utc=utc_of(yard.now, yard.farm.timezone),
        recorded=yard.clock,
        recorded_utc=utc_of(yard.clock, yard.farm.timezone),
        lot=code,
        kind=said.kind,
        stems=said.stems,
        cooler=said.cooler,
        place=said.place,
        device=this_computer().split(" ")[0],
        undoes=said.undoes,
        details=said.details,
    )


def whole_entry(yard: Yard, code: str, said: Said, found: SheetJournal) -> Entry:
    """The entry with what only journal and sheet together tell: codes of children, what it answers."""
    entry = plain_entry(yard, code, said)
    state = found.laid.lots.get(code)
    own = list(state.entries) if state else []
    details = dict(said.details)
    match said.kind:
        case Kind.UNDO:
            return replace(entry, undoes=_to_undo(found, code, said.undoes).number)
        case Kind.CAME_BACK:
            details |= _answers(own, yard.now, found, code, said)
        case Kind.MOVED | Kind.INTO_WATER if said.part:
            details["child"] = free_child_code(code, found.used)
        case Kind.PLANNED if said.part:
            details["child"] = _planned_alike(own, code, details) or free_child_code(code, found.used)
        case Kind.NEW_LOT:
            return replace(entry, **_born(found, entry))  # type: ignore[arg-type]
        case Kind.CORRECTED:
            if state is None or not any(e.kind is Kind.NEW_LOT for e in own) or state.in_sheet:
                raise UsageProblem(f"corrected must be a lot that stands in the journal alone (got {code})")
            stems = cells_of(details).get("stems", "")
            return replace(entry, details=details, stems=int(stems) if stems.isdigit() else None)
        case Kind.KEPT:
            details |= _instead(own, details)
            went = _went_before(found, code, details)
            details |= {"gone": went} if went else {}
        case Kind.SETTLE:
            return replace(entry, details=_chosen(state, details))
    return replace(entry, details=details)


def _born(found: SheetJournal, entry: Entry) -> dict[str, object]:
    """What has to be known of a new lot before it is read as a row."""
    after, _ = found.with_entry(entry)
    problems = [problem for problem in after.problems if problem.lot == entry.lot]
    if problems:
        raise InputProblems(problems)
    lot = next(lot for lot in after.lots if lot.lot_code == entry.lot)
    more: dict[str, object] = {"cut": lot.cut.isoformat(), "per_bunch": lot.per_bunch, "planned": lot.planned}
    if lot.in_cooler is not None:
        more["in_cooler"] = lot.in_cooler.isoformat()
    return {"stems": lot.stems, "details": {**entry.details, **more}}


def _answers(
    own: Sequence[Entry], now: datetime, found: SheetJournal, code: str, said: Said
) -> Mapping[str, object]:
    """The newest out that nothing came back from yet, or of today; and the lot that what came back is."""
    force = in_force(own)
    outs = [entry for entry in force if entry.kind is Kind.OUT]
    answered = {entry.details.get("answers") for entry in force if entry.kind is Kind.CAME_BACK}
    open_outs = [entry for entry in outs if entry.number not in answered]
    if len(open_outs) > 1:
        days = " and ".join(f"entry {e.number} ({e.happened:%Y-%m-%d %H:%M})" for e in open_outs)
        raise UsageProblem(
            f"back must belong to one market (got {days}): enter what is not out any more first"
        )
    same_day = [entry for entry in outs if entry.happened.date() == now.date()]
    if not open_outs and not same_day:
        raise UsageProblem(f"back must follow an out (got none of lot {code} that is not answered)")
    out = (open_outs or same_day)[-1]
    backs = [e for e in force if e.kind is Kind.CAME_BACK and e.details.get("answers") == out.number]
    here = sum(entry.stems or 0 for entry in backs) + (said.stems or 0)
    if here > (out.stems or 0):
        raise UsageProblem(f"back must be at most what went out, {out.stems} stems (got {here})")
    details: dict[str, object] = {"answers": out.number, "went": out.happened.isoformat()}
    if out.text("temperature"):
        details["temperature"] = out.text("temperature")
    if said.part:
        day = [e for e in force if e.kind is Kind.CAME_BACK and e.child and e.happened.date() == now.date()]
        details["child"] = day[-1].child if day else free_child_code(code, found.used)
    return details


def _instead(own: Sequence[Entry], details: Mapping[str, object]) -> Mapping[str, object]:
    """What an earlier word about the same order had written."""
    order = details.get("order")
    same = [e for e in in_force(own) if e.kind is Kind.KEPT and order and e.details.get("order") == order]
    if not same:
        return {}
    old = same[-1]
    stems = kept_stems(in_force(own)).get(old.number, 0)
    return {"instead": writing_of(old, stems)} if stems else {}


def _went_before(found: SheetJournal, code: str, details: Mapping[str, object]) -> int:
    """Stems that went without an order: they are written as one, else they would use up what is kept now."""
    lot = next((lot for lot in found.lots().lots if lot.lot_code == code), None)
    if lot is None or any(order.stems is None for order in lot.orders):
        return 0
    ordered = sum(order.stems or 0 for order in lot.orders)
    instead = str(details.get("instead", ""))
    return max(lot.gone - ordered + (int(instead.rpartition(" x ")[2]) if instead else 0), 0)


def _planned_alike(own: Sequence[Entry], code: str, details: Mapping[str, object]) -> str:
    """The lot that stems of a plan became which were to be kept in the same way; "" for none."""
    cells = cells_of(details)
    alike = [
        entry
        for entry in in_force(own)
        if entry.kind is Kind.PLANNED
        and entry.lot == code
        and entry.child
        and cells_of(entry.details) == cells
    ]
    return alike[-1].child if alike else ""


def _chosen(state: LotState | None, details: Mapping[str, object]) -> dict[str, object]:
    """The cells that a choice makes true; none where the row's own are."""
    topic = Topic(str(details["topic"]))
    item = next((item for item in state.unsettled if item.topic is topic), None) if state else None
    if item is None:
        raise UsageProblem(f"settle must name what is TO SETTLE (got {topic.value}, which is settled)")
    cells = dict(item.cells) if details["take"] == "journal" else {}
    return {"topic": topic.value, "cells": cells}


# --- undo --------------------------------------------------------------------------------------------------


def _to_undo(found: SheetJournal, code: str, number: int | None) -> Entry:
    """The entry that is undone: the lot's last one, or the one that is named.

    Raises:
        UsageProblem: there is none, or later ones stand on it.
    """
    state = found.laid.lots.get(code)
    names = state.row.names | {code} if state else {code}
    force = [entry for entry in in_force(found.book.entries) if names & {entry.lot, entry.child}]
    own = sorted((entry for entry in force if entry.lot in names), key=lambda entry: entry.number)
    target = next((e for e in reversed(own) if number in (None, e.number)), None)
    if target is None:
        raise UsageProblem(
            f"undo must name an entry of lot {code} that is not undone (got {number or 'none'})"
        )
    child = found.laid.lots.get(target.child) if target.child else None
    of_child = [e for e in in_force(found.book.entries) if target.child and target.child in (e.lot, e.child)]
    later = [entry for entry in (*force, *of_child) if entry.number > target.number]
    counted = state is not None and state.in_sheet and target.number <= _includes(state, target)
    if later:
        raise UsageProblem(
            f"undo must be the last word about its lot (got entry {target.number}, and later ones, the last "
            f'{max(e.number for e in later)}). Count what is left instead: "count 7".'
        )
    in_sheet = child is not None and child.in_sheet
    if in_sheet or (counted and target.kind in (Kind.COUNT, Kind.RENAMED, Kind.SETTLE, Kind.CUT, Kind.NOTE)):
        what = f"lot {target.child}" if in_sheet else f'"{target.kind.value}"'
        raise UsageProblem(f"the sheet counts {what} already: correct it there, or count what is left")
    settled = (
        any(p.includes == target.number - 1 > 0 and p.lot == state.key for p in found.book.pairs)
        if state
        else 0
    )
    if target.kind is Kind.COUNT and settled and any(e.number < target.number for e in own):
        raise UsageProblem("a count that settled something stays: count again instead")
    return target


def _includes(state: LotState, entry: Entry) -> int:
    topic = entry.topic or Topic.PLAN
    return state.judged[topic].includes
