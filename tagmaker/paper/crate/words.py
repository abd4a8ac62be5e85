"""What a crate card says, as words without a place: everything a card shows but its scale and code."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime

from tagmaker.farm import Farm
from tagmaker.lot import OrderDates, State, StorageDates
from tagmaker.notes import KeepFor, Note
from tagmaker.storage.crops import Keeping
from tagmaker.storage.whereabouts import cooler_at
from tagmaker.telling.due import due, first_due, kept_for
from tagmaker.telling.naming import title, variety
from tagmaker.telling.readiness import hour_matters, hours_in_water, is_wet
from tagmaker.telling.teller import Teller
from tagmaker.telling.wording import Wording

TEMPLATE = "crate-card.j2"
KEEP_SHOWN = 2  # orders to keep stems for past the sell-by that are named over the scale
ORDERS_SHOWN = 3  # next orders on a card, where there is room; the rest are counted


@dataclass(frozen=True, slots=True, kw_only=True)
class CardWords:
    """The words of one lot's cards, the same on each of its crates but for the count."""

    lot: str
    code: str  # storage code; empty for a wet lot
    stands_in: str
    notice: str  # in place of all dates: wet, or why there is no date
    sell_by_caption: str
    sell_by: str
    marks: tuple[str, ...]
    water_caption: str
    water: str
    how: str
    keep: str  # what to keep for orders though the sell-by is past
    crop: str
    orders: tuple[str, ...]  # the next ones
    more_orders: tuple[str, ...]  # what to say where only so many of `orders` are shown
    handling: str
    caution: str
    dated_for: str
    cut_label: str  # ends of the day scale
    sell_by_label: str
    water_label: str


def card_words(dated: StorageDates, teller: Teller) -> CardWords:
    """The words of a lot's crate cards.

    Args:
        dated: the lot and its dates.
        teller: the farm's hours and words; hours in water, stem end and caution; the moment of printing.
    """
    farm, wording, now = teller.farm, teller.wording, teller.now
    lot, say = dated.lot, wording.macros(TEMPLATE)
    keeping = teller.keeping(dated)
    wet = is_wet(dated)
    notice = ""
    if wet:
        notice = say.wet(lot=lot.lot_code)
    elif dated.sell_by is None:
        notice = say.no_date(why=wording.say(dated.why))
    first = first_due(dated)
    water_caption, water = _water(dated, first, now, wording)
    kept = kept_for(dated, now)
    return CardWords(
        lot=lot.lot_code,
        code="" if wet else dated.code.value,
        stands_in=say.stands_in(cooler=cooler_at(lot, farm, now).name, lot=lot),
        notice=notice,
        sell_by_caption=say.keep_until(stems=kept.stems) if kept else say.sell_by(),
        sell_by=_sell_by(kept.leaves if kept else dated.sell_by, farm, wording),
        marks=tuple(_marks(dated, wording)),
        water_caption=water_caption,
        water=water,
        how=_how(dated, first, keeping, wording),
        keep=" · ".join(wording.say(note) for note in _keep_for(dated)[:KEEP_SHOWN]),
        crop=say.crop(title=title(lot), variety=variety(lot), colour=lot.colour),
        orders=tuple(_orders(dated, wording)),
        more_orders=tuple(_more_orders(dated, wording)),
        handling="" if wet else say.handling(code=dated.code.value),
        caution=say.caution(kind=keeping.caution if keeping else ""),
        dated_for=_dated_for(dated, wording, now),
        cut_label=say.scale_cut(cut=lot.cut),
        sell_by_label=say.scale_sell_by(sell_by=dated.sell_by) if dated.sell_by else "",
        water_label=say.scale_water(by=dated.into_water_by) if dated.into_water_by else "",
    )


def _sell_by(moment: datetime | None, farm: Farm, wording: Wording) -> str:
    if moment is None:
        return ""
    with_hour = hour_matters(moment, farm.workday)
    return str(wording.macros(TEMPLATE).sell_by_date(sell_by=moment, with_hour=with_hour))


