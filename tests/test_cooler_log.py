"""Thermometer logs as loggers write them: columns, times, units, files."""

import zipfile
from datetime import datetime, time, timedelta
from pathlib import Path

import openpyxl
import pytest

from tagmaker.farm import Cooler
from tagmaker.intake.log.cooler_log import read_logs
from tagmaker.intake.log.file import MOST_ROWS
from tagmaker.intake.settings.farm import read_settings
from tagmaker.storage.readings import SetAside
from tests.farms import make_farm
from tests.thermometer_logs import (
    LOGS,
    NOW,
    fahrenheit,
    problems,
    problems_of_text,
    read,
    read_text,
    times,
)

TWO = ["04-20 13:05", "04-20 13:20"]

# Title or header -> header line, then two readings of 38 and 39 °F (or 3.3 and 3.9 °C) at 13:05 and 13:20.
LAYOUTS = {
    "ISO with a space": ["Time,Temperature (°F)", "2027-04-20 13:05,38.0", "2027-04-20 13:20,39.0"],
    "ISO with a T and seconds": ["when,Temp °F", "2027-04-20T13:05:00,38.0", "2027-04-20T13:20:00,39.0"],
    "12-hour": ["Date Time,Temp_F", "4/20/2027 1:05 PM,38.0", "4/20/2027 1:20 PM,39.0"],
    "12-hour with dots": ["Date/Time;TempF", "20 Apr 2027 1:05 p.m.;38.0", "20 Apr 2027 1:20 p.m.;39.0"],
    "named month": ["Timestamp,deg F", '"Apr 20, 2027 13:05",38.0', '"Apr 20, 2027 13:20",39.0'],
    "day first by its dates": ["Zeit;Temp (F)", "20.04.2027 13:05;38,0", "20.04.2027 13:20;39,0"],
    "year first with slashes": ["Time\tFahrenheit", "2027/04/20 13:05\t38.0", "2027/04/20 13:20\t39.0"],
    "compact date": ["Date,Time,Temp F", "20270420,13:05,38.0", "20270420,13:20,39.0"],
    "date and time apart": ["Date,Time,Temp F", "2027-04-20,13:05,38.0", "2027-04-20,13:20,39.0"],
    "time before date": ["Time,Date,Temp F", "1:05 PM,04/20/2027,38.0", "1:20 PM,04/20/2027,39.0"],
    "date shown with its midnight": [
        "Date,Time,Temp F",
        "2027-04-20 00:00:00,13:05,38.0",
        "2027-04-20 00:00:00,13:20,39.0",
    ],
    "unit in the cells": ["Time,Reading", "2027-04-20 13:05,38.0 °F", "2027-04-20 13:20,39.0 °F"],
    "unit below the header": [
        "Time,Temp,RH",
        ",°F,%RH",
        "2027-04-20 13:05,38.0,91",
        "2027-04-20 13:20,39,92",
    ],
    "unit in a column": ["Time,Value,Unit", "2027-04-20 13:05,38.0,F", "2027-04-20 13:20,39.0,F"],
    "unit above the header": [
        "Logger 7",
        "Unit: °F",
        "Start,2027-04-20 13:05,Readings,2",
        "",
        "Time,Temp",
        "2027-04-20 13:05,38.0",
        "2027-04-20 13:20,39.0",
    ],
    "numbered rows": ["No.;Time stamp;Temp °F", "1;2027-04-20 13:05;38.0", "2;2027-04-20 13:20;39.0"],
    "other columns": [
        "Record,Time,Dew point (°F),Temp (°F),High alarm (°F),RH (%),Battery (V)",
        "1,2027-04-20 13:05,35.1,38.0,45,91,2.9",
        "2,2027-04-20 13:20,36.0,39.0,45,91,2.9",
    ],
    "local time beside world time": [
        "UTC time,Local time,Temp F",
        "2027-04-20 18:05,2027-04-20 13:05,38.0",
        "2027-04-20 18:20,2027-04-20 13:20,39.0",
    ],
    "both units": [
        "Time,Temp (°F),Temp (°C)",
        "2027-04-20 13:05,38.0,3.3",
        "2027-04-20 13:20,39.0,3.9",
    ],
    "an empty second probe": [
        "Time,Inner temp (°F),Outer temp (°F)",
        "2027-04-20 13:05,38.0,",
        "2027-04-20 13:20,39.0,",
    ],
    "a line at the foot": ["Time,Temp F", "2027-04-20 13:05,38.0", "2027-04-20 13:20,39.0", "End", ""],
    "days since 1900": ["Time,Temp F", "46497.545138889,38.0", "46497.555555556,39.0"],
    "separator told": ["sep=;", "Time;Temp F", "2027-04-20 13:05;38,0", "2027-04-20 13:20;39,0"],
    "one offset": ["Time,Temp F", "2027-04-20T13:05:00-05:00,38.0", "2027-04-20T13:20:00-05:00,39.0"],
    "zone letters": ["Time,Temp F", "2027-04-20 13:05 CDT,38.0", "2027-04-20 13:20 CDT,39.0"],
    "offset in the title": ['"Time, GMT-05:00",Temp F', "2027-04-20 13:05,38.0", "2027-04-20 13:20,39.0"],
}


