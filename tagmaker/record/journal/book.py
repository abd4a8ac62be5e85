"""What a journal holds: its entries, and what it has accepted and seen of the sheets' rows."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass, field, replace
from datetime import datetime

from tagmaker.record.journal.entries import Entry, Kind, Topic


class UnreadableJournal(Exception):
    """What lies there cannot be read as a journal; the text says why. It stays as it is."""


class NotKept(Exception):
    """An entry could not be written down; the text says why and what to do."""


class OtherContent(NotKept):
    """An id came again with other content than it was kept with; `entry` is what was kept."""

    def __init__(self, entry: Entry) -> None:
        super().__init__(f"an entry must have an id of its own (got that of entry {entry.number} again)")
        self.entry = entry


@dataclass(frozen=True, slots=True)
class Pair:
    """Cells of a row and the entries that they count: what the journal has accepted."""

    lot: str
    topic: Topic
    cells: str
    counts: int | None  # number in the column journal; None: blank
    includes: int
    accepted: datetime


@dataclass(frozen=True, slots=True)
class Seen:
    """A row as it was last read."""

    sheet: str
    lot: str
    cells: str
    stems_left: int | None
    moment: datetime


@dataclass(frozen=True, slots=True)
class Book:
    """All that a journal holds; an empty one where there is none yet."""

    name: str = ""  # such as "K7"
    keeper: str = ""  # the computer that records
    clock_right: int = 0  # the clock was declared right after this entry
    entries: tuple[Entry, ...] = ()  # by number
    pairs: tuple[Pair, ...] = ()  # in the order of acceptance
    seen: tuple[Seen, ...] = ()
    rest: int = 0  # number of the last entry that was left out, where this is a part of a journal

    @property
    def last(self) -> int:
        """Number of the last entry; 0 where there is none."""
        return max(self.rest, self.entries[-1].number if self.entries else 0)

    @property
    def codes(self) -> set[str]:
        """Every code that its entries name."""
        lots = {entry.lot for entry in self.entries} | {entry.child for entry in self.entries}
        return lots | {entry.text("code") for entry in self.entries if entry.kind is Kind.RENAMED}

    def of(self, codes: Collection[str]) -> Book:
        """What it holds of some lots, by all the codes that they had."""
        entries = tuple(entry for entry in self.entries if entry.lot in codes or entry.child in codes)
        undone = {entry.number for entry in entries}
        undos = (entry for entry in self.entries if entry.undoes in undone and entry.lot not in codes)
        return replace(
            self,
            entries=tuple(sorted((*entries, *undos), key=lambda entry: entry.number)),
            pairs=tuple(pair for pair in self.pairs if pair.lot.partition("#")[0] in codes),
            seen=tuple(seen for seen in self.seen if seen.lot in codes),
            rest=self.last,
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Learnt:
    """What is to be remembered about the rows of a sheet."""

    pairs: Sequence[Pair] = ()
    seen: Sequence[Seen] = ()
    forget: Sequence[tuple[str, str]] = field(default=())  # sheet and lot of rows that are gone for good
