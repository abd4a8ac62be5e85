"""A season folder, read: the settings, the sheet, what the coolers' thermometers say, and the dates."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime
from functools import cached_property
from itertools import chain
from pathlib import Path
from typing import Protocol

from tagmaker.desk.cooler_entries import with_looks
from tagmaker.desk.season_journal import SheetJournal, read_with_journal
from tagmaker.errors import InputProblems, Problem
from tagmaker.farm import Farm
from tagmaker.intake.log.cooler_log import read_logs
from tagmaker.intake.log.file import NoRowsError
from tagmaker.intake.log.finding import log_files
from tagmaker.intake.log.hand_readings import FILE_NAME as HAND_READINGS
from tagmaker.intake.log.hand_readings import read_hand_readings
from tagmaker.intake.opening import Opened, open_season
from tagmaker.intake.orders.sheet import orders_of, orders_path
from tagmaker.intake.settings.keys import FILE_NAME as SETTINGS
from tagmaker.lot import Lot, Plan, StorageDates
from tagmaker.notes import LogUnread
from tagmaker.record.journal.beside import journal_path
from tagmaker.storage.air import Airs, assumed_airs, read_air
from tagmaker.storage.cooler_summary import CoolerSummary, summarise
from tagmaker.storage.crops import crop_table
from tagmaker.storage.dating import date_lots, sell_by_of
from tagmaker.storage.demand import WrittenOrder
from tagmaker.storage.planning import as_planned, plan_lots
from tagmaker.storage.readings import HandReading, Readings
from tagmaker.telling.teller import Teller
from tagmaker.telling.wording import Wording


@dataclass(frozen=True, kw_only=True)
class Season(Teller):
    """Everything that a command works on, as of one moment."""

    sheet: Path
    lots: tuple[Lot, ...]
    problems: tuple[Problem, ...]
    remarks: tuple[Problem, ...]  # worth saying, stopping nothing
    readings: dict[str, Readings]  # by cooler name, of those whose logger was read
    unread: dict[str, tuple[Problem, ...]]  # by cooler name: log files that are not there or have no row
    airs: Airs
    journal: SheetJournal | None = None
    orders: tuple[WrittenOrder, ...] = ()  # sound rows of the sheet Orders, past and done ones too
    order_problems: tuple[Problem, ...] = ()  # of its other rows; they stop no lot

    @cached_property
    def held(self) -> frozenset[str]:
        """Codes of lots that may have left: no label and no promise until the journal is told."""
        return frozenset(lot.lot_code for lot in self.lots if lot.may_have_left is not None)

    @cached_property
    def dated(self) -> tuple[StorageDates, ...]:
        """The dates of every lot that has been cut."""
        return date_lots(self.lots, self.farm, self.crops, self.now, self.airs)

    def dates_of(self, codes: Collection[str]) -> tuple[StorageDates, ...]:
        """The dates of the lots of some codes; the others are not dated for it."""
        lots = [lot for lot in self.lots if lot.lot_code in codes]
        if len(lots) == len(self.lots):
            return self.dated
        return date_lots(lots, self.farm, self.crops, self.now, self.airs)

    @cached_property
    def sell_bys_assumed(self) -> dict[str, datetime | None]:
        """The sell by of every lot that has been cut, by code, as it would be if nobody had looked."""
        if not any(air.spells for air in self.airs.values()):
            return {dates.lot.lot_code: dates.sell_by for dates in self.dated}
        airs = assumed_airs(self.farm)
        return {
            dates.lot.lot_code: sell_by_of(dates.lot, self.farm, self.crops, self.now, airs)
            for dates in self.dated
        }

    @cached_property
    def assumed(self) -> tuple[StorageDates, ...]:
        """The same without any reading, as the dates would be if nobody had looked."""
        if not any(air.spells for air in self.airs.values()):
            return self.dated
        return date_lots(self.lots, self.farm, self.crops, self.now)

    @cached_property
    def plans(self) -> tuple[Plan, ...]:
        """Advice for every planned lot, one plan an order."""
        return plan_lots(self.lots, self.farm, self.crops, self.now, self.airs)

    @cached_property
    def planned(self) -> tuple[StorageDates, ...]:
        """The planned lots as if they were cut and kept as advised, for the room that they will take."""
        return as_planned(self.plans, self.farm, self.crops, self.airs)


@dataclass(frozen=True, slots=True)
class Day:
    """The day that a command is asked about; without an hour it is the start of its workday."""

    day: date
    moment: datetime | None = None


Clock = Callable[[str | None], datetime]  # local time in a time zone; None: in the machine's own


@dataclass(frozen=True, slots=True, kw_only=True)
class Inputs:
    """What the coolers' thermometers say."""

    readings: dict[str, Readings]
    looks: tuple[HandReading, ...]
    unread: dict[str, tuple[Problem, ...]]


