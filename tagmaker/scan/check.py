"""The page that says what is believed of coolers, uses and crops, each with where to change it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from pathlib import PurePath

from tagmaker.farm import EVERY_DAY, Cooler, Use
from tagmaker.lot import Lot, Stage
from tagmaker.scan.live import View
from tagmaker.scan.pages import SCRIPT, STYLE, Links
from tagmaker.scan.source import PageSource
from tagmaker.storage.cooler_summary import CoolerSummary
from tagmaker.storage.crops import Keeping
from tagmaker.storage.moments import next_selling_moment

AHEAD = 3  # selling moments that are told (chosen)
FARM_KEYS = ("units", "timezone", "workday", "basis", "field_temperature", "label_stock")
SETTINGS = "tagmaker.toml"  # where what no place is known of would be written


@dataclass(frozen=True, slots=True)
class CheckedCooler:
    """A cooler, what was read in it, and where each key of it stands."""

    cooler: Cooler
    page: str
    summary: CoolerSummary
    files: Sequence[str]  # of its log
    where: Mapping[str, str]  # key -> place


@dataclass(frozen=True, slots=True)
class CheckedUse:
    """A use, when it sells, and where each key of it stands."""

    use: Use
    days: Sequence[date]  # weekdays, as days of some week; none where it sells any day
    dates: Sequence[date]  # single days from today on
    every_day: bool
    ahead: Sequence[datetime]  # its next selling moments
    where: Mapping[str, str]


@dataclass(frozen=True, slots=True)
class CheckedCrop:
    """A crop and form of the sheet, as it is kept."""

    title: str
    lots: int
    ways: Sequence[Keeping]
    stages: Sequence[tuple[Stage, str, bool]]  # stage, what it looks like, whether it is the one to cut at
    origins: Sequence[str]
    where: str


@dataclass(frozen=True, slots=True)
class Warned:
    """A lot with its warnings, in words."""

    code: str
    page: str
    said: Sequence[str]
    where: str


def check_page(view: View, notices: Sequence[str] = ()) -> str:
    """Everything that is believed, as one page. Nothing of it is secret: written orders are not told."""
    source = view.shown.source
    page = source.wording.render(
        "check.html.j2",
        settings=source.farm,
        where={key: _place(source, "", "", key) for key in FARM_KEYS},
        sheet=PurePath(source.sheet).name,
        checked_coolers=list(_coolers(source)),
        uses=list(_uses(source)),
        crops=list(_crops(source)),
        notices=[f"{notice[:1].upper()}{notice[1:]}." for notice in notices],
        remarks=source.remarks,
        problems=source.problems,
        warned=list(_warned(source)),
        farm=source.farm.name,
        now=source.now,
        live=True,
        links=Links(True),
        banner=list(view.banner),
        style=STYLE,
        script=SCRIPT,
    )
    return page + "\n"


def _place(source: PageSource, table: str, name: str, key: str) -> str:
    """Where a key of the settings stands, or would be written."""
    head = f"{SETTINGS}, [{table}.{name}], {key}" if table else f"{SETTINGS}, {key}"
    return source.farm.places.get((table, name, key), head)


def _coolers(source: PageSource) -> Iterator[CheckedCooler]:
    keys = ("set_point", "trusted", "log", "crates", "buckets")
    for summary in source.coolers:
        name = summary.cooler.name
        where = {key: _place(source, "coolers", name, key) for key in keys}
        files = source.log_files.get(name, ())
        yield CheckedCooler(summary.cooler, source.cooler_names[name], summary, files, where)


def _uses(source: PageSource) -> Iterator[CheckedUse]:
    today = source.now.date()
    for use in source.farm.uses.values():
        ahead, moment = list[datetime](), next_selling_moment(use, source.now)
        while moment is not None and len(ahead) < AHEAD:
            ahead.append(moment)
            moment = next_selling_moment(use, moment)
        where = {
            key: _place(source, "uses", use.name, key) for key in ("vase_days", "days", "leaves", "open")
        }
        yield CheckedUse(
            use=use,
            days=[date(2027, 3, 1 + day) for day in sorted(use.days)],  # a Monday and what follows it
            dates=sorted(day for day in use.dates if day >= today),
            every_day=use.days == EVERY_DAY,
            ahead=ahead,
            where=where,
        )


def _crops(source: PageSource) -> Iterator[CheckedCrop]:
    """Crops and forms of the sheet, in order of their names."""
    lots: dict[tuple[str, str], list[Lot]] = {}
    for lot in (*(dates.lot for dates in source.dated), *(plan.lot for plan in source.plans)):
        lots.setdefault((lot.crop, lot.form), []).append(lot)
    for (crop, form), some in sorted(lots.items()):
        ways = source.crops.ways(crop, form)
        if not ways:
            continue
        right = ways[0].right_stage
        name = ways[0].title
        key = name if name.isalnum() else f'"{name}"'
        yield CheckedCrop(
            title=name,
            lots=len({lot.lot_code for lot in some}),
            ways=ways,
            stages=[(stage, phrase, stage is right) for stage, phrase in ways[0].stages.items()],
            origins=list(dict.fromkeys(way.source for way in ways if way.source)),
            where=f"{SETTINGS}, [crops.{key}]",
        )


def _warned(source: PageSource) -> Iterator[Warned]:
    """Lots of which something is left, with their warnings."""
    for code, dates in sorted(source.dates_of.items()):
        notes = source.warnings.get(code, ())
        if notes and (dates.left is None or dates.left > 0):
            said = [source.wording.say(note) for note in notes]
            yield Warned(code, source.lot_names[code], said, dates.lot.where)
