"""How the live pages hold under load: 400 lots, 50 requests in flight, beside a bare Flask "hello".

Run it by hand, from the repository: `python -m tests.bench.server_load [seconds]`, or with `memory` for
20,000 requests and the memory after every 4,000, or with `taps`, see `tap_load`. Servers run in processes
of their own on the loopback; the hello is served by the same waitress with the same bounds.
"""

from __future__ import annotations

import http.client
import multiprocessing
import os
import re
import sys
import tempfile
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from multiprocessing.connection import Connection
from pathlib import Path
from urllib.parse import urlencode

from flask import Flask

from tagmaker.desk.serving import serve
from tagmaker.scan.listener import AccessLog, Bounds, Listener
from tests.bench.tap_load import Phones, fill, said
from tests.served import NOW, fields, folder_of, row, write_season

LOTS = 400
IN_FLIGHT = 50
SECONDS = 30.0
WARM_S = 2.0  # [s] of load before anything is measured
PDF_EVERY_S = 5.0  # [s] between two papers that are asked for under load
REQUESTS, STEP = 20_000, 4_000  # of the look at memory
CHANGES, PAPERS = 10, 120  # the same
READ_S = 5.0  # [s] in which a change settles, is read, and all lots are dated

Server = Callable[[str, Connection], None]


def tell(line: str) -> None:
    """A line of the result."""
    sys.stdout.write(line + "\n")
    sys.stdout.flush()


# --- the servers --------------------------------------------------------------------------------------------


def season(folder: Path, stems: int = 1200) -> Path:
    """A sheet of so many lots."""
    return write_season(folder, *(row(f"{lot:03}", stems=stems) for lot in range(1, LOTS + 1)))


def _pages(folder: str, ready: Connection) -> None:
    told: list[str] = []
    listener = serve(folder_of(season(Path(folder)), told), 0, lan=False)
    listener._log._tell = lambda _: None
    ready.send(int(listener.effective_port))
    listener.run()


def _hello(_: str, ready: Connection) -> None:
    app = Flask("hello", static_folder=None)
    app.add_url_rule("/L/<name>", "hello", lambda name: f"hello {name}")
    log = AccessLog(lambda _: None, lambda: NOW)
    listener = Listener(log.around(app), "127.0.0.1", 0, log, Bounds())
    ready.send(int(listener.effective_port))
    listener.run()


@dataclass
class Running:
    """A server in a process of its own."""

    port: int
    folder: Path
    process: multiprocessing.process.BaseProcess

    def memory_mib(self) -> float:
        """Its resident memory [MiB], where the system tells it."""
        status = Path(f"/proc/{self.process.pid}/status")
        found = re.search(r"VmRSS:\s+(\d+)", status.read_text()) if status.exists() else None
        return int(found[1]) / 1024 if found else float("nan")


@contextmanager
def running(server: Server) -> Iterator[Running]:
    """A server, warmed up; it is ended at the end."""
    ours, theirs = multiprocessing.Pipe()
    with tempfile.TemporaryDirectory() as folder:
        process = multiprocessing.Process(target=server, args=(folder, theirs), daemon=True)
        process.start()
        try:
            found = Running(int(ours.recv()), Path(folder), process)
            Load(found.port).run(seconds=WARM_S)
            yield found
        finally:
            process.kill()
            process.join()


# --- who asks -----------------------------------------------------------------------------------------------


@dataclass
class Load:
    """Fifty browsers that ask for one lot page after the other, each on its own connection."""

    port: int
    took: list[float] = field(default_factory=list)  # [s] of each request, in the order of the answers
    faults: list[str] = field(default_factory=list)

    def run(self, *, seconds: float = 3600.0, requests: int = sys.maxsize) -> None:
        """Ask for so long, or so often."""
        until = time.monotonic() + seconds
        share = requests // IN_FLIGHT
        threads = [threading.Thread(target=self._ask, args=(until, share, n * 8)) for n in range(IN_FLIGHT)]
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join()

    def _ask(self, until: float, requests: int, lot: int) -> None:
        connection = http.client.HTTPConnection("127.0.0.1", self.port, timeout=60)
        while requests > 0 and time.monotonic() < until:
            requests, lot = requests - 1, lot % LOTS + 1
            began = time.monotonic()
            try:
                connection.request("GET", f"/L/{lot:03}")
                answer = connection.getresponse()
                answer.read()
                if answer.status != 200:
                    self.faults.append(str(answer.status))
            except (OSError, http.client.HTTPException) as error:
                self.faults.append(repr(error))
                connection.close()
            self.took.append(time.monotonic() - began)
        connection.close()


def bench_pdf(port: int) -> tuple[int, int, float]:
    """Status, size and seconds of 120 labels from the bench."""
    connection = http.client.HTTPConnection("127.0.0.1", port, timeout=120)
    connection.request("GET", "/bench")
    answer = connection.getresponse()
    cookie = (answer.getheader("Set-Cookie") or "").partition(";")[0]
    shown = fields(answer.read().decode())
    form = urlencode({**shown, "paper": "wraps", "lot": "001", "tags": "120"})
    began = time.monotonic()
    headers = {"Cookie": cookie, "Content-Type": "application/x-www-form-urlencoded"}
    connection.request("POST", "/bench/print", form, headers)
    answer = connection.getresponse()
    size = len(answer.read())
    connection.close()
    return answer.status, size, time.monotonic() - began


