"""What the cells of a sheet are read with."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import datetime

from tagmaker.farm import Farm
from tagmaker.intake.cells.dates import DateColumn
from tagmaker.storage.crops import CropTable


@dataclass(frozen=True, slots=True)
class Reading:
    """The farm, the crop table, now, and what the columns of dates have shown so far."""

    farm: Farm
    crops: CropTable
    now: datetime
    _dates: dict[str, DateColumn] = field(default_factory=dict)  # by column

    @classmethod
    def begin(cls, farm: Farm, crops: CropTable, now: datetime) -> Reading:
        """A reading that has seen no cell yet; seconds of now do not count."""
        return cls(farm, crops, now.replace(second=0, microsecond=0))

    def dates(self, column: str) -> DateColumn:
        """The reader for the dates of a column."""
        return self._dates.setdefault(column, DateColumn(column, self.farm.day_first, self.now))
