"""Putting finished papers in place: all proven first, then each file whole or not at all."""

from __future__ import annotations

import errno
import os
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

from tagmaker.errors import OutputProblem
from tagmaker.paper.deliver.preview import is_ours, left_over, preview_names, preview_pages
from tagmaker.paper.press.ink import Inked
from tagmaker.paper.proof.proving import prove
from tagmaker.paper.proof.report import Proof


@dataclass(frozen=True, slots=True)
class Filed:
    """A paper that was proven and put in place."""

    path: Path
    proof: Proof
    previews: tuple[Path, ...] = ()  # pictures of its pages, in order


def place_files(folder: Path, papers: Sequence[Inked]) -> tuple[Path, ...]:
    """Where `file_papers` put each paper."""
    return tuple(filed.path for filed in file_papers(folder, papers))


def file_papers(folder: Path, papers: Sequence[Inked], *, preview: bool = False) -> tuple[Filed, ...]:
    """Prove all papers, then write them into a folder, which is made if need be.

    Each file is written beside its place under another name and then moved over the old one, so that a
    reader, also after a kill in the middle, finds the old file or the new one and never half of one.

    Args:
        folder: where the files go
        papers: what is to be proven and written
        preview: write a picture of every page beside its paper; those of an earlier paper are taken away

    Raises:
        OutputProblem: a paper does not read back, a picture of the grower's own lies in the place of ours, or
            the folder cannot be written; nothing was replaced in the first two cases, and no half-written
            file stays behind in any.
    """
    filed = [_to_be_filed(folder, paper, preview) for paper in papers]
    places = [path for one in filed for path in (one.path, *one.previews)]
    _check_pictures([path for one in filed for path in one.previews])
    parts = {place: folder / f".{place.name}.{os.getpid()}.part" for place in places}
    path = folder
    try:
        folder.mkdir(parents=True, exist_ok=True)
        for path, content in zip(places, _contents(papers, preview), strict=True):
            _write(parts[path], content)
        for path in places:
            if path.is_dir():
                raise IsADirectoryError(errno.EISDIR, os.strerror(errno.EISDIR))
        for path in places:
            parts[path].replace(path)
        for old in [old for paper in papers for old in left_over(folder, paper, preview=preview)]:
            _remove(old)
    except OSError as error:
        raise OutputProblem(
            f"{path} could not be written ({error.strerror or error}). "
            "Close the file where it is open, make room, or choose another folder with --out."
        ) from error
    finally:
        for part in parts.values():
            _remove(part)
    return tuple(filed)


def _to_be_filed(folder: Path, paper: Inked, preview: bool) -> Filed:
    """Prove a paper, and say where it goes."""
    previews = preview_names(paper) if preview else ()
    return Filed(folder / paper.file_name, prove(paper), tuple(folder / name for name in previews))


def _check_pictures(places: Sequence[Path]) -> None:
    """Refuse to put a picture in the place of one that somebody else made.

    Raises:
        OutputProblem: names the first of these.
    """
    for path in places:
        try:
            is_others = path.is_file() and not is_ours(path)
        except OSError as error:
            raise OutputProblem(f"{path} could not be read ({error.strerror or error}).") from error
        if is_others:
            raise OutputProblem(
                f"{path} must be free for a preview (got a picture that tagmaker did not make). "
                "Move it away, or choose another folder with --out. Nothing was written."
            )


def _contents(papers: Sequence[Inked], preview: bool) -> Iterator[bytes]:
    """The bytes of every file: each paper, followed by its pictures."""
    for paper in papers:
        yield paper.pdf
        if preview:
            yield from preview_pages(paper)


def _write(path: Path, content: bytes) -> None:
    with path.open("wb") as file:
        file.write(content)
        file.flush()
        os.fsync(file.fileno())


def _remove(part: Path) -> None:
    """Take a left-over away, where it is there and the folder lets us."""
    try:
        part.unlink(missing_ok=True)
    except OSError:
        return
