"""Label sheets as geometry in millimetres: where each label lies, and that all of them close to the page.

A stock is named by its geometry, never by a maker. A new one is one more entry in `STOCKS`; an entry that
does not close is refused when it is made.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from tagmaker.errors import InputProblems, Problem
from tagmaker.paper.boxes import Box

CLOSES = 0.01  # [mm] rounding allowed where margins, pitch and labels are added up


@dataclass(frozen=True, slots=True, kw_only=True)
class LabelStock:
    """A page of equal labels in rows and columns."""

    name: str
    page_width: float  # [mm]
    page_height: float  # [mm]
    columns: int
    rows: int
    width: float  # [mm] of a label
    height: float  # [mm] of a label
    left: float  # [mm] from the page's edge to the first column
    top: float  # [mm] from the page's edge to the first row
    pitch_x: float  # [mm] from one column to the next
    pitch_y: float  # [mm] from one row to the next

    def __post_init__(self) -> None:
        faults = tuple(self._faults())
        if faults:
            remedy = "Measure the sheet again: margins, pitch and labels must add up to the page."
            raise InputProblems([Problem(f"label stock {self.name}", fault, remedy) for fault in faults])

    def _faults(self) -> Iterator[str]:
        across = ("columns", self.columns, self.left, self.pitch_x, self.width, self.page_width)
        down = ("rows", self.rows, self.top, self.pitch_y, self.height, self.page_height)
        for what, count, start, pitch, size, page in (across, down):
            if count < 1 or size <= 0 or start < 0:
                yield f"{what} must be at least one label of some size on the page (got {count} of {size} mm)"
            if count > 1 and pitch < size - CLOSES:
                yield f"{what} must not overlap (got a pitch of {pitch} mm for labels of {size} mm)"
            end = start + (count - 1) * pitch + size
            if end > page + CLOSES:
                yield f"{what} must end on the page of {page} mm (got {end:.2f} mm)"

    @property
    def per_page(self) -> int:
        """Labels on a page."""
        return self.columns * self.rows

    def boxes(self) -> tuple[Box, ...]:
        """Every label of a page, row by row from the top left."""
        return tuple(
            Box(self.left + column * self.pitch_x, self.top + row * self.pitch_y, self.width, self.height)
            for row in range(self.rows)
            for column in range(self.columns)
        )


# Figures from memory, made to close to the page; published tables of these sheets differ by up to 0.8 mm.
STOCKS: Mapping[str, LabelStock] = {
    stock.name: stock
    for stock in (
        LabelStock(
            name="letter-3x10",
            page_width=215.9,
            page_height=279.4,
            columns=3,
            rows=10,
            width=66.7,
            height=25.4,
            left=4.76,
            top=12.7,
            pitch_x=69.85,
            pitch_y=25.4,
        ),
        LabelStock(
            name="a4-3x7",
            page_width=210.0,
            page_height=297.0,
            columns=3,
            rows=7,
            width=63.5,
            height=38.1,
            left=7.25,
            top=15.15,
            pitch_x=66.0,
            pitch_y=38.1,
        ),
    )
}


def label_stock(name: str, where: str = "tagmaker.toml") -> LabelStock:
    """The stock of a name.

    Raises:
        InputProblems: there is none; names those that there are.
    """
    if name not in STOCKS:
        what = f'label_stock must be one of {", ".join(STOCKS)} (got "{name}")'
        raise InputProblems([Problem(where, what, f'Write label_stock = "{next(iter(STOCKS))}".')])
    return STOCKS[name]
