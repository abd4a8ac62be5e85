"""The farm's settings: the sheets Farm, Uses and Coolers of the workbook, and `tagmaker.toml` beside it.

Every key is optional, and all problems are reported at once; without any, the farm is one cooler and a shop.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from datetime import date, time
from pathlib import Path
from typing import TypeVar
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from tagmaker.errors import InputProblems, Problem
from tagmaker.farm import (
    CARD_NAMES,
    EVERY_DAY,
    Cooler,
    Farm,
    FontFiles,
    Use,
    Workday,
)
from tagmaker.intake.cells.plain_text import listed, nearest, shown, squash
from tagmaker.intake.columns import NAMES, column_named
from tagmaker.intake.files.sheet_file import SheetFile, open_sheet
from tagmaker.intake.settings import values
from tagmaker.intake.settings.file import settings_tables
from tagmaker.intake.settings.font_files import font_files
from tagmaker.intake.settings.keys import COOLER_KEYS, FILE_NAME, IGNORE, KEYS, USE_KEYS
from tagmaker.intake.settings.print import default_printer, own_printers, own_stocks
from tagmaker.intake.settings.sheets import SheetSettings, sheet_settings
from tagmaker.intake.settings.table import NOTHING, SettingsTable, Source, named_tables, written
from tagmaker.intake.settings.usual import usual_cells
from tagmaker.intake.settings.values import UnfitValueError

SHOP_VASE_DAYS = 4.0  # [d] what the shop of a farm without settings promises (chosen)

T = TypeVar("T")
Places = dict[tuple[str, str, str], str]  # table, name in it, key -> where it stands or would be written


def settings_beside(sheet: Path) -> Farm:
    """The farm of a sheet: of the settings in its workbook, and of the settings file in its folder.

    Raises:
        InputProblems: the workbook or the file cannot be read, or something in them is wrong.
    """
    if not sheet.exists():
        return read_settings(sheet.parent / FILE_NAME)
    with open_sheet(sheet) as file:
        return settings_with(file)


def settings_with(file: SheetFile) -> Farm:
    """The farm of a sheet that is open; raises InputProblems where something in the settings is wrong."""
    problems: list[Problem] = []
    sheets = sheet_settings(file.book, problems) if file.book else SheetSettings()
    return _sound(sheets, file.path.parent / FILE_NAME, problems)


def read_settings(path: Path | None) -> Farm:
    """The farm that a settings file describes; the defaults where there is no file.

    Raises:
        InputProblems: the file cannot be read, or keys of it are wrong; all of them at once.
    """
    return _sound(SheetSettings(), path, [])


def checked_settings(sheets: SheetSettings) -> Farm:
    """The farm of what stands, or shall stand, in sheets; raises InputProblems with all that is wrong."""
    return _sound(sheets, None, [])


def _sound(sheets: SheetSettings, path: Path | None, problems: list[Problem]) -> Farm:
    """The farm of both; raises InputProblems with what is wrong in either."""
    tables: Mapping[str, object] = {}
    if path is not None and path.exists():
        try:
            tables = settings_tables(path)
        except InputProblems as error:
            problems += error.problems
    top = SettingsTable([*sheets.farm, Source(tables, path.name if path else FILE_NAME)], KEYS, problems)
    farm = _farm(top, sheets, path.parent if path else Path(), problems)
    if problems:
        raise InputProblems(problems)
    return farm


def _farm(top: SettingsTable, sheets: SheetSettings, folder: Path, problems: list[Problem]) -> Farm:
    units = top.read("units", values.one_of("F", "C"), "") or None
    opens, closes = top.read("workday", values.quarter_hours, (Workday().opens, Workday().closes))
    workday = Workday(opens, closes, top.read("days_off", values.days_off, frozenset()))
    shop = {"shop": Use(name="shop", vase_days=SHOP_VASE_DAYS, leaves=opens)}
    places = {("", "", key): top.place(key) for key in KEYS}
    uses = _uses(top, sheets, opens, problems, places) or shop
    coolers = _coolers(top, sheets, units, problems, places) or {"cooler": Cooler(name="cooler")}
    printers = own_printers(top, problems)
    usual, usual_where = usual_cells(top, sheets, problems)
    return Farm(
        name=top.read("farm", values.short_words, ""),
        units=units,
        day_first=top.read("day_first", values.yes_or_no, False) if "day_first" in top.content else None,
        timezone=top.read("timezone", _timezone, "") or None,
        basis=top.read("basis", values.one_of("practice", "early", "cautious"), "practice"),
        link=top.read("link", values.link_pattern, "") or None,
        paper_size=top.read("paper_size", values.one_of("letter", "a4"), "letter"),
        label_stock=top.read("label_stock", values.words, "letter-3x10"),
        label_stocks=own_stocks(top, problems),
        printer=default_printer(top, printers),
        printers=printers,
        crate_card=top.read("crate_card", values.one_of(*CARD_NAMES), "quarter"),
        fonts=_fonts(top, folder, problems),
        workday=workday,
        field_c=top.read("field_temperature", _months(units), (15.0,) * 12),
        room_c=top.read("room_temperature", values.celsius(units, 5, 40), 20.0),
        half_cooling_h=top.read("half_cooling", values.number(0.25, 48, "hours"), 4.0),
        usual=usual,
        usual_where=usual_where,
        places=places,
        uses=uses,
        coolers=coolers,
        crops=_crops(top),
        columns=_columns(top, problems),
        ignored=_ignored(top, problems),
    )


def _fonts(top: SettingsTable, folder: Path, problems: list[Problem]) -> tuple[FontFiles, ...]:
    """The fonts behind the packaged one; what is wrong with each of them."""
    fonts = []
    entries: Sequence[object] = top.read("fonts", values.listing("font files", '["fonts/Some.ttf"]'), [])
    for entry in entries:
        try:
            fonts.append(font_files(entry, folder))
        except UnfitValueError as unfit:
            problems.append(Problem(top.where, f"fonts must {unfit.must}", unfit.remedy))
    return tuple(fonts)


def _timezone(value: object) -> str:
    name = values.words(value)
    try:
        ZoneInfo(name)
    except (ZoneInfoNotFoundError, ValueError, OSError):
        raise UnfitValueError("be a known time zone", 'Write it like "Europe/Dublin".') from None
    return name


def _months(units: str | None) -> Callable[[object], tuple[float, ...]]:
    """A reader for one field temperature, or one for each month [°C]; limits chosen."""
    degrees = values.celsius(units, -10, 45)

    def months(value: object) -> tuple[float, ...]:
        if not isinstance(value, list):
            return (degrees(value),) * 12
        if len(value) != 12:
            must = f"be one temperature or twelve, January first, not {len(value)}"
            raise UnfitValueError(must, "Write one for every month, or a single one.")
        return tuple(degrees(month) for month in value)

    return months


def _uses(
    top: SettingsTable, sheets: SheetSettings, opens: time, problems: list[Problem], places: Places
) -> dict[str, Use]:
    uses: dict[str, Use] = {}
    for name, table in named_tables(top, "uses", USE_KEYS, problems, sheets.uses).items():
        places |= {("uses", name, key): table.place(key) for key in USE_KEYS}
        if "vase_days" not in table.content:
            table.refuse("vase_days", "be given", "Write the vase days that it promises.")
        every: tuple[frozenset[int], frozenset[date]] = (EVERY_DAY, frozenset())
        days, dates = table.read("days", values.selling_days, every)
        uses[name] = Use(
            name=name,
            vase_days=table.read("vase_days", values.number(0.5, 60, "days"), SHOP_VASE_DAYS),
            days=days,
            dates=dates,
            leaves=table.read("leaves", values.hour, opens),
            open=table.read("open", values.yes_or_no, False),
            # limits chosen: the stems of a lot
            stems=table.read("stems", _or_none(values.whole_number(1, 20_000)), None),
            must=table.read("must", values.yes_or_no, False),
        )
    return uses


def _coolers(
    top: SettingsTable, sheets: SheetSettings, units: str | None, problems: list[Problem], places: Places
) -> dict[str, Cooler]:
    coolers: dict[str, Cooler] = {}
    room = values.number(0.25, 10_000)  # crates or buckets (limits chosen)
    for name, table in named_tables(top, "coolers", COOLER_KEYS, problems, sheets.coolers).items():
        places |= {("coolers", name, key): table.place(key) for key in COOLER_KEYS}
        places["coolers", name, ""] = table.sources[0].cell("name").where
        trusted = table.read("trusted", values.yes_or_no, False)
        if trusted and "set_point" not in table.content:
            table.refuse("trusted", "stand beside a set_point", "Give the set_point that was checked.")
        coolers[name] = Cooler(
            name=name,
            # limits chosen: the coldest flower store of the sources is -0.6 °C; beyond 20 °C it cools nothing
            set_point_c=table.read("set_point", _or_none(values.celsius(units, -5, 20)), None),
            trusted=trusted,
            log=table.read("log", _or_none(values.words), None),
            probe=table.read("probe", _or_none(values.words), None),
            log_units=table.read("log_units", _or_none(values.one_of("F", "C")), None),
            # limit chosen: a thermometer further off in ice water is broken
            offset_c=table.read("offset", values.difference(units, 5.0), 0.0),
            crates=table.read("crates", _or_none(room), None),
            buckets=table.read("buckets", _or_none(room), None),
            shared=table.read("shared", values.yes_or_no, True),
            cells={key: table.place(key) for key in COOLER_KEYS} if table.sources[0].in_cells else {},
            soak_inside=table.read("soak", values.one_of("inside", "outside"), "inside") == "inside",
        )
    return coolers


def _or_none(reader: Callable[[object], T]) -> Callable[[object], T | None]:
    """The same reader, for a key whose default is None."""
    return reader


def _columns(top: SettingsTable, problems: list[Problem]) -> dict[str, str]:
    """The grower's own headers, by column."""
    where = f"{top.where}, [columns]"
    own: dict[str, str] = {}
    for key, header in top.read("columns", values.table, NOTHING).items():
        if key == IGNORE:
            continue
        column = column_named(key)
        if column is None:
            near = nearest(key, NAMES)
            remedy = f"The nearest is {near}." if near else f"Columns: {listed(NAMES, 'and')}."
            problems.append(Problem(where, f"must be a column of the lot sheet (got {shown(key)})", remedy))
        elif not isinstance(header, str) or not squash(header):
            what = f"{key} must be the header that your sheet has for it (got {written(header)})"
            problems.append(Problem(where, what, f'Write it like {key} = "My header".'))
        elif squash(header) in map(squash, own.values()):
            what = f"{key} must have a header of its own (got {shown(header)} again)"
            problems.append(Problem(where, what, "One header can stand for one column only."))
        else:
            own[column] = header.strip()
    return own


def _ignored(top: SettingsTable, problems: list[Problem]) -> frozenset[str]:
    """Headers of columns that are not used, and need not be said."""
    entries = top.read("columns", values.table, NOTHING).get(IGNORE, [])
    if isinstance(entries, list) and all(isinstance(entry, str) and squash(entry) for entry in entries):
        return frozenset(entries)
    what = f"{IGNORE} must be a list of headers of your sheet (got {written(entries)})"
    problems.append(Problem(f"{top.where}, [columns]", what, f'Write it like {IGNORE} = ["Bed", "Picker"].'))
    return frozenset()


def _crops(top: SettingsTable) -> dict[str, Mapping[str, object]]:
    """Figures of crops, as written: the crop table judges them."""
    return dict(top.read("crops", values.table, NOTHING))  # type: ignore[arg-type]  # crop_table refuses what is no table
