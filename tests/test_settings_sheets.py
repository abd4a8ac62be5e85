"""Settings as sheets of the workbook: what each becomes, and what is said about a wrong cell."""

from __future__ import annotations

import tempfile
from datetime import date, datetime, time, timedelta
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tagmaker.desk.season import Day, read_season
from tagmaker.errors import InputProblems
from tagmaker.farm import CARD_NAMES, EVERY_DAY, Farm
from tagmaker.intake.cells.plain_text import squash, tidy
from tagmaker.intake.lots.sheet import read_lots
from tagmaker.intake.opening import open_season
from tagmaker.intake.settings.cells import cell_value, plain_value
from tagmaker.intake.settings.farm import read_settings, settings_beside
from tagmaker.intake.settings.keys import COOLER_KEYS, FARM_KEYS, FILE_ALONE, USE_KEYS, USUAL_COLUMNS
from tagmaker.paper.names import name_problems
from tagmaker.paper.press.fonts import typeface
from tagmaker.paper.stock.label_stock import label_stock
from tagmaker.storage.crops import crop_table
from tests.served import Served
from tests.settings_sheets import Cells, in_toml, sheets_of, toml_of, workbook
from tests.small_sheets import NOW

DAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
LETTERS = st.characters(codec="utf-8", categories=("L", "N"))
WORDS = (
    st.text(st.one_of(LETTERS, st.sampled_from(" -&'%é.")), min_size=1, max_size=20)
    .map(tidy)
    .filter(lambda text: squash(text) and any(letter.isalpha() for letter in text) and text[0] not in "-'")
)
NAMES = WORDS.filter(lambda text: squash(text) != "out")
QUARTERS = st.integers(0, 95).map(lambda quarter: f"{quarter // 4:02}:{quarter % 4 * 15:02}")
HOURS = st.one_of(QUARTERS, st.times().map(lambda hour: hour.replace(microsecond=0)))
WORKDAYS = st.tuples(QUARTERS, QUARTERS).filter(lambda pair: pair[0] < pair[1]).map(list)
YEAR = st.dates(date(2026, 1, 1), date(2028, 12, 31))
SELLING = st.lists(
    st.one_of(st.sampled_from(DAYS), YEAR.map(date.isoformat)), min_size=1, max_size=4, unique=True
)


def degrees(least: float, most: float) -> st.SearchStrategy[object]:
    """A temperature within limits [°C], with its unit or a bare number of the farm's."""
    in_f = st.integers(int(least * 1.8 + 33), int(most * 1.8 + 31))
    in_c = st.integers(int(least * 10), int(most * 10)).map(lambda tenths: f"{tenths / 10:g} °C")
    return st.one_of(in_f, in_f.map(lambda figure: f"{figure}F"), in_c)


