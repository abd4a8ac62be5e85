"""Who may serve what: whether stems of a lot may be promised for a departure, and how they get there.

Every answer is that of the dating rules about an order for a part of the lot: such an order never moves the
lot's own sell by. Nothing else may promise.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, datetime
from enum import StrEnum

from tagmaker.farm import Farm, Use
from tagmaker.lot import Lot, Mark, Order, State, StorageCode, StorageDates, Verdict
from tagmaker.storage.air import Airs, assumed_airs
from tagmaker.storage.basis import Basis, View
from tagmaker.storage.crops import CropTable, Keeping
from tagmaker.storage.dating import date_lot, view_of
from tagmaker.storage.judging import Limit
from tagmaker.storage.leftovers import WORST_VERDICT
from tagmaker.storage.looking import UNSURE_DAYS, order_test
from tagmaker.storage.orders import judge_order
from tagmaker.storage.planning import Ground, as_cut, never_dated, ways_open
from tagmaker.storage.warmth import HALF_COLOURED, TOO_OPEN
from tagmaker.storage.whereabouts import OUT, place_at

# Marks that say that stems are not as good as they should be, or that nobody knows.
DOUBTS = frozenset({Mark.TOO_OPEN, Mark.HALF_COLOURED, Mark.HOW_OPEN, Mark.TEST_A_BUNCH})


class Refusal(StrEnum):
    """Why nothing more of a lot is promised, whatever the departure."""

    HELD = "held"  # it may have left: the journal asks
    NO_DATE = "no date"  # wet, frozen, too hot, or nothing would have done
    BAD = "tested bad"
    TOO_OLD = "too old"  # but for what orders keep of it
    NOT_COUNTED = "not counted"  # the sheet does not say how many there are


@dataclass(frozen=True, slots=True, kw_only=True)
class Serving:
    """Stems of a lot as they would leave for a use, promised as a part order."""

    verdict: Verdict
    limit: Limit | None = None  # what stops them, or what an order is stretched past
    refusal: Refusal | None = None  # of the whole lot
    away: bool = False  # it stands outside, and the use does not want the flowers open
    into_water_by: datetime | None = None  # None: the stems stand in water
    water_hours: float = 0.0  # [h] that they are to stand in it before
    stand_warm_from: datetime | None = None  # start of the opening hours; None where there are none
    test_on: date | None = None  # day to open a bunch
    marks: tuple[Mark, ...] = ()  # as of the departure, the gravest first
    unordered: bool = False  # would do too if nobody had ordered: by the lot's own basis, unstretched

    @property
    def ok(self) -> bool:
        """Whether they may be promised to a buyer who ordered."""
        return self.verdict in (Verdict.USABLE, Verdict.STRETCHED) and self.refusal is None and not self.away

    @property
    def ok_unordered(self) -> bool:
        """Whether they may be taken to an outlet where nobody ordered them."""
        return self.ok and self.unordered

    @property
    def keeps_promise(self) -> bool:
        """Whether what is promised already holds: the rest of the lot may be too old, or stand outside."""
        broken = (Refusal.HELD, Refusal.NO_DATE, Refusal.BAD)
        return self.verdict in (Verdict.USABLE, Verdict.STRETCHED) and self.refusal not in broken

    @property
    def marked(self) -> bool:
        """Whether somebody has to look first, or the stems are not as good as they should be."""
        return not DOUBTS.isdisjoint(self.marks)


@dataclass(frozen=True, kw_only=True)
class Supply:
    """Stems of one lot, kept one way in one cooler, ready to be asked what they may serve."""

    lot: Lot  # as it is; a planned one as if it were cut
    kept: StorageCode  # the way that goes on counting
    code: StorageCode  # how they stand
    keeping: Keeping  # figures of the way
    planned: bool
    cooler: str  # where it stands now, or is to; "out"
    keeps_until: datetime | None
    refusal: Refusal | None
    now: datetime
    views: tuple[View, ...]  # one, or one a parent
    early: datetime | None  # of a lot without several parents: its own early moment, to the hour
    _asked: dict[tuple[datetime, str], Serving] = field(default_factory=dict, compare=False, repr=False)

    def serves(self, leaves: datetime, use: Use) -> Serving:
        """Whether its stems may serve a departure, and how they get there."""
        key = (leaves, use.name)
        if key not in self._asked:
            self._asked[key] = self._ask(leaves, use)
        return self._asked[key]

    def _ask(self, leaves: datetime, use: Use) -> Serving:
        """The worst of what the stems of each parent would do, with the marks of all."""
        each = [self._serving(view, leaves, use) for view in self.views]
        if len(each) == 1:
            return each[0]
        worst = min(each, key=lambda found: WORST_VERDICT.index(found.verdict))
        marks = {mark for found in each for mark in found.marks}
        return replace(
            worst,
            marks=tuple(mark for mark in Mark if mark in marks),
            test_on=min((found.test_on for found in each if found.test_on is not None), default=None),
            unordered=all(found.unordered for found in each),
        )

    def _serving(self, view: View, leaves: datetime, use: Use) -> Serving:
        judge, lot = view.judge, view.judge.lot
        if leaves.date() > judge.last_day:
            return Serving(verdict=Verdict.NOT_FOR, limit=Limit.CAP, refusal=self.refusal)
        order = Order(leaves=leaves, stems=lot.per_bunch, use=use.name)
        judged = judge_order(view, order, order.stems, self.now)
        if not judged.would_do or (self.planned and judged.verdict is Verdict.STRETCHED):
            limit = judged.limit
            return Serving(verdict=Verdict.NOT_FOR, limit=limit, refusal=self.refusal)
        into_water_by = judge.into_water_by(leaves, use) if judge.is_dry else None
        test_on = order_test(view, judged, self._early(view, leaves)) if judged.ok else None
        opening = judge.departure(leaves, use).opening
        marks = {
            Mark.TOO_OPEN: opening >= TOO_OPEN,
            Mark.HALF_COLOURED: HALF_COLOURED <= opening < TOO_OPEN,
            Mark.HOW_OPEN: judge.stems.stage is None,
            Mark.TEST_A_BUNCH: test_on is not None,
            Mark.PUT_IN_WATER_NOW: into_water_by is not None and into_water_by < self.now,
        }
        return Serving(
            verdict=judged.verdict,
            limit=judged.limit,
            refusal=self.refusal,
            away=self.cooler == OUT and not use.open,
            into_water_by=into_water_by,
            water_hours=judge.water_hours(),
            stand_warm_from=judge.stand_warm_from(leaves, use),
            test_on=test_on,
            marks=tuple(mark for mark, holds in marks.items() if holds),
            unordered=judged.verdict is Verdict.USABLE
            and (view.basis is not Basis.EARLY or view.will_do(leaves, use)),
        )

    def _early(self, view: View, leaves: datetime) -> datetime | None:
        """The lot's own early moment, where it may matter; None too on a careful basis."""
        judge = view.judge
        days = (leaves.date() - judge.lot.cut.date()).days
        if view.basis is Basis.CAUTIOUS or self.keeps_until is None or days <= UNSURE_DAYS:
            return None
        if len(self.views) == 1:
            return self.early
        band = view.band(judge.farm.uses[judge.lot.use])
        return None if band is None else band.early


