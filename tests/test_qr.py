"""QR codes: what they say, and their size against the published symbol and against a second encoder."""

from datetime import datetime
from typing import Any

import pytest
import qrcode
from hypothesis import given, settings
from hypothesis import strategies as st

from tagmaker.errors import InputProblems
from tagmaker.paper.press.encoding import encoded
from tagmaker.paper.press.qr import (
    LEAST_MODULE,
    QUIET_MODULES,
    dates_text,
    link_text,
    longest,
    lot_text,
    module_size,
    sized_symbol,
    symbol,
)
from tests.paper_samples import sample_dates, sample_lot, sample_order

DOT = 25.4 / 300  # [mm]
DATES = "041 WATER 05MAR18H SELL 06MAR"

# Capacity of ISO/IEC 18004 symbols, versions 1 to 8, table of capacities (values from memory): characters
# of the compact alphabet and bytes, at levels M and Q.
CAPACITY = {
    ("M", "A"): (20, 38, 61, 90, 122, 154, 178, 221),
    ("Q", "A"): (16, 29, 47, 67, 87, 108, 125, 157),
    ("M", "a"): (14, 26, 42, 62, 84, 106, 122, 152),
    ("Q", "a"): (11, 20, 32, 46, 60, 74, 86, 108),
}


@pytest.mark.parametrize(("level", "letter"), CAPACITY)
def test_a_symbol_holds_what_the_standard_says(level: str, letter: str) -> None:
    """At its capacity a version has 17 + 4 v modules, one character more takes the next version."""
    full = [symbol(letter * n, level).modules for n in CAPACITY[level, letter]]
    over = [symbol(letter * (n + 1), level).modules for n in CAPACITY[level, letter]]
    assert full == [17 + 4 * version for version in range(1, 9)]
    assert over == [17 + 4 * version for version in range(2, 10)]


@pytest.mark.parametrize("level", ["Q", "M"])
@pytest.mark.parametrize(
    "text", [DATES, "041 NO DATE", "HTTPS://FARM.EXAMPLE/041", "https://farm.example/lot-a"]
)
def test_a_second_encoder_gives_the_same_matrix(text: str, level: str) -> None:
    """The `qrcode` package, given the mask that was chosen, draws every module alike.

    An address that mixes letters and figures may be split into segments in two ways; it is read back instead.
    """
    levels = {"Q": qrcode.constants.ERROR_CORRECT_Q, "M": qrcode.constants.ERROR_CORRECT_M}
    ours = symbol(text, level).rows
    theirs = []
    for mask in range(8):
        other = qrcode.QRCode(error_correction=levels[level], border=0, mask_pattern=mask)
        other.add_data(text, optimize=0)
        other.make(fit=True)
        theirs.append(tuple("".join("01"[bool(dark)] for dark in row) for row in other.get_matrix()))
    assert ours in theirs


@given(st.text(max_size=60) | st.text("0123456789ABC :/-", max_size=200), st.sampled_from("MQ"))
@settings(max_examples=60)
def test_the_mask_is_the_one_that_the_package_chooses(text: str, level: str) -> None:
    """Rated all at once, the eight masks come to what they come to one module after the other."""
    levels = {"Q": qrcode.constants.ERROR_CORRECT_Q, "M": qrcode.constants.ERROR_CORRECT_M}
    slow = qrcode.QRCode(error_correction=levels[level], border=0)
    slow.add_data(text)
    slow.make(fit=True)
    expected = tuple("".join("01"[bool(dark)] for dark in row) for row in slow.get_matrix())
    assert expected == encoded(text, level)


def test_finder_patterns_stand_in_three_corners() -> None:
    """Seven modules, a ring and a core, in all corners but the lower right (ISO/IEC 18004)."""
    rows = symbol(DATES, "Q").rows
    finder = ["1111111", "1000001", "1011101", "1011101", "1011101", "1000001", "1111111"]
    corners = ([row[:7] for row in rows[:7]], [row[-7:] for row in rows[:7]], [row[:7] for row in rows[-7:]])
    assert list(corners) == [finder] * 3
    assert [row[-7:] for row in rows[-7:]] != finder


@pytest.mark.parametrize(("lot", "level"), [("041", "Q"), ("0410", "M"), ("ABCDEFGHIJKL", "M")])
def test_a_lot_with_its_dates_fits_25_modules(lot: str, level: str) -> None:
    """A lot code of 3 characters at level Q, one of 12 still at level M, with a full hour."""
    text = dates_text(lot, datetime(2027, 3, 6, 8), datetime(2027, 3, 5, 18), 2027)
    sized = sized_symbol(text, 22.4, "x")
    assert (sized.symbol.modules, sized.symbol.level) == (25, level)


def test_a_code_says_the_lot_and_its_dates_where_there_is_no_link() -> None:
    """Into water by with its hour, before the sell-by; left out for stems in water; no date is said so."""
    moment = datetime(2027, 3, 6, 6, 30)
    said = [
        dates_text("041", moment, datetime(2027, 3, 5, 18), 2027),
        dates_text("041", moment, datetime(2027, 3, 5, 17, 15), 2027),
        dates_text("041", moment, None, 2027),
        dates_text("041", None, None, 2027),
    ]
    assert said == [DATES, "041 WATER 05MAR17H15 SELL 06MAR", "041 SELL 06MAR", "041 NO DATE"]