ROOM = st.one_of(st.integers(1, 500), st.integers(1, 400).map(lambda quarters: quarters / 4))
FARM = {
    "farm": WORDS,
    "units": st.just("F"),  # said, so that bare numbers have one
    "day_first": st.booleans(),
    "timezone": st.sampled_from(["Europe/Dublin", "America/Los_Angeles"]),
    "basis": st.sampled_from(["practice", "early", "cautious"]),
    "link": st.sampled_from(["https://example.org/l/{lot}", "HTTP://10.0.0.5:8008/L/{lot}?row={row}"]),
    "paper_size": st.sampled_from(["letter", "a4"]),
    "label_stock": st.sampled_from(["letter-3x10", "a4-3x7"]),
    "crate_card": st.sampled_from(CARD_NAMES),
    "workday": WORKDAYS,
    "days_off": st.lists(st.sampled_from(DAYS), min_size=1, max_size=6, unique=True),
    "field_temperature": st.one_of(degrees(-9, 44), st.lists(degrees(-9, 44), min_size=12, max_size=12)),
    "room_temperature": degrees(6, 39),
    "half_cooling": st.integers(1, 190).map(lambda quarters: quarters / 4),
}
USE = {
    "vase_days": st.integers(1, 120).map(lambda halves: halves / 2),
    "days": SELLING,
    "leaves": HOURS,
    "open": st.booleans(),
    "stems": st.integers(1, 20_000),
    "must": st.booleans(),
}
COOLER = {
    "set_point": degrees(-4, 19),
    "trusted": st.booleans(),
    "log": st.sampled_from(["logs/walk-in*.csv", "logs/a b & c.xlsx"]),
    "probe": WORDS,
    "log_units": st.sampled_from(["F", "C"]),
    "offset": st.one_of(st.integers(-8, 8), st.sampled_from(["-0.5F", "0.3 C"])),
    "crates": ROOM,
    "buckets": ROOM,
    "shared": st.booleans(),
    "soak": st.sampled_from(["inside", "outside"]),
}
SETTINGS = st.tuples(
    st.fixed_dictionaries(
        {"units": FARM["units"]}, optional={key: FARM[key] for key in FARM if key != "units"}
    ),
    st.dictionaries(st.sampled_from(USUAL_COLUMNS), WORDS, max_size=4),
    st.dictionaries(
        NAMES,
        st.fixed_dictionaries(
            {"vase_days": USE["vase_days"]}, optional={key: USE[key] for key in USE if key != "vase_days"}
        ),
        max_size=3,
    ),
    st.dictionaries(
        NAMES,
        st.fixed_dictionaries(
            {"set_point": COOLER["set_point"]},
            optional={key: COOLER[key] for key in COOLER if key != "set_point"},
        ),
        max_size=3,
    ),
).filter(lambda said: all(len({squash(name) for name in table}) == len(table) for table in said[2:]))


def farm_of(folder: Path, **sheets: Cells) -> Farm:
    """The farm of a workbook."""
    return settings_beside(workbook(folder / "lots.xlsx", sheets))


def problems_of(folder: Path, **sheets: Cells) -> list[str]:
    """What is said about the settings of a workbook."""
    with pytest.raises(InputProblems) as caught:
        farm_of(folder, **sheets)
    return [str(problem) for problem in caught.value.problems]


def farm_sheet(**keys: object) -> Cells:
    """A sheet Farm of some keys."""
    return [["key", "value"], *([key.replace("_", " "), value] for key, value in keys.items())]


def test_every_key_of_the_three_sheets_is_tried() -> None:
    """Below, each key that is no matter of the file alone has its values."""
    assert (tuple(FARM), tuple(USE), tuple(COOLER)) == (FARM_KEYS, USE_KEYS, COOLER_KEYS)


@pytest.mark.slow
@settings(max_examples=40, deadline=None)
@given(said=SETTINGS)
def test_sheets_and_file_give_the_same_farm(said: tuple[dict[str, object], ...]) -> None:
    """Whatever the settings are, typed into cells they make the farm that the settings file makes of them."""
    with tempfile.TemporaryDirectory() as place:
        of_file, of_sheets = Path(place, "file"), Path(place, "sheets")
        of_file.mkdir()
        of_sheets.mkdir()
        (of_file / "tagmaker.toml").write_text(toml_of(*said), encoding="utf-8")  # type: ignore[arg-type]
        book = workbook(of_sheets / "lots.xlsx", sheets_of(*said))  # type: ignore[arg-type]
        expected = read_settings(of_file / "tagmaker.toml")
        assert settings_beside(book) == expected
        (of_sheets / "tagmaker.toml").write_text(toml_of(*said), encoding="utf-8")  # type: ignore[arg-type]
        assert settings_beside(book) == expected  # both say the same


@settings(max_examples=150)
@given(st.data())
def test_what_start_types_reads_back(data: st.DataObject) -> None:
    """A value of the settings file, typed into a cell as `start` does it, is that value again."""
    key = data.draw(st.sampled_from([*FARM, *USE, *COOLER]))
    value = data.draw({**FARM, **USE, **COOLER}[key])
    cell = cell_value(key, value)
    read = plain_value(key, cell, str(cell))
    words = [f"{entry}" for entry in value] if isinstance(value, list) else value
    assert read in (value, words, f"{value:%H:%M}" if isinstance(value, time) else value)


