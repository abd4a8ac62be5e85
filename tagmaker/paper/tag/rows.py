"""The dates of a wrap label: which of five ways of setting them gives the largest, and the setting itself.

Captions stand above their dates ("above"), there with the hour on a line of its own ("split") or with marks
behind the day ("behind"), or to the left in two small lines ("beside"), which takes the least height. On the
narrowest labels the hour follows its caption and the day stands below ("led"). Dates that are large enough
give some of it for larger captions and for white between the rows, so that nobody takes a caption for the one
of the date above it.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Literal

from tagmaker.paper.press.boxes import MM, Box, Element, Rule
from tagmaker.paper.press.fitting import text_height
from tagmaker.paper.press.fonts import REMEMBERED, Typeface, face, typeface_in_use
from tagmaker.paper.tag.captions import (
    CAPTION,
    MARK,
    MARK_HEIGHT,
    NEAR,
    SPACE,
    Flow,
    all_above,
    capitals,
    caption_column,
    caption_width,
    draw_flow,
    draw_marks,
    halves,
    marks_above,
    marks_width,
    set_line,
)
from tagmaker.paper.tag.words import DateRow

Mode = Literal["above", "behind", "split", "beside", "led"]

WORD = 10.0  # [pt] of a word that stands in place of a date, at least
LEAST_DATE = 10.0  # [pt] 22 arc minutes at 40 cm (ISO 9241, as quoted)
MOST_DATE = 32.0  # [pt]
HOUR_SHARE = 0.62  # size of an hour on a line of its own, over that of its day (chosen)
GAPS: Mapping[Mode, float] = {
    "above": 1.1,
    "behind": 1.1,
    "split": 1.4,
    "beside": 0.9,
    "led": 0.9,
}  # [mm] between rows, at least (chosen)
TIGHT_GAP = 0.12  # [mm] between rows where there is no room
WISHED_GAP = 2.2  # [mm] between rows where dates can spare it (chosen)
MOST_GAP = 3.0  # [mm] between rows
FIRST_SHARE = 0.4  # of such a gap, above the first row (chosen)
RULE_GAP = 1.4  # [mm] between rows from which on a thin line parts them (chosen)
RULE = 0.4  # [pt] of that line
BESIDE = 0.5  # [mm] between a caption and the date to its right
HOUR_GAP = NEAR + 0.25  # [mm] between a day and its hour below
HALF_GAP = 0.25  # [mm] between the two lines of a caption
WORTH_SPLITTING = 1.3  # gain in size for which hours get lines of their own (chosen)
AMPLE = ((9.0, 16.0), (7.5, 13.0))  # [pt] captions and words where there is room (chosen)
AMPLE_SHARE = 0.9  # of the size of a date that is kept beside them (chosen)
COMFORT = 11.5  # [pt] of a date, from which on it gives way to them and to white (chosen)


@dataclass(frozen=True, slots=True)
class RowPlan:
    """A way to set rows."""

    mode: Mode
    cap: float  # [pt] size of the days where the width allows
    least: float  # [pt] size of the smallest day
    caption: float = CAPTION  # [pt] of captions above their dates
    word: float = WORD  # [pt] of words in place of dates


def plan_rows(rows: tuple[DateRow, ...], width: float, height: float, *, tight: bool = False) -> RowPlan:
    """The plainest way to set rows in a space [mm] with dates that can be read; of none, that of the largest.

    `tight` sets them with hardly any white between.
    """
    return _planned(typeface_in_use(), rows, width, height, tight=tight)


@lru_cache(maxsize=REMEMBERED)
def _planned(_: Typeface, rows: tuple[DateRow, ...], width: float, height: float, *, tight: bool) -> RowPlan:
    """The same, remembered for the typeface in use: many lots have the same dates."""
    if tight:
        modes: tuple[Mode, ...] = ("above", "split", "beside", "led", "behind")
        plans = [_plan(rows, width, height, mode, TIGHT_GAP) for mode in modes]
        above, split, beside = plans[:3]
        if split.least >= WORTH_SPLITTING * above.least and split.least >= LEAST_DATE:
            return split
        return beside if beside.least >= LEAST_DATE else max(plans, key=lambda plan: plan.least)
    plan = _plainest(rows, width, height)
    return plan if plan.least < LEAST_DATE else _airier(plan, rows, width, height)


def _plainest(rows: tuple[DateRow, ...], width: float, height: float) -> RowPlan:
    """The plainest way with the least white, captions and words."""
    above = _plan(rows, width, height, "above", GAPS["above"])
    if any(_has_marks_behind(row, "behind") for row in rows):
        behind = _plan(rows, width, height, "behind", GAPS["behind"])
        above = max(above, behind, key=lambda plan: plan.least)
    split = _plan(rows, width, height, "split", GAPS["split"])
    airy = _plan(rows, width, height, "split", WISHED_GAP) if above.least >= LEAST_DATE else split
    if airy.least >= WORTH_SPLITTING * above.least and airy.least >= LEAST_DATE:
        return split
    if above.least >= LEAST_DATE:
        return above
    beside = _plan(rows, width, height, "beside", GAPS["beside"])
    if beside.least >= LEAST_DATE:
        return beside
    led = _plan(rows, width, height, "led", GAPS["led"])
    return max(above, split, beside, led, key=lambda plan: plan.least)


def _airier(plan: RowPlan, rows: tuple[DateRow, ...], width: float, height: float) -> RowPlan:
    """The same with larger captions, words and white, for which the dates pay while they can be read well."""
    if plan.mode == "beside":
        return plan  # its dates are as high as its captions
    for caption, word in AMPLE if plan.mode != "led" else ():
        ampler = _plan(rows, width, height, plan.mode, WISHED_GAP, caption, word)
        if ampler.least >= max(AMPLE_SHARE * plan.least, COMFORT):
            return ampler
    airy = _plan(rows, width, height, plan.mode, WISHED_GAP)
    cap = max(airy.cap, min(plan.cap, COMFORT))
    return replace(plan, cap=cap, least=min(plan.least, cap))


def draw_rows(
    rows: tuple[DateRow, ...], box: Box, plan: RowPlan, most_gap: float = MOST_GAP
) -> tuple[Element, ...]:
    """The rows in a box [mm], from its foot; the height that is left over goes between them first."""
    return _drawn(typeface_in_use(), rows, box, plan, most_gap)


@lru_cache(maxsize=REMEMBERED)
def _drawn(
    _: Typeface, rows: tuple[DateRow, ...], box: Box, plan: RowPlan, most_gap: float
) -> tuple[Element, ...]:
    """The same, remembered for the typeface in use: many lots have the same dates."""
    return tuple(_set_rows(rows, box, plan, most_gap))


def _set_rows(rows: tuple[DateRow, ...], box: Box, plan: RowPlan, most_gap: float) -> Iterator[Element]:
    talls = [_height(row, box.width, plan) for row in rows]
    spare, between = box.height - sum(talls), len(rows) - 1
    gap = min(max(spare / (between + FIRST_SHARE), min(GAPS[plan.mode], spare / max(between, 1))), most_gap)
    y = box.bottom - sum(talls) - gap * between
    for n, (row, tall) in enumerate(zip(rows, talls, strict=True)):
        place = Box(box.x, y, box.width, tall)
        if n and gap >= RULE_GAP:
            yield Rule(box.x, y - gap / 2, box.right, y - gap / 2, RULE)
        if plan.mode == "beside":
            yield from _draw_beside(row, place, plan, caption_column(rows))
        elif plan.mode == "led" and row.is_date and row.hour:
            yield from _draw_led(row, place, plan)
        else:
            yield from _draw_above(row, place, plan)
        y += tall + gap


def word_size(row: DateRow, width: float, most: float = WORD) -> float:
    """Size [pt] of a value on one line of a width [mm]."""
    return min(most, width * MM / face("bold").width(row.value))


# --- sizes -------------------------------------------------------------------------------------------------


def _plan(
    rows: tuple[DateRow, ...],
    width: float,
    height: float,
    mode: Mode,
    gap: float,
    caption: float = CAPTION,
    word: float = WORD,
) -> RowPlan:
    """A mode with the size [pt] of the days by height, and the smallest of them once the width is counted."""
    dates = [row for row in rows if row.is_date]
    over = [_over(row, width, mode, caption) for row in rows]
    words = [word_size(row, width, word) for row in rows if not row.is_date]
    if any(flow.is_cut for flow in over) or min(words, default=WORD) < MARK:
        return RowPlan(mode, 0.0, 0.0)
    fixed = sum(flow.height for flow in over)
    fixed += gap * (len(rows) - 1)
    fixed += sum(map(capitals, words))
    room = (height - fixed) / capitals(1.0)  # [pt] for the dates themselves
    if not dates:
        return RowPlan(mode, MOST_DATE, MOST_DATE if room >= 0 else 0.0, caption, word)
    hours = sum(1 for row in dates if row.hour) if mode == "split" else 0
    room -= hours * HOUR_GAP / capitals(1.0)
    cap = room / (len(dates) + HOUR_SHARE * hours)
    if hours and cap * HOUR_SHARE < LEAST_DATE:
        cap = (room - hours * LEAST_DATE) / len(dates)
    if mode == "led":
        led = [row for row in dates if row.hour]
        if any(_led_width(row, width) > width for row in led):
            return RowPlan(mode, 0.0, 0.0)
        leads = sum(_led_height(row, width) + HOUR_GAP for row in led)
        cap = (room * capitals(1.0) - leads) / capitals(len(dates))
    if mode == "beside":
        lines = [half for row in dates for half in halves(row.caption)]
        if capitals(cap) < 2 * max(text_height(line, 1, CAPTION) for line in lines):
            return RowPlan(mode, 0.0, 0.0)
        width -= caption_column(rows) + BESIDE
    least = min(_day_size(row, width, cap, mode) for row in dates)
    return RowPlan(mode, min(cap, MOST_DATE), min(least, MOST_DATE), caption, word)


def _over(row: DateRow, width: float, mode: Mode, caption: float) -> Flow:
    """What stands over a date when rows are set in a mode."""
    if _has_marks_behind(row, mode):
        row = replace(row, marks=())
    own_place = mode == "beside" or (mode == "led" and row.is_date and bool(row.hour))
    return marks_above(row, width) if own_place else all_above(row, width, caption)


def _has_marks_behind(row: DateRow, mode: Mode) -> bool:
    """Whether the marks of a row stand behind its day."""
    return mode == "behind" and row.is_date and bool(row.marks) and not row.hour


def _day_size(row: DateRow, width: float, cap: float, mode: Mode) -> float:
    if _has_marks_behind(row, mode):
        width = max(width - marks_width(row.marks), 0.0)
    text = row.day if mode in ("split", "led") else row.value
    return min(cap, width * MM / face("bold").width(text))


def _hour_size(row: DateRow, width: float, cap: float) -> float:
    return min(max(HOUR_SHARE * cap, LEAST_DATE), width * MM / face("bold").width(row.hour))


def _height(row: DateRow, width: float, plan: RowPlan) -> float:
    """Height [mm] of a whole row."""
    above = _over(row, width, plan.mode, plan.caption).height
    if not row.is_date:
        return above + capitals(word_size(row, width, plan.word))
    if plan.mode == "beside":
        return above + capitals(plan.cap)
    tall = above + capitals(_day_size(row, width, plan.cap, plan.mode))
    if _has_marks_behind(row, plan.mode):
        tall = max(tall, above + MARK_HEIGHT)
    if plan.mode == "led" and row.hour:
        tall += _led_height(row, width) + HOUR_GAP
    if plan.mode == "split" and row.hour:
        tall += HOUR_GAP + capitals(_hour_size(row, width, plan.cap))
    return tall


# --- drawing -----------------------------------------------------------------------------------------------


def _draw_above(row: DateRow, place: Box, plan: RowPlan) -> Iterator[Element]:
    flow = _over(row, place.width, plan.mode, plan.caption)
    yield from draw_flow(flow, place)
    above = flow.height
    rest = place._replace(y=place.y + above, height=place.height - above)
    if not row.is_date:
        yield set_line(row.value, rest, word_size(row, place.width, plan.word), "bold")
        return
    size = _day_size(row, place.width, plan.cap, plan.mode)
    if _has_marks_behind(row, plan.mode):
        wide = marks_width(row.marks)
        yield set_line(row.day, rest._replace(width=rest.width - wide), size, "bold")
        middle = rest.y + (rest.height - MARK_HEIGHT) / 2
        yield from draw_marks(row.marks, Box(rest.right - wide + SPACE, middle, wide, MARK_HEIGHT))
        return
    if plan.mode in ("above", "behind") or not row.hour:
        yield set_line(row.value, rest, size, "bold")
        return
    hour = _hour_size(row, place.width, plan.cap)
    below = rest._replace(y=rest.bottom - capitals(hour), height=capitals(hour))
    yield set_line(row.day, rest._replace(height=capitals(size)), size, "bold")
    yield set_line(row.hour, below, hour, "bold")


def _led_caption(row: DateRow, width: float) -> tuple[str, ...]:
    """A caption before its hour: on one line where both fit a width [mm], else on two."""
    hour = BESIDE + face("bold").width(row.hour) * LEAST_DATE / MM + 0.1
    return (row.caption,) if caption_width(row.caption) + hour <= width else halves(row.caption)


def _led_width(row: DateRow, width: float) -> float:
    """Width [mm] of a caption with its hour behind."""
    caption = max(map(caption_width, _led_caption(row, width)))
    return caption + BESIDE + face("bold").width(row.hour) * LEAST_DATE / MM + 0.1


def _led_height(row: DateRow, width: float) -> float:
    """Height [mm] of a caption with its hour behind."""
    lines = [text_height(line, 1, CAPTION) + HALF_GAP for line in _led_caption(row, width)]
    return max(sum(lines) - HALF_GAP, capitals(LEAST_DATE))


def _draw_led(row: DateRow, place: Box, plan: RowPlan) -> Iterator[Element]:
    flow = marks_above(row, place.width)
    yield from draw_flow(flow, place)
    tall = _led_height(row, place.width)
    lead = place._replace(y=place.y + flow.height, height=tall)
    lines = _led_caption(row, place.width)
    column = max(map(caption_width, lines))
    talls = [text_height(line, 1, CAPTION) for line in lines]
    y = lead.bottom - sum(talls) - HALF_GAP * (len(lines) - 1)
    for line, high in zip(lines, talls, strict=True):
        if line:
            yield set_line(line, Box(lead.x, y, column, high), CAPTION, "regular")
        y += high + HALF_GAP
    used = column + BESIDE if row.caption else 0.0
    hour = Box(lead.x + used, lead.bottom - capitals(LEAST_DATE), lead.width - used, capitals(LEAST_DATE))
    yield set_line(row.hour, hour, LEAST_DATE, "bold")
    day = _day_size(row, place.width, plan.cap, "led")
    top = lead.bottom + HOUR_GAP
    yield set_line(row.day, place._replace(y=top, height=place.bottom - top), day, "bold")


def _draw_beside(row: DateRow, place: Box, plan: RowPlan, column: float) -> Iterator[Element]:
    flow = marks_above(row, place.width)
    yield from draw_flow(flow, place)
    above = flow.height
    place = place._replace(y=place.y + above, height=place.height - above)
    if not row.is_date:
        yield set_line(row.value, place, word_size(row, place.width, plan.word), "bold")
        return
    lines = halves(row.caption) if caption_width(row.caption) > column else (row.caption,)
    tall = place.height / len(lines)
    for n, line in enumerate(lines):
        if line:
            yield set_line(line, Box(place.x, place.y + n * tall, column, tall), CAPTION, "regular")
    used = column + BESIDE if row.caption else 0.0
    rest = place._replace(x=place.x + used, width=place.width - used)
    yield set_line(row.value, rest, plan.least, "bold")
