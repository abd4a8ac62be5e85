"""Wrap labels: what gives way, how large things stand there, and that every code reads."""

from collections import Counter
from datetime import datetime
from itertools import product

import pytest
import zxingcpp

from tagmaker.errors import InputProblems
from tagmaker.lot import Mark, State, StorageDates
from tagmaker.paper.press.boxes import Box, Code, Drawing, Text
from tagmaker.paper.proof.proving import prove
from tagmaker.paper.stock.label_sheets import TagSpace
from tagmaker.paper.stock.label_stock import EDGE, STOCKS
from tagmaker.paper.tag.wraps import lot_labels
from tagmaker.telling.teller import Teller
from tagmaker.telling.wording import Wording
from tests.code_readers import blurred, read_alone
from tests.paper_samples import (
    NOW,
    in_water,
    sample_dates,
    sample_farm,
    sample_lot,
    sample_order,
)
from tests.sheet_checks import characters, codes, leaving_their_box, overlapping, text_elements
from tests.wrap_samples import (
    CROPS,
    EVERY_LABEL,
    EVERY_STOCK,
    LATE,
    NARROW,
    drawings,
    first,
    labels,
    last,
    lots_for,
    said,
    undated,
    wet,
)

SHORT_LINK = "HTTPS://LMYARD.EXAMPLE/L/{lot}"


def label(width: float, height: float, link: str | None, dpi: float) -> Drawing:
    """The label of a lot of a size [mm]."""
    farm = sample_farm(link=link)
    drawn = lot_labels(sample_dates(), TagSpace(width, height, dpi), Teller(farm, CROPS, Wording("F"), NOW))
    return next(iter(drawn))[0]


# --- what gives way


def test_colour_goes_first_then_the_small_print_then_the_stems_then_the_end_of_the_name() -> None:
    """On a low label with an order and names of growing length; lot, dates and 9 pt of name stay.

    A short lot code leaves room behind the storage code: there the small print costs no height and stays.
    """
    order = sample_order(stems=None, leaves=datetime(2027, 3, 4, 8))
    names = ["Pale Harbour", "Pale Harbour the Second", "Pale Harbour the Second and Late"]
    kept = []
    for code, name in product(("041", "MEADOW-0412"), names):
        lot = sample_lot(lot_code=code, variety=name, colour="apricot flame")
        said_there = first(sample_dates(lot, tag_order=order))
        words = " ".join(said_there)
        cut = "Pale Harbour the Second…" in said_there
        kept.append([name in words or cut, "dated for" in words, "· 10" in words, "apricot" in words])
    assert kept[:3] == [[True, True, True, True], [True, True, True, False], [True, True, False, False]]
    assert kept[3:] == [[True, True, True, True], [True, True, True, False], [True, False, False, False]]


@EVERY_STOCK
def test_bunches_are_hunted_by_a_name_of_9_points(stock: str) -> None:
    """In bold, on every label of 25 mm and more, however long the name."""
    if STOCKS[stock].height < 25:
        pytest.fail("a lower stock needs a case of its own")
    for name in ("Pale Harbour", "Première Écume près du Grand Moulin de Sel"):
        sheets = labels(sample_dates(sample_lot(variety=name)), label_stock=stock).sheets
        named = [text for text in text_elements(sheets) if text.lines[0].text.startswith(name.split()[0])]
        assert named[0].size >= 9.0 - 0.001
        assert named[0].weight == "bold"


@EVERY_LABEL
@pytest.mark.slow
def test_dates_captions_and_words_are_never_smaller_than_they_may_be(
    stock: str, lots: list[StorageDates]
) -> None:
    """Dates 10 pt, captions and small print 6 pt; a frame's word shrinks only if a template makes it long."""
    sizes: dict[bool, float] = {True: 99.0, False: 99.0}
    for text in text_elements(labels(*lots, label_stock=stock).sheets):
        words = text.lines[0].text.split()
        is_date = len(words) > 2 and words[0] in ("FRI", "SAT", "SUN", "MON", "TUE", "WED", "THU")
        sizes[is_date] = min(sizes[is_date], text.size)
    assert sizes[True] >= 10.0 - 0.001
    assert sizes[False] >= 6.0 - 0.001


@EVERY_STOCK
def test_code_dates_and_lot_outlast_everything(stock: str) -> None:
    """On the worst label too: lot, storage code, into water, sell by, QR; the rows between where they fit."""
    dates = lots_for(stock, "worst")[0]
    inked = labels(dates, label_stock=stock)
    words = " ".join(last(dates, label_stock=stock))
    assert words.startswith(f"{dates.lot.lot_code} DRY")
    wide = STOCKS[stock].width >= NARROW
    found = [caption in words for caption in ("INTO WATER BY", "INTO THE WARM AT", "ORDERED FOR", "SELL BY")]
    assert found == [True, wide, wide, True]
    assert [day in words for day in ("MON 29 MAR", "TUE 30 MAR", "12:45 AM")] == [True] * 3
    assert len(codes(inked.sheets)) == len(drawings(inked))


