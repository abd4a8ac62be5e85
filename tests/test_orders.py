"""The sheet Orders: what is read of it, what is refused, and what is only said."""

from __future__ import annotations

import csv
import io
import shutil
import time
from collections.abc import Mapping
from datetime import datetime, timedelta
from pathlib import Path

import openpyxl
import pytest

from tagmaker.desk.apart import Apart
from tagmaker.desk.season import Day, Season, read_season, season_files
from tagmaker.desk.starting import begin
from tagmaker.intake.cells.plain_text import squash
from tagmaker.intake.opening import open_season
from tagmaker.intake.orders.columns import ORDER_COLUMNS, ORDERS
from tagmaker.intake.orders.sheet import orders_of
from tagmaker.intake.settings.farm import settings_beside
from tagmaker.intake.starter.beginning import Beginning
from tagmaker.storage.crops import crop_table
from tagmaker.storage.demand import WrittenOrder
from tests.small_sheets import NOW, SETTINGS

LOTS = (
    "lot,crop,form,variety,colour,cut,stems\n"
    "041,tulip,double,Pale Harbour,apricot,2027-03-22T09:00,120\n"
    "042,tulip,,Grey Wicket,lilac,2027-03-22T09:00,120\n"
)
SOUND = {"order": "A-1", "leaves": "2027-04-03", "use": "stall", "bunches": "6"}


def as_csv(*rows: Mapping[str, str]) -> str:
    """Rows as a csv with a column for each of their keys."""
    text = io.StringIO()
    writer = csv.DictWriter(text, list(dict.fromkeys(key for row in rows for key in row)))
    writer.writeheader()
    writer.writerows(rows)
    return text.getvalue()


def season_of(folder: Path, *rows: Mapping[str, str], text: str = "", more: str = "") -> Season:
    """A small season with these orders beside it."""
    sheet = folder / "lots.csv"
    sheet.write_text(LOTS, encoding="utf-8")
    (folder / "tagmaker.toml").write_text(SETTINGS + more, encoding="utf-8")
    (folder / "orders.csv").write_text(text or as_csv(*rows), encoding="utf-8")
    return read_season(sheet, Day(NOW.date(), NOW))


def faults(folder: Path, **cells: str) -> list[str]:
    """What is said of one faulty row, which is no order then."""
    season = season_of(folder, {**SOUND, **cells})
    assert bool(season.order_problems) == (not season.orders)
    assert set(season.order_problems) <= set(season.remarks)
    assert (len(season.lots), season.problems) == (2, ())
    return [str(problem).removeprefix("orders.csv, line 2, ") for problem in season.order_problems]


def test_no_name_leads_to_two_columns() -> None:
    """Every synonym is that of one column."""
    words = [
        (squash(word), column.name)
        for column in ORDER_COLUMNS
        for word in {squash(name) for name in (column.name, *column.synonyms.split(","))}
    ]
    assert len(dict(words)) == len(words)
    assert [column for word, column in words if ORDERS.named(word) != column] == []


def test_a_row_of_every_column(tmp_path: Path) -> None:
    """Each cell is read by its own column; several names are parted by a slash."""
    row = {
        "Order no": "a-1",
        "Delivery date (date)": "2027-04-03T07:00",
        "For": "Event",
        "Flower": "tulip / daffodil",
        "Type": "double/Darwin",
        "Cultivar": "Pale Harbour / Loom Scarlet",
        "Color": "Apricot/white",
        "Bunches": "12 bunches",
        "Served": "2",
        "Notes": "at the back door",
    }
    season = season_of(tmp_path, row)
    assert season.order_problems == ()
    assert season.orders == (
        WrittenOrder(
            order_code="A-1",
            leaves=datetime(2027, 4, 3, 7),
            use="event",
            crops=frozenset({"tulip", "narcissus"}),
            forms=frozenset({"double", "Darwin hybrid", ""}),
            varieties=frozenset({"pale harbour", "loom scarlet"}),
            colours=frozenset({"apricot", "white"}),
            bunches=12,
            done_bunches=2,
            note="at the back door",
            where="orders.csv, line 2",
            row=2,
        ),
    )


