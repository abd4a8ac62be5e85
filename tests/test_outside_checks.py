"""The ageing rate and the tulip figures against published rows and common practice.

Every row stands in tests/data with its source; a tolerance is the rounding of the row unless
the test says otherwise.
"""

import itertools
import math
import re
from datetime import datetime, timedelta

import pytest

from tagmaker.lot import StorageCode
from tagmaker.storage.ageing import cautious_rate, rate, vase_days
from tagmaker.storage.cooling import Stay, follow
from tagmaker.storage.crops import Keeping, crop_table
from tagmaker.storage.history import constant, hours
from tests.published import DATA, rows, source

CUT = datetime(2027, 3, 1, 9)


def celsius(fahrenheit: float) -> float:
    """Temperature in °C: 0 °F is −17.78 °C by definition, 9 °F are 5 °C."""
    return (fahrenheit - 32) / 1.8


def tulip(way: str, form: str = "single") -> Keeping:
    """The tulip row of the crop table for one way of keeping."""
    keeping = crop_table().keeping("tulip", form, StorageCode(way))
    assert keeping is not None
    return keeping


def used(keeping: Keeping, t_c: float, days: float) -> float:
    """Share of the storage life used after days at one temperature, no field heat."""
    until = CUT + timedelta(days=days)
    history = follow([Stay(CUT, constant(t_c))], half_cooling_h=4)
    return history.aged_hours(rate, hours(until)) / 24 / keeping.life_days


def life_alone(keeping: Keeping, t_c: float) -> float:
    """Days until the life is used or the cap reached, without field heat or selling hours."""
    return min(1 / used(keeping, t_c, days=1), keeping.cap_days)


def vase_left(keeping: Keeping, t_c: float, days: float) -> float:
    """Vase days left after days at one temperature."""
    return vase_days(keeping.fresh_days, keeping.loss_days, used(keeping, t_c, days))


# ---- the data itself


@pytest.mark.parametrize("name", sorted(path.name for path in DATA.glob("*.csv")))
def test_every_row_from_outside_has_a_source(name: str) -> None:
    """Each data file names a publication, or says that there is none."""
    said = source(name)
    published = re.search(r"\(\d+\)|\d+:\d+|Handbook 66|abstract|textbook|Acta Horticulturae", said)
    unpublished = re.search(r"no source|from memory|chosen|Arithmetic|title not seen", said)
    assert published or unpublished, said
    assert len(rows(name)) > 0


# ---- Handbook 66


@pytest.mark.parametrize("row", rows("handbook66_rates.csv"), ids=lambda row: row["t_c"])
def test_relative_rates_of_handbook_66(row: dict[str, str]) -> None:
    """USDA Agriculture Handbook 66, respiratory metabolism: relative rates, exact products."""
    assert rate(float(row["t_c"])) == pytest.approx(float(row["relative_rate"]), rel=1e-12)


@pytest.mark.parametrize("row", rows("handbook66_rates.csv"), ids=lambda row: row["t_c"])
def test_relative_shelf_life_of_handbook_66(row: dict[str, str]) -> None:
    """USDA Agriculture Handbook 66, same table: shelf life is the rate's inverse, in whole percents."""
    shelf_life = 100 / rate(float(row["t_c"]))
    assert shelf_life == pytest.approx(float(row["relative_shelf_life"]), abs=0.5)


@pytest.mark.parametrize("row", rows("handbook66_q10.csv"), ids=lambda row: row["from_c"])
def test_q10_lies_in_the_ranges_of_handbook_66(row: dict[str, str]) -> None:
    """USDA Agriculture Handbook 66, same chapter: range of Q10 in each ten degrees."""
    ratio = rate(float(row["to_c"])) / rate(float(row["from_c"]))
    assert float(row["lowest"]) <= ratio <= float(row["highest"])


@pytest.mark.parametrize("q10", [2.5, 4.0])
def test_the_early_and_late_q10_span_the_handbook_range(q10: float) -> None:
    """USDA Agriculture Handbook 66: 2.5 and 4.0 are the ends of its range over 0 to 10 °C."""
    assert rate(10, q10) == pytest.approx(q10, rel=1e-12)


