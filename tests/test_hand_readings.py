"""Readings written down by hand: the sheet of the workbook, the file beside it, and what is wrong in them."""

from datetime import datetime
from pathlib import Path

import openpyxl
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tagmaker.errors import InputProblems
from tagmaker.farm import Cooler, Farm
from tagmaker.intake.log.hand_readings import read_hand_readings
from tagmaker.storage.readings import HandReading
from tests.farms import make_farm

NOW = datetime(2027, 4, 21, 9)  # a Wednesday
FARM = make_farm(coolers={name: Cooler(name=name) for name in ("barn", "old fridge")})  # °F


def read(folder: Path, *lines: str, farm: Farm = FARM) -> tuple[HandReading, ...]:
    """What readings.csv of these lines holds."""
    (folder / "readings.csv").write_text("\n".join(lines) + "\n", encoding="utf-8")
    return read_hand_readings(folder / "lots.csv", farm, NOW)


def problems(folder: Path, *lines: str, farm: Farm = FARM) -> list[str]:
    """What is wrong with it."""
    with pytest.raises(InputProblems) as caught:
        read(folder, *lines, farm=farm)
    return [str(problem) for problem in caught.value.problems]


def told(reading: HandReading) -> tuple[str, str, float, float]:
    """A reading in °F, to a tenth."""
    low, high = (round(t_c * 1.8 + 32, 1) for t_c in (reading.low_c, reading.high_c))
    return reading.cooler, f"{reading.moment:%m-%d %H:%M}", low, high


def write_book(path: Path, *rows: list[object], title: str = "Readings") -> None:
    """A workbook with a sheet of lots and one of readings."""
    book = openpyxl.Workbook()
    book.create_sheet("Lots", 0).append(["Lot", "Crop"])
    sheet = book.create_sheet(title)
    for row in rows:
        sheet.append(row)
    book.save(path)


def test_no_readings(tmp_path: Path) -> None:
    """Neither a file nor a sheet of readings is no fault; nor is one that is blank or has only titles."""
    assert read_hand_readings(tmp_path / "lots.csv", FARM, NOW) == ()
    write_book(tmp_path / "lots.xlsx")
    assert read_hand_readings(tmp_path / "lots.xlsx", FARM, NOW) == ()
    assert read(tmp_path, "") == ()
    assert read(tmp_path, "cooler,moment,low,high", "barn,,,") == ()


def test_a_file_beside_the_sheet(tmp_path: Path) -> None:
    """Readings come in order of time, in °C, whatever their order in the file."""
    found = read(
        tmp_path,
        "cooler,moment,low,high",
        "old fridge,2027-04-20 18:00,36,44",
        "Barn,2027-04-20 7:30 am,3C,4.5 °C",
    )
    assert list(map(told, found)) == [
        ("barn", "04-20 07:30", 37.4, 40.1),
        ("old fridge", "04-20 18:00", 36.0, 44.0),
    ]


@pytest.mark.parametrize(
    ("header", "row"),
    [
        ("Fridge;Read at;Min;Max", "barn;2027-04-20 18:00;36;44"),
        ("Which cooler,Date,Time,Lowest (°F),Highest (°F)", "barn,2027-04-20,6:00 PM,36,44"),
        ("high temp,low temp,when,cooler", "44,36,20 Apr 2027 18:00,barn"),
        ("COOLER\tDay\tHour\tLow\tHigh\tNote", "barn\t2027-04-20\tevening\t36\t44\tdoor was open"),
        ("cooler,date,time,LOW since last look,HIGH since last look", "barn,20 Apr 2027,pm,36,44"),
    ],
)
def test_titles_that_growers_use(tmp_path: Path, header: str, row: str) -> None:
    """Columns go by their names in the trade, in any order; evening is the workday's end."""
    assert list(map(told, read(tmp_path, header, row))) == [("barn", "04-20 18:00", 36.0, 44.0)]


def test_units_in_the_titles(tmp_path: Path) -> None:
    """A unit in a title wins over the farm's."""
    found = read(tmp_path, "cooler,moment,low (°C),high (°C)", "barn,2027-04-20 18:00,2,7")
    assert [(one.low_c, one.high_c) for one in found] == [(2.0, 7.0)]


