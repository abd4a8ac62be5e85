"""The bench page to pack: chosen, kept, and afterwards SOLD and BACK in one list; no script is needed."""

from __future__ import annotations

import io
import re
from datetime import datetime
from pathlib import Path

import pytest
from pypdf import PdfReader
from werkzeug.test import TestResponse

from tagmaker.desk.season import Day
from tagmaker.desk.serving import Folder
from tagmaker.record.journal.entries import Kind
from tagmaker.scan.counter import Counter
from tagmaker.scan.door import Door
from tagmaker.scan.live import Live
from tagmaker.scan.pairing import PairingCode, Phones
from tagmaker.scan.server import make_app
from tests.entered_season import entries, run
from tests.packed_season import NOW, ORDERS, ROWS, pack, season_of, write_season
from tests.served import CODE, pair

SAT = "/bench/pack?use=stall&day=2027-04-24&bunches=25"
EVENING = datetime(2027, 4, 24, 18)


class Bench:
    """A season behind the application, as of a moment."""

    def __init__(self, sheet: Path, now: datetime = NOW, code: str | None = None) -> None:
        """Read the season."""
        self.sheet = sheet
        told: list[str] = []
        folder = Folder(
            sheet=sheet, today=Day(now.date(), now), templates=None, wall=lambda _: now, tell=told.append
        )
        reader = folder.reader()
        live = Live(reader.load, reader.stamp, lambda: 0.0)
        pairing = None if code is None else PairingCode(code, lambda: 0.0, told.append)
        door = Door(live, pairing, lambda: "bench", Phones(), ())
        self.client = make_app(live, door, Counter(live, door), told.append).test_client()

    def text(self, address: str = SAT) -> str:
        """A page."""
        answer = self.client.get(address)
        assert answer.status_code == 200
        return answer.get_data(as_text=True)

    def post(self, address: str, word: str, **more: str) -> TestResponse:
        """Send the form of a page that ends in a word."""
        page = self.text(address)
        part = page[page.index(f'action="/bench/pack/{word}"') :]
        names = ("token", "form", "use", "day", "bunches")
        fields = {name: re.findall(rf'name="{name}" value="([^"]*)"', part)[0] for name in names}
        return self.client.post(f"/bench/pack/{word}", data={**fields, **more})


def plain(page: str) -> str:
    """What is read on a page."""
    return " ".join(re.sub(r"<[^>]+>", " ", page).split())


@pytest.fixture
def sheet(tmp_path: Path) -> Path:
    """A season of four lots and two orders."""
    return write_season(tmp_path / "season")


def test_a_departure_is_chosen_and_listed(sheet: Path) -> None:
    """Outlet and day are offered; the lines are those of the command, with the reason of each."""
    bench = Bench(sheet)
    first = bench.text("/bench/pack")
    assert "SAT 24 APR" in first
    assert "KEEP THESE BUNCHES" not in first
    said = plain(bench.text())
    for words in (
        "SAT 24 APR 6:30 AM stall 25 bunches of 3 lots, 3 buckets FRI 23 APR: INTO WATER by 6 PM: 15 bunches",
        "10 bunches stand in water already",
        "102 WATER Thimble Snow, narcissus, white 10 bunches · walk-in, floor · in water",
        "101 DRY Grey Wicket, single tulip, lilac 10 bunches · walk-in, rack 1 · into water by FRI 23 APR 6",
        "102 before 201: keeps cold until MON 26 APR",
        "A-2: 45 stems ordered, 50 here",
    ):
        assert words in said


def test_keep_writes_it_down_and_shows_it_kept(sheet: Path) -> None:
    """The same entries as the command's, and the page says that all is kept; sent again, nothing is added."""
    bench = Bench(sheet)
    answer = bench.post(SAT, "keep")
    assert answer.status_code == 200
    said = plain(answer.get_data(as_text=True))
    assert "kept in the journal: 101 7, 102 10, 201 5" in said
    assert "All of it is kept." in said
    assert "KEEP THESE BUNCHES" not in said
    assert [(e.kind, e.lot, e.stems) for e in entries(sheet)] == [
        (Kind.KEPT, "101", 70),
        (Kind.KEPT, "102", 100),
        (Kind.KEPT, "201", 50),
    ]
    assert all("all of it was kept already" not in text for text in (said,))
    assert pack(sheet, "--for", "stall", "--on", "SAT", "--bunches", "25", "--keep").stderr.endswith(
        "all of it was kept already\n"
    )


