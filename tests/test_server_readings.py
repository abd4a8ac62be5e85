"""Readings added by phone: looked at, shown, kept where one says so, and nothing of it by strangers."""

from __future__ import annotations

import io
import re
import socket
import threading
import time
from datetime import datetime, timedelta
from pathlib import Path
from urllib.parse import quote

import pytest
from flask.testing import FlaskClient
from werkzeug.test import TestResponse

from tagmaker.scan.incoming import AT_ONCE, MOST_SENT
from tagmaker.scan.listener import Bounds, Listener
from tagmaker.storage.readings import EXPORT_BYTES
from tests.page_sources import main_text, parsed
from tests.served import CODE, NOW, Served, opened, pair, row, write_season

pytestmark = pytest.mark.slow

PAGE = "/readings/COOLER.WALK-IN"
SETTINGS = 'units = "F"\n[coolers.walk-in]\nset_point = "39F"\n[coolers.porch]\nlog = "porch.csv"\n'


def export(days: int = 3, until: datetime = NOW) -> bytes:
    """An export up to now."""
    moments = [until - timedelta(hours=hours) for hours in range(24 * days)]
    rows = (f"{moment:%Y-%m-%d %H:%M},{37 + moment.hour % 7 / 2}" for moment in reversed(moments))
    return "\n".join(["Time,Temperature (°F)", *rows]).encode()


@pytest.fixture
def here(tmp_path: Path) -> Served:
    """A season of one lot, for this machine alone."""
    return Served(write_season(tmp_path, row("041"), settings=SETTINGS))


def token(client: FlaskClient, address: str = PAGE) -> str:
    """The token of the form on a page."""
    found = re.search(r'name="token" value="(\w+)"', client.get(address).get_data(as_text=True))
    assert found is not None
    return found[1]


def send(client: FlaskClient, content: bytes, name: str = "export.csv", page: str = PAGE) -> TestResponse:
    """Send a file from a page."""
    data = {"token": token(client), "file": (io.BytesIO(content), name)}
    return client.post(page, data=data, content_type="multipart/form-data")


def keep(client: FlaskClient, shown: TestResponse) -> TestResponse:
    """Keep the file that a page leads to."""
    number = shown.headers["Location"].partition("file=")[2]
    data = {"token": token(client), "file": number, "cooler": "COOLER.WALK-IN"}
    return client.post("/readings/keep", data=data)


def logs(served: Served) -> list[str]:
    """What lies in the folder of logs, hidden files too."""
    folder = served.sheet.parent / "logs"
    return sorted(path.name for path in folder.iterdir()) if folder.exists() else []


def test_it_is_shown_then_kept_then_counts(here: Served) -> None:
    """From the cooler's page to dates by what the thermometer showed, with plain forms."""
    assert f'href="{PAGE}"' in here.text("/L/COOLER.WALK-IN")
    shown = send(here.client, export())
    assert (shown.status_code, logs(here)) == (303, [])
    text = main_text(here.text(shown.headers["Location"]))
    assert "Keep this for walk-in?" in text
    for said in ("export.csv", "72, one every 60 min", "all of them", "°F: the log says so", "“Time”"):
        assert said in text
    assert "SAT 20 MAR 9 AM 2027" in text
    kept = keep(here.client, shown)
    name = "walk-in-2027-03-20-2027-03-23.csv"
    assert f"SAVED as logs/{name}." in main_text(here.text(kept.headers["Location"]))
    assert logs(here) == [name]
    assert f"logs/{name}: 72 readings of walk-in, added by this computer" in here.told
    here.later()
    assert "Read until TUE 23 MAR 8 AM" in main_text(here.text("/L/COOLER.WALK-IN"))


def test_kept_twice_it_is_one_file(here: Served) -> None:
    """A button that is pressed twice, and a page that is loaded again, keep nothing more."""
    shown = send(here.client, export())
    first, second = keep(here.client, shown), keep(here.client, shown)
    assert first.headers["Location"] == second.headers["Location"]
    assert len(logs(here)) == 1


@pytest.mark.parametrize(
    "name",
    [
        "../../etc/passwd",
        "..\\..\\lots.csv",
        "/etc/cron.d/x",
        "logs/../../x.csv",
        "a\x00b.csv",
        "x" * 3000,
        '<script>alert(1)</script>".csv',
        "\u202egnp.csv",
    ],
)
def test_no_name_of_a_file_becomes_a_path(here: Served, name: str) -> None:
    """It is shown as text without its folders, and the file is kept under ours."""
    before = {path for path in here.sheet.parent.parent.rglob("*") if path.suffix != ".sqlite"}
    shown = send(here.client, export(), name)
    assert shown.status_code == 303
    page = here.text(shown.headers["Location"])
    assert "<script>alert" not in page
    assert "\u202e" not in page
    assert keep(here.client, shown).status_code == 303
    after = {path for path in here.sheet.parent.parent.rglob("*") if path.suffix != ".sqlite"}
    folder = here.sheet.parent / "logs"
    assert after - before == {folder, folder / "walk-in-2027-03-20-2027-03-23.csv"}


