"""What is shown of a season, and what a tap or a form of the bench does to it."""

from __future__ import annotations

import time
from collections.abc import Callable, Mapping
from datetime import datetime, timedelta
from hashlib import sha256
from pathlib import Path
from typing import Protocol

from tagmaker.desk import entering
from tagmaker.desk.entry_making import Yard
from tagmaker.desk.jobs import Wanted, gets_labels
from tagmaker.desk.journal_words import in_bunches
from tagmaker.desk.printing import hand_out
from tagmaker.desk.season import Clock, Season
from tagmaker.desk.season_journal import SheetJournal
from tagmaker.desk.touching import after_entry, after_entry_source, caught_up, kin_of
from tagmaker.intake.files.grid import text_of
from tagmaker.intake.lots.codes import code_of, next_free_code
from tagmaker.paper.stock.label_stock import stocks
from tagmaker.record import tags
from tagmaker.record.journal.book import UnreadableJournal
from tagmaker.record.journal.file import read_book
from tagmaker.record.labels import LabelUsed
from tagmaker.record.printings import Repeated, open_record
from tagmaker.scan.live import Shown
from tagmaker.scan.source import PageSource
from tagmaker.scan.tap import NotTaken, Taken, Tap
from tagmaker.scan.wish import LabelTaken, LastPaper, Ledger, Paper, PrintedBefore, Wish

Tell = Callable[[str], None]  # says a line to whoever runs the command
MOST_LABELS = 1200  # at a time: 40 sheets, drawn in some seconds (chosen)
OLDEST = timedelta(days=3)  # that an entry may have waited in a phone without being asked about (chosen)
# Cells that two lots cut one after the other mostly share.
_ALIKE = frozenset({"crop", "variety", "form", "colour", "stage", "per bunch", "cooler", "use"})
READ_AFTER_S = 60.0  # [s] after which all is read again where something was entered (chosen)


class Around(Protocol):
    """Where a season is shown: its clocks, and what is told of taps."""

    @property
    def tell(self) -> Tell:
        """Says a line to whoever runs the command."""
        ...

    @property
    def wall(self) -> Clock:
        """The hour on the wall."""
        ...

    def clock(self, timezone: str | None) -> datetime:
        """The moment as of which everything is dated."""
        ...


class Entered:
    """Tells what was entered here, and is shown already, from what another program wrote into the journal."""

    def __init__(self, seconds: Callable[[], float] = time.monotonic) -> None:
        """Take a clock that only goes forward [s]."""
        self._seconds = seconds
        self._state: object = None
        self._count = 0
        self._fresh_since: float | None = None  # when something was entered that only its lot shows

    def changes(self, path: Path) -> int:
        """Counts up where the journal was changed by others, or a while after something was entered here."""
        state = state_of(path)
        if state != self._state:
            self._state, self._count = state, self._count + 1
        elif self._fresh_since is not None and self._seconds() - self._fresh_since > READ_AFTER_S:
            self._fresh_since, self._count = None, self._count + 1
        return self._count

    def read(self) -> None:
        """All is being read."""
        self._fresh_since = None

    def entered(self, path: Path) -> None:
        """Something was entered here, and is shown."""
        self._state = state_of(path)
        self._fresh_since = self._seconds() if self._fresh_since is None else self._fresh_since


def shown_of(season: Season, source: PageSource, around: Around, entered: Entered) -> Shown:
    """A season as the live pages show it.

    Args:
        season: as it was read, or after taps
        source: what its pages show
        around: clocks, and what is told
        entered: is told of every entry
    """
    known = stocks(season.farm)
    return Shown(
        source=source,
        missing=_missing(season),
        stocks={name: stock.per_page for name, stock in known.items()},
        columns={name: stock.columns for name, stock in known.items()},
        ledger=_ledger(season),
        new_lot=lambda: _new_lot(season, around),
        take=lambda tap, device: _taken(season, source, around, entered, tap, device),
        caught_up=lambda: _caught_up(season, source, around, entered),
        draw=lambda wish, device: _draw(season, wish, device, around.tell),
    )


def _taken(
    season: Season, source: PageSource, around: Around, entered: Entered, tap: Tap, device: str
) -> Taken:
    """Take a tap down, and date its lot anew."""
    journal = _journal(season)
    happened, is_fact = _happened(season, around, tap)
    recorded = around.wall(season.farm.timezone)
    yard = Yard(
        sheet=season.sheet,
        farm=season.farm,
        crops=season.crops,
        now=happened,
        clock=recorded,
        as_of=max(happened, around.clock(season.farm.timezone)),
    )
    seen = None if is_fact else tap.seen
    said = entering.Tap(code=tap.lot, words=tap.words, id=tap.id, device=device, is_fact=is_fact, seen=seen)
    answer, part = entering.take(journal, yard, said)
    entered.entered(journal.path)
    if answer.new:
        season = after_entry(season, part, answer.entry)
        known = open_record(season.sheet, season.now, create=False)[0].known
        source = after_entry_source(source, season, kin_of(part), known)
    left = "" if answer.left is None else f", {in_bunches(answer.left, answer.per_bunch)} left"
    code = answer.entry.text("code") or tap.lot
    return Taken(
        shown=shown_of(season, source, around, entered),
        number=answer.entry.number,
        lot=code,
        said=f"{answer.said}{left}",
        recorded=answer.entry.recorded,
    )


