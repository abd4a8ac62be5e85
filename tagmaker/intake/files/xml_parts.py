"""The XML parts of an xlsx workbook or an OpenDocument, taken to pieces as they are unpacked.

xlsx: ECMA-376 part 1, 18.2 (workbook) and 18.8 (styles).
"""

from __future__ import annotations

from xml.parsers import expat

from tagmaker.intake.files.archives import feed

_DEEPEST = 100  # elements inside each other (chosen: a sheet needs ten)
_LONGEST_TAG_BYTES = 3_000_000  # (chosen: above the pieces in which a part is handed over)
TRUE = ("1", "true", "on")

Attributes = dict[str, str]


class StrangeSheetError(ValueError):
    """The XML of a sheet is not what the standard says, or is endless."""

    def __init__(self) -> None:
        super().__init__("a sheet that is built in another way")


class Handler:
    """Takes the elements of a part; names come without prefix."""

    def start(self, tag: str, attributes: Attributes) -> None:
        """An element begins."""

    def end(self, tag: str) -> None:
        """An element ends."""

    def text(self, text: str) -> None:
        """A piece of text in it."""


def parse(content: bytes, part: str, handler: Handler) -> bool:
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
            raise StrangeSheetError
        handler.start(local.get(tag) or name(tag), attributes)

    def end(tag: str) -> None:
        nonlocal depth
        depth -= 1
        handler.end(local.get(tag) or name(tag))

    def refuse(*_: object) -> None:
        raise StrangeSheetError  # no workbook declares entities of its own

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
            raise StrangeSheetError  # it would be looked at from its beginning again and again

    if not feed(content, part, take):
        return False
    parser.Parse(b"", True)
    return True


class _Parts(Handler):
    """The sheets of a workbook and the parts that they are kept in."""

    def __init__(self) -> None:
        self.keys: dict[str, str] = {}  # sheet -> relation
        self.targets: dict[str, str] = {}  # relation -> part

    def start(self, tag: str, attributes: Attributes) -> None:
        if tag == "sheet":
            key = next((value for name, value in attributes.items() if name.endswith(":id")), "")
            if self.keys.setdefault(attributes.get("name", ""), key) != key:
                raise StrangeSheetError  # two sheets of one name
        elif tag == "Relationship":
            self.targets[attributes.get("Id", "")] = attributes.get("Target", "")


def part_of(content: bytes, sheet: str) -> str:
    """Name of the part of an xlsx workbook that holds a sheet; empty where there is none."""
    parts = _Parts()
    parse(content, "xl/workbook.xml", parts)
    parse(content, "xl/_rels/workbook.xml.rels", parts)
    target = parts.targets.get(parts.keys.get(sheet, ""), "")
    return target.removeprefix("/") if target.startswith(("/", "xl/")) else f"xl/{target}"


class Styles(Handler):
    """Which cell styles strike their text through, and which show leading zeros."""

    def __init__(self) -> None:
        self.zeros: dict[str, str] = {}  # style -> its number format
        self.struck: set[str] = set()
        self._formats: dict[str, str] = {}
        self._fonts: list[bool] = []  # whether each strikes through
        self._section = ""
        self._styles = 0

    @classmethod
    def of(cls, content: bytes) -> Styles:
        """The styles of a workbook."""
        styles = cls()
        parse(content, "xl/styles.xml", styles)
        return styles

    def start(self, tag: str, attributes: Attributes) -> None:
        """Note a number format, a font or a style of cells."""
        if tag in ("numFmts", "fonts", "fills", "cellXfs", "cellStyleXfs", "cellStyles", "dxfs"):
            self._section = tag
        elif self._section == "numFmts" and tag == "numFmt":
            self._formats[attributes.get("numFmtId", "")] = attributes.get("formatCode", "")
        elif self._section == "fonts" and tag == "font":
            self._fonts.append(False)
        elif self._section == "fonts" and tag == "strike" and self._fonts:
            self._fonts[-1] = attributes.get("val", "1") in TRUE
        elif self._section == "cellXfs" and tag == "xf":
            style, font = str(self._styles), int(attributes.get("fontId", "0"))
            code = self._formats.get(attributes.get("numFmtId", ""), "")
            if zero_filled("1", code):
                self.zeros[style] = code
            if font < len(self._fonts) and self._fonts[font]:
                self.struck.add(style)
            self._styles += 1


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
