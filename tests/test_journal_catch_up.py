"""The sheet caught up: the list, the copy, what of the file stays, and that its lots are the same."""

from __future__ import annotations

import csv
import io
import shutil
import zipfile
from collections.abc import Mapping
from dataclasses import replace
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

import openpyxl
import pytest
from click.testing import CliRunner, Result
from hypothesis import HealthCheck, event, given, settings
from hypothesis import strategies as st
from openpyxl.styles import Font, PatternFill
from openpyxl.worksheet.datavalidation import DataValidation

from tagmaker.cli import main
from tagmaker.desk.catching_up import caught_up_text
from tagmaker.desk.entering import enter
from tagmaker.desk.entry_making import Yard
from tagmaker.desk.season import Day, Season, read_season
from tagmaker.errors import InputProblems, UsageProblem
from tagmaker.intake.files.changed_text import changed_text
from tagmaker.intake.files.grid import Grid
from tagmaker.intake.files.sheet_file import open_sheet
from tagmaker.lot import Lot
from tests.entered_season import SETTINGS

COLUMNS = (
    *(
        "lot",
        "crop",
        "cut",
        "stage",
        "stems",
        "per bunch",
        "gone",
        "dumped",
        "cooler",
        "in water",
        "moved",
        "tested",
    ),
    *("use", "needed", "split from", "surface", "in cooler", "why dumped", "note", "journal", "shelf colour"),
)
ROWS: tuple[dict[str, object], ...] = (
    {
        "lot": "104",
        "crop": "tulip",
        "cut": datetime(2027, 4, 15),
        "stage": "tight",
        "stems": 120,
        "note": 'say "hi"',
    },
    {
        "lot": "105",
        "crop": "tulip",
        "cut": "2027-04-16",
        "stage": "tight",
        "stems": 85,
        "gone": 5,
        "shelf colour": "red",
    },
    {"lot": "0106", "crop": "tulip", "cut": "plan 2027-04-22", "stage": "tight"},
    {
        "lot": "107",
        "crop": "tulip",
        "cut": "2027-04-20T07:00",
        "stage": "tight",
        "stems": 60,
        "moved": "south 2027-04-20",
    },
)
NOW = datetime(2027, 4, 21, 9)


