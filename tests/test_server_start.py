"""Starting the server: which address is opened, what the terminal shows, and two of them on one folder."""

from __future__ import annotations

import http.client
import re
import signal
import socket
import subprocess
import sys
import threading
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from urllib.parse import urlencode

import numpy as np
import pytest
import zxingcpp
from click.testing import CliRunner

from tagmaker.cli import main
from tagmaker.desk import serving
from tagmaker.desk.serving import serve
from tagmaker.errors import OutputProblem, UsageProblem
from tagmaker.record.printings import open_record
from tagmaker.scan.address import checked_lan, leads_here, own_hosts, terminal_code
from tagmaker.scan.listener import Listener
from tests.served import CODE, NOW, SETTINGS, fields, folder_of, get, opened, row, write_season

pytestmark = pytest.mark.slow


@pytest.fixture
def sheet(tmp_path: Path) -> Path:
    """A season of one lot."""
    return write_season(tmp_path, row("041"))


@pytest.fixture
def served(sheet: Path) -> Iterator[tuple[Listener, list[str]]]:
    """It, behind an open port."""
    with opened(sheet) as pair:
        yield pair


def test_the_code_stands_in_the_terminal_alone(sheet: Path) -> None:
    """With the address, a code to open it and the link; the code holds the address and nothing else."""
    with opened(sheet, code=CODE) as (listener, told):
        get(listener)
        address = f"http://127.0.0.1:{listener.effective_port}/"
    assert [line for line in told if CODE in line] == [f"code to pair a phone, once: {CODE}"]
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


def test_without_lan_only_this_machine_is_let_in(served: tuple[Listener, list[str]]) -> None:
    """The port is open on the loopback alone, and no phone is paired there."""
    listener, told = served
    assert listener.socket.getsockname()[0] == "127.0.0.1"
    assert [line for line in told if "code to pair" in line] == []
    assert "Lots, newest first" in get(listener, "/bench")[1]