def narrow(dates: StorageDates, width: float, height: float) -> list[str]:
    """The texts of a lot's first label of a size [mm], with a short link."""
    farm, space = sample_farm(link=SHORT_LINK), TagSpace(width, height, 300)
    return said(next(iter(lot_labels(dates, space, Teller(farm, CROPS, Wording("F"), NOW))))[0])


def test_a_caption_that_is_wider_than_its_column_takes_two_lines() -> None:
    """It is never cut."""
    dates = in_water(ready_from=LATE, out_by=LATE)
    words = narrow(dates, 41, 36)
    assert words[words.index("IN WATER,") + 1] == "READY FROM"


@pytest.mark.parametrize(("width", "height"), [(28.0, 34.0), (52.0, 18.0), (57.0, 32.0), (24.0, 87.0)])
def test_what_a_slip_tells_to_do_is_never_cut(width: float, height: float) -> None:
    """Half of it would say the contrary."""
    assert "FAN UNTIL NO DROPS ARE LEFT, DO NOT WRAP YET" in narrow(wet(), width, height)


def test_a_mark_that_has_no_room_behind_no_date_stands_below() -> None:
    """Or goes, on a label that is lower still; it is never cut."""
    words = narrow(undated(marks=(Mark.HOW_OPEN,)), 30.0, 40.0)
    assert words[words.index("NO DATE") + 1] == "HOW OPEN?"
    assert "…" not in words


def test_a_name_too_high_for_the_place_under_the_code_makes_way_for_the_cut() -> None:
    """Letters with accents and tails need more height than others; they are not made smaller than 6 pt."""
    dates = sample_dates(sample_lot(variety="Ågløgg Åpgjy Ågløgg Åpgjy"), test_first=True)
    words = narrow(dates, 54.0, 26.0)
    assert ("cut 15 Feb" in words, [word for word in words if "Å" in word]) == (True, [])


@pytest.mark.parametrize("stock", ["letter-3x10", "roll-57x32mm", "roll-50x25mm"])
def test_the_code_gets_smaller_before_marks_and_name_go(stock: str) -> None:
    """SELL FIRST and HOW OPEN? on two dates: a code of 0.5 mm a module leaves room for all of it."""
    dates = sample_dates(marks=(Mark.HOW_OPEN,), state=State.SELL_FIRST)
    words = " ".join(first(dates, label_stock=stock))
    assert [mark in words for mark in ("SELL FIRST", "HOW OPEN?", "Pale Harbour")] == [True] * 3
    assert codes(labels(dates, label_stock=stock).sheets)[0].sized.module >= 0.5


# --- what is too small


@pytest.mark.parametrize(
    ("width", "height", "link"),
    [(45, 20, SHORT_LINK), (57, 32, None), (57, 32, SHORT_LINK), (30, 50, SHORT_LINK), (102, 152, None)],
)
@pytest.mark.parametrize("dpi", [203, 300])
def test_sizes_that_carry_a_code_and_both_dates(
    width: float, height: float, link: str | None, dpi: int
) -> None:
    """From 45 × 20 mm with a short link, from 57 × 32 mm with the dates themselves in the code."""
    drawing = label(width, height, link, dpi)
    words = " ".join(said(drawing))
    assert [day in words for day in ("FRI 5 MAR", "SAT 6 MAR", "6 PM", "6:30 AM")] == [True] * 4
    module = next(part.sized.module for part in drawing.elements if isinstance(part, Code))
    assert module >= 0.40


@pytest.mark.parametrize(("width", "height"), [(25, 20), (70, 12), (20, 60)])
def test_a_label_that_is_too_small_is_refused_and_told_what_would_do(width: float, height: float) -> None:
    """The size that the message names does carry the label, and nothing much smaller does."""
    with pytest.raises(InputProblems) as error:
        label(width, height, SHORT_LINK, 300)
    (problem,) = error.value.problems
    assert problem.what.startswith("a label must have room for its code and both dates (got")
    wide, tall = (int(side) for side in problem.what.split("needs ")[1].removesuffix(" mm)").split(" x "))
    assert label(wide, tall, SHORT_LINK, 300).width == wide
    with pytest.raises(InputProblems):
        label(wide * 0.85, tall * 0.85, SHORT_LINK, 300)


