"""A yard with a lot sheet and a journal, both in memory: rows are typed, entries tapped, the sheet read."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import date, datetime, timedelta

from tagmaker.farm import Workday
from tagmaker.lot import Move
from tagmaker.record.journal.accepting import accepted_with, caught_up, row_after
from tagmaker.record.journal.book import Book, Learnt
from tagmaker.record.journal.entries import Entry, Kind
from tagmaker.record.journal.laid import Laid
from tagmaker.record.journal.laying import lay
from tagmaker.record.journal.rows import SheetRow
from tests.journal_entries import MORNING, an_entry

CUT = date(2027, 4, 12)


@dataclass
class Yard:
    """The farm's morning: hours count from eight."""

    rows: dict[str, SheetRow] = field(default_factory=dict)
    book: Book = field(default_factory=lambda: Book(name="K7", keeper="shed"))
    numbers: dict[str, int] = field(default_factory=dict)  # column journal
    has_column: bool = False
    hour: float = 0.0
    sheet: str = "lots"
    beside: set[str] = field(default_factory=lambda: {"lots"})

    def type(self, code: str, stems: int | None = None, **cells: object) -> None:
        """Type into a row; a new one where there is none. `gone` and `dumped` are stems, or "all"."""
        row = self.rows.get(code) or SheetRow(code=code, cells={"lot": code}, where=f"row of {code}", cut=CUT)
        if stems is not None:
            row = replace(row, stems=stems)
        for name, value in cells.items():
            column = name.replace("_", " ")
            row = row.with_cells({column: "" if value is None else str(value)})
            if column in ("gone", "dumped") and isinstance(value, int):
                row = replace(row, **{column: value})  # type: ignore[arg-type]
            if value == "all":
                row = replace(row, **{column: (row.stems or 0) - row.dumped - row.split_off})  # type: ignore[arg-type]
            if str(value).startswith("plan "):
                row = replace(row, planned=True)
            elif column in ("cut", "moves", "parents", "split off", "in cooler"):
                row = replace(row, **{name: value})  # type: ignore[arg-type]
        self.rows[code] = row

    def tap(self, kind: Kind, lot: str = "104", *, at: float | None = None, **fields: object) -> Entry:
        """Keep an entry an hour after the last one; with `at`, it happened at another hour."""
        self.hour += 1
        recorded = MORNING + timedelta(hours=self.hour)
        entry = an_entry(kind, lot, at=self.hour if at is None else at, recorded=recorded, **fields)
        entry = replace(entry, number=self.book.last + 1)
        state = self.read().lots.get(lot)
        learnt = accepted_with(entry, state, recorded)
        pairs = [replace(pair, includes=entry.number - 1) for pair in learnt.pairs]
        self.book = replace(self.book, entries=(*self.book.entries, entry), pairs=(*self.book.pairs, *pairs))
        return entry

    def undo(self, entry: Entry) -> Entry:
        """Undo an entry."""
        return self.tap(Kind.UNDO, entry.lot, undoes=entry.number)

    @property
    def now(self) -> datetime:
        """The moment of the last entry."""
        return MORNING + timedelta(hours=self.hour)

    def look(self, now: datetime | None = None) -> Laid:
        """What the journal makes of the sheet, nothing remembered."""
        return lay(
            list(self.rows.values()),
            self.book,
            sheet=self.sheet,
            codes=self.rows,
            numbers=self.numbers,
            beside=self.beside,
            workday=Workday(),
            now=now or self.now,
        )

    def read(self) -> Laid:
        """The same, and what was seen and accepted is remembered."""
        laid = self.look()
        self._remember(laid.learnt)
        return laid

    def _remember(self, learnt: Learnt) -> None:
        forget = set(learnt.forget) | {(seen.sheet, seen.lot) for seen in learnt.seen}
        seen = tuple(s for s in self.book.seen if (s.sheet, s.lot) not in forget)
        self.book = replace(self.book, pairs=(*self.book.pairs, *learnt.pairs), seen=(*seen, *learnt.seen))

    def left(self, code: str = "104") -> int | None:
        """Stems of a lot that are left."""
        return self.read().lots[code].change.left

    def copy(self) -> tuple[dict[str, SheetRow], dict[str, int]]:
        """What `catch-up` writes: all rows with what happened, accepted."""
        laid = self.read()
        done = [lot for lot in laid.lots.values() if not lot.unsettled]
        rows, numbers = dict(self.rows), dict(self.numbers)
        for lot in done:
            rows.pop(lot.row.code, None)
            rows[lot.code] = replace(row_after(lot), born=0)
            if self.has_column and lot.entries:
                numbers[lot.code] = self.book.last
        for code, row in rows.items():
            children = [r.stems or 0 for r in rows.values() if code in r.parents]
            rows[code] = replace(row, split_off=sum(children))
        self._remember(caught_up(done, self.book.last, self.now))
        return rows, numbers

    def put_in_place(self, copy: tuple[Mapping[str, SheetRow], Mapping[str, int]]) -> None:
        """Put a copy where the sheet was."""
        self.rows, self.numbers = dict(copy[0]), dict(copy[1])


__all__ = ["CUT", "Move", "Yard"]
