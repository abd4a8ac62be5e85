"""Two commands and two phones that print at once, and what the record and the papers say of it afterwards.

`print_at_once` can be called with any number of rounds; a test does a few, `tests.bench.at_once` 200.
"""

from __future__ import annotations

import http.client
import sqlite3
import subprocess
import sys
import threading
from collections import defaultdict
from collections.abc import Sequence
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path
from urllib.parse import urlencode

import pypdfium2 as pdfium  # type: ignore[import-untyped]  # it comes without types
import zxingcpp

from tagmaker.farm import Printer
from tagmaker.paper.stock.label_stock import STOCKS
from tagmaker.record.labels import Stretch
from tagmaker.record.printings import record_path
from tests.served import NOW, fields, opened, row, settled, write_season

STOCK = STOCKS["letter-3x10"]
COMMANDS, PHONES = ("C1", "C2"), ("P1", "P2")  # each prints the lot of its name
DPI = 150
DOT = 25.4 / DPI  # [mm]

# Prints one lot again and again behind what was printed last, each into a folder of its own.
COMMAND = """
import sys
from click.testing import CliRunner
from tagmaker.cli import main

sheet, lot, out, rounds, today = sys.argv[1:]
sys.stdin.readline()  # all begin at once
for n in range(int(rounds)):
    folder = f"{out}/{lot}-{n:04}"
    options = ["--lot", lot, "--first", "next", "--today", today, "-o", folder]
    told = CliRunner().invoke(main, ["wraps", sheet, *options])
    if told.exit_code:
        sys.exit(told.output)
"""


@dataclass(frozen=True, slots=True)
class Outcome:
    """What printing at once came to."""

    printings: int  # in the record
    papers: int  # that came out
    labels: int  # of them all
    refused: int  # forms whose first label was printed on meanwhile, sent again with the new one
    twice: int  # label positions that two printings share
    elsewhere: int  # labels on a paper that do not lie where the record has them


def print_at_once(folder: Path, rounds: int) -> Outcome:
    """Let two processes and two phones print so often each, then compare record and papers."""
    sheet = write_season(folder, *(row(lot, stems=30) for lot in (*COMMANDS, *PHONES)))
    out = folder / "out"
    refused: list[int] = []
    with opened(sheet) as (listener, _):
        port = int(listener.effective_port)
        commands = [_command(sheet, lot, out, rounds) for lot in COMMANDS]
        phones = [threading.Thread(target=_phone, args=(port, lot, out, rounds, refused)) for lot in PHONES]
        for phone in phones:
            phone.start()
        for command in commands:
            _, errors = command.communicate("begin\n")
            assert command.returncode == 0, errors
        for phone in phones:
            phone.join()
    return _compared(sheet, out, sum(refused))


def _command(sheet: Path, lot: str, out: Path, rounds: int) -> subprocess.Popen[str]:
    arguments = [str(sheet), lot, str(out), str(rounds), f"{NOW:%Y-%m-%dT%H:%M}"]
    here, pipe = Path(__file__).resolve().parent.parent, subprocess.PIPE
    return subprocess.Popen(
        [sys.executable, "-c", COMMAND, *arguments], stdin=pipe, stdout=pipe, stderr=pipe, text=True, cwd=here
    )


def _phone(port: int, lot: str, out: Path, rounds: int, refused: list[int]) -> None:
    """Print one lot again and again; where the label was printed on meanwhile, from the one that is told."""
    connection = http.client.HTTPConnection("127.0.0.1", port, timeout=60)
    connection.request("GET", "/bench")
    answer = connection.getresponse()
    headers = {"Cookie": (answer.getheader("Set-Cookie") or "").partition(";")[0]}
    headers["Content-Type"] = "application/x-www-form-urlencoded"
    page = answer.read().decode()
    for n in range(rounds):
        while True:
            form = urlencode({**fields(page), "paper": "wraps", "lot": lot, "tags": "3"})
            connection.request("POST", "/bench/print", form, headers)
            answer = connection.getresponse()
            body = answer.read()
            if answer.status == 200:
                break
            assert answer.status == 409, body.decode()
            refused.append(1)
            page = body.decode()
        folder = out / f"{lot}-{n:04}"
        folder.mkdir(parents=True)
        (folder / "wrap-labels.pdf").write_bytes(body)
        connection.request("GET", "/bench", headers=headers)
        page = connection.getresponse().read().decode()
    connection.close()


def _compared(sheet: Path, out: Path, refused: int) -> Outcome:
    stretches = _stretches(sheet)
    taken: defaultdict[tuple[int, int], int] = defaultdict(int)
    for stretch in (stretch for some in stretches.values() for stretch in some):
        for position in stretch.positions:
            taken[position] += 1
    papers = sorted(out.glob("*/wrap-labels.pdf"))
    elsewhere = labels = 0
    for lot, some in stretches.items():
        drawn = [path for path in papers if path.parent.name.startswith(f"{lot}-")]
        assert len(drawn) == len(some), f"{lot}: {len(drawn)} papers, {len(some)} printings"
        for path, stretch in zip(drawn, some, strict=True):
            found = places(path.read_bytes())
            labels += len(found)
            elsewhere += len({label for _, label in stretch.positions} ^ set(found))
    return Outcome(
        printings=sum(len(some) for some in stretches.values()),
        papers=len(papers),
        labels=labels,
        refused=refused,
        twice=sum(count > 1 for count in taken.values()),
        elsewhere=elsewhere,
    )


def _stretches(sheet: Path) -> dict[str, list[Stretch]]:
    """The labels of each printing that counts, by lot, in the order of printing, once none is on its way."""
    known = settled(sheet)
    lots = {line.printing: line.lot_code for line in known.printed}
    with closing(sqlite3.connect(record_path(sheet))) as file:
        columns = "number, stock, per_page, sheet, first, labels"
        rows = file.execute(f"SELECT {columns} FROM printings ORDER BY number").fetchall()
    assert {number for number, *_ in rows} == set(lots), "something is still on its way"
    found: defaultdict[str, list[Stretch]] = defaultdict(list)
    for number, stock, per_page, begun, first, labels in rows:
        found[lots[number]].append(
            Stretch(stock=stock, per_page=per_page, sheet=begun, first=first, labels=labels)
        )
    return dict(found)


def places(pdf: bytes) -> list[int]:
    """The labels of the sheet on which codes are read, over all pages."""
    boxes = STOCK.tag_boxes(Printer())
    found: list[int] = []
    with pdfium.PdfDocument(pdf) as document:
        for page in document:
            for code in zxingcpp.read_barcodes(page.render(scale=DPI / 72, grayscale=True).to_numpy()):
                x, y = code.position.top_left.x * DOT, code.position.top_left.y * DOT
                found += [
                    number
                    for number, box in enumerate(boxes, start=1)
                    if box.x <= x <= box.right and box.y <= y <= box.bottom
                ]
    return found


def told(outcome: Outcome) -> Sequence[str]:
    """The result in lines."""
    return [f"{name}: {getattr(outcome, name)}" for name in Outcome.__annotations__]
