"""The print record of a sheet: labels are reserved before they are drawn; only what was handed over counts.

It is kept in a file beside the sheet (`file`) and never stops printing: where that cannot be read it is set
aside, where it cannot be written a stand-in remembers for this run only, and both are said in a message.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime
from hashlib import sha256
from pathlib import Path

from tagmaker.record import rows
from tagmaker.record.aside import FileOutOfReach, Result, identity, settled
from tagmaker.record.file import Work, check, in_file, in_memory, transaction
from tagmaker.record.rows import PRINTED, RESERVED, UNDONE, Batch, Known, Reserved
from tagmaker.record.tags import Printed

ON_ITS_WAY_S = 600.0  # [s] that a printing may take; drawing takes seconds, a download a minute (chosen)
NAMED = 12  # lots that a message names (chosen)


class Repeated(Exception):
    """A form that was printed before."""


@dataclass(frozen=True, slots=True, kw_only=True)
class LastPrint:
    """What the bench printed last."""

    number: int
    moment: datetime  # local time of the farm
    lines: tuple[Printed, ...]
    is_undone: bool
    is_asked: bool  # whether all came out is still to be asked, of this device

    @property
    def pieces(self) -> int:
        """Labels or cards."""
        return sum(line.pieces for line in self.lines)


class PrintRecord:
    """What was printed from one sheet. It holds no file open, so there is nothing to close."""

    def __init__(self, path: Path | None, now: datetime = datetime.min) -> None:
        """Without a path it is a stand-in that remembers for this run only; `now` names what is set aside."""
        self._path = path
        self._now = now
        self._memory = in_memory() if path is None else None
        self.known = Known()  # as it was when it was opened or last written

    @property
    def is_begun(self) -> bool:
        """Whether there is a file, or a stand-in."""
        return self._path is None or self._memory is not None or identity(self._path) is not None

    def read(self, *, create: bool = True) -> str | None:
        """Read what is known; returns what has to be said about the file."""
        if not create and not self.is_begun:
            return None

        def work(file: sqlite3.Connection) -> Known:
            check(file)
            return rows.read_known(file)

        self.known, message = self._work(work)
        return message

    def reserve(self, plan: Callable[[Known], Sequence[Batch]]) -> tuple[list[int], list[str]]:
        """Take labels and lines for what is about to be printed, in one transaction with what decides them.

        Args:
            plan: what is to be printed, given what is known; called again where another process was faster.
                What it raises leaves the record as it was.

        Returns:
            the number of each printing, and what has to be said.

        Raises:
            Repeated: the form of a batch was printed before.
        """

        def work(file: sqlite3.Connection) -> tuple[list[int], list[str]]:
            with transaction(file):
                cut_off = [_end(file, one) for one in rows.reserved(file, ON_ITS_WAY_S) if not one.is_alive]
                try:
                    return [rows.reserve(file, batch) for batch in plan(rows.read_known(file))], cut_off
                except sqlite3.IntegrityError:
                    raise Repeated from None

        (numbers, said), message = self._work(work)
        return numbers, [message, *said] if message else said

    def drawn(self, number: int, pdf: bytes, path: Path | None) -> str | None:
        """Note what a printing looks like, so that the next run knows it if this one is killed."""
        values = {"digest": sha256(pdf).hexdigest(), "path": None if path is None else str(path.absolute())}
        return self._write(lambda file: rows.update(file, number, **values))

    def keep(self, number: int) -> str | None:
        """A printing was handed over; returns what has to be said."""

        def work(file: sqlite3.Connection) -> None:
            if rows.state_of(file, number) == RESERVED:
                rows.update(file, number, state=PRINTED)

        return self._write(work)

    def drop(self, number: int) -> str | None:
        """A printing was not handed over: nothing of it counts, and its labels are free again."""
        return self._write(lambda file: rows.drop(file, number))

    def answer(self, number: int, came: int | None) -> str | None:
        """Somebody looked what came out of a printing: all (None), none (0), or only the first so many."""

        def work(file: sqlite3.Connection) -> None:
            if rows.state_of(file, number) not in (RESERVED, PRINTED):
                return
            if came == 0:
                rows.give_back(file, number)
            elif came is not None:
                rows.cut_short(file, number, came)
            rows.update(file, number, state=UNDONE if came == 0 else PRINTED, asked=0)

        return self._write(work)

    def last(self, device: str) -> LastPrint | None:
        """What the bench printed last: for this device, as long as it has not said what came out of it."""
        if not self.is_begun:
            return None
        return self._work(lambda file: _last(file, device))[0]

    def _write(self, work: Work[None]) -> str | None:
        """Do a piece of work in a transaction of its own, and know what came of it."""

        def all_of_it(file: sqlite3.Connection) -> Known:
            with transaction(file):
                work(file)
                return rows.read_known(file)

        self.known, message = self._work(all_of_it)
        return message

    def _work(self, work: Work[Result]) -> tuple[Result, str | None]:
        """Do a piece of work with the file, or from its first failure on with a stand-in."""
        message = None
        if self._memory is None and self._path is not None:
            path = self._path
            try:
                return settled(path, self._now, lambda: in_file(path, work))
            except FileOutOfReach as error:
                self._memory, message = in_memory(path), _not_kept(path, error)
        assert self._memory is not None
        return work(self._memory), message


def record_path(sheet: Path) -> Path:
    """Where the record of a sheet lies; the same sheet saved as another type of file shares it."""
    return sheet.with_name(f"{sheet.stem}-printed.sqlite")


def open_record(sheet: Path, now: datetime, *, create: bool = True) -> tuple[PrintRecord, str | None]:
    """The print record beside a sheet, and what has to be said about it.

    A file that is damaged, of a later version or no record at all is renamed and a new one begun. Where the
    file cannot be written, a stand-in with the lines that can be read takes its place.

    Args:
        sheet: path of the lot sheet
        now: local time of the farm, for the name of a file that is set aside
        create: begin a record where there is none; a command that only looks leaves the folder alone
    """
    record = PrintRecord(record_path(sheet), now)
    return record, record.read(create=create)


def pieces_said(lines: Iterable[Printed]) -> str:
    """What was printed, in words: "12 labels of 041, 3 cards of 042"."""
    found: dict[tuple[str, str], int] = {}
    for line in lines:
        key = "label" if line.paper == "wraps" else "card", line.lot_code
        found[key] = found.get(key, 0) + line.pieces
    said = [f"{n} {kind}{'' if n == 1 else 's'} of {lot}" for (kind, lot), n in found.items()]
    more = len(said) - NAMED
    return ", ".join(said[:NAMED]) + (f" and {more} more" if more > 0 else "")


def _end(file: sqlite3.Connection, one: Reserved) -> str:
    """Decide what became of a printing whose run was killed; returns what is to be said."""
    lines = rows.lines_of(file, one.number)
    run = f"the print run of {lines[0].moment:%Y-%m-%d %H:%M}" if lines else "a print run"
    what = pieces_said(lines)
    if one.digest is None or (one.path is not None and _digest(one.path) != one.digest):
        rows.drop(file, one.number)
        return f"{run} was ended before its paper was there: not printed: {what or 'nothing'}."
    rows.update(file, one.number, state=PRINTED)
    if one.path is not None and one.queue is None:
        return f"{run} was ended, but {one.path} is whole and counts as printed: {what}."
    to = f"the printer {one.queue}" if one.queue is not None else "a phone"
    return (
        f"{run} was ended on its way to {to}: look whether it came out. It counts as printed: {what}. "
        "What did not come out is printed again with --lot."
    )


def _digest(path: Path) -> str | None:
    try:
        return sha256(path.read_bytes()).hexdigest()
    except OSError:
        return None


def _last(file: sqlite3.Connection, device: str) -> LastPrint | None:
    row = file.execute(
        "SELECT number, state, asked AND device = ? FROM printings WHERE form IS NOT NULL "
        "ORDER BY asked AND device = ? DESC, number DESC LIMIT 1",
        [device, device],
    ).fetchone()
    if row is None:
        return None
    number, state, is_asked = row
    lines = rows.lines_of(file, number)
    if not lines:
        return None
    return LastPrint(
        number=number,
        moment=lines[0].moment,
        lines=lines,
        is_undone=state == UNDONE,
        is_asked=bool(is_asked),
    )


def _not_kept(path: Path, error: FileOutOfReach) -> str:
    return (
        f"{path}: the print record must be a file that can be written (got: {error}). Printing goes on, but "
        "is not remembered. Mend that, or print with --no-record."
    )
