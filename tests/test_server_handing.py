"""The bench hands a paper over: counted once it arrived, asked about, undone, or sent to a printer."""

from __future__ import annotations

import http.client
import os
import re
import socket
import time
from pathlib import Path
from urllib.parse import urlencode

import pytest

from tagmaker.record.printings import open_record
from tagmaker.scan.counter import KEPT
from tests.served import NOW, SETTINGS, Served, fields, form, opened, print_wraps, row, settled, write_season

ROLL = {"stock": "roll-57x32mm"}


@pytest.fixture
def here(tmp_path: Path) -> Served:
    """A folder served to this machine alone."""
    return Served(write_season(tmp_path, row("041"), row("042")))


def printed(sheet: Path) -> list[tuple[str, int]]:
    """Lots and labels that the record knows as printed."""
    known = open_record(sheet, NOW, create=False)[0].known
    return [(line.lot_code, line.count) for line in known.lines("wraps")]


def answer(served: Served, said: str, **more: str) -> str:
    """Say what came out of the last print; the page that comes back."""
    page = served.text("/bench")
    part = page[page.index('action="/bench/answer"') :]
    names = ("token", "number", "pieces")
    shown = {name: re.findall(rf'name="{name}" value="([^"]*)"', part)[0] for name in names}
    return served.client.post("/bench/answer", data={**shown, "answer": said, **more}).get_data(as_text=True)


# --- a form is one printing


def test_a_form_that_is_sent_again_gives_the_same_pdf_and_is_recorded_once(here: Served) -> None:
    """A double tap, a reload: the same bytes, the same labels."""
    data = {**fields(here.text("/bench")), "paper": "wraps", "lot": "041"}
    bodies = [here.client.post("/bench/print", data=data).get_data() for _ in range(3)]
    assert (bodies[0][:5], set(bodies)) == (b"%PDF-", {bodies[0]})
    assert printed(here.sheet) == [("041", 12)]


def test_the_same_form_with_other_fields_is_another_printing(here: Served) -> None:
    """A browser that goes back may show a page from its memory."""
    data = {**form(here.client), "paper": "wraps", "lot": "041", **ROLL}
    for tags in ("3", "2"):
        here.client.post("/bench/print", data={**data, "tags": tags}).get_data()
    assert printed(here.sheet) == [("041", 3), ("041", 2)]


def test_a_form_whose_pdf_is_no_longer_at_hand_prints_nothing(here: Served) -> None:
    """That is said; a new page prints."""
    data = {**form(here.client), "paper": "wraps", "lot": "041", "tags": "1", **ROLL}
    here.client.post("/bench/print", data=data).get_data()
    for _ in range(KEPT):
        print_wraps(here.client, "042", tags="1", **ROLL)
    again = here.client.post("/bench/print", data=data)
    assert (again.status_code, "Nothing was printed" in again.get_data(as_text=True)) == (409, True)
    assert len(printed(here.sheet)) == 1 + KEPT


def test_the_label_that_was_offered_is_refused_once_it_is_printed_on(here: Served) -> None:
    """Two phones show label 1; the second is told that 13 is free, and nothing of it counts."""
    one, two = (fields(here.text("/bench")) for _ in range(2))
    lots = iter(("041", "042"))
    answers = [
        here.client.post("/bench/print", data={**shown, "paper": "wraps", "lot": next(lots)})
        for shown in (one, two)
    ]
    assert [(each.status_code, each.get_data()[:5] == b"%PDF-") for each in answers] == [
        (200, True),
        (409, False),
    ]
    page = answers[1].get_data(as_text=True)
    assert ("Its first free label is 13 now" in page, 'value="13"' in page) == (True, True)
    assert printed(here.sheet) == [("041", 12)]
    again = {**fields(page), "paper": "wraps", "lot": "042"}
    assert here.client.post("/bench/print", data=again).get_data()[:5] == b"%PDF-"
    assert printed(here.sheet) == [("041", 12), ("042", 12)]


def test_another_sheet_begins_where_it_is_said(here: Served) -> None:
    """Label 4 of a sheet that lay about, though 13 is next on the one printed last."""
    print_wraps(here.client)
    assert print_wraps(here.client, "042", first="4").status_code == 409
    assert print_wraps(here.client, "042", first="4", another="1").status_code == 200
    assert fields(here.text("/bench"))["first"] == "16"


# --- did all come out


