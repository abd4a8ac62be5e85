"""The pages as files in a folder: for a stick, a shared folder or any host of plain files."""

from __future__ import annotations

import os
from collections.abc import Mapping, Sequence
from pathlib import Path

from tagmaker.errors import OutputProblem
from tagmaker.scan.pages import ASSETS, asset, cooler_page, index_page, lot_page
from tagmaker.scan.source import PageSource

INDEX = "index.html"
OURS = b'<meta name="generator" content="tagmaker">'  # stands in the head of every page
HEAD_BYTES = 2048  # of a page, within which that is looked for


def page_files(source: PageSource, only: Sequence[str] = ()) -> Mapping[str, str]:
    """The text of each file, by its name; the index comes last, when all that it leads to is there.

    Args:
        source: what the pages are made from.
        only: lot codes whose pages alone are wanted; none: all pages.
    """
    files = {name: asset(source, name) for name in ASSETS}
    for code in only or source.lot_codes:
        files[f"{source.lot_names[code]}.html"] = lot_page(source, code)
    if not only:
        for name in source.summary_of:
            files[f"{name}.html"] = cooler_page(source, name)
        files[INDEX] = index_page(source)
    return files


def write_pages(source: PageSource, folder: Path, only: Sequence[str] = ()) -> tuple[Path, ...]:
    """Write the pages into a folder, which is made if need be; each is the old page or the new, never half.

    Our own pages that no lot or cooler has any more would go on showing dates that nobody checks: they are
    removed, unless only some lots were asked for. Files that are not ours stay.

    Returns:
        the paths of the pages, the index last.

    Raises:
        OutputProblem: the folder cannot be written.
    """
    files = page_files(source, only)
    path = folder
    try:
        folder.mkdir(parents=True, exist_ok=True)
        for name, text in files.items():
            path = folder / name
            _replace(path, text.encode("utf-8"))
        if not only:
            for path in _left_over(folder, files):
                path.unlink(missing_ok=True)
    except OSError as error:
        raise OutputProblem(
            f"{path} could not be written ({error.strerror or error}). "
            "Close it where it is open, make room, or choose another folder with --out."
        ) from error
    return tuple(folder / name for name in files if name.endswith(".html"))


def _replace(path: Path, content: bytes) -> None:
    """Write a file beside its place and move it there."""
    part = path.with_name(f".{path.name}.{os.getpid()}.part")
    try:
        with part.open("wb") as file:
            file.write(content)
            file.flush()
            os.fsync(file.fileno())
        part.replace(path)
    finally:
        part.unlink(missing_ok=True)


def _left_over(folder: Path, files: Mapping[str, str]) -> Sequence[Path]:
    """Pages of ours that this run did not write; a stick may not tell capital letters from small ones."""
    fresh = {name.upper() for name in files}
    return [
        path
        for path in sorted(folder.glob("*.html"))
        if path.name.upper() not in fresh and path.is_file() and _is_ours(path)
    ]


def _is_ours(path: Path) -> bool:
    with path.open("rb") as file:
        return OURS in file.read(HEAD_BYTES)