def test_a_day_without_an_hour_is_when_its_use_leaves(tmp_path: Path) -> None:
    """The stall leaves at half past six."""
    (order,) = season_of(tmp_path, SOUND).orders
    assert (order.leaves, order.open_bunches) == (datetime(2027, 4, 3, 6, 30), 6)


@pytest.mark.parametrize(
    ("done", "left"),
    [("", 60), ("yes", 0), ("All", 0), ("x", 0), ("no", 60), ("0", 60), ("24", 36), ("24 stems", 36)],
)
def test_what_is_done_already(tmp_path: Path, done: str, left: int) -> None:
    """Blank is nothing, yes and all are all of it, and an amount is in the unit of its row."""
    (order,) = season_of(tmp_path, {**SOUND, "bunches": "", "stems": "60", "done": done}).orders
    assert (order.open_stems, order.is_done) == (left, left == 0)


FAULTS = {
    "no code": ({"order": ""}, "column order: order must be filled in (got nothing). Write 001, the next"),
    "a code of signs": ({"order": "A/1"}, "column order: order must be a code of letters A-Z"),
    "no day": ({"leaves": ""}, "column leaves: leaves must be filled in (got nothing). Write the day"),
    "no date": ({"leaves": "soon"}, 'column leaves: leaves must be a date (got "soon")'),
    "two ways": ({"leaves": "04/05/2027"}, "column leaves: leaves must be a date that reads one way"),
    "three parts of two digits": (
        {"leaves": "03/04/27"},
        "column leaves: leaves must be a date with all four digits of its year",
    ),
    "a wrong year": ({"leaves": "2029-04-03"}, "column leaves: leaves must be at most a year ahead"),
    "no use": ({"use": ""}, "column use: use must be filled in (got nothing)"),
    "an unknown use": (
        {"use": "stal"},
        'column use: use must be a use of the farm: shop, stall or event (got "stal"). The nearest is stall',
    ),
    "an unknown crop": ({"crop": "tulip/tulp"}, 'column crop: crop must be a known crop (got "tulip/tulp")'),
    "a form of no crop": ({"form": "frilly"}, 'column form: form must be a form of some crop (got "frilly")'),
    "a form of another crop": (
        {"crop": "tulip", "form": "oriental"},
        "column form: form must be a form of tulip: single, double",
    ),
    "only slashes": ({"colour": "/ /"}, "column colour: colour must be a name, or several parted by /"),
    "stems and bunches": (
        {"stems": "60"},
        'column bunches: stems or bunches must be filled in, not both (got "60" stems and "6" bunches)',
    ),
    "neither": (
        {"bunches": "", "stems": ""},
        "column stems: stems or bunches must be filled in (got nothing)",
    ),
    "none at all": ({"bunches": "0"}, "column bunches: bunches must be a whole number from 1 to 20,000"),
    "half a bunch": ({"bunches": "1.5"}, "column bunches: bunches must be a whole number from 1 to 20,000"),
    "stems under bunches": (
        {"bunches": "60 stems"},
        'column bunches: bunches must be a number of bunches (got "60 stems"). Write it in the column stems',
    ),
    "more done than ordered": ({"done": "7"}, "column done: done must be at most what is ordered, 6"),
    "done in the other unit": ({"done": "6 stems"}, "column done: done must be in bunches, as the order is"),
    "done in words": ({"done": "perhaps"}, "column done: done must be yes, or a whole number from 0"),
}  # fmt: skip


@pytest.mark.parametrize("name", FAULTS)
def test_a_faulty_cell(tmp_path: Path, name: str) -> None:
    """It is said where it stands, what it must be and what to do; the row is no order and stops no lot."""
    cells, said = FAULTS[name]
    found = faults(tmp_path, **cells)
    assert len(found) == 1
    assert found[0].startswith(said)


