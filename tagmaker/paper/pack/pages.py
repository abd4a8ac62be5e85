"""The pack sheet: a page a departure, its lines in walking order, at its head what goes into water first."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import groupby
from typing import Any

from tagmaker.farm import PAPER_SIZES
from tagmaker.notes import Note
from tagmaker.paper.pack.rows import (
    BAND,
    HEADS,
    LEAST,
    SIZE,
    Heads,
    draw_band,
    draw_heads,
    draw_row,
    row_height,
)
from tagmaker.paper.press.boxes import Box, Code, Drawing, Element, Placed, Rule, Sheet
from tagmaker.paper.press.fitting import fit
from tagmaker.paper.press.ink import Inked, print_sheets
from tagmaker.paper.press.qr import SizedSymbol, link_text, sized_symbol
from tagmaker.paper.press.stacking import Paragraph, stack, stack_height
from tagmaker.telling.naming import pack_page_name
from tagmaker.telling.pack_words import TEMPLATE, LineWords, PackedWords, packed_words
from tagmaker.telling.packing import Packed
from tagmaker.telling.teller import Teller

FILE_NAME = "pack-sheet.pdf"
MARGIN = 8.0  # [mm] of white all round
QR_SIDE = 25.2  # [mm] of the code, as on the checklist
TITLE = 12.0  # [mm] height of the line with day, hour and use
SMALL = 5.0  # [mm] height of the line on the printing
LINE = 2.0  # [mm] of white around the line below the head
BLANK_ROWS = 2  # for what comes along unplanned, where there is room (chosen)
MOST_CODED = 100  # letters of a code without a link


@dataclass(frozen=True, slots=True)
class _Band:
    """A cooler's name, and the line below it, which never stands on another page."""

    cooler: str
    first: LineWords


_Item = _Band | LineWords | Paragraph


def pack_sheets(found: Sequence[Packed], teller: Teller, offer: Note | None = None) -> Inked:
    """The pack sheets of some departures, as a PDF in memory.

    Args:
        found: the departures, one at least
        teller: words, paper size, link, and the moment of printing
        offer: what would serve more of what was ordered

    Raises:
        InputProblems: a link is too long for its code, a template is faulty, or the font lacks a character.
    """
    title = teller.wording.macros(TEMPLATE).title()
    return print_sheets(FILE_NAME, title, sheets_of(found, teller, offer), printer=teller.farm.chosen_printer)


def sheets_of(found: Sequence[Packed], teller: Teller, offer: Note | None = None) -> tuple[Sheet, ...]:
    """The pages of `pack_sheets`, before they are ink; same arguments."""
    tall, wide = PAPER_SIZES[teller.farm.paper_size]
    width, height = max(tall, wide), min(tall, wide)
    return tuple(
        Sheet(width, height, (Placed(Drawing(width, height, elements, where=where), 0, 0),))
        for packed in found
        for where, elements in _pages(packed, Box(0, 0, width, height).inset(MARGIN), teller, offer)
    )


def _pages(
    packed: Packed, inner: Box, teller: Teller, offer: Note | None
) -> Iterator[tuple[str, tuple[Element, ...]]]:
    """The pages of a departure, each with what it is called in messages."""
    say, words = teller.wording.macros(TEMPLATE), packed_words(packed, teller, offer)
    said = (Paragraph(words.sums, SIZE), *(Paragraph(work, SIZE, "bold") for work in words.works))
    room = inner.width - QR_SIDE - 2 * LINE
    first = max(TITLE + SMALL + stack_height(said, room), QR_SIDE) + LINE
    later = TITLE + SMALL + LINE
    items = [*_items(words.lines, say), *_below(words, say)]
    pages = _paged(items, inner, first + HEADS, later + HEADS, say)
    code = _code(packed, words.lines, teller)
    printed = say.printed(now=teller.now, farm=teller.farm.name)
    heads = _heads(say)
    for number, page in enumerate(pages, start=1):
        is_first = number == 1
        name = words.head if is_first else say.goes_on(head=words.head)
        numbered = " · ".join((say.page(number=number, count=len(pages)), printed))
        top = inner.y + (first if is_first else later)
        elements = list(_head(inner, name, numbered, said if is_first else (), code if is_first else None))
        elements.append(Rule(inner.x, top - LINE / 2, inner.right, top - LINE / 2, width=2))
        body = Box(inner.x, top, inner.width, inner.bottom - top)
        elements += _body(body, page, heads, is_last=number == len(pages))
        yield words.head, tuple(elements)


