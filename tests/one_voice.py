"""What label, card, list, page and table say of each lot of a season on a day, read from each of them.

python -m tests.one_voice demo_lots/lots.xlsx 2027-04-21
"""

from __future__ import annotations

import re
import sys
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from pathlib import Path

from tagmaker.desk.jobs import asked_for
from tagmaker.desk.overview import overview
from tagmaker.desk.publishing import page_source
from tagmaker.desk.report import as_table
from tagmaker.desk.season import Day, Season, read_season
from tagmaker.lot import OrderDates, StorageDates
from tagmaker.paper.checklist.rows import LotRow
from tagmaker.paper.checklist.words import AGENDA, row_words, what, work_words
from tagmaker.paper.checklist.work import DayBlock
from tagmaker.paper.crate.words import card_words, told_on
from tagmaker.paper.tag.words import DateRow, tag_words, wet_words
from tagmaker.scan.pages import lot_page
from tagmaker.scan.source import PageSource
from tagmaker.telling.agenda import Task
from tagmaker.telling.bunches import crates_of
from tagmaker.telling.cooler_week import cooler_weeks
from tagmaker.telling.parts import part_orders, parts
from tagmaker.telling.readiness import is_wet
from tests.page_sources import main_text

NINE = time(9)
WIDTH = 120.0  # [mm] of a column of the coolers' sheets
NOTHING = "-"
_DAY = r"(?:MON|TUE|WED|THU|FRI|SAT|SUN) \d+ [A-Z]{3}"
# What stands in place of a day to sell by.
_WORDS = ("FAN UNTIL NO DROPS", "TOO OLD", "THROW OUT", "HOW OPEN?", "NO DATE", "WET")


@dataclass(frozen=True)
class Said:
    """What one paper, page or table says of a lot, or of the bunches of an order."""

    water: str | None = None  # moment, "IN WATER", "NOW" or "-"; None: it has no place for it
    sell: str | None = None  # day, or the word in its place
    do: str | None = None  # what is to be done first


def day_or_word(text: str) -> str:
    """The first day of a text, or the word that stands in place of one."""
    word = next((word for word in _WORDS if word in text), None)
    found = re.search(_DAY, text)
    if found and (word is None or found.start() < text.index(word)):
        return found[0]
    return {"FAN UNTIL NO DROPS": "WET", "THROW OUT": "TOO OLD"}.get(word or "", word or NOTHING)


def undated(task: str) -> str:
    """A task without the day before it, as it stands under its day in a list."""
    return re.sub(rf"^{_DAY}: ", "", task)


def label(dates: StorageDates, order: OrderDates | None, season: Season) -> Said:
    """A wrap label's rows."""
    if is_wet(dates):
        return Said(NOTHING, day_or_word(wet_words(dates, season.wording).code))
    rows = tag_words(dates, order, dates.lot.per_bunch, season).rows
    last = rows[-1]
    return Said(_water_of(rows), last.day if last.is_date else day_or_word(last.day))


def _water_of(rows: tuple[DateRow, ...]) -> str:
    for row in rows:
        if row.caption.startswith("INTO WATER BY"):
            return row.value
        if row.day == "PUT IN WATER NOW":
            return "NOW"
        if row.day.startswith("IN WATER") or row.caption.startswith("IN WATER"):
            return "IN WATER"
    return NOTHING


def card(dates: StorageDates, season: Season, *, own: bool) -> Said:
    """The dates of a crate's card: of one with bunches of the lot's own, or of the first."""
    loads = crates_of(dates, season.crops)
    n = len(loads) - 1 if own else 0
    words = card_words(told_on(dates, loads[n], season, is_first=n == 0), season)
    caption = words.water_caption
    water = words.water if caption.startswith("INTO WATER BY") else NOTHING
    water = "NOW" if caption.startswith("PUT IN WATER NOW") else water
    water = "IN WATER" if caption.startswith("IN WATER") else water
    return Said(water, day_or_word(words.sell_by or words.notice))


def listed(season: Season) -> dict[str, Said]:
    """The lots of the coolers' sheets: both dates, and the first thing to do in the week."""
    found: dict[str, Said] = {}
    for week in cooler_weeks(season.dated, season):
        work = work_words(week, season, WIDTH, {}, 1).days
        for row in week.lots:
            code = row.dates.lot.lot_code
            first = next(
                (
                    _in_block(task, work[n], week.cooler.name, season)
                    for n, day in enumerate(row.tasks)
                    for task in day
                    if task.to != week.cooler.name
                ),
                None,
            )
            known = found.get(code)
            words = row_words(row, week.cooler.name, season)
            if known is None or (known.do is None and first is not None):
                sell = day_or_word(words.sell_by if words.code else "WET")
                found[code] = Said(_listed_water(words), sell, first)
    return found


def _in_block(task: Task, block: DayBlock, cooler: str, season: Season) -> str:
    """A task in the words of other papers, where it stands in its day's block with its lot."""
    line = re.escape(what(task, cooler, season.wording))
    written = re.compile(rf"{line}:? .*\b{re.escape(task.lot)}\b")
    if not any(written.match(job.text) for job in block.jobs):
        return f"not on the sheet: {line}"
    return str(season.wording.macros(AGENDA).told(task=task))


def _listed_water(words: LotRow) -> str:
    if re.fullmatch(_DAY, words.water):
        return f"{words.water} {words.water_small}"
    # STILL DRY? is asked where nothing can be said of water any more.
    return {"": NOTHING, "STILL DRY?": NOTHING, "in water": "IN WATER"}.get(words.water, words.water)


