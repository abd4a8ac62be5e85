"""How a page comes to lie on the paper of a printer that shifts, stretches or turns it.

All lengths in mm from the top left corner, x to the right and y downwards.
"""

from __future__ import annotations

from typing import NamedTuple

from tagmaker.farm import Printer
from tagmaker.paper.press.boxes import MM, Box


class Feed(NamedTuple):
    """A page of some size as it is fed: where each of its points goes.

    A point (x, y) goes to (a·x + c·y + e, b·x + d·y + f), as in ISO 32000-1, 8.3.3, but with y downwards.
    """

    width: float  # [mm] of the paper
    height: float  # [mm] of the paper
    a: float = 1.0
    b: float = 0.0
    c: float = 0.0
    d: float = 1.0
    e: float = 0.0  # [mm]
    f: float = 0.0  # [mm]

    @property
    def is_straight(self) -> bool:
        """Whether every point stays where it is."""
        return self[2:] == (1.0, 0.0, 0.0, 1.0, 0.0, 0.0)

    @property
    def is_sideways(self) -> bool:
        """Whether lines of text run up or down the paper."""
        return self.a == 0.0

    def box(self, box: Box) -> Box:
        """Where a box goes; pages are turned by quarters only, so it stays a box."""
        corners = [self._point(box.x, box.y), self._point(box.right, box.bottom)]
        (left, right), (top, bottom) = (sorted(ends) for ends in zip(*corners, strict=True))
        return Box(left, top, right - left, bottom - top)

    def source(self, box: Box) -> Box:
        """The box of the page that goes to a box of the paper: `box` the other way round."""
        corners = [self._origin(box.x, box.y), self._origin(box.right, box.bottom)]
        (left, right), (top, bottom) = (sorted(ends) for ends in zip(*corners, strict=True))
        return Box(left, top, right - left, bottom - top)

    def _origin(self, x: float, y: float) -> tuple[float, float]:
        right, down, area = x - self.e, y - self.f, self.a * self.d - self.b * self.c
        return (self.d * right - self.c * down) / area, (self.a * down - self.b * right) / area

    def _point(self, x: float, y: float) -> tuple[float, float]:
        return self.a * x + self.c * y + self.e, self.b * x + self.d * y + self.f

    def matrix(self, height: float) -> str:
        """The same as an instruction of a PDF, for a page of a height [mm]: lengths in points, y upwards."""
        right, up = (self.c * height + self.e) * MM, (self.height - self.d * height - self.f) * MM
        numbers = (self.a, -self.b, -self.c, self.d)
        return f"{' '.join(f'{number:.6f}' for number in numbers)} {right:.3f} {up:.3f} cm"


def feed(printer: Printer, width: float, height: float) -> Feed:
    """What a printer needs for a page [mm]: stretched and moved as it is read, then turned.

    >>> feed(Printer(offset_x=2.0, turn=90), 100.0, 60.0).box(Box(0, 0, 10, 5))
    Box(x=55.0, y=2.0, width=5.0, height=10.0)
    """
    sx, sy, ox, oy = printer.scale_x, printer.scale_y, printer.offset_x, printer.offset_y
    match printer.turn:
        case 90:
            return Feed(height, width, 0.0, sx, -sy, 0.0, height - oy, ox)
        case 180:
            return Feed(width, height, -sx, 0.0, 0.0, -sy, width - ox, height - oy)
        case 270:
            return Feed(height, width, 0.0, -sx, sy, 0.0, oy, width - ox)
    return Feed(width, height, sx, 0.0, 0.0, sy, ox, oy)