@pytest.mark.parametrize("layout", LAYOUTS)
def test_layouts_of_loggers(tmp_path: Path, layout: str) -> None:
    """Time and temperature are found by title and content, without any setting."""
    readings = read_text(tmp_path, *LAYOUTS[layout])
    assert (times(readings), fahrenheit(readings)) == (TWO, [38.0, 39.0])


def test_without_a_header_the_settings_give_the_unit(tmp_path: Path) -> None:
    """A bare table of times and numbers needs its unit only."""
    lines = ["2027-04-20 13:05,38.0", "2027-04-20 13:20,39.0"]
    assert fahrenheit(read_text(tmp_path, *lines, farm=make_farm(units="F"))) == [38.0, 39.0]
    assert fahrenheit(read_text(tmp_path, *lines, log_units="F")) == [38.0, 39.0]


def test_the_unit_of_the_log_wins_over_the_units_of_the_farm(tmp_path: Path) -> None:
    """A °C logger on a °F farm is read in °C."""
    readings = read_text(tmp_path, "Time,T (°C)", "2027-04-20 13:05,3.4", farm=make_farm(units="F"))
    assert readings.t_c == (3.4,)


def test_log_units_win_over_the_units_of_the_farm(tmp_path: Path) -> None:
    """A logger that says no unit may have another one than the farm."""
    readings = read_text(
        tmp_path, "Time,Temp", "2027-04-20 13:05,3.4", farm=make_farm(units="F"), log_units="C"
    )
    assert readings.t_c == (3.4,)


def test_decimal_commas() -> None:
    """3,6 is three point six where cells are parted by semicolons; so is the humidity."""
    readings = read(LOGS, "decimal-commas.csv")
    assert (readings.t_c[:3], readings.rh[:2]) == ((3.3, 3.6, 3.3), (91.5, 91.5))


def test_one_row_is_a_log() -> None:
    """A single reading is read."""
    readings = read(LOGS, "one-row.csv")
    assert (times(readings), fahrenheit(readings), readings.rh) == (["04-20 18:00"], [38.4], ())


@pytest.mark.parametrize(
    ("title", "cells", "percent"),
    [
        ("RH", ("93", "92.5"), (93.0, 92.5)),
        ("Humidity (%)", ("93 %", "101"), (93.0, 100.0)),
        ("Relative humidity", ("0.93", "0.9"), (93.0, 90.0)),
        ("%RH", ("93", "--"), (93.0, None)),
        ("RH", ("0", "255"), (None, None)),
        ("Absolute humidity", ("5.8", "5.9"), ()),
    ],
)
def test_humidity(
    tmp_path: Path, title: str, cells: tuple[str, str], percent: tuple[float | None, ...]
) -> None:
    """Percent or shares; what no sensor can show is no reading, and a column of those is none."""
    lines = [f"2027-04-20 13:05,38,{cells[0]}", f"2027-04-20 13:20,39,{cells[1]}"]
    readings = read_text(tmp_path, f"Time,Temp F,{title}", *lines)
    assert readings.rh == (percent if any(percent) else ())