@pytest.mark.parametrize(
    ("value", "hour"),
    [
        (time(6, 30), time(6, 30)),
        (timedelta(hours=6.5), time(6, 30)),
        ("6:30", time(6, 30)),
        ("06:30", time(6, 30)),
    ],
)
def test_hours_as_spreadsheets_keep_them(tmp_path: Path, value: object, hour: time) -> None:
    """An hour is an hour, formatted as one or typed as text."""
    farm = farm_of(tmp_path, Uses=[["use", "vase days", "leaves"], ["stall", 4, value]])
    assert farm.uses["stall"].leaves == hour


@pytest.mark.parametrize(
    ("value", "days", "dates"),
    [
        ("Sat", {5}, set()),
        ("Wednesdays and Sat", {2, 5}, set()),
        ("Mon-Fri", {0, 1, 2, 3, 4}, set()),
        ("Fri to Mon", {4, 5, 6, 0}, set()),
        ("every day", EVERY_DAY, set()),
        ("", EVERY_DAY, set()),
        (datetime(2027, 5, 8), set(), {date(2027, 5, 8)}),
        ("2027-05-08; Sat / 2027-05-12", {5}, {date(2027, 5, 8), date(2027, 5, 12)}),
    ],
)
def test_days_as_growers_type_them(tmp_path: Path, value: object, days: set[int], dates: set[date]) -> None:
    """Weekdays, spans of them and dates, in one cell; blank is every day."""
    use = farm_of(tmp_path, Uses=[["use", "vase days", "days"], ["stall", 4, value]]).uses["stall"]
    assert (set(use.days), set(use.dates)) == (set(days), dates)


def test_quotes_of_the_file_do_no_harm(tmp_path: Path) -> None:
    """Who copies a line of the settings file into a cell, quotes and all, is understood."""
    farm = farm_of(tmp_path, Farm=farm_sheet(units='"F"', farm='"Larkmarrow Yard"'))
    assert (farm.units, farm.name) == ("F", "Larkmarrow Yard")


def test_names_and_headers_in_any_case(tmp_path: Path) -> None:
    """Sheets, keys and headers are found without case and punctuation, under a title too; notes are free."""
    farm = farm_of(
        tmp_path,
        farm=[["Our farm"], ["Key", "VALUE", "what it means", "by whom"], ["Day first", "Yes", "", "Ada"]],
        COOLERS=[["Cooler", "Set-point", "Note"], ["barn", "36F", "noisy"], [None, None, None]],
    )
    assert farm.day_first is True
    assert [cooler.name for cooler in farm.coolers.values()] == ["barn"]


