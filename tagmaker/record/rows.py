"""The rows of the record's file, and what they mean: lines, printings, and the sheets of label stock.

Every function does its part of a transaction that somebody else began.
"""

from __future__ import annotations

import os
import socket
import sqlite3
import time
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path

from tagmaker.record.aside import UnfitFile
from tagmaker.record.labels import Sheet, Stretch
from tagmaker.record.stored import COLUMNS, line_of, row_of
from tagmaker.record.tags import Paper, Printed

RESERVED, PRINTED, UNDONE = "reserved", "printed", "undone"


@dataclass(frozen=True, slots=True, kw_only=True)
class Batch:
    """What one paper is to add to the record."""

    lines: Sequence[Printed]
    stretch: Stretch | None = None  # labels that it takes
    form: str | None = None  # of the bench that asked for it
    device: str | None = None  # browser that the form was given to
    queue: str | None = None  # of the spooler that it is sent to


@dataclass(frozen=True, kw_only=True)
class Known:
    """What the record knows at one moment."""

    printed: Sequence[Printed] = ()  # in the order of printing
    on_its_way: Sequence[Printed] = ()  # reserved by runs that have not ended yet
    sheets: Mapping[str, Sheet] = field(default_factory=dict)  # by label stock

    def lines(self, paper: Paper, lot: str | None = None) -> tuple[Printed, ...]:
        """What was printed of one paper, of one lot where a lot code is given."""
        return _of(self.printed, paper, lot)

    def claimed(self, paper: Paper) -> tuple[Printed, ...]:
        """What was printed of one paper, and what is being printed just now."""
        return _of([*self.printed, *self.on_its_way], paper, None)

    def sheet(self, stock: str) -> Sheet:
        """The sheet of a label stock that was printed last."""
        return self.sheets.get(stock, Sheet())


def _of(lines: Iterable[Printed], paper: Paper, lot: str | None) -> tuple[Printed, ...]:
    return tuple(line for line in lines if line.paper == paper and lot in (None, line.lot_code))


@dataclass(frozen=True, slots=True, kw_only=True)
class Reserved:
    """A printing that has not ended."""

    number: int
    path: Path | None
    queue: str | None
    digest: str | None  # SHA-256 of the PDF, once it is drawn
    is_alive: bool  # its run goes on


# --- reading -----------------------------------------------------------------------------------------------


def read_known(file: sqlite3.Connection) -> Known:
    """Everything that counts; raises UnfitFile where rows make no sense."""
    states = dict(file.execute("SELECT number, state FROM printings"))
    lines = lines_of(file)
    sheets = file.execute("SELECT stock, sheet, next_label FROM sheets").fetchall()
    sound = all(isinstance(stock, str) and all(_is_count(n) for n in numbers) for stock, *numbers in sheets)
    if not sound or not set(states.values()) <= {RESERVED, PRINTED, UNDONE}:
        raise UnfitFile("it is damaged: next_label must be a number from 1, and a state one of ours")

    def those(state: str) -> tuple[Printed, ...]:
        return tuple(line for line in lines if states.get(line.printing, PRINTED) == state)

    return Known(
        printed=those(PRINTED),
        on_its_way=those(RESERVED),
        sheets={stock: Sheet(number, label) for stock, number, label in sheets},
    )


def lines_of(file: sqlite3.Connection, number: int | None = None) -> tuple[Printed, ...]:
    """All lines in the order of printing, or those of one printing."""
    which, values = ("", ()) if number is None else ("WHERE printing = ?", (number,))
    rows = file.execute(
        f"SELECT printing, {', '.join(COLUMNS)} FROM printed {which} ORDER BY printing, id", values
    )
    try:
        return tuple(line_of(row) for row in rows.fetchall())
    except (TypeError, ValueError) as error:
        raise UnfitFile(f"it is damaged: {error}") from error


def reserved(file: sqlite3.Connection, longest_s: float) -> list[Reserved]:
    """Every printing that has not ended; after so many seconds [s] none is on its way any more."""
    columns = "number, path, queue, digest, host, process, began"
    rows = file.execute(f"SELECT {columns} FROM printings WHERE state = ? ORDER BY number", [RESERVED])
    return [
        Reserved(
            number=number,
            path=None if path is None else Path(path),
            queue=queue,
            digest=digest,
            is_alive=abs(time.time() - began) < longest_s and _runs(host, process),
        )
        for number, path, queue, digest, host, process, began in rows.fetchall()
    ]


def _runs(host: str, process: int) -> bool:
    """Whether a process may still be at work; of another computer nobody here knows."""
    return host != socket.gethostname() or process_runs(process)


def process_runs(number: int) -> bool:
    """Whether a process of this computer is still there; where that cannot be asked, it counts as there."""
    if os.name != "posix":
        return True
    try:
        os.kill(number, 0)
    except ProcessLookupError:
        return False
    except (OSError, OverflowError):
        return True
    return True


# --- writing -----------------------------------------------------------------------------------------------


