"""Font files of the farm's own: whether one can be printed with, told from its first bytes.

What is read here are the header, the table directory and the embedding permissions of the OS/2 table
(OpenType specification, "OpenType Font File" and "OS/2 and Windows Metrics Table", fsType).
"""

from __future__ import annotations

from pathlib import Path
from struct import unpack
from typing import BinaryIO

from tagmaker.farm import FontFiles
from tagmaker.intake.cells.plain_text import shown
from tagmaker.intake.settings.values import UnfitValueError, words

NEEDED = frozenset({b"cmap", b"glyf", b"head", b"hhea", b"hmtx", b"loca", b"maxp", b"name", b"post"})
RESTRICTED = 0x0002  # "must not be modified, embedded or exchanged" where no other right is given
RIGHTS = 0x000F
NO_SUBSETTING, BITMAPS_ONLY = 0x0100, 0x0200
_REMEDY = 'Write it like "fonts/Some-Regular.ttf", or {regular = "…", bold = "…"}.'
_CHECK = "Check the name: it is counted from the folder of the settings."
_CONVERT = "Take the TrueType version of the font (.ttf)."


def font_files(value: object, folder: Path) -> FontFiles:
    """One entry of `fonts`: a file for both weights, or a table with one for each.

    Args:
        value: as TOML gave it.
        folder: the settings' folder, from which paths are counted.

    Raises:
        UnfitValueError: it is no such entry, or a file cannot be printed with; says also what was got.
    """
    if isinstance(value, dict):
        if "regular" not in value or not value.keys() <= {"regular", "bold"}:
            got = shown(", ".join(map(str, value)))
            raise UnfitValueError(f"name a regular and a bold font in a table (got the keys {got})", _REMEDY)
        regular = _font_file(value["regular"], folder)
        return FontFiles(regular, _font_file(value["bold"], folder) if "bold" in value else regular)
    path = _font_file(value, folder)
    return FontFiles(path, path)


def _font_file(value: object, folder: Path) -> Path:
    try:
        name = words(value)
    except UnfitValueError:
        raise UnfitValueError(f"be a list of font files (got {shown(str(value))} in it)", _REMEDY) from None
    path = folder / name
    try:
        with path.open("rb") as file:
            fault = _fault(file, path.stat().st_size)
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or "no such name is possible"
        must = f"name files that can be read (got {shown(name)}: {reason})"
        raise UnfitValueError(
            must, "Check the name: it is counted from the folder of the settings."
        ) from None
    if fault:
        what, remedy = fault
        raise UnfitValueError(
            f"name TrueType fonts that can be printed with (got {shown(name)}: {what})", remedy
        )
    return path


def _fault(file: BinaryIO, size: int) -> tuple[str, str] | None:
    """What is wrong with a file, and the remedy; None where it can be printed with."""
    kind = file.read(4)
    if kind == b"ttcf":  # a collection: its first font is taken
        start = _number(file, 12, 4)
        kind = _at(file, start, 4)
    else:
        start = 0
    if kind == b"OTTO":
        return "its outlines are PostScript curves, CFF", _CONVERT
    if kind in (b"wOFF", b"wOF2"):
        return "it is packed for web pages, WOFF", _CONVERT
    if kind not in (b"\x00\x01\x00\x00", b"true"):
        return "it is no font", _CONVERT
    tables: dict[bytes, tuple[int, int]] = {}
    for number in range(_number(file, start + 4, 2)):
        entry = _at(file, start + 12 + 16 * number, 16)
        if len(entry) == 16:
            tag, _, offset, length = unpack(">4sLLL", entry)
            tables[tag] = offset, length
    if any(offset + length > size for offset, length in tables.values()):
        return "it is cut short", "Get the file again."
    if b"glyf" not in tables:
        return "it has no outlines, but pictures in dots or colour", _CONVERT
    if not tables.keys() >= NEEDED:
        lacking = ", ".join(sorted(tag.decode("ascii") for tag in NEEDED - tables.keys()))
        return f"it lacks the tables {lacking}", "Get the file again, or take another font."
    rights = _number(file, tables[b"OS/2"][0] + 8, 2) if b"OS/2" in tables else 0
    if rights & RIGHTS == RESTRICTED or rights & (NO_SUBSETTING | BITMAPS_ONLY):
        return f"it may not be embedded in a PDF, says its fsType {rights:#06x}", "Take another font."
    return None


def _at(file: BinaryIO, offset: int, length: int) -> bytes:
    file.seek(offset)
    return file.read(length)


def _number(file: BinaryIO, offset: int, length: int) -> int:
    """A whole number of the file; 0 behind its end."""
    return int.from_bytes(_at(file, offset, length))
