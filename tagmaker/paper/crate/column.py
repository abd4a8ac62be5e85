"""The column of a crate card: the flowers, the bunches to cross off, the orders, handling and cautions."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from tagmaker.paper.crate.words import CardWords
from tagmaker.paper.press.boxes import MM, Box, Element
from tagmaker.paper.press.fitting import LEADING, fit
from tagmaker.paper.press.fonts import face
from tagmaker.paper.press.stacking import Paragraph, paragraph_height, squeezed, stack, stack_height

SMALL = 8.0  # [pt] running words
NUMBER_ROOM = 6.6  # [mm] across that a number takes at least, so that 10 9 is never read as 109
NUMBER_GAP = 1.4  # [mm] between two numbers
NUMBER_PITCH = 6.0  # [mm] between rows of numbers
CROP_SIZES = (15.0, 13.0, 11.0, 10.0, 9.0, SMALL)  # [pt]
STEPS = (1, 2, 5, 10, 20, 50, 100, 200, 500, 1000)
# Size of running words [pt], orders to name and numbers to cross off: from as it should be to the least.
CROWDING = (
    *(
        (14, 3, 24),
        (13, 3, 24),
        (12, 3, 24),
        (11, 3, 24),
        (10, 3, 24),
        (9, 3, 24),
        (8, 3, 24),
        (8, 2, 24),
        (8, 1, 24),
    ),
    *((8, 1, 16), (8, 1, 8), (8, 0, 16), (8, 0, 8)),
)

EASY = 6  # the last of them that leaves nothing out


@dataclass(frozen=True, slots=True)
class Crate:
    """One crate or bucket of a lot."""

    label: str  # "CRATE 2 of 3"
    bunches: int | None  # None: the sheet does not say
    bunches_caption: str


def column(
    box: Box, words: CardWords, crate: Crate, said: Sequence[str], beside: Box | None = None
) -> Iterator[Element]:
    """Crop and variety, the bunches to cross off, then orders, handling and cautions below or beside them.

    Args:
        box: where it goes [mm].
        words: the card's.
        crate: which of the lot's crates.
        said: handling and cautions.
        beside: a second column for the orders and what is said [mm]; None: they stand below.
    """
    plan = plan_column(box, words, crate, said, beside)
    (crop,) = stack([plan.crop], Box(box.x, box.y, box.width, 12))
    yield crop
    yield fit(crate.bunches_caption, plan.caption, most=11, least=SMALL, weight="bold")
    yield from _numbers(plan.below, plan.numbers, plan.in_row)
    yield from stack(squeezed(plan.lines, plan.rest, (plan.size, 7.5, 7.0, 6.5, 6.0)), plan.rest)


@dataclass(frozen=True, slots=True)
class ColumnPlan:
    """What of a column has room, and how large."""

    crop: Paragraph
    caption: Box
    below: Box  # for the numbers
    numbers: tuple[int, ...]
    in_row: int
    lines: Sequence[Paragraph]
    rest: Box  # for the lines
    size: float  # [pt] of the lines
    easy: bool  # nothing had to give way


def plan_column(
    box: Box, words: CardWords, crate: Crate, said: Sequence[str], beside: Box | None
) -> ColumnPlan:
    """How a column is filled: the first way of `CROWDING` that has the room, or else the last."""
    top = Box(box.x, box.y, box.width, 12)
    crop = largest(words.crop, top, CROP_SIZES)
    caption = Box(box.x, box.y + paragraph_height(crop, box.width) + 1.5, box.width, 4)
    below = Box(box.x, caption.bottom + 0.5, box.width, box.bottom - caption.bottom - 0.5)
    in_row = int(box.width / NUMBER_ROOM)
    easy = False
    for n, (size, shown, most) in enumerate(CROWDING):
        numbers = bunch_numbers(crate.bunches, most)
        tall = -(-len(numbers) // in_row) * NUMBER_PITCH
        orders = [*words.orders[:shown], words.more_orders[shown]]
        lines = [
            *(Paragraph(order, size, "bold", before=0.6) for order in orders),
            *(Paragraph(text, size, before=0.6) for text in said),
        ]
        rest = beside or Box(below.x, below.y + tall + 0.5, below.width, below.height - tall - 0.5)
        if tall <= below.height and stack_height(lines, rest.width) <= rest.height:
            easy = n <= EASY
            break
    return ColumnPlan(crop, caption, below, numbers, in_row, lines, rest, size, easy)


def largest(text: str, box: Box, sizes: Sequence[float]) -> Paragraph:
    """Bold words in the largest of some sizes that fills no more than the box."""
    for size in sizes:
        if stack_height([Paragraph(text, size, "bold")], box.width) <= box.height:
            return Paragraph(text, size, "bold")
    return Paragraph(text, sizes[-1], "bold", lines=max(int(box.height / sizes[-1] * MM / LEADING), 1))


def _numbers(box: Box, numbers: tuple[int, ...], in_row: int) -> Iterator[Element]:
    pitch = box.width / in_row
    widest = max((face("regular").width(str(number)) for number in numbers), default=1.0)
    most = min(14.0, (pitch - NUMBER_GAP) * MM / widest)
    for n, number in enumerate(numbers):
        row, place = divmod(n, in_row)
        room = Box(box.x + place * pitch, box.y + row * NUMBER_PITCH, pitch - NUMBER_GAP, NUMBER_PITCH - 0.6)
        yield fit(str(number), room, most=most, least=min(most, 6), align="centre")


def bunch_numbers(bunches: int | None, most: int) -> tuple[int, ...]:
    """The numbers to cross off as bunches leave, from all of them down; in steps where they are many.

    >>> bunch_numbers(4, 21), bunch_numbers(50, 21)
    ((4, 3, 2, 1), (50, 45, 40, 35, 30, 25, 20, 15, 10, 5))
    """
    if not bunches:
        return ()
    step = next((step for step in STEPS if bunches / step <= most), STEPS[-1])
    return tuple(range(bunches, 0, -step))[:most]
