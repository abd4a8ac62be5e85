"""Where everything on a wrap label stands: words and a code in, a drawing in millimetres out.

On the left, from the top: lot and storage code, the flowers, the dates. On the right the QR code, with the
small print under it, or in a strip along the foot of a low label. The dates take what height is left; where
it is too little, the rest gives way in the order of `_plans`.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

from tagmaker.paper.boxes import MM, Box, Code, Drawing, Element, Frame, Weight
from tagmaker.paper.fitting import fit, text_height, wrap
from tagmaker.paper.fonts import CAP_HEIGHT, face
from tagmaker.paper.qr import sized_symbol
from tagmaker.paper.tag_rows import (
    LEAST_DATE,
    RowPlan,
    draw_marks,
    draw_rows,
    marks_height,
    plan_rows,
    word_size,
)
from tagmaker.paper.tag_words import BETWEEN, TagWords

EDGE = 1.5  # [mm] kept free along a label's edges: sheets feed up to about a millimetre off (chosen)
CODE_SHARE = 0.44  # of a label's width, at most, for the code with its quiet zone (chosen)
LOW_LABEL = 36.0  # [mm] a label lower than this has its small print along the foot (chosen)
HEAD_SHARE = 0.133  # of the label's height, for the capitals of lot and code (chosen)
LEAST_HEAD = 10.0  # [pt] lot and code where the dates need the height
SMALL = 6.0  # [pt] small print
SMALL_LINE = 2.1  # [mm] height of a line of it
WORDS = 7.5  # [pt] words, at least
WORDS_LINE = 2.5  # [mm] height of a line of them
FOOT_GAP = 0.5  # [mm] above the strip along the foot
NAME_GAP = 0.7  # [mm] above and below the flowers' names
MOST_ADVICE = 13.0  # [pt] of a word in place of dates
MOST_SLIP = 16.0  # [pt] of what a slip tells to do


@dataclass(frozen=True, slots=True)
class _Plan:
    """One way to fill the left column."""

    words: TagWords  # without what was given up
    name: str
    name_lines: int
    foot: float  # [mm] height of the strip along the foot
    rows: RowPlan


def draw_tag(words: TagWords, code_text: str, width: float, height: float, where: str) -> Drawing:
    """One bunch's label.

    Args:
        words: what it says
        code_text: what its code says
        width: of the label [mm]
        height: of the label [mm]
        where: place in the sheet, for a problem

    Raises:
        InputProblems: the code does not fit.
    """
    low = height < LOW_LABEL
    room = min(width * CODE_SHARE, height - EDGE - SMALL_LINE + 0.2 if low else height * 2 / 3)
    sized = sized_symbol(code_text, room, where, words.lot)
    side = sized.side
    code = Code(Box(width - side, 0, side, side), sized)
    column = Box(EDGE, EDGE, width - side - EDGE, height - 2 * EDGE)
    under = Box(width - side + EDGE, side, side - 2 * EDGE, height - EDGE - side)
    for most in (min(max(height * HEAD_SHARE * MM / CAP_HEIGHT, 12.0), 20.0), LEAST_HEAD):
        head, below = _head(words, column, most)
        plan = _best_plan(words, below, low=low)
        if plan.rows.least >= LEAST_DATE:
            break
    foot = Box(below.x, below.bottom - plan.foot, below.width - 0.5, plan.foot)
    below = below._replace(height=below.height - _foot_and_gap(plan.foot))
    unnamed = words.names[-1] if not plan.name_lines else ""  # stands under the code: what is in the wrap
    small = _foot(plan.words, unnamed, foot, under) if low else _side(words, unnamed, under)
    return Drawing(width, height, (*head, *_body(plan, below), code, *small), words.lot, where)


def _head(words: TagWords, column: Box, most: float) -> tuple[tuple[Element, ...], Box]:
    """Lot, storage code in its frame, what it was; and what is left of the column."""
    bold, between, pad, behind = face("bold"), 1.5, 2.2, 1.0  # [mm] white between the parts
    was = face("regular").width(words.was) * WORDS / MM + 0.1
    ems = (bold.width(words.lot) + 0.9 * bold.width(words.code)) / MM  # [mm] at one point
    fixed = between + pad + (behind + was if words.was else 0.0) + 0.1
    most = min(most, (column.width - fixed) / ems)
    tall = CAP_HEIGHT * most / MM + 1.3
    lot_box = Box(column.x, column.y, bold.width(words.lot) * most / MM + 0.1, tall)
    frame = Box(lot_box.right + between, column.y, bold.width(words.code) * most * 0.9 / MM + pad, tall)
    elements: list[Element] = [
        fit(words.lot, lot_box, most=most, least=SMALL, weight="bold"),
        Frame(frame, 1.0),
        fit(words.code, frame.inset(0.3), most=most * 0.9, least=SMALL, weight="bold", align="centre"),
    ]
    if words.was:
        box = Box(frame.right + behind, frame.y, was, tall)
        elements.append(fit(words.was, box, most=WORDS, least=WORDS))
    return tuple(elements), column._replace(y=column.y + tall, height=column.height - tall)


# --- what gives way ----------------------------------------------------------------------------------------


def _best_plan(words: TagWords, column: Box, *, low: bool) -> _Plan:
    """The fullest plan whose dates can be read; of none, the one with the largest."""
    tried: list[_Plan] = []
    for plan in _plans(words, column, low=low):
        if plan.rows.least >= LEAST_DATE:
            return plan
        tried.append(plan)
    return max(tried, key=lambda plan: plan.rows.least)


def _plans(words: TagWords, column: Box, *, low: bool) -> Iterator[_Plan]:
    """Ways to fill the column, fullest first.

    The colour goes first, then the strip with the cut, the stems, the name's second line, the name, the
    caution and the marks.
    """
    widest = column.width * MM / WORDS
    fullest, *shorter = words.names
    for lines in range(len(wrap(fullest, widest)), 3):
        yield _plan(words, fullest, lines, column, low=low)
    bare = replace(words, crop="", dated_for="")
    for name, kept in ((name, kept) for name in shorter for kept in (words, bare)):
        for lines in range(len(wrap(name, widest)), 3):
            yield _plan(kept, name, lines, column, low=low)
    for lines in (2, 1):
        yield _plan(bare, words.names[-1], lines, column, low=low)
    unmarked = tuple(replace(row, marks=()) for row in words.rows)
    for kept in (bare, replace(bare, caution=""), replace(bare, caution="", rows=unmarked)):
        yield _plan(kept, "", 0, column, low=low)
        yield _plan(kept, "", 0, column, low=low, tight=True)


def _plan(words: TagWords, name: str, lines: int, column: Box, *, low: bool, tight: bool = False) -> _Plan:
    foot = 0.0
    if low and (words.caution or words.crop or words.dated_for):
        foot = WORDS_LINE if words.caution else SMALL_LINE
    height = column.height - _foot_and_gap(foot) - _name_height(name, lines)
    if words.advice:
        enough = LEAST_DATE if height >= 4 * WORDS_LINE else 0.0
        return _Plan(words, name, lines, foot, RowPlan("above", enough, enough))
    return _Plan(words, name, lines, foot, plan_rows(words.rows, column.width, height, tight=tight))


def _name_height(name: str, lines: int) -> float:
    """Height [mm] of the names with the white above and below them."""
    return 2 * NAME_GAP + text_height(name, lines, WORDS) if lines else NAME_GAP / 2


def _foot_and_gap(foot: float) -> float:
    return foot + FOOT_GAP if foot else 0.0


# --- drawing -----------------------------------------------------------------------------------------------


def _body(plan: _Plan, column: Box) -> Iterator[Element]:
    """The flowers' names, then the dates or the sentence in place of them."""
    used = _name_height(plan.name, plan.name_lines)
    if plan.name_lines:
        box = Box(column.x, column.y + NAME_GAP, column.width, used - 2 * NAME_GAP)
        yield fit(plan.name, box, most=WORDS + 2, least=WORDS, lines=plan.name_lines)
    column = column._replace(y=column.y + used, height=column.height - used)
    if plan.words.advice:
        yield from _advice(plan.words, column)
    else:
        yield from draw_rows(plan.words.rows, column, plan.rows)


