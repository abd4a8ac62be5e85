"""A lot's stems as one basis judges them: what would do, and how long they keep.

The basis is usual practice, the early end of its band, or the cautious published days. A lot whose stage
nobody noted has to do as half coloured stems too.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, datetime
from enum import StrEnum

from tagmaker.farm import Farm, Use
from tagmaker.lot import Lot, Stage
from tagmaker.storage.air import Airs
from tagmaker.storage.band import Band, Ends
from tagmaker.storage.crops import Keeping
from tagmaker.storage.history import moment_of
from tagmaker.storage.judging import CAUTIOUS, IN_WATER_DAYS, Judge, Limit
from tagmaker.storage.moments import DAY, days_down, selling_moment
from tagmaker.storage.stems import Stems


class Basis(StrEnum):
    """What dates are taken from."""

    PRACTICE = "practice"
    EARLY = "early"
    CAUTIOUS = "cautious"


@dataclass(frozen=True, kw_only=True)
class View:
    """The stems of a lot as one basis judges them."""

    judge: Judge
    basis: Basis
    as_half: Judge | None = None  # the lot as if cut half coloured, where nobody noted the stage
    _bands: dict[str, Band | None] = field(default_factory=dict, compare=False, repr=False)
    _soaking: dict[datetime, View] = field(default_factory=dict, compare=False, repr=False)
    _ends: dict[str, Ends] = field(default_factory=dict, compare=False, repr=False)

    def band(self, use: Use) -> Band | None:
        """The band of the lot for a use."""
        if use.name not in self._bands:
            self._bands[use.name] = self._end(use).band()
        return self._bands[use.name]

    def _end(self, use: Use) -> Ends:
        """The ends of the lot's life for a use."""
        if use.name not in self._ends:
            self._ends[use.name] = Ends(self.judge, use)
        return self._ends[use.name]

    def on(self, basis: Basis) -> View:
        """The same stems on another basis."""
        return View(
            judge=self.judge,
            basis=basis,
            as_half=self.as_half,
            _bands=self._bands,
            _ends=self._ends,
            _soaking=self._soaking,
        )

    def for_lot(self, lot: Lot, airs: Airs, now: datetime) -> View:
        """The same stems by other cells and readings, on the same basis."""
        judge = self.judge
        return view_of_way(lot, judge.farm, airs, judge.keeping, judge.water, now)

    def shortfall(self, moment: datetime, use: Use) -> Limit | None:
        """What stops a departure; None if it is usable."""
        limit = self.judge.shortfall(moment, use)
        if limit is None and self.basis is not Basis.PRACTICE:
            limit = self._careful(moment, use)
        if limit is None and self.as_half is not None and self.as_half.shortfall(moment, use) is not None:
            return Limit.STAGE
        return limit

    def _careful(self, moment: datetime, use: Use) -> Limit | None:
        """What stops a usable departure on the early or the cautious basis."""
        published = self.judge.keeping.cautious_days
        if self.basis is Basis.EARLY or published is None:
            band = self._obeying(moment, use).band(use)
            return Limit.EARLY if band is None or moment > band.early else None
        leaving = self.judge.departure(moment, use)
        aged = self.judge.aged_days(leaving, CAUTIOUS)
        long_in_water = (
            leaving.into_water is not None
            and self.judge.was_dry
            and (moment.date() - leaving.into_water.date()).days > IN_WATER_DAYS
        )
        in_water = self.judge.water.cautious_days if self.judge.water is not None and long_in_water else None
        return Limit.CAUTIOUS if aged > min(published, in_water or published) + 1e-9 else None

    def _obeying(self, moment: datetime, use: Use) -> View:
        """The stems as they are if a departure's tag is obeyed, where that decides how they fare."""
        into_water = self.judge.into_water_by(moment, use)
        if not self.judge.soaks_outside or into_water is None:
            return self
        if into_water not in self._soaking:
            lot = replace(self.judge.lot, in_water=into_water)
            self._soaking[into_water] = self.for_lot(lot, self.judge.airs, self.judge.stems.now)
        return self._soaking[into_water]

    def stretches(self, moment: datetime, use: Use) -> bool:
        """Whether an order may be served past the storage life: by usual practice alone."""
        careful = self.basis is Basis.CAUTIOUS or self.as_half is not None
        return not careful and self.judge.stretches(moment, use)

    def will_do(self, moment: datetime, use: Use) -> bool:
        """Whether a departure is usable."""
        return self.shortfall(moment, use) is None

    def last_selling(self, use: Use, until: date | None = None) -> datetime | None:
        """The last selling moment of a use that is usable, not after a day."""
        moments = (selling_moment(use, day) for day in self._days((use,), until))
        return next((m for m in moments if m is not None and self.will_do(m, use)), None)

    def last_departure(self, use: Use, like: datetime) -> datetime | None:
        """The last day on which an order leaving at the hour of `like` could be served, stretched or not."""
        moments = (datetime.combine(day, like.time()) for day in days_down(self.judge.last_day, self._cut))
        return next((m for m in moments if self.will_do(m, use) or self.stretches(m, use)), None)

    def keeps_until(self) -> datetime | None:
        """The last close of a working day, or selling moment of any use, that would do for one not open.

        What would do for any of them would do for the one that promises least.
        """
        uses = [use for use in self.judge.farm.uses.values() if not use.open]
        least = min(uses, key=lambda use: use.vase_days, default=None)
        if least is None:
            return None
        days = self._days((least,), None)
        moments = (moment for day in days for moment in sorted(self._moments(day), reverse=True))
        return next((moment for moment in moments if self.will_do(moment, least)), None)

    def _moments(self, day: date) -> set[datetime]:
        """The close of a working day, and every selling moment of it."""
        farm = self.judge.farm
        moments = {selling_moment(use, day) for use in farm.uses.values()} - {None}
        found = {moment for moment in moments if moment is not None}
        return found if farm.workday.is_off(day) else {*found, farm.workday.end(day)}

    @property
    def _cut(self) -> date:
        return self.judge.lot.cut.date()

    def _published_days(self, uses: Iterable[Use]) -> Iterator[date]:
        """A day after which the published days are over, where they decide and it can be told."""
        judge, days = self.judge, self.judge.keeping.cautious_days
        if self.basis is not Basis.CAUTIOUS or days is None:
            return
        if any(use.open or judge.changes_on_the_way(use) for use in uses):
            return
        yield moment_of(judge.stems.reaches(days, CAUTIOUS)).date() + DAY

    def _days(self, uses: Sequence[Use], until: date | None) -> Iterator[date]:
        """The days on which stems could leave for some uses, the last one first."""
        lasts = [hour for use in uses if (hour := self._end(use).usual) is not None]
        if not lasts:
            return iter(())
        last = min(self.judge.last_day, moment_of(max(lasts)).date() + DAY, *self._published_days(uses))
        return days_down(last if until is None else min(last, until), self._cut)


def view_of_way(
    lot: Lot, farm: Farm, airs: Airs, keeping: Keeping, water: Keeping | None, now: datetime
) -> View:
    """The stems of a lot kept one way, on the basis that its dates are taken from.

    Args:
        lot: the row.
        farm: its uses, coolers and basis.
        airs: the air of every cooler.
        keeping: the way that counts.
        water: the crop's way in water.
        now: looks at the buds on later days do not count.
    """

    def judge(stage: Stage | None) -> Judge:
        stems = Stems(lot, farm, airs, keeping, now, stage)
        return Judge(lot=lot, farm=farm, airs=airs, keeping=keeping, water=water, stems=stems)

    noted = judge(None)
    blank = noted.stems.stage is None
    basis = Basis.CAUTIOUS if blank or farm.basis == "cautious" else Basis(farm.basis)
    return View(judge=noted, basis=basis, as_half=judge(Stage.HALF) if blank else None)
