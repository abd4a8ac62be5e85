"""The invented farm: the same lots in three formats, and the awkward ones are what they claim to be."""

import csv
import itertools
import json
import re
import shutil
from datetime import datetime
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner

from tagmaker.cli import main
from tagmaker.intake.settings.farm import settings_beside
from tagmaker.storage.crops import crop_table

TODAY = "2027-04-21T09:00"


def dates_of(sheet: Path) -> dict[str, Any]:
    """What `dates --json` says of a sheet."""
    result = CliRunner().invoke(main, ["dates", str(sheet), "--today", TODAY, "--json"])
    assert result.exit_code == 0, result.stderr
    answer: dict[str, Any] = json.loads(result.stdout)
    del answer["reprint"], answer["could_say_more"]  # what was printed from the checkout is no matter here
    return answer


@pytest.fixture(scope="module")
def answer(demo: Path) -> dict[str, Any]:
    """What `dates --json` says of the demo."""
    return dates_of(demo / "lots.csv")


@pytest.fixture(scope="module")
def lots(answer: dict[str, Any]) -> dict[str, dict[str, Any]]:
    """The demo's dated lots, by code."""
    return {lot["lot"]: lot for lot in answer["lots"]}


@pytest.fixture(scope="module")
def rows(demo: Path) -> dict[str, dict[str, str]]:
    """The demo's sheet as text, by lot code."""
    with (demo / "lots.csv").open(encoding="utf-8", newline="") as sheet:
        return {row["Lot"]: row for row in csv.DictReader(sheet)}


# ---- one season, three formats


def test_xlsx_says_what_csv_says(demo: Path, answer: dict[str, Any]) -> None:
    """Real dates and numbers give the same answer as text, to the letter."""
    assert dates_of(demo / "lots.xlsx") == answer


def test_ods_says_what_csv_says(demo: Path, repository: Path, tmp_path: Path, answer: dict[str, Any]) -> None:
    """The workbook as LibreOffice saved it, beside the same settings."""
    shutil.copy(demo / "tagmaker.toml", tmp_path)
    shutil.copytree(demo / "logs", tmp_path / "logs")
    shutil.copy(repository / "tests" / "sheets" / "demo.ods", tmp_path / "lots.ods")
    assert dates_of(tmp_path / "lots.ods") == answer


def test_the_demo_has_no_problems(answer: dict[str, Any]) -> None:
    """Everything in it is awkward, nothing is wrong."""
    assert answer["problems"] == []


def test_the_demo_is_as_large_as_it_says(rows: dict[str, dict[str, str]], demo: Path) -> None:
    """About forty lots of at least six crops, in all three coolers of the settings."""
    farm = settings_beside(demo / "lots.csv")
    crops = {crop_table().find(row["Crop"]) for row in rows.values() if row["Crop"]}
    coolers = {row["Cooler"] for row in rows.values() if row["Cooler"]}
    assert 40 <= len(rows) <= 45
    assert len(crops) >= 6
    assert coolers == set(farm.coolers)
    assert len(coolers) == 3


def test_every_lot_of_the_demo_is_dated_or_planned(
    answer: dict[str, Any], rows: dict[str, dict[str, str]]
) -> None:
    """No row gets lost between the sheet and the answer."""
    told = [lot["lot"] for lot in answer["lots"]] + [plan["lot"] for plan in answer["planned"]]
    assert sorted(told) == sorted(rows)


def test_the_demo_readme_names_only_lots_that_are_there(demo: Path, rows: dict[str, dict[str, str]]) -> None:
    """The table of awkward lots is about this sheet."""
    text = (demo / "README.md").read_text(encoding="utf-8")
    table = text.split("| lot |")[1].splitlines()[2:]
    table = table[: table.index("")]
    told = [code.strip() for line in table for code in line.split("|")[1].split(",")]
    assert [code for code in told if code not in rows] == []
    assert len(told) == len(set(told))
    assert len(told) > 20


# ---- the awkward ones