def test_all_faults_at_once(tmp_path: Path) -> None:
    """Four faults of two rows are told together, and the third row is an order."""
    rows = (
        {"order": "A-1", "leaves": "soon", "use": "stal", "stems": "-1", "bunches": ""},
        {"order": "A-2", "leaves": "2027-04-03", "use": "", "stems": "10", "bunches": ""},
        {**SOUND, "order": "A-3", "stems": ""},
    )
    season = season_of(tmp_path, *rows)
    places = [problem.where.removeprefix("orders.csv, ") for problem in season.order_problems]
    columns = ["line 2, column leaves", "line 2, column use", "line 2, column stems", "line 3, column use"]
    assert sorted(places) == sorted(columns)
    assert [order.order_code for order in season.orders] == ["A-3"]


def test_a_code_that_two_rows_have(tmp_path: Path) -> None:
    """Neither of the two counts, however they are written."""
    season = season_of(tmp_path, SOUND, {**SOUND, "order": "a-1"})
    assert [str(problem) for problem in season.order_problems] == [
        (
            "orders.csv, line 3, column order: code A-1 is already used in line 2. "
            "Give one of the two rows another code."
        )
    ]
    assert season.orders == ()


def test_what_is_only_said(tmp_path: Path) -> None:
    """A variety that no lot has may come, a past order is to be closed, an own column is named."""
    rows = (
        {**SOUND, "variety": "Pale Harbor / Grey Wicket", "Buyer": "Ms Ash"},
        {**SOUND, "order": "A-2", "leaves": "2027-03-20"},
        {**SOUND, "order": "A-3", "leaves": "2027-03-20", "done": "yes", "variety": "gone"},
    )
    season = season_of(tmp_path, *rows)
    assert [order.order_code for order in season.orders] == ["A-1", "A-2", "A-3"]
    assert [str(remark) for remark in season.remarks] == [
        (
            "orders.csv: Buyer: not used. Say in tagmaker.toml what it is, or that it needs no word: "
            '[columns] ignore = ["Buyer"].'
        ),
        (
            'orders.csv, line 2, column variety: variety: no lot and no plan has "Pale Harbor". '
            "The nearest is Pale Harbour."
        ),
        (
            "orders.csv, line 3, column leaves: leaves must lie ahead, or its order must be done "
            '(got "2027-03-20", which is past). Write under done what has left, or yes.'
        ),
    ]


@pytest.mark.parametrize(
    ("header", "said"),
    [
        ("order,use,stems", "line 1: the header must have a column leaves (got "),
        ("order,leaves,use", "line 1: the header must have a column stems or bunches (got "),
        ("order,due,date,use,stems", "line 1, column date: the header must name the column leaves once"),
        ("order,leaves,use,stems,bunches,dune", "line 1, column dune: the header must be a known name where"),
        ("a,b,c", "must have a header row with the columns order, leaves, use and stems or bunches (got"),
    ],
)  # fmt: skip
def test_a_header_that_does_not_do(tmp_path: Path, header: str, said: str) -> None:
    """A column that is missing, named twice or misspelt stops the orders, and no lot."""
    cells = {
        "order": "A-1",
        "leaves": "2027-04-03",
        "due": "2027-04-03",
        "date": "2027-04-03",
        "use": "stall",
        "stems": "60",
    }
    row = ",".join({**cells, "dune": "yes"}.get(name, "") for name in header.split(","))
    season = season_of(tmp_path, text=f"{header}\n{row}\n")
    assert (season.orders, len(season.lots)) == ((), 2)
    assert [said in str(problem) for problem in season.order_problems] == [True]


def test_the_growers_own_headers(tmp_path: Path) -> None:
    """What the settings say of a column of the lots holds for the orders too."""
    row = {**SOUND, "Sort": "Pale Harbour"}
    sheet = tmp_path / "lots.csv"
    season_of(tmp_path, row)
    sheet.write_text(LOTS.replace("variety", "Sort"), encoding="utf-8")
    settings = SETTINGS + '[columns]\nvariety = "Sort"\n'
    (tmp_path / "tagmaker.toml").write_text(settings, encoding="utf-8")
    (order,) = read_season(sheet, Day(NOW.date(), NOW)).orders
    assert order.varieties == {"pale harbour"}


