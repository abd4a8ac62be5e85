"""Lots and dates made by hand for the paper tests: an ordinary one, and whatever a test changes in it."""

from dataclasses import replace
from datetime import date, datetime, time
from typing import Any

from tagmaker import notes
from tagmaker.farm import Cooler, Farm, Use, Workday
from tagmaker.lot import Lot, Order, OrderDates, Stage, State, StorageCode, StorageDates, Verdict

NOW = datetime(2027, 2, 20, 9)


def sample_farm(**changes: Any) -> Farm:
    """A farm in °F with one stall and one walk-in."""
    farm = Farm(
        name="Larkmarrow Yard",
        units="F",
        workday=Workday(days_off=frozenset({6})),
        uses={
            "stall": Use(name="stall", vase_days=4, days=frozenset({5}), leaves=time(6, 30)),
            "shop": Use(name="shop", vase_days=4, leaves=time(8)),
        },
        coolers={
            "walk-in": Cooler(name="walk-in", set_point_c=4.0, crates=12, buckets=8),
            "porch": Cooler(name="porch", set_point_c=5.0, crates=3, buckets=2),
        },
    )
    return replace(farm, **changes)


def sample_lot(**changes: Any) -> Lot:
    """Lot 041: 120 double tulips, cut on 15 February, tight, bulb off."""
    lot = Lot(
        lot_code="041",
        crop="tulip",
        form="double",
        variety="Pale Harbour",
        colour="apricot",
        cut=datetime(2027, 2, 15, 9),
        stage=Stage.TIGHT,
        stems=120,
        per_bunch=10,
        field_c=12.0,
        cooler="walk-in",
        place="shelf 2",
        in_cooler=datetime(2027, 2, 15, 11),
        use="stall",
        where='lots.xlsx, sheet "Lots", row 7',
        row=7,
    )
    return replace(lot, **changes)


def sample_order(**changes: Any) -> OrderDates:
    """Sixty stems of a lot for Saturday 27 February."""
    order = OrderDates(
        leaves=datetime(2027, 2, 27, 6, 30),
        stems=60,
        use="stall",
        verdict=Verdict.USABLE,
        test_first=False,
        test_on=None,
        into_water_by=datetime(2027, 2, 26, 18),
        stand_warm_from=None,
    )
    return replace(order, **changes)


def sample_dates(lot: Lot | None = None, **changes: Any) -> StorageDates:
    """A lot that is kept dry: into water on Friday 5 March by 6 PM, sell by Saturday 6 March."""
    dates = StorageDates(
        lot=lot or sample_lot(),
        code=StorageCode.DRY,
        kept=StorageCode.DRY,
        state=State.KEEP,
        sell_by=datetime(2027, 3, 6, 6, 30),
        into_water_by=datetime(2027, 3, 5, 18),
        water_now=False,
        ready_from=None,
        stand_warm_from=None,
        out_by=None,
        tag_order=None,
        test_first=False,
        tests_on=(),
        life_used=0.31,
        vase_days=(3.6, 5.6),
        early=datetime(2027, 3, 3, 6, 30),
        late=datetime(2027, 3, 10, 6, 30),
        cautious_sell_by=None,
        orders=(),
        dated_for_c=5.0,
        why=notes.WhyWet(lot="made up"),
        why_into_water=None,
        warnings=(),
    )
    return replace(dates, **changes)


def in_water(lot: Lot | None = None, **changes: Any) -> StorageDates:
    """A lot that stands in water: no date for putting it there."""
    return replace(
        sample_dates(lot),
        **{"code": StorageCode.WATER, "kept": StorageCode.WATER, "into_water_by": None, **changes},
    )


def worst_lot(code: str = "NORTH-FIELD7", **changes: Any) -> Lot:
    """Everything as long as it gets: a 12-letter code, 40-letter names, a three-digit count."""
    return sample_lot(
        **{
            "lot_code": code,
            "variety": "Überwältigend späte Königin des Nordlichts"[:40],
            "colour": "apricot-orange, flamed ivory and crimson"[:40],
            "form": "lily-flowered",
            "stems": 20_000,
            "per_bunch": 100,
            "orders": (Order(leaves=datetime(2027, 3, 6, 6, 30), stems=None, use="stall"),),
            **changes,
        }
    )


def on(year: int, month: int, day: int) -> date:
    """A day."""
    return date(year, month, day)
