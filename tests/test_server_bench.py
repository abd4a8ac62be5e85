"""The bench: what is printed, and what is refused."""

from __future__ import annotations

import threading
import time
from dataclasses import replace
from pathlib import Path

import pypdfium2 as pdfium  # type: ignore[import-untyped]
import pytest
import zxingcpp
from flask.testing import FlaskClient
from werkzeug.test import TestResponse

from tagmaker.scan.counter import QUEUE
from tagmaker.scan.wish import Paper, Wish
from tests.served import Served, form, print_wraps, row, write_season


@pytest.fixture
def here(tmp_path: Path) -> Served:
    """A folder served to this machine alone."""
    return Served(
        write_season(tmp_path, row("041"), row("042", cut="2027-03-20T09:00"), row("HOOP2", stems=118))
    )


def codes(answer: TestResponse) -> list[list[str]]:
    """What the codes of each page of a PDF say."""
    assert answer.mimetype == "application/pdf", answer.get_data(as_text=True)
    with pdfium.PdfDocument(answer.get_data()) as document:
        return [
            [code.text for code in zxingcpp.read_barcodes(page.render(scale=3, grayscale=True).to_numpy())]
            for page in document
        ]


def test_lots_come_newest_first(here: Served) -> None:
    """What was cut today is wrapped today."""
    page = here.text("/bench")
    assert page.index("/bench/041") < page.index("/bench/042")


