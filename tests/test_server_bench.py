"""The bench: who may print, what is printed, and what becomes of tries to print without leave."""

from __future__ import annotations

from pathlib import Path

import pypdfium2 as pdfium  # type: ignore[import-untyped]
import pytest
import zxingcpp
from itsdangerous import URLSafeTimedSerializer
from werkzeug.test import TestResponse

from tagmaker.scan import passcode as passcodes
from tagmaker.scan.passcode import FREE_TRIES, MOST_WRONG, Answer, Passcode, Visits, new_passcode
from tests.served import PASSCODE, Served, enter, print_wraps, row, token, write_season


@pytest.fixture
def here(tmp_path: Path) -> Served:
    """A folder served to this machine alone."""
    return Served(
        write_season(tmp_path, row("041"), row("042", cut="2027-03-20T09:00"), row("HOOP2", stems=118))
    )


@pytest.fixture
def lan(tmp_path: Path) -> Served:
    """A folder served to the local network."""
    return Served(write_season(tmp_path, row("041")), passcode=PASSCODE)


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
    assert "0 without a label" in here.text("/bench/HOOP2")


def test_only_new_prints_what_has_no_label(here: Served) -> None:
    """One tap for all lots, until every bunch has its label."""
    assert sum(map(len, codes(print_wraps(here.client, "", which="new")))) == 36
    here.later()
    answer = print_wraps(here.client, "", which="new")
    assert (answer.status_code, "every bunch has its label" in answer.get_data(as_text=True)) == (400, True)


def test_reprint_prints_what_is_no_longer_true(here: Served) -> None:
    """Labels of a lot whose cut was corrected to an earlier day are printed again; the others are not."""
    print_wraps(here.client, "", which="new")
    write_season(here.sheet.parent, row("041", cut="2027-03-10T09:00"), row("042", cut="2027-03-20T09:00"))
    here.later()
    assert {
        text.split()[0] for page in codes(print_wraps(here.client, "", which="reprint")) for text in page
    } == {"041"}


@pytest.mark.parametrize("paper", ["crates", "checklist"])
def test_the_other_papers_come_the_same_way(here: Served, paper: str) -> None:
    """Cards of a lot and the coolers' checklist."""
    answer = here.client.post(
        "/bench/print", data={"token": token(here.client), "paper": paper, "lot": "041"}
    )
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
        {"paper": "passwd"},
        {"lot": "../041"},
        {"lot": "999"},
        {"lot": ""},
        {"which": "new"},
        {"which": "all", "lot": ""},
    ],
)
def test_a_wish_out_of_bounds_is_refused(here: Served, fields: dict[str, str]) -> None:
    """Nothing is drawn or remembered, and the page says what it must be."""
    data = {"token": token(here.client), "paper": "wraps", "lot": "041", **fields}
    answer = here.client.post("/bench/print", data=data)
    assert (answer.status_code, 'role="alert"' in answer.get_data(as_text=True)) == (400, True)
    assert list(here.sheet.parent.glob("*.sqlite")) == []


def test_too_many_labels_at_a_time_are_refused(tmp_path: Path) -> None:
    """Two thousand bunches are not printed by one tap."""
    served = Served(write_season(tmp_path, row("041", stems=20000)))
    answer = print_wraps(served.client, "", which="new")
    assert (answer.status_code, "at most 1200" in answer.get_data(as_text=True)) == (400, True)


def test_a_large_body_is_refused(here: Served) -> None:
    """A form has a few hundred bytes."""
    assert print_wraps(here.client, note="x" * 5000).status_code == 413


@pytest.mark.parametrize("kind", ["multipart/form-data", "application/json", "text/plain"])
def test_only_forms_are_taken(here: Served, kind: str) -> None:
    """What a foreign page could send without asking is not read."""
    assert here.client.post("/bench/print", data=b"{}", content_type=kind).status_code == 415


# --- the passcode, cookies and tokens ----------------------------------------------------------------------


def test_lots_are_open_and_the_bench_is_not(lan: Served) -> None:
    """On the local network everybody may read a lot; the bench shows nothing before the passcode."""
    assert "Pale Harbour" in lan.text("/L/041")
    for address in ("/bench", "/bench/041"):
        assert ("Passcode" in lan.text(address), "Pale Harbour" in lan.text(address)) == (True, False)


def test_the_passcode_opens_the_bench(lan: Served) -> None:
    """Wrong, then right, with or without the space; then it prints."""
    assert enter(lan.client, "8765 4321").status_code == 403
    assert print_wraps(lan.client).status_code == 403
    assert enter(lan.client, "12345678").status_code == 200
    assert print_wraps(lan.client).mimetype == "application/pdf"


def test_the_cookie_is_the_bench_s_alone(lan: Served) -> None:
    """No script reads it, no foreign page sends it, and it holds nothing of the passcode."""
    cookie = enter(lan.client).headers["Set-Cookie"]
    assert all(mark in cookie for mark in ("HttpOnly", "SameSite=Strict", "Path=/bench"))
    assert "1234" not in cookie


