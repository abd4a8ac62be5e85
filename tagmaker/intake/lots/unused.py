"""Filled columns that are not used: said on every run, refused where they look like a known one."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from tagmaker.errors import Problem
from tagmaker.intake.cells.plain_text import shown, squash
from tagmaker.intake.cells.reading import Reading
from tagmaker.intake.cells.unfit import DateFaultError, UnfitCellError
from tagmaker.intake.columns import LOTS
from tagmaker.intake.files.grid import CellValue, Grid, column_letters
from tagmaker.intake.lots.column import Column, ColumnTable
from tagmaker.intake.lots.entry import read_cell
from tagmaker.intake.lots.header import Header
from tagmaker.intake.settings.keys import FILE_NAME

_JUDGED_CELLS = 200  # of a column, from the first row on (chosen)
_SHORT = 6  # letters of a name in which one may be wrong; in longer ones two (chosen)


def title_at(header: Header, index: int) -> str:
    """The header of a column, or its letter where it has none of its own."""
    title = header.titles[index] if index < len(header.titles) else ""
    if title and header.titles.index(title) == index:
        return title
    return f"{title} {column_letters(index)}".strip()


def unused_columns(grid: Grid, header: Header, ignored: Iterable[str]) -> list[int]:
    """The filled columns, counted from 0, that are none of the known ones and not to be ignored."""
    quiet = {squash(title) for title in ignored}
    used = set(header.places.values())
    filled = {
        index
        for row in grid.rows[header.row + 1 :]
        for index, value in enumerate(row)
        if index not in used and value not in ("", None)
    }
    return sorted(index for index in filled if squash(title_at(header, index)) not in quiet)


def said_of_unused(where: str, titles: Sequence[str]) -> Iterator[Problem]:
    """The word on columns that are not used."""
    if titles:
        listing = ", ".join(f'"{title}"' for title in titles)
        remedy = f"Say in {FILE_NAME} what it is, or that it needs no word: [columns] ignore = [{listing}]."
        yield Problem(where, f"{', '.join(titles)}: not used", remedy)


def near_misses(
    grid: Grid, header: Header, unused: Sequence[int], reading: Reading, table: ColumnTable = LOTS
) -> Iterator[Problem]:
    """Columns that are not used though header and cells look like one that is missing."""
    missing = [column for column in table.columns if column.name not in header.places]
    for index in unused:
        title = title_at(header, index)
        values = [row[index] for row in grid.rows[header.row + 1 :] if index < len(row)]
        meant = next(
            (
                column
                for column in missing
                if _looks_like(title, column, table) and _reads(values, column, reading)
            ),
            None,
        )
        if meant is not None:
            what = (
                f"the header must be a known name where its cells read as {meant.name} (got {shown(title)})"
            )
            own = f'[columns] {meant.field} = "{title}", or ' if LOTS.named(meant.name) == meant.name else ""
            remedy = f'Name it {meant.name}, or say in {FILE_NAME} {own}[columns] ignore = ["{title}"].'
            yield Problem(grid.cell_at(header.row, index, title), what, remedy)


def _looks_like(title: str, column: Column, table: ColumnTable) -> bool:
    """Whether a header is a letter or two off a name of a column, or contains one."""
    word = squash(title)
    if column.words:
        return len(column.name) > 4 and differs_by(word, squash(column.name), 1)
    names = [name for name, meant in table.by_word.items() if meant == column.name]
    words = f" {' '.join(_words(title))} "
    return any(
        len(name) > 2 and differs_by(word, name, 1 if len(name) <= _SHORT else 2) for name in names
    ) or any(f" {' '.join(_words(name))} " in words for name in (column.name, *column.synonyms.split(",")))


def _words(text: str) -> list[str]:
    return [
        word for word in (squash(part) for part in text.replace("/", " ").replace("(", " ").split()) if word
    ]


def _reads(values: Sequence[CellValue], column: Column, reading: Reading) -> bool:
    """Whether most of the filled cells are what the column holds."""
    filled = [value for value in values if value not in ("", None)][:_JUDGED_CELLS]
    apart = Reading.begin(reading.farm, reading.crops, reading.now)
    fitting = 0
    for value in filled:
        try:
            read_cell(value, column, apart)
        except DateFaultError:
            pass  # a date all the same
        except UnfitCellError:
            continue
        fitting += 1
    return 2 * fitting > len(filled)


def differs_by(one: str, other: str, most: int) -> bool:
    """Whether two words differ by at most so many letters: one missing, added, wrong, or two swapped.

    >>> differs_by("mvoed", "moved", 1), differs_by("neded", "needed", 1), differs_by("bed", "needed", 2)
    (True, True, False)
    """
    if abs(len(one) - len(other)) > most:
        return False
    before: list[int] = []
    above = list(range(len(other) + 1))
    for i, letter in enumerate(one, 1):
        row = [i]
        for j, meant in enumerate(other, 1):
            cost = min(above[j] + 1, row[j - 1] + 1, above[j - 1] + (letter != meant))
            if i > 1 and j > 1 and letter == other[j - 2] and one[i - 2] == meant:
                cost = min(cost, before[j - 2] + 1)
            row.append(cost)
        before, above = above, row
    return above[-1] <= most
