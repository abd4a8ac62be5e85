"""What a new season begins with: settings as the settings file would have them, for the workbook's sheets."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from tagmaker.intake.settings.cells import cell_value
from tagmaker.intake.settings.farm import checked_settings
from tagmaker.intake.settings.sheets import COOLERS, USES, SheetSettings
from tagmaker.intake.settings.table import Cell, Named, Source

Table = Mapping[str, object]
FARM: Table = {"workday": ["08:00", "18:00"], "days_off": ["Sun"]}
USE: Mapping[str, Table] = {"shop": {"vase_days": 4}}
COOLER: Mapping[str, Table] = {"walk-in": {"set_point": "39F"}}


@dataclass(frozen=True, slots=True)
class Beginning:
    """Values by key, and by name and key."""

    farm: Table = field(default_factory=lambda: FARM)
    uses: Mapping[str, Table] = field(default_factory=lambda: USE)
    coolers: Mapping[str, Table] = field(default_factory=lambda: COOLER)
    first_code: int = 1  # of the numbered lots
    queue: str = ""  # of the printer at the bench, as the spooler names it; "": none

    def check(self) -> None:
        """Raise InputProblems with all that the settings would be refused for."""
        checked_settings(
            SheetSettings(
                farm=(_source(self.farm, "the farm"),),
                uses=tuple(Named(name, _source(table, name)) for name, table in self.uses.items()),
                coolers=tuple(Named(name, _source(table, name)) for name, table in self.coolers.items()),
            )
        )

    def rows(self, sheet: str) -> Mapping[str, Table]:
        """The rows of Uses or Coolers."""
        return {USES: self.uses, COOLERS: self.coolers}[sheet]


def _source(table: Table, where: str) -> Source:
    """Values as if they stood in cells."""
    cells = {key: Cell(where, f'"{cell_value(key, value)}"') for key, value in table.items()}
    return Source(table, where, cells, in_cells=True)
