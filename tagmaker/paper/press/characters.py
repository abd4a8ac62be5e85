"""Which characters can be printed, and what is said about the others.

A text is set one character after the other, from left to right, each where the one before it ends. So there
must be a glyph for it, and it must need nothing else: letters that join, stack or turn around would come
out wrong without a word, and are refused whatever the fonts have. Categories, bidirectional classes and
names of characters are those of the Unicode Character Database.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Iterable
from enum import IntEnum
from functools import lru_cache

from tagmaker.errors import Problem
from tagmaker.paper.press.fonts import FAMILY, REMEMBERED, Typeface, typeface_in_use

RIGHT_TO_LEFT = frozenset({"R", "AL", "AN", "RLE", "RLO", "RLI"})  # bidirectional classes, Unicode annex 9
UNSEEN = frozenset({"Cc", "Cf", "Cs"})  # control, format, surrogate
UNKNOWN = frozenset({"Co", "Cn"})  # private, unassigned
NAMED = 5  # characters of a text that a message names (chosen)
SHOWN_LETTERS = 40  # of a text that a message repeats (chosen)

# First words of the names of letters that stand side by side, each with a place of its own on the line. Any
# other letter is taken for one of a script that joins, stacks or reorders them: Arabic, Thai, Devanagari ...
# fmt: off
SIDE_BY_SIDE = frozenset({
    "LATIN", "GREEK", "CYRILLIC", "ARMENIAN", "GEORGIAN", "COPTIC", "GLAGOLITIC", "GOTHIC", "RUNIC",
    "OGHAM", "CHEROKEE", "CANADIAN", "ETHIOPIC", "TIFINAGH", "VAI", "YI", "LISU", "CJK", "IDEOGRAPHIC",
    "HIRAGANA", "KATAKANA", "KATAKANA-HIRAGANA", "BOPOMOFO", "HALFWIDTH", "FULLWIDTH", "HANGUL", "MODIFIER",
    "MATHEMATICAL", "DOUBLE-STRUCK", "BLACK-LETTER", "SCRIPT", "FEMININE", "MASCULINE", "MICRO", "OHM",
    "KELVIN", "ANGSTROM", "TURNED", "EULER", "PLANCK", "INFORMATION", "CARON", "SUPERSCRIPT", "ROMAN",
    "VERTICAL",
})
# fmt: on
JAMO = ("HANGUL CHOSEONG", "HANGUL JUNGSEONG", "HANGUL JONGSEONG")  # parts that stack into one syllable
RIGHT_TO_LEFT_SCRIPTS = frozenset({"HEBREW", "ARABIC", "SYRIAC", "THAANA", "NKO", "SAMARITAN", "MANDAIC"})
TWO_WORDS = frozenset({"OLD", "NEW", "TAI", "OL", "MEETEI", "SYLOTI"})  # of the names of scripts
SKIN_TONES = range(0x1F3FB, 0x1F400)  # change the picture before them
FLAG_LETTERS = range(0x1F1E6, 0x1F200)  # two of them are one flag


class Fault(IntEnum):
    """Why a character cannot be printed, the worst for a reader first."""

    NONE = 0
    TURNED = 1  # written from right to left, or turns others around
    SHAPED = 2  # of a script whose letters change with their neighbours
    ATTACHED = 3  # changes the character before it
    UNSEEN = 4
    UNKNOWN = 5
    NO_GLYPH = 6


_REMEDIES = {
    Fault.TURNED: "Write it in Latin, Greek or Cyrillic letters; no font changes that.",
    Fault.SHAPED: "Write it in Latin, Greek or Cyrillic letters; no font changes that.",
    Fault.ATTACHED: "Write the character before it alone, or one that has the accent built in.",
    Fault.UNSEEN: "Type the text again by hand, without invisible characters.",
    Fault.UNKNOWN: "Write it in other characters.",
    Fault.NO_GLYPH: "Write it otherwise, or name a TrueType font that has it under fonts in tagmaker.toml.",
}


@lru_cache(maxsize=REMEMBERED)
def tidy(text: str) -> str:
    """The text as it is printed: composed accents, every run of white space one plain space."""
    return " ".join(unicodedata.normalize("NFC", text).split())


def missing(text: str) -> tuple[str, ...]:
    """Characters of a tidied text that cannot be printed, each once, in order of appearance."""
    if text.isascii() and text.isprintable():
        return ()
    used = typeface_in_use()
    return tuple(dict.fromkeys([character for character in text if _fault(used, character)]))


def fault_of(character: str) -> Fault:
    """Why a character cannot be printed with the typeface in use."""
    return _fault(typeface_in_use(), character)


@lru_cache(maxsize=REMEMBERED)
def _fault(used: Typeface, character: str) -> Fault:
    return own_fault(character) or (Fault.NONE if used.has(character) else Fault.NO_GLYPH)


def own_fault(character: str) -> Fault:
    """Why a character cannot be printed with any font."""
    category, name = unicodedata.category(character), unicodedata.name(character, "")
    script = name.split(" ")[0]
    if unicodedata.bidirectional(character) in RIGHT_TO_LEFT or script in RIGHT_TO_LEFT_SCRIPTS:
        return Fault.TURNED
    if category in UNSEEN or "VARIATION SELECTOR" in name:
        return Fault.UNSEEN
    if category in UNKNOWN:
        return Fault.UNKNOWN
    side_by_side = script in SIDE_BY_SIDE and not name.startswith(JAMO)
    if category.startswith("M"):
        return Fault.ATTACHED if side_by_side or script == "COMBINING" else Fault.SHAPED
    if category.startswith("L") and not side_by_side:
        return Fault.SHAPED
    joined = ord(character) in SKIN_TONES or ord(character) in FLAG_LETTERS
    return Fault.ATTACHED if joined else Fault.NONE


def font_problems(texts: Iterable[str], where: str, lot: str = "") -> tuple[Problem, ...]:
    """One problem for every text of a lot that holds characters which cannot be printed."""
    suspects = dict.fromkeys(tidy(text) for text in texts if missing(text))
    found = {text: characters for text in suspects if (characters := missing(text))}
    return tuple(_problem(text, characters, where, lot) for text, characters in found.items())


def _problem(text: str, characters: tuple[str, ...], where: str, lot: str) -> Problem:
    named = ", ".join(_named(character) for character in characters[:NAMED])
    more = ", …" * (len(characters) > NAMED)
    shown = "".join(character if character.isprintable() else "�" for character in text[:SHOWN_LETTERS])
    subject = f"lot {lot}: every character" if lot else "every character"
    worst = min(fault_of(character) for character in characters)
    what = f'{subject} must {_rule(worst)} (got {named}{more} in "{shown}")'
    return Problem(where, what, _REMEDIES[worst], lot)


def _rule(fault: Fault) -> str:
    match fault:
        case Fault.TURNED:
            return "be of a script written from left to right"
        case Fault.SHAPED:
            return "be of a script whose letters stand side by side"
        case Fault.ATTACHED:
            return "have a place of its own on the line"
        case Fault.UNSEEN:
            return "be a visible one"
        case Fault.UNKNOWN:
            return f"be one of Unicode {unicodedata.unidata_version}"
        case _:
            own = typeface_in_use().own
            fonts = f"one of the fonts {', '.join((FAMILY, *own))}" if own else f"the font {FAMILY}"
            return f"be in {fonts}"


def _named(character: str) -> str:
    """A character as messages show it: with its code, and the script that is refused."""
    code = f"U+{ord(character):04X}"
    shown = f"◌{character}" if unicodedata.category(character).startswith("M") else character
    said = f'"{shown}" {code}' if character.isprintable() else code
    script = own_fault(character) in (Fault.TURNED, Fault.SHAPED) and _script(character)
    return f"{said} {script}" if script else said


def _script(character: str) -> str:
    """The script of a letter as the first words of its name say it; "" for what is none."""
    if unicodedata.category(character)[0] not in "LMN":
        return ""
    words = unicodedata.name(character, "").split(" ")
    return " ".join(words[: 2 if words[0] in TWO_WORDS else 1]).capitalize()
