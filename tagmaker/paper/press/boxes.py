"""Drawings as data in millimetres, before any of it is ink.

A `Drawing` (a tag, a card, a page) is a frame with placed elements: `Text`, `Code`, `Rule`, `Frame`, `Trace`.
Boxes are measured from the drawing's top left corner, x to the right and y downwards. `fitting.fit` makes a
`Text` that stays in its box; `ink.print_sheets` makes a PDF of `Sheet`s. Nothing here knows what a lot is:
`Drawing.lot` and `Drawing.where` only name the culprit in a message.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, NamedTuple

from tagmaker.paper.press.qr import SizedSymbol

MM = 72 / 25.4  # points in a millimetre

Weight = Literal["regular", "bold"]


class Box(NamedTuple):
    """A rectangle [mm], from the top left corner of what it lies in."""

    x: float
    y: float
    width: float
    height: float

    @property
    def right(self) -> float:
        """Where it ends to the right [mm]."""
        return self.x + self.width

    @property
    def bottom(self) -> float:
        """Where it ends below [mm]."""
        return self.y + self.height

    def inset(self, margin: float) -> Box:
        """The box with a margin [mm] taken off on each side."""
        return Box(self.x + margin, self.y + margin, self.width - 2 * margin, self.height - 2 * margin)

    def moved(self, x: float, y: float) -> Box:
        """The same box, further right and down [mm]."""
        return Box(self.x + x, self.y + y, self.width, self.height)

    def scaled(self, times: float) -> Box:
        """The same box on a drawing that is so many times as large."""
        return Box(self.x * times, self.y * times, self.width * times, self.height * times)

    def holds(self, other: Box, slack: float = 0.01) -> bool:
        """Whether another box lies inside this one, give or take a slack [mm]."""
        return (
            other.x >= self.x - slack
            and other.y >= self.y - slack
            and other.right <= self.right + slack
            and other.bottom <= self.bottom + slack
        )


class Line(NamedTuple):
    """One line of text: its left end and its baseline [mm]."""

    text: str
    x: float
    y: float


class Text(NamedTuple):
    """Lines of one size, fitted into a box; made by `fitting.fit`."""

    box: Box
    lines: tuple[Line, ...]
    size: float  # [pt]
    weight: Weight


class Code(NamedTuple):
    """A QR symbol in the middle of its box; the box holds the quiet zone too."""

    box: Box
    sized: SizedSymbol


class Rule(NamedTuple):
    """A straight line between two points [mm]."""

    x1: float
    y1: float
    x2: float
    y2: float
    width: float = 0.5  # [pt]
    dash: tuple[float, ...] = ()  # [pt] on, off


class Frame(NamedTuple):
    """A box drawn as an outline, or filled black."""

    box: Box
    width: float = 0.75  # [pt] of the outline
    filled: bool = False


class Trace(NamedTuple):
    """A line through points [mm], as in a chart."""

    points: tuple[tuple[float, float], ...]
    width: float = 0.75  # [pt]


Element = Text | Code | Rule | Frame | Trace


@dataclass(frozen=True, slots=True, eq=False)
class Drawing:
    """A tag, a card or a page. Two drawings are the same only if they are the same object."""

    width: float  # [mm]
    height: float  # [mm]
    elements: tuple[Element, ...]
    lot: str = ""  # lot code, for messages
    where: str = ""  # place in the sheet, for messages


class Placed(NamedTuple):
    """A drawing on a sheet: the top left corner [mm] of the room that it takes, and which way up it lies."""

    drawing: Drawing
    x: float
    y: float
    turn: Literal[0, 180] = 0  # [degrees] 180: upside down, as the far side of a folded sheet

    def on_sheet(self, box: Box) -> Box:
        """Where a box of the drawing lies on the sheet."""
        if self.turn == 180:
            box = Box(self.drawing.width - box.right, self.drawing.height - box.bottom, box.width, box.height)
        return box.moved(self.x, self.y)


@dataclass(frozen=True, slots=True, eq=False)
class Sheet:
    """A page and what lies on it."""

    width: float  # [mm]
    height: float  # [mm]
    placed: tuple[Placed, ...]


def symbol_box(code: Code) -> Box:
    """Where the dark part of a code lies, without its quiet zone."""
    side = code.sized.symbol.modules * code.sized.module
    box = code.box
    return Box(box.x + (box.width - side) / 2, box.y + (box.height - side) / 2, side, side)


def scaled(drawing: Drawing, times: float) -> Drawing:
    """A drawing with lengths and letters so many times as large; its codes keep their modules."""
    if times == 1.0:
        return drawing
    elements = tuple(_scaled(element, times) for element in drawing.elements)
    return Drawing(drawing.width * times, drawing.height * times, elements, drawing.lot, drawing.where)


def _scaled(element: Element, times: float) -> Element:
    match element:
        case Text(box, lines, size, weight):
            moved = tuple(Line(line.text, line.x * times, line.y * times) for line in lines)
            return Text(box.scaled(times), moved, size * times, weight)
        case Code(box, sized):
            return Code(box.scaled(times), sized)
        case Rule(x1, y1, x2, y2, width, dash):
            return Rule(x1 * times, y1 * times, x2 * times, y2 * times, width, dash)
        case Frame(box, width, filled):
            return Frame(box.scaled(times), width, filled)
        case Trace(points, width):
            return Trace(tuple((x * times, y * times) for x, y in points), width)
