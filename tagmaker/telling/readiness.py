"""What a lot needs before it can leave: dry stems, hours in water, and which of its hours matter."""

from __future__ import annotations

from datetime import datetime

from tagmaker.farm import Workday
from tagmaker.lot import StorageCode, StorageDates
from tagmaker.storage.crops import Keeping
from tagmaker.storage.whereabouts import waits_to_dry


def is_wet(dates: StorageDates) -> bool:
    """Whether a dated lot still waits to dry, so that it has no date."""
    return waits_to_dry(dates.lot)


def hours_in_water(dates: StorageDates, keeping: Keeping | None) -> float:
    """Hours in water that a lot still needs before it leaves [h]; 0 where it stands in water."""
    return keeping.water_hours if keeping is not None and dates.code is not StorageCode.WATER else 0.0


def hour_matters(moment: datetime, workday: Workday) -> bool:
    """Whether the hour of a departure is said: only where it is not the workday's start."""
    return moment.time() != workday.opens
