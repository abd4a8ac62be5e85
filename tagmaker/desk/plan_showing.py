"""The season plan on the live pages: made when somebody looks, and its rows accepted there."""

from __future__ import annotations

import threading
from collections.abc import Callable, Sequence

from tagmaker.desk import entering
from tagmaker.desk.entered import Entered
from tagmaker.desk.entry_making import Yard
from tagmaker.desk.entry_words import Said
from tagmaker.desk.plan_accepting import accept, rows_named
from tagmaker.desk.plan_job import told
from tagmaker.desk.season import Clock
from tagmaker.desk.season_planning import PlannedSeason, ground_of, plan_season
from tagmaker.desk.shown_state import State, take_in
from tagmaker.errors import UsageProblem
from tagmaker.scan.plan_wish import Planning
from tagmaker.telling.season_told import PlanWords

Remake = Callable[[State], object]  # what is shown of a state


def planning_of(state: State, entered: Entered, clock: Clock, wall: Clock, remake: Remake) -> Planning:
    """Everything that the page needs.

    Args:
        state: the season
        entered: is told of every entry
        clock: the moment as of which everything is dated
        wall: the hour on the wall
        remake: makes what is shown of a state
    """
    plan = _Plan(state)

    def taken(names: Sequence[str], form: str, device: str) -> tuple[object, str]:
        after = _accepted(state, plan.made(), names, entered, state.yard(clock, wall), form, device)
        return remake(after), ""

    return Planning(plan.words, taken)


class _Plan:
    """The plan of a state, made once."""

    def __init__(self, state: State) -> None:
        self._state = state
        self._planning = threading.Lock()
        self._made: PlannedSeason | None = None

    def made(self) -> PlannedSeason:
        with self._planning:
            if self._made is None:
                self._made = plan_season(ground_of(self._state.season))
            return self._made

    def words(self) -> PlanWords:
        return told(self.made(), self._state.season)


def _accepted(
    state: State,
    planned: PlannedSeason,
    names: Sequence[str],
    entered: Entered,
    yard: Yard,
    form: str,
    device: str,
) -> State:
    """The state with some rows accepted; what was written before a fault is read again from the file."""
    if state.season.order_problems or state.season.problems:
        raise UsageProblem("nothing is accepted while rows of lots or orders are to be corrected")
    rows = rows_named(planned, names)

    def taking(tap: entering.Tap, at: Yard, said: Said) -> entering.Answer:
        nonlocal state
        answer, state = take_in(state, entered, at, tap, said)
        return answer

    try:
        accept(state.season.lots, rows, taking, yard, form=form, device=device)
    except BaseException:
        entered.all_is_touched()
        raise
    return state
