"""Workbooks made to harm whoever opens them. Run as a script, it reads each and says what came of it.

`python -m tests.crafted_workbooks FOLDER` writes a line of JSON: for each file what was said and the
processor seconds, and the most memory [MB] that the process ever held.
"""

from __future__ import annotations

import io
import json
import sys
import time
import zipfile
from collections.abc import Callable, Iterator
from datetime import datetime
from pathlib import Path

import openpyxl

from tagmaker.errors import InputProblems
from tagmaker.farm import Cooler
from tagmaker.intake.log.cooler_log import read_logs
from tagmaker.intake.log.hand_readings import read_hand_readings
from tagmaker.intake.lots.sheet import read_lots
from tagmaker.intake.settings.farm import read_settings
from tagmaker.storage.crops import crop_table

NOW = datetime(2027, 4, 21, 9)
MEGABYTE = 1_000_000
SMALL = 20_000  # [bytes] of a workbook that is quickly looked through a third time
BOMB = 350  # [MB] that a sheet unpacks to
MAIN = 'xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"'
LINKS = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
HEADER = (
    '<row r="1"><c r="A1" t="inlineStr"><is><t>lot</t></is></c>'
    '<c r="B1" t="inlineStr"><is><t>crop</t></is></c>'
    '<c r="C1" t="inlineStr"><is><t>cut</t></is></c></row>'
)
Part = str | Callable[[], Iterator[bytes]]
Parts = dict[str, Part]
_SHEET = "xl/worksheets/sheet1.xml"


def xlsx(rows: str = "", **parts: Part) -> Parts:
    """The parts of a workbook with one sheet of these rows; `sheet`, `strings` and `book` are whole parts."""
    book = openpyxl.Workbook()
    book.create_sheet("Lots", 0)
    del book["Sheet"]
    file = io.BytesIO()
    book.save(file)
    with zipfile.ZipFile(file) as archive:
        found: Parts = {name: archive.read(name).decode() for name in archive.namelist()}
    found[_SHEET] = f"<worksheet {MAIN}><sheetData>{HEADER}{rows}</sheetData></worksheet>"
    names = {"sheet": _SHEET, "strings": "xl/sharedStrings.xml", "book": "xl/workbook.xml"}
    return found | {names[name]: part for name, part in parts.items()}


def ods(rows: str) -> Parts:
    """The parts of an OpenDocument workbook with one sheet of these rows."""
    kind = "application/vnd.oasis.opendocument.spreadsheet"
    spaces = " ".join(
        f'xmlns:{name}="urn:oasis:names:tc:opendocument:xmlns:{name}:1.0"'
        for name in ("office", "table", "text", "manifest")
    )
    entry = f'<manifest:file-entry manifest:full-path="/" manifest:media-type="{kind}"/>'
    return {
        "mimetype": kind,
        "META-INF/manifest.xml": f"<manifest:manifest {spaces}>{entry}</manifest:manifest>",
        "content.xml": (
            f"<office:document-content {spaces}><office:body><office:spreadsheet>"
            f'<table:table table:name="Lots">{rows}</table:table>'
            "</office:spreadsheet></office:body></office:document-content>"
        ),
    }


