"""What a lot's page shows beside its dates, made ready for the template: words, limits and lists."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from itertools import groupby
from typing import Any

from tagmaker.lot import Lot, Mark, OrderDates, Plan, State, StorageCode, StorageDates
from tagmaker.scan.source import PageSource, PrintedTag
from tagmaker.storage.crops import Keeping
from tagmaker.storage.moments import DAY
from tagmaker.storage.whereabouts import OUT, cooler_at, place_at
from tagmaker.telling.agenda import Task, agenda, lot_tasks, next_task, spot_at
from tagmaker.telling.bunches import crates_of, per_container
from tagmaker.telling.deadlines import Selling, Water, asks_still_dry, selling_told, warm_told, water_told
from tagmaker.telling.naming import title, variety
from tagmaker.telling.parts import apart, rest_state
from tagmaker.telling.readiness import hours_in_water, is_wet

CARD = "crate-card.j2"  # cautions, handling and names are said in the same words as on the crate
AGENDA = "agenda.j2"
TODO_DAYS = 7  # [d] of a lot's tasks on its page (chosen)


@dataclass(frozen=True, slots=True)
class Todo:
    """A task in words."""

    words: str
    by: datetime
    now: bool  # it holds already, or is overdue
    kind: str = ""  # an agenda `Kind`
    bunches: int | None = None  # that it is about; None: all of them
    departure: str = ""  # that its bunches are kept for by the journal, as it is typed; "": for none


@dataclass(frozen=True, slots=True)
class Ordered:
    """An order, and its bunches."""

    order: OrderDates
    water: Water | None  # what is said of water
    crates: Sequence[tuple[str, int]]  # crates or buckets that they lie in, in words, and how many in each


@dataclass(frozen=True, slots=True, kw_only=True)
class LotStory:
    """One cut lot, as its page tells it."""

    dates: StorageDates
    lot: Lot
    page: str  # name of its page
    name: str  # variety, crop, colour
    wet: bool  # no date until it is dry to the touch
    finished: bool  # no stems are left
    too_old: bool  # all of it
    todo: Sequence[Todo]  # what is to be done this week, the first first; without one, the next after it
    apart: Sequence[tuple[str, datetime | None]]  # parts that are told apart, in words, and when they leave
    water: Water | None  # what is said of water; None: nothing
    selling: Selling
    warm: datetime | None  # when it goes into the warm to open
    still_dry: bool  # whether it is, nobody knows: its hour to go into water is over
    orders: Sequence[Ordered]
    elsewhere: Sequence[tuple[str, datetime]]  # outlets that would still take it, where its own is over
    marks: Sequence[str]  # in words, its state among them
    place: str  # where in its cooler
    reprint: bool  # its tags promise too much
    hours: float  # [h] in water before it leaves, while the stems are still dry
    how: str  # hours in water, stem end, when to stand warm
    vase_days: tuple[int, int] | None  # whole days at the sell-by, rounded down
    cooler: str  # where it stands, or stood before it was taken out
    cooler_page: str
    out: bool  # it stands outside any cooler
    why: str
    why_into_water: str
    warnings: Sequence[str]
    tags: Sequence[PrintedTag]  # that say something else than these dates
    cautions: Sequence[str]
    cells: Mapping[str, str]  # header -> text, those that are filled in
    plan: None = None  # it has been cut


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanStory:
    """One row that is still to be cut, as lists and its page tell it."""

    plan: Plan
    page: str  # name of its page
    name: str  # variety, crop, colour
    todo: Sequence[Todo]  # this week


def plan_story(source: PageSource, plan: Plan) -> PlanStory:
    """What is told of a row that is still to be cut."""
    lot = plan.lot
    tasks = agenda((), source.farm, source.now, TODO_DAYS, [lot])
    name = flowers(source, lot)
    return PlanStory(plan=plan, page=source.lot_names[lot.lot_code], name=name, todo=_told(source, tasks))


def lot_story(source: PageSource, dates: StorageDates) -> LotStory:
    """What the page of a cut lot tells."""
    lot, wording = dates.lot, source.wording
    keeping = source.keeping(dates)
    finished = dates.left is not None and dates.left <= 0
    tags = () if finished else source.printed.get(lot.lot_code, ())
    cooler = cooler_at(lot, source.farm, source.now).name
    water = water_told(dates, None, source.now)
    say = wording.macros(AGENDA)
    return LotStory(
        dates=dates,
        lot=lot,
        page=source.lot_names[lot.lot_code],
        name=flowers(source, lot),
        wet=is_wet(dates),
        finished=finished,
        too_old=dates.state is State.TOO_OLD,
        todo=_todo(source, dates),
        apart=tuple(_apart(source, dates)),
        orders=tuple(_orders(source, dates)),
        water=water,
        selling=selling_told(dates, None, source.farm.workday, source.now),
        warm=warm_told(dates, None),
        still_dry=asks_still_dry(dates, source.now),
        elsewhere=dates.elsewhere,
        marks=_marks(dates, source.now, say),
        place=spot_at(lot, source.now),
        reprint=any(tag.untrue for tag in tags),
        hours=hours_in_water(dates, keeping),
        how=_how(source, dates, keeping),
        vase_days=_whole_days(dates.vase_days),
        cooler=cooler,
        cooler_page=source.cooler_names[cooler],
        out=place_at(lot, source.now) == OUT,
        why=wording.say(dates.why),
        why_into_water=wording.say(dates.why_into_water) if dates.why_into_water else "",
        warnings=tuple(wording.say(note) for note in source.warnings.get(lot.lot_code, dates.warnings)),
        tags=tuple(tag for tag in tags if tag.differs),
        cautions=_cautions(source, dates, keeping),
        cells=filled(lot),
    )


def flowers(source: PageSource, lot: Lot) -> str:
    """Variety, form and crop, and colour in one line; a form that was only assumed is not said."""
    say = source.wording.macros(CARD)
    return str(say.crop(title=title(lot), variety=variety(lot), colour=lot.colour, lot=lot))


def filled(lot: Lot) -> Mapping[str, str]:
    """The cells of a row that are filled in, as they were typed."""
    return {header: text for header, text in lot.cells.items() if text.strip()}


def _todo(source: PageSource, dates: StorageDates) -> tuple[Todo, ...]:
    """The tasks of the week, or the next one after it."""
    tasks = lot_tasks(dates, source.farm, source.now, source.now.date() + DAY * TODO_DAYS)
    return _told(source, tasks) or tuple(filter(None, [next_todo(source, dates)]))


def next_todo(source: PageSource, dates: StorageDates) -> Todo | None:
    """The next task of a lot; None: there is none."""
    task = next_task(dates, source.farm, source.now)
    return None if task is None else _told(source, [task])[0]


def _told(source: PageSource, tasks: Sequence[Task]) -> tuple[Todo, ...]:
    say = source.wording.macros(AGENDA)
    return tuple(
        Todo(say.next(task=task), task.by, task.now, task.kind.value, task.bunches, _departure(task, source))
        for task in tasks
    )


def _departure(task: Task, source: PageSource) -> str:
    """The departure that its bunches are kept for, as it is typed; "" for bunches of none."""
    if task.order is None or task.leaves is None or (task.lot, task.leaves, task.use) not in source.kept:
        return ""
    return f"{task.leaves:%Y-%m-%dT%H:%M} {task.use}"


def _apart(source: PageSource, dates: StorageDates) -> Iterator[tuple[str, datetime | None]]:
    """What orders keep of a lot of which the rest stands otherwise, and how that stands."""
    say, (kept, rest) = source.wording.macros(AGENDA), apart(dates, source.now)
    orders = [(part.order, part.stems) for part in kept if part.order is not None]
    for (leaves, by), alike in groupby(orders, key=lambda pair: (pair[0].leaves, pair[0].into_water_by)):
        stems = sum(stems or 0 for _, stems in alike)
        by = None if dates.code is StorageCode.WATER else by
        yield say.keep(stems=stems, leaves=leaves, into_water_by=by), leaves
    if rest is not None:
        yield say.the_other(stems=rest.stems, state_words=say.state(state=rest.state.value)), None


def _orders(source: PageSource, dates: StorageDates) -> Iterator[Ordered]:
    """Each order, and how many of its bunches lie in which of the lot's crates, as on their cards."""
    say = source.wording.macros(CARD)
    kind = "crate" if per_container(dates, source.crops)[1] else "bucket"
    loads = crates_of(dates, source.crops)
    for order in dates.orders:
        found = [(n, count) for n, load in enumerate(loads, 1) for own, count in load.takes if own is order]
        total = len(loads) if len(loads) > 1 else 0
        crates = [(say.container(kind=kind, number=n, count=total), count) for n, count in found]
        yield Ordered(order, water_told(dates, order, source.now), crates)


