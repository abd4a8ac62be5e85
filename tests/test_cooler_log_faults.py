"""Faulty thermometer logs, one per fault, each with what the grower is told."""

import os
import tracemalloc
from pathlib import Path
from typing import Any

import pytest

from tagmaker.intake.log.file import MOST_ROWS, NoRowsError
from tagmaker.intake.settings.keys import COOLER_KEYS
from tagmaker.storage.readings import SetAside
from tests.farms import make_farm
from tests.thermometer_logs import LOGS, fahrenheit, problems, problems_of_text, read, times

FARM = make_farm()  # °F
AGAIN = "Export the readings from the logger again."
WITH_TIME = "Export it again with the date and the time of every reading."
NO_TIME = "must have a column with the date and time of each reading"
ONE_UNIT = "must be temperatures of a cooler: a middle reading from -5 to 28 °C"
ZONE = 'Set timezone in the settings, like timezone = "Europe/Dublin".'
LOCAL = "must be local time, or the settings must name the time zone"
TEN = (
    '"Walk-in (°F)", "Old fridge (°F)", "Bulb room (°F)", "Porch (°F)", "Shed (°F)", "Packing (°F)", '
    '"Van (°F)", "Loft (°F)", "Cellar (°F)" and "Tunnel (°F)"'
)
REFUSED = {
    "no-time-column.csv": f': {NO_TIME} (got the columns "No", "Temp (°F)" and "RH"). {WITH_TIME}',
    "only-dates.csv": f': {NO_TIME} (got only dates, in the column "Date"). {WITH_TIME}',
    "only-times-of-day.csv": f': {NO_TIME} (got only times of day, in the column "Time"). {WITH_TIME}',
    "unreadable-times.csv": f', line 2, column Time: must be a date and time (got "hour 1"). {WITH_TIME}',
    "two-way-dates.csv": (
        ", line 2, column Time: must be a date that reads one way "
        '(got "03/04/2027": 2027-04-03 or 2027-03-04). '
        "Set day_first = true or false in the settings, or export it with the year first."
    ),
    "dates-of-both-orders.csv": (
        ': must have dates that all run one way (got "20/04/2027" and "04/20/2027"). '
        "Export it again with the year first, or with one order of day and month."
    ),
    "world-time.csv": f', line 2, column Time: {LOCAL} (got world time: "00:00:00Z"). {ZONE}',
    "changing-offsets.csv": (
        f', line 14, column Time: {LOCAL} (got offsets that change: "12:00:00-04:00"). {ZONE}'
    ),
    "in-the-future.csv": (
        ", line 60, column Time: must not lie in the future "
        "(got 2027-04-22 10:00; now it is 2027-04-21 09:00). "
        "Check the clock of the logger, the order of day and month, and --today."
    ),
    "no-temperature-column.csv": (
        ': must have a column of temperatures (got the columns "RH" and "Battery (V)"). '
        'Export it again, or name the column as probe = "…" under [coolers.barn] in tagmaker.toml.'
    ),
    "ten-probes.csv": (
        f": must have one column of temperatures (got 10: the columns {TEN}). "
        'Set probe = "Walk-in (°F)" or another under [coolers.barn] in tagmaker.toml.'
    ),
    "probes-in-rows.csv": (
        ": must be readings of one probe "
        '(got 3: "Walk-in", "Old fridge" and "Bulb room", in the column "Sensor"). '
        'Set probe = "Walk-in" or another under [coolers.barn] in tagmaker.toml.'
    ),
    "two-units.csv": (
        ', column Temp: must be in one unit (got "38.2 °F" and "3.4 °C"). Export it again in °F or in °C.'
    ),
    "celsius-without-unit.csv": (
        f", column Temp: {ONE_UNIT} (got 3.4 read as °F, because units in tagmaker.toml says so). "
        'Is it in °C? Then set log_units = "C" under [coolers.barn] in tagmaker.toml. '
        "Else name the log of a cooler."
    ),
    "fahrenheit-labelled-celsius.csv": (
        f", column Temp (°C): {ONE_UNIT} (got 38.2 read as °C, because the log says so). "
        "Is it in °F? Then export it again with the unit that it is in. Else name the log of a cooler."
    ),
    "all-values-missing.csv": (
        ": must have readings (got 24 rows, none of them with a temperature). "
        "Check the logger, and export it again."
    ),
    "header-only.csv": f": must have readings (got none below the header). {AGAIN}",
    "empty.csv": f": must be a thermometer log as csv, xlsx or ods (got an empty file). {AGAIN}",
    "decimal-commas-between-commas.csv": (
        ": must have as many cells in a row as in the header (got 2 titles and more cells below). "
        "If its numbers have decimal commas, export it with semicolons or tabs between the cells."
    ),
    "unclosed-quote.csv": (
        ": every quotation mark that opens a cell must have one that closes it (got one without). "
        "Close it, or take it out."
    ),
    "binary.csv": (
        ": must be a table saved as text (got bytes that are no text). "
        "Save it as csv with the encoding UTF-8."
    ),
    "pdf.csv": (
        ": must be a thermometer log as csv, xlsx or ods (got a PDF). "
        "Export the readings from the logger again, as csv."
    ),
}
READ = (
    "later-the-same-day.csv",
    "clock-runs-back.csv",
    "clock-was-reset.csv",
    "sentinels.csv",
    "jumps.csv",
    "decimal-commas.csv",
    "one-row.csv",
)
ELSEWHERE = ("no-unit.csv", "of-another-year.csv", "two-loggers-1.csv", "two-loggers-2.csv")


