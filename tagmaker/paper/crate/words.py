"""What a crate card says, as words without a place: everything a card shows but its scale and code."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import date, datetime
from typing import Any

from tagmaker.lot import Mark, OrderDates, State, StorageDates
from tagmaker.storage.whereabouts import cooler_at
from tagmaker.telling.agenda import spot_at
from tagmaker.telling.bunches import CrateLoad
from tagmaker.telling.deadlines import (
    SellWord,
    WaterWord,
    asks_still_dry,
    ordered_told,
    selling_told,
    warm_told,
    water_told,
)
from tagmaker.telling.naming import title, variety
from tagmaker.telling.parts import rest_state
from tagmaker.telling.readiness import hours_in_water, is_wet
from tagmaker.telling.teller import Teller
from tagmaker.telling.wording import Wording

TEMPLATE = "crate-card.j2"
MARKS_BESIDE = 2  # marks at most beside the sell-by; more of them stand below it
ORDERS_SHOWN = 3  # of those that nothing is taken for, where there is room; the rest are counted


@dataclass(frozen=True, slots=True, kw_only=True)
class CardWords:
    """The words of the card of one crate or bucket."""

    lot: str
    code: str  # storage code, or what a wet lot has in its place
    stands_in: str
    notice: str = ""  # in place of all dates: wet, too old, or why there is no date
    sell_by_caption: str = ""
    leaves: str = ""  # small behind the caption: the hour
    sell_by: str = ""
    marks: tuple[str, ...] = ()
    water_caption: str = ""
    water: str = ""
    keeps_until: str = ""
    takes: tuple[str, ...] = ()  # what orders take out of this crate
    more_takes: tuple[str, ...] = ("",)  # what to say where only so many of `takes` are shown
    how: str = ""
    crop: str
    orders: tuple[str, ...] = ()  # orders that nothing is taken for
    more_orders: tuple[str, ...] = ("",) * (
        ORDERS_SHOWN + 1
    )  # what to say where only so many of `orders` are shown
    handling: str = ""
    caution: str
    dated_for: str
    cut_label: str  # ends of the day scale
    sell_by_label: str = ""
    water_label: str = ""

    @property
    def marks_beside(self) -> int:
        """How many marks stand beside the sell-by: none where there is no date, or more than have room."""
        return 0 if self.notice or len(self.marks) > MARKS_BESIDE else len(self.marks)


@dataclass(frozen=True, slots=True)
class CrateTold:
    """Whose dates a crate carries: the lot's, or those of the order that takes all of it."""

    dates: StorageDates
    load: CrateLoad
    is_first: bool  # of the lot's crates: what is said of the lot once stands on it
    order: OrderDates | None  # None: the lot's own dates


def told_on(dates: StorageDates, load: CrateLoad, teller: Teller, *, is_first: bool) -> CrateTold:
    """What a crate of a lot tells: where an order takes all that is still to be sold, that order's dates."""
    over = load.own == 0 or selling_told(dates, None, teller.farm.workday, teller.now).moment is None
    return CrateTold(dates, load, is_first, load.takes[0][0] if load.takes and over else None)


def card_words(told: CrateTold, teller: Teller) -> CardWords:
    """The words of one crate's card.

    Args:
        told: the lot, its dates, and what lies in the crate.
        teller: the farm's hours and words; hours in water, stem end and caution; the moment of printing.
    """
    dates, wording = told.dates, teller.wording
    lot, say, keeping = dates.lot, wording.macros(TEMPLATE), teller.keeping(dates)
    words = CardWords(
        lot=lot.lot_code,
        code=dates.code.value,
        stands_in=say.stands_in(
            cooler=cooler_at(lot, teller.farm, teller.now).name, place=spot_at(lot, teller.now)
        ),
        crop=say.crop(title=title(lot), variety=variety(lot), colour=lot.colour, lot=lot),
        caution=say.caution(kind=keeping.caution if keeping else ""),
        dated_for=_dated_for(dates, wording, teller.now.date()),
        cut_label=say.scale_cut(cut=lot.cut),
        marks=tuple(_marks(told, say, teller.now)),
    )
    if is_wet(dates):
        return replace(words, code=say.wet(), notice=say.wet_advice())
    orders, more_orders = _orders(told, say)
    words = replace(words, orders=orders, more_orders=more_orders, handling=_handling(told, teller, say))
    selling = selling_told(dates, told.order, teller.farm.workday, teller.now)
    if selling.word is SellWord.NO_DATE:
        return replace(words, notice=say.no_date(why=wording.say(dates.why)))
    if selling.moment is None:
        notice = getattr(say, selling.word)()
        said_once = tuple(mark for mark in words.marks if mark != notice)
        return replace(words, notice=notice, marks=said_once)
    caption, value = _water(told, teller, say)
    return replace(
        words,
        sell_by_caption=getattr(say, selling.word)(use=selling.use),
        leaves=say.leaves(moment=selling.leaves) if selling.leaves else "",
        sell_by=wording.day(selling.moment),
        water_caption=caption,
        water=value,
        keeps_until=_keeps_until(told, teller, say),
        takes=(takes := tuple(_takes(told, say))),
        more_takes=tuple(_more(say, len(takes), len(takes))),
        how=_how(told, teller, say),
        sell_by_label=say.scale_sell_by(sell_by=selling.moment),
        water_label=say.scale_water(by=by) if (by := _into_water_by(told)) else "",
    )


