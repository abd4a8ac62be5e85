"""The print record under many processes: killed at any moment, writing at once, setting aside at once.

`kill_writers` can be called with any number of kills; the tests do `KILLS` of them.
"""

from __future__ import annotations

import random
import signal
import subprocess
import sys
import time
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

import pytest

from tagmaker.lot import StorageCode
from tagmaker.record import aside
from tagmaker.record.printings import PrintRecord, open_record, record_path
from tagmaker.record.rows import Batch
from tagmaker.record.tags import Printed

pytestmark = pytest.mark.slow

KILLS = 40
KILLS_PER_RECORD = 20  # then a new folder, so that kills hit the making of the file as well
LONGEST_S = 0.3  # [s] from the start of a writer to its kill: about a dozen printings
LINES = 3  # in each printing
NOW = datetime(2027, 2, 20, 9)

# Opens the record and remembers a printing, again and again; says so when it is remembered, not before.
# All lines of a printing have its number as their count: they belong together, all of them or none.
WRITER = """
import os, sys
from datetime import datetime
from pathlib import Path
from tagmaker.lot import StorageCode
from tagmaker.record.printings import open_record
from tagmaker.record.rows import Batch
from tagmaker.record.tags import Printed

path, name, count, lines = sys.argv[1], sys.argv[2], int(sys.argv[3]), int(sys.argv[4])
now = datetime(2027, 2, 20, 9)
os.write(1, b"ready\\n")
sys.stdin.readline()  # all begin at once
for n in range(count):
    record, message = open_record(Path(path.replace("#", f"{n}")), now)
    dates = {"code": StorageCode.DRY, "sell_by": now, "into_water_by": None}
    line = Printed(moment=now, paper="wraps", lot_code=name, count=n, **dates)
    numbers, said = record.reserve(lambda _: [Batch(lines=[line] * lines)])
    for trouble in (message, *said, record.keep(*numbers)):
        if trouble is not None:
            os.write(2, f"{trouble}\\n".encode())
    os.write(1, f"{n}\\n".encode())
"""


def lines_of(name: str, n: int) -> list[Printed]:
    """A printing like those of the writers."""
    line = Printed(
        moment=NOW,
        paper="wraps",
        lot_code=name,
        count=n,
        code=StorageCode.DRY,
        sell_by=NOW,
        into_water_by=None,
    )
    return [line] * LINES


def remember(record: PrintRecord, lines: Sequence[Printed]) -> str | None:
    """Reserve a printing, and keep it; what was said of the file."""
    (number,), _ = record.reserve(lambda _: [Batch(lines=lines)])
    return record.keep(number)


def start_writer(sheet: Path, name: str, count: int) -> subprocess.Popen[bytes]:
    """A process that remembers printings, one after another; "#" in the sheet's name counts them."""
    command = [sys.executable, "-c", WRITER, str(sheet), name, str(count), str(LINES)]
    here = Path(__file__).resolve().parent.parent
    pipe = subprocess.PIPE
    return subprocess.Popen(command, stdin=pipe, stdout=pipe, stderr=pipe, cwd=here)


def begin(*writers: subprocess.Popen[bytes]) -> None:
    """Let writers begin once all of them are ready."""
    for writer in writers:
        assert writer.stdout is not None
        assert writer.stdout.readline() == b"ready\n"
    for writer in writers:
        assert writer.stdin is not None
        writer.stdin.write(b"begin\n")
        writer.stdin.flush()


def printings(sheet: Path, name: str) -> list[int]:
    """The printings of one writer in the record, in order; each must be there with all its lines."""
    record, message = open_record(sheet, NOW)
    assert message is None, message
    lines = record.known.lines("wraps", name)
    whole = Counter((line.printing, line.count) for line in lines)
    assert set(whole.values()) <= {LINES}, f"a printing is not whole: {whole}"
    return [count for _, count in whole]


@dataclass(slots=True)
class Outcome:
    """What many kills came to."""

    kills: int = 0
    told: int = 0  # printings that a writer had reported as remembered
    lost: int = 0  # of these, not in the record
    untold: int = 0  # printings that were remembered but not reported any more
    early: int = 0  # kills before the first printing
    companions: int = 0  # kills that left a write-ahead log behind
    longest_s: float = 0.0  # [s] that the run after a kill needed to open and remember


