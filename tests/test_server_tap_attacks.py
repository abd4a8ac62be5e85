"""Taps over the open port, beside those who drip, forge, smuggle, or send too much."""

from __future__ import annotations

import http.client
import re
import socket
import threading
import time
from collections.abc import Iterator
from contextlib import ExitStack, closing, suppress
from dataclasses import dataclass
from pathlib import Path
from urllib.parse import urlencode

import pytest
from itsdangerous import URLSafeTimedSerializer

from tagmaker.scan.listener import Bounds, Listener
from tests.entered_season import entries
from tests.served import CODE, Served, opened, pair, row, write_season
from tests.test_server_crate import SETTINGS, fields

pytestmark = pytest.mark.slow

FORM = "application/x-www-form-urlencoded"
QUICK = Bounds(connections=24, per_address=4, idle_s=1.0, slow_s=1.0, look_s=0.2)


@dataclass(frozen=True)
class Phone:
    """A browser on this machine, and the form that it was given."""

    port: int
    cookie: str
    form: dict[str, str]

    @classmethod
    def at(cls, listener: Listener) -> Phone:
        """One that has opened the page of the lot."""
        port = int(listener.effective_port)
        with closing(http.client.HTTPConnection("127.0.0.1", port, timeout=30)) as connection:
            connection.request("GET", "/L/041")
            answer = connection.getresponse()
            page = answer.read().decode()
        cookie = (answer.getheader("Set-Cookie") or "").partition(";")[0]
        found = next(
            form for form in re.findall(r"<form.*?</form>", page, re.DOTALL) if 'value="sold"' in form
        )
        return cls(port, cookie, dict(re.findall(r'type="hidden" name="(\w+)" value="([^"]*)"', found)))

    def body(self, **more: str) -> bytes:
        """One bunch sold."""
        return urlencode({**self.form, "n": "1", **more}).encode()

    def head(self, *lines: str) -> bytes:
        """The head of a post of that form."""
        own = (f"Host: 127.0.0.1:{self.port}", f"Cookie: {self.cookie}", f"Content-Type: {FORM}", *lines)
        return "\r\n".join(("POST /enter HTTP/1.1", *own, "", "")).encode()

    def tap(self, **more: str) -> int:
        """Send it; returns the status."""
        with closing(http.client.HTTPConnection("127.0.0.1", self.port, timeout=30)) as connection:
            connection.request(
                "POST", "/enter", self.body(**more), {"Cookie": self.cookie, "Content-Type": FORM}
            )
            answer = connection.getresponse()
            answer.read()
            return answer.status

    def raw(self, sent: bytes) -> bytes:
        """All that is answered to some bytes."""
        with (
            socket.create_connection(("127.0.0.1", self.port), timeout=30) as peer,
            suppress(ConnectionError),
        ):
            peer.sendall(sent)
            with suppress(OSError):  # it was hung up on already
                peer.shutdown(socket.SHUT_WR)
            return b"".join(iter(lambda: peer.recv(4096), b""))
        return b""


@pytest.fixture
def sheet(tmp_path: Path) -> Path:
    """A season of one lot."""
    return write_season(tmp_path, row("041"), settings=SETTINGS)


@pytest.fixture
def served(sheet: Path) -> Iterator[Listener]:
    """It, behind an open port."""
    with opened(sheet) as (listener, _):
        yield listener


def kept(sheet: Path) -> list[str]:
    """Ids of all that was taken down."""
    return [entry.id for entry in entries(sheet)]


@pytest.mark.parametrize("addresses", [3, 8], ids=["some connections are left", "none is left"])
def test_drips_from_several_addresses_do_not_keep_taps_out(sheet: Path, addresses: int) -> None:
    """Each address has its share; where all of them take every connection, they are hung up on in time."""
    with opened(sheet, bounds=QUICK) as (listener, _), ExitStack() as drips:
        phone, place = Phone.at(listener), ("127.0.0.1", int(listener.effective_port))
        begun = phone.head("Content-Length: 4000") + b"token="
        slow = [
            drips.enter_context(socket.create_connection(place, 10, source_address=(f"127.0.0.{n + 2}", 0)))
            for n in range(addresses)
            for _ in range(QUICK.per_address)
        ]
        ended = threading.Event()

        def drip() -> None:
            while not ended.wait(0.1):
                for peer in slow:
                    with suppress(OSError):
                        peer.sendall(begun[:1])

        for peer in slow:
            with suppress(OSError):
                peer.sendall(begun)
        dripping = threading.Thread(target=drip)
        dripping.start()
        try:
            began = time.monotonic()
            assert phone.tap() == 303
            assert time.monotonic() - began < 10  # a busy machine's; the bounds are a second
        finally:
            ended.set()
            dripping.join()
        assert kept(sheet) == [phone.form["id"]]


