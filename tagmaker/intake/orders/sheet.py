"""The sheet Orders: from a workbook, or from orders.csv beside it, to written orders.

The steps are those of the lots: a grid, its header, its rows, every cell read by its own column, and
then the row as a whole. What is wrong is collected; a row with a problem is no order, the others are.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from tagmaker.errors import InputProblems, Problem
from tagmaker.farm import Farm
from tagmaker.intake.cells.plain_text import listed, shown, tidy
from tagmaker.intake.cells.reading import Reading
from tagmaker.intake.files.grid import Grid, text_of
from tagmaker.intake.files.sheet_file import HEAD_ROWS, SheetFile, read_text_grid
from tagmaker.intake.lots.entry import Row
from tagmaker.intake.lots.header import Header, find_header
from tagmaker.intake.lots.rows import doubled_columns, filled_rows, said_of_file
from tagmaker.intake.lots.unused import near_misses, said_of_unused, title_at, unused_columns
from tagmaker.intake.orders.columns import FILE_NAME, ORDERS, SHEET_NAME
from tagmaker.intake.orders.reading import read_orders
from tagmaker.lot import Lot
from tagmaker.storage.crops import CropTable
from tagmaker.storage.demand import WrittenOrder

REQUIRED = ("order", "leaves", "use")
COUNTS = ("stems", "bunches")  # one of them is required


@dataclass(frozen=True, slots=True)
class OpenOrders:
    """A sheet of orders as it stands in its file; its cells are not read yet."""

    grid: Grid | None = None  # None: there is none
    header: Header | None = None  # None: the sheet is empty, or has none
    rows: tuple[Row, ...] = ()
    faults: tuple[Problem, ...] = ()  # for which no row of it is read
    said: tuple[Problem, ...] = ()  # of the file


@dataclass(frozen=True, slots=True)
class OrderSheet:
    """What a sheet of orders holds."""

    orders: tuple[WrittenOrder, ...] = ()  # sound rows, in the order of the sheet; past and done ones too
    problems: tuple[Problem, ...] = ()  # of the other rows
    warnings: tuple[Problem, ...] = ()  # worth a word, but no fault


def orders_path(sheet: Path) -> Path:
    """Where orders may stand beside a sheet of lots, there or not."""
    return sheet.with_name(FILE_NAME)


def open_orders(file: SheetFile, farm: Farm) -> OpenOrders:
    """The orders that belong to a sheet of lots, which is open.

    They are the workbook's sheet Orders. Where it has none, and for lots that are a csv, they are
    `orders.csv` beside it. What is wrong with them stops no lot: it is in `faults`.
    """
    sheet, beside = file.path, orders_path(file.path)
    there = beside.is_file() and sheet.name != beside.name
    try:
        grid = file.named(SHEET_NAME)
        if grid is None:
            grid = read_text_grid(beside, lambda rows: len(_named(rows, farm))) if there else None
        elif there and not sheet.with_suffix(".csv").exists():
            return _opened(grid, farm, (_beside_unused(grid),))
    except InputProblems as error:
        return OpenOrders(faults=error.problems)
    return OpenOrders() if grid is None else _opened(grid, farm)


def _opened(grid: Grid, farm: Farm, said: tuple[Problem, ...] = ()) -> OpenOrders:
    texts = [[tidy(text_of(value)) for value in row] for row in grid.rows[:HEAD_ROWS]]
    if not any(value not in ("", None) for row in grid.rows for value in row):
        return OpenOrders(grid, said=said)
    header = find_header(texts, _own_names(farm), ORDERS)
    if header is None:
        what = f"must have a header row with the columns {_required()} (got no row with such names)"
        fault = Problem(grid.where, what, "Name the columns in the row above the orders.")
        return OpenOrders(grid, faults=(fault,), said=said)
    faults = (*_missing_columns(grid, header), *doubled_columns(grid, header))
    return OpenOrders(grid, header, tuple(filled_rows(grid, header, ("order",))), faults, said)


def _named(rows: Sequence[Sequence[str]], farm: Farm) -> Collection[str]:
    header = find_header(rows, _own_names(farm), ORDERS)
    return header.places if header else ()


def _own_names(farm: Farm) -> dict[str, str]:
    """The grower's own headers of columns that lots and orders have in common."""
    known = {column.name for column in ORDERS.columns}
    return {column: header for column, header in farm.columns.items() if column in known}


def _required() -> str:
    return f"{', '.join(REQUIRED)} and {listed(COUNTS)}"


def _missing_columns(grid: Grid, header: Header) -> Iterator[Problem]:
    titles = ", ".join(title for title in header.titles if title)
    wanted = [(name, (name,)) for name in REQUIRED]
    for name, columns in (*wanted, (listed(COUNTS), COUNTS)):
        if not any(column in header.places for column in columns):
            what = f"the header must have a column {name} (got {shown(titles)})"
            yield Problem(grid.row_at(header.row), what, f"Add it, or name it {columns[0]}.")


def _beside_unused(grid: Grid) -> Problem:
    what = f"not used, because the orders of {grid.where} count"
    return Problem(FILE_NAME, what, "Move its rows there, or take it out of the folder.")


def orders_of(
    opened: OpenOrders, lots: Sequence[Lot], farm: Farm, crops: CropTable, now: datetime
) -> OrderSheet:
    """The orders of an open sheet.

    Args:
        opened: the sheet
        lots: what the farm has, plans included: an order of a variety that none of it is, is said
        farm: the settings
        crops: the crop table
        now: naive local moment
    """
    grid, header = opened.grid, opened.header
    if opened.faults or grid is None or header is None:
        return OrderSheet(problems=opened.faults, warnings=opened.said)
    reading = Reading.begin(farm, crops, now)
    unused = unused_columns(grid, header, farm.ignored)
    missed = tuple(near_misses(grid, header, unused, reading, ORDERS))
    if missed:
        return OrderSheet(problems=missed, warnings=opened.said)
    orders, problems, warnings = read_orders(opened.rows, lots, reading)
    said = (
        *opened.said,
        *said_of_file(grid, header),
        *said_of_unused(grid.where, [title_at(header, index) for index in unused]),
    )
    return OrderSheet(tuple(orders), tuple(problems), (*said, *warnings))
