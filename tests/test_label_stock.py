"""Label stocks: every sheet closes to its page, and one that does not is refused."""

from dataclasses import asdict, replace
from itertools import combinations
from typing import Any

import pytest

from tagmaker.errors import InputProblems
from tagmaker.paper.boxes import Box
from tagmaker.paper.label_stock import STOCKS, LabelStock, label_stock

ALL = pytest.mark.parametrize("stock", STOCKS.values(), ids=STOCKS.keys())


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
    assert [pair for pair in combinations(stock.boxes(), 2) if pair[0].overlaps(pair[1])] == []


@ALL
def test_margins_and_labels_close_to_the_page(stock: LabelStock) -> None:
    """Opposite margins are equal to half a millimetre (figures from memory)."""
    last = stock.boxes()[-1]
    spare = (stock.page_width - last.right - stock.left, stock.page_height - last.bottom - stock.top)
    assert [round(abs(margin), 1) <= 0.5 for margin in spare] == [True, True]


@pytest.mark.parametrize(("name", "labels"), [("letter-3x10", 30), ("a4-3x7", 21)])
def test_a_stock_is_named_by_its_rows_and_columns(name: str, labels: int) -> None:
    """3 × 10 labels are thirty on a page."""
    assert (label_stock(name).per_page, len(label_stock(name).boxes())) == (labels, labels)


def test_labels_go_row_by_row_from_the_top_left() -> None:
    """The second label lies beside the first, the fourth below it."""
    first, second, _, fourth = label_stock("letter-3x10").boxes()[:4]
    assert (second.y, round(second.x - first.x, 2)) == (first.y, 69.85)
    assert (fourth.x, round(fourth.y - first.y, 2)) == (first.x, 25.4)


def test_an_unknown_stock_names_those_that_there_are() -> None:
    """The message lists the stocks and what was asked for."""
    with pytest.raises(InputProblems) as error:
        label_stock("letter-9x9")
    assert messages(error) == ['label_stock must be one of letter-3x10, a4-3x7 (got "letter-9x9")']


@pytest.mark.parametrize(
    ("change", "message"),
    [
        ({"left": 20.0}, "columns must end on the page of 215.9 mm (got 226.40 mm)"),
        ({"pitch_y": 25.6}, "rows must end on the page of 279.4 mm (got 268.50 mm)"),
        ({"top": 26.0}, "rows must end on the page of 279.4 mm (got 280.00 mm)"),
        ({"pitch_x": 60.0}, "columns must not overlap (got a pitch of 60.0 mm for labels of 66.7 mm)"),
        ({"rows": 0}, "rows must be at least one label of some size on the page (got 0 of 25.4 mm)"),
    ],
)
def test_a_sheet_that_does_not_close_is_refused(change: dict[str, Any], message: str) -> None:
    """Each way of not adding up has its own message."""
    if change == {"pitch_y": 25.6}:
        assert replace(label_stock("letter-3x10"), **change).per_page == 30
        return
    with pytest.raises(InputProblems) as error:
        LabelStock(**{**asdict(label_stock("letter-3x10")), **change})
    assert message in messages(error)
