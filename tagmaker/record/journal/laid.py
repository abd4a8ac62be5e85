"""What a journal makes of a sheet: lot by lot, and what has to be asked and said."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from tagmaker.record.journal.book import Learnt, Seen
from tagmaker.record.journal.entries import Entry, Topic
from tagmaker.record.journal.rows import Change, Question, SheetRow, Unsettled
from tagmaker.record.journal.soundness import Judged


@dataclass(frozen=True, slots=True)
class LotState:
    """What the journal holds of one lot."""

    row: SheetRow  # as the sheet has it, or as it was born
    key: str
    code: str  # today
    judged: Mapping[Topic, Judged]
    change: Change
    entries: tuple[Entry, ...]  # in the order in which they happened, undone ones too
    unsettled: tuple[Unsettled, ...] = ()
    number: int | None = None  # in the row's column journal
    paired: frozenset[Topic] = frozenset()  # topics of which something was accepted already

    @property
    def in_sheet(self) -> bool:
        """Whether it has a row in the sheet."""
        return not self.row.born


@dataclass(frozen=True, slots=True, kw_only=True)
class Laid:
    """What a journal makes of a sheet."""

    lots: Mapping[str, LotState] = field(default_factory=dict)  # by the code of today
    questions: tuple[Question, ...] = ()
    went_away: tuple[Seen, ...] = ()  # rows that had stems left when they were last read
    went_back: tuple[str, ...] = ()  # codes of rows that say what they said before
    twice: Mapping[str, str] = field(default_factory=dict)  # code -> another sheet that has it too
    learnt: Learnt = field(default_factory=Learnt)

    @property
    def changes(self) -> dict[str, Mapping[str, str]]:
        """Code of a row of the sheet -> the cells that change."""
        lots = self.lots.values()
        return {lot.row.code: lot.change.cells for lot in lots if lot.in_sheet and lot.change.cells}

    @property
    def added(self) -> list[Mapping[str, str]]:
        """The rows that come to the sheet, parents before their children."""
        born = [lot.row.with_cells(lot.change.cells) for lot in self.lots.values() if not lot.in_sheet]
        return [row.cells for row in born]

    @property
    def unsettled(self) -> list[Unsettled]:
        """All that is TO SETTLE."""
        return [item for lot in self.lots.values() for item in lot.unsettled]
