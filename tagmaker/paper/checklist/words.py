"""What the checklist says: the paragraphs of a day's strip, of a lot's cells and of its name."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date

from tagmaker.farm import Farm
from tagmaker.lot import State
from tagmaker.notes import KeepFor
from tagmaker.paper.press.stacking import Paragraph
from tagmaker.storage.room import RoomDay
from tagmaker.telling.day_strip import DayStrip, Outgoing, SellingDay, Share, Soak
from tagmaker.telling.lot_week import Job, Task
from tagmaker.telling.naming import title, variety
from tagmaker.telling.readiness import hour_matters, is_wet
from tagmaker.telling.week import LotWeek
from tagmaker.telling.wording import Wording

TEMPLATE = "cooler-checklist.j2"
SIZE = 8.0  # [pt] of running words
LOTS_NAMED = 8  # lots named in a line of the strip; the rest are counted
NAMED = (LOTS_NAMED, 4, 0)  # lots named in a line on what goes: from as it should be to the least
JOBS_NAMED = 11  # jobs of a lot named on a day; the rest are counted
KEEP_NAMED = 2  # orders to keep stems for past the sell-by
PRESSING = (Task.SELL, Task.FEEL, Task.CANNOT, Task.ADVISE_WATER)  # bold even where not overdue


def strip_paragraphs(
    strip: DayStrip, room: RoomDay | None, wording: Wording, named: int = LOTS_NAMED
) -> tuple[Paragraph, ...]:
    """One day's strip: over-full, into water, out of the door, selling days, room taken.

    Args:
        strip: the day's.
        room: the room that is taken that day, if it is known.
        wording: the farm's words.
        named: lots named in a line on what goes into water or out of the door; each has its row.
    """
    say = wording.macros(TEMPLATE)
    found = [_paragraph(say.day_off())] if strip.off else []
    if room is not None and room.overflow:
        text = say.overflow(
            crates=room.crates,
            buckets=room.buckets,
            lots=room.overflow[:LOTS_NAMED],
            more=_more(room.overflow),
        )
        found.append(_paragraph(text, bold=True))
    found += [_paragraph(_soak(soak, wording, named), bold=soak.now) for soak in strip.soaks]
    found += _outgoing(strip.outgoing, wording, named)
    found += [_paragraph(_selling(selling, wording)) for selling in strip.selling]
    if room is not None and not room.overflow and room.crates + room.buckets:
        percent = None if room.fill is None else round(room.fill * 100)
        counted = named > 0 or percent is None
        crates, buckets = (room.crates, room.buckets) if counted else (0, 0)
        found.append(_paragraph(say.room(crates=crates, buckets=buckets, percent=percent)))
    return tuple(found)


def _paragraph(text: str, *, bold: bool = False) -> Paragraph:
    return Paragraph(text, SIZE, "bold" if bold else "regular", before=0.5)


def _more(lots: Sequence[object]) -> int:
    return max(len(lots) - LOTS_NAMED, 0)


def _named(shares: Sequence[Share], named: int) -> dict[str, object]:
    """The lots of a line that are named, and how many are not; one that stands alone always is."""
    shown = shares[: max(named, 1)] if named or len(shares) == 1 else ()
    return {"shares": shown, "more": len(shares) - len(shown)}


def _soak(soak: Soak, wording: Wording, named: int) -> str:
    text: str = wording.macros(TEMPLATE).soak(soak=soak, **_named(soak.shares, named))
    return text


def _outgoing(outgoing: Sequence[Outgoing], wording: Wording, named: int) -> list[Paragraph]:
    """A paragraph for each departure; where none of its lots are named, one for all of a kind."""
    overdue = [out for out in outgoing if out.now]
    to_come = [out for out in outgoing if not out.now]
    if named:
        kinds = [[out] for out in to_come]
    else:
        kinds = [[out for out in to_come if out.order == order] for order in (True, False)]
    say = wording.macros(TEMPLATE)
    return [
        _paragraph(
            say.outgoing(parts=[{"out": out, **_named(out.shares, named)} for out in kind]), bold=kind[0].now
        )
        for kind in [*([out] for out in overdue), *kinds]
        if kind
    ]


def _selling(selling: SellingDay, wording: Wording) -> str:
    draws = [
        {
            "into_water_by": draw.into_water_by,
            "that_day": draw.into_water_by is not None and draw.into_water_by.date() == selling.act_on,
            "lot_codes": draw.lot_codes[:LOTS_NAMED],
            "more": _more(draw.lot_codes),
        }
        for draw in selling.draws
    ]
    text: str = wording.macros(TEMPLATE).selling(selling=selling, draws=draws)
    return text


def job_paragraphs(jobs: Sequence[Job], day: date, wording: Wording) -> tuple[Paragraph, ...]:
    """The jobs of a lot on a day, what is overdue or pressing in bold."""
    say = wording.macros(TEMPLATE)
    found = [
        _paragraph(say.job(job=job, day=day), bold=job.now or job.task in PRESSING)
        for job in jobs[:JOBS_NAMED]
    ]
    if len(jobs) > JOBS_NAMED:
        found.append(_paragraph(say.more_jobs(count=len(jobs) - JOBS_NAMED), bold=True))
    return tuple(found)


@dataclass(frozen=True, slots=True, kw_only=True)
class RowWords:
    """The words of a lot's row but for its days."""

    lot: str
    code: str  # storage code; empty for a wet lot
    sell_by: str
    below: tuple[Paragraph, ...]  # marks and the flowers


def row_words(row: LotWeek, farm: Farm, wording: Wording) -> RowWords:
    """The words of a lot's row."""
    dated, lot, say = row.dated, row.dated.lot, wording.macros(TEMPLATE)
    flowers = say.flowers(
        title=title(lot),
        variety=variety(lot),
        colour=lot.colour,
        bunches=lot.bunches_left,
        place=lot.place,
        was=dated.kept.value if dated.kept is not dated.code else "",
    )
    marks = " · ".join(_marks(row, wording))
    wet = is_wet(dated)
    below = [Paragraph(marks, SIZE, "bold"), Paragraph(flowers, SIZE, lines=2)]
    if wet:
        below.append(Paragraph(say.wet(lot=lot.lot_code), SIZE, "bold"))
    elif dated.sell_by is None:
        below.append(Paragraph(wording.say(dated.why), SIZE))
    sell_by = say.no_date()
    if dated.sell_by is not None:
        with_hour = hour_matters(dated.sell_by, farm.workday)
        sell_by = say.sell_by(sell_by=dated.sell_by, with_hour=with_hour)
    return RowWords(
        lot=lot.lot_code, code="" if wet else dated.code.value, sell_by=sell_by, below=tuple(below)
    )


def _marks(row: LotWeek, wording: Wording) -> Iterator[str]:
    dated, say = row.dated, wording.macros(TEMPLATE)
    if row.outside:
        yield say.outside()
    if dated.state is State.TOO_OLD and dated.sell_by is not None:
        yield say.past_since(sell_by=dated.sell_by)
    elif dated.state is State.SELL_FIRST:
        yield say.sell_now()
    if dated.test_first:
        yield say.test_first()
    if dated.lot.stage is None:
        yield say.stage()
    keep_for = [note for note in dated.warnings if isinstance(note, KeepFor)]
    yield from (wording.say(note) for note in keep_for[:KEEP_NAMED])
