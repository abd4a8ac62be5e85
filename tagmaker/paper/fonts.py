"""The typeface of all papers: its files, its measures, and the characters it cannot print.

Roboto (Apache Licence 2.0), regular and bold, from the package `font-roboto`: of the packaged families looked
at it is the one with every Latin letter up to U+024F besides Greek, Cyrillic and Vietnamese (counted from the
files' own character tables). Lengths here are in em: times the size in points they are points.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache, lru_cache
from importlib import resources
from struct import unpack_from

from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont

from tagmaker.errors import Problem

FAMILY = "Roboto"
REMEMBERED = 8192  # measured texts: captions, names and dates come again on tag after tag
CAP_HEIGHT = 0.711  # [em] height of capitals and figures, from the font file's OS/2 table
RIGHT_TO_LEFT = frozenset({"R", "AL", "AN", "RLE", "RLO", "RLI"})  # bidirectional classes, Unicode annex 9
INVISIBLE = frozenset({"Cc", "Cf", "Cs", "Co", "Cn"})  # control, format, surrogate, private, unassigned


@dataclass(frozen=True, slots=True, eq=False)
class Face:
    """One weight of the family, with widths and ink heights read from its own tables."""

    name: str
    font: TTFont

    def width(self, text: str) -> float:
        """Width of a text [em], the sum of its characters' advances."""
        return _width(self.font, text)

    def extent(self, text: str) -> tuple[float, float]:
        """How far the ink goes above and below the baseline [em], both counted positive."""
        return _extent(self.font, text)


@lru_cache(maxsize=REMEMBERED)
def _width(font: TTFont, text: str) -> float:
    widths, blank = font.face.charWidths, font.face.defaultWidth
    thousandths: float = sum([widths.get(ord(character), blank) for character in text])
    return thousandths / 1000


def _extent(font: TTFont, text: str) -> tuple[float, float]:
    extents = [_glyph_extent(font, character) for character in text]
    return max((up for up, _ in extents), default=0.0), max((down for _, down in extents), default=0.0)


@lru_cache(maxsize=REMEMBERED)
def _glyph_extent(font: TTFont, character: str) -> tuple[float, float]:
    """Read a glyph's box from the font's glyf table (OpenType specification, glyph header)."""
    glyph = font.face.charToGlyph.get(ord(character), 0)
    start, end = font.face.glyphPos[glyph], font.face.glyphPos[glyph + 1]
    if end == start:
        return 0.0, 0.0
    outlines = font.face.get_table("glyf")  # type: ignore[no-untyped-call]  # so in the stubs
    low, _, high = unpack_from(">hhh", outlines, start + 4)
    return max(high / font.face.unitsPerEm, 0.0), max(-low / font.face.unitsPerEm, 0.0)


@cache
def face(weight: str) -> Face:
    """The face of a weight, "regular" or "bold", read once per process."""
    name = f"{FAMILY}-{weight.capitalize()}"
    with resources.as_file(resources.files("font_roboto") / "files" / f"{name}.ttf") as path:
        font = TTFont(name, str(path))
    pdfmetrics.registerFont(font)
    return Face(name, font)


def tidy(text: str) -> str:
    """The text as it is printed: composed accents, every run of white space one plain space."""
    return " ".join(unicodedata.normalize("NFC", text).split())


def missing(text: str) -> tuple[str, ...]:
    """Characters of a tidied text that cannot be printed, each once, in order of appearance."""
    if text.isascii() and text.isprintable():
        return ()
    return tuple(dict.fromkeys([character for character in text if not _is_printed(character)]))


@lru_cache(maxsize=REMEMBERED)
def _is_printed(character: str) -> bool:
    return (
        ord(character) in face("regular").font.face.charToGlyph
        and unicodedata.category(character) not in INVISIBLE
        and unicodedata.bidirectional(character) not in RIGHT_TO_LEFT
    )


def font_problems(texts: Iterable[str], where: str, lot: str = "") -> tuple[Problem, ...]:
    """One problem for every text of a lot that holds characters which cannot be printed."""
    suspects = dict.fromkeys(tidy(text) for text in texts if missing(text))
    found = {text: characters for text in suspects if (characters := missing(text))}
    return tuple(_problem(text, characters, where, lot) for text, characters in found.items())


def _problem(text: str, characters: tuple[str, ...], where: str, lot: str) -> Problem:
    named = ", ".join(_named(character) for character in characters[:5]) + (", …" * (len(characters) > 5))
    shown = "".join(character if character.isprintable() else "�" for character in text[:40])
    subject = f"lot {lot}: every character" if lot else "every character"
    if any(unicodedata.bidirectional(character) in RIGHT_TO_LEFT for character in characters):
        rule = "must be of a script written from left to right"
    else:
        rule = f"must be one that the font {FAMILY} can print"
    return Problem(
        where,
        f'{subject} {rule} (got {named} in "{shown}")',
        "Write it in Latin, Greek or Cyrillic letters, without pictures or invisible characters.",
        lot,
    )


def _named(character: str) -> str:
    code = f"U+{ord(character):04X}"
    return f'"{character}" {code}' if character.isprintable() else code
