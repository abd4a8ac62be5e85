"""The season plan of a folder: made, solved, put into whole bunches, and the room that it would take."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace
from datetime import date

from tagmaker.desk.keeping import kept_entries, named, with_sold
from tagmaker.desk.linear_solving import solve
from tagmaker.desk.season import Season
from tagmaker.lot import Lot, StorageCode, StorageDates
from tagmaker.storage.dating import date_lot, date_lots
from tagmaker.storage.planning import as_cut, as_planned, plan_lots, ways_open
from tagmaker.storage.room import Overfull, RoomDay, overfull, room
from tagmaker.storage.season_accepted import accepted_lots
from tagmaker.storage.season_ground import PLAN_DAYS, Ground
from tagmaker.storage.season_hints import Unsaid, WouldDo, unsaid, would_do
from tagmaker.storage.season_model import AIMS, SeasonModel, season_model
from tagmaker.storage.season_plan import SeasonPlan, season_plan
from tagmaker.storage.season_rows import Proposal, Proposals, proposals

SECONDS = 30.0  # [s] that the solver may take (chosen: as long as somebody waits)
OVER = 1e-6  # of a cooler, from which it counts as over-full
ROUNDS = 5  # solutions, until whole crates fit (chosen)


@dataclass(frozen=True, kw_only=True)
class PlannedSeason:
    """What is proposed, and what comes of it."""

    ground: Ground
    plan: SeasonPlan
    found: Proposals
    unproven: str | None  # the aim from which on it is not proven to be the best; None: it is
    rooms: tuple[RoomDay, ...]  # with all rows accepted
    overfull: tuple[Overfull, ...]
    would_do: tuple[WouldDo, ...]
    unsaid: tuple[Unsaid, ...]


@dataclass(frozen=True, slots=True)
class _Solution:
    """A plan that was solved, and the lots with all its rows accepted."""

    plan: SeasonPlan
    model: SeasonModel
    values: Sequence[float]
    unproven: str | None
    found: Proposals
    dated: tuple[StorageDates, ...]
    planned: tuple[StorageDates, ...]


def ground_of(season: Season) -> Ground:
    """What a season's plan is made from."""
    return Ground(
        lots=season.lots,
        dated=season.dated,
        orders=with_sold(season.orders, season),
        kept=named(list(kept_entries(season)), season.orders),
        farm=season.farm,
        crops=season.crops,
        airs=season.airs,
        now=season.now,
        held=season.held,
    )


def plan_season(ground: Ground, seconds: float = SECONDS) -> PlannedSeason:
    """The plan of a season. Nothing is written.

    Where a cooler overflows, it is made once more with its plans allowed into the other ones.

    Args:
        ground: what it is made from.
        seconds: that the solver may take for each solution [s].
    """
    farm, crops, now = ground.farm, ground.crops, ground.now
    planning = _Planning(ground, seconds)
    found = planning.fitting(())
    moving = planning.moving(found)
    if moving:
        found = planning.fitting(moving)
    ways = {group[0].lot.lot_code: group for group in found.plan.supplies}
    return PlannedSeason(
        ground=ground,
        plan=found.plan,
        found=found.found,
        unproven=found.unproven,
        rooms=room(found.dated, farm, crops, now, PLAN_DAYS, found.planned),
        overfull=overfull(found.dated, farm, crops, now, PLAN_DAYS, found.planned),
        would_do=would_do(found.found, found.plan.wishes, ground),
        unsaid=unsaid(found.found, ways, ground),
    )