def test_a_lot_follows_at_once(sheet: Path) -> None:
    """Its page tells the order as soon as it is kept."""
    bench = Bench(sheet)
    assert "kept" not in plain(bench.text("/L/102"))
    bench.post(SAT, "keep")
    assert "kept 10 bunches" in plain(bench.text("/L/102"))


def test_ready_now_leaves_out_what_is_promised(sheet: Path) -> None:
    """Daffodils in water are ready until they are kept; what an open order of the sheet takes is not."""
    assert "10 bunches" in _ready(Bench(sheet).text("/"))
    order = "A-3,2027-04-23,florist,daffodil,,,,,4,,"
    write_season(sheet.parent, orders=(*ORDERS, order))
    assert "6 bunches" in _ready(Bench(sheet).text("/"))
    write_season(sheet.parent)
    bench = Bench(sheet)
    bench.post(SAT, "keep")
    assert "102" not in _ready(bench.text("/"))


def _ready(page: str) -> str:
    part = page.partition('id="ready"')[2].partition("</section>")[0]
    return plain(part)


def test_notes_of_orders_are_for_paired_phones(sheet: Path) -> None:
    """Whoever is only reading sees the list without notes and without the buttons that write."""
    bench = Bench(sheet, code=CODE)
    address = "/bench/pack?use=florist&day=2027-04-23"
    page = bench.text(address)
    assert "A-1: 6 bunches ordered" in plain(page)
    assert "at the back door" not in page
    assert "KEEP THESE BUNCHES" not in page
    assert "Pair this phone" in page
    pair(bench.client)
    page = bench.text(address)
    assert "at the back door" in page
    assert "KEEP THESE BUNCHES" in page


def test_nobody_writes_without_being_paired(sheet: Path) -> None:
    """A form without its token, or of a phone that is not paired, records nothing."""
    bench = Bench(sheet, code=CODE)
    fields = {"use": "stall", "day": "2027-04-24", "bunches": "25", "form": "a" * 22}
    for word in ("keep", "came"):
        answer = bench.client.post(f"/bench/pack/{word}", data={**fields, "token": "x", "sold-102": "1"})
        assert answer.status_code == 403
    assert not list(sheet.parent.glob("*.sqlite"))


def test_sold_and_back_are_entered_in_one_list(sheet: Path) -> None:
    """Sold for an order, sold at the market, gone out and come back: each as the journal has it."""
    Bench(sheet).post(SAT, "keep")
    bench = Bench(sheet, EVENING)
    address = "/bench/pack?use=stall&day=2027-04-24"
    said = plain(bench.text(address))
    assert "101 Grey Wicket · 10 bunches" in said
    assert "102 Thimble Snow · 10 bunches" in said
    answer = bench.post(
        address, "came", **{"sold-101": "7", "back-101": "3", "back-102": "2", "sold-201": "5"}
    )
    done = plain(answer.get_data(as_text=True))
    for words in ("SAVED: 101 SOLD 7 BACK 3", "SAVED: 102 BACK 2", "SAVED: 201 SOLD 5"):
        assert words in done
    came = [(e.kind, e.lot, e.stems, e.text("order")) for e in entries(sheet)[3:]]
    assert came == [
        (Kind.OUT, "101", 100, ""),
        (Kind.CAME_BACK, "101", 30, ""),
        (Kind.OUT, "102", 100, ""),
        (Kind.CAME_BACK, "102", 20, ""),
        (Kind.SOLD, "201", 50, "A-2"),
    ]
    assert [e.happened for e in entries(sheet)[3:5]] == [datetime(2027, 4, 24, 6, 30), EVENING]
    lots = {lot.lot_code: lot for lot in season_of(sheet, EVENING).lots}
    assert {code: lot.left for code, lot in lots.items() if code.startswith(("10", "201"))} == {
        "101": 20,
        "101B": 30,
        "102": 0,
        "102B": 20,
        "201": 150,
    }
    assert len(lots["101B"].moves) == 2


