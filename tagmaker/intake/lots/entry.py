"""One row of the lot sheet, every cell read by its own column; blank cells are None."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from datetime import datetime
from typing import TypeVar

from tagmaker.errors import Problem
from tagmaker.farm import Farm
from tagmaker.intake.cells import lists as list_cells
from tagmaker.intake.cells import readers as cells
from tagmaker.intake.cells.dates import DateColumn, SheetDate
from tagmaker.intake.cells.lists import Share, SheetMove, SheetOrder
from tagmaker.intake.cells.readers import Amount
from tagmaker.intake.cells.unfit import UnfitCellError
from tagmaker.intake.files.grid import CellValue, Unread, got, text_of
from tagmaker.lot import Stage, StorageCode, Surface
from tagmaker.storage.crops import CropTable

T = TypeVar("T")


@dataclass(frozen=True, slots=True)
class Reading:
    """What the cells are read with."""

    farm: Farm
    crops: CropTable
    now: datetime
    dates: Mapping[str, DateColumn] = field(default_factory=dict)  # by column

    @classmethod
    def begin(cls, farm: Farm, crops: CropTable, now: datetime) -> Reading:
        """A reading that has seen no cell yet; seconds of now do not count."""
        now = now.replace(second=0, microsecond=0)
        columns = ("cut", "in cooler", "in water", "moved", "needed")
        return cls(farm, crops, now, {name: DateColumn(name, farm.day_first, now) for name in columns})


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


@dataclass(frozen=True, slots=True, kw_only=True)
class Entry:
    """A row as read: what the grower wrote, in the units of `Lot`, nothing added."""

    row: Row
    lot: str = ""  # empty: blank or unreadable
    crop: str | None = None
    variety: str | None = None
    form: str | None = None  # as written: it is judged together with the crop
    form_assumed: bool = False
    colour: str | None = None
    cut: SheetDate | None = None
    stage: Stage | None = None
    stems: Amount | None = None
    per_bunch: int | None = None
    bulb: bool | None = None
    storage: StorageCode | None = None
    field_c: float | None = None  # [°C]
    surface: Surface | None = None
    cooler: str | None = None
    place: str | None = None
    in_cooler: SheetDate | None = None
    in_water: SheetDate | None = None
    moved: tuple[SheetMove, ...] | None = None
    use: str | None = None
    needed: tuple[SheetOrder, ...] | None = None
    gone: Amount | None = None
    dumped: Amount | None = None
    split_from: tuple[Share, ...] = ()
    vase_days_seen: str | None = None
    why_dumped: str | None = None
    note: str | None = None
    faulty: frozenset[str] = frozenset()  # columns whose cell could not be read

    def got(self, column: str) -> str:
        """The cell of a column as messages repeat it."""
        return got(self.row.cells.get(column))


class _CellReader:
    """Reads the cells of one row and collects what is wrong with them."""

    def __init__(self, row: Row, lot: str) -> None:
        self._row, self._lot = row, lot
        self.problems: list[Problem] = []
        self.faulty: set[str] = set()

    def text(self, column: str, reader: Callable[[str], T]) -> T | None:
        """What the text of a cell means; None where it is blank or unfit."""
        return self.value(column, lambda value: reader(text_of(value)))

    def value(self, column: str, reader: Callable[[CellValue], T]) -> T | None:
        """What a cell means; None where it is blank or unfit."""
        value = self._row.cells.get(column)
        if value is None:
            return None
        try:
            if isinstance(value, Unread):
                raise UnfitCellError(
                    "a value", "Type it, or save the sheet again where its formulas are calculated."
                )
            if isinstance(value, str):
                cells.check_characters(value)
            return reader(value)
        except UnfitCellError as unfit:
            found = "" if unfit.complete else f" (got {got(self._row.cells[column])})"
            what = f"{column} must be {unfit.must}{found}"
            self.problems.append(self._row.problem(column, what, unfit.remedy, self._lot))
            self.faulty.add(column)
            return None


def read_entry(row: Row, reading: Reading, lot: str = "") -> tuple[Entry, list[Problem]]:
    """The entry of a row, and the problems of its cells.

    Args:
        row: the row; its lot code has been read already.
        reading: the farm, the crop table and now.
        lot: its code, "" where it has none.
    """
    farm, crops, dates = reading.farm, reading.crops, reading.dates
    cell = _CellReader(row, lot)
    text, value, most = cell.text, cell.value, cells.MOST_STEMS
    entry = Entry(
        row=row,
        lot=lot,
        crop=text("crop", lambda word: cells.crop_name(word, crops)),
        variety=text("variety", cells.name_text),
        form=text("form", cells.name_text),
        colour=text("colour", cells.name_text),
        cut=value("cut", dates["cut"].read),
        stage=text("stage", cells.stage),
        stems=text("stems", lambda word: cells.amount(word, 1, most)),
        per_bunch=text("per bunch", cells.per_bunch),
        bulb=text("bulb", cells.bulb),
        storage=text("storage", cells.storage),
        field_c=text("field", lambda word: cells.field_temperature(word, farm.units)),
        surface=text("surface", cells.surface),
        cooler=text("cooler", lambda word: cells.name_among(word, farm.coolers, "cooler")),
        place=text("place", cells.name_text),
        in_cooler=value("in cooler", dates["in cooler"].read),
        in_water=value("in water", dates["in water"].read),
        moved=value("moved", lambda cell: list_cells.moves(cell, dates["moved"], farm.coolers, farm.units)),
        use=text("use", lambda word: cells.name_among(word, farm.uses, "use")),
        needed=value("needed", lambda cell: list_cells.orders(cell, dates["needed"], farm.uses)),
        gone=text("gone", lambda word: cells.amount(word, 0, most, all_allowed=True)),
        dumped=text("dumped", lambda word: cells.amount(word, 0, most, all_allowed=True)),
        split_from=value("split from", list_cells.shares) or (),
        vase_days_seen=text("vase days seen", cells.note_text),
        why_dumped=text("why dumped", cells.note_text),
        note=text("note", cells.note_text),
    )
    return replace(entry, faulty=frozenset(cell.faulty)), cell.problems
