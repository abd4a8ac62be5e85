"""Which lot an entry belongs to, where lots were given other codes and old codes were used again."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field

from tagmaker.record.journal.entries import Entry, Kind


@dataclass(slots=True)
class Lineage:
    """Lots by what they are, whatever they were called: `key` is the first code, or code and number."""

    entries: dict[str, list[Entry]] = field(default_factory=lambda: defaultdict(list))  # by key
    keys: dict[str, str] = field(
        default_factory=dict
    )  # code of today -> key, where it is not the code itself
    old_codes: dict[str, str] = field(default_factory=dict)  # code that was given up -> code of today

    def key(self, code: str, codes: Collection[str]) -> str:
        """The key of a row of the sheet; `codes` are all of its rows.

        A row that was renamed in the journal alone still has its old code in the sheet.
        """
        new = self.old_codes.get(code)
        if new is not None and new not in codes:
            return self.keys.get(new, new)
        return self.keys.get(code, code)

    def former(self, code: str) -> frozenset[str]:
        """The codes that were given up for this one."""
        return frozenset(old for old, new in self.old_codes.items() if new == code)

    def code(self, code: str, codes: Collection[str]) -> str:
        """What a row of the sheet is called today."""
        new = self.old_codes.get(code)
        return new if new is not None and new not in codes else code


def lineage(entries: Sequence[Entry], undone: Collection[int]) -> Lineage:
    """Whose every entry is, in the order of recording."""
    found = Lineage()
    for entry in entries:
        key = found.keys.get(entry.lot, entry.lot)
        found.entries[key].append(entry)
        if entry.child and entry.child != entry.lot:
            found.entries[found.keys.get(entry.child, entry.child)].append(entry)
        if entry.kind is Kind.RENAMED and entry.number not in undone:
            new = entry.text("code")
            found.keys[new] = key
            found.keys[entry.lot] = f"{entry.lot}#{entry.number}"
            found.old_codes = {old: new if to == entry.lot else to for old, to in found.old_codes.items()}
            found.old_codes[entry.lot] = new
            found.old_codes.pop(new, None)
    return found


def family(
    codes: Collection[str], entries: Sequence[Entry], parents: Mapping[str, Collection[str]]
) -> set[str]:
    """Some lots and all that hang together with them: parents, children, codes that they had.

    Args:
        codes: of the lots
        entries: of the journal
        parents: code of a row of the sheet -> the lots that it was split from
    """
    beside: dict[str, set[str]] = defaultdict(set)
    pairs = [(entry.lot, entry.child) for entry in entries if entry.child]
    pairs += [(entry.lot, entry.text("code")) for entry in entries if entry.kind is Kind.RENAMED]
    pairs += [(code, parent) for code, above in parents.items() for parent in above]
    for one, other in pairs:
        beside[one].add(other)
        beside[other].add(one)
    found, waiting = set(codes), list(codes)
    while waiting:
        new = beside[waiting.pop()] - found
        found |= new
        waiting += new
    return found


def free_child_code(parent: str, taken: Collection[str]) -> str:
    """A code for stems that leave their lot: its own with a letter, B for the first.

    >>> free_child_code("101", {"101", "101B"})
    '101C'
    """
    stem = parent[:-1] if len(parent) > 1 and parent[-1].isalpha() and parent[-2].isdigit() else parent
    letters = [chr(code) for code in range(ord("B"), ord("Z") + 1)]
    for ending in (*letters, *(f"{one}{two}" for one in letters for two in letters)):
        code = f"{stem[: 12 - len(ending)]}{ending}"
        if code not in taken:
            return code
    raise ValueError(f"no code is free for a child of {parent}")
