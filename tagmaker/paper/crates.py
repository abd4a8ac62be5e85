"""Crate cards: one for every crate or bucket of every lot, four to a page with cut lines."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from datetime import datetime

from tagmaker.farm import Farm
from tagmaker.lot import StorageCode, StorageDates
from tagmaker.paper.boxes import Box, Drawing, Placed, Rule, Sheet
from tagmaker.paper.crate_card import QR_SIDE, Crate, card, day_scale
from tagmaker.paper.crate_words import TEMPLATE, card_words
from tagmaker.paper.fitting import fit
from tagmaker.paper.ink import Inked, print_sheets
from tagmaker.paper.qr import lot_text, sized_symbol
from tagmaker.storage.crops import CropTable
from tagmaker.storage.lot_week import is_wet
from tagmaker.wording import Wording

FILE_NAME = "crate-cards.pdf"
PAGES = {"letter": (215.9, 279.4), "a4": (210.0, 297.0)}  # [mm] width and height, upright
EDGE = 5.0  # [mm] of the page that printers leave white: cut lines stop there


def crate_cards(
    dated: Sequence[StorageDates], farm: Farm, crops: CropTable, wording: Wording, now: datetime
) -> Inked:
    """The crate cards of lots that have stems left, in the order given, as a PDF in memory.

    Args:
        dated: the lots and their dates.
        farm: paper size, link and workday.
        crops: stems per crate and bucket, hours in water, cautions.
        wording: the farm's words.
        now: the moment of printing.

    Raises:
        InputProblems: a link is too long for its code, a template is faulty, or the font lacks a
            character.
    """
    sheets = crate_sheets(dated, farm, crops, wording, now)
    return print_sheets(FILE_NAME, wording.macros(TEMPLATE).title(), sheets)


def crate_sheets(
    dated: Sequence[StorageDates], farm: Farm, crops: CropTable, wording: Wording, now: datetime
) -> tuple[Sheet, ...]:
    """The pages of `crate_cards`, before they are ink; same arguments."""
    width, height = PAGES[farm.paper_size]
    cards = [
        drawing
        for lot in dated
        if lot.left is None or lot.left > 0
        for drawing in _cards_of(lot, farm, crops, wording, now)
    ]
    if not cards:
        nothing = wording.macros(TEMPLATE).nothing()
        words = fit(nothing, Box(10, 10, width / 2 - 20, 20), most=14, least=8, lines=3)
        cards = [Drawing(width / 2, height / 2, (words,))]
    cuts = _cut_lines(width, height)
    return tuple(
        Sheet(width, height, (Placed(cuts, 0, 0), *_quarters(cards[start : start + 4], width, height)))
        for start in range(0, len(cards), 4)
    )


def _quarters(cards: Sequence[Drawing], width: float, height: float) -> Iterator[Placed]:
    for n, drawing in enumerate(cards):
        row, column = divmod(n, 2)
        yield Placed(drawing, column * width / 2, row * height / 2)


def _cut_lines(width: float, height: float) -> Drawing:
    """A dashed cross through the middle of the page."""
    dash = (3.0, 3.0)
    across = Rule(EDGE, height / 2, width - EDGE, height / 2, 0.4, dash)
    down = Rule(width / 2, EDGE, width / 2, height - EDGE, 0.4, dash)
    return Drawing(width, height, (across, down))


def _cards_of(
    dated: StorageDates, farm: Farm, crops: CropTable, wording: Wording, now: datetime
) -> Iterator[Drawing]:
    """One card for each crate or bucket of a lot."""
    lot, say = dated.lot, wording.macros(TEMPLATE)
    words = card_words(dated, farm, crops, wording, now)
    code = sized_symbol(lot_text(dated, farm.link), QR_SIDE, lot.where, lot.lot_code)
    scale = day_scale(lot.cut, dated.sell_by, dated.into_water_by)
    width, height = (side / 2 for side in PAGES[farm.paper_size])
    kind = "crate" if per_container(dated, crops)[1] else "bucket"
    shares = containers(dated, crops)
    uncounted = dated.left is None or is_wet(dated)
    for n, bunches in enumerate(shares, start=1):
        crate = Crate(
            label=say.container(kind=kind, number=n, count=0 if uncounted else len(shares)),
            bunches=bunches,
            bunches_caption=say.bunches_open(per_bunch=lot.per_bunch)
            if bunches is None
            else say.bunches_left(),
        )
        yield card(width, height, words, crate, scale, code, lot.where)


def per_container(dated: StorageDates, crops: CropTable) -> tuple[int, bool]:
    """Stems that a crate or bucket of a lot takes, and whether it is a crate."""
    keeping = crops.keeping(dated.lot.crop, dated.lot.form, dated.kept)
    if keeping is None:
        return 1, True
    if dated.code is StorageCode.WATER or keeping.per_crate is None:
        return keeping.per_bucket, False
    return keeping.per_crate, True


def containers(dated: StorageDates, crops: CropTable) -> tuple[int | None, ...]:
    """Bunches in each crate or bucket of a lot, filled one after another.

    A lot of unknown size, and a wet one that is not in crates yet, has one card; its bunches, and
    those that are larger than a bucket, are not counted.
    """
    left, bunches = dated.left, dated.lot.bunches_left
    if left is None or bunches is None or is_wet(dated):
        return (None,)
    room, _ = per_container(dated, crops)
    count = math.ceil(left / room)
    if bunches < count:
        return (None,) * count
    full = room // dated.lot.per_bunch
    if full * count >= bunches:
        return tuple(min(full, bunches - n * full) for n in range(count))
    each, over = divmod(bunches, count)
    return tuple(each + (n < over) for n in range(count))
