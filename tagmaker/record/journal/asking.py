"""What only the grower knows: how many came back from market, and whether stems in water left."""

from __future__ import annotations

from collections.abc import Collection, Iterator
from datetime import datetime, timedelta

from tagmaker.farm import Workday
from tagmaker.record.journal.entries import Entry, Kind, Topic
from tagmaker.record.journal.laid import LotState
from tagmaker.record.journal.rows import Question

PATIENCE_DAYS = 2  # working days after which what is out counts as sold, answered or not


def questions(
    state: LotState, undone: Collection[int], workday: Workday, now: datetime
) -> Iterator[Question]:
    """What is to be asked about one lot.

    Args:
        state: of the lot
        undone: numbers of entries that were undone
        workday: of the farm
        now: what happened later has not happened yet
    """
    own = [entry for entry in state.entries if entry.number not in undone]
    answered = {entry.details.get("answers") for entry in own if entry.kind is Kind.CAME_BACK}
    for entry in own:
        if entry.kind is Kind.OUT and entry.number not in answered:
            late = _workdays_after(entry.happened, workday, now) >= PATIENCE_DAYS
            yield Question(state.code, "back", entry.number, entry.happened, entry.stems or 0, late)
    part = next((entry for entry in own if entry.child in state.row.names and entry.text("leaves")), None)
    leaves = part.moment("leaves") if part is not None else None
    if part is not None and leaves is not None and leaves <= now and not _told(own, leaves):
        yield Question(state.code, "left", part.number, leaves, part.stems or 0)


def _told(entries: list[Entry], leaves: datetime) -> bool:
    """Whether something was entered of the stems since they were to leave."""
    return any(entry.happened >= leaves and entry.topic is Topic.AMOUNTS for entry in entries)


def _workdays_after(moment: datetime, workday: Workday, now: datetime) -> int:
    """Working days that have begun after the day of a moment."""
    days = (now.date() - moment.date()).days
    return sum(not workday.is_off(moment.date() + timedelta(days=n)) for n in range(1, days + 1))
