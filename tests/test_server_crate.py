"""The crate's journal form, served: what a tap does, and what nobody's tap does."""

from __future__ import annotations

import re
import time
from datetime import datetime
from pathlib import Path

import pytest
from flask.testing import FlaskClient
from werkzeug.test import TestResponse

from tagmaker.desk.season import Day, read_season
from tagmaker.record.journal.entries import Entry, Kind
from tests import entered_season
from tests.served import CODE, NOW, Served, pair, row, write_season

SETTINGS = """
units = "F"
farm = "Larkmarrow Yard"
[coolers.walk-in]
set_point = 34
[coolers.south]
set_point = 34
[uses.stall]
days = ["sat"]
leaves = "06:30"
vase_days = 4
"""


@pytest.fixture
def here(tmp_path: Path) -> Served:
    """A folder served to this machine alone."""
    return Served(write_season(tmp_path, row("041"), row("042", stems=85), settings=SETTINGS))


@pytest.fixture
def lan(tmp_path: Path) -> Served:
    """A folder served to the local network."""
    return Served(write_season(tmp_path, row("041"), settings=SETTINGS), code=CODE)


def entries(served: Served) -> tuple[Entry, ...]:
    """All that was taken down."""
    return entered_season.entries(served.sheet)


def fields(client: FlaskClient, kind: str = "sold", lot: str = "041") -> dict[str, str]:
    """The hidden fields of one form on a lot's page."""
    page = client.get(f"/L/{lot}").get_data(as_text=True)
    for form in re.findall(r'<form method="post" action="/enter".*?</form>', page, re.DOTALL):
        found = dict(re.findall(r'<input type="hidden" name="(\w+)" value="([^"]*)"', form))
        if found["kind"] == kind:
            return found
    raise AssertionError(f"no form for {kind}")


def tap(client: FlaskClient, kind: str = "sold", lot: str = "041", **more: str) -> TestResponse:
    """Send one form of a lot's page."""
    return client.post("/enter", data={**fields(client, kind, lot), **more})


def test_a_tap_is_saved_and_its_page_is_right_at_once(here: Served) -> None:
    """Redirected after the post; the answer in large letters with UNDO, and what is left."""
    answer = tap(here.client, n="3")
    assert (answer.status_code, answer.headers["Location"]) == (303, "/L/041?saved=1")
    page = here.text("/L/041?saved=1")
    assert "SAVED 8 AM" in page
    assert "Sold 3 bunches, 9 bunches left." in page
    assert "9 bunches (90 stems) left" in page
    (entry,) = entries(here)
    assert (entry.kind, entry.stems, entry.happened, entry.device) == (Kind.SOLD, 30, NOW, "this computer")


def test_undo_by_its_button(here: Served) -> None:
    """All is there again, and the line is crossed out."""
    tap(here.client, n="3")
    page = here.text("/L/041?saved=1")
    form = page[page.index('class="saved"') :]
    found = dict(
        re.findall(r'<input type="hidden" name="(\w+)" value="([^"]*)"', form[: form.index("</form>")])
    )
    answer = here.client.post("/enter", data=found)
    assert answer.headers["Location"] == "/L/041?saved=2"
    page = here.text("/L/041?saved=2")
    assert "UNDONE 8 AM." in page
    assert "12 bunches (120 stems) left" in page
    assert "sold 3 bunches, undone" in page


