"""Every fault a sheet of lots can have: what is said about it, and that the good rows are read."""

from __future__ import annotations

import csv
import time
from datetime import datetime
from pathlib import Path

import openpyxl
import pytest

from tagmaker.errors import InputProblems
from tagmaker.intake.lots.sheet import LotSheet, read_lots
from tagmaker.intake.settings.farm import read_settings, settings_beside
from tagmaker.storage.crops import crop_table

SHEETS = Path(__file__).parent / "sheets"
NOW = datetime(2027, 3, 23, 8)
NO_SHEETS = ("README.md", "messages.txt", "tagmaker.toml")
HEADER = ["lot", "crop", "variety", "cut", "stems"]


def expected_messages() -> dict[str, tuple[str, list[str]]]:
    """File -> the lots that are read all the same, and the messages."""
    expected: dict[str, tuple[str, list[str]]] = {}
    messages: list[str] = []
    for line in (SHEETS / "messages.txt").read_text(encoding="utf-8").splitlines():
        if line.startswith("    "):
            messages.append(line.strip())
        elif line and not line.startswith("#"):
            name, _, lots = line.partition(": ")
            messages = []
            expected[name] = (lots, messages)
    return expected


def read(path: Path) -> LotSheet:
    """A sheet, read with the settings beside it."""
    farm = settings_beside(path)
    return read_lots(path, farm, crop_table(farm.crops), NOW)


@pytest.mark.parametrize("name", expected_messages())
def test_every_fault_has_its_message(name: str) -> None:
    """A faulty sheet is answered with its exact messages, and its sound rows are read."""
    content = (SHEETS / name).read_bytes()
    try:
        sheet = read(SHEETS / name)
    except InputProblems as error:
        found = ("refused", [str(problem) for problem in error.problems])
    else:
        lots = " ".join(lot.lot_code for lot in sheet.lots) or "none"
        found = (lots, [str(problem) for problem in (*sheet.problems, *sheet.warnings)])
    assert expected_messages()[name] == found
    assert content == (SHEETS / name).read_bytes()


def test_every_faulty_sheet_is_in_the_list() -> None:
    """No file lies among the faulty sheets without its message and a word on what it is."""
    files = {path.name for path in SHEETS.iterdir() if path.name not in NO_SHEETS}
    described = (SHEETS / "README.md").read_text(encoding="utf-8")
    assert files == {*expected_messages(), "demo.ods"}
    assert [name for name in sorted(files) if f"`{name}`" not in described] == []


def test_problems_know_the_lot_they_belong_to() -> None:
    """A problem carries its lot code, or the row where it has none, so that the other rows go on."""
    assert [problem.lot for problem in read(SHEETS / "parent-with-a-problem.csv").problems] == [
        "041",
        "041A",
        "041B",
    ]
    assert [problem.lot for problem in read(SHEETS / "blank-lot.csv").problems] == ["row 3"]


def test_a_file_that_is_not_there_is_a_problem(tmp_path: Path) -> None:
    """A wrong name and a folder are answered with what to do."""
    messages = []
    for path in (tmp_path / "lots.xlsx", tmp_path):
        with pytest.raises(InputProblems) as caught:
            read_lots(path, read_settings(None), crop_table(), NOW)
        messages.append(caught.value.problems[0].what)
    assert messages == [
        "no such file",
        "must be a csv, xlsx or ods file (got a folder)",
    ]


@pytest.fixture(scope="module")
def many_rows(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A season of 20,000 lots as xlsx."""
    path = tmp_path_factory.mktemp("many") / "lots.xlsx"
    book = openpyxl.Workbook(write_only=True)
    sheet = book.create_sheet("Lots")
    sheet.append(HEADER)
    for number in range(20_000):
        sheet.append([f"L{number:05}", "tulip", "Pale Harbour", datetime(2027, 3, 22, 9), 120])
    book.save(path)
    return path


@pytest.mark.slow
def test_twenty_thousand_rows_are_read(many_rows: Path) -> None:
    """20,000 rows are read in a few seconds (30 s of processor time at most, on any machine)."""
    begin = time.process_time()
    sheet = read(many_rows)
    assert (len(sheet.lots), sheet.problems) == (20_000, ())
    assert time.process_time() - begin < 30


def test_more_rows_than_the_limit_are_refused(tmp_path: Path) -> None:
    """A sheet of more than 100,000 rows is refused as a whole, with the limit."""
    path = tmp_path / "lots.csv"
    path.write_text("lot,crop,cut\n" + "1,tulip,2027-03-22\n" * 100_000, encoding="utf-8")
    with pytest.raises(InputProblems) as caught:
        read(path)
    assert [p.what for p in caught.value.problems] == [
        "must be at most 100,000 rows and 500 columns (got more)"
    ]


def test_a_cell_of_ten_thousand_letters_is_a_problem(tmp_path: Path) -> None:
    """A text far too long for any label is named by its beginning and its length, in every column."""
    path = tmp_path / "lots.csv"
    with path.open("w", encoding="utf-8", newline="") as file:
        csv.writer(file).writerows([HEADER, ["040", "tulip", "x" * 10_000, "2027-03-22", "300"]])
    (problem,) = read(path).problems
    shown = "x" * 40
    assert f'variety must be at most 60 letters (got 10,000: "{shown}…")' == problem.what
    with path.open("w", encoding="utf-8", newline="") as file:
        columns = ["lot", "crop", "cut", "needed", "moved", "split from", "gone", "stage", "cooler", "field"]
        csv.writer(file).writerows([columns, ["040", *["7 x " * 2500] * 9]])
    assert len(read(path).problems) == 9
