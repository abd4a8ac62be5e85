"""When a lot was cut, went in, into water and elsewhere, and what contradicts that."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from tagmaker.intake.cells import moments
from tagmaker.intake.cells.dates import SheetCut
from tagmaker.intake.cells.lists import OUTSIDE
from tagmaker.intake.cells.readers import Amount
from tagmaker.intake.lots.entry import Entry
from tagmaker.intake.lots.judged_row import JudgedRow
from tagmaker.lot import Move, Surface

PLAN_AHEAD = timedelta(days=45)  # a cut further ahead needs the word plan, a move is a slip (chosen)
_NONE = Amount()  # nothing gone, or dumped


@dataclass(frozen=True, slots=True)
class Times:
    """The moments of a lot, and how its surface is since the last of them."""

    cut: datetime
    in_cooler: datetime | None  # None: still wet
    in_water: datetime | None
    moves: tuple[Move, ...]
    surface: Surface
    place: str


def times_of(row: JudgedRow) -> Times | None:
    """When it was cut, went in, into water and elsewhere; None where the cut is not known."""
    entry = row.entry
    if entry.cut is None:
        day = row.reading.now.date()
        row.refuse("cut", "be filled in", f"Write the day of the cut, like {day}.")
        return None
    workday, now = row.reading.farm.workday, row.reading.now
    cut = moments.cut_moment(entry.cut.when, entry.in_cooler, workday, now)
    _check_plan(row, entry.cut)
    _check_tests(row, cut)
    in_cooler, surface = _in_cooler(row, cut)
    moves = _moves(row, in_cooler)
    return Times(cut, in_cooler, _in_water(row, cut), moves, surface, _place(row, moves))


def _check_plan(row: JudgedRow, cut: SheetCut) -> None:
    """What is not cut yet cannot have left, gone in or been moved; nor is it a year away."""
    typed, today = row.typed, row.reading.now.date()
    if not cut.plan and cut.when.day <= today:
        return
    if not cut.plan and cut.when.day - today > PLAN_AHEAD:
        ahead = (cut.when.day - today).days
        must = f"be at most {PLAN_AHEAD.days} days ahead, not {ahead}"
        row.refuse("cut", must, f"Correct it, or write plan {cut.when.day}.")
    for column in ("gone", "dumped", "in cooler", "in water", "moved"):
        if typed.values.get(column, _NONE) != _NONE:
            remedy = f"Clear it, or write the day of the cut without the word plan (cut: {typed.got('cut')})."
            row.refuse(column, "be blank for a plan", remedy)


def _check_tests(row: JudgedRow, cut: datetime) -> None:
    if any(test.day < cut.date() for test in row.typed.tested or ()):
        row.refuse("tested", f"come after the cut, {said(cut)}", "Correct one of the two.")


def _place(row: JudgedRow, moves: Sequence[Move]) -> str:
    """Where in its cooler the lot stands now: a move of its own drops the place, unless it names one."""
    own = moves[len(moves) - len(row.typed.moved or ()) :]
    made = [move for move in own if move.since <= row.reading.now]
    return made[-1].spot if made else row.entry.place or ""


def _in_cooler(row: JudgedRow, cut: datetime) -> tuple[datetime | None, Surface]:
    """When it went in, None while it is wet; and how its surface is since then."""
    entry = row.entry
    surface = entry.surface or Surface.DRY
    if surface is Surface.WET:
        if entry.in_cooler is None:
            return None, surface
        surface = Surface.DRIED
    moment = moments.in_cooler_moment(entry.in_cooler, cut, row.reading.farm.workday)
    got = _got_moment(row.typed, "in cooler", moment)
    if moment < cut:
        row.refuse("in cooler", f"be after the cut, {said(cut)}", "Correct one of the two.", got)
    elif row.typed.in_cooler is not None and moment.date() > row.reading.now.date():
        must = f"not lie after today, {row.reading.now.date()}"
        row.refuse("in cooler", must, "Leave it blank until the stems stand there.", got)
    return moment, surface


def _in_water(row: JudgedRow, cut: datetime) -> datetime | None:
    entry, now = row.entry, row.reading.now
    if entry.in_water is None:
        return None
    moment = moments.in_water_moment(entry.in_water, cut, row.reading.farm.workday, now)
    got = _got_moment(row.typed, "in water", moment)
    if moment < cut:
        row.refuse("in water", f"be after the cut, {said(cut)}", "Correct one of the two.", got)
    elif moment > now:
        remedy = "Leave it blank until the stems stand in water."
        row.refuse("in water", f"not lie in the future, after {said(now)}", remedy, got)
    return moment


def _moves(row: JudgedRow, in_cooler: datetime | None) -> tuple[Move, ...]:
    moved = row.entry.moved or ()
    if in_cooler is None and row.typed.moved:
        must = "be blank for a lot that is still wet and has not gone in"
        row.refuse("moved", must, "Fill in the column in cooler first.")
    if in_cooler is None:
        return ()
    moves: list[Move] = []
    before, out = in_cooler, False
    inherited = len(moved) - len(row.typed.moved or ())
    for index, move in enumerate(moved):
        workday = row.reading.farm.workday
        since = moments.move_moment(move.when, before, back=out, workday=workday)
        if since < before and index < inherited:
            continue  # of several parents, one that went in later
        if since < before:
            after = "in cooler" if not moves else "the move before it"
            must = f"name its moves in order: {move.place} must come after {after}, {said(before)}"
            row.refuse("moved", must, "Correct the dates or their order.")
            return ()
        moves.append(Move(since=since, place=move.place, temperature_c=move.temperature_c, spot=move.spot))
        before, out = since, move.place == OUTSIDE
    if moves and before.date() - row.reading.now.date() > PLAN_AHEAD:
        must = f"be at most {PLAN_AHEAD.days} days ahead, not on {before.date()}"
        row.refuse("moved", must, "Correct the year, or write it once it is near.")
    return tuple(moves)


def said(moment: datetime) -> str:
    """A moment as messages say it."""
    return f"{moment:%Y-%m-%d %H:%M}"


def _got_moment(typed: Entry, column: str, moment: datetime) -> str:
    """What the grower wrote, or the moment where it comes from elsewhere."""
    return typed.got(column) if column in typed.row.cells else said(moment)
