"""Codes of lots: read from their cells, proposed where they are missing."""

from __future__ import annotations

import re
from datetime import date, time

from tagmaker.errors import Problem
from tagmaker.intake.cells import readers as cells
from tagmaker.intake.cells.unfit import UnfitCellError
from tagmaker.intake.files.grid import got, text_of
from tagmaker.intake.lots.entry import Row


def code_of(row: Row) -> str:
    """The lot code of a row; "" where it is blank or unreadable."""
    try:
        return _checked_code(row)
    except UnfitCellError:
        return ""


def _checked_code(row: Row) -> str:
    value = row.cells.get("lot", "")
    if isinstance(value, date | time):
        remedy = "The spreadsheet took the code for a date: format the column as text and type it again."
        raise UnfitCellError("a code", remedy)
    cells.check_characters(text_of(value))
    return cells.lot_code(text_of(value))


def code_problem(row: Row, taken: set[str]) -> Problem:
    """The problem of a row whose lot code is blank or unreadable; a free one is proposed and taken."""
    if "lot" not in row.cells:
        free = next_free_code(taken)
        taken.add(free)
        what = "lot must be filled in (got nothing)"
        return row.problem("lot", what, f"Write {free}, the next free code, or clear the row.", "")
    try:
        _checked_code(row)
    except UnfitCellError as unfit:
        found = "" if unfit.complete else f" (got {got(row.cells['lot'])})"
        return row.problem("lot", f"lot must be {unfit.must}{found}", unfit.remedy, "")
    raise AssertionError("only rows without a readable code come here")


def next_free_code(taken: set[str]) -> str:
    """A code that no row has yet: one above the highest of the commonest kind.

    >>> next_free_code({"041", "042", "T-7"})
    '043'
    """
    numbered = [match for match in (re.fullmatch(r"(.*?)(\d{1,9})", code) for code in sorted(taken)) if match]
    if not numbered:
        return "001"
    prefixes = [match[1] for match in numbered]
    prefix = max(sorted(set(prefixes)), key=prefixes.count)
    highest = max((match[2] for match in numbered if match[1] == prefix), key=int)
    free = f"{prefix}{int(highest) + 1:0{len(highest)}}"
    return free if len(free) <= cells.MOST_CODE_LETTERS else f"N{len(taken) + 1}"
