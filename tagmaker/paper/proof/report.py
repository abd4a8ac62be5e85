"""What the proof of a file checked, as data, and in lines for the terminal."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import NamedTuple

from tagmaker.farm import Printer
from tagmaker.paper.press.boxes import Box, Code, Element, Frame, Sheet, Text, symbol_box
from tagmaker.paper.press.ink import STRAIGHT
from tagmaker.paper.stock.feeding import feed

WHITE = 5.0  # [mm] along each edge that office printers leave white (common practice, no source)
ROLL = 120.0  # [mm] pages narrower than this are a roll's labels: those printers print to the edge (chosen)


class Edges(NamedTuple):
    """Least distance of what is drawn from each edge of the page [mm]."""

    left: float
    top: float
    right: float
    bottom: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Proof:
    """What was checked and found sound in one PDF."""

    file_name: str
    pages: int
    size: tuple[float, float]  # [mm] width and height of every page
    labels: int  # drawings with a lot that were placed
    bunches: int | None  # labels that there had to be, one a bunch; None: not counted for this paper
    codes: int  # read back, each with the text and in the place that it must have
    modules: tuple[float, float] | None  # [mm] smallest and largest of the codes; None: no codes
    texts: int  # read back, each inside its box
    drawings: int  # distinct ones that these texts stand in
    edges: Edges | None  # None: empty pages
    white: Edges  # [mm] that the printer leaves white

    @property
    def warnings(self) -> tuple[str, ...]:
        """What is worth a look, though the file is sound."""
        if self.edges is None:
            return ()
        return tuple(
            f"words must stay {white:g} mm off the {side} edge, which the printer leaves white "
            f"(got {distance:.1f} mm)"
            for side, distance, white in zip(Edges._fields, self.edges, self.white, strict=True)
            if distance < white - 0.05
        )


def white_of(printer: Printer, size: tuple[float, float]) -> Edges:
    """What a printer leaves white along the edges of a page [mm]; rolls are printed to the edge."""
    usual = 0.0 if min(size) < ROLL else WHITE
    return Edges(*(printer.unprintable or (usual,) * 4))


def edges_of(sheets: Iterable[Sheet], printer: Printer = STRAIGHT) -> Edges | None:
    """How near to each edge of its page words, codes and frames are printed; None where there are none.

    Lines do not count: those to cut along end at the edge.
    """
    nearest: Edges | None = None
    extents: dict[object, Box | None] = {}
    for sheet in sheets:
        fed = feed(printer, sheet.width, sheet.height)
        for placed in sheet.placed:
            drawing = placed.drawing
            if drawing not in extents:
                boxes = (_extent(element) for element in drawing.elements)
                extents[drawing] = _around(box for box in boxes if box is not None)
            extent = extents[drawing]
            if extent is None:
                continue
            box = fed.box(placed.on_sheet(extent))
            here = Edges(box.x, box.y, fed.width - box.right, fed.height - box.bottom)
            nearest = here if nearest is None else Edges(*map(min, nearest, here))
    return nearest


def _extent(element: Element) -> Box | None:
    """Where an element's ink may lie in its drawing [mm]; None: it is a line."""
    match element:
        case Code():
            return symbol_box(element)
        case Text() | Frame():
            return element.box
    return None


def _spanned(points: Iterable[tuple[float, float]]) -> Box:
    across, down = zip(*points, strict=True)
    return Box(min(across), min(down), max(across) - min(across), max(down) - min(down))


def _around(boxes: Iterable[Box]) -> Box | None:
    corners = [corner for box in boxes for corner in ((box.x, box.y), (box.right, box.bottom))]
    return _spanned(corners) if corners else None


def report_lines(proof: Proof) -> Iterator[str]:
    """The proof of a file for a terminal: the file's name, then what was checked."""
    yield f"proof of {proof.file_name}"
    for what, found in _rows(proof):
        yield f"  {what:<13}{found}"


def _rows(proof: Proof) -> Iterator[tuple[str, str]]:
    width, height = proof.size
    stock = "paper" if proof.bunches is None else "stock"
    yield "pages", f"{proof.pages} of {width:g} × {height:g} mm, as the {stock}"
    if proof.bunches is not None:
        yield "labels", f"{proof.labels} placed for {proof.bunches} due, one a bunch"
    yield "codes", f"{proof.codes} of {proof.codes} read back, each with its own text and in its place"
    if proof.modules is not None:
        least, most = proof.modules
        yield "module", f"{least:.3f} mm" if most - least < 0.0005 else f"{least:.3f} to {most:.3f} mm"
    yield "texts", f"{proof.texts} of {proof.drawings} drawings read back, each inside its box"
    if proof.edges is not None:
        white = ", ".join(
            f"{side} {distance:.1f}" for side, distance in zip(Edges._fields, proof.edges, strict=True)
        )
        yield "to the edge", f"{white} mm at least"
    for warning in proof.warnings:
        yield "warning", warning
