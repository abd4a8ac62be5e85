"""A cell that is not what its column must hold."""

from __future__ import annotations


class UnfitCellError(ValueError):
    """What a cell must be and how to write it; the reader of the row adds the place and the column.

    Args:
        must: what follows "cut must be": 'a date'.
        remedy: one sentence.
        complete: `must` already says what was found.
    """

    def __init__(self, must: str, remedy: str, *, complete: bool = False) -> None:
        super().__init__(must)
        self.must = must
        self.remedy = remedy
        self.complete = complete


class DateFaultError(UnfitCellError):
    """The text is a date, but one that cannot be taken as it stands."""


class NoDateError(UnfitCellError):
    """The text is no date at all, as against one that is faulty."""
