"""What becomes of lots whose proposed rows are accepted: orders of theirs, and plans whose way is decided.

A plan of which all stems are promised one way is itself decided. Otherwise the stems of each way become a
planned lot of their own, so that what nobody wants yet stays undecided. Where some of a plan is kept with the
bulb on, the plan itself is cut with the bulb on: one that is off cannot be put back.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import datetime

from tagmaker.lot import Lot, Order, StorageCode
from tagmaker.storage.season_rows import Proposal
from tagmaker.storage.season_wishes import surplus


@dataclass(frozen=True, slots=True)
class Decision:
    """Accepted rows of one lot that are kept one way in one cooler."""

    lot: str
    way: StorageCode
    cooler: str
    rows: tuple[Proposal, ...]  # by departure
    decides: bool  # the way of a plan that is still to be decided
    splits: bool  # its stems become a planned lot of their own

    @property
    def stems(self) -> int:
        """Stems of all its rows."""
        return sum(row.stems for row in self.rows)


def decisions(lot: Lot, rows: Sequence[Proposal]) -> list[Decision]:
    """What accepted rows of a lot decide: with the bulb on first, then the most stems first."""
    groups: dict[tuple[StorageCode, str], list[Proposal]] = {}
    for row in sorted(rows, key=lambda row: (row.leaves, row.use)):
        groups.setdefault((row.way, row.cooler), []).append(row)

    def first(group: tuple[tuple[StorageCode, str], list[Proposal]]) -> tuple[bool, int, str, str]:
        (way, cooler), own = group
        return way is not StorageCode.BULB, -sum(row.stems for row in own), way.value, cooler

    whole = not lot.orders and sum(row.stems for row in rows) == lot.left
    return [
        Decision(
            lot.lot_code,
            way,
            cooler,
            tuple(own),
            decides=lot.planned,
            splits=lot.planned and not (whole and place == 0),
        )
        for place, ((way, cooler), own) in enumerate(sorted(groups.items(), key=first))
    ]


def leaves_bulb_on(lot: Lot, found: Sequence[Decision]) -> bool:
    """Whether what stays of a plan is cut with the bulb on from now on, because some of it is kept so."""
    return lot.bulb is None and any(one.splits and one.way is StorageCode.BULB for one in found)


def accepted_lots(
    lots: Sequence[Lot], rows: Sequence[Proposal], now: datetime, name: Callable[[Lot, int], str]
) -> tuple[Lot, ...]:
    """The lots as they would be with some rows accepted.

    Args:
        lots: as they are.
        rows: of the plan, that are accepted.
        now: what has gone without an order is written as one of then, so that it uses up no later one.
        name: the code of a lot that is split from a plan, by the plan and a number from 0 on.
    """
    return tuple(each for lot in lots for each in _accepted(lot, rows, now, name))


def _accepted(
    lot: Lot, rows: Sequence[Proposal], now: datetime, name: Callable[[Lot, int], str]
) -> Iterator[Lot]:
    own = [row for row in rows if row.lot == lot.lot_code]
    children: list[Lot] = []
    after = lot
    found = decisions(lot, own) if own else []
    if leaves_bulb_on(lot, found):
        after = replace(after, bulb=True)
    for decision in found:
        orders = tuple(Order(leaves=row.leaves, stems=row.stems, use=row.use) for row in decision.rows)
        if decision.splits:
            child = replace(
                decided(lot, decision),
                lot_code=name(lot, len(children)),
                stems=decision.stems,
                orders=orders,
                gone=0,
                dumped=0,
                split_off=0,
                parents=(lot.lot_code,),
            )
            children.append(child)
            after = replace(after, split_off=after.split_off + decision.stems)
        else:
            after = decided(after, decision) if decision.decides else after
            went = (Order(leaves=now, stems=surplus(lot), use=lot.use),) if surplus(lot) else ()
            after = replace(after, orders=_in_time(*after.orders, *went, *orders))
    yield from (after, *children)


def decided(lot: Lot, decision: Decision) -> Lot:
    """A planned lot whose way and cooler are decided."""
    is_bulb = decision.way is StorageCode.BULB
    storage = None if is_bulb else decision.way
    return replace(lot, bulb=is_bulb, storage=storage, cooler=decision.cooler)


def _in_time(*orders: Order) -> tuple[Order, ...]:
    return tuple(sorted(orders, key=lambda order: order.leaves))