def test_101_is_drawn_down_over_three_markets(lots: dict[str, dict[str, Any]]) -> None:
    """Two Saturdays have had their stems, the third is still to come."""
    assert lots["101"]["left"] == 240 - 2 * 80
    (order,) = lots["101"]["orders"]
    assert (order["leaves"], order["stems"], order["ok"]) == ("2027-04-24T06:30", 80, True)


def test_103_is_stretched(lots: dict[str, dict[str, Any]]) -> None:
    """A whole-lot order past the 21 d cap becomes the sell-by, to be tested first."""
    lot = lots["103"]
    days = (datetime.fromisoformat(lot["sell_by"]) - datetime(2027, 4, 14)).days
    assert (lot["sell_by"], lot["test_first"]) == ("2027-05-08T10:00", True)
    assert 21 < days <= 26
    assert lot["late"] == lot["sell_by"]


def test_104_cannot_make_its_order(lots: dict[str, dict[str, Any]]) -> None:
    """An order a month after the cut is refused with the last day that would do."""
    lot = lots["104"]
    assert [order["ok"] for order in lot["orders"]] == [False]
    assert [warning for warning in lot["warnings"] if "NOT FOR SAT 15 MAY" in warning] != []
    assert lot["sell_by"] < "2027-05-15"


def test_105_is_fully_coloured(lots: dict[str, dict[str, Any]]) -> None:
    """A late stage stands in water and goes within two days."""
    lot = lots["105"]
    assert (lot["code"], lot["state"], lot["sell_by"]) == ("WATER", "sell first", "2027-04-23T08:30")


def test_106_is_wet(lots: dict[str, dict[str, Any]]) -> None:
    """A wet lot has no date, and is told to be fanned."""
    lot = lots["106"]
    assert (lot["state"], lot["sell_by"], lot["into_water_by"]) == ("no date", None, None)


def test_107_is_past(lots: dict[str, dict[str, Any]]) -> None:
    """Forty stems are left of a lot whose day has gone."""
    assert (lots["107"]["state"], lots["107"]["left"]) == ("too old", 40)
    assert lots["107"]["sell_by"] < TODAY


def test_108_is_already_in_water(lots: dict[str, dict[str, Any]]) -> None:
    """It was kept dry, stands in water, and is ready after its eight hours."""
    lot = lots["108"]
    assert (lot["code"], lot["kept"]) == ("WATER", "DRY")
    assert (lot["into_water_by"], lot["ready_from"]) == (None, "2027-04-21T00:00")


def test_109_was_split(lots: dict[str, dict[str, Any]]) -> None:
    """The parent has as many stems fewer as the child has; the child takes its crop and form."""
    assert (lots["109"]["left"], lots["109B"]["left"]) == (180 - 60, 60)
    assert (lots["109"]["code"], lots["109B"]["code"], lots["109B"]["crop"]) == ("DRY", "WATER", "tulip")


def test_110_has_a_long_name_with_accents(rows: dict[str, dict[str, str]]) -> None:
    """34 letters, some of them outside ASCII."""
    name = rows["110"]["Variety"]
    assert (len(name), name.isascii()) == (34, False)


def test_111_has_no_stage(lots: dict[str, dict[str, Any]]) -> None:
    """Without a stage the sell-by is the cautious one, with no band around it."""
    lot = lots["111"]
    assert lot["sell_by"] == lot["cautious_sell_by"]
    assert (lot["early"], lot["late"]) == (None, None)


def test_113_is_almost_sold_out(lots: dict[str, dict[str, Any]]) -> None:
    """Fewer stems are left than a bunch has."""
    assert lots["113"]["left"] == 6


def test_301_is_a_lily_and_401_a_dahlia_cut_open(
    lots: dict[str, dict[str, Any]], rows: dict[str, dict[str, str]]
) -> None:
    """A dahlia cut open is at its right stage: no warning, though a tulip would get one."""
    assert (lots["301"]["crop"], lots["301"]["code"]) == ("lily", "WATER")
    assert (lots["401"]["crop"], rows["401"]["Stage"], lots["401"]["state"]) == (
        "dahlia",
        "open",
        "sell first",
    )
    assert [warning for warning in lots["401"]["warnings"] if "cut open" in warning] == []


