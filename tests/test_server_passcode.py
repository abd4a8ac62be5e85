"""Who may print: the passcode, cookies and tokens, and what becomes of tries to print without leave."""

from __future__ import annotations

from collections import Counter
from pathlib import Path

import pytest
from itsdangerous import URLSafeTimedSerializer
from werkzeug.test import TestResponse

from tagmaker.scan import passcode as passcodes
from tagmaker.scan.passcode import (
    FREE_TRIES,
    LONGEST_WAIT_S,
    MOST_WRONG,
    Answer,
    Passcode,
    Visits,
    new_passcode,
)
from tests.served import PASSCODE, Served, enter, print_wraps, row, token, write_season

pytestmark = pytest.mark.slow


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


def say_codes(served: Served, tries: int, pause_s: float) -> list[TestResponse]:
    """The answers to so many wrong passcodes, one after the other from one browser."""
    client, said = served.app.test_client(), PASSCODE.replace(" ", "")
    sent = token(client)
    answers = []
    for wrong in (f"{n:08}" for n in range(tries + 1)):
        if wrong != said:
            answers.append(client.post("/bench/enter", data={"token": sent, "passcode": wrong}))
            served.seconds += pause_s
    assert client.get("/bench/041").get_data(as_text=True).count("Passcode") > 0
    return answers[:tries]


def test_ten_thousand_wrong_passcodes_open_nothing(lan: Served) -> None:
    """As fast as can be: next to none is even looked at, each is told to wait, and the bench stays shut."""
    answers = say_codes(lan, 10_000, pause_s=0)
    counted = Counter(answer.status_code for answer in answers)
    assert counted == {403: FREE_TRIES + 1, 429: 10_000 - FREE_TRIES - 1}
    assert {answer.headers["Retry-After"] for answer in answers if answer.status_code == 429} == {"2"}
    assert "wait 2 s, then try again" in answers[-1].get_data(as_text=True)
    assert [answer for answer in answers if "Pale Harbour" in answer.get_data(as_text=True)] == []
    assert enter(lan.client).status_code == 429
    lan.seconds += 2
    assert enter(lan.client).status_code == 200


def test_patient_tries_open_nothing(lan: Served) -> None:
    """Who waits each time is shut out after a thousand, and the right one then needs a new start."""
    counted = Counter(answer.status_code for answer in say_codes(lan, MOST_WRONG + 50, LONGEST_WAIT_S + 1))
    assert counted == {403: MOST_WRONG, 429: 50}
    answer = enter(lan.client)
    assert (answer.status_code, "Start serve again" in answer.get_data(as_text=True)) == (429, True)


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
