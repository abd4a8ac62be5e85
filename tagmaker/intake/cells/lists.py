"""Cells that hold several entries: orders, moves, tests, days in a vase, and the parents of a lot.

Entries are separated by semicolons or line breaks.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from tagmaker.farm import Farm
from tagmaker.intake.cells import readers as cells
from tagmaker.intake.cells.dates import DateColumn, SheetDate
from tagmaker.intake.cells.plain_text import one_line, shown, squash, typed
from tagmaker.intake.cells.readers import Amount
from tagmaker.intake.cells.unfit import NoDateError, UnfitCellError
from tagmaker.intake.cells.words import FINDINGS, STAGES
from tagmaker.intake.files.grid import CellValue, text_of
from tagmaker.lot import BunchTest, Finding, SeenVaseDays

MOST_SEEN_DAYS = 60  # [d] in a vase; what is longer is no cut flower (chosen)
OUTSIDE = "out"
_MOST_ENTRY_LETTERS = 120  # of one entry (chosen)
_SEPARATORS = re.compile(r"[;\n]|,\s*(?=\d{1,4}[-/.]\d{1,2}[-/.])", re.ASCII)
_COUNT = re.compile(
    r"(?:(?<=\d)|\s)[x×*]\s*(\d[\d ,']*\s*(?:stems?|bunch(?:es)?)?)\.?$", re.ASCII | re.IGNORECASE
)

_BROKEN_COUNT = re.compile(r"[x×*]\s*[^a-z\s]", re.IGNORECASE)  # "x -5", "x 1.5"
_SHARE = re.compile(r"(.*\S)\s+[x×*]\s*(\S.*)", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class SheetOrder:
    """An order as it stands in a cell."""

    when: SheetDate
    stems: Amount | None  # None: the whole lot
    use: str | None  # None: the use of its lot


@dataclass(frozen=True, slots=True)
class SheetMove:
    """A move as it stands in a cell."""

    place: str
    when: SheetDate
    temperature_c: float | None  # [°C], outside any cooler
    spot: str = ""  # where in the cooler


@dataclass(frozen=True, slots=True)
class Share:
    """A lot that a lot was split from, and how much of it."""

    parent: str
    stems: Amount | None  # None: all the stems of the child


def orders(value: CellValue, dates: DateColumn, uses: Iterable[str]) -> tuple[SheetOrder, ...]:
    """The orders in a cell: "2027-04-10" or "2027-04-10 x 100; 2027-04-17T07:00 wedding x 60"."""
    known = list(uses)
    if not isinstance(value, str):
        return (SheetOrder(dates.read(value), None, None),)
    return tuple(_order(entry, dates, known) for entry in _entries(text_of(value)))


def _order(entry: str, dates: DateColumn, uses: list[str]) -> SheetOrder:
    example = f"{dates.now.date()}T07:00 {uses[0]} x 60"
    remedy = f"Write an order as its date, or with its hour, use and stems: {example}."
    unreadable = f'an order like "{example}" (got {shown(entry)})'
    counted = _COUNT.search(entry)
    rest = entry[: counted.start()] if counted else entry
    before, when, after = _around_date(rest, dates, unreadable, remedy)
    use = f"{before} {after}".strip()
    stems = None
    if counted:
        try:
            stems = cells.amount(counted[1], 1, cells.MOST_STEMS)
        except UnfitCellError as unfit:
            must = f"orders of {unfit.must} each (got {shown(entry)})"
            raise UnfitCellError(must, remedy, complete=True) from None
    if not use:
        return SheetOrder(when, stems, None)
    if _BROKEN_COUNT.match(use) or not any(letter.isalpha() for letter in use):
        raise UnfitCellError(unreadable, remedy, complete=True)
    try:
        return SheetOrder(when, stems, cells.name_among(use, uses, "use"))
    except UnfitCellError as unfit:
        must = f"orders for {unfit.must} (got {shown(use)} in {shown(entry)})"
        raise UnfitCellError(must, unfit.remedy, complete=True) from None


def moves(value: CellValue, dates: DateColumn, farm: Farm) -> tuple[SheetMove, ...]:
    """The moves in a cell: "walk-in 2027-04-12; out 2027-04-14T06:00 75F; south 2027-04-14T15:00"."""
    known = list(farm.coolers)
    return tuple(_move(entry, dates, known, farm.units) for entry in _entries(text_of(value)))


def _move(entry: str, dates: DateColumn, coolers: list[str], units: str | None) -> SheetMove:
    example = f"{coolers[0]} {dates.now.date()}T15:00"
    remedy = f"Write where to and when, in order: {example}."
    unreadable = f'a move like "{example}" (got {shown(entry)})'
    before, when, after = _around_date(entry, dates, unreadable, remedy)
    word, _, spot = (part.strip() for part in before.removeprefix("to ").partition(","))
    outside = squash(word) in ("out", "outside", "outdoors")
    if not word or (after and not outside):
        raise UnfitCellError(unreadable, remedy, complete=True)
    try:
        place = OUTSIDE if outside else cells.name_among(word, coolers, "cooler")
        temperature = cells.field_temperature(after, units) if after else None
    except UnfitCellError as unfit:
        must = f"moves to {unfit.must}" if not outside else f"moves out with {unfit.must}"
        must = f"{must} (got {shown(after if outside else word)} in {shown(entry)})"
        raise UnfitCellError(must, unfit.remedy, complete=True) from None
    return SheetMove(place, when, temperature, cells.name_text(spot))


def tests(value: CellValue, dates: DateColumn) -> tuple[BunchTest, ...]:
    """The looks at a lot in a cell, in order of day: "2027-04-18 ok; 2027-04-22 bad; 2027-05-04 tight"."""
    if not isinstance(value, str):
        return (BunchTest(_past_day(dates.read(value), dates, text_of(value)), Finding.OPENED),)
    found = (_test(entry, dates) for entry in _entries(value))
    return tuple(sorted(found, key=lambda test: test.day))


def _test(entry: str, dates: DateColumn) -> BunchTest:
    today = dates.now.date()
    remedy = f"Write the day and what was found, ok, bad or how far the buds are: {today} ok."
    must = f'a test like "{today} ok" (got {shown(entry)})'
    before, when, after = _around_date(entry, dates, must, remedy)
    word = squash(f"{before} {after}")
    ambiguous = word in ("opened", "opening")  # said of a bunch as well as of buds
    found = FINDINGS.get(word) or STAGES.get(word) if word else Finding.OPENED
    if found is None or ambiguous:
        raise UnfitCellError(must, remedy, complete=True)
    return BunchTest(_past_day(when, dates, entry), found)


def _past_day(when: SheetDate, dates: DateColumn, entry: str) -> date:
    if when.day > dates.now.date():
        must = f"days until today, {dates.now.date()} (got {shown(entry)})"
        raise UnfitCellError(must, "Write it once it is known.", complete=True)
    return when.day


def seen_vase_days(value: CellValue, dates: DateColumn) -> tuple[SeenVaseDays, ...]:
    """Days in a vase in a cell, by the day the bunch left: "2027-04-24: 5; 2027-04-30: 3"."""
    return tuple(_seen(entry, dates) for entry in _entries(text_of(value)))


def _seen(entry: str, dates: DateColumn) -> SeenVaseDays:
    example = f"{dates.now.date()}: 5"
    must = f'the day a bunch left and the days it stood, like "{example}" (got {shown(entry)})'
    remedy = f"Write it like {example}."
    match = re.fullmatch(
        r"(.+?)\s*[:=]\s*(\d{1,2}(?:[.,]\d)?)\s*(?:d|days?)?", entry, re.ASCII | re.IGNORECASE
    )
    days = float(match[2].replace(",", ".")) if match else MOST_SEEN_DAYS + 1
    if match is None or days > MOST_SEEN_DAYS:
        raise UnfitCellError(must, remedy, complete=True)
    return SeenVaseDays(_past_day(dates.read(match[1]), dates, entry), days)


def shares(value: CellValue) -> tuple[Share, ...]:
    """The parents in a cell: "041", or several: "041 x 30; 043 x 20"."""
    found = tuple(_share(entry) for entry in _entries(re.sub(r"[,+&]|\band\b", ";", text_of(value))))
    codes = [share.parent for share in found]
    if len(set(codes)) < len(codes):
        raise UnfitCellError("lots that are named once each", "Add up what came from the same lot.")
    if len(found) > 1 and any(share.stems is None for share in found):
        example = "; ".join(f"{share.parent} x 20" for share in found[:3])
        raise UnfitCellError("several lots with the stems from each", f"Write it like {example}.")
    return found


def _share(entry: str) -> Share:
    counted = _SHARE.fullmatch(entry)
    word = re.sub(r"^lots?\s+", "", counted[1] if counted else entry, flags=re.IGNORECASE)
    try:
        return Share(cells.lot_code(word), cells.amount(counted[2], 1, cells.MOST_STEMS) if counted else None)
    except UnfitCellError:
        must = f'a lot code, or several like "041 x 30; 043 x 20" (got {shown(entry)})'
        raise UnfitCellError(must, "Write the code as it stands in the column lot.", complete=True) from None


def _entries(text: str) -> list[str]:
    entries = [one_line(entry).strip(" .") for entry in _SEPARATORS.split(typed(text))]
    return [entry for entry in entries if entry]


def _around_date(entry: str, dates: DateColumn, must: str, remedy: str) -> tuple[str, SheetDate, str]:
    """The date in an entry, the longest stretch of words that reads as one, and what stands around it."""
    words = entry.split() if len(entry) <= _MOST_ENTRY_LETTERS else []
    for length in range(len(words), 0, -1):
        for start in range(len(words) - length + 1):
            end = start + length
            try:
                when = dates.read(" ".join(words[start:end]))
            except NoDateError:
                continue
            return " ".join(words[:start]), when, " ".join(words[end:])
    raise NoDateError(must, remedy, complete=True)