def _head(
    inner: Box, name: str, numbered: str, said: Sequence[Paragraph], code: SizedSymbol | None
) -> Iterator[Element]:
    """Day, hour and use; below them what goes into water; the code to the right."""
    width = inner.width - (QR_SIDE + 2 * LINE if code is not None else 0)
    yield fit(name, Box(inner.x, inner.y, width, TITLE), most=28, least=SIZE, weight="bold", lines=2)
    below = Box(inner.x, inner.y + TITLE, width, SMALL)
    yield fit(numbered, below, most=9, least=6.5, stand="top")
    yield from stack(said, Box(inner.x, below.bottom, width, inner.bottom - below.bottom))
    if code is not None:
        yield Code(Box(inner.right - QR_SIDE, inner.y, QR_SIDE, QR_SIDE), code)


def _items(lines: Sequence[LineWords], say: Any) -> Iterator[_Item]:
    """The lines, and before those of a cooler its name."""
    for cooler, group in groupby(lines, key=lambda line: line.cooler):
        first, *rest = group
        yield _Band(say.cooler(name=cooler), first)
        yield from rest


def _height(item: _Item, width: float) -> float:
    """Height [mm] that something takes on a page of a width [mm]."""
    if isinstance(item, Paragraph):
        return stack_height((item,), width) + item.before
    return BAND + row_height(item.first, width) if isinstance(item, _Band) else row_height(item, width)


def _paged(items: Sequence[_Item], inner: Box, first: float, later: float, say: Any) -> list[list[_Item]]:
    """What stands on each page, one after the other; a cooler that goes on is named again.

    Args:
        items: all of it
        inner: the page without its white edge
        first: height of what stands above on the first page [mm]
        later: the same on any other [mm]
        say: words
    """
    pages: list[list[_Item]] = [[]]
    left = inner.height - first
    for item in items:
        height = _height(item, inner.width)
        if height > left + 1e-6 and pages[-1]:
            pages.append([])
            left = inner.height - later
            if isinstance(item, LineWords):
                item = _Band(say.cooler(name=item.cooler), item)
                height += BAND
        pages[-1].append(item)
        left -= height
    return pages


def _body(body: Box, page: Sequence[_Item], heads: Heads, *, is_last: bool) -> Iterator[Element]:
    """The lines of a page, empty ones where there is room, and what stands below them."""
    yield from draw_heads(Box(body.x, body.y, body.width, HEADS), heads)
    y = body.y + HEADS
    below = [item for item in page if isinstance(item, Paragraph)]
    for item in page:
        if isinstance(item, Paragraph):
            continue
        if isinstance(item, _Band):
            yield from draw_band(Box(body.x, y, body.width, BAND), item.cooler)
            y += BAND
        line = item.first if isinstance(item, _Band) else item
        row = Box(body.x, y, body.width, row_height(line, body.width))
        yield from draw_row(row, line)
        y = row.bottom
    spare = body.bottom - y - sum(_height(item, body.width) for item in below)
    for _ in range(min(BLANK_ROWS, int(spare / LEAST + 1e-6)) if is_last else 0):
        yield from draw_row(Box(body.x, y, body.width, LEAST), None)
        y += LEAST
    for item in below:
        height = _height(item, body.width)
        place = Box(body.x, y + item.before, body.width, height - item.before + 1e-3)
        yield from stack((item,), place)
        y += height


def _below(words: PackedWords, say: Any) -> tuple[Paragraph, ...]:
    """What is missing, what was ordered, and what the boxes are for."""
    hints = f"{say.how_to(sold=say.sold_head(), back=say.back_head())} {say.caution()}"
    return (
        *(Paragraph(text, SIZE, "bold", before=1.5) for text in words.short),
        *(Paragraph(text, SIZE, before=1.5) for text in (words.offer, *words.orders) if text),
        Paragraph(hints, 10.0, before=2.0),
    )


def _heads(say: Any) -> Heads:
    return Heads(
        say.place_head(),
        say.lot_head(),
        say.flowers_head(),
        say.bunches_head(),
        say.water_head(),
        say.bucket_head(),
        say.sold_head(),
        say.back_head(),
    )


def _code(packed: Packed, lines: Sequence[LineWords], teller: Teller) -> SizedSymbol:
    """The code: the farm's link with the page of this list in place of a lot's, else what is packed."""
    farm = teller.farm
    if farm.link is not None and "{lot}" in farm.link:
        text = link_text(farm.link, pack_page_name(packed.leaves, packed.use, farm.uses), 0)
    else:
        lots = " ".join(f"{line.lot} {line.bunches}" for line in lines)
        say = teller.wording.macros(TEMPLATE)
        text = say.code_text(use=packed.use, leaves=packed.leaves, lots=lots)[:MOST_CODED].rstrip()
    return sized_symbol(text, QR_SIDE, f"the pack sheet of {packed.use}")
