"""A season's sheet, opened once: the settings that its workbook carries, its lots and its orders."""

from __future__ import annotations

from contextlib import ExitStack
from dataclasses import dataclass, field
from pathlib import Path

from tagmaker.errors import InputProblems, Problem
from tagmaker.farm import Farm
from tagmaker.intake.files.sheet_file import open_sheet
from tagmaker.intake.lots.sheet import OpenSheet, lots_in
from tagmaker.intake.orders.sheet import OpenOrders, open_orders
from tagmaker.intake.settings.farm import read_settings, settings_with
from tagmaker.intake.settings.keys import FILE_NAME


@dataclass(frozen=True, slots=True)
class Opened:
    """Settings and rows, out of the same bytes."""

    farm: Farm
    lots: OpenSheet | None  # None: the sheet as a whole cannot be read
    faults: tuple[Problem, ...] = ()  # why
    orders: OpenOrders = field(default_factory=OpenOrders)

    def sheet(self) -> OpenSheet:
        """The rows of lots; raises InputProblems where there are none to be had."""
        if self.lots is None:
            raise InputProblems(self.faults)
        return self.lots


def open_season(sheet: Path) -> Opened:
    """The settings of a season and its rows, as they stand there.

    Where the sheet is no file that can be read, the settings are those of the settings file alone.

    Raises:
        InputProblems: something in the settings is wrong.
    """
    with ExitStack() as stack:
        try:
            file = stack.enter_context(open_sheet(sheet))
        except InputProblems as error:
            return Opened(read_settings(sheet.with_name(FILE_NAME)), None, error.problems)
        farm = settings_with(file)
        try:
            return Opened(farm, lots_in(file, farm), orders=open_orders(file, farm))
        except InputProblems as error:
            return Opened(farm, None, error.problems)
