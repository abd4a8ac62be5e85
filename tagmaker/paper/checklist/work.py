"""The week's work: days as blocks in two columns, with boxes to write in and tasks to tick off."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from tagmaker.paper.checklist.grid import PAD, THIN, WRITE_ON
from tagmaker.paper.press.boxes import MM, Box, Element, Frame, Rule
from tagmaker.paper.press.fitting import fit, wrap
from tagmaker.paper.press.stacking import Paragraph, paragraph_height, stack

SIZE = 12.0  # [pt] of a task: read standing
HEADING = 14.0  # [pt] of a day's name
TICK = 4.2  # [mm] side of the box to tick
INDENT = TICK + 2.2  # [mm] of a task's words
GAP = 0.7  # [mm] below a task
TOP = 1.2  # [mm] of white above the first
COLUMN_GAP = 4.0  # [mm] between the two columns
WRITTEN = 9.0  # [mm] width of a box to write in
CAPTION = 15.0  # [mm] width of what stands before a box
LINE = WRITE_ON  # [mm] from line to line where tasks are written by hand


@dataclass(frozen=True, slots=True)
class Job:
    """A line of a day's block."""

    text: str
    bold: bool = False  # it holds now, or is overdue
    tick: bool = True  # there is something to tick off


@dataclass(frozen=True, slots=True)
class DayBlock:
    """A day's work."""

    name: str
    jobs: tuple[Job, ...]
    boxes: bool = True  # False: what goes on from another column, whose boxes it has


@dataclass(frozen=True, slots=True)
class Captions:
    """What stands before the boxes of a day."""

    low: str
    high: str
    mould: str


Column = tuple[DayBlock, ...]


def column_width(width: float) -> float:
    """Width of a column [mm] of a page of a width."""
    return (width - COLUMN_GAP) / 2


def lines_of(job: Job, width: float) -> int:
    """How many lines a task takes in a column of a width [mm]."""
    return len(wrap(job.text, _words_width(width) * MM / SIZE, _paragraph(job).weight))


def _words_width(width: float) -> float:
    return width - 2 * PAD - INDENT


def _paragraph(job: Job) -> Paragraph:
    return Paragraph(job.text, SIZE, "bold" if job.bold else "regular")


def _job_height(job: Job, width: float) -> float:
    return max(paragraph_height(_paragraph(job), _words_width(width)), TICK) + GAP


def block_height(block: DayBlock, width: float) -> float:
    """Height [mm] that a day's block needs in a column of a width."""
    return WRITE_ON + TOP + PAD + sum(_job_height(job, width) for job in block.jobs)


def columns_height(columns: tuple[Column, Column], width: float) -> float:
    """Height [mm] that two columns of a width need."""
    return max(sum(block_height(block, width) for block in column) for column in columns)


def balanced(blocks: Sequence[DayBlock], width: float, room: float) -> tuple[Column, Column] | None:
    """The days in two columns of a width and a height [mm], as even as they come; None: they do not fit."""
    ways = [(tuple(blocks[:count]), tuple(blocks[count:])) for count in range(len(blocks), 0, -1)]
    even = min(ways, key=lambda columns: columns_height(columns, width))
    return even if columns_height(even, width) <= room else None


def flowing(
    blocks: Sequence[DayBlock], width: float, first: float, later: float
) -> list[tuple[Column, Column]]:
    """The days on as many pages as they need; a day goes on in the next column.

    Args:
        blocks: the days.
        width: of a column [mm].
        first: height of the columns of the first page [mm].
        later: of all others [mm].
    """
    columns: list[list[DayBlock]] = [[]]
    left = first
    for block in blocks:
        rest: DayBlock | None = block
        while rest is not None:
            count = _that_fit(rest, width, left)
            if count == 0 and columns[-1]:  # a task higher than a column stands alone
                columns.append([])
                left = first if len(columns) <= 2 else later
                continue
            part = replace(rest, jobs=rest.jobs[: max(count, 1)])
            columns[-1].append(part)
            left -= block_height(part, width)
            jobs = rest.jobs[len(part.jobs) :]
            rest = replace(rest, jobs=jobs, boxes=False) if jobs else None
    columns += [[]] * (len(columns) % 2)
    return [(tuple(columns[n]), tuple(columns[n + 1])) for n in range(0, len(columns), 2)]


def _that_fit(block: DayBlock, width: float, room: float) -> int:
    """How many of a day's tasks fit a height [mm]; 1 for a day without any whose boxes fit."""
    if not block.jobs:
        return int(block_height(block, width) <= room)
    fitting = (
        count
        for count in range(len(block.jobs), 0, -1)
        if block_height(replace(block, jobs=block.jobs[:count]), width) <= room + 1e-6
    )
    return next(fitting, 0)


def draw_work(
    columns: tuple[Column, Column], box: Box, captions: Captions, *, by_hand: bool = False
) -> Iterator[Element]:
    """Two columns of days that fill a box; `by_hand`: with lines to write tasks on."""
    width = column_width(box.width)
    for n, column in enumerate(columns):
        heights = [block_height(block, width) for block in column]
        spare = max(box.height - sum(heights), 0.0) / max(len(column), 1)
        y = box.y
        for block, height in zip(column, heights, strict=True):
            place = Box(box.x + n * (width + COLUMN_GAP), y, width, height + spare)
            yield from _draw_block(place, block, captions)
            if by_hand:
                yield from _lines(place, height)
            y = place.bottom


def _draw_block(box: Box, block: DayBlock, captions: Captions) -> Iterator[Element]:
    yield Frame(box, width=THIN)
    line = box.y + WRITE_ON
    yield Rule(box.x, line, box.right, line, width=THIN)
    x = box.right
    if block.boxes:
        for caption, count in ((captions.mould, 1), (captions.high, 2), (captions.low, 2)):
            for _ in range(count):
                x -= WRITTEN
                yield Frame(Box(x, box.y, WRITTEN, WRITE_ON), width=THIN)
            x -= CAPTION
            place = Box(x, box.y, CAPTION - 1.2, WRITE_ON)
            yield fit(caption, place, most=9, least=8, weight="bold", align="right")
    name = Box(box.x + PAD, box.y, x - box.x - 2 * PAD, WRITE_ON)
    yield fit(block.name, name, most=HEADING, least=8, weight="bold")
    y = line + TOP
    for job in block.jobs:
        tall = _job_height(job, box.width)
        if job.tick:
            yield Frame(Box(box.x + PAD, y + 0.3, TICK, TICK), width=0.9)
        place = Box(box.x + PAD + INDENT, y, _words_width(box.width), tall)
        yield from stack((_paragraph(job),), place)
        y += tall


def _lines(box: Box, taken: float) -> Iterator[Element]:
    """Ticks and lines for tasks that are written by hand, below what a block has."""
    for n in range(1, int((box.height - taken) / LINE + 1e-6) + 1):
        y = box.y + taken + n * LINE
        yield Frame(Box(box.x + PAD, y - TICK - 0.6, TICK, TICK), width=0.9)
        yield Rule(box.x + PAD + INDENT, y - 0.6, box.right - PAD, y - 0.6, width=THIN)
