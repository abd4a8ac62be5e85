"""The settings file: what each key becomes, and what is said about a wrong one."""

from __future__ import annotations

from datetime import time
from pathlib import Path

import pytest

from tagmaker.errors import InputProblems
from tagmaker.farm import EVERY_DAY, Cooler, Farm, Use, Workday
from tagmaker.intake.cells.temperature import read_temperature
from tagmaker.intake.settings.farm import read_settings, settings_beside


def farm_of(folder: Path, text: str) -> Farm:
    """The farm of a settings file."""
    path = folder / "tagmaker.toml"
    path.write_text(text, encoding="utf-8")
    return read_settings(path)


def problems_of(folder: Path, text: str) -> list[str]:
    """What is said about a settings file."""
    with pytest.raises(InputProblems) as caught:
        farm_of(folder, text)
    return [str(problem) for problem in caught.value.problems]


def test_without_settings(tmp_path: Path) -> None:
    """No file: one cooler of unknown set point, and a shop that promises four vase days on any day."""
    farm = settings_beside(tmp_path / "lots.csv")
    assert farm == read_settings(None)
    assert farm.uses == {"shop": Use(name="shop", vase_days=4.0, days=EVERY_DAY, leaves=time(8), open=False)}
    assert farm.coolers == {"cooler": Cooler(name="cooler")}
    assert (farm.workday, farm.field_c, farm.room_c) == (Workday(), (15.0,) * 12, 20.0)
    assert (farm.half_cooling_h, farm.basis, farm.units, farm.day_first) == (4.0, "practice", None, None)
    assert (farm.paper_size, farm.label_stock, farm.link) == ("letter", "letter-3x10", None)
    assert farm.crate_card == "quarter"


def test_every_key(tmp_path: Path) -> None:
    """Every key of the settings arrives in the farm, in °C and hours."""
    farm = farm_of(
        tmp_path,
        """
farm = "Larkmarrow Yard"
units = "f"
day_first = true
timezone = "Europe/Dublin"
basis = "cautious"
link = "https://example.org/l/{lot}?row={row}"
paper_size = "A4"
label_stock = "a4-3x7"
crate_card = "tent"
workday = ["06:15", "17:45"]
days_off = ["Sun", "wednesday"]
field_temperature = 50
room_temperature = "18C"
half_cooling = 2.5

[usual]
stage = "tight"
"per bunch" = 20
bulb = true

[uses.stall]
vase_days = 4
days = "Saturdays"
leaves = 06:30:00
open = true

[uses."corner shop"]
vase_days = 5.5

[coolers.barn]
set_point = 41
trusted = true
log = "logs/*.csv"
crates = 3
buckets = 2.5
shared = false
soak = "outside"

[coolers.porch]

[crops."tulip double"]
fresh_days = 8

[columns]
cut = "Into the basket"
per_bunch = "Bund"
""",
    )
    assert (farm.name, farm.units, farm.day_first, farm.timezone) == (
        "Larkmarrow Yard",
        "F",
        True,
        "Europe/Dublin",
    )
    assert (farm.basis, farm.paper_size, farm.label_stock) == ("cautious", "a4", "a4-3x7")
    assert farm.crate_card == "tent"
    assert farm.link == "https://example.org/l/{lot}?row={row}"
    assert farm.workday == Workday(time(6, 15), time(17, 45), frozenset({2, 6}))
    assert (farm.field_c, farm.room_c, farm.half_cooling_h) == ((10.0,) * 12, 18.0, 2.5)
    assert farm.usual == {"stage": "tight", "per bunch": "20", "bulb": "yes"}
    assert farm.uses["stall"] == Use(
        name="stall", vase_days=4.0, days=frozenset({5}), leaves=time(6, 30), open=True
    )
    assert farm.uses["corner shop"] == Use(name="corner shop", vase_days=5.5, leaves=time(6, 15))
    assert farm.coolers["barn"] == Cooler(
        name="barn", set_point_c=5.0, trusted=True, log="logs/*.csv", crates=3.0, buckets=2.5, shared=False,
        soak_inside=False,
    )  # fmt: skip
    assert list(farm.coolers) == ["barn", "porch"]
    assert farm.crops == {"tulip double": {"fresh_days": 8}}
    assert farm.columns == {"cut": "Into the basket", "per bunch": "Bund"}