@pytest.fixture(autouse=True)
def _own_computer(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A computer of its own for every test."""
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path / "config"))


def write_xlsx(
    path: Path, rows: tuple[Mapping[str, object], ...] = ROWS, without: tuple[str, ...] = ()
) -> Path:
    """A workbook as a grower has it: a title, colours, a validation, a formula, and a second sheet."""
    book = openpyxl.Workbook()
    sheet = book.active
    assert sheet is not None
    sheet.title = "Lots"
    columns = [column for column in COLUMNS if column not in without]
    sheet.append(["Larkmarrow Yard"])
    sheet.append(columns)
    for row in rows:
        sheet.append([row.get(column) for column in columns])
    letter = openpyxl.utils.get_column_letter(len(columns) + 1)
    for n in range(3, len(rows) + 3):
        sheet[f"{letter}{n}"] = f"=E{n}-G{n}"
        sheet[f"G{n}"].fill = PatternFill("solid", fgColor="FFEEAA")
        sheet[f"A{n}"].font = Font(bold=True)
    validation = DataValidation(type="list", formula1='"green,tight,half"')
    sheet.add_data_validation(validation)
    validation.add(f"D3:D{len(rows) + 2}")
    other = book.create_sheet("Prices")
    other["A1"], other["A2"] = "lot", "=Lots!E3*2"
    book.save(path)
    return path


def write_csv(path: Path, rows: tuple[Mapping[str, object], ...] = ROWS, encoding: str = "utf-8") -> Path:
    """The same as text."""
    text = io.StringIO()
    table = csv.writer(text)
    table.writerow(COLUMNS)
    for row in rows:
        values = (row.get(column, "") for column in COLUMNS)
        table.writerow(v.date() if isinstance(v, datetime) else v for v in values)
    path.write_bytes(text.getvalue().encode(encoding))
    return path


def written(folder: Path, kind: str, rows: tuple[Mapping[str, object], ...] = ROWS) -> Path:
    """Rows as a file of one kind."""
    path = folder / f"lots.{kind}"
    return write_xlsx(path, rows) if kind == "xlsx" else write_csv(path, rows)


@pytest.fixture(params=["xlsx", "csv"])
def sheet(request: pytest.FixtureRequest, tmp_path: Path) -> Path:
    """A season of four lots, as a workbook and as text."""
    (tmp_path / "tagmaker.toml").write_text(SETTINGS)
    return written(tmp_path, request.param)


def yard(sheet: Path, minutes: float = 0) -> Yard:
    """The yard so many minutes after nine."""
    moment = NOW + timedelta(minutes=minutes)
    return Yard.of(sheet, (moment.date(), moment), lambda _: moment)


def entered(sheet: Path, *entries: tuple[str, str]) -> None:
    """Enter words about lots, one a minute."""
    for n, (lot, words) in enumerate(entries):
        enter(yard(sheet, n), lot, words)


WORDS = (
    ("104", "sold 3"),
    ("104", "thrown out 1 mould"),
    ("104", "moved 4 to south, rack 2"),
    ("104B", "sold 1"),
    ("105", "into water"),
    ("105", "tested ok"),
    ("107", "moved to walk-in"),
    ("0106", "cut 90 stems tight"),
    ("140", "new crop tulip; cut 2027-04-21T08:00; stems 60; stage tight"),
    ("140", "note the first of the year"),
)


def caught_up(sheet: Path, minutes: float = 60) -> tuple[str, Path | None, list[str]]:
    """Catch up: the list, the copy, and what was said besides."""
    told: list[str] = []
    text, copy = caught_up_text(yard(sheet, minutes), None, told.append)
    return text, copy, told


def season(sheet: Path, moment: datetime = NOW + timedelta(hours=2)) -> Season:
    """The season two hours later."""
    return read_season(sheet, Day(moment.date(), moment))


def plain(lots: tuple[Lot, ...]) -> dict[str, Lot]:
    """The lots without where they were written."""
    return {
        lot.lot_code: replace(lot, where="", row=0, cells={}, name_cells={}, journal=None) for lot in lots
    }


def run(*words: str) -> Result:
    """Run the command line."""
    return CliRunner().invoke(main, list(words))


def test_the_copy_gives_the_same_lots_dates_and_counts(sheet: Path) -> None:
    """Put in the place of the sheet, it is the sheet with the journal; nothing is laid over it any more."""
    entered(sheet, *WORDS)
    before = season(sheet)
    text, copy, told = caught_up(sheet)
    assert (copy, told) == (sheet.with_name(f"lots-caught-up{sheet.suffix}"), [])
    assert "lot 104, gone: type " in text
    assert copy is not None
    shutil.move(copy, sheet)
    after = season(sheet)
    assert plain(after.lots) == plain(before.lots)
    assert (after.problems, after.journal and after.journal.laid.changes) == ((), {})
    assert [(d.lot.lot_code, d.sell_by, d.into_water_by, d.left) for d in after.dated] == [
        (d.lot.lot_code, d.sell_by, d.into_water_by, d.left) for d in before.dated
    ]
    enter(yard(sheet, 130), "104", "sold 1")
    assert {lot.lot_code: lot.left for lot in season(sheet, NOW + timedelta(hours=3)).lots}["104"] == 30
    assert run("catch-up", str(sheet), "--today", "2027-04-21T13:00").output.count("type ") == 2


def test_there_is_nothing_to_type_where_nothing_was_entered(sheet: Path) -> None:
    """Also right after a catch-up was put in place."""
    assert caught_up(sheet)[:2] == ("the sheet counts every entry; there is nothing to type", None)
    entered(sheet, ("104", "sold 3"))
    copy = caught_up(sheet)[1]
    assert copy is not None
    shutil.move(copy, sheet)
    assert caught_up(sheet)[:2] == ("the sheet counts every entry; there is nothing to type", None)


def test_every_other_part_of_a_workbook_is_byte_equal(tmp_path: Path) -> None:
    """Of the sheet's part only the cells concerned are others; the workbook is marked to be calculated."""
    (tmp_path / "tagmaker.toml").write_text(SETTINGS)
    sheet = write_xlsx(tmp_path / "lots.xlsx")
    before = sheet.read_bytes()
    entered(sheet, ("104", "sold 3"), ("105", "into water"))
    copy = caught_up(sheet)[1]
    assert copy is not None
    assert sheet.read_bytes() == before
    with zipfile.ZipFile(sheet) as old, zipfile.ZipFile(copy) as new:
        assert old.namelist() == new.namelist()
        differ = [name for name in old.namelist() if old.read(name) != new.read(name)]
        assert sorted(differ) == ["xl/workbook.xml", "xl/worksheets/sheet1.xml"]
        xml, changed = (book.read("xl/worksheets/sheet1.xml").decode() for book in (old, new))
        assert 'fullCalcOnLoad="1"' in new.read("xl/workbook.xml").decode()
    cut, kept = xml.split("</row>"), changed.split("</row>")
    assert [n for n, (a, b) in enumerate(zip(cut, kept, strict=True)) if a != b] == [2, 3]
    book = openpyxl.load_workbook(copy)
    assert book["Lots"]["G3"].value == 30
    assert book["Lots"]["G3"].fill.fgColor.rgb == "00FFEEAA"
    assert book["Lots"]["V3"].value == "=E3-G3"
    assert book["Prices"]["A2"].value == "=Lots!E3*2"
    assert len(book["Lots"].data_validations.dataValidation) == 1


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "cp1252"])
def test_every_other_byte_of_a_text_is_equal(tmp_path: Path, encoding: str) -> None:
    """Whatever its encoding, its quotation marks and its line ends."""
    (tmp_path / "tagmaker.toml").write_text(SETTINGS)
    rows = ({**ROWS[0], "note": 'Café, "three" lines'}, *ROWS[1:])
    sheet = write_csv(tmp_path / "lots.csv", rows, encoding)
    entered(sheet, ("105", "sold 3"))
    copy = caught_up(sheet)[1]
    assert copy is not None
    old, new = (path.read_bytes().decode(encoding) for path in (sheet, copy))
    assert new.count("\r\n") == old.count("\r\n") > 0
    (line,) = [n for n, (a, b) in enumerate(zip(old.split("\r\n"), new.split("\r\n"), strict=True)) if a != b]
    name = season(sheet).journal
    assert name is not None
    expected = (
        old.split("\r\n")[line].replace(",85,,5,", ",85,,35,").replace(",,red", f",{name.book.name}-1,red")
    )
    assert new.split("\r\n")[line] == expected