def _print_now_and_then(port: int, seconds: float, papers: list[tuple[int, int, float]]) -> None:
    until = time.monotonic() + seconds
    while (began := time.monotonic()) < until:
        papers.append(bench_pdf(port))
        time.sleep(max(0.0, min(began + PDF_EVERY_S, until) - time.monotonic()))


# --- what is measured ---------------------------------------------------------------------------------------


def _tell_load(name: str, load: Load, seconds: float) -> float:
    """Say how a load was borne; returns the requests per second."""
    rate = len(load.took) / seconds
    ordered = sorted(load.took)
    blocks = [max(load.took[n : n + 1000]) for n in range(0, len(load.took) - 999, 1000)]
    tell(f"{name}: {len(load.took)} requests, {rate:.0f}/s, faults: {load.faults[:3] or 'none'}")
    tell(f"  median {ordered[len(ordered) // 2] * 1000:.0f} ms, slowest of all {ordered[-1] * 1000:.0f} ms")
    if blocks:
        middle = sorted(blocks)[len(blocks) // 2]
        tell(f"  slowest of 1,000: usually {middle * 1000:.0f} ms, at most {max(blocks) * 1000:.0f} ms")
    return rate


def speed(seconds: float) -> None:
    """Lot pages under load, with papers now and then, and the hello, one after the other."""
    with running(_pages) as server:
        papers: list[tuple[int, int, float]] = []
        printer = threading.Thread(target=_print_now_and_then, args=(server.port, seconds, papers))
        load = Load(server.port)
        printer.start()
        load.run(seconds=seconds)
        printer.join()
    pages = _tell_load(f"lot pages of {LOTS} lots", load, seconds)
    for status, size, taken in papers:
        tell(f"  120 labels meanwhile: {status}, {size} bytes, {taken:.1f} s")
    with running(_hello) as server:
        load = Load(server.port)
        load.run(seconds=seconds)
    hello = _tell_load("bare hello", load, seconds)
    tell(f"a bare hello is {hello / pages:.1f} times as fast")


def memory() -> None:
    """What the server holds after every 4,000 of 20,000 lot pages; then after readings anew and papers."""
    with running(_pages) as server:
        load = Load(server.port)

        def held(after: str) -> None:
            tell(f"{after:32} {server.memory_mib():.1f} MiB")

        held("warmed up")
        for done in range(STEP, REQUESTS + 1, STEP):
            load.run(requests=STEP)
            held(f"{done} lot pages")
        for change in range(1, CHANGES + 1):
            season(server.folder, 1200 + change)
            time.sleep(READ_S)
            if str(1200 + change) not in _page(server.port):
                load.faults.append(f"change {change} of the sheet is not shown after {READ_S} s")
        held(f"the sheet changed {CHANGES} times")
        for paper in range(1, PAPERS + 1):
            bench_pdf(server.port)
            if paper % (PAPERS // 4) == 0:
                held(f"{paper} papers of 120 labels")
        load.run(requests=REQUESTS)
        held(f"{REQUESTS} more lot pages")
        tell(f"faults: {load.faults[:3] or 'none'}")


def _taps(folder: str, ready: Connection) -> None:
    sheet = season(Path(folder))
    fill(sheet)
    listener = serve(folder_of(sheet, []), 0, lan=False)
    listener._log._tell = lambda _: None
    ready.send(int(listener.effective_port))
    listener.run()


def taps(arguments: list[str]) -> None:
    """Ten phones that tap; with `memory`, 20,000 taps as fast as they go."""
    with running(_taps) as server:
        phones = Phones(server.port)
        if arguments == ["memory"]:
            for done in range(STEP, REQUESTS + 1, STEP):
                phones.run(taps=STEP, every_s=0.0)
                tell(f"{done:6} taps: {server.memory_mib():.1f} MiB")
        else:
            phones.run(seconds=float(arguments[0]) if arguments else SECONDS)
        for line in said(phones, server.folder / "lots.csv"):
            tell(line)
        if hasattr(os, "getloadavg"):
            tell(f"load average of the last minutes: {', '.join(f'{load:.1f}' for load in os.getloadavg())}")


def _page(port: int) -> str:
    connection = http.client.HTTPConnection("127.0.0.1", port, timeout=60)
    connection.request("GET", "/L/001")
    text = connection.getresponse().read().decode()
    connection.close()
    return text


def main(arguments: list[str]) -> None:
    """One of the two."""
    if arguments[:1] == ["taps"]:
        taps(arguments[1:])
    elif arguments == ["memory"]:
        memory()
    else:
        speed(float(arguments[0]) if arguments else SECONDS)


if __name__ == "__main__":
    main(sys.argv[1:])
