"""Reading the lot sheet: kinds of files, headers, and what each kind of cell may say."""

from __future__ import annotations

import csv
import shutil
from dataclasses import replace
from datetime import datetime
from pathlib import Path

import openpyxl
import pytest

from tagmaker.errors import InputProblems
from tagmaker.intake.lots.codes import next_free_code
from tagmaker.intake.lots.sheet import LotSheet, read_lots
from tagmaker.intake.settings.farm import read_settings, settings_beside
from tagmaker.lot import Lot, Stage, StorageCode, Surface
from tagmaker.storage.crops import crop_table
from tests.small_sheets import NOW, SETTINGS, read_lot, read_problems, read_rows

HEADER = ["Lot No.", "Flower", "Cultivar", "Harvest date", "Stems per bunch", "Note"]
ROW = ["041", "tulip", "Café Crème", "2027-03-22 09:00", "12", "küche; zwei, drei"]


def read(path: Path) -> LotSheet:
    """A sheet on a farm without settings."""
    return read_lots(path, read_settings(None), crop_table(), NOW)


def bare(lots: tuple[Lot, ...]) -> list[Lot]:
    """Lots without their place in the file and the text of their cells."""
    return [replace(lot, where="", row=0, cells={}) for lot in lots]


@pytest.mark.parametrize("separator", [",", ";", "\t"])
@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "utf-16-le", "utf-16-be", "cp1252"])
def test_csv_in_every_encoding_and_separator(tmp_path: Path, encoding: str, separator: str) -> None:
    """A csv reads the same whatever its encoding and separator."""
    path = tmp_path / "lots.csv"
    with path.open("w", encoding=encoding, newline="") as file:
        csv.writer(file, delimiter=separator).writerows([HEADER, ROW])
    (lot,) = read(path).lots
    assert (lot.variety, lot.per_bunch, lot.note) == ("Café Crème", 12, "küche; zwei, drei")
    assert (lot.cut, lot.where, lot.row) == (datetime(2027, 3, 22, 9), "lots.csv, line 2", 2)


def test_csv_that_names_its_separator(tmp_path: Path) -> None:
    """The line "sep=;" that spreadsheets write counts as a line and not as a row."""
    path = tmp_path / "lots.csv"
    path.write_text("sep=;\nlot;crop;cut\n041;tulip;2027-03-22\n", encoding="utf-8")
    assert [lot.where for lot in read(path).lots] == ["lots.csv, line 3"]


def test_lines_are_counted_as_an_editor_counts_them(tmp_path: Path) -> None:
    """A cell with a line break in it moves the rows below it one line down, and stays one cell."""
    path = tmp_path / "lots.csv"
    path.write_text(
        'lot,crop,cut,note\r\n041,tulip,2027-03-22,"two\r\nlines"\r\n042,x,2027-03-22,\r\n', "utf-8"
    )
    sheet = read(path)
    assert [(lot.where, lot.note) for lot in sheet.lots] == [("lots.csv, line 2", "two lines")]
    assert [problem.where for problem in sheet.problems] == ["lots.csv, line 4, column crop"]


def test_xlsx_ods_and_csv_give_the_same_lots(repository: Path) -> None:
    """The same table as xlsx, ods and csv gives identical lots, apart from where they stand."""
    folder = repository / "tests" / "sheets"
    farm = settings_beside(folder / "kinds-of-cells.csv")
    from_csv, from_xlsx, from_ods = (
        read_lots(folder / f"kinds-of-cells.{kind}", farm, crop_table(), NOW)
        for kind in ("csv", "xlsx", "ods")
    )
    assert [str(problem) for sheet in (from_csv, from_xlsx, from_ods) for problem in sheet.problems] == []
    assert [lot.lot_code for lot in from_csv.lots] == ["041", "042", "043", "44", "043A", "P-1"]
    assert bare(from_xlsx.lots) == bare(from_csv.lots)
    assert bare(from_ods.lots) == bare(from_csv.lots)


def test_the_name_of_a_file_does_not_decide(tmp_path: Path, repository: Path) -> None:
    """A workbook under the name of a csv is read as the workbook that it is."""
    shutil.copy(repository / "tests" / "sheets" / "merged-title-row.xlsx", tmp_path / "lots.csv")
    assert [lot.where for lot in read(tmp_path / "lots.csv").lots] == ['lots.csv, sheet "Lots", row 4']


