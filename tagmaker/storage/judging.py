"""Whether a lot's stems will do for a departure by usual practice, and if not, what stops them.

A departure is usable when the stems are ready, within every limit of days, within their storage
life, and with as many vase days left as its use promises, provided that the tag is obeyed: the
stems stand in water from the moment that the tag would say.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from enum import StrEnum

from tagmaker.farm import Farm, Use
from tagmaker.lot import Lot, StorageCode
from tagmaker.storage.ageing import cautious_rate, vase_days
from tagmaker.storage.air import Airs
from tagmaker.storage.crop_figures import LEAST_WATER_HOURS
from tagmaker.storage.crops import WARM_CAP_C, Keeping
from tagmaker.storage.history import hours, moment_of
from tagmaker.storage.moments import DAY, latest_bench_moment
from tagmaker.storage.stems import DAY_H, PRACTICE, Figures, Stems
from tagmaker.storage.warmth import HALF_COLOURED, TOO_OPEN
from tagmaker.storage.whereabouts import OUT, cooler_at

TOO_OPEN_DAYS = 2  # [d] a lot that is too open may be kept at most (common practice, no source)
TOO_OPEN_LOSS_D = 1.0  # [d] fresh vase life it has less (common practice: "a shorter vase life"; chosen)
HALF_LOSS_D = 0.5  # [d] fresh vase life that a half coloured one has less (chosen)
IN_WATER_DAYS = 3  # [d] a dry lot may stand once it is in water (common practice, no source)
STRETCH_VASE_DAYS = 2.0  # [d] uses that ask for no more may take a stretched lot (chosen)
STRETCH_USED = 1.3  # [-] of the storage life that a stretched lot may have used (chosen)
CLOSE = 1e-6  # what floating point makes of equal sums


class Limit(StrEnum):
    """What stops a departure."""

    NOT_READY = "not ready"  # its hours in water and for opening do not fit
    CAP = "cap"  # days from the cut
    TOO_OPEN = "too open"  # two days from too open
    IN_WATER = "in water"  # three days in water
    LIFE = "life"  # storage life used up
    VASE = "vase"  # fewer vase days left than promised
    CAUTIOUS = "cautious"  # the published days
    EARLY = "early"  # the careful end of the band
    STAGE = "stage"  # nobody noted it: what half coloured stems would keep
    ORDER = "order"  # the tag of an order puts all stems in water


@dataclass(frozen=True, slots=True)
class Departure:
    """The stems of a lot as they leave for a use, their tag obeyed."""

    at: datetime
    use: Use
    opening_hours: float  # [h] in the warm before it
    opening: float  # of the buds
    too_open_since: datetime | None
    more_days: int  # [d] that count against the cap on top
    into_water: datetime | None  # when they go into water, or went; None: they are kept in it
    soaked: float | None  # [h] since when they stand in water in the room; None: they do not
    counted: float  # [h] until when their life counts
    window: tuple[float, float] | None  # [h] in the warm on purpose before


@dataclass(frozen=True, kw_only=True)
class Judge:
    """The stems of one lot, ready to be asked about departures."""

    lot: Lot
    farm: Farm
    airs: Airs
    keeping: Keeping  # the way that goes on counting
    water: Keeping | None  # the crop's WATER way, for dry stems once they stand in water
    stems: Stems
    _departures: dict[tuple[datetime, str, bool], Departure] = field(
        default_factory=dict, init=False, compare=False, repr=False
    )

    @property
    def was_dry(self) -> bool:
        """Whether the lot is kept dry, so that it needs its hours in water."""
        return self.keeping.code is not StorageCode.WATER

    @property
    def put_in_water(self) -> datetime | None:
        """When the dry lot was put in water; None while it is dry, or was never kept dry."""
        return self.lot.in_water if self.was_dry else None

    @property
    def is_dry(self) -> bool:
        """Whether it still has to be put in water."""
        return self.was_dry and self.lot.in_water is None

    @property
    def last_day(self) -> date:
        """A day after which nothing can be usable, stretched or not."""
        keepings = [k for k in (self.keeping, self.water) if k is not None]
        return self.lot.cut.date() + DAY * max(max(k.cap_days, k.stretch_days or 0) for k in keepings)

    def cap_days(self, keeping: Keeping) -> int:
        """Calendar days from the cut that are never passed, by how warm the lot's cooler counts."""
        warm_cap = keeping.warm_cap_days
        last = cooler_at(self.lot, self.farm, datetime.max)
        if warm_cap is None or self.airs[last.name].after_c <= WARM_CAP_C:
            return keeping.cap_days
        return min(warm_cap, keeping.cap_days)

    @property
    def soaks_outside(self) -> bool:
        """Whether it is still to be put in water, and may stand in the room for it."""
        places = {self.lot.cooler, *(move.place for move in self.lot.moves)} - {OUT}
        return self.is_dry and any(not self.farm.coolers[place].soak_inside for place in places)

    def changes_on_the_way(self, use: Use) -> bool:
        """Whether the hour of a departure decides what the stems go through before it."""
        return self.soaks_outside or (use.open and self.stems.warm_trip is not None)

    def water_hours(self) -> float:
        """Hours in water before a departure [h]; none for stems kept in water."""
        return max(self.keeping.water_hours, LEAST_WATER_HOURS) if self.was_dry else 0.0

    def opening_hours(self, use: Use, moment: datetime) -> float:
        """Hours at room temperature that open the flowers for a use [h]; none for a lot too open."""
        opening_h = self.keeping.opening_hours if use.open else 0.0
        if not opening_h:
            return 0.0
        at = hours(moment)
        window = self.stems.window(use, at)
        seen_at = at if window is not None else at - opening_h
        return 0.0 if self.stems.opening(window).at(seen_at) >= TOO_OPEN else opening_h

    def hours(self, use: Use, moment: datetime) -> timedelta:
        """Hours in water and for opening before a departure."""
        return timedelta(hours=self.water_hours() + self.opening_hours(use, moment))

    def into_water_by(self, moment: datetime, use: Use) -> datetime | None:
        """The latest bench moment since the cut that leaves a departure its hours; None where there is none.

        None too for stems kept in water.
        """
        if not self.was_dry:
            return None
        found = latest_bench_moment(self.farm.workday, moment - self.hours(use, moment))
        return None if found is None or found < self.lot.cut else found

    def stand_warm_from(self, moment: datetime, use: Use) -> datetime | None:
        """The bench moment at which the opening hours before a departure begin; None where there are none."""
        opening = self.opening_hours(use, moment)
        return latest_bench_moment(self.farm.workday, moment - timedelta(hours=opening)) if opening else None

    def departure(self, moment: datetime, use: Use, straight: bool = False) -> Departure:
        """The stems as they leave, their tag obeyed; `straight`: put in water whatever the hour."""
        key = (moment, use.name, straight)
        if key not in self._departures:
            self._departures[key] = self._departure(moment, use, straight)
        return self._departures[key]

    def _departure(self, moment: datetime, use: Use, straight: bool) -> Departure:
        at, opening_h = hours(moment), self.opening_hours(use, moment)
        window = self.stems.window(use, at) if opening_h else None
        into_water = self.put_in_water
        if self.is_dry:
            into_water = moment - self.hours(use, moment) if straight else self.into_water_by(moment, use)
        counted = at - opening_h
        course = self.stems.opening(window)
        seen_at = at if window is not None else counted
        soaked = self._soaked(into_water)
        if soaked is None or soaked >= counted:
            opening, since = course.at(seen_at), course.since(TOO_OPEN, seen_at)
            more_h = course.pace.more(seen_at) if course.pace else 0.0
            soaked = None
        else:
            bath = self.stems.soak(soaked).opening
            opening, inside = bath.at(counted - soaked), bath.since(TOO_OPEN, counted - soaked)
            since = course.since(TOO_OPEN, soaked)
            since = since if since is not None or inside is None else soaked + inside
            more_h = (course.pace.more(soaked) if course.pace else 0.0) + (
                bath.pace.more(counted - soaked) if bath.pace else 0.0
            )
        return Departure(
            at=moment,
            use=use,
            opening_hours=opening_h,
            opening=opening,
            too_open_since=None if since is None else moment_of(since),
            more_days=int(more_h / DAY_H + CLOSE),
            into_water=into_water,
            soaked=soaked,
            counted=counted,
            window=window,
        )

    def _soaked(self, into_water: datetime | None) -> float | None:
        """Since when stems that are yet to be put in water would stand in the room [h]."""
        if not self.is_dry or into_water is None or into_water < self.lot.cut:
            return None
        return None if cooler_at(self.lot, self.farm, into_water).soak_inside else hours(into_water)

    def aged_days(self, leaving: Departure, figures: Figures = PRACTICE) -> float:
        """Days at 0 °C that age the stems as much as all that counts until a departure [d]."""
        if leaving.soaked is None:
            return self.stems.aged_days(leaving.counted, figures, leaving.window)
        aged = self.stems.aged_days(leaving.soaked, figures)
        return aged + self.stems.soaked_days(leaving.soaked, leaving.counted, figures)

    def fresh_days(self, leaving: Departure, figures: Figures = PRACTICE) -> float:
        """Vase life of fresh stems [d], less for buds that are half coloured or too open."""
        opening = leaving.opening
        less = TOO_OPEN_LOSS_D if opening >= TOO_OPEN else HALF_LOSS_D if opening >= HALF_COLOURED else 0.0
        return self.keeping.fresh_days + figures.fresh_d - less

    def promise(self, leaving: Departure, figures: Figures = PRACTICE) -> float:
        """Vase days that count as promised [d]: the use's, but no more than fresh stems less one."""
        held = self.fresh_days(leaving, figures) - 1 - leaving.opening_hours / DAY_H
        return min(leaving.use.vase_days, held)

    def used(self, leaving: Departure, figures: Figures = PRACTICE) -> float:
        """Share of the storage life used at a departure [-]; of an open use, as they go into the warm."""
        return self.aged_days(leaving, figures) / (self.keeping.life_days * figures.life)

    def vase_days(self, moment: datetime, use: Use) -> float:
        """Vase days left at a departure [d], the middle of the range."""
        leaving = self.departure(moment, use)
        return self.vase_left(leaving, self.used(leaving))

    def vase_left(self, leaving: Departure, used: float, figures: Figures = PRACTICE) -> float:
        """Vase days left after a share of the life is used [d]."""
        loss = self.keeping.loss_days * figures.loss
        return vase_days(self.fresh_days(leaving, figures), loss, used) - leaving.opening_hours / DAY_H

    def fresh_enough(self, leaving: Departure, figures: Figures = PRACTICE) -> Limit | None:
        """What stops a departure but for the calendar; None: life and vase days are left."""
        used = self.used(leaving, figures)
        if used > 1 + CLOSE:
            return Limit.LIFE
        short = self.vase_left(leaving, used, figures) < self.promise(leaving, figures) - CLOSE
        return Limit.VASE if short else None

    def shortfall(self, moment: datetime, use: Use) -> Limit | None:
        """What stops a departure by usual practice; None if it is usable."""
        leaving = self.departure(moment, use)
        limit = self.calendar_limit(leaving, self.cap_days(self.keeping))
        return self.fresh_enough(leaving) if limit is None else limit

    def stretches(self, moment: datetime, use: Use) -> bool:
        """Whether an order of few vase days may be served past the storage life."""
        stretch = self.keeping.stretch_days
        if stretch is None or use.vase_days > STRETCH_VASE_DAYS:
            return False
        leaving = self.departure(moment, use)
        if leaving.opening >= HALF_COLOURED or self.calendar_limit(leaving, stretch) is not None:
            return False
        used = self.used(leaving)
        if used > STRETCH_USED + CLOSE:
            return False
        return self.vase_left(leaving, used) >= self.promise(leaving) - CLOSE

    def calendar_limit(self, leaving: Departure, cap: int) -> Limit | None:
        """The limit of days or hours that a departure breaks."""
        day = leaving.at.date()
        if (day - self.lot.cut.date()).days + leaving.more_days > cap:
            return Limit.CAP
        since = leaving.too_open_since
        if since is not None and (day - since.date()).days > TOO_OPEN_DAYS:
            return Limit.TOO_OPEN
        needed = timedelta(hours=self.water_hours() + leaving.opening_hours)
        if leaving.at - needed < (self.put_in_water or self.lot.cut):
            return Limit.NOT_READY
        if self.was_dry:
            if leaving.into_water is None:
                return Limit.NOT_READY
            if (day - leaving.into_water.date()).days > IN_WATER_DAYS and not self.fresh_in_water(leaving):
                return Limit.IN_WATER
        return None

    def fresh_in_water(self, leaving: Departure) -> bool:
        """Whether the stems would still do, had they stood in water from the cut."""
        if self.water is None:
            return False
        days = (leaving.at.date() - self.lot.cut.date()).days + leaving.more_days
        used = self.aged_days(leaving) / self.water.life_days
        if days > self.cap_days(self.water) or used > 1 + CLOSE:
            return False
        fresh = self.fresh_days(leaving) + self.water.fresh_days - self.keeping.fresh_days
        left = vase_days(fresh, self.water.loss_days, used) - leaving.opening_hours / DAY_H
        return left >= self.promise(leaving) - CLOSE

    def past_published(self, leaving: Departure) -> bool:
        """Whether the published days of the crop are over, counted as held up to 4.4 °C."""
        days = self.keeping.cautious_days
        return days is not None and self.aged_days(leaving, CAUTIOUS) > days + CLOSE


CAUTIOUS = Figures(weigh=cautious_rate)