@pytest.mark.parametrize(
    "page", ["COOLER.NONE", "..%2f..", "lots.csv", "COOLER.WALK-IN%2f..", quote("<b>"), "041"]
)
def test_only_a_cooler_of_the_settings_has_such_a_page(here: Served, page: str) -> None:
    """No other name leads anywhere, read or sent."""
    assert here.client.get(f"/readings/{page}").status_code == 404
    data = {"token": token(here.client), "file": (io.BytesIO(export()), "x.csv")}
    sent = here.client.post(f"/readings/{page}", data=data, content_type="multipart/form-data")
    assert (sent.status_code, logs(here)) == (404, [])


def test_what_is_refused_says_why(here: Served) -> None:
    """A file that is none, an empty one, no file at all, one without news: each on the page of the form."""
    for content, name, status, said in (
        (b"lot,crop\n104,tulip\n", "lots.csv", 409, "lots.csv: must have a column"),
        (b"", "empty.csv", 409, "an empty file"),
        (b"", "", 400, "Choose a file first."),
        (export(until=datetime(2026, 3, 23, 8)), "old.csv", 409, "log must be of this season"),
    ):
        answer = send(here.client, content, name)
        assert (answer.status_code, logs(here)) == (status, [])
        text = main_text(answer.get_data(as_text=True))
        assert said in text
        assert "LOOK AT IT" in text
    keep(here.client, send(here.client, export()))
    assert "must have readings that are not kept yet" in send(here.client, export()).get_data(as_text=True)


def test_a_cooler_with_a_log_elsewhere_has_no_form(here: Served) -> None:
    """What nobody would read cannot be sent: the page says what to change."""
    text = here.text("/readings/COOLER.PORCH")
    assert "log must be blank, or name logs/porch-*.csv" in text
    assert 'type="file"' not in text
    answer = send(here.client, export(), page="/readings/COOLER.PORCH")
    assert (answer.status_code, logs(here)) == (409, [])


def test_a_byte_too_many(here: Served) -> None:
    """20 MB and a byte are refused on a page; so is a request beyond all measure."""
    for size in (EXPORT_BYTES + 1, MOST_SENT + 1):
        _, body = multipart(token(here.client), export() + b"\n" * (size - len(export())))
        answer = here.client.post(PAGE, data=body, content_type="multipart/form-data; boundary=edge")
        assert (answer.status_code, logs(here)) == (413, [])
        assert "The file must have at most 20 MB." in answer.get_data(as_text=True)


def test_only_a_paired_phone_adds_readings(tmp_path: Path) -> None:
    """Others are led to the pairing; a form of theirs does nothing, nor another phone's number of a file."""
    lan = Served(write_season(tmp_path, row("041"), settings=SETTINGS), code=CODE)
    stranger, ada, ben = (lan.app.test_client() for _ in range(3))
    assert "Pair this phone" in stranger.get(PAGE).get_data(as_text=True)
    assert PAGE not in stranger.get("/L/COOLER.WALK-IN").get_data(as_text=True)
    assert pair(ada, name="Ada", back=PAGE).headers["Location"] == PAGE
    pair(ben, name="Ben")
    shown = send(ada, export())
    assert "Keep this for" not in ben.get(shown.headers["Location"]).get_data(as_text=True)
    assert (keep(ben, shown).status_code, logs(lan)) == (409, [])
    data = {"token": token(stranger, "/pair"), "file": (io.BytesIO(export()), "x.csv")}
    sent = stranger.post(PAGE, data=data, content_type="multipart/form-data")
    assert (sent.status_code, logs(lan)) == (403, [])
    assert (keep(ada, shown).status_code, len(logs(lan))) == (303, 1)


@pytest.mark.parametrize(
    "headers", [{"Origin": "http://elsewhere.example"}, {"Sec-Fetch-Site": "cross-site"}]
)
def test_a_foreign_page_sends_nothing(here: Served, headers: dict[str, str]) -> None:
    """Its form is refused, whatever cookie the browser adds."""
    data = {"token": token(here.client), "file": (io.BytesIO(export()), "x.csv")}
    sent = here.client.post(PAGE, data=data, content_type="multipart/form-data", headers=headers)
    assert (sent.status_code, logs(here)) == (403, [])


def test_two_phones_at_once(here: Served) -> None:
    """Both send the same export and both keep it: it is kept once, and the other is told so."""
    clients = [here.app.test_client() for _ in range(2)]
    shown = [send(client, export()) for client in clients]
    answers: list[int] = []
    threads = [
        threading.Thread(target=lambda one=one: answers.append(keep(*one).status_code))
        for one in zip(clients, shown, strict=True)
    ]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert sorted(answers) == [303, 409]
    assert len(logs(here)) == 1


