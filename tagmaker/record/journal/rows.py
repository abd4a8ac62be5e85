"""A row of the lot sheet as it was read, and what its cells say of each topic that the journal speaks of."""

from __future__ import annotations

import json
import re
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import date, datetime

from tagmaker.lot import Move
from tagmaker.record.journal.entries import Topic

# Columns that decide whether a row still says what the journal knows of it; amounts are compared as numbers.
COLUMNS: Mapping[Topic, tuple[str, ...]] = {
    Topic.WATER: ("in water",),
    Topic.PLACE: ("cooler", "place", "moved"),
    Topic.TESTS: ("tested",),
    Topic.PLAN: ("cut", "stage", "storage", "use", "needed", "surface", "in cooler", "bulb"),
}
LATER = "bulb"  # came to the last topic later: where it is blank a row says what it said in older journals
ALL = "all"


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetRow:
    """A row as read and completed without the journal."""

    code: str
    cells: Mapping[str, str]  # column -> text of its filled cells, as typed
    where: str = ""  # file, sheet and row
    cut: date | None = None
    planned: bool = False
    stems: int | None = None
    per_bunch: int = 10
    gone: int = 0  # stems; of "all", what that came to
    dumped: int = 0
    split_off: int = 0  # stems of its children in the sheet
    in_cooler: datetime | None = None
    moves: tuple[Move, ...] = ()
    parents: tuple[str, ...] = ()
    also: frozenset[str] = frozenset()  # codes it had before
    born: int = 0  # of a lot that stands in the journal alone: number of the entry it began with

    @property
    def names(self) -> frozenset[str]:
        """Every code it has or had."""
        return self.also | {self.code}

    @property
    def left(self) -> int | None:
        """Stems still there by the row alone."""
        return None if self.stems is None else self.stems - self.gone - self.dumped - self.split_off

    @property
    def all_gone(self) -> bool:
        """Whether gone or dumped is written as all, which counts whatever happens besides."""
        return any(plain(self.cells.get(column, "")) == ALL for column in ("gone", "dumped"))

    def says(self, topic: Topic) -> str:
        """What its cells say of a topic, for comparing with what they said before."""
        if topic is Topic.AMOUNTS:
            gone, dumped = (
                ALL if plain(self.cells.get(column, "")) == ALL else str(amount)
                for column, amount in (("gone", self.gone), ("dumped", self.dumped))
            )
            return f"{'-' if self.stems is None else self.stems} {gone} {dumped}"
        columns = [column for column in COLUMNS[topic] if column != LATER or self.cells.get(column)]
        return json.dumps([self.cells.get(column, "") for column in columns], ensure_ascii=False)

    def with_cells(self, cells: Mapping[str, str]) -> SheetRow:
        """The row with other texts in some cells; what was read of them stays."""
        changed = {**self.cells, **cells}
        return replace(self, cells={column: text for column, text in changed.items() if text})


@dataclass(frozen=True, slots=True)
class Unsettled:
    """A topic of a lot on which sheet and journal differ: TO SETTLE."""

    lot: str
    topic: Topic
    where: str  # the row
    lefts: tuple[int | None, int | None] = (None, None)  # stems left by the sheet and by the journal
    cells: Mapping[str, str] = field(default_factory=dict)  # the topic's cells as the journal would have them
    entries: tuple[int, ...] = ()  # numbers of the entries that are in question
    reason: str = ""  # why, where it is not that the row was changed


@dataclass(frozen=True, slots=True)
class Question:
    """What only the grower knows, and has not said yet."""

    lot: str  # of which it is asked
    kind: str  # "back": how many came back; "left": did they leave
    entry: int  # that it follows from
    since: datetime
    stems: int
    counted: bool = False  # an answer is not waited for any more: they count as sold


@dataclass(slots=True)
class Change:
    """What the journal makes of one row."""

    cells: dict[str, str] = field(default_factory=dict)  # column -> text; "" clears the cell
    left: int | None = None  # stems, as far as the amounts go
    trouble: str = ""  # why the amounts do not add up


def plain(text: str) -> str:
    """A text without case, spaces and punctuation; a moment reads the same with and without its T.

    >>> plain("2027-04-18T17:30") == plain("2027-04-18 17:30")
    True
    """
    letters = "".join(letter for letter in text.casefold() if letter.isalnum())
    return re.sub(r"(?<=\d)t(?=\d)", "", letters)


def alike(one: str, other: str) -> bool:
    """Whether two rows say the same of a topic, however it was typed (see SheetRow.says)."""
    if not one.startswith("["):
        return one == other
    return [plain(text) for text in json.loads(one)] == [plain(text) for text in json.loads(other)]


def said(moment: datetime) -> str:
    """A moment as it is written into a cell; midnight alone would be read as a day without an hour."""
    return (
        f"{moment:%Y-%m-%dT}00:01" if (moment.hour, moment.minute) == (0, 0) else f"{moment:%Y-%m-%dT%H:%M}"
    )


def joined(*parts: str) -> str:
    """Several writings in one cell."""
    return "; ".join(part.strip(" ;") for part in parts if part.strip(" ;"))
