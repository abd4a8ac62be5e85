"""A row whose cells were read one by one, about to be judged as a whole."""

from __future__ import annotations

from dataclasses import dataclass, field

from tagmaker.errors import Problem
from tagmaker.intake.cells.reading import Reading
from tagmaker.intake.lots.entry import Entry


@dataclass(slots=True)
class JudgedRow:
    """What a row says, its blanks filled, and what in it contradicts the rest."""

    typed: Entry  # what the grower wrote
    entry: Entry  # the same with its blanks filled
    reading: Reading
    problems: list[Problem] = field(default_factory=list)

    def refuse(self, column: str, must: str, remedy: str, got: str = "") -> None:
        """Note that a cell contradicts the rest of its row, unless it could not be read at all."""
        if column not in self.entry.faulty:
            what = f"{column} must {must} (got {got or self.typed.got(column)})"
            self.problems.append(self.entry.row.problem(column, what, remedy, self.entry.lot))
