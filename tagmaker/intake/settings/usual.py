"""What a blank cell of the lot sheet means: `[usual]` of the file, "usual COLUMN" of the sheet Farm."""

from __future__ import annotations

from tagmaker.errors import Problem
from tagmaker.intake.cells.plain_text import listed, nearest, shown
from tagmaker.intake.columns import column_named
from tagmaker.intake.settings import values
from tagmaker.intake.settings.keys import USUAL_COLUMNS
from tagmaker.intake.settings.sheets import SheetSettings
from tagmaker.intake.settings.table import NOTHING, Cell, SettingsTable, Source, contradiction
from tagmaker.intake.settings.values import UnfitValueError


def usual_cells(
    top: SettingsTable, sheets: SheetSettings, problems: list[Problem]
) -> tuple[dict[str, str], dict[str, str]]:
    """Text for a blank cell, by column, and where it is said; judged with the cells of the lots."""
    usual: dict[str, str] = {}
    said: dict[str, Cell] = {}
    for source in (*sheets.usual, Source(top.read("usual", values.table, NOTHING), f"{top.where}, [usual]")):
        for key in source.content:
            column, cell = column_named(key), source.cell(key)
            if column not in USUAL_COLUMNS:
                problems.append(_unknown(key, cell))
                continue
            try:
                text = values.plain_cell(source.content[key])
            except UnfitValueError as unfit:
                must, remedy = unfit.said(source.in_cells)
                problems.append(Problem(cell.where, f"{key} must {must} (got {cell.got})", remedy))
                continue
            if text != usual.setdefault(column, text):
                problems.append(contradiction(column, said[column], cell))
            said.setdefault(column, cell)
    return usual, {column: cell.where for column, cell in said.items()}


def _unknown(key: str, cell: Cell) -> Problem:
    near = nearest(key, USUAL_COLUMNS)
    remedy = f"Columns that can have one: {listed(USUAL_COLUMNS, 'and')}."
    what = f"must be a column with a usual value (got {shown(key)})"
    return Problem(cell.where, what, f"The nearest is {near}. {remedy}" if near else remedy)
