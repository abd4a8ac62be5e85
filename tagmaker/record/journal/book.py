"""What a journal holds: its entries, and what it has accepted and seen of the sheets' rows."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import datetime

from tagmaker.record.journal.entries import Entry, Topic


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

    @property
    def last(self) -> int:
        """Number of the last entry; 0 where there is none."""
        return self.entries[-1].number if self.entries else 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Learnt:
    """What is to be remembered about the rows of a sheet."""

    pairs: Sequence[Pair] = ()
    seen: Sequence[Seen] = ()
    forget: Sequence[tuple[str, str]] = field(default=())  # sheet and lot of rows that are gone for good