@pytest.mark.parametrize("name", REFUSED)
def test_a_faulty_log_is_refused(name: str) -> None:
    """The message says where, what it must be, what was found and what to do."""
    assert problems(LOGS, name, FARM) == [f"{name}{REFUSED[name]}"]


def test_every_faulty_log_has_its_test() -> None:
    """No file lies in the folder that nothing reads."""
    assert sorted([*REFUSED, *READ, *ELSEWHERE]) == sorted(path.name for path in LOGS.glob("*.csv"))


def test_the_page_of_faulty_logs_names_each() -> None:
    """The README of the folder says what is wrong with every file."""
    page = (LOGS / "README.md").read_text(encoding="utf-8")
    assert [path.name for path in LOGS.glob("*.csv") if f"`{path.name}`" not in page] == []


def test_a_unit_that_nothing_says_is_refused() -> None:
    """Without a unit in the log or the settings nothing is read, however plausible it would be."""
    assert problems(LOGS, "no-unit.csv") == [
        (
            "no-unit.csv, column Temp: must be in °F or °C "
            "(got no unit, neither in the log nor in the settings). "
            'Set log_units = "F" or "C" under [coolers.barn] in tagmaker.toml.'
        )
    ]


def test_log_units_that_contradict_the_log_are_refused() -> None:
    """Which of the two is right is not guessed."""
    assert problems(LOGS, "one-row.csv", log_units="C") == [
        (
            'tagmaker.toml, [coolers.barn]: log_units must agree with the log (got "C", '
            "and °F in one-row.csv). "
            "Take log_units out of [coolers.barn], or export the log again."
        )
    ]


def test_a_log_of_another_year_is_refused() -> None:
    """A log that ended half a year ago says nothing about the lots of this season."""
    assert problems(LOGS, "of-another-year.csv") == [
        (
            "tagmaker.toml, [coolers.barn]: log must be of this season (got "
            '"of-another-year.csv", whose last '
            "reading is of 2026-04-20). Export it again, or take log out of [coolers.barn]."
        )
    ]


def test_two_loggers_are_not_one() -> None:
    """Two files of the same days with other moments are not exports of one logger."""
    assert problems(LOGS, "two-loggers-*.csv") == [
        (
            "two-loggers-1.csv and two-loggers-2.csv: must be exports of one logger (got "
            "two that cover the same "
            "days at other moments). Name the exports of one logger in the settings of each cooler."
        )
    ]


