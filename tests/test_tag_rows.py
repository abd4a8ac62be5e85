"""The dates of a wrap label: which caption belongs to which date, and how large captions get."""

from __future__ import annotations

import pytest

from tagmaker.paper.press.boxes import Box, Rule, Text
from tagmaker.paper.tag.rows import LEAST_DATE, draw_rows, plan_rows
from tagmaker.paper.tag.words import DateRow

ROWS = (DateRow("FRI 23 APR", "5:30 PM", "INTO WATER BY"), DateRow("SAT 24 APR", "6:30 AM", "SELL BY"))
SIZES = [(width, height) for width in (38, 44, 57) for height in (11, 13, 17, 22, 30, 45)]


def drawn(rows: tuple[DateRow, ...], width: float, height: float) -> tuple[dict[str, Text], list[Rule]]:
    """The texts of some rows in a space [mm], and the lines between them."""
    elements = list(draw_rows(rows, Box(0, 0, width, height), plan_rows(rows, width, height)))
    texts = {part.lines[0].text: part for part in elements if isinstance(part, Text)}
    return texts, [part for part in elements if isinstance(part, Rule)]


@pytest.mark.parametrize(("width", "height"), SIZES)
def test_a_caption_stands_nearer_to_its_own_date_than_to_the_one_above(width: float, height: float) -> None:
    """Twice as near at least where captions stand above their dates."""
    plan = plan_rows(ROWS, width, height)
    assert plan.mode in ("above", "split")
    assert plan.least >= LEAST_DATE
    texts, _ = drawn(ROWS, width, height)
    caption = texts["SELL BY"].box
    before = [text.box.bottom for name, text in texts.items() if name.startswith(("FRI", "5:30"))]
    behind = next(text.box.y for name, text in texts.items() if name.startswith("SAT"))
    assert caption.y - max(before) >= 2 * (behind - caption.bottom)


def test_large_labels_have_larger_captions_and_a_line_between_the_dates() -> None:
    """6 pt where the dates need the height, 7.5 and 9 pt where they do not; the word for a date grows too."""
    heights = (11.0, 14.0, 18.0)
    found = [drawn(ROWS, 44, height) for height in heights]
    assert [texts["SELL BY"].size for texts, _ in found] == [6.0, 7.5, 9.0]
    assert [len(rules) for _, rules in found] == [0, 1, 1]
    word = (DateRow("IN WATER", is_date=False), ROWS[1])
    assert [drawn(word, 44, height)[0]["IN WATER"].size for height in (9.0, 20.0)] == [10.0, 16.0]
    assert all(min(text.size for name, text in texts.items() if "APR" in name) >= 10 for texts, _ in found)
