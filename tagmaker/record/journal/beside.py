"""The files of a journal beside the sheets: itself, its daily copies, and others that call themselves so."""

from __future__ import annotations

import os
import re
import sqlite3
from contextlib import closing
from datetime import date
from pathlib import Path
from urllib.parse import quote

NAME = "lots-journal.sqlite"
COPY_NAME = "lots-journal-copy-{day}.sqlite"
COPIES = 7  # daily copies that are kept (chosen)


def journal_path(sheet: Path) -> Path:
    """Where the journal of a sheet lies: one for all sheets of a folder."""
    return sheet.with_name(NAME)


def conflict_copies(sheet: Path) -> list[Path]:
    """Other files that call themselves the journal, as a synced folder makes them of two that differ."""
    own = {NAME, *(f"{NAME}{ending}" for ending in ("-journal", "-wal", "-shm"))}
    daily = re.compile(re.escape(COPY_NAME).replace(r"\{day\}", r"\d{4}-\d{2}-\d{2}"))
    stem = NAME.removesuffix(".sqlite")
    return sorted(
        path
        for path in sheet.parent.glob(f"{stem}*")
        if ".sqlite" in path.name and path.name not in own and not daily.match(path.name)
    )


def copy_of_the_day(path: Path, day: date) -> None:
    """A dated copy beside the journal, once a day; the oldest go. What cannot be copied is left at that."""
    copy = path.with_name(COPY_NAME.format(day=day))
    if copy.exists():
        return
    part = copy.with_name(f"{copy.name}.part")
    try:
        source = sqlite3.connect(f"file:{quote(str(path.absolute()))}?mode=ro", uri=True)
        with closing(source), closing(sqlite3.connect(part)) as target:
            source.backup(target)
        part.replace(copy)
        pattern = COPY_NAME.format(day="[0-9]" * 4 + "-[0-9][0-9]-[0-9][0-9]")
        for old in sorted(path.parent.glob(pattern))[:-COPIES]:
            old.unlink()
    except (OSError, sqlite3.Error):
        part.unlink(missing_ok=True)


def put_in_place(part: Path, path: Path) -> None:
    """Give a finished file its name, unless one of that name is there; for good, also after a power cut."""
    try:
        os.link(part, path)
    except FileExistsError:
        return
    except OSError:  # a file system without links
        if not path.exists():
            part.rename(path)
    try:
        folder = os.open(path.parent, os.O_RDONLY)
    except OSError:
        return  # a system that cannot sync a folder
    try:
        os.fsync(folder)
    finally:
        os.close(folder)
