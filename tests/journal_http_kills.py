"""Kill the server in the middle of saving taps, and look for every tap that it had answered as saved."""

from __future__ import annotations

import http.client
import json
import os
import random
import re
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

LONGEST_S = 0.5  # [s] from the first tap to the kill: some dozen taps
TAPPERS = 3  # phones that tap at once

SERVER = """
import sys
from pathlib import Path
from tagmaker.desk import serving
from tests.served import folder_of

listener = serving.serve(folder_of(Path(sys.argv[1]), []), 0, lan=False)
print(listener.effective_port, flush=True)
listener.run()
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
    sheet = write_season(folder, row("041", stems=20_000))
    here = Path(__file__).resolve().parent.parent
    environment = {**os.environ, "PYTHONPATH": str(here), "XDG_CONFIG_HOME": str(folder / "config")}
    command = [sys.executable, "-c", SERVER, str(sheet)]
    saved: list[str] = []
    for n in range(kills):
        with subprocess.Popen(command, stdout=subprocess.PIPE, cwd=here, env=environment) as server:
            assert server.stdout is not None
            port = int(server.stdout.readline())
            begun = threading.Barrier(TAPPERS + 1)
            phones = [
                threading.Thread(target=_tap, args=(port, f"kill-{n}-phone-{k}", begun, saved, outcome))
                for k in range(TAPPERS)
            ]
            for phone in phones:
                phone.start()
            begun.wait(timeout=120)
            time.sleep(chance.random() * LONGEST_S)
            server.kill()
            for phone in phones:
                phone.join(timeout=120)
            outcome.kills += 1
    ids = [entry.id for entry in read_book(journal_path(sheet)).entries]
    outcome.saved, outcome.lost = len(saved), len(set(saved) - set(ids))
    outcome.twice = len(ids) - len(set(ids))
    return outcome


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
