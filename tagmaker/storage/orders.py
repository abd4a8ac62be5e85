"""Orders of a lot: which of them its stems can serve, whatever the time is now."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime

from tagmaker.lot import Lot, Order, Verdict
from tagmaker.storage.judging import IN_WATER_DAYS, Judge, Limit
from tagmaker.storage.moments import DAY


@dataclass(frozen=True, slots=True, kw_only=True)
class JudgedOrder:
    """An order with what became of it."""

    leaves: datetime
    stems: int | None  # still to be served after what has gone; None: the whole lot
    use: str
    verdict: Verdict  # USABLE, STRETCHED or NOT_FOR
    limit: Limit | None  # what stops it
    bound: date | None  # whole lot: last day on which the stems put in water for it may leave

    @property
    def ok(self) -> bool:
        """Whether the stems would do."""
        return self.verdict is not Verdict.NOT_FOR

    def is_listed(self, now: datetime) -> bool:
        """Whether the order is still to come and not yet served."""
        return self.leaves >= now and self.stems != 0


def judge_orders(judge: Judge) -> tuple[JudgedOrder, ...]:
    """All orders of a lot in order of departure, past ones too, each judged by itself."""
    return tuple(_judged(judge, order, stems) for order, stems in _still_to_serve(judge.lot))


def _judged(judge: Judge, order: Order, stems: int | None) -> JudgedOrder:
    use = judge.farm.uses[order.use]
    limit = judge.shortfall(order.leaves, use)
    verdict = Verdict.USABLE
    if limit is not None:
        verdict = Verdict.STRETCHED if judge.stretches(order.leaves, use) else Verdict.NOT_FOR
    bound = None
    if stems is None and verdict is not Verdict.NOT_FOR and judge.put_in_water is None:
        soak = judge.into_water_by(order.leaves, use)
        if soak is not None:
            bound = max(soak.date() + IN_WATER_DAYS * DAY, order.leaves.date())
    return JudgedOrder(
        leaves=order.leaves, stems=stems, use=order.use, verdict=verdict, limit=limit, bound=bound
    )


def _still_to_serve(lot: Lot) -> Iterator[tuple[Order, int | None]]:
    """Each order with the stems it still wants: what has gone uses up the nearest order first."""
    gone = lot.gone
    for order in sorted(lot.orders, key=lambda order: order.leaves):
        if order.stems is None:
            gone = 0
            yield order, None
            continue
        served = min(gone, order.stems)
        gone -= served
        yield order, order.stems - served
