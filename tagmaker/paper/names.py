"""The names that a grower gave, looked at before anything is drawn: each is refused where it was written."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence

from tagmaker.errors import Problem
from tagmaker.farm import Farm
from tagmaker.lot import Lot
from tagmaker.paper.press.characters import font_problems

# Columns of the lot sheet whose words are on a kind of paper; notes are on none.
ON_PAPER: Mapping[str, tuple[str, ...]] = {
    "wraps": ("crop", "variety", "colour"),
    "buyers": ("crop", "variety", "colour"),
    "crates": ("crop", "variety", "colour", "place"),
    "checklist": ("crop", "variety", "colour", "place"),
    "cooler report": ("crop", "variety"),
}
SIGNED = frozenset({"buyers", "checklist", "cooler report"})  # papers with the farm's name


def name_problems(kinds: Iterable[str], lots: Sequence[Lot], farm: Farm) -> Iterator[Problem]:
    """Names that would be on some papers of these lots and cannot be printed.

    Must be asked inside `fonts.typeface`. What stands elsewhere, as in a template, is found when it is inked.

    Args:
        kinds: of `ON_PAPER`.
        lots: those that are to be printed.
        farm: its settings.
    """
    kinds = set(kinds)
    columns = dict.fromkeys(column for kind in ON_PAPER if kind in kinds for column in ON_PAPER[kind])
    for lot in lots:
        for column in columns:
            where = lot.name_cells.get(column, lot.where)
            yield from font_problems([getattr(lot, column)], where, lot.lot_code)
    if kinds & SIGNED:
        yield from font_problems([farm.name], "tagmaker.toml, farm")
    coolers = set(farm.coolers) if "checklist" in kinds else set()
    if "crates" in kinds:
        coolers |= {lot.cooler for lot in lots}
    for name in farm.coolers:
        if name in coolers:
            yield from font_problems([name], f"tagmaker.toml, [coolers.{name}]")