def test_a_temperature_for_every_month(tmp_path: Path) -> None:
    """Twelve field temperatures stand for January to December."""
    months = ", ".join(f'"{month}C"' for month in range(1, 13))
    assert farm_of(tmp_path, f"field_temperature = [{months}]").field_c == tuple(map(float, range(1, 13)))


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("unit = 'F'", 'unit must be a known key (got "F"). The nearest known key is units.'),
        ("units = 'K'", 'units must be "F" or "C" (got "K"). Write one of them, in quotes.'),
        (
            "day_first = 'yes'",
            'day_first must be true or false (got "yes"). Write true or false, without quotes.',
        ),
        (
            "timezone = 'Nowhere'",
            'timezone must be a known time zone (got "Nowhere"). Write it like "Europe/Dublin".',
        ),
        (
            "basis = 1",
            'basis must be "practice", "early" or "cautious" (got 1). Write one of them, in quotes.',
        ),
        (
            "link = 'https://example.org'",
            (
                'link must contain {lot} or {row} (got "https://example.org"). '
                'Write it like "https://example.org/l/{lot}".'
            ),
        ),
        (
            "link = 'https://example.org/{lot}/{use}'",
            (
                "link must have no other braces than {lot} and {row} "
                '(got "https://example.org/{lot}/{use}"). Write it like "https://example.org/l/{lot}".'
            ),
        ),
        (
            "link = 'my page {lot}'",
            (
                'link must be an address without spaces and special letters (got "my page {lot}"). '
                'Write it like "https://example.org/l/{lot}".'
            ),
        ),
        (
            "paper_size = 'A5'",
            'paper_size must be "letter" or "a4" (got "A5"). Write one of them, in quotes.',
        ),
        (
            'workday = ["08:05", "18:00"]',
            (
                'workday must be quarter hours (minutes 00, 15, 30 or 45) (got ["08:05", "18:00"]). '
                'Write it like ["08:00", "18:00"].'
            ),
        ),
        (
            'workday = ["18:00", "08:00"]',
            (
                'workday must end later than it begins (got ["18:00", "08:00"]). '
                'Write it like ["08:00", "18:00"].'
            ),
        ),
        (
            "days_off = ['Fun']",
            'days_off must be days of the week (got ["Fun"]). Write it like ["Wed", "Sat"].',
        ),
        (
            "days_off = ['mon', 'tue', 'wed', 'thu', 'fri', 'sat', 'sun']",
            (
                "days_off must leave at least one working day "
                '(got ["mon", "tue", "wed", "thu", "fri", "sat…). '
                "Take out the days on which somebody works."
            ),
        ),
        (
            "field_temperature = '200F'",
            (
                'field_temperature must be from -10 to 45 °C (14 to 113 °F) (got "200F"). '
                "Check the figure and its unit."
            ),
        ),
        (
            "field_temperature = ['50F', '60F']",
            (
                "field_temperature must be one temperature or twelve, January first, not 2 "
                '(got ["50F", "60F"]). Write one for every month, or a single one.'
            ),
        ),
        (
            "room_temperature = 68",
            (
                "room_temperature must have a unit (got 68). "
                'Write "68F" or "68C", or set units = "F" or "C" for the farm.'
            ),
        ),
        (
            "half_cooling = 0",
            (
                "half_cooling must be a number from 0.25 to 48 hours (got 0). "
                "Write a number within these limits, without quotes."
            ),
        ),
        ("uses = 1", "uses must be a table (got 1). Write its name in square brackets on a line of its own."),
    ],
)
def test_wrong_values(tmp_path: Path, text: str, said: str) -> None:
    """A wrong value is answered with what it must be, what was found and what to write."""
    assert problems_of(tmp_path, text) == [f"tagmaker.toml: {said}"]


@pytest.mark.parametrize(
    ("text", "where", "said"),
    [
        ("[usual]\ngone = 0", "[usual]", 'must be a column with a usual value (got "gone")'),
        ("[usual]\nstage = []", "[usual]", "stage must be text in quotes (got [])"),
        ("[columns]\ncuts = 'x'", "[columns]", 'must be a column of the lot sheet (got "cuts")'),
        ("[columns]\ncut = 1", "[columns]", "cut must be the header that your sheet has for it (got 1)"),
        (
            "[columns]\ncut = 'A'\nlot = 'a.'",
            "[columns]",
            'lot must have a header of its own (got "a." again)',
        ),
        ("[uses.shop]", "[uses.shop]", "vase_days must be given (got nothing)"),
        (
            "[uses.shop]\nvase_days = 0",
            "[uses.shop]",
            "vase_days must be a number from 0.5 to 60 days (got 0)",
        ),
        ("[uses.shop]\nvase_days = 4\ndays = []", "[uses.shop]", "days must name at least one day (got [])"),
        (
            "[uses.shop]\nvase_days = 4\nleaves = '6.30'",
            "[uses.shop]",
            'leaves must be an hour of the day (got "6.30")',
        ),
        (
            "[uses.12]\nvase_days = 4",
            "[uses.12]",
            'the name must have letters in it, and no comma or semicolon (got "12")',
        ),
        (
            "[coolers.Barn]\n[coolers.barn]",
            "[coolers.barn]",
            'the name must differ from "Barn" in more than case, spaces and punctuation (got "barn")',
        ),
        (
            "[coolers.out]",
            "[coolers.out]",
            'the name must not be "out", which stands for outside any cooler (got "out")',
        ),
        ("[coolers]\nbarn = 36", "[coolers.barn]", "must be a table (got 36)"),
        (
            "[coolers.barn]\ntrusted = true",
            "[coolers.barn]",
            "trusted must stand beside a set_point (got true)",
        ),
        (
            "[coolers.barn]\nset_point = 'cold'",
            "[coolers.barn]",
            'set_point must be a temperature (got "cold")',
        ),
        (
            "[coolers.barn]\nset_point = '40C'",
            "[coolers.barn]",
            'set_point must be from -5 to 20 °C (23 to 68 °F) (got "40C")',
        ),
        ("[coolers.barn]\nsoak = 'no'", "[coolers.barn]", 'soak must be "inside" or "outside" (got "no")'),
        ("[coolers.barn]\nsetpoint = 3", "[coolers.barn]", "setpoint must be a known key (got 3)"),
    ],
)
def test_wrong_values_in_tables(tmp_path: Path, text: str, where: str, said: str) -> None:
    """A wrong value in a table names the table."""
    (message,) = problems_of(tmp_path, text)
    assert message.startswith(f"tagmaker.toml, {where}: {said}. ")


