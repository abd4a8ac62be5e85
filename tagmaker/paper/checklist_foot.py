"""The foot of a checklist page: a chart of the temperature, what to do when, and the code."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from tagmaker.paper.boxes import Box, Code, Element
from tagmaker.paper.qr import SizedSymbol
from tagmaker.paper.stacking import Paragraph, squeezed, stack
from tagmaker.wording import Wording

CHART_WIDTH = 76.0  # [mm]
QR_SIDE = 27.0  # [mm]
SIZES = (8.0, 7.5, 7.0, 6.5, 6.0)  # [pt] tried for the advice; longer wording is cut


def foot(
    box: Box, chart: Sequence[Element], advice: Sequence[tuple[str, str]], code: SizedSymbol
) -> Iterator[Element]:
    """Chart to the left, advice in two columns, code to the right."""
    yield from chart
    square = Box(box.right - QR_SIDE, box.y + (box.height - QR_SIDE) / 2, QR_SIDE, QR_SIDE)
    yield Code(square, code)
    middle = Box(box.x + CHART_WIDTH + 3, box.y, square.x - box.x - CHART_WIDTH - 4, box.height)
    wide = (middle.width - 3) / 2
    for n in range(2):
        column = Box(middle.x + n * (wide + 3), middle.y, wide, middle.height)
        said = [
            paragraph
            for head, text in advice[2 * n : 2 * n + 2]
            for paragraph in (Paragraph(head, 8, "bold", before=1.2), Paragraph(text, 8))
        ]
        yield from stack(squeezed(said, column, SIZES), column)


def chart_box(box: Box) -> Box:
    """Where in a foot the chart goes."""
    return Box(box.x, box.y, CHART_WIDTH, box.height)


def advice_of(wording: Wording, template: str) -> tuple[tuple[str, str], ...]:
    """What to do when, as headings and texts."""
    say = wording.macros(template)
    return (
        (say.limits_head(), say.limits_text()),
        (say.mould_head(), say.mould_text()),
        (say.never_head(), say.never_text()),
        (say.care_head(), say.care_text()),
    )
