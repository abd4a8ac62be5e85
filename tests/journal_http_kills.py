"""Kill the server in the middle of saving taps, and look for every tap that it had answered as saved."""

from __future__ import annotations

import http.client
import json
import os
import random
import re
import signal
import subprocess
import sys
import threading
import time
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path
from urllib.parse import urlencode

from tagmaker.record.journal.beside import journal_path
from tagmaker.record.journal.file import read_book
from tests.served import row, write_season

LONGEST_S = 0.25  # [s] from the first tap to the kill: some dozen taps
TAPPERS = 3  # phones that tap at once
KILLS_A_SEASON = 50  # then another begins, so that a journal does not grow until its beginning takes longest

# Forks a server for every sheet that it is told, and waits for its end. What is imported is imported once, by
# a tap in a season of its own; and a server reads its files itself: to begin a process for it takes longer.
NURSERY = """
import os
import sys
from pathlib import Path
from tagmaker.desk import serving
from tagmaker.desk.season import read_inputs
from tests.served import Served, folder_of, row, token, write_season

serving.SHARED.read = read_inputs
first = Served(write_season(Path(sys.argv[1]), row("041")))
same = {"lot": "041", "kind": "sold", "many": "1", "seen": "0"}
said = {**same, "id": "the-very-first-tap", "token": token(first.client)}
assert first.client.post("/enter", data=said, follow_redirects=True).status_code == 200
for line in sys.stdin:
    server = os.fork()
    if not server:
        listener = serving.serve(folder_of(Path(line.strip()), []), 0, lan=False)
        print(os.getpid(), listener.effective_port, flush=True)
        listener.run()
    os.waitpid(server, 0)
"""


@dataclass(slots=True)
class Outcome:
    """What many kills came to."""

    kills: int = 0
    saved: int = 0  # taps that were answered as saved
    lost: int = 0  # of these, not in the journal
    twice: int = 0
    cut: int = 0  # taps that were on their way when the server was killed


def kill_servers(folder: Path, kills: int, seed: int = 1) -> Outcome:
    """Kill servers at random moments while phones tap."""
    chance, outcome = random.Random(seed), Outcome()
    here = Path(__file__).resolve().parent.parent
    environment = {
        **os.environ,
        "PYTHONPATH": str(here),
        "XDG_CONFIG_HOME": str(folder / "config"),
        "OPENBLAS_NUM_THREADS": "1",  # a process with threads is not to be forked
    }
    (folder / "first").mkdir()
    command = [sys.executable, "-c", NURSERY, str(folder / "first")]
    pipes = {"stdin": subprocess.PIPE, "stdout": subprocess.PIPE, "text": True}
    with subprocess.Popen(command, cwd=here, env=environment, **pipes) as nursery:  # type: ignore[call-overload]
        for begin in range(0, kills, KILLS_A_SEASON):
            season = folder / f"season-{begin}"
            season.mkdir()
            sheet = write_season(season, row("041", stems=20_000))
            saved: list[str] = []
            for n in range(begin, min(begin + KILLS_A_SEASON, kills)):
                nursery.stdin.write(f"{sheet}\n")
                nursery.stdin.flush()
                pid, port = map(int, nursery.stdout.readline().split())
                _tap_and_kill(pid, port, f"kill-{n}", chance.random() * LONGEST_S, saved, outcome)
                outcome.kills += 1
            ids = [entry.id for entry in read_book(journal_path(sheet)).entries]
            outcome.saved += len(saved)
            outcome.lost += len(set(saved) - set(ids))
            outcome.twice += len(ids) - len(set(ids))
        nursery.stdin.close()
    return outcome


def _tap_and_kill(pid: int, port: int, name: str, after_s: float, saved: list[str], outcome: Outcome) -> None:
    """Have phones tap at a server, and kill it so long after they began."""
    begun = threading.Barrier(TAPPERS + 1)
    phones = [
        threading.Thread(target=_tap, args=(port, f"{name}-phone-{k}", begun, saved, outcome))
        for k in range(TAPPERS)
    ]
    for phone in phones:
        phone.start()
    begun.wait(timeout=120)
    time.sleep(after_s)
    os.kill(pid, signal.SIGKILL)
    for phone in phones:
        phone.join(timeout=120)


def _tap(port: int, name: str, begun: threading.Barrier, saved: list[str], outcome: Outcome) -> None:
    """Tap again and again until nobody answers any more."""
    with closing(http.client.HTTPConnection("127.0.0.1", port, timeout=120)) as connection:
        connection.request("GET", "/L/041")
        answer = connection.getresponse()
        cookie = (answer.getheader("Set-Cookie") or "").partition(";")[0]
        (token, *_) = re.findall(r'name="token" value="(\w+)"', answer.read().decode())
        headers = {
            "Cookie": cookie,
            "Content-Type": "application/x-www-form-urlencoded",
            "Accept": "application/json",
        }
        same = {"token": token, "lot": "041", "kind": "sold", "many": "1", "unit": "stems", "age": "0"}
        begun.wait(timeout=120)
        for n in range(10_000):
            told = f"{name}-{n:06}"
            try:
                connection.request("POST", "/enter", urlencode({**same, "id": told}), headers)
                with connection.getresponse() as answer:
                    body = answer.read()
            except (OSError, http.client.HTTPException):
                outcome.cut += 1
                return
            if answer.status == 200 and "saved" in json.loads(body):
                saved.append(told)
