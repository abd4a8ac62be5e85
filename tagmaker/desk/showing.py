"""What is shown of a season, and what a tap or a form of the bench does to it."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace
from datetime import datetime, timedelta
from hashlib import sha256
from typing import Protocol

from tagmaker.desk import entering
from tagmaker.desk.adding import logs_of
from tagmaker.desk.entered import Entered
from tagmaker.desk.entry_making import Yard
from tagmaker.desk.jobs import Wanted
from tagmaker.desk.journal_words import in_bunches
from tagmaker.desk.pack_pages import hand_out_pack_sheet, packing_of
from tagmaker.desk.plan_showing import planning_of
from tagmaker.desk.printing import hand_out, hand_out_report, hand_out_test_page
from tagmaker.desk.season import Clock, Season
from tagmaker.desk.season_journal import SheetJournal
from tagmaker.desk.shown_state import State, missing_labels, take_in
from tagmaker.desk.stocks_shown import correct, drawing_of
from tagmaker.desk.touching import after_entry_source, caught_up, kin_of
from tagmaker.intake.files.grid import text_of
from tagmaker.intake.lots.codes import code_of, next_free_code
from tagmaker.paper.stock.label_stock import stocks
from tagmaker.paper.stock.test_page import line_length
from tagmaker.record.journal.file import read_on
from tagmaker.record.labels import LabelUsed
from tagmaker.record.printings import Repeated, open_record
from tagmaker.scan.live import Shown
from tagmaker.scan.tap import NotTaken, Taken, Tap
from tagmaker.scan.wish import (
    LabelTaken,
    LastPaper,
    Ledger,
    Paper,
    PrintedBefore,
    Wish,
)

Tell = Callable[[str], None]  # says a line to whoever runs the command
MOST_LABELS = 1200  # at a time: 40 sheets, drawn in some seconds (chosen)
OLDEST = timedelta(days=3)  # that an entry may have waited in a phone without being asked about (chosen)
# Cells that two lots cut one after the other mostly share.
_ALIKE = frozenset({"crop", "variety", "form", "colour", "stage", "per bunch", "cooler", "use"})


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


def shown_of(state: State, around: Around, entered: Entered) -> Shown:
    """A season as the live pages show it.

    Args:
        state: the season, what its pages show, and the labels that were never printed
        around: clocks, and what is told
        entered: is told of every entry
    """
    season = state.season
    known = stocks(season.farm)

    def remake(changed: State) -> Shown:
        return shown_of(changed, around, entered)

    return Shown(
        source=state.source,
        missing=state.missing,
        stocks={name: stock.per_page for name, stock in known.items()},
        columns={name: stock.columns for name, stock in known.items()},
        ledger=_ledger(season),
        new_lot=lambda: _new_lot(season, around),
        take=lambda tap, device: _taken(state, around, entered, tap, device),
        caught_up=lambda: _caught_up(state, around, entered),
        drawings=lambda: {name: drawing_of(stock, season.wording) for name, stock in known.items()},
        lines=lambda stock: line_length(known[stock]),
        correct=lambda stock, printer, measures: correct(season.farm, known[stock], printer, measures),
        logs=logs_of(season.sheet.parent, season.farm, around),
        draw=lambda wish, device: _draw(season, wish, device, around.tell),
        packing=packing_of(state, entered, around.clock, around.wall, remake),
        planning=planning_of(state, entered, around.clock, around.wall, remake),
    )


def _taken(state: State, around: Around, entered: Entered, tap: Tap, device: str) -> Taken:
    """Take a tap down, and date its lot anew."""
    season = state.season
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
    if tap.cooler:
        return _taken_at_cooler(state, yard, replace(said, cooler=tap.cooler), entered, around)
    answer, state = take_in(state, entered, yard, said)
    left = "" if answer.left is None else f", {in_bunches(answer.left, answer.per_bunch)} left"
    return Taken(
        shown=shown_of(state, around, entered),
        number=answer.entry.number,
        lot=answer.entry.text("code") or tap.lot,
        said=f"{answer.said}{left}",
        recorded=answer.entry.recorded,
    )


def _taken_at_cooler(state: State, yard: Yard, tap: entering.Tap, entered: Entered, around: Around) -> Taken:
    """Take down what was seen at a cooler; every lot in it is dated anew with the next reading."""
    if tap.cooler not in state.season.farm.coolers:
        raise NotTaken("there must be such a cooler in the settings")
    with entered.entering(state.journal.path):
        answer = entering.enter_at_cooler(yard, tap)
    entered.all_is_touched()
    return Taken(
        shown=shown_of(state, around, entered),
        number=answer.entry.number,
        lot=state.source.cooler_names[tap.cooler],
        said=answer.said,
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


def _caught_up(state: State, around: Around, entered: Entered) -> Shown:
    """The season with what was entered since it was read."""
    season, journal = state.season, state.journal
    book = read_on(journal.path, journal.book)
    if journal.faults or book.last == journal.book.last:
        return shown_of(state, around, entered)
    now = around.clock(season.farm.timezone)
    after = caught_up(season, book, now)
    fresh = {entry.lot for entry in book.entries[len(journal.book.entries) :]}
    kin = kin_of(_journal(after).part(fresh, now))
    known = open_record(season.sheet, season.now, create=False)[0].known
    others = {code: count for code, count in state.missing.items() if code not in kin}
    source = after_entry_source(state.source, after, kin, known)
    missing = {**others, **missing_labels(after, kin)}
    return shown_of(State(after, source, missing), around, entered)


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
    queue = None if printer is None else printer.queue
    if wish.paper == "test-page":
        return _only_pdf(
            hand_out_test_page(season.farm, season.wording, wish.stock, wish.fed, queue, tell), queue
        )
    if wish.pack is not None:
        return _only_pdf(hand_out_pack_sheet(season, wish.pack, queue, tell), queue)
    if wish.paper == "cooler-report":
        return _only_pdf(hand_out_report(season, queue, tell), queue)
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
        card=wish.card or None,
        weeks=wish.weeks,
        blank=wish.blank,
        send_to=queue,
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


def _only_pdf(pdf: bytes, queue: str | None) -> Paper:
    """A paper of which nothing is remembered."""
    return Paper(pdf=pdf, labels=0, is_sent=queue is not None, keep=lambda: None, drop=lambda: None)