def test_an_empty_sheet_has_no_orders(tmp_path: Path) -> None:
    """Rows with nothing but a code are left alone, and an empty file of rows is quiet."""
    season = season_of(tmp_path, {**dict.fromkeys(SOUND, ""), "order": "A-1"})
    assert (season.orders, season.remarks) == ((), ())


def workbook(folder: Path, cells: Mapping[str, object], rows: int = 1) -> Path:
    """A workbook of lots with a sheet of orders."""
    book = openpyxl.Workbook()
    book.worksheets[0].title = "Lots"
    for line in csv.reader(io.StringIO(LOTS)):
        book.worksheets[0].append(line)
    orders = book.create_sheet("ORDERS ")
    orders.append(["My orders of the spring"])
    orders.append(list(cells))
    for _ in range(rows):
        orders.append(list(cells.values()))
    path = folder / "lots.xlsx"
    book.save(path)
    (folder / "tagmaker.toml").write_text(SETTINGS, encoding="utf-8")
    return path


def test_a_workbook_has_its_own_sheet(tmp_path: Path) -> None:
    """Real dates and numbers; faults are told by cell; a code shown with its zeros keeps them."""
    sound: dict[str, object] = {"order": 7, "leaves": datetime(2027, 4, 3), "use": "stall", "stems": 60}
    path = workbook(tmp_path, {**sound, "done": "=1/0"})
    book = openpyxl.load_workbook(path)
    orders = book["ORDERS "]
    orders["A3"].number_format = "0000"
    orders.append([8, "tomorrow", "stall", 20])
    orders.row_dimensions[4].hidden = True
    book.save(path)
    season = read_season(path, Day(NOW.date(), NOW))
    assert [str(problem).split(" (got")[0] for problem in season.order_problems] == [
        'lots.xlsx, sheet "ORDERS ", cell E3: done must be a value',
        'lots.xlsx, sheet "ORDERS ", cell B4: leaves must be a date',
    ]
    assert any("hidden rows count like the others (got 4)" in str(remark) for remark in season.remarks)
    orders["E3"].value = None
    book.save(path)
    (order,) = read_season(path, Day(NOW.date(), NOW)).orders
    assert (order.order_code, order.leaves, order.stems) == ("0007", datetime(2027, 4, 3, 6, 30), 60)


def test_orders_beside_a_workbook(tmp_path: Path) -> None:
    """A workbook without the sheet takes the file beside it; with it, the file is said not to count."""
    path = workbook(tmp_path, SOUND)
    (tmp_path / "orders.csv").write_text(as_csv({**SOUND, "order": "B-1"}), encoding="utf-8")
    season = read_season(path, Day(NOW.date(), NOW))
    assert [order.order_code for order in season.orders] == ["A-1"]
    assert [str(remark) for remark in season.remarks] == [
        (
            'orders.csv: not used, because the orders of lots.xlsx, sheet "ORDERS " count. '
            "Move its rows there, or take it out of the folder."
        )
    ]
    book = openpyxl.load_workbook(path)
    del book["ORDERS "]
    book.save(path)
    season = read_season(path, Day(NOW.date(), NOW))
    assert [order.order_code for order in season.orders] == ["B-1"]


def test_orders_that_cannot_be_read_stop_no_lot(tmp_path: Path) -> None:
    """A workbook under the name of the csv is a problem of the orders alone."""
    path = workbook(tmp_path, SOUND)
    shutil.copy(path, tmp_path / "orders.csv")
    sheet = tmp_path / "lots.csv"
    sheet.write_text(LOTS, encoding="utf-8")
    season = read_season(sheet, Day(NOW.date(), NOW))
    assert len(season.lots) == 2
    assert ["a workbook under that name" in str(problem) for problem in season.order_problems] == [True]


def test_a_form_that_nobody_wrote_down_fits_no_order_for_a_form(tmp_path: Path) -> None:
    """Lot 042 is dated as the form that lasts the fewest days; an order for a form waits for the word."""
    season = season_of(tmp_path, {**SOUND, "crop": "tulip", "form": "double/lily-flowered/single/parrot"})
    assert [lot.lot_code for lot in season.lots if season.orders[0].fits(lot)] == ["041"]