@pytest.mark.parametrize("row", rows("flower_q10.csv"), ids=lambda row: row["crop"])
def test_q10_of_flowers(row: dict[str, str]) -> None:
    """Rose and gypsophila, Acta Horticulturae; snapdragon, Scientia Horticulturae 125:429-433 (2010).

    Tolerance 10 % (chosen): one curve stands for all crops, and these two papers alone differ by 15 %.
    """
    first, last = float(row["from_c"]), float(row["to_c"])
    per_ten_degrees = (rate(last) / rate(first)) ** (10 / (last - first))
    assert per_ten_degrees == pytest.approx(float(row["q10"]), rel=0.10)


@pytest.mark.parametrize(
    ("t_c", "expected"),
    [(0, 1), (2, 1.246), (4, 1.552), (5, 1.732), (7, 2.158), (10, 3), (20, 7.5)],
)
def test_rate_between_the_handbook_rows(t_c: float, expected: float) -> None:
    """Arithmetic: k = 3^(T/10) up to 10 °C, then times 2.5, to three decimals."""
    assert rate(t_c) == pytest.approx(expected, abs=0.0005)


@pytest.mark.parametrize(("q10", "expected"), [(4.0, 2.00), (2.5, 1.58)])
def test_rate_at_five_degrees_for_early_and_late(q10: float, expected: float) -> None:
    """Arithmetic: k(5 °C) with the ends of the handbook's range of Q10, to two decimals."""
    assert rate(5, q10) == pytest.approx(expected, abs=0.005)


@pytest.mark.parametrize("q10", [2.5, 3.0, 4.0])
def test_no_credit_below_freezing(q10: float) -> None:
    """Handbook 66 gives no figures below 0 °C, so cold below it earns nothing (chosen)."""
    assert [rate(t_c, q10) for t_c in (-0.6, -5, -40)] == [1, 1, 1]


def test_above_forty_degrees_all_is_lost() -> None:
    """Handbook 66 ends at 40 °C: beyond it nothing is extrapolated."""
    assert rate(40) == pytest.approx(22.5)
    assert rate(40.1) == math.inf


def test_a_warmer_store_never_ages_slower() -> None:
    """The rate rises over the handbook's whole range, with no step at its ten-degree seams."""
    rates = [rate(tenth / 10) for tenth in range(401)]
    assert all(cold < warm < cold * 1.02 for cold, warm in itertools.pairwise(rates))


# ---- tulip


@pytest.mark.parametrize(
    "row", rows("tulip_practice.csv"), ids=lambda r: f"{r['way']}-{r['to_f']}F-{r['fewest_days']}"
)
def test_tulip_life_alone_is_the_usual_practice(row: dict[str, str]) -> None:
    """Common practice among small growers, no source; compared in whole days."""
    keeping = tulip(row["way"])
    for fahrenheit in range(int(row["from_f"]), int(row["to_f"]) + 1):
        days = life_alone(keeping, celsius(fahrenheit))
        assert int(row["fewest_days"]) <= int(days + 0.5) <= int(row["most_days"]), fahrenheit


@pytest.mark.parametrize("row", rows("tulip_life_alone.csv"), ids=lambda row: f"{row['way']}-{row['t_f']}F")
def test_tulip_life_alone_by_degree(row: dict[str, str]) -> None:
    """Arithmetic from the crop table's lives and caps, to one decimal."""
    days = life_alone(tulip(row["way"]), celsius(float(row["t_f"])))
    assert days == pytest.approx(float(row["days"]), abs=0.05)


@pytest.mark.parametrize(("way", "cap"), [("BULB", 42), ("DRY", 21), ("WATER", 10)])
@pytest.mark.parametrize("form", crop_table().forms("tulip"))
def test_no_tulip_passes_its_cap_however_cold(way: str, cap: int, form: str) -> None:
    """BULB 42 d: longest stay tried in HortTechnology 32(3):263-274 (2022), doi
    10.21273/HORTTECH05010-21; DRY 21 and WATER 10 d: common practice, no source.
    """
    assert tulip(way, form).cap_days == cap
    assert max(life_alone(tulip(way, form), t_c) for t_c in (-0.6, 0, 1, 5)) <= cap


