"""What the journal writes into the cells of a row, amounts apart, and the rows of lots born in it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import datetime

from tagmaker.record.journal.entries import Entry, Kind, Topic
from tagmaker.record.journal.kept import Keeping, writing_of
from tagmaker.record.journal.rows import SheetRow, joined, plain, said

OUTSIDE = "out"


def cells_after(
    row: SheetRow, entries: Sequence[Entry], undone: Mapping[int, int], includes: Mapping[Topic, int]
) -> dict[str, str]:
    """The cells that the entries change, those of amounts apart.

    Args:
        row: as the sheet has it
        entries: of this lot, in the order in which they happened
        undone: number of an entry that was undone -> number of its undo
        includes: topic -> number of the last entry that the row counts already; absent: none
    """
    cells: dict[str, str] = {}
    keeping = Keeping()
    for entry in entries:
        along = keeping.follow(entry) if entry.number not in undone else []
        if entry.child:
            for old, new in along if entry.number > max(includes.get(Topic.PLAN, 0), row.born) else ():
                needed = row.with_cells(cells).cells.get("needed", "")
                cells["needed"] = _replaced(needed, old, new)
            continue
        last = max(includes.get(entry.topic or Topic.PLAN, 0), row.born)
        counted, now = entry.number <= last, row.with_cells(cells)
        if entry.number in undone:
            cells |= _taken_back(now, entry) if counted and undone[entry.number] > last else {}
        elif not counted:
            cells |= _written(now, entry)
    return {column: text for column, text in cells.items() if text != row.cells.get(column, "")}


def _written(row: SheetRow, entry: Entry) -> Mapping[str, str]:
    """The cells that one entry changes."""
    old = row.cells
    match entry.kind:
        case Kind.INTO_WATER:
            return {} if old.get("in water") else {"in water": said(entry.happened)}
        case Kind.MOVED:
            return {"moved": _moves(row, entry)}
        case Kind.TESTED | Kind.KEPT:
            column = "tested" if entry.kind is Kind.TESTED else "needed"
            before, instead = old.get(column, ""), entry.text("instead")
            kept = _without(before, instead) if instead else before
            return {column: joined(kept, _went(entry), writing(entry))}
        case Kind.DRIED:
            went_in = {} if old.get("in cooler") else {"in cooler": said(entry.happened)}
            return {"surface": "dried", **(went_in if plain(old.get("surface", "")) == "wet" else {})}
        case Kind.NOTE | Kind.MOULD:
            return {"note": joined(old.get("note", ""), writing(entry))}
        case Kind.PLANNED | Kind.CUT | Kind.CORRECTED | Kind.SETTLE:
            return given_cells(entry)
        case Kind.THROWN_OUT if entry.text("why") and not old.get("why dumped"):
            return {"why dumped": entry.text("why")}
    return {}


def _went(entry: Entry) -> str:
    """What had gone without an order when stems were kept: an order of then, for it uses up no later one."""
    went = entry.text("gone") if entry.kind is Kind.KEPT else ""
    return f"{said(entry.happened)} {entry.text('use')} x {went}" if went else ""


def _taken_back(row: SheetRow, entry: Entry) -> Mapping[str, str]:
    """The opposite of an entry that the row counts already, as far as its own writing stands there."""
    if entry.kind is Kind.INTO_WATER:
        same = plain(row.cells.get("in water", "")) == plain(said(entry.happened))
        return {"in water": ""} if same else {}
    column = {Kind.MOVED: "moved", Kind.TESTED: "tested", Kind.KEPT: "needed"}.get(entry.kind)
    if column is None:
        return {}
    return {column: _without(row.cells.get(column, ""), writing(entry))}


def writing(entry: Entry) -> str:
    """What an entry adds to a cell that holds several."""
    match entry.kind:
        case Kind.MOVED:
            return _move(entry.cooler, entry.place, entry.happened)
        case Kind.TESTED:
            return f"{entry.happened:%Y-%m-%d} {entry.text('found')}".strip()
        case Kind.KEPT:
            return writing_of(entry, entry.stems or 0)
        case Kind.MOULD:
            return f"mould seen {entry.happened:%Y-%m-%d}"
    return entry.text("text")


def _without(text: str, part: str) -> str:
    """A cell of several without one of them."""
    return _replaced(text, part, "")


def _replaced(text: str, part: str, by: str) -> str:
    """A cell of several with another in place of one, however it was written: of two alike the last."""
    pieces = text.replace("\n", ";").split(";")
    same = [n for n, piece in enumerate(pieces) if plain(piece) == plain(part)]
    return joined(*(by if n in same[-1:] else piece for n, piece in enumerate(pieces)))


def _move(cooler: str, place: str, moment: datetime) -> str:
    return f"{cooler}, {place} {said(moment)}" if place else f"{cooler} {said(moment)}"


def _moves(row: SheetRow, entry: Entry) -> str:
    """The moves with one more, where it belongs in time; a lot does not move before it went in."""
    moment = max(entry.happened, row.in_cooler or entry.happened)
    new = _move(entry.cooler, entry.place, moment)
    pieces = [piece for piece in row.cells.get("moved", "").replace("\n", ";").split(";") if piece.strip()]
    later = sum(move.since > moment for move in row.moves)
    own = len(row.moves) - later if len(pieces) == len(row.moves) else len(pieces)
    return joined(*pieces[:own], new, *pieces[own:])


def given_cells(entry: Entry) -> dict[str, str]:
    """The cells that an entry brings along: column -> text."""
    cells = entry.details.get("cells")
    return {str(column): str(text) for column, text in cells.items()} if isinstance(cells, Mapping) else {}


def born_row(entries: Sequence[Entry], parent: SheetRow | None, code: str) -> SheetRow:
    """The row of a lot that was born in the journal.

    Args:
        entries: the new lot alone; or those, in force and in the order in which they happened, by which stems
            of the parent became this lot: several where a market day's buckets came back one by one
        parent: the lot that it came from
        code: its code
    """
    first = min(entries, key=lambda entry: entry.number)
    if parent is None:
        cells, moment = {**given_cells(first), "lot": code}, first.happened
        cut = first.moment("cut") or moment
        return SheetRow(
            code=code,
            cells=cells,
            where=f"journal, entry {first.number}",
            cut=cut.date(),
            planned=first.details.get("planned") is True,
            stems=first.stems,
            per_bunch=int(str(first.details.get("per_bunch", 10))),
            in_cooler=first.moment("in_cooler"),
            born=first.number,
        )
    cells = {"lot": code, "split from": parent.code, "stems": str(first.stems or 0)}
    if first.kind is Kind.INTO_WATER:
        cells |= {"in water": said(first.happened)}
        if leaves := first.text("leaves"):
            cells |= {"use": first.text("use"), "needed": f"{leaves} x {first.stems}"}
    elif first.kind is Kind.PLANNED:
        cells |= given_cells(first)
    elif first.kind is Kind.MOVED:
        cells["moved"] = _move(
            first.cooler, first.place, max(first.happened, parent.in_cooler or first.happened)
        )
    else:
        went = min(entry.moment("went") or entry.happened for entry in entries)
        came = max(entry.happened for entry in entries)
        out = f"{OUTSIDE} {said(went)} {first.text('temperature')}"
        cells["moved"] = joined(out, _move(first.cooler, first.place, came))
    return SheetRow(
        code=code,
        cells={column: text for column, text in cells.items() if text},
        where=f"journal, entry {first.number}",
        cut=parent.cut,
        stems=first.stems,
        per_bunch=parent.per_bunch,
        in_cooler=parent.in_cooler,
        parents=(parent.code,),
        born=first.number,
    )
