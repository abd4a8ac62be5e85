"""Labels for bunches that leave the farm: what they are, whose, and how to keep them; no date of any kind.

The code leads to the lot's page, so there must be a link: a code without one would hold the dates.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from tagmaker.errors import InputProblems, Problem
from tagmaker.lot import StorageDates
from tagmaker.paper.press.boxes import MM, Box, Drawing, Element
from tagmaker.paper.press.characters import tidy
from tagmaker.paper.press.fitting import Align, fit, wrap
from tagmaker.paper.press.fonts import face
from tagmaker.paper.press.ink import Inked
from tagmaker.paper.press.qr import link_text
from tagmaker.paper.press.stacking import Paragraph, stack, stack_height
from tagmaker.paper.stock.label_sheets import TagSpace, print_labels
from tagmaker.paper.tag.frame import SMALL, WORDS, TagFrame, frames
from tagmaker.telling.bunches import bunches_of
from tagmaker.telling.naming import form, variety
from tagmaker.telling.teller import Teller

FILE_NAME = "buyer-labels.pdf"
TEMPLATE = "buyer-label.j2"
# Sizes [pt] tried for the name, on two lines, and for all other words (chosen).
LARGE = ((24.0, 14.0), (21.0, 12.0), (18.0, 10.0), (16.0, 9.0), (14.0, 8.0))
SIZES = (*LARGE, *((size, WORDS) for size in (12.0, 11.0, 10.0, 9.0, 8.0, WORDS)))
CARE_MODULE = 0.55  # [mm] down to which a code gives way to the care: it still reads (chosen)
LOT_LINE = 2.1  # [mm] of the lot, at the code


@dataclass(frozen=True, slots=True)
class BuyerWords:
    """Everything that such a label says."""

    name: str
    kind: str
    pets: str
    farm: str
    care: str
    short_care: str
    lot: str


def buyer_labels(lots: Sequence[StorageDates], teller: Teller, first: int = 1) -> Inked:
    """A label for every bunch that is left of some lots, on the farm's label stock.

    Args:
        lots: lots whose bunches may leave
        teller: the farm's name, link and label stock, cautions and words
        first: label of the first sheet to begin with, from 1 on

    Raises:
        InputProblems: no link is set, stems are not given, a label is too small, a character is missing.
    """
    farm, link = teller.farm, teller.farm.link
    if link is None:
        what = "link must be set for labels that leave the farm: without it their codes would hold the dates"
        remedy = 'Write link = "https://YOUR.HOST/pages/{lot}.html"; tagmaker lot-pages makes those pages.'
        raise InputProblems([Problem("tagmaker.toml", f"{what} (got nothing)", remedy)])
    say = teller.wording.macros(TEMPLATE)

    def draw(dates: StorageDates, space: TagSpace) -> Iterator[tuple[Drawing, int]]:
        lot = dates.lot
        text = link_text(link, lot.lot_code, lot.row)
        for stems, bunches in sorted(_bunches(dates).items(), reverse=True):
            words = _words(dates, stems, teller)
            yield draw_label(words, text, space, where=lot.where, lot=lot.lot_code), bunches

    return print_labels(FILE_NAME, say.title(farm=farm.name), say.nothing(), lots, draw, farm, first)


def _bunches(dates: StorageDates) -> Counter[int]:
    """How many bunches there are of each number of stems."""
    counts: Counter[int] = Counter()
    for bunches in bunches_of(dates):
        counts[bunches.stems] += bunches.count
    return counts


def _words(dates: StorageDates, stems: int, teller: Teller) -> BuyerWords:
    say, lot, keeping = teller.wording.macros(TEMPLATE), dates.lot, teller.keeping(dates)
    crop, named = lot.crop, variety(lot)
    return BuyerWords(
        name=say.name(crop=crop, form=form(lot), variety=named),
        kind=say.kind(
            crop=crop if named else "", form=form(lot) if named else "", colour=lot.colour, stems=stems
        ),
        pets=say.pets(crop=(keeping.caution if keeping else "") or crop),
        farm=teller.farm.name,
        care=say.care(crop=crop),
        short_care=say.short_care(crop=crop),
        lot=say.lot(code=lot.lot_code),
    )


def draw_label(words: BuyerWords, code_text: str, space: TagSpace, *, where: str, lot: str) -> Drawing:
    """One bunch's label: with the care, if a code that is not fine leaves it room.

    Raises:
        InputProblems: the link is too long, or the label too small for it, the name and who must keep away.
    """
    ways = list(frames(code_text, *space, where=where, lot=lot))
    coarse = [(frame, sized) for frame, sized in ways if sized.module >= CARE_MODULE]
    for with_care, tried in ((True, coarse), (False, ways)):
        for frame, sized in tried:
            at_code = _lot_line(frame, words.lot)
            said = _fitted(words, frame.column, own_lot=at_code is None, with_care=with_care)
            if said is not None:
                align: Align = "left" if frame.upright else "centre"
                last = at_code and fit(words.lot, at_code, most=SMALL, least=SMALL, align=align)
                return frame.drawing((*said, last) if last else said, sized, lot, where)
    what = f"a label must have room for its code and its words (got {space.width:g} x {space.height:g} mm)"
    remedy = "Choose a larger label stock: tagmaker label-stocks lists them. A shorter link takes less room."
    raise InputProblems([Problem(where, what, remedy, lot)])


def _lot_line(frame: TagFrame, lot: str) -> Box | None:
    """A line at the code for the lot; None: there is no room for all of it."""
    at = frame.at_code
    if at.height < LOT_LINE or face("regular").width(lot) * SMALL / MM > at.width:
        return None
    return Box(at.x, at.bottom - LOT_LINE if frame.upright else at.y, at.width, LOT_LINE)


def _fitted(words: BuyerWords, column: Box, *, own_lot: bool, with_care: bool) -> Sequence[Element] | None:
    """The words as large as they fit; None: not even name, lot and pets fit, or not with the care.

    The care gets short, then goes; after it the farm, then what kind it is. The name is cut only if that
    does not help.
    """
    lot = (words.lot,) if own_lot else ()
    sets: Sequence[Sequence[str]] = (
        (words.kind, words.farm, words.care, words.pets),
        (words.kind, words.farm, words.short_care, words.pets),
        (words.kind, words.farm, words.pets),
        (words.kind, words.pets),
        (words.pets,),
    )
    for parts in sets[:2] if with_care else sets:
        for name_size, size in SIZES:
            name = Paragraph(words.name, name_size, "bold", lines=2)
            may_cut = len(parts) == 1 and (name_size, size) == SIZES[-1]
            if len(wrap(tidy(words.name), column.width * MM / name_size, "bold")) > 2 and not may_cut:
                continue
            texts = (*(part for part in parts if part), *lot)
            told = [name, *(_paragraph(text, size, column, whole=text in lot) for text in texts)]
            if stack_height(told, column.width) <= column.height:
                return stack(_spread(told, column), column)
    return None


def _paragraph(text: str, size: float, column: Box, *, whole: bool) -> Paragraph:
    """A text at a size [pt]; one that must stay whole is made small enough for a line of its own."""
    if whole:
        size = min(size, column.width * MM / face("regular").width(text))
    return Paragraph(text, size, before=0.7)


def _spread(told: Sequence[Paragraph], column: Box) -> list[Paragraph]:
    """The same with some of the height that is left over between them."""
    spare = (column.height - stack_height(told, column.width)) / max(len(told) - 1, 1)
    return [paragraph._replace(before=paragraph.before + min(spare, 2.0)) for paragraph in told]