def scale_ends(told: CrateTold, teller: Teller) -> tuple[date | None, date | None]:
    """The days of the scale: until when to sell, and into water; None: it has no such mark."""
    selling = selling_told(told.dates, told.order, teller.farm.workday, teller.now)
    by = _into_water_by(told)
    return (selling.moment.date() if selling.moment else None), (by.date() if by else None)


def _into_water_by(told: CrateTold) -> datetime | None:
    return told.order.into_water_by if told.order else told.dates.into_water_by


def _marks(told: CrateTold, say: Any, now: datetime) -> Iterator[str]:
    """What stands with the sell-by date, TEST A BUNCH with its day."""
    dates, order, today = told.dates, told.order, now.date()
    if order is not None and told.load.own and rest_state(dates, now) is State.TOO_OLD:
        yield say.rest_too_old()
        return
    if dates.state is State.SELL_FIRST and order is None:
        yield say.sell_first()
    for mark in Mark:
        tests = [order.test_on] if order and order.test_on else list(dates.tests_on) if order is None else []
        if mark is Mark.TEST_A_BUNCH and tests:
            yield say.test_a_bunch(on=min((day for day in tests if day >= today), default=today))
        elif mark in dates.marks and mark not in (Mark.TEST_A_BUNCH, Mark.PUT_IN_WATER_NOW):
            yield say.mark(key=mark.value)


def _water(told: CrateTold, teller: Teller, say: Any) -> tuple[str, str]:
    """Caption and moment of the first date; the caption alone for stems that just stand in water."""
    water = water_told(told.dates, told.order, teller.now)
    if water is None:
        return "", ""
    served = ordered_told(told.dates, told.order)
    caption = getattr(say, water.word)()
    if served is not None and water.word is WaterWord.BY:
        caption += f" {say.for_order(leaves=served.leaves, use=served.use)}"
    return caption, teller.wording.moment(water.moment) if water.moment else ""


def _keeps_until(told: CrateTold, teller: Teller, say: Any) -> str:
    """How long the stems keep cold; of a dry lot to sell elsewhere, what water would make of it."""
    dates = told.dates
    if told.order is not None or dates.keeps_until is None:
        return ""
    if asks_still_dry(dates, teller.now):
        return str(say.still_dry(keeps=dates.keeps_until, sell=dates.watered_until))
    return str(say.keeps_until(keeps=dates.keeps_until))


def _takes(told: CrateTold, say: Any) -> Iterator[str]:
    """What each order takes; its moments too, unless the card's own dates are that order's."""
    for order, bunches in told.load.takes:
        moments = (order.into_water_by, order.stand_warm_from, order.test_on)
        by, warm, test = (None, None, None) if order is told.order else moments
        yield say.take(
            bunches=bunches,
            leaves=order.leaves,
            use=order.use,
            into_water_by=by,
            warm_from=warm,
            test_on=test,
        )


def _how(told: CrateTold, teller: Teller, say: Any) -> str:
    """What to do in order of work: the stem end, the hours in water, when into the warm."""
    keeping, water = teller.keeping(told.dates), water_told(told.dates, told.order, teller.now)
    if keeping is None or water is None:
        return ""
    text: str = say.how(
        hours=hours_in_water(told.dates, keeping),
        stem_end=keeping.stem_end,
        own_bucket=keeping.own_bucket,
        warm_from=warm_told(told.dates, told.order),
    )
    return text


def _orders(told: CrateTold, say: Any) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """On the lot's first crate: the orders that nothing can be taken for, and how many more there are."""
    refused = [order for order in told.dates.orders if not order.ok] if told.is_first else []
    lines = [
        say.order(verdict=order.verdict.value, leaves=order.leaves, use=order.use)
        for order in refused[:ORDERS_SHOWN]
    ]
    return tuple(lines), tuple(_more(say, len(refused), ORDERS_SHOWN))


def _more(say: Any, count: int, most: int) -> Iterator[str]:
    """What to say of the others where only 0, 1, 2 ... orders are shown, `most` at most."""
    for shown in range(most + 1):
        hidden = max(count - shown, 0)
        yield say.more_orders(count=hidden, shown=shown) if hidden else ""


def _handling(told: CrateTold, teller: Teller, say: Any) -> str:
    since = (teller.now.date() - told.dates.lot.cut.date()).days
    return str(say.handling(code=told.dates.code.value, days=since))


def _dated_for(dates: StorageDates, wording: Wording, today: date) -> str:
    low, high = dates.vase_days or (None, None)
    text: str = wording.macros(TEMPLATE).dated_for(
        cut=dates.lot.cut,
        at_c=dates.dated_for_c,
        dated=dates.sell_by is not None,
        vase_low=None if low is None else math.floor(low),
        vase_high=None if high is None else math.floor(high),
        was=dates.kept.value if dates.kept is not dates.code else "",
        now=today,
    )
    return text
