"""The words of what is packed: a line, and what stands above and below the lines of a departure."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from tagmaker.notes import Note
from tagmaker.storage.allocation import Shortfall
from tagmaker.storage.whereabouts import OUT
from tagmaker.telling.deadlines import Water, WaterWord
from tagmaker.telling.naming import lot_page_name, title, variety
from tagmaker.telling.order import Work
from tagmaker.telling.packing import Packed, PackedOrder, PackLine
from tagmaker.telling.teller import Teller

TEMPLATE = "pack-sheet.j2"
AGENDA = "agenda.j2"


@dataclass(frozen=True, slots=True, kw_only=True)
class LineWords:
    """What is said of one line."""

    lot: str
    code: str  # how the stems stand
    cooler: str
    place: str
    flowers: str
    bunches: str
    stems: str  # where the last bunch is short
    water: str  # day, or what stands in its place
    water_small: str  # hour
    bucket: str
    marks: str  # what to mind
    to: str  # which buyers they are for
    meant: str  # the same where nothing stands above it; nothing where nobody ordered them
    page: str  # name of the lot's page
    bunches_said: str  # where no column says what the numbers are
    water_said: str
    why: tuple[str, ...]  # this lot; nothing of what it kept already


@dataclass(frozen=True, slots=True, kw_only=True)
class PackedWords:
    """What is said of a departure."""

    head: str  # day, hour, use
    sums: str  # bunches, lots, buckets
    works: tuple[str, ...]  # what goes into water by when
    lines: tuple[LineWords, ...]  # in walking order
    orders: tuple[str, ...]
    short: tuple[str, ...]
    offer: str  # what would serve more of what was ordered, and the change that does it; "": nothing


def packed_words(found: Packed, teller: Teller, offer: Note | None = None) -> PackedWords:
    """Everything that is said of a departure; `offer` is told where it is short."""
    say = teller.wording.macros(TEMPLATE)
    return PackedWords(
        head=say.departure(leaves=found.leaves, use=found.use),
        sums=say.sums(bunches=found.bunches, lots=len(found.lines), buckets=found.buckets)
        if found.lines
        else say.nothing(),
        works=tuple(_works(found, say, teller)),
        lines=tuple(line_words(line, teller) for line in found.lines),
        orders=tuple(_order(order, say) for order in found.orders),
        short=tuple(_short(short, say, teller) for short in found.short),
        offer=say.offer(said=teller.wording.say(offer)) if offer is not None and found.short else "",
    )


def line_words(line: PackLine, teller: Teller) -> LineWords:
    """What is said of one line."""
    say, lot = teller.wording.macros(TEMPLATE), line.lot
    whole = line.stems == line.bunches * lot.per_bunch
    water, small = water_words(line.water, teller)
    first, last = line.buckets
    agenda = teller.wording.macros(AGENDA)
    marks = [agenda.mark(mark=mark.value, on=line.test_on) for mark in line.marks]
    if line.warm is not None:
        marks.append(say.warm(moment=line.warm))
    to = say.to(takes=_takes(line))
    stems = "" if whole else say.stems(stems=line.stems)
    return LineWords(
        lot=lot.lot_code,
        code=line.code.value,
        cooler=say.outside() if line.cooler == OUT else line.cooler,
        place=line.place,
        flowers=say.flowers(title=title(lot), variety=variety(lot), colour=lot.colour),
        bunches=str(line.bunches),
        stems=stems,
        water=water,
        water_small=small,
        bucket=say.bucket(first=first, last=last),
        marks=" · ".join(marks),
        to=to,
        page=lot_page_name(lot.lot_code),
        bunches_said=say.so_many(bunches=line.bunches, stems=stems),
        water_said=say.water_cell(day=water, hour=small),
        meant=say.meant(to=to, ordered=any(take.written for take in line.takes)),
        why=tuple(dict.fromkeys(teller.wording.say(take.why) for take in line.takes if not take.is_kept)),
    )


def water_words(water: Water, teller: Teller) -> tuple[str, str]:
    """The cell on water: its day and its hour, or how the stems stand."""
    wording, moment = teller.wording, water.moment
    say = wording.macros(TEMPLATE)
    if water.word is WaterWord.BY and moment is not None:
        return wording.day(moment), wording.hour(moment)
    if water.word is WaterWord.NOW and moment is not None:
        return say.water_now(), say.ready(moment=moment)
    return say.in_water(), "" if moment is None else say.ready(moment=moment)


def _takes(line: PackLine) -> list[tuple[str, bool, int]]:
    """Code, whether it was ordered, and bunches of everyone who gets some; one alone needs no number."""
    together: dict[tuple[str, bool], int] = {}
    for take in line.takes:
        key = (take.code, take.written)
        together[key] = together.get(key, 0) + take.bunches
    return [(code, written, bunches) for (code, written), bunches in together.items()]


def _works(found: Packed, say: Any, teller: Teller) -> Iterator[str]:
    for work in found.works:
        yield say.work(said=_said(work, teller), buckets=work.buckets)
    if found.in_water:
        yield say.stands_in_water(bunches=found.in_water)


def _said(work: Work, teller: Teller) -> str:
    """What is to be done with the bunches of all its lots, and when."""
    agenda, task = teller.wording.macros(AGENDA), work.task
    line = agenda.line(task=task)
    day = "" if task.now else teller.wording.day(task.by)
    bunches = "" if work.bunches is None else agenda.bunches(count=work.bunches)
    return str(teller.wording.macros(TEMPLATE).said(day=day, line=line, bunches=bunches))


def _short(short: Shortfall, say: Any, teller: Teller) -> str:
    demand, why = short.demand, teller.wording.say(short.why)
    return str(say.short(code=demand.code, use=demand.use, lot=demand.lot, why=why))


def _order(order: PackedOrder, say: Any) -> str:
    demand = order.demand
    row = demand.order
    in_stems = demand.stems is not None
    return str(
        say.order(
            code=demand.code,
            wanted=demand.stems if in_stems else demand.bunches,
            got=order.stems if in_stems else order.bunches,
            in_stems=in_stems,
            note="" if row is None else row.note,
        )
    )
