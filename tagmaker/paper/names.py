"""The names that a grower gave, looked at before anything is drawn: each is refused where it was written."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence

from tagmaker.errors import Problem
from tagmaker.farm import Farm
from tagmaker.lot import Lot
from tagmaker.paper.press.characters import font_problems

SIGNED = frozenset({"buyers", "checklist", "cooler report", "pack"})  # papers with the farm's name


def name_problems(
    kinds: Iterable[str], lots: Sequence[Lot], farm: Farm, on_paper: Mapping[str, Sequence[str]]
) -> Iterator[Problem]:
    """Names that would be on some papers of these lots and cannot be printed.

    Must be asked inside `fonts.typeface`. What stands elsewhere, as in a template, is found when it is inked.

    Args:
        kinds: of paper.
        lots: those that are to be printed.
        farm: its settings.
        on_paper: kind -> the fields of a lot whose words are on it.
    """
    kinds = set(kinds)
    columns = dict.fromkeys(column for kind, shown in on_paper.items() if kind in kinds for column in shown)
    for lot in lots:
        for column in columns:
            where = lot.name_cells.get(column, lot.where)
            yield from font_problems([getattr(lot, column)], where, lot.lot_code)
    if kinds & SIGNED:
        yield from font_problems([farm.name], farm.places.get(("", "", "farm"), "tagmaker.toml, farm"))
    coolers = set(farm.coolers) if kinds & {"checklist", "pack"} else set()
    if "crates" in kinds:
        coolers |= {lot.cooler for lot in lots}
    for name in farm.coolers:
        if name in coolers:
            where = farm.places.get(("coolers", name, ""), f"tagmaker.toml, [coolers.{name}]")
            yield from font_problems([name], where)