@pytest.mark.parametrize("probe", ["Old fridge (°F)", "old fridge", "Old Fridge"])
def test_a_probe_by_its_column(probe: str) -> None:
    """The title of a column, with or without its unit, names the probe."""
    assert fahrenheit(read(LOGS, "ten-probes.csv", probe=probe))[:2] == [39.4, 38.9]


def test_a_probe_by_its_letter(tmp_path: Path) -> None:
    """Columns of one title are told apart by their letters."""
    lines = ["Time,Temp F,Temp F", "2027-04-20 13:05,38,41", "2027-04-20 13:20,39,42"]
    assert [line.split(" (got ")[1] for line in problems_of_text(tmp_path, lines)] == [
        (
            '2: the columns "Temp F (column B)" and "Temp F (column C)"). '
            'Set probe = "Temp F (column B)" or another under [coolers.barn] in tagmaker.toml.'
        )
    ]
    for probe in ("Temp F (column C)", "temp f column c"):
        assert fahrenheit(read_text(tmp_path, *lines, probe=probe)) == [41.0, 42.0]


def test_a_probe_under_a_title_of_its_own(tmp_path: Path) -> None:
    """A column whose title says nothing of temperature is read where the settings name it."""
    lines = ["Time,Shelf,Battery", "2027-04-20 13:05,38,70", "2027-04-20 13:20,39,70"]
    assert fahrenheit(read_text(tmp_path, *lines, log_units="F")) == [38.0, 39.0]
    assert fahrenheit(read_text(tmp_path, *lines, log_units="F", probe="Shelf")) == [38.0, 39.0]


def test_a_probe_by_its_rows() -> None:
    """Where each row names its probe, only that probe's rows count."""
    readings = read(LOGS, "probes-in-rows.csv", probe="bulb room")
    assert (len(readings.t_c), fahrenheit(readings)[:2]) == (24, [40.0, 40.4])


def test_each_probe_has_its_own_humidity(tmp_path: Path) -> None:
    """The humidity that carries the name of the probe is taken."""
    lines = ["Time,Barn temp °F,Barn RH,Shed temp °F,Shed RH", "2027-04-20 13:05,38,91,39,85"]
    readings = read_text(tmp_path, *lines, probe="shed")
    assert (fahrenheit(readings), readings.rh) == ([39.0], (85.0,))


def test_the_settings_order_dates_that_read_two_ways() -> None:
    """03/04/2027 is read as the settings say."""
    for day_first, month in ((True, 4), (False, 3)):
        readings = read(LOGS, "two-way-dates.csv", make_farm(day_first=day_first))
        assert (readings.moments[0].month, len(readings.moments)) == (month, 24)


def test_dates_that_show_their_order_win_over_the_settings(tmp_path: Path) -> None:
    """The settings are for the sheet; a logger that writes 04/20/2027 puts the month first."""
    lines = ["Time,Temp F", "04/05/2027 13:05,38", "04/20/2027 13:05,38"]
    readings = read_text(tmp_path, *lines, farm=make_farm(day_first=True))
    assert times(readings) == ["04-05 13:05", "04-20 13:05"]


def test_all_exports_of_a_logger_show_the_order_together(tmp_path: Path) -> None:
    """A week without a day over 12 runs as the other weeks do."""
    (tmp_path / "a.csv").write_text("Time,Temp F\n04/05/2027 13:05,38\n", encoding="utf-8")
    (tmp_path / "b.csv").write_text("Time,Temp F\n04/20/2027 13:05,38\n", encoding="utf-8")
    assert times(read(tmp_path, "*.csv")) == ["04-05 13:05", "04-20 13:05"]


