"""The crop table and what a farm's settings may change in it."""

from __future__ import annotations

from typing import Any

import pytest

from tagmaker.errors import InputProblems
from tagmaker.lot import Stage, StorageCode
from tagmaker.storage.crops import crop_table, read_keepings

ASTRANTIA: dict[str, Any] = {
    "fresh_days": 7,
    "loss_days": 3,
    "right_stage": "open",
    "per_bucket": 50,
    "cap_days": 7,
    "water": {"life_days": 9},
}


def problems(overrides: dict[str, Any]) -> list[str]:
    """Messages of everything wrong with some settings."""
    with pytest.raises(InputProblems) as caught:
        crop_table(overrides)
    return [str(problem) for problem in caught.value.problems]


def test_a_figure_of_one_form_leaves_the_others_alone() -> None:
    """A double's fresh life changes for doubles in all their ways."""
    table = crop_table({"tulip double": {"fresh_days": 8}})
    assert {way.fresh_days for way in table.ways("tulip", "double")} == {8.0}
    assert {way.fresh_days for way in table.ways("tulip", "single")} == {6.0}


def test_a_figure_of_a_crop_named_alone_is_for_all_its_forms() -> None:
    """[crops.tulip] changes every tulip."""
    table = crop_table({"tulip": {"per_bucket": 70}})
    assert {way.per_bucket for form in table.forms("tulip") for way in table.ways("tulip", form)} == {70}


def test_a_figure_of_one_way_leaves_the_others_alone() -> None:
    """[crops."tulip double".dry] changes the dry way."""
    table = crop_table({"tulip double": {"dry": {"life_days": 30}}})
    lives = {way.code: way.life_days for way in table.ways("tulip", "double")}
    assert lives == {StorageCode.DRY: 30.0, StorageCode.BULB: 42.0, StorageCode.WATER: 16.0}


def test_a_new_crop_takes_its_figures_from_the_settings() -> None:
    """A crop that is not built in is kept as its settings say."""
    (way,) = crop_table({"Astrantia": ASTRANTIA}).ways("astrantia", "")
    assert (way.code, way.life_days, way.right_stage, way.water_hours) == (
        StorageCode.WATER,
        9.0,
        Stage.OPEN,
        0.0,
    )


def test_a_new_crop_without_figures_is_refused_with_what_to_set() -> None:
    """No figure is guessed."""
    (message,) = problems({"astrantia": {"note": "a few stems"}})
    assert message == (
        'tagmaker.toml, [crops."astrantia"]: must say how the crop is kept. Set life_days, cap_days, '
        'fresh_days, loss_days, right_stage, per_bucket below [crops."astrantia"] or below '
        '[crops."astrantia".dry] or [crops."astrantia".water]; take them from a source you trust or from '
        'your own trials. Or write like = "…", a crop that keeps as it does.'
    )


def test_a_new_crop_with_some_figures_is_told_the_rest() -> None:
    """What is missing is named, what is there is not."""
    (message,) = problems({"astrantia": {**ASTRANTIA, "water": {}}})
    assert "must have figures for life_days." in message


def test_a_crop_like_another_takes_its_figures_and_says_so() -> None:
    """Every way, with the farm's own figures of that crop, whichever stands first; cautions are not its."""
    table = crop_table({"scabiosa": {"like": "stock", "fresh_days": 5}, "stock": {"cap_days": 12}})
    (way,), (stock,) = table.ways("scabiosa", ""), table.ways("stock", "")
    assert (way.like, way.cap_days, way.life_days, way.fresh_days) == ("stock", 12, stock.life_days, 5.0)
    assert {kept.crop for kept in table.keepings if kept.like} == {"scabiosa"}


def test_a_crop_like_a_tulip_is_never_stretched_and_takes_the_shortest_form() -> None:
    """Past its storage life only what was tried as tulip is promised."""
    ways = crop_table({"tulipa tarda": {"like": "tulip"}}).ways("tulipa tarda", "")
    assert {way.stretch_days for way in ways} == {None}
    assert {(way.fresh_days, way.caution) for way in ways} == {(5.0, "")}


