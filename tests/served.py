"""Small season folders that are served, with or without an open port."""

from __future__ import annotations

import http.client
import re
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import datetime
from pathlib import Path

from flask.testing import FlaskClient
from werkzeug.test import TestResponse

from tagmaker.desk.season import Day
from tagmaker.desk.serving import Folder, open_pages, serve
from tagmaker.record.printings import open_record
from tagmaker.record.rows import Known
from tagmaker.scan.counter import Counter
from tagmaker.scan.door import Door
from tagmaker.scan.listener import Bounds, Listener
from tagmaker.scan.live import LOOK_EVERY_S, Live
from tagmaker.scan.pairing import PairingCode, Phones
from tagmaker.scan.server import make_app

NOW = datetime(2027, 3, 23, 8)
HEADER = "lot,crop,variety,form,cut,stage,stems,place,note"
CODE = "1234 5678"
SETTLED_S = 20.0  # [s] for what is on its way
SETTINGS = 'units = "F"\nfarm = "Larkmarrow Yard"\n'


def row(lot: str, variety: str = "Pale Harbour", *, stems: int = 120, cut: str = "2027-03-22T09:00") -> str:
    """A sound row."""
    return f"{lot},tulip,{variety},single,{cut},tight,{stems},,"


def write_season(folder: Path, *rows: str, settings: str = SETTINGS) -> Path:
    """A season folder; returns the sheet."""
    (folder / "tagmaker.toml").write_text(settings, encoding="utf-8")
    sheet = folder / "lots.csv"
    sheet.write_text("\n".join([HEADER, *rows]) + "\n", encoding="utf-8")
    return sheet


def folder_of(sheet: Path, told: list[str], now: datetime = NOW) -> Folder:
    """The folder of a sheet, dated as of a Tuesday in March."""
    return Folder(
        sheet=sheet, today=Day(now.date(), now), templates=None, wall=lambda _: now, tell=told.append
    )


@dataclass
class Served:
    """A folder behind the application, with a clock that the test moves."""

    sheet: Path
    code: str | None = None
    phones: Phones = field(default_factory=Phones)
    own: tuple[str, ...] = ()  # addresses of this computer; the test's browser is a phone
    seconds: float = 0.0
    told: list[str] = field(default_factory=list)
    meanwhile: list[Callable[[], object]] = field(default_factory=list)  # happens while files are to settle

    def __post_init__(self) -> None:
        reader = folder_of(self.sheet, self.told).reader()
        self.live = Live(reader.load, reader.stamp, lambda: self.seconds, self._pause)
        code = None if self.code is None else PairingCode(self.code, lambda: self.seconds, self.told.append)
        self.door = Door(self.live, code, lambda: "bench", self.phones, self.own)
        self.counter = Counter(self.live, self.door)
        self.app = make_app(self.live, self.door, self.counter, self.told.append)
        self.client = self.app.test_client()

    def _pause(self, _: float) -> None:
        if self.meanwhile:
            self.meanwhile.pop(0)()

    def later(self) -> None:
        """Let so much time pass that the files are looked at again."""
        self.seconds += LOOK_EVERY_S

    def text(self, address: str) -> str:
        """A page."""
        return self.client.get(address).get_data(as_text=True)


def token(client: FlaskClient) -> str:
    """The token of the form that the bench shows."""
    found = re.search(r'name="token" value="(\w+)"', client.get("/bench").get_data(as_text=True))
    assert found is not None
    return found[1]


def pair(client: FlaskClient, code: str = CODE, name: str = "Ada", back: str = "/bench") -> TestResponse:
    """Say the code."""
    return client.post("/pair", data={"token": token(client), "code": code, "name": name, "back": back})


def fields(page: str) -> dict[str, str]:
    """What the first form of a bench page that prints sends of itself; of the page that pairs its token."""
    names = ("token", "form", "free", "first")
    part = page[max(page.find('action="/bench/print"'), 0) :]
    found = {name: re.findall(rf'name="{name}"[^>]* value="([^"]*)"', part) for name in names}
    return {name: values[0] for name, values in found.items() if values}


def form(client: FlaskClient, address: str = "/bench") -> dict[str, str]:
    """The same of a page that is asked for now, without the label to begin with."""
    found = fields(client.get(address).get_data(as_text=True))
    return {name: text for name, text in found.items() if name != "first"}


def print_wraps(client: FlaskClient, lot: str = "041", **more: str) -> TestResponse:
    """Ask for wrap labels of a lot from the first free one on, and take the whole answer."""
    shown = fields(client.get("/bench").get_data(as_text=True))
    answer = client.post("/bench/print", data={**shown, "paper": "wraps", "lot": lot, **more})
    answer.get_data()
    return answer


def settled(sheet: Path) -> Known:
    """What the record knows once nothing is on its way any more."""
    end = time.monotonic() + SETTLED_S
    while True:
        known = open_record(sheet, NOW, create=False)[0].known
        if not known.on_its_way:
            return known
        assert time.monotonic() < end, "something is still on its way"
        time.sleep(0.05)


@contextmanager
def opened(
    sheet: Path, *, code: str | None = None, bounds: Bounds | None = None, port: int = 0, now: datetime = NOW
) -> Iterator[tuple[Listener, list[str]]]:
    """A folder behind an open port of this machine, and what the terminal shows."""
    told: list[str] = []
    folder = folder_of(sheet, told, now)
    if code is None:
        listener = serve(folder, port, lan=False, bounds=bounds)
    else:
        listener = open_pages(folder, folder.live(), "127.0.0.1", 0, code, bounds or Bounds())
    running = threading.Thread(target=listener.run, daemon=True)
    running.start()
    try:
        yield listener, told
    finally:
        listener.stop()
        running.join(timeout=10)
        assert not running.is_alive()


def get(listener: Listener, path: str = "/L/041", **headers: str) -> tuple[int, str]:
    """Status and text of an answer."""
    connection = http.client.HTTPConnection("127.0.0.1", int(listener.effective_port), timeout=20)
    try:
        connection.request("GET", path, headers=headers)
        answer = connection.getresponse()
        return answer.status, answer.read().decode()
    finally:
        connection.close()
