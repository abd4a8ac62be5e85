"""One reader for each kind of cell: from the text of a cell to what it means.

Words are compared without case, spaces and punctuation; trade synonyms are common practice, no
source. A reader raises `UnfitCellError` saying what the cell must be.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import lru_cache
from typing import TypeVar

from tagmaker.intake.cells.plain_text import (
    control_character,
    listed,
    nearest,
    one_line,
    shown,
    squash,
    typed,
)
from tagmaker.intake.cells.temperature import NoUnitError, UnreadableTemperatureError, read_temperature
from tagmaker.intake.cells.unfit import UnfitCellError
from tagmaker.intake.cells.words import BULBS, EVERYTHING, FORMS, STAGES, STORAGES, SURFACES
from tagmaker.lot import JournalMark, Stage, StorageCode, Surface
from tagmaker.storage.crops import CropTable

MOST_CODE_LETTERS = 12
MOST_NAME_LETTERS = 60  # of a variety, colour or place (chosen: two lines of a crate card)
MOST_NOTE_LETTERS = 2000  # of a note (chosen)
MOST_STEMS = 20_000
MOST_PER_BUNCH = 100
FIELD_RANGE_C = (-10.0, 45.0)  # [°C] in which flowers are cut (chosen)

T = TypeVar("T")


_AMOUNT = re.compile(
    r"(\d{1,3}(?:[ ,']\d{3})+|\d{1,9})(?:\.00?)?\s*(stems?|st\.?|bunch(?:es)?|bu\.?)?\.?", re.ASCII
)


@dataclass(frozen=True, slots=True)
class Amount:
    """Stems as a cell counts them."""

    number: int = 0
    bunches: bool = False  # the number counts bunches
    everything: bool = False  # all that are left

    def stems(self, per_bunch: int) -> int:
        """The count in stems, for an amount that is not everything."""
        return self.number * (per_bunch if self.bunches else 1)


def check_characters(text: str) -> None:
    """Refuse text with control characters in it."""
    mark = control_character(text)
    if mark:
        must = f"plain text (got the control character {mark} in {shown(text)})"
        raise UnfitCellError(must, "Type the cell again by hand.", complete=True)


def name_text(text: str) -> str:
    """A variety, a colour, a place."""
    return _text(text, MOST_NAME_LETTERS)


def note_text(text: str) -> str:
    """A note of any kind."""
    return _text(text, MOST_NOTE_LETTERS)


def _text(text: str, most: int) -> str:
    line = one_line(text)
    if len(line) > most:
        must = f"at most {most:,} letters (got {len(line):,}: {shown(line)})"
        raise UnfitCellError(must, "Shorten it.", complete=True)
    return line


@lru_cache(maxsize=4096)
def lot_code(text: str) -> str:
    """A lot code in capitals."""
    code = typed(one_line(text)).strip(" .'\"").removeprefix("#").strip().upper()
    if re.fullmatch(r"[A-Z0-9-]{1,12}", code, re.ASCII) and code.strip("-"):
        return code
    proposed = (
        re.sub(r"[^A-Z0-9]+", "-", code[:100], flags=re.ASCII).strip("-")[:MOST_CODE_LETTERS].strip("-")
    )
    remedy = f"Write it as {proposed}." if proposed else "Write it like 041 or T-12."
    raise UnfitCellError(f"a code of letters A-Z, digits and -, at most {MOST_CODE_LETTERS} of them", remedy)


def crop_name(text: str, crops: CropTable) -> str:
    """A crop of the table."""
    word = typed(one_line(text)).strip(" .")
    singular = f"{word[:-3]}y" if word.lower().endswith("ies") else word[:-1]
    found = crops.find(word) or (crops.find(singular) if word.lower().endswith("s") else None)
    if found is None:
        raise UnfitCellError("a known crop", crops.remedy(word[:MOST_NAME_LETTERS]))
    return found


def crop_form(text: str, crop: str, crops: CropTable) -> str:
    """A form of a crop, or "" for a crop that has none."""
    forms = crops.forms(crop)
    if not forms:
        return ""
    by_word = {squash(form): form for form in forms}
    by_word |= {word: form for word, form in FORMS.items() if form in forms and word not in by_word}
    found = by_word.get(squash(text))
    if found is None:
        otherwise = f"Leave it blank if unsure: it is then dated as {crops.shortest_form(crop)}."
        raise UnfitCellError(f"a form of {crop}: {listed(forms)}", _near_or(text, forms, otherwise))
    return found


def _near_or(text: str, known: Iterable[str], otherwise: str) -> str:
    near = nearest(text, known)
    return f"The nearest is {near}." if near else otherwise


def stage(text: str) -> Stage:
    """How far the bud was open."""
    remedy = "Write one of the five, or leave it blank for cautious dates."
    return _meaning(text, STAGES, "green, tight, half, coloured or open", remedy)


def bulb(text: str) -> bool:
    """Whether the bulb is on."""
    return _meaning(text, BULBS, "on or off", "Write on if the bulb left the ground with the stem.")


def storage(text: str) -> StorageCode:
    """Dry or in water."""
    remedy = "Leave it blank to have it decided; a bulb left on is written in the column bulb."
    return _meaning(text, STORAGES, "dry or water", remedy)


def surface(text: str) -> Surface:
    """Drops on the stems."""
    return _meaning(text, SURFACES, "wet, dried or dry", "Write wet while there are drops on the stems.")


def _meaning(text: str, meanings: Mapping[str, T], must: str, remedy: str) -> T:
    word = squash(text)
    if word not in meanings:
        raise UnfitCellError(must, remedy)
    return meanings[word]


def name_among(text: str, names: Iterable[str], what: str) -> str:
    """One of the farm's own names, of uses or coolers (`what`)."""
    known = {squash(name): name for name in names}
    found = known.get(squash(text))
    if found is None:
        remedy = _near_or(
            text,
            known.values(),
            f"Add it to the sheet {what.capitalize()}s or to tagmaker.toml, or write another.",
        )
        raise UnfitCellError(f"a {what} of the farm: {listed(known.values())}", remedy)
    return found


