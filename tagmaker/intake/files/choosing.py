"""Which of a workbook's sheets holds the lots: the one whose header says so."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from tagmaker.errors import InputProblems, Problem
from tagmaker.intake.cells.plain_text import listed, shown, squash

NEVER = ("orders", "farm", "uses", "coolers", "readings")  # sheets of other things
LOTS_SHEET = "lots"


def chosen_sheet(file: str, names: Sequence[str], fits: Callable[[str], bool]) -> str:
    """The name of the sheet of lots.

    Args:
        file: the workbook, for messages.
        names: of its sheets, in order.
        fits: whether the header of a sheet has lot and cut.

    Raises:
        InputProblems: two fit, or there is none that could.
    """
    candidates = [name for name in names if squash(name) not in NEVER]
    if not candidates:
        found = f"only {listed(map(shown, names), 'and')}" if names else "none"
        what = f"must have a sheet of lots (got {found})"
        raise InputProblems([Problem(file, what, 'Name the sheet that holds them "Lots".')])
    fitting = [name for name in candidates if fits(name)] if len(candidates) > 1 else candidates
    if len(fitting) > 1:
        what = f"must have one sheet of lots (got {listed(map(shown, fitting), 'and')})"
        remedy = "Move all lots that count into one of them, and the others into a workbook of their own."
        raise InputProblems([Problem(file, what, remedy)])
    named = [name for name in candidates if squash(name) == LOTS_SHEET]
    return (fitting or named or candidates)[0]