def test_a_workbook_is_never_written_to(tmp_path: Path, repository: Path) -> None:
    """A sheet that may only be read is read, and stays as it was."""
    path = tmp_path / "lots.xlsx"
    shutil.copy(repository / "tests" / "sheets" / "merged-title-row.xlsx", path)
    path.chmod(0o444)
    before = (path.read_bytes(), path.stat().st_mtime_ns)
    read(path)
    assert (path.read_bytes(), path.stat().st_mtime_ns) == before


def test_own_headers_come_before_synonyms(tmp_path: Path) -> None:
    """A header of the [columns] table stands for its column, whatever else the sheet has."""
    path = tmp_path / "lots.csv"
    path.write_text("Beet,lot,flower,Schnitt,harvested\n7,041,tulip,2027-03-22,never\n", encoding="utf-8")
    farm = replace(read_settings(None), columns={"cut": "schnitt", "place": "Beet"})
    (lot,) = read_lots(path, farm, crop_table(), NOW).lots
    assert (lot.lot_code, lot.place, lot.cut.day) == ("041", "7", 22)
    assert lot.cells == {
        "Beet": "7",
        "lot": "041",
        "flower": "tulip",
        "Schnitt": "2027-03-22",
        "harvested": "never",
    }


def test_an_own_header_that_is_missing_is_a_problem(tmp_path: Path) -> None:
    """A header that [columns] names and the sheet lacks is named."""
    path = tmp_path / "lots.csv"
    path.write_text("lot,crop,stems\n041,tulip,120\n", encoding="utf-8")
    farm = replace(read_settings(None), columns={"cut": "Schnitt"})
    with pytest.raises(InputProblems) as caught:
        read_lots(path, farm, crop_table(), NOW)
    assert [(problem.where, problem.what) for problem in caught.value.problems] == [
        (
            "lots.csv, line 1",
            'the header must have the column "Schnitt", as [columns] says for cut (got none)',
        )
    ]


def test_the_plain_name_of_a_column_comes_before_its_synonyms(tmp_path: Path) -> None:
    """Where a sheet has both lot and number, lot is the code and number a column of the grower's own."""
    path = tmp_path / "lots.csv"
    path.write_text("number,LOT,crop,cut\n5,041,tulip,2027-03-22\n", encoding="utf-8")
    (lot,) = read(path).lots
    assert (lot.lot_code, lot.cells["number"]) == ("041", "5")


def test_rows_with_only_a_code_are_ignored(tmp_path: Path) -> None:
    """Numbered rows that wait for a lot are no lots, whatever stands in columns that mean nothing."""
    path = tmp_path / "lots.csv"
    path.write_text(
        "lot,crop,cut,left over\n041,tulip,2027-03-22,\n042,,,0\n043,,,\n,,,x\n", encoding="utf-8"
    )
    sheet = read(path)
    assert ([lot.lot_code for lot in sheet.lots], sheet.problems) == (["041"], ())


def test_a_free_code_is_proposed_for_every_row_without_one(tmp_path: Path) -> None:
    """Rows without a code get different proposals, above all codes of the sheet."""
    path = tmp_path / "lots.csv"
    path.write_text(
        "lot,crop,cut\n041,tulip,2027-03-22\n,tulip,2027-03-22\n,lily,2027-03-22\n050,,\n", encoding="utf-8"
    )
    assert [problem.remedy.split(",")[0] for problem in read(path).problems] == ["Write 051", "Write 052"]


@pytest.mark.parametrize(
    ("taken", "free"),
    [
        (set[str](), "001"),
        ({"T-9", "T-10", "041"}, "T-11"),
        ({"099"}, "100"),
        ({"999999999999"}, "N2"),
        ({"A", "B"}, "001"),
    ],
)
def test_next_free_code(taken: set[str], free: str) -> None:
    """The proposal follows the commonest kind of code, within twelve letters."""
    assert next_free_code(taken) == free


@pytest.mark.parametrize(
    ("typed", "code"),
    [("041", "041"), ("t-12", "T-12"), (" 7. ", "7"), ("#7", "7"), ("t–12", "T-12"), ("'041", "041")],
)
def test_lot_codes_are_read_in_capitals(tmp_path: Path, typed: str, code: str) -> None:
    """Case, spaces, full stops and typographic dashes do not matter in a lot code."""
    assert read_lot(tmp_path, lot=typed).lot_code == code


