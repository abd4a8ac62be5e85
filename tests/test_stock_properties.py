"""What holds for every label stock and printer that settings can describe."""

from __future__ import annotations

from itertools import combinations
from pathlib import Path

import pytest
from click.testing import CliRunner
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from tagmaker.cli import main
from tagmaker.errors import InputProblems
from tagmaker.farm import Farm, Printer, StockFigures
from tagmaker.paper.press.boxes import Box, Rule, Text
from tagmaker.paper.press.on_paper import check_on_paper
from tagmaker.paper.proof.proving import prove
from tagmaker.paper.stock.feeding import feed
from tagmaker.paper.stock.label_stock import EDGE, LabelStock, label_stock
from tagmaker.paper.stock.listing import stock_list
from tagmaker.paper.stock.test_page import test_page as make_test_page
from tagmaker.telling.wording import Wording
from tests.paper_samples import sample_farm
from tests.sheet_checks import overlap
from tests.wrap_samples import labels, typical

pytestmark = pytest.mark.slow

SLACK = 0.02  # [mm] that a sheet may be off where its figures are added up
SIDES = st.floats(5, 450).map(lambda side: round(side, 2))  # [mm]
EDGES = st.floats(0, 50).map(lambda edge: round(edge, 1)) | st.floats(0, 5)  # [mm]
SHIFTS = st.floats(-3, 3) | st.floats(-30, 30)  # [mm]
SCALES = st.floats(0.9, 1.1)


@st.composite
def figures(draw: st.DrawFn) -> StockFigures:
    """Figures that may close to their page, or not."""
    if draw(st.booleans()):
        width, height = draw(SIDES), draw(SIDES)
        return StockFigures(
            name="own", page_width=width, page_height=height, width=width, height=height, is_roll=True
        )
    page = draw(st.sampled_from([(215.9, 279.4), (210.0, 297.0)]) | st.tuples(SIDES, SIDES))
    counts = draw(st.integers(1, 5)), draw(st.integers(1, 12))
    sizes = [max(side / n * draw(st.floats(0.5, 1.02)), 5) for side, n in zip(page, counts, strict=True)]
    spare = [side - n * size for side, n, size in zip(page, counts, sizes, strict=True)]
    starts = [max(white * draw(st.floats(0, 0.5)), 0) for white in spare]
    pitches = [size + max(white / n / 2, 0) for size, white, n in zip(sizes, spare, counts, strict=True)]
    return StockFigures(
        name="own",
        page_width=page[0],
        page_height=page[1],
        columns=counts[0],
        rows=counts[1],
        width=sizes[0],
        height=sizes[1],
        left=starts[0],
        top=starts[1],
        pitch_x=pitches[0],
        pitch_y=pitches[1],
        is_plain=draw(st.booleans()),
    )


PRINTERS = st.builds(
    Printer,
    name=st.just("shed"),
    offset_x=SHIFTS,
    offset_y=SHIFTS,
    scale_x=SCALES,
    scale_y=SCALES,
    turn=st.sampled_from([0, 90, 180, 270]),
    dpi=st.none() | st.integers(100, 2400),
    unprintable=st.none() | st.tuples(EDGES, EDGES, EDGES, EDGES),
)


def farm_with(own: StockFigures, printer: Printer | None = None) -> Farm:
    """A farm that prints on its own stock."""
    farm = sample_farm(label_stock="own", label_stocks={"own": own})
    return (
        farm
        if printer is None
        else sample_farm(
            label_stock="own", label_stocks={"own": own}, printer="shed", printers={"shed": printer}
        )
    )


def closing(own: StockFigures) -> LabelStock | None:
    """The stock of some figures; None where they are refused, with the arithmetic."""
    try:
        return label_stock(farm_with(own))
    except InputProblems as error:
        for problem in error.problems:
            assert problem.where == "label stock own"
            assert "(got " in problem.what
        return None


@settings(max_examples=150)
@given(figures())
def test_figures_are_refused_or_every_label_is_on_the_page_and_apart(own: StockFigures) -> None:
    """What a grower measured may not add up; what adds up is printed as it was measured."""
    stock = closing(own)
    assume(stock is not None)
    assert stock is not None
    page, boxes = Box(0, 0, own.page_width, own.page_height), stock.boxes()
    assert len(boxes) == own.columns * own.rows
    assert [box for box in boxes if not page.holds(box, SLACK)] == []
    assert [pair for pair in combinations(boxes, 2) if overlap(*pair, SLACK)] == []


