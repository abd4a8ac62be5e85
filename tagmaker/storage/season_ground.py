"""What a season plan is made from, and the ways that are open to its stems, worked out once."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass, field, replace
from datetime import datetime

from tagmaker.farm import Farm
from tagmaker.lot import Lot, StorageDates
from tagmaker.storage.air import Airs
from tagmaker.storage.crops import CropTable
from tagmaker.storage.demand import WrittenOrder
from tagmaker.storage.moments import DAY
from tagmaker.storage.promises import Kept
from tagmaker.storage.serving import Supply, planned_supplies, supplies

PLAN_DAYS = 56  # [d] that a plan looks ahead: eight weeks (chosen: longer than anything is stored)


@dataclass(frozen=True, kw_only=True)
class Ground:
    """All that a plan is made from."""

    lots: Sequence[Lot]
    dated: Sequence[StorageDates]  # of those that are cut
    orders: Sequence[WrittenOrder]
    kept: Sequence[Kept]  # what the journal keeps for rows that it names
    farm: Farm
    crops: CropTable
    airs: Airs
    now: datetime
    held: Collection[str] = ()  # codes of lots that may have left
    _known: dict[tuple[str, str], tuple[Supply, ...]] = field(
        default_factory=dict, init=False, compare=False, repr=False
    )

    @property
    def standing(self) -> tuple[Supply, ...]:
        """What stands there of lots that are cut, worked out once."""
        if ("", "") not in self._known:
            self._known["", ""] = supplies(self.dated, self.farm, self.crops, self.now, self.airs, self.held)
        return self._known["", ""]

    def ways(self, lot: Lot, cooler: str) -> tuple[Supply, ...]:
        """A planned lot in a cooler, each way that is open to it, worked out once."""
        key = (lot.lot_code, cooler)
        if key not in self._known:
            there = [replace(lot, cooler=cooler)]
            self._known[key] = planned_supplies(there, self.farm, self.crops, self.now, self.airs)
        return self._known[key]

    def others(self, lot: Lot) -> list[str]:
        """The coolers that are not that of a lot's row."""
        return [name for name in self.farm.coolers if name != lot.cooler]

    @property
    def until(self) -> datetime:
        """The last moment that is looked at."""
        return datetime.combine(self.now.date() + PLAN_DAYS * DAY, datetime.min.time())