def reserve(file: sqlite3.Connection, batch: Batch) -> int:
    """Add a printing that is on its way, and take its labels; returns its number."""
    (number,) = file.execute(
        "SELECT 1 + max((SELECT coalesce(max(printing), 0) FROM printed), "
        "(SELECT coalesce(max(number), 0) FROM printings))"
    ).fetchone()
    values: dict[str, object] = {
        "number": number,
        "state": RESERVED,
        "form": batch.form,
        "device": batch.device,
        "asked": int(batch.form is not None),
        "queue": batch.queue,
        "host": socket.gethostname(),
        "process": os.getpid(),
        "began": time.time(),
    }
    if batch.stretch is not None:
        values |= _taken(file, batch.stretch)
    if batch.device is not None:  # whoever prints again has seen what came out before
        file.execute("UPDATE printings SET asked = 0 WHERE device = ?", [batch.device])
    file.execute(
        f"INSERT INTO printings ({', '.join(values)}) VALUES ({_places(values)})", [*values.values()]
    )
    _add_lines(file, number, batch.lines)
    return int(number)


def _taken(file: sqlite3.Connection, stretch: Stretch) -> dict[str, object]:
    """Take the labels of a stretch; returns what is to be known to give them back."""
    was = read_known_sheet(file, stretch.stock)
    _set_sheet(file, stretch.stock, stretch.follows)
    return {
        "stock": stretch.stock,
        "per_page": stretch.per_page,
        "sheet": stretch.sheet,
        "first": stretch.first,
        "labels": stretch.labels,
        "was_sheet": was.number,
        "was_label": was.next_label,
    }


def read_known_sheet(file: sqlite3.Connection, stock: str) -> Sheet:
    """The sheet of a label stock that was printed last."""
    row = file.execute("SELECT sheet, next_label FROM sheets WHERE stock = ?", [stock]).fetchone()
    return Sheet() if row is None else Sheet(*row)


def _set_sheet(file: sqlite3.Connection, stock: str, sheet: Sheet) -> None:
    if sheet == Sheet():
        file.execute("DELETE FROM sheets WHERE stock = ?", [stock])
        return
    values = (stock, sheet.number, sheet.next_label)
    file.execute("INSERT OR REPLACE INTO sheets (stock, sheet, next_label) VALUES (?, ?, ?)", values)


def give_back(file: sqlite3.Connection, number: int) -> None:
    """The labels of a printing are free again, unless somebody printed behind them."""
    columns = "stock, per_page, sheet, first, labels, was_sheet, was_label"
    row = file.execute(f"SELECT {columns} FROM printings WHERE number = ?", [number]).fetchone()
    if row is None or row[0] is None:
        return
    stock, per_page, sheet, first, labels, was_sheet, was_label = row
    taken = Stretch(stock=stock, per_page=per_page, sheet=sheet, first=first, labels=labels)
    if read_known_sheet(file, stock) == taken.follows:
        _set_sheet(file, stock, Sheet(was_sheet, was_label))


def drop(file: sqlite3.Connection, number: int) -> None:
    """A printing that is on its way was never there."""
    if state_of(file, number) == RESERVED:
        give_back(file, number)
        file.execute("DELETE FROM printed WHERE printing = ?", [number])
        file.execute("DELETE FROM printings WHERE number = ?", [number])


def state_of(file: sqlite3.Connection, number: int) -> str | None:
    """Where a printing stands; None: there is none of that number."""
    row = file.execute("SELECT state FROM printings WHERE number = ?", [number]).fetchone()
    return None if row is None else str(row[0])


def update(file: sqlite3.Connection, number: int, **values: object) -> None:
    """Set columns of a printing."""
    columns = ", ".join(f"{name} = ?" for name in values)
    file.execute(f"UPDATE printings SET {columns} WHERE number = ?", [*values.values(), number])


def cut_short(file: sqlite3.Connection, number: int, came: int) -> None:
    """Of a printing only the first labels or cards came out.

    Where not all of a lot came, its earlier tags go on counting, and those that came stand beside them.
    """
    kept: list[Printed] = []
    short: set[str] = set()
    for line in lines_of(file, number):
        pieces = min(line.pieces, came)
        came -= pieces
        if pieces < line.pieces:
            short.add(line.lot_code)
        if pieces:
            kept.append(replace(line, count=min(line.count, pieces)))
    file.execute("DELETE FROM printed WHERE printing = ?", [number])
    _add_lines(
        file, number, [replace(line, replaces=line.replaces and line.lot_code not in short) for line in kept]
    )


def _add_lines(file: sqlite3.Connection, number: int, lines: Iterable[Printed]) -> None:
    rows = [(number, *row_of(line)) for line in lines]
    file.executemany(
        f"INSERT INTO printed (printing, {', '.join(COLUMNS)}) VALUES (?, {_places(COLUMNS)})", rows
    )


def _places(values: Iterable[object]) -> str:
    return ", ".join("?" for _ in values)


def _is_count(number: object) -> bool:
    return isinstance(number, int) and number > 0
