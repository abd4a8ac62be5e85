"""Which labels a printing takes: none twice, and none that was printed on meanwhile."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tagmaker.errors import UsageProblem
from tagmaker.record.labels import LabelUsed, Sheet, Start, stretch

BEGUN = Sheet(4, 13)  # the fourth sheet, twelve labels of it printed


def start(first: int | None, **more: Any) -> Start:
    """A printing on sheets of thirty labels."""
    return Start(stock="letter-3x10", per_page=30, first=first, **more)


@pytest.mark.parametrize(
    ("first", "sheet", "labels", "expected", "follows"),
    [
        (1, Sheet(), 12, (1, 1), Sheet(1, 13)),
        (None, Sheet(), 12, (1, 1), Sheet(1, 13)),
        (7, Sheet(), 12, (1, 7), Sheet(1, 19)),
        (None, BEGUN, 12, (4, 13), Sheet(4, 25)),
        (13, BEGUN, 18, (4, 13), Sheet(4, 1)),
        (13, BEGUN, 19, (4, 13), Sheet(5, 2)),
        (20, BEGUN, 1, (4, 20), Sheet(4, 21)),
        (1, BEGUN, 61, (5, 1), Sheet(7, 2)),
        (1, Sheet(4, 1), 30, (5, 1), Sheet(5, 1)),
        (None, Sheet(4, 1), 30, (5, 1), Sheet(5, 1)),
        (5, Sheet(4, 1), 3, (5, 5), Sheet(5, 8)),
    ],
)
def test_where_a_printing_begins_and_what_follows(
    first: int | None, sheet: Sheet, labels: int, expected: tuple[int, int], follows: Sheet
) -> None:
    """Label 1 begins a sheet, any other goes on with the one printed last, and a full one makes way."""
    taken = stretch(start(first), sheet, labels)
    assert (taken.sheet, taken.first) == taken.positions[0] == expected
    assert (taken.follows, len(taken.positions)) == (follows, labels)


@pytest.mark.parametrize(
    ("first", "more"),
    [(7, {}), (12, {"offered": 13}), (1, {"offered": 1}), (7, {"offered": 7}), (20, {"offered": 20})],
)
def test_a_label_that_was_printed_on_is_refused(first: int, more: dict[str, Any]) -> None:
    """Also the label that a form offered as the first free one, once that is another."""
    with pytest.raises(LabelUsed) as error:
        stretch(start(first, **more), BEGUN, 1)
    assert (error.value.free, "--first next" in str(error.value)) == (13, True)


@pytest.mark.parametrize(("first", "offered"), [(7, None), (7, 7), (20, 13)])
def test_another_sheet_has_its_own_free_labels(first: int, offered: int | None) -> None:
    """It is begun where it is said, and counts as the sheet printed last from then on."""
    taken = stretch(start(first, offered=offered, another=True), BEGUN, 2)
    assert (taken.positions, taken.follows) == (((5, first), (5, first + 1)), Sheet(5, first + 2))


def test_a_new_sheet_may_always_be_begun() -> None:
    """A form that showed label 13 is sent with label 1: somebody put a fresh sheet in."""
    assert stretch(start(1, offered=13), BEGUN, 3).positions == ((5, 1), (5, 2), (5, 3))


def test_a_label_that_no_sheet_has_is_a_mistyped_command() -> None:
    """Thirty-one of thirty."""
    with pytest.raises(UsageProblem, match=r"from 1 to 30 \(got 31\)"):
        stretch(start(31), Sheet(), 1)


def test_every_label_of_a_roll_is_a_new_one() -> None:
    """One label is one page, so none is ever next."""
    roll = Start(stock="roll", per_page=1, first=None, offered=1)
    taken = stretch(roll, Sheet(6, 1), 3)
    assert (taken.positions, taken.follows) == (((7, 1), (8, 1), (9, 1)), Sheet(9, 1))


@given(
    st.integers(1, 40),
    st.lists(st.tuples(st.none() | st.integers(1, 40), st.booleans(), st.integers(1, 90)), max_size=12),
)
def test_no_two_printings_share_a_label(per_page: int, wishes: list[tuple[int | None, bool, int]]) -> None:
    """Whatever is asked for, one after another: what is refused takes nothing, the rest is disjoint."""
    sheet, used = Sheet(), set[tuple[int, int]]()
    for first, another, labels in wishes:
        wish = Start(stock="x", per_page=per_page, first=first, another=another)
        try:
            taken = stretch(wish, sheet, labels)
        except UsageProblem:
            continue
        assert not used & set(taken.positions)
        used |= set(taken.positions)
        sheet = taken.follows
