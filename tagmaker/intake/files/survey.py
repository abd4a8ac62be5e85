"""One look through a sheet's own XML before it is read: how far it reaches, and what its reader hides.

The reader of the cells sets up every cell between the first and the last one, so a stray cell in the
far corner would take all memory there is. And it gives a blank for a formula whose result was never
stored, or that ended in an error: "gone" would be 0 and the stems would be sold twice.

xlsx: ECMA-376 part 1, 18.2 (workbook), 18.3 (sheets: "c" 18.3.1.4, "f" 18.3.1.40, "row" 18.3.1.73) and
18.8 (styles). ods: OpenDocument 1.3 part 3, 9.1 (tables; "table:table-cell" 9.1.4).
"""

from __future__ import annotations

import string
from dataclasses import dataclass, field
from typing import Protocol
from xml.parsers import expat

from tagmaker.intake.files.archives import feed
from tagmaker.intake.files.grid import Unread

UNCALCULATED = Unread("a formula without its result")
FAILED = Unread("a formula that ends in an error")
MOST_CELL_TAGS = 4_000_000  # of a sheet, blank ones with a style included (chosen)
_FARTHEST_ROW, _FARTHEST_COLUMN = 2_000_000, 20_000  # beyond every limit of any kind of sheet
_LONGEST_TAG_BYTES = 3_000_000  # (chosen: above the pieces in which a part is handed over)
_DEEPEST = 100  # elements inside each other (chosen: a sheet needs ten)
_STRANGE = "a sheet that is built in another way"
_TRUE = ("1", "true", "on")
_CONTENT = "content.xml"  # of OpenDocument: all sheets

_COLUMNS: dict[str, int] = {}  # letters of columns that were met
Place = tuple[int, int]  # row and column, both counted from 0
Attributes = dict[str, str]


class FarEnoughError(Exception):
    """A cell lies beyond every limit; the rest need not be looked at."""


class StrangeSheetError(ValueError):
    """The XML of a sheet is not what the standard says, or is endless."""


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
        if not _parse(content, _CONTENT, _OdsSheet(sheet, found)):
            xlsx = _XlsxSheet(_Styles.of(content), found)
            if not _parse(content, _part_of(content, sheet), xlsx):
                raise StrangeSheetError(_STRANGE)
            xlsx.end_row()
        return found
    except FarEnoughError:
        return found
    except (expat.ExpatError, ValueError, OverflowError) as error:
        raise StrangeSheetError(_STRANGE) from error


class _Handler(Protocol):
    """Takes the elements of a part."""

    def start(self, tag: str, attributes: Attributes) -> None:
        """An element begins; its name comes without prefix."""

    def end(self, tag: str) -> None:
        """An element ends."""

    def text(self, text: str) -> None:
        """A piece of text in it."""


def _parse(content: bytes, part: str, handler: _Handler) -> bool:
    """Take one part to pieces; False where there is none of that name."""
    parser = expat.ParserCreate()
    local: dict[str, str] = {}

    depth = 0

    def name(tag: str) -> str:
        return local.setdefault(tag, tag.rpartition(":")[2])

    def start(tag: str, attributes: Attributes) -> None:
        nonlocal depth
        depth += 1
        if depth > _DEEPEST:
            raise StrangeSheetError(_STRANGE)
        handler.start(local.get(tag) or name(tag), attributes)

    def end(tag: str) -> None:
        nonlocal depth
        depth -= 1
        handler.end(local.get(tag) or name(tag))

    def refuse(*_: object) -> None:
        raise StrangeSheetError(_STRANGE)  # no workbook declares entities of its own

    parser.buffer_text = True
    parser.StartDoctypeDeclHandler = refuse
    parser.StartElementHandler = start
    parser.EndElementHandler = end
    parser.CharacterDataHandler = handler.text
    fed = 0

    def take(chunk: bytes) -> None:
        nonlocal fed
        parser.Parse(chunk, False)
        fed += len(chunk)
        if fed - parser.CurrentByteIndex > _LONGEST_TAG_BYTES:
            raise StrangeSheetError(_STRANGE)  # it would be looked at from its beginning again and again

    if not feed(content, part, take):
        return False
    parser.Parse(b"", True)
    return True


class _Quiet:
    """Listens to the beginnings of elements alone."""

    def end(self, tag: str) -> None:
        """Nothing to do."""

    def text(self, text: str) -> None:
        """Nothing to do."""


