"""Lots that were split from other lots: completed after their parents, and only with sound ones."""

from __future__ import annotations

from collections import defaultdict, deque
from collections.abc import Callable, Iterable, Mapping
from dataclasses import replace

from tagmaker.errors import Problem
from tagmaker.intake.lots.entry import Entry
from tagmaker.lot import Lot


def with_known_parents(entries: Iterable[Entry], report: Callable[[Problem], None]) -> list[Entry]:
    """The entries, their parents' codes as the sheet has them; a parent that is not there is a problem.

    A spreadsheet turns a typed 041 into 41, so zeros in front do not count if only one lot can be meant.
    """
    rows = list(entries)
    codes = {entry.lot for entry in rows if entry.lot}
    by_number: dict[str, list[str]] = defaultdict(list)
    for code in codes:
        by_number[code.lstrip("0")].append(code)
    return [_with_known(entry, codes, by_number, report) for entry in rows]


def _with_known(
    entry: Entry, codes: set[str], by_number: Mapping[str, list[str]], report: Callable[[Problem], None]
) -> Entry:
    if not entry.split_from:
        return entry
    shares = []
    for share in entry.split_from:
        meant = by_number.get(share.parent.lstrip("0"), [])
        code = share.parent if share.parent in codes else meant[0] if len(meant) == 1 else ""
        if code:
            shares.append(replace(share, parent=code))
            continue
        remedy = "Correct it, or add the row of that lot."
        what = (
            f"split from must name a lot of this sheet (got {entry.got('split from')}: no lot {share.parent})"
        )
        report(entry.row.problem("split from", what, remedy, entry.lot))
    faulty = entry.faulty if len(shares) == len(entry.split_from) else entry.faulty | {"split from"}
    return replace(entry, values={**entry.values, "split from": tuple(shares)}, faulty=faulty)


def parents_first(entries: Iterable[Entry], report: Callable[[Problem], None]) -> list[Entry]:
    """The entries in an order in which every parent stands before its children.

    Lots that come from one another in a circle, and their children, are left out and reported.
    """
    rows = {entry.lot: entry for entry in entries}
    children: dict[str, list[str]] = defaultdict(list)
    waiting: dict[str, int] = {}
    for code, entry in rows.items():
        parents = {share.parent for share in entry.split_from if share.parent in rows}
        waiting[code] = len(parents)
        for parent in parents:
            children[parent].append(code)
    ready = deque(code for code, count in waiting.items() if count == 0)
    ordered: list[Entry] = []
    while ready:
        code = ready.popleft()
        ordered.append(rows[code])
        for child in children[code]:
            waiting[child] -= 1
            if waiting[child] == 0:
                ready.append(child)
    _report_circles({code: rows[code] for code, count in waiting.items() if count}, report)
    return ordered


def _report_circles(left: dict[str, Entry], report: Callable[[Problem], None]) -> None:
    """Tell the lots of a circle from those that only hang on one, and report both."""
    children: dict[str, int] = dict.fromkeys(left, 0)
    for entry in left.values():
        for share in entry.split_from:
            if share.parent in left:
                children[share.parent] += 1
    ends = deque(code for code, count in children.items() if count == 0)
    hanging = set(ends)
    while ends:
        for share in left[ends.popleft()].split_from:
            if share.parent in left:
                children[share.parent] -= 1
                if children[share.parent] == 0:
                    hanging.add(share.parent)
                    ends.append(share.parent)
    for code, entry in left.items():
        if code in hanging:
            parent = next(share.parent for share in entry.split_from if share.parent in left)
            report(unsound_parent(entry, parent))
        else:
            what = f"split from must not lead back to the lot itself (got {entry.got('split from')})"
            report(entry.row.problem("split from", what, "Correct which lot came from which.", code))


def unsound_parent(entry: Entry, parent: str) -> Problem:
    """The problem of a lot whose parent has problems of its own."""
    what = (
        f"split from must name a lot without problems (got {entry.got('split from')}: lot {parent} has some)"
    )
    return entry.row.problem("split from", what, f"Correct the row of lot {parent} first.", entry.lot)


def sound_families(lots: Mapping[str, Lot], bad: set[str], ordered: Iterable[Entry]) -> list[Problem]:
    """The problems of sound rows whose parents turned out to be unsound; `bad` grows by their codes."""
    problems: list[Problem] = []
    for entry in ordered:
        parent = next((share.parent for share in entry.split_from if share.parent in bad), None)
        if parent is not None and entry.lot in lots and entry.lot not in bad:
            problems.append(unsound_parent(entry, parent))
            bad.add(entry.lot)
    return problems
