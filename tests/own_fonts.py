"""Small TrueType fonts made for a test: each letter is a rectangle, so all measures are known."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from pathlib import Path

from fontTools.fontBuilder import FontBuilder  # type: ignore[import-untyped]  # it comes without types
from fontTools.pens.ttGlyphPen import TTGlyphPen  # type: ignore[import-untyped]  # the same
from fontTools.ttLib import TTFont  # type: ignore[import-untyped]  # the same

from tagmaker.farm import FontFiles

EM = 1000  # units to the em
Blocks = Mapping[str, tuple[int, int, int]]  # letter -> advance, and top and bottom of its ink, in units
BLANK = (500, 0, 0)  # a letter without ink


def blocks(letters: Iterable[str]) -> dict[str, tuple[int, int, int]]:
    """Letters as an ideograph stands: an em wide, from 0.12 em below the baseline to 0.88 above."""
    return dict.fromkeys(letters, (1000, 880, -120))


def make_font(path: Path, letters: Blocks, *, name: str = "Blocks", fs_type: int = 0) -> Path:
    """Write a font with some letters.

    Args:
        path: where to.
        letters: what it has.
        name: its own name, which several fonts may share.
        fs_type: embedding permissions of its OS/2 table.
    """
    names = {letter: f"u{ord(letter):04X}" for letter in letters}
    builder = FontBuilder(EM, isTTF=True)
    builder.setupGlyphOrder([".notdef", *names.values()])
    builder.setupCharacterMap({ord(letter): glyph for letter, glyph in names.items()})
    outlines = {".notdef": _block(500, 0, 0)}
    outlines |= {names[letter]: _block(*measures) for letter, measures in letters.items()}
    builder.setupGlyf(outlines)
    widths = {names[letter]: advance for letter, (advance, _, _) in letters.items()}
    builder.setupHorizontalMetrics(
        {glyph: (width, 50) for glyph, width in {".notdef": 500, **widths}.items()}
    )
    builder.setupHorizontalHeader(ascent=880, descent=-120)
    builder.setupNameTable({"familyName": name, "styleName": "Regular", "psName": name})
    builder.setupOS2(fsType=fs_type)
    builder.setupPost()
    path.parent.mkdir(parents=True, exist_ok=True)
    builder.save(path)
    return path


def _block(advance: int, top: int, bottom: int) -> object:
    pen = TTGlyphPen(None)
    if top > bottom:
        pen.moveTo((50, bottom))
        pen.lineTo((50, top))
        pen.lineTo((advance - 50, top))
        pen.lineTo((advance - 50, bottom))
        pen.closePath()
    return pen.glyph()


def both(path: Path) -> FontFiles:
    """One file for both weights."""
    return FontFiles(path, path)


def advances(path: Path) -> dict[str, float]:
    """Letter -> advance [em], read by another library than the one that sets the text."""
    with TTFont(path) as font:
        units, widths = font["head"].unitsPerEm, font["hmtx"]
        return {chr(code): widths[glyph][0] / units for code, glyph in font.getBestCmap().items()}
