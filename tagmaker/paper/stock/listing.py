"""The label stocks as text for the terminal, each with a small drawing."""

from __future__ import annotations

from collections.abc import Iterator

from tagmaker.errors import InputProblems
from tagmaker.farm import PAPER_SIZES, Farm
from tagmaker.paper.stock.label_sheets import tag_space
from tagmaker.paper.stock.label_stock import LabelStock, label_stock, stocks
from tagmaker.paper.tag.frame import longest_link
from tagmaker.telling.wording import Wording

TEMPLATE = "test-page.j2"
MM_PER_LETTER = 8.0  # [mm] of a label that a letter of the terminal stands for
INDENT = "    "
INCH = 25.4  # [mm]
NEAR_INCH = 0.05  # [mm] by which the rounded figures of stocks miss a part of an inch
LONG_LINK = 100  # characters; a stock that takes such a link takes any that is sensible (chosen)


def stock_list(farm: Farm, wording: Wording) -> str:
    """Every stock that a farm can print on: its geometry, the longest link its code takes, a drawing.

    Raises:
        InputProblems: one of the farm's own does not close, or the settings name one that there is not.
    """
    chosen = label_stock(farm)
    return "\n".join(
        line
        for stock in stocks(farm).values()
        for line in _entry(stock, farm, wording, is_chosen=stock == chosen)
    )


def _entry(stock: LabelStock, farm: Farm, wording: Wording, *, is_chosen: bool) -> Iterator[str]:
    say = wording.macros(TEMPLATE)
    yield f"{stock.name}{' ' + say.chosen() if is_chosen else ''}: {size_line(stock, wording)}"
    most = _longest_link(stock, farm)
    if most < LONG_LINK:
        yield INDENT + (say.link_line(characters=most) if most else say.no_link_line())
    yield from (INDENT + row for row in drawing(stock))
    yield ""


def size_line(stock: LabelStock, wording: Wording) -> str:
    """How many labels of what size lie on what paper."""
    say = wording.macros(TEMPLATE)
    size = {"width": f"{stock.width:g}", "height": f"{stock.height:g}", "inch": _inches(stock)}
    page_size = (stock.page_width, stock.page_height)
    paper = next((name for name, size in PAPER_SIZES.items() if size == page_size), "")
    page = say.page_name(paper=paper, width=stock.page_width, height=stock.page_height)
    if stock.is_roll:
        return str(say.roll_line(**size))
    line = say.plain_line if stock.is_plain else say.sheet_line
    return str(line(labels=stock.per_page, page=page, **size))


def _inches(stock: LabelStock) -> str:
    """A label's size as it is sold by the inch; nothing where a side is no part of one.

    >>> _inches(label_stock(Farm(uses={}, coolers={}), "letter-3x10"))
    '2 5/8 x 1'
    """
    sides = [_inch(stock.width), _inch(stock.height)]
    return " x ".join(sides) if all(sides) else ""


def _inch(length: float) -> str:
    """A length [mm] in inches, whole and eighths or thirds; nothing for others."""
    for parts in (1, 2, 4, 8, 3):
        count = round(length / INCH * parts)
        if abs(length - count * INCH / parts) <= NEAR_INCH:
            whole, rest = divmod(count, parts)
            return " ".join(
                text for text in (f"{whole}" * bool(whole), f"{rest}/{parts}" * bool(rest)) if text
            )
    return ""


def _longest_link(stock: LabelStock, farm: Farm) -> int:
    """Characters of the longest link that a label takes on the farm's printer; 0: no code has room."""
    try:
        return longest_link(*tag_space(stock, farm.chosen_printer), most=LONG_LINK)
    except InputProblems:
        return 0


def drawing(stock: LabelStock) -> tuple[str, ...]:
    """A page of a stock in brackets, a line for each row of labels.

    >>> drawing(label_stock(Farm(uses={}, coolers={}), "roll-57x32mm"))
    ('[_______]',)
    """
    gap = max(round((stock.pitch_x - stock.width) / MM_PER_LETTER), 0) if stock.columns > 1 else 0
    label = "[" + "_" * max(round(stock.width / MM_PER_LETTER), 1) + "]"
    return ((" " * gap).join([label] * stock.columns),) * stock.rows
