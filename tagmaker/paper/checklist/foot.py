"""The foot of a checklist page: a chart of the temperature or room for notes, and what to do when."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from tagmaker.paper.checklist.grid import THIN, WRITE_ON
from tagmaker.paper.press.boxes import Box, Element, Frame, Rule
from tagmaker.paper.press.fitting import fit
from tagmaker.paper.press.stacking import Paragraph, squeezed, stack
from tagmaker.telling.wording import Wording

CHART_WIDTH = 74.0  # [mm]
COLUMNS = 4  # of advice
GAP = 2.5  # [mm] between two columns
LAST_LINE = 3.8  # [mm] height of the line on laminating
NOTES_HEAD = 4.5  # [mm]
SIZES = (8.0, 7.5, 7.0, 6.5, 6.0)  # [pt] tried for the advice; longer wording is cut


def foot(
    box: Box, chart: Sequence[Element], advice: Sequence[tuple[str, str]], laminating: str
) -> Iterator[Element]:
    """Chart to the left, advice in columns, and below them a line on laminating."""
    yield from chart
    middle = Box(box.x + CHART_WIDTH + 3, box.y, box.width - CHART_WIDTH - 3, box.height - LAST_LINE)
    wide = (middle.width - (COLUMNS - 1) * GAP) / COLUMNS
    for n, (head, text) in enumerate(advice):
        column = Box(middle.x + n * (wide + GAP), middle.y, wide, middle.height)
        yield from stack(squeezed((Paragraph(head, 8, "bold"), Paragraph(text, 8)), column, SIZES), column)
    last = Box(middle.x, middle.bottom, middle.width, LAST_LINE)
    yield fit(laminating, last, most=8, least=6, weight="bold", stand="bottom")


def chart_box(box: Box) -> Box:
    """Where in a foot the chart goes."""
    return Box(box.x, box.y, CHART_WIDTH, box.height)


def notes(box: Box, head: str) -> Iterator[Element]:
    """Lines to write on, in place of a chart."""
    yield fit(head, Box(box.x, box.y, box.width, NOTES_HEAD - 1), most=9, least=6, weight="bold")
    room = Box(box.x, box.y + NOTES_HEAD, box.width, box.height - NOTES_HEAD)
    yield Frame(room, width=THIN)
    count = int(room.height / WRITE_ON)
    for n in range(1, count):
        y = room.y + room.height * n / count
        yield Rule(room.x, y, room.right, y, width=THIN)


def advice_of(wording: Wording, template: str) -> tuple[tuple[str, str], ...]:
    """What to do when, as headings and texts."""
    say = wording.macros(template)
    return (
        (say.limits_head(), say.limits_text()),
        (say.mould_head(), say.mould_text()),
        (say.never_head(), say.never_text()),
        (say.care_head(), say.care_text()),
    )
