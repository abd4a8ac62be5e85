"""The test page: the frames of a label stock with their numbers, and lines to measure with a ruler.

It is printed with what the settings say of the printer, so that a second one shows whether that is right.
"""

from __future__ import annotations

from collections.abc import Iterator

from tagmaker.errors import InputProblems, Problem
from tagmaker.farm import Farm, Printer
from tagmaker.paper.press.boxes import MM, Box, Drawing, Element, Frame, Placed, Rule, Sheet
from tagmaker.paper.press.fitting import fit
from tagmaker.paper.press.fonts import face
from tagmaker.paper.press.ink import Inked, print_sheets
from tagmaker.paper.press.stacking import Paragraph, squeezed, stack
from tagmaker.paper.stock.label_stock import LabelStock, label_stock
from tagmaker.telling.wording import Wording

FILE_NAME = "test-page.pdf"
TEMPLATE = "test-page.j2"
HAIR = 0.35  # [pt] lines to measure from
TICK = 1.5  # [mm] half a tick at the ends of a line
CORNER = 20.0  # [mm] from the paper's edges to the lines' corner, where there is room
INCH = 25.4  # [mm]
LENGTHS = (100.0, 50.0, 20.0, 10.0)  # [mm] of the lines to measure, the longest that fits
EXAMPLE = 0.97  # of its length: what the line of the worked example measures (chosen)
AROUND = 2 * TICK + 4.0  # [mm] of a page besides them
LEAST_PAGE = LENGTHS[-1] + AROUND  # [mm] of its shorter side
LEAST_WORDS = 5.0  # [pt]
NUMBER = 24.0  # [pt] of a label's number, at most


def test_page(farm: Farm, wording: Wording) -> Inked:
    """Two pages for the farm's label stock and printer: the frames, then the lines and what to do with them.

    Raises:
        InputProblems: there is no such stock, it does not close, or it is too small for lines to measure.
    """
    stock, printer = label_stock(farm), farm.chosen_printer
    if min(stock.page_width, stock.page_height) < LEAST_PAGE:
        what = f"a page must be at least {LEAST_PAGE:g} mm either way for lines to measure"
        got = f"got {stock.page_width:g} x {stock.page_height:g} mm"
        remedy = "Measure a label of it with a ruler instead; no label that small has room for a code."
        raise InputProblems([Problem(f"label stock {stock.name}", f"{what} ({got})", remedy)])
    pages = (_frames(stock, wording), _lines(stock, printer, wording))
    sheets = [Sheet(page.width, page.height, (Placed(page, 0.0, 0.0),)) for page in pages]
    return print_sheets(FILE_NAME, wording.macros(TEMPLATE).title(), sheets, printer=printer)


def steps(farm: Farm, wording: Wording) -> tuple[str, ...]:
    """What to do with the pages, step by step."""
    return _steps(label_stock(farm), wording)


def _steps(stock: LabelStock, wording: Wording) -> tuple[str, ...]:
    say = wording.macros(TEMPLATE)
    length, corner = line_length(stock)
    place = say.step_3(x=f"{corner:g}", y=f"{corner:g}")
    short = length * EXAMPLE
    size = say.step_2(length=f"{length:g}", short=f"{short:g}", scale=f"{length / short:.3f}")
    measured = (say.step_1(is_roll=stock.is_roll), size, place)
    return measured if stock.is_roll else (*measured, say.step_4())


def line_length(stock: LabelStock) -> tuple[float, float]:
    """Length of the lines to measure [mm], and how far their corner is from the page's edges [mm]."""
    shorter = min(stock.page_width, stock.page_height)
    length = next((length for length in LENGTHS if length + AROUND <= shorter), LENGTHS[-1])
    return length, min(CORNER, max((shorter - length) / 4, TICK + 1))


def _frames(stock: LabelStock, wording: Wording) -> Drawing:
    """Every label of a page with its number."""
    say, elements = wording.macros(TEMPLATE), list[Element]()
    for number, box in enumerate(stock.boxes(), start=1):
        elements.append(Frame(box, HAIR))
        inner = box.inset(min(2.0, box.height / 8))
        top = inner._replace(height=inner.height * 0.6)
        below = inner._replace(y=top.bottom, height=inner.height * 0.4)
        elements.append(fit(str(number), top, most=NUMBER, least=6, weight="bold", align="centre"))
        size = say.size(width=f"{box.width:g}", height=f"{box.height:g}")
        told = say.first_label() if number == 1 and stock.per_page > 1 else size
        if face("regular").width(told) * LEAST_WORDS / MM <= below.width:
            elements.append(fit(told, below, most=9, least=LEAST_WORDS, align="centre", stand="top"))
    return Drawing(stock.page_width, stock.page_height, tuple(elements))


def _lines(stock: LabelStock, printer: Printer, wording: Wording) -> Drawing:
    """The lines to measure, and on a page that has the room what to do with them."""
    length, corner = line_length(stock)
    elements = [*_ruled(stock, length, corner, wording)]
    told = _told(stock, printer, wording)
    box = Box(
        corner + 12,
        corner + 22,
        stock.page_width - corner - 24,
        stock.page_height - corner - 34,
    )
    if box.width >= 80 and box.height >= 80:
        elements += stack(squeezed(told, box, (11.0, 10.0, 9.0, 8.0)), box)
    return Drawing(stock.page_width, stock.page_height, tuple(elements))


def _ruled(stock: LabelStock, length: float, corner: float, wording: Wording) -> Iterator[Element]:
    """A line across and one down from the same corner, and one of whole inches."""
    say = wording.macros(TEMPLATE)
    yield Rule(corner, corner, corner + length, corner, HAIR)
    yield Rule(corner, corner, corner, corner + length, HAIR)
    yield Rule(corner + length, corner - TICK, corner + length, corner + TICK, HAIR)
    yield Rule(corner - TICK, corner + length, corner + TICK, corner + length, HAIR)
    name = Box(corner + 2, corner + 1, length - 4, min(5.0, length / 3))
    yield fit(say.line(length=f"{length:g} mm"), name, most=9, least=LEAST_WORDS)
    inches = int((stock.page_width - 2 * corner) // INCH)
    inches = min(inches, 4)
    y = corner + 12.0
    if inches and y + 8 < stock.page_height:
        end = corner + inches * INCH
        yield Rule(corner, y, end, y, HAIR)
        yield Rule(end, y - TICK, end, y + TICK, HAIR)
        below = Box(corner + 2, y + 1, inches * INCH - 4, 4.0)
        yield fit(say.line(length=f"{inches} in"), below, most=9, least=LEAST_WORDS)


def _told(stock: LabelStock, printer: Printer, wording: Wording) -> list[Paragraph]:
    say = wording.macros(TEMPLATE)
    numbers = {
        "offset_x": f"{printer.offset_x:g}",
        "offset_y": f"{printer.offset_y:g}",
        "scale_x": f"{printer.scale_x:g}",
        "scale_y": f"{printer.scale_y:g}",
    }
    texts = (
        f"{stock.name}{', ' + printer.name if printer.name else ''}: {say.printed_with(**numbers)}",
        *(f"{number}. {step}" for number, step in enumerate(_steps(stock, wording), start=1)),
    )
    return [Paragraph(text, before=3.0) for text in texts]