def supplies(
    dates: Sequence[StorageDates],
    farm: Farm,
    crops: CropTable,
    now: datetime,
    airs: Airs | None = None,
    held: Collection[str] = (),
) -> tuple[Supply, ...]:
    """What stands there of lots that have been cut, by code.

    Args:
        dates: the dates of the lots, as of now.
        farm: uses and coolers.
        crops: the crop table.
        now: local time of the farm.
        airs: the air of every cooler; None: nothing was read in any.
        held: codes of lots that may have left.
    """
    known = assumed_airs(farm) if airs is None else airs
    found = []
    for lot_dates in sorted(dates, key=lambda lot_dates: lot_dates.lot.lot_code):
        lot = lot_dates.lot
        views = tuple(view_of(each, farm, crops, now, known) for each in (lot.alone or (lot,)))
        found.append(
            Supply(
                lot=lot,
                kept=lot_dates.kept,
                code=lot_dates.code,
                keeping=views[0].judge.keeping,
                planned=False,
                cooler=place_at(lot, now),
                keeps_until=lot_dates.keeps_until,
                refusal=_refusal(lot_dates, now, lot.lot_code in held),
                now=now,
                views=views,
                early=lot_dates.early_hour,
            )
        )
    return tuple(found)


def _refusal(dates: StorageDates, now: datetime, held: bool) -> Refusal | None:
    """Why nothing more of a lot may be promised; what orders keep of it already is judged apart."""
    if held:
        return Refusal.HELD
    if dates.state is State.NO_DATE:
        return Refusal.NO_DATE
    if dates.bad_since is not None:
        return Refusal.BAD
    kept = dates.keeps_until
    over = not dates.elsewhere if kept is None else now.date() > kept.date()
    if dates.state is State.TOO_OLD or over:
        return Refusal.TOO_OLD
    return Refusal.NOT_COUNTED if dates.left is None else None


def planned_supplies(
    lots: Sequence[Lot],
    farm: Farm,
    crops: CropTable,
    now: datetime,
    airs: Airs | None = None,
    coolers: Collection[str] = (),
) -> tuple[Supply, ...]:
    """What is planned, as if cut: each lot once a way that is open to it and a cooler, by code.

    Args: as of `supplies`, and
        coolers: other coolers to try than that of the row.
    """
    ground = Ground(farm, crops, assumed_airs(farm) if airs is None else airs)
    found: list[Supply] = []
    for lot in sorted(lots, key=lambda lot: lot.lot_code):
        if lot.planned:
            places = dict.fromkeys((lot.cooler, *coolers))
            found += (s for name in places for s in _planned(replace(lot, cooler=name), ground, now))
    return tuple(found)


def _planned(lot: Lot, ground: Ground, now: datetime) -> Iterator[Supply]:
    ways = ways_open(lot, ground.crops)
    staged = replace(lot, stage=lot.stage if lot.stage is not None else ways[0].right_stage)
    for way in ways:
        cut = as_cut(staged, lot.cut.date(), way.code, ground.farm, ())
        dates = date_lot(cut, ground.farm, ground.crops, cut.cut, ground.airs)
        never = never_dated(staged, way.code, ground) is not None
        yield Supply(
            lot=cut,
            kept=way.code,
            code=way.code,
            keeping=way,
            planned=True,
            cooler=lot.cooler,
            keeps_until=dates.keeps_until,
            refusal=Refusal.NO_DATE if never else _refusal(dates, cut.cut, held=False),
            now=max(now, cut.cut),
            views=(view_of(cut, ground.farm, ground.crops, cut.cut, ground.airs),),
            early=dates.early_hour,
        )