def _advice(words: TagWords, column: Box) -> Iterator[Element]:
    """A word and a sentence in place of dates."""
    for row in words.rows:
        size = word_size(row, column.width, MOST_ADVICE)
        box = column._replace(
            width=face("bold").width(row.value) * size / MM + 0.1, height=CAP_HEIGHT * size / MM
        )
        yield fit(row.value, box, most=size, least=SMALL, weight="bold")
        marks = Box(box.right + 1.2, column.y, column.right - box.right - 1.2, column.height)
        yield from draw_marks(row.marks, marks)
        used = max(box.height, marks_height(row.marks, marks.width)) + NAME_GAP
        column = column._replace(y=column.y + used, height=column.height - used)
    weight: Weight = "regular" if words.rows else "bold"
    most = WORDS if words.rows else MOST_SLIP
    yield fit(words.advice, column, most=most, least=WORDS, lines=9, weight=weight, stand="top")


def _foot(words: TagWords, unnamed: str, strip: Box, under: Box) -> Iterator[Element]:
    """A strip along the foot: the caution, or crop and temperature; under the code the cut, or the name."""
    if words.caution:
        yield fit(words.caution, strip, most=WORDS, least=WORDS, weight="bold", stand="bottom")
    parts = [part for part in (words.crop, words.dated_for) if part and not words.caution]
    while len(parts) > 1 and face("regular").width(BETWEEN.join(parts)) * SMALL / MM > strip.width:
        parts.pop()
    if parts:
        yield fit(BETWEEN.join(parts), strip, most=SMALL, least=SMALL, stand="bottom")
    most = WORDS if unnamed else SMALL
    yield fit(unnamed or words.cut, under, most=most, least=SMALL, align="centre", stand="bottom")


def _side(words: TagWords, unnamed: str, box: Box) -> Iterator[Element]:
    """Lines under the code; the last go first.

    The caution, the name if it stands nowhere else, the crop, the cut, what it is dated for.
    """
    parts: tuple[tuple[str, int, Weight], ...] = ((words.caution, 2, "bold"), (unnamed, 1, "regular"))
    for text, most, weight in parts:
        if not text:
            continue
        lines = min(len(wrap(text, box.width * MM / WORDS, weight)), most)
        tall = text_height(text, lines, WORDS, weight) + 0.01
        if tall > box.height:
            continue
        top = box._replace(height=tall)
        yield fit(text, top, most=WORDS, least=WORDS, lines=most, weight=weight, align="centre")
        box = box._replace(y=top.bottom, height=box.height - tall)
    texts = [text for text in (words.crop, words.cut, words.dated_for) if text]
    texts = texts[: int(box.height / SMALL_LINE + 1e-9)]
    for n, text in enumerate(texts):
        line = Box(box.x, box.bottom - (len(texts) - n) * SMALL_LINE, box.width, SMALL_LINE)
        yield fit(text, line, most=SMALL, least=SMALL, align="centre")
