"""The page that says what is believed, of every cooler, use and crop, and where to change it."""

from __future__ import annotations

from pathlib import Path

import openpyxl
import pytest

from tests.page_sources import main_text, parsed
from tests.served import CODE, Served, get, opened, row, write_season

pytestmark = pytest.mark.slow

SETTINGS = """
units = "F"
[uses.shop]
vase_days = 4
[uses.stall]
vase_days = 5
days = ["Sat", "2027-05-05"]
leaves = "06:30"
[coolers.barn]
set_point = "37F"
trusted = true
log = "barn.csv"
crates = 24
buckets = 8
[coolers."old fridge"]
"""


@pytest.fixture
def here(tmp_path: Path) -> Served:
    """A season with a log, two outlets, and a column that nobody knows."""
    rows = "".join(f"2027-03-22 {hour:02}:00,38\n" for hour in range(24))
    (tmp_path / "barn.csv").write_text(f"Time,Temp F\n{rows}", encoding="utf-8")
    sheet = write_season(tmp_path, row("041"), row("042"), settings=SETTINGS)
    lines = sheet.read_text(encoding="utf-8").splitlines()
    lines = [f"{line},{'Picker' if number == 0 else 'Ada'}" for number, line in enumerate(lines)]
    sheet.write_text("\n".join(lines) + "\n", encoding="utf-8")
    return Served(sheet)


def test_the_first_page_leads_to_it(here: Served) -> None:
    """One tap, for everybody."""
    assert 'href="/check"' in here.text("/")


def test_every_cooler_is_told(here: Served) -> None:
    """Set point, whether it is trusted, the log and until when it was read, the room; each with its key."""
    text = main_text(here.text("/check"))
    barn = text[text.index("barn Set point") : text.index("old fridge Set point")]
    for said in (
        "Set point 37 °F tagmaker.toml, [coolers.barn], set_point",
        "Trusted yes tagmaker.toml, [coolers.barn], trusted",
        "Log 1 file, the last is barn.csv tagmaker.toml, [coolers.barn], log",
        "Read until MON 22 MAR 11 PM",
        "Crates 24 tagmaker.toml",
        "Buckets 8, in the same space tagmaker.toml",
    ):
        assert said in barn
    fridge = text[text.index("old fridge Set point") :]
    for said in ("Set point not said", "Log none", "Read until not read", "no limit is watched"):
        assert said in fridge


def test_every_use_is_told(here: Served) -> None:
    """What it promises, when it sells, and its next selling moments, weekdays and dates in order."""
    text = main_text(here.text("/check"))
    stall = text[text.index("stall Promise") :]
    for said in (
        "Promise 5 vase days tagmaker.toml, [uses.stall], vase_days",
        "Days SAT, WED 5 MAY tagmaker.toml, [uses.stall], days",
        "SAT 27 MAR 6:30 AM, SAT 3 APR 6:30 AM, SAT 10 APR 6:30 AM tagmaker.toml, [uses.stall], leaves",
    ):
        assert said in stall
    assert "Days any day" in text[: text.index("stall Promise")]


def test_every_crop_of_the_sheet_is_told(here: Served) -> None:
    """Its lots, ways, stages in words, and where its figures are from; crops that are not there are not."""
    text = main_text(here.text("/check"))
    crop = here.live.look().shown.source.crops.ways("tulip", "single")[0]
    told = text[text.index("tulip single Lots 2") :]
    assert f"{crop.right_stage.word}: {crop.stages[crop.right_stage]} (cut now)" in told
    assert all(phrase in told for phrase in crop.stages.values())
    assert crop.source in told
    assert 'tagmaker.toml, [crops."tulip single"]' in told
    assert "narcissus" not in text


def test_what_is_not_used_is_told_with_what_to_do(here: Served) -> None:
    """A column without a meaning, a faulty row and a lot's warnings."""
    text = main_text(here.text("/check"))
    assert "Picker: not used" in text
    assert "ignore = [" in text
    here.sheet.write_text(
        here.sheet.read_text(encoding="utf-8").replace("042,tulip", "042,tulpi"), encoding="utf-8"
    )
    here.later()
    assert "tulpi" in main_text(here.text("/check"))


def test_settings_of_the_workbook_are_told_by_their_cells(tmp_path: Path) -> None:
    """A cooler and a use of the sheets, and a key of the sheet Farm."""
    book = openpyxl.Workbook()
    lots = book.active
    assert lots is not None
    lots.title = "Lots"
    lots.append(["lot", "crop", "cut", "stage", "stems"])
    lots.append(["041", "tulip", "2027-03-22", "tight", 120])
    sheets = {
        "Farm": (["key", "value"], ["units", "F"]),
        "Coolers": (["cooler", "set_point"], ["walk-in", "38F"]),
        "Uses": (["use", "vase_days"], ["shop", 4]),
        "Orders": (
            ["order", "leaves", "use", "stems", "note"],
            ["W1", "2027-04-02", "shop", 10, "pays late"],
        ),
    }
    for name, rows in sheets.items():
        sheet = book.create_sheet(name)
        for line in rows:
            sheet.append(line)
    book.save(tmp_path / "lots.xlsx")
    text = main_text(Served(tmp_path / "lots.xlsx", code=CODE).text("/check"))
    assert 'Set point 38 °F lots.xlsx, sheet "Coolers", cell B2' in text
    assert 'Promise 4 vase days lots.xlsx, sheet "Uses", cell B2' in text
    assert 'Units °F lots.xlsx, sheet "Farm", cell B2' in text
    assert "pays late" not in text


def test_what_does_not_hold_on_this_computer_is_told(tmp_path: Path) -> None:
    """A link that leads elsewhere and a queue that is not there: said in the window and on the page."""
    settings = f'link = "https://example.org/{{lot}}"\n{SETTINGS}[printers.shed]\nqueue = "NO-SUCH-QUEUE"\n'
    with opened(write_season(tmp_path, row("041"), settings=settings)) as (listener, told):
        _, page = get(listener, "/check")
    said = 'the link in the settings leads elsewhere: "https://example.org/{lot}"'
    assert said in told
    assert f"{said[1:]}." in main_text(page)
    assert [line[1:] in main_text(page) for line in told if "NO-SUCH-QUEUE" in line] in ([], [True])


def test_it_is_valid(here: Served, tmp_path_factory: pytest.TempPathFactory) -> None:
    """Strict HTML, also of a season without a lot."""
    empty = Served(write_season(tmp_path_factory.mktemp("empty")))
    for served in (here, empty):
        assert len(list(parsed(served.text("/check")).iter("h1"))) == 1
    assert "No lot is in the sheet yet." in main_text(empty.text("/check"))
