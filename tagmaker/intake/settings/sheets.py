"""The settings that the workbook itself carries: its sheets Farm, Uses and Coolers.

They become the plain values that the tables of the settings file would have, each with its cell, and go
through the same checks.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from tagmaker.errors import Problem
from tagmaker.intake.cells.plain_text import listed, nearest, shown, squash, tidy
from tagmaker.intake.columns import column_named
from tagmaker.intake.files.grid import Grid, Unread
from tagmaker.intake.files.sheet_file import HEAD_ROWS
from tagmaker.intake.files.workbook import Workbook
from tagmaker.intake.settings.cells import plain_value
from tagmaker.intake.settings.keys import (
    COOLER_KEYS,
    FARM_KEYS,
    FILE_ALONE,
    FILE_NAME,
    USE_KEYS,
    USUAL_COLUMNS,
)
from tagmaker.intake.settings.table import Cell, Named, Source

FARM, USES, COOLERS = "Farm", "Uses", "Coolers"
MEANING = "what it means"  # the column of the sheet Farm that explains its keys
USUAL = "usual"  # word before the column in a key of the sheet Farm: "usual stage"
NAME_OF = {USES: "use", COOLERS: "cooler"}  # the column that holds the names
KEYS_OF = {USES: USE_KEYS, COOLERS: COOLER_KEYS}
NOTE = "note"  # a column that is for the grower alone
_FARM_BY_WORD = {squash(key): key for key in FARM_KEYS}


@dataclass(frozen=True, slots=True)
class SheetSettings:
    """What the sheets say."""

    farm: tuple[Source, ...] = ()  # the sheet Farm, where there is one
    usual: tuple[Source, ...] = ()  # its keys "usual COLUMN", by column
    uses: tuple[Named, ...] = ()
    coolers: tuple[Named, ...] = ()


@dataclass(frozen=True, slots=True)
class _Table:
    """A sheet with its header."""

    grid: Grid
    header: int  # its row
    titles: tuple[str, ...]

    def place(self, title: str) -> int:
        """Where the column of a title stands."""
        return [squash(found) for found in self.titles].index(squash(title))

    def rows(self) -> Iterator[int]:
        """The rows below the header that are filled."""
        for row in range(self.header + 1, len(self.grid.rows)):
            if any(self.text(row, place) for place in range(len(self.titles))):
                yield row

    def text(self, row: int, place: int) -> str:
        """A cell as it is displayed."""
        return tidy(self.grid.shown_at(row, place))

    def cell(self, row: int, place: int) -> Cell:
        """A cell, for messages."""
        value, text = self.grid.rows[row][place], self.text(row, place)
        got = value.got if isinstance(value, Unread) else shown(text) if text else "nothing"
        return Cell(self.grid.cell_at(row, place, ""), got)

    def value(self, key: str, row: int, place: int) -> object:
        """The value of a filled cell."""
        return plain_value(key, self.grid.rows[row][place], self.text(row, place))


def sheet_settings(book: Workbook, problems: list[Problem]) -> SheetSettings:
    """The settings of a workbook; what is wrong with its sheets as such is noted.

    Raises:
        InputProblems: one of the sheets is damaged or too large.
    """
    farm, uses, coolers = (
        _table(book, name, needed, problems)
        for name, needed in (
            (FARM, ("key", "value")),
            (USES, (NAME_OF[USES],)),
            (COOLERS, (NAME_OF[COOLERS],)),
        )
    )
    keys, usual = _farm(farm, problems) if farm else ((), ())
    return SheetSettings(
        farm=keys,
        usual=usual,
        uses=tuple(_rows(uses, USES, problems)) if uses else (),
        coolers=tuple(_rows(coolers, COOLERS, problems)) if coolers else (),
    )


def _table(book: Workbook, name: str, needed: Sequence[str], problems: list[Problem]) -> _Table | None:
    """A sheet by its name; None where there is none, or an empty one."""
    named = [sheet for sheet in book.sheets if squash(sheet) == squash(name)]
    if len(named) > 1:
        what = f"must have one sheet {name} (got {listed(map(shown, named), 'and')})"
        problems.append(Problem(book.name, what, "Give the other one another name."))
    if not named:
        return None
    grid = book.grid(named[0])
    for index, values in enumerate(grid.rows[:HEAD_ROWS]):
        titles = tuple(tidy(grid.shown_at(index, place)) for place in range(len(values)))
        if {squash(word) for word in needed} <= {squash(title) for title in titles}:
            return _Table(grid, index, titles)
    if any(value not in ("", None) for values in grid.rows for value in values):
        what = f"must have a header with {listed(needed, 'and')} (got none)"
        problems.append(Problem(grid.where, what, "Write it above the rows, or give the sheet another name."))
    return None


def _farm(table: _Table, problems: list[Problem]) -> tuple[tuple[Source, ...], tuple[Source, ...]]:
    """The keys of the sheet Farm, and what it says of blank cells, by column."""
    key_at, value_at = table.place("key"), table.place("value")
    found: dict[bool, dict[str, object]] = {False: {}, True: {}}
    cells: dict[bool, dict[str, Cell]] = {False: {}, True: {}}
    for row in table.rows():
        word, value = table.text(row, key_at), table.text(row, value_at)
        column = _usual_column(word)
        key, is_usual = column or _FARM_BY_WORD.get(squash(word), ""), bool(column)
        if not value:
            if key:
                cells[is_usual].setdefault(key, table.cell(row, value_at))
        elif not key:
            problems.append(_unknown_key(table.cell(row, key_at), word))
        elif key in found[is_usual]:
            what = f"{word} must stand once with a value (got it again)"
            problems.append(Problem(table.cell(row, key_at).where, what, "Clear one of the two values."))
        else:
            found[is_usual][key] = table.value("" if is_usual else key, row, value_at)
            cells[is_usual][key] = table.cell(row, value_at)
    where = table.grid.where
    keys, usual = (Source(found[which], where, cells[which], in_cells=True) for which in (False, True))
    return (keys,), (usual,)


def _usual_column(word: str) -> str:
    """The column that a key such as "usual stage" is about; empty for other keys."""
    squashed = squash(word)
    column = column_named(squashed.removeprefix(USUAL)) if squashed.startswith(USUAL) else None
    return column if column in USUAL_COLUMNS else ""


def _unknown_key(cell: Cell, word: str) -> Problem:
    known = [*FARM_KEYS, *(f"{USUAL} {column}" for column in USUAL_COLUMNS)]
    near = nearest(word, known)
    remedy = f"The nearest known key is {near}." if near else f"Known keys: {listed(known, 'and')}."
    if squash(word) in map(squash, (USES, COOLERS)):
        remedy = f"Write a row for each into the sheet {word.capitalize()}."
    elif squash(word) in map(squash, FILE_ALONE):
        remedy = f"Write it into {FILE_NAME}; it is no key of this sheet."
    return Problem(cell.where, f"key must be a known key (got {cell.got})", remedy)


def _rows(table: _Table, sheet: str, problems: list[Problem]) -> Iterator[Named]:
    """The rows of Uses or Coolers, each with the cells of all its keys."""
    name_at, keys = table.place(NAME_OF[sheet]), _columns(table, sheet, problems)
    for row in table.rows():
        name = table.text(row, name_at)
        cells = {key: table.cell(row, place) for key, place in keys.items()}
        cells["name"] = table.cell(row, name_at)
        filled = {key: place for key, place in keys.items() if table.text(row, place)}
        if not name and filled:
            what = f"{NAME_OF[sheet]} must be given (got nothing)"
            problems.append(Problem(cells["name"].where, what, "Write its name, or clear the row."))
        elif name:
            content = {key: table.value(key, row, place) for key, place in filled.items()}
            yield Named(name, Source(content, table.grid.row_at(row), cells, in_cells=True))


def _columns(table: _Table, sheet: str, problems: list[Problem]) -> Mapping[str, int]:
    """The columns of a sheet, by key; a filled one that is none of them is noted."""
    known = {squash(key): key for key in KEYS_OF[sheet]}
    found: dict[str, int] = {}
    for place, title in enumerate(table.titles):
        word, where = squash(title), table.grid.cell_at(table.header, place, title)
        if word in (squash(NAME_OF[sheet]), NOTE) or not any(table.text(row, place) for row in table.rows()):
            if word in known:
                found.setdefault(known[word], place)
        elif word not in known:
            near = nearest(title, KEYS_OF[sheet])
            columns = f"Columns: {listed((NAME_OF[sheet], *KEYS_OF[sheet], NOTE), 'and')}."
            remedy = f"The nearest is {near}." if near else columns
            got = shown(title) if title else "nothing"
            problems.append(Problem(where, f"must be a known column (got {got})", remedy))
        elif known[word] in found:
            problems.append(
                Problem(where, f"{title} must be one column (got it again)", "Delete one of the two.")
            )
        else:
            found[known[word]] = place
    return found
