"""Lots whose wrap labels are looked at, ordinary and worst, and how to get at a label's words."""

from dataclasses import replace
from datetime import datetime, timedelta
from typing import Any

import pytest

from tagmaker import notes
from tagmaker.farm import Farm
from tagmaker.lot import Mark, State, StorageCode, StorageDates, Surface
from tagmaker.paper.press.boxes import Drawing, Placed, Sheet, Text
from tagmaker.paper.press.ink import Inked
from tagmaker.paper.stock.label_stock import STOCKS
from tagmaker.paper.tag.wraps import wrap_labels
from tagmaker.storage.crops import crop_table
from tagmaker.telling.teller import Teller
from tagmaker.telling.wording import Wording
from tests.paper_samples import (
    NOW,
    in_water,
    sample_dates,
    sample_farm,
    sample_lot,
    sample_order,
    worst_lot,
)
from tests.sheet_checks import texts

CROPS = crop_table()
EVERY_STOCK = pytest.mark.parametrize("stock", list(STOCKS))
WHY = notes.WhyWet(lot="041")
HOUR = timedelta(hours=1)
LATE = datetime(2027, 3, 29, 0, 45)  # the widest moment of a year


def undated(marks: tuple[Mark, ...] = (), **changes: Any) -> StorageDates:
    """A lot that could be given no date."""
    return sample_dates(
        sample_lot(**changes),
        sell_by=None,
        into_water_by=None,
        state=State.NO_DATE,
        marks=marks,
        vase_days=None,
        why=WHY,
    )


def wet(**changes: Any) -> StorageDates:
    """A lot to be kept dry that still has drops on it."""
    return undated(surface=Surface.WET, in_cooler=None, **changes)


def typical() -> list[StorageDates]:
    """One lot of each kind that a week brings."""
    whole = sample_order(stems=None, leaves=datetime(2027, 3, 4, 8))
    return [
        sample_dates(),
        sample_dates(sample_lot(lot_code="042", stems=35), orders=(sample_order(),)),
        sample_dates(sample_lot(lot_code="043", stems=20), tag_order=whole, test_first=True),
        in_water(sample_lot(lot_code="044", crop="lily", form="", variety="White Tide", stems=20)),
        in_water(sample_lot(lot_code="045", stems=20), kept=StorageCode.DRY, ready_from=NOW, out_by=LATE),
        sample_dates(
            sample_lot(lot_code="046", stems=20), water_now=True, into_water_by=NOW - HOUR, ready_from=LATE
        ),
        sample_dates(sample_lot(lot_code="047", stems=20), marks=(Mark.HOW_OPEN,), state=State.SELL_FIRST),
        sample_dates(sample_lot(lot_code="048", stems=20), state=State.TOO_OLD, sell_by=NOW),
        undated(lot_code="049", stems=20),
        wet(lot_code="050", stems=20),
        sample_dates(sample_lot(lot_code="7", stems=20, variety="", colour="", form="single")),
    ]


def worst() -> list[StorageDates]:
    """Long names, late hours, all marks and all rows at once; and hardly a cell filled."""
    orders = (
        sample_order(stems=150, leaves=LATE, into_water_by=LATE, stand_warm_from=LATE, test_first=True),
    )
    full: dict[str, Any] = {
        "sell_by": LATE + timedelta(days=1),
        "into_water_by": LATE,
        "stand_warm_from": LATE,
        "state": State.SELL_FIRST,
        "marks": (Mark.HALF_COLOURED, Mark.HOW_OPEN, Mark.TEST_A_BUNCH),
        "test_first": True,
        "tag_order": sample_order(stems=None, leaves=LATE),
    }
    water = {**full, "into_water_by": None, "stand_warm_from": None, "ready_from": LATE, "out_by": LATE}
    lily = worst_lot("WATERMEADOWW", crop="lily", form="", stage=None, stems=300)
    bare = sample_lot(
        lot_code="1", variety="", colour="", form="", crop="rose", place="", stems=1, per_bunch=1
    )
    return [
        sample_dates(worst_lot("MMMMMMMMMMMM", stems=250, stage=None), orders=orders, **full),
        in_water(lily, kept=StorageCode.DRY, **water),
        sample_dates(
            worst_lot("WWWWWWWWWWWW", stems=100),
            water_now=True,
            **{**full, "into_water_by": NOW - HOUR, "ready_from": LATE},
        ),
        undated(lot_code="WWWWWWWWWWWW", variety="W" * 40, stems=100, per_bunch=100, marks=(Mark.FROST,)),
        wet(lot_code="WWWWWWWWWWWW", variety="W" * 40, stems=100),
        sample_dates(bare),
    ]


def labels(*lots: StorageDates, **farm: Any) -> Inked:
    """The labels of some lots."""
    made: Farm = sample_farm(**farm)
    return wrap_labels(lots, Teller(made, CROPS, Wording(made.units), NOW))


def drawings(inked: Inked) -> list[Drawing]:
    """Every label in order; cut marks are none."""
    placed = [placed.drawing for sheet in inked.sheets for placed in sheet.placed]
    return [drawing for drawing in placed if any(isinstance(part, Text) for part in drawing.elements)]


def said(drawing: Drawing) -> list[str]:
    """The texts of one label."""
    return texts([Sheet(100, 100, (Placed(drawing, 0, 0),))])


def first(dates: StorageDates, **farm: Any) -> list[str]:
    """The texts of a lot's first label."""
    return said(drawings(labels(dates, **farm))[0])


def last(dates: StorageDates, **farm: Any) -> list[str]:
    """The texts of a lot's last label."""
    return said(drawings(labels(dates, **farm))[-1])


NARROW = 57.0  # [mm] a label narrower than this has no room for a lot code of twelve Ms


def lots_for(stock: str, kind: str) -> list[StorageDates]:
    """Lots of a kind, with the longest codes that a stock takes."""
    lots = {"typical": typical, "worst": worst}[kind]()
    if STOCKS[stock].width >= NARROW:
        return lots
    codes = [dates.lot.lot_code[:5] for dates in lots]
    return [
        replace(dates, lot=replace(dates.lot, lot_code=code)) for dates, code in zip(lots, codes, strict=True)
    ]


EVERY_LABEL = pytest.mark.parametrize(
    ("stock", "lots"),
    [
        pytest.param(stock, lots_for(stock, kind), id=f"{kind}-{stock}")
        for stock in STOCKS
        for kind in ("typical", "worst")
    ],
)