@pytest.mark.parametrize("row", rows("tulip_cautious.csv"), ids=lambda row: row["way"])
@pytest.mark.parametrize("form", crop_table().forms("tulip"))
def test_tulip_cautious_days_are_the_lower_published_figure(row: dict[str, str], form: str) -> None:
    """HortTechnology 32(3):263-274 (2022), doi 10.21273/HORTTECH05010-21."""
    assert tulip(row["way"], form).cautious_days == float(row["fewest_days"])


def test_cautious_days_hold_up_to_forty_fahrenheit_and_shrink_above() -> None:
    """HortTechnology 32(3):263-274 (2022) does not say how cold: held up to 40 °F (chosen)."""
    assert [cautious_rate(celsius(f)) for f in (31, 36, 40)] == [1, 1, pytest.approx(1)]
    assert cautious_rate(celsius(50)) == pytest.approx(rate(10) / rate(celsius(40)))


@pytest.mark.parametrize("way", ["BULB", "DRY", "WATER"])
def test_cautious_days_are_never_more_than_practice(way: str) -> None:
    """The published figures are the lower ones, at every temperature a cooler runs at."""
    keeping = tulip(way)
    for fahrenheit in range(31, 60):
        t_c = celsius(fahrenheit)
        assert (keeping.cautious_days or math.inf) / cautious_rate(t_c) <= life_alone(keeping, t_c)


@pytest.mark.parametrize(
    ("fahrenheit", "days", "fewest", "most", "gain"),
    [(40, 14, 0, 1, 0.8), (40, 21, 1, 2, 1.9), (32, 42, 2, 3, 2.8)],
)
def test_what_the_bulb_saves_grows_with_the_stay(
    fahrenheit: float, days: int, fewest: float, most: float, gain: float
) -> None:
    """Hardly any vase days at two weeks, one to two at three, two to three at six: common practice,
    no source. The figure to one decimal: arithmetic.
    """
    t_c = celsius(fahrenheit)
    saved = vase_left(tulip("BULB"), t_c, days) - vase_left(tulip("DRY"), t_c, days)
    assert fewest < saved < most
    assert saved == pytest.approx(gain, abs=0.05)


def test_a_single_for_a_shop_lasts_longer_with_the_bulb_on() -> None:
    """Arithmetic: 4 vase days are left for 18.7 d bulb off at 40 °F, and beyond it only bulb on."""
    t_c = celsius(40)
    assert vase_left(tulip("DRY"), t_c, 18.6) > 4 > vase_left(tulip("DRY"), t_c, 18.8)
    assert vase_left(tulip("BULB"), t_c, 18.8) > 5


def test_for_a_one_day_event_bulb_off_runs_to_its_cap() -> None:
    """Arithmetic: a use that needs 2 vase days has them at the 21 d cap, and at 26 d, tested first
    ("nearly four weeks": common practice, no source).
    """
    assert vase_left(tulip("DRY"), celsius(40), 21) > 2
    assert vase_left(tulip("DRY"), celsius(40), 26) > 2
    assert {way: tulip(way).stretch_days for way in ("DRY", "BULB", "WATER")} == {
        "DRY": 26,
        "BULB": 42,
        "WATER": None,
    }


def test_the_trial_ranking_of_ways() -> None:
    """HortTechnology 32(3):263-274 (2022), doi 10.21273/HORTTECH05010-21: after six weeks, bulb on at
    −0.6 °C had the longest vase life and bulb off at 0.7 °C the shortest.
    """
    assert vase_left(tulip("BULB"), -0.6, 42) - vase_left(tulip("DRY"), 0.7, 42) > 2


@pytest.mark.parametrize("form", crop_table().forms("tulip"))
@pytest.mark.parametrize("way", ["BULB", "DRY", "WATER"])
def test_a_full_stay_costs_tulips_what_practice_says(form: str, way: str) -> None:
    """Bulb off up to 3 d after a full stay, bulb on 1 to 2 fewer: common practice, no source."""
    off, on = tulip("DRY", form).loss_days, tulip("BULB", form).loss_days
    assert off <= 3
    assert 1 <= off - on <= 2
    assert tulip(way, form).loss_days == (on if way == "BULB" else off)