def test_what_was_entered_is_shown_and_not_asked_again(sheet: Path) -> None:
    """The list says what was told of a lot; a form that is sent again adds nothing."""
    Bench(sheet).post(SAT, "keep")
    bench = Bench(sheet, EVENING)
    address = "/bench/pack?use=stall&day=2027-04-24"
    page = bench.text(address)
    part = page[page.index('action="/bench/pack/came"') :]
    names = ("token", "form", "use", "day", "bunches")
    fields = {name: re.findall(rf'name="{name}" value="([^"]*)"', part)[0] for name in names}
    first = bench.client.post("/bench/pack/came", data={**fields, "sold-102": "9"})
    assert 'name="sold-102"' not in first.get_data(as_text=True)
    assert 'name="sold-101"' in first.get_data(as_text=True)
    count = len(entries(sheet))
    again = bench.client.post("/bench/pack/came", data={**fields, "sold-102": "9"})
    assert "102 was entered before" in plain(again.get_data(as_text=True))
    assert len(entries(sheet)) == count
    assert {lot.lot_code: lot.left for lot in season_of(sheet, EVENING).lots}["102"] == 10


def test_more_than_there_is_is_refused_and_the_others_stay(sheet: Path) -> None:
    """Lots before the one that cannot be are saved, and the page says which was not."""
    Bench(sheet).post(SAT, "keep")
    bench = Bench(sheet, EVENING)
    address = "/bench/pack?use=stall&day=2027-04-24"
    answer = bench.post(address, "came", **{"sold-101": "7", "sold-102": "11"})
    assert answer.status_code == 409
    said = plain(answer.get_data(as_text=True))
    assert "NOT SAVED" in said
    assert "at most what is left of lot 102" in said
    assert [(e.lot, e.kind) for e in entries(sheet)[3:]] == [("101", Kind.SOLD)]


def test_nothing_is_kept_while_a_row_is_faulty(sheet: Path) -> None:
    """The bunches of an order that cannot be read would go to others."""
    write_season(sheet.parent, orders=(*ORDERS, "A-3,soon,stall,,,,,,3,,"))
    answer = Bench(sheet).post(SAT, "keep")
    assert answer.status_code == 409
    assert "nothing is kept or printed while rows" in answer.get_data(as_text=True).lower()
    assert not list(sheet.parent.glob("*.sqlite"))


@pytest.mark.parametrize(
    ("query", "said"),
    [
        ("use=stal&day=2027-04-24", "The outlet must be one of the settings."),
        ("use=stall&day=soon", "The day must be chosen."),
        ("use=stall&day=2027-04-24&bunches=-1", "Bunches must be a whole number from 1 to 20,000"),
        ("ask=60+florist", "he question must name a day"),
    ],
)
def test_a_field_that_no_form_sends(sheet: Path, query: str, said: str) -> None:
    """It is answered with what it must be, and nothing breaks."""
    answer = Bench(sheet).client.get(f"/bench/pack?{query}")
    assert answer.status_code == 400
    assert said in answer.get_data(as_text=True)


def test_the_telephone_is_answered(sheet: Path) -> None:
    """The lots that would do, in water by when, and why."""
    said = plain(Bench(sheet).text("/bench/pack?ask=3+double+tulips+wedding+2027-04-30"))
    assert "YES 3 bunches for FRI 30 APR 8 AM wedding" in said
    assert "into water by THU 29 APR 6 PM" in said
    assert "201 before 202: keeps cold until SUN 9 MAY" in said


def test_the_code_of_a_pack_sheet_leads_to_its_list(sheet: Path) -> None:
    """In any case; a name that is none of ours is a page that is missing."""
    bench = Bench(sheet)
    for name in ("PACK.20270424.0630.STALL", "pack.20270424.0630.stall"):
        answer = bench.client.get(f"/L/{name}")
        assert (answer.status_code, answer.location) == (303, "/bench/pack?use=stall&day=2027-04-24")
    for name in ("PACK.20270424.0630.SHOP", "PACK.20279924.0630.STALL", "PACK.X"):
        assert bench.client.get(f"/L/{name}").status_code == 404