class _Parts(_Quiet):
    """The sheets of a workbook and the parts that they are kept in."""

    def __init__(self) -> None:
        self.keys: dict[str, str] = {}  # sheet -> relation
        self.targets: dict[str, str] = {}  # relation -> part

    def start(self, tag: str, attributes: Attributes) -> None:
        if tag == "sheet":
            key = next((value for name, value in attributes.items() if name.endswith(":id")), "")
            if self.keys.setdefault(attributes.get("name", ""), key) != key:
                raise StrangeSheetError(_STRANGE)  # two sheets of one name
        elif tag == "Relationship":
            self.targets[attributes.get("Id", "")] = attributes.get("Target", "")


def _part_of(content: bytes, sheet: str) -> str:
    """Name of the part of an xlsx workbook that holds a sheet; empty where there is none."""
    parts = _Parts()
    _parse(content, "xl/workbook.xml", parts)
    _parse(content, "xl/_rels/workbook.xml.rels", parts)
    target = parts.targets.get(parts.keys.get(sheet, ""), "")
    return target.removeprefix("/") if target.startswith(("/", "xl/")) else f"xl/{target}"


class _Styles(_Quiet):
    """Which cell styles strike their text through, and which show leading zeros."""

    def __init__(self) -> None:
        self.zeros: dict[str, str] = {}  # style -> its number format
        self.struck: set[str] = set()
        self._formats: dict[str, str] = {}
        self._fonts: list[bool] = []  # whether each strikes through
        self._section = ""
        self._styles = 0

    @classmethod
    def of(cls, content: bytes) -> _Styles:
        """The styles of a workbook."""
        styles = cls()
        _parse(content, "xl/styles.xml", styles)
        return styles

    def start(self, tag: str, attributes: Attributes) -> None:
        if tag in ("numFmts", "fonts", "fills", "cellXfs", "cellStyleXfs", "cellStyles", "dxfs"):
            self._section = tag
        elif self._section == "numFmts" and tag == "numFmt":
            self._formats[attributes.get("numFmtId", "")] = attributes.get("formatCode", "")
        elif self._section == "fonts" and tag == "font":
            self._fonts.append(False)
        elif self._section == "fonts" and tag == "strike" and self._fonts:
            self._fonts[-1] = attributes.get("val", "1") in _TRUE
        elif self._section == "cellXfs" and tag == "xf":
            style, font = str(self._styles), int(attributes.get("fontId", "0"))
            code = self._formats.get(attributes.get("numFmtId", ""), "")
            if zero_filled("1", code):
                self.zeros[style] = code
            if font < len(self._fonts) and self._fonts[font]:
                self.struck.add(style)
            self._styles += 1


class _XlsxSheet:
    """The cells of one xlsx sheet."""

    def __init__(self, styles: _Styles, found: Survey) -> None:
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
            self._row_hidden = attributes.get("hidden", "") in _TRUE

    def _begin_cell(self, attributes: Attributes) -> None:
        self._cells += 1
        if self._cells > MOST_CELL_TAGS:
            raise StrangeSheetError(_STRANGE)
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


class _OdsSheet:
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


def zero_filled(number: str, code: str) -> str:
    """A whole number under a format of zeros and fixed text; empty where the format is another.

    >>> [zero_filled("41", code) for code in ("0000", '"L"000', "0.00", "0")]
    ['0041', 'L041', '', '']
    """
    marks: list[str] = []
    rest = iter(code.partition(";")[0])
    for mark in rest:
        if mark == '"':
            marks += [f"={letter}" for letter in iter(lambda: next(rest, '"'), '"')]
        elif mark == "\\":
            marks.append(f"={next(rest, '')}")
        elif mark in "0- /":
            marks.append(mark if mark == "0" else f"={mark}")
        else:
            return ""
    value = float(number)
    zeros = marks.count("0")
    if not value.is_integer() or not 0 <= value < 1e15 or not (zeros > 1 or (zeros and len(marks) > 1)):
        return ""
    digits = iter(f"{int(value):0{zeros}}")
    first = "".join(next(digits) for _ in range(len(f"{int(value):0{zeros}}") - zeros + 1))
    shown = iter([first, *digits])
    return "".join(next(shown) if mark == "0" else mark[1:] for mark in marks)