def test_a_code_says_the_year_where_it_is_not_that_of_the_cut() -> None:
    """Cut in December, sold in January."""
    water, sell = datetime(2026, 12, 31, 18), datetime(2027, 1, 2, 8)
    assert dates_text("041", sell, water, 2026) == "041 WATER 31DEC18H SELL 02JAN2027"


def test_a_part_order_s_code_says_its_own_hour() -> None:
    """The moments beside the code are the moments in it."""
    order = sample_order(leaves=datetime(2027, 2, 27, 6, 30), into_water_by=datetime(2027, 2, 26, 18))
    assert lot_text(sample_dates(), None, order) == "041 WATER 26FEB18H SELL 27FEB"


def test_a_link_says_the_lot_and_its_row() -> None:
    """{lot} and {row} stand for the lot code and the row as the sheet counts it."""
    dates = sample_dates(sample_lot(lot_code="A-7", row=12))
    assert lot_text(dates, "https://farm.example/s/x?range=A{row}&l={lot}") == (
        "https://farm.example/s/x?range=A12&l=A-7"
    )


@pytest.mark.parametrize(
    ("pattern", "address"),
    [
        ("HTTPS://FARM.EXAMPLE/L/{lot}", "HTTPS://FARM.EXAMPLE/L/041"),
        ("https://farm.example/{lot}", "HTTPS://FARM.EXAMPLE/041"),
        ("https://farm.example/l/{lot}", "https://farm.example/l/041"),
        ("https://me@farm.example/{lot}", "https://me@farm.example/041"),
        ("farm.example/{lot}", "farm.example/041"),
    ],
)
def test_only_scheme_and_host_are_put_in_capitals(pattern: str, address: str) -> None:
    """And only where the whole address then fits the compact alphabet; a path keeps its case."""
    assert link_text(pattern, "041", 7) == address


def test_an_upper_case_address_of_29_characters_takes_25_modules() -> None:
    """Level Q; in lower case it takes 29."""
    address = "HTTPS://FARM.EXAMPLE/LOTS/041"
    assert (symbol(address, "Q").modules, symbol(address.lower(), "Q").modules) == (25, 29)


@pytest.mark.parametrize(("side", "dots"), [(25.4, 8), (22.0, 7), (19.0, 6), (15.7, 5)])
def test_modules_are_whole_printer_dots(side: float, dots: int) -> None:
    """A symbol of 29 modules and its quiet zone at 300 dots an inch."""
    assert round(module_size(29, side) / DOT, 6) == dots


def test_the_quiet_zone_is_four_modules() -> None:
    """The side of a sized symbol counts them on both sides (ISO/IEC 18004)."""
    sized = sized_symbol(DATES, 25.4, "x")
    assert QUIET_MODULES == 4
    assert sized.side == pytest.approx((25 + 8) * sized.module, abs=1e-9)


@pytest.mark.parametrize(("width", "height"), [(57.0, 32.0), (62.0, 29.0), (63.5, 38.1)])
def test_a_lot_with_its_dates_has_modules_of_0_6_mm_and_more(width: float, height: float) -> None:
    """Eight dots of 300 an inch, 0.677 mm, on labels of 57 × 32 mm and up."""
    room = min(0.44 * width, height - 3.4)
    assert sized_symbol(DATES, room, "x").module >= 7.9 * DOT


def test_a_long_link_drops_to_level_m_only_where_its_modules_would_be_too_small() -> None:
    """In 18 mm: 46 small letters fit at Q, 62 only at M, where the modules stay above 0.40 mm."""
    sized = [sized_symbol("https://farm.example/" + "l" * n, 18.0, "x") for n in (25, 41)]
    assert [one.symbol.level for one in sized] == ["Q", "M"]
    assert all(one.module >= LEAST_MODULE for one in sized)


def test_a_link_that_does_not_fit_is_a_problem_that_names_the_longest_that_does() -> None:
    """With the place in the sheet and the lot; what it names does fit, one more does not."""
    link = "https://farm.example/" + "l" * 120
    with pytest.raises(InputProblems) as error:
        sized_symbol(link, 18.0, "lots.csv, row 3", "041")
    problem = error.value.problems[0]
    assert (problem.where, problem.lot) == ("lots.csv, row 3", "041")
    assert problem.what == f'a code of 18.0 mm must say at most 62 characters (got 141: "{link[:60]}")'
    assert "All in capitals, 90 would fit." in problem.remedy
    assert sized_symbol("l" * longest(18.0), 18.0, "x").module >= LEAST_MODULE
    with pytest.raises(InputProblems):
        sized_symbol("l" * (longest(18.0) + 1), 18.0, "x")


@pytest.mark.parametrize("text", ["l" * 5000, "L" * 5000])
def test_an_endless_link_is_the_same_problem(text: str) -> None:
    """Nothing is encoded that no symbol could hold."""
    with pytest.raises(InputProblems, match="must say at most"):
        sized_symbol(text, 25.0, "x")


def test_never_under_0_40_mm() -> None:
    """Whatever the length, a symbol that is returned has printable modules."""

    def module(n: int) -> Any:
        try:
            return sized_symbol("l" * n, 20.0, "x").module
        except InputProblems:
            return None

    assert [found for found in map(module, range(1, 120, 7)) if found is not None and found < 0.40] == []
