"""What the bench page to pack shows of a season, and what its forms do to it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from tagmaker.desk import entering
from tagmaker.desk.entered import Entered
from tagmaker.desk.entry_making import Yard
from tagmaker.desk.entry_words import Said
from tagmaker.desk.pack_came import came_of, left_with, without_notes
from tagmaker.desk.pack_entries import keep, keeps
from tagmaker.desk.pack_printing import Tell, draw_pack_sheet
from tagmaker.desk.packing import Asked, departure_of, packing, promised_to_orders
from tagmaker.desk.printing import proven
from tagmaker.desk.season import Clock, Season
from tagmaker.desk.shown_state import State, take_in
from tagmaker.desk.telephone import answered, question
from tagmaker.errors import UsageProblem
from tagmaker.scan.pack_wish import Came, CameRow, PackAsked, Packing, PackShown
from tagmaker.telling.naming import lot_page_name, title, variety
from tagmaker.telling.pack_words import TEMPLATE, packed_words

Remake = Callable[[State], object]  # what is shown of a state


def packing_of(state: State, entered: Entered, clock: Clock, wall: Clock, remake: Remake) -> Packing:
    """Everything that the page needs.

    Args:
        state: the season
        entered: is told of every entry
        clock: the moment as of which everything is dated
        wall: the hour on the wall
        remake: makes what is shown of a state
    """
    season = state.season
    return Packing(
        show=lambda asked, inside: _shown(state, asked, inside=inside),
        answer=lambda words: answered(season, question(season, words)).splitlines(),
        keep=lambda asked, form, device: _keep(
            state, entered, state.yard(clock, wall), remake, asked, form, device
        ),
        came=lambda came, form, device: _came(
            state, entered, state.yard(clock, wall), remake, came, form, device
        ),
    )


def _asked(asked: PackAsked) -> Asked:
    return Asked(use=asked.use, day=asked.day, bunches=asked.bunches)


def _shown(state: State, asked: PackAsked, *, inside: bool) -> PackShown:
    """A departure: what goes to it, and once it has left what was kept for it."""
    season = state.season if inside else without_notes(state.season)
    is_over = departure_of(season.farm.uses[asked.use], asked.day) < season.now
    rows = left_with(season, asked) if is_over else ()
    found = None if asked.day < season.now.date() else packing(season, _asked(asked))
    offer = None if found is None or found.offer is None else found.offer.why
    return PackShown(
        packed=() if found is None else [packed_words(one, season, offer) for one in found.departures],
        to_keep=found is not None and next(keeps(found), None) is not None,
        is_over=is_over,
        came=[
            CameRow(
                code=row.lot.lot_code,
                page=lot_page_name(row.lot.lot_code),
                name=variety(row.lot) or title(row.lot),
                bunches=row.bunches,
                told=row.told,
            )
            for row in rows
        ],
    )


def _keep(
    state: State, entered: Entered, yard: Yard, remake: Remake, asked: PackAsked, form: str, device: str
) -> tuple[object, str]:
    """Keep what was chosen for a departure; what was written before a fault is read again from the file."""
    _check_sound(state.season)
    found = packing(state.season, _asked(asked))

    def taking(tap: entering.Tap, at: Yard, said: Said) -> entering.Answer:
        nonlocal state
        answer, state = take_in(state, entered, at, tap, said)
        return answer

    try:
        done = keep(found, taking, yard, form=form, device=device)
    except BaseException:
        entered.all_is_touched()
        raise
    per_bunch = {lot.lot_code: lot.per_bunch for lot in state.season.lots}
    lots = [(one.lot, -(-one.stems // per_bunch.get(one.lot, 1))) for one in done]
    source = replace(state.source, promised=promised_to_orders(state.season))
    return remake(replace(state, source=source)), str(state.season.wording.macros(TEMPLATE).kept(lots=lots))


def _came(
    state: State, entered: Entered, yard: Yard, remake: Remake, came: Came, form: str, device: str
) -> tuple[object, str]:
    """Take down what was sold of a lot and what came back of it."""
    say = state.season.wording.macros(TEMPLATE)
    left = next((row for row in left_with(state.season, came.asked) if row.lot.lot_code == came.lot), None)
    if left is None:
        raise UsageProblem(f"{came.lot} kept nothing for {came.asked.use} on {came.asked.day}")
    if left.told:
        return remake(state), str(say.came_before(lot=came.lot, told=left.told))
    try:
        for number, (said, happened) in enumerate(came_of(state.season, left, came)):
            at = yard if happened is None else replace(yard, now=happened)
            words = f"pack: {came.asked.day} {came.asked.use} sold {came.sold} back {came.back}"
            tap = entering.Tap(code=came.lot, words=words, id=f"{form}-{came.lot}-{number}", device=device)
            _, state = take_in(state, entered, at, tap, said)
    except BaseException:
        entered.all_is_touched()
        raise
    return remake(state), str(say.came(lot=came.lot, sold=came.sold, back=came.back))


def hand_out_pack_sheet(season: Season, asked: PackAsked, queue: str | None, tell: Tell) -> bytes:
    """The pack sheet of a departure in memory; where it is to be sent, it was when this returns.

    Raises:
        UsageProblem: there is no such outlet, the departure is over, or rows are to be corrected first.
        InputProblems: a name that cannot be printed.
        OutputProblem: the paper does not read back, or was not sent.
    """
    _check_sound(season)
    if asked.use not in season.farm.uses:
        raise UsageProblem("the outlet must be one of the settings")
    found = packing(season, _asked(asked))
    if not found.departures:
        raise UsageProblem("nothing leaves any more for that outlet on that day")
    offer = None if found.offer is None else found.offer.why
    return proven(draw_pack_sheet(season, found.departures, offer), queue, tell)


def _check_sound(season: Season) -> None:
    if season.order_problems or season.problems:
        raise UsageProblem("nothing is kept or printed while rows of lots or orders are to be corrected")
