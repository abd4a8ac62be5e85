"""What is said where sheet and journal differ, and what the journal asks."""

from __future__ import annotations

from collections.abc import Iterator

from tagmaker.errors import Problem
from tagmaker.record.journal.entries import Entry, Kind, Topic
from tagmaker.record.journal.laid import Laid
from tagmaker.record.journal.rows import COLUMNS, Question, SheetRow, Unsettled


def remarks(laid: Laid, sheet: str) -> Iterator[Problem]:
    """What of a sheet and its journal is to settle, to answer and to look at."""
    lots = laid.lots
    for item in laid.unsettled:
        state = lots.get(item.lot) or next(s for s in lots.values() if s.row.code == item.lot)
        yield to_settle(item, state.row, sheet)
    for question in laid.questions:
        per_bunch = lots[question.lot].row.per_bunch
        yield to_answer(question, per_bunch, sheet)
    for seen in laid.went_away:
        what = f"lot {seen.lot} is no longer in the sheet; on {seen.moment:%Y-%m-%d} it had stems left"
        remedy = f"Put its row back, or enter what became of it: tagmaker enter {sheet} {seen.lot}"
        yield Problem(sheet, what, f'{remedy} "renamed CODE", or "count 0".')
    if laid.went_back:
        what = f"the rows of {', '.join(laid.went_back)} say again what they said before: an older copy?"
        yield Problem(sheet, what, "The journal counts on from there; type again what is missing.")


def to_settle(item: Unsettled, row: SheetRow, sheet: str) -> Problem:
    """What sheet and journal differ in, and how it is answered."""
    enter = f"tagmaker enter {sheet} {item.lot}"
    if item.topic is Topic.AMOUNTS:
        by_sheet, by_journal = (in_bunches(left, row.per_bunch) for left in item.lefts)
        why = f" ({item.reason})" if item.reason else ""
        what = f"TO SETTLE: by the row {by_sheet} left, by the journal {by_journal}{why}"
        counted = in_bunches(min((left for left in item.lefts if left is not None), default=0), row.per_bunch)
        return Problem(item.where, what, f'Count what is left, and enter it: {enter} "count {counted}".', "")
    said = []
    for column in COLUMNS[item.topic]:
        typed, kept = row.cells.get(column, ""), item.cells.get(column, "")
        if typed != kept:
            said.append(f'{column} is "{typed}" in the row, and "{kept}" by the journal')
    remedy = f'Enter which is true: {enter} "settle {item.topic.value} sheet", or "... journal".'
    return Problem(item.where, f"TO SETTLE: {'; '.join(said)}", remedy)


def to_answer(question: Question, per_bunch: int, sheet: str) -> Problem:
    """What only the grower knows, and how it is entered."""
    amount, enter = in_bunches(question.stems, per_bunch), f"tagmaker enter {sheet} {question.lot}"
    day = f"{question.since:%Y-%m-%d}"
    where = f"{sheet}, lot {question.lot}"
    if question.kind == "left":
        what = f"DID THEY LEAVE? {amount} stood in water for {day}; no label and no order until it is told"
        return Problem(where, what, f'Enter "sold all" or "count {amount}": {enter}.')
    held = "they count as sold" if question.counted else "they count as out"
    return Problem(
        where, f"{amount} went out on {day}: {held}", f'Enter what came back: {enter} "back 2 bunches".'
    )


def in_bunches(stems: int | None, per_bunch: int) -> str:
    """Stems as bunches where they are whole ones: "8 bunches", "85 stems"."""
    if stems is None:
        return "an unknown number"
    count, unit = (stems, "stem") if stems % per_bunch else (stems // per_bunch, "bunch")
    plural = {"stem": "stems", "bunch": "bunches"}[unit]
    return f"{count:,} {unit if count == 1 else plural}"


def words_of(entry: Entry, per_bunch: int = 0) -> str:
    """What an entry says, in words; its stems as bunches where they are whole ones of so many."""
    words = [entry.kind.value]
    if entry.undoes is not None:
        words.append(f"entry {entry.undoes}")
    if entry.everything:
        words.append("all,")
    if entry.stems is not None:
        words.append(in_bunches(entry.stems, per_bunch or 10_000))
    if entry.kind is Kind.KEPT:
        return " ".join([*words, *_kept_for(entry)])
    if entry.kind is Kind.READING:
        low, high = (float(str(entry.details[name])) for name in ("low_c", "high_c"))
        return f"lowest {low:.1f} °C, highest {high:.1f} °C"
    if entry.cooler and entry.lot:
        words.append(f"to {entry.cooler}" + (f", {entry.place}" if entry.place else ""))
    keys = ("why", "order", "use", "leaves", "found", "code", "text", "topic", "take")
    words += [entry.text(key) for key in keys if entry.text(key)]
    cells = entry.details.get("cells")
    if isinstance(cells, dict):
        words += [f"{column} {text}" for column, text in cells.items()]
    if entry.child:
        words.append(f"as lot {entry.child}")
    return " ".join(words)


def _kept_for(entry: Entry) -> list[str]:
    """For which departure, and for which order where it names one."""
    order = entry.text("order")
    named = [f"order {order}"] if order and " " not in order else []  # what `pack` calls a sale has blanks
    return ["for", entry.text("leaves"), entry.text("use"), *named]