class Files(Protocol):
    """Whoever reads the files of a season: this process, or another one."""

    def open(self, sheet: Path) -> Opened:
        """What `intake.opening.open_season` gives."""

    def read(self, sheet: Path, farm: Farm, now: datetime) -> Inputs:
        """What `read_inputs` gives."""


def read_season(
    sheet: Path,
    today: Day | Clock,
    templates: Path | None = None,
    files: Files | None = None,
    *,
    without_journal: bool = False,
    before: Season | None = None,
) -> Season:
    """Read a sheet, its settings, and the readings of its coolers.

    Args:
        sheet: the lot sheet.
        today: as of when; or a clock that tells.
        templates: a folder of the grower's own wording.
        files: reads the files; None: here.
        without_journal: leave what happened at the crates alone.
        before: the same as it was read before; entries of its journal are not read again.

    Raises:
        InputProblems: settings, logs or the sheet as a whole cannot be read. What is wrong with
            single rows is in `problems`.
    """
    opened = files.open(sheet) if files else open_season(sheet)
    farm, rows = opened.farm, opened.sheet()
    crops = crop_table(farm.crops)
    now = _now(farm, today)
    found = files.read(sheet, farm, now) if files else read_inputs(sheet, farm, now)
    known = before.journal.book if before is not None and before.journal is not None else None
    journal = read_with_journal(sheet, farm, crops, now, without=without_journal, opened=rows, known=known)
    lots = journal.lots()
    orders = orders_of(opened.orders, lots.lots, farm, crops, now)
    looks = with_looks(found.looks, journal.book, now)
    return Season(
        sheet=sheet,
        farm=farm,
        crops=crops,
        wording=Wording(farm.units, templates),
        lots=lots.lots,
        problems=lots.problems,
        remarks=(
            *lots.warnings,
            *orders.problems,
            *orders.warnings,
            *chain.from_iterable(found.unread.values()),
        ),
        readings=found.readings,
        unread=found.unread,
        airs={
            name: read_air(cooler, found.readings.get(name), [look for look in looks if look.cooler == name])
            for name, cooler in farm.coolers.items()
        },
        now=now,
        journal=journal,
        orders=orders.orders,
        order_problems=orders.problems,
    )


def settings_path(sheet: Path) -> Path:
    """Where the settings of a season stand, there or not."""
    return sheet.with_name(SETTINGS)


def season_files(sheet: Path, farm: Farm) -> set[Path]:
    """Every file that a season is read from, there or not."""
    logs = [path for cooler in farm.coolers.values() for path in log_files(cooler, farm, sheet.parent)]
    beside = (settings_path(sheet), sheet.with_name(HAND_READINGS), orders_path(sheet), journal_path(sheet))
    return {sheet, *beside, *logs}


def _now(farm: Farm, today: Day | Clock) -> datetime:
    if isinstance(today, Day):
        return today.moment if today.moment is not None else farm.workday.start(today.day)
    return today(farm.timezone)


def read_inputs(sheet: Path, farm: Farm, now: datetime) -> Inputs:
    """The readings of a season; all faults of all logs at once.

    Raises:
        InputProblems: a log or the readings by hand cannot be read.
    """
    readings: dict[str, Readings] = {}
    unread: dict[str, tuple[Problem, ...]] = {}
    looks: tuple[HandReading, ...] = ()
    problems: list[Problem] = []
    for cooler in farm.coolers.values():
        try:
            read = read_logs(cooler, farm, sheet.parent, now)
        except NoRowsError as error:
            unread[cooler.name] = error.problems
        except InputProblems as error:
            problems += error.problems
        else:
            readings |= {cooler.name: read} if read else {}
            unread |= {cooler.name: read.empty} if read and read.empty else {}
    try:
        looks = read_hand_readings(sheet, farm, now)
    except InputProblems as error:
        problems += error.problems
    if problems:
        raise InputProblems(problems)
    return Inputs(readings=readings, looks=looks, unread=unread)


def summaries(season: Season, asked: set[str]) -> tuple[CoolerSummary, ...]:
    """Each cooler's story, with the lots asked for that stand in it."""
    return tuple(
        replace(summary, lots=tuple(lot for lot in summary.lots if lot.read.lot.lot_code in asked))
        for summary in told(season, season.assumed)
    )


def told(season: Season, assumed: Sequence[StorageDates]) -> tuple[CoolerSummary, ...]:
    """Each cooler's story; the lots' days are counted from `assumed`."""
    farm, crops, now = season.farm, season.crops, season.now
    stories = (
        summarise(air, season.readings.get(name), season.dated, assumed, crops, farm, now)
        for name, air in season.airs.items()
    )
    return tuple(
        replace(story, notes=(*_unread(season, story.cooler.name), *story.notes)) for story in stories
    )


def _unread(season: Season, cooler: str) -> Iterator[LogUnread]:
    """What is said, wherever a cooler is told of, of its log files that gave nothing."""
    for problem in season.unread.get(cooler, ()):
        fault = f"{problem.where}: {problem.what}"
        yield LogUnread(cooler=cooler, whole=cooler not in season.readings, fault=fault)