FAULTS: dict[str, tuple[dict[str, Cells], list[str]]] = {
    "a wrong word": (
        {"Farm": farm_sheet(units="Kelvin")},
        ['sheet "Farm", cell B2: units must be F or C (got "Kelvin"). Write one of them.'],
    ),
    "a number that is none": (
        {"Uses": [["use", "vase days"], ["shop", "four"]]},
        [
            (
                'sheet "Uses", cell B2: vase_days must be a number from 0.5 to 60 days (got "four"). '
                "Write a number within these limits."
            )
        ],
    ),
    "thousands": (
        {"Uses": [["use", "vase days", "stems"], ["shop", 4, "2.000"]]},
        [
            (
                'sheet "Uses", cell C2: stems must be a whole number from 1 to 20,000 (got "2.000"). '
                "Write a number within these limits."
            )
        ],
    ),
    "a name that is missing": (
        {"Uses": [["use", "vase days"], [None, 4]]},
        ['sheet "Uses", cell A2: use must be given (got nothing). Write its name, or clear the row.'],
    ),
    "a promise that is missing": (
        {"Uses": [["use", "vase days", "days"], ["shop", None, "Sat"]]},
        [
            (
                'sheet "Uses", cell B2: vase_days must be given (got nothing). '
                "Write the vase days that it promises."
            )
        ],
    ),
    "a promise without a column": (
        {"Uses": [["use", "days"], ["shop", "Sat"]]},
        ['sheet "Uses", row 2: vase_days must be given (got nothing). Write the vase days that it promises.'],
    ),
    "no unit": (
        {"Coolers": [["cooler", "set point"], ["barn", 39]]},
        [
            (
                'sheet "Coolers", cell B2: set_point must have a unit (got "39"). '
                "Write 39F or 39C, or set units to F or C in the sheet Farm."
            )
        ],
    ),
    "neither yes nor no": (
        {"Coolers": [["cooler", "shared"], ["barn", "perhaps"]]},
        ['sheet "Coolers", cell B2: shared must be yes or no (got "perhaps"). Write yes or no.'],
    ),
    "trusted without a set point": (
        {"Coolers": [["cooler", "trusted"], ["barn", "yes"]]},
        [
            (
                'sheet "Coolers", cell B2: trusted must stand beside a set_point (got "yes"). '
                "Give the set_point that was checked."
            )
        ],
    ),
    "a name twice": (
        {"Coolers": [["cooler"], ["walk-in"], ["Walk in"]]},
        [
            (
                'sheet "Coolers", cell A3: the name must differ from "walk-in" in more than case, spaces and '
                'punctuation (got "Walk in"). Choose another name.'
            )
        ],
    ),
    "a name that means something else": (
        {"Coolers": [["cooler"], ["out"]]},
        [
            (
                'sheet "Coolers", cell A2: the name must not be "out", which stands for outside any cooler '
                '(got "out"). Choose another name.'
            )
        ],
    ),
    "a column that is not known": (
        {"Coolers": [["cooler", "crate"], ["barn", 3]]},
        ['sheet "Coolers", cell B1: must be a known column (got "crate"). The nearest is crates.'],
    ),
    "a column without a title": (
        {"Coolers": [["cooler", None], ["barn", 3]]},
        [
            (
                'sheet "Coolers", cell B1: must be a known column (got nothing). Columns: cooler, set_point, '
                "trusted, log, probe, log_units, offset, crates, buckets, shared, soak and note."
            )
        ],
    ),
    "a column twice": (
        {"Coolers": [["cooler", "crates", "Crates"], ["barn", 3, 4]]},
        ['sheet "Coolers", cell C1: Crates must be one column (got it again). Delete one of the two.'],
    ),
    "a key that is not known": (
        {"Farm": farm_sheet(unit="F")},
        ['sheet "Farm", cell A2: key must be a known key (got "unit"). The nearest known key is units.'],
    ),
    "a key of the file": (
        {"Farm": farm_sheet(printers="shed")},
        [
            (
                'sheet "Farm", cell A2: key must be a known key (got "printers"). '
                "Write it into tagmaker.toml; it is no key of this sheet."
            )
        ],
    ),
    "a key of another sheet": (
        {"Farm": farm_sheet(coolers="walk-in")},
        [
            (
                'sheet "Farm", cell A2: key must be a known key (got "coolers"). '
                "Write a row for each into the sheet Coolers."
            )
        ],
    ),
    "a key twice": (
        {"Farm": [["key", "value"], ["units", "F"], ["Units", "C"]]},
        [
            (
                'sheet "Farm", cell A3: Units must stand once with a value (got it again). '
                "Clear one of the two values."
            )
        ],
    ),
    "hours": (
        {"Farm": farm_sheet(workday="8 to 6")},
        [
            'sheet "Farm", cell B2: workday must be an hour of the day (got "8 to 6"). Write it like 06:30.',
        ],
    ),
    "days": (
        {"Uses": [["use", "vase days", "days"], ["stall", 4, "Sat, Snu"]]},
        [
            (
                'sheet "Uses", cell C2: days must be days of the week or dates (got "Sat, Snu"). '
                "Write it like Wed, 2027-05-08."
            )
        ],
    ),
    "no header": (
        {"Uses": [["shop", 4]]},
        [
            (
                'sheet "Uses": must have a header with use (got none). '
                "Write it above the rows, or give the sheet another name."
            )
        ],
    ),
    "all at once": (
        {"Farm": farm_sheet(units="K", basis="late"), "Coolers": [["cooler", "crates"], ["barn", 0]]},
        [
            'sheet "Farm", cell B2: units must be F or C (got "K"). Write one of them.',
            (
                'sheet "Coolers", cell B2: crates must be a number from 0.25 to 10000 (got "0"). '
                "Write a number within these limits."
            ),
            (
                'sheet "Farm", cell B3: basis must be practice, early or cautious (got "late"). '
                "Write one of them."
            ),
        ],
    ),
}


