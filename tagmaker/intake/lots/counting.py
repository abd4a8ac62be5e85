"""How many stems each lot has left: what is gone, dumped and split off, and whether it adds up."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace

from tagmaker.errors import Problem
from tagmaker.intake.cells.plain_text import listed
from tagmaker.intake.cells.readers import Amount
from tagmaker.intake.lots.entry import Entry
from tagmaker.lot import Lot


@dataclass(slots=True)
class _SplitOff:
    """What was split off from one lot."""

    stems: int = 0
    children: list[tuple[Entry, int]] = field(default_factory=list)
    uncounted: list[str] = field(default_factory=list)  # codes of children whose stems cannot be read


def counted_lots(
    lots: Mapping[str, Lot], entries: Sequence[Entry], report: Callable[[Problem], None]
) -> dict[str, Lot]:
    """The lots with their stems gone, dumped and split off.

    Args:
        lots: completed lots by code, none of their stems counted yet.
        entries: all rows, those with problems too: what they took from their parents is gone from there.
        report: takes the problems of rows that do not add up; their lots are among the result.
    """
    split_off: dict[str, _SplitOff] = {}
    for entry in entries:
        _take_from_parents(entry, lots, split_off)
    by_code = {entry.lot: entry for entry in entries}
    return {
        code: _counted(lot, by_code[code], split_off.get(code, _SplitOff()), report)
        for code, lot in lots.items()
    }


def _take_from_parents(entry: Entry, lots: Mapping[str, Lot], split_off: dict[str, _SplitOff]) -> None:
    own = lots.get(entry.lot)
    for share in entry.split_from:
        taken = split_off.setdefault(share.parent, _SplitOff())
        parent = lots.get(share.parent)
        per_bunch = own.per_bunch if own else entry.per_bunch or (parent.per_bunch if parent else 10)
        stems = share.stems or entry.stems
        count = own.stems if own and share.stems is None else stems.stems(per_bunch) if stems else None
        if count is None:
            taken.uncounted.append(entry.lot or "without a code")
        else:
            taken.stems += count
            taken.children.append((entry, count))


def _counted(lot: Lot, entry: Entry, taken: _SplitOff, report: Callable[[Problem], None]) -> Lot:
    def refuse(column: str, what: str, remedy: str) -> None:
        report(entry.row.problem(column, what, remedy, lot.lot_code))

    gone, dumped = entry.gone or Amount(), entry.dumped or Amount()
    if taken.uncounted:
        names = listed(taken.uncounted, "and")
        what = f"stems left must be known (got lot {names} split off, without readable stems)"
        refuse("stems", what, "Correct the row that was split off.")
    if gone.everything and dumped.everything:
        refuse(
            "dumped",
            'dumped must be a number where gone is "all" (got "all" twice)',
            "Write one of them as a number.",
        )
        return lot
    for column, amount in (("gone", gone), ("dumped", dumped)):
        if amount.everything and lot.stems is None:
            what = f"{column} must be a number where the stems are not filled in (got {entry.got(column)})"
            refuse(column, what, "Fill in the stems that were cut.")
            return lot
    fixed = sum(a.stems(lot.per_bunch) for a in (gone, dumped) if not a.everything) + taken.stems
    rest = max((lot.stems or 0) - fixed, 0)
    gone_stems = rest if gone.everything else gone.stems(lot.per_bunch)
    dumped_stems = rest if dumped.everything else dumped.stems(lot.per_bunch)
    lot = _with_counts(lot, gone_stems, dumped_stems, taken.stems)
    if lot.stems is not None and fixed > lot.stems:
        _refuse_overdrawn(lot, entry, taken, report)
    return lot


def _with_counts(lot: Lot, gone: int, dumped: int, split_off: int) -> Lot:
    """The lot with its counts, also as the child of each of its parents alone."""
    alone = tuple(_with_counts(each, gone, dumped, split_off) for each in lot.alone)
    return replace(lot, gone=gone, dumped=dumped, split_off=split_off, alone=alone)


def _refuse_overdrawn(lot: Lot, entry: Entry, taken: _SplitOff, report: Callable[[Problem], None]) -> None:
    """Say which cell took more stems than there were."""
    used = lot.gone + lot.dumped
    if used > (lot.stems or 0):
        column = "gone" if lot.gone else "dumped"
        words = "gone and dumped" if lot.gone and lot.dumped else column
        what = f"{words} must be at most the {lot.stems:,} stems that were cut (got {used:,})"
        report(
            entry.row.problem(
                column, what, "Correct the stems that left, or those that were cut.", lot.lot_code
            )
        )
        return
    left = (lot.stems or 0) - used
    what = f"stems must cover what was split off, {taken.stems:,} (got {left:,} left)"
    children = listed((child.lot for child, _ in taken.children if child.lot), "and")
    remedy = f"Correct the stems here or in what was split off: {children}."
    report(entry.row.problem("stems", what, remedy, lot.lot_code))
    for child, count in taken.children:
        if count > left:
            what = (
                f"stems must be at most the {max(left, 0):,} that lot {lot.lot_code} has left (got {count:,})"
            )
            column = "stems" if "stems" in child.row.cells else "split from"
            remedy = "Correct them, or name the other lot that the rest came from."
            report(child.row.problem(column, what, remedy, child.lot))
        left -= count
