"""Where everything on a wrap label stands: words and a code in, a drawing in millimetres out.

One design by rules, from 45 × 20 mm to 102 × 152 mm. From the top: lot and storage code, the flowers, the
dates; the code to their right, or below them on a label that is higher than wide. The small print stands at
the code, or on a low label behind the storage code, or where that has no room in a strip along the foot. On a
large label all of it is magnified. The dates take what height is left. Where it is too little, small print
gives way in the order of `_plans`; then the code gets smaller, as far as it reads well; then caution, marks
and name go; then the code gets as small as it may, and rows between the first and the sell-by go; and where
that does not help either, the label is refused.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from math import ceil

from tagmaker.errors import InputProblems, Problem
from tagmaker.paper.press.boxes import MM, Box, Drawing, Element, Frame, Weight
from tagmaker.paper.press.fitting import Align, fit, text_height, wrap
from tagmaker.paper.press.fonts import CAP_HEIGHT, face
from tagmaker.paper.press.qr import PRINTER_DPI, is_address
from tagmaker.paper.tag.advice import draw_advice, has_room
from tagmaker.paper.tag.frame import NAME_GAP, SMALL, SMALL_LINE, WORDS, TagFrame, frames
from tagmaker.paper.tag.rows import LEAST_DATE, MOST_GAP, RowPlan, draw_rows, plan_rows
from tagmaker.paper.tag.words import BETWEEN, TagWords

HEAD_SHARE = 0.133  # of the label's height, for the capitals of lot and code (chosen)
LEAST_LOT = 7.0  # [pt] of a lot's code, which is never cut
WELL_READ = 0.50  # [mm] of a module: 100 % of simulated reads from wrinkled kraft at 300 dpi
LEAST_HEAD = 10.0  # [pt] lot and code where the dates need the height
WORDS_LINE = 2.5  # [mm] height of a line of them
BEFORE_SMALL = 2.0  # [mm] between the storage code and small print behind it
FOOT_GAP = 0.5  # [mm] above the strip along the foot
DETAIL, DETAIL_GAP = "· ", 0.7  # before what stands behind a name, and [mm] of white before that


@dataclass(frozen=True, slots=True)
class _Plan:
    """One way to fill the left column."""

    words: TagWords  # without what was given up
    detail: str  # behind the name, or below it
    name_lines: int
    foot: float  # [mm] height of the strip along the foot
    rows: RowPlan

    def is_named(self, frame: TagFrame) -> bool:
        """Whether the name has a place somewhere."""
        return self.name_lines > 0 or frame.at_code.height >= SMALL_LINE

    @property
    def names_given_up(self) -> str:
        """The name that has no line of its own."""
        return "" if self.name_lines else self.words.name


def draw_tag(
    words: TagWords, code_text: str, width: float, height: float, dpi: float = PRINTER_DPI, *, where: str
) -> Drawing:
    """One bunch's label.

    Args:
        words: what it says
        code_text: what its code says
        width: of the label [mm]
        height: of the label [mm]
        dpi: dots per inch of the printer
        where: place in the sheet, for a problem

    Raises:
        InputProblems: the code does not fit, or not with both dates; says what would do.
    """
    tag = _draw(words, code_text, width, height, where, dpi)
    if tag is not None:
        return tag
    size = _enough(words, code_text, width, height, where, dpi)
    what = f"a label must have room for its code and both dates (got {width:g} x {height:g} mm"
    what += f"; lot {words.lot} needs {size[0]} x {size[1]} mm)" if size else ")"
    remedy = "Choose a larger label stock: tagmaker label-stocks lists them."
    if is_address(code_text):
        remedy += " A shorter link takes less room."
    else:
        remedy += " A link in the settings makes a smaller code than dates do."
    raise InputProblems([Problem(where, what, remedy, words.lot)])


def _enough(
    words: TagWords, code_text: str, width: float, height: float, where: str, dpi: float
) -> tuple[int, int] | None:
    """A label of about these proportions [mm] that is large enough: looked for coarsely, then finely."""

    def grown(percent: int) -> tuple[int, int] | None:
        wide, tall = ceil(width * percent / 100), ceil(height * percent / 100)
        try:
            return (wide, tall) if _draw(words, code_text, wide, tall, where, dpi) else None
        except InputProblems:  # its link is too long for that
            return None

    coarse = next((percent for percent in range(110, 1010, 10) if grown(percent)), None)
    if coarse is None:
        return None
    return next(size for percent in range(coarse - 8, coarse + 2, 2) if (size := grown(percent)))


def _draw(
    words: TagWords, code_text: str, width: float, height: float, where: str, dpi: float
) -> Drawing | None:
    """The label with the largest code that leaves room for dates that can be read; None: there is none.

    Marks, caution and name stay if a code that reads well leaves room for them; and only where no code leaves
    room for all rows, those between the first and the sell-by are left out.
    """
    two_dates = replace(words, rows=(*words.rows[:1], *words.rows[1:][-1:]))
    ways = [(words, True), (words, False)]
    if len(words.rows) > len(two_dates.rows):
        ways.append((two_dates, False))
    drawn = (_with_rows_of(kept, code_text, width, height, where, dpi, whole=whole) for kept, whole in ways)
    return next((label for label in drawn if label is not None), None)


def _with_rows_of(
    words: TagWords, code_text: str, width: float, height: float, where: str, dpi: float, *, whole: bool
) -> Drawing | None:
    """The same with all rows of some words; `whole` with all that is more than small print."""
    for frame, sized in frames(code_text, width, height, dpi, where=where, lot=words.lot):
        if whole and sized.module < WELL_READ:
            return None
        for most in (min(max(frame.height * HEAD_SHARE * MM / CAP_HEIGHT, 12.0), 20.0), LEAST_HEAD):
            head, below, size = _head(words, frame.column, most)
            if size < LEAST_LOT:
                break
            beside, others = _beside_head(words, head, frame)
            plan = _best_plan(others, below, frame, whole=whole)
            if plan.rows.least >= LEAST_DATE and (not whole or plan.is_named(frame)):
                filled = (*head, *beside, *_filled(plan, below, frame))
                return frame.drawing(filled, sized, words.lot, where)
    return None


def _filled(plan: _Plan, below: Box, frame: TagFrame) -> Iterator[Element]:
    """Everything but the head and the code."""
    foot = Box(below.x, below.bottom - plan.foot, below.width - 0.5, plan.foot)
    yield from _body(plan, below._replace(height=below.height - _foot_and_gap(plan.foot)), frame)
    unnamed = plan.names_given_up  # stands at the code: what is in the wrap
    if frame.low:
        yield from _foot(plan.words, unnamed, foot, frame.at_code)
    else:
        yield from _side(plan.words, unnamed, frame.at_code, "left" if frame.upright else "centre")


def _head(words: TagWords, column: Box, most: float) -> tuple[tuple[Element, ...], Box, float]:
    """Lot, storage code in its frame, what it was; what is left of the column; the lot's size [pt]."""
    bold, between, pad, behind = face("bold"), 1.5, 2.2, 1.0  # [mm] white between the parts
    was = face("regular").width(words.was) * WORDS / MM + 0.1
    ems = (bold.width(words.lot) + 0.9 * bold.width(words.code)) / MM  # [mm] at one point
    fixed = between + pad + (behind + was if words.was else 0.0) + 0.1
    most = min(most, (column.width - fixed) / ems)
    if words.was and most < WORDS:  # a lot that can be read goes before what the lot was
        return _head(replace(words, was=""), column, LEAST_HEAD)
    tall = CAP_HEIGHT * max(most, SMALL) / MM + 1.3
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
    return tuple(elements), column._replace(y=column.y + tall, height=column.height - tall), most


