"""How many stems of a lot are left after what happened to it, in the order in which it happened."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence

from tagmaker.record.journal.entries import Entry, Kind
from tagmaker.record.journal.rows import Change, SheetRow

_AWAY = frozenset({Kind.SOLD, Kind.THROWN_OUT, Kind.OUT})


def amounts_after(
    row: SheetRow,
    entries: Sequence[Entry],
    undone: Mapping[int, int],
    includes: int,
    in_sheet: Collection[str],
) -> Change:
    """The cells stems, gone and dumped after the entries, and what is left.

    The last count, or taking of everything, voids what happened before it: what is left follows from it and
    from what happened later. Without one it follows from the row and the entries that it does not count yet.
    What is left is always right; `gone` is what does not stand elsewhere, so it holds the unexplained too.

    Args:
        row: as the sheet has it
        entries: of this lot that speak of amounts, in the order in which they happened
        undone: number of an entry that was undone -> number of its undo
        includes: number of the last entry that the row counts already
        in_sheet: codes of lots in the sheet: a child there is counted by its row
    """
    force = [entry for entry in entries if entry.number not in undone]
    anchor = next((entry for entry in reversed(force) if _is_anchor(row, entry)), None)
    first = 0 if anchor is None else entries.index(anchor) + 1
    after = [entry for entry in entries[first:] if entry.number not in undone]
    change = Change(left=row.left)
    fresh = [entry for entry in force if _is_open(row, entry, includes, in_sheet)]
    back = [
        entry
        for entry in entries
        if undone.get(entry.number, 0) > includes and not _is_open(row, entry, includes, in_sheet)
    ]
    if not fresh and not back:
        return change
    if row.all_gone:
        return _after_all(row, fresh, change)
    open_anchor = anchor is not None and _is_open(row, anchor, includes, in_sheet)
    if not open_anchor:  # the row counts it, and with it whatever happened before
        fresh = [entry for entry in fresh if entry in after or _is_child_of(row, entry)]
        back = [entry for entry in back if entry in entries[first:]]
    stems = None if row.stems is None else row.stems + sum(_grown(row, e) for e in fresh)
    stems = None if stems is None else stems - sum(_grown(row, e) for e in back)
    split = row.split_off + sum(e.stems or 0 for e in fresh if _is_child_of(row, e))
    dumped = row.dumped + sum(e.stems or 0 for e in fresh if e.kind is Kind.THROWN_OUT)
    dumped -= sum(e.stems or 0 for e in back if e.kind is Kind.THROWN_OUT)
    if anchor is not None and open_anchor:
        left = _anchored(anchor) + sum(_delta(row, entry) for entry in after)
    elif row.left is None:
        gone = row.gone + sum(e.stems or 0 for e in fresh if e.kind in (Kind.SOLD, Kind.OUT))
        gone -= sum(e.stems or 0 for e in back if e.kind in (Kind.SOLD, Kind.OUT))
        return _written(row, change, None, gone, dumped)
    else:
        counted = [entry for entry in fresh if entry in after]
        left = row.left + sum(_delta(row, e) for e in counted) - sum(_delta(row, e) for e in back)
    return _balanced(row, change, stems, dumped, split, left)


def with_left(row: SheetRow, left: int | None, split: int) -> Change:
    """The cells that leave no more than so many, `split` stems having become lots of their own besides."""
    change = Change(left=row.left)
    if row.stems is None or left is None or row.all_gone:
        return change
    change = _balanced(row, change, row.stems, row.dumped, row.split_off + split, left)
    change.trouble = ""
    return change


def _balanced(row: SheetRow, change: Change, stems: int | None, dumped: int, split: int, left: int) -> Change:
    """The cells that leave so many; a trouble where they cannot, and then the careful figure."""
    if stems is None:
        return _written(row, change, row.gone + dumped + split + left, row.gone, dumped, left)
    if left < 0:
        change.trouble = f"{-left} stems more were taken than there were"
        left = 0
    gone = stems - dumped - split - left
    if gone < 0:
        change.trouble = change.trouble or f"{-gone} stems more are there than can be"
        dumped = min(dumped, max(stems - split, 0))
        left = min(left, max(stems - split - dumped, 0))
        gone = max(stems - dumped - split - left, 0)
    return _written(row, change, stems, gone, dumped, left)


def _written(
    row: SheetRow, change: Change, stems: int | None, gone: int, dumped: int, left: int | None = None
) -> Change:
    for column, was, now in (
        ("stems", row.stems, stems),
        ("gone", row.gone, gone),
        ("dumped", row.dumped, dumped),
    ):
        if now is not None and now != was:
            change.cells[column] = str(now)
    change.left = left
    return change


def _after_all(row: SheetRow, fresh: Sequence[Entry], change: Change) -> Change:
    """A row that says all counts what the journal holds besides; only stems that are there contradict it."""
    there = sum(_grown(row, entry) for entry in fresh)
    counted = [entry.stems or 0 for entry in fresh if entry.kind is Kind.COUNT]
    if there > 0 or (counted and counted[-1] > 0):
        change.trouble = "the row says that all are gone, and the journal that some are there"
    return change


def _is_open(row: SheetRow, entry: Entry, includes: int, in_sheet: Collection[str]) -> bool:
    """Whether the row does not count an entry yet; a child counts as soon as it has a row of its own."""
    if _is_child_of(row, entry):
        return entry.child not in in_sheet
    return entry.number > max(includes, row.born)


def _is_child_of(row: SheetRow, entry: Entry) -> bool:
    """Whether stems of this row became a lot of their own."""
    return bool(entry.child) and entry.child not in row.names


def _is_anchor(row: SheetRow, entry: Entry) -> bool:
    return not _is_child_of(row, entry) and (
        entry.kind is Kind.COUNT or (entry.everything and entry.kind in _AWAY)
    )


def _anchored(entry: Entry) -> int:
    return (entry.stems or 0) if entry.kind is Kind.COUNT else 0


def _grown(row: SheetRow, entry: Entry) -> int:
    """Stems by which the lot grew: cut later, or come back to it as a child."""
    return (entry.stems or 0) if entry.kind is Kind.MORE or entry.child in row.names else 0


def _delta(row: SheetRow, entry: Entry) -> int:
    """What an entry does to the stems that stand here."""
    stems = entry.stems or 0
    if _is_child_of(row, entry):
        return 0 if entry.kind is Kind.CAME_BACK else -stems
    return -stems if entry.kind in _AWAY else _grown(row, entry)
