"""Pictures of a paper's pages, to look at on a screen before any stock is used."""

from __future__ import annotations

import re
from collections.abc import Iterator
from io import BytesIO
from pathlib import Path, PurePath

import pypdfium2 as pdfium  # type: ignore[import-untyped]  # it comes without types

from tagmaker.paper.press.ink import Inked

DPI = 100  # dots per inch: a Letter page is 850 × 1100 dots, and captions of 6 pt can be read (chosen)
LEAST_DOTS = 600  # along the longer side of a page: a roll's small label is shown larger (chosen)
MADE_BY = "tagmaker"
MARK = b"tEXtSoftware\x00" + MADE_BY.encode("ascii")  # in every picture of ours (PNG specification, 11.3.3)
HEAD = 256  # bytes at the start of a picture in which the mark stands


def preview_names(paper: Inked) -> tuple[str, ...]:
    """File names of the pictures of a paper's pages, in order, each with as many digits as the last."""
    count = len(paper.sheets)
    stem = PurePath(paper.file_name).stem
    return tuple(f"{stem}-{number:0{len(str(count))}}.png" for number in range(1, count + 1))


def preview_pages(paper: Inked) -> Iterator[bytes]:
    """A picture of each page of a proven paper, as a PNG file. Same paper, same bytes."""
    from PIL.PngImagePlugin import PngInfo  # 7 ms that only a preview needs

    made_by = PngInfo()
    made_by.add_text("Software", MADE_BY)
    with pdfium.PdfDocument(paper.pdf) as document:
        for page in document:
            dpi = max(DPI, LEAST_DOTS / max(page.get_size()) * 72)
            picture = page.render(
                scale=dpi / 72, may_draw_forms=False
            ).to_pil()  # in grey it nibbles at letters
            file = BytesIO()
            picture.convert("L").save(file, "PNG", dpi=(dpi, dpi), pnginfo=made_by)
            yield file.getvalue()


def left_over(folder: Path, paper: Inked, *, preview: bool) -> tuple[Path, ...]:
    """Pictures of an earlier paper of the same name in a folder, but for those that were written anew.

    All of them where no `preview` was: they would show other dates than the paper. None that we did not make.
    """
    name = re.compile(re.escape(PurePath(paper.file_name).stem) + r"-[0-9]+\.png")
    now = preview_names(paper) if preview else ()
    old = (path for path in folder.iterdir() if name.fullmatch(path.name) and path.name not in now)
    return tuple(sorted(path for path in old if path.is_file() and _is_known_as_ours(path)))


def _is_known_as_ours(path: Path) -> bool:
    """The same as `is_ours`; a file that cannot be read is not known to be."""
    try:
        return is_ours(path)
    except OSError:
        return False


def is_ours(path: Path) -> bool:
    """Whether a file is a picture that was made here, and may be replaced."""
    with path.open("rb") as file:
        return MARK in file.read(HEAD)