def test_two_loggers_at_the_same_moments_are_not_one(tmp_path: Path) -> None:
    """Nor are two files with other temperatures at the same moments."""
    for number, degrees in enumerate((38, 41)):
        lines = [f"2027-04-{day:02} {hour:02}:00,{degrees}" for day in range(1, 11) for hour in range(24)]
        (tmp_path / f"{number}.csv").write_text("Time,Temp F\n" + "\n".join(lines), encoding="utf-8")
    assert problems(tmp_path, "*.csv") == [
        (
            "0.csv and 1.csv: must be the log of one thermometer (got two temperatures at "
            "240 of 240 moments). "
            "Name the exports of one logger, or its probe, in the settings of the cooler."
        )
    ]


CELLS = {
    key: f'lots.xlsx, sheet "Coolers", cell {letter}2'
    for key, letter in zip(COOLER_KEYS, "BCDEFGHIJK", strict=True)
}


@pytest.mark.parametrize(
    ("lines", "cooler", "said"),
    [
        (["Time,Temp", "2027-04-20 08:00,38"], {}, f"Set log_units = F or C in {CELLS['log_units']}."),
        (
            ["Time,Temp F", "2027-04-20 08:00,38"],
            {"log_units": "C"},
            f"Clear {CELLS['log_units']}, or export the log again.",
        ),
        (["Time,A (F),B (F)", "2027-04-20 08:00,38,39"], {}, f"or another in {CELLS['probe']}."),
        (["Time,A (F),B (F)", "2027-04-20 08:00,38,39"], {"probe": "C"}, f"{CELLS['probe']}: probe must be"),
        (["Time,Temp F", "2026-04-20 08:00,38"], {}, f"Export it again, or clear {CELLS['log']}."),
        (["Time,Temp", "2027-04-20 08:00,45"], {"log_units": "C"}, f"because {CELLS['log_units']} says so"),
    ],
)
def test_a_cooler_of_the_workbook_is_told_by_its_cells(
    tmp_path: Path, lines: list[str], cooler: dict[str, Any], said: str
) -> None:
    """What is to be changed stands in the sheet Coolers, and nobody is sent to a file that is not there."""
    (tmp_path / "log.csv").write_text("\n".join(lines) + "\n", encoding="utf-8")
    (told,) = problems(tmp_path, "log.csv", **cooler, cells=CELLS)
    assert said in told
    assert "tagmaker.toml" not in told


def test_a_log_that_is_not_there(tmp_path: Path) -> None:
    """A path or pattern that names nothing is a problem of the settings."""
    assert problems(tmp_path, "logs/*.csv") == [
        (
            'tagmaker.toml, [coolers.barn]: no such file: "logs/*.csv". '
            "Check the name, or take log out of [coolers.barn]."
        )
    ]


def test_a_folder_is_no_log(tmp_path: Path) -> None:
    """The remedy shows how to name what is inside it."""
    (tmp_path / "logs").mkdir()
    assert problems(tmp_path, "logs") == [
        (
            "logs: must be a thermometer log as csv, xlsx or ods (got a folder). "
            'Name the files inside it, like "logs/*.csv".'
        )
    ]


def test_all_faults_are_told_at_once(tmp_path: Path) -> None:
    """Faults of several files, and several of one file, come in one answer."""
    (tmp_path / "a.csv").write_text("No,Battery\n1,2.9\n2,2.9\n", encoding="utf-8")
    (tmp_path / "b.csv").write_text("Time,Temp\n2027-04-20T10:00Z,3.4\n", encoding="utf-8")
    assert [line.split(" (got")[0] for line in problems(tmp_path, "*.csv")] == [
        f"a.csv: {NO_TIME}",
        "a.csv: must have a column of temperatures",
        f"b.csv, line 2, column Time: {LOCAL}",
        "b.csv, column Temp: must be in °F or °C",
    ]


