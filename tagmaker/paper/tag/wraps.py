"""Wrap labels: one for every bunch that is left, on sheets of a label stock."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from types import MappingProxyType

from tagmaker.errors import InputProblems, Problem
from tagmaker.lot import StorageDates
from tagmaker.paper.press.boxes import Drawing
from tagmaker.paper.press.ink import Inked
from tagmaker.paper.press.qr import lot_text
from tagmaker.paper.stock.label_sheets import TagSpace, print_labels
from tagmaker.paper.tag.layout import draw_tag
from tagmaker.paper.tag.words import TEMPLATE, tag_words, wet_words
from tagmaker.telling.bunches import bunches_of
from tagmaker.telling.readiness import is_wet
from tagmaker.telling.teller import Teller

FILE_NAME = "wrap-labels.pdf"


def wrap_labels(
    lots: Sequence[StorageDates],
    teller: Teller,
    most: Mapping[str, int] = MappingProxyType({}),
    count: int | None = None,
    first: int = 1,
) -> Inked:
    """The labels of lots, in their order, on the farm's label stock; a lot with none left has none.

    Args:
        lots: dated lots
        teller: label stock, link, hours, cautions and words
        most: lot code -> labels, for lots of which only the last so many bunches are wanted
        count: of those, how many of each lot are wanted; None: all
        first: label of the first sheet to begin with, from 1 on: those before it were used up

    Raises:
        InputProblems: stems that are not given, links that do not fit, characters that the font lacks.
    """
    farm, say = teller.farm, teller.wording.macros(TEMPLATE)

    def draw(dates: StorageDates, space: TagSpace) -> Iterable[tuple[Drawing, int]]:
        return lot_labels(dates, space, teller, most.get(dates.lot.lot_code), count)

    return print_labels(FILE_NAME, say.title(farm=farm.name), say.nothing(), lots, draw, farm, first)


def lot_labels(
    dates: StorageDates,
    space: TagSpace,
    teller: Teller,
    most: int | None = None,
    count: int | None = None,
) -> Iterator[tuple[Drawing, int]]:
    """Each different label of a lot, and how many bunches carry it; one slip for a lot that is still wet.

    With `most` only the last so many bunches have one, with `count` only so many of these.

    Raises:
        InputProblems: its stems are not given, or some of its labels do not fit; once all were tried.
    """
    lot, link = dates.lot, teller.farm.link
    if is_wet(dates):
        text = lot_text(dates, link)
        yield draw_tag(wet_words(dates, teller.wording), text, *space, where=lot.where), 1
        return
    problems: list[Problem] = []
    for bunches in bunches_of(dates, most, count):
        words = tag_words(dates, bunches.order, bunches.stems, teller)
        text = lot_text(dates, link, bunches.order)
        try:
            yield draw_tag(words, text, *space, where=lot.where), bunches.count
        except InputProblems as error:
            problems.extend(error.problems)
    if problems:
        raise InputProblems(dict.fromkeys(problems))
