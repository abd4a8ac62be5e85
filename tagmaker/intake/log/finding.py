"""Which files are a cooler's log: those that its settings name, else those kept for it in `logs/`.

A file of `logs/` is kept for the cooler whose name, as files are named, its own name begins with; where
several do, for the longest, so that `barn-2-april.csv` is of the cooler barn 2 and not of the barn.
"""

from __future__ import annotations

import os
import re
import unicodedata
from collections.abc import Collection, Iterator, Sequence
from fnmatch import fnmatch
from itertools import islice
from pathlib import Path

from tagmaker.errors import InputProblems, Problem
from tagmaker.farm import Cooler, Farm
from tagmaker.intake.cells.plain_text import listed, shown
from tagmaker.intake.log.file import NoRowsError
from tagmaker.intake.log.naming import settings_place, to_clear

FOLDER = "logs"  # beside the settings, where exports are kept
MOST_FILES = 1_000  # of a cooler (chosen: an export a day for three years)
MOST_LOOKED_AT = 10_000  # names in folders that a glob looks at (chosen)


def log_paths(cooler: Cooler, farm: Farm, folder: Path) -> list[tuple[Path, str]]:
    """The files of a cooler's log, with the names that messages give them; none where nothing is kept.

    Args:
        cooler: whose `log` is a path or glob relative to the folder, or not given.
        farm: all its coolers.
        folder: where the settings stand.

    Raises:
        NoRowsError: a file that is named is not there, or it cannot be told whose it is.
        InputProblems: too many are named.
    """
    if cooler.log is not None:
        return _named_files(cooler.log, cooler, folder)
    kept, whole = _kept_files(cooler.name, farm.coolers, folder)
    if not whole:
        raise _too_many(cooler, f"{FOLDER}/*")
    if kept and (others := namesakes(cooler.name, farm.coolers)):
        what = f"log must say which files are its own (got none, and {file_word(cooler.name)}- for {others})"
        remedy = "Name its files there, or give one of the coolers another name."
        raise NoRowsError([Problem(settings_place(cooler), what, remedy)])
    return [(path, f"{FOLDER}/{path.name}") for path in kept]


def log_files(cooler: Cooler, farm: Farm, folder: Path) -> list[Path]:
    """The files of a cooler's log that are there, as far as they are looked for."""
    if cooler.log is None:
        return _kept_files(cooler.name, farm.coolers, folder)[0]
    return _found(cooler.log, folder)[0]


def names_file(cooler: Cooler, name: str, folder: Path) -> bool:
    """Whether a file of `logs/` of this name would be read for a cooler, by what its settings say."""
    if cooler.log is None:
        return True
    wanted = Path(os.path.relpath(folder / cooler.log, folder)).parts
    return _fits((FOLDER, name), wanted)


def _fits(parts: Sequence[str], wanted: Sequence[str]) -> bool:
    """Whether the parts of a path fit those of a pattern, as `_matching` finds them."""
    if not wanted or not parts:
        return not wanted and not parts
    if wanted[0] == "**":
        return _fits(parts, wanted[1:]) or _fits(parts[1:], wanted)
    return fnmatch(parts[0], wanted[0]) and _fits(parts[1:], wanted[1:])


def file_word(cooler: str) -> str:
    """A cooler's name as files are named: small letters, digits and hyphens.

    >>> file_word("Old Fridge"), file_word("Café 2"), file_word("冷")
    ('old-fridge', 'cafe-2', 'cooler')
    """
    plain = unicodedata.normalize("NFKD", cooler).encode("ascii", "ignore").decode("ascii").lower()
    return re.sub(r"[^a-z0-9]+", "-", plain).strip("-") or "cooler"


def namesakes(cooler: str, coolers: Collection[str]) -> str:
    """The other coolers that have the same name as files are named, as a message lists them."""
    same = (name for name in coolers if name != cooler and file_word(name) == file_word(cooler))
    return listed([shown(name) for name in same], "and")


def is_kept_for(cooler: str, name: str, coolers: Collection[str]) -> bool:
    """Whether a file of `logs/` of this name is kept for a cooler and for no other."""
    words = {file_word(known) for known in coolers} | {file_word(cooler)}
    return _word_of(name, words) == file_word(cooler)


def _kept_files(cooler: str, coolers: Collection[str], folder: Path) -> tuple[list[Path], bool]:
    """The files of `logs/` that are kept for a cooler, and whether those are all."""
    found, whole = _found(f"{FOLDER}/*", folder)
    return [path for path in found if is_kept_for(cooler, path.name, coolers)], whole


def _word_of(name: str, words: Collection[str]) -> str:
    """The longest of the coolers' words that a file's name begins with; empty where none does."""
    return max((word for word in words if name.lower().startswith(f"{word}-")), key=len, default="")


def _found(log: str, folder: Path) -> tuple[list[Path], bool]:
    """The files that a path or glob names, and whether those are all."""
    try:
        if (folder / log).exists():
            return [folder / log], True  # even if its name has a * or [ in it
    except OSError:  # a name that no file can have
        return [], True
    pattern = Path(log)
    base = Path(pattern.anchor) if pattern.is_absolute() else folder
    looks = iter(range(MOST_LOOKED_AT))
    matching = _matching(base, pattern.relative_to(pattern.anchor).parts, looks)
    found = sorted(islice(matching, MOST_FILES))
    return found, next(looks, None) is not None and next(matching, None) is None


def _matching(base: Path, parts: Sequence[str], looks: Iterator[int]) -> Iterator[Path]:
    """The regular files below a folder that fit a pattern, as long as there are looks left."""
    if not parts:
        if base.is_file() and not base.name.startswith((".", "~$")):
            yield base
        return
    wanted, rest = parts[0], parts[1:]
    if not any(mark in wanted for mark in "*?["):
        yield from _matching(base / wanted, rest, looks)
        return
    if wanted == "**":
        yield from _matching(base, rest, looks)
    try:
        with os.scandir(base) as entries:
            names = sorted(entry.name for entry, _ in zip(entries, looks, strict=False))
    except (OSError, ValueError):  # no folder that can be looked into
        return
    for name in names:
        if wanted == "**" and (base / name).is_dir() and not (base / name).is_symlink():
            yield from _matching(base / name, parts, looks)
        elif wanted != "**" and fnmatch(name, wanted):
            yield from _matching(base / name, rest, looks)


def _named_files(log: str, cooler: Cooler, folder: Path) -> list[tuple[Path, str]]:
    """The files of a cooler's log, at least one, with the names that messages give them."""
    files, whole = _found(log, folder)
    if not files and whole:
        what = f"no such file: {shown(log)}"
        remedy = f"Check the name, or {to_clear(cooler, 'log')}."
        raise NoRowsError([Problem(settings_place(cooler), what, remedy)])
    if not whole:
        raise _too_many(cooler, log)
    return [
        (path, path.relative_to(folder).as_posix() if path.is_relative_to(folder) else str(path))
        for path in files
    ]


def _too_many(cooler: Cooler, log: str) -> InputProblems:
    most = f"{MOST_FILES:,} files among {MOST_LOOKED_AT:,} names"
    what = f"log must name at most {most} (got more by {shown(log)})"
    remedy = "Name the folder that they lie in, and nothing above it."
    return InputProblems([Problem(settings_place(cooler), what, remedy)])