def test_a_probe_that_is_not_there() -> None:
    """The settings name a probe: what there is to choose from is listed."""
    assert problems(LOGS, "ten-probes.csv", probe="Attic") == [
        (
            "tagmaker.toml, [coolers.barn]: probe must be a column of the log (got "
            '"Attic": ten-probes.csv has '
            f"the columns {TEN}). Write the title of the column with its temperature."
        )
    ]


def test_two_columns_of_numbers_without_titles(tmp_path: Path) -> None:
    """Columns without a title go by their letters."""
    assert problems_of_text(tmp_path, ["2027-04-20 10:00,38,91", "2027-04-20 10:10,39,92"], FARM) == [
        (
            "log.csv: must have one column of temperatures (got 2: column B and column C). "
            'Set probe = "column B" or another under [coolers.barn] in tagmaker.toml.'
        )
    ]


def test_quantities_in_rows(tmp_path: Path) -> None:
    """Where each row names its quantity, the settings say which one counts."""
    lines = ["Time,Parameter,Value", "2027-04-20 10:00,Temperature,38", "2027-04-20 10:00,Humidity,91"]
    assert problems_of_text(tmp_path, lines, FARM) == [
        (
            'log.csv: must be readings of one probe (got 2: "Temperature" and "Humidity", in the column '
            '"Parameter"). Set probe = "Temperature" or another under [coolers.barn] in tagmaker.toml.'
        )
    ]
    assert problems_of_text(tmp_path, lines, FARM, probe="temperature") == []


def test_dates_a_month_apart_are_of_the_other_order(tmp_path: Path) -> None:
    """A log that would hold one day a month by the order of the settings is not read so."""
    lines = [f"04/0{day}/2027 12:00,38" for day in range(1, 5)]
    assert problems_of_text(tmp_path, ["Time,Temp", *lines], make_farm(day_first=True)) == [
        (
            "log.csv, line 2, column Time: must be a date in the order of day_first = true "
            '(got "04/01/2027" and '
            "others a month apart). The logger writes the other order: export it with the year first."
        )
    ]


def test_readings_later_the_same_day_are_set_aside() -> None:
    """A clock a little ahead does not stop the work; what lies after now does not count."""
    readings = read(LOGS, "later-the-same-day.csv")
    assert (times(readings)[-1], readings.set_aside) == ("04-21 09:00", {SetAside.LATER_TODAY: 14})


def test_nothing_but_later_readings(tmp_path: Path) -> None:
    """A log that holds only what is still to come has no reading left."""
    assert problems_of_text(tmp_path, ["Time,Temp F", "2027-04-21 18:00,38"]) == [
        (
            "tagmaker.toml, [coolers.barn]: log must have readings up to now, 2027-04-21 09:00 "
            "(got 1 later today). "
            "Export it again, or take log out of [coolers.barn]."
        )
    ]


def test_a_clock_that_runs_back_keeps_the_order() -> None:
    """In the hour that comes twice, each moment stands once and the warmer reading counts."""
    readings = read(LOGS, "clock-runs-back.csv")
    assert readings.set_aside == {SetAside.SAME_MOMENT: 4}
    assert fahrenheit(readings) == [38.0] * 8 + [39.0] * 12
    assert list(readings.moments) == sorted(set(readings.moments))


def test_a_clock_that_was_reset() -> None:
    """Readings of a first day years ago are set aside and counted."""
    readings = read(LOGS, "clock-was-reset.csv")
    assert (times(readings)[0], readings.set_aside) == ("04-20 00:00", {SetAside.TOO_OLD: 4})


def test_sentinels_are_set_aside() -> None:
    """What loggers write in place of a reading never counts as a temperature."""
    readings = read(LOGS, "sentinels.csv")
    assert readings.set_aside == {SetAside.NO_READING: 3, SetAside.OUT_OF_RANGE: 4}
    assert (len(readings.t_c), max(fahrenheit(readings))) == (17, 39.1)


