"""Text in its box: shrunk, then wrapped, then cut, and never outside."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tagmaker.paper.press.boxes import Box, Drawing, Placed, Sheet, Text
from tagmaker.paper.press.fitting import fit, text_height, wrap
from tagmaker.paper.press.fonts import face
from tests.sheet_checks import leaving_their_box

BOX = Box(3, 5, 40, 10)  # [mm]


def words(text: Text) -> list[str]:
    """The lines as they are printed."""
    return [line.text for line in text.lines]


def test_a_short_text_keeps_the_size_wished_for() -> None:
    """Nothing shrinks that fits."""
    text = fit("041", BOX, most=14, least=8)
    assert (words(text), text.size) == (["041"], 14)


def test_a_longer_text_shrinks_before_it_wraps() -> None:
    """Sizes between the two come first."""
    text = fit("Pale Harbour, a late one", BOX, most=14, least=8, lines=2)
    assert words(text) == ["Pale Harbour, a late one"]
    assert 8 <= text.size < 14


def test_it_wraps_where_the_least_size_is_too_wide() -> None:
    """At the largest size that holds it."""
    text = fit("Pale Harbour, a late one with a long name", BOX, most=14, least=10, lines=2)
    assert words(text) == ["Pale Harbour, a late", "one with a long name"]
    assert text.size >= 10


def test_it_is_cut_behind_a_word_where_even_that_is_too_long() -> None:
    """With an ellipsis, without a comma before it."""
    text = fit("Pale Harbour, a late one with a very, very long name indeed", BOX, most=12, least=12)
    assert (words(text), text.size) == (["Pale Harbour, a late…"], 12)
    assert words(fit("Pale Harbour a late, extraordinary one", BOX, most=12, least=12)) == [
        "Pale Harbour a late…"
    ]


def test_one_endless_word_is_broken_by_letters() -> None:
    """Two full lines and an ellipsis."""
    text = fit("W" * 60, BOX, most=12, least=12, lines=2)
    assert [len(line) for line in words(text)] == [10, 10]
    assert words(text)[1].endswith("W…")


def test_a_low_box_shrinks_the_text_below_the_least_size() -> None:
    """A box is never left, even where its height was planned too small."""
    text = fit("Ég", Box(0, 0, 40, 2), most=14, least=8)
    assert text.size < 8
    assert leaving_their_box(sheet(text)) == []


@pytest.mark.parametrize(("align", "left"), [("left", 3.0), ("right", 43.0), ("centre", 23.0)])
def test_lines_stand_left_right_or_in_the_middle(align: str, left: float) -> None:
    """The share of a line's width that lies before its place."""
    (line,) = fit("041", BOX, most=14, least=8, align=align).lines  # type: ignore[arg-type]  # from the table
    share = {"left": 0.0, "right": 1.0, "centre": 0.5}[align]
    assert line.x + share * face("regular").width("041") * 14 * 25.4 / 72 == pytest.approx(left)


def test_capitals_stand_in_the_middle_whatever_hangs_below() -> None:
    """A g in a name does not lift its neighbours."""
    lines = [fit(text, BOX, most=10, least=8).lines[0] for text in ("AB", "Ag")]
    assert lines[0].y == lines[1].y == pytest.approx(5 + 5 + 0.711 * 10 * 25.4 / 72 / 2)


def test_text_height_is_what_a_box_must_have() -> None:
    """A box of that height takes the lines at that size, one a hair lower does not."""
    tall = text_height("Ég", 2, 9.0)
    long = "Ég Ég Ég Ég Ég Ég Ég Ég Ég Ég Ég"
    assert fit(long, Box(0, 0, 30, tall + 1e-6), most=9, least=9, lines=2).size == 9
    assert len(fit(long, Box(0, 0, 30, tall - 0.1), most=9, least=9, lines=2).lines) == 1


@pytest.mark.parametrize("width", [0.5, 3.0, 20.0])
def test_wrapping_loses_no_letter(width: float) -> None:
    """Only spaces at line ends go."""
    text = "one two threefourfivesix seven"
    assert "".join(wrap(text, width)).replace(" ", "") == text.replace(" ", "")


def sheet(text: Text) -> list[Sheet]:
    """A page with one text on it."""
    return [Sheet(100, 100, (Placed(Drawing(100, 100, (text,)), 0, 0),))]


@pytest.mark.slow
@given(
    text=st.text(st.characters(codec="utf-8", categories=["L", "N", "P", "Zs", "S"]), max_size=80),
    width=st.floats(4, 80),
    height=st.floats(1, 30),
    most=st.floats(6, 40),
    lines=st.integers(1, 4),
    weight=st.sampled_from(["regular", "bold"]),
    stand=st.sampled_from(["top", "middle", "bottom"]),
)
def test_no_text_ever_leaves_its_box(
    text: str, width: float, height: float, most: float, lines: int, weight: str, stand: str
) -> None:
    """Whatever it says, and however small the box."""
    box = Box(2, 3, width, height)
    fitted = fit(text, box, most=most, least=6, lines=lines, weight=weight, stand=stand)  # type: ignore[arg-type]
    assert leaving_their_box(sheet(fitted)) == []
    assert len(fitted.lines) <= lines


def test_a_box_measured_for_two_lines_holds_two_lines() -> None:
    """Whatever the rounding of its height, words that were measured for a box are not cut in it."""
    words = "Ragged Anthem · red and green · 10"
    for gap in (n / 7 for n in range(1, 60)):
        height = gap + text_height(words, 2, 7.5) - gap
        text = fit(words, Box(0, 0, 30.0, height), most=9.5, least=7.5, lines=2)
        assert " ".join(line.text for line in text.lines) == words