def _new_lot(season: Season, around: Around) -> dict[str, str]:
    """The cells of the lot that was cut last, those that change with each cut apart, and a free code."""
    journal = _journal(season)
    cut = [lot for lot in season.lots if not lot.planned]
    last = max(cut, key=lambda lot: (lot.cut, lot.row), default=None)
    state = None if last is None else journal.laid.lots.get(last.lot_code)
    rows = {code_of(row): row for row in journal.opened.rows}
    cells: dict[str, str] = {}
    if last is not None and state is not None and state.row.born:
        cells = dict(state.row.cells)
    elif last is not None and last.lot_code in rows:
        cells = {name: text_of(value) for name, value in rows[last.lot_code].cells.items()}
    kept = {name: text for name, text in cells.items() if name in _ALIKE}
    now = around.clock(season.farm.timezone)
    return {**kept, "lot": next_free_code(set(journal.used)), "cut": f"{now:%Y-%m-%dT%H:%M}"}


def _journal(season: Season) -> SheetJournal:
    assert season.journal is not None
    return season.journal


def _happened(season: Season, around: Around, tap: Tap) -> tuple[datetime, bool]:
    """The moment at which it happened, and whether it is a fact that waited in a phone.

    The phone's own clock is not asked: it says how long the entry waited.
    """
    when, is_fact = around.clock(season.farm.timezone), tap.age_s is not None
    if tap.age_s is not None:
        age = timedelta(seconds=tap.age_s)
        if not timedelta() <= age <= OLDEST:
            raise NotTaken(
                "the phone's clock was changed, or the entry is over 3 days old: enter it again, with its "
                "time"
            )
        when -= age
    morning = season.farm.workday.start(when.date())
    earlier = {"now": when, "1h": when - timedelta(hours=1), "morning": morning}
    return min(when, earlier[tap.when]).replace(second=0, microsecond=0), is_fact


def _caught_up(season: Season, source: PageSource, around: Around, entered: Entered) -> Shown:
    """The season with what was entered since it was read."""
    journal = _journal(season)
    try:
        book = read_book(journal.path)
    except UnreadableJournal:
        return shown_of(season, source, around, entered)
    if journal.faults or book.last == journal.book.last:
        return shown_of(season, source, around, entered)
    now = around.clock(season.farm.timezone)
    after = caught_up(season, book, now)
    fresh = {e.lot for e in book.entries if e.number > journal.book.last}
    kin = kin_of(_journal(after).part(fresh, now))
    known = open_record(season.sheet, season.now, create=False)[0].known
    return shown_of(after, after_entry_source(source, after, kin, known), around, entered)


def state_of(path: Path, *, empty: bool = True) -> object:
    """What tells one state of a file from another; None: not there, or empty where that is the same."""
    try:
        found = path.stat()
    except OSError:
        return None
    if not empty and not found.st_size:
        return None
    return found.st_mtime_ns, found.st_size, found.st_ino


def _missing(season: Season) -> Mapping[str, int]:
    """Wrap labels that were never printed, by lot code, of lots that get some."""
    record, _ = open_record(season.sheet, season.now, create=False)
    lines = tags.by_lot(record.known.lines("wraps"))
    counted = (
        (dates.lot.lot_code, tags.missing(lines.get(dates.lot.lot_code, ()), dates))
        for dates in season.dated
        if gets_labels(dates)
    )
    return {code: count for code, count in counted if count}


def _ledger(season: Season) -> Ledger:
    """The record of what was printed."""

    def free() -> Mapping[str, int]:
        known = open_record(season.sheet, season.now, create=False)[0].known
        return {name: known.sheet(name).next_label for name in stocks(season.farm)}

    def last(device: str) -> LastPaper | None:
        found = open_record(season.sheet, season.now, create=False)[0].last(device)
        if found is None:
            return None
        return LastPaper(
            number=found.number,
            moment=found.moment,
            paper=found.lines[0].paper,
            pieces=found.pieces,
            lots=tuple(dict.fromkeys(line.lot_code for line in found.lines)),
            is_undone=found.is_undone,
            is_asked=found.is_asked,
        )

    def answer(number: int, came: int | None) -> None:
        open_record(season.sheet, season.now, create=False)[0].answer(number, came)

    return Ledger(free=free, last=last, answer=answer)


def _draw(season: Season, wish: Wish, device: str, tell: Tell) -> Paper:
    """The paper that was wished for; only the record of what was printed is written."""
    printer = season.farm.printers.get(wish.printer)
    wanted = Wanted(
        kinds=(wish.paper,),
        only=(wish.lot,) if wish.lot else (),
        skip_bad=not wish.lot,
        new=wish.which == "new",
        reprint=wish.which == "reprint",
        reprint_all=wish.which == "reprint-all",
        remember=wish.paper != "checklist",
        count=wish.tags,
        first=wish.first,
        offered=wish.offered,
        another_sheet=wish.another,
        label_stock=wish.stock,
        limit=MOST_LABELS,
        printer=None if printer is None else printer.name,
        send_to=None if printer is None else printer.queue,
        form=sha256(repr(wish).encode()).hexdigest(),  # the same form with other fields is another printing
        device=device,
    )
    try:
        handed = hand_out(season, wanted, tell)
    except LabelUsed as error:
        raise LabelTaken(error.free) from error
    except Repeated as error:
        raise PrintedBefore(wish.paper) from error
    return Paper(
        pdf=handed.pdf,
        labels=handed.labels,
        is_sent=wanted.send_to is not None,
        keep=lambda: handed.reserved.keep(wish.paper),
        drop=handed.reserved.drop,
        old_cards=handed.old_cards,
    )