def test_world_time_becomes_local_time(tmp_path: Path) -> None:
    """With the farm's time zone, an offset is converted, also over the change of the clock."""
    farm = make_farm(timezone="Europe/Dublin")
    lines = ["Time,Temp F", "2027-03-28T00:30Z,38", "2027-03-28T01:30Z,38", "2027-03-28T01:30-05:00,38"]
    assert times(read_text(tmp_path, *lines, farm=farm)) == ["03-28 00:30", "03-28 02:30", "03-28 07:30"]


def test_the_hour_that_comes_twice_in_world_time(tmp_path: Path) -> None:
    """Both readings fall on one local moment; the warmer counts."""
    lines = ["Time (UTC),Temp F", "2027-04-03 15:30,38", "2027-04-03 16:30,40"]
    readings = read_text(tmp_path, *lines, farm=make_farm(timezone="Australia/Sydney"))
    assert (times(readings), fahrenheit(readings)) == (["04-04 02:30"], [40.0])
    assert readings.set_aside == {SetAside.SAME_MOMENT: 1}


def test_seconds_since_1970_are_world_time(tmp_path: Path) -> None:
    """They need the farm's time zone."""
    lines = ["Time,Temp F", "1808244300,38.0", "1808245200000,39.0"]
    told = problems_of_text(tmp_path, lines)
    assert [line.split(" (got")[0] for line in told] == [
        "log.csv, line 2, column Time: must be local time, or the settings must name the time zone"
    ]
    assert times(read_text(tmp_path, *lines, farm=make_farm(timezone="America/Chicago"))) == TWO


def test_a_date_without_a_time_is_its_midnight(tmp_path: Path) -> None:
    """Some exports leave the time of midnight out."""
    lines = ["Time,Temp F", "2027-04-19 23:00,38", "2027-04-20,38", "2027-04-20 24:00,39"]
    assert times(read_text(tmp_path, *lines)) == ["04-19 23:00", "04-20 00:00", "04-21 00:00"]


def test_offset_is_added_to_every_reading(tmp_path: Path) -> None:
    """A probe that shows 33 °F in ice water gets -1 °F."""
    readings = read_text(tmp_path, "Time,Temp F", "2027-04-20 13:05,39", offset_c=-1 / 1.8)
    assert fahrenheit(readings) == [38.0]


def test_several_exports_are_one_log(tmp_path: Path) -> None:
    """Files may overlap, come in any order and repeat rows; each moment stands once."""
    rows = [f"2027-04-20 {hour:02}:00,{38 + hour % 3}" for hour in range(24)]
    (tmp_path / "logs").mkdir()
    for name, part in (("b", rows[:15]), ("a", rows[10:]), ("c", [*rows[5:8], *rows[5:8]])):
        (tmp_path / "logs" / f"{name}.csv").write_text("\n".join(["Time,Temp F", *part]), encoding="utf-8")
    (tmp_path / "logs" / ".hidden.csv").write_text("nothing", encoding="utf-8")
    readings = read(tmp_path, "logs/*.csv")
    assert times(readings) == [f"04-20 {hour:02}:00" for hour in range(24)]
    assert readings.files == ("logs/a.csv", "logs/b.csv", "logs/c.csv")
    assert readings.set_aside == {}


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "cp1252"])
@pytest.mark.parametrize("end", ["\n", "\r\n", "\r"])
def test_encodings_and_line_ends(tmp_path: Path, encoding: str, end: str) -> None:
    """Exports of every system are read."""
    text = end.join(["Time;Temp (°F)", "2027-04-20 13:05;38.0", "2027-04-20 13:20;39.0", ""])
    (tmp_path / "log.csv").write_bytes(text.encode(encoding))
    assert fahrenheit(read(tmp_path, "log.csv")) == [38.0, 39.0]