def much(block: bytes, megabytes: int, begin: bytes = b"", end: bytes = b"") -> Callable[[], Iterator[bytes]]:
    """A part of so many megabytes, a block again and again."""

    def blocks() -> Iterator[bytes]:
        yield begin
        for _ in range(megabytes):
            yield block * (MEGABYTE // len(block))
        yield end

    return blocks


BEGIN, END = f"<worksheet {MAIN}><sheetData>{HEADER}".encode(), b"</sheetData></worksheet>"
CELL = '<table:table-cell office:value-type="string"><text:p>x</text:p></table:table-cell>'
ROW = f"<table:table-row>{CELL}</table:table-row>"
MANY = "2000000000"
LAUGHS = "".join(f'<!ENTITY a{i} "{f"&a{i - 1};" * 10 if i else "ha" * 10}">' for i in range(12))
TWO = "".join(f'<sheet name="Lots" sheetId="{number}" r:id="rId{number}"/>' for number in (1, 2))
CASES: dict[str, Parts] = {
    "far-cell.xlsx": xlsx('<row r="1048570"><c r="XFD1048570"><v>1</v></c></row>'),
    "far-column.xlsx": xlsx('<row r="2"><c r="XFD2"><v>1</v></c></row>'),
    "far-cell-above-others.xlsx": xlsx(
        '<row><c r="XFD1048570"><v>1</v></c></row><row r="2"><c><v>1</v></c></row>'
    ),
    "wide-and-long.xlsx": xlsx('<row r="99999"><c r="SE99999"><v>1</v></c></row>'),
    "prefixed.xlsx": xlsx(
        sheet=f'<x:worksheet {MAIN.replace("xmlns", "xmlns:x")}><x:sheetData><x:row r="9">'
        '<x:c r="A1"><x:v>1</x:v></x:c><x:c r="XFD1048570"><x:v>1</x:v></x:c></x:row></x:sheetData>'
        "</x:worksheet>"
    ),
    "no-such-column.xlsx": xlsx('<row r="2"><c r="ZZZZZZZ99999999999999999999"><v>1</v></c></row>'),
    "endless-attribute.xlsx": xlsx(sheet=much(b"a" * 100_000, 250, BEGIN + b'<row r="2"><c ')),
    "blank-cells.xlsx": xlsx(sheet=much(b"<c/>", 55, BEGIN + b"<row>", b"</row>" + END)),
    "filled-cells.xlsx": xlsx(sheet=much(b"<c><v>1</v></c>", 50, BEGIN + b"<row>", b"</row>" + END)),
    "spaces.xlsx": xlsx(sheet=much(b" " * 1000, 290, BEGIN, END)),
    "bomb.xlsx": xlsx(sheet=much(b" " * 1000, BOMB, BEGIN, END)),
    "bomb-of-strings.xlsx": xlsx(strings=much(b"<si/>", 69, b"<sst>", b"</sst>")),
    "deep.xlsx": xlsx(sheet=much(b"<a>", 41, BEGIN)),
    "laughs.xlsx": xlsx(
        sheet=f"<!DOCTYPE w [{LAUGHS}]><worksheet {MAIN}><sheetData>{HEADER}"
        '<row r="2"><c r="A2" t="inlineStr"><is><t>&a11;</t></is></c></row></sheetData></worksheet>'
    ),
    "two-of-one-name.xlsx": xlsx(
        book=f'<workbook {MAIN} xmlns:r="{LINKS}"><sheets>{TWO}</sheets></workbook>'
    ),
    "rows-repeated.ods": ods(
        f'<table:table-row table:number-rows-repeated="{MANY}">{CELL}</table:table-row>'
    ),
    "columns-repeated.ods": ods(ROW.replace(" office", f' table:number-columns-repeated="{MANY}" office')),
    "gap-of-rows.ods": ods(
        f'{ROW}<table:table-row table:number-rows-repeated="{MANY}"><table:table-cell/></table:table-row>'
        f"{ROW}"
    ),
    "gap-of-columns.ods": ods(
        f'<table:table-row>{CELL}<table:table-cell table:number-columns-repeated="{MANY}"/>{CELL}'
        "</table:table-row>"
    ),
    "minus-one.ods": ods(f'<table:table-row table:number-rows-repeated="-1">{CELL}</table:table-row>' * 2),
    "binary.xlsx": {"xl/workbook.bin": "x", "[Content_Types].xml": "<Types/>"},
}


def write(folder: Path) -> None:
    """Write every case, and a bomb whose archive says that it is small."""
    for name, parts in CASES.items():
        with zipfile.ZipFile(folder / name, "w", zipfile.ZIP_DEFLATED) as archive:
            for part, content in parts.items():
                with archive.open(part, "w", force_zip64=True) as file:
                    for block in [content.encode()] if isinstance(content, str) else content():
                        file.write(block)
    lying = bytearray((folder / "bomb.xlsx").read_bytes())
    size = (BOMB * MEGABYTE + len(BEGIN + END)).to_bytes(4, "little")
    while (at := lying.find(size)) >= 0:
        lying[at : at + 4] = (1000).to_bytes(4, "little")
    (folder / "bomb-that-lies.xlsx").write_bytes(lying)


def told(read: Callable[[], object]) -> list[str]:
    """What is said of a file; nothing where it is read."""
    try:
        read()
    except InputProblems as error:
        return [str(problem) for problem in error.problems]
    return []


def main(folder: Path) -> None:
    """Read every file as lots, as a log and for its readings by hand, without letting anything go."""
    import resource

    farm, crops, found = read_settings(None), crop_table(), {}
    for path in sorted(folder.iterdir()):
        cooler = Cooler(name="barn", log=path.name, log_units="F")
        readers: dict[str, Callable[[], object]] = {
            "lots": lambda path=path: read_lots(path, farm, crops, NOW),  # type: ignore[misc]
            "log": lambda cooler=cooler: read_logs(cooler, farm, folder, NOW),  # type: ignore[misc]
        }
        if path.stat().st_size < SMALL:
            readers["by hand"] = lambda path=path: read_hand_readings(path, farm, NOW)  # type: ignore[misc]
        for kind, read in readers.items():
            begin = time.process_time()
            found[f"{path.name} as {kind}"] = (told(read), time.process_time() - begin)
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / (1e6 if sys.platform == "darwin" else 1e3)
    json.dump({"told": found, "peak_mb": peak}, sys.stdout)


if __name__ == "__main__":
    main(Path(sys.argv[1]))