def test_two_lengths_are_no_request(sheet: Path, served: Listener) -> None:
    """Content-Length beside chunked, either first: refused, hung up on, and nothing behind it is done."""
    phone = Phone.at(served)
    body = phone.body()
    chunked = b"%x\r\n%s\r\n0\r\n\r\n" % (len(body), body)
    behind = phone.head(f"Content-Length: {len(body)}") + body
    for lines in (
        ("Content-Length: 4", "Transfer-Encoding: chunked"),
        ("Transfer-Encoding: chunked", f"Content-Length: {len(body)}"),
        ("Content-Length: 0", "transfer-encoding: Chunked"),
    ):
        answer = phone.raw(phone.head(*lines) + chunked + behind)
        assert answer.startswith(b"HTTP/1.1 400 ")
        assert answer.count(b"HTTP/1.1 ") == 1
    twice = phone.head(f"Content-Length: {len(body)}", "Content-Length: 4")
    for head in (twice, phone.head("Content-Length: +4")):
        assert phone.raw(head + body + behind).startswith(b"HTTP/1.1 400 ")
    assert kept(sheet) == []
    assert phone.tap() == 303


def test_a_tap_in_chunks_is_a_tap(sheet: Path, served: Listener) -> None:
    """Chunked alone is a request like any other."""
    phone = Phone.at(served)
    body = phone.body()
    sent = phone.head("Transfer-Encoding: chunked", "Connection: close")
    answer = phone.raw(sent + b"%x\r\n%s\r\n0\r\n\r\n" % (len(body), body))
    assert answer.startswith(b"HTTP/1.1 303 ")
    assert kept(sheet) == [phone.form["id"]]


@pytest.mark.parametrize("size", [17_000, 1_000_000])
def test_a_note_of_a_megabyte_is_refused_while_it_comes_in(sheet: Path, served: Listener, size: int) -> None:
    """Announced or in chunks; the next tap is taken."""
    phone = Phone.at(served)
    body = phone.body(kind="note", text="x" * size)
    answer = phone.raw(phone.head(f"Content-Length: {len(body)}", "Connection: close") + body)
    assert answer == b"" or answer.startswith(b"HTTP/1.1 413 ")
    pieces = b"".join(b"1000\r\n" + body[n : n + 4096].ljust(4096) + b"\r\n" for n in range(0, size, 4096))
    answer = phone.raw(phone.head("Transfer-Encoding: chunked", "Connection: close") + pieces + b"0\r\n\r\n")
    assert answer == b"" or answer.startswith(b"HTTP/1.1 413 ")
    assert kept(sheet) == []
    assert phone.tap() == 303


def test_a_forged_phone_records_nothing(sheet: Path) -> None:
    """Signed with a guessed key, changed, or another server's: not even with a paired phone's form."""
    lan, other = Served(sheet, code=CODE), Served(sheet, code=CODE)
    pair(lan.client)
    pair(other.client)
    data = {**fields(lan.client), "n": "1"}
    ours, theirs = (served.client.get_cookie("bench") for served in (lan, other))
    assert ours is not None
    assert theirs is not None
    (phone,) = lan.phones.all()
    guessed = str(URLSafeTimedSerializer("guess", salt="visit").dumps([phone.id, True]))
    for cookie in (guessed, ours.value[:-4] + "AAAA", theirs.value, "", "x" * 3000):
        stranger = lan.app.test_client()
        stranger.set_cookie("bench", cookie)
        assert stranger.post("/enter", data=data).status_code == 403
    assert kept(sheet) == []
    assert lan.client.post("/enter", data=data).status_code == 303


def test_what_a_removed_phone_entered_stays_and_nothing_comes_to_it(sheet: Path) -> None:
    """Its page, its form and what it kept in a queue are worth nothing any more; another phone goes on."""
    lan = Served(sheet, code=CODE)
    pair(lan.client)
    first, queued = fields(lan.client), fields(lan.client)
    assert lan.client.post("/enter", data={**first, "n": "1"}).status_code == 303
    lan.phones.remove(lan.phones.all()[0].id)
    for more in ({}, {"age": "60"}, {"kind": "undo", "entry": "1"}):
        assert lan.client.post("/enter", data={**queued, "n": "1", **more}).status_code == 403
    assert kept(sheet) == [first["id"]]
    ben = lan.app.test_client()
    pair(ben, name="Ben")
    assert ben.post("/enter", data={**fields(ben), "n": "1"}).status_code == 303
    assert [entry.device for entry in entries(sheet)] == ["Ada", "Ben"]