def test_a_day_without_an_hour(tmp_path: Path) -> None:
    """It counts from the workday's start, or from now where the workday has not begun."""
    early = datetime(2027, 4, 21, 6)
    (tmp_path / "readings.csv").write_text(
        "cooler,moment,low,high\nbarn,2027-04-20,36,44\nbarn,2027-04-21,36,44\n"
    )
    found = read_hand_readings(tmp_path / "lots.csv", FARM, early)
    assert [one.moment for one in found] == [datetime(2027, 4, 20, 8), early]


def test_one_cooler_needs_no_name(tmp_path: Path) -> None:
    """On a farm with one cooler the column may be left out or blank."""
    assert [
        told(one)[0] for one in read(tmp_path, "when,low,high", "2027-04-20,36,44", farm=make_farm())
    ] == ["barn"]


def test_a_sheet_of_the_workbook(tmp_path: Path) -> None:
    """Real dates and numbers are read, under a title line, and the file beside it counts as well."""
    write_book(
        tmp_path / "lots.xlsx",
        ["What we saw"],
        ["Cooler", "Moment", "Low", "High"],
        ["barn", datetime(2027, 4, 20, 7, 30), 36, 44.5],
        [None, None, None, None],
        ["barn", "2027-04-20 18:00", "37F", "41F"],
        title="READINGS",
    )
    (tmp_path / "readings.csv").write_text(
        "cooler,moment,low,high\nbarn,2027-04-19 18:00,36,44\nbarn,2027-04-20 18:00,37,41\n"
    )
    assert list(map(told, read_hand_readings(tmp_path / "lots.xlsx", FARM, NOW))) == [
        ("barn", "04-19 18:00", 36.0, 44.0),
        ("barn", "04-20 07:30", 36.0, 44.5),
        ("barn", "04-20 18:00", 37.0, 41.0),
    ]


def test_all_faults_are_told_at_once(tmp_path: Path) -> None:
    """Every cell that is wrong is named, with the line it stands on."""
    assert problems(
        tmp_path,
        "cooler,moment,low,high",
        "bran,2027-04-20 18:00,36,44",
        "barn,yesterday,36,44",
        "barn,2027-04-22 18:00,36,44",
        "barn,2027-04-20 18:00,cold,",
        "barn,2027-04-20 18:00,44,36",
        "barn,2027-04-20 18:00,3,44",
        "barn,05/04/2027,36,44",
    ) == [
        (
            "readings.csv, line 2, column cooler: cooler must be a cooler of the farm: barn or old fridge "
            '(got "bran"). '
            "The nearest is barn."
        ),
        (
            'readings.csv, line 3, column moment: moment must be a date (got "yesterday"). '
            "Write it like 2027-04-21."
        ),
        (
            "readings.csv, line 4, column moment: moment must be a moment that has come "
            "(got 2027-04-22 18:00; now it is 2027-04-21 09:00). Check the date, or --today."
        ),
        (
            'readings.csv, line 5, column low: low must be a temperature (got "cold"). '
            'Write it like "38F" or "3C".'
        ),
        (
            "readings.csv, line 5, column high: high must be a temperature (got nothing). "
            'Write it like "38F" or "3C"; strike the row out if nobody looked.'
        ),
        (
            "readings.csv, line 6, column high: high must be at least the low (got 36 below 44). "
            "Check both figures."
        ),
        (
            "readings.csv, line 7, column low: low must be from -10 to 28 °C (14 to 82 °F) "
            '(got "3"). Check the figure and its unit.'
        ),
        (
            "readings.csv, line 8, column moment: moment must be a date that reads one way "
            '(got "05/04/2027": 2027-04-05 or 2027-05-04). '
            "Write it as 2027-04-05 or 2027-05-04, or set day_first = true or false in the settings."
        ),
    ]