def _beside_head(
    words: TagWords, head: tuple[Element, ...], frame: TagFrame
) -> tuple[tuple[Element, ...], TagWords]:
    """On a low label, crop and temperature behind the head where both have room; the words left over."""
    texts = [text for text in (words.crop, words.dated_for) if text]
    used = next(element.box for element in head if isinstance(element, Frame))
    left, tall = frame.column.right - used.right - BEFORE_SMALL, used.height / max(len(texts), 1)
    wide = max((face("regular").width(text) * SMALL / MM for text in texts), default=0.0)
    if not frame.low or words.was or words.caution or wide > left or tall < SMALL_LINE:
        return (), words
    box = Box(used.right + BEFORE_SMALL, used.y, left, tall)
    lines = tuple(
        fit(text, box.moved(0, n * tall), most=SMALL, least=SMALL, align="right")
        for n, text in enumerate(texts)
    )
    return lines, replace(words, crop="", dated_for="")


# --- what gives way ----------------------------------------------------------------------------------------


def _best_plan(words: TagWords, column: Box, frame: TagFrame, *, whole: bool) -> _Plan:
    """The fullest plan whose dates can be read; of none, the one with the largest."""
    tried: list[_Plan] = []
    for plan in _plans(words, column, frame, whole=whole):
        if plan.rows.least >= LEAST_DATE:
            return plan
        tried.append(plan)
    return max(tried, key=lambda plan: plan.rows.least)