def test_all_problems_at_once(tmp_path: Path) -> None:
    """Every wrong key of the file is reported, not only the first."""
    text = "unit = 'F'\nbasis = 'hope'\n[uses.shop]\nvase_day = 4\n[coolers.barn]\ncrates = -1\n"
    assert [message.split(" must ")[0] for message in problems_of(tmp_path, text)] == [
        "tagmaker.toml: unit",
        "tagmaker.toml, [uses.shop]: vase_day",
        "tagmaker.toml, [uses.shop]: vase_days",
        "tagmaker.toml, [coolers.barn]: crates",
        "tagmaker.toml: basis",
    ]


def test_a_line_that_is_no_toml(tmp_path: Path) -> None:
    """A slip of the pen is answered with its line."""
    assert problems_of(tmp_path, 'farm = "Larkmarrow Yard"\nunits = F\n') == [
        (
            'tagmaker.toml, line 2: must be a line of settings (got "units = F": invalid value). '
            'Write key = value, with quotes around text: units = "F".'
        )
    ]


def test_a_file_that_is_no_text(tmp_path: Path) -> None:
    """Settings in another encoding, or a folder of that name, are refused with what to do."""
    path = tmp_path / "tagmaker.toml"
    path.write_bytes('farm = "Caf\u00e9"'.encode("cp1252"))
    with pytest.raises(InputProblems) as caught:
        read_settings(path)
    assert [problem.what for problem in caught.value.problems] == ["must be saved as UTF-8 (got other bytes)"]
    path.unlink()
    path.mkdir()
    with pytest.raises(InputProblems) as caught:
        read_settings(path)
    assert [problem.remedy for problem in caught.value.problems] == ["Check its name and its rights."]


def test_a_file_that_begins_with_a_mark(tmp_path: Path) -> None:
    """The mark that some editors put in front of UTF-8 does no harm."""
    path = tmp_path / "tagmaker.toml"
    path.write_text('units = "C"', encoding="utf-8-sig")
    assert read_settings(path).units == "C"


@pytest.mark.parametrize(
    ("text", "units", "celsius"),
    [
        ("32F", None, 0.0),
        ("50 °F", "C", 10.0),
        ("212 degrees fahrenheit", None, 100.0),
        ("-4,5 C", None, -4.5),
        ("41", "F", 5.0),
        ("5", "C", 5.0),
    ],
)
def test_temperatures(text: str, units: str | None, celsius: float) -> None:
    """°C = (°F - 32) / 1.8 (arithmetic); a unit of its own comes first."""
    assert read_temperature(text, units) == pytest.approx(celsius)


@pytest.mark.parametrize(
    ("text", "must"),
    [
        (f"farm = {'9' * 5000}", "whole numbers must have at most 18 digits"),
        (f"half_cooling = 0x{'f' * 300}", "whole numbers must have at most 18 digits"),
        (f"usual = {'[' * 3000}{']' * 3000}", "must have no brackets within brackets"),
    ],
)
def test_what_no_settings_hold_is_refused(tmp_path: Path, text: str, must: str) -> None:
    """Python reads no longer numbers, and no deeper brackets."""
    path = tmp_path / "tagmaker.toml"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(InputProblems, match=must):
        read_settings(path)


@pytest.mark.parametrize(
    ("text", "line"),
    [
        ('units = "F"\nunits = "C"\n', 'line 2: a key or a table must stand once (got "units = "C"" again)'),
        (
            "[uses.shop]\nvase_days = 4\n[uses.shop]\n",
            'line 3: a key or a table must stand once (got "[uses.shop]',
        ),
    ],
)
def test_what_stands_twice_is_said_to(tmp_path: Path, text: str, line: str) -> None:
    """With the second place of it."""
    path = tmp_path / "tagmaker.toml"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(InputProblems) as error:
        read_settings(path)
    assert line in str(error.value.problems[0])
