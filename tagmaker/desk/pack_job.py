"""The command `pack`: the table, what is kept, the pack sheet; and the question on the telephone."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path

from tagmaker.desk.entry_making import Yard
from tagmaker.desk.pack_entries import Keep, keep, keeping_in
from tagmaker.desk.pack_printing import Handing, pack_text, print_pack_sheet
from tagmaker.desk.packing import Packing, asked_of, packing
from tagmaker.desk.season import Season
from tagmaker.desk.telephone import answered, question
from tagmaker.errors import InputProblems
from tagmaker.paper.deliver.filing import Filed
from tagmaker.telling.pack_words import TEMPLATE

Say = Callable[[str], None]


@dataclass(frozen=True, slots=True, kw_only=True)
class PackWish:
    """What the command asks for."""

    use: str | None = None
    on: str | None = None
    bunches: int | None = None
    keep: bool = False
    anew: bool = False
    skip_bad: bool = False
    out: Path | None = None
    printer: str | None = None
    send_to: str | None = None
    preview: bool = False


def pack_all(
    season: Season,
    wish: PackWish,
    yard: Yard,
    echo: Say,
    tell: Say,
    show: Callable[[Sequence[Filed]], None],
) -> None:
    """List what to pack, keep it where that is asked, and print its sheet.

    Where rows of lots or orders are faulty, the table alone is told: the bunches of an order that cannot be
    read would go to others.

    Args:
        season: the season folder, read
        wish: what is asked for
        yard: when something is kept
        echo: says what was asked for
        tell: says everything else
        show: takes the files once they are in place

    Raises:
        UsageProblem: a use, a day or a printer that there is not.
        InputProblems: rows are faulty, and going on without them was not asked for.
        OutputProblem: something could not be kept, written or sent.
    """
    found = packing(season, asked_of(season, wish.use, wish.on, wish.bunches, anew=wish.anew))
    echo(pack_text(found))
    if (season.problems or season.order_problems) and not wish.skip_bad:
        tell("nothing was written; correct these, or go on without them with --skip-bad")
        raise InputProblems(season.problems)  # those of orders were told when the season was read
    if wish.keep:
        tell(_kept(found, keep(found, keeping_in(found), yard)))
    handing = Handing(out=wish.out, printer=wish.printer, send_to=wish.send_to, preview=wish.preview)
    print_pack_sheet(found, handing, tell, show)


def _kept(found: Packing, done: Sequence[Keep]) -> str:
    """What was written down."""
    per_bunch = {lot.lot_code: lot.per_bunch for lot in found.season.lots}
    lots = [(one.lot, -(-one.stems // per_bunch.get(one.lot, 1))) for one in done]
    return str(found.season.wording.macros(TEMPLATE).kept(lots=lots))


def answer(season: Season, words: str) -> str:
    """What could be promised, as it was asked on the telephone.

    Raises:
        UsageProblem: the question cannot be read.
    """
    return answered(season, question(season, words))
