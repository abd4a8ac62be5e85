"""The pack sheet: a page a departure, large enough to be read in a cooler, and nothing of it lost."""

from __future__ import annotations

from pathlib import Path

import pypdfium2 as pdfium  # type: ignore[import-untyped]  # it comes without types
import pytest
from pypdf import PdfReader

from tagmaker.desk.pack_printing import draw_pack_sheet
from tagmaker.desk.packing import asked_of, packing
from tagmaker.errors import InputProblems
from tagmaker.farm import PAPER_SIZES
from tagmaker.paper.pack.pages import MARGIN
from tagmaker.paper.pack.rows import HIGHEST, LEAST, cells_of
from tagmaker.paper.press.boxes import MM, Box, Code, Frame, Sheet, Text
from tagmaker.paper.proof.proving import prove
from tagmaker.storage.room import whole_buckets
from tests.packed_season import ORDERS, ROWS, SETTINGS, pack, season_of, write_season

LONG = "Première Écume près du Vieux Hêtre de la Grande Île du Nord"
HEAD_WORDS = ("PLACE", "LOT", "VARIETY", "BUNCHES", "INTO WATER BY", "BUCKET", "SOLD", "BACK")
# Every name as long as a sheet takes it: 60 letters, and 12 of a code.
LONGEST = (
    f"HOOP2-EARLY{n},tulip,lily-flowered,{LONG},{LONG},2027-04-18T08:00,tight,120,dry,walk-in,{LONG},stall,"
    for n in range(1, 4)
)


def sheets(
    folder: Path,
    use: str | None = None,
    on: str | None = None,
    bunches: int | None = None,
    *,
    size: str = "letter",
    **season: object,
) -> tuple[Sheet, ...]:
    """The pages of what is asked for."""
    settings = f'paper_size = "{size}"\n{SETTINGS}'
    read = season_of(write_season(folder / "season", settings=settings, **season))  # type: ignore[arg-type]
    found = packing(read, asked_of(read, use, on, bunches))
    inked = draw_pack_sheet(read, found.departures)
    prove(inked)
    return inked.sheets


def texts(sheet: Sheet) -> list[Text]:
    """All texts of a page."""
    return [e for placed in sheet.placed for e in placed.drawing.elements if isinstance(e, Text)]


def words(sheet: Sheet) -> str:
    """All words of a page."""
    return " ".join(line.text for text in texts(sheet) for line in text.lines)


@pytest.mark.parametrize("size", ["letter", "a4"])
def test_a_page_lies_and_has_its_white_edge(tmp_path: Path, size: str) -> None:
    """Landscape in the farm's paper size; nothing reaches into the margin."""
    (page,) = sheets(tmp_path, "stall", "SAT", 25, size=size)
    assert (page.width, page.height) == tuple(reversed(PAPER_SIZES[size]))
    inner = Box(0, 0, page.width, page.height).inset(MARGIN)
    boxes = [e.box for p in page.placed for e in p.drawing.elements if isinstance(e, Text | Code | Frame)]
    assert [box for box in boxes if not inner.holds(box)] == []


@pytest.mark.parametrize("size", ["letter", "a4"])
@pytest.mark.parametrize("rows", [ROWS, tuple(LONGEST)], ids=["plain", "longest"])
def test_every_line_is_read_at_arms_length(tmp_path: Path, size: str, rows: tuple[str, ...]) -> None:
    """All words of the lines in 14 points or more, however long the names; none is cut."""
    orders = (ORDERS[0],) if rows == ROWS else ("A-1,2027-04-24,stall,tulip,,,,,36,,",)
    pages = sheets(tmp_path, "stall", "SAT", 30, size=size, rows=rows, orders=orders)
    for page in pages:
        heads = min(text.box.bottom for text in texts(page) if text.lines[0].text == "PLACE")
        lines = [text for text in texts(page) if text.box.y >= heads and not words_of_hint(text)]
        assert [text for text in lines if text.size < 14 and text.lines[0].text not in HEAD_WORDS] == []
    assert "…" not in "".join(map(words, pages))


def words_of_hint(text: Text) -> bool:
    """Whether it is the line on how the sheet is used."""
    return text.lines[0].text.startswith("SOLD and BACK")


def test_the_head_says_what_goes_into_water_and_in_how_many_buckets(tmp_path: Path) -> None:
    """Bunches, hour and buckets first; buckets by the crop table, rounded up once (arithmetic)."""
    read = season_of(write_season(tmp_path / "season"))
    found = packing(read, asked_of(read, "stall", "SAT", 25))
    (one,) = found.departures
    dry = [line for line in one.lines if line.water.moment is not None]
    keeping = read.crops.keeping("tulip", "double", dry[0].code)
    assert keeping is not None
    buckets = whole_buckets([(keeping, line.stems / keeping.per_bucket) for line in dry])
    (page,) = draw_pack_sheet(read, found.departures).sheets
    assert f"FRI 23 APR: INTO WATER by 6 PM: 15 bunches, {buckets} buckets" in words(page)
    assert "10 bunches stand in water already" in words(page)