def test_the_starters_example_is_no_order(tmp_path: Path) -> None:
    """As it was written it counts for nothing; typed over, its code has to be an own one."""
    path, *_ = begin(tmp_path, Beginning())
    book = openpyxl.load_workbook(path)
    lots, orders = book["Lots"], book["Orders"]
    lots["B2"], lots["F2"] = "tulip", NOW - timedelta(days=1)
    book.save(path)
    season = read_season(path, Day(NOW.date(), NOW))
    assert (season.orders, season.remarks) == ((), ())
    orders["I2"] = 12
    book.save(path)
    season = read_season(path, Day(NOW.date(), NOW))
    assert season.orders == ()
    assert [str(problem).split(", cell ")[1] for problem in season.order_problems] == [
        'A2: order must be a code of your own (got "EXAMPLE"). Give it a code of its own, or clear the row.'
    ]
    orders["A2"] = "A-1"
    book.save(path)
    assert [order.bunches for order in read_season(path, Day(NOW.date(), NOW)).orders] == [12]


def test_the_starters_sheet_has_notes_and_drop_downs(tmp_path: Path) -> None:
    """Every header of the orders has its note, and crop, form, use and done propose words."""
    sheet = openpyxl.load_workbook(begin(tmp_path, Beginning())[0])["Orders"]
    assert [cell.comment.text for cell in sheet[1] if cell.comment] == [c.note for c in ORDER_COLUMNS]
    names = [column.name for column in ORDER_COLUMNS]
    proposed = {
        names[next(iter(choice.sqref.ranges)).min_col - 1] for choice in sheet.data_validations.dataValidation
    }
    assert proposed == {"use", "crop", "form", "done"}
    assert (sheet["A3"].number_format, sheet["B3"].number_format) == ("@", "yyyy-mm-dd hh:mm")


def test_the_process_that_reads_for_the_pages_reads_orders_too(tmp_path: Path) -> None:
    """They come back as they are here, and the file is watched."""
    season = season_of(tmp_path, SOUND)
    farm, crops = settings_beside(season.sheet), crop_table()
    here, there = open_season(season.sheet), Apart().open(season.sheet)
    assert tmp_path / "orders.csv" in season_files(season.sheet, farm)
    found = [orders_of(opened.orders, season.lots, farm, crops, NOW) for opened in (here, there)]
    assert found[0] == found[1]
    assert found[0].orders == season.orders


def test_the_demo_has_the_same_orders_in_three_formats(demo: Path, repository: Path, tmp_path: Path) -> None:
    """The sheet of the workbook, of the spreadsheet program's copy and the csv; nothing in them is odd."""
    now = datetime(2027, 4, 21, 9)
    shutil.copy(demo / "tagmaker.toml", tmp_path)
    shutil.copytree(demo / "logs", tmp_path / "logs")
    shutil.copy(repository / "tests" / "sheets" / "demo.ods", tmp_path / "lots.ods")
    sheets = (demo / "lots.csv", demo / "lots.xlsx", tmp_path / "lots.ods")
    seasons = [read_season(sheet, Day(now.date(), now)) for sheet in sheets]
    assert [season.order_problems for season in seasons] == [(), (), ()]
    told = [
        [(o.order_code, o.leaves, o.use, o.stems, o.bunches, o.done_bunches, o.note) for o in s.orders]
        for s in seasons
    ]
    assert told[0] == told[1] == told[2]
    assert len(told[0]) == 7
    assert not any("rders" in str(remark) for season in seasons for remark in season.remarks)


def test_many_orders_are_read_at_once(tmp_path: Path) -> None:
    """Five thousand rows, every code there twice but one: all faults are told, and it takes no minute."""
    rows = [{**SOUND, "order": f"A-{n // 2}"} for n in range(5001)]
    begun = time.process_time()
    season = season_of(tmp_path, *rows)
    assert time.process_time() - begun < 10
    assert [order.order_code for order in season.orders] == ["A-2500"]
    assert len(season.order_problems) == 2500
