"""What the journal accepts of a row: at its first entry, where something is settled, and at a catch-up."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from datetime import datetime

from tagmaker.record.journal.book import Learnt, Pair
from tagmaker.record.journal.entries import Entry, Kind, Topic
from tagmaker.record.journal.laid import LotState
from tagmaker.record.journal.rows import SheetRow


def accepted_with(entry: Entry, state: LotState | None, now: datetime) -> Learnt:
    """What is accepted in the moment in which an entry is kept; it includes all entries before that one.

    Args:
        entry: that is about to be kept
        state: of its lot, as the sheet was last read; None: the sheet does not have it, or cannot be read
        now: local time of the farm
    """
    if state is None or not state.in_sheet:
        return Learnt()
    topics: set[Topic] = set(Topic) - state.paired - {item.topic for item in state.unsettled}
    if entry.kind is Kind.COUNT and not entry.child:
        topics |= _disputed(state, Topic.AMOUNTS)
    if entry.kind is Kind.SETTLE and entry.topic is not None:
        topics |= _disputed(state, entry.topic)
    return Learnt(pairs=[_pair(state, topic, state.number, now) for topic in Topic if topic in topics])


def _disputed(state: LotState, topic: Topic) -> set[Topic]:
    return {item.topic for item in state.unsettled if item.topic is topic}


def caught_up(states: Iterable[LotState], number: int, now: datetime) -> Learnt:
    """What is accepted at a catch-up: the rows as they will be, counting all entries up to a number.

    Args:
        states: of the lots whose cells were given out, nothing of them to be settled
        number: of the last entry
        now: local time of the farm
    """
    pairs = []
    for state in states:
        after = replace(state, row=row_after(state))
        pairs += [replace(_pair(after, topic, number, now), includes=number) for topic in Topic]
    return Learnt(pairs=pairs)


def row_after(state: LotState) -> SheetRow:
    """The row of a lot with what the journal makes of it."""
    row, cells = state.row.with_cells(state.change.cells), state.change.cells
    amounts = {column: int(cells[column]) for column in ("stems", "gone", "dumped") if column in cells}
    return replace(
        row,
        code=state.code,
        stems=amounts.get("stems", row.stems),
        gone=amounts.get("gone", row.gone),
        dumped=amounts.get("dumped", row.dumped),
    )


def _pair(state: LotState, topic: Topic, counts: int | None, now: datetime) -> Pair:
    return Pair(state.key, topic, state.row.says(topic), counts, 0, now)
