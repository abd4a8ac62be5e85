"""Crate cards as geometry in millimetres: how large a card is, and how the cards lie on their pages.

A kind of card is named by its geometry or by what is done with it, never by a maker. A new one is one more
entry in `CARDS`, and its name in `farm.CARD_NAMES`.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from tagmaker.errors import InputProblems, Problem
from tagmaker.farm import PAPER_SIZES
from tagmaker.paper.press.boxes import Box, Drawing, Element, Placed, Rule, Sheet
from tagmaker.paper.press.fitting import fit
from tagmaker.paper.press.fonts import face
from tagmaker.paper.press.qr import PRINTER_DPI

EDGE = 5.0  # [mm] of the page that printers leave white: cut and fold lines stop there
DASH = (3.0, 3.0)  # [pt] of a line to cut along
FOLD_DASH = (9.0, 3.0, 1.5, 3.0)  # [pt] of a line to fold along: long and short, never taken for a cut
FOLD_WORD = 8.0  # [pt]


@dataclass(frozen=True, slots=True, kw_only=True)
class CardStock:
    """A page of equal crate cards in rows and columns."""

    name: str
    page: tuple[float, float] | None = None  # [mm] width and height; None: the farm's paper
    columns: int = 1
    rows: int = 1
    copies: int = 1  # of each card, beside or above one another
    folded: bool = False  # between the rows, the upper one upside down, so that the page stands as a tent
    margin: float = 5.0  # [mm] of white inside a card's edges (lasers ask for 5)
    foot: float = 7.0  # [mm] of white at its lower edge (inkjets ask for 7)
    dpi: int = PRINTER_DPI  # dots per inch of the printer that it is meant for

    def page_size(self, paper: str) -> tuple[float, float]:
        """Width and height [mm] of a page, for a farm's paper."""
        return self.page or PAPER_SIZES[paper]

    def card_size(self, paper: str) -> tuple[float, float]:
        """Width and height [mm] of a card, for a farm's paper."""
        width, height = self.page_size(paper)
        return width / self.columns, height / self.rows

    def sheets(self, cards: Sequence[Drawing], paper: str, fold: str) -> Iterator[Sheet]:
        """The pages of some cards.

        Args:
            cards: in order, each once.
            paper: the farm's paper size.
            fold: the word on a line to fold along.
        """
        width, height = self.page_size(paper)
        across, down = self.card_size(paper)
        lines = Drawing(width, height, tuple(self._lines(width, height, fold)))
        faces = [card for card in cards for _ in range(self.copies)]
        per_page = self.columns * self.rows
        for start in range(0, len(faces), per_page):
            placed = [Placed(lines, 0, 0)] if lines.elements else []
            for n, card in enumerate(faces[start : start + per_page]):
                row, column = divmod(n, self.columns)
                turned = self.folded and row == 0
                placed.append(Placed(card, column * across, row * down, 180 if turned else 0))
            yield Sheet(width, height, tuple(placed))

    def _lines(self, width: float, height: float, fold: str) -> Iterator[Element]:
        """Where to cut, or to fold: between the columns and between the rows."""
        for column in range(1, self.columns):
            x = width * column / self.columns
            yield Rule(x, EDGE, x, height - EDGE, 0.4, DASH)
        for row in range(1, self.rows):
            y = height * row / self.rows
            if self.folded:
                yield from _fold_line(y, width, fold)
            else:
                yield Rule(EDGE, y, width - EDGE, y, 0.4, DASH)


def _fold_line(y: float, width: float, word: str) -> Iterator[Element]:
    """A line with its word in the middle."""
    wide = min(face("regular").width(word) * FOLD_WORD * 25.4 / 72 + 0.5, width / 4)
    box = Box((width - wide) / 2, y - 2, wide, 4)
    yield fit(word, box, most=FOLD_WORD, least=6, align="centre")
    yield Rule(EDGE, y, box.x - 1.5, y, 0.4, FOLD_DASH)
    yield Rule(box.right + 1.5, y, width - EDGE, y, 0.4, FOLD_DASH)


CARDS: Mapping[str, CardStock] = {
    stock.name: stock
    for stock in (
        CardStock(name="quarter", columns=2, rows=2),
        # White on a roll is chosen: the head prints to its edges, but the paper strays a millimetre or two.
        CardStock(name="roll-102x152mm", page=(101.6, 152.4), margin=3.0, foot=3.0, dpi=203),
        CardStock(name="half", rows=2),
        CardStock(name="twin", columns=2, rows=2, copies=2),
        CardStock(name="tent", rows=2, copies=2, folded=True),
    )
}


def card_stock(name: str, where: str = "tagmaker.toml") -> CardStock:
    """The kind of card of a name.

    Raises:
        InputProblems: there is none; names those that there are.
    """
    if name not in CARDS:
        what = f'crate_card must be one of {", ".join(CARDS)} (got "{name}")'
        raise InputProblems([Problem(where, what, f'Write crate_card = "{next(iter(CARDS))}".')])
    return CARDS[name]
