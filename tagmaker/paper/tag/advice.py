"""A wrap label without dates: a word and the reason in their place, or what a slip tells to do."""

from __future__ import annotations

from collections.abc import Iterator
from math import inf
from typing import NamedTuple

from tagmaker.paper.press.boxes import MM, Box, Element, Weight
from tagmaker.paper.press.characters import tidy
from tagmaker.paper.press.fitting import Stand, fit, text_height, wrap
from tagmaker.paper.press.fonts import CAP_HEIGHT, face
from tagmaker.paper.tag.captions import CAPTION, draw_marks, marks_height
from tagmaker.paper.tag.frame import NAME_GAP, WORDS
from tagmaker.paper.tag.words import DateRow, TagWords

# Sizes [pt] tried for the word and for its reason, and for what a slip tells to do (chosen).
SIZES = ((22.0, 14.0), (16.0, 12.0), (13.0, 10.0), (13.0, 9.0), (13.0, 8.0), (13.0, WORDS), (10.0, WORDS))
SLIP_SIZES = tuple((0.0, size) for size in (32.0, 28.0, 25.0, 22.0, 18.0, 16.0, 14.0, 12.0, 10.0))
SMALL_SLIP = tuple((0.0, size) for size in (9.0, 8.0, WORDS))  # where there is nothing else to give up
MOST_LINES = 9  # of the sentence
BEFORE_MARKS = 1.2  # [mm] between the word and its marks


def has_room(words: TagWords, width: float, height: float, *, tight: bool = False) -> bool:
    """Whether a word and its reason fit a space [mm].

    A reason may be cut where it is `tight`; what a slip tells to do may get smaller there, but is never cut.
    """
    lines = 1 if tight and words.rows else None
    return any(_height(words, width, *sizes, lines) <= height for sizes in _sizes(words, tight=tight))


def draw_advice(words: TagWords, box: Box) -> Iterator[Element]:
    """The word, its marks and the reason, as large as they fit a box [mm]."""
    sizes = _sizes(words, tight=True)
    word, size = next((pair for pair in sizes if _height(words, box.width, *pair) <= box.height), sizes[-1])
    for row in words.rows:
        place = _place(row, word, box)
        yield fit(row.value, place.word, most=word, least=CAPTION, weight="bold")
        yield from draw_marks(row.marks, place.marks)
        box = box._replace(y=box.y + place.used, height=box.height - place.used)
    stand: Stand = "top" if words.rows else "middle"
    yield fit(words.advice, box, most=size, least=size, lines=MOST_LINES, weight=_weight(words), stand=stand)


def _sizes(words: TagWords, *, tight: bool) -> tuple[tuple[float, float], ...]:
    if words.rows:
        return SIZES
    return SLIP_SIZES + SMALL_SLIP if tight else SLIP_SIZES


def _weight(words: TagWords) -> Weight:
    return "regular" if words.rows else "bold"


def _height(words: TagWords, width: float, word: float, size: float, lines: int | None = None) -> float:
    """Height [mm] of all of it at the sizes [pt] of word and sentence; endless where something has no room.

    `lines` of the sentence are enough; None: all of them.
    """
    if not words.rows and size > _widest_size(words.advice, width):
        return inf
    used = sum(_place(row, word, Box(0.0, 0.0, width, 0.0)).used for row in words.rows)
    lines = lines or len(wrap(tidy(words.advice), width * MM / size, _weight(words)))
    return used + text_height(words.advice, lines, size, _weight(words))


def _widest_size(advice: str, width: float) -> float:
    """The largest size [pt] at which no word of a slip is broken by letters in a width [mm]."""
    return width * MM / max(face("bold").width(word) for word in tidy(advice).split(" "))


class _Place(NamedTuple):
    """Where a word in place of a date goes, and its marks."""

    word: Box
    marks: Box  # beside it, or below where they need the width
    used: float  # [mm] height of both with the white below; endless where they have no room


def _place(row: DateRow, most: float, box: Box) -> _Place:
    """Room for a word and its marks at the top of a box."""
    size = min(most, box.width * MM / face("bold").width(row.value))
    wide = min(face("bold").width(row.value) * size / MM + 0.1, box.width)
    word = Box(box.x, box.y, wide, CAP_HEIGHT * size / MM)
    beside = Box(word.right + BEFORE_MARKS, box.y, box.width - wide - BEFORE_MARKS, box.height)
    tall = marks_height(row.marks, beside.width)
    if size < WORDS:
        return _Place(word, beside, inf)
    if tall is not None:
        return _Place(word, beside, max(word.height, tall) + NAME_GAP)
    below = box._replace(y=word.bottom + NAME_GAP)
    tall = marks_height(row.marks, below.width)
    return _Place(word, below, inf if tall is None else word.height + tall + 2 * NAME_GAP)