def test_a_whole_lot_that_was_kept_is_in_the_list(tmp_path: Path) -> None:
    """An order for all of a lot counts what was there before anything was sold of it."""
    rows = (replace_cell(ROWS[3], "2027-04-24"),)
    sheet = write_season(tmp_path / "season", rows=rows, orders=())
    said = plain(Bench(sheet, EVENING).text("/bench/pack?use=stall&day=2027-04-24"))
    assert "102 Thimble Snow · 10 bunches" in said


def replace_cell(row: str, needed: str) -> str:
    """A row of the season with something needed."""
    assert row.endswith(",")
    return row + needed


def test_what_is_shown_is_a_frozen_thing(sheet: Path) -> None:
    """Asking for more does not change what is kept: two looks at one page are alike."""
    bench = Bench(sheet)
    assert _without_ids(bench.text()) == _without_ids(bench.text())
    assert not list(sheet.parent.glob("*.sqlite"))


def _without_ids(page: str) -> str:
    return re.sub(r'name="(token|form)" value="[^"]*"', "", page)


def test_the_button_of_the_first_page_says_for_which_departure(sheet: Path) -> None:
    """Put in water from there, the kept bunches are a lot of their own, with the promise that the lot had."""
    Bench(sheet).post(SAT, "keep")
    bench = Bench(sheet, datetime(2027, 4, 23, 9))
    page = bench.text("/")
    form = next(part for part in page.split("<form")[1:] if 'name="lot" value="201"' in part)
    fields = dict(re.findall(r'name="(\w+)" value="([^"]*)"', form))
    assert (fields["n"], fields["leaves"]) == ("5", "2027-04-24T06:30 stall")
    assert bench.client.post("/enter", data=fields).status_code == 303
    lots = {lot.lot_code: lot for lot in season_of(sheet, datetime(2027, 4, 23, 10)).lots}
    assert ([order.stems for order in lots["201B"].orders], lots["201"].orders) == ([50], ())


def test_the_sheet_comes_to_the_phone(sheet: Path) -> None:
    """The pack sheet of the departure as a PDF; nothing of it is remembered, and a wrong field is refused."""
    bench = Bench(sheet)
    page = bench.text()
    part = page[page.index('action="/bench/print"') :]
    fields = dict(re.findall(r'name="(\w+)" value="([^"]*)"', part.partition("</form>")[0]))
    answer = bench.client.post("/bench/print", data=fields)
    assert (answer.status_code, answer.content_type) == (200, "application/pdf")
    (leaf,) = PdfReader(io.BytesIO(answer.get_data())).pages
    assert "SAT 24 APR 6:30 AM stall" in leaf.extract_text()
    assert not list(sheet.parent.glob("*.sqlite"))
    for wrong in ({"use": "stal"}, {"day": "2027-04-17"}, {"use": "", "day": ""}):
        answer = bench.client.post("/bench/print", data={**fields, "form": "b" * 22, **wrong})
        assert answer.status_code == 400


def test_bunches_in_water_are_told_apart_and_answered(sheet: Path) -> None:
    """What stood in water for the departure is a row of its own; SOLD there answers whether it left."""
    pack(sheet, "--for", "stall", "--on", "SAT", "--bunches", "25", "--keep")
    run(sheet, "101", "into water 4 for 2027-04-24T06:30 stall", today="2027-04-23T17:00")
    bench = Bench(sheet, EVENING)
    address = "/bench/pack?use=stall&day=2027-04-24"
    said = plain(bench.text(address))
    assert "101 Grey Wicket · 6 bunches" in said
    assert "101B Grey Wicket · 4 bunches" in said
    assert "DID THEY LEAVE?" in plain(bench.text("/L/101B"))
    bench.post(address, "came", **{"sold-101B": "3", "back-101B": "1", "sold-101": "6"})
    lots = {lot.lot_code: lot for lot in season_of(sheet, EVENING).lots}
    assert (lots["101"].left, lots["101B"].left, lots["101B"].may_have_left) == (20, 0, None)
    assert [lot.left for code, lot in lots.items() if lot.parents == ("101B",)] == [10]
