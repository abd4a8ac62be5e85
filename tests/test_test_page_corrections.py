"""Measures of a test page, typed in, become the corrections that make the next one right."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tagmaker.errors import UsageProblem
from tagmaker.farm import Printer
from tagmaker.paper.stock.corrections import Measured, corrected
from tagmaker.paper.stock.label_stock import STOCKS
from tagmaker.paper.stock.test_page import line_length

SHEET = STOCKS["letter-3x10"]
off = st.floats(-5, 5)
stretch = st.floats(0.95, 1.05)


def printed(printer: Printer, a: float, b: float, c: float, d: float) -> Measured:
    """What a printer that makes a·x + b across and c·y + d down makes of the lines (arithmetic)."""
    length, corner = line_length(SHEET)
    return Measured(
        across=a * printer.scale_x * length,
        down=c * printer.scale_y * length,
        left=a * (printer.scale_x * corner + printer.offset_x) + b,
        top=c * (printer.scale_y * corner + printer.offset_y) + d,
    )


@given(a=stretch, b=off, c=stretch, d=off, again=st.booleans())
def test_the_next_page_is_right(a: float, b: float, c: float, d: float, again: bool) -> None:
    """Whatever the printer does, and whatever it was corrected by before: within what a ruler shows."""
    before = Printer(scale_x=1.01, offset_x=-2.0, scale_y=0.99, offset_y=1.5) if again else Printer()
    after = printed(corrected(SHEET, before, printed(before, a, b, c, d)), a, b, c, d)
    length, corner = line_length(SHEET)
    found = (after.across, after.down, after.left, after.top)
    assert found == pytest.approx((length, length, corner, corner), abs=0.1)


def test_a_page_that_is_right_stays() -> None:
    """Nothing is corrected where nothing is off."""
    length, corner = line_length(SHEET)
    right = corrected(SHEET, Printer(), Measured(across=length, down=length, left=corner, top=corner))
    assert (right.scale_x, right.scale_y, right.offset_x, right.offset_y) == (1.0, 1.0, 0.0, 0.0)


@pytest.mark.parametrize(
    ("across", "left", "said"),
    [(4.0, 20.0, "about 100 mm"), (100.0, 60.0, "off by at most"), (88.0, 20.0, "off by at most")],
)
def test_what_cannot_be_is_refused(across: float, left: float, said: str) -> None:
    """Inches, a sheet that lay askew, a page that was made to fit: nothing is worked out of these."""
    with pytest.raises(UsageProblem, match=said):
        corrected(SHEET, Printer(), Measured(across=across, down=100.0, left=left, top=20.0))
