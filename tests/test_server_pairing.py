"""Who may record and print: pairing, cookies and tokens, and what becomes of tries without leave."""

from __future__ import annotations

import json
import stat
from collections import Counter
from pathlib import Path

import pytest
from itsdangerous import URLSafeTimedSerializer
from werkzeug.test import TestResponse

from tagmaker.scan import pairing
from tagmaker.scan.pairing import (
    FREE_TRIES,
    LONGEST_WAIT_S,
    MOST_PHONES,
    MOST_WRONG,
    SHUT_S,
    Answer,
    PairingCode,
    Phones,
    Visits,
    new_code,
)
from tests.served import CODE, Served, pair, print_wraps, row, token, write_season

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
    return Served(write_season(tmp_path, row("041")), code=CODE)


def cookie_of(answer: TestResponse) -> str:
    """The cookie that an answer sets."""
    return answer.headers["Set-Cookie"].partition("=")[2].partition(";")[0]


def bench_with(served: Served, cookie: str, address: str = "127.0.0.1") -> str:
    """What a browser with a cookie sees of the bench."""
    client = served.app.test_client()
    client.set_cookie("bench", cookie, path="/")
    return client.get("/bench", environ_overrides={"REMOTE_ADDR": address}).get_data(as_text=True)


def test_lots_are_open_and_the_bench_is_not(lan: Served) -> None:
    """On the local network everybody may read a lot; the bench shows nothing before the pairing."""
    assert "Pale Harbour" in lan.text("/L/041")
    for address in ("/bench", "/bench/041"):
        page = lan.text(address)
        assert ("Pair this phone" in page, "Pale Harbour" in page, CODE in page) == (True, False, False)


def test_the_code_opens_the_bench(lan: Served) -> None:
    """Wrong, then right, with or without the space; then it prints."""
    assert pair(lan.client, "8765 4321").status_code == 403
    assert print_wraps(lan.client).status_code == 403
    assert pair(lan.client, "12345678").status_code == 303
    assert print_wraps(lan.client).mimetype == "application/pdf"


@pytest.mark.parametrize(
    ("back", "lands"),
    [
        ("/L/041", "/L/041"),
        ("/bench/041", "/bench/041"),
        ("/pair", "/bench"),
        ("//evil.example/", "/"),
        ("http://evil.example/", "/"),
        ("/\\evil.example", "/"),
        ("/L/041\r\nX: y", "/"),
        ("", "/"),
    ],
)
def test_after_pairing_one_lands_where_one_was(lan: Served, back: str, lands: str) -> None:
    """And nowhere that is not ours."""
    assert pair(lan.client, back=back).headers["Location"] == lands


def test_the_cookie_is_out_of_reach(lan: Served) -> None:
    """No script reads it, no foreign form sends it, and it holds nothing of the code."""
    cookie = pair(lan.client).headers["Set-Cookie"]
    assert all(mark in cookie for mark in ("HttpOnly", "SameSite=Lax", "Path=/;"))
    assert "1234" not in cookie


def test_a_forged_cookie_is_worth_nothing(lan: Served) -> None:
    """Signed with another key, or changed, it is as good as none."""
    said = cookie_of(pair(lan.client))
    (phone,) = lan.phones.all()
    forged = URLSafeTimedSerializer("guess", salt="visit").dumps([phone.id, True])
    for value in (forged, said[:-2] + "AA", said.replace("W", "X", 1), "", "x" * 3000):
        assert "Pair this phone" in bench_with(lan, value)