class _Planning:
    """One planning of a season, several solutions long."""

    def __init__(self, ground: Ground, seconds: float) -> None:
        self.ground, self.seconds = ground, seconds
        self.dated: dict[object, tuple[StorageDates, ...]] = {}  # by what of a planned lot decides them

    def moving(self, found: _Solution) -> set[str]:
        """Planned lots that another cooler may help, because their own is over-full."""
        over = {cooler for cooler, _, column in found.model.over if found.values[column] > OVER}
        inside = {lot.lot_code for lot in self.ground.lots if lot.planned and lot.cooler in over}
        return inside if len(self.ground.farm.coolers) > 1 else set()

    def fitting(self, elsewhere: Collection[str]) -> _Solution:
        """A solution whose whole crates and buckets fit where its fractions do.

        What rounding up, and stems without an outlet, take beyond the programme's is known once it is solved.
        """
        plan = season_plan(self.ground, elsewhere)
        margins: dict[tuple[str, date], float] = {}
        with_bulb: set[str] = set()
        for _ in range(ROUNDS):
            found = self._solved(replace(plan, problem=replace(plan.problem, margins=dict(margins))))
            if not elsewhere and self.moving(found):
                break  # it is made anew
            tight = self._not_fitting(found)
            if not tight or found.unproven is not None:
                break
            bulbs = {row.lot for row in found.found.rows if row.planned and row.way is StorageCode.BULB}
            if bulbs <= with_bulb:
                margins = {key: margins.get(key, 0.0) + tight.get(key, 0.0) for key in {*margins, *tight}}
            else:
                with_bulb |= bulbs
                plan = season_plan(self.ground, elsewhere, with_bulb)
        return found

    def _not_fitting(self, found: _Solution) -> dict[tuple[str, date], float]:
        """By cooler and day, the share of it that is too much where the programme says that it fits."""
        ground = self.ground
        over = {(cooler, day) for cooler, day, column in found.model.over if found.values[column] > OVER}
        days = room(found.dated, ground.farm, ground.crops, ground.now, PLAN_DAYS, found.planned)
        return {
            (day.cooler, day.day): day.fill - 1.0
            for day in days
            if day.fill is not None and day.fill > 1.0 + OVER and (day.cooler, day.day) not in over
        }

    def _solved(self, plan: SeasonPlan) -> _Solution:
        """A plan's solution; without one in time, nothing is proposed."""
        model = season_model(plan.problem)
        solved = solve(model.linear, self.seconds)
        values: Sequence[float] = [0.0] * len(model.linear.bounds) if solved is None else solved.values
        proven = 0 if solved is None else solved.proven
        found = proposals(plan, model, values)
        dated, planned = self._dated_after(found.rows)
        unproven = AIMS[proven] if proven < len(AIMS) else None
        return _Solution(plan, model, values, unproven, found, dated, planned)

    def _dated_after(
        self, rows: Sequence[Proposal]
    ) -> tuple[tuple[StorageDates, ...], tuple[StorageDates, ...]]:
        """The dates of cut lots, and of planned ones as if cut, with some rows accepted."""
        ground = self.ground
        lots = accepted_lots(
            ground.lots, rows, ground.now, lambda lot, _: lot.lot_code
        )  # told by the plan's code
        known = {dates.lot.lot_code: dates for dates in ground.dated}
        changed = {row.lot for row in rows}
        cut = [lot for lot in lots if not lot.planned]
        fresh = [lot for lot in cut if lot.lot_code in changed]
        for dates in date_lots(fresh, ground.farm, ground.crops, ground.now, ground.airs):
            known[dates.lot.lot_code] = dates
        planned = tuple(dates for lot in lots if lot.planned and lot.left for dates in self._as_cut(lot))
        return tuple(known[lot.lot_code] for lot in cut), planned

    def _as_cut(self, lot: Lot) -> tuple[StorageDates, ...]:
        """A planned lot as the room counts it, worked out once."""
        key = (lot.lot_code, lot.bulb, lot.storage, lot.cooler, lot.left, lot.orders)
        if key not in self.dated:
            self.dated[key] = _as_cut(lot, self.ground)
        return self.dated[key]


def _as_cut(lot: Lot, ground: Ground) -> tuple[StorageDates, ...]:
    """A planned lot as the room counts it; one whose way is decided needs no advice."""
    farm, crops, airs = ground.farm, ground.crops, ground.airs
    first, *others = ways_open(lot, crops)
    if others and lot.orders:
        return as_planned(plan_lots([lot], farm, crops, ground.now, airs), farm, crops, airs)
    staged = replace(lot, stage=lot.stage if lot.stage is not None else first.right_stage)
    orders = tuple(order for order in lot.orders if order.leaves >= ground.now)
    cut = as_cut(staged, lot.cut.date(), first.code, farm, orders)
    return (date_lot(cut, farm, crops, cut.cut, airs),)
