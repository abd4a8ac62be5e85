"""What the checklist says: the paragraphs of a day's strip, of a lot's cells and of its name."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime

from tagmaker.lot import Mark, State
from tagmaker.paper.press.stacking import Paragraph
from tagmaker.storage.room import RoomDay
from tagmaker.telling.agenda import Kind, Task
from tagmaker.telling.cooler_week import LotWeek
from tagmaker.telling.deadlines import SellWord, selling_told
from tagmaker.telling.naming import title, variety
from tagmaker.telling.order import Work
from tagmaker.telling.parts import apart
from tagmaker.telling.readiness import is_wet
from tagmaker.telling.teller import Teller
from tagmaker.telling.wording import Wording

TEMPLATE = "cooler-checklist.j2"
AGENDA = "agenda.j2"
SIZE = 8.0  # [pt] of running words
LOTS_NAMED = 8  # lots named in a line of the strip; the rest are counted
NAMED = (LOTS_NAMED, 4, 0)  # lots named in a line on what goes: from as it should be to the least
TASKS_NAMED = 11  # tasks of a lot named on a day; the rest are counted
KEEP_NAMED = 2  # orders to keep stems for past the sell-by
TOGETHER = (Kind.CONFIRM_CUT, Kind.INTO_WATER, Kind.INTO_THE_WARM, Kind.LEAVES)  # told in the strip


def strip_paragraphs(
    works: Sequence[Work], off: bool, room: RoomDay | None, wording: Wording, named: int = LOTS_NAMED
) -> tuple[Paragraph, ...]:
    """One day's strip: over-full, into water, out of the door, plans to confirm, room taken.

    Args:
        works: the day's.
        off: nobody works at the bench.
        room: the room that is taken that day, if it is known.
        wording: the farm's words.
        named: lots named in a line on what goes into water or out of the door; each has its row.
    """
    say = wording.macros(TEMPLATE)
    found = [_paragraph(say.day_off())] if off else []
    if room is not None and room.overflow:
        text = say.overflow(
            crates=room.crates,
            buckets=room.buckets,
            lots=room.overflow[:LOTS_NAMED],
            more=max(len(room.overflow) - LOTS_NAMED, 0),
        )
        found.append(_paragraph(text, bold=True))
    found += [
        _paragraph(_work(work, wording, named), bold=work.task.now)
        for work in works
        if work.task.kind in TOGETHER
    ]
    if room is not None and not room.overflow and room.crates + room.buckets:
        percent = None if room.fill is None else round(room.fill * 100)
        counted = named > 0 or percent is None
        crates, buckets = (room.crates, room.buckets) if counted else (0, 0)
        found.append(_paragraph(say.room(crates=crates, buckets=buckets, percent=percent)))
    return tuple(found)


def _paragraph(text: str, *, bold: bool = False) -> Paragraph:
    return Paragraph(text, SIZE, "bold" if bold else "regular", before=0.5)


def _work(work: Work, wording: Wording, named: int) -> str:
    """What is to be done and with which lots; one that stands alone is always named."""
    shares = work.shares
    shown = shares[: max(named, 1)] if named or len(shares) == 1 else ()
    return str(
        wording.macros(TEMPLATE).work(
            line=wording.macros(AGENDA).line(task=work.task),
            shares=shown,
            more=len(shares) - len(shown),
            bunches=work.bunches,
            buckets=work.buckets,
        )
    )


def task_paragraphs(tasks: Sequence[Task], cooler: str, wording: Wording) -> tuple[Paragraph, ...]:
    """The tasks of a lot on a day in a cooler, what holds now in bold."""
    say = wording.macros(AGENDA)
    found = [
        _paragraph(
            say.comes(task=task) if cooler == task.to else say.told(task=task),
            bold=task.now,
        )
        for task in tasks[:TASKS_NAMED]
    ]
    if len(tasks) > TASKS_NAMED:
        text = wording.macros(TEMPLATE).more_jobs(count=len(tasks) - TASKS_NAMED)
        found.append(_paragraph(text, bold=True))
    return tuple(found)


@dataclass(frozen=True, slots=True, kw_only=True)
class RowWords:
    """The words of a lot's row but for its days."""

    lot: str
    code: str  # storage code; empty for a wet lot
    sell_by: str
    below: tuple[Paragraph, ...]  # marks and the flowers


def row_words(row: LotWeek, teller: Teller) -> RowWords:
    """The words of a lot's row."""
    wording = teller.wording
    dated, lot, say = row.dates, row.dates.lot, wording.macros(TEMPLATE)
    flowers = say.flowers(
        title=title(lot),
        variety=variety(lot),
        colour=lot.colour,
        bunches=lot.bunches_left,
        place=lot.place,
        was=dated.kept.value if dated.kept is not dated.code else "",
    )
    marks = " · ".join(_marks(row, teller.wording, teller.now))
    wet = is_wet(dated)
    below = [Paragraph(marks, SIZE, "bold"), Paragraph(flowers, SIZE, lines=2)]
    if wet:
        below.append(Paragraph(say.wet(lot=lot.lot_code), SIZE, "bold"))
    elif dated.sell_by is None:
        below.append(Paragraph(wording.say(dated.why), SIZE))
    selling = selling_told(dated, None, teller.farm.workday, teller.now)
    sell_by = wording.day(selling.moment) if selling.moment else _undated(selling.word, wording)
    if selling.leaves:
        sell_by = wording.moment(selling.leaves)
    return RowWords(
        lot=lot.lot_code, code="" if wet else dated.code.value, sell_by=sell_by, below=tuple(below)
    )


def _undated(word: SellWord, wording: Wording) -> str:
    """What stands in place of a sell-by."""
    say = wording.macros(AGENDA)
    if word is SellWord.HOW_OPEN:
        return str(say.mark(mark=Mark.HOW_OPEN.value, on=None))
    return str(say.state(state=(State.TOO_OLD if word is SellWord.TOO_OLD else State.NO_DATE).value))


def _marks(row: LotWeek, wording: Wording, now: datetime) -> Iterator[str]:
    dates, say = row.dates, wording.macros(AGENDA)
    if row.outside:
        yield wording.macros(TEMPLATE).outside()
    kept, rest = apart(dates, now)
    for part in kept[:KEEP_NAMED]:
        if part.order is not None:
            yield say.keep(stems=part.stems, leaves=part.order.leaves, into_water_by=None)
    if rest is not None:
        yield say.the_other(stems=rest.stems, state_words=say.state(state=rest.state.value))
    elif dates.state is not State.KEEP and dates.sell_by is not None:
        yield say.state(state=dates.state.value)
    yield from (say.mark(mark=mark.value, on=None) for mark in dates.marks)