def kill_writers(folder: Path, kills: int, seed: int = 1) -> Outcome:
    """Kill writers at random moments; after each kill, read the record and remember a printing of our own."""
    chance, outcome = random.Random(seed), Outcome()
    for n in range(kills):
        sheet = folder / f"{n // KILLS_PER_RECORD}" / "lots.xlsx"
        sheet.parent.mkdir(exist_ok=True)
        told = _killed(sheet, f"W{n}", chance.random() ** 2 * LONGEST_S)
        outcome.companions += record_path(sheet).with_name("lots-printed.sqlite-wal").exists()
        started = time.monotonic()
        record, message = open_record(sheet, NOW)
        message = message or remember(record, lines_of(f"P{n}", 0))
        outcome.longest_s = max(outcome.longest_s, time.monotonic() - started)
        assert message is None, message
        found = printings(sheet, f"W{n}")
        assert found == list(range(len(found))), f"printings out of order: {found}"
        assert len(found) <= told + 1, f"{len(found)} printings found, {told} told"
        outcome.kills += 1
        outcome.told += told
        outcome.lost += max(told - len(found), 0)
        outcome.untold += max(len(found) - told, 0)
        outcome.early += not found
    for n in range(kills):
        sheet = folder / f"{n // KILLS_PER_RECORD}" / "lots.xlsx"
        outcome.lost += printings(sheet, f"P{n}") != [0]
    return outcome


def _killed(sheet: Path, name: str, after_s: float) -> int:
    """Start a writer, kill it some time after it began; how many printings it had reported."""
    writer = start_writer(sheet, name, 1_000_000)
    begin(writer)
    time.sleep(after_s)
    writer.kill()
    out, errors = writer.communicate()
    assert (writer.returncode, errors) == (-signal.SIGKILL, b"")
    return len(out.split())


def test_kills_at_any_moment_lose_no_printing_and_block_nobody(tmp_path: Path) -> None:
    """What was reported as remembered is there and whole, and the next run goes on at once."""
    outcome = kill_writers(tmp_path, KILLS)
    assert (outcome.kills, outcome.lost) == (KILLS, 0)
    assert outcome.told > KILLS // 2, "the kills came too early to prove anything"
    assert outcome.companions > 0, "no kill hit a writer at work"
    assert outcome.longest_s < aside.PATIENCE_S / 2


def run_together(sheet: Path, writers: int, count: int) -> list[str]:
    """Let writers print at once; what they complained of."""
    complaints: list[str] = []
    processes = [start_writer(sheet, f"W{n}", count) for n in range(writers)]
    begin(*processes)
    for writer in processes:
        _, errors = writer.communicate(timeout=120)
        complaints += errors.decode().splitlines()
        assert writer.returncode == 0, complaints
    return complaints


@pytest.mark.parametrize("count", [2, 5])
def test_processes_that_print_at_once_all_succeed(tmp_path: Path, count: int) -> None:
    """They make the file together, wait for each other, and no printing gets another one's number."""
    sheet = tmp_path / "lots.xlsx"
    assert run_together(sheet, count, 15) == []
    assert [printings(sheet, f"W{n}") for n in range(count)] == [list(range(15))] * count
    numbers = {line.printing for line in open_record(sheet, NOW)[0].known.lines("wraps")}
    assert len(numbers) == 15 * count


def test_processes_that_begin_a_record_at_once_all_succeed(tmp_path: Path) -> None:
    """Nobody takes a file that another process is just making for a damaged one."""
    assert run_together(tmp_path / "lots-#.xlsx", 4, 40) == []
    for n in range(40):
        assert [printings(tmp_path / f"lots-{n}.xlsx", f"W{writer}") for writer in range(4)] == [[n]] * 4


@pytest.mark.parametrize("damage", ["no database", "damaged page"])
def test_processes_that_meet_damage_at_once_set_it_aside_once(tmp_path: Path, damage: str) -> None:
    """One of them says so; nobody takes the other's new file for the damaged one."""
    sheet = tmp_path / "lots.xlsx"
    record, _ = open_record(sheet, NOW)
    remember(record, [line for n in range(200) for line in lines_of("OLD", n)])
    content = bytearray(record_path(sheet).read_bytes())
    start = 0 if damage == "no database" else 8192
    content[start : start + 16] = b"\xff" * 16
    record_path(sheet).write_bytes(content)
    complaints = run_together(sheet, 5, 5)
    assert len(complaints) == 1
    assert "was set aside as lots-printed-set-aside-20270220T0900.sqlite" in complaints[0]
    assert sorted(path.name for path in tmp_path.glob("*.sqlite")) == [
        "lots-printed-set-aside-20270220T0900.sqlite",
        "lots-printed.sqlite",
    ]
    assert [printings(sheet, f"W{n}") for n in range(5)] == [list(range(5))] * 5
