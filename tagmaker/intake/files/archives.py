"""Workbooks as the archives that they are: unpacked once, and only counted, before anything reads them.

What an archive says of its own size is not believed. Repeated names are refused, because two readers
could take two different parts for the same sheet.
"""

from __future__ import annotations

import io
import zipfile
import zlib
from collections.abc import Callable
from enum import Enum, auto

MOST_UNPACKED_BYTES = 300_000_000  # of a workbook (chosen: three times a year at one minute)
MOST_TAGS = 14_000_000  # in all its parts (chosen: four for each cell that a sheet may span, and the rest)
MOST_PARTS = 10_000  # (chosen)
_CHUNK = 1 << 20
_MANIFEST = "META-INF/manifest.xml"  # of OpenDocument: says what is encrypted
_BINARY_BOOK = "xl/workbook.bin"


class ArchiveFault(Enum):
    """Why a workbook cannot be read."""

    DAMAGED = auto()
    LOCKED = auto()  # with a password
    VAST = auto()  # it unpacks beyond all measure
    BINARY = auto()  # xlsb: what it spans cannot be counted beforehand


def archive_fault(content: bytes) -> ArchiveFault | None:
    """What is wrong with an archive; None: nothing."""
    if content.count(b"PK\x01\x02") > MOST_PARTS:
        return ArchiveFault.VAST
    try:
        with zipfile.ZipFile(io.BytesIO(content)) as archive:
            parts = archive.infolist()
            names = {part.filename.lower() for part in parts}
            if len(names) < len(parts):
                return ArchiveFault.DAMAGED
            if not _unpacks(archive, parts):
                return ArchiveFault.VAST
            manifest = archive.read(_MANIFEST) if _MANIFEST.lower() in names else b""
    # zipfile raises NotImplementedError for a way of packing it does not know, RuntimeError for a password.
    except (zipfile.BadZipFile, zlib.error, KeyError, OSError, RuntimeError, NotImplementedError, EOFError):
        return ArchiveFault.DAMAGED
    if b"encryption-data" in manifest:
        return ArchiveFault.LOCKED
    return ArchiveFault.BINARY if _BINARY_BOOK in names else None


def _unpacks(archive: zipfile.ZipFile, parts: list[zipfile.ZipInfo]) -> bool:
    """Whether all parts together stay within the limits."""
    size = tags = 0
    for part in parts:
        if part.compress_type not in (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED):
            raise NotImplementedError
        part.file_size = max(part.file_size, MOST_UNPACKED_BYTES + 1)  # read on where it says less
        with archive.open(part) as file:
            while chunk := file.read(_CHUNK):
                size += len(chunk)
                tags += chunk.count(b"<")
                if size > MOST_UNPACKED_BYTES or tags > MOST_TAGS:
                    return False
    return True


def feed(content: bytes, part: str, take: Callable[[bytes], object]) -> bool:
    """Hand a part of a sound archive over, a piece at a time; False where there is none of that name."""
    with zipfile.ZipFile(io.BytesIO(content)) as archive:
        name = next((name for name in archive.namelist() if name.lower() == part.lower()), None)
        if name is None:
            return False
        with archive.open(name) as file:
            while chunk := file.read(_CHUNK):
                take(chunk)
    return True
