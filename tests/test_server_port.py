"""The open port: oversized, slow, greedy and misdirected requests."""

from __future__ import annotations

import re
import socket
import time
from collections.abc import Callable, Iterator
from contextlib import ExitStack, suppress
from pathlib import Path

import pytest

from tagmaker.scan.guards import SECURITY
from tagmaker.scan.listener import HEAD_BYTES, MOST_AHEAD, Bounds, Listener
from tests.served import get, opened, row, write_season

pytestmark = pytest.mark.slow

QUICK = Bounds(connections=12, per_address=10, idle_s=1.0, slow_s=1.0, look_s=0.2)


@pytest.fixture
def sheet(tmp_path: Path) -> Path:
    """A season of one lot."""
    return write_season(tmp_path, row("041"))


@pytest.fixture
def served(sheet: Path) -> Iterator[tuple[Listener, list[str]]]:
    """It, behind an open port."""
    with opened(sheet) as pair:
        yield pair


def whole(listener: Listener, request: bytes) -> bytes:
    """All of the answer to some bytes, until the connection is closed."""
    with socket.create_connection(("127.0.0.1", int(listener.effective_port)), timeout=20) as peer:
        peer.sendall(request)
        return b"".join(iter(lambda: peer.recv(4096), b""))


def raw(listener: Listener, request: bytes) -> bytes:
    """The first line of the answer to some bytes; empty where the connection is closed on them."""
    with socket.create_connection(("127.0.0.1", int(listener.effective_port)), timeout=20) as peer:
        try:
            peer.sendall(request)
            return peer.recv(4096).partition(b"\r\n")[0]
        except ConnectionError:
            return b""


def test_a_page_over_the_port_has_its_access_line(served: tuple[Listener, list[str]]) -> None:
    """When, who, what, the answer: one line for each request, without what follows a question mark."""
    listener, told = served
    assert get(listener, "/L/041?token=secret")[0] == 200
    line = next(line for line in told if " GET " in line)
    assert line.startswith("2027-03-23 08:00:00 127.0.0.1 GET /L/041 200 ")
    assert "secret" not in "".join(told)


def test_no_line_makes_a_terminal_obey(served: tuple[Listener, list[str]]) -> None:
    """Escapes and line ends of a path are told as question marks."""
    listener, told = served
    get(listener, "/L/%1b%5b2J%0d%0a2027-03-23")
    assert all(line.isprintable() for line in told)


def test_a_lot_code_of_a_megabyte_is_refused(served: tuple[Listener, list[str]]) -> None:
    """It is cut off while it comes in, has its line, and the next request is answered."""
    listener, told = served
    answer = raw(listener, b"GET /L/" + b"A" * 1_000_000 + b" HTTP/1.1\r\nHost: 127.0.0.1\r\n\r\n")
    assert answer == b"" or answer.split()[1] == b"431"
    assert get(listener)[0] == 200
    assert [line for line in told if "431" in line] != []


def test_a_body_of_a_megabyte_is_refused(served: tuple[Listener, list[str]]) -> None:
    """Its announced length is enough to send it away, in whatever pieces it comes."""
    host = f"Host: 127.0.0.1:{served[0].effective_port}\r\n".encode()
    head = b"POST /bench/print HTTP/1.1\r\n" + host
    assert raw(served[0], head + b"Content-Length: 1000000\r\n\r\n").split()[1] == b"413"
    pieces = b"".join(b"1000\r\n" + b"A" * 4096 + b"\r\n" for _ in range(4))
    answer = raw(served[0], head + b"Transfer-Encoding: chunked\r\n\r\n" + pieces)
    assert answer == b"" or answer.split()[1] == b"413"


@pytest.mark.parametrize(
    ("request_", "status"),
    [
        (b"GET /L/041 HTTP/1.1\r\nno header at all\r\n\r\n", 400),
        ((b"GET /L/041 HTTP/1.1\r\nX: " + b"A" * HEAD_BYTES)[:HEAD_BYTES], 431),
        (b"POST /bench/print HTTP/1.1\r\nContent-Length: 99999\r\n\r\n", 413),
        (b"POST /bench/print HTTP/1.1\r\nContent-Length: -1\r\n\r\n", 400),
        (b"POST /bench/print HTTP/1.1\r\nTransfer-Encoding: gzip\r\n\r\n", 501),
        (b"GET /L/041 HTTP/1.1\r\nHost: evil.example\r\nConnection: close\r\n\r\n", 421),
    ],
)
def test_a_refusal_carries_the_guards_and_nothing_else(
    served: tuple[Listener, list[str]], request_: bytes, status: int
) -> None:
    """What never reaches the pages is answered with the same headers, and names no program or version."""
    head, _, body = whole(served[0], request_).decode().partition("\r\n\r\n")
    first, *lines = head.split("\r\n")
    assert first.split()[1] == str(status)
    headers = dict(line.split(": ", 1) for line in lines)
    assert {name.title(): value for name, value in SECURITY.items()}.items() <= {
        name.title(): value for name, value in headers.items()
    }.items()
    assert headers["Content-Type"].startswith("text/plain")
    assert re.search("waitress|generated|python|werkzeug", head + body, re.IGNORECASE) is None
    assert len(body) < 60