@pytest.mark.parametrize(
    ("kind", "more", "kept"),
    [
        ("sold", {"n": "all"}, (Kind.SOLD, 120)),
        ("sold", {"n": "1", "many": "7"}, (Kind.SOLD, 70)),
        ("into water", {"n": "all"}, (Kind.INTO_WATER, None)),
        ("into water", {"n": "3", "leaves": "2027-03-27T06:30 stall"}, (Kind.INTO_WATER, 30)),
        ("moved", {"n": "all", "cooler": "south", "place": "rack 2"}, (Kind.MOVED, None)),
        ("moved", {"n": "2", "cooler": "south"}, (Kind.MOVED, 20)),
        ("thrown out", {"n": "1", "why": "mould"}, (Kind.THROWN_OUT, 10)),
        ("count", {"many": "5"}, (Kind.COUNT, 50)),
        ("out", {"many": "4", "use": "stall"}, (Kind.OUT, 40)),
        ("tested", {"found": "bad"}, (Kind.TESTED, None)),
        ("mould", {}, (Kind.MOULD, None)),
        ("dried", {}, (Kind.DRIED, None)),
        ("more", {"many": "2"}, (Kind.MORE, 20)),
        ("note", {"text": "ask Ada"}, (Kind.NOTE, None)),
    ],
)
def test_every_button(here: Served, kind: str, more: dict[str, str], kept: tuple[Kind, int | None]) -> None:
    """Each form says what it says."""
    assert tap(here.client, kind, **more).status_code == 303
    (entry,) = entries(here)
    assert (entry.kind, entry.stems) == kept


@pytest.mark.parametrize(
    ("when", "moment"),
    [("now", NOW), ("1h", NOW.replace(hour=7)), ("morning", NOW), ("1h ago", None)],
)
def test_when_it_happened(here: Served, when: str, moment: datetime | None) -> None:
    """Now, an hour ago or this morning; at eight the morning has just begun."""
    answer = tap(here.client, n="1", when=when)
    assert answer.status_code == (409 if moment is None else 303)
    assert [entry.happened for entry in entries(here)] == ([moment] if moment else [])


def test_double_tap_reload_and_resend_are_one_entry(here: Served) -> None:
    """The same id with the same content is answered like the first time; other content is shown."""
    data = {**fields(here.client), "n": "3"}
    answers = [here.client.post("/enter", data=data) for _ in range(3)]
    assert [answer.headers["Location"] for answer in answers] == ["/L/041?saved=1"] * 3
    other = here.client.post("/enter", data={**data, "n": "5"})
    assert (other.status_code, "an id of its own" in other.get_data(as_text=True)) == (409, True)
    assert len(entries(here)) == 1


def test_two_phones_on_the_last_bunch(here: Served) -> None:
    """The second sees what the first did and decides; nothing of it was recorded."""
    tap(here.client, n="all", many="11")
    first, second = fields(here.client), fields(here.client)
    assert here.client.post("/enter", data={**first, "n": "1"}).status_code == 303
    answer = here.client.post("/enter", data={**second, "n": "1"})
    page = answer.get_data(as_text=True)
    assert (answer.status_code, "NOT SAVED." in page) == (409, True)
    assert [entry.stems for entry in entries(here)] == [110, 10]


def test_a_page_that_is_behind_is_told(here: Served) -> None:
    """A lot that changed since its page was opened: look, and enter again."""
    old = fields(here.client)
    tap(here.client, n="1")
    answer = here.client.post("/enter", data={**old, "n": "1"})
    assert (answer.status_code, "has just changed" in answer.get_data(as_text=True)) == (409, True)
    assert here.client.post("/enter", data={**fields(here.client), "n": "1"}).status_code == 303


def test_a_fact_from_a_queue_is_always_recorded(here: Served) -> None:
    """It waited in a phone: the moment is worked out from its age, and what overdraws is to settle."""
    old = [fields(here.client) for _ in range(2)]
    tap(here.client, n="all", many="11")
    for data in old:
        assert here.client.post("/enter", data={**data, "n": "1", "age": "3600"}).status_code == 303
    assert [(e.stems, e.happened.hour) for e in entries(here)] == [(110, 8), (10, 7), (10, 7)]
    page = here.text("/L/041")
    assert "TO SETTLE" in page
    assert "none left" in page.lower()


@pytest.mark.parametrize(
    ("age", "status"), [("-5", 409), ("300000", 409), ("259000", 303), ("x", 409), ("", 303)]
)
def test_an_age_that_cannot_be_is_asked_about(here: Served, age: str, status: int) -> None:
    """The phone's clock was set back, or the entry is older than three days."""
    assert tap(here.client, n="1", age=age).status_code == status


