"""Rows of a season plan that are accepted, written down in the journal: how plans are kept, and for whom.

A row's name holds what it came from. It is looked up in the plan as it is now: where a lot, an order, a
reading or the settings changed since, its row has another name or is gone, and is refused.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from hashlib import sha256

from tagmaker.desk.entering import Answer, Tap, take
from tagmaker.desk.entry_making import Yard
from tagmaker.desk.entry_words import Said
from tagmaker.desk.journal_words import in_bunches
from tagmaker.desk.season import Season
from tagmaker.desk.season_planning import PlannedSeason
from tagmaker.desk.touching import after_entry
from tagmaker.errors import OutputProblem, UsageProblem
from tagmaker.lot import Lot, StorageCode
from tagmaker.record.journal.entries import Kind
from tagmaker.record.journal.rows import said
from tagmaker.storage.season_accepted import Decision, decisions, leaves_bulb_on
from tagmaker.storage.season_rows import Proposal

Taking = Callable[[Tap, Yard, Said], Answer]  # writes one entry down
BY = "plan"  # who kept it, in an entry's details
NAMED = 6  # rows that a refusal names; the rest are counted


def rows_named(planned: PlannedSeason, names: Sequence[str]) -> list[Proposal]:
    """The rows of some names.

    Raises:
        UsageProblem: one is not a row of the plan as it is now.
    """
    rows = {row.id: row for row in planned.found.rows}
    asked = list(dict.fromkeys(name.strip().upper() for name in names))
    unknown = [name for name in asked if name not in rows]
    if unknown:
        more = f" and {len(unknown) - NAMED} more" if len(unknown) > NAMED else ""
        raise UsageProblem(
            f"ROW must be a row of the plan as it is now (got {', '.join(unknown[:NAMED])}{more}): what it "
            "came from has changed, or it was accepted already. Nothing was accepted. Look at the plan again."
        )
    return [rows[name] for name in asked]


def accept(
    lots: Sequence[Lot],
    rows: Sequence[Proposal],
    taking: Taking,
    yard: Yard,
    *,
    form: str = "",
    device: str = "",
) -> list[Answer]:
    """Write some rows down, lot by lot.

    Args:
        lots: as they were planned.
        rows: of the plan.
        taking: writes an entry down, each on what the one before it left.
        yard: when.
        form: id of the form on a page; the same form is written down once.
        device: where it was tapped.

    Raises:
        OutputProblem: something could not be written down; what was written before it stays.
        UsageProblem, InputProblems: an entry does not fit its lot.
    """
    writing = _Writing(taking, yard, form, device)
    by_code = {lot.lot_code: lot for lot in lots}
    for code in sorted({row.lot for row in rows}):
        lot = by_code[code]
        found = decisions(lot, [row for row in rows if row.lot == code])
        if leaves_bulb_on(lot, found):
            writing.bulb_on(code)
        for decision in found:
            writing.write(decision, lot.per_bunch)
    return writing.answers


def taking_of(season: Season) -> Taking:
    """What writes entries down beside the sheet that was read for a command, one upon the other."""
    state = season

    def taking(tap: Tap, yard: Yard, said: Said) -> Answer:
        nonlocal state
        if state.journal is None:
            raise OutputProblem("the journal is left alone: nothing can be accepted")
        answer, part = take(state.journal, yard, tap, said)
        state = after_entry(state, part, answer.entry) if answer.new else state
        return answer

    return taking


class _Writing:
    """The entries of accepted rows."""

    def __init__(self, taking: Taking, yard: Yard, form: str, device: str) -> None:
        self.taking, self.yard, self.form, self.device = taking, yard, form, device
        self.answers: list[Answer] = []

    def bulb_on(self, code: str) -> None:
        """A plan is cut with the bulb on."""
        self._take(code, "planned bulb on", Said(Kind.PLANNED, details={"cells": {"bulb": "on"}, "by": BY}))

    def write(self, decision: Decision, per_bunch: int) -> None:
        """How a plan is kept, then for whom."""
        code = decision.lot
        if decision.decides:
            cells = dict(_cells(decision))
            stems = decision.stems if decision.splits else None
            amount = f"{in_bunches(stems, per_bunch)} " if stems is not None else ""
            words = f"planned {amount}{', '.join(f'{column} {text}' for column, text in cells.items())}"
            told = Said(Kind.PLANNED, stems, details={"cells": cells, "by": BY}, part=decision.splits)
            entry = self._take(code, words, told).entry
            code = entry.child or code
        for row in decision.rows:
            leaves = said(row.leaves)
            words = f"kept {row.stems} stems for {leaves} {row.use}"
            details: dict[str, object] = {"leaves": leaves, "use": row.use, "by": BY}
            self._take(code, words, Said(Kind.KEPT, row.stems, details=details))

    def _take(self, code: str, words: str, told: Said) -> Answer:
        name = sha256(f"{self.form} {code} {words}".encode()).hexdigest()[:32] if self.form else ""
        answer = self.taking(Tap(code=code, words=words, id=name, device=self.device), self.yard, told)
        self.answers.append(answer)
        return answer


def _cells(decision: Decision) -> Iterator[tuple[str, str]]:
    """The cells of a plan whose way is decided; its cooler only where that is another than its row's."""
    if decision.way is StorageCode.BULB:
        yield "bulb", "on"
    else:
        yield from (("bulb", "off"), ("storage", decision.way.value.lower()))
    if any(row.elsewhere for row in decision.rows):
        yield "cooler", decision.cooler