def test_workbook(tmp_path: Path) -> None:
    """The sheet that is a log is taken; real dates keep their seconds, and percent cells are shares."""
    book = openpyxl.Workbook()
    book.create_sheet("Summary", 0).append(["Logger 7"])
    data = book.create_sheet("Data")
    data.append(["Exported by hand"])
    data.append(["Time", "Temp (°F)", "RH"])
    for minutes, degrees in ((0, 38.0), (15, 39.5)):
        data.append([datetime(2027, 4, 20, 13, 4, 30) + timedelta(minutes=minutes), degrees, 0.93])
    book.save(tmp_path / "log.xlsx")
    readings = read(tmp_path, "log.xlsx")
    assert readings.moments == (datetime(2027, 4, 20, 13, 4, 30), datetime(2027, 4, 20, 13, 19, 30))
    assert (fahrenheit(readings), readings.rh) == ([38.0, 39.5], (93.0, 93.0))


def write_ods(path: Path, rows: str) -> None:
    """The least that is an OpenDocument spreadsheet (OpenDocument 1.3 part 3, 9.1)."""
    kind = "application/vnd.oasis.opendocument.spreadsheet"
    spaces = " ".join(
        f'xmlns:{name}="urn:oasis:names:tc:opendocument:xmlns:{name}:1.0"'
        for name in ("office", "table", "text", "manifest")
    )
    entries = f'<manifest:file-entry manifest:full-path="/" manifest:media-type="{kind}"/>'
    with zipfile.ZipFile(path, "w") as archive:
        archive.writestr("mimetype", kind)
        archive.writestr(
            "META-INF/manifest.xml", f"<manifest:manifest {spaces}>{entries}</manifest:manifest>"
        )
        archive.writestr(
            "content.xml",
            f"<office:document-content {spaces}><office:body><office:spreadsheet>"
            f'<table:table table:name="Data">{rows}</table:table>'
            "</office:spreadsheet></office:body></office:document-content>",
        )


def ods_row(*cells: str) -> str:
    """A row of text cells."""
    texts = (
        f'<table:table-cell office:value-type="string"><text:p>{cell}</text:p></table:table-cell>'
        for cell in cells
    )
    return f"<table:table-row>{''.join(texts)}</table:table-row>"


def test_open_document(tmp_path: Path) -> None:
    """A log saved as ods is read, and a stray cell beyond a million blank rows is refused."""
    rows = [
        ods_row("Time", "Temp (°F)"),
        ods_row("2027-04-20 13:05", "38.0"),
        ods_row("2027-04-20 13:20", "39"),
    ]
    write_ods(tmp_path / "log.ods", "".join(rows))
    assert fahrenheit(read(tmp_path, "log.ods")) == [38.0, 39.0]
    gap = '<table:table-row table:number-rows-repeated="1000000"><table:table-cell/></table:table-row>'
    blank = '<table:table-cell table:number-columns-repeated="60"/>'
    far = f"<table:table-row>{blank}<table:table-cell><text:p>x</text:p></table:table-cell></table:table-row>"
    write_ods(tmp_path / "far.ods", "".join([*rows, gap, far]))
    assert [line.split(" (got")[0] for line in problems(tmp_path, "far.ods")] == [
        'far.ods, sheet "Data": must span at most 3,000,000 cells'
    ]


def test_workbook_with_date_and_time_apart(tmp_path: Path) -> None:
    """Dates and times of day as a spreadsheet keeps them."""
    book = openpyxl.Workbook()
    data = book.create_sheet("Data", 0)
    data.append(["Date", "Time", "Temp (°F)"])
    data.append([datetime(2027, 4, 20), time(13, 5), 38.0])
    data.append([datetime(2027, 4, 20), time(13, 20), 39.0])
    book.save(tmp_path / "log.xlsx")
    readings = read(tmp_path, "log.xlsx")
    assert (times(readings), fahrenheit(readings)) == (TWO, [38.0, 39.0])


def test_workbook_faults_name_the_sheet(tmp_path: Path) -> None:
    """Sheet and cell stand as a spreadsheet calls them."""
    book = openpyxl.Workbook()
    data = book.create_sheet("Data", 0)
    data.append(["Time", "Temp (°F)"])
    data.append([datetime(2027, 4, 25, 10), 38.0])
    book.save(tmp_path / "log.xlsx")
    assert problems(tmp_path, "log.xlsx") == [
        (
            'log.xlsx, sheet "Data", cell A2: must not lie in the future (got 2027-04-25 10:00; now it is '
            "2027-04-21 09:00). Check the clock of the logger, the order of day and month, and --today."
        )
    ]


