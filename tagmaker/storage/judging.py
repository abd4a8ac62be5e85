"""Whether a lot's stems will do for a departure, and if not, what stops them.

A departure is usable when the stems are ready, within every limit of days, within their storage
life, and with as many vase days left as its use promises, provided that the tag is obeyed: the
hours in water are counted from the moment the tag would say.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from enum import StrEnum

from tagmaker.farm import Farm, Use
from tagmaker.lot import Lot, StorageCode
from tagmaker.storage.ageing import HOLD_C, TemperatureHistory, cautious_rate, rate, rate_with, vase_days
from tagmaker.storage.air import Airs
from tagmaker.storage.crops import Keeping
from tagmaker.storage.moments import DAY, days_down, latest_bench_moment, selling_moment
from tagmaker.storage.whereabouts import cooler_at, warmed_since

LATE_DAYS = 2  # [d] a late lot may be kept at most (common practice, no source)
LATE_LOSS = 1.0  # [d] fresh vase life a late lot has less (common practice: "a shorter vase life"; chosen)
IN_WATER_DAYS = 3  # [d] a dry lot may stand once it is in water (common practice, no source)
LEAST_WATER_HOURS = 6.0  # [h] in water after dry storage (common practice, no source)
STRETCH_VASE_DAYS = 2.0  # [d] uses that ask for no more may take a stretched lot (chosen)


class Limit(StrEnum):
    """What stops a departure."""

    NOT_READY = "not ready"  # its hours in water and for opening do not fit
    CAP = "cap"  # days from the cut
    LATE = "late"  # a late lot's two days
    IN_WATER = "in water"  # three days in water
    LIFE = "life"  # storage life used up
    VASE = "vase"  # fewer vase days left than promised
    CAUTIOUS = "cautious"  # the published days
    ORDER = "order"  # the tag of an order puts all stems in water


@dataclass(frozen=True, slots=True)
class Reading:
    """One way to count storage life."""

    weigh: Callable[[float], float] = rate
    life_factor: float = 1.0


def _life_held(q10: float) -> float:
    """Factor on the life at 0 °C that leaves the life at 40 °F as it is under another Q10."""
    return rate(HOLD_C, q10) / rate(HOLD_C)


PRACTICE = Reading()
# One change at a time: life by 15 % (chosen: practice itself spans 14 to 21 days for DRY), and the
# ends of the handbook's range of Q10 over 0 to 10 °C.
VARIATIONS = (
    Reading(life_factor=0.85),
    Reading(life_factor=1.15),
    Reading(rate_with(4.0), _life_held(4.0)),
    Reading(rate_with(2.5), _life_held(2.5)),
)


@dataclass(frozen=True, kw_only=True)
class Judge:
    """The stems of one lot, ready to be asked about departures."""

    lot: Lot
    farm: Farm
    airs: Airs
    keeping: Keeping  # the way that goes on counting
    water: Keeping | None  # the crop's WATER way, for dry stems once they stand in water
    history: TemperatureHistory
    readings: tuple[Reading, ...] = (PRACTICE,)  # all of them must hold
    cautious: bool = False  # the published days must hold too
    warmed: datetime | None = field(default=None)  # back from a trip that opened the buds
    late_at_cut: bool = False

    @property
    def was_dry(self) -> bool:
        """Whether the lot is kept dry, so that it needs its hours in water."""
        return self.keeping.code is not StorageCode.WATER

    @property
    def put_in_water(self) -> datetime | None:
        """When the dry lot was put in water; None while it is dry, or was never kept dry."""
        return self.lot.in_water if self.was_dry else None

    @property
    def last_day(self) -> date:
        """A day after which nothing can be usable, stretched or not."""
        keepings = [k for k in (self.keeping, self.water) if k is not None]
        return self.lot.cut.date() + DAY * max(max(k.cap_days, k.stretch_days or 0) for k in keepings)

    def late_since(self, moment: datetime) -> datetime | None:
        """Since when the lot is late, as seen from a moment; None if it is not late by then."""
        if self.late_at_cut:
            return self.lot.cut
        return self.warmed if self.warmed is not None and self.warmed <= moment else None

    def fresh_days(self, moment: datetime) -> float:
        """Vase life of the fresh stems [d], one day less for a late lot."""
        return self.keeping.fresh_days - (LATE_LOSS if self.late_since(moment) else 0.0)

    def promise(self, use: Use, moment: datetime) -> float:
        """Vase days that count as promised [d]: the use's, but no more than fresh stems less one."""
        return min(use.vase_days, self.fresh_days(moment) - 1)

    def opening_hours(self, use: Use, moment: datetime) -> float:
        """Hours at room temperature that open the flowers for a use [h]; none for a late lot."""
        return 0.0 if not use.open or self.late_since(moment) else self.keeping.opening_hours

    def water_hours(self) -> float:
        """Hours in water before a departure [h]; none for stems kept in water."""
        return max(self.keeping.water_hours, LEAST_WATER_HOURS) if self.was_dry else 0.0

    def hours(self, use: Use, moment: datetime) -> timedelta:
        """Hours in water and for opening before a departure."""
        return timedelta(hours=self.water_hours() + self.opening_hours(use, moment))

    def into_water_by(self, moment: datetime, use: Use) -> datetime | None:
        """The latest bench moment that leaves a departure its hours; None for stems kept in water."""
        return (
            latest_bench_moment(self.farm.workday, moment - self.hours(use, moment)) if self.was_dry else None
        )

    def stand_warm_from(self, moment: datetime, use: Use) -> datetime | None:
        """The bench moment at which the opening hours before a departure begin; None where there are none."""
        opening = self.opening_hours(use, moment)
        return latest_bench_moment(self.farm.workday, moment - timedelta(hours=opening)) if opening else None

    def warm_from(self, moment: datetime, use: Use) -> datetime:
        """Since when the stems of a departure stand at room temperature, at the latest `moment`."""
        warm = self.stand_warm_from(moment, use) or moment
        if self.was_dry and self.put_in_water is None:
            soak = self.into_water_by(moment, use)
            if soak is not None and not cooler_at(self.lot, self.farm, soak).soak_inside:
                warm = min(warm, soak)
        return max(warm, self.lot.cut)

    def aged_days(self, moment: datetime, use: Use, weigh: Callable[[float], float] = rate) -> float:
        """Days at 0 °C that age the stems as much as all until a departure [d]."""
        warm = self.warm_from(moment, use)
        room = (moment - warm) / DAY * weigh(self.farm.room_c) if moment > warm else 0.0
        return self.history.aged_days(warm, weigh) + room

    def used(self, moment: datetime, use: Use, reading: Reading = PRACTICE) -> float:
        """Share of the storage life used at a departure [-]."""
        return self.aged_days(moment, use, reading.weigh) / (self.keeping.life_days * reading.life_factor)

    def vase_days(self, moment: datetime, use: Use, reading: Reading = PRACTICE) -> float:
        """Vase days left at a departure [d], the middle of the range."""
        used = self.used(moment, use, reading)
        return vase_days(self.fresh_days(moment), self.keeping.loss_days, used)

    def shortfall(self, moment: datetime, use: Use) -> Limit | None:
        """What stops a departure; None if it is usable."""
        limit = self._days_limit(moment, use, self.keeping.cap_days)
        if limit is not None:
            return limit
        for reading in self.readings:
            if self.used(moment, use, reading) > 1:
                return Limit.LIFE
            if self.vase_days(moment, use, reading) < self.promise(use, moment):
                return Limit.VASE
        if self.cautious and self._past_published(moment, use, self.keeping):
            return Limit.CAUTIOUS
        return None

    def stretches(self, moment: datetime, use: Use) -> bool:
        """Whether an order of few vase days may be served past the storage life."""
        stretch = self.keeping.stretch_days
        if self.cautious or stretch is None or use.vase_days > STRETCH_VASE_DAYS:
            return False
        if self._days_limit(moment, use, stretch) is not None:
            return False
        return self.vase_days(moment, use) >= self.promise(use, moment)

    def _days_limit(self, moment: datetime, use: Use, cap: int) -> Limit | None:
        """The limit of days or hours that a departure breaks."""
        days = (moment.date() - self.lot.cut.date()).days
        if days > cap:
            return Limit.CAP
        since = self.late_since(moment)
        if since is not None and (moment.date() - since.date()).days > LATE_DAYS:
            return Limit.LATE
        if moment - self.hours(use, moment) < (self.put_in_water or self.lot.cut):
            return Limit.NOT_READY
        if self.was_dry:
            soak = self.put_in_water or self.into_water_by(moment, use)
            if soak is None:
                return Limit.NOT_READY
            if (moment.date() - soak.date()).days > IN_WATER_DAYS and not self._fresh_in_water(moment, use):
                return Limit.IN_WATER
        return None

    def _fresh_in_water(self, moment: datetime, use: Use) -> bool:
        """Whether the stems would still do, had they stood in water from the cut.

        A longer life of the lot's own way is no reason to leave stems standing in water longer,
        so usual practice must hold beside whatever is varied.
        """
        if self.water is None:
            return False
        days = (moment.date() - self.lot.cut.date()).days
        if days > self.water.cap_days or (self.cautious and self._past_published(moment, use, self.water)):
            return False
        for reading in (PRACTICE, *self.readings):
            used = self.aged_days(moment, use, reading.weigh) / (self.water.life_days * reading.life_factor)
            left = vase_days(self.fresh_days(moment), self.water.loss_days, used)
            if used > 1 or left < self.promise(use, moment):
                return False
        return True

    def _past_published(self, moment: datetime, use: Use, keeping: Keeping) -> bool:
        """Whether the published days of a crop are over, counted as held up to 4.4 °C."""
        days = keeping.cautious_days
        return days is not None and self.aged_days(moment, use, cautious_rate) > days

    def last_selling(self, use: Use, until: date | None = None) -> datetime | None:
        """The last selling moment of a use that is usable, not after a day."""
        moments = (selling_moment(use, day) for day in self._days(until))
        return self._last_usable(use, (moment for moment in moments if moment is not None))

    def last_close(self, use: Use, until: date | None = None) -> datetime | None:
        """The last close of a working day that would be usable for a use, not after a day."""
        workday = self.farm.workday
        return self._last_usable(
            use, (workday.end(day) for day in self._days(until) if not workday.is_off(day))
        )

    def last_departure(self, use: Use, like: datetime) -> datetime | None:
        """The last day on which an order leaving at the hour of `like` could be served, stretched or not."""
        moments = (datetime.combine(day, like.time()) for day in self._days(None))
        return next(
            (
                moment
                for moment in moments
                if self.shortfall(moment, use) is None or self.stretches(moment, use)
            ),
            None,
        )

    def _days(self, until: date | None) -> Iterable[date]:
        last = self.last_day if until is None else min(self.last_day, until)
        return days_down(last, self.lot.cut.date())

    def _last_usable(self, use: Use, moments: Iterable[datetime]) -> datetime | None:
        return next((moment for moment in moments if self.shortfall(moment, use) is None), None)


def judge_lot(
    lot: Lot, farm: Farm, airs: Airs, keeping: Keeping, water: Keeping | None, history: TemperatureHistory
) -> Judge:
    """The judge of a lot by usual practice."""
    return Judge(
        lot=lot,
        farm=farm,
        airs=airs,
        keeping=keeping,
        water=water,
        history=history,
        warmed=warmed_since(lot, farm),
        late_at_cut=lot.stage is not None and lot.stage > keeping.right_stage,
    )
