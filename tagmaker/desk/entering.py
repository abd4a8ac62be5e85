"""Taking down what happened: from words to an entry that is kept, and what is answered."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from tagmaker.desk.computer import this_computer
from tagmaker.desk.entry_making import Yard, code_named, plain_entry, stands_in, whole_entry
from tagmaker.desk.entry_words import Context, understood
from tagmaker.desk.journal_words import in_bunches
from tagmaker.desk.season_journal import SheetJournal, laid_over, new_name, read_with_journal
from tagmaker.errors import InputProblems, OutputProblem, Problem, UsageProblem
from tagmaker.intake.lots.sheet import LotSheet
from tagmaker.lot import Lot
from tagmaker.record.journal.accepting import accepted_with
from tagmaker.record.journal.beside import conflict_copies, copy_of_the_day, journal_path
from tagmaker.record.journal.book import Book, NotKept, UnreadableJournal
from tagmaker.record.journal.entries import Entry, Kind
from tagmaker.record.journal.file import append, read_book
from tagmaker.record.journal.laid import Laid

_TAKES = frozenset({Kind.SOLD, Kind.THROWN_OUT, Kind.OUT, Kind.MOVED, Kind.INTO_WATER})


@dataclass(frozen=True, slots=True)
class Answer:
    """What became of an entry."""

    entry: Entry
    new: bool
    left: int | None  # stems, where they are known
    per_bunch: int
    said: str


def enter(yard: Yard, code: str, words: str) -> Answer:
    """Take down what happened to a lot.

    Args:
        yard: the sheet, its farm, and when
        code: of the lot
        words: what happened

    Raises:
        UsageProblem: the words cannot be read, or do not fit the lot.
        InputProblems: the lot could not be read with that entry.
        OutputProblem: it could not be written down.
    """
    code = code_named(code)
    try:
        found = read_with_journal(yard.sheet, yard.farm, yard.crops, yard.now)
    except InputProblems as error:
        return _blind(yard, code, words, error.problems)
    if found.faults:
        raise OutputProblem("\n".join(f"{fault} Nothing was recorded." for fault in found.faults))
    if not found.book.entries:
        found = replace(found, laid=laid_over(found, found.book, found.now))
    before = {lot.lot_code: lot for lot in found.lots().lots}
    lot = before.get(code)
    context = Context(
        farm=yard.farm, crops=yard.crops, now=yard.now, lot=lot, cooler=stands_in(lot) if lot else ""
    )
    _check_code(found, code, words)
    said = understood(words, context)
    entry = whole_entry(yard, code, said, found)
    after, laid = _tried(found, entry)
    _check_amount(entry, lot, found.laid, laid)
    state = found.laid.lots.get(code)
    learnt = accepted_with(entry, state, yard.clock)
    kept, new = _kept(found.path, entry, found.book, learnt=replace(learnt, seen=laid.learnt.seen))
    return _answer(kept, new, after, lot)


def _blind(yard: Yard, code: str, words: str, problems: Sequence[Problem]) -> Answer:
    """What is entered while the sheet cannot be read: it is kept, as long as nothing has to be worked out.

    A journal that is in doubt itself takes no entry.
    """
    path = journal_path(yard.sheet)
    if conflict_copies(yard.sheet):
        raise OutputProblem(str(problems[0]))
    try:
        book = read_book(path)
    except UnreadableJournal as error:
        raise OutputProblem(
            f"{path.name}: the journal cannot be read: {error}. Nothing was recorded."
        ) from error
    known = {entry.lot for entry in book.entries} | {seen.lot for seen in book.seen}
    if code not in known:
        raise InputProblems(problems)
    said = understood(words, Context(farm=yard.farm, crops=yard.crops, now=yard.now, lot=None))
    alone = (Kind.UNDO, Kind.NEW_LOT, Kind.RENAMED, Kind.CAME_BACK)
    if said.kind in alone or said.part:
        raise InputProblems(problems)
    kept, new = _kept(path, plain_entry(yard, code, said), book)
    return Answer(kept, new, None, 10, "the sheet could not be read; what is left is not known")


def _check_code(found: SheetJournal, code: str, words: str) -> None:
    """Whether there is such a lot, or for a new one none yet."""
    there = code in found.laid.lots or code in {lot.lot_code for lot in found.alone.lots}
    bad = {problem.lot for problem in found.alone.problems} | set(found.alone.left_out)
    away = {seen.lot for seen in found.laid.went_away}
    word = words.split()[0].lower() if words.split() else ""
    if word == "new":
        if there or code in bad:
            raise UsageProblem(f"a new lot must have a code of its own (got {code}, which is there already)")
    elif code in bad and not there:
        raise InputProblems(problem for problem in found.alone.problems if problem.lot == code)
    elif not there and not (code in away and word in ("count", "renamed", "undo")):
        raise UsageProblem(f"LOT must be a lot of {found.sheet.name} (got {code})")


# --- keeping -----------------------------------------------------------------------------------------------


def _tried(found: SheetJournal, entry: Entry) -> tuple[LotSheet, Laid]:
    """The lots as they would be; refuses where the entry makes a row unreadable."""
    after, laid = found.with_entry(entry)
    known = set(found.lots().problems)
    problems = [problem for problem in after.problems if problem not in known]
    if problems:
        raise InputProblems(problems)
    return after, laid


def _check_amount(entry: Entry, lot: Lot | None, before: Laid, after: Laid) -> None:
    """At the keyboard nothing is entered that cannot be: the grower decides before it is written down."""
    if lot is not None and lot.left is not None and entry.kind in _TAKES and (entry.stems or 0) > lot.left:
        got = in_bunches(entry.stems, lot.per_bunch)
        raise UsageProblem(
            f"{entry.kind.value} must be at most what is left of lot {lot.lot_code}, "
            f"{in_bunches(lot.left, lot.per_bunch)} (got {got}). Count what is there first."
        )
    old = {(item.lot, item.topic) for item in before.unsettled}
    for item in after.unsettled:
        if (item.lot, item.topic) not in old and item.reason:
            raise UsageProblem(f"lot {item.lot}: {item.reason}. Enter first what is missing.")


def _kept(path: Path, entry: Entry, book: Book, **more: object) -> tuple[Entry, bool]:
    computer = this_computer(create=True)

    def check(newer: Sequence[Entry]) -> None:
        same = [old for old in newer if entry.lot in (old.lot, old.child)]
        if same:
            raise NotKept(
                f"lot {entry.lot} has just changed (entry {same[-1].number}): look, and enter again"
            )

    try:
        name = book.name or new_name()
        kept = append(path, entry, computer, name=name, since=book.last, check=check, **more)  # type: ignore[arg-type]
    except UnreadableJournal as error:
        raise OutputProblem(
            f"{path.name}: the journal cannot be read: {error}. Nothing was recorded."
        ) from error
    except NotKept as error:
        raise OutputProblem(str(error)) from error
    copy_of_the_day(path, entry.recorded.date())
    return kept


def _answer(entry: Entry, new: bool, after: LotSheet, before: Lot | None) -> Answer:
    code = entry.text("code") or entry.lot
    lot = next((lot for lot in after.lots if lot.lot_code == code), before)
    per_bunch = lot.per_bunch if lot else 10
    amount = (
        f"{in_bunches(entry.stems, per_bunch)} "
        if entry.stems is not None and entry.kind is not Kind.COUNT
        else ""
    )
    said = f"{amount}{entry.kind.value}"
    if entry.child:
        said += f", now lot {entry.child}"
    if entry.kind is Kind.UNDO:
        said = f"entry {entry.undoes} undone"
    return Answer(entry, new, lot.left if lot else None, per_bunch, said)


def answer_text(answer: Answer, sheet: str) -> str:
    """What is said of an entry that was kept: "SAVED 9:05. 3 bunches sold, 7 bunches left."."""
    entry = answer.entry
    left = "" if answer.left is None else f", {in_bunches(answer.left, answer.per_bunch)} left"
    saved = f"SAVED {entry.recorded:%H:%M} as entry {entry.number}. Lot {entry.lot}: {answer.said}{left}."
    if entry.kind is Kind.UNDO:
        return saved
    return f"{saved}\nUndo: tagmaker enter {sheet} {entry.lot} undo"