def test_a_lot_s_code_is_never_cut() -> None:
    """Twelve Ms have no room beside a code on 50 mm; a label of 57 mm shrinks the code for them."""
    dates = sample_dates(sample_lot(lot_code="M" * 12))
    with pytest.raises(InputProblems):
        labels(dates, label_stock="roll-50x25mm")
    assert first(dates, label_stock="roll-57x32mm")[0] == "M" * 12


# --- where it stands


@EVERY_LABEL
@pytest.mark.slow
def test_no_text_leaves_its_box_and_no_two_boxes_overlap(stock: str, lots: list[StorageDates]) -> None:
    """As data, before any of it is ink."""
    sheets = labels(*lots, label_stock=stock).sheets
    assert leaving_their_box(sheets) == []
    assert [pair for sheet in sheets for pair in overlapping(sheet)] == []


@EVERY_LABEL
def test_ink_stays_away_from_the_label_s_edges(stock: str, lots: list[StorageDates]) -> None:
    """Sheets feed up to about a millimetre off; a code's quiet zone may reach the edge, not its modules."""
    for drawing in drawings(labels(*lots, label_stock=stock)):
        inner = Box(0, 0, drawing.width, drawing.height).inset(EDGE)
        inked = [element.box for element in drawing.elements if isinstance(element, Text)]
        inked += [
            element.box.inset(4 * element.sized.module)
            for element in drawing.elements
            if isinstance(element, Code)
        ]
        assert [box for box in inked if not inner.holds(box)] == []


@EVERY_LABEL
@pytest.mark.slow
def test_every_character_of_the_pdf_lies_in_the_box_of_its_text(stock: str, lots: list[StorageDates]) -> None:
    """Read back from the finished file: a twentieth of a millimetre is allowed for rounding."""
    inked = labels(*lots, label_stock=stock)
    boxes = {
        number: [
            placed.on_sheet(element.box)
            for placed in sheet.placed
            for element in placed.drawing.elements
            if isinstance(element, Text)
        ]
        for number, sheet in enumerate(inked.sheets, start=1)
    }
    outside = [
        (number, box)
        for number, box in characters(inked)
        if not any(text.holds(box, slack=0.05) for text in boxes[number])
    ]
    assert outside == []


def test_module_size_per_stock() -> None:
    """Whole dots of 300 an inch, on rolls of 203: 0.62 mm and up on every stock, and as large as these."""
    modules = {
        stock: codes(labels(sample_dates(), label_stock=stock).sheets)[0].sized.module for stock in STOCKS
    }
    assert min(modules.values()) > 0.62
    known = {
        "letter-3x10": 0.677,
        "letter-2x5": 0.931,
        "letter-2x3": 0.931,
        "a4-3x7": 0.762,
        "a4-3x8": 0.847,
        "a4-2x7": 0.931,
        "roll-57x32mm": 0.751,
        "roll-50x25mm": 0.626,
        "roll-62x29mm": 0.751,
        "roll-51x25mm": 0.626,
        "roll-76x51mm": 0.876,
        "roll-102x152mm": 1.126,
        "plain-letter": 0.931,
        "plain-a4": 0.931,
    }
    assert {stock: round(modules[stock], 3) for stock in known} == known


# --- reading the codes


@EVERY_LABEL
@pytest.mark.parametrize("link", [None, "https://farm.example/lots/{lot}#row-{row}"], ids=["dates", "link"])
@pytest.mark.slow
def test_the_proof_reads_every_code(stock: str, lots: list[StorageDates], link: str | None) -> None:
    """Text and place of each, on whole pages."""
    prove(labels(*lots, label_stock=stock, link=link))


@EVERY_LABEL
@pytest.mark.slow
def test_one_reader_reads_whole_pages_after_a_mild_blur(stock: str, lots: list[StorageDates]) -> None:
    """zxing-cpp, all codes of a page at once."""
    inked = labels(*lots, label_stock=stock)
    read = [Counter(code.text for code in zxingcpp.read_barcodes(page)) for page in blurred(inked)]
    assert read == [Counter(code.text for code in page) for page in inked.pages]


@EVERY_LABEL
@pytest.mark.slow
def test_another_reader_reads_each_code_cut_out_after_a_mild_blur(
    stock: str, lots: list[StorageDates]
) -> None:
    """OpenCV, one code at a time and enlarged twice; the same drawing is looked at once."""
    inked = labels(*lots, label_stock=stock)
    expected, read = [], []
    for page, wanted in zip(blurred(inked), inked.pages, strict=True):
        for code in {code.text: code for code in wanted}.values():
            expected.append(code.text)
            read.append(read_alone(page, code.box.inset(-2.0), looks=3))
    assert read == expected
