"""Text that stays in its box: shrunk, then wrapped, then cut."""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache
from typing import Literal

from tagmaker.paper.press.boxes import MM, Box, Line, Text, Weight
from tagmaker.paper.press.characters import tidy
from tagmaker.paper.press.fonts import CAP_HEIGHT, REMEMBERED, Face, face

LEADING = 1.17  # line pitch over the size, as the packaged font's own line height
SIZE_STEP = 0.25  # [pt] grain of sizes tried where text is wrapped
ELLIPSIS = "…"
# Ideographs and kana, between which a line may end (Unicode annex 14, classes ID and CJ, the ranges in use).
FREE = (("\u2e80", "\u30ff"), ("\u3400", "\u9fff"), ("\uf900", "\ufaff"), ("\U00020000", "\U0003ffff"))
NOT_FIRST = frozenset(
    "、。，．：；？！）」』】〉》ー々ぁぃぅぇぉっゃゅょァィゥェォッャュョ)],.:;!?"
)  # on a line

Align = Literal["left", "centre", "right"]
Stand = Literal["top", "middle", "bottom"]
ROUNDING = 1e-6  # [pt] by which lines may be higher than a box that was measured for them
SHARES = {"left": 0.0, "centre": 0.5, "right": 1.0}  # of the white that stands to the left


def fit(
    text: str,
    box: Box,
    *,
    most: float,
    least: float,
    lines: int = 1,
    weight: Weight = "regular",
    align: Align = "left",
    stand: Stand = "middle",
) -> Text:
    """A text that stays inside its box, ink and all.

    It is set on one line between the two sizes; where even the least is too wide, wrapped to at most `lines`
    lines at the largest size that holds it; where that fails, cut behind a word with "…".

    Args:
        text: what to print; white space is tidied
        box: where it must stay [mm]
        most: size wished for [pt]
        least: smallest size [pt]; a box lower than its ink shrinks it all the same
        lines: lines allowed
        weight: "regular" or "bold"
        align: across the box
        stand: up and down the box
    """
    text = tidy(text)
    width, height = box.width * MM, box.height * MM  # [pt]
    used = face(weight)
    reach = _reach(used, text)
    highest = height / sum(reach)  # [pt] size at which one line fills the box
    least = min(least, highest)
    size = min(most, highest, width / max(used.width(text), 1e-9))
    if size >= least:
        return _set((text,), size, reach, box, weight, align, stand)
    size = most
    while lines > 1 and size >= least:
        rows = wrap(text, width / size, weight)
        if len(rows) <= lines and _height(len(rows), reach) * size <= height + ROUNDING:
            return _set(rows, size, reach, box, weight, align, stand)
        size -= SIZE_STEP
    allowed = max(n for n in range(1, lines + 1) if n == 1 or _height(n, reach) * least <= height + ROUNDING)
    rows = _cut(wrap(text, width / least, weight), allowed, width / least, weight)
    return _set(rows, least, reach, box, weight, align, stand)


def wrap(text: str, width: float, weight: Weight = "regular") -> tuple[str, ...]:
    """A tidied text in lines no wider than a width [em]; a word wider than a line is broken by letters.

    Chinese and Japanese, which have no spaces, fill a line that other words began.
    """
    measure = face(weight).width
    rows: list[str] = []
    for word in text.split(" "):
        if rows and measure(f"{rows[-1]} {word}") <= width:
            rows[-1] += f" {word}"
            continue
        rest = word
        if rows and not word.isascii():
            ends = (n for n in range(len(word) - 1, 0, -1) if _may_break(word, n))
            begun = next((n for n in ends if measure(f"{rows[-1]} {word[:n]}") <= width), 0)
            if begun:
                rows[-1] += f" {word[:begun]}"
                rest = word[begun:]
        while measure(rest) > width and len(rest) > 1:
            head = next(n for n in range(len(rest) - 1, 0, -1) if n == 1 or measure(rest[:n]) <= width)
            head = next((n for n in (head, head - 1) if n > 0 and _may_break(rest, n)), head)
            rows.append(rest[:head])
            rest = rest[head:]
        rows.append(rest)
    return tuple(rows)


def _may_break(word: str, at: int) -> bool:
    """Whether a line may end inside a word here: beside an ideograph or kana, not before a closing mark."""
    if word.isascii():
        return False
    before, after = word[at - 1], word[at]
    free = any(first <= letter <= last for letter in (before, after) for first, last in FREE)
    return free and after not in NOT_FIRST


def text_height(text: str, lines: int, size: float, weight: Weight = "regular") -> float:
    """Height [mm] of the ink of a text on some lines at a size [pt]."""
    return _ink_height(face(weight), text, lines) * size / MM


@lru_cache(maxsize=REMEMBERED)
def _ink_height(face: Face, text: str, lines: int) -> float:
    """The same [em]."""
    return _height(lines, _reach(face, tidy(text)))


def _cut(rows: tuple[str, ...], lines: int, width: float, weight: Weight) -> tuple[str, ...]:
    """The first lines, the last of them ended behind a word with "…" where more would follow."""
    if len(rows) <= lines:
        return rows
    measure, last = face(weight).width, rows[lines - 1]
    while measure(last + ELLIPSIS) > width and " " in last and not _may_break(last, len(last) - 1):
        last = last.rpartition(" ")[0]
    while measure(last + ELLIPSIS) > width and last:
        last = last[:-1]
    return (*rows[: lines - 1], last.rstrip(" ,;:·-") + ELLIPSIS)


@lru_cache(maxsize=REMEMBERED)
def _reach(face: Face, text: str) -> tuple[float, float]:
    """Ink above and below the baseline [em], never less above than a capital."""
    up, down = face.extent(text)
    return max(up, CAP_HEIGHT), down


def _pitch(reach: tuple[float, float]) -> float:
    """From baseline to baseline [em]: wider where the ink of two lines would meet."""
    return max(LEADING, sum(reach))


def _height(rows: int, reach: tuple[float, float]) -> float:
    return sum(reach) + (rows - 1) * _pitch(reach)


def _set(
    rows: Sequence[str],
    size: float,
    reach: tuple[float, float],
    box: Box,
    weight: Weight,
    align: Align,
    stand: Stand,
) -> Text:
    """Lines at a size, with their places: capitals stand in the middle, ink never leaves the box."""
    em = size / MM
    pitch = _pitch(reach) * em
    below = pitch * (len(rows) - 1)  # from the first line to the last
    first, last = box.y + reach[0] * em, box.bottom - reach[1] * em - below
    if stand == "bottom":
        first = last
    elif stand == "middle":
        first = min(max(box.y + (box.height - below + CAP_HEIGHT * em) / 2, first), last)
    x, _, width, _ = box
    share, measure = SHARES[align], face(weight).width
    lines = [
        Line(row, x + share * (width - measure(row) * em) if share else x, first + pitch * n)
        for n, row in enumerate(rows)
    ]
    return Text(box, tuple(lines), size, weight)