def test_fahrenheit_on_a_celsius_farm(tmp_path: Path) -> None:
    """A lowest temperature of 38 °C is none of a cooler."""
    farm = make_farm(units="C")
    assert problems(tmp_path, "moment,low,high", "2027-04-20 18:00,38,41", farm=farm) == [
        (
            "readings.csv, line 2, column low: low must be from -10 to 28 °C (14 to 82 °F) "
            '(got "38"). Check the figure and its unit.'
        )
    ]


def test_a_number_without_a_unit(tmp_path: Path) -> None:
    """Where neither the settings nor the title nor the cell say it, the unit is not guessed."""
    farm = make_farm(units=None)
    assert problems(tmp_path, "moment,low,high", "2027-04-20 18:00,38,41F", farm=farm) == [
        (
            'readings.csv, line 2, column low: low must be a temperature with its unit (got "38"). '
            'Write it like "38F" or "3C", or set units = "F" or "C" in the settings.'
        )
    ]


def test_two_readings_of_one_moment(tmp_path: Path) -> None:
    """The same reading twice is one; two different ones cannot both be true."""
    same = "barn,2027-04-20 18:00,36,44"
    assert len(read(tmp_path, "cooler,moment,low,high", same, same)) == 1
    assert problems(tmp_path, "cooler,moment,low,high", same, "barn,2027-04-20 18:00,36,45") == [
        (
            "readings.csv, line 3: must be the only reading of barn at 2027-04-20 18:00 (got two). "
            "Write the hour of each, or strike one out."
        )
    ]


def test_missing_columns(tmp_path: Path) -> None:
    """Columns that are not there are named once for the sheet."""
    write_book(tmp_path / "lots.xlsx", ["Cooler", "Moment", "Temp"], ["barn", "2027-04-20", 38])
    with pytest.raises(InputProblems) as caught:
        read_hand_readings(tmp_path / "lots.xlsx", FARM, NOW)
    assert str(caught.value) == (
        'lots.xlsx, sheet "Readings": must have the columns cooler, moment, low and high '
        "(got no low or high). "
        "Write these titles above the readings."
    )


def test_faults_in_a_workbook_name_the_cell(tmp_path: Path) -> None:
    """Sheet and cell stand as a spreadsheet calls them."""
    write_book(
        tmp_path / "lots.xlsx",
        ["Cooler", "Moment", "Low", "High"],
        ["barn", datetime(2027, 4, 20, 18), "x", 44],
        ["", datetime(2027, 4, 20, 18), 36, 44],
    )
    with pytest.raises(InputProblems) as caught:
        read_hand_readings(tmp_path / "lots.xlsx", FARM, NOW)
    assert [problem.where for problem in caught.value.problems] == [
        'lots.xlsx, sheet "Readings", cell C2',
        'lots.xlsx, sheet "Readings", cell A3',
    ]


TEXT = st.text(max_size=20) | st.sampled_from(
    [
        "barn",
        "2027-04-20 18:00",
        "38",
        "°F",
        "Low",
        "High",
        "Moment",
        "Time",
        "Cooler",
        '"',
        "\x00",
        "1e9",
        "pm",
    ]
)


@settings(max_examples=150)
@given(st.lists(st.lists(TEXT, min_size=1, max_size=6), max_size=8), st.booleans())
def test_no_text_breaks_the_reader(
    tmp_path_factory: pytest.TempPathFactory, rows: list[list[str]], titled: bool
) -> None:
    """Whatever stands in the cells, the answer is readings or problems."""
    folder = tmp_path_factory.mktemp("readings")
    lines = [*(["cooler,moment,low,high"] if titled else []), *(",".join(row) for row in rows)]
    (folder / "readings.csv").write_bytes("\n".join(lines).encode("utf-8", "surrogatepass"))
    try:
        found = read_hand_readings(folder / "lots.csv", FARM, NOW)
    except InputProblems as error:
        found = ()
        complete = [
            problem for problem in error.problems if problem.where and problem.what and problem.remedy
        ]
        assert complete == list(error.problems)  # noqa: PT017 - either answer is right
    assert all(one.low_c <= one.high_c and one.moment <= NOW for one in found)
