"""The first page of the live pages: what is to be done today and tomorrow morning, and what is ready now."""

from __future__ import annotations

import secrets
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime, time, timedelta

from tagmaker.lot import StorageCode
from tagmaker.scan.lot_story import LotStory, PlanStory
from tagmaker.scan.source import LotJournal, PageSource

MORNING_ENDS = time(12)  # of tomorrow, whose tasks are told today too (chosen)
IN_WATER = "into water"  # the task whose button says that it is done


@dataclass(frozen=True, slots=True, kw_only=True)
class Doing:
    """A task with its button."""

    words: str
    by: datetime
    now: bool
    code: str
    page: str
    name: str
    stands: str  # cooler and place
    done: str = ""  # bunches, or "all", that its button puts in water; "": the button opens the lot
    leaves: str = ""  # departure that its button sends along; "": none
    seen: int = 0  # last entry of the lot


@dataclass(frozen=True, slots=True, kw_only=True)
class Ready:
    """Stems that may leave now and are promised to nobody."""

    code: str
    page: str
    name: str
    stands: str
    bunches: int
    vase_days: tuple[int, int] | None


def tasks_of_today(source: PageSource, stories: Iterable[LotStory | PlanStory]) -> list[Doing]:
    """What is to be done today and tomorrow morning over all coolers, what holds now first."""
    until = datetime.combine(source.now.date() + timedelta(days=1), MORNING_ENDS)
    found = [
        Doing(
            words=task.words,
            by=task.by,
            now=task.now,
            code=_code(story),
            page=story.page,
            name=story.name,
            stands=_stands(story) if isinstance(story, LotStory) else "",
            done=(str(task.bunches) if task.bunches else "all") if task.kind == IN_WATER else "",
            leaves=task.departure if task.kind == IN_WATER and task.bunches else "",
            seen=source.journal.get(_code(story), LotJournal()).last,
        )
        for story in stories
        if not (isinstance(story, LotStory) and story.finished)
        for task in story.todo
        if task.now or task.by <= until
    ]
    return sorted(found, key=lambda task: (not task.now, task.by, task.code))


def ready_now(source: PageSource, stories: Iterable[LotStory]) -> list[Ready]:
    """Lots in water and ready, with the bunches of them that no order takes."""
    found = []
    for story in stories:
        dates = story.dates
        waits = dates.ready_from is not None and dates.ready_from > source.now
        is_ready = dates.code is StorageCode.WATER and not waits
        gone = story.finished or story.out or story.lot.may_have_left is not None
        if gone or story.too_old or dates.sell_by is None or not is_ready:
            continue
        promised = sum(dates.left or 0 if order.stems is None else order.stems for order in dates.orders)
        free = (dates.left or 0) - promised - source.promised.get(story.lot.lot_code, 0)
        if free >= story.lot.per_bunch:
            found.append(
                Ready(
                    code=story.lot.lot_code,
                    page=story.page,
                    name=story.name,
                    stands=_stands(story),
                    bunches=free // story.lot.per_bunch,
                    vase_days=story.vase_days,
                )
            )
    return found


def _code(story: LotStory | PlanStory) -> str:
    return story.lot.lot_code if isinstance(story, LotStory) else story.plan.lot.lot_code


def _stands(story: LotStory) -> str:
    return f"{story.cooler}, {story.place}" if story.place else story.cooler


@dataclass(frozen=True, slots=True)
class Today:
    """Both lists, and what their buttons need."""

    doing: Sequence[Doing]
    ready: Sequence[Ready]
    token: str  # "": the phone is not paired

    def new_id(self) -> str:
        """An id for one form."""
        return secrets.token_urlsafe(16)
