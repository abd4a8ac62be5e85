"""Exports of loggers that come from a phone: tried apart, then kept in `logs/` under a name of our own.

A file is there whole or not at all, and takes no other file's place: it is written beside its place and moved
there by a way that fails where something is. Whoever keeps tries again first, so that what another phone kept
meanwhile counts.
"""

from __future__ import annotations

import os
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from datetime import datetime, timedelta
from itertools import count
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Protocol

from tagmaker.desk.apart import TRYING
from tagmaker.desk.leftovers import sweep
from tagmaker.errors import OutputProblem, Problem
from tagmaker.farm import Cooler, Farm
from tagmaker.intake.log.finding import FOLDER
from tagmaker.intake.log.trying import kept_name, place_fault
from tagmaker.scan.live import Logs
from tagmaker.storage.readings import Export

DAY = timedelta(days=1)


class Around(Protocol):
    """Where a season is shown."""

    @property
    def tell(self) -> Callable[[str], None]:
        """Says a line to whoever runs the command."""
        ...

    def clock(self, timezone: str | None) -> datetime:
        """The moment as of which everything is dated."""
        ...


def logs_of(folder: Path, farm: Farm, around: Around) -> Logs:
    """How phones add exports to the logs of a season."""

    def now() -> datetime:
        return around.clock(farm.timezone)

    def fault(cooler: str) -> Problem | None:
        today = now().date()
        return place_fault(farm.coolers[cooler], farm, folder, today - DAY, today)

    def check(cooler: str, name: str, content: bytes) -> Export:
        return try_upload(content, name, farm.coolers[cooler], farm, folder, now())

    def keep(cooler: str, name: str, content: bytes, device: str) -> str:
        place, found = keep_upload(content, name, farm.coolers[cooler], farm, folder, now())
        around.tell(f"{place}: {found.count:,} readings of {cooler}, added by {device}")
        return place

    return Logs(fault=fault, check=check, keep=keep)


_KEEPING = threading.Lock()  # one export after the other, so that each sees what the one before it kept


def try_upload(content: bytes, name: str, cooler: Cooler, farm: Farm, folder: Path, now: datetime) -> Export:
    """What an export holds, read by the limited process; nothing is left of it in any folder.

    Args:
        content: the file.
        name: how messages name it.
        cooler: whose it is said to be.
        farm: all coolers.
        folder: the season folder.
        now: local moment.

    Raises:
        InputProblems: it cannot be kept; all reasons.
    """
    with TemporaryDirectory(prefix="tagmaker-") as place:
        path = Path(place) / "export"
        path.write_bytes(content)
        return TRYING.try_export(path, name, cooler, farm, folder, now)


def keep_upload(
    content: bytes, name: str, cooler: Cooler, farm: Farm, folder: Path, now: datetime
) -> tuple[str, Export]:
    """Keep an export for its cooler; arguments and problems as for `try_upload`.

    Returns:
        its place in the season folder, and what it holds.

    Raises:
        InputProblems: it cannot be kept, perhaps because of what was kept since it was tried.
        OutputProblem: it could not be written.
    """
    with _KEEPING:
        found = try_upload(content, name, cooler, farm, folder, now)
        names = (
            kept_name(cooler.name, found.first.date(), found.last.date(), found.ending, number)
            for number in count(1)
        )
        return f"{FOLDER}/{_put(folder / FOLDER, names, content)}", found


def _put(folder: Path, names: Iterator[str], content: bytes) -> str:
    """Write a file under the first name that nothing has."""
    try:
        folder.mkdir(exist_ok=True)
        sweep(folder)
        with _written(folder, content) as part:
            name = next(name for name in names if _moved(part, folder / name))
        _sync(folder)
    except OSError as error:
        raise OutputProblem(
            f"{FOLDER} could not be written ({error.strerror or error}). Make room, or check its rights."
        ) from error
    return name


@contextmanager
def _written(folder: Path, content: bytes) -> Iterator[Path]:
    """The content in a hidden file of a folder, safe on the disk, for as long as it is needed."""
    part = folder / f".export.csv.{os.getpid()}.part"  # one at a time in a process
    try:
        with part.open("xb") as file:
            file.write(content)
            file.flush()
            os.fsync(file.fileno())
        yield part
    finally:
        part.unlink(missing_ok=True)


def _moved(part: Path, path: Path) -> bool:
    """Give a file its name; False where something has that name."""
    try:
        os.link(part, path)
        return True
    except FileExistsError:
        return False
    except (
        OSError
    ):  # a stick or a share without links: its name is taken first, then the file takes its place
        with suppress(FileExistsError):
            os.close(os.open(path, os.O_CREAT | os.O_EXCL))
            part.replace(path)
            return True
        return False


def _sync(folder: Path) -> None:
    """See to it that the folder's new name is on the disk, where the system has a way to."""
    with suppress(OSError):
        place = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(place)
        finally:
            os.close(place)
