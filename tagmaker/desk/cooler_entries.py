"""What is taken down at a cooler, not at a lot: lowest and highest temperature, and mould."""

from __future__ import annotations

import re
import secrets
from collections.abc import Iterable
from dataclasses import replace
from datetime import datetime

from tagmaker.desk.computer import this_computer
from tagmaker.desk.entry_making import Yard
from tagmaker.errors import UsageProblem
from tagmaker.farm import Farm
from tagmaker.intake.cells.plain_text import squash
from tagmaker.intake.cells.readers import FIELD_RANGE_C
from tagmaker.intake.cells.temperature import NoUnitError, UnreadableTemperatureError, read_temperature
from tagmaker.record.journal.book import Book
from tagmaker.record.journal.entries import Entry, Kind, in_force, utc_of
from tagmaker.storage.readings import HandReading

_LOOK = re.compile(
    r"low(?:est)?\s+(?P<low>-?[\d.,]+\s*°?\s*[CF]?),?\s+high(?:est)?\s+(?P<high>-?[\d.,]+\s*°?\s*[CF]?)",
    re.IGNORECASE,
)
_MOULD = re.compile(r"(?P<none>no\s+)?mou?ld(?:\s+seen)?", re.IGNORECASE)


def cooler_named(text: str, farm: Farm) -> str:
    """The cooler of that name; "" where it is the name of none."""
    return next((name for name in farm.coolers if squash(name) == squash(text)), "")


def cooler_entry(yard: Yard, cooler: str, words: str, book: Book) -> Entry:
    """What was seen at a cooler: "lowest 34F highest 39F", "mould", "no mould".

    Raises:
        UsageProblem: the words cannot be read.
    """
    line = words.strip().rstrip(".")
    entry = Entry(
        id=secrets.token_hex(8),
        happened=yard.now,
        happened_utc=utc_of(yard.now, yard.farm.timezone),
        recorded=yard.clock,
        recorded_utc=utc_of(yard.clock, yard.farm.timezone),
        lot="",
        kind=Kind.READING,
        cooler=cooler,
        device=this_computer().split(" ")[0],
    )
    if line.lower() == "undo":
        own = [old for old in in_force(book.entries) if not old.lot and old.cooler == cooler]
        if not own:
            raise UsageProblem(f"undo must name an entry of cooler {cooler} (got none)")
        return replace(entry, kind=Kind.UNDO, undoes=max(old.number for old in own))
    mould = _MOULD.fullmatch(line)
    if mould:
        return replace(entry, kind=Kind.MOULD, details={"found": "none" if mould["none"] else "seen"})
    look = _LOOK.fullmatch(line)
    if look is None:
        raise UsageProblem(
            f'at a cooler it must be like "lowest 34F highest 39F", "no mould" or "undo" (got {line[:40]!r})'
        )
    low, high = (_temperature(look[name], yard.farm) for name in ("low", "high"))
    if low > high:
        raise UsageProblem(f"the lowest must be at most the highest (got {line[:40]!r})")
    return replace(entry, details={"low_c": low, "high_c": high})


def _temperature(text: str, farm: Farm) -> float:
    try:
        found = read_temperature(text.replace(" ", ""), farm.units)
    except NoUnitError:
        raise UsageProblem(f'a temperature must have its unit (got {text!r}): write it like "34F"') from None
    except UnreadableTemperatureError:
        raise UsageProblem(f"a temperature must be a number (got {text!r})") from None
    low, high = FIELD_RANGE_C
    if not low <= found <= high:
        raise UsageProblem(f"a temperature must be from {low:g} to {high:g} °C (got {text!r})")
    return round(found, 2)


def looks_of(book: Book, now: datetime) -> list[HandReading]:
    """What was read of coolers and taken down by then."""
    return [
        HandReading(
            cooler=entry.cooler,
            moment=entry.happened,
            low_c=float(str(entry.details["low_c"])),
            high_c=float(str(entry.details["high_c"])),
        )
        for entry in in_force(book.entries)
        if entry.kind is Kind.READING and entry.happened <= now
    ]


def with_looks(looks: Iterable[HandReading], book: Book, now: datetime) -> list[HandReading]:
    """The readings of the sheet and of the journal in order of time; the sheet's where both have a moment."""
    found = {(look.moment, look.cooler): look for look in looks_of(book, now)}
    found |= {(look.moment, look.cooler): look for look in looks}
    return [found[key] for key in sorted(found)]
