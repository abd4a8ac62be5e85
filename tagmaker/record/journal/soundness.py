"""Whether the cells of a row and its number in the column journal are a pair that the journal accepted."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime

from tagmaker.record.journal.book import Pair
from tagmaker.record.journal.entries import Entry, Kind, Topic
from tagmaker.record.journal.rows import SheetRow, alike


@dataclass(frozen=True, slots=True)
class Judged:
    """What the journal holds of one topic of a row."""

    includes: int  # number of the last entry that the row counts
    accepted: Pair | None = None  # the last pair, where the row is none of them: TO SETTLE
    learnt: Pair | None = None  # a change that is accepted from now on
    went_back: bool = False  # the row says what it said before the last acceptance


def judge(
    row: SheetRow,
    topic: Topic,
    number: int | None,
    key: str,
    pairs: Sequence[Pair],
    entries: Sequence[Entry],
    now: datetime,
) -> Judged:
    """What of a topic the row counts, and whether that can be told.

    Args:
        row: as the sheet has it
        topic: that is judged
        number: in its column journal; None: blank
        key: of the lot, under which its pairs are kept
        pairs: of this lot and topic, in the order of acceptance
        entries: of this lot that speak of the topic, undone ones and undos too
        now: for a pair that is accepted
    """
    says = row.says(topic)
    if topic is not Topic.AMOUNTS:
        number = None  # their cells tell by themselves
    known = [pair for pair in pairs if alike(pair.cells, says) and _counts(pair, number)]
    if known:
        return Judged(known[-1].includes, went_back=not alike(pairs[-1].cells, says))
    if not pairs:
        return _first(topic, number, key, says, entries, now)
    last = pairs[-1]
    fresh = _open(entries, last.includes)
    if topic is Topic.AMOUNTS and row.all_gone and number in (None, last.counts, last.includes):
        included = max((entry.number for entry in fresh), default=last.includes)
        return Judged(included, learnt=Pair(key, topic, says, number, included, now))
    if (
        fresh
        or number not in (None, last.counts, last.includes)
        or _came_back(row, topic, number, last, entries)
    ):
        return Judged(last.includes, accepted=last)
    return Judged(last.includes, learnt=Pair(key, topic, says, number, last.includes, now))


def _first(
    topic: Topic, number: int | None, key: str, says: str, entries: Sequence[Entry], now: datetime
) -> Judged:
    """A row of which nothing was accepted yet: it counts nothing, unless its number says so."""
    earlier = [entry.number for entry in entries if number is not None and entry.number <= number]
    if earlier:
        return Judged(0, accepted=Pair(key, topic, says, None, 0, now))
    includes = number or 0
    return Judged(includes, learnt=Pair(key, topic, says, number, includes, now) if entries else None)


def _open(entries: Sequence[Entry], includes: int) -> list[Entry]:
    """The entries after the last one that is counted; what was undone among them is as if it had not been."""
    fresh = [entry for entry in entries if entry.number > includes]
    undone = {entry.undoes for entry in fresh if entry.kind is Kind.UNDO}
    return [e for e in fresh if e.number not in undone and (e.undoes is None or e.undoes <= includes)]


def _counts(pair: Pair, number: int | None) -> bool:
    """Whether a number in the column agrees with what a pair includes; a blank one leaves it to the cells."""
    return number is None or number in (pair.counts, pair.includes)


def _came_back(row: SheetRow, topic: Topic, number: int | None, last: Pair, entries: Sequence[Entry]) -> bool:
    """Whether stems that the journal counted as gone stand in the row again, and no number says why.

    It may be an old copy that was typed into.
    """
    if (
        topic is not Topic.AMOUNTS
        or number is not None
        or not any(e.number <= last.includes for e in entries)
    ):
        return False
    stems, left = left_of(last.cells, row.split_off)
    return row.stems == stems and row.left is not None and left is not None and row.left > left


def left_of(cells: str, split_off: int) -> tuple[int | None, int | None]:
    """Stems and what is left of them by the amounts of a pair."""
    stems, *away = cells.split()
    if stems == "-":
        return None, None
    if not all(amount.isdigit() for amount in away):
        return int(stems), 0  # one of them is written as all
    return int(stems), int(stems) - sum(map(int, away)) - split_off


def from_before(row: SheetRow, entries: Sequence[Entry], includes: Mapping[Topic, int]) -> list[Entry]:
    """Entries that the row does not count and that happened before its cut: its code was used before."""
    if row.cut is None or row.planned:
        return []
    return [
        entry
        for entry in entries
        if entry.topic is not None
        and entry.kind not in (Kind.CUT, Kind.PLANNED, Kind.KEPT, Kind.UNDO)
        and entry.number > max(includes.get(entry.topic, 0), row.born)
        and entry.happened.date() < row.cut
    ]
