"""Small thermometer logs for tests, written and read in a folder of their own."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime
from pathlib import Path
from typing import Any

from tagmaker.errors import InputProblems
from tagmaker.farm import Cooler, Farm
from tagmaker.intake.log.cooler_log import read_logs
from tagmaker.storage.readings import Readings
from tests.farms import make_farm

LOGS = Path(__file__).parent / "logs"
NOW = datetime(2027, 4, 21, 9)  # a Wednesday


def read(folder: Path, log: str, farm: Farm | None = None, now: datetime = NOW, **cooler: Any) -> Readings:
    """The readings of a log in a folder, for a farm without units unless one is given."""
    barn = Cooler(name="barn", log=log, **cooler)
    readings = read_logs(barn, farm or make_farm(units=None), folder, now)
    assert readings is not None
    return readings


def read_text(folder: Path, *lines: str, farm: Farm | None = None, **cooler: Any) -> Readings:
    """The readings of a log of these lines."""
    (folder / "log.csv").write_text("\n".join(lines) + "\n", encoding="utf-8")
    return read(folder, "log.csv", farm, **cooler)


def problems(folder: Path, log: str, farm: Farm | None = None, **cooler: Any) -> list[str]:
    """What is wrong with a log, as a grower reads it; nothing where it can be read."""
    try:
        read(folder, log, farm, **cooler)
    except InputProblems as error:
        return [str(problem) for problem in error.problems]
    return []


def problems_of_text(
    folder: Path, lines: Iterable[str], farm: Farm | None = None, **cooler: Any
) -> list[str]:
    """What is wrong with a log of these lines."""
    (folder / "log.csv").write_text("\n".join(lines) + "\n", encoding="utf-8")
    return problems(folder, "log.csv", farm, **cooler)


def fahrenheit(readings: Readings) -> list[float]:
    """The temperatures in °F, to a tenth."""
    return [round(t_c * 1.8 + 32, 1) for t_c in readings.t_c]


def times(readings: Readings) -> list[str]:
    """The moments, to the minute."""
    return [f"{moment:%m-%d %H:%M}" for moment in readings.moments]
