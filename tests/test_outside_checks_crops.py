"""The crop table against published rows and common practice: life, vase days, stages, hours, cold.

Every row stands in tests/data with its source; a tolerance is the rounding of the row unless
the test says otherwise.
"""

import pytest

from tagmaker.errors import InputProblems
from tagmaker.lot import Stage, StorageCode
from tagmaker.storage.ageing import rate, vase_days
from tagmaker.storage.crops import Keeping, crop_table
from tests.published import rows

TABLE = crop_table()
VASE_BAND = 1.0  # vase days are shown as ± 1: a trial within it is met


def keeping(crop: str, way: str) -> Keeping:
    """One row of a crop; for tulip the single."""
    form = "single" if TABLE.forms(crop) else ""
    found = TABLE.keeping(crop, form, StorageCode(way))
    assert found is not None
    return found


def days_at(kept: Keeping, t_c: float) -> float:
    """Storage days at one temperature, cap applied."""
    return min(kept.life_days / rate(t_c), kept.cap_days)


def test_the_table_has_every_crop_that_the_sources_name() -> None:
    """The crops of the table are those with a row of fresh vase days (published ranges)."""
    assert TABLE.crops == tuple(row["crop"] for row in rows("fresh_vase_days.csv"))


@pytest.mark.parametrize("kept", TABLE.keepings, ids=lambda k: f"{k.title} {k.code}")
def test_every_figure_names_its_origin(kept: Keeping) -> None:
    """A row of the crop table says where its figures are from."""
    words = ("chosen", "from memory", "practice", "published", "(20", "abstract", "textbook", "trade")
    assert any(word in kept.source for word in words)


@pytest.mark.parametrize("row", rows("textbook_storage_days.csv"), ids=lambda row: row["crop"])
def test_life_at_freezing_lies_in_the_textbook_range(row: dict[str, str]) -> None:
    """Adapted 1998 textbook table, days pooled over dry and wet; every way and form counts."""
    crop = row["crop"]
    ways = [way for form in TABLE.forms(crop) or ("",) for way in TABLE.ways(crop, form)]
    assert len(ways) > 0
    for way in ways:
        assert int(row["fewest_days"]) <= days_at(way, 0) <= int(row["most_days"]), way


@pytest.mark.parametrize("row", rows("fresh_vase_days.csv"), ids=lambda row: row["crop"])
def test_fresh_vase_days_lie_in_the_published_range(row: dict[str, str]) -> None:
    """Published ranges of vase life without storage, pooled over cultivars."""
    crop = row["crop"]
    for form in TABLE.forms(crop) or ("",):
        for way in TABLE.ways(crop, form):
            assert int(row["fewest_days"]) <= way.fresh_days <= int(row["most_days"]), form


def test_doubles_outlast_singles() -> None:
    """Common practice, no source; the other forms from memory."""
    fresh = {form: TABLE.ways("tulip", form)[0].fresh_days for form in TABLE.forms("tulip")}
    assert fresh == {
        "single": 6,
        "double": 7,
        "parrot": 6,
        "fringed": 6,
        "Darwin hybrid": 6,
        "lily-flowered": 5,
        "botanical": 5,
    }


@pytest.mark.parametrize(
    "row", rows("storage_trials.csv"), ids=lambda r: f"{r['crop']}-{r['days']}d-{r['t_c']}C"
)
def test_vase_days_after_the_published_stays(row: dict[str, str]) -> None:
    """Trials named row by row in tests/data/storage_trials.csv; met within the ± 1 day that is shown."""
    kept = keeping(row["crop"], row["way"])
    used = float(row["days"]) * rate(float(row["t_c"])) / kept.life_days
    left = vase_days(kept.fresh_days, kept.loss_days, used)
    value = left if row["measure"] == "left" else kept.fresh_days - left
    assert float(row["fewest"]) - VASE_BAND <= value <= float(row["most"]) + VASE_BAND


@pytest.mark.parametrize(
    ("crop", "way", "t_c", "days", "expected"),
    [
        ("snapdragon", "DRY", 7.5, 5, 10 - 4.2),
        ("hydrangea", "WATER", 0.5, 20, 7.4),
        ("hydrangea", "WATER", 0.5, 35, 2.0),
        ("dahlia", "WATER", 1, 7, 6 - 2.0),
        ("narcissus", "DRY", 4, 7, 5 - 1.0),
    ],
)
def test_losses_were_chosen_to_meet_the_trials(
    crop: str, way: str, t_c: float, days: float, expected: float
) -> None:
    """Scientia Horticulturae 125:429-433 (2010); IDESIA 32(4):71-76 (2014); "Post-harvest handling of cut
    Dahlia, Lupinus, Papaver and Rudbeckia"; Agriculture 12(12):2114 (2022): to 0.1 vase day.
    """
    kept = keeping(crop, way)
    left = vase_days(kept.fresh_days, kept.loss_days, days * rate(t_c) / kept.life_days)
    assert left == pytest.approx(expected, abs=0.1)


@pytest.mark.parametrize("row", rows("storage_days.csv"), ids=lambda row: f"{row['crop']}-{row['way']}")
def test_storage_days_meet_the_published_figures(row: dict[str, str]) -> None:
    """Sources row by row in tests/data/storage_days.csv; compared in whole days."""
    kept = keeping(row["crop"], row["way"])
    warm, cold = days_at(kept, float(row["to_c"])), days_at(kept, float(row["from_c"]))
    assert int(warm + 0.5) <= float(row["most_days"] or 1e9)
    assert int(cold + 0.5) >= float(row["fewest_days"] or 0)


