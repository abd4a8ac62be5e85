"""The typefaces of all papers: their files and their measures.

Roboto (Apache Licence 2.0), regular and bold, from the package `font-roboto`: of the packaged families looked
at it is the one with every Latin letter up to U+024F besides Greek, Cyrillic and Vietnamese (counted from the
files' own character tables). What it lacks comes from the farm's own font files, the first that has it; they
count for whatever is drawn inside `with typeface(farm.fonts)`. Lengths here are in em: times the size in
points they are points.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import dataclass
from functools import cache, lru_cache
from importlib import resources
from itertools import groupby
from pathlib import Path
from struct import error as StructError  # noqa: N812  # "error" alone would say nothing
from struct import unpack

from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFError, TTFont, TTFontParser

from tagmaker.errors import InputProblems, Problem
from tagmaker.farm import FontFiles

FAMILY = "Roboto"
REMEMBERED = 8192  # measured texts: captions, names and dates come again on tag after tag
CHAINS = 4  # typefaces kept in memory, a served farm's and those before its settings changed (chosen)
CAP_HEIGHT = 0.711  # [em] height of capitals and figures, from the font file's OS/2 table
BROKEN = (TTFError, StructError, LookupError, ValueError, TypeError, AssertionError, OSError)
"""What reportlab raises at a font file that is not whole."""


@dataclass(frozen=True, slots=True, eq=False)
class Face:
    """One weight: the packaged font and the farm's behind it, with widths and ink from their own tables."""

    name: str
    font: TTFont  # the packaged one
    widths: Mapping[int, float]  # [em/1000] by character
    others: Mapping[int, TTFont]  # font by character, of those that the packaged one lacks

    def has(self, character: str) -> bool:
        """Whether one of its fonts has the character."""
        code = ord(character)
        return code in self.font.face.charToGlyph or code in self.others

    def width(self, text: str) -> float:
        """Width of a text [em], the sum of its characters' advances."""
        return _width(self, text)

    def extent(self, text: str) -> tuple[float, float]:
        """How far the ink goes above and below the baseline [em], both counted positive."""
        first, others = self.font, self.others
        extents = [_glyph_extent(others.get(ord(c), first) if others else first, c) for c in text]
        return max((up for up, _ in extents), default=0.0), max((down for _, down in extents), default=0.0)

    def font_of(self, character: str) -> TTFont:
        """The first font that has the character; the packaged one where none has."""
        return self.others.get(ord(character), self.font)

    def runs(self, text: str) -> Sequence[tuple[TTFont, str]]:
        """The text in pieces of one font."""
        if not self.others or text.isascii():
            return ((self.font, text),)
        return [(font, "".join(letters)) for font, letters in groupby(text, self.font_of)]


@dataclass(frozen=True, slots=True, eq=False)
class Typeface:
    """Both weights, and the names of the fonts of the farm's own behind them."""

    regular: Face
    bold: Face
    own: tuple[str, ...] = ()

    def has(self, character: str) -> bool:
        """Whether it can be set in both weights."""
        return self.regular.has(character) and self.bold.has(character)


@lru_cache(maxsize=REMEMBERED)
def _width(face: Face, text: str) -> float:
    widths, blank = face.widths, face.font.face.defaultWidth
    thousandths: float = sum([widths.get(ord(character), blank) for character in text])
    return thousandths / 1000


@lru_cache(maxsize=REMEMBERED)
def _glyph_extent(font: TTFont, character: str) -> tuple[float, float]:
    """Read a glyph's box from the font's glyf table (OpenType specification, glyph header)."""
    glyph = font.face.charToGlyph.get(ord(character), 0)
    start, end = font.face.glyphPos[glyph], font.face.glyphPos[glyph + 1]
    if end == start:
        return 0.0, 0.0
    outlines, _ = font.face.get_table_pos("glyf")
    box = font.face.get_chunk(outlines + start + 4, 6)
    low, _, high = unpack(">hhh", box)
    return max(high / font.face.unitsPerEm, 0.0), max(-low / font.face.unitsPerEm, 0.0)