@pytest.mark.parametrize(
    "more",
    [
        {"n": ""},
        {"n": "-1"},
        {"n": "1.5"},
        {"n": "1e3"},
        {"n": "١"},
        {"n": "0x10"},
        {"many": "99999999999"},
        {"many": "20001"},
        {"n": "3; out 2027-01-01"},
        {"kind": "drop table"},
        {"kind": "renamed"},
        {"lot": "../../etc"},
        {"lot": "NOPE"},
        {"id": "short"},
        {"id": "x" * 100},
        {"seen": "x", "n": "999"},
    ],
)
def test_what_no_form_of_ours_sends_is_refused(here: Served, more: dict[str, str]) -> None:
    """Amounts of any kind, kinds and lots that are not there: nothing is recorded, nothing breaks."""
    answer = here.client.post("/enter", data={**fields(here.client), "n": "1", **more})
    assert answer.status_code in (404, 409)
    assert entries(here) == ()
    assert [line for line in here.told if "Error" in line] == []


@pytest.mark.parametrize("place", ["x; out 2027-03-20", "rack 2027-03-20", "a\nb"])
def test_a_place_cannot_become_a_move(here: Served, place: str) -> None:
    """What is typed as a place stays one."""
    answer = tap(here.client, "moved", n="all", cooler="south", place=place)
    moves = [move.place for move in here.live.look().shown.source.dates_of["041"].lot.moves]
    assert (answer.status_code, moves) in ((409, []), (303, ["south"]))


def test_a_long_note_is_refused(here: Served) -> None:
    """A megabyte does not even reach the form."""
    assert tap(here.client, "note", text="x" * 400).status_code == 409
    assert tap(here.client, "note", text="x" * 1_000_000).status_code == 413
    assert entries(here) == ()


def test_only_paired_phones_record(lan: Served) -> None:
    """Reading is open; the page offers to pair, and lands on the lot again."""
    page = lan.text("/L/041")
    assert ("PAIR THIS PHONE" in page, 'action="/enter"' in page) == (True, False)
    stray = {"id": "x" * 16, "lot": "041", "kind": "sold", "n": "1"}
    assert lan.client.post("/enter", data=stray).status_code == 403
    assert lan.client.post("/enter", data={**stray, "token": "0" * 64}).status_code == 403
    pair(lan.client, back="/L/041")
    assert tap(lan.client, n="1").status_code == 303
    assert [entry.device for entry in entries(lan)] == ["Ada"]
    stolen = {**fields(lan.client), "n": "1"}
    assert lan.app.test_client().post("/enter", data=stolen).status_code == 403
    lan.phones.remove(lan.phones.all()[0].id)
    assert lan.client.post("/enter", data=stolen).status_code == 403
    assert len(entries(lan)) == 1


def test_a_foreign_origin_records_nothing(here: Served) -> None:
    """Whatever form a foreign page sends."""
    data = {**fields(here.client), "n": "1"}
    for headers in ({"Origin": "http://evil.example"}, {"Sec-Fetch-Site": "cross-site"}):
        assert here.client.post("/enter", data=data, headers=headers).status_code == 403
    assert here.client.post("/enter", json=data).status_code == 415
    assert here.client.get("/enter", query_string=data).status_code == 200
    assert entries(here) == ()


def test_the_script_is_answered_in_its_own_way(here: Served) -> None:
    """Saved with its number; refused with the reason; nothing else."""
    json = {"Accept": "application/json"}
    data = {**fields(here.client), "n": "3"}
    assert here.client.post("/enter", data=data, headers=json).get_json() == {
        "saved": 1,
        "page": "041",
        "said": "3 bunches sold, 9 bunches left",
    }
    refused = here.client.post("/enter", data={**fields(here.client), "n": "99"}, headers=json)
    assert (refused.status_code, "must be" in refused.get_json()["error"]) == (409, True)
    stranger = here.app.test_client().post("/enter", data=data, headers=json)
    assert (stranger.status_code, stranger.get_json()) == (403, {"error": "unpaired"})


