"""The engine that turns drawings into a PDF: each distinct drawing is one form, placed as often as asked.

Everything is black on white, in vector paths and an embedded font. Same sheets, same bytes.
"""

from __future__ import annotations

import zlib
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from io import BytesIO
from threading import Lock
from typing import Any, NamedTuple

from reportlab import rl_config
from reportlab.pdfbase.pdfdoc import PDFDocument, PDFObject, PDFObjectReference
from reportlab.pdfgen.canvas import Canvas

from tagmaker.errors import InputProblems
from tagmaker.farm import Printer
from tagmaker.paper.press.boxes import (
    MM,
    Box,
    Code,
    Drawing,
    Element,
    Frame,
    Placed,
    Rule,
    Sheet,
    Text,
    Trace,
    Weight,
    symbol_box,
)
from tagmaker.paper.press.characters import font_problems
from tagmaker.paper.press.fonts import BROKEN, broken_font, face, typeface_in_use
from tagmaker.paper.press.qr import outline
from tagmaker.paper.stock.feeding import feed

STRAIGHT = Printer()  # prints everything where it belongs
FONTS = b"@fonts"  # stands for the reference to the fonts, which is known only at the end
_ONE_AT_A_TIME = Lock()  # a font has one place at which it is being read
# In a literal string (ISO 32000-1, 7.3.4.2).
ESCAPES = str.maketrans({"\\": "\\\\", "(": "\\(", ")": "\\)", "\r": "\\r", "\n": "\\n"})


class ExpectedCode(NamedTuple):
    """A code that must read back from a page."""

    text: str
    box: Box  # of the symbol without its quiet zone, on the page [mm]
    lot: str


@dataclass(frozen=True, slots=True, eq=False)
class Inked:
    """A finished PDF in memory, not yet proven, and the sheets that it must show."""

    file_name: str
    pdf: bytes
    sheets: tuple[Sheet, ...]
    printer: Printer = STRAIGHT  # that its pages are shifted, stretched and turned for
    labels: Mapping[str, int] | None = None  # lot code -> labels that it must show; None: not counted

    @property
    def pages(self) -> tuple[tuple[ExpectedCode, ...], ...]:
        """The codes that each page must show."""
        return tuple(tuple(_codes(sheet, self.printer)) for sheet in self.sheets)


def print_sheets(
    file_name: str,
    title: str,
    sheets: Iterable[Sheet],
    language: str = "en",
    printer: Printer = STRAIGHT,
) -> Inked:
    """A PDF of sheets, in memory. Same sheets, same bytes.

    Args:
        file_name: name under which the file will be put in place
        title: the document's title, as a viewer shows it
        sheets: pages in order
        language: of the words, as in RFC 5646
        printer: what its test page showed

    Raises:
        InputProblems: characters that the font lacks, all of them.
    """
    sheets = tuple(sheets)
    _check_characters(sheets)
    rl_config.useA85 = 0  # plain binary streams: 16 % fewer bytes and 21 % less time than reportlab's default
    buffer = BytesIO()
    canvas: Any = Canvas(  # Any: the page's list of instructions is not in the stubs
        buffer,
        invariant=1,
        pdfVersion=(1, 7),
        pageCompression=1,
        initialFontName=face("regular").name,  # type: ignore[arg-type]  # a float in the stubs
        lang=language,
    )
    canvas.setTitle(title)
    canvas.setCreator("tagmaker")
    canvas.setAuthor("")
    canvas.setSubject("")
    canvas.setViewerPreference("PrintScaling", "None")
    pen = _Pen(canvas._doc, printer)
    for sheet in sheets:
        pen.print_sheet(sheet)
    _save(canvas)
    return Inked(file_name, buffer.getvalue(), sheets, printer)


def _save(canvas: Any) -> None:
    """Finish the document, with the glyphs that it uses."""
    own = typeface_in_use().own
    try:
        with _ONE_AT_A_TIME:
            canvas.save()
    except BROKEN as error:
        if not own:
            raise
        raise InputProblems([broken_font(" or ".join(own), str(error))]) from None


def _check_characters(sheets: Iterable[Sheet]) -> None:
    drawings = dict.fromkeys(placed.drawing for sheet in sheets for placed in sheet.placed)
    problems = [
        problem
        for drawing in drawings
        for problem in font_problems(_words(drawing), drawing.where or "what is printed", drawing.lot)
    ]
    if problems:
        raise InputProblems(dict.fromkeys(problems))


def _words(drawing: Drawing) -> Iterable[str]:
    return (line.text for element in drawing.elements if isinstance(element, Text) for line in element.lines)


def _codes(sheet: Sheet, printer: Printer) -> Iterator[ExpectedCode]:
    fed = feed(printer, sheet.width, sheet.height)
    for placed in sheet.placed:
        for element in placed.drawing.elements:
            if isinstance(element, Code):
                box = fed.box(placed.on_sheet(symbol_box(element)))
                yield ExpectedCode(element.sized.symbol.text, box, placed.drawing.lot)


class _Stream(PDFObject):
    """A dictionary and its stream, compressed when it is made (ISO 32000-1, 7.3.8)."""

    def __init__(self, entries: bytes, content: str) -> None:
        self._entries = entries
        self._packed = zlib.compress(content.encode("latin-1"))

    def format(self, document: PDFDocument) -> bytes:
        """The object's bytes, as reportlab asks for them."""
        fonts = PDFObjectReference("BasicFonts").format(document) if self._entries else b""
        entries = self._entries.replace(FONTS, fonts)
        return b"<<%b/Filter/FlateDecode/Length %d>>\nstream\n%b\nendstream" % (
            entries,
            len(self._packed),
            self._packed,
        )