def _marks(dated: StorageDates, wording: Wording) -> Iterator[str]:
    """What stands with the sell-by date."""
    say = wording.macros(TEMPLATE)
    if dated.state is State.TOO_OLD and dated.sell_by is not None:
        yield say.past_since(sell_by=dated.sell_by)
    elif dated.state is State.SELL_FIRST:
        yield say.sell_now()
    if dated.test_first:
        yield say.test_first()
    if dated.lot.stage is None:
        yield say.stage()


def _water(dated: StorageDates, first: OrderDates | None, now: datetime, wording: Wording) -> tuple[str, str]:
    """Caption and moment of the second date, the earliest that something is to be done.

    The caption alone for stems that just stand in water.
    """
    say = wording.macros(TEMPLATE)
    if first is not None:
        caption = say.out_by() if first.into_water_by is None else say.into_water_by()
        part = say.for_part(stems=first.stems, leaves=first.leaves)
        return f"{caption}{part}", wording.moment(due(first) or first.leaves)
    if dated.water_now and dated.ready_from is not None:
        return say.water_now(), wording.moment(dated.ready_from)
    if dated.into_water_by is not None:
        caption = say.into_water_by()
        if dated.tag_order is not None:
            caption += f" {say.for_order(leaves=dated.tag_order.leaves, use=dated.tag_order.use)}"
        return caption, wording.moment(dated.into_water_by)
    if dated.ready_from is not None and dated.ready_from <= now:
        return say.ready(), ""
    if dated.ready_from is not None:
        return say.ready_from(), wording.moment(dated.ready_from)
    if dated.out_by is not None:
        return say.out_by(), wording.moment(dated.out_by)
    return say.in_water(), ""


def _how(dated: StorageDates, first: OrderDates | None, keeping: Keeping | None, wording: Wording) -> str:
    """The hours in water, the stem end, when to stand warm, and when the rest is due."""
    if keeping is None:
        return ""
    text: str = wording.macros(TEMPLATE).how(
        hours=hours_in_water(dated, keeping),
        stem_end=keeping.stem_end,
        own_bucket=keeping.own_bucket,
        warm_from=dated.stand_warm_from,
        out_by=dated.out_by if dated.ready_from is not None and first is None else None,
        rest_by=(dated.into_water_by or dated.out_by) if first is not None else None,
    )
    return text


def _keep_for(dated: StorageDates) -> list[Note]:
    return [note for note in dated.warnings if isinstance(note, KeepFor)]


def _orders(dated: StorageDates, wording: Wording) -> Iterator[str]:
    """The next orders, those that cannot be served too."""
    say = wording.macros(TEMPLATE)
    for order in dated.orders[:ORDERS_SHOWN]:
        yield say.order(
            verdict=order.verdict.value,
            leaves=order.leaves,
            stems=order.stems,
            use=order.use,
            into_water_by=order.into_water_by,
            warm_from=order.stand_warm_from,
            test_first=order.test_first,
        )


def _more_orders(dated: StorageDates, wording: Wording) -> Iterator[str]:
    say = wording.macros(TEMPLATE)
    for shown in range(ORDERS_SHOWN + 1):
        hidden = max(len(dated.orders) - shown, 0)
        yield say.more_orders(count=hidden, shown=shown) if hidden else ""


def _dated_for(dated: StorageDates, wording: Wording, now: datetime) -> str:
    low, high = dated.vase_days or (None, None)
    text: str = wording.macros(TEMPLATE).dated_for(
        cut=dated.lot.cut,
        at_c=dated.dated_for_c,
        vase_low=None if low is None else math.floor(low),
        vase_high=None if high is None else math.floor(high),
        was=dated.kept.value if dated.kept is not dated.code else "",
        now=now,
    )
    return text
