"""The rows of a thermometer log, column by column, before anything in them is judged."""

from __future__ import annotations

from array import array
from collections.abc import Sequence
from dataclasses import dataclass, field
from itertools import dropwhile, islice

from tagmaker.errors import InputProblems, Problem
from tagmaker.intake.cells.plain_text import listed, shown, squash
from tagmaker.intake.log.cells import DistinctTexts, split_all, split_count, split_moment
from tagmaker.intake.log.columns import Layout
from tagmaker.intake.log.naming import cooler_key
from tagmaker.intake.log.table import Row, Table, too_many

_BATCH = 512  # rows handled at a time (measured: more of them no longer fit the processor's cache)
_NAMED = 12  # probes that a message names at most (chosen)


@dataclass(slots=True)
class RawLog:
    """One table, every cell as text; row n is the n-th reading."""

    table: Table
    layout: Layout
    days: DistinctTexts = field(default_factory=DistinctTexts)
    clocks: DistinctTexts = field(default_factory=DistinctTexts)  # empty text: the date stands alone
    temperatures: DistinctTexts = field(default_factory=DistinctTexts)
    humidities: DistinctTexts = field(default_factory=DistinctTexts)  # empty without such a column
    units: DistinctTexts = field(default_factory=DistinctTexts)  # the same
    probes: DistinctTexts = field(default_factory=DistinctTexts)  # the same
    lines: array[int] = field(default_factory=lambda: array("i"))

    def __len__(self) -> int:
        return len(self.lines)

    def only(self, rows: Sequence[int]) -> RawLog:
        """The log with some of its rows."""
        part = RawLog(
            self.table,
            self.layout,
            days=self.days.only(rows),
            clocks=self.clocks.only(rows),
            temperatures=self.temperatures.only(rows),
            humidities=self.humidities.only(rows),
            units=self.units.only(rows),
            probes=self.probes.only(rows),
        )
        part.lines.extend(self.lines[row] for row in rows)
        return part

    def time_at(self, row: int) -> str:
        """Where the time of a row stands, as the grower sees it."""
        column = self.layout.time
        return self.table.cell_at(self.lines[row], column.place, column.title)


def raw_log(table: Table, layout: Layout, most_rows: int) -> RawLog:
    """The rows of a log from its first reading on; rows without time and temperature are passed over.

    Raises:
        InputProblems: there are more than the limit.
    """
    raw = RawLog(table, layout)
    split = split_count if layout.counted else split_moment
    time, degrees = layout.time.place, layout.temperature.place
    clock = layout.clock.place if layout.clock else None
    others = [
        (column.place, texts)
        for column, texts in (
            (layout.humidity, raw.humidities),
            (layout.unit, raw.units),
            (layout.probe_name, raw.probes),
        )
        if column is not None
    ]
    width = 1 + max(time, degrees, clock or 0, *(place for place, _ in others), 0)
    numbered = dropwhile(lambda row: row[0] < layout.first, table.rows())
    while batch := list(islice(numbered, _BATCH)):
        lines, rows = _with_readings(batch, width, time, degrees)
        days, clocks = split_all([row[time] for row in rows], split)
        raw.lines.extend(lines)
        raw.days.extend(days, lines)
        raw.clocks.extend(clocks if clock is None else [row[clock] for row in rows], lines)
        raw.temperatures.extend([row[degrees] for row in rows], lines)
        for place, texts in others:
            texts.extend([row[place] for row in rows], lines)
        if len(raw) > most_rows:
            raise too_many(table.name)
    return raw


def _with_readings(
    batch: Sequence[Row], width: int, time: int, degrees: int
) -> tuple[list[int], list[list[str]]]:
    """Lines and cells of the rows that have a time or a temperature, filled up to a width."""
    if min(len(row) for _, row in batch) < width:
        batch = [(line, row + [""] * (width - len(row))) for line, row in batch]
    if any(not text.strip() for text in {row[degrees] for _, row in batch}):
        batch = [(line, row) for line, row in batch if row[degrees].strip() or row[time].strip()]
    return [line for line, _ in batch], [row for _, row in batch]


def of_probe(raw: RawLog, probe: str | None, cooler: str) -> RawLog:
    """The rows of the probe that counts; all where the rows do not name one.

    Raises:
        InputProblems: they name several, and the settings none of them.
    """
    named = {text: squash(text) for text in raw.probes.index}
    single = len(set(named.values())) < 2
    column = raw.layout.temperature
    if not named or (
        single and (probe is None or squash(probe) in (squash(column.title), squash(column.name)))
    ):
        return raw
    if probe is not None and squash(probe) in named.values():
        wanted = {code for text, code in raw.probes.index.items() if named[text] == squash(probe)}
        return raw.only([row for row, code in enumerate(raw.probes.codes) if code in wanted])
    names = [shown(text.strip()) for text in raw.probes.index if text.strip()]
    more = [f"{len(names) - _NAMED} more"] if len(names) > _NAMED else []
    got = f"{len(names)}: {listed([*names[:_NAMED], *more], 'and')}"
    title = raw.layout.probe_name.name if raw.layout.probe_name else ""
    what = f"must be readings of one probe (got {got}, in the column {shown(title)})"
    remedy = f"Set probe = {names[0]} or another under {cooler_key(cooler)} in tagmaker.toml."
    raise InputProblems([Problem(raw.table.where, what, remedy)])
