"""The header of a thermometer log and the columns below it.

Lines above the header and units below it are told from readings by what their cells look like.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import datetime

from tagmaker.intake.cells.plain_text import one_line, squash
from tagmaker.intake.files.grid import column_letters
from tagmaker.intake.log import titles
from tagmaker.intake.log.cells import Kind, kind_of, read_number, split_count
from tagmaker.intake.log.file import Table, filled

MOST_COLUMNS = 100  # that are looked at (chosen)
_ANY_YEAR = datetime(9000, 1, 1)
_TIMED = frozenset({Kind.MOMENT, Kind.DAY, Kind.CLOCK})


@dataclass(frozen=True, slots=True)
class Column:
    """A column of the table."""

    place: int  # counted from 0
    title: str  # as written, on one line; empty where there is none
    below: str = ""  # what stands between the title and the first reading
    name: str = ""  # how messages and settings call it
    kinds: tuple[Kind, ...] = ()  # of its filled cells in the first rows
    samples: tuple[str, ...] = ()  # those cells

    def is_mostly(self, *kinds: Kind) -> bool:
        """Whether at least half of its filled cells are of these kinds."""
        hits = sum(kind in kinds for kind in self.kinds)
        return hits > 0 and 2 * hits >= len(self.kinds)


def likeness(rows: Sequence[Sequence[str]]) -> int:
    """How many of the first rows look like readings: a date or time in one cell, a number in another.

    Words of a header count a little, so that a log without a reading still has its columns.
    """
    score = 0
    for row in rows[-20:]:
        kinds = [kind_of(cell, _ANY_YEAR) for cell in row[:MOST_COLUMNS]]
        score += 100 * (Kind.NUMBER in kinds and not _TIMED.isdisjoint(kinds))
    return score + max((len(_header_kinds(row)) for row in rows[:20]), default=0)


def _header_kinds(row: Iterable[str]) -> set[str]:
    """The quantities that the cells of a row name: more than one makes it a header."""
    found: set[str] = set()
    for cell in row:
        if len(cell) > 200 or not ("%" in cell or any(map(str.isalpha, cell))):
            continue
        if read_number(cell) is not None:
            continue
        if titles.is_humidity(cell):
            found.add("humidity")
        elif titles.is_temperature(cell):
            found.add("temperature")
        elif titles.is_time(cell):
            found.add("time")
    return found


def _header_row(rows: Sequence[Sequence[str]], now: datetime) -> int | None:
    """Index of the header: the last row above readings that names most quantities.

    Where no row names two, it is the row of words right above the readings, if there is one.
    """
    timed = [index for index, row in enumerate(rows) if _is_timed(row, now)]
    above = [row for index, row in enumerate(rows) if index < (timed[-1] if timed else len(rows))]
    most, index = max(((len(_header_kinds(row)), index) for index, row in enumerate(above)), default=(0, 0))
    if most >= 2:
        return index
    before = timed[0] - 1 if timed else 0
    return before if 0 <= before < len(rows) and any(map(str.strip, rows[before])) else None


def _is_timed(row: Sequence[str], now: datetime) -> bool:
    """Whether a row has a date or a time in a cell of its own."""
    kinds = {kind_of(cell, now) for cell in row[:MOST_COLUMNS]}
    return not _TIMED.isdisjoint(kinds) or any(split_count(cell) for cell in row[:MOST_COLUMNS])


def columns_of(table: Table, now: datetime) -> tuple[tuple[Column, ...], int, tuple[str, ...]]:
    """The columns, the row of the first reading, and the lines above the header."""
    header = _header_row(table.head, now)
    names = [one_line(cell) for cell in table.head[header]] if header is not None else []
    start = header + 1 if header is not None else 0
    first = next((row for row in range(start, len(table.head)) if _is_timed(table.head[row], now)), start)
    below, rows = table.head[start:first], table.head[first:]
    width = min(max([len(names), *(filled(row) for row in rows)], default=0), MOST_COLUMNS)
    columns = []
    for place in range(width):
        cells = [row[place] for row in rows if len(row) > place and row[place].strip()]
        under = " ".join(one_line(row[place]) for row in below if len(row) > place)
        title = names[place] if place < len(names) else ""
        kinds = tuple(kind_of(cell, now) for cell in cells)
        columns.append(Column(place, title, under.strip(), kinds=kinds, samples=tuple(cells)))
    above = tuple(one_line(" ".join(row)) for row in table.head[: header or 0])
    return _with_names(columns), first, above


def _with_names(columns: Sequence[Column]) -> tuple[Column, ...]:
    """The columns with a name each that no other has."""
    squashed = [squash(column.title) for column in columns]
    named = []
    for column in columns:
        letters = f"column {column_letters(column.place)}"
        doubled = squashed.count(squash(column.title)) > 1
        name = f"{column.title} ({letters})" if column.title and doubled else column.title or letters
        named.append(replace(column, name=name))
    return tuple(named)