def test_impossible_jumps_are_set_aside() -> None:
    """Up and back, or down and back, within half an hour and by more than 20 °C is a fault."""
    readings = read(LOGS, "jumps.csv")
    assert readings.set_aside == {SetAside.JUMP: 3}
    assert (min(fahrenheit(readings)), max(fahrenheit(readings))) == (37.9, 39.1)


def test_a_warm_spell_is_no_jump(tmp_path: Path) -> None:
    """A rise that stays, and a door that stood open, are kept: they are what the log is for."""
    rise = [4.0] * 6 + [27.0] * 6
    lines = [f"2027-04-20 {10 + i // 6}:{i % 6}0,{t}" for i, t in enumerate(rise)]
    assert problems_of_text(tmp_path, ["Time,Temp C", *lines]) == []
    readings = read(tmp_path, "log.csv")
    assert (readings.t_c, readings.set_aside) == (tuple(rise), {})


def test_unreadable_times_are_counted(tmp_path: Path) -> None:
    """A line at the foot, or a time that is none, is set aside as long as most rows have one."""
    lines = ["2027-04-20 10:00,38", "2027-04-20 11:00,39", "2027-13-45 12:00,39", "2027-04-20 12:00,40"]
    assert problems_of_text(tmp_path, ["Time,Temp F", *lines, "end of data,4"]) == []
    readings = read(tmp_path, "log.csv")
    assert (len(readings.moments), readings.set_aside) == (3, {SetAside.NO_TIME: 2})


def test_five_million_rows_are_refused_without_being_read(tmp_path: Path) -> None:
    """The lines are counted a part at a time: the limit is said, and memory stays small."""
    block = b"2027-04-20 10:00,38\n" * 100_000
    with (tmp_path / "log.csv").open("wb") as file:
        file.write(b"Time,Temp F\n")
        for _ in range(50):
            file.write(block)
    tracemalloc.start()
    told = problems(tmp_path, "log.csv")
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    assert told == [
        (
            "log.csv: must be at most 2,000,000 rows, all files of a cooler together (got more). "
            "Export fewer days at once, or one reading every five minutes."
        )
    ]
    assert (MOST_ROWS, peak < 10_000_000) == (2_000_000, True)  # the file has 100 MB


def days_of(*middles: float, start: int = 10, every: int = 1) -> list[str]:
    """Rows of whole days that hold one temperature each, give or take half a degree."""
    return [
        f"2027-04-{start + day:02} {hour:02}:00,{middle + hour % 2 / 2}"
        for day, middle in enumerate(middles)
        for hour in range(0, 24, every)
    ]


def test_a_log_that_turns_to_celsius_half_way_is_refused(tmp_path: Path) -> None:
    """38 °F that go on as 3.4 are named in the row where they change, and not taken for a frost."""
    lines = ["Time,Temp", *days_of(38, 38, 38, 3.4, 3.4)]
    assert problems_of_text(tmp_path, lines, FARM) == [
        (
            "log.csv, line 74, column Temp: must stay in one unit (got 3.4 after 38.5, both read as °F). "
            "Export the days before and after it apart, each with its unit."
        )
    ]


def test_a_log_that_turns_to_fahrenheit_half_way_is_refused(tmp_path: Path) -> None:
    """3.4 °C that go on as 38 are no heat of 38 °C: no air leaps so far from one reading to the next."""
    lines = ["Time,Temp (°C)", *days_of(3.4, 3.4, 3.4, 38, 38)]
    assert [line.split(" (got")[0] for line in problems_of_text(tmp_path, lines)] == [
        "log.csv, line 74, column Temp (°C): must stay in one unit"
    ]


def test_a_day_in_the_other_unit_at_the_beginning(tmp_path: Path) -> None:
    """The rest of the log says which unit fits; where it changes is where the rest begins."""
    lines = ["Time,Temp", *days_of(3.4, 38, 38, 38)]
    assert [line.split(" (got")[0] for line in problems_of_text(tmp_path, lines, FARM)] == [
        "log.csv, line 26, column Temp: must stay in one unit"
    ]