def _marks(dates: StorageDates, now: datetime, say: Any) -> tuple[str, ...]:
    """SELL FIRST and marks, each in words: what neither the task nor the captions of the dates say."""
    asked = dates.lot.may_have_left is not None
    whole = not asked and rest_state(dates, now) is State.SELL_FIRST and apart(dates, now)[1] is None
    state = [say.state(state=State.SELL_FIRST.value)] if whole else []
    today = now.date()
    on = min((day for day in dates.tests_on if day >= today), default=today if dates.tests_on else None)
    marks = [mark for mark in dates.marks if mark is not Mark.PUT_IN_WATER_NOW]
    return (*state, *(say.mark(mark=mark.value, on=on) for mark in marks))


def _how(source: PageSource, dates: StorageDates, keeping: Keeping | None) -> str:
    if keeping is None:
        return ""
    return str(
        source.wording.macros(CARD).how(
            hours=hours_in_water(dates, keeping),
            stem_end=keeping.stem_end,
            own_bucket=keeping.own_bucket,
            warm_from=warm_told(dates, None),
        )
    )


def _whole_days(days: tuple[float, float] | None) -> tuple[int, int] | None:
    return None if days is None else (math.floor(days[0]), math.floor(days[1]))


def _cautions(source: PageSource, dates: StorageDates, keeping: Keeping | None) -> tuple[str, ...]:
    """Cautions of the crop, how to handle the stems as they stand, and what its figures leave open."""
    say = source.wording.macros(CARD)
    days = (source.now.date() - dates.lot.cut.date()).days
    said = (
        say.caution(kind=keeping.caution if keeping else ""),
        "" if is_wet(dates) else say.handling(code=dates.code.value, days=days),
        keeping.note if keeping else "",
    )
    return tuple(str(words) for words in said if words)
