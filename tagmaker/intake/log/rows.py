"""The rows of a thermometer log, column by column, before anything in them is judged."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

from tagmaker.errors import InputProblems, Problem
from tagmaker.farm import Cooler
from tagmaker.intake.cells.plain_text import listed, shown, squash
from tagmaker.intake.log.cells import DistinctTexts, as_text, split_all, split_count, split_moment
from tagmaker.intake.log.columns import Layout
from tagmaker.intake.log.file import Table
from tagmaker.intake.log.naming import to_set

if TYPE_CHECKING:
    from numpy.typing import NDArray

_NAMED = 12  # probes that a message names at most (chosen)


@dataclass(frozen=True, slots=True)
class RawLog:
    """One table, every cell as text; row n is the n-th reading."""

    table: Table
    layout: Layout
    rows: NDArray[Any]  # where each reading stands in the table
    days: DistinctTexts
    clocks: DistinctTexts  # empty text: the date stands alone
    temperatures: DistinctTexts
    humidities: DistinctTexts | None
    units: DistinctTexts | None
    probes: DistinctTexts | None

    def __len__(self) -> int:
        return len(self.rows)

    def only(self, rows: NDArray[Any]) -> RawLog:
        """The log with some of its rows."""
        names = ("days", "clocks", "temperatures", "humidities", "units", "probes")
        columns = {name: getattr(self, name) for name in names}
        parts = {name: column.only(rows) for name, column in columns.items() if column is not None}
        return replace(self, rows=self.rows[rows], **parts)

    def time_at(self, row: int) -> str:
        """Where the time of a reading stands, as the grower sees it."""
        column = self.layout.time
        return self.table.cell_at(int(self.rows[row]), column.place, column.title)


def raw_log(table: Table, layout: Layout) -> RawLog:
    """The rows of a log from its first reading on; rows without time and temperature are passed over."""
    columns = (layout.time, layout.temperature, layout.clock, layout.humidity, layout.unit, layout.probe_name)
    time = layout.time.place
    cells = table.columns([column.place for column in columns if column], layout.first, time)
    degrees = DistinctTexts(cells[layout.temperature.place])
    blank = degrees.each(_is_blank, bool)
    if blank.any():
        blank[blank] = [_is_blank(as_text(cell)) for cell in cells[time][blank].tolist()]
    kept = (~blank).nonzero()[0]

    def texts(place: int) -> DistinctTexts:
        return DistinctTexts(cells[place][kept])

    days, clocks = split_all(cells[time][kept], split_count if layout.counted else split_moment)
    return RawLog(
        table,
        layout,
        kept + layout.first,
        days,
        texts(layout.clock.place) if layout.clock else clocks,
        degrees.only(kept),
        *(texts(column.place) if column else None for column in columns[3:]),
    )


def _is_blank(text: str) -> bool:
    return not text.strip()


def of_probe(raw: RawLog, cooler: Cooler) -> RawLog:
    """The rows of the probe that counts; all where the rows do not name one.

    Raises:
        InputProblems: they name several, and the settings none of them.
    """
    named = {text: squash(text) for text in raw.probes.texts} if raw.probes is not None else {}
    probe, single = cooler.probe, len(set(named.values())) < 2
    column = raw.layout.temperature
    if raw.probes is None or (
        single and (probe is None or squash(probe) in (squash(column.title), squash(column.name)))
    ):
        return raw
    if probe is not None and squash(probe) in named.values():
        return raw.only(raw.probes.each(lambda text: named[text] == squash(probe), bool).nonzero()[0])
    names = [shown(text.strip()) for text in named if text.strip()]
    more = [f"{len(names) - _NAMED} more"] if len(names) > _NAMED else []
    got = f"{len(names)}: {listed([*names[:_NAMED], *more], 'and')}"
    title = raw.layout.probe_name.name if raw.layout.probe_name else ""
    what = f"must be readings of one probe (got {got}, in the column {shown(title)})"
    remedy = f"Set {to_set(cooler, 'probe', f'{names[0]} or another')}."
    raise InputProblems([Problem(raw.table.where, what, remedy)])