WORDS = [
    ("crop", " Tulips ", "tulip"),
    ("crop", "NARCISSUS", "narcissus"),
    ("crop", "daffodils.", "narcissus"),
    ("crop", "Dutch iris", "iris"),
    ("crop", "dahlias", "dahlia"),
    ("form", "Darwin\u00a0Hybrid", "Darwin hybrid"),
    ("form", "lily flowered", "lily-flowered"),
    ("form", "Triumph", "single"),
    ("stage", "showing colour", Stage.TIGHT),
    ("stage", "first color", Stage.TIGHT),
    ("stage", "Marshmallow", Stage.TIGHT),
    ("stage", "pencil", Stage.TIGHT),
    ("stage", "soft", Stage.TIGHT),
    ("stage", "goose-neck", Stage.TIGHT),
    ("stage", "colored", Stage.COLOURED),
    ("stage", "OPEN.", Stage.OPEN),
    ("stage", "green", Stage.GREEN),
    ("bulb", "Yes", True),
    ("bulb", "bulb off", False),
    ("storage", "wet", StorageCode.WATER),
    ("storage", "Dry", StorageCode.DRY),
    ("surface", "fanned", Surface.DRIED),
    ("surface", "rain", Surface.WET),
    ("cooler", " PORCH. ", "porch"),
    ("use", "\u201cStall\u201d", "stall"),
    ("per_bunch", "20 stems", 20),
    ("stems", "1,200", 1200),
    ("stems", "1 200", 1200),
    ("stems", "12 bunches", 120),
    ("stems", "120.0", 120),
    ("gone", "12 bunches", 120),
    ("gone", "All gone", 120),
    ("dumped", "30", 30),
    ("variety", " Pale \n Harbour\u200b ", "Pale Harbour"),
    ("colour", "apricot", "apricot"),
]


@pytest.mark.parametrize(("column", "typed", "meaning"), WORDS)
def test_words_of_the_trade_are_understood(tmp_path: Path, column: str, typed: str, meaning: object) -> None:
    """Cells ignore case, spaces and punctuation and take the words of the trade."""
    assert getattr(read_lot(tmp_path, {column: typed}), column) == meaning


@pytest.mark.parametrize(
    "typed", ["75F", "75 °F", "75", "75 degrees", "75 deg F", "75 Fahrenheit", "75.0", "75º"]
)
def test_field_temperatures_are_in_the_units_of_the_farm(tmp_path: Path, typed: str) -> None:
    """A number without a unit is °F on a °F farm; 75 °F is 23.89 °C (arithmetic)."""
    assert read_lot(tmp_path, field=typed).field_c == pytest.approx((75 - 32) / 1.8)


def test_a_unit_of_its_own_comes_before_the_farms(tmp_path: Path) -> None:
    """24 °C is 24 °C on a °F farm too."""
    assert read_lot(tmp_path, field="24 C").field_c == 24.0


def test_a_temperature_without_a_unit_needs_the_farms(tmp_path: Path) -> None:
    """Where the settings name no unit, a bare number is a problem, never a guess."""
    settings = SETTINGS.replace('units = "F"', "").replace("= 36", '= "36F"').replace("= 46", '= "46F"')
    assert read_problems(tmp_path, settings=settings, field="75") == [
        (
            'field must be a temperature with its unit (got "75"). '
            'Write it like "75F" or "24C", or set units = "F" or "C" in the settings.'
        )
    ]


def test_blank_cells(tmp_path: Path) -> None:
    """Blank cells mean what the columns say: ten a bunch, bulb off, first cooler, best use, nothing gone."""
    lot = read_lot(tmp_path)
    assert (lot.form, lot.form_assumed) == (crop_table().shortest_form("tulip"), True)
    assert (lot.stage, lot.stems, lot.per_bunch, lot.bulb, lot.storage) == (None, 120, 10, False, None)
    assert (lot.surface, lot.cooler, lot.place, lot.use) == (Surface.DRY, "barn", "", "event")
    assert (lot.in_water, lot.moves, lot.orders, lot.gone, lot.dumped) == (None, (), (), 0, 0)
    assert (lot.field_c, lot.planned) == (15.0, False)


