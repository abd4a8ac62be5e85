"""An entry of the journal: what happened to a lot, when, and when that was taken down.

Moments are naive local ones of the farm, each kept in UTC as well; amounts are stems.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import UTC, datetime
from enum import StrEnum
from types import MappingProxyType
from zoneinfo import ZoneInfo

NOTHING: Mapping[str, object] = MappingProxyType({})


class Kind(StrEnum):
    """What happened."""

    NEW_LOT = "new lot"
    PLANNED = "planned"  # the way, cooler or use of a plan was decided
    CUT = "cut"  # makes a plan a lot
    CORRECTED = "corrected"  # a cell of a lot that was born in the journal
    MORE = "more stems cut"
    SOLD = "sold"
    THROWN_OUT = "thrown out"
    INTO_WATER = "into water"
    MOVED = "moved"
    OUT = "out"  # to a market, from which some may come back
    CAME_BACK = "came back"
    COUNT = "count"  # so many are left here
    DRIED = "dried"
    TESTED = "tested"
    MOULD = "mould seen"
    READING = "reading"  # of a cooler
    KEPT = "kept"  # for an order
    RENAMED = "renamed"
    NOTE = "note"
    SETTLE = "settle"  # which of two cells is true
    UNDO = "undo"


class Topic(StrEnum):
    """What of a row an entry speaks of; each is held against the sheet by itself."""

    AMOUNTS = "amounts"
    WATER = "water"
    PLACE = "place"
    TESTS = "tests"
    PLAN = "plan"  # what was decided of it, and promised


TOPICS: Mapping[Kind, Topic] = {
    Kind.CUT: Topic.PLAN,
    Kind.PLANNED: Topic.PLAN,
    Kind.CORRECTED: Topic.PLAN,
    Kind.DRIED: Topic.PLAN,
    Kind.KEPT: Topic.PLAN,
    Kind.MORE: Topic.AMOUNTS,
    Kind.SOLD: Topic.AMOUNTS,
    Kind.THROWN_OUT: Topic.AMOUNTS,
    Kind.OUT: Topic.AMOUNTS,
    Kind.CAME_BACK: Topic.AMOUNTS,
    Kind.COUNT: Topic.AMOUNTS,
    Kind.INTO_WATER: Topic.WATER,  # of all; of some it is an amount that becomes a lot of its own
    Kind.MOVED: Topic.PLACE,  # likewise
    Kind.TESTED: Topic.TESTS,
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Entry:
    """One line of the journal; `number`, the moment of recording and UTC are given when it is kept."""

    number: int = 0  # from 1, without gaps; 0: not kept yet
    id: str  # minted where it was tapped: the same id is the same entry
    happened: datetime
    happened_utc: datetime = datetime.min
    recorded: datetime = datetime.min
    recorded_utc: datetime = datetime.min
    lot: str  # its code; "" for a reading of a cooler
    kind: Kind
    stems: int | None = None  # for an amount of everything: what was seen there
    cooler: str = ""
    place: str = ""
    device: str = ""
    undoes: int | None = None  # number of an entry
    details: Mapping[str, object] = field(default_factory=dict)  # what only some kinds have; plain JSON
    child: str = field(init=False, default="")  # lot that its stems become; "": they stay, or are gone

    def __post_init__(self) -> None:
        object.__setattr__(self, "child", self.text("child"))

    @property
    def everything(self) -> bool:
        """Whether it speaks of all that was there, however many."""
        return self.details.get("all") is True

    @property
    def topic(self) -> Topic | None:
        """What of its row it speaks of; None where nothing of the sheet can contradict it."""
        if self.child:
            return Topic.AMOUNTS
        if self.kind is Kind.SETTLE:
            return Topic(self.text("topic"))
        return TOPICS.get(self.kind)

    def text(self, key: str) -> str:
        """A detail that is text; "" where it has none."""
        return str(self.details.get(key, ""))

    def moment(self, key: str) -> datetime | None:
        """A detail that is a moment."""
        found = self.text(key)
        return datetime.fromisoformat(found) if found else None

    @property
    def content(self) -> tuple[object, ...]:
        """What it says, whenever it arrived: two entries of one id must agree in it."""
        about = (self.lot, self.kind, self.stems, self.cooler, self.place, self.undoes)
        return (*about, json.dumps(dict(self.details), sort_keys=True, ensure_ascii=False))


def utc_of(local: datetime, timezone: str | None) -> datetime:
    """A naive local moment in UTC, naive too; without a time zone it is the machine's own."""
    aware = local.astimezone(UTC) if timezone is None else local.replace(tzinfo=ZoneInfo(timezone))
    return aware.astimezone(UTC).replace(tzinfo=None)


def in_time(entries: Iterable[Entry]) -> list[Entry]:
    """The entries in the order in which they happened."""
    return sorted(entries, key=lambda entry: (entry.happened_utc, entry.number))


def in_force(entries: Iterable[Entry]) -> list[Entry]:
    """The entries that were not undone, without the undos, in the order in which they happened."""
    known = list(entries)
    undone = {entry.undoes for entry in known if entry.kind is Kind.UNDO}
    return in_time(e for e in known if e.kind is not Kind.UNDO and e.number not in undone)