@pytest.mark.parametrize(
    ("overrides", "message"),
    [
        (
            {"scabiosa": {"like": "cosmos"}},
            "like must be a crop that has figures of its own (got 'cosmos'). Run: tagmaker crops",
        ),
        ({"scabiosa": {"like": "stok"}}, "(got 'stok'). The nearest is stock."),
        ({"a": {"like": "b"}, "b": {"like": "stock"}}, "like must be a crop that has figures of its own"),
        ({"rose": {"like": "stock"}}, "must be a crop without figures of its own (got like = 'stock')"),
        ({"a": {"like": "stock", "bud": "x"}}, "bud must be a kind of bud: bud, tulip,"),
    ],
)
def test_like_must_name_a_crop_with_figures(overrides: dict[str, Any], message: str) -> None:
    """One message, with the nearest or where the names are listed."""
    (found,) = problems(overrides)
    assert message in found


def test_several_words_are_a_form_only_of_a_crop_that_has_forms() -> None:
    """Lily of the valley is no lily."""
    table = crop_table({"lily of the valley": {"like": "freesia"}})
    assert table.find("Lily of the Valley") == "lily of the valley"
    assert table.forms("lily") == ()


def test_a_table_of_an_older_shape_is_read() -> None:
    """Columns that a table lacks keep their usual values."""
    (row,) = read_keepings(
        "crop,form,way,life_days,cap_days,fresh_days,loss_days,right_stage,water_hours,per_crate,per_bucket\n"
        "stock,,DRY,17.4,14,7,3.5,coloured,8,60,40"
    )
    assert (row.warm_cap_days, row.always_test, row.own_bucket, row.bud) == (None, False, False, "bud")
    assert (row.life_days, row.cap_days, row.right_stage) == (17.4, 14, Stage.COLOURED)


@pytest.mark.parametrize(
    ("word", "remedy"),
    [
        ("tulpi", "The nearest is tulip. To add a crop, write like"),
        ("rutabaga", "Nearest known crop: none. To add one, write like"),
        ("Cosmos", "No figures of cosmos are known. Write like"),
    ],
)
def test_an_unknown_crop_is_told_the_nearest_and_how_to_add_one(word: str, remedy: str) -> None:
    """Where none is near, that is said too."""
    told = crop_table().remedy(word)
    assert told.startswith(remedy)
    assert f'[crops."{word.lower()}"] in tagmaker.toml' in told


def test_an_unknown_figure_names_the_nearest() -> None:
    """A slip of the pen is answered with the key that was meant."""
    (message,) = problems({"tulip double": {"fresh_day": 8}})
    assert message == (
        'tagmaker.toml, [crops."tulip double"]: must be a figure of the crop table (got fresh_day = 8). '
        "The nearest known key is fresh_days."
    )


@pytest.mark.parametrize(
    ("figures", "message"),
    [
        ({"fresh_days": "8"}, "fresh_days must be a number from 1 to 60 (got '8')"),
        ({"fresh_days": True}, "fresh_days must be a number from 1 to 60 (got True)"),
        ({"water_hours": 2}, "water_hours must be a number from 6 to 48 (got 2)"),
        ({"cap_days": 2.5}, "cap_days must be a whole number (got 2.5)"),
        ({"right_stage": "ripe"}, "right_stage must be green, tight, half, coloured or open (got 'ripe')"),
    ],
)
def test_a_figure_out_of_range_is_refused(figures: dict[str, Any], message: str) -> None:
    """The message says what it must be and what was found."""
    assert message in problems({"tulip double": figures})[0]


def test_all_faults_are_told_at_once() -> None:
    """Two faults give two problems."""
    assert len(problems({"tulip": {"fresh_days": 0}, "astrantia": {}})) == 2


def test_stems_in_water_need_no_hours_in_water_whatever_is_set() -> None:
    """water_hours of a crop is for its dry ways."""
    table = crop_table({"tulip": {"water_hours": 12}})
    hours = {way.code: way.water_hours for way in table.ways("tulip", "single")}
    assert hours == {StorageCode.DRY: 12.0, StorageCode.BULB: 12.0, StorageCode.WATER: 0.0}


@pytest.mark.parametrize(
    ("word", "crop"),
    [("Daffodil", "narcissus"), (" dutch  iris ", "iris"), ("TULIP", "tulip"), ("rutabaga", None)],
)
def test_crops_are_found_by_name_and_trade_synonym(word: str, crop: str | None) -> None:
    """Case and spaces do not matter; an unknown word is not found."""
    assert crop_table().find(word) == crop


def test_a_blank_form_is_the_one_with_the_shortest_fresh_life() -> None:
    """A tulip of unknown form is dated as lily-flowered: five days fresh."""
    table = crop_table()
    form = table.shortest_form("tulip")
    assert table.ways("tulip", form)[0].fresh_days == min(
        k.fresh_days for k in table.keepings if k.crop == "tulip"
    )
