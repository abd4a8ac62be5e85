"""Who tells: what everything that is said is said from."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from tagmaker.farm import Farm
from tagmaker.lot import StorageDates
from tagmaker.storage.crops import CropTable, Keeping
from tagmaker.telling.wording import Wording


@dataclass(frozen=True)
class Teller:
    """A farm, the figures of its crops and its words, at a moment."""

    farm: Farm
    crops: CropTable
    wording: Wording
    now: datetime

    def keeping(self, dates: StorageDates) -> Keeping | None:
        """How a lot's crop is kept, the way that goes on counting."""
        return self.crops.keeping(dates.lot.crop, dates.lot.form, dates.kept)
