"""Taking down what happened: from words to an entry that is kept, and what is answered."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from tagmaker.desk.computer import this_computer
from tagmaker.desk.cooler_entries import cooler_entry, cooler_named
from tagmaker.desk.entry_making import Yard, code_named, plain_entry, stands_in, whole_entry
from tagmaker.desk.entry_words import Context, Said, understood
from tagmaker.desk.journal_words import in_bunches, words_of
from tagmaker.desk.season_journal import SheetJournal, new_name
from tagmaker.errors import InputProblems, OutputProblem, Problem, UsageProblem
from tagmaker.intake.lots.sheet import LotSheet
from tagmaker.lot import Lot
from tagmaker.record.journal.accepting import accepted_with
from tagmaker.record.journal.beside import conflict_copies, copy_of_the_day, journal_path
from tagmaker.record.journal.book import Book, Learnt, NotKept, OtherContent, UnreadableJournal
from tagmaker.record.journal.entries import Entry, Kind
from tagmaker.record.journal.file import NOTHING_LEARNT, append, read_book
from tagmaker.record.journal.laid import Laid

_TAKES = frozenset({Kind.SOLD, Kind.THROWN_OUT, Kind.OUT, Kind.MOVED, Kind.INTO_WATER, Kind.PLANNED})


@dataclass(frozen=True, slots=True)
class Answer:
    """What became of an entry."""

    entry: Entry
    new: bool
    left: int | None  # stems, where they are known
    per_bunch: int
    said: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Tap:
    """What was said to have happened to a lot, and where that was said."""

    code: str  # of a lot; "": it is about a cooler
    words: str
    cooler: str = ""
    id: str = ""  # minted where it was tapped; none: it is given one
    device: str = ""  # none: this computer
    is_fact: bool = False  # it waited in a phone: it is kept, whatever follows from it
    seen: int | None = None  # number of the last entry that was shown of its lot; None: not asked


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
    cooler = cooler_named(code, yard.farm)
    if cooler:
        return enter_at_cooler(yard, Tap(code="", cooler=cooler, words=words))
    code = code_named(code)
    try:
        found = yard.journal()
    except InputProblems as error:
        return _blind(yard, code, words, error.problems)
    return take(found, yard, Tap(code=code, words=words))[0]


def enter_at_cooler(yard: Yard, tap: Tap) -> Answer:
    """Take down what was seen at a cooler; raises as `enter`."""
    path = journal_path(yard.sheet)
    try:
        book = read_book(path)
    except UnreadableJournal as error:
        raise OutputProblem(
            f"{path.name}: the journal cannot be read: {error}. Nothing was recorded."
        ) from error
    known = next((entry for entry in book.entries if tap.id and entry.id == tap.id), None)
    if known is not None:
        return Answer(_same(known, tap), False, None, 10, words_of(known))
    entry = cooler_entry(yard, tap.cooler, tap.words, book)
    if tap.id:
        entry = replace(entry, id=tap.id, device=tap.device, details={**entry.details, "said": tap.words})
    kept, new = _kept(path, entry, book, tap)
    return Answer(kept, new, None, 10, words_of(kept))


def take(
    found: SheetJournal, yard: Yard, tap: Tap, understood_as: Said | None = None
) -> tuple[Answer, SheetJournal]:
    """Take down what happened to a lot of a sheet that was read.

    Args:
        found: sheet and journal
        yard: when it happened
        tap: what
        understood_as: what its words say, where nobody typed them

    Returns:
        the answer, and sheet and journal of that lot and those that hang together with it, with the entry.

    Raises:
        As for `enter`.
    """
    if found.faults:
        raise OutputProblem("\n".join(f"{fault} Nothing was recorded." for fault in found.faults))
    as_of = yard.as_of or max((yard.now, *(entry.happened for entry in found.book.entries)))
    part = found.part({tap.code}, as_of)
    before = part.lots()
    lot = next((lot for lot in before.lots if lot.lot_code == tap.code), None)
    known = next((entry for entry in found.book.entries if tap.id and entry.id == tap.id), None)
    if known is not None:
        return _answer(_same(known, tap), False, lot), part
    if tap.seen is not None:
        _check_seen(part.book.entries, tap.code, tap.seen)
    _check_code(found, tap.code, tap.words)
    cooler = stands_in(lot) if lot else ""
    about = Context(farm=yard.farm, crops=yard.crops, now=yard.now, lot=lot, cooler=cooler)
    said = understood(tap.words, about) if understood_as is None else understood_as
    entry = whole_entry(yard, tap.code, said, part)
    if tap.id:
        entry = replace(entry, id=tap.id, device=tap.device, details={**entry.details, "said": tap.words})
    learnt = accepted_with(entry, part.laid.lots.get(tap.code), yard.clock)
    after = part.and_entry(replace(entry, number=part.book.last + 1), learnt)
    lots = after.lots()
    if not tap.is_fact:
        _check_sound(before, lots)
        _check_amount(entry, lot, part.laid, after.laid)
    kept, new = _kept(found.path, entry, part.book, tap, replace(learnt, seen=after.laid.learnt.seen))
    after = part.and_entry(kept, learnt)
    code = entry.text("code") or tap.code
    lot = next((lot for lot in lots.lots if lot.lot_code == code), lot)
    return _answer(kept, new, lot), after


def _same(known: Entry, tap: Tap) -> Entry:
    """The entry that a tap is, sent again; an id that was used for something else is shown."""
    if (known.lot, known.text("said")) != (tap.code, tap.words):
        raise OutputProblem(str(OtherContent(known)))
    return known


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


def _check_sound(before: LotSheet, after: LotSheet) -> None:
    """Refuse what would make a row unreadable."""
    problems = [problem for problem in after.problems if problem not in before.problems]
    if problems:
        raise InputProblems(problems)


def _check_seen(entries: Sequence[Entry], code: str, seen: int) -> None:
    """Two people at once: the second sees what the first did, and decides."""
    newer = [entry for entry in entries if code and entry.number > seen and code in (entry.lot, entry.child)]
    if newer:
        by = f" by {newer[-1].device}" if newer[-1].device else ""
        raise OutputProblem(f"lot {code} has just changed: {words_of(newer[-1])}{by}. Look, and enter again.")


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


def _kept(
    path: Path, entry: Entry, book: Book, tap: Tap | None = None, learnt: Learnt = NOTHING_LEARNT
) -> tuple[Entry, bool]:
    """The entry, written down, unless its lot has changed meanwhile for whoever entered it."""

    def check(newer: Sequence[Entry]) -> None:
        if tap is None or not tap.is_fact:
            _check_seen(newer, entry.lot, book.last)

    computer, name = this_computer(create=True), book.name or new_name()
    try:
        kept = append(path, entry, computer, name=name, since=book.last, check=check, learnt=learnt)
    except UnreadableJournal as error:
        raise OutputProblem(
            f"{path.name}: the journal cannot be read: {error}. Nothing was recorded."
        ) from error
    except NotKept as error:
        raise OutputProblem(str(error)) from error
    copy_of_the_day(path, entry.recorded.date())
    return kept


def _answer(entry: Entry, new: bool, lot: Lot | None) -> Answer:
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
    where = f"Lot {entry.lot}" if entry.lot else f"Cooler {entry.cooler}"
    saved = f"SAVED {entry.recorded:%H:%M} as entry {entry.number}. {where}: {answer.said}{left}."
    if entry.kind is Kind.UNDO or not entry.lot:
        return saved
    return f"{saved}\nUndo: tagmaker enter {sheet} {entry.lot} undo"