def test_stock_keeps_two_weeks_at_two_degrees_and_no_longer() -> None:
    """Dry up to 14 d at 2 °C: "Postharvest handling procedures of *Matthiola incana* 'Vivas Blue'"."""
    assert days_at(keeping("stock", "DRY"), 2) == pytest.approx(14, abs=0.05)
    assert keeping("stock", "DRY").cap_days == 14


def test_peony_is_capped_at_the_stay_without_loss() -> None:
    """28 d at 0 °C without loss ("Cut flower longevity of peony"); 84 d cost a fifth of the vase life
    (Agronomy 10(11):1631, 2020), so what a full stay costs here must be less than that.
    """
    peony = keeping("peony", "DRY")
    assert peony.cap_days == 28
    assert peony.loss_days < peony.fresh_days / 5


def test_zinnia_is_not_for_the_cold() -> None:
    """Not below 5 °C, and not one to three weeks of cold: Acta Horticulturae and growers' guides."""
    zinnia = keeping("zinnia", "WATER")
    assert zinnia.never_below_c == 5
    assert zinnia.cap_days < 7
    assert days_at(zinnia, 5) == pytest.approx(5, abs=0.05)


def test_lisianthus_stands_in_water() -> None:
    """Lisianthus keeps better wet than dry (published, title not seen): it has no dry way."""
    assert [way.code for way in TABLE.ways("lisianthus", "")] == [StorageCode.WATER]


def test_only_tulip_is_kept_on_the_bulb() -> None:
    """Bulb on is a way of tulips: HortTechnology 32(3):263-274 (2022), doi 10.21273/HORTTECH05010-21."""
    assert {kept.crop for kept in TABLE.keepings if kept.code is StorageCode.BULB} == {"tulip"}


@pytest.mark.parametrize("row", rows("stages.csv"), ids=lambda row: row["crop"])
def test_each_crop_has_its_right_stage_and_opening_hours(row: dict[str, str]) -> None:
    """Tulip: common practice, no source; other stages from memory; opening hours chosen."""
    crop = row["crop"]
    rules = {
        (way.right_stage, way.opening_hours)
        for form in TABLE.forms(crop) or ("",)
        for way in TABLE.ways(crop, form)
    }
    assert rules == {(Stage[row["right_stage"].upper()], float(row["opens_h"]))}


@pytest.mark.parametrize("kept", TABLE.keepings, ids=lambda k: f"{k.title} {k.code}")
def test_hours_in_water_before_a_sale(kept: Keeping) -> None:
    """Never under 6 h after a dry stay: common practice, no source; 8 h does as much as 24 for tulip:
    HortTechnology 32(3):263-274 (2022), doi 10.21273/HORTTECH05010-21.
    """
    hours = {(row["crop"], row["way"]): float(row["hours"]) for row in rows("hours_in_water.csv")}
    if kept.code is StorageCode.WATER:
        assert kept.water_hours == 0
    else:
        expected = hours.get((kept.crop, kept.code), hours["others", "DRY"])
        assert kept.water_hours == expected
        assert kept.water_hours >= 6


@pytest.mark.parametrize("crop", TABLE.crops)
def test_freezing_points(crop: str) -> None:
    """Flowers in general: a state growers' bulletin; single crops: value from memory."""
    points = {row["crop"]: float(row["freezes_c"]) for row in rows("freezing_points.csv")}
    for form in TABLE.forms(crop) or ("",):
        for way in TABLE.ways(crop, form):
            assert way.freezes_c == points.get(crop, points["others"])


def test_which_crops_thirty_one_fahrenheit_freezes() -> None:
    """Arithmetic from freezing points that are values from memory: 31 °F is −0.56 °C."""
    frozen = {kept.crop for kept in TABLE.keepings if kept.freezes_c > (31 - 32) / 1.8}
    assert frozen == {"narcissus", "gladiolus", "rose", "lily"}


def test_nothing_is_dated_for_a_cooler_colder_than_it_freezes() -> None:
    """No credit below 0 °C, and every freezing point lies below 0 °C: no date rests on frozen stems."""
    assert all(kept.freezes_c < 0 for kept in TABLE.keepings)
    assert {days_at(kept, kept.freezes_c) / days_at(kept, 0) for kept in TABLE.keepings} == {1.0}


def test_a_fridge_of_tulips() -> None:
    """Three crates of 12 bunches of 10, or two buckets of about 80: common practice, no source."""
    dry, bulb, water = (keeping("tulip", way) for way in ("DRY", "BULB", "WATER"))
    assert (dry.per_crate, bulb.per_crate, water.per_bucket) == (120, 60, 80)
    assert (3 * (dry.per_crate or 0), 2 * water.per_bucket) == (360, 160)


def test_daffodils_have_a_bucket_of_their_own() -> None:
    """J. Amer. Soc. Hort. Sci. 123(1):146-149 (1998): their water harms tulips, roses and anemones."""
    assert {kept.crop for kept in TABLE.keepings if kept.own_bucket} == {"narcissus"}


def test_hyacinths_keep_their_basal_plate() -> None:
    """Trade figure: keep the basal plate, do not recut."""
    assert {kept.stem_end for kept in TABLE.ways("hyacinth", "")} == {"do not recut"}


def test_a_crop_without_figures_is_refused_with_what_to_set() -> None:
    """A crop that nobody has figures for gets none made up: the message lists what to set."""
    with pytest.raises(InputProblems) as refused:
        crop_table({"larkspur": {"fresh_days": 6}})
    (problem,) = refused.value.problems
    assert 'crops."larkspur"' in problem.where
    for key in ("life_days", "cap_days", "loss_days", "right_stage"):
        assert key in problem.remedy
