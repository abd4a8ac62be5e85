"""What the checklist says: the tasks of a day, and the cells of a lot's row."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any

from tagmaker.lot import Lot, Mark, State
from tagmaker.paper.checklist.rows import LotRow
from tagmaker.paper.checklist.work import DayBlock, Job, lines_of
from tagmaker.storage.whereabouts import cooler_at
from tagmaker.telling.agenda import Kind, Task, spot_at
from tagmaker.telling.cooler_week import CoolerWeek, LotWeek
from tagmaker.telling.deadlines import SellWord, WaterWord, asks_still_dry, selling_told, water_told
from tagmaker.telling.naming import title, variety
from tagmaker.telling.order import Work
from tagmaker.telling.parts import apart
from tagmaker.telling.readiness import is_wet
from tagmaker.telling.teller import Teller
from tagmaker.telling.wording import Wording

TEMPLATE = "cooler-checklist.j2"
AGENDA = "agenda.j2"
LINES = (2, 1)  # most of a task, and the same where room is short; lots of a longer one are marked
NAMED = 40  # lots named in a task whose lots have no rows, as cuts to come; the rest are counted
KEEP_NAMED = 2  # orders to keep stems for, named in a lot's row


@dataclass(frozen=True, slots=True)
class Told:
    """A week's work in words."""

    days: tuple[DayBlock, ...]
    marks: Mapping[tuple[str, int], str]  # lot code and number of the day -> letters of its tasks


def work_words(week: CoolerWeek, teller: Teller, width: float, pages: Mapping[str, int], most: int) -> Told:
    """The tasks of a cooler's week.

    A task whose lots do not fit some lines has a letter instead, with which they are marked in their rows.

    Args:
        week: the cooler's.
        teller: words and workday.
        width: of the column that the tasks stand in [mm].
        pages: lot code -> number of the page on which it has its row; 0: on the same page.
        most: lines that a task may have.
    """
    say = teller.wording.macros(TEMPLATE)
    letters: list[str] = []
    marks: dict[tuple[str, int], str] = {}
    days = []
    for n, (day, works) in enumerate(zip(week.days, week.works, strict=True)):
        jobs = [Job(say.day_off(), tick=False)] if teller.farm.workday.is_off(day) else []
        for work in works:
            job = Job(_named(work, week.cooler.name, teller.wording), work.task.now)
            if lines_of(job, width) > most and all(share.lot in pages for share in work.shares):
                letters.append(_letter(len(letters)))
                job = replace(job, text=_marked(work, week.cooler.name, letters[-1], pages, teller.wording))
                for share in work.shares:
                    mark = say.mark(letter=letters[-1], bunches=share.bunches)
                    marks[share.lot, n] = f"{marks.get((share.lot, n), '')} {mark}".strip()
            jobs.append(job)
        days.append(DayBlock(teller.wording.day(day), tuple(jobs)))
    return Told(tuple(days), marks)


def _letter(number: int) -> str:
    """A, B, … Z, AA, AB, … by its number.

    >>> [_letter(number) for number in (0, 25, 26, 53)]
    ['A', 'Z', 'AA', 'BB']
    """
    ahead, last = divmod(number, 26)
    return (_letter(ahead - 1) if ahead else "") + chr(ord("A") + last)


def what(task: Task, cooler: str, wording: Wording) -> str:
    """What is to be done, and when: the hour first, but for the last moment to sell."""
    say = wording.macros(AGENDA)
    if cooler == task.to:
        return str(say.comes(task=task))
    if task.now or task.any_hour or (task.kind is Kind.LEAVES and task.order is None):
        return str(say.line(task=task))
    hour, verb = say.hour(task=task), say.verb(task=task)
    return str(wording.macros(TEMPLATE).at_hour(hour=hour, verb=verb))


def _named(work: Work, cooler: str, wording: Wording) -> str:
    return str(
        wording.macros(TEMPLATE).work(
            line=what(work.task, cooler, wording),
            shares=work.shares[:NAMED],
            more=max(len(work.shares) - NAMED, 0),
            bunches=work.bunches,
            buckets=work.buckets,
        )
    )


