"""The open port: oversized, slow, greedy and misdirected requests, and what the terminal shows."""

from __future__ import annotations

import http.client
import socket
import time
from collections.abc import Iterator
from contextlib import ExitStack
from pathlib import Path

import numpy as np
import pytest
import zxingcpp
from click.testing import CliRunner

from tagmaker.cli import main
from tagmaker.errors import OutputProblem, UsageProblem
from tagmaker.record import open_record
from tagmaker.scan.address import checked_lan, leads_here, own_hosts, terminal_code
from tagmaker.scan.listener import Bounds, Listener
from tagmaker.serving import serve
from tests.served import NOW, PASSCODE, SETTINGS, folder_of, opened, row, write_season

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


def get(listener: Listener, path: str = "/L/041", **headers: str) -> tuple[int, str]:
    """Status and text of an answer."""
    connection = http.client.HTTPConnection("127.0.0.1", int(listener.effective_port), timeout=20)
    try:
        connection.request("GET", path, headers=headers)
        answer = connection.getresponse()
        return answer.status, answer.read().decode()
    finally:
        connection.close()


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


def test_drips_do_not_keep_others_out(sheet: Path) -> None:
    """Clients that send a byte now and then are hung up on, and somebody else gets the page."""
    with opened(sheet, bounds=QUICK) as (listener, _), ExitStack() as drips:
        place = ("127.0.0.1", int(listener.effective_port))
        slow = [drips.enter_context(socket.create_connection(place, timeout=10)) for _ in range(10)]
        for peer in slow:
            peer.sendall(b"GET / HTTP/1.1\r\nX: ")
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


def test_two_servers_on_one_folder(sheet: Path) -> None:
    """Both show it and neither prints by being opened; a taken port is said and not shared."""
    with opened(sheet) as (one, _), opened(sheet) as (other, _):
        assert (get(one)[0], get(other)[0]) == (200, 200)
        with pytest.raises(OutputProblem, match="--port"):
            serve(folder_of(sheet, []), int(one.effective_port), lan=False)
    assert open_record(sheet, NOW, create=False)[0].lines("wraps") == ()


def test_the_passcode_stands_in_the_terminal_alone(sheet: Path) -> None:
    """With the address, a code to open it and the link; the code holds the address and nothing else."""
    with opened(sheet, passcode=PASSCODE) as (listener, told):
        get(listener)
        address = f"http://127.0.0.1:{listener.effective_port}/"
    assert [line for line in told if PASSCODE in line] == [f"passcode of the bench: {PASSCODE}"]
    assert any(f'link = "{address.upper()}L/{{lot}}"' in line for line in told)
    assert terminal_code(address.upper()) in told


def test_the_terminal_s_code_reads_back() -> None:
    """Half blocks, light on dark, are dots of a code."""
    dots = {" ": (0, 0), "▀": (1, 0), "▄": (0, 1), "█": (1, 1), "\xa0": (0, 0)}
    lines = terminal_code("HTTP://192.168.1.5:8008/").splitlines()
    width = max(map(len, lines))
    rows = [[dots[letter][half] for letter in line.ljust(width)] for line in lines for half in (0, 1)]
    image = (
        np.kron(np.pad(np.array(rows, dtype=np.uint8), 2, constant_values=1), np.ones((6, 6), np.uint8)) * 255
    )
    assert [code.text for code in zxingcpp.read_barcodes(image)] == ["HTTP://192.168.1.5:8008/"]


def test_a_link_that_leads_elsewhere_is_said(tmp_path: Path) -> None:
    """Tags that are printed now would open something else than these pages."""
    settings = SETTINGS + 'link = "HTTPS://FLOWERS.EXAMPLE/L/{lot}"\n'
    with opened(write_season(tmp_path, row("041"), settings=settings)) as (_, told):
        assert any("leads elsewhere" in line for line in told)


def test_only_our_own_link_leads_here() -> None:
    """Host, port and path must be ours, in any case of the host."""
    hosts = own_hosts("192.168.1.5", 8008)
    assert leads_here("HTTP://192.168.1.5:8008/L/{lot}", hosts)
    wrong = (
        "http://192.168.1.5/L/{lot}",
        "https://192.168.1.5:8008/L/{lot}",
        "http://192.168.1.5:8008/X/{lot}",
    )
    assert [link for link in wrong if leads_here(link, hosts)] == []


@pytest.mark.parametrize("address", ["8.8.8.8", "0.0.0.0", "127.0.0.1"])
def test_lan_is_never_the_world(address: str) -> None:
    """An address that all the world can reach, or none at all, is refused."""
    with pytest.raises(UsageProblem):
        checked_lan(address)


def test_a_broken_sheet_at_the_start_is_exit_code_1(sheet: Path) -> None:
    """There is no good state yet to show."""
    sheet.write_text("", encoding="utf-8")
    assert CliRunner().invoke(main, ["serve", str(sheet), "--port", "0"]).exit_code == 1
