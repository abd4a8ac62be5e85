"""Crate cards: one for every crate or bucket of every lot."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from tagmaker.lot import StorageDates
from tagmaker.paper.crate.card import QR_SIDE, card
from tagmaker.paper.crate.column import Crate
from tagmaker.paper.crate.day_scale import day_scale
from tagmaker.paper.crate.words import TEMPLATE, card_words, scale_ends, told_on
from tagmaker.paper.press.boxes import Box, Drawing, Sheet
from tagmaker.paper.press.fitting import fit
from tagmaker.paper.press.ink import Inked, print_sheets
from tagmaker.paper.press.qr import lot_text, sized_symbol
from tagmaker.paper.stock.card_stock import CardStock, card_stock
from tagmaker.telling.bunches import crates_of, per_container
from tagmaker.telling.readiness import is_wet
from tagmaker.telling.teller import Teller

FILE_NAME = "crate-cards.pdf"


def crate_cards(dated: Sequence[StorageDates], teller: Teller) -> Inked:
    """The crate cards of lots that have stems left, in the order given, as a PDF in memory.

    Args:
        dated: the lots and their dates.
        teller: kind of card, paper size, link and workday; stems per crate and bucket, hours in
            water, cautions; words, and the moment of printing.

    Raises:
        InputProblems: a link is too long for its code, a template is faulty, or the font lacks a
            character.
    """
    sheets = crate_sheets(dated, teller)
    title = teller.wording.macros(TEMPLATE).title()
    return print_sheets(FILE_NAME, title, sheets, printer=teller.farm.chosen_printer)


def crate_sheets(dated: Sequence[StorageDates], teller: Teller) -> tuple[Sheet, ...]:
    """The pages of `crate_cards`, before they are ink; same arguments."""
    farm, say = teller.farm, teller.wording.macros(TEMPLATE)
    stock = card_stock(farm.crate_card)
    cards = [
        drawing
        for lot in dated
        if lot.left is None or lot.left > 0
        for drawing in _cards_of(lot, stock, teller)
    ]
    if not cards:
        width, height = stock.card_size(farm.paper_size)
        words = fit(say.nothing(), Box(10, 10, width - 20, 20), most=14, least=8, lines=3)
        cards = [Drawing(width, height, (words,))]
    return tuple(stock.sheets(cards, farm.paper_size, say.fold()))


def _cards_of(dated: StorageDates, stock: CardStock, teller: Teller) -> Iterator[Drawing]:
    """One card for each crate or bucket of a lot."""
    lot, farm, crops = dated.lot, teller.farm, teller.crops
    say = teller.wording.macros(TEMPLATE)
    dpi = (farm.chosen_printer.dpi or stock.dpi) * farm.chosen_printer.scale_x
    code = sized_symbol(lot_text(dated, farm.link), QR_SIDE, lot.where, lot.lot_code, dpi)
    kind = "crate" if per_container(dated, crops)[1] else "bucket"
    loads = crates_of(dated, crops)
    uncounted = dated.left is None or is_wet(dated)
    for n, load in enumerate(loads, start=1):
        told = told_on(dated, load, teller, is_first=n == 1)
        words, scale = card_words(told, teller), day_scale(lot.cut.date(), *scale_ends(told, teller))
        crate = Crate(
            label=say.container(kind=kind, number=n, count=0 if uncounted else len(loads)),
            bunches=load.bunches,
            bunches_caption=say.bunches_open(per_bunch=lot.per_bunch)
            if load.bunches is None
            else say.bunches_left(),
        )
        yield card(stock, farm.paper_size, words, crate, scale, code, lot.where)
