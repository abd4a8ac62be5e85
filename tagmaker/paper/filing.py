"""Putting finished papers in place: all proven first, then each file whole or not at all."""

from __future__ import annotations

import os
from collections.abc import Sequence
from pathlib import Path

from tagmaker.errors import OutputProblem
from tagmaker.paper.ink import Inked
from tagmaker.paper.proof import prove


def place_files(folder: Path, papers: Sequence[Inked]) -> tuple[Path, ...]:
    """Prove all papers, then write them into a folder, which is made if need be.

    Each file is written beside its place under another name and then moved over the old one, so that a
    reader, also after a kill in the middle, finds the old file or the new one and never half of one.

    Raises:
        OutputProblem: a code does not read back, or the folder cannot be written; nothing was replaced in the
            first case, and no half-written file stays behind in either.
    """
    for paper in papers:
        prove(paper)
    waiting = [(folder / f".{paper.file_name}.{os.getpid()}.part", paper) for paper in papers]
    path = folder
    try:
        folder.mkdir(parents=True, exist_ok=True)
        for path, paper in waiting:
            with path.open("wb") as file:
                file.write(paper.pdf)
                file.flush()
                os.fsync(file.fileno())
        for part, paper in waiting:
            path = folder / paper.file_name
            part.replace(path)
    except OSError as error:
        raise OutputProblem(
            f"{path} could not be written ({error.strerror or error}). "
            "Close the file where it is open, make room, or choose another folder with --out."
        ) from error
    finally:
        for part, _ in waiting:
            _remove(part)
    return tuple(folder / paper.file_name for paper in papers)


def _remove(part: Path) -> None:
    """Take a left-over away, where it is there and the folder lets us."""
    try:
        part.unlink(missing_ok=True)
    except OSError:
        return