def test_so_many_labels_from_the_first_free_one_on(here: Served) -> None:
    """Twelve labels from the seventh on: the first six places stay empty, and the next begins at 19."""
    answer = print_wraps(here.client, tags="12", first="7", stock="letter-3x10")
    (page,) = codes(answer)
    assert (len(page), {text.split()[0] for text in page}) == (12, {"041"})
    with pdfium.PdfDocument(answer.get_data()) as document:
        image = document[0].render(scale=1, grayscale=True).to_numpy()
    assert image[: int(12.7 + 2 * 25.4) * 72 // 25 - 10].min() == 255
    assert 'name="first" type="number" inputmode="numeric" min="1" max="30" value="19"' in here.text("/bench")
    assert answer.headers["Content-Disposition"] == 'inline; filename="wraps-041.pdf"'


def test_the_first_so_many_of_the_new_bunches(here: Served) -> None:
    """Five now and the rest as new ones: together every bunch once, the short one last."""
    print_wraps(here.client, "HOOP2", tags="5")
    here.later()
    assert "7 without a label" in here.text("/bench/HOOP2")
    print_wraps(here.client, "HOOP2", tags="7")
    here.later()
    assert "all labelled" in here.text("/bench/HOOP2")


def test_only_new_prints_what_has_no_label(here: Served) -> None:
    """One tap for all lots, until every bunch has its label."""
    assert sum(map(len, codes(print_wraps(here.client, "", which="new")))) == 36
    here.later()
    answer = print_wraps(here.client, "", which="new")
    assert (
        answer.status_code,
        "Nothing left to label: 041, 042, HOOP2" in answer.get_data(as_text=True),
    ) == (400, True)


def test_reprint_prints_what_is_no_longer_true(here: Served) -> None:
    """Labels of a lot whose cut was corrected to an earlier day are printed again; the others are not."""
    print_wraps(here.client, "", which="new")
    write_season(here.sheet.parent, row("041", cut="2027-03-10T09:00"), row("042", cut="2027-03-20T09:00"))
    here.later()
    assert {
        text.split()[0] for page in codes(print_wraps(here.client, "", which="reprint")) for text in page
    } == {"041"}


def test_the_form_offers_as_many_tags_as_are_wanted(here: Served) -> None:
    """Those that have none yet; all of them where the printed ones are no longer true."""
    offered = 'name="tags" type="number" inputmode="numeric" min="1" max="12" value="{}"'
    print_wraps(here.client, tags="5")
    here.later()
    assert offered.format(7) in here.text("/bench/041")
    write_season(here.sheet.parent, row("041", cut="2027-03-10T09:00"))
    here.later()
    assert offered.format(12) in here.text("/bench/041")
    print_wraps(here.client, tags="12")
    here.later()
    assert "REPRINT" not in here.text("/bench/041")


@pytest.mark.parametrize("paper", ["crates", "checklist"])
def test_the_other_papers_come_the_same_way(here: Served, paper: str) -> None:
    """Cards of a lot and the coolers' checklist."""
    answer = here.client.post("/bench/print", data={**form(here.client), "paper": paper, "lot": "041"})
    assert (answer.mimetype, answer.get_data()[:5]) == ("application/pdf", b"%PDF-")


@pytest.mark.parametrize(
    "fields",
    [
        {"tags": "0"},
        {"tags": "-1"},
        {"tags": "13"},
        {"tags": "601"},
        {"tags": "9" * 9},
        {"tags": "1e2"},
        {"tags": "١"},
        {"first": "0"},
        {"first": "31"},
        {"first": "x"},
        {"stock": "../a4"},
        {"stock": ""},
        {"form": ""},
        {"form": "../../etc/passwd.txt"},
        {"to": "laser"},
        {"paper": "passwd"},
        {"lot": "../041"},
        {"lot": "999"},
        {"lot": ""},
        {"which": "new"},
        {"which": "all", "lot": ""},
    ],
)
@pytest.mark.slow
def test_a_wish_out_of_bounds_is_refused(here: Served, fields: dict[str, str]) -> None:
    """Nothing is drawn or remembered, and the page says what it must be."""
    data = {**form(here.client), "paper": "wraps", "lot": "041", **fields}
    answer = here.client.post("/bench/print", data=data)
    assert (answer.status_code, 'role="alert"' in answer.get_data(as_text=True)) == (400, True)
    assert list(here.sheet.parent.glob("*.sqlite")) == []


def test_papers_wait_in_a_short_queue(here: Served, monkeypatch: pytest.MonkeyPatch) -> None:
    """One is printed, two wait, more are sent away at once; pages go on meanwhile, and the three come."""
    go_on, view = threading.Event(), here.live.look()
    draw = view.shown.draw

    def slow(wish: Wish, device: str) -> Paper:
        assert go_on.wait(20)
        return draw(wish, device)

    monkeypatch.setattr(here.live, "_view", replace(view, shown=replace(view.shown, draw=slow)))
    answers: list[int] = []
    clients = [(client, form(client)) for client in (here.app.test_client() for _ in range(QUEUE + 1))]

    def ask(client: FlaskClient, hidden: dict[str, str]) -> TestResponse:
        fields = {**hidden, "paper": "wraps", "lot": "041", "another": "1"}
        answer = client.post("/bench/print", data=fields)
        answers.append(answer.status_code)
        return answer

    waiting = [threading.Thread(target=ask, args=pair) for pair in clients[:QUEUE]]
    for thread in waiting:
        thread.start()
    while here.counter._queue.acquire(blocking=False):  # until the three are in it
        here.counter._queue.release()
        time.sleep(0.01)
    busy = ask(*clients[QUEUE])
    assert (busy.status_code, busy.headers["Retry-After"]) == (503, "10")
    assert "Too many papers" in busy.get_data(as_text=True)
    assert "Pale Harbour" in here.text("/L/041")
    go_on.set()
    for thread in waiting:
        thread.join()
    assert sorted(answers) == [200] * QUEUE + [503]


def test_too_many_labels_at_a_time_are_refused(tmp_path: Path) -> None:
    """Two thousand bunches are not printed by one tap."""
    served = Served(write_season(tmp_path, row("041", stems=20000)))
    answer = print_wraps(served.client, "", which="new")
    assert (answer.status_code, "at most 1200" in answer.get_data(as_text=True)) == (400, True)


def test_a_large_body_is_refused(here: Served) -> None:
    """The largest form, with the counts of 400 lots, has fewer than 16,384 bytes."""
    assert print_wraps(here.client, note="x" * 20_000).status_code == 413


@pytest.mark.parametrize("kind", ["multipart/form-data", "application/json", "text/plain"])
def test_only_forms_are_taken(here: Served, kind: str) -> None:
    """What a foreign page could send without asking is not read."""
    assert here.client.post("/bench/print", data=b"{}", content_type=kind).status_code == 415


@pytest.mark.slow
def test_two_servers_on_one_folder_know_what_the_other_printed(tmp_path: Path) -> None:
    """Each counts the other's labels, and each sees that they are no longer true."""
    sheet = write_season(tmp_path, row("041"), row("042"))
    one, other = Served(sheet), Served(sheet)
    assert "24 labels" in one.text("/bench")
    assert print_wraps(other.client, tags="12").mimetype == "application/pdf"
    one.later()
    assert ("all labelled" in one.text("/bench/041"), "12 labels" in one.text("/bench")) == (True, True)
    assert {text.split()[0] for page in codes(print_wraps(one.client, "", which="new")) for text in page} == {
        "042"
    }
    write_season(tmp_path, row("041", cut="2027-03-10T09:00"), row("042"))
    for served in (one, other):
        served.later()
        assert "REPRINT TAG" in served.text("/L/041")
        assert "REPRINT" not in served.text("/L/042")
    assert sum(map(len, codes(print_wraps(one.client, "", which="reprint")))) == 12
    other.later()
    assert "REPRINT" not in other.text("/L/041")
    assert (one.told, other.told) == ([], [])


def test_the_first_free_label_is_the_record_s(tmp_path: Path) -> None:
    """Printed on one server, or in the terminal, it is offered on the other at once."""
    sheet = write_season(tmp_path, row("041"), row("042"))
    one, other = Served(sheet), Served(sheet)
    print_wraps(other.client, tags="12", stock="a4-3x7")
    for served in (one, other):
        assert 'value="a4-3x7" data-first="13"' in served.text("/bench/042")
    print_wraps(one.client, tags="9", first="13", stock="a4-3x7")
    assert 'data-first="13"' not in other.text("/bench/042")