_IN_USE: ContextVar[Typeface | None] = ContextVar("typeface", default=None)


def face(weight: str) -> Face:
    """The face of a weight, "regular" or "bold", of the typeface in use."""
    used = _IN_USE.get() or packaged()
    return used.bold if weight == "bold" else used.regular


def typeface_in_use() -> Typeface:
    """What is drawn with here and now: the packaged fonts alone outside `typeface`."""
    return _IN_USE.get() or packaged()


@contextmanager
def typeface(own: Sequence[FontFiles]) -> Iterator[None]:
    """Within it, everything is measured and set with these fonts behind the packaged ones.

    It holds for the thread that enters it, and for none that is started inside.

    Raises:
        InputProblems: a file cannot be read as a font.
    """
    token = _IN_USE.set(_chain(tuple((files, _state(files)) for files in own)) if own else packaged())
    try:
        yield
    finally:
        _IN_USE.reset(token)


@cache
def packaged() -> Typeface:
    """The packaged fonts, read once per process."""
    return Typeface(_packaged_face("Regular"), _packaged_face("Bold"))


def _packaged_face(weight: str) -> Face:
    name = f"{FAMILY}-{weight}"
    with resources.as_file(resources.files("font_roboto") / "files" / f"{name}.ttf") as path:
        font = TTFont(name, str(path))
    pdfmetrics.registerFont(font)
    return Face(name, font, font.face.charWidths, {})


def _state(files: FontFiles) -> tuple[object, ...]:
    """What changes when one of the files does: a changed file is another font."""
    try:
        states = [path.stat() for path in (files.regular, files.bold)]
    except OSError:
        return ()  # what is wrong is said when it is read
    return tuple((state.st_mtime_ns, state.st_size) for state in states)


@lru_cache(maxsize=CHAINS)
def _chain(own: tuple[tuple[FontFiles, tuple[object, ...]], ...]) -> Typeface:
    """The packaged fonts with others behind them, read once per state of their files."""
    regular, bold = [], []
    for number, (files, _) in enumerate(own, start=1):
        regular.append(_own_font(files.regular, f"{number}"))
        same = files.bold == files.regular
        bold.append(regular[-1] if same else _own_font(files.bold, f"{number}-Bold"))
    first = packaged()
    names = tuple(dict.fromkeys(files.regular.name for files, _ in own))
    return Typeface(_with_own(first.regular, regular), _with_own(first.bold, bold), names)


def _own_font(path: Path, number: str) -> TTFont:
    """A font of the farm's own; the number tells it from others of the same name in one document."""
    plain = re.sub(r"[^A-Za-z0-9-]+", "", path.stem) or "Own"
    try:
        TTFontParser(str(path)).checksumTables()  # a damaged table could be read without end
        font = TTFont(f"{plain}-{number}", str(path), asciiReadable=False, shapable=False)
        _drawn(font)
    except BROKEN as error:
        raise InputProblems([broken_font(path.name, str(error))]) from None
    font.face.name = font.fontName.encode("ascii")  # else fonts of one name would share their glyphs
    return font


def broken_font(name: str, why: str) -> Problem:
    """A font file that looks like one and is not whole."""
    what = f"fonts must name TrueType fonts that are whole (got {name}: {why})"
    return Problem("tagmaker.toml", what, "Get the file again, or take it out.")


def _with_own(first: Face, own: Sequence[TTFont]) -> Face:
    widths: dict[int, float] = {}
    others: dict[int, TTFont] = {}
    for font in reversed(own):
        for code in _drawn(font):
            widths[code], others[code] = font.face.charWidths[code], font
    for code in first.font.face.charToGlyph:
        others.pop(code, None)
    return Face(first.name, first.font, widths | dict(first.widths), others)


def _drawn(font: TTFont) -> list[int]:
    """The characters for which a font has an outline: an empty one would be a gap on paper."""
    places, glyphs = font.face.glyphPos, range(1, font.face.numGlyphs)
    return [
        code
        for code, glyph in font.face.charToGlyph.items()
        if glyph in glyphs and places[glyph + 1] > places[glyph]
    ]
