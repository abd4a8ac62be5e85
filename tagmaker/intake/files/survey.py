"""One look through a sheet's own XML before it is read: how far it reaches, and what its reader hides.

The reader of the cells sets up every cell between the first and the last one, so a stray cell in the
far corner would take all memory there is. And it gives a blank for a formula whose result was never
stored, or that ended in an error: "gone" would be 0 and the stems would be sold twice.

xlsx: ECMA-376 part 1, 18.3 (sheets: "c" 18.3.1.4, "f" 18.3.1.40, "row" 18.3.1.73).
ods: OpenDocument 1.3 part 3, 9.1 (tables; "table:table-cell" 9.1.4).
"""

from __future__ import annotations

import string
from dataclasses import dataclass, field
from xml.parsers import expat

from tagmaker.intake.files.grid import Unread
from tagmaker.intake.files.xml_parts import (
    TRUE,
    Attributes,
    Handler,
    StrangeSheetError,
    Styles,
    parse,
    part_of,
    zero_filled,
)

UNCALCULATED = Unread("a formula without its result")
FAILED = Unread("a formula that ends in an error")
MOST_CELL_TAGS = 4_000_000  # of a sheet, blank ones with a style included (chosen)
_FARTHEST_ROW, _FARTHEST_COLUMN = 2_000_000, 20_000  # beyond every limit of any kind of sheet
_CONTENT = "content.xml"  # of OpenDocument: all sheets

_COLUMNS: dict[str, int] = {}  # letters of columns that were met
Place = tuple[int, int]  # row and column, both counted from 0


class FarEnoughError(Exception):
    """A cell lies beyond every limit; the rest need not be looked at."""


@dataclass(slots=True)
class Survey:
    """What a sheet's XML tells."""

    rows: int = 0  # up to the last filled one
    columns: int = 0
    last: Place = (0, 0)  # the filled cell that is farthest out
    unread: dict[Place, Unread] = field(default_factory=dict)  # formulas without a result
    displayed: dict[Place, str] = field(default_factory=dict)  # whole numbers shown with leading zeros
    hidden: set[int] = field(default_factory=set)  # filled rows that are not shown, counted from 0
    struck: set[int] = field(default_factory=set)  # rows most of whose filled cells are struck through

    def fill(self, row: int, column: int) -> None:
        """Note a filled cell; raises FarEnoughError where no limit would hold it."""
        if row >= self.rows:
            self.rows, self.last = row + 1, (row, column)
        if column >= self.columns:
            self.columns, self.last = column + 1, (row, column)
        if not (0 <= row <= _FARTHEST_ROW and 0 <= column <= _FARTHEST_COLUMN):
            raise FarEnoughError


def survey(content: bytes, sheet: str) -> Survey:
    """What the XML of a sheet in a sound xlsx or ods archive tells.

    Raises:
        StrangeSheetError: it cannot be followed.
    """
    found = Survey()
    try:
        if not parse(content, _CONTENT, _OdsSheet(sheet, found)):
            xlsx = _XlsxSheet(Styles.of(content), found)
            if not parse(content, part_of(content, sheet), xlsx):
                raise StrangeSheetError
            xlsx.end_row()
        return found
    except FarEnoughError:
        return found
    except (expat.ExpatError, ValueError, OverflowError) as error:
        raise StrangeSheetError from error


