"""The journal laid over the rows of a sheet: cells that change, rows that come to it, what is in question.

It is pure: what may be written down of what was seen is handed back.
"""

from __future__ import annotations

import json
import re
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import replace
from datetime import datetime, timedelta

from tagmaker.farm import Workday
from tagmaker.record.journal.amounts import amounts_after, with_left
from tagmaker.record.journal.asking import questions
from tagmaker.record.journal.book import Book, Learnt, Pair, Seen
from tagmaker.record.journal.cells import born_row, cells_after, writing
from tagmaker.record.journal.entries import Entry, Kind, Topic, in_time
from tagmaker.record.journal.laid import Laid, LotState
from tagmaker.record.journal.naming import Lineage, lineage
from tagmaker.record.journal.rows import COLUMNS, Change, SheetRow, Unsettled, joined, plain
from tagmaker.record.journal.soundness import Judged, from_before, judge, left_of

NAMED_DAYS = 120  # for which a row that went away is named (chosen: nothing is stored longer)


def lay(
    rows: Sequence[SheetRow],
    book: Book,
    *,
    sheet: str,
    codes: Collection[str],
    numbers: Mapping[str, int],
    beside: Collection[str],
    workday: Workday,
    now: datetime,
) -> Laid:
    """Lay a journal over the rows of a sheet, as of a moment.

    Args:
        rows: of the sheet, those that could be read
        book: the journal
        sheet: name of the sheet, the same for its copies
        codes: of all its rows, also of those that could not be read
        numbers: code of a row -> number in its column journal
        beside: names of the sheets that lie in the folder
        workday: of the farm
        now: what happened later is not laid over
    """
    return _Laying(rows, book, sheet, codes, numbers, beside, workday, now).laid()


