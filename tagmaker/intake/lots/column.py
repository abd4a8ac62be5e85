"""What is known about one column of a sheet, and about all columns of one."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from enum import Enum, auto

from tagmaker.intake.cells.plain_text import squash
from tagmaker.intake.cells.reading import Reading
from tagmaker.intake.files.grid import CellValue
from tagmaker.intake.lots.parents import Inherited

Reader = Callable[[CellValue, Reading], object]


class Judged(Enum):
    """Marks a column whose value is judged with the rest of its row before a lot has it."""

    WITH_ITS_ROW = auto()


@dataclass(frozen=True, slots=True, kw_only=True)
class Column:
    """One column: how it is found, read, filled where it is blank, explained and printed."""

    name: str
    synonyms: str = ""
    write: str  # what to write into it
    blank: str = "–"  # what a blank cell means
    read: Reader  # the meaning of a filled cell; raises UnfitCellError
    inherit: Inherited | None = None  # what parents say in place of a blank cell; None: it is a lot's own
    adds: bool = False  # what parents say goes together with what the cell says
    usual: bool = False  # whether [usual] of the settings may fill a blank cell
    # What a lot has in the field of this name where nothing fills the cell.
    otherwise: object = Judged.WITH_ITS_ROW
    words: bool = False  # any words will do: its cells cannot be told from another column's
    papers: tuple[str, ...] = ()  # kinds of paper that its words are on
    width: float = 11  # of the starter's column, in letters
    form: str = "General"  # of the starter's cells
    choices: tuple[str, ...] = ()  # words that the starter proposes; crops and forms come from the crop table

    @property
    def field(self) -> str:
        """The column as a name in Python: that of an entry's value, and of a lot's field."""
        return self.name.replace(" ", "_")

    @property
    def note(self) -> str:
        """What the starter says about it."""
        write = f"{self.write[:1].upper()}{self.write[1:]}."
        return (write if self.blank == "–" else f"{write} Blank: {self.blank}.").replace("`", "")


@dataclass(frozen=True, slots=True)
class ColumnTable:
    """All columns of a kind of sheet, and the words that a header may name them by."""

    columns: tuple[Column, ...]
    by_word: Mapping[str, str]  # word without case, spaces and punctuation -> name of its column

    @classmethod
    def of(cls, columns: tuple[Column, ...]) -> ColumnTable:
        """A table with the columns' own words."""
        words = [(column, (column.name, *column.synonyms.split(","))) for column in columns]
        return cls(columns, {squash(word): column.name for column, known in words for word in known})

    def named(self, word: str) -> str | None:
        """The column that a header or a key of the settings means; None for an unknown one."""
        return self.by_word.get(squash(word.replace("#", "no")))