def field_temperature(text: str, units: str | None) -> float:
    """The temperature where the stems stood [°C]."""
    example = '"75F" or "24C"'
    try:
        found = read_temperature(text, units)
    except NoUnitError:
        remedy = f'Write it like {example}, or set units = "F" or "C" in the settings.'
        raise UnfitCellError("a temperature with its unit", remedy) from None
    except UnreadableTemperatureError:
        raise UnfitCellError("a temperature", f"Write it like {example}.") from None
    low, high = FIELD_RANGE_C
    if not low <= found <= high:
        in_f = f"{low * 1.8 + 32:g} to {high * 1.8 + 32:g} °F"
        raise UnfitCellError(f"from {low:g} to {high:g} °C ({in_f})", "Check the figure and its unit.")
    return found


@lru_cache(maxsize=4096)
def amount(text: str, least: int, most: int, *, all_allowed: bool = False) -> Amount:
    """A count of stems or bunches.

    A count of bunches is held against the limits as it stands; in stems it is judged with its row.
    """
    line = typed(one_line(text)).lower().strip()
    if all_allowed and squash(line) in EVERYTHING:
        return Amount(everything=True)
    match = _AMOUNT.fullmatch(line)
    number = int(re.sub(r"[ ,']", "", match[1])) if match else -1
    if match is None or not least <= number <= most:
        words = ', or "all"' if all_allowed else ""
        must = f"a whole number from {least} to {most:,}{words}"
        plain = line.replace(".", "")
        remedy = 'Write the stems, like 120, or the bunches, like "12 bunches".'
        if re.fullmatch(r"\d{1,3}(\.\d{3})+", line, re.ASCII):
            remedy = f"Write {plain} without the point, or how many there were."
        raise UnfitCellError(must, remedy)
    return Amount(number, bunches=(match[2] or "").startswith("b"))


def journal_mark(text: str) -> JournalMark:
    """Name and number of an entry of the journal, like "K7-50"."""
    match = re.fullmatch(r"([A-Z][A-Z0-9]{0,7})-(\d{1,9})", typed(one_line(text)).upper(), re.ASCII)
    if match is None:
        remedy = "Copy it as the list of what to type says it, or leave it blank."
        raise UnfitCellError('name and number of an entry of the journal, like "K7-50"', remedy)
    return JournalMark(match[1], int(match[2]))


def per_bunch(text: str) -> int:
    """Stems in a bunch."""
    match = _AMOUNT.fullmatch(typed(one_line(text)).lower().strip())
    found = int(match[1]) if match and match[1].isdigit() and not (match[2] or "").startswith("b") else 0
    if not 1 <= found <= MOST_PER_BUNCH:
        raise UnfitCellError(f"a whole number from 1 to {MOST_PER_BUNCH}", "Write the stems in one bunch.")
    return found
