"""Kinds of crate card: their pages, how the cards lie on them, and that the design grows with the card."""

import math
from datetime import datetime
from io import BytesIO
from itertools import pairwise
from typing import Any

import pypdfium2 as pdfium  # type: ignore[import-untyped]  # it comes without types
import pytest
import zxingcpp
from pypdf import PdfReader

from tagmaker.errors import InputProblems
from tagmaker.farm import CARD_NAMES
from tagmaker.paper.crate.cards import crate_cards, crate_sheets
from tagmaker.paper.press.boxes import MM, Rule, Sheet, Text
from tagmaker.paper.stock.card_stock import CARDS, CardStock, card_stock
from tagmaker.storage.crops import crop_table
from tagmaker.telling.teller import Teller
from tagmaker.telling.wording import Wording
from tests.paper_samples import NOW, in_water, sample_dates, sample_farm, sample_lot
from tests.sheet_checks import codes, leaving_their_box, overlapping, text_elements
from tests.test_crates import worst

CROPS = crop_table()
PAPERS = {"letter": (215.9, 279.4), "a4": (210.0, 297.0)}


def pages_of(card: str, paper: str = "letter", *dated: Any) -> tuple[Sheet, ...]:
    """The pages of some lots' cards; of one lot in three crates where none is given."""
    farm = sample_farm(paper_size=paper, crate_card=card)
    return crate_sheets(
        dated or [sample_dates(sample_lot(stems=300))], Teller(farm, CROPS, Wording("F"), NOW)
    )


def cards_on(page: Sheet) -> list[Any]:
    """The cards of a page as they are placed, without its lines."""
    return [placed for placed in page.placed if placed.drawing.lot]


def rules_on(page: Sheet) -> list[Rule]:
    """The lines between the cards of a page."""
    lines = [placed.drawing for placed in page.placed if not placed.drawing.lot]
    return [element for drawing in lines for element in drawing.elements if isinstance(element, Rule)]


def test_every_kind_of_card_can_be_asked_for_by_its_name() -> None:
    """The names that settings and command know are those that can be printed."""
    assert tuple(CARDS) == CARD_NAMES
    with pytest.raises(InputProblems, match="must be one of quarter, roll-102x152mm, half, twin, tent"):
        card_stock("postcard")


@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize(
    ("card", "placed"),
    [
        ("quarter", [3]),
        ("roll-102x152mm", [1, 1, 1]),
        ("half", [2, 1]),
        ("twin", [4, 2]),
        ("tent", [2, 2, 2]),
    ],
)
def test_three_crates_take_so_many_places_on_so_many_pages(paper: str, card: str, placed: list[int]) -> None:
    """The sizes of the pages too: the farm's paper, or exactly the roll's label."""
    pages = pages_of(card, paper)
    assert [len(cards_on(page)) for page in pages] == placed
    size = (101.6, 152.4) if card.startswith("roll") else PAPERS[paper]
    assert {(page.width, page.height) for page in pages} == {size}


def test_a_roll_s_page_is_exactly_the_label() -> None:
    """102 by 152 mm in the PDF, within a hundredth, and no cut line."""
    inked = crate_cards(
        [sample_dates()], Teller(sample_farm(crate_card="roll-102x152mm"), CROPS, Wording("F"), NOW)
    )
    box = PdfReader(BytesIO(inked.pdf)).pages[0].mediabox
    assert (float(box.width) / MM, float(box.height) / MM) == pytest.approx((101.6, 152.4), abs=0.01)
    assert rules_on(inked.sheets[0]) == []


def test_a_roll_s_code_is_of_whole_dots_of_a_thermal_printer() -> None:
    """203 dots an inch: ten of them a module, 1.25 mm, for a lot's dates."""
    (code,) = codes(pages_of("roll-102x152mm", "letter", sample_dates()))
    assert code.sized.module * 203 / 25.4 == pytest.approx(10)


@pytest.mark.parametrize(("card", "across", "down"), [("quarter", 1, 1), ("half", 1, 0), ("twin", 1, 1)])
def test_cards_are_cut_apart_along_dashed_lines(card: str, across: int, down: int) -> None:
    """Through the middle of the page, from edge to edge of what printers reach."""
    rules = rules_on(pages_of(card)[0])
    level = [rule for rule in rules if rule.y1 == rule.y2]
    assert (len(level), len(rules) - len(level)) == (across, down)
    assert {rule.y1 for rule in level} == {279.4 / 2}
    assert {rule.x1 for rule in rules if rule not in level} <= {215.9 / 2}
    assert [rule for rule in rules if not rule.dash] == []


def test_a_twin_is_the_same_card_twice_side_by_side() -> None:
    """For the front and the back of a crate: each row of the page is one crate."""
    (first, _) = pages_of("twin")
    left, right, below, beside = cards_on(first)
    assert (left.drawing, below.drawing) == (right.drawing, beside.drawing)
    assert left.drawing is not below.drawing
    assert (left.y, right.x) == (right.y, 215.9 / 2)