def test_sold_and_back_have_boxes_to_write_in(tmp_path: Path) -> None:
    """At least 13 mm high and 15 mm wide in each row, and two rows more for what comes along."""
    (page,) = sheets(tmp_path, "stall", "SAT", 25)
    rows = [
        e.box
        for p in page.placed
        for e in p.drawing.elements
        if isinstance(e, Frame) and e.box.width > page.width / 2
    ]
    assert len(rows) == 3 + 2
    for row in rows:
        *_, sold, back = cells_of(row)
        assert min(sold.width, back.width) >= 15
        assert HIGHEST >= row.height >= LEAST >= 13


def test_the_code_says_what_is_packed_or_leads_to_its_list(tmp_path: Path) -> None:
    """Without a link the lots and bunches; with one the address of the list."""
    settings = SETTINGS.replace('units = "F"', 'units = "F"\nlink = "HTTP://10.0.0.2:8008/L/{lot}"')
    for more, said in (
        (SETTINGS, "PACK 24.4. STALL 102 10 101 10 201 5"),
        (settings, "HTTP://10.0.0.2:8008/L/PACK.20270424.0630.STALL"),
    ):
        read = season_of(write_season(tmp_path / "season", settings=more))
        found = packing(read, asked_of(read, "stall", "SAT", 25))
        inked = draw_pack_sheet(read, found.departures)
        assert [code.text for page in inked.pages for code in page] == [said]


def test_one_page_a_departure(tmp_path: Path) -> None:
    """Twelve orders of twelve days are twelve pages, each with its own head."""
    orders = [f"B-{n},2027-04-{n},wedding,tulip,,,,,1,," for n in range(22, 29)]
    orders += [f"C-{n},2027-04-{n}T17:00,wedding,tulip,,,,,1,," for n in range(22, 27)]
    rows = (*ROWS[:2], *ROWS[3:])
    pages = sheets(tmp_path, orders=orders, rows=rows)
    heads = [texts(page)[0].lines[0].text for page in pages]
    assert len(set(heads)) == 12
    assert heads[:2] == ["THU 22 APR 8 AM wedding", "THU 22 APR 5 PM wedding"]


def test_many_lots_go_on_on_further_pages(tmp_path: Path) -> None:
    """Forty lots of one departure: every one is there once, and later pages say which departure goes on."""
    rows = [
        f"{n},tulip,double,Pale Harbour,apricot,2027-04-18T08:00,tight,10,dry,walk-in,rack {n % 7},stall,"
        for n in range(301, 341)
    ]
    pages = sheets(tmp_path, "stall", "SAT", 40, rows=rows, orders=())
    assert len(pages) > 1
    assert "SAT 24 APR 6:30 AM stall, goes on" in words(pages[1])
    assert ["COOLER walk-in" in words(page) for page in pages] == [True] * len(pages)
    said = " ".join(map(words, pages)).split()
    assert [n for n in range(301, 341) if said.count(str(n)) != 1] == []


def test_a_departure_without_anything(tmp_path: Path) -> None:
    """Asked for by name, it says that there is nothing, what was ordered, and why nothing will do."""
    orders = ("A-1,2027-04-24,stall,lily,,,,,6,,",)
    (page,) = sheets(tmp_path, "stall", "SAT", orders=orders, rows=ROWS[:2])
    assert "NOTHING TO PACK" in words(page)
    assert "SHORT, A-1: 6 bunches are missing: no lot is what was ordered" in words(page)


def test_a_bunch_that_is_short_says_its_stems(tmp_path: Path) -> None:
    """The last bunch of a lot has what remains."""
    row = "101,tulip,single,Grey Wicket,lilac,2027-04-17T08:00,tight,27,dry,walk-in,rack 1,stall,2027-04-24"
    (page,) = sheets(tmp_path, "stall", "SAT", rows=(row,), orders=())
    assert "27 stems" in words(page)


def test_a_note_that_cannot_be_printed_names_its_row(tmp_path: Path) -> None:
    """A note with a sign that no font has is refused where it was written."""
    with pytest.raises(InputProblems) as caught:
        sheets(tmp_path, "florist", "FRI", orders=(f"{ORDERS[0]} \U0001f337",))
    assert [problem.where for problem in caught.value.problems] == ["orders.csv, line 2"]


def test_the_command_writes_a_proven_pdf(tmp_path: Path) -> None:
    """The file opens with a page a departure, the same bytes every time, and a picture of each if asked."""
    sheet = write_season(tmp_path / "season")
    done = pack(sheet, "--preview", "--proof-report")
    path = sheet.parent / "papers" / "pack-sheet.pdf"
    assert "codes        2 of 2 read back" in done.stdout
    first = path.read_bytes()
    assert len(PdfReader(path).pages) == 2
    assert sorted(p.name for p in path.parent.glob("*.png")) == ["pack-sheet-1.png", "pack-sheet-2.png"]
    pack(sheet, "--preview")
    assert path.read_bytes() == first
    width, height = pdfium.PdfDocument(first)[0].get_size()
    assert (round(width / MM, 1), round(height / MM, 1)) == (279.4, 215.9)
