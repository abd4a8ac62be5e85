"""Names that cannot be printed: found before anything is drawn, each in the cell where it was written."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from pathlib import Path

import openpyxl
import pytest
from click.testing import CliRunner, Result

from tagmaker.cli import main
from tagmaker.desk.jobs import Wanted
from tagmaker.desk.printing import hand_out
from tagmaker.desk.season import Day, read_season
from tagmaker.desk.serving import Folder
from tagmaker.errors import InputProblems
from tagmaker.intake.columns import COLUMNS
from tagmaker.intake.lots.column import Column
from tests.own_fonts import blocks, make_font

Rows = list[list[str | int]]
TODAY = "2027-02-20T09:00"
HEADER = ["lot", "crop", "variety", "colour", "place", "cut", "stems", "split from", "note"]
SOUND: list[str | int] = ["041", "tulip", "Späte Königin", "", "", "2027-02-18", 60, "", "笔记"]


def workbook(folder: Path, *rows: Sequence[str | int]) -> Path:
    """A sheet "Lots" with some rows below the header."""
    book = openpyxl.Workbook()
    sheet = book.active
    assert sheet is not None
    sheet.title = "Lots"
    for row in (HEADER, *rows):
        sheet.append(list(row))
    book.save(folder / "lots.xlsx")
    return folder / "lots.xlsx"


def run(command: str, sheet: Path, *options: str) -> Result:
    """A printing command at a fixed moment."""
    return CliRunner().invoke(main, [command, str(sheet), "--today", TODAY, *options])


def places(result: Result) -> list[tuple[str, str]]:
    """Where each problem is, and the first character that it names."""
    lines = [line for line in result.stderr.splitlines() if "every character must" in line]
    return [(line.split(": ")[0], line.split('(got "')[1][0]) for line in lines]


def test_each_name_is_refused_in_its_cell(tmp_path: Path) -> None:
    """All at once, before a file is written; a note is on no paper and stops none."""
    rows: Rows = [SOUND, ["042", "tulip", "צבעוני", "红", "ไ 2", "2027-02-18", 60, "", ""]]
    result = run("papers", workbook(tmp_path, *rows))
    assert result.exit_code == 1
    begin = 'lots.xlsx, sheet "Lots", cell '
    assert places(result) == [(f"{begin}C3", "צ"), (f"{begin}D3", "红"), (f"{begin}E3", "ไ")]
    assert not (tmp_path / "papers").exists()


def test_the_message_says_cell_character_and_script(tmp_path: Path) -> None:
    """As the grower reads it."""
    result = run("wraps", workbook(tmp_path, ["042", "tulip", "ทิว", "", "", "2027-02-18", 60, "", ""]))
    assert result.stderr.splitlines()[-1] == (
        'lots.xlsx, sheet "Lots", cell C2: lot 042: every character must be of a script whose letters stand '
        'side by side (got "ท" U+0E17 Thai, "◌ิ" U+0E34 Thai, "ว" U+0E27 Thai in "ทิว"). Write it in Latin, '
        "Greek or Cyrillic letters; no font changes that."
    )


def test_the_other_lots_are_printed_with_skip_bad(tmp_path: Path) -> None:
    """The lot whose name cannot be printed is left out and named."""
    rows: Rows = [SOUND, ["042", "tulip", "צבעוני", "", "", "2027-02-18", 60, "", ""]]
    result = run("papers", workbook(tmp_path, *rows), "--skip-bad")
    assert result.exit_code == 1
    assert "left out: 042" in result.stderr
    assert sorted(path.name for path in (tmp_path / "papers").iterdir()) == [
        "cooler-checklist.pdf",
        "crate-cards.pdf",
        "wrap-labels.pdf",
    ]


def test_a_text_file_names_its_line_and_column(tmp_path: Path) -> None:
    """There are no cells in it."""
    path = tmp_path / "lots.csv"
    path.write_text("lot,crop,cut,stems,Cultivar\n041,tulip,2027-02-18,60,花\n", encoding="utf-8")
    assert places(run("wraps", path)) == [("lots.csv, line 2, column Cultivar", "花")]


def test_a_name_taken_over_is_refused_where_it_was_written(tmp_path: Path) -> None:
    """In the row that a lot was split from, or under [usual] of the settings."""
    (tmp_path / "tagmaker.toml").write_text('[usual]\ncolour = "红"\n', encoding="utf-8")
    rows: Rows = [
        ["041", "tulip", "花", "white", "", "2027-02-18", 60, "", ""],
        ["042", "", "", "", "", "", 20, "041", ""],
        ["043", "tulip", "Pale Harbour", "", "", "2027-02-18", 60, "", ""],
    ]
    result = run("wraps", workbook(tmp_path, *rows))
    parent = 'lots.xlsx, sheet "Lots", cell C2'
    assert places(result) == [(parent, "花"), (parent, "花"), ("tagmaker.toml, [usual]", "红")]
    assert "lot 041: every" in result.stderr
    assert "lot 042: every" in result.stderr


def test_a_place_is_no_matter_for_wrap_labels(tmp_path: Path) -> None:
    """They do not show it; cards and checklist do."""
    sheet = workbook(tmp_path, ["041", "tulip", "Pale Harbour", "", "上", "2027-02-18", 60, "", ""])
    assert run("wraps", sheet).exit_code == 0
    assert places(run("crates", sheet)) == places(run("checklist", sheet)) != []


def test_a_name_on_a_checklist_is_named_by_its_lot(tmp_path: Path) -> None:
    """A page holds many lots: the message says which row to correct."""
    sheet = workbook(tmp_path, SOUND, ["042", "tulip", "\u5c71 \U0001f337", "", "", "2027-02-18", 60, "", ""])
    result = run("checklist", sheet)
    assert [place for place, _ in places(result)] == ['lots.xlsx, sheet "Lots", cell C3']
    assert "lot 042: every" in result.stderr


def test_a_lot_that_is_gone_stops_nothing(tmp_path: Path) -> None:
    """Nothing of it is printed."""
    path = tmp_path / "lots.csv"
    path.write_text(
        "lot,crop,cut,stems,variety,gone\n041,tulip,2027-02-18,60,花,all\n042,tulip,2027-02-18,60,x,\n",
        encoding="utf-8",
    )
    assert run("papers", path).exit_code == 0


def test_names_of_the_settings_are_refused_there(tmp_path: Path) -> None:
    """The farm's on the checklist, a cooler's on the checklist and on cards of lots that stand in it."""
    settings = 'farm = "花农"\n[coolers.barn]\n[coolers."冷库"]\n'
    (tmp_path / "tagmaker.toml").write_text(settings, encoding="utf-8")
    sheet = workbook(tmp_path, SOUND)
    assert run("wraps", sheet).exit_code == 0
    assert run("crates", sheet).exit_code == 0
    assert places(run("checklist", sheet, "--skip-bad")) == [
        ("tagmaker.toml, farm", "花"),
        ("tagmaker.toml, [coolers.冷库]", "冷"),
    ]


@pytest.mark.parametrize("command", ["wraps", "crates", "checklist", "papers", "cooler"])
def test_a_font_of_the_settings_prints_them(tmp_path: Path, command: str) -> None:
    """On every paper, the thermometer report too; read back from the folder that the settings stand in."""
    make_font(tmp_path / "fonts" / "Han.ttf", blocks("花农冷库郁金香红右"))
    settings = 'farm = "花农"\nfonts = ["fonts/Han.ttf"]\n[coolers."冷库"]\n'
    (tmp_path / "tagmaker.toml").write_text(settings, encoding="utf-8")
    sheet = workbook(tmp_path, ["041", "tulip", "郁金香", "红", "右 2", "2027-02-18", 60, "", ""])
    result = run(command, sheet)
    assert (result.exit_code, places(result)) == (0, [])


def test_the_bench_prints_with_the_fonts_of_the_settings(tmp_path: Path) -> None:
    """A paper that is handed out in memory is drawn with them, and refused without."""
    sheet = workbook(tmp_path, ["041", "tulip", "郁金香", "", "", "2027-02-18", 60, "", ""])
    day = Day(datetime(2027, 2, 20).date(), datetime(2027, 2, 20, 9))
    wanted = Wanted(kinds=("wraps",), remember=False)
    with pytest.raises(InputProblems, match="cell C2: lot 041"):
        hand_out(read_season(sheet, day), wanted, print)
    make_font(tmp_path / "Han.ttf", blocks("郁金香"))
    (tmp_path / "tagmaker.toml").write_text('fonts = ["Han.ttf"]', encoding="utf-8")
    assert hand_out(read_season(sheet, day), wanted, print).labels == 6


def test_a_changed_font_file_is_seen_while_the_pages_are_served(tmp_path: Path) -> None:
    """It counts among the files of the folder that are watched."""
    font = make_font(tmp_path / "Han.ttf", blocks("郁"))
    (tmp_path / "tagmaker.toml").write_text('fonts = ["Han.ttf"]', encoding="utf-8")
    day = Day(datetime(2027, 2, 20).date(), datetime(2027, 2, 20, 9))
    folder = Folder(
        sheet=workbook(tmp_path, SOUND),
        today=day,
        templates=None,
        wall=lambda _: datetime(2027, 2, 20),
        tell=print,
    )
    reader = folder.reader()
    reader.load()
    before = reader.stamp()
    assert reader.stamp() == before
    make_font(font, blocks("郁金香"))
    assert reader.stamp() != before


@pytest.mark.parametrize(
    "column", [column for column in COLUMNS if "crates" in column.papers and column.name != "crop"]
)
def test_a_printed_column_is_inherited_and_checked(tmp_path: Path, column: Column) -> None:
    """A split lot takes over what the card shows; what cannot be printed leaves out its lots alone."""
    path = tmp_path / "lots.csv"
    lots = {"041": "Abc", "042": "红", "043": "Abc", "044": "", "045": ""}
    parents = {"044": "041", "045": "042"}
    rows = [
        f"{code},{'' if code in parents else 'tulip'},{'' if code in parents else '2027-02-18'},"
        f"{20 if code in parents else 60},{parents.get(code, '')},{name}"
        for code, name in lots.items()
    ]
    path.write_text("\n".join([f"lot,crop,cut,stems,split from,{column.name}", *rows]), encoding="utf-8")
    day = Day(datetime(2027, 2, 20).date(), datetime(2027, 2, 20, 9))
    season = read_season(path, day)
    assert [getattr(lot, column.field) for lot in season.lots] == ["Abc", "红", "Abc", "Abc", "红"]
    result = run("crates", path, "--skip-bad")
    assert places(result) == [(f"lots.csv, line 3, column {column.name}", "红")] * 2
    assert (result.exit_code, "left out: 042, 045" in result.stderr) == (1, True)
    assert (tmp_path / "papers" / "crate-cards.pdf").exists()
