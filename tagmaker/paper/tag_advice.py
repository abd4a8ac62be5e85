"""A wrap label without dates: a word and the reason in their place, or what a slip tells to do."""

from __future__ import annotations

from collections.abc import Iterator
from math import inf

from tagmaker.paper.boxes import MM, Box, Element, Weight
from tagmaker.paper.characters import tidy
from tagmaker.paper.fitting import Stand, fit, text_height, wrap
from tagmaker.paper.fonts import CAP_HEIGHT, face
from tagmaker.paper.tag_captions import CAPTION, draw_marks, marks_height, marks_width
from tagmaker.paper.tag_frame import NAME_GAP, WORDS
from tagmaker.paper.tag_words import Row, TagWords

# Sizes [pt] tried for the word and for its reason, and for what a slip tells to do (chosen).
SIZES = ((22.0, 14.0), (16.0, 12.0), (13.0, 10.0), (13.0, 9.0), (13.0, 8.0), (13.0, WORDS), (10.0, WORDS))
SLIP_SIZES = tuple((0.0, size) for size in (32.0, 28.0, 25.0, 22.0, 18.0, 16.0, 14.0, 12.0, 10.0))
MOST_LINES = 9  # of the sentence
BEFORE_MARKS = 1.2  # [mm] between the word and its marks


def has_room(words: TagWords, width: float, height: float) -> bool:
    """Whether a word and its reason fit a space [mm] without being cut."""
    return any(_height(words, width, *sizes) <= height for sizes in _sizes(words))


def draw_advice(words: TagWords, box: Box) -> Iterator[Element]:
    """The word, its marks and the reason, as large as they fit a box [mm]."""
    sizes = _sizes(words)
    word, size = next((pair for pair in sizes if _height(words, box.width, *pair) <= box.height), sizes[-1])
    for row in words.rows:
        value, marks = _row_boxes(row, word, box)
        yield fit(row.value, value, most=word, least=CAPTION, weight="bold")
        yield from draw_marks(row.marks, marks)
        used = max(value.height, marks.height) + NAME_GAP
        box = box._replace(y=box.y + used, height=box.height - used)
    stand: Stand = "top" if words.rows else "middle"
    yield fit(words.advice, box, most=size, least=size, lines=MOST_LINES, weight=_weight(words), stand=stand)


def _sizes(words: TagWords) -> tuple[tuple[float, float], ...]:
    return SIZES if words.rows else SLIP_SIZES


def _weight(words: TagWords) -> Weight:
    return "regular" if words.rows else "bold"


def _height(words: TagWords, width: float, word: float, size: float) -> float:
    """Height [mm] of all of it at the sizes [pt] of word and sentence; endless where a mark has no room."""
    box = Box(0.0, 0.0, width, 0.0)
    rows = (max(part.height for part in _row_boxes(row, word, box)) + NAME_GAP for row in words.rows)
    lines = len(wrap(tidy(words.advice), width * MM / size, _weight(words)))
    squeezed = any(_row_boxes(row, word, box)[1].width < marks_width(row.marks) for row in words.rows)
    return inf if squeezed else sum(rows) + text_height(words.advice, lines, size, _weight(words))


def _row_boxes(row: Row, most: float, box: Box) -> tuple[Box, Box]:
    """The boxes of a word and of the marks behind it."""
    size = min(most, box.width * MM / face("bold").width(row.value))
    wide = face("bold").width(row.value) * size / MM + 0.1
    value = Box(box.x, box.y, wide, CAP_HEIGHT * size / MM)
    left = box.width - wide - BEFORE_MARKS
    return value, Box(value.right + BEFORE_MARKS, box.y, left, marks_height(row.marks, left))