@pytest.mark.parametrize("fault", FAULTS)
def test_faults_are_named_by_their_cell(tmp_path: Path, fault: str) -> None:
    """What must be, what was found and what to do, in the words of a spreadsheet."""
    sheets, said = FAULTS[fault]
    assert problems_of(tmp_path, **sheets) == [f"lots.xlsx, {line}" for line in said]


def test_a_formula_without_a_result_is_a_fault(tmp_path: Path) -> None:
    """Nothing is guessed where the file does not hold what the formula gives."""
    (said,) = problems_of(tmp_path, Coolers=[["cooler", "set point"], ["barn", "=A9+1"]])
    assert said.startswith(
        'lots.xlsx, sheet "Coolers", cell B2: set_point must be a temperature (got a formula'
    )


def test_where_sheet_and_file_differ_both_are_named(tmp_path: Path) -> None:
    """A key, a usual cell and a cooler's key that both say otherwise; what one alone says counts."""
    (tmp_path / "tagmaker.toml").write_text(
        'units = "C"\nbasis = "early"\nprinter = "shed"\n[printers.shed]\n[usual]\nstage = "tight"\n'
        '[coolers.Barn]\nset_point = "39F"\ncrates = 3\n[coolers.porch]\nset_point = "41F"\n',
        encoding="utf-8",
    )
    barn: Cells = [["cooler", "set point"], ["barn", 36]]
    said = problems_of(tmp_path, Farm=farm_sheet(units="F", usual_stage="half"), Coolers=barn)
    where = [line.removeprefix("lots.xlsx, sheet ").split(" Clear")[0] for line in said]
    same = "must be the same as in tagmaker.toml"
    assert where == [
        f'"Farm", cell B2: units {same} (got "F" here, and "C" there).',
        f'"Coolers", cell B2: set_point {same}, [coolers."Barn"] (got "36" here, and "39F" there).',
        f'"Farm", cell B3: stage {same}, [usual] (got "half" here, and "tight" there).',
    ]
    assert all(line.endswith("Clear the cell, or take the key out of the file.") for line in said)
    farm = farm_of(tmp_path, Farm=farm_sheet(units="C"), Coolers=[["cooler", "set point"], ["barn", "39 F"]])
    assert [(cooler.name, cooler.crates) for cooler in farm.coolers.values()] == [
        ("barn", 3.0),
        ("porch", None),
    ]
    assert (farm.units, farm.basis, farm.printer, dict(farm.usual)) == (
        "C",
        "early",
        "shed",
        {"stage": "tight"},
    )


def test_a_usual_word_that_no_cell_may_hold_is_named_by_its_cell(tmp_path: Path) -> None:
    """It is judged with the cells of the lots, and found where it stands."""
    path = workbook(tmp_path / "lots.xlsx", {"Farm": farm_sheet(usual_stage="tihgt")})
    with pytest.raises(InputProblems) as caught:
        read_lots(path, settings_beside(path), crop_table(), NOW)
    (problem,) = caught.value.problems
    assert problem.where == 'lots.xlsx, sheet "Farm", cell B2'
    assert problem.what.startswith("stage must be green, tight")


def test_a_workbook_of_a_spreadsheet_program(repository: Path, tmp_path: Path) -> None:
    """ods as a spreadsheet program saves it: the same farm, and the same cells in what is wrong."""
    book = tmp_path / "lots.ods"
    book.write_bytes((repository / "tests" / "data" / "settings.ods").read_bytes())
    farm = settings_beside(book)
    assert (farm.name, farm.units, farm.workday.opens) == ("Larkmarrow Yard", "F", time(7, 30))
    assert (farm.coolers["walk-in"].crates, farm.uses["stall"].leaves) == (24.0, time(6, 30))
    assert farm.uses["stall"].dates == {date(2027, 5, 8)}
    (tmp_path / "tagmaker.toml").write_text('units = "C"\n', encoding="utf-8")
    with pytest.raises(InputProblems, match=r'lots.ods, sheet "Farm", cell B3: units must be the'):
        settings_beside(book)