class _Page(PDFObject):
    """A page that shows forms and nothing else (ISO 32000-1, 7.7.3.3)."""

    def __init__(self, width: float, height: float, content: _Stream, forms: Iterable[str]) -> None:
        self._size = b"%.2f %.2f" % (width * MM, height * MM)
        self._content = content
        self._forms = tuple(forms)

    def format(self, document: Any) -> bytes:
        """The object's bytes, as reportlab asks for them."""
        named = ((name.encode("ascii"), PDFObjectReference(name).format(document)) for name in self._forms)
        return b"<</Type/Page/Parent %b/MediaBox[0 0 %b]/Contents %b/Resources<</XObject<<%b>>>>>>" % (
            document.Reference(document.Pages).format(document),
            self._size,
            document.Reference(self._content).format(document),
            b" ".join(b"/%b %b" % entry for entry in named),
        )


class _Pen:
    """Writes drawings into one PDF document, each only once."""

    def __init__(self, document: Any, printer: Printer) -> None:  # Any: most of it is not in the stubs
        self._document = document
        self._printer = printer
        self._forms: dict[Drawing, str] = {}
        self._shown: dict[tuple[Weight, str], list[tuple[str, str]]] = {}

    def print_sheet(self, sheet: Sheet) -> None:
        """Add a page."""
        names = [self._forms.get(placed.drawing) or self._form(placed.drawing) for placed in sheet.placed]
        lines = [
            f"q {_place(placed, sheet.height)} cm /{name} Do Q"
            for name, placed in zip(names, sheet.placed, strict=True)
        ]
        fed = feed(self._printer, sheet.width, sheet.height)
        if not fed.is_straight:
            lines.insert(0, fed.matrix(sheet.height))
        content = _Stream(b"", "\n".join(lines))
        self._document.addPage(_Page(fed.width, fed.height, content, dict.fromkeys(names)))

    def _form(self, drawing: Drawing) -> str:
        """Make a drawing's form (ISO 32000-1, 8.10); returns its name in this document."""
        name = self._forms[drawing] = f"D{len(self._forms)}"
        box = b"%.2f %.2f" % (drawing.width * MM, drawing.height * MM)
        entries = b"/Type/XObject/Subtype/Form/BBox[0 0 %b]/Resources<</Font %b>>" % (box, FONTS)
        self._document.Reference(_Stream(entries, self._stream(drawing)), name)
        return name

    def _stream(self, drawing: Drawing) -> str:
        """A drawing's instructions (ISO 32000-1, 8.5 and 9.4): lengths in points, y upwards."""
        return "\n".join([self._draw(element, drawing.height) for element in drawing.elements])

    def _draw(self, element: Element, height: float) -> str:
        match element:
            case Text():
                return self._draw_text(element, height)
            case Code():
                x, y, _, _ = symbol_box(element)
                size = element.sized.module * MM
                place = f"{size:.4f} 0 0 {-size:.4f} {x * MM:.3f} {(height - y) * MM:.3f}"
                return f"q {place} cm\n{outline(element.sized.symbol.rows)}\nf Q"
            case Rule():
                dash = " ".join(f"{length:.2f}" for length in element.dash)
                ends = (
                    f"{_point(element.x1, element.y1, height)} m {_point(element.x2, element.y2, height)} l S"
                )
                return f"q {element.width:.2f} w [{dash}] 0 d {ends} Q"
            case Frame():
                x, y, width, tall = element.box
                path = f"{_point(x, y + tall, height)} {width * MM:.2f} {tall * MM:.2f} re"
                return f"{path} f" if element.filled else f"q {element.width:.2f} w {path} S Q"
            case Trace():
                start, *others = (_point(x, y, height) for x, y in element.points)
                return " ".join(
                    (f"q {element.width:.2f} w 1 j {start} m", *(f"{p} l" for p in others), "S Q")
                )

    def _draw_text(self, text: Text, height: float) -> str:
        parts, left, up = ["BT"], 0.0, 0.0
        for words, x, y in text.lines:
            parts.append(f"{x * MM - left:.2f} {(height - y) * MM - up:.2f} Td")
            left, up = x * MM, (height - y) * MM
            for font, shown in self._show(words, text.weight):
                parts.append(f"{font} {text.size:.2f} Tf ({shown}) Tj")
        parts.append("ET")
        return " ".join(parts)

    def _show(self, words: str, weight: Weight) -> list[tuple[str, str]]:
        """A text in pieces of one font subset: the subset's name and the codes that it has for them."""
        pieces = self._shown.get((weight, words))
        if pieces is None:
            document = self._document
            pieces = self._shown[weight, words] = [
                (font.getSubsetInternalName(subset, document), codes.decode("latin-1").translate(ESCAPES))
                for font, run in face(weight).runs(words)
                for subset, codes in font.splitString(run, document)
            ]
        return pieces


def _place(placed: Placed, height: float) -> str:
    """The matrix that puts a form on a page of a height [mm] (ISO 32000-1, 8.3.4)."""
    drawing, x, y, turn = placed
    if turn == 180:
        return f"-1 0 0 -1 {(x + drawing.width) * MM:.2f} {(height - y) * MM:.2f}"
    return f"1 0 0 1 {x * MM:.2f} {(height - y - drawing.height) * MM:.2f}"


def _point(x: float, y: float, height: float) -> str:
    return f"{x * MM:.2f} {(height - y) * MM:.2f}"