def _plans(words: TagWords, column: Box, frame: TagFrame, *, whole: bool) -> Iterator[_Plan]:
    """Ways to fill the column, fullest first.

    The colour goes first, then the strip with the cut, the stems, the name's second line, its end, the name;
    then, but for a `whole` label, the hours in small print, the caution and the marks.
    """
    bare = replace(words, crop="", dated_for="")
    fullest, *shorter = (*words.details, "")
    for detail, kept in ((fullest, words), *((detail, kept) for detail in shorter for kept in (words, bare))):
        if _one_line(words.name, detail, column, frame):
            yield _plan(kept, detail, 1, column, frame)
        if detail and _one_line(words.name, "", column, frame):
            yield _plan(kept, detail, 2, column, frame)
    for lines in (2, 1):
        yield _plan(bare, "", lines, column, frame)
    terse = replace(bare, rows=tuple(replace(row, small="") for row in words.rows))
    unmarked = tuple(replace(row, marks=()) for row in terse.rows)
    plainest = replace(terse, caution="", rows=unmarked)
    for kept in (bare, terse) if whole else (bare, terse, replace(terse, caution=""), plainest):
        yield _plan(kept, "", 0, column, frame)
        yield _plan(kept, "", 0, column, frame, tight=True)


def _one_line(name: str, detail: str, column: Box, frame: TagFrame) -> bool:
    """Whether a name has room on one line with what stands behind it."""
    wide = face("bold").width(name) * frame.name_least / MM
    return wide + _detail_width(detail, WORDS) <= column.width


def _detail_width(detail: str, size: float) -> float:
    """Width [mm] of what stands behind a name, at a size [pt], with the white before it."""
    return DETAIL_GAP + face("regular").width(f"{DETAIL}{detail}") * size / MM + 0.1 if detail else 0.0


def _plan(
    words: TagWords, detail: str, lines: int, column: Box, frame: TagFrame, *, tight: bool = False
) -> _Plan:
    foot = 0.0
    if frame.low and (words.caution or words.crop or words.dated_for):
        foot = WORDS_LINE if words.caution else SMALL_LINE
    height = column.height - _foot_and_gap(foot) - _name_height(words.name, detail, lines, frame)
    if words.advice:
        enough = LEAST_DATE if has_room(words, column.width, height, tight=tight) else 0.0
        return _Plan(words, detail, lines, foot, RowPlan("above", enough, enough))
    return _Plan(words, detail, lines, foot, plan_rows(words.rows, column.width, height, tight=tight))


def _name_height(name: str, detail: str, lines: int, frame: TagFrame) -> float:
    """Height [mm] of the name with the white above and below it."""
    if not lines:
        return NAME_GAP / 2
    if detail and lines > 1:
        below = NAME_GAP / 2 + text_height(detail, 1, frame.detail_size)
        return 2 * NAME_GAP + text_height(name, 1, frame.name_size, "bold") + below
    return 2 * NAME_GAP + text_height(name, lines, frame.name_size, "bold")


