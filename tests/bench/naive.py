"""The naive way: one canvas, and on every tag the code built anew and drawn square by square."""

from collections.abc import Sequence
from io import BytesIO

import qrcode
from reportlab.pdfgen.canvas import Canvas

from tagmaker.paper.press.boxes import MM
from tagmaker.paper.press.fonts import face
from tagmaker.paper.tag.words import TagWords
from tests.bench.content import STOCK, TAGS_PER_LOT, lines
from tests.bench.floor import PLACES


def write(labels: Sequence[tuple[TagWords, str]]) -> bytes:
    """The PDF of twelve tags for each label."""
    buffer = BytesIO()
    canvas = Canvas(buffer, pagesize=(STOCK.page_width * MM, STOCK.page_height * MM))
    boxes = STOCK.boxes()
    tags = [label for label in labels for _ in range(TAGS_PER_LOT)]
    for n, (words, code) in enumerate(tags):
        if n and n % len(boxes) == 0:
            canvas.showPage()
        box = boxes[n % len(boxes)]
        _draw(canvas, words, code, box.x * MM, (STOCK.page_height - box.bottom) * MM)
    canvas.save()
    return buffer.getvalue()


def _draw(canvas: Canvas, words: TagWords, code: str, left: float, bottom: float) -> None:
    canvas.rect(left + 34, bottom + 55.2, 35, 13)
    for (weight, size, x, y), line in zip(PLACES, lines(words), strict=True):
        canvas.setFont(face("bold" if weight == "B" else "regular").name, size)
        canvas.drawString(left + x, bottom + y, line)
    encoder = qrcode.QRCode(error_correction=qrcode.constants.ERROR_CORRECT_Q, border=0)
    encoder.add_data(code)
    encoder.make(fit=True)
    for y, row in enumerate(encoder.get_matrix()):
        for x, dark in enumerate(row):
            if dark:
                canvas.rect(
                    left + 133.6 + 1.68 * x, bottom + 65.3 - 1.68 * (y + 1), 1.68, 1.68, stroke=0, fill=1
                )
