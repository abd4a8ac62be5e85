"""Labels on the pages of a stock: each drawn once, and placed per bunch from the first free label on."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from typing import NamedTuple

from tagmaker.errors import InputProblems, Problem
from tagmaker.farm import Farm, Printer
from tagmaker.lot import StorageDates
from tagmaker.paper.press.boxes import Box, Drawing, Placed, Sheet
from tagmaker.paper.press.fitting import fit
from tagmaker.paper.press.ink import Inked, print_sheets
from tagmaker.paper.stock.label_stock import LabelStock, cut_marks, label_stock


class TagSpace(NamedTuple):
    """What a tag has to itself on a stock."""

    width: float  # [mm]
    height: float  # [mm]
    dpi: float  # dots per inch, as they lie on the paper once it is stretched


def tag_space(stock: LabelStock, printer: Printer) -> TagSpace:
    """The room for each tag of a stock on a printer."""
    box = stock.tag_boxes(printer)[0]
    return TagSpace(box.width, box.height, stock.dpi(printer) * printer.scale_x)


def label_sheets(
    labels: Sequence[Drawing], stock: LabelStock, printer: Printer, first: int = 1
) -> Iterator[Sheet]:
    """Labels on pages of a stock, row by row from the top left, from the first free one on."""
    boxes = stock.tag_boxes(printer)
    marks = (Placed(cut_marks(stock), 0.0, 0.0),) if stock.is_plain else ()
    for start in range(1 - first, len(labels), stock.per_page):
        page = labels[max(start, 0) : start + stock.per_page]
        free = boxes[max(-start, 0) :]
        placed = tuple(Placed(label, box.x, box.y) for label, box in zip(page, free, strict=False))
        yield Sheet(stock.page_width, stock.page_height, (*marks, *placed))


def print_labels(
    file_name: str,
    title: str,
    nothing: str,
    lots: Sequence[StorageDates],
    draw: Callable[[StorageDates, TagSpace], Iterable[tuple[Drawing, int]]],
    farm: Farm,
    first: int = 1,
) -> Inked:
    """The labels of lots, in their order, on the farm's label stock.

    Args:
        file_name: of the PDF
        title: of the PDF
        nothing: the words of the only label, where no lot has one
        lots: dated lots
        draw: each different label of a lot, and how many bunches carry it
        farm: label stock and printer
        first: label of the first sheet to begin with, from 1 on: those before it were used up

    Raises:
        InputProblems: what `draw` found wrong, of all lots; characters that the font lacks.
    """
    stock, printer = label_stock(farm), farm.chosen_printer
    space = tag_space(stock, printer)
    labels: list[Drawing] = []
    problems: list[Problem] = []
    for dates in lots:
        try:
            for drawing, times in draw(dates, space):
                labels.extend([drawing] * times)
        except InputProblems as error:
            problems.extend(error.problems)
    if problems:
        raise InputProblems(problems)
    if not labels:
        words = fit(nothing, Box(0, 0, space.width, space.height).inset(3.0), most=12, least=7.5, lines=3)
        labels = [Drawing(space.width, space.height, (words,))]
    sheets = label_sheets(labels, stock, printer, first)
    return print_sheets(file_name, title, sheets, printer=printer)