class _XlsxSheet(Handler):
    """The cells of one xlsx sheet."""

    def __init__(self, styles: Styles, found: Survey) -> None:
        self.found = found
        self._styles = styles
        self._row = self._column = -1
        self._row_hidden = False
        self._cell: Attributes = {}
        self._formula = self._keeps = False  # the cell holds one; its value is being listened to
        self._value = ""
        self._cells = self._filled = self._struck = 0

    def start(self, tag: str, attributes: Attributes) -> None:
        if tag == "c":
            self._begin_cell(attributes)
        elif tag == "v" or tag == "is" or tag == "f":
            style = self._cell.get("s", "")
            self.found.fill(self._row, self._column)
            self._formula |= tag == "f"
            self._keeps = tag == "v" and (self._formula or style in self._styles.zeros)
            if tag != "f":
                self._filled += 1
                self._struck += style in self._styles.struck
        elif tag == "row":
            self.end_row()
            self._row = int(attributes["r"]) - 1 if "r" in attributes else self._row + 1
            self._column = -1
            self._row_hidden = attributes.get("hidden", "") in TRUE

    def _begin_cell(self, attributes: Attributes) -> None:
        self._cells += 1
        if self._cells > MOST_CELL_TAGS:
            raise StrangeSheetError
        self._cell, self._formula, self._keeps, self._value = attributes, False, False, ""
        name = attributes.get("r")
        if name is None:
            self._column += 1
        else:
            self._row, self._column = cell_place(name)

    def text(self, text: str) -> None:
        if self._keeps:
            self._value += text

    def end(self, tag: str) -> None:
        if tag == "v":
            self._keeps = False
        elif tag == "c":
            place, kind = (self._row, self._column), self._cell.get("t", "n")
            if kind == "e":
                self.found.unread[place] = FAILED
            elif self._formula and kind != "str" and not self._value.strip():
                self.found.unread[place] = UNCALCULATED  # an empty text is a result
            elif self._value and kind == "n" and self._cell.get("s", "") in self._styles.zeros:
                text = zero_filled(self._value, self._styles.zeros[self._cell["s"]])
                self.found.displayed.update({place: text} if text else {})

    def end_row(self) -> None:
        """Judge the row that was read."""
        if self._filled and self._row_hidden:
            self.found.hidden.add(self._row)
        if 2 * self._struck > self._filled:
            self.found.struck.add(self._row)
        self._filled = self._struck = 0


class _OdsSheet(Handler):
    """The cells of one table of an OpenDocument; runs of repeated cells are counted out."""

    def __init__(self, sheet: str, found: Survey) -> None:
        self.found = found
        self._sheet = sheet
        self._depth = 0  # of tables: one may stand in a cell of another
        self._inside = False
        self._row = self._column = 0
        self._rows = self._columns = 1  # how often the row and the cell are repeated
        self._cell: Attributes | None = None
        self._paragraph = self._noted = self._filled = False
        self._text = ""

    def start(self, tag: str, attributes: Attributes) -> None:
        if tag == "table":
            self._depth += 1
            if self._depth == 1:
                self._inside = attributes.get("table:name") == self._sheet
                self._row = 0
        elif not self._inside or self._depth > 1:
            return
        elif tag == "table-row":
            self._rows = int(attributes.get("table:number-rows-repeated", "1"))
            self._column = 0
        elif tag in ("table-cell", "covered-table-cell"):
            self._cell, self._text = attributes, ""
            self._columns = int(attributes.get("table:number-columns-repeated", "1"))
            self._filled = "office:value-type" in attributes or "table:formula" in attributes
        elif tag == "annotation":
            self._noted = True
        elif tag == "p" and not self._noted:
            self._filled, self._paragraph = True, True

    def text(self, text: str) -> None:
        if self._paragraph:
            self._text += text

    def end(self, tag: str) -> None:
        if tag == "table":
            self._depth -= 1
        elif not self._inside or self._depth > 1:
            return
        elif tag == "table-row":
            self._row += self._rows
        elif tag in ("table-cell", "covered-table-cell") and self._cell is not None:
            self._end_cell(self._cell)
            self._column += self._columns
            self._cell = None
        elif tag == "annotation":
            self._noted = False
        elif tag == "p":
            self._paragraph = False

    def _end_cell(self, cell: Attributes) -> None:
        place, kind = (self._row, self._column), cell.get("office:value-type")
        if self._filled:
            self.found.fill(self._row + self._rows - 1, self._column + self._columns - 1)
        if "table:formula" in cell and cell.get("calcext:value-type") == "error":
            self.found.unread[place] = FAILED
        elif "table:formula" in cell and kind is None:
            self.found.unread[place] = UNCALCULATED
        elif kind == "float" and self._text.startswith("0") and self._text[1:].isdigit():
            self.found.displayed[place] = self._text


def cell_place(name: str) -> Place:
    """Row and column of a cell name, both counted from 0.

    Raises:
        ValueError: it is none.

    >>> cell_place("AB7")
    (6, 27)
    """
    letters = name.rstrip(string.digits)
    if letters not in _COLUMNS:
        if not (1 <= len(letters) <= 3 and letters.isascii() and letters.isalpha()):
            raise ValueError(name)
        column = 0
        for letter in letters.upper():
            column = column * 26 + ord(letter) - ord("A") + 1
        _COLUMNS[letters] = column - 1
    return int(name[len(letters) :]) - 1, _COLUMNS[letters]
