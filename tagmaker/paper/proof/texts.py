"""Reading the texts of a finished PDF back: every run of letters must lie in the box of a text.

A drawing is placed many times but is one form of the file, so only its first placement is read. The others
are taken off the page in memory before its letters are gathered, for that is what takes time: 10 ms for
30 labels, under 1 ms for the two or three of them that are new on the page.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import pypdfium2 as pdfium  # type: ignore[import-untyped]  # it comes without types
import pypdfium2.raw as pdfium_c  # type: ignore[import-untyped]  # the same

from tagmaker.paper.press.boxes import MM, Box, Drawing, Placed, Sheet, Text
from tagmaker.paper.stock.feeding import Feed

SLACK = 0.05  # [mm] that letters may leave their box by: places in the file are rounded
OVERHANG = 0.05  # [em] the same along a line: a "j" reaches 0.047 em behind its own start (font's outlines)


class TextProof:
    """Checks the texts of a PDF page by page, those of each drawing once."""

    def __init__(self) -> None:
        self._seen: set[Drawing] = set()
        self.texts = 0  # texts found in their boxes so far

    @property
    def drawings(self) -> int:
        """Distinct drawings whose texts were looked at so far."""
        return len(self._seen)

    def fault(self, page: pdfium.PdfPage, sheet: Sheet, fed: Feed) -> str:
        """What is wrong with the drawings of a page and their texts; empty where nothing is.

        `fed` is where the printer's settings put each point of the sheet.

        Drawings that were seen before are taken off the loaded page: render it first.
        """
        objects = [pdfium_c.FPDFPage_GetObject(page, n) for n in range(pdfium_c.FPDFPage_CountObjects(page))]
        if len(objects) != len(sheet.placed):
            return f"there must be {len(sheet.placed)} drawings (got {len(objects)})."
        new: list[Placed] = []
        for thing, placed in zip(objects, sheet.placed, strict=True):
            if placed.drawing in self._seen:
                pdfium_c.FPDFPage_RemoveObject(page, thing)
                pdfium_c.FPDFPageObj_Destroy(thing)
            else:
                self._seen.add(placed.drawing)
                new.append(placed)
        return self._fault_of(page, new, fed) if new else ""

    def _fault_of(self, page: pdfium.PdfPage, new: Sequence[Placed], fed: Feed) -> str:
        texts = [(text, lot) for placed in new for text, lot in _texts(placed, fed)]
        found = [False] * len(texts)
        here = 0  # runs come in the order of the texts, so the search goes on where the last one was
        runs = tuple(_runs(page))
        for run in runs:
            order = (*range(here, len(texts)), *range(here))
            home = next((n for n in order if _holds(texts[n][0], run, fed)), None)
            if home is None:
                text, lot = min(texts, key=lambda text: _off(text[0].box, run))
                return f"{_named(text, lot)} must lie in its box (its letters leave it)."
            here, found[home] = home, True
        for n, (text, lot) in enumerate(texts):
            found[n] = found[n] or any(_holds(text, run, fed) for run in runs)  # boxes may share some room
            if not found[n] and _must_read(text):
                return f"{_named(text, lot)} must be there (it does not read back)."
        self.texts += sum(found)
        return ""


def _texts(placed: Placed, fed: Feed) -> Iterator[tuple[Text, str]]:
    """The texts of a drawing where they lie on the paper, with its lot."""
    for element in placed.drawing.elements:
        if isinstance(element, Text):
            yield element._replace(box=fed.box(placed.on_sheet(element.box))), placed.drawing.lot


def _runs(page: pdfium.PdfPage) -> Iterator[Box]:
    """Where the letters of each piece of text lie on a page [mm]: their ink, spaces left out."""
    height = page.get_size()[1]
    letters = page.get_textpage()
    for n in range(letters.count_rects()):
        left, bottom, right, top = letters.get_rect(n)
        yield Box(left / MM, (height - top) / MM, (right - left) / MM, (top - bottom) / MM)


def _holds(text: Text, run: Box, fed: Feed) -> bool:
    along = SLACK + OVERHANG * text.size / MM
    across, down = (SLACK, along) if fed.is_sideways else (along, SLACK)
    box = text.box
    return (
        run.x >= box.x - across
        and run.right <= box.right + across
        and run.y >= box.y - down
        and run.bottom <= box.bottom + down
    )


def _off(box: Box, run: Box) -> float:
    """How far the start of a run lies from the start of a box, across and down [mm]."""
    return abs(run.x - box.x) + abs(run.y - box.y)


def _must_read(text: Text) -> bool:
    """Whether a reader must find it: readers may take a lone hyphen for a broken word and drop it."""
    return any(character.isalnum() for character in _words(text))


def _words(text: Text) -> str:
    return " ".join(line.text for line in text.lines).strip()


def _named(text: Text, lot: str) -> str:
    return f'the text "{_words(text)[:60]}"' + (f" of lot {lot}" if lot else "")