def test_every_screen_is_valid(here: Served) -> None:
    """Strict HTML, one heading, and a label for the file."""
    shown = send(here.client, export())
    pages = [here.text(PAGE), here.text("/readings/COOLER.PORCH"), here.text(shown.headers["Location"])]
    pages.append(here.text(keep(here.client, shown).headers["Location"]))
    pages.append(send(here.client, b"x").get_data(as_text=True))
    for page in pages:
        tree = parsed(page)
        assert len(list(tree.iter("h1"))) == 1
        fields = [field.get("id") for field in tree.iter("input") if field.get("type") != "hidden"]
        assert [label.get("for") for label in tree.iter("label")] == fields


# --- over an open port --------------------------------------------------------------------------------------


def multipart(token: str, content: bytes) -> tuple[bytes, bytes]:
    """A form with a file as a browser sends it: what follows the first line, and the body."""
    edge = b"--edge\r\nContent-Disposition: form-data; name="
    body = edge + b'"token"\r\n\r\n' + token.encode() + b"\r\n"
    body += edge + b'"file"; filename="export.csv"\r\n\r\n' + content + b"\r\n--edge--\r\n"
    kind = b"Content-Type: multipart/form-data; boundary=edge\r\n"
    return kind + b"Content-Length: %d\r\n" % len(body), body


class Peer:
    """Somebody who may record, at an open port."""

    def __init__(self, listener: Listener, content: bytes) -> None:
        self.port = int(listener.effective_port)
        host = b"Host: 127.0.0.1:%d\r\nConnection: close\r\n" % self.port
        page = self.ask(b"GET " + PAGE.encode() + b" HTTP/1.1\r\n" + host + b"\r\n").decode()
        cookie = re.search(r"Set-Cookie: ([^;]+)", page)
        given = re.search(r'name="token" value="(\w+)"', page)
        assert cookie is not None
        assert given is not None
        head, self.body = multipart(given[1], content)
        self.strange = b"POST " + PAGE.encode() + b" HTTP/1.1\r\n" + host + head
        self.mine = b"Cookie: " + cookie[1].encode() + b"\r\n"

    def ask(self, request: bytes) -> bytes:
        """All of the answer to some bytes."""
        with socket.create_connection(("127.0.0.1", self.port), timeout=30) as peer:
            peer.sendall(request)
            return answered(peer)

    def begun(self, part: bytes) -> socket.socket:
        """A connection on which a part of the file was sent."""
        peer = socket.create_connection(("127.0.0.1", self.port), timeout=30)
        peer.sendall(self.strange + self.mine + b"\r\n" + part)
        return peer


def answered(peer: socket.socket) -> bytes:
    """What comes until the connection is closed."""
    return b"".join(iter(lambda: peer.recv(65536), b""))


def test_an_upload_over_the_port(tmp_path: Path) -> None:
    """20 MB come in for whoever may record; half of it leaves nothing, a stranger's is refused."""
    sheet = write_season(tmp_path, row("041"), settings=SETTINGS)
    lines = (b" " * 999 + b"\n") * (EXPORT_BYTES // 1000)
    content = export() + b"\n" + lines[len(export()) + 1 :]
    with opened(sheet) as (listener, told):
        peer = Peer(listener, content)
        peer.begun(peer.body[: len(peer.body) // 2]).close()
        assert b" 413 " in peer.ask(peer.strange + b"\r\n").partition(b"\r\n")[0]
        elsewhere = (peer.strange + peer.mine + b"\r\n").replace(PAGE.encode(), b"/enter")
        assert b" 413 " in peer.ask(elsewhere).partition(b"\r\n")[0]
        answer = peer.ask(peer.strange + peer.mine + b"\r\n" + peer.body)
        assert answer.startswith(b"HTTP/1.1 303 ")
        assert [line.split()[3:6] for line in told if " POST " in line and "303" in line] == [
            ["POST", PAGE, "303"]
        ]
    assert not (tmp_path / "logs").exists()


def test_a_slow_phone_has_the_time_that_a_file_takes(tmp_path: Path) -> None:
    """Longer than a form may take; and one more than may send at once is refused, until one has ended."""
    sheet = write_season(tmp_path, row("041"), settings=SETTINGS)
    quick = Bounds(idle_s=30.0, slow_s=0.5, look_s=0.1)
    with opened(sheet, bounds=quick) as (listener, _):
        peer = Peer(listener, export(300, NOW) + b" " * 20_000)
        half = len(peer.body) // 2
        sending = [peer.begun(peer.body[:half]) for _ in range(AT_ONCE)]
        time.sleep(1.5)
        assert b" 413 " in peer.ask(peer.strange + peer.mine + b"\r\n").partition(b"\r\n")[0]
        for other in sending[1:]:
            other.close()
        sending[0].sendall(peer.body[half:])
        assert answered(sending[0]).startswith(b"HTTP/1.1 303 ")
        sending[0].close()
