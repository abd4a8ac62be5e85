"""The question on the telephone: could I have 60 for that day? Which lots would do, why, in water by when.

What is promised, kept or written in the sheet Orders is set aside first; what outlets usually sell is not.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, replace

from tagmaker.desk.pack_printing import aligned
from tagmaker.desk.packing import Asked, Packing, packing
from tagmaker.desk.season import Season
from tagmaker.errors import UsageProblem
from tagmaker.intake.cells.dates import DateColumn, SheetDate
from tagmaker.intake.cells.moments import order_moment
from tagmaker.intake.cells.plain_text import listed, one_line, shown, squash, typed
from tagmaker.intake.cells.unfit import NoDateError, UnfitCellError
from tagmaker.notes import WhyShort
from tagmaker.storage.allocation import Allocation, Shortfall, allocate
from tagmaker.storage.demand import WrittenOrder
from tagmaker.storage.serving import Supply
from tagmaker.telling.pack_words import TEMPLATE, line_words
from tagmaker.telling.packing import Packed, packed

NAME = "ASKED"  # of the order that it would be
MOST = 20_000
_COUNT = re.compile(r"(\d{1,5})\s*(stems?|st|bunch(?:es)?|bu)?\b\.?\s*(.*)", re.ASCII | re.IGNORECASE)


def question(season: Season, text: str) -> WrittenOrder:
    """What is asked for, as the order that it would be: how many, words of the flowers, use and day.

    A bare number counts bunches, as everywhere where it is typed what happens.

    Raises:
        UsageProblem: it cannot be read.
    """
    line = typed(one_line(text)).strip(" .?")
    example = f'"60 {next(iter(season.farm.uses))} {season.now.date()}"'
    counted = _COUNT.fullmatch(line)
    if counted is None or not 1 <= int(counted[1]) <= MOST:
        raise UsageProblem(f"the question must begin with how many, like {example} (got {shown(text)})")
    when, words = _day_in(counted[3], season, text)
    use, words = _use_in(words, season, text)
    number, in_stems = int(counted[1]), (counted[2] or "").casefold().startswith("st")
    leaves = order_moment(when, season.farm.uses[use].leaves)
    if leaves < season.now:
        raise UsageProblem(f"the question must be about a day to come (got {shown(text)})")
    asked = WrittenOrder(
        order_code=NAME,
        leaves=leaves,
        use=use,
        stems=number if in_stems else None,
        bunches=None if in_stems else number,
    )
    return _flowers(asked, words, season)


def _day_in(text: str, season: Season, whole: str) -> tuple[SheetDate, list[str]]:
    """The longest stretch of words that reads as a date, and the words around it."""
    words, dates = text.split(), DateColumn("ask", season.farm.day_first, season.now)
    try:
        for length in range(min(len(words), 5), 0, -1):
            for start in range(len(words) - length + 1):
                try:
                    when = dates.read(" ".join(words[start : start + length]))
                except NoDateError:
                    continue
                return when, words[:start] + words[start + length :]
    except UnfitCellError as unfit:
        raise UsageProblem(f"the question must name {unfit.must}. {unfit.remedy}") from None
    raise UsageProblem(f"the question must name a day, like {season.now.date()} (got {shown(whole)})")


def _use_in(words: list[str], season: Season, whole: str) -> tuple[str, list[str]]:
    """The use that the words name, the longest one, and the other words."""
    uses = {squash(name): name for name in season.farm.uses}
    for length in range(len(words), 0, -1):
        for start in range(len(words) - length + 1):
            found = uses.get(squash("".join(words[start : start + length])))
            if found is not None:
                return found, words[:start] + words[start + length :]
    if len(uses) == 1:
        return next(iter(uses.values())), words
    raise UsageProblem(
        f"the question must name one of the uses: {listed(uses.values())} (got {shown(whole)})"
    )


def _flowers(asked: WrittenOrder, words: list[str], season: Season) -> WrittenOrder:
    """The order with what the other words say of the flowers: a crop, a form, a variety, a colour."""
    rest = [word for word in words if squash(word) not in ("for", "of", "on", "the", "a", "")]
    lots = season.lots
    known = {
        "varieties": {lot.variety.casefold() for lot in lots if lot.variety},
        "colours": {lot.colour.casefold() for lot in lots if lot.colour},
        "forms": {form for crop in season.crops.crops for form in season.crops.forms(crop)},
    }
    while rest:
        for length in range(len(rest), 0, -1):
            found = _meant(" ".join(rest[:length]), known, season)
            if found is not None:
                field, value = found
                asked = replace(asked, **{field: getattr(asked, field) | {value}})
                rest = rest[length:]
                break
        else:
            must = "a crop, a form, or a variety or colour that a lot has"
            raise UsageProblem(f"the question must name {must} (got {shown(' '.join(rest))})")
    return asked


def _meant(text: str, known: dict[str, set[str]], season: Season) -> tuple[str, str] | None:
    """The field of an order that some words fill, and with what."""
    word = squash(text)
    for field, names in known.items():
        for name in names:
            if squash(name) in (word, word.removesuffix("s")):
                return field, name
    crop = season.crops.find(text) or (
        season.crops.find(text[:-1]) if text.casefold().endswith("s") else None
    )
    return None if crop is None else ("crops", crop)


@dataclass(frozen=True, slots=True)
class Answer:
    """What could be promised."""

    asked: WrittenOrder
    packed: Packed  # the lots that would be taken
    others: tuple[Supply, ...]  # that would do too and have bunches free


def free_supplies(found: Packing) -> tuple[Supply, ...]:
    """What there is, less what is promised to anybody."""
    taken: dict[str, int] = {}
    for line in found.allocation.lines:
        code = line.supply.lot.lot_code
        taken[code] = taken.get(code, 0) + line.stems
    return tuple(
        replace(
            supply,
            lot=replace(supply.lot, orders=(), gone=supply.lot.gone + taken.get(supply.lot.lot_code, 0)),
        )
        for supply in found.supplies
    )


def answer_to(season: Season, asked: WrittenOrder) -> Answer:
    """Which lots would do for an order, after everything that is promised."""
    farm = replace(
        season.farm, uses={name: replace(use, stems=None) for name, use in season.farm.uses.items()}
    )
    found = packing(replace(season, farm=farm), Asked())
    free = free_supplies(found)
    allocation: Allocation = allocate(free, (asked,), season.farm, season.now)
    short = tuple(_with_promises(short, asked, found) for short in allocation.shortfalls)
    allocation = replace(allocation, shortfalls=short)
    (one,) = packed(allocation, [(asked.leaves, asked.use)], found.dates_of, season, {})
    taken = {line.lot.lot_code for line in one.lines}
    use = season.farm.uses[asked.use]
    others = tuple(
        supply
        for supply in free
        if supply.lot.lot_code not in taken
        and (supply.lot.left or 0) >= supply.lot.per_bunch
        and asked.fits(supply.lot)
        and supply.serves(asked.leaves, use).ok
    )
    return Answer(asked, one, others)


def _with_promises(short: Shortfall, asked: WrittenOrder, found: Packing) -> Shortfall:
    """The shortfall with the lots that would do and are promised, and to whom."""
    use, to = found.season.farm.uses[asked.use], dict[str, list[str]]()
    for line in found.allocation.lines:
        if asked.fits(line.supply.lot) and line.supply.serves(asked.leaves, use).ok:
            to.setdefault(line.supply.lot.lot_code, []).append(line.demand.code or line.demand.use)
    given = tuple((code, who) for code, whom in to.items() for who in dict.fromkeys(whom))
    assert isinstance(short.why, WhyShort)
    return replace(
        short, why=replace(short.why, given=given, nothing_fits=short.why.nothing_fits and not given)
    )


def answered(season: Season, asked: WrittenOrder) -> str:
    """The answer for a terminal."""
    return "\n".join(_lines(season, answer_to(season, asked)))


def _lines(season: Season, found: Answer) -> Iterator[str]:
    say, wording, one = season.wording.macros(TEMPLATE), season.wording, found.packed
    asked = found.asked
    in_stems = asked.stems is not None
    yield say.answer(
        wanted=asked.stems if in_stems else asked.bunches,
        there=one.stems if in_stems else one.bunches,
        in_stems=in_stems,
        leaves=one.leaves,
        use=one.use,
    )
    words = [line_words(line, season) for line in one.lines]
    rows = [
        (
            line.lot,
            line.code,
            line.flowers,
            line.bunches_said,
            line.water_said,
            line.marks,
        )
        for line in words
    ]
    yield from aligned(rows, "  ") if rows else ()
    yield from (f"  {why}" for line in words for why in line.why)
    yield from (f"  {wording.say(short.why)}" for short in one.short)
    if found.others:
        lots = [
            (supply.lot.lot_code, (supply.lot.left or 0) // supply.lot.per_bunch) for supply in found.others
        ]
        yield f"  {say.would_do_too(lots=lots)}"