def test_a_forged_cookie_is_worth_nothing(lan: Served) -> None:
    """Signed with another key, or changed, it is as good as none."""
    forged = URLSafeTimedSerializer("guess", salt="visit").dumps(["x", True, "127.0.0.1"])
    said = enter(lan.client).headers["Set-Cookie"].partition("=")[2].partition(";")[0]
    for value in (forged, said[:-2] + "AA", said.replace("W", "X", 1), "", "x" * 3000):
        other = lan.app.test_client()
        other.set_cookie("bench", value, path="/bench")
        assert "Passcode" in other.get("/bench").get_data(as_text=True)


def test_a_replayed_cookie_is_worth_nothing(lan: Served, monkeypatch: pytest.MonkeyPatch) -> None:
    """From another address, after a day, or after the server was started again, it opens nothing."""
    value = enter(lan.client).headers["Set-Cookie"].partition("=")[2].partition(";")[0]
    elsewhere = lan.app.test_client()
    elsewhere.set_cookie("bench", value, path="/bench")
    page = elsewhere.get("/bench", environ_overrides={"REMOTE_ADDR": "192.168.1.77"}).get_data(as_text=True)
    assert "Passcode" in page
    again = Served(lan.sheet, passcode=PASSCODE).app.test_client()
    again.set_cookie("bench", value, path="/bench")
    assert "Passcode" in again.get("/bench").get_data(as_text=True)
    monkeypatch.setattr(passcodes, "VISIT_S", -1)
    assert "Passcode" in lan.text("/bench")


def test_a_cookie_from_before_the_passcode_stays_outside(lan: Served) -> None:
    """The passcode gives a new cookie; one that somebody planted before does not open with it."""
    planted = lan.client.get("/bench").headers["Set-Cookie"].partition("=")[2].partition(";")[0]
    enter(lan.client)
    other = lan.app.test_client()
    other.set_cookie("bench", planted, path="/bench")
    assert "Passcode" in other.get("/bench").get_data(as_text=True)


@pytest.mark.parametrize("said", [None, "", "0" * 64, "é"])
def test_a_form_without_its_token_does_nothing(here: Served, said: str | None) -> None:
    """Not even on this machine alone."""
    here.client.get("/bench")
    data = {"paper": "wraps", "lot": "041", **({} if said is None else {"token": said})}
    assert here.client.post("/bench/print", data=data).status_code == 403
    assert here.client.post("/bench/enter", data={"passcode": PASSCODE}).status_code == 403
    assert list(here.sheet.parent.glob("*.sqlite")) == []


def test_a_token_is_of_one_visit(here: Served) -> None:
    """The token of one browser is worth nothing in another, nor without a cookie."""
    said, other = token(here.client), here.app.test_client()
    data = {"token": said, "paper": "wraps", "lot": "041"}
    assert other.post("/bench/print", data=data).status_code == 403
    other.get("/bench")
    assert other.post("/bench/print", data=data).status_code == 403


def test_a_foreign_page_cannot_post(here: Served) -> None:
    """A browser that says that another site sends the form is believed."""
    data = {"token": token(here.client), "paper": "wraps", "lot": "041"}
    answer = here.client.post("/bench/print", data=data, headers={"Sec-Fetch-Site": "cross-site"})
    assert answer.status_code == 403


def test_wrong_passcodes_are_slowed_down(lan: Served) -> None:
    """After some wrong ones even the right one has to wait, and after the wait it is taken."""
    answers = [enter(lan.client, f"{n:08}").status_code for n in range(FREE_TRIES + 2)]
    assert answers == [403] * (FREE_TRIES + 1) + [429]
    assert enter(lan.client).headers["Retry-After"] == "2"
    lan.seconds += 1
    assert enter(lan.client).status_code == 200


def test_ten_thousand_wrong_passcodes_open_nothing() -> None:
    """As fast as can be, from one address: next to none is even looked at."""
    door = Passcode(PASSCODE, lambda: 0.0)
    answers = [door.attempt(f"{n:08}", "192.168.1.9") for n in range(10_000)]
    assert (answers.count(Answer.WRONG), answers.count(Answer.WAIT)) == (
        FREE_TRIES + 1,
        10_000 - FREE_TRIES - 1,
    )


def test_wrong_passcodes_from_everywhere_shut_the_door() -> None:
    """Whoever has a thousand addresses does not get more tries than that, not for the right one either."""
    door = Passcode(PASSCODE, lambda: 0.0)
    answers = [door.attempt("0", f"10.0.{n // 250}.{n % 250}") for n in range(10_000)]
    assert answers.count(Answer.WRONG) == MOST_WRONG
    assert door.attempt(PASSCODE, "10.1.1.1") is Answer.SHUT


def test_passcodes_differ() -> None:
    """Eight digits, in two halves, new at every start."""
    made = {new_passcode() for _ in range(50)}
    assert len(made) == 50
    assert all(len(passcode) == 9 and passcode.replace(" ", "").isdigit() for passcode in made)


@pytest.mark.parametrize("cookie", [None, "", "a.b.c", "WyJ4Il0.x.y"])
def test_no_cookie_is_no_visit(cookie: str | None) -> None:
    """Whatever is no cookie of ours is nobody's."""
    assert Visits(passcode_needed=True).read(cookie, "127.0.0.1") is None
