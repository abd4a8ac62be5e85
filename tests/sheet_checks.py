"""What must hold for every printed page: looked at as boxes, and read back from the PDF."""

from collections.abc import Iterable, Iterator
from itertools import combinations

import pypdfium2 as pdfium  # type: ignore[import-untyped]  # it comes without types

from tagmaker.paper.press.boxes import MM, Box, Code, Sheet, Text
from tagmaker.paper.press.fonts import face
from tagmaker.paper.press.ink import Inked


def texts(sheets: Iterable[Sheet]) -> list[str]:
    """Every text of some pages, its lines joined by a space."""
    return [
        " ".join(line.text for line in element.lines)
        for sheet in sheets
        for placed in sheet.placed
        for element in placed.drawing.elements
        if isinstance(element, Text)
    ]


def text_elements(sheets: Iterable[Sheet]) -> list[Text]:
    """Every text of some pages with its box and size."""
    return [
        element
        for sheet in sheets
        for placed in sheet.placed
        for element in placed.drawing.elements
        if isinstance(element, Text)
    ]


def codes(sheets: Iterable[Sheet]) -> list[Code]:
    """Every code of some pages."""
    return [
        element
        for sheet in sheets
        for placed in sheet.placed
        for element in placed.drawing.elements
        if isinstance(element, Code)
    ]


def overlap(one: Box, other: Box, slack: float = 0.01) -> bool:
    """Whether two boxes share more than a slack [mm]."""
    return (
        other.x < one.right - slack
        and one.x < other.right - slack
        and other.y < one.bottom - slack
        and one.y < other.bottom - slack
    )


def overlapping(sheet: Sheet) -> list[tuple[str, str]]:
    """Pairs of texts and codes whose boxes share more than a hair, by their words."""
    boxes = [
        (placed.on_sheet(element.box), _named(element))
        for placed in sheet.placed
        for element in placed.drawing.elements
        if isinstance(element, Text | Code)
    ]
    return [(one, other) for (a, one), (b, other) in combinations(boxes, 2) if overlap(a, b)]


def _named(element: Text | Code) -> str:
    return element.lines[0].text if isinstance(element, Text) else element.sized.symbol.text


def leaving_their_box(sheets: Iterable[Sheet]) -> list[str]:
    """Lines of text whose ink is wider or higher than the box they were given."""
    return [
        line.text
        for text in text_elements(sheets)
        for line in text.lines
        if not text.box.holds(ink(text, line.text, line.x, line.y), slack=0.03)
    ]


def ink(text: Text, line: str, x: float, y: float) -> Box:
    """Where the ink of a line lies [mm]."""
    em = text.size / MM
    up, down = face(text.weight).extent(line)
    return Box(x, y - up * em, face(text.weight).width(line) * em, (up + down) * em)


def read_back(inked: Inked) -> list[str]:
    """The words of each page as a PDF reader gives them, white space tidied."""
    with pdfium.PdfDocument(inked.pdf) as document:
        return [" ".join(page.get_textpage().get_text_bounded().split()) for page in document]


def characters(inked: Inked) -> Iterator[tuple[int, Box]]:
    """Page number and box [mm] of every character that a PDF reader finds, from the page's top left."""
    with pdfium.PdfDocument(inked.pdf) as document:
        for number, page in enumerate(document, start=1):
            height = page.get_size()[1]
            text_page = page.get_textpage()
            for index in range(text_page.count_chars()):
                left, bottom, right, top = text_page.get_charbox(index)
                if right > left:
                    yield (
                        number,
                        Box(left / MM, (height - top) / MM, (right - left) / MM, (top - bottom) / MM),
                    )
