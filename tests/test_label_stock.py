"""Label stocks: every sheet closes to its page, and one that does not is refused."""

from dataclasses import asdict, replace
from itertools import combinations
from typing import Any

import pytest

from tagmaker.errors import InputProblems
from tagmaker.farm import Printer, StockFigures
from tagmaker.paper.press.boxes import Box, Rule
from tagmaker.paper.stock.label_stock import EDGE, STOCKS, LabelStock, cut_marks, label_stock
from tests.paper_samples import sample_farm
from tests.sheet_checks import overlap

ALL = pytest.mark.parametrize("stock", STOCKS.values(), ids=STOCKS.keys())


def named(name: str) -> LabelStock:
    """A stock of a farm without any of its own."""
    return label_stock(sample_farm(label_stock=name))


def messages(error: pytest.ExceptionInfo[InputProblems]) -> list[str]:
    """What each problem says must be."""
    return [problem.what for problem in error.value.problems]


@ALL
def test_every_label_lies_on_its_page(stock: LabelStock) -> None:
    """No label of any stock crosses the page's edge."""
    page = Box(0, 0, stock.page_width, stock.page_height)
    assert [box for box in stock.boxes() if not page.holds(box)] == []


@ALL
def test_labels_do_not_overlap(stock: LabelStock) -> None:
    """No two labels of a stock share paper."""
    assert [pair for pair in combinations(stock.boxes(), 2) if overlap(*pair)] == []


@ALL
def test_margins_and_labels_close_to_the_page(stock: LabelStock) -> None:
    """Opposite margins are equal to half a millimetre (figures from memory)."""
    last = stock.boxes()[-1]
    spare = (stock.page_width - last.right - stock.left, stock.page_height - last.bottom - stock.top)
    assert [round(abs(margin), 1) <= 0.5 for margin in spare] == [True, True]


@pytest.mark.parametrize(
    ("name", "labels"), [("letter-3x10", 30), ("a4-3x7", 21), ("a4-2x7", 14), ("roll-57x32mm", 1)]
)
def test_a_stock_is_named_by_its_rows_and_columns(name: str, labels: int) -> None:
    """3 × 10 labels are thirty on a page."""
    assert (named(name).per_page, len(named(name).boxes())) == (labels, labels)


def test_labels_go_row_by_row_from_the_top_left() -> None:
    """The second label lies beside the first, the fourth below it."""
    first, second, _, fourth = named("letter-3x10").boxes()[:4]
    assert (second.y, round(second.x - first.x, 2)) == (first.y, 69.85)
    assert (fourth.x, round(fourth.y - first.y, 2)) == (first.x, 25.4)


def test_an_unknown_stock_names_those_that_there_are() -> None:
    """The message lists the stocks and what was asked for."""
    with pytest.raises(InputProblems) as error:
        named("letter-9x9")
    (message,) = messages(error)
    assert message.startswith("label_stock must be one of letter-3x10, letter-2x5,")
    assert message.endswith('plain-a4 (got "letter-9x9")')


@pytest.mark.parametrize(
    ("change", "message"),
    [
        ({"left": 20.0}, "columns must end on the page of 215.9 mm (got 20 + 2 x 69.85 + 66.7 = 226.40 mm)"),
        ({"top": 26.0}, "rows must end on the page of 279.4 mm (got 26 + 9 x 25.4 + 25.4 = 280.00 mm)"),
        ({"pitch_x": 60.0}, "columns must not overlap (got a pitch of 60 mm for labels of 66.7 mm)"),
        ({"rows": 0}, "rows must be at least one label of some size on the page (got 0 of 25.4 mm)"),
    ],
)
def test_a_sheet_that_does_not_close_is_refused(change: dict[str, Any], message: str) -> None:
    """Each way of not adding up has its own message."""
    with pytest.raises(InputProblems) as error:
        LabelStock(**{**asdict(named("letter-3x10")), **change})
    assert message in messages(error)


# --- where the tags go


@ALL
def test_every_tag_lies_in_its_label_and_its_words_on_paper_that_is_printed(stock: LabelStock) -> None:
    """Words keep 1.5 mm from a tag's edges, so with five unprintable millimetres tags begin at 3.5 mm."""
    edge = max(stock.unprintable(Printer())[0] - EDGE, 0.0)
    printed = Box(0, 0, stock.page_width, stock.page_height).inset(edge)
    tags = stock.tag_boxes(Printer())
    assert len({(round(tag.width, 6), round(tag.height, 6)) for tag in tags}) == 1
    assert [tag for tag, label in zip(tags, stock.boxes(), strict=True) if not label.holds(tag)] == []
    assert [tag for tag in tags if not printed.holds(tag)] == []


def test_tags_are_as_large_as_their_labels_where_those_keep_away_from_the_edge() -> None:
    """Only a sheet without margins gives some of its labels up."""
    smaller = [
        name
        for name, stock in STOCKS.items()
        if stock.tag_boxes(Printer())[0][2:] != pytest.approx(stock.boxes()[0][2:])
    ]
    assert smaller == ["a4-3x8"]


def test_a_printer_with_wide_margins_makes_tags_smaller_not_cut() -> None:
    """Seven unprintable millimetres below take 5.5 from the last row, and so from all, but for its margin."""
    wide = Printer(unprintable=(5.0, 5.0, 5.0, 20.0))
    stock = named("letter-3x10")
    assert stock.tag_boxes(wide)[0].height == pytest.approx(25.4 - (20.0 - EDGE - 12.7))


def test_cut_marks_stay_where_no_words_are() -> None:
    """They reach less far into a label than its words keep away, and stand at every corner of plain paper."""
    stock = named("plain-letter")
    marks = cut_marks(stock)
    inner = [label.inset(EDGE) for label in stock.boxes()]
    ends = [(rule.x1, rule.y1) for rule in marks.elements if isinstance(rule, Rule)]
    ends += [(rule.x2, rule.y2) for rule in marks.elements if isinstance(rule, Rule)]
    assert len(marks.elements) == 2 * (stock.columns + 1) * (stock.rows + 1)
    assert [end for end in ends for box in inner if box.holds(Box(*end, 0, 0), slack=0)] == []


# --- the farm's own


def test_a_stock_of_the_farm_s_own_takes_the_place_of_ours() -> None:
    """Measured sheets differ by up to a millimetre from any table."""
    figures = StockFigures(
        name="a4-3x7", page_width=210, page_height=297, width=60, height=38, left=10, top=20
    )
    farm = replace(sample_farm(label_stock="a4-3x7"), label_stocks={"a4-3x7": figures})
    assert label_stock(farm).boxes() == (Box(10, 20, 60, 38),)


def test_all_that_is_wrong_with_all_own_stocks_is_said_at_once() -> None:
    """With the sum that does not close."""
    wide = StockFigures(
        name="wide", page_width=210, page_height=297, height=38, width=120, columns=2, pitch_x=120
    )
    tight = replace(wide, name="tight", width=60, pitch_x=50)
    farm = replace(sample_farm(), label_stocks={"wide": wide, "tight": tight})
    with pytest.raises(InputProblems) as error:
        label_stock(farm)
    assert [(problem.where, problem.what) for problem in error.value.problems] == [
        (
            "label stock wide",
            "columns must end on the page of 210 mm (got 0 + 1 x 120 + 120 = 240.00 mm)",
        ),
        ("label stock tight", "columns must not overlap (got a pitch of 50 mm for labels of 60 mm)"),
    ]