def text_grid(path: Path) -> Grid:
    """The cells of a text file."""
    with open_sheet(path) as file:
        return file.lots(lambda found: max(map(len, found)), bool)


@pytest.mark.parametrize("mark", [",", ";", "\t", "|"])
@pytest.mark.parametrize("newline", ["\n", "\r\n", "\r"])
def test_text_is_spliced_where_its_cells_stand(tmp_path: Path, mark: str, newline: str) -> None:
    """Quoted cells with marks and line ends in them, short rows, and a last line without an end."""
    rows = ['lot,"a ""b"""', '104,"x,;|\ty"', "105", '106,"two', 'lines"']
    text = newline.join(row.replace(",", mark) if "x" not in row else f'104{mark}"x,;|\ty"' for row in rows)
    path = tmp_path / "lots.csv"
    path.write_bytes(text.encode())
    grid = text_grid(path)
    if mark == "|" and len(grid.rows[0]) == 1:
        pytest.skip("not a separator that is read")
    copy = changed_text(path.read_bytes(), grid, {(1, 1): f"new{mark}one", (2, 1): "z"}, [["107", "q"]])
    assert copy is not None
    path.write_bytes(copy)
    again = text_grid(path)
    changed = [list(row) for row in grid.rows]
    changed[1][1] = f"new{mark}one"
    changed[2] = ["105", "z"]
    assert [list(row) for row in again.rows] == [*changed, ["107", "q"]]


