"""A table that may be a thermometer log: its rows as text, its places, its limits."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass

from tagmaker.errors import InputProblems, Problem
from tagmaker.intake.files.grid import column_letters

MOST_ROWS = 2_000_000  # of all files of a cooler (chosen: four years at one minute)
LOOKED_AT = 200  # rows in which columns are found (chosen)
WAYS_OUT = "Export fewer days at once, or one reading every five minutes."

Row = tuple[int, list[str]]  # its line or row as the grower counts it, and its cells


@dataclass(frozen=True, slots=True)
class Table:
    """The rows of a text file or of one sheet."""

    name: str  # the file as messages name it
    sheet: str | None  # None for a text file
    head: tuple[Row, ...]  # the first rows
    rows: Callable[[], Iterator[Row]]  # all rows, from the first on

    @property
    def where(self) -> str:
        """File and sheet."""
        return self.name if self.sheet is None else f'{self.name}, sheet "{self.sheet}"'

    def cell_at(self, line: int, column: int, title: str) -> str:
        """A cell as the grower sees it; columns count from 0."""
        if self.sheet is None:
            return f"{self.name}, line {line}, column {title or column_letters(column)}"
        return f"{self.where}, cell {column_letters(column)}{line}"


def refused(name: str, got: str, remedy: str) -> InputProblems:
    """The problem of a file that is no log."""
    return InputProblems(
        [Problem(name, f"must be a thermometer log as csv, xlsx or ods (got {got})", remedy)]
    )


def too_many(name: str) -> InputProblems:
    """The problem of a log beyond the limit."""
    what = f"must be at most {MOST_ROWS:,} rows, all files of a cooler together (got more)"
    return InputProblems([Problem(name, what, WAYS_OUT)])


def filled(row: Iterable[str]) -> int:
    """How many cells a row has up to its last filled one."""
    return max((index for index, cell in enumerate(row, 1) if cell.strip()), default=0)