def test_no_answer_names_the_program_behind_it(served: tuple[Listener, list[str]]) -> None:
    """A page has no Server header either."""
    host = f"127.0.0.1:{served[0].effective_port}".encode()
    answer = whole(served[0], b"GET /L/041 HTTP/1.1\r\nConnection: close\r\nHost: " + host + b"\r\n\r\n")
    head = answer.partition(b"\r\n\r\n")[0]
    assert head.startswith(b"HTTP/1.1 200")
    assert re.search(rb"\nServer:|\nVia:|waitress|werkzeug", head, re.IGNORECASE) is None


@pytest.mark.parametrize(
    "host", ["evil.example", "127.0.0.1.evil.example", "127.0.0.1:1", "", "127.0.0.1@evil", "[::1]"]
)
def test_only_its_own_names_are_answered(served: tuple[Listener, list[str]], host: str) -> None:
    """A foreign page cannot read the pages by giving this machine a name of its own."""
    status, text = get(served[0], Host=host)
    assert (status, "Pale Harbour" in text) == (421, False)


def test_host_header_games(served: tuple[Listener, list[str]]) -> None:
    """Two names, none, or another in the request line: never a page under a foreign name."""
    listener = served[0]
    good = f"127.0.0.1:{listener.effective_port}".encode()
    two = b"GET / HTTP/1.1\r\nHost: " + good + b"\r\nHost: evil\r\n\r\n"
    assert raw(listener, two).split()[1] in (b"400", b"421")
    assert raw(listener, b"GET / HTTP/1.0\r\n\r\n").split()[1] == b"421"
    forwarded = b"GET / HTTP/1.1\r\nHost: evil\r\nX-Forwarded-Host: " + good + b"\r\n\r\n"
    assert raw(listener, forwarded).split()[1] == b"421"


def becomes(true: Callable[[], bool], within_s: float = 15) -> bool:
    """Whether something becomes true in time."""
    until = time.monotonic() + within_s
    while not true() and time.monotonic() < until:
        time.sleep(0.05)
    return true()


def test_who_does_not_fetch_its_answers_is_hung_up_on(tmp_path: Path) -> None:
    """A client that asks for much and reads nothing loses its connection, and holds nobody up."""
    with opened(write_season(tmp_path, *(row(f"{lot:03}") for lot in range(200))), bounds=QUICK) as (
        listener,
        _,
    ):
        listener.socket.setsockopt(socket.SOL_SOCKET, socket.SO_SNDBUF, 8192)
        place = ("127.0.0.1", int(listener.effective_port))
        ask = b"GET / HTTP/1.1\r\nHost: 127.0.0.1:%d\r\n\r\n" % place[1]
        with ExitStack() as held:
            peers = [held.enter_context(socket.socket()) for _ in range(8)]
            for peer in peers:
                peer.setsockopt(socket.SOL_SOCKET, socket.SO_RCVBUF, 4096)
                peer.connect(place)
                peer.sendall(ask * MOST_AHEAD)
            assert becomes(lambda: len(listener.active_channels) == len(peers))
            held_up = list(listener.active_channels.values())
            assert becomes(lambda: all(channel.total_outbufs_len for channel in held_up))
            assert get(listener)[0] == 200
            assert becomes(lambda: not any(channel.connected for channel in held_up))


def test_who_asks_too_far_ahead_is_hung_up_on(served: tuple[Listener, list[str]]) -> None:
    """Two hundred requests in one breath would keep the server busy for one client."""
    listener, told = served
    ask = b"GET / HTTP/1.1\r\nHost: 127.0.0.1:%d\r\n\r\n" % int(listener.effective_port)
    with socket.create_connection(("127.0.0.1", int(listener.effective_port)), timeout=20) as peer:
        peer.sendall(ask * 150)
        with suppress(ConnectionError):
            while peer.recv(65536):
                pass
    assert get(listener)[0] == 200
    assert len([line for line in told if " GET / " in line]) <= MOST_AHEAD


@pytest.mark.parametrize(
    "beginning", [b"GET / HTTP/1.1\r\nX: ", b"POST /bench/print HTTP/1.1\r\nContent-Length: 4000\r\n\r\n"]
)
def test_drips_do_not_keep_others_out(sheet: Path, beginning: bytes) -> None:
    """Clients that send a byte now and then are hung up on, and somebody else gets the page."""
    with opened(sheet, bounds=QUICK) as (listener, _), ExitStack() as drips:
        place = ("127.0.0.1", int(listener.effective_port))
        slow = [drips.enter_context(socket.create_connection(place, timeout=10)) for _ in range(10)]
        for peer in slow:
            peer.sendall(beginning)
        ended, until = 0, time.monotonic() + 15
        while ended < len(slow) and time.monotonic() < until:
            time.sleep(0.2)
            for peer in slow[ended:]:
                try:
                    peer.sendall(b"x")
                except OSError:
                    ended += 1
        assert ended == len(slow)
        assert get(listener)[0] == 200


def test_one_address_does_not_take_every_connection(sheet: Path) -> None:
    """Beyond its share it is hung up on at once."""
    bounds = Bounds(connections=50, per_address=3, idle_s=30, slow_s=30)
    with opened(sheet, bounds=bounds) as (listener, _), ExitStack() as held:
        place = ("127.0.0.1", int(listener.effective_port))
        peers = [held.enter_context(socket.create_connection(place, timeout=10)) for _ in range(4)]
        assert peers[-1].recv(1) == b""
