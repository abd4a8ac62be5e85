"""Any text in any cell: an answer, never a traceback."""

from __future__ import annotations

import csv
import io
from collections.abc import Callable

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tagmaker.errors import InputProblems
from tagmaker.intake.columns import NAMES
from tagmaker.intake.files.grid import CellValue, Grid
from tagmaker.intake.files.survey import UNCALCULATED
from tagmaker.intake.files.text_file import read_text
from tagmaker.intake.lots.sheet import lots_of, read_lots, rows_in
from tagmaker.intake.settings.farm import read_settings
from tagmaker.intake.settings.keys import KEYS
from tagmaker.storage.crops import crop_table
from tests.small_sheets import NOW, SETTINGS

pytestmark = pytest.mark.slow

# Pieces that cells are made of, so that the search comes close to sense.
PIECES = (
    "2027-04-10|2027-03-22|05/06/2027|25.03.2027|46468|T07:00|7:30|am|pm|x|×|*|;|,|-|.|100|0|-1|12|1.5|75F|"
    "24°C|all|bunches|stems|event|stall|shop|barn|out|tulip|double|on|off|dry|water|wet|open|tight|041|042|\n"
)
TEXT = st.one_of(st.text(max_size=30), st.lists(st.sampled_from(PIECES.split("|")), max_size=6).map(" ".join))
VALUE: st.SearchStrategy[CellValue] = st.one_of(
    TEXT,
    st.none(),
    st.booleans(),
    st.integers(),
    st.floats(),
    st.datetimes(),
    st.dates(),
    st.times(),
    st.timedeltas(),
    st.just(UNCALCULATED),
)
ROW = st.lists(VALUE, min_size=len(NAMES), max_size=len(NAMES)).map(tuple)
TOML_VALUES = [
    "1",
    "-3.5",
    "true",
    '"x"',
    '""',
    "[]",
    "[1, 2]",
    '["08:00", "09:00"]',
    "{}",
    "{ a = 1 }",
    "{ a = {} }",
    "07:30:00",
    "2027-03-22",
    "inf",
    "nan",
    '"75F"',
    '"{lot}"',
    '["Sat"]',
    "{ b = { vase_days = 1 } }",
    '{ stage = "tight", per_bunch = 20 }',
    '{ cut = "Schnitt" }',
]


def places(read: Callable[[], object]) -> list[str]:
    """The files that the problems of a reading name; empty where there are none."""
    try:
        read()
    except InputProblems as error:
        return sorted({problem.where.split(",")[0] for problem in error.problems})
    return []


@settings(max_examples=150)
@given(st.lists(ROW, max_size=4))
def test_any_cells_in_any_column(rows: list[tuple[CellValue, ...]]) -> None:
    """Whatever the cells of a workbook hold, every row is a lot or a problem with a remedy."""
    sound: tuple[CellValue, ...] = ("Z1", "tulip", *[None] * 3, "2027-03-22", *[None] * 20)
    grid = Grid("lots.xlsx", "Lots", (NAMES, sound, *rows))
    farm = read_settings(None)
    sheet = lots_of(rows_in(grid, farm), farm, crop_table(), NOW)
    assert all(problem.what and problem.remedy.endswith(".") and problem.lot for problem in sheet.problems)
    assert len({lot.lot_code for lot in sheet.lots}) == len(sheet.lots)


@settings(max_examples=150)
@given(st.sampled_from(NAMES[1:]), TEXT)
def test_any_text_in_one_column(tmp_path_factory: pytest.TempPathFactory, column: str, text: str) -> None:
    """A sound row with any text in one of its cells is a lot or a problem of that row, as csv."""
    cells = {"lot": "041", "crop": "tulip", "cut": "2027-03-22", "stems": "120", column: text}
    table = io.StringIO()
    csv.writer(table).writerows([cells, cells.values()])
    path = tmp_path_factory.getbasetemp() / "any.csv"
    path.write_bytes(table.getvalue().encode("utf-8", "replace"))
    settings_file = path.with_name("any.toml")
    settings_file.write_text(SETTINGS, encoding="utf-8")
    sheet = read_lots(path, read_settings(settings_file), crop_table(), NOW)
    assert {lot.lot_code for lot in sheet.lots} | {problem.lot for problem in sheet.problems} == {"041"}


@settings(max_examples=150)
@given(st.binary(max_size=200))
def test_any_bytes_as_a_text_file(content: bytes) -> None:
    """Any bytes are a table or a problem."""
    assert places(lambda: read_text(content, "lots.csv", len)) in ([], ["lots.csv"])


@settings(max_examples=100)
@given(st.text(max_size=80))
def test_any_text_as_settings(tmp_path_factory: pytest.TempPathFactory, text: str) -> None:
    """Any text is a farm or a problem of the settings file."""
    path = tmp_path_factory.getbasetemp() / "any-text.toml"
    path.write_bytes(text.encode("utf-8", "replace"))
    assert places(lambda: read_settings(path)) in ([], ["any-text.toml"])


@settings(max_examples=200)
@given(st.dictionaries(st.sampled_from(KEYS), st.sampled_from(TOML_VALUES), max_size=6))
def test_any_value_for_any_setting(tmp_path_factory: pytest.TempPathFactory, values: dict[str, str]) -> None:
    """Any kind of value for any key is a farm or a problem of that file."""
    path = tmp_path_factory.getbasetemp() / "any-values.toml"
    path.write_text("".join(f"{key} = {value}\n" for key, value in values.items()), encoding="utf-8")
    assert places(lambda: read_settings(path)) in ([], ["any-values.toml"])