def test_a_plan_is_cut_at_its_page(tmp_path: Path) -> None:
    """Its page has CUT; with it the plan becomes a lot with dates."""
    plan = row("043", cut="plan 2027-03-22", stems=0).replace(",0,", ",,")
    here = Served(write_season(tmp_path, row("041"), plan, settings=SETTINGS))
    assert tap(here.client, "cut", "043", many="90", unit="stems", stage="tight").status_code == 303
    page = here.text("/L/043")
    assert ("9 bunches (90 stems) left" in page, "SELL BY" in page) == (True, True)


def test_a_child_has_a_page_at_once(here: Served) -> None:
    """Some that were put in water: the part is a lot of its own, its parent keeps the rest."""
    tap(here.client, "into water", n="4", leaves="2027-03-27T06:30 stall")
    page = here.text("/L/041B")
    assert ("IN WATER" in page, "4 bunches (40 stems) left" in page) == (True, True)
    assert "8 bunches (80 stems) left" in here.text("/L/041")
    assert "041B" in here.text("/")


def until(served: Served, words: str) -> str:
    """The page of a lot, once it says so: readings go on beside, and a busy machine takes its time."""
    for _ in range(40):
        served.later()
        page = served.text("/L/041")
        if words in page:
            return page
        time.sleep(0.25)
    raise AssertionError(f"it never said {words}")


def test_a_reading_beside_loses_no_tap(here: Served) -> None:
    """The sheet is typed into while something is tapped: both are shown."""

    def typed() -> None:
        tap(here.client, n="3")

    here.sheet.write_text(here.sheet.read_text().replace("Pale Harbour", "Copperlight"), encoding="utf-8")
    here.meanwhile.append(typed)
    page = until(here, "Copperlight")
    assert "9 bunches (90 stems) left" in page


def test_an_entry_from_the_keyboard_is_shown(here: Served) -> None:
    """What another program writes into the journal is read."""
    from click.testing import CliRunner

    from tagmaker.cli import main

    said = ["enter", str(here.sheet), "041", "sold 2", "--today", "2027-03-23T07:30"]
    assert CliRunner().invoke(main, said).exit_code == 0
    until(here, "10 bunches (100 stems) left")


# --- the first page, counts and new lots -------------------------------------------------------------------


def test_the_first_page_tells_what_is_to_be_done_today(tmp_path: Path) -> None:
    """What holds now first; what goes into water has a button that says that it stands there."""
    old = row("043", cut="2027-03-01T09:00")
    here = Served(write_season(tmp_path, row("041"), old, settings=SETTINGS))
    page = here.text("/")
    today = page[page.index('id="today"') : page.index("<h1>Lots</h1>")]
    assert '<strong class="mark">NOW</strong>' in today
    assert "043" in today


def test_what_is_put_in_water_from_the_first_page_is_ready_later(here: Served) -> None:
    """Its button takes it down; once its hours are over it is READY NOW, with bunches and vase days."""
    data = {**fields(here.client, "into water"), "n": "all", "when": "1h"}
    here.client.post("/enter", data=data)
    assert 'id="ready"' not in here.text("/")
    early = {**fields(here.client, "into water", "042"), "n": "all", "age": str(20 * 3600)}
    assert here.client.post("/enter", data=early).status_code == 303
    page = here.text("/")
    ready = page[page.index('id="ready"') : page.index("<h1>Lots</h1>")]
    assert ("042" in ready, "8 bunches" in ready, "vase days" in ready, "041" in ready) == (
        True,
        True,
        True,
        False,
    )


def test_an_evening_s_counts_in_one_list(here: Served) -> None:
    """Each lot by itself: what can be is saved, what cannot is said; sent twice it is one count each."""
    page = here.text("/bench/count")
    hidden = dict(re.findall(r'<input type="hidden" name="(\w+)" value="([^"]*)"', page))
    data = {**hidden, "count-041": "7", "count-042": "99"}
    for _ in range(2):
        answer = here.client.post("/bench/count", data=data)
        text = answer.get_data(as_text=True)
        assert (answer.status_code, "SAVED: 1 lot counted." in text, "042: " in text) == (409, True, True)
    assert [(entry.lot, entry.kind, entry.stems) for entry in entries(here)] == [("041", Kind.COUNT, 70)]


