"""Where a sheet is cut and punched before and after it is laminated.

The paper is cut along the line, with round corners, and its notch is cut out. Film seals to film 3 to 6 mm
beyond the paper, so nothing that is printed comes nearer to a cut than that. The hole is punched through the
film alone, in the middle of the notch: a hole through paper would let water in.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

from tagmaker.paper.press.boxes import Box, Drawing, Element, Rule, Trace

TRIM = 5.0  # [mm] from the page's edge to the cut: printers leave as much white
TRIM_FOOT = 7.0  # [mm] the same at the lower edge (inkjets)
CORNER = 6.0  # [mm] radius of a corner (chosen: that of the usual corner punch; from memory)
HOLE = 3.0  # [mm] radius of a hole (common practice, no source)
SEAL = 3.0  # [mm] of film sealed to film around the hole: the least that a seal is wide
CLEAR = 6.0  # [mm] of white along every cut
NOTCH_ROOM = HOLE + SEAL + CLEAR  # [mm] to each side of the page's middle that the head leaves free
LINE = 0.4  # [pt]
DASH = (3.0, 3.0)  # [pt] of a line to cut along
CHORDS = 8  # straight pieces of a quarter circle


def trim_box(width: float, height: float) -> Box:
    """What is left of a page when it is trimmed [mm]."""
    return Box(TRIM, TRIM, width - 2 * TRIM, height - TRIM - TRIM_FOOT)


def hole_box(width: float, height: float) -> Box:
    """Where a page is punched [mm]: its upper edge touches the trim line."""
    return Box(width / 2 - HOLE, trim_box(width, height).y, 2 * HOLE, 2 * HOLE)


def notch_box(width: float, height: float) -> Box:
    """What is cut out of a page around its hole [mm]."""
    hole = hole_box(width, height)
    return Box(hole.x - SEAL, hole.y, hole.width + 2 * SEAL, hole.height + SEAL)


def trim_marks(width: float, height: float) -> Drawing:
    """The cutting line all round, its corners and its notch, and the mark to punch at."""
    return Drawing(width, height, (*_edges(width, height), *_corners(width, height), *_notch(width, height)))


def _edges(width: float, height: float) -> Iterator[Element]:
    box, notch = trim_box(width, height), notch_box(width, height)
    left, right = box.x + CORNER, box.right - CORNER
    yield Rule(left, box.y, notch.x, box.y, LINE, DASH)
    yield Rule(notch.right, box.y, right, box.y, LINE, DASH)
    yield Rule(left, box.bottom, right, box.bottom, LINE, DASH)
    for x in (box.x, box.right):
        yield Rule(x, box.y + CORNER, x, box.bottom - CORNER, LINE, DASH)


def _corners(width: float, height: float) -> Iterator[Element]:
    """A quarter circle at each corner."""
    box = trim_box(width, height).inset(CORNER)
    for x, y, quarter in (
        (box.right, box.bottom, 0),
        (box.x, box.bottom, 1),
        (box.x, box.y, 2),
        (box.right, box.y, 3),
    ):
        yield Trace(_arc(x, y, CORNER, quarter, quarter + 1), LINE)


def _notch(width: float, height: float) -> Iterator[Element]:
    """The notch, and in it a circle with a cross."""
    notch, hole = notch_box(width, height), hole_box(width, height)
    x, y = hole.x + HOLE, hole.y + HOLE
    bow = _arc(x, y, HOLE + SEAL, 2, 0)  # the lower half, from left to right
    yield Trace(((notch.x, notch.y), *bow, (notch.right, notch.y)), LINE)
    yield Trace(_arc(x, y, HOLE, 0, 4), LINE)
    yield Rule(x - HOLE / 2, y, x + HOLE / 2, y, LINE)
    yield Rule(x, y - HOLE / 2, x, y + HOLE / 2, LINE)


def _arc(x: float, y: float, radius: float, first: int, last: int) -> tuple[tuple[float, float], ...]:
    """Points of a circle from one quarter to another, counted clockwise from the right."""
    count = abs(last - first) * CHORDS
    angles = ((first + (last - first) * n / count) * math.pi / 2 for n in range(count + 1))
    return tuple((x + radius * math.cos(angle), y + radius * math.sin(angle)) for angle in angles)