@settings(max_examples=150)
@given(figures(), PRINTERS)
def test_tags_lie_in_their_labels_with_their_words_on_what_is_printed(
    own: StockFigures, printer: Printer
) -> None:
    """Or the printer's own figures are refused; never a tag of no size."""
    stock = closing(own)
    assume(stock is not None)
    assert stock is not None
    try:
        tags = stock.tag_boxes(printer)
    except InputProblems as error:
        (problem,) = error.problems
        assert problem.where == "tagmaker.toml, [printers.shed]"
        return
    left, top, right, bottom = stock.unprintable(printer)
    fed = feed(printer, stock.page_width, stock.page_height)
    printed = Box(left, top, fed.width - left - right, fed.height - top - bottom)
    spare = EDGE * (1 - min(printer.scale_x, printer.scale_y)) + 0.02  # [mm] 1.5 mm may be printed smaller
    for tag, label in zip(tags, stock.boxes(), strict=True):
        assert label.holds(tag)
        words = tag.inset(min(EDGE, tag.width / 2, tag.height / 2))
        assert (tag.width >= label.width / 2, tag.height >= label.height / 2) == (True, True)
        assert min(tag.width, tag.height) < 2 * EDGE or printed.holds(fed.box(words), spare)


@settings(max_examples=30)
@given(figures(), PRINTERS)
def test_a_test_page_is_proven_or_refused_for_its_size(own: StockFigures, printer: Printer) -> None:
    """Its lines and words stay on the page; the list of stocks has a place for it too."""
    farm, wording = farm_with(own, printer), Wording("C")
    assume(closing(own) is not None)
    assert "own" in stock_list(farm, wording)
    if min(own.page_width, own.page_height) < 17:
        with pytest.raises(InputProblems, match="at least 17 mm either way"):
            make_test_page(farm, wording)
        return
    inked = make_test_page(farm, wording)
    prove(inked)
    for sheet in inked.sheets:
        (placed,) = sheet.placed
        page = Box(0, 0, sheet.width, sheet.height)
        for part in placed.drawing.elements:
            if isinstance(part, Text):
                assert page.holds(part.box, SLACK)
                assert not part.lines[-1].text.endswith("…")
            if isinstance(part, Rule):
                ends = Box(part.x1, part.y1, part.x2 - part.x1, part.y2 - part.y1)
                assert page.holds(ends, SLACK)


@settings(max_examples=30)
@given(figures(), PRINTERS, st.sampled_from([None, "HTTPS://LMYARD.EXAMPLE/L/{lot}"]))
def test_labels_are_proven_or_refused(own: StockFigures, printer: Printer, link: str | None) -> None:
    """Whatever a printer does to a page, every code of it reads back in its place."""
    assume(closing(own) is not None)
    farm = farm_with(own, printer)
    stock = {"label_stock": "own", "label_stocks": farm.label_stocks}
    lots = typical()[:3]
    try:
        inked = labels(*lots, **stock, printer="shed", printers=farm.printers, link=link)
    except InputProblems as error:
        said = [problem.what for problem in error.problems]
    else:
        said = []
        check_on_paper(inked)
        assert prove(inked).codes > 0
    ways = ("a label must have room", "offset, scale and unprintable margins must", "a code of")
    assert [what for what in said if not what.startswith(ways)] == []


@pytest.mark.parametrize("kind", ["crates", "checklist"])
def test_an_offset_that_takes_words_off_the_paper_is_the_settings_problem(tmp_path: Path, kind: str) -> None:
    """Exit code 1, with the printer and how far it goes; nothing is written."""
    sheet = tmp_path / "lots.csv"
    sheet.write_text("lot,crop,form,cut,stage,stems\n041,tulip,single,2027-04-20T08:00,tight,40\n")
    (tmp_path / "tagmaker.toml").write_text("[printers.far]\noffset_y = -20\n")
    args = [kind, str(sheet), "--today", "2027-04-21", "--printer", "far"]
    result = CliRunner().invoke(main, args)
    assert (result.exit_code, "[printers.far]: offset and scale must leave all words" in result.stderr) == (
        1,
        True,
    )
    assert "mm beyond its top edge" in result.stderr
    assert not (tmp_path / "papers").exists()


def test_unprintable_margins_turn_with_the_page() -> None:
    """A page that is turned clockwise comes out with its left edge at the top of the paper."""
    own = StockFigures(name="own", page_width=60, page_height=40, width=60, height=40, is_roll=True)
    printer = Printer(name="shed", turn=90, unprintable=(1.5, 6.5, 1.5, 1.5))
    (tag,) = LabelStock(**{name: getattr(own, name) for name in StockFigures.__slots__}).tag_boxes(printer)
    assert tag == pytest.approx((5.0, 0.0, 55.0, 40.0))
