"""Workbooks with sheets of settings, and settings files that say the same."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date, time
from pathlib import Path

import openpyxl

Cells = Sequence[Sequence[object]]
LOTS: Cells = [["lot", "crop", "cut"], ["041", "tulip", "2027-03-22"]]
Tables = Mapping[str, Mapping[str, object]]


def workbook(path: Path, sheets: Mapping[str, Cells]) -> Path:
    """A workbook of a lot and of some sheets, row by row."""
    book = openpyxl.Workbook()
    for name, rows in {"Lots": LOTS, **sheets}.items():
        sheet = book.create_sheet(name)
        for row in rows:
            sheet.append(list(row))
    book.remove(book.worksheets[0])
    book.save(path)
    return path


def sheets_of(
    farm: Mapping[str, object], usual: Mapping[str, str], uses: Tables, coolers: Tables
) -> dict[str, Cells]:
    """Sheets that say settings as a grower types them."""
    keys = {key: typed(key, value) for key, value in farm.items()}
    keys |= {f"usual {column}": text for column, text in usual.items()}
    return {
        "Farm": [["key", "value", "what it means"], *([key, value, "…"] for key, value in keys.items())],
        "Uses": rows_of("use", uses),
        "Coolers": rows_of("cooler", coolers),
    }


def rows_of(name: str, tables: Tables) -> Cells:
    """A row each, with a column for every key that is used."""
    keys = list(dict.fromkeys(key for table in tables.values() for key in table))
    header = [name, *(key.replace("_", " ") for key in keys)]
    rows = [[of, *(typed(key, table.get(key)) for key in keys)] for of, table in tables.items()]
    return [header, *rows]


def typed(key: str, value: object) -> object:
    """What a grower types into a cell for a value of the settings file."""
    match value:
        case True | False:
            return "yes" if value else "no"
        case list():
            mark = " to " if key == "workday" else ", " if key in ("days", "days_off") else "; "
            return mark.join(str(typed(key, entry)) for entry in value)
        case _:
            return value


def toml_of(farm: Mapping[str, object], usual: Mapping[str, str], uses: Tables, coolers: Tables) -> str:
    """A settings file that says the same."""
    lines = [f"{key} = {in_toml(value)}" for key, value in farm.items()]
    tables: dict[str, Mapping[str, object]] = {"usual": usual} if usual else {}
    tables |= {f"uses.{in_toml(name)}": table for name, table in uses.items()}
    tables |= {f"coolers.{in_toml(name)}": table for name, table in coolers.items()}
    for name, table in tables.items():
        lines += [f"[{name}]", *(f"{in_toml(key)} = {in_toml(value)}" for key, value in table.items())]
    return "\n".join(lines) + "\n"


def in_toml(value: object) -> str:
    """A value as TOML has it."""
    match value:
        case bool():
            return str(value).lower()
        case str():
            return '"' + value.replace("\\", "\\\\").replace('"', '\\"') + '"'
        case list():
            return f"[{', '.join(map(in_toml, value))}]"
        case date() | time():
            return value.isoformat()
        case _:
            return str(value)
