"""The folder to begin with: a sheet that reads back, settings to fill in, and nothing overwritten."""

from __future__ import annotations

import re
from datetime import datetime
from pathlib import Path

import openpyxl
import pytest

from tagmaker.desk.starting import begin
from tagmaker.errors import OutputProblem
from tagmaker.intake.cells.plain_text import squash
from tagmaker.intake.cells.words import BULBS, STAGES, STORAGES, SURFACES
from tagmaker.intake.columns import COLUMNS, NAMES
from tagmaker.intake.lots.sheet import read_lots
from tagmaker.intake.settings.farm import read_settings, settings_beside
from tagmaker.intake.settings.keys import COOLER_KEYS, FARM_KEYS, FILE_ALONE, USE_KEYS, USUAL_COLUMNS
from tagmaker.intake.starter.beginning import Beginning
from tagmaker.lot import StorageCode
from tagmaker.storage.crops import crop_table
from tests.small_sheets import NOW


def test_the_new_sheet_reads_back(tmp_path: Path) -> None:
    """The starter sheet and its settings are read without a problem, as no lots yet."""
    sheet, settings, opener = begin(tmp_path / "season" / "spring", Beginning())
    assert (sheet.name, settings.name) == ("lots.xlsx", "tagmaker.toml")
    farm = settings_beside(sheet)
    read = read_lots(sheet, farm, crop_table(farm.crops), NOW)
    assert (read.lots, read.problems, len(read.warnings)) == ((), (), 1)
    assert sorted(sheet.parent.iterdir()) == sorted((sheet, settings, opener))


def test_the_new_sheet_takes_a_lot(tmp_path: Path) -> None:
    """A row filled in by a spreadsheet program becomes a lot, in the words of the drop-downs."""
    path, *_ = begin(tmp_path, Beginning())
    book = openpyxl.load_workbook(path)
    sheet = book["Lots"]
    words = {"crop": "tulip", "cooler": "walk-in", "use": "shop", "needed": "2027-04-10", "storage": "water"}
    for column, word in words.items():
        sheet.cell(row=3, column=NAMES.index(column) + 1, value=word)
    sheet.cell(row=3, column=NAMES.index("cut") + 1, value=datetime(2027, 3, 22, 9))
    book.save(path)
    farm = settings_beside(path)
    (lot,) = read_lots(path, farm, crop_table(farm.crops), NOW).lots
    assert (lot.lot_code, lot.cooler, lot.use, lot.storage) == ("002", "walk-in", "shop", StorageCode.WATER)
    assert (lot.where, lot.cut) == ('lots.xlsx, sheet "Lots", row 3', datetime(2027, 3, 22, 9))


def test_headers_have_notes_and_stay_in_view(tmp_path: Path) -> None:
    """Every header has its note, the top row is frozen, and codes and lists are kept as text."""
    sheet = openpyxl.load_workbook(begin(tmp_path, Beginning())[0])["Lots"]
    header = sheet[1]
    assert [cell.value for cell in header] == list(NAMES)
    assert [cell.comment.text for cell in header if cell.comment] == [column.note for column in COLUMNS]
    assert sheet.freeze_panes == "B2"
    formats = {column: cell.number_format for column, cell in zip(NAMES, sheet[2], strict=True)}
    assert {formats[column] for column in ("lot", "needed", "moved", "split from")} == {"@"}
    assert {formats[column] for column in ("cut", "in cooler", "in water")} == {"yyyy-mm-dd hh:mm"}
    assert [sheet.cell(row=row, column=1).value for row in (2, 3, 201)] == ["001", "002", "200"]


def test_drop_downs_propose_words_that_are_understood(tmp_path: Path) -> None:
    """The words of the drop-downs are those of the crop table, the cells and the sheets of settings."""
    path, *_ = begin(tmp_path, Beginning())
    sheet = openpyxl.load_workbook(path)["Lots"]
    proposed = {
        NAMES[next(iter(choice.sqref.ranges)).min_col - 1]: str(choice.formula1).strip('"').split(",")
        for choice in sheet.data_validations.dataValidation
    }
    crops = crop_table()
    assert sorted(proposed) == sorted(
        ["crop", "form", *(column.name for column in COLUMNS if column.choices)]
    )
    assert (proposed["crop"], proposed["form"]) == (list(crops.crops), list(crops.forms("tulip")))
    assert (proposed["cooler"], proposed["use"]) == (["Coolers!$A$2:$A$51"], ["Uses!$A$2:$A$51"])
    known = {*STAGES, *BULBS, *STORAGES, *SURFACES}
    words = [word for column in ("stage", "bulb", "storage", "surface") for word in proposed[column]]
    assert [word for word in words if squash(word) not in known] == []


