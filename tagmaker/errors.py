"""What went wrong, where, and what to do about it.

Every fault in a grower's files becomes a `Problem`; nothing in the package prints one or exits.
The exceptions know the exit code with which the command line ends.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import ClassVar


@dataclass(frozen=True, slots=True)
class Problem:
    """One fault in the input, as the grower can find it and mend it."""

    where: str  # file, sheet and cell or key: 'lots.xlsx, sheet "Lots", cell E7'
    what: str  # what it must be and what was found: 'cut must be a date (got "12.o2.")'
    remedy: str  # one sentence: 'Write it as 2027-02-12.'
    lot: str = ""  # the lot code it belongs to; empty where it concerns the whole file

    def __str__(self) -> str:
        return f"{self.where}: {self.what}. {self.remedy}"


class TagmakerError(Exception):
    """A failure that is the user's to mend; `exit_code` is what the process ends with."""

    exit_code: ClassVar[int] = 1


class InputProblems(TagmakerError):
    """One or more problems in the sheet, the settings or what was asked of them."""

    exit_code = 1

    def __init__(self, problems: Iterable[Problem]) -> None:
        self.problems = tuple(problems)
        super().__init__("\n".join(str(problem) for problem in self.problems))


class UsageProblem(TagmakerError):
    """The command was called in a way that cannot be carried out."""

    exit_code = 2


class OutputProblem(TagmakerError):
    """A file could not be written or did not read back (old files are untouched), or could not be sent."""

    exit_code = 3


class PortTakenProblem(OutputProblem):
    """A port could not be opened."""