def test_a_formula_is_never_replaced(tmp_path: Path) -> None:
    """Where the cell to type holds one, only the list is given; typed by hand it counts all the same."""
    (tmp_path / "tagmaker.toml").write_text(SETTINGS)
    path = write_xlsx(tmp_path / "lots.xlsx")
    book = openpyxl.load_workbook(path)
    book["Lots"]["G3"] = "=2+3"
    book.save(path)
    with zipfile.ZipFile(path) as old:
        parts = {name: old.read(name) for name in old.namelist()}
    name = "xl/worksheets/sheet1.xml"
    parts[name] = (
        parts[name]
        .replace(b"<f>2+3</f><v />", b"<f>2+3</f><v>5</v>")
        .replace(b"<f>2+3</f><v></v>", b"<f>2+3</f><v>5</v>")
    )
    with zipfile.ZipFile(path, "w") as new:
        for part, content in parts.items():
            new.writestr(part, content)
    entered(path, ("104", "sold 3"))
    text, copy, told = caught_up(path)
    assert (copy, list(path.parent.glob("*caught*"))) == (None, [])
    assert 'cell G3: lot 104, gone: type "35" (it says "5")' in text
    (said,) = told
    assert said.startswith(
        "no copy was written: the copy can only be written for xlsx and csv without a formula"
    )


def test_no_formula_comes_into_a_text(tmp_path: Path) -> None:
    """A note that a spreadsheet would take for one is for the list alone."""
    (tmp_path / "tagmaker.toml").write_text(SETTINGS)
    sheet = write_csv(tmp_path / "lots.csv")
    entered(sheet, ("105", 'note =HYPERLINK("x")'))
    text, copy, _ = caught_up(sheet)
    assert (copy, "HYPERLINK" in text) == (None, True)


@pytest.mark.parametrize("kind", ["xlsx", "csv"])
def test_a_column_that_is_not_there_is_named_and_added(tmp_path: Path, kind: str) -> None:
    """The list says which column it needs; the copy has it, right of all others."""
    (tmp_path / "tagmaker.toml").write_text(SETTINGS)
    sheet = tmp_path / f"lots.{kind}"
    if kind == "xlsx":
        write_xlsx(sheet, without=("tested", "dumped"))
    else:
        write_csv(sheet)
        text = sheet.read_text().replace(",tested,", ",my tests,").replace(",dumped,", ",my dumps,")
        sheet.write_text(text)
    entered(sheet, ("105", "tested bad"), ("104", "thrown out 1"))
    before = season(sheet)
    text, copy, told = caught_up(sheet)
    assert ("which needs a column tested: lot 105" in text, told) == (True, [])
    assert copy is not None
    shutil.move(copy, sheet)
    assert plain(season(sheet).lots) == plain(before.lots)


@pytest.mark.parametrize("kind", ["xlsx", "csv"])
def test_a_sheet_without_the_column_journal(tmp_path: Path, kind: str) -> None:
    """The journal remembers by the cells; copy, old copy and what is typed on are told apart."""
    (tmp_path / "tagmaker.toml").write_text(SETTINGS)
    sheet = tmp_path / f"lots.{kind}"
    if kind == "xlsx":
        write_xlsx(sheet, without=("journal",))
    else:
        write_csv(sheet)
        sheet.write_text(sheet.read_text().replace(",journal,", ",my mark,"))
    old = sheet.read_bytes()
    entered(sheet, ("104", "sold 3"))
    copy = caught_up(sheet)[1]
    assert copy is not None
    enter(yard(sheet, 70), "104", "sold 1")
    shutil.move(copy, sheet)
    assert {lot.lot_code: lot.left for lot in season(sheet).lots}["104"] == 80
    sheet.write_bytes(old)
    found = season(sheet)
    assert {lot.lot_code: lot.left for lot in found.lots}["104"] == 80
    assert any("say again what they said before" in str(remark) for remark in found.remarks)


def test_a_lot_that_is_to_settle_waits(sheet: Path) -> None:
    """It is left out of list and copy, and said; the others are caught up."""
    entered(sheet, ("104", "sold 3"), ("105", "sold 1"))
    if sheet.suffix == ".csv":
        sheet.write_text(sheet.read_text().replace("120,,,", "120,,40,"))
    else:
        book = openpyxl.load_workbook(sheet)
        book["Lots"]["G3"] = 40
        book.save(sheet)
    text, copy, told = caught_up(sheet)
    assert (copy is not None, told) == (True, ["lot 104 is left out: it is TO SETTLE"])
    assert ("lot 105, gone" in text, "lot 104," in text) == (True, False)


def test_other_workbooks_get_the_list(demo: Path, tmp_path: Path) -> None:
    """An ods is read and never copied."""
    (tmp_path / "tagmaker.toml").write_text((demo / "tagmaker.toml").read_text())
    shutil.copytree(demo / "logs", tmp_path / "logs")
    sheet = tmp_path / "lots.ods"
    shutil.copy(Path(__file__).parent / "sheets" / "demo.ods", sheet)
    entered(sheet, ("104", "sold 3"))
    text, copy, _ = caught_up(sheet)
    assert (copy, 'lot 104, gone: type "30"' in text) == (None, True)


