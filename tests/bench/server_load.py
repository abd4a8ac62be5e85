"""How the live pages hold under load: 400 lots, 50 requests in flight, beside a bare Flask "hello".

Run it by hand, from the repository: `python -m tests.bench.server_load [seconds]`. Servers run in
processes of their own on the loopback; the hello is served by the same waitress with the same bounds.
"""

from __future__ import annotations

import http.client
import multiprocessing
import re
import sys
import tempfile
import threading
import time
from collections.abc import Callable
from multiprocessing.connection import Connection
from pathlib import Path
from urllib.parse import urlencode

from flask import Flask

from tagmaker.scan.listener import AccessLog, Bounds, Listener
from tagmaker.serving import serve
from tests.served import NOW, folder_of, row, write_season

LOTS = 400
IN_FLIGHT = 50
SECONDS = 30
WARM_S = 2  # [s] of load before memory is read for the first time


def tell(line: str) -> None:
    """A line of the result."""
    sys.stdout.write(line + "\n")


def _pages(folder: str, ready: Connection) -> None:
    sheet = write_season(Path(folder), *(row(f"{lot:03}", stems=1200) for lot in range(1, LOTS + 1)))
    told: list[str] = []
    listener = serve(folder_of(sheet, told), 0, lan=False)
    told.clear()
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


def _memory_mib(process: multiprocessing.process.BaseProcess) -> float:
    """Resident memory of a process [MiB], where the system tells it."""
    status = Path(f"/proc/{process.pid}/status")
    found = re.search(r"VmRSS:\s+(\d+)", status.read_text()) if status.exists() else None
    return int(found[1]) / 1024 if found else float("nan")


def _fire(port: int, until: float, took: list[float], faults: list[str], offset: int) -> None:
    """Ask for one page after the other; each thread keeps its connection."""
    connection = http.client.HTTPConnection("127.0.0.1", port, timeout=60)
    lot = offset
    while time.monotonic() < until:
        lot = lot % LOTS + 1
        began = time.monotonic()
        try:
            connection.request("GET", f"/L/{lot:03}")
            answer = connection.getresponse()
            answer.read()
            if answer.status != 200:
                faults.append(str(answer.status))
        except (OSError, http.client.HTTPException) as error:
            faults.append(repr(error))
            connection.close()
        took.append(time.monotonic() - began)


def _load(port: int, seconds: float) -> tuple[list[float], list[str]]:
    took: list[float] = []
    faults: list[str] = []
    until = time.monotonic() + seconds
    threads = [
        threading.Thread(target=_fire, args=(port, until, took, faults, n * 8)) for n in range(IN_FLIGHT)
    ]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    return took, faults


def _bench_pdf(port: int) -> tuple[int, int, float]:
    """Status, size and seconds of 120 labels from the bench."""
    connection = http.client.HTTPConnection("127.0.0.1", port, timeout=120)
    connection.request("GET", "/bench")
    answer = connection.getresponse()
    cookie = (answer.getheader("Set-Cookie") or "").partition(";")[0]
    (token, *_) = re.findall(r'name="token" value="(\w+)"', answer.read().decode())
    form = urlencode({"token": token, "paper": "wraps", "lot": "001", "tags": "120"})
    began = time.monotonic()
    headers = {"Cookie": cookie, "Content-Type": "application/x-www-form-urlencoded"}
    connection.request("POST", "/bench/print", form, headers)
    answer = connection.getresponse()
    return answer.status, len(answer.read()), time.monotonic() - began


def _measure(name: str, target: Callable[[str, Connection], None], seconds: float) -> float:
    """Run one server under load and print its figures; returns the requests per second."""
    ours, theirs = multiprocessing.Pipe()
    with tempfile.TemporaryDirectory() as folder:
        process = multiprocessing.Process(target=target, args=(folder, theirs), daemon=True)
        process.start()
        try:
            port = int(ours.recv())
            _load(port, WARM_S)
            before = _memory_mib(process)
            pdf: list[tuple[int, int, float]] = []
            printer = threading.Thread(target=lambda: pdf.append(_bench_pdf(port)))
            if target is _pages:
                printer.start()
            took, faults = _load(port, seconds)
            if target is _pages:
                printer.join()
            after = _memory_mib(process)
        finally:
            process.kill()
            process.join()
    took.sort()
    rate = len(took) / seconds
    tell(f"{name}: {len(took)} requests, {len(faults)} faults {faults[:3]}, {rate:.0f}/s")
    tell(f"  median {took[len(took) // 2] * 1000:.0f} ms, slowest {took[-1] * 1000:.0f} ms")
    tell(f"  memory {before:.0f} -> {after:.0f} MiB")
    for status, size, seconds_taken in pdf:
        tell(f"  120 labels meanwhile: {status}, {size} bytes, {seconds_taken:.1f} s")
    return rate


def main() -> None:
    """Both servers, one after the other."""
    seconds = float(sys.argv[1]) if len(sys.argv) > 1 else SECONDS
    pages = _measure(f"lot pages of {LOTS} lots", _pages, seconds)
    hello = _measure("bare hello", _hello, seconds)
    tell(f"a bare hello is {hello / pages:.1f} times as fast")


if __name__ == "__main__":
    main()
