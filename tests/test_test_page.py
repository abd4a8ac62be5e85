"""The test page and the list of stocks: what a grower measures and reads there."""

from __future__ import annotations

import re

import pytest

from tagmaker.farm import Printer
from tagmaker.paper.press.boxes import Frame, Rule
from tagmaker.paper.proof.proving import prove
from tagmaker.paper.stock.label_stock import STOCKS
from tagmaker.paper.stock.listing import drawing, stock_list
from tagmaker.paper.stock.test_page import line_length, steps
from tagmaker.paper.stock.test_page import test_page as make_test_page
from tagmaker.telling.wording import Wording
from tests.paper_samples import sample_farm
from tests.sheet_checks import leaving_their_box, read_back, texts

WORDING = Wording("C")
EVERY_STOCK = pytest.mark.parametrize("name", list(STOCKS))


@EVERY_STOCK
def test_the_first_page_has_every_label_with_its_number(name: str) -> None:
    """Frames are the stock's own boxes; numbers go row by row."""
    inked = make_test_page(sample_farm(label_stock=name), WORDING)
    (placed,) = inked.sheets[0].placed
    frames = tuple(part.box for part in placed.drawing.elements if isinstance(part, Frame))
    numbers = [text for text in texts(inked.sheets[:1]) if text.isdecimal()]
    assert frames == STOCKS[name].boxes()
    assert numbers == [str(number) for number in range(1, STOCKS[name].per_page + 1)]
    assert leaving_their_box(inked.sheets) == []
    prove(inked)


@EVERY_STOCK
def test_the_second_page_has_lines_as_long_as_they_say(name: str) -> None:
    """Across and down; 100 mm and 4 in on sheets, what fits on rolls; all on the page."""
    inked = make_test_page(sample_farm(label_stock=name), WORDING)
    (placed,) = inked.sheets[1].placed
    rules = [part for part in placed.drawing.elements if isinstance(part, Rule)]
    length, corner = line_length(STOCKS[name])
    across = {round(rule.x2 - rule.x1, 6) for rule in rules if rule.y1 == rule.y2 == corner}
    down = {round(rule.y2 - rule.y1, 6) for rule in rules if rule.x1 == rule.x2 == corner}
    assert (across, down) == ({length}, {length})
    assert all(0 < x < placed.drawing.width for rule in rules for x in (rule.x1, rule.x2))
    assert all(0 < y < placed.drawing.height for rule in rules for y in (rule.y1, rule.y2))
    if not STOCKS[name].is_roll:
        inches = [round(rule.x2 - rule.x1, 6) for rule in rules if rule.y1 == rule.y2 == corner + 12.0]
        assert (length, inches) == (100.0, [101.6])


def test_the_page_says_with_what_it_was_printed_and_how_to_go_on() -> None:
    """The steps stand on the page and are said in the terminal."""
    printer = Printer(name="laser", offset_x=0.4, scale_y=0.998)
    farm = sample_farm(printers={"laser": printer}, printer="laser")
    words = read_back(make_test_page(farm, WORDING))[1]
    assert "laser: printed with offset_x 0.4, offset_y 0, scale_x 1, scale_y 0.998" in words
    told = steps(farm, WORDING)
    assert len(told) == 4
    assert [step for step in told if step.replace(" ", "") not in words.replace(" ", "")] == []


@EVERY_STOCK
def test_the_steps_name_the_figures_of_their_own_page(name: str) -> None:
    """Rolls have no room for them in print: the terminal says how long the lines are and where they meet."""
    length, corner = line_length(STOCKS[name])
    told = steps(sample_farm(label_stock=name), WORDING)
    assert f"each should be {length:g} mm." in told[1]
    assert f"{length * 0.97:g} mm give {length:g} / {length * 0.97:g} = 1.031." in told[1]
    assert f"should be {corner:g} mm from the left and {corner:g} mm from the top." in told[2]


def test_what_the_steps_say_makes_a_crooked_printer_right() -> None:
    """Arithmetic: a printer that shrinks to 96 % and shifts by 2 mm, measured and corrected twice."""
    shrink, shift = 0.96, 2.0  # what it does to a length, and to every position
    scale, offset, should = 1.0, 0.0, 20.0
    for _ in range(2):
        scale = scale * 100 / (shrink * scale * 100)
        offset = offset + should - (shrink * (scale * should + offset) + shift)
    assert shrink * (scale * should + offset) + shift == pytest.approx(should, abs=0.1)


def test_the_list_names_every_stock_with_a_drawing() -> None:
    """A line of brackets for each row of labels; the settings' own stock is marked."""
    listed = stock_list(sample_farm(label_stock="a4-2x7"), WORDING)
    blocks = listed.strip().split("\n\n")
    assert [re.split("[: ]", block)[0] for block in blocks] == list(STOCKS)
    for block, stock in zip(blocks, STOCKS.values(), strict=True):
        drawn = [line.strip() for line in block.splitlines() if "[" in line and "__" in line]
        assert drawn == list(drawing(stock))
        assert (len(drawn), drawn[0].count("[")) == (stock.rows, stock.columns)
    assert [block for block in blocks if "settings' label_stock" in block] == [
        block for block in blocks if block.startswith("a4-2x7")
    ]
    assert [blocks[n].splitlines()[0] for n in (0, 2, 4)] == [
        "letter-3x10: 30 labels of 66.7 x 25.4 mm (2 5/8 x 1 in) on Letter",
        "letter-2x3: 6 labels of 101.6 x 84.66 mm (4 x 3 1/3 in) on Letter",
        "a4-3x8: 24 labels of 70 x 37 mm on A4",
    ]