def test_counts_and_new_lots_need_a_paired_phone(lan: Served) -> None:
    """Strangers see the form that pairs."""
    for address in ("/bench/count", "/bench/new"):
        assert "Pair this phone" in lan.text(address)
    assert lan.client.post("/bench/count", data={"count-041": "1"}).status_code == 403


def new_lot(here: Served, **more: str) -> TestResponse:
    """Send the form of a new lot."""
    page = here.text("/bench/new")
    values = dict(re.findall(r'name="([\w ]+)"[^>]* value="([^"]*)"', page))
    return here.client.post("/enter", data={**values, **more})


def test_a_new_lot_has_the_last_one_s_cells_and_its_labels_at_once(here: Served) -> None:
    """A code is proposed; saved, the bench shows the form of its labels."""
    answer = new_lot(here, stems="60", variety="Cobble Pink")
    assert (answer.status_code, answer.headers["Location"]) == (303, "/bench/043")
    assert "Cobble Pink" in here.text("/bench/043")
    assert "6 bunches (60 stems) left" in here.text("/L/043")
    (entry,) = entries(here)
    assert (entry.kind, entry.stems, entry.lot) == (Kind.NEW_LOT, 60, "043")


@pytest.mark.parametrize(
    "more",
    [
        {"stems": "x"},
        {"crop": "tulpi"},
        {"lot": "041"},
        {"note": "a; gone 100"},
        {"cut": "2029-01-01"},
        {"lot": "a b"},
    ],
)
def test_a_new_lot_that_cannot_be_is_refused_with_its_cells(here: Served, more: dict[str, str]) -> None:
    """Its form comes back with what was written and why."""
    answer = new_lot(here, **{"stems": "60", **more})
    page = answer.get_data(as_text=True)
    assert (answer.status_code, "NOT SAVED." in page) == (409, True)
    assert entries(here) == ()


# --- at a cooler -------------------------------------------------------------------------------------------


def look(here: Served, kind: str, **more: str) -> TestResponse:
    """Send one form of a cooler's page."""
    page = here.text("/L/COOLER.WALK-IN")
    for form in re.findall(r'<form method="post" action="/enter".*?</form>', page, re.DOTALL):
        found = dict(re.findall(r'<input type="hidden" name="(\w+)" value="([^"]*)"', form))
        if found["kind"] == kind:
            return here.client.post("/enter", data={**found, **more})
    raise AssertionError(f"no form for {kind}")


def test_lowest_and_highest_are_readings_of_the_cooler(here: Served) -> None:
    """Taken down on its page, in the farm's unit; they count like those that are written into the sheet."""
    answer = look(here, "reading", low="33", high="38F")
    assert answer.headers["Location"] == "/L/COOLER.WALK-IN?saved=1"
    assert "SAVED." in here.text("/L/COOLER.WALK-IN?saved=1")
    (entry,) = entries(here)
    assert (entry.kind, entry.lot, entry.cooler) == (Kind.READING, "", "walk-in")
    airs = read_season(here.sheet, Day(NOW.date(), NOW)).airs
    assert [round(look.low_c, 1) for look in airs["walk-in"].written] == [0.6]
    assert look(here, "mould here", found="no mould").status_code == 303
    assert [entry.kind for entry in entries(here)] == [Kind.READING, Kind.MOULD]


@pytest.mark.parametrize(
    "more",
    [
        {"low": "40", "high": "38"},
        {"low": "x", "high": "38"},
        {"low": "-99", "high": "38"},
        {"low": "33", "at": "attic"},
    ],
)
def test_a_look_that_cannot_be_is_refused(here: Served, more: dict[str, str]) -> None:
    """Highest below lowest, no number, beyond all measure, no such cooler."""
    answer = look(here, "reading", **{"high": "38", **more})
    assert answer.status_code in (404, 409)
    assert entries(here) == ()
