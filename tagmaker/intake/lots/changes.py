"""A sheet as it would be if some of its cells said something else, and rows had been added."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from functools import partial
from typing import TypeVar

from tagmaker.intake.lots.codes import code_of
from tagmaker.intake.lots.entry import Row
from tagmaker.intake.lots.sheet import OpenSheet

T = TypeVar("T")
Cells = Mapping[str, str]  # column -> text; "" clears it


def with_changes(
    sheet: OpenSheet, changes: Mapping[str, Cells], added: Sequence[Cells], by: str
) -> OpenSheet:
    """The sheet with other texts in cells of rows that go by their lot codes, and with more rows.

    Args:
        sheet: as it stands
        changes: lot code -> the cells that change
        added: the cells of rows that come to it
        by: who changes it, as messages say it: "journal"
    """
    rows = [
        row if row.cells.keys() == {"lot"} else _changed(sheet, row, changes.get(code_of(row), {}))
        for row in sheet.rows  # a code alone is no lot yet, even where another row has it
    ]
    last = max((row.number for row in rows), default=sheet.header.row + 1)
    for number, cells in enumerate(added, start=last + 1):
        place = f"{by}, lot {cells.get('lot', '')}"
        rows.append(_changed(sheet, Row(place, number, {}, partial(_nowhere, place)), cells))
    return replace(sheet, rows=tuple(rows))


def _nowhere(place: str, _: str) -> str:
    """Where the cells of a row stand that no file holds."""
    return place


def _changed(sheet: OpenSheet, row: Row, cells: Cells) -> Row:
    if not cells:
        return row
    titles = {column: sheet.header.titles[place] for column, place in sheet.header.places.items()}
    typed = {titles.get(column, column): text for column, text in cells.items()}
    return replace(row, cells=_filled({**row.cells, **cells}), typed=_filled({**row.typed, **typed}))


def _filled(cells: Mapping[str, T]) -> dict[str, T]:
    return {column: value for column, value in cells.items() if value not in ("", None)}
