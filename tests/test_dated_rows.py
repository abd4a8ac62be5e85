"""Worked rows: a sheet whose dates a second, independent implementation of the rules gave."""

from __future__ import annotations

import json
from datetime import datetime
from pathlib import Path
from typing import Any

import pytest

from tagmaker.intake.log.cooler_log import read_logs
from tagmaker.intake.lots.sheet import read_lots
from tagmaker.intake.settings.farm import settings_beside
from tagmaker.lot import NoDate, OrderDates, StorageDates, Verdict
from tagmaker.storage import crops as crop_rows
from tagmaker.storage.air import read_air
from tagmaker.storage.crops import crop_table, read_keepings
from tagmaker.storage.dating import date_lots

ROWS = Path(__file__).parent / "data" / "dated_rows"
NOW = datetime(2027, 4, 21, 8)
EXPECTED: dict[str, Any] = json.loads((ROWS / "expected.json").read_text(encoding="utf-8"))

# The other implementation adds up temperatures in steps of 15 minutes and holds a reading until the next,
# where here each hour between two readings ages stems as the mean of both: shares of life differ by less.
LIFE = 0.002
# What is not taken over from it, and why.
OURS: dict[tuple[str, str], Any] = {
    # Stems that soak in the room before they leave have fewer vase days left: theirs leave the room out.
    ("R60", "vase_days"): [3.0, 5.0],
    # Below freezing gains nothing: stems cool towards 0 °C, where theirs cool faster towards -2 °C.
    ("R13", "life_used"): 0.237,
    ("R102", "life_used"): 0.38,
    # The early end lies at 8:00 itself here and an hour before it there: the step of an hour decides.
    ("R60", "early"): "2027-04-26T08:00",
    # Ten hours at 18 °C between two warm readings: theirs leave a quarter hour of the opening out, and
    # keep the warmth of the crate after it is back in air that reads as warm as itself.
    ("R93", "opening"): 0.37,
    ("R93", "life_used"): 0.557,
    ("R93", "vase_days"): [3.2, 5.2],
}


def written(moment: datetime | None) -> str | None:
    """A moment as the rows have it."""
    return None if moment is None else f"{moment:%Y-%m-%dT%H:%M}"


def order_row(order: OrderDates) -> dict[str, Any]:
    """An order as the rows have it."""
    return {
        "leaves": written(order.leaves),
        "use": order.use,
        "stems": order.stems,
        "ok": order.ok,
        "stretched": order.verdict is Verdict.STRETCHED,
        "too_late": order.verdict is Verdict.TOO_LATE,
        "test_first": order.test_first,
        "into_water_by": written(order.into_water_by),
    }


def row(dates: StorageDates) -> dict[str, Any]:
    """Dates as the rows have them."""
    frost = None if dates.frost is None else f"{dates.frost}"
    found: dict[str, Any] = {
        "code": dates.code.value,
        "kept": dates.kept.value,
        "state": dates.state.value,
        "sell_by_use": dates.sell_by_use,
        "test_first": dates.test_first,
        "frost": "set point" if dates.no_date is NoDate.SET_POINT else frost,
        "opening": round(dates.opening, 2),
        "elsewhere": [[use, written(moment)] for use, moment in dates.elsewhere],
        "life_used": round(dates.life_used, 3),
        "vase_days": None if dates.vase_days is None else [round(days, 1) for days in dates.vase_days],
        "orders": [order_row(order) for order in dates.orders],
    }
    moments = ("keeps_until", "sell_by", "into_water_by", "early", "late", "cautious_sell_by")
    for name in (*moments, "half_coloured_from", "too_open_from"):
        found[name] = written(getattr(dates, name))
    if dates.no_date is not None:
        found["reason"] = "frost" if dates.no_date is NoDate.SET_POINT else dates.no_date.value
    return found


@pytest.fixture(scope="module")
def computed() -> dict[str, dict[str, Any]]:
    """Every cut lot of the sheet, read and dated by the crop table of the rows."""
    text = (ROWS / "crops.csv").read_text(encoding="utf-8")
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(crop_rows, "_packaged", lambda: read_keepings(text))
        farm = settings_beside(ROWS / "lots.csv")
        crops = crop_table(farm.crops)
        lots = read_lots(ROWS / "lots.csv", farm, crops, NOW)
    assert lots.problems == ()
    airs = {}
    for name, cooler in farm.coolers.items():
        there = cooler.log is not None and (ROWS / cooler.log).exists()  # attic.csv is missing on purpose
        airs[name] = read_air(cooler, read_logs(cooler, farm, ROWS, NOW) if there else None)
    dated = date_lots(lots.lots, farm, crops, NOW, airs)
    return {dates.lot.lot_code: row(dates) for dates in dated}


@pytest.mark.parametrize("lot", EXPECTED["lots"])
def test_dated_row_agrees_with_the_second_implementation(
    lot: str, computed: dict[str, dict[str, Any]]
) -> None:
    """All fields of a worked row are the same, orders too, but for those named in OURS."""
    expected = {**EXPECTED["lots"][lot]}
    expected |= {field: value for (code, field), value in OURS.items() if code == lot}
    expected["elsewhere"] = sorted(expected["elsewhere"], key=lambda outlet: outlet[1])  # theirs: by use
    expected["life_used"] = pytest.approx(expected["life_used"], abs=LIFE + 1e-9)
    assert computed[lot] == expected


def test_dated_rows_are_all_there(computed: dict[str, dict[str, Any]]) -> None:
    """No row is lost on the way; plans and lots of another season are left out."""
    assert sorted(computed) == sorted(EXPECTED["lots"])
    assert not set(computed) & set(EXPECTED["left_out"])
