"""Half-written files that a killed run left behind."""

from __future__ import annotations

import os
import re
import time
from contextlib import suppress
from pathlib import Path

from tagmaker.record.rows import process_runs

OURS = re.compile(
    r"\..+\.(?:pdf|png|html|css|js|csv|xlsx|xls|ods)\.(\d{1,10})\.part"
)  # as files are named before they are moved
OLD_S = 86_400.0  # [s] after which nobody is writing one any more (chosen)


def sweep(folder: Path) -> None:
    """Take away the files that no run writes any more; what cannot be taken away stays."""
    with suppress(OSError):
        for path in folder.iterdir():
            found = OURS.fullmatch(path.name)
            if found and _is_left(path, int(found[1])):
                path.unlink(missing_ok=True)


def _is_left(path: Path, process: int) -> bool:
    return process == os.getpid() or not process_runs(process) or time.time() - path.stat().st_mtime > OLD_S