def test_daffodils_and_tulips_share_a_cooler(answer: dict[str, Any], rows: dict[str, dict[str, str]]) -> None:
    """In the old fridge they stand together dry, and overflow once they go into water."""
    assert {rows[code]["Crop"] for code in ("123", "202")} == {"tulip", "daffodil"}
    assert {rows[code]["Cooler"] for code in ("123", "202")} == {"old fridge"}
    fridge = {day["day"]: day for day in answer["room"] if day["cooler"] == "old fridge"}
    assert (fridge["2027-04-22"]["crates"], fridge["2027-04-22"]["overflow"]) == (3, [])
    assert "202" in fridge["2027-04-23"]["overflow"]


def test_some_lots_have_no_needed_date(
    lots: dict[str, dict[str, Any]], rows: dict[str, dict[str, str]]
) -> None:
    """Most lots wait for a buyer, and have a sell-by all the same."""
    waiting = [code for code, row in rows.items() if not row["Needed"] and code in lots and code != "106"]
    assert len(waiting) > 10
    assert [code for code in waiting if lots[code]["sell_by"] is None] == []


def test_125_is_a_bucket_from_two_lots(lots: dict[str, dict[str, Any]]) -> None:
    """Leftovers of two lots that were kept dry: the earlier cut counts, and both parents have fewer."""
    assert (lots["125"]["code"], lots["125"]["kept"], lots["125"]["state"]) == ("WATER", "DRY", "keep")
    assert lots["125"]["sell_by"] == "2027-04-23T10:00"  # three days after it went into water
    assert (lots["121"]["left"], lots["124"]["left"]) == (200 - 110 - 24, 180 - 60 - 16)


def test_planned_rows_get_advice_and_no_dates(answer: dict[str, Any]) -> None:
    """Cuts to come are answered with a way to keep them, or with the days on which to cut instead."""
    plans = {plan["lot"]: plan for plan in answer["planned"]}
    assert list(plans) == ["P-1", "P-2", "P-3"]
    assert plans["P-2"]["advice"] == "WATER"
    assert {plan["needed"] for plan in plans.values()} == {
        "2027-05-22T10:00",
        "2027-05-01T06:30",
        "2027-06-05T15:00",
    }


# ---- the thermometers


@pytest.mark.parametrize(
    ("name", "separator", "minutes"),
    [("walk-in", ",", 15), ("old-fridge", ",", 10), ("bulb-room", ";", 15)],
)
def test_the_logs_cover_three_weeks(demo: Path, name: str, separator: str, minutes: int) -> None:
    """Readings in order of time from 31 March to this morning; only the fridge has a gap."""
    lines = (demo / "logs" / f"{name}.csv").read_text(encoding="utf-8").splitlines()
    header, *readings = [line.split(separator) for line in lines]
    column = next(i for i, title in enumerate(header) if "time" in title.lower())
    moments = [datetime.fromisoformat(reading[column]) for reading in readings]
    steps = [(after - before).total_seconds() / 60 for before, after in itertools.pairwise(moments)]
    gaps = [step for step in steps if step != minutes]
    assert f"{moments[0]:%m-%d}" == "03-31"
    assert f"{moments[-1]:%m-%d %H}" == "04-21 08"
    assert len(gaps) == (1 if name == "old-fridge" else 0)


def test_the_pictures_are_small_and_all_shown(demo: Path, repository: Path) -> None:
    """The README opens fast in a shed: each picture has less than 60 kB, and none is left over."""
    shown = re.findall(r"\(demo_lots/pictures/([\w-]+\.png)\)", (repository / "README.md").read_text("utf-8"))
    pictures = {path.name: path.stat().st_size for path in (demo / "pictures").iterdir()}
    assert sorted(shown) == sorted(pictures)
    assert [name for name, size in pictures.items() if size >= 60_000] == []
