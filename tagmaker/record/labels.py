"""Which labels of which sheet a printing takes, so that no two share one."""

from __future__ import annotations

from dataclasses import dataclass

from tagmaker.errors import UsageProblem


@dataclass(frozen=True, slots=True)
class Sheet:
    """The sheet of a label stock that was printed last."""

    number: int = 0  # counted from 1; 0: none yet
    next_label: int = 1  # its first free label; 1: it is used up, so the next printing begins a sheet


@dataclass(frozen=True, slots=True, kw_only=True)
class Start:
    """Where a printing wants to begin."""

    stock: str
    per_page: int  # labels on a sheet of it
    first: int | None  # label of the sheet, from 1 on; None: the first free one
    offered: int | None = None  # what a form showed as the first free label; None: nothing was shown
    another: bool = False  # the sheet in the printer is not the one printed last


@dataclass(frozen=True, slots=True, kw_only=True)
class Stretch:
    """Labels one after another, from one label of a sheet on."""

    stock: str
    per_page: int
    sheet: int
    first: int
    labels: int

    @property
    def follows(self) -> Sheet:
        """The last sheet, once they are printed."""
        pages, used = divmod(self.first - 1 + self.labels, self.per_page)
        return Sheet(self.sheet + pages - (not used), used + 1 if used else 1)

    @property
    def positions(self) -> tuple[tuple[int, int], ...]:
        """Sheet and label of each."""
        begin = self.first - 1
        return tuple(
            (self.sheet + n // self.per_page, n % self.per_page + 1)
            for n in range(begin, begin + self.labels)
        )


class LabelUsed(UsageProblem):
    """A label to begin with that was printed on meanwhile."""

    def __init__(self, stock: str, got: int, free: int) -> None:
        """Take the stock, the label that was asked for, and the first free one."""
        super().__init__(
            f"--first must be a free label of {stock} (got {got}, and the sheet printed last is free from "
            f"{free} on). Write --first next; where another sheet is in the printer, add --another-sheet."
        )
        self.stock, self.got, self.free = stock, got, free


def stretch(start: Start, sheet: Sheet, labels: int) -> Stretch:
    """The labels that a printing takes.

    Label 1 begins a sheet. Any other goes on with the sheet that was printed last, unless `another` is in the
    printer.

    Args:
        start: where it wants to begin
        sheet: the sheet of that stock that was printed last
        labels: how many, at least 1

    Raises:
        UsageProblem: a sheet has no such label.
        LabelUsed: that label is printed on, or the one that was offered is no longer the first free one.
    """
    free = min(sheet.next_label, start.per_page)
    first = free if start.first is None else start.first
    if first > start.per_page:
        what = f"--first must be a label of {start.stock}, from 1 to {start.per_page} (got {first})"
        raise UsageProblem(what)
    outdated = first == start.offered != free or 1 < first < free
    if outdated and not start.another:
        raise LabelUsed(start.stock, first, free)
    goes_on = 1 < free <= first and not start.another
    number = sheet.number if goes_on else sheet.number + 1
    return Stretch(stock=start.stock, per_page=start.per_page, sheet=number, first=first, labels=labels)