def test_lan_opens_the_network_s_address_alone(
    sheet: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Not every address of the machine; the terminal shows it, and a code of eight digits."""
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path / "config"))
    monkeypatch.setattr(serving, "lan_address", lambda: "127.0.0.2")  # stands for the network's
    told: list[str] = []
    listener = serve(folder_of(sheet, told), 0, lan=True)
    try:
        assert listener.socket.getsockname()[0] == "127.0.0.2"
        assert told[0].startswith(f"pages: http://127.0.0.2:{listener.effective_port}/  bench: ")
        assert re.fullmatch(r"code to pair a phone, once: \d{4} \d{4}", told[1])
        assert f'link = "HTTP://127.0.0.2:{listener.effective_port}/L/{{lot}}"' in told[2]
    finally:
        listener.task_dispatcher.shutdown()
        listener.close()


@pytest.mark.parametrize(
    ("link", "codes_too"), [("", True), ('link = "HTTP://{name}:{port}/L/{{lot}}"\n', False)]
)
def test_an_address_that_has_changed_is_said_once(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, link: str, codes_too: bool
) -> None:
    """Paired phones and printed codes look for the old one; codes with a name find it all the same."""
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path / "config"))
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    name = own_hosts("127.0.0.2", port)[1].partition(":")[0]
    sheet = write_season(tmp_path, row("041"), settings=SETTINGS + link.format(name=name, port=port))
    said = []
    for address in ("127.0.0.2", "127.0.0.2", "127.0.0.3", "127.0.0.3"):
        told: list[str] = []
        monkeypatch.setattr(serving, "lan_address", lambda address=address: address)
        listener = serve(folder_of(sheet, told), port, lan=True)
        listener.task_dispatcher.shutdown()
        listener.close()
        said.append([line for line in told if "has changed" in line])
    assert [len(lines) for lines in said] == [0, 0, 1, 0]
    (line,) = said[2]
    assert line.startswith(
        "this computer's address has changed from 127.0.0.2 to 127.0.0.3. Phones that were "
    )
    assert ("codes with the old address lead nowhere: print them again" in line) == codes_too


@pytest.mark.parametrize("address", ["8.8.8.8", "0.0.0.0", "127.0.0.1"])
def test_lan_is_never_the_world(address: str) -> None:
    """An address that all the world can reach, or none at all, is refused."""
    with pytest.raises(UsageProblem):
        checked_lan(address)


def test_a_broken_sheet_at_the_start_is_exit_code_1(sheet: Path) -> None:
    """There is no good state yet to show."""
    sheet.write_text("", encoding="utf-8")
    assert CliRunner().invoke(main, ["serve", str(sheet), "--port", "0"]).exit_code == 1


def test_two_servers_on_one_folder(sheet: Path) -> None:
    """Both show it and neither prints by being opened; a taken port is said and not shared."""
    with opened(sheet) as (one, _), opened(sheet) as (other, _):
        assert (get(one)[0], get(other)[0]) == (200, 200)
        with pytest.raises(OutputProblem, match="--port"):
            serve(folder_of(sheet, []), int(one.effective_port), lan=False)
    assert open_record(sheet, NOW, create=False)[0].known.lines("wraps") == ()


@contextmanager
def started(sheet: Path) -> Iterator[int]:
    """The command in a process of its own, and its port; Ctrl+C ends it."""
    command = [
        sys.executable,
        "-m",
        "tagmaker",
        "serve",
        str(sheet),
        "--port",
        "0",
        "--today",
        f"{NOW:%FT%R}",
        "--no-browser",
    ]
    with subprocess.Popen(command, stderr=subprocess.PIPE, text=True) as process:
        try:
            assert process.stderr is not None
            where = process.stderr.readline()
            found = re.match(r"pages: http://127\.0\.0\.1:(\d+)/  bench: ", where)
            assert found, where
            yield int(found[1])
        finally:
            process.send_signal(signal.SIGINT)
            try:
                said = process.communicate(timeout=20)[1]
            except subprocess.TimeoutExpired:
                process.kill()
                raise
        assert "Traceback" not in said
        assert (process.returncode, " 500 " in said) == (0, False)


def print_over(port: int, lots: Sequence[str], answers: list[int]) -> None:
    """Print the labels of some lots from the bench of a port."""
    connection = http.client.HTTPConnection("127.0.0.1", port, timeout=60)
    connection.request("GET", "/bench")
    answer = connection.getresponse()
    headers = {"Cookie": (answer.getheader("Set-Cookie") or "").partition(";")[0]}
    headers["Content-Type"] = "application/x-www-form-urlencoded"
    page = answer.read().decode()
    for lot in lots:
        status = 0
        while status in (0, 409):  # printed on meanwhile: the page that comes back says where to go on
            form = urlencode({**fields(page), "paper": "wraps", "lot": lot})
            connection.request("POST", "/bench/print", form, headers)
            answer = connection.getresponse()
            status, body = answer.status, answer.read()
            page = body.decode() if status == 409 else page
        answers.append(status)
    connection.close()


def test_two_servers_print_at_the_same_time(tmp_path: Path) -> None:
    """The command, twice on one folder: neither fails, and every label is in the record once."""
    lots = [f"{lot:03}" for lot in range(41, 53)]
    sheet = write_season(tmp_path, *(row(lot) for lot in lots))
    answers: list[int] = []
    with started(sheet) as one, started(sheet) as other:
        shares = ((one, lots[::2]), (other, lots[1::2]))
        printers = [threading.Thread(target=print_over, args=(*share, answers)) for share in shares]
        for printer in printers:
            printer.start()
        for printer in printers:
            printer.join()
    assert answers == [200] * 12
    lines = open_record(sheet, NOW, create=False)[0].known.lines("wraps")
    assert sorted((line.lot_code, line.count) for line in lines) == [(lot, 12) for lot in lots]