def test_it_asks_once_whether_all_came_out(here: Served) -> None:
    """On every page of the bench until it is answered; then it only offers to undo it."""
    print_wraps(here.client)
    for address in ("/bench", "/bench/042"):
        assert "Did all 12 labels of 041 come out?" in here.text(address)
    assert "All 12 came out." in answer(here, "all")
    page = here.text("/bench")
    assert ("Did all" in page, "UNDO" in page, "Last print: 12 labels of 041" in page) == (False, True, True)
    assert printed(here.sheet) == [("041", 12)]


def test_only_some_came_out(here: Served) -> None:
    """Five of twelve: seven are without a label again."""
    print_wraps(here.client)
    assert "Write how many came out" in answer(here, "only", came="13")
    assert "Write how many came out" in answer(here, "only", came="x")
    assert "5 of 12 count as printed." in answer(here, "only", came="5")
    here.later()
    assert "7 without a label" in here.text("/bench/041")


@pytest.mark.parametrize("first", ["none", "all"])
def test_none_came_out_or_it_is_undone(here: Served, first: str) -> None:
    """Said at once or afterwards: nothing counts, and the sheet is as it was."""
    print_wraps(here.client)
    answer(here, first)
    if first == "all":
        assert "None counts as printed." in answer(here, "none")
    assert printed(here.sheet) == []
    assert fields(here.text("/bench"))["first"] == "1"
    assert "UNDO" not in here.text("/bench")


def test_an_answer_needs_its_form(here: Served) -> None:
    """Without the token, or with numbers that no page shows, nothing happens."""
    print_wraps(here.client)
    token = fields(here.text("/bench"))["token"]
    wrong: tuple[dict[str, str], ...]
    wrong = (
        {"number": "1"},
        {"token": token},
        {"token": token, "number": "1", "pieces": "12", "answer": "x"},
    )
    assert [here.client.post("/bench/answer", data=data).status_code for data in wrong] == [403] * 3
    assert printed(here.sheet) == [("041", 12)]


def test_a_lot_that_is_all_labelled_offers_one(here: Served) -> None:
    """One got torn; all twelve are not printed again by a tap."""
    print_wraps(here.client)
    here.later()
    page = here.text("/bench/041")
    assert 'min="1" max="12" value="1"' in page
    assert print_wraps(here.client, tags="1").status_code == 200
    here.later()
    assert "all labelled" in here.text("/bench/041")


def test_labels_beside_older_cards_are_said(here: Served) -> None:
    """The cut was corrected: the cards of before say other dates than the labels that are printed now."""
    data = {**form(here.client), "paper": "crates", "lot": "041"}
    here.client.post("/bench/print", data=data).get_data()
    write_season(here.sheet.parent, row("041", cut="2027-03-10T09:00"), row("042"))
    here.later()
    assert "REPRINT CARDS" in here.text("/bench")
    print_wraps(here.client)
    page = here.text("/bench/041")
    assert '<strong class="mark">REPRINT CARDS</strong> they must go.' in page
    data = {**form(here.client), "paper": "crates", "which": "reprint"}
    assert here.client.post("/bench/print", data=data).get_data()[:5] == b"%PDF-"
    here.later()
    assert "REPRINT" not in here.text("/bench")


# --- a download that is cut


def ask(sheet_port: int, data: dict[str, str], cookie: str) -> bytes:
    """A form as a phone sends it."""
    body = urlencode(data)
    head = [
        "POST /bench/print HTTP/1.1",
        f"Host: 127.0.0.1:{sheet_port}",
        f"Cookie: {cookie}",
        "Content-Type: application/x-www-form-urlencoded",
        f"Content-Length: {len(body)}",
    ]
    return "\r\n".join([*head, "", body]).encode()


def visit(port: int) -> tuple[dict[str, str], str]:
    """What the bench's form sends, and the cookie."""
    connection = http.client.HTTPConnection("127.0.0.1", port, timeout=20)
    connection.request("GET", "/bench")
    page = connection.getresponse()
    cookie = (page.getheader("Set-Cookie") or "").partition(";")[0]
    shown = fields(page.read().decode())
    connection.close()
    return shown, cookie


@pytest.mark.parametrize("read", [0, 200, 5000])
def test_a_download_that_is_cut_records_nothing(tmp_path: Path, read: int) -> None:
    """The phone goes away before or in the middle of it; the same form, sent again, counts once."""
    sheet = write_season(tmp_path, row("041"))
    with opened(sheet) as (listener, _):
        port = int(listener.effective_port)
        shown, cookie = visit(port)
        data = {**shown, "paper": "wraps", "lot": "041"}
        for _ in range(2):
            with socket.create_connection(("127.0.0.1", port)) as phone:
                phone.sendall(ask(port, data, cookie))
                got = b""
                while len(got) < read:
                    got += phone.recv(min(read - len(got), 1000))
                if not read:
                    time.sleep(0.5)  # the paper is drawn meanwhile, and lies unread
            assert settled(sheet).printed == ()
        with socket.create_connection(("127.0.0.1", port)) as phone:
            phone.sendall(ask(port, data, cookie))
            answer = http.client.HTTPResponse(phone)
            answer.begin()
            assert (answer.status, answer.read()[:5]) == (200, b"%PDF-")
        assert [line.count for line in settled(sheet).printed] == [12]
        assert fields_of(port)["first"] == "13"