def test_every_commented_setting_can_be_used(tmp_path: Path) -> None:
    """With every # before a key taken away, the settings still read; each key that no sheet has is there."""
    _, path, _ = begin(tmp_path, Beginning())
    text = re.sub(r"(?m)^#(?=[a-z\[])", "", path.read_text(encoding="utf-8"))
    path.write_text(text, encoding="utf-8")
    farm = read_settings(path)
    crop_table(farm.crops)
    named = set(re.findall(r"(?m)^([a-z_]+) =", text)) | set(re.findall(r"(?m)^\[([a-z_]+)", text))
    assert [key for key in FILE_ALONE if key not in named] == []


def test_every_key_has_its_place_in_the_sheets(tmp_path: Path) -> None:
    """Farm has a row a key with what it means; Uses and Coolers columns with notes, and a row that counts."""
    path, *_ = begin(tmp_path, Beginning())
    book = openpyxl.load_workbook(path)
    rows = list(book["Farm"].iter_rows(values_only=True))
    keys = [str(key) for key, *_ in rows[1:]]
    assert [key for key in keys if not key.startswith("usual ")] == sorted(FARM_KEYS, key=keys.index)
    assert {key.removeprefix("usual ") for key in keys if key.startswith("usual ")} <= set(USUAL_COLUMNS)
    assert [key for key, _, meaning in rows if not meaning] == []
    for name, of, columns in (("Uses", "use", USE_KEYS), ("Coolers", "cooler", COOLER_KEYS)):
        header = book[name][1]
        assert [cell.value for cell in header] == [of, *columns, "note"]
        assert [cell.value for cell in header if cell.comment is None] == []
    farm = settings_beside(path)
    assert {name: use.vase_days for name, use in farm.uses.items()} == {"shop": 4.0}
    assert {name: cooler.set_point_c for name, cooler in farm.coolers.items()} == {
        "walk-in": pytest.approx(3.9, abs=0.05)
    }
    assert farm.workday.days_off == {6}


@pytest.mark.slow
def test_drop_downs_of_settings_propose_words_that_are_understood(tmp_path: Path) -> None:
    """Every word that a drop-down of the three sheets proposes, chosen in its cell, is read."""
    path, *_ = begin(tmp_path, Beginning())
    proposed = {
        (name, next(iter(choice.sqref.ranges)).coord.partition(":")[0]): str(choice.formula1)
        .strip('"')
        .split(",")
        for name in ("Farm", "Uses", "Coolers")
        for choice in openpyxl.load_workbook(path)[name].data_validations.dataValidation
    }
    assert len(proposed) == 14
    for turn in range(max(map(len, proposed.values()))):
        book = openpyxl.load_workbook(path)
        for (name, cell), words in proposed.items():
            book[name][cell] = words[turn % len(words)]
        chosen = tmp_path / "chosen.xlsx"
        book.save(chosen)
        assert set(settings_beside(chosen).uses) == {"shop"}


def test_the_same_bytes_every_time(tmp_path: Path) -> None:
    """Two new folders hold the same bytes."""
    first, second = begin(tmp_path / "a", Beginning()), begin(tmp_path / "b", Beginning())
    assert [path.read_bytes() for path in first[:2]] == [path.read_bytes() for path in second[:2]]


@pytest.mark.parametrize("name", ["lots.xlsx", "tagmaker.toml"])
def test_nothing_is_overwritten(tmp_path: Path, name: str) -> None:
    """Where one of the files is there already, nothing is written at all."""
    (tmp_path / name).write_text("mine", encoding="utf-8")
    with pytest.raises(OutputProblem) as caught:
        begin(tmp_path, Beginning())
    assert str(caught.value) == (
        f"{tmp_path} must be a folder without lots.xlsx and tagmaker.toml (got {name}). "
        "Nothing was written: name another folder, or rename what is there."
    )
    assert [(path.name, path.read_text(encoding="utf-8")) for path in tmp_path.iterdir()] == [(name, "mine")]


def test_a_folder_that_cannot_be_made(tmp_path: Path) -> None:
    """A file where the folder should be is a problem of output, and stays."""
    path = tmp_path / "season"
    path.write_text("mine", encoding="utf-8")
    with pytest.raises(OutputProblem) as caught:
        begin(path, Beginning())
    assert caught.value.exit_code == 3
    assert path.read_text(encoding="utf-8") == "mine"


def test_half_a_start_is_taken_back(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """If the second file cannot be put in place, the first one goes too."""
    replace = Path.replace

    def failing(draft: Path, target: Path) -> Path:
        if target.name == "tagmaker.toml":
            raise OSError(28, "No space left on device")
        return replace(draft, target)

    monkeypatch.setattr(Path, "replace", failing)
    with pytest.raises(OutputProblem, match="No space left on device"):
        begin(tmp_path, Beginning())
    assert list(tmp_path.iterdir()) == []
