"""In which order lots and tasks are told."""

from __future__ import annotations

from datetime import datetime

from tagmaker.lot import StorageDates


def selling_order(dates: StorageDates) -> tuple[datetime, str]:
    """Sort key: what is to be sold first comes first, then by lot; what has no date last."""
    return dates.sell_by or datetime.max, dates.lot.lot_code