def page(dates: StorageDates, source: PageSource) -> Said:
    """The top of a lot's page."""
    text = main_text(lot_page(source, dates.lot.lot_code))
    top = text[: text.index("Made on")]
    todo, after = re.split(r":? ?(?:\d+ bunch(?:es)? \(\d+ stems\)|stems not noted) left", top, maxsplit=1)
    told = re.search(r"\b(?:NOW|NEXT) (.*?)(?: NOW |$)", todo)
    water = re.search(rf"INTO WATER BY(?: for {_DAY} [^:]*?)? ({_DAY} \S+(?: [AP]M)?)", after)
    said = water[1] if water else NOTHING
    said = "IN WATER" if re.search(r"IN WATER(, READY FROM)?", after) and not water else said
    said = "NOW" if "PUT IN WATER NOW" in after else said
    sell = re.search(r"(?:SELL BY|SELL ELSEWHERE:|SELL ELSEWHERE BY)(.*)", after)
    sell = sell or re.search(r"THE OTHER \d+(.*)", after)
    do = undated(told[1].split(" NOW ")[0]) if told else None
    return Said(said, day_or_word(sell[1] if sell else do or ""), do)


def table(season: Season) -> dict[str, Said]:
    """The rows of `tagmaker dates`."""
    lines = as_table(overview(season, asked_for((), season)), season).split("\n")
    head = next(n for n, line in enumerate(lines) if line.startswith("LOT "))
    titles = ("LOT", "CODE", "STATE", "INTO WATER BY", "SELL BY", "VASE", "STEMS LEFT", "NEXT")
    starts = [lines[head].index(title) for title in titles]
    found = {}
    for line in lines[head + 1 :]:
        if not line:
            break
        cells = [line[a:b].strip() for a, b in zip(starts, [*starts[1:], None], strict=True)]
        water = {"in water": "IN WATER"}.get(cells[3], cells[3])
        marks = "HOW OPEN?" if "HOW OPEN?" in line and cells[4] == NOTHING else ""
        sell = day_or_word(cells[4] if cells[4] != NOTHING else f"{cells[2]} {marks}")
        sell = "HOW OPEN?" if marks and cells[2] == "SELL ELSEWHERE" else sell
        found[cells[0]] = Said(
            water, "WET" if "FAN UNTIL" in line else sell, undated(cells[7].split("  ")[0])
        )
    return found


def everything_said(season: Season) -> Iterator[tuple[str, Mapping[str, Said]]]:
    """Each lot of which stems are left, and each order it serves, with what is said of it where."""
    source, in_list, in_table = page_source(season), listed(season), table(season)
    for dates in season.dated:
        code = dates.lot.lot_code
        if dates.left is not None and dates.left <= 0:
            continue
        divided = parts(dates, season.now)
        promised = bool(divided) and divided[-1].order in part_orders(dates)
        if not promised:
            told = told_on(dates, crates_of(dates, season.crops)[-1], season, is_first=False)
            yield (
                code,
                {
                    "label": label(dates, None, season),
                    **({"card": card(dates, season, own=True)} if told.order is None else {}),
                    "list": in_list[code],
                    "page": page(dates, source),
                    "table": in_table[code],
                },
            )
        yield from _orders_said(dates, season, source)


def _orders_said(
    dates: StorageDates, season: Season, source: PageSource
) -> Iterator[tuple[str, Mapping[str, Said]]]:
    """What is said of the bunches of each part order: on labels, on the crates they lie in, on the page."""
    text = main_text(lot_page(source, dates.lot.lot_code))
    orders = text[text.rindex(" Orders ") :] if part_orders(dates) else ""
    for order in part_orders(dates):
        day, use = season.wording.day(order.leaves), order.use
        on_page = re.search(rf"{day} [\d:]+(?: [AP]M)? {use}, {order.stems} stems(.*)", orders)
        water = re.search(rf"in water by ({_DAY} [\d:]+(?: [AP]M)?)", on_page[0] if on_page else "")
        takes = [
            words
            for n, load in enumerate(crates_of(dates, season.crops))
            for words in card_words(told_on(dates, load, season, is_first=n == 0), season).takes
            if f"for {day} {use}" in words
        ]
        told = re.search(rf"into water by ({_DAY} [\d:]+(?: [AP]M)?)", takes[0]) if takes else None
        first = card(dates, season, own=False)
        by = season.wording.moment(order.into_water_by) if order.into_water_by else "IN WATER"
        by = "NOW" if order.into_water_by and order.into_water_by < season.now else by
        page_water = "NOW" if on_page and "PUT IN WATER NOW" in on_page[0] else None
        yield (
            f"{dates.lot.lot_code} for {day}",
            {
                "label": label(dates, order, season),
                "card": Said(told[1] if told else first.water, day if takes else NOTHING),
                "page": Said(page_water or (water[1] if water else "IN WATER"), day if on_page else NOTHING),
                "dates": Said(by, day),
            },
        )


def read_on(sheet: Path, day: date) -> Season:
    """A season as of nine o'clock."""
    return read_season(sheet, Day(day, datetime.combine(day, NINE)))


def main(sheet: str, first: str, days: str = "7") -> None:
    """Print the table of some days."""
    for ahead in range(int(days)):
        day = date.fromisoformat(first) + timedelta(days=ahead)
        sys.stdout.write(f"\n{day}\n")
        for lot, said in everything_said(read_on(Path(sheet), day)):
            columns = [f"{name}: {s.water or ''} | {s.sell or ''} | {s.do or ''}" for name, s in said.items()]
            sys.stdout.write(f"{lot:20} {'   '.join(columns)}\n")


if __name__ == "__main__":
    main(*sys.argv[1:])
