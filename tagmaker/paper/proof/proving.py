"""Reading a finished PDF back, as a printer's page and not as the data it came from.

Pages, their size and the number of labels must be what was meant, and every text must lie in its box.
Each page is rendered in grey at 150 dots per inch and all its codes are decoded at once; what was read, and
where, must be exactly what was meant. A code that the whole page does not give is looked at once more, cut
out and larger, before it counts as missing.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Generator, Sequence
from concurrent.futures import Future, ThreadPoolExecutor
from contextlib import closing
from typing import Any, NamedTuple

import pypdfium2 as pdfium  # type: ignore[import-untyped]  # it comes without types
import zxingcpp

from tagmaker.errors import OutputProblem
from tagmaker.paper.press.boxes import MM, Box, Code, Sheet
from tagmaker.paper.press.ink import ExpectedCode, Inked
from tagmaker.paper.proof.report import Proof, edges_of, white_of
from tagmaker.paper.proof.texts import TextProof
from tagmaker.paper.stock.feeding import Feed, feed

PAGE_DPI = 150  # dots per inch of a whole page: four dots to a module of 0.68 mm
CLOSE_DPI = 400  # dots per inch of a code looked at alone
MARGIN = 3.0  # [mm] of white around a code that is cut out
SIZE_OFF = 0.02  # [mm] a page may differ from its stock: lengths in the file are hundredths of a point
OFF_BY = 1.0  # [mm] a code may lie from its place: the decoder's corners are whole dots


class ReadCode(NamedTuple):
    """A code as it was read from a page."""

    text: str
    x: float  # [mm] of its centre from the page's left edge
    y: float  # [mm] of its centre from the page's top edge


def prove(inked: Inked) -> Proof:
    """Check that a PDF shows every code and text that it should, where it should, and nothing else.

    Returns:
        What was checked, for a report.

    Raises:
        OutputProblem: names the page, and the lot where it has one, of the first thing that is wrong.
    """
    try:
        document = pdfium.PdfDocument(inked.pdf)
    except pdfium.PdfiumError as error:
        raise OutputProblem(f"{inked.file_name} must be a PDF that opens ({error}).") from error
    texts = TextProof()
    with document:
        pages = inked.pages
        if len(document) != len(pages):
            raise OutputProblem(f"{inked.file_name} must have {len(pages)} pages (got {len(document)}).")
        if fault := _sheets_fault(inked):
            raise OutputProblem(f"{inked.file_name}: {fault} Nothing was written.")
        # Closed here, also after a fault: left to the garbage collector, the end of its thread may meet the
        # beginning of another one, and each waits for the other.
        with closing(_read_pages(document, inked, texts)) as read:
            for index, (expected, (found, other)) in enumerate(zip(pages, read, strict=True)):
                if fault := _codes_fault(document, index, expected, found) or other:
                    raise OutputProblem(f"{inked.file_name}, page {index + 1}: {fault} Nothing was written.")
    return _proof(inked, texts)


def _proof(inked: Inked, texts: TextProof) -> Proof:
    """What was checked in a PDF that is sound."""
    drawings = dict.fromkeys(placed.drawing for sheet in inked.sheets for placed in sheet.placed)
    modules = [
        element.sized.module
        for drawing in drawings
        for element in drawing.elements
        if isinstance(element, Code)
    ]
    fed = feed(inked.printer, inked.sheets[0].width, inked.sheets[0].height)
    return Proof(
        file_name=inked.file_name,
        pages=len(inked.sheets),
        size=(fed.width, fed.height),
        labels=_placed(inked.sheets).total(),
        bunches=None if inked.labels is None else sum(inked.labels.values()),
        codes=sum(len(page) for page in inked.pages),
        modules=(min(modules), max(modules)) if modules else None,
        texts=texts.texts,
        drawings=texts.drawings,
        edges=edges_of(inked.sheets, inked.printer),
        white=white_of(inked.printer, (fed.width, fed.height)),
    )


def _placed(sheets: Sequence[Sheet]) -> Counter[str]:
    """How many drawings each lot has on some pages."""
    return Counter(placed.drawing.lot for sheet in sheets for placed in sheet.placed if placed.drawing.lot)


def _sheets_fault(inked: Inked) -> str:
    """Pages of more than one size, or the first lot with more or fewer labels than it must have."""
    sizes = {(sheet.width, sheet.height) for sheet in inked.sheets}
    if len(sizes) != 1:
        return f"all pages must have one size (got {len(sizes)})."
    if inked.labels is None:
        return ""
    placed = _placed(inked.sheets)
    for lot in sorted({*inked.labels, *placed}):
        due = inked.labels.get(lot, 0)
        if placed[lot] != due:
            return f"lot {lot} must have {due} labels, one a bunch (got {placed[lot]})."
    return ""


class _PageRead(NamedTuple):
    """What was read from a page."""

    codes: list[ReadCode]
    fault: str  # of anything but its codes; empty where nothing is wrong


def _read_pages(
    document: pdfium.PdfDocument, inked: Inked, texts: TextProof
) -> Generator[_PageRead, None, None]:
    """What each page shows; the next page is rendered, and its texts are read, while the last is decoded."""
    with ThreadPoolExecutor(max_workers=1) as decoder:
        last: tuple[Future[list[ReadCode]], str] | None = None
        for page, sheet in zip(document, inked.sheets, strict=True):
            coming = decoder.submit(_decode, _render(page, PAGE_DPI))
            fed = feed(inked.printer, sheet.width, sheet.height)
            fault = _size_fault(page, fed) or texts.fault(page, sheet, fed)
            if last is not None:
                yield _PageRead(last[0].result(), last[1])
            last = coming, fault
        if last is not None:
            yield _PageRead(last[0].result(), last[1])


def _size_fault(page: pdfium.PdfPage, paper: Feed) -> str:
    """What is wrong with the size of a page; empty where it is that of the paper."""
    width, height = (length / MM for length in page.get_size())
    if abs(width - paper.width) <= SIZE_OFF and abs(height - paper.height) <= SIZE_OFF:
        return ""
    return f"it must be {paper.width:g} × {paper.height:g} mm (got {width:.1f} × {height:.1f} mm)."


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


def _codes_fault(
    document: pdfium.PdfDocument, index: int, expected: Sequence[ExpectedCode], found: Sequence[ReadCode]
) -> str:
    """What is wrong with the codes of a page, counted from 0; empty where nothing is."""
    unmatched = list(found)
    paper = Box(0, 0, *(length / MM for length in document.get_page_size(index)))
    for code in expected:
        if not paper.holds(code.box):
            return (
                f"the code of lot {code.lot} must lie on the paper: correct the printer's offset and scale."
            )
        here = next((read for read in unmatched if _lies_at(read, code.box)), None)
        if here is None:
            closer = _decode(_render(document[index], CLOSE_DPI, code.box.inset(-MARGIN)))
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
