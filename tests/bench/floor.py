"""The floor: the same labels as a PDF stream written by hand, with no layout and no checks at all."""

import zlib
from collections.abc import Sequence

from tagmaker.paper.press.boxes import MM
from tagmaker.paper.press.fonts import face
from tagmaker.paper.press.ink import ESCAPES
from tagmaker.paper.press.qr import Symbol, outline
from tagmaker.paper.tag.words import TagWords
from tests.bench.content import STOCK, TAGS_PER_LOT, lines

# weight, size [pt], x and y [pt from the label's bottom left] of each line, measured off a finished label
PLACES = (
    ("B", 13.2, 4.25, 56.5),
    ("B", 11.9, 37.0, 57.0),
    ("R", 8.5, 4.25, 45.5),
    ("R", 6.0, 4.25, 38.0),
    ("B", 11.7, 4.25, 28.7),
    ("R", 6.0, 4.25, 21.3),
    ("B", 11.7, 4.25, 12.0),
    ("R", 6.0, 4.25, 5.6),
    ("R", 6.0, 145.0, 5.6),
)
FRAME = "1 w 34 55.2 35 13 re S"
CODE_PLACE = "1.68 0 0 -1.68 133.6 65.3 cm"
WINDOWS = [*range(32, 127), *(ord(character) for character in "·°äöéÉ")]  # characters of the content


class _File:
    """Objects of a PDF in the order of their numbers."""

    def __init__(self) -> None:
        self.objects: list[bytes] = []

    def add(self, body: bytes) -> int:
        self.objects.append(body)
        return len(self.objects)

    def stream(self, head: bytes, content: bytes) -> int:
        packed = zlib.compress(content)
        return self.add(
            b"<<%b/Filter/FlateDecode/Length %d>>\nstream\n%b\nendstream" % (head, len(packed), packed)
        )

    def bytes(self, root: int) -> bytes:
        out, offsets = [b"%PDF-1.7\n"], []
        at = len(out[0])
        for number, body in enumerate(self.objects, start=1):
            part = b"%d 0 obj\n%b\nendobj\n" % (number, body)
            offsets.append(at)
            at += len(part)
            out.append(part)
        table = b"".join(b"%010d 00000 n \n" % offset for offset in offsets)
        out.append(b"xref\n0 %d\n0000000000 65535 f \n%b" % (len(offsets) + 1, table))
        out.append(b"trailer<</Size %d/Root %d 0 R>>\nstartxref\n%d\n%%%%EOF" % (len(offsets) + 1, root, at))
        return b"".join(out)


def _font(file: _File, weight: str) -> int:
    """An embedded subset in which code n is the n-th character of the content."""
    font = face(weight).font.face
    codes = [0, *WINDOWS]
    data = font.makeSubset(codes)
    program = file.stream(b"/Length1 %d" % len(data), data)
    name = b"/AAAAAA+" + font.name
    descriptor = file.add(
        b"<</Type/FontDescriptor/FontName%b/Flags 4/FontBBox[-700 -300 1200 1100]/ItalicAngle 0/Ascent 927"
        b"/Descent -244/CapHeight 711/StemV 80/FontFile2 %d 0 R>>" % (name, program)
    )
    widths = b" ".join(b"%.0f" % font.getCharWidth(code) for code in codes)  # type: ignore[no-untyped-call]
    return file.add(
        b"<</Type/Font/Subtype/TrueType/BaseFont%b/FirstChar 0/LastChar %d/Widths[%b]/FontDescriptor %d 0 R>>"
        % (name, len(codes) - 1, widths, descriptor)
    )


def write(labels: Sequence[tuple[TagWords, Symbol]]) -> bytes:
    """The PDF of twelve tags for each label."""
    file = _File()
    regular, bold = _font(file, "regular"), _font(file, "bold")
    fonts = file.add(b"<</Font<</R %d 0 R/B %d 0 R>>>>" % (regular, bold))
    codes = {character: n for n, character in enumerate(WINDOWS, start=1)}
    head = b"/Type/XObject/Subtype/Form/BBox[0 0 %.2f %.2f]/Resources %d 0 R" % (
        STOCK.width * MM,
        STOCK.height * MM,
        fonts,
    )
    forms = [file.stream(head, _tag(words, symbol, codes)) for words, symbol in labels]
    boxes = STOCK.boxes()
    places = [
        f"q 1 0 0 1 {box.x * MM:.2f} {(STOCK.page_height - box.bottom) * MM:.2f} cm /T" for box in boxes
    ]
    tags = [form for form in forms for _ in range(TAGS_PER_LOT)]
    starts = range(0, len(tags), STOCK.per_page)
    tree = len(file.objects) + 2 * len(starts) + 1
    kids = []
    for start in starts:
        page = tags[start : start + STOCK.per_page]
        content = "\n".join(f"{place}{form} Do Q" for place, form in zip(places, page, strict=False))
        stream = file.stream(b"", content.encode("ascii"))
        used = "".join(f"/T{form} {form} 0 R" for form in dict.fromkeys(page))
        parts = (tree, stream, used.encode("ascii"))
        head = b"/Type/Page/Parent %d 0 R/MediaBox[0 0 612 792]/Contents %d 0 R"
        kids.append(file.add(b"<<" + head % parts[:2] + b"/Resources<</XObject<<%b>>>>>>" % parts[2]))
    references = b" ".join(b"%d 0 R" % kid for kid in kids)
    file.add(b"<</Type/Pages/Count %d/Kids[%b]>>" % (len(kids), references))
    return file.bytes(file.add(b"<</Type/Catalog/Pages %d 0 R>>" % tree))


def _tag(words: TagWords, symbol: Symbol, codes: dict[int, int]) -> bytes:
    parts = [FRAME]
    for (font, size, x, y), line in zip(PLACES, lines(words), strict=True):
        text = line.translate(codes).translate(ESCAPES)
        parts.append(f"BT /{font} {size} Tf {x} {y} Td ({text}) Tj ET")
    parts.append(f"q {CODE_PLACE}\n{outline(symbol.rows)}\nf Q")
    return "\n".join(parts).encode("latin-1")
