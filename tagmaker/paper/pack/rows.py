"""A line of the pack sheet as a row: a box to tick, where it stands, what it is, two boxes to write in."""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

from tagmaker.paper.press.boxes import MM, Box, Element, Frame, Rule, Text
from tagmaker.paper.press.fitting import fit
from tagmaker.paper.press.stacking import Paragraph, paragraph_height, stack, stack_height
from tagmaker.telling.pack_words import LineWords

SIZE = 14.0  # [pt] of every word in a line: read in a dim cooler, at arm's length
LARGE = 20.0  # [pt] of the bunches
HEADS = 8.0  # [mm] height of the columns' heads
BAND = 8.5  # [mm] height of a cooler's name
LEAST = 13.5  # [mm] height of a row: two lines, and a box to write in
HIGHEST = 70.0  # [mm] the same; words that need more are cut
PAD = 1.0  # [mm] of white inside a cell
TICK = 6.0  # [mm] side of the box to tick
THIN = 0.4  # [pt]
CODE_HEIGHT = 6.0  # [mm] of the box with the storage code


class Widths(NamedTuple):
    """Of the columns [mm]; the flowers have the rest."""

    tick: float = 9.0
    place: float = 37.0
    lot: float = 41.0
    flowers: float = 0.0
    bunches: float = 23.0
    water: float = 34.0
    bucket: float = 20.0
    sold: float = 19.0
    back: float = 19.0


WIDTHS = Widths()


class Heads(NamedTuple):
    """What stands above the columns, the box to tick left out."""

    place: str
    lot: str
    flowers: str
    bunches: str
    water: str
    bucket: str
    sold: str
    back: str


def cells_of(row: Box) -> list[Box]:
    """The columns' cells of a row."""
    spare = row.width - sum(WIDTHS)
    cells, x = [], row.x
    for width in WIDTHS._replace(flowers=spare):
        cells.append(Box(x, row.y, width, row.height))
        x += width
    return cells


def row_height(words: LineWords, width: float) -> float:
    """Height [mm] of a row in a table of a width [mm]: as much as its words need."""
    cells = cells_of(Box(0, 0, width, 0))
    _, place, lot, flowers, bunches, water, *_ = cells
    heights = [
        stack_height(paragraphs, cell.width - 2 * PAD)
        for cell, paragraphs in (
            (place, _place(words)),
            (flowers, _flowers(words)),
            (bunches, _bunches(words)),
            (water, _water(words)),
        )
    ]
    heights.append(stack_height(_lot(words), lot.width - 2 * PAD) + CODE_HEIGHT)
    return min(max(LEAST, *(height + 2 * PAD for height in heights)), HIGHEST)


def _place(words: LineWords) -> tuple[Paragraph, ...]:
    return (Paragraph(words.place, SIZE),)


def _lot(words: LineWords) -> tuple[Paragraph, ...]:
    """The lot, larger where it stays on one line so."""
    large = Paragraph(words.lot, SIZE + 2, "bold")
    room = WIDTHS.lot - 2 * PAD
    is_short = paragraph_height(large, room) < 2 * (SIZE + 2) / MM
    return (large if is_short else Paragraph(words.lot, SIZE, "bold"),)


def _flowers(words: LineWords) -> tuple[Paragraph, ...]:
    return (
        Paragraph(words.flowers, SIZE),
        Paragraph(words.marks, SIZE, "bold"),
        Paragraph(words.meant, SIZE),
    )


def _bunches(words: LineWords) -> tuple[Paragraph, ...]:
    return (Paragraph(words.bunches, LARGE, "bold"), Paragraph(words.stems, SIZE))


def _water(words: LineWords) -> tuple[Paragraph, ...]:
    return (Paragraph(words.water, SIZE, "bold"), Paragraph(words.water_small, SIZE))


def draw_heads(row: Box, heads: Heads) -> Iterator[Element]:
    """The names of the columns."""
    _, *cells = cells_of(row)
    for cell, head in zip(cells, heads, strict=True):
        place = Box(cell.x + PAD, cell.y, cell.width - 2 * PAD, cell.height)
        yield fit(head, place, most=10, least=7, lines=2, weight="bold", stand="bottom")


def draw_band(box: Box, cooler: str) -> Iterator[Element]:
    """A cooler's name above its lines."""
    yield fit(cooler, box.inset(PAD), most=SIZE + 2, least=SIZE, weight="bold", stand="bottom")
    yield Rule(box.x, box.bottom, box.right, box.bottom, width=1.5)


def draw_row(box: Box, words: LineWords | None) -> Iterator[Element]:
    """A row, or an empty one to fill in by hand."""
    yield Frame(box, width=THIN)
    tick, place, lot, flowers, bunches, water, bucket, *_ = cells = cells_of(box)
    for cell in cells[1:]:
        yield Rule(cell.x, box.y, cell.x, box.bottom, width=THIN)
    yield Frame(Box(tick.x + (tick.width - TICK) / 2, box.y + (LEAST - TICK) / 2, TICK, TICK), width=1.2)
    if words is None:
        return
    for cell, paragraphs in ((place, _place(words)), (flowers, _flowers(words)), (water, _water(words))):
        yield from stack(paragraphs, cell.inset(PAD))
    yield from stack(_bunches(words), bunches.inset(PAD), align="centre")
    yield from _named(lot.inset(PAD), words)
    if words.bucket:
        place = Box(bucket.x + PAD, bucket.y, bucket.width - 2 * PAD, LEAST)
        yield fit(words.bucket, place, most=SIZE + 2, least=SIZE, lines=2, weight="bold", align="centre")


def _named(box: Box, words: LineWords) -> Iterator[Element]:
    """The lot, and how its stems stand in a box below it."""
    names: tuple[Text, ...] = stack(_lot(words), box)
    yield from names
    y = max(text.box.bottom for text in names) if names else box.y
    frame = Box(box.x, y + 0.3, 24.0, CODE_HEIGHT - 0.3)
    yield Frame(frame, width=0.9)
    yield fit(words.code, frame.inset(0.3), most=SIZE, least=10, weight="bold", align="centre")