class _Laying:
    """One laying of a journal over a sheet."""

    def __init__(
        self,
        rows: Sequence[SheetRow],
        book: Book,
        sheet: str,
        codes: Collection[str],
        numbers: Mapping[str, int],
        beside: Collection[str],
        workday: Workday,
        now: datetime,
    ) -> None:
        self.rows, self.book, self.sheet = rows, book, sheet
        self.codes, self.numbers = set(codes), numbers
        self.beside, self.workday, self.now = beside, workday, now
        self.known = [entry for entry in book.entries if entry.happened <= now]
        self.by_number = {entry.number: entry for entry in book.entries}
        undos = [entry for entry in self.known if entry.kind is Kind.UNDO]
        self.undone = {entry.undoes: entry.number for entry in undos if entry.undoes is not None}
        later = {entry.number for entry in book.entries if entry.happened > now}
        self.lineage: Lineage = lineage(book.entries, self.undone.keys() | later)
        self.pairs: dict[tuple[str, Topic], list[Pair]] = {}
        for pair in book.pairs:
            self.pairs.setdefault((pair.lot, pair.topic), []).append(pair)

    def laid(self) -> Laid:
        lots: dict[str, LotState] = {}
        for row in self.rows:
            state = self._state(row)
            lots[state.code] = state
        for row in self._born(lots):
            lots[row.code] = self._state(row)
        self._follow_renames(lots)
        return Laid(
            lots=lots,
            questions=tuple(
                question
                for state in lots.values()
                for question in questions(state, self.undone, self.workday, self.now)
            ),
            went_away=tuple(self._went_away()),
            went_back=tuple(
                state.row.code for state in lots.values() if any(j.went_back for j in state.judged.values())
            ),
            twice=self._twice(),
            learnt=self._learnt(lots),
        )

    # --- one lot ---

    def _state(self, row: SheetRow) -> LotState:
        key, code = self.lineage.key(row.code, self.codes), self.lineage.code(row.code, self.codes)
        row = replace(row, also=self.lineage.former(code) - {row.code})
        entries = in_time(entry for entry in self.lineage.entries.get(key, ()) if entry.happened <= self.now)
        judged = {topic: self._judged(row, key, topic) for topic in Topic}
        includes = {topic: found.includes for topic, found in judged.items()}
        before = [e for e in from_before(row, entries, includes) if e.number not in self.undone]
        current = [entry for entry in entries if entry not in before]
        cut = self._with_stems(row, entries, includes[Topic.PLAN])
        change, amounts = self._amounts(cut, entries, judged[Topic.AMOUNTS], before)
        unsettled = [amounts] if amounts else []
        disputed = [topic for topic, found in judged.items() if found.accepted and topic is not Topic.AMOUNTS]
        free = [entry for entry in current if entry.topic not in disputed]
        change.cells |= cells_after(row, free, self.undone, includes)
        for topic in disputed:
            item, cells = self._disputed(row, topic, judged[topic], current)
            unsettled.append(item)
            change.cells |= cells
        if code != row.code:
            change.cells["lot"] = code
        return LotState(
            row,
            key,
            code,
            judged,
            change,
            tuple(entries),
            tuple(unsettled),
            self.numbers.get(row.code),
            frozenset(topic for topic in Topic if self.pairs.get((key, topic)) or judged[topic].learnt),
        )

    def _with_stems(self, row: SheetRow, entries: Sequence[Entry], includes: int) -> SheetRow:
        """The row with the stems that a cut or a correction brought along."""
        for entry in entries:
            brings = entry.kind in (Kind.CUT, Kind.CORRECTED) and entry.stems is not None
            if brings and entry.number > max(includes, row.born) and entry.number not in self.undone:
                row = replace(row, stems=entry.stems)
        return row

    def _judged(self, row: SheetRow, key: str, topic: Topic) -> Judged:
        """What a row counts of a topic; one that was born in the journal began with what it says there."""
        if row.born:
            return Judged(row.born)
        pairs = self.pairs.get((key, topic), [])
        creation = self._creation(key)
        if creation is not None:
            parent = SheetRow(code=row.parents[0], cells={}) if creation[0].child and row.parents else None
            says = born_row(creation[:1], parent, row.code).says(topic)
            pairs = [Pair(key, topic, says, None, creation[0].number, creation[0].recorded), *pairs]
        entries = [e for e in self.lineage.entries.get(key, ()) if self._topic(e) is topic]
        number = self.numbers.get(row.code)
        typed_by_hand = creation is not None and len(pairs) == 1 and topic is Topic.AMOUNTS
        if typed_by_hand and row.says(topic).split()[0] != pairs[0].cells.split()[0]:
            return Judged(pairs[0].includes, accepted=pairs[0])  # its stems differ
        return judge(row, topic, number, key, pairs, entries, self.now)

    def _creation(self, key: str) -> list[Entry] | None:
        """The entries in force by which a lot came to be in the journal, the first one first."""
        found = [
            entry
            for entry in self.lineage.entries.get(key, ())
            if entry.number not in self.undone
            and (entry.child == key or (entry.kind is Kind.NEW_LOT and entry.lot == key))
        ]
        return found or None

    def _amounts(
        self, row: SheetRow, entries: Sequence[Entry], judged: Judged, before: Sequence[Entry]
    ) -> tuple[Change, Unsettled | None]:
        """The amounts of a row, and what is to be settled of them: then the smaller of the two counts."""
        mine = [entry for entry in entries if entry.topic is Topic.AMOUNTS]
        if judged.accepted is None:
            change = amounts_after(row, mine, self.undone, judged.includes, self.codes)
            old = [entry for entry in before if entry.topic is Topic.AMOUNTS]
            if not old and not change.trouble:
                return change, None
            reason = change.trouble or "entries from before the cut: the code was used before"
            lefts = (row.left, change.left)
        else:
            old_stems, _ = left_of(judged.accepted.cells, 0)
            _, gone, dumped = judged.accepted.cells.split()
            accepted = replace(
                row,
                stems=old_stems,
                gone=int(gone) if gone.isdigit() else 0,
                dumped=int(dumped) if dumped.isdigit() else 0,
                cells={"gone": gone, "dumped": dumped},
            )
            by_journal = amounts_after(accepted, mine, self.undone, judged.includes, self.codes)
            reason, lefts = by_journal.trouble, (row.left, by_journal.left)
        split = sum(
            entry.stems or 0
            for entry in mine
            if entry.child and entry.child not in row.names and entry.child not in self.codes
            if entry.number not in self.undone and entry not in before
        )
        smaller = min((max(left, 0) for left in lefts if left is not None), default=None)
        fresh = tuple(e.number for e in mine if e.number > max(judged.includes, row.born))
        item = Unsettled(row.code, Topic.AMOUNTS, row.where, lefts, entries=fresh, reason=reason)
        return with_left(row, smaller, split), item

    def _disputed(
        self, row: SheetRow, topic: Topic, judged: Judged, entries: Sequence[Entry]
    ) -> tuple[Unsettled, Mapping[str, str]]:
        """What is to be settled of a topic that is no amount, and its cells until then: mostly the row's."""
        assert judged.accepted is not None
        mine = [entry for entry in entries if entry.topic is topic]
        before = dict.fromkeys(COLUMNS[topic], "")
        before |= dict(zip(COLUMNS[topic], json.loads(judged.accepted.cells), strict=False))
        accepted = row.with_cells(before)
        cells = {**before, **cells_after(accepted, mine, self.undone, {topic: judged.includes})}
        fresh = [e for e in mine if e.number > judged.includes and e.number not in self.undone]
        item = Unsettled(row.code, topic, row.where, cells=cells, entries=tuple(e.number for e in fresh))
        until: dict[str, str] = {}
        if topic is Topic.WATER and not row.cells.get("in water"):
            until = {"in water": cells["in water"]}
        elif topic is Topic.TESTS:
            typed = row.cells.get("tested", "")
            there = {plain(part) for part in typed.split(";")}
            until = {"tested": joined(typed, *(w for w in map(writing, fresh) if plain(w) not in there))}
        return item, until

    # --- lots that stand in the journal alone ---

    def _born(self, lots: Mapping[str, LotState]) -> Iterator[SheetRow]:
        """Rows of lots that the sheet does not have; `lots` grows as they are taken in."""
        children: dict[str, list[Entry]] = {}
        for entry in self.known:
            if entry.number in self.undone:
                continue
            if entry.child and entry.child != entry.lot and entry.stems:
                children.setdefault(entry.child, []).append(entry)
            elif entry.kind is Kind.NEW_LOT:
                children.setdefault(entry.lot, []).append(entry)
        was_there = {seen.lot for seen in self.book.seen if seen.sheet == self.sheet}
        for code, creation in children.items():
            today = next((new for old, new in self.lineage.old_codes.items() if old == code), code)
            if today in lots or code in self.codes:
                continue
            first = creation[0]
            if first.kind is Kind.NEW_LOT:
                if code not in was_there:
                    yield born_row(creation, None, today)
                continue
            parent = lots.get(self._today(first.lot))
            if parent is not None and first in parent.entries and not _is_before(parent.row, first):
                yield born_row(creation, replace(parent.row, code=parent.code), today)

    def _today(self, code: str) -> str:
        return self.lineage.old_codes.get(code, code)

    def _follow_renames(self, lots: Mapping[str, LotState]) -> None:
        """Children in the sheet name their parent by its new code."""
        renamed = {s.row.code: s.code for s in lots.values() if s.in_sheet and s.code != s.row.code}
        for state in lots.values():
            text = state.row.cells.get("split from", "")
            for old in set(state.row.parents) & renamed.keys() if state.in_sheet else ():
                word = rf"(?<![A-Za-z0-9-])0*{re.escape(old.lstrip('0'))}(?![A-Za-z0-9-])"
                text = re.sub(word, renamed[old], text, flags=re.IGNORECASE)
            if text != state.row.cells.get("split from", ""):
                state.change.cells["split from"] = text

    # --- what is remembered ---

    def _went_away(self) -> Iterator[Seen]:
        for seen in self.book.seen:
            gone = seen.sheet == self.sheet and seen.lot not in self.codes
            renamed = self._today(seen.lot) in self.codes
            fresh = self.now - seen.moment <= timedelta(days=NAMED_DAYS)
            some = seen.stems_left is None or seen.stems_left > 0
            if gone and not renamed and fresh and some and not self._none_left(seen.lot):
                yield seen

    def _none_left(self, code: str) -> bool:
        """Whether the last word on the amounts of a lot is a count of nothing."""
        entries = self.lineage.entries.get(self.lineage.key(code, self.codes), ())
        own = [entry for entry in entries if entry.topic is Topic.AMOUNTS and entry.happened <= self.now]
        own = [entry for entry in in_time(own) if entry.number not in self.undone]
        return bool(own) and own[-1].kind is Kind.COUNT and not own[-1].stems

    def _twice(self) -> dict[str, str]:
        """Codes with open entries that another sheet of the folder has too."""
        others = {
            seen.lot: seen.sheet
            for seen in self.book.seen
            if seen.sheet != self.sheet and seen.sheet in self.beside
        }
        return {
            row.code: others[row.code]
            for row in self.rows
            if row.code in others and self.lineage.entries.get(self.lineage.key(row.code, self.codes))
        }

    def _learnt(self, lots: Mapping[str, LotState]) -> Learnt:
        if len(self.known) < len(self.book.entries):
            return Learnt()  # a look into the past changes nothing
        pairs = [
            j.learnt for state in lots.values() if state.in_sheet for j in state.judged.values() if j.learnt
        ]
        known = {(seen.sheet, seen.lot): seen for seen in self.book.seen}
        seen = []
        for state in lots.values():
            if not state.in_sheet:
                continue
            row = Seen(self.sheet, state.row.code, state.row.says(Topic.AMOUNTS), state.change.left, self.now)
            old = known.get((row.sheet, row.lot))
            if old is None or (old.cells, old.stems_left) != (row.cells, row.stems_left):
                seen.append(row)
        away = {item.lot for item in self._went_away()}
        gone = [k for k in known if k[0] == self.sheet and k[1] not in self.codes and k[1] not in away]
        return Learnt(pairs=pairs, seen=seen, forget=gone)

    def _topic(self, entry: Entry) -> Topic | None:
        if entry.kind is Kind.UNDO and entry.undoes in self.by_number:
            return self.by_number[entry.undoes].topic
        return entry.topic


def _is_before(row: SheetRow, entry: Entry) -> bool:
    """Whether an entry was of an earlier lot of the same code."""
    is_cut = row.cut is not None and not row.planned and entry.kind is not Kind.PLANNED
    return is_cut and row.cut is not None and entry.happened.date() < row.cut
