"""Workbooks as the archives that they are: looked at before anything is unpacked."""

from __future__ import annotations

import io
import zipfile
from enum import Enum, auto

MOST_UNPACKED_BYTES = 1_000_000_000  # of a workbook (chosen)
_MANIFEST = "META-INF/manifest.xml"  # of OpenDocument: says what is encrypted


class ArchiveFault(Enum):
    """Why a workbook cannot be read."""

    DAMAGED = auto()
    LOCKED = auto()  # with a password
    VAST = auto()  # it unpacks beyond all measure


def archive_fault(content: bytes) -> ArchiveFault | None:
    """What is wrong with an archive; None: nothing."""
    try:
        with zipfile.ZipFile(io.BytesIO(content)) as archive:
            names = archive.namelist()
            unpacked = sum(part.file_size for part in archive.infolist())
            manifest = archive.read(_MANIFEST) if _MANIFEST in names else b""
    # zipfile raises NotImplementedError for a way of packing it does not know, RuntimeError for a password.
    except (zipfile.BadZipFile, OSError, RuntimeError, NotImplementedError, EOFError):
        return ArchiveFault.DAMAGED
    if b"encryption-data" in manifest:
        return ArchiveFault.LOCKED
    return ArchiveFault.VAST if unpacked > MOST_UNPACKED_BYTES else None