def _marked(work: Work, cooler: str, letter: str, pages: Mapping[str, int], wording: Wording) -> str:
    found = [pages[share.lot] for share in work.shares]
    return str(
        wording.macros(TEMPLATE).marked(
            line=what(work.task, cooler, wording),
            letter=letter,
            lots=len(work.shares),
            bunches=work.bunches,
            buckets=work.buckets,
            first=min(found),
            last=max(found),
        )
    )


def row_words(row: LotWeek, cooler: str, teller: Teller) -> LotRow:
    """The words of a lot's row on the sheet of a cooler."""
    dates, wording = row.dates, teller.wording
    lot, say, wet = row.dates.lot, wording.macros(TEMPLATE), is_wet(dates)
    selling = selling_told(dates, None, teller.farm.workday, teller.now)
    words = LotRow(
        lot=lot.lot_code,
        code="" if wet else dates.code.value,
        marks=" · ".join(_marks(row, selling.word, wording, teller.now)),
        flowers=say.named(title=title(lot), variety=variety(lot), colour=lot.colour),
        place=_place(lot, cooler, teller),
        bunches="" if lot.bunches_left is None else str(lot.bunches_left),
        sell_by=wording.day(selling.moment) if selling.moment else _undated(selling.word, wording),
    )
    if wet:
        return replace(words, sell_by="", marks=" · ".join(filter(None, (say.wet_lot(), words.marks))))
    if selling.moment is None:
        return words
    small = say.sells(ordered=selling.word is SellWord.ORDERED, use=selling.use, leaves=selling.leaves)
    return replace(words, sell_small=small, **_water(row, say, teller))


def _undated(word: SellWord, wording: Wording) -> str:
    """What stands in place of a sell-by."""
    say = wording.macros(AGENDA)
    if word is SellWord.HOW_OPEN:
        return str(say.mark(mark=Mark.HOW_OPEN.value, on=None))
    return str(say.state(state=(State.TOO_OLD if word is SellWord.TOO_OLD else State.NO_DATE).value))


def _place(lot: Lot, cooler: str, teller: Teller) -> str:
    """Where in a cooler a lot stands, or will stand once it is moved there."""
    if cooler_at(lot, teller.farm, teller.now).name == cooler:
        return spot_at(lot, teller.now)
    return next((move.spot for move in lot.moves if move.since > teller.now and move.place == cooler), "")


def _water(row: LotWeek, say: Any, teller: Teller) -> dict[str, str]:
    """The cell on water: its day and hour, or how the lot stands."""
    dates, wording = row.dates, teller.wording
    water = water_told(dates, None, teller.now)
    was = say.was(code=dates.kept.value) if dates.kept is not dates.code else ""
    if water is None and asks_still_dry(dates, teller.now) and dates.lot.may_have_left is None:
        return {"water": wording.macros(AGENDA).still_dry()}
    if water is None:
        return {}
    if water.word is WaterWord.BY and water.moment is not None:
        return {"water": wording.day(water.moment), "water_small": wording.hour(water.moment)}
    if water.word is WaterWord.NOW:
        return {"water": say.water_now(), "water_small": say.ready(ready=water.moment)}
    ready = say.ready(ready=water.moment) if water.moment else was
    return {"water": say.in_water(), "water_small": ready}


def _marks(row: LotWeek, selling: SellWord, wording: Wording, now: datetime) -> Iterator[str]:
    dates, say = row.dates, wording.macros(AGENDA)
    asked = dates.lot.may_have_left is not None
    if row.outside:
        yield wording.macros(TEMPLATE).outside()
    if asked:
        yield say.did_they_leave()
    kept, rest = apart(dates, now)
    for part in kept[:KEEP_NAMED]:
        if part.order is not None:
            yield say.keep(stems=part.stems, leaves=part.order.leaves, into_water_by=None)
    if rest is not None:
        yield say.the_other(stems=rest.stems, state_words=say.state(state=rest.state.value))
    elif not asked and (selling is SellWord.ELSEWHERE or dates.state is State.SELL_FIRST):
        yield say.state(state=dates.state.value)
    tests = [day for day in dates.tests_on if day >= now.date()]
    for mark in dates.marks:
        told = mark is Mark.PUT_IN_WATER_NOW or (mark is Mark.HOW_OPEN and selling is SellWord.HOW_OPEN)
        if not told:
            yield say.mark(mark=mark.value, on=min(tests, default=None))
