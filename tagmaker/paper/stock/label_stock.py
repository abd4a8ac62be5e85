"""Label sheets and rolls as geometry in millimetres: where each label lies, and that all close to the page.

A stock is named by its geometry, never by a maker. A new one is one more entry in `STOCKS`, or a table of the
farm's settings; one that does not close is refused when it is made.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import asdict, dataclass

from tagmaker.errors import InputProblems, Problem
from tagmaker.farm import PAPER_SIZES, Farm, Printer, StockFigures
from tagmaker.paper.press.boxes import Box, Drawing, Rule
from tagmaker.paper.stock.feeding import feed

MARK = 1.2  # [mm] a cut mark goes beyond where labels meet: less than their words leave free
CLOSES = 0.01  # [mm] rounding allowed where margins, pitch and labels are added up
EDGE = 1.5  # [mm] of a label that its words leave free: sheets feed up to about a millimetre off (chosen)
LEFT = 0.5  # of a label's width and height, at least: who loses more has the wrong figures (chosen)
SHEET_DPI = 300  # dots per inch of an office printer, unless the settings say otherwise
ROLL_DPI = 203  # and of a label printer
UNPRINTABLE = (
    5.0  # [mm] along the edges of a page that many lasers leave white; rolls are printed to the edge
)


@dataclass(frozen=True, slots=True, kw_only=True)
class LabelStock(StockFigures):
    """A page of equal labels in rows and columns; a roll's page is one label."""

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
                yield f"{what} must not overlap (got a pitch of {pitch:g} mm for labels of {size:g} mm)"
            end = start + (count - 1) * pitch + size
            if end > page + CLOSES:
                sum_up = f"{start:g} + {count - 1} x {pitch:g} + {size:g} = {end:.2f} mm"
                yield f"{what} must end on the page of {page:g} mm (got {sum_up})"

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

    def dpi(self, printer: Printer) -> int:
        """Dots per inch with which it is printed."""
        return printer.dpi or (ROLL_DPI if self.is_roll else SHEET_DPI)

    def unprintable(self, printer: Printer) -> tuple[float, float, float, float]:
        """What the printer leaves white along the edges [mm]: left, top, right, bottom."""
        return printer.unprintable or ((0.0 if self.is_roll else UNPRINTABLE),) * 4

    def tag_boxes(self, printer: Printer) -> tuple[Box, ...]:
        """Where the tags go: all of one size, in their labels, and with their words on paper that is printed.

        Where labels reach the edge of what the printer prints, the tag is as much smaller as the worst placed
        label asks for, and lies as near to the middle of its label as the edges let it.

        Raises:
            InputProblems: less than half of a label is left there.
        """
        labels = self.boxes()
        fed = feed(printer, self.page_width, self.page_height)
        left, top, right, bottom = (edge - EDGE for edge in self.unprintable(printer))
        paper = Box(left, top, fed.width - left - right, fed.height - top - bottom)
        free = [_shared(label, fed.source(paper)) for label in labels]
        width, height = min(box.width for box in free), min(box.height for box in free)
        if min(paper.width, paper.height) <= 0 or width < self.width * LEFT or height < self.height * LEFT:
            raise InputProblems([self._no_room(printer, width, height)])
        return tuple(
            Box(
                _nearest(label.x + (label.width - width) / 2, box.x, box.right - width),
                _nearest(label.y + (label.height - height) / 2, box.y, box.bottom - height),
                width,
                height,
            )
            for label, box in zip(labels, free, strict=True)
        )

    def _no_room(self, printer: Printer, width: float, height: float) -> Problem:
        """The problem of labels that the printer leaves too little of [mm]."""
        where = f"tagmaker.toml, [printers.{printer.name}]" if printer.name else f"label stock {self.name}"
        what = f"offset, scale and unprintable margins must leave half of every label of {self.name}"
        got = (
            f"got {max(width, 0):.1f} x {max(height, 0):.1f} mm of one of {self.width:g} x {self.height:g} mm"
        )
        remedy = "Measure them again on a test page, or choose another label stock or printer."
        return Problem(where, f"{what} ({got})", remedy)


def next_label(stock: LabelStock, first: int, labels: int) -> int:
    """The first free label of the last sheet, once some labels are printed from the first one on.

    A sheet that is used up makes way for a new one: the answer is 1 then, as it always is on a roll.
    """
    return (first - 1 + labels) % stock.per_page + 1