def fields_of(port: int) -> dict[str, str]:
    """What a new phone's form sends."""
    return visit(port)[0]


# --- a printer at the bench


@pytest.fixture
def spooler(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The folder of our own `lp`, which writes what it is told into the file `told` there."""
    tools = tmp_path / "tools"
    tools.mkdir()
    monkeypatch.setenv("PATH", f"{tools}{os.pathsep}/bin{os.pathsep}/usr/bin")
    monkeypatch.setenv("TOLD", str(tools / "told"))
    command(tools, "lp", 'printf "%s\\n" "$@" >> "$TOLD"; echo "request id is TAGS-7 (1 file(s))"')
    command(tools, "lpstat", "echo TAGS")
    return tools


def command(tools: Path, name: str, script: str) -> None:
    """Stand a script in for a command of the spooler."""
    (tools / name).write_text(f"#!/bin/sh\n{script}\n", encoding="utf-8")
    (tools / name).chmod(0o755)


BENCH = f'{SETTINGS}[printers.bench]\nqueue = "TAGS"\n'


def at_the_bench(folder: Path) -> Served:
    """A folder whose settings name a printer at the bench."""
    return Served(write_season(folder, row("041"), row("042"), settings=BENCH))


def test_it_prints_at_the_bench_printer(tmp_path: Path, spooler: Path) -> None:
    """No PDF comes: the page says where the labels are and asks about them; there is no second job."""
    served = at_the_bench(tmp_path)
    page = served.text("/bench/041")
    assert ("at the bench printer" in page, "PDF on this phone" in page) == (True, True)
    data = {**fields(page), "paper": "wraps", "lot": "041", "tags": "12", "to": "bench", **ROLL}
    for _ in range(2):
        page = served.client.post("/bench/print", data=data).get_data(as_text=True)
        assert ("Sent to bench." in page, "Did all 12 labels of 041 come out?" in page) == (True, True)
    told = (spooler / "told").read_text(encoding="utf-8").splitlines()
    assert (told.count("-d"), told[1], "media=Custom.57x32mm" in told) == (1, "TAGS", True)
    assert printed(served.sheet) == [("041", 12)]


def test_a_printer_that_refuses_records_nothing(tmp_path: Path, spooler: Path) -> None:
    """It is said, with the spooler's own words, and the same form prints once the printer takes it."""
    served = at_the_bench(tmp_path)
    data = {**form(served.client), "paper": "wraps", "lot": "041", "to": "bench", **ROLL}
    command(spooler, "lp", 'echo "lp: Destination TAGS is not accepting jobs." >&2; exit 1')
    page = served.client.post("/bench/print", data=data)
    said = page.get_data(as_text=True)
    assert (page.status_code, "not accepting jobs" in said) == (400, True)
    assert "Nothing was recorded as printed." in said
    assert printed(served.sheet) == []
    command(spooler, "lp", "exit 0")
    assert "Sent to bench." in served.client.post("/bench/print", data=data).get_data(as_text=True)
    assert printed(served.sheet) == [("041", 12)]


def test_no_printer_prints_more_than_1200_labels_at_once(tmp_path: Path, spooler: Path) -> None:
    """Two thousand bunches are not printed by one tap there either."""
    served = Served(write_season(tmp_path, row("041", stems=20000), settings=BENCH))
    answer = print_wraps(served.client, "", which="new", to="bench", **ROLL)
    assert (answer.status_code, "at most 1200" in answer.get_data(as_text=True)) == (400, True)
    assert not (spooler / "told").exists()


def test_a_queue_that_the_spooler_does_not_list_is_said_at_the_start(tmp_path: Path, spooler: Path) -> None:
    """In the terminal, with those that there are."""
    command(spooler, "lpstat", "printf 'LASER\\nTAGS_57\\n'")
    with opened(write_season(tmp_path, row("041"), settings=BENCH)) as (_, told):
        found = [line for line in told if "queue" in line]
    assert found == ['[printers.bench] queue must be one that lpstat -e lists: LASER, TAGS_57 (got "TAGS")']
