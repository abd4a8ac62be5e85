"""One table of the settings: its keys read one by one, and all that is wrong with them collected.

A key may be said in two places, in a sheet of the workbook and in the settings file: then both must say
the same.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import TypeVar

from tagmaker.errors import Problem
from tagmaker.intake.cells.plain_text import listed, nearest, shown, squash
from tagmaker.intake.settings import values
from tagmaker.intake.settings.values import UnfitValueError

NOTHING: Mapping[str, object] = {}

T = TypeVar("T")


@dataclass(frozen=True, slots=True)
class Cell:
    """What stands somewhere in the settings."""

    where: str  # the cell, or the table of the file, as the grower sees it
    got: str  # as messages repeat it


@dataclass(frozen=True, slots=True)
class Source:
    """What one place says: a table of the settings file, or a sheet or row of the workbook."""

    content: Mapping[str, object]  # key -> value, as TOML would give it
    where: str
    cells: Mapping[str, Cell] = field(default_factory=dict)  # of its keys, blank ones too; none in a file
    in_cells: bool = False

    def cell(self, key: str) -> Cell:
        """Where a key stands, or would stand, and what is there."""
        if key in self.cells:
            return self.cells[key]
        return Cell(self.where, written(self.content[key]) if key in self.content else "nothing")


@dataclass(frozen=True, slots=True)
class Named:
    """A row of the workbook that stands for a named table, such as a cooler."""

    name: str
    source: Source


class SettingsTable:
    """One table: reads its keys and collects what is wrong with them."""

    def __init__(self, sources: Sequence[Source], keys: Sequence[str], problems: list[Problem]) -> None:
        """Take the places that say something of it, the settings file last."""
        self.sources, self._problems = tuple(sources), problems
        self.content: Mapping[str, object] = {
            key: value for source in reversed(self.sources) for key, value in source.content.items()
        }
        for source in self.sources:
            for key in source.content:
                if key not in keys:
                    near = nearest(key, keys)
                    known = f"Known keys: {listed(keys, 'and')}."
                    remedy = f"The nearest known key is {near}." if near else known
                    self._note(source, key, "be a known key", remedy)

    @property
    def where(self) -> str:
        """Where the table stands in the settings file."""
        return self.sources[-1].where

    def place(self, key: str) -> str:
        """Where a key stands, or else where it would be written."""
        source = next((source for source in self.sources if key in source.content), self.sources[0])
        return source.cells[key].where if key in source.cells else f"{source.where}, {key}"

    def read(self, key: str, reader: Callable[[object], T], default: T) -> T:
        """The value of a key, or its default where it is missing or wrong."""
        found: list[tuple[Source, T]] = []
        for source in self.sources:
            if key not in source.content:
                continue
            try:
                found.append((source, reader(source.content[key])))
            except UnfitValueError as unfit:
                self._note(source, key, *unfit.said(source.in_cells))
        if len(found) == 2 and found[0][1] != found[1][1]:
            self._problems.append(contradiction(key, *(source.cell(key) for source, _ in found)))
        return found[0][1] if found else default

    def refuse(self, key: str, must: str, remedy: str) -> None:
        """Note a problem with a key that is given, or should be."""
        given = [source for source in self.sources if key in source.content]
        self._note((given or self.sources)[0], key, must, remedy)

    def _note(self, source: Source, key: str, must: str, remedy: str) -> None:
        cell = source.cell(key)
        self._problems.append(Problem(cell.where, f"{key} must {must} (got {cell.got})", remedy))


def contradiction(key: str, sheet: Cell, file: Cell) -> Problem:
    """The problem of a key about which sheet and file differ."""
    what = f"{key} must be the same as in {file.where} (got {sheet.got} here, and {file.got} there)"
    return Problem(sheet.where, what, "Clear the cell, or take the key out of the file.")


def written(value: object) -> str:
    """A value as it stands in the file, shortened."""
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, str):
        return shown(value)
    return shown(str(value)).strip('"').replace("'", '"')


def named_tables(
    top: SettingsTable,
    key: str,
    keys: Sequence[str],
    problems: list[Problem],
    rows: Sequence[Named] = (),
) -> dict[str, SettingsTable]:
    """The tables `[key.NAME]` and the rows of the workbook that stand for some, by name.

    Names are checked; a row and a table of the same name are one, in the order of the rows.
    """
    found: dict[str, tuple[str, list[Source]]] = {}
    for entry in (*rows, *_of_file(top, key, problems)):
        source, word = entry.source, squash(entry.name)
        name, others = found.get(word, (entry.name, []))
        fault = _fault(key, entry.name)
        if not fault and any(other.in_cells == source.in_cells for other in others):
            fault = f"the name must differ from {shown(name)} in more than case, spaces and punctuation"
        if fault:
            what = f"{fault} (got {shown(entry.name)})"
            problems.append(Problem(source.cell("name").where, what, "Choose another name."))
        else:
            found[word] = name, [*others, source]
    return {name: SettingsTable(sources, keys, problems) for name, sources in found.values()}


def _of_file(top: SettingsTable, key: str, problems: list[Problem]) -> Iterator[Named]:
    """The tables of the settings file."""
    for name, content in top.read(key, values.table, NOTHING).items():
        where = f"{top.where}, [{key}.{name if name and squash(name) == name else shown(name)}]"
        if isinstance(content, dict):
            yield Named(name, Source(content, where))
        elif not _fault(key, name):
            what = f"must be a table (got {written(content)})"
            problems.append(Problem(where, what, f"Write [{key}.{name}] and its keys below it."))


def _fault(key: str, name: str) -> str:
    """What is wrong with the name of a table; empty where nothing is."""
    if not any(letter.isalpha() for letter in name) or re.search(r"[;,\n]", name):
        return "the name must have letters in it, and no comma or semicolon"
    if len(name) > values.MOST_NAME_LETTERS:
        return f"the name must be at most {values.MOST_NAME_LETTERS} letters"
    if key == "coolers" and squash(name) == "out":
        return 'the name must not be "out", which stands for outside any cooler'
    return ""
