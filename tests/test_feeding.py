"""Where ink lies on the paper: measured on pages rendered at 600 dots an inch."""

from __future__ import annotations

import numpy as np
import pypdfium2 as pdfium  # type: ignore[import-untyped]  # it comes without types
import pytest
import zxingcpp

from tagmaker.farm import Printer
from tagmaker.paper.press.boxes import MM, Box, Code, Drawing, Frame, Placed, Sheet
from tagmaker.paper.press.ink import Inked, print_sheets
from tagmaker.paper.proof.proving import prove
from tagmaker.paper.stock.feeding import feed
from tagmaker.paper.stock.label_stock import STOCKS
from tagmaker.paper.stock.test_page import test_page as make_test_page
from tagmaker.telling.wording import Wording
from tests.paper_samples import sample_farm
from tests.wrap_samples import labels, typical

DPI = 600
DOT = 25.4 / DPI  # [mm]


def ink(inked: Inked, box: Box, page: int = 0) -> Box:
    """The smallest box [mm] around the dark dots in a part of a page."""
    with pdfium.PdfDocument(inked.pdf) as document:
        found = document[page]
        width, height = found.get_size()
        cut = (box.x * MM, height - box.bottom * MM, width - box.right * MM, box.y * MM)
        grey = found.render(scale=DPI / 72, grayscale=True, crop=cut).to_numpy()
    rows, columns = np.where(grey.reshape(grey.shape[:2]) < 128)
    left, top = box.x + columns.min() * DOT, box.y + rows.min() * DOT
    right, bottom = box.x + (columns.max() + 1) * DOT, box.y + (rows.max() + 1) * DOT
    return Box(left, top, right - left, bottom - top)


@pytest.mark.parametrize("name", [name for name, stock in STOCKS.items() if not stock.is_roll])
@pytest.mark.slow
def test_frames_of_the_test_page_lie_where_the_stock_s_figures_say(name: str) -> None:
    """The outermost frames within 0.1 mm, measured from the middle of their lines."""
    stock = STOCKS[name]
    inked = make_test_page(sample_farm(label_stock=name), Wording("C"))
    page = Box(0, 0, stock.page_width, stock.page_height)
    found, hair = ink(inked, page), 0.35 / MM / 2
    first, last = stock.boxes()[0], stock.boxes()[-1]
    left, top = max(first.x - hair, 0), max(first.y - hair, 0)
    right, bottom = min(last.right + hair, page.right), min(last.bottom + hair, page.bottom)
    assert (found.x, found.y, found.right, found.bottom) == pytest.approx((left, top, right, bottom), abs=0.1)


def marked(printer: Printer) -> Inked:
    """A page of 100 × 60 mm with a black square of 5 mm, 20 mm from the left and 10 mm from the top."""
    drawing = Drawing(100.0, 60.0, (Frame(Box(20, 10, 5, 5), filled=True),))
    return print_sheets("page.pdf", "Page", [Sheet(100.0, 60.0, (Placed(drawing, 0, 0),))], printer=printer)


@pytest.mark.parametrize(
    ("printer", "paper", "square"),
    [
        (Printer(), (100, 60), Box(20, 10, 5, 5)),
        (Printer(offset_x=1.3, offset_y=-0.7), (100, 60), Box(21.3, 9.3, 5, 5)),
        (Printer(scale_x=1.04, scale_y=0.98), (100, 60), Box(20.8, 9.8, 5.2, 4.9)),
        (Printer(scale_x=1.04, offset_x=-0.8), (100, 60), Box(20.0, 10, 5.2, 5)),
        (Printer(turn=90), (60, 100), Box(45, 20, 5, 5)),
        (Printer(turn=180), (100, 60), Box(75, 45, 5, 5)),
        (Printer(turn=270), (60, 100), Box(10, 75, 5, 5)),
        (Printer(turn=90, offset_x=2.0), (60, 100), Box(45, 22, 5, 5)),
    ],
)
def test_settings_move_ink_by_what_they_say(
    printer: Printer, paper: tuple[float, float], square: Box
) -> None:
    """Within 0.05 mm; turned pages are turned after they were moved."""
    inked = marked(printer)
    assert ink(inked, Box(0, 0, *paper)) == pytest.approx(square, abs=0.05)
    fed = feed(printer, 100.0, 60.0)
    assert (fed.width, fed.height) == paper
    assert fed.box(Box(20, 10, 5, 5)) == pytest.approx(square, abs=1e-9)


def test_a_printer_that_is_right_leaves_the_file_as_it_is() -> None:
    """Not a byte differs."""
    assert marked(Printer()).pdf == marked(Printer(name="laser", dpi=600)).pdf


@pytest.mark.parametrize("turn", [0, 90, 180, 270])
@pytest.mark.slow
def test_the_proof_finds_codes_where_a_printer_puts_them(turn: int) -> None:
    """Turned, moved and stretched; elsewhere they would not count."""
    printer = Printer(name="old", offset_x=1.5, offset_y=2.5, scale_x=1.01, scale_y=0.99, turn=turn)
    inked = labels(*typical(), label_stock="a4-2x7", printers={"old": printer}, printer="old")
    prove(inked)
    straight = labels(*typical(), label_stock="a4-2x7")
    moved = [code.box for page in inked.pages for code in page]
    assert moved != [code.box for page in straight.pages for code in page]


def test_codes_snap_to_the_dots_of_the_paper_once_it_is_stretched() -> None:
    """A module that is printed 1 % larger is made smaller by that, so that it is whole dots again."""
    for scale, dpi in ((1.01, 300), (0.97, 203), (1.0, 600)):
        printer = Printer(name="old", scale_x=scale, scale_y=scale, dpi=dpi)
        inked = labels(typical()[0], printers={"old": printer}, printer="old")
        (drawing,) = {placed.drawing for placed in inked.sheets[0].placed}
        (code,) = [element for element in drawing.elements if isinstance(element, Code)]
        module = inked.pages[0][0].box.width / code.sized.symbol.modules
        assert module / (25.4 / dpi) == pytest.approx(round(module / (25.4 / dpi)), abs=1e-6)


def test_codes_of_a_turned_page_read_as_codes() -> None:
    """With the reader that the proof does not set to straight pages only."""
    printer = Printer(name="side", turn=90)
    inked = labels(typical()[0], printers={"side": printer}, printer="side", label_stock="roll-57x32mm")
    with pdfium.PdfDocument(inked.pdf) as document:
        page = document[0].render(scale=200 / 72, grayscale=True).to_pil()
    assert [code.text for code in zxingcpp.read_barcodes(page)] == [inked.pages[0][0].text]
    assert page.height > page.width


def test_unprintable_margins_keep_words_away_from_them() -> None:
    """All ink of a sheet whose labels reach the edge stays on the part that is printed."""
    farm = {"label_stock": "a4-3x8", "printer": "laser"}
    printer = Printer(name="laser", unprintable=(6.0, 7.0, 8.0, 9.0))
    inked = labels(*typical(), **farm, printers={"laser": printer})
    found, line = ink(inked, Box(0, 0, 210, 297)), 0.2  # [mm] half the width of a frame
    assert (found.x >= 6.0 - line, found.y >= 7.0 - line, found.right <= 202.0 + line) == (True, True, True)
