"""A folder to begin with: a workbook of lots, orders and settings, a settings file, one to double-click."""

from __future__ import annotations

import contextlib
import os
from collections.abc import Mapping
from pathlib import Path

from tagmaker.errors import OutputProblem
from tagmaker.intake.settings.keys import FILE_NAME
from tagmaker.intake.starter.double_click import Opener

SHEET_NAME = "lots.xlsx"


def start(folder: Path, book: bytes, opener: Opener, others: Mapping[str, bytes]) -> tuple[Path, ...]:
    """Write the files of a season into a folder, which is made if it is not there.

    Args:
        folder: of the season
        book: the workbook
        opener: the file to double-click
        others: the settings file and what it names, by their path in the folder

    Returns:
        The files.

    Raises:
        OutputProblem: one of the files is there already, or the folder cannot be written; nothing
            is changed then.
    """
    files = {SHEET_NAME: book, **others, opener.name: opener.content}
    there = [name for name in files if (folder / name).exists()]
    if there:
        what = f"{folder} must be a folder without {SHEET_NAME} and {FILE_NAME} (got {' and '.join(there)})"
        remedy = "Nothing was written: name another folder, or rename what is there."
        raise OutputProblem(f"{what}. {remedy}")
    _place(folder, {folder / name: content for name, content in files.items()}, {opener.name: opener.mode})
    return tuple(folder / name for name in files)


def _place(folder: Path, files: Mapping[Path, bytes], modes: Mapping[str, int]) -> None:
    """Put all files into the folder, or none."""
    drafts = {path: path.with_name(f".{path.name}.{os.getpid()}.tmp") for path in files}
    placed: list[Path] = []
    try:
        folder.mkdir(parents=True, exist_ok=True)
        for path, content in files.items():
            path.parent.mkdir(parents=True, exist_ok=True)
            drafts[path].write_bytes(content)
            if path.name in modes:
                drafts[path].chmod(modes[path.name])
        for path, draft in drafts.items():
            draft.replace(path)
            placed.append(path)
    except OSError as error:
        for path in (*drafts.values(), *placed):
            with contextlib.suppress(OSError):
                path.unlink()
        what = f"{folder} must be a folder that can be written (got: {error.strerror})"
        raise OutputProblem(f"{what}. Name another folder, or check its rights.") from None