def cut_marks(stock: LabelStock) -> Drawing:
    """Where plain paper is cut: lines in the margins, and small crosses where labels meet."""
    across = [stock.left + n * stock.pitch_x for n in range(stock.columns)] + [stock.boxes()[-1].right]
    down = [stock.top + n * stock.pitch_y for n in range(stock.rows)] + [stock.boxes()[-1].bottom]
    marks = [
        rule
        for x in across
        for y in down
        for rule in (Rule(x - MARK, y, x + MARK, y, 0.3), Rule(x, y - MARK, x, y + MARK, 0.3))
    ]
    return Drawing(stock.page_width, stock.page_height, tuple(marks))


def _shared(one: Box, other: Box) -> Box:
    x, y = max(one.x, other.x), max(one.y, other.y)
    return Box(x, y, min(one.right, other.right) - x, min(one.bottom, other.bottom) - y)


def _nearest(wished: float, least: float, most: float) -> float:
    return min(max(wished, least), most)


def _sheet(
    name: str,
    page: tuple[float, float],
    counts: tuple[int, int],
    size: tuple[float, float],
    corner: tuple[float, float],
    gap: float = 0.0,
    *,
    is_plain: bool = False,
) -> LabelStock:
    """A sheet: columns and rows, a label's size, the first one's corner, the gap between columns [mm]."""
    return LabelStock(
        name=name,
        page_width=page[0],
        page_height=page[1],
        columns=counts[0],
        rows=counts[1],
        width=size[0],
        height=size[1],
        left=corner[0],
        top=corner[1],
        pitch_x=size[0] + gap,
        pitch_y=size[1],
        is_plain=is_plain,
    )


def _roll(name: str, width: float, height: float) -> LabelStock:
    return LabelStock(
        name=name, page_width=width, page_height=height, width=width, height=height, is_roll=True
    )


LETTER, A4 = PAPER_SIZES["letter"], PAPER_SIZES["a4"]

# Figures from memory, made to close to the page; published tables of these sheets differ by up to 0.8 mm.
# Rolls in inches are 2 x 1, 3 x 2 and 4 x 6. Plain paper is cut along its marks (sizes chosen).
STOCKS: Mapping[str, LabelStock] = {
    stock.name: stock
    for stock in (
        _sheet("letter-3x10", LETTER, (3, 10), (66.7, 25.4), (4.76, 12.7), gap=3.15),
        _sheet("letter-2x5", LETTER, (2, 5), (101.6, 50.8), (3.95, 12.7), gap=4.8),
        _sheet("letter-2x3", LETTER, (2, 3), (101.6, 84.66), (3.95, 12.7), gap=4.8),
        _sheet("a4-3x7", A4, (3, 7), (63.5, 38.1), (7.25, 15.15), gap=2.5),
        _sheet("a4-3x8", A4, (3, 8), (70.0, 37.0), (0.0, 0.5)),
        _sheet("a4-2x7", A4, (2, 7), (99.1, 38.1), (4.65, 15.15), gap=2.5),
        _roll("roll-57x32mm", 57.0, 32.0),
        _roll("roll-50x25mm", 50.0, 25.0),
        _roll("roll-62x29mm", 62.0, 29.0),
        _roll("roll-51x25mm", 50.8, 25.4),
        _roll("roll-76x51mm", 76.2, 50.8),
        _roll("roll-102x152mm", 101.6, 152.4),
        _sheet("plain-letter", LETTER, (2, 5), (98.0, 50.0), (9.95, 14.7), is_plain=True),
        _sheet("plain-a4", A4, (2, 5), (95.0, 53.0), (10.0, 16.0), is_plain=True),
    )
}


def stocks(farm: Farm) -> Mapping[str, LabelStock]:
    """Every stock that a farm can print on, by name; its own take the place of ours of the same name.

    Raises:
        InputProblems: one of its own does not close; all that is wrong with all of them.
    """
    own: dict[str, LabelStock] = {}
    problems: list[Problem] = []
    for name, figures in farm.label_stocks.items():
        try:
            own[name] = LabelStock(**asdict(figures))
        except InputProblems as error:
            problems.extend(error.problems)
    if problems:
        raise InputProblems(problems)
    return {**STOCKS, **own}


def label_stock(farm: Farm, name: str | None = None) -> LabelStock:
    """The stock of a name; without one, the farm's.

    Raises:
        InputProblems: there is none; names those that there are.
    """
    known = stocks(farm)
    name = name or farm.label_stock
    if name not in known:
        what = f'label_stock must be one of {", ".join(known)} (got "{name}")'
        where = farm.places.get(("", "", "label_stock"), "tagmaker.toml")
        raise InputProblems([Problem(where, what, f'Write label_stock = "{next(iter(known))}".')])
    return known[name]
