"""The keys of the settings, and which of them the workbook may say too."""

from __future__ import annotations

from tagmaker.intake.columns import COLUMNS

FILE_NAME = "tagmaker.toml"
IGNORE = "ignore"  # the key of [columns] that names no column
# fmt: off
KEYS = (
    "farm", "units", "day_first", "timezone", "basis", "link", "paper_size", "label_stock", "label_stocks",
    "printer", "printers", "crate_card", "fonts", "workday", "days_off", "field_temperature",
    "room_temperature", "half_cooling", "usual", "uses", "coolers", "crops", "columns",
)
USE_KEYS = ("vase_days", "days", "leaves", "open", "stems", "must")
COOLER_KEYS = (
    "set_point", "trusted", "log", "probe", "log_units", "offset", "crates", "buckets", "shared", "soak",
)
# fmt: on
USUAL_COLUMNS = tuple(column.name for column in COLUMNS if column.usual)
FILE_ALONE = ("label_stocks", "printer", "printers", "fonts", "crops", "columns")  # keys of no sheet
ROWS = ("uses", "coolers")  # each is a sheet with a row for a name
FARM_KEYS = tuple(key for key in KEYS if key not in (*FILE_ALONE, *ROWS, "usual"))  # of the sheet Farm