def test_a_phone_is_paired_once(lan: Served, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Its cookie goes on after a new start and from another address, for a season."""
    phones = Phones(tmp_path / "config" / "phones.json")
    said = cookie_of(pair(Served(lan.sheet, code=CODE, phones=phones).client))
    again = Served(lan.sheet, code="8765 4321", phones=Phones(tmp_path / "config" / "phones.json"))
    assert "Lots, newest first" in bench_with(again, said, "192.168.1.77")
    monkeypatch.setattr(pairing, "PAIRED_S", -1)
    assert "Pair this phone" in bench_with(again, said)


def test_the_key_is_for_the_user_alone(lan: Served, tmp_path: Path) -> None:
    """Nobody else on the computer reads the file; what cannot be kept lasts until the next start."""
    path = tmp_path / "config" / "phones.json"
    pair(Served(lan.sheet, code=CODE, phones=Phones(path)).client)
    assert stat.S_IMODE(path.stat().st_mode) == 0o600
    assert len(bytes.fromhex(json.loads(path.read_text())["key"])) == 32
    for broken in ("", "{}", '{"key": 3, "phones": []}', '{"key": "zz", "phones": []}'):
        path.write_text(broken)
        assert len(Phones(path).key) == 32


def test_a_removed_phone_stays_outside(lan: Served) -> None:
    """Its cookie and its forms are worth nothing any more; the others go on."""
    ada, ben = cookie_of(pair(lan.client)), cookie_of(pair(lan.app.test_client(), name="Ben"))
    phone = next(phone for phone in lan.phones.all() if phone.name == "Ada")
    sent = token(lan.client)
    assert lan.client.post("/pair/remove", data={"token": sent, "phone": phone.id}).status_code == 303
    assert "Pair this phone" in bench_with(lan, ada)
    assert "Lots, newest first" in bench_with(lan, ben)
    assert print_wraps(lan.client).status_code == 403


def test_only_paired_phones_and_the_computer_itself_remove_phones(lan: Served) -> None:
    """A stranger on the network does not."""
    pair(lan.client)
    stranger = lan.app.test_client()
    data = {"token": token(stranger), "phone": lan.phones.all()[0].id}
    assert stranger.post("/pair/remove", data=data).status_code == 403
    assert len(lan.phones.all()) == 1


def test_the_computer_itself_shows_the_code(tmp_path: Path) -> None:
    """On its own page, and to no other address."""
    sheet = write_season(tmp_path, row("041"))
    served = Served(sheet, code=CODE, own=("127.0.0.1",))
    assert CODE in served.text("/pair")
    elsewhere = served.client.get("/pair", environ_overrides={"REMOTE_ADDR": "192.168.1.77"})
    assert CODE not in elsewhere.get_data(as_text=True)


def test_phones_have_names_of_their_own() -> None:
    """Two of a name are told apart, none is no name, and only so many are kept."""
    phones = Phones()
    names = [phones.pair(name, "2027-04-21").name for name in ("Ada", "Ada", " \x00 ", "x" * 99)]
    assert names == ["Ada", "Ada 2", "phone", "x" * 30]
    for _ in range(MOST_PHONES):
        last = phones.pair("more", "2027-04-21")
    assert (len(phones.all()), phones.all()[0], phones.find("nobody")) == (MOST_PHONES, last, None)


def test_a_cookie_from_before_the_pairing_stays_outside(lan: Served) -> None:
    """The code gives a new cookie; one that somebody planted before does not open with it."""
    planted = cookie_of(lan.client.get("/bench"))
    pair(lan.client)
    assert "Pair this phone" in bench_with(lan, planted)


@pytest.mark.parametrize("said", [None, "", "0" * 64, "é"])
def test_a_form_without_its_token_does_nothing(here: Served, said: str | None) -> None:
    """Not even on this machine alone."""
    here.client.get("/bench")
    data = {"paper": "wraps", "lot": "041", **({} if said is None else {"token": said})}
    assert here.client.post("/bench/print", data=data).status_code == 403
    assert here.client.post("/pair", data={"code": CODE}).status_code == 403
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


def test_a_foreign_origin_cannot_post(here: Served) -> None:
    """Nor one that says where it is from."""
    data = {"token": token(here.client), "paper": "wraps", "lot": "041"}
    for origin, status in (("http://evil.example", 403), ("http://localhost", 200)):
        answer = here.client.post("/bench/print", data=data, headers={"Origin": origin})
        assert answer.status_code in (status, 400)
    assert here.client.post("/bench/print", data=data, headers={"Origin": "http://evil"}).status_code == 403


def test_wrong_codes_are_slowed_down(lan: Served) -> None:
    """After some wrong ones even the right one has to wait, and after the wait it is taken."""
    answers = [pair(lan.client, f"{n:08}").status_code for n in range(FREE_TRIES + 2)]
    assert answers == [403] * (FREE_TRIES + 1) + [429]
    assert pair(lan.client).headers["Retry-After"] == "2"
    lan.seconds += 1
    assert pair(lan.client).status_code == 303


def say_codes(served: Served, tries: int, pause_s: float) -> list[TestResponse]:
    """The answers to so many wrong codes, one after the other from one browser."""
    client, said = served.app.test_client(), CODE.replace(" ", "")
    sent = token(client)
    answers = []
    for wrong in (f"{n:08}" for n in range(tries + 1)):
        if wrong != said:
            answers.append(client.post("/pair", data={"token": sent, "code": wrong}))
            served.seconds += pause_s
    assert client.get("/bench/041").get_data(as_text=True).count("Pair this phone") > 0
    return answers[:tries]


def test_ten_thousand_wrong_codes_open_nothing(lan: Served) -> None:
    """As fast as can be: next to none is even looked at, each is told to wait, and nobody comes in."""
    answers = say_codes(lan, 10_000, pause_s=0)
    counted = Counter(answer.status_code for answer in answers)
    assert counted == {403: FREE_TRIES + 1, 429: 10_000 - FREE_TRIES - 1}
    assert {answer.headers["Retry-After"] for answer in answers if answer.status_code == 429} == {"2"}
    assert "wait 2 s, then try again" in answers[-1].get_data(as_text=True)
    assert [answer for answer in answers if "Pale Harbour" in answer.get_data(as_text=True)] == []
    assert pair(lan.client).status_code == 429
    lan.seconds += 2
    assert pair(lan.client).status_code == 303


def test_patient_tries_open_nothing(lan: Served) -> None:
    """Who waits each time is shut out, and the code is another from then on."""
    answers = say_codes(lan, MOST_WRONG, LONGEST_WAIT_S + 1)
    assert {answer.status_code for answer in answers} == {403}
    answer = pair(lan.client)
    assert (answer.status_code, "there is another code then" in answer.get_data(as_text=True)) == (429, True)


def test_ten_thousand_wrong_codes_from_many_addresses(lan: Served) -> None:
    """The paired go on; a newcomer pairs again after a while with the new code, without a new start."""
    pair(lan.client)
    stranger = lan.app.test_client()
    sent = token(stranger)
    for n in range(10_000):
        where = {"REMOTE_ADDR": f"10.0.{n // 250}.{n % 250}"}
        answer = stranger.post("/pair", data={"token": sent, "code": "0"}, environ_overrides=where)
        assert answer.status_code in (403, 429)
    assert print_wraps(lan.client).mimetype == "application/pdf"
    newcomer = lan.app.test_client()
    assert pair(newcomer).status_code == 429
    lan.seconds += SHUT_S
    assert pair(newcomer).status_code == 403  # the old code
    (said,) = [line for line in lan.told if "too many wrong codes" in line]
    assert pair(newcomer, said.rpartition(": ")[2]).status_code == 303


def test_wrong_codes_from_everywhere_are_not_more_tries() -> None:
    """Whoever has a thousand addresses does not get more tries than that, not for the right one either."""
    door = PairingCode(CODE, lambda: 0.0)
    answers = [door.attempt("0", f"10.0.{n // 250}.{n % 250}") for n in range(10_000)]
    assert answers.count(Answer.WRONG) == MOST_WRONG
    assert door.attempt(CODE, "10.1.1.1") is Answer.SHUT
    assert door.code != CODE


def test_codes_differ() -> None:
    """Eight digits, in two halves, new at every start."""
    made = {new_code() for _ in range(50)}
    assert len(made) == 50
    assert all(len(code) == 9 and code.replace(" ", "").isdigit() for code in made)


@pytest.mark.parametrize("cookie", [None, "", "a.b.c", "WyJ4Il0.x.y"])
def test_no_cookie_is_no_visit(cookie: str | None) -> None:
    """Whatever is no cookie of ours is nobody's."""
    assert Visits(Phones(), code_needed=True).read(cookie) is None