def test_with_csv_the_file_stays(tmp_path: Path) -> None:
    """A text file carries no settings; those of the file count."""
    (tmp_path / "lots.csv").write_text("lot,crop,cut\n041,tulip,2027-03-22\n", encoding="utf-8")
    (tmp_path / "tagmaker.toml").write_text('units = "C"\n', encoding="utf-8")
    opened = open_season(tmp_path / "lots.csv")
    assert (opened.farm.units, len(opened.sheet().rows)) == ("C", 1)


@pytest.mark.parametrize("share", [0.2, 0.5, 0.9, 0.999])
def test_of_half_a_workbook_nothing_counts(tmp_path: Path, share: float) -> None:
    """A workbook that was cut off while it was saved gives neither settings nor rows."""
    book = workbook(tmp_path / "lots.xlsx", {"Farm": farm_sheet(units="F")})
    content = book.read_bytes()
    book.write_bytes(content[: int(len(content) * share)])
    with pytest.raises(InputProblems):
        settings_beside(book)
    with pytest.raises(InputProblems):
        open_season(book).sheet()


def test_what_is_found_wrong_later_is_named_by_its_cell(tmp_path: Path) -> None:
    """Labels that nobody knows, a log that is not there, and a name that no font has."""
    (tmp_path / "tagmaker.toml").write_text('units = "F"\n[coolers.porch]\nlog = "b.csv"\n', encoding="utf-8")
    coolers = [["cooler", "log"], ["walk-in", "a.csv"]]
    farm = farm_of(tmp_path, Farm=farm_sheet(label_stock="jars", farm="\U0001f337 Yard"), Coolers=coolers)
    with pytest.raises(InputProblems, match=r'lots.xlsx, sheet "Farm", cell B2: label_stock must be one of'):
        label_stock(farm)
    season = read_season(tmp_path / "lots.xlsx", Day(NOW.date(), NOW))
    assert [problem.where for problem in season.remarks if "no such file" in problem.what] == [
        'lots.xlsx, sheet "Coolers", cell B2',
        "tagmaker.toml, [coolers.porch]",
    ]
    with typeface(farm.fonts):
        (problem,) = name_problems(["buyers"], [], farm, {"buyers": ()})
    assert problem.where == 'lots.xlsx, sheet "Farm", cell B3'


def test_the_pages_follow_the_sheets_of_settings(tmp_path: Path) -> None:
    """A farm's name typed into the workbook is there; of a half-saved or faulty one nothing is taken over."""
    book = workbook(tmp_path / "lots.xlsx", {"Farm": farm_sheet(farm="Larkmarrow Yard", units="F")})
    served = Served(book)
    assert "Larkmarrow Yard" in served.text("/")
    workbook(book, {"Farm": farm_sheet(farm="Larkmarrow South", units="K")})
    served.later()
    faulty = served.text("/")
    assert ("Larkmarrow South" in faulty, "Larkmarrow Yard" in faulty) == (False, True)
    assert "cell B3: units must be F or C" in faulty
    workbook(book, {"Farm": farm_sheet(farm="Larkmarrow South", units="F")})
    whole = book.read_bytes()
    book.write_bytes(whole[: len(whole) // 2])
    served.later()
    assert ("Larkmarrow South" in served.text("/"), "Larkmarrow Yard" in served.text("/")) == (False, True)
    book.write_bytes(whole)
    served.later()
    assert "Larkmarrow South" in served.text("/")


def test_what_stays_in_the_file_is_a_setting_there() -> None:
    """Printers, stocks, fonts, crops and columns are written as TOML, and nowhere else."""
    assert {in_toml(key) for key in FILE_ALONE} & {in_toml(key) for key in FARM_KEYS} == set()