def test_a_stray_cell_far_away(tmp_path: Path) -> None:
    """A sheet whose cells lie so far apart that no memory would hold what is between is refused."""
    book = openpyxl.Workbook()
    data = book.create_sheet("Data", 0)
    data.append(["Time", "Temp (°F)"])
    data.cell(1_000_000, 16_000, "x")
    book.save(tmp_path / "log.xlsx")
    assert problems(tmp_path, "log.xlsx") == [
        (
            'log.xlsx, sheet "Data": must span at most 3,000,000 cells '
            "(got 1,000,000 rows and 16,000 columns). "
            "Delete the stray cell far from the readings. "
            "Export fewer days at once, or one reading every five minutes."
        )
    ]


@pytest.mark.parametrize("content", [b"PK\x03\x04 broken", b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1 broken"])
def test_a_damaged_workbook(tmp_path: Path, content: bytes) -> None:
    """Whatever breaks inside it, the answer is the same."""
    (tmp_path / "log.xlsx").write_bytes(content)
    assert problems(tmp_path, "log.xlsx") == [
        (
            "log.xlsx: must be a thermometer log as csv, xlsx or ods (got a damaged workbook). "
            "Export it again, or as csv."
        )
    ]


def test_the_demo_logs(demo: Path) -> None:
    """Three exports of three kinds, one of them in °C on a °F farm, are read as they are."""
    farm = read_settings(demo / "tagmaker.toml")
    read_all = [read_logs(cooler, farm, demo, NOW) for cooler in farm.coolers.values()]
    assert [(len(one.moments), dict(one.set_aside)) for one in read_all if one] == [
        (2052, {}),
        (3033, {}),
        (2052, {}),
    ]
    assert all(min(one.t_c) > -2 and max(one.t_c) < 16 for one in read_all if one)


def test_a_cooler_without_a_log(tmp_path: Path) -> None:
    """No log is no fault."""
    assert read_logs(Cooler(name="barn"), make_farm(), tmp_path, NOW) is None


def test_the_limit_holds_for_all_files_together(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Two files within the limit may be beyond it together."""
    monkeypatch.setattr("tagmaker.intake.log.cooler_log.MOST_ROWS", 30)
    rows = "\n".join(f"2027-04-20 {hour:02}:00,38" for hour in range(20))
    for name in ("a", "b"):
        (tmp_path / f"{name}.csv").write_text(f"Time,Temp F\n{rows}\n", encoding="utf-8")
    assert [line.split(" (")[0] for line in problems(tmp_path, "*.csv")] == [
        f"b.csv: must be at most {MOST_ROWS:,} rows, all files of a cooler together"
    ]


@pytest.mark.parametrize(
    ("written", "offset_c"), [('"-0.5F"', -0.5 / 1.8), ('"0.3C"', 0.3), ("-0.9", -0.5), ("0", 0.0)]
)
def test_offset_in_the_settings(tmp_path: Path, written: str, offset_c: float) -> None:
    """A difference has no zero point: half a degree F is 0.28 °C, wherever the thermometer stands."""
    (tmp_path / "tagmaker.toml").write_text(f'units = "F"\n[coolers.barn]\noffset = {written}\n')
    assert read_settings(tmp_path / "tagmaker.toml").coolers["barn"].offset_c == pytest.approx(
        offset_c, abs=1e-12
    )


def test_settings_of_a_log(tmp_path: Path) -> None:
    """Probe and unit of a log are read; what they cannot be is a problem each."""
    path = tmp_path / "tagmaker.toml"
    path.write_text('[coolers.barn]\nlog = "l.csv"\nprobe = "Shelf 2"\nlog_units = "f"\n')
    barn = read_settings(path).coolers["barn"]
    assert (barn.log, barn.probe, barn.log_units, barn.offset_c) == ("l.csv", "Shelf 2", "F", 0.0)
