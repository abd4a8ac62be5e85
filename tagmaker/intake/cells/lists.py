"""Cells that hold several entries: orders, moves and the lots that a lot was split from.

Entries are separated by semicolons or line breaks.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass

from tagmaker.intake.cells import readers as cells
from tagmaker.intake.cells.dates import DateColumn, SheetDate
from tagmaker.intake.cells.plain_text import one_line, shown, squash, typed
from tagmaker.intake.cells.readers import Amount
from tagmaker.intake.cells.unfit import NoDateError, UnfitCellError
from tagmaker.intake.files.grid import CellValue, text_of

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


def moves(
    value: CellValue, dates: DateColumn, coolers: Iterable[str], units: str | None
) -> tuple[SheetMove, ...]:
    """The moves in a cell: "walk-in 2027-04-12; out 2027-04-14T06:00 75F; south 2027-04-14T15:00"."""
    known = list(coolers)
    return tuple(_move(entry, dates, known, units) for entry in _entries(text_of(value)))


def _move(entry: str, dates: DateColumn, coolers: list[str], units: str | None) -> SheetMove:
    example = f"{coolers[0]} {dates.now.date()}T15:00"
    remedy = f"Write where to and when, in order: {example}."
    unreadable = f'a move like "{example}" (got {shown(entry)})'
    before, when, after = _around_date(entry, dates, unreadable, remedy)
    word = before.removeprefix("to ").strip()
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
    return SheetMove(place, when, temperature)


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
    raise UnfitCellError(must, remedy, complete=True)