def test_a_cooler_that_grew_hot_for_days_is_read(tmp_path: Path) -> None:
    """It broke in a hot week: the air rose hour by hour, and no unit has changed."""
    rise = [f"2027-04-12 {hour:02}:00,{4 + 1.4 * hour:.1f}" for hour in range(24)]
    lines = ["Time,Temp (°C)", *days_of(4, 4), *rise, *days_of(37, start=13)]
    readings = problems_of_text(tmp_path, lines)
    assert readings == []
    assert max(read(tmp_path, "log.csv").t_c) == 37.5


@pytest.mark.parametrize("every", [60, 10])
def test_one_hot_reading_among_cool_ones_is_set_aside(tmp_path: Path, every: int) -> None:
    """43 °C once between two readings of 4 °C is a probe in somebody's hand, however seldom it is read."""
    rows = [f"2027-04-20 {m // 60:02}:{m % 60:02},{43 if m == 120 else 4}" for m in range(0, 360, every)]
    assert problems_of_text(tmp_path, ["Time,Temp C", *rows]) == []
    readings = read(tmp_path, "log.csv")
    assert (max(readings.t_c), sum(readings.set_aside.values())) == (4.0, 1)


def test_two_hot_readings_are_heat(tmp_path: Path) -> None:
    """Two in a row count, and so does the last one, of which nobody knows what followed."""
    rows = [f"2027-04-20 {hour:02}:00,{t}" for hour, t in enumerate([4, 4, 43, 43, 4, 4, 43])]
    assert problems_of_text(tmp_path, ["Time,Temp C", *rows]) == []
    readings = read(tmp_path, "log.csv")
    assert (readings.t_c.count(43.0), readings.set_aside) == (3, {})


def test_a_file_without_a_row_among_others(tmp_path: Path) -> None:
    """The others are read; which one gave nothing is told with them."""
    (tmp_path / "a.csv").write_text("Time,Temp F\n2027-04-20 10:00,38\n", encoding="utf-8")
    (tmp_path / "b.csv").write_text("Time,Temp F\n", encoding="utf-8")
    readings = read(tmp_path, "*.csv")
    assert fahrenheit(readings) == [38.0]
    assert [str(problem) for problem in readings.empty] == [
        f"b.csv: must have readings (got none below the header). {AGAIN}"
    ]


@pytest.mark.parametrize("log", ["nothing.csv", "empty.csv", "header-only.csv"])
def test_a_log_without_a_row_can_be_told_from_a_faulty_one(log: str) -> None:
    """It leaves the cooler unread, and stops nothing else."""
    with pytest.raises(NoRowsError):
        read(LOGS, log, FARM)


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="this system has no such pipes")
def test_a_pipe_is_no_log(tmp_path: Path) -> None:
    """Nobody waits for what may never come."""
    os.mkfifo(tmp_path / "log.csv")
    assert problems(tmp_path, "log.csv") == [
        (
            "log.csv: must be a thermometer log as csv, xlsx or ods (got a pipe or a device). "
            "Name a file on the disk."
        )
    ]
    assert [line.split('"')[0] for line in problems(tmp_path, "*.csv")] == [
        "tagmaker.toml, [coolers.barn]: no such file: "
    ]


def test_a_glob_that_looks_at_everything_is_refused(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A pattern is followed through so many names and no further."""
    monkeypatch.setattr("tagmaker.intake.log.finding.MOST_LOOKED_AT", 20)
    for folder in range(5):
        (tmp_path / f"{folder}").mkdir()
        for number in range(5):
            (tmp_path / f"{folder}" / f"{number}.csv").write_text("Time,Temp F\n", encoding="utf-8")
    assert [line.split(" (got")[0] for line in problems(tmp_path, "**/*.csv")] == [
        "tagmaker.toml, [coolers.barn]: log must name at most 1,000 files among 20 names"
    ]
    assert [line.split(":")[0] for line in problems(tmp_path, "3/*.csv")] == [f"3/{n}.csv" for n in range(5)]
