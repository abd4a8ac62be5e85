"""One row of the lot sheet, every cell read by its own column; blank cells are None."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from typing import Generic, TypeVar

from tagmaker.errors import Problem
from tagmaker.intake.cells import readers as cells
from tagmaker.intake.cells.dates import SheetCut, SheetDate
from tagmaker.intake.cells.lists import Share, SheetMove, SheetOrder
from tagmaker.intake.cells.readers import Amount
from tagmaker.intake.cells.reading import Reading
from tagmaker.intake.cells.unfit import UnfitCellError
from tagmaker.intake.columns import COLUMNS
from tagmaker.intake.files.grid import CellValue, Unread, got
from tagmaker.intake.lots.column import Column
from tagmaker.lot import BunchTest, StorageCode, Surface

T = TypeVar("T")


@dataclass(frozen=True, slots=True)
class Row:
    """A row of the sheet: its known cells and where they stand."""

    where: str  # file, sheet and row
    number: int  # row of the sheet, counted from 1
    cells: Mapping[str, CellValue]  # filled cells, by column; text is tidied
    place: Callable[[str], str]  # column -> file, sheet and cell, also of a blank one
    typed: Mapping[str, str] = field(default_factory=dict)  # header -> text of every filled cell

    def problem(self, column: str, what: str, remedy: str, lot: str) -> Problem:
        """A problem with one of its cells; a row without a code goes by its number."""
        return Problem(self.place(column), what, remedy, lot or f"row {self.number}")


class _Value(Generic[T]):
    """What an entry says in one column; None where it is blank or could not be read."""

    def __init__(self, column: str) -> None:
        self._column = column

    def __get__(self, entry: Entry, _: type[Entry]) -> T | None:
        return entry.values.get(self._column)  # type: ignore[return-value]  # as its column reads it


@dataclass(frozen=True, slots=True, kw_only=True)
class Entry:
    """A row as read: what the grower wrote, in the units of `Lot`, nothing added.

    The columns that are judged with the rest of the row have a name here; the others go to the lot as
    they are.
    """

    row: Row
    lot: str = ""  # empty: blank or unreadable
    values: Mapping[str, object] = field(default_factory=dict)  # column -> meaning of its filled cell
    form_assumed: bool = False
    faulty: frozenset[str] = frozenset()  # columns whose cell could not be read

    crop = _Value[str]("crop")
    form = _Value[str]("form")  # as written: it is judged together with the crop
    cut = _Value[SheetCut]("cut")
    stems = _Value[Amount]("stems")
    per_bunch = _Value[int]("per bunch")
    bulb = _Value[bool]("bulb")
    storage = _Value[StorageCode]("storage")
    place = _Value[str]("place")
    field_c = _Value[float]("field")  # [°C]
    surface = _Value[Surface]("surface")
    cooler = _Value[str]("cooler")
    in_cooler = _Value[SheetDate]("in cooler")
    in_water = _Value[SheetDate]("in water")
    moved = _Value[tuple[SheetMove, ...]]("moved")
    tested = _Value[tuple[BunchTest, ...]]("tested")
    use = _Value[str]("use")
    needed = _Value[tuple[SheetOrder, ...]]("needed")
    gone = _Value[Amount]("gone")
    dumped = _Value[Amount]("dumped")
    shares = _Value[tuple[Share, ...]]("split from")

    @property
    def split_from(self) -> tuple[Share, ...]:
        """The lots that it was split from."""
        return self.shares or ()

    def got(self, column: str) -> str:
        """The cell of a column as messages repeat it."""
        return got(self.row.cells.get(column))


def read_entry(row: Row, reading: Reading, lot: str = "") -> tuple[Entry, list[Problem]]:
    """The entry of a row, and the problems of its cells.

    Args:
        row: the row; its lot code has been read already.
        reading: the farm, the crop table and now.
        lot: its code, "" where it has none.
    """
    columns = [column for column in COLUMNS if column.name != "lot"]
    values, faulty = read_cells(row, columns, reading, lot)
    return Entry(row=row, lot=lot, values=values, faulty=frozenset(faulty)), list(faulty.values())


def read_cells(
    row: Row, columns: Iterable[Column], reading: Reading, lot: str = ""
) -> tuple[dict[str, object], dict[str, Problem]]:
    """What the filled cells of a row mean, by column; and the problems of those that cannot be read."""
    values: dict[str, object] = {}
    faulty: dict[str, Problem] = {}
    for column in columns:
        value = row.cells.get(column.name)
        if value is None:
            continue
        try:
            values[column.name] = read_cell(value, column, reading)
        except UnfitCellError as unfit:
            found = "" if unfit.complete else f" (got {got(value)})"
            what = f"{column.name} must be {unfit.must}{found}"
            faulty[column.name] = row.problem(column.name, what, unfit.remedy, lot)
    return values, faulty


def read_cell(value: CellValue, column: Column, reading: Reading) -> object:
    """What a filled cell means.

    Raises:
        UnfitCellError: it is not what its column must hold.
    """
    if isinstance(value, Unread):
        raise UnfitCellError("a value", "Type it, or save the sheet again where its formulas are calculated.")
    if isinstance(value, str):
        cells.check_characters(value)
    return column.read(value, reading)
