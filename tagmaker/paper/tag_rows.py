"""The dates of a wrap label: which of four ways of setting them gives the largest, and the setting itself.

Captions stand above their dates ("above"), there with the hour on a line of its own ("split"), or to the left
in two small lines ("beside"), which takes the least height. On the narrowest labels the hour follows its
caption and the day stands below ("led").
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import lru_cache
from typing import Literal, NamedTuple

from tagmaker.paper.boxes import MM, Box, Element, Frame, Weight
from tagmaker.paper.fitting import fit, text_height
from tagmaker.paper.fonts import CAP_HEIGHT, REMEMBERED, Typeface, face, typeface_in_use
from tagmaker.paper.tag_words import Row

Mode = Literal["above", "split", "beside", "led"]

CAPTION = 6.0  # [pt] captions
MARK = 7.5  # [pt] marks
WORD = 10.0  # [pt] of a word that stands in place of a date
LEAST_DATE = 10.0  # [pt] 22 arc minutes at 40 cm (ISO 9241, as quoted)
MOST_DATE = 26.0  # [pt]
OVERSHOOT = 0.023  # [em] by which O and 6 reach beyond the lines, from the font's glyphs
HOUR_SHARE = 0.62  # size of an hour on a line of its own, over that of its day (chosen)
GAPS: Mapping[Mode, float] = {
    "above": 1.1,
    "split": 1.4,
    "beside": 0.9,
    "led": 0.9,
}  # [mm] between rows (chosen)
TIGHT_GAP = 0.12  # [mm] between rows where there is no room
MOST_GAP = 3.0  # [mm] between rows
NEAR = 0.33  # [mm] between a caption, its date and its hour
MARK_PAD = 0.5  # [mm] between a mark and its frame
SPACE = 0.9  # [mm] between a caption and a mark
BESIDE = 0.5  # [mm] between a caption and the date to its right

WORTH_SPLITTING = 1.3  # gain in size for which hours get lines of their own (chosen)


@dataclass(frozen=True, slots=True)
class RowPlan:
    """A way to set rows."""

    mode: Mode
    cap: float  # [pt] size of the days where the width allows
    least: float  # [pt] size of the smallest day


def plan_rows(rows: tuple[Row, ...], width: float, height: float, *, tight: bool = False) -> RowPlan:
    """The plainest way to set rows in a space [mm] with dates that can be read; of none, that of the largest.

    `tight` sets them with hardly any white between.
    """
    above, split = (_plan(rows, width, height, mode, tight=tight) for mode in ("above", "split"))
    if split.least >= WORTH_SPLITTING * above.least and split.least >= LEAST_DATE:
        return split
    if above.least >= LEAST_DATE and not tight:
        return above
    beside = _plan(rows, width, height, "beside", tight=tight)
    if beside.least >= LEAST_DATE:
        return beside
    led = _plan(rows, width, height, "led", tight=tight)
    return max(above, split, beside, led, key=lambda plan: plan.least)


def draw_rows(
    rows: tuple[Row, ...], box: Box, plan: RowPlan, most_gap: float = MOST_GAP
) -> Iterator[Element]:
    """The rows in a box [mm]; what height is left over goes before each of them."""
    talls = [_height(row, box.width, plan) for row in rows]
    spare, between = box.height - sum(talls), len(rows) - 1
    gap = min(max(spare / len(rows), min(GAPS[plan.mode], spare / max(between, 1))), most_gap)
    y = box.bottom - sum(talls) - gap * between
    for row, tall in zip(rows, talls, strict=True):
        place = Box(box.x, y, box.width, tall)
        if plan.mode == "beside":
            yield from _draw_beside(row, place, plan, _caption_column(rows))
        elif plan.mode == "led" and row.is_date and row.hour:
            yield from _draw_led(row, place, plan)
        else:
            yield from _draw_above(row, place, plan)
        y += tall + gap


def draw_marks(marks: tuple[str, ...], box: Box) -> Iterator[Element]:
    """Framed words, in a line or as many lines as they need, from the top of a box [mm]."""
    yield from _draw_flow(_flow(marks, "", (), box.width), box)


def marks_height(marks: tuple[str, ...], width: float) -> float:
    """Height [mm] of marks in a width [mm]."""
    return _flow(marks, "", (), width).height


def word_size(row: Row, width: float, most: float = WORD) -> float:
    """Size [pt] of a value on one line of a width [mm]."""
    return min(most, width * MM / face("bold").width(row.value))


def _capitals(size: float) -> float:
    """Height [mm] of capitals and figures of a size [pt], round ones too."""
    return (CAP_HEIGHT + OVERSHOOT) * size / MM


MARK_HEIGHT = _capitals(MARK) + 2 * MARK_PAD  # [mm]
HOUR_GAP = NEAR + 0.25  # [mm] between a day and its hour below
HALF_GAP = 0.25  # [mm] between the two lines of a caption


# --- captions and marks ------------------------------------------------------------------------------------


class _Item(NamedTuple):
    """A caption or a mark in a line of them."""

    text: str
    width: float  # [mm]
    is_mark: bool


class _CaptionLine(NamedTuple):
    """Captions and marks beside one another."""

    items: tuple[_Item, ...]
    height: float  # [mm]


class _Flow(NamedTuple):
    """Captions and marks in lines."""

    lines: tuple[_CaptionLine, ...]
    height: float  # [mm] with the space below each line; 0 for none


def _flow(leads: tuple[str, ...], caption: str, marks: tuple[str, ...], width: float) -> _Flow:
    """Marks, a caption and marks again, in lines no wider than a width [mm]."""
    return _flow_in(typeface_in_use(), leads, caption, marks, width)


@lru_cache(maxsize=REMEMBERED)
def _flow_in(
    _: Typeface, leads: tuple[str, ...], caption: str, marks: tuple[str, ...], width: float
) -> _Flow:
    """The same, remembered for the typeface in use: captions come again on label after label."""
    items = [
        *(_mark(lead, width) for lead in leads),
        *((_Item(caption, min(_caption_width(caption), width), False),) if caption else ()),
        *(_mark(mark, width) for mark in marks),
    ]
    lines: list[list[_Item]] = []
    for item in items:
        if lines and sum(other.width + SPACE for other in lines[-1]) + item.width <= width:
            lines[-1].append(item)
        else:
            lines.append([item])
    found = tuple(_CaptionLine(tuple(line), max(map(_item_height, line))) for line in lines)
    return _Flow(found, sum(line.height + NEAR for line in found))


def _mark(text: str, width: float) -> _Item:
    return _Item(text, min(face("bold").width(text) * MARK / MM + 2 * MARK_PAD + 0.4, width), True)


def _item_height(item: _Item) -> float:
    return MARK_HEIGHT if item.is_mark else text_height(item.text, 1, CAPTION)


def _draw_flow(flow: _Flow, box: Box) -> Iterator[Element]:
    y = box.y
    for items, tall in flow.lines:
        x = box.x
        for text, width, is_mark in items:
            place = Box(x, y, width, tall)
            if is_mark:
                yield Frame(place, 0.75)
                yield fit(text, place.inset(0.15), most=MARK, least=CAPTION, weight="bold", align="centre")
            else:
                yield _line(text, place, CAPTION, "regular")
            x = place.right + SPACE
        y += tall + NEAR


def _above(row: Row, width: float) -> _Flow:
    """What stands above a date, caption and all."""
    return _flow((row.lead,) if row.lead else (), row.caption, row.marks, width)


def _marks_only(row: Row, width: float) -> _Flow:
    """What stands above a date whose caption is beside it."""
    return _flow((row.lead,) if row.lead else (), "", row.marks, width)


def _over(row: Row, width: float, mode: Mode) -> _Flow:
    """What stands over a date when rows are set in a mode."""
    own_place = mode == "beside" or (mode == "led" and row.is_date and bool(row.hour))
    return (_marks_only if own_place else _above)(row, width)


def _caption_width(caption: str) -> float:
    return face("regular").width(caption) * CAPTION / MM + 0.1


def _caption_column(rows: tuple[Row, ...]) -> float:
    """Width [mm] of captions in two lines beside their dates."""
    words = [half for row in rows if row.is_date for half in _halves(row.caption)]
    return max((_caption_width(word) for word in words), default=0.0)


def _halves(caption: str) -> tuple[str, ...]:
    """A caption broken into two lines of about the same length."""
    words = caption.split(" ")
    cuts = [(" ".join(words[:n]), " ".join(words[n:])) for n in range(1, len(words))]
    return min(cuts, key=lambda halves: max(map(_caption_width, halves)), default=(caption,))


# --- sizes -------------------------------------------------------------------------------------------------


def _plan(rows: tuple[Row, ...], width: float, height: float, mode: Mode, *, tight: bool) -> RowPlan:
    """A mode with the size [pt] of the days by height, and the smallest of them once the width is counted."""
    dates = [row for row in rows if row.is_date]
    fixed = sum(_over(row, width, mode).height for row in rows)
    fixed += (TIGHT_GAP if tight else GAPS[mode]) * (len(rows) - 1)
    fixed += sum(_capitals(word_size(row, width)) for row in rows if not row.is_date)
    room = (height - fixed) / _capitals(1.0)  # [pt] for the dates themselves
    if not dates:
        return RowPlan(mode, MOST_DATE, MOST_DATE if room >= 0 else 0.0)
    hours = sum(1 for row in dates if row.hour) if mode == "split" else 0
    room -= hours * HOUR_GAP / _capitals(1.0)
    cap = room / (len(dates) + HOUR_SHARE * hours)
    if hours and cap * HOUR_SHARE < LEAST_DATE:
        cap = (room - hours * LEAST_DATE) / len(dates)
    if mode == "led":
        led = [row for row in dates if row.hour]
        if any(_led_width(row, width) > width for row in led):
            return RowPlan(mode, 0.0, 0.0)
        leads = sum(_led_height(row, width) + HOUR_GAP for row in led)
        cap = (room * _capitals(1.0) - leads) / _capitals(len(dates))
    if mode == "beside":
        halves = [half for row in dates for half in _halves(row.caption)]
        if _capitals(cap) < 2 * max(text_height(half, 1, CAPTION) for half in halves):
            return RowPlan(mode, 0.0, 0.0)
        width -= _caption_column(rows) + BESIDE
    least = min(_day_size(row, width, cap, mode) for row in dates)
    return RowPlan(mode, min(cap, MOST_DATE), min(least, MOST_DATE))


def _day_size(row: Row, width: float, cap: float, mode: Mode) -> float:
    text = row.day if mode in ("split", "led") else row.value
    return min(cap, width * MM / face("bold").width(text))


def _hour_size(row: Row, width: float, cap: float) -> float:
    return min(max(HOUR_SHARE * cap, LEAST_DATE), width * MM / face("bold").width(row.hour))


def _height(row: Row, width: float, plan: RowPlan) -> float:
    """Height [mm] of a whole row."""
    above = _over(row, width, plan.mode).height
    if plan.mode == "beside":
        return above + _capitals(plan.cap if row.is_date else word_size(row, width))
    if not row.is_date:
        return above + _capitals(word_size(row, width))
    tall = above + _capitals(_day_size(row, width, plan.cap, plan.mode))
    if plan.mode == "led" and row.hour:
        tall += _led_height(row, width) + HOUR_GAP
    if plan.mode == "split" and row.hour:
        tall += HOUR_GAP + _capitals(_hour_size(row, width, plan.cap))
    return tall


# --- drawing -----------------------------------------------------------------------------------------------


def _draw_above(row: Row, place: Box, plan: RowPlan) -> Iterator[Element]:
    flow = _above(row, place.width)
    yield from _draw_flow(flow, place)
    above = flow.height
    rest = place._replace(y=place.y + above, height=place.height - above)
    if not row.is_date:
        yield _line(row.value, rest, word_size(row, place.width), "bold")
        return
    size = _day_size(row, place.width, plan.cap, plan.mode)
    if plan.mode == "above" or not row.hour:
        yield _line(row.value, rest, size, "bold")
        return
    hour = _hour_size(row, place.width, plan.cap)
    below = rest._replace(y=rest.bottom - _capitals(hour), height=_capitals(hour))
    yield _line(row.day, rest._replace(height=_capitals(size)), size, "bold")
    yield _line(row.hour, below, hour, "bold")


def _led_caption(row: Row, width: float) -> tuple[str, ...]:
    """A caption before its hour: on one line where both fit a width [mm], else on two."""
    hour = BESIDE + face("bold").width(row.hour) * LEAST_DATE / MM + 0.1
    return (row.caption,) if _caption_width(row.caption) + hour <= width else _halves(row.caption)


def _led_width(row: Row, width: float) -> float:
    """Width [mm] of a caption with its hour behind."""
    caption = max(map(_caption_width, _led_caption(row, width)))
    return caption + BESIDE + face("bold").width(row.hour) * LEAST_DATE / MM + 0.1


def _led_height(row: Row, width: float) -> float:
    """Height [mm] of a caption with its hour behind."""
    lines = [text_height(line, 1, CAPTION) + HALF_GAP for line in _led_caption(row, width)]
    return max(sum(lines) - HALF_GAP, _capitals(LEAST_DATE))


def _draw_led(row: Row, place: Box, plan: RowPlan) -> Iterator[Element]:
    flow = _marks_only(row, place.width)
    yield from _draw_flow(flow, place)
    tall = _led_height(row, place.width)
    lead = place._replace(y=place.y + flow.height, height=tall)
    lines = _led_caption(row, place.width)
    column = max(map(_caption_width, lines))
    talls = [text_height(line, 1, CAPTION) for line in lines]
    y = lead.bottom - sum(talls) - HALF_GAP * (len(lines) - 1)
    for line, high in zip(lines, talls, strict=True):
        yield _line(line, Box(lead.x, y, column, high), CAPTION, "regular")
        y += high + HALF_GAP
    used = column + BESIDE
    hour = Box(lead.x + used, lead.bottom - _capitals(LEAST_DATE), lead.width - used, _capitals(LEAST_DATE))
    yield _line(row.hour, hour, LEAST_DATE, "bold")
    day = _day_size(row, place.width, plan.cap, "led")
    top = lead.bottom + HOUR_GAP
    yield _line(row.day, place._replace(y=top, height=place.bottom - top), day, "bold")


def _draw_beside(row: Row, place: Box, plan: RowPlan, column: float) -> Iterator[Element]:
    flow = _marks_only(row, place.width)
    yield from _draw_flow(flow, place)
    above = flow.height
    place = place._replace(y=place.y + above, height=place.height - above)
    if not row.is_date:
        yield _line(row.value, place, word_size(row, place.width), "bold")
        return
    lines = _halves(row.caption) if _caption_width(row.caption) > column else (row.caption,)
    tall = place.height / len(lines)
    for n, line in enumerate(lines):
        yield _line(line, Box(place.x, place.y + n * tall, column, tall), CAPTION, "regular")
    used = column + BESIDE
    rest = place._replace(x=place.x + used, width=place.width - used)
    yield _line(row.value, rest, plan.least, "bold")


def _line(text: str, box: Box, size: float, weight: Weight) -> Element:
    """One line at a size; letters that reach below the line shrink it a little."""
    return fit(text, box, most=size, least=min(size, CAPTION), weight=weight)
