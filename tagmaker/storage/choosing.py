"""Which moment is a lot's sell by, on one basis."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime

from tagmaker.farm import Use
from tagmaker.storage.basis import View
from tagmaker.storage.orders import JudgedOrder


@dataclass(frozen=True, slots=True, kw_only=True)
class Choice:
    """A sell-by and how it came about."""

    moment: datetime
    use: Use
    other_use: bool = False  # no selling moment of the lot's own use would do
    at_close: bool = False  # of no use: the close of a working day
    order: JudgedOrder | None = None  # the whole-lot order that is the sell-by, or that binds it
    bound: date | None = None  # last day that the tag of a whole-lot order leaves
    otherwise: datetime | None = None  # what would hold without that order


def choose_sell_by(view: View, use: Use, orders: Sequence[JudgedOrder] = ()) -> Choice | None:
    """The last usable selling moment of a lot's own use, else of another, else how long the stems keep.

    An order for the whole lot puts all stems in water: nothing later than three days after that holds,
    but the order itself always counts.

    Args:
        view: the stems on the basis that the date is taken from.
        use: the lot's own.
        orders: those for the whole lot that hold it, in order of departure.
    """
    binding = orders[-1] if orders else None
    bound = binding.bound if binding else None
    moment = view.last_selling(use, bound)
    if binding is not None and (moment is None or binding.leaves > moment):
        otherwise = view.last_selling(use)
        used_for = view.judge.farm.uses[binding.use]
        return Choice(moment=binding.leaves, use=used_for, order=binding, bound=bound, otherwise=otherwise)
    if moment is None:
        return _fallen_back(view, use)
    otherwise = view.last_selling(use) if binding else None
    return Choice(moment=moment, use=use, order=binding, bound=bound, otherwise=otherwise)


def _fallen_back(view: View, use: Use) -> Choice | None:
    """The last moment of a use that is not the lot's own, or of none."""
    others = [u for u in view.judge.farm.uses.values() if u.name != use.name and not u.open]
    found = [(moment, other) for other in others if (moment := view.last_selling(other)) is not None]
    if found:
        moment, other = max(found, key=lambda pair: pair[0])
        return Choice(moment=moment, use=other, other_use=True)
    moment_kept = view.keeps_until()
    if moment_kept is None:
        return None
    return Choice(moment=moment_kept, use=use, at_close=True)
