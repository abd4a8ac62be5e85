"""Paragraphs under one another in a column, each as high as its words need."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from functools import lru_cache
from typing import NamedTuple

from tagmaker.paper.press.boxes import MM, Box, Text, Weight
from tagmaker.paper.press.characters import tidy
from tagmaker.paper.press.fitting import LEADING, Align, fit, text_height, wrap
from tagmaker.paper.press.fonts import REMEMBERED, Typeface, typeface_in_use


class Paragraph(NamedTuple):
    """Words of one size and weight."""

    text: str
    size: float = 8.0  # [pt]
    weight: Weight = "regular"
    lines: int = 99  # lines allowed; what is longer ends in "…"
    before: float = 0.0  # [mm] of white above, but not at the top of a column


def paragraph_height(paragraph: Paragraph, width: float) -> float:
    """Height [mm] that a paragraph takes in a column of a width [mm]; 0 for no words."""
    return _paragraph_height(paragraph, width, typeface_in_use())


@lru_cache(maxsize=REMEMBERED)
def _paragraph_height(paragraph: Paragraph, width: float, _: Typeface) -> float:
    text = tidy(paragraph.text)
    if not text:
        return 0.0
    rows = min(len(wrap(text, width * MM / paragraph.size, paragraph.weight)), paragraph.lines)
    ink = text_height(text, rows, paragraph.size, paragraph.weight)
    return max(rows * LEADING * paragraph.size / MM, ink)


def stack_height(paragraphs: Iterable[Paragraph], width: float) -> float:
    """Height [mm] of paragraphs under one another."""
    heights = [(p, paragraph_height(p, width)) for p in paragraphs]
    taken = [(p, height) for p, height in heights if height]
    return sum(height + (p.before if n else 0.0) for n, (p, height) in enumerate(taken))


def stack(paragraphs: Sequence[Paragraph], box: Box, align: Align = "left") -> tuple[Text, ...]:
    """The paragraphs set from the top of a box; those for which it has no room left are dropped.

    The caller has measured them with `stack_height` where none may be lost.
    """
    texts: list[Text] = []
    y = box.y
    for paragraph in paragraphs:
        height = paragraph_height(paragraph, box.width)
        if not height:
            continue
        y += paragraph.before if texts else 0.0
        if y + height > box.bottom + 1e-6:
            break
        place = Box(box.x, y, box.width, height)
        texts.append(
            fit(
                paragraph.text,
                place,
                most=paragraph.size,
                least=paragraph.size,
                lines=paragraph.lines,
                weight=paragraph.weight,
                align=align,
                stand="top",
            )
        )
        y += height
    return tuple(texts)


def squeezed(paragraphs: Sequence[Paragraph], box: Box, sizes: Sequence[float]) -> tuple[Paragraph, ...]:
    """Paragraphs in the largest of some sizes [pt] at which all of them fit a box.

    Where even the last size is too large, as a grower's own wording may be, each is cut to its
    share of the lines.
    """
    for size in sizes:
        resized = tuple(paragraph._replace(size=size) for paragraph in paragraphs)
        if stack_height(resized, box.width) <= box.height:
            return resized
    white = sum(paragraph.before for paragraph in paragraphs)
    lines = int((box.height - white) * MM / sizes[-1] / (LEADING + 0.1) / max(len(paragraphs), 1))
    return tuple(paragraph._replace(size=sizes[-1], lines=max(lines, 1)) for paragraph in paragraphs)