def test_the_copy_goes_where_it_is_wanted(sheet: Path, tmp_path: Path) -> None:
    """`-o` names the folder; the command prints the list and says what it wrote."""
    entered(sheet, ("104", "sold 3"))
    done = run("catch-up", str(sheet), "--today", "2027-04-21T12:00", "-o", str(tmp_path / "out"))
    assert done.exit_code == 0
    assert f"wrote {tmp_path / 'out' / f'lots-caught-up{sheet.suffix}'}" in done.output


# --- any sheet, any entries --------------------------------------------------------------------------------

AMOUNTS = st.integers(0, 9)
WORD = st.one_of(
    st.builds("sold {}".format, AMOUNTS),
    st.builds("sold {} stems".format, st.integers(0, 70)),
    st.builds("thrown out {} broken".format, AMOUNTS),
    st.builds("count {}".format, AMOUNTS),
    st.builds("more {}".format, AMOUNTS),
    st.builds("moved {} to south".format, AMOUNTS),
    st.builds("into water {} for 2027-04-24 stall".format, AMOUNTS),
    st.builds("out {} for stall".format, AMOUNTS),
    st.builds("back {}".format, AMOUNTS),
    st.builds("kept {} for 2027-04-23 florist".format, AMOUNTS),
    st.sampled_from(
        [
            "sold all",
            "into water",
            "moved to south, rack 1",
            "tested ok",
            "tested half",
            "mould",
            "note by the door",
            "undo",
        ]
    ),
)
LOT = st.sampled_from(["104", "105", "0106", "107", "104B", "105B", "104C"])
ENTERED = st.lists(st.tuples(LOT, WORD), min_size=1, max_size=8)


def _row(code: str) -> st.SearchStrategy[dict[str, Any]]:
    return st.fixed_dictionaries(
        {
            "lot": st.just(code),
            "crop": st.just("tulip"),
            "stage": st.just("tight"),
            "cut": st.just("2027-04-16"),
        },
        optional={
            "stems": st.one_of(st.integers(1, 200), st.just("12 bunches")),
            "per bunch": st.integers(5, 12),
            "gone": st.one_of(st.integers(0, 40), st.sampled_from(["all", "1 bunch"])),
            "dumped": st.integers(0, 5),
            "in water": st.just("2027-04-20"),
            "moved": st.just("south 2027-04-19; walk-in 2027-04-20"),
            "tested": st.just("2027-04-20 ok"),
            "note": st.text(alphabet='ab ,"é', max_size=8),
        },
    )


@pytest.mark.slow
@pytest.mark.parametrize("kind", ["xlsx", "csv"])
@settings(max_examples=15, deadline=None, suppress_health_check=list(HealthCheck))
@given(rows=st.tuples(_row("104"), _row("105"), _row("0106"), _row("107")), words=ENTERED)
def test_any_sheet_caught_up_is_the_sheet_with_its_journal(
    tmp_path_factory: pytest.TempPathFactory,
    kind: str,
    rows: tuple[dict[str, Any], ...],
    words: list[tuple[str, str]],
) -> None:
    """Whatever stands in the rows and is entered: read back, the copy gives the same lots and dates."""
    folder = tmp_path_factory.mktemp("any")
    (folder / "tagmaker.toml").write_text(SETTINGS)
    sheet = written(folder, kind, rows)
    for n, (lot, text) in enumerate(words):
        try:
            enter(yard(sheet, n), lot, text)
        except (UsageProblem, InputProblems):
            continue
    before = season(sheet)
    assert before.journal is not None
    _, copy, told = caught_up(sheet)
    nothing = not before.journal.laid.changes and not before.journal.laid.added
    event("nothing to type" if nothing else f"{len(before.journal.book.entries)} entries")
    if nothing:
        return
    assert told == []
    assert copy is not None
    shutil.move(copy, sheet)
    after = season(sheet)
    assert after.journal is not None
    assert (after.journal.laid.changes, after.journal.laid.added) == ({}, [])
    assert plain(after.lots) == plain(before.lots)
    assert after.problems == before.problems
