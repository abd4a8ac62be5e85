"""`tagmaker crops`: what there is, how it is kept, what its stages look like, where its figures are from."""

from __future__ import annotations

from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from tagmaker.cli import main
from tagmaker.lot import Stage
from tagmaker.storage.crops import crop_table


@pytest.fixture
def season(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder of a °F farm that dates scabiosa by the figures of stock."""
    settings = 'units = "F"\n[crops.scabiosa]\nlike = "stock"\n[crops."tulip double"]\nfresh_days = 8\n'
    (tmp_path / "tagmaker.toml").write_text(settings, encoding="utf-8")
    monkeypatch.chdir(tmp_path)
    return tmp_path


def crops(*words: str) -> Result:
    """What the command prints."""
    return CliRunner().invoke(main, ["crops", *words])


@pytest.mark.usefixtures("season")
def test_every_crop_has_a_line_with_its_ways_and_the_stage_to_cut_at() -> None:
    """The farm's own crops too, with the crop whose figures they take."""
    lines = crops().stdout.splitlines()
    listed = {line.split("  ")[0].strip(): line for line in lines}
    assert set(crop_table().crops) <= set(listed)
    assert "DRY 21, BULB 42, WATER 10" in listed["tulip"]
    assert listed["tulip"].endswith("tight: first colour shows on a green bud")
    assert listed["scabiosa"].endswith("dated by the figures of stock")


@pytest.mark.usefixtures("season")
@pytest.mark.parametrize("crop", crop_table().crops)
def test_a_crop_shows_its_stages_and_each_way_with_an_origin(crop: str) -> None:
    """Five phrases, the right one marked, and for every way what is known and from where."""
    text = crops(*crop.split()).stdout
    first = crop_table().ways(crop, (crop_table().forms(crop) or ("",))[0])
    for stage in Stage:
        (line,) = [line for line in text.splitlines() if line.split()[:1] == [stage.word]]
        assert first[0].stages[stage] in line
        assert line.endswith("← cut now") == (stage is first[0].right_stage)
    assert text.count("Origin: ") == len(first)


@pytest.mark.usefixtures("season")
def test_a_figure_that_differs_by_form_is_given_for_each() -> None:
    """Fresh life of tulips, with the farm's own for doubles; the life at 41 °F as in the practice rows."""
    text = crops("Tulip").stdout
    assert "single 6, double 8, parrot 6" in text
    assert "42 days at 32 °F, 24.2 at 41 °F" in text
    assert "to 26 days, only for an order of 2 vase days or fewer" in text


@pytest.mark.usefixtures("season")
def test_what_differs_from_other_crops_is_said() -> None:
    """A cap for warm coolers, a chilling limit, a way that is hardly tried, another crop's figures."""
    assert (
        "20 days from the cut; 10 unless the cooler is known to hold 36 °F or colder"
        in crops("hydrangea").stdout
    )
    assert "harmed below 41 °F" in crops("zinnia").stdout
    assert crops("iris").stdout.count("test a bunch before any of it leaves") == 1
    assert crops("scabiosa").stdout.startswith("scabiosa: dated by the figures of stock\n")


@pytest.mark.usefixtures("season")
@pytest.mark.parametrize(
    ("word", "told"),
    [
        ("tulpe", "The nearest is tulip."),
        ("rutabaga", "Nearest known crop: none."),
        ("cosmos", "No figures of"),
    ],
)
def test_an_unknown_crop_ends_with_the_nearest_and_how_to_add_one(word: str, told: str) -> None:
    """A wrong use of the command: nothing on stdout, exit code 2."""
    result = crops(word)
    assert (result.exit_code, result.stdout) == (2, "")
    assert told in result.stderr
    assert f'like = "…", a crop that keeps as it does, under [crops."{word}"]' in result.stderr
