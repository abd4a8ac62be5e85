"""Captions and framed words of a wrap label: how large they are, and how a line of them is set."""

from __future__ import annotations

from collections.abc import Iterator
from functools import lru_cache
from typing import NamedTuple

from tagmaker.paper.press.boxes import MM, Box, Element, Frame, Weight
from tagmaker.paper.press.fitting import fit, text_height
from tagmaker.paper.press.fonts import CAP_HEIGHT, REMEMBERED, Typeface, face, typeface_in_use
from tagmaker.paper.tag.words import DateRow

CAPTION = 6.0  # [pt] captions, at least
MARK = 7.5  # [pt] marks
OVERSHOOT = 0.023  # [em] by which O and 6 reach beyond the lines, from the font's glyphs
NEAR = 0.33  # [mm] between a caption, its date and its hour
NEAR_GROWTH = 0.12  # [mm] more of it for each point that a caption is larger (chosen)
BELOW_MARK = 0.45  # [mm] more of it below a mark, whose frame would touch the date (chosen)
MARK_PAD = 0.42  # [mm] between a mark and its frame
SPACE = 0.9  # [mm] between a caption and a mark


def capitals(size: float) -> float:
    """Height [mm] of capitals and figures of a size [pt], round ones too."""
    return (CAP_HEIGHT + OVERSHOOT) * size / MM


MARK_HEIGHT = capitals(MARK) + 2 * MARK_PAD  # [mm]


class Item(NamedTuple):
    """A caption or a mark in a line of them."""

    text: str
    width: float  # [mm]
    size: float  # [pt]
    is_mark: bool


class CaptionLine(NamedTuple):
    """Captions and marks beside one another."""

    items: tuple[Item, ...]
    height: float  # [mm]
    below: float  # [mm] white below it


class Flow(NamedTuple):
    """Captions and marks in lines."""

    lines: tuple[CaptionLine, ...]
    height: float  # [mm] with the white below each line; 0 for none
    is_cut: bool  # one of them has no room, small as it may be


def all_above(row: DateRow, width: float, caption: float) -> Flow:
    """What stands above a date in a width [mm], its caption of a size [pt] with it."""
    return _flow((row.lead,) if row.lead else (), (row.caption, row.small), row.marks, width, caption)


def marks_above(row: DateRow, width: float) -> Flow:
    """What stands above a date whose caption has a place of its own."""
    return _flow((row.lead,) if row.lead else (), (), row.marks, width, CAPTION)


def draw_flow(flow: Flow, box: Box) -> Iterator[Element]:
    """Captions and marks from the top of a box [mm]."""
    y = box.y
    for items, tall, below in flow.lines:
        x = box.x
        for text, width, size, is_mark in items:
            place = Box(x, y, width, tall)
            if is_mark:
                yield Frame(place, 0.75)
                yield fit(text, place.inset(0.15), most=size, least=CAPTION, weight="bold", align="centre")
            else:
                yield set_line(text, place, size, "regular")
            x = place.right + SPACE
        y += tall + below


def draw_marks(marks: tuple[str, ...], box: Box) -> Iterator[Element]:
    """Framed words, in a line or as many lines as they need, from the top of a box [mm]."""
    yield from draw_flow(_flow(marks, (), (), box.width, CAPTION), box)


def marks_height(marks: tuple[str, ...], width: float) -> float | None:
    """Height [mm] of marks in a width [mm]; None: they would be cut."""
    flow = _flow(marks, (), (), width, CAPTION)
    return None if flow.is_cut else flow.height


def marks_width(marks: tuple[str, ...]) -> float:
    """Width [mm] of marks in a line, with the white before each."""
    return sum(_mark_width(mark, MARK) + SPACE for mark in marks) + 0.1


def caption_width(caption: str, size: float = CAPTION) -> float:
    """Width [mm] of a caption of a size [pt]."""
    return face("regular").width(caption) * size / MM + 0.1


def halves(caption: str) -> tuple[str, ...]:
    """A caption broken into two lines of about the same length."""
    words = caption.split(" ")
    cuts = [(" ".join(words[:n]), " ".join(words[n:])) for n in range(1, len(words))]
    return min(cuts, key=lambda lines: max(map(caption_width, lines)), default=(caption,))


def caption_column(rows: tuple[DateRow, ...]) -> float:
    """Width [mm] of captions in two lines beside their dates."""
    words = [half for row in rows if row.is_date for half in halves(row.caption)]
    return max((caption_width(word) for word in words), default=0.0)


def set_line(text: str, box: Box, size: float, weight: Weight) -> Element:
    """One line at a size [pt]; letters that reach below the line shrink it a little."""
    return fit(text, box, most=size, least=min(size, CAPTION), weight=weight)


def _flow(
    leads: tuple[str, ...],
    captions: tuple[str, ...],
    marks: tuple[str, ...],
    width: float,
    caption_size: float,
) -> Flow:
    """Marks, a caption and marks again, in lines no wider than a width [mm]."""
    return _flow_in(typeface_in_use(), leads, captions, marks, width, caption_size)


@lru_cache(maxsize=REMEMBERED)
def _flow_in(
    _: Typeface,
    leads: tuple[str, ...],
    captions: tuple[str, ...],
    marks: tuple[str, ...],
    width: float,
    caption_size: float,
) -> Flow:
    """The same, remembered for the typeface in use: captions come again on label after label.

    A caption that is too wide takes two lines.
    """
    items = [
        *(_mark(lead, width) for lead in leads),
        *(
            _caption(words, width, caption_size)
            for caption in captions
            for words in _lines(caption, width, caption_size)
        ),
        *(_mark(mark, width) for mark in marks),
    ]
    lines: list[list[Item]] = []
    for item in items:
        if lines and sum(other.width + SPACE for other in lines[-1]) + item.width <= width:
            lines[-1].append(item)
        else:
            lines.append([item])
    found = tuple(CaptionLine(tuple(line), _line_height(line), _below(line)) for line in lines)
    return Flow(found, sum(line.height + line.below for line in found), any(map(_is_cut, items)))


def _lines(caption: str, width: float, size: float) -> tuple[str, ...]:
    """A caption on one line where it has room, else on two; none of nothing."""
    if not caption:
        return ()
    return (caption,) if caption_width(caption, size) <= width else halves(caption)


def _caption(text: str, width: float, size: float) -> Item:
    return Item(text, min(caption_width(text, size), width), size, False)


def _mark(text: str, width: float) -> Item:
    return Item(text, min(_mark_width(text, MARK), width), MARK, True)


def _mark_width(text: str, size: float) -> float:
    return face("bold").width(text) * size / MM + 2 * MARK_PAD + 0.4


def _is_cut(item: Item) -> bool:
    """Whether a caption or a mark has less room than it needs at its least size."""
    needed = _mark_width(item.text, CAPTION) if item.is_mark else caption_width(item.text)
    return item.width < needed


def _line_height(line: list[Item]) -> float:
    return max(MARK_HEIGHT if item.is_mark else text_height(item.text, 1, item.size) for item in line)


def _below(line: list[Item]) -> float:
    """White [mm] below a line; more where a frame would touch the date."""
    size = max((item.size for item in line if not item.is_mark), default=CAPTION)
    framed = BELOW_MARK if any(item.is_mark for item in line) else 0.0
    return NEAR + NEAR_GROWTH * (size - CAPTION) + framed