def test_field_temperature_of_the_month(tmp_path: Path) -> None:
    """A blank field temperature is that of the month of the cut."""
    settings = "field_temperature = [1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12]\n" + SETTINGS.replace(
        '"F"', '"C"'
    )
    settings = settings.replace("= 36", "= 2").replace("= 46", "= 8")
    assert read_lot(tmp_path, settings=settings, cut="2027-02-20").field_c == 2.0


def test_a_crop_without_forms_has_none(tmp_path: Path) -> None:
    """What is written as the form of a crop without forms is kept with the row and changes nothing."""
    lot = read_lot(tmp_path, crop="peony", form="double")
    assert (lot.form, lot.form_assumed, lot.cells["form"]) == ("", False, "double")


def test_usual_words_fill_blank_cells(tmp_path: Path) -> None:
    """[usual] says what a blank cell means, and a filled one still counts."""
    usual = '[usual]\nstage = "tight"\nform = "double"\nper_bunch = 20\nuse = "stall"\ncooler = "porch"\n'
    lot = read_lot(tmp_path, settings=SETTINGS + usual, use="shop")
    assert (lot.stage, lot.form, lot.form_assumed, lot.per_bunch) == (Stage.TIGHT, "double", False, 20)
    assert (lot.use, lot.cooler) == ("shop", "porch")


def test_usual_words_that_do_not_fit_a_row_are_passed_over(tmp_path: Path) -> None:
    """A usual form, bulb or storage is meant for the crops that have it, and never against the row."""
    settings = SETTINGS + '[usual]\nform = "single"\nbulb = "on"\n'
    peony = read_lot(tmp_path, settings=settings, crop="peony")
    assert (peony.form, peony.bulb) == ("", False)
    in_water = read_lot(tmp_path, settings=settings, storage="water")
    assert (in_water.form, in_water.bulb, in_water.storage) == ("single", False, StorageCode.WATER)
    assert read_lot(tmp_path, settings=settings).bulb is True
    stored = SETTINGS + '[usual]\nstorage = "dry"\n'
    assert read_lot(tmp_path, settings=stored, crop="sunflower").storage is None
    assert read_lot(tmp_path, settings=stored).storage is StorageCode.DRY


def test_an_unreadable_usual_word_is_a_problem_of_the_settings(tmp_path: Path) -> None:
    """A wrong word in [usual] is said once, with its place, and not for every row."""
    with pytest.raises(InputProblems) as caught:
        read_rows(tmp_path, {}, {}, settings=SETTINGS + '[usual]\nstage = "ripe"\nform = "dubble"\n')
    assert [(problem.where, problem.what, problem.lot) for problem in caught.value.problems] == [
        ("tagmaker.toml, [usual]", 'stage must be green, tight, half, coloured or open (got "ripe")', ""),
        ("tagmaker.toml, [usual]", 'form must be a form of some crop (got "dubble")', ""),
    ]


def test_all_problems_of_a_sheet_are_said_at_once(tmp_path: Path) -> None:
    """Every fault of every row is reported, row by row, and each knows its lot."""
    sheet = read_rows(
        tmp_path,
        {"crop": "tulpi", "stage": "ripe", "stems": "many"},
        {},
        {"cut": "soon", "use": "fair"},
    )
    assert [lot.lot_code for lot in sheet.lots] == ["042"]
    assert [(problem.lot, problem.what.split(" must ")[0]) for problem in sheet.problems] == [
        ("041", "crop"),
        ("041", "stage"),
        ("041", "stems"),
        ("043", "cut"),
        ("043", "use"),
    ]


def test_a_header_only_sheet_has_no_lots_and_says_so(tmp_path: Path) -> None:
    """A sheet without rows is no fault: no lots, and a word about it."""
    path = tmp_path / "lots.csv"
    path.write_text("lot,crop,cut\n", encoding="utf-8")
    sheet = read(path)
    assert (sheet.lots, sheet.problems) == ((), ())
    assert [warning.what.split(" (")[0] for warning in sheet.warnings] == ["has no lots yet"]


def test_true_and_false_cells(tmp_path: Path) -> None:
    """A tick box of a spreadsheet is read as yes or no."""
    book = openpyxl.Workbook()
    sheet = book.worksheets[0]
    for row in (["lot", "crop", "cut", "bulb"], ["041", "tulip", datetime(2027, 3, 22), True]):
        sheet.append(row)
    book.save(tmp_path / "lots.xlsx")
    assert [lot.bulb for lot in read(tmp_path / "lots.xlsx").lots] == [True]