def _foot_and_gap(foot: float) -> float:
    return foot + FOOT_GAP if foot else 0.0


# --- drawing -----------------------------------------------------------------------------------------------


def _body(plan: _Plan, column: Box, frame: TagFrame) -> Iterator[Element]:
    """The flowers' names, then the dates or the sentence in place of them."""
    used = _name_height(plan.words.name, plan.detail, plan.name_lines, frame)
    if plan.name_lines:
        box = Box(column.x, column.y + NAME_GAP, column.width, used - 2 * NAME_GAP)
        yield from _name(plan, box, frame)
    column = column._replace(y=column.y + used, height=column.height - used)
    if plan.words.advice:
        yield from draw_advice(plan.words, column)
    else:
        yield from draw_rows(plan.words.rows, column, plan.rows, MOST_GAP * (4 if frame.upright else 1))


def _name(plan: _Plan, box: Box, frame: TagFrame) -> Iterator[Element]:
    """The flowers' name with its details behind or below; alone on two lines, and cut where it must be."""
    name, detail, size = plan.words.name, plan.detail, frame.name_size
    if not detail:
        yield fit(name, box, most=size, least=frame.name_least, lines=plan.name_lines, weight="bold")
        return
    small, bold = frame.detail_size, face("bold").width(name) / MM  # [mm] at one point
    if plan.name_lines > 1:
        tall = text_height(name, 1, size, "bold")
        yield fit(name, box._replace(height=tall), most=size, least=frame.name_least, weight="bold")
        below = box._replace(y=box.y + tall + NAME_GAP / 2, height=box.height - tall - NAME_GAP / 2)
        yield fit(detail, below, most=small, least=WORDS)
        return
    small = max(
        min(small, small * (box.width - DETAIL_GAP) / (bold * size + _detail_width(detail, small))), WORDS
    )
    size = min(size, (box.width - _detail_width(detail, small)) / bold)
    named = box._replace(width=bold * size + 0.05)
    yield fit(name, named, most=size, least=frame.name_least, weight="bold")
    lower = CAP_HEIGHT * (size - small) / MM / 2  # so that both stand on one line
    left = named.right + DETAIL_GAP
    behind = Box(left, box.y + lower, box.right - left, box.height)
    yield fit(f"{DETAIL}{detail}", behind, most=small, least=WORDS)


def _foot(words: TagWords, unnamed: str, strip: Box, under: Box) -> Iterator[Element]:
    """A strip along the foot: the caution, or crop and temperature; under the code the cut, or the name."""
    if words.caution:
        yield fit(words.caution, strip, most=WORDS, least=WORDS, weight="bold", stand="bottom")
    parts = [part for part in (words.crop, words.dated_for) if part and not words.caution]
    while len(parts) > 1 and face("regular").width(BETWEEN.join(parts)) * SMALL / MM > strip.width:
        parts.pop()
    if parts:
        yield fit(BETWEEN.join(parts), strip, most=SMALL, least=SMALL, stand="bottom")
    for text, most in ((unnamed, WORDS), (words.cut, SMALL)):
        if text and text_height(text, 1, SMALL) <= under.height:
            yield fit(text, under, most=most, least=SMALL, align="centre", stand="bottom")
            return


def _side(words: TagWords, unnamed: str, box: Box, align: Align) -> Iterator[Element]:
    """Lines at the code; the last go first.

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
        yield fit(text, top, most=WORDS, least=WORDS, lines=most, weight=weight, align=align)
        box = box._replace(y=top.bottom, height=box.height - tall)
    texts = [text for text in (words.crop, words.cut, words.dated_for) if text]
    texts = texts[: int(box.height / SMALL_LINE + 1e-9)]
    for n, text in enumerate(texts):
        line = Box(box.x, box.bottom - (len(texts) - n) * SMALL_LINE, box.width, SMALL_LINE)
        yield fit(text, line, most=SMALL, least=SMALL, align=align)