def test_a_tent_has_the_same_words_on_both_sides_each_upright_when_it_stands() -> None:
    """One drawing twice: the upper half upside down, both with their heads at the fold."""
    for page in pages_of("tent"):
        upper, lower = cards_on(page)
        assert upper.drawing is lower.drawing
        assert (upper.turn, upper.y, lower.turn, lower.y) == (180, 0, 0, 279.4 / 2)
        heads = [placed.on_sheet(placed.drawing.elements[0].box) for placed in (upper, lower)]
        fold = 279.4 / 2
        assert [abs(head.y + head.height / 2 - fold) < 20 for head in heads] == [True, True]


def test_the_fold_is_a_line_of_its_own_kind_with_its_word() -> None:
    """Half way down, dashed unlike a cut line, "fold" in its middle and nothing else near it."""
    (page, *_) = pages_of("tent")
    rules = rules_on(page)
    assert {(rule.y1, rule.y2) for rule in rules} == {(279.4 / 2, 279.4 / 2)}
    assert {rule.dash for rule in rules}.isdisjoint({rule.dash for rule in rules_on(pages_of("half")[0])})
    (word,) = [element for element in page.placed[0].drawing.elements if isinstance(element, Text)]
    assert word.lines[0].text == "fold"
    between = [edge for rule in rules for edge in (rule.x1, rule.x2)]
    assert sorted(between)[1] < word.box.x < word.box.right < sorted(between)[2]


def test_both_sides_of_a_tent_are_read_from_the_page_turned_either_way() -> None:
    """A phone that sees the far side reads its code, and it is the same."""
    farm = sample_farm(crate_card="tent")
    inked = crate_cards([sample_dates()], Teller(farm, CROPS, Wording("F"), NOW))
    page = pdfium.PdfDocument(inked.pdf)[0].render(scale=150 / 72, grayscale=True).to_pil()
    for turned in (page, page.rotate(180)):
        upper = turned.crop((0, 0, turned.width, turned.height // 2))
        lower = turned.crop((0, turned.height // 2, turned.width, turned.height))
        read = [[code.text for code in zxingcpp.read_barcodes(side)] for side in (upper, lower)]
        assert read == [["041 WATER 05MAR18H SELL 06MAR"]] * 2


@pytest.mark.parametrize("card", CARD_NAMES)
def test_no_lots_print_a_page_that_says_so(card: str) -> None:
    """On every kind of card."""
    farm = sample_farm(crate_card=card)
    pages = crate_sheets([], Teller(farm, CROPS, Wording("F"), NOW))
    said = {line.text for text in text_elements(pages) for line in text.lines} - {"fold"}
    assert " ".join(said).startswith("No crates to label")
    assert leaving_their_box(pages) == []


@pytest.mark.parametrize(
    ("card", "distance_m"),
    [("quarter", 1), ("roll-102x152mm", 1), ("twin", 1), ("half", 2), ("tent", 2)],
)
@pytest.mark.parametrize("paper", PAPERS)
def test_capitals_of_the_dates_are_seen_at_their_distance(paper: str, card: str, distance_m: float) -> None:
    """Read back from the PDF: 21.5 arc minutes for the widest moment (ISO 9241: 22 preferred, 16 least)."""
    late = datetime(2027, 3, 29, 0, 45)
    farm = sample_farm(paper_size=paper, crate_card=card)
    inked = crate_cards(
        [sample_dates(sell_by=late, into_water_by=late)], Teller(farm, CROPS, Wording("F"), NOW)
    )
    words = pdfium.PdfDocument(inked.pdf)[0].get_textpage()
    search = words.search("MON 29 MAR")
    heights = []
    while (found := search.get_next()) is not None:
        _, bottom, _, top = words.get_charbox(found[0])
        heights.append((top - bottom) / MM)
    assert len(heights) == 2 * CARDS[card].copies
    minutes = [math.degrees(math.atan(height / 1000 / distance_m)) * 60 for height in heights]
    assert min(minutes) >= 21.5


SIZES = [(105, 140), (102, 152), (125, 180), (148, 210), (150, 130), (200, 140), (210, 148), (297, 210)]


@pytest.mark.parametrize(("width", "height"), SIZES)
def test_one_design_fits_cards_of_any_size(
    width: float, height: float, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Nothing overlaps or leaves its box on cards that nobody has drawn, upright or lying."""
    stock = CardStock(name="own", page=(width, height))
    monkeypatch.setattr("tagmaker.paper.stock.card_stock.CARDS", {"own": stock})
    pages = pages_of("own", "letter", *worst(), sample_dates(), in_water())
    assert [pair for page in pages for pair in overlapping(page)] == []
    assert leaving_their_box(pages) == []


def test_type_grows_with_the_card(monkeypatch: pytest.MonkeyPatch) -> None:
    """The date of a wider card is never smaller, and is larger on the half page than on the quarter."""
    stocks = {str(width): CardStock(name="own", page=(width, width * 1.4)) for width in range(105, 216, 10)}
    monkeypatch.setattr("tagmaker.paper.stock.card_stock.CARDS", stocks)
    sizes = [
        next(
            text.size for text in text_elements(pages_of(name)) if text.lines[0].text.startswith("FRI 5 MAR")
        )
        for name in stocks
    ]
    assert [pair for pair in pairwise(sizes) if pair[0] > pair[1]] == []
    assert sizes[-1] > 1.5 * sizes[0]
