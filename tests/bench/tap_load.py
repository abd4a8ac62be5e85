"""How taps are borne: 400 lots, 10,000 entries, ten phones that tap every three seconds.

Run it by hand: `python -m tests.bench.server_load taps [seconds]`, or `taps memory` for 20,000 taps as fast
as they go and the memory after every 4,000. Each is measured until its lot's page says what was saved.
"""

from __future__ import annotations

import http.client
import random
import re
import sqlite3
import threading
import time
from contextlib import closing
from dataclasses import dataclass, field, replace
from datetime import timedelta
from pathlib import Path
from urllib.parse import urlencode

from tagmaker.desk.computer import this_computer
from tagmaker.record.journal.beside import journal_path
from tagmaker.record.journal.entries import Entry, Kind, utc_of
from tagmaker.record.journal.file import append, read_book
from tagmaker.record.journal.tables import FIELDS, row_of
from tests.served import NOW

ENTRIES = 10_000
PHONES = 10
EVERY_S = 3.0  # [s] between two taps of a phone
LOTS = 400


def fill(sheet: Path, entries: int = ENTRIES) -> None:
    """A journal of so many entries of the last day, written as a season of taps would have left it."""
    path, computer, chance = journal_path(sheet), this_computer(create=True), random.Random(1)
    append(path, _entry(0, chance), computer, name="K7")
    lines = [row_of(replace(_entry(n, chance), number=n)) for n in range(2, entries + 1)]
    with closing(sqlite3.connect(path)) as file:
        file.executemany(f"INSERT INTO entries ({FIELDS}) VALUES ({', '.join('?' * 14)})", lines)
        file.commit()


def _entry(n: int, chance: random.Random) -> Entry:
    moment = NOW - timedelta(hours=20) + timedelta(seconds=n * 5)
    kind, stems = chance.choice([(Kind.SOLD, 10), (Kind.SOLD, 20), (Kind.COUNT, 600), (Kind.NOTE, None)])
    utc = utc_of(moment, None)
    return Entry(
        id=f"season-{n}",
        happened=moment,
        happened_utc=utc,
        recorded=moment,
        recorded_utc=utc,
        lot=f"{chance.randrange(1, LOTS + 1):03}",
        kind=kind,
        stems=stems,
        details={"text": "by the door"} if kind is Kind.NOTE else {},
    )


@dataclass
class Phones:
    """Ten phones at the crates."""

    port: int
    took: list[float] = field(default_factory=list)  # [s] from the tap to its right page
    saved: list[str] = field(default_factory=list)  # ids that were answered as saved
    faults: list[str] = field(default_factory=list)

    def run(self, *, seconds: float = 3600.0, taps: int = 10**9, every_s: float = EVERY_S) -> None:
        """Tap for so long, or so often."""
        threads = [
            threading.Thread(target=self._tap, args=(n, time.monotonic() + seconds, taps // PHONES, every_s))
            for n in range(PHONES)
        ]
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join()

    def _tap(self, phone: int, until: float, taps: int, every_s: float) -> None:
        time.sleep(every_s * phone / PHONES)
        connection = http.client.HTTPConnection("127.0.0.1", self.port, timeout=60)
        cookie, token = _known(connection)
        headers = {"Cookie": cookie, "Content-Type": "application/x-www-form-urlencoded"}
        for n in range(taps):
            if time.monotonic() > until:
                break
            began, lot = time.monotonic(), f"{(phone + n * PHONES) % LOTS + 1:03}"
            told = f"load-{phone}-{n:06}-{random.randrange(10**9):09}"
            sold = {"token": token, "id": told, "lot": lot, "kind": "sold", "many": "1", "unit": "stems"}
            try:
                connection.request("POST", "/enter", urlencode(sold), headers)
                answer = connection.getresponse()
                answer.read()
                connection.request("GET", answer.getheader("Location") or "/", headers={"Cookie": cookie})
                page = connection.getresponse().read().decode()
            except (OSError, http.client.HTTPException) as error:
                self.faults.append(repr(error))
                connection.close()
                continue
            if answer.status == 303 and "Sold 1 stem" in page:
                self.saved.append(told)
                self.took.append(time.monotonic() - began)
            else:
                self.faults.append(f"{answer.status} {lot}")
            time.sleep(max(0.0, began + every_s - time.monotonic()))
        connection.close()


def _known(connection: http.client.HTTPConnection) -> tuple[str, str]:
    """Cookie and token of a browser."""
    connection.request("GET", "/L/001")
    answer = connection.getresponse()
    page = answer.read().decode()
    return (answer.getheader("Set-Cookie") or "").partition(";")[0], re.findall(
        r'name="token" value="(\w+)"', page
    )[0]


def said(phones: Phones, sheet: Path) -> list[str]:
    """What came of it, in lines."""
    kept = {entry.id for entry in read_book(journal_path(sheet)).entries}
    ordered = sorted(phones.took) or [float("nan")]
    share = ordered[min(int(len(ordered) * 0.95), len(ordered) - 1)]
    times = f"median {ordered[len(ordered) // 2] * 1000:.0f} ms, 95 of 100 within {share * 1000:.0f} ms"
    return [
        f"{len(phones.took)} taps: {times}, slowest {ordered[-1] * 1000:.0f} ms",
        f"answered as saved and not in the journal: {len(set(phones.saved) - kept)}",
        f"faults: {phones.faults[:3] or 'none'}",
    ]
