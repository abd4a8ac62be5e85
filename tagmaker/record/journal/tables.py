"""The tables of a journal's file, and an entry as a line of them.

A published table is never changed: a later version adds to it and counts SCHEMA up.
"""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Mapping, Sequence
from datetime import datetime

from tagmaker.record.journal.book import Pair, Seen
from tagmaker.record.journal.entries import Entry, Kind, Topic

SCHEMA = 1
TABLES = """
CREATE TABLE entries (
    number INTEGER PRIMARY KEY,
    id TEXT NOT NULL UNIQUE,
    happened TEXT NOT NULL,      -- YYYY-MM-DDTHH:MM:SS, local time of the farm
    happened_utc TEXT NOT NULL,
    recorded TEXT NOT NULL,
    recorded_utc TEXT NOT NULL,
    lot TEXT NOT NULL,
    kind TEXT NOT NULL,
    stems INTEGER,
    cooler TEXT NOT NULL,
    place TEXT NOT NULL,
    device TEXT NOT NULL,
    undoes INTEGER,
    details TEXT NOT NULL        -- JSON
);
CREATE TRIGGER entries_stay BEFORE UPDATE ON entries BEGIN SELECT raise(ABORT, 'never edited'); END;
CREATE TRIGGER entries_last BEFORE DELETE ON entries BEGIN SELECT raise(ABORT, 'never removed'); END;
CREATE INDEX entries_recorded ON entries (recorded_utc);
CREATE TABLE facts (key TEXT PRIMARY KEY, value TEXT NOT NULL); -- name, keeper, clock
CREATE TABLE pairs (
    id INTEGER PRIMARY KEY,
    lot TEXT NOT NULL,
    topic TEXT NOT NULL,
    cells TEXT NOT NULL,         -- what the row's cells of that topic say
    counts INTEGER,              -- number in its column journal; NULL: blank
    includes INTEGER NOT NULL,   -- last entry that these cells count already
    accepted TEXT NOT NULL
);
CREATE TABLE seen (
    sheet TEXT NOT NULL, lot TEXT NOT NULL, cells TEXT NOT NULL, stems_left INTEGER, moment TEXT NOT NULL,
    PRIMARY KEY (sheet, lot)
);
"""
FIELDS = (
    "number, id, happened, happened_utc, recorded, recorded_utc, lot, kind, stems, cooler, place, device, "
    "undoes, details"
)


def statements() -> list[str]:
    """The tables one by one: `executescript` would end the transaction."""
    parts, found = "", []
    for line in TABLES.strip().splitlines():
        parts += f"{line}\n"
        if sqlite3.complete_statement(parts):
            found.append(parts)
            parts = ""
    return found


def entry_of(row: Sequence[object]) -> Entry:
    """A row as it was found; anything may stand in it."""
    number, name, *moments, lot, kind, stems, cooler, place, device, undoes, details = row
    happened, happened_utc, recorded, recorded_utc = (datetime.fromisoformat(str(at)) for at in moments)
    for count in (number, stems or 0, undoes or 0):
        if not isinstance(count, int):
            raise TypeError(f"a number must be whole (got {count!r})")
    more = json.loads(str(details))
    if not isinstance(more, Mapping):
        raise TypeError(f"details must be a table (got {details!r})")
    return Entry(
        number=number,  # type: ignore[arg-type]  # checked above
        id=str(name),
        happened=happened,
        happened_utc=happened_utc,
        recorded=recorded,
        recorded_utc=recorded_utc,
        lot=str(lot),
        kind=Kind(str(kind)),
        stems=stems,  # type: ignore[arg-type]
        cooler=str(cooler),
        place=str(place),
        device=str(device),
        undoes=undoes,  # type: ignore[arg-type]
        details=more,
    )


def row_of(entry: Entry) -> tuple[object, ...]:
    """An entry as it is stored, in the order of FIELDS."""
    moments = (entry.happened, entry.happened_utc, entry.recorded, entry.recorded_utc)
    details = json.dumps(dict(entry.details), sort_keys=True, ensure_ascii=False)
    about = (entry.lot, entry.kind.value, entry.stems, entry.cooler, entry.place, entry.device, entry.undoes)
    return (entry.number, entry.id, *(at.isoformat() for at in moments), *about, details)


def pairs_in(file: sqlite3.Connection) -> tuple[Pair, ...]:
    """What was accepted, in the order of acceptance."""
    columns = "lot, topic, cells, counts, includes, accepted"
    found = file.execute(f"SELECT {columns} FROM pairs ORDER BY id").fetchall()
    return tuple(
        Pair(lot, Topic(topic), cells, counts, includes, datetime.fromisoformat(accepted))
        for lot, topic, cells, counts, includes, accepted in found
    )


def seen_in(file: sqlite3.Connection) -> tuple[Seen, ...]:
    """The rows as they were last read."""
    found = file.execute("SELECT sheet, lot, cells, stems_left, moment FROM seen ORDER BY rowid").fetchall()
    return tuple(
        Seen(sheet, lot, cells, left, datetime.fromisoformat(at)) for sheet, lot, cells, left, at in found
    )
