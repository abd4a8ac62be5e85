"""Reading every code of a finished PDF back, as a printer's page and not as the data it came from.

Each page is rendered in grey at 150 dots per inch and all its codes are decoded at once; what was read, and
where, must be exactly what was meant. A code that the whole page does not give is looked at once more, cut
out and larger, before it counts as missing.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from concurrent.futures import Future, ThreadPoolExecutor
from typing import Any, NamedTuple

import pypdfium2 as pdfium  # type: ignore[import-untyped]  # it comes without types
import zxingcpp

from tagmaker.errors import OutputProblem
from tagmaker.paper.boxes import MM, Box
from tagmaker.paper.ink import ExpectedCode, Inked

PAGE_DPI = 150  # dots per inch of a whole page: four dots to a module of 0.68 mm
CLOSE_DPI = 400  # dots per inch of a code looked at alone
MARGIN = 3.0  # [mm] of white around a code that is cut out
OFF_BY = 1.0  # [mm] a code may lie from its place: the decoder's corners are whole dots


class ReadCode(NamedTuple):
    """A code as it was read from a page."""

    text: str
    x: float  # [mm] of its centre from the page's left edge
    y: float  # [mm] of its centre from the page's top edge


def prove(inked: Inked) -> None:
    """Check that a PDF shows every code that it should, where it should, and no other.

    Raises:
        OutputProblem: names the page and the lot of the first code that does not read back.
    """
    try:
        document = pdfium.PdfDocument(inked.pdf)
    except pdfium.PdfiumError as error:
        raise OutputProblem(f"{inked.file_name} must be a PDF that opens ({error}).") from error
    with document:
        pages = inked.pages
        if len(document) != len(pages):
            raise OutputProblem(f"{inked.file_name} must have {len(pages)} pages (got {len(document)}).")
        for number, (expected, found) in enumerate(zip(pages, _read_pages(document), strict=True), start=1):
            fault = _fault(document[number - 1], expected, found)
            if fault:
                raise OutputProblem(f"{inked.file_name}, page {number}: {fault} Nothing was written.")


def _read_pages(document: pdfium.PdfDocument) -> Iterator[list[ReadCode]]:
    """The codes of each page; the next page is rendered while the last one is decoded."""
    with ThreadPoolExecutor(max_workers=1) as decoder:
        last: Future[list[ReadCode]] | None = None
        for page in document:
            coming = decoder.submit(_decode, _render(page, PAGE_DPI))
            if last is not None:
                yield last.result()
            last = coming
        if last is not None:
            yield last.result()


class _Picture(NamedTuple):
    """A page, or a part of one, in grey."""

    bitmap: pdfium.PdfBitmap
    left: float  # [mm] of its corner on the page
    top: float  # [mm]
    dpi: int


def _render(page: pdfium.PdfPage, dpi: int, box: Box | None = None) -> _Picture:
    """A page, or a box [mm] on it. A printer has no half-dark dots, so neither has the picture."""
    width, height = page.get_size()  # [pt]
    shown = box or Box(0, 0, width / MM, height / MM)
    left, top = max(shown.x, 0.0), max(shown.y, 0.0)
    right, bottom = max(width / MM - shown.right, 0.0), max(height / MM - shown.bottom, 0.0)
    cut = (left * MM, bottom * MM, right * MM, top * MM)
    bitmap = page.render(scale=dpi / 72, grayscale=True, crop=cut, may_draw_forms=False, no_smoothpath=True)
    return _Picture(bitmap, left, top, dpi)


def _decode(picture: _Picture) -> list[ReadCode]:
    """The codes in a picture, with their centres on the page."""
    bitmap, left, top, dpi = picture
    dots: Any = memoryview(bitmap.buffer)  # Any: the stubs ask for an array where any buffer will do
    grey = zxingcpp.ImageFormat.Lum
    found = zxingcpp.read_barcodes(
        zxingcpp.ImageView(dots, bitmap.width, bitmap.height, grey, bitmap.stride),
        formats=zxingcpp.BarcodeFormats([zxingcpp.BarcodeFormat.QRCode]),
        text_mode=zxingcpp.TextMode.Plain,
        try_rotate=False,
        try_downscale=False,
        try_invert=False,
    )
    codes = []
    for code in found:
        near, far = code.position.top_left, code.position.bottom_right
        x, y = (near.x + far.x) / 2, (near.y + far.y) / 2  # [dots]
        codes.append(ReadCode(code.text, left + x * 25.4 / dpi, top + y * 25.4 / dpi))
    return codes


def _fault(page: pdfium.PdfPage, expected: Sequence[ExpectedCode], found: Sequence[ReadCode]) -> str:
    """What is wrong with the codes of a page; empty where nothing is."""
    unmatched = list(found)
    for code in expected:
        here = next((read for read in unmatched if _lies_at(read, code.box)), None)
        if here is None:
            closer = _decode(_render(page, CLOSE_DPI, code.box.inset(-MARGIN)))
            here = next((read for read in closer if _lies_at(read, code.box)), None)
        else:
            unmatched.remove(here)
        if here is None:
            return f'the code of lot {code.lot} must read "{code.text}" (it does not read back).'
        if here.text != code.text:
            return f'the code of lot {code.lot} must read "{code.text}" (got "{here.text}").'
    if unmatched:
        return f'there must be {len(expected)} codes (got one more: "{unmatched[0].text}").'
    return ""


def _lies_at(read: ReadCode, box: Box) -> bool:
    across = abs(read.x - (box.x + box.width / 2))
    down = abs(read.y - (box.y + box.height / 2))
    return across <= OFF_BY and down <= OFF_BY
