"""Exports that are kept in `logs/` for coolers whose settings name no log."""

from __future__ import annotations

from pathlib import Path

import pytest

from tagmaker.errors import InputProblems
from tagmaker.farm import Cooler, Farm, Use
from tagmaker.intake.log.cooler_log import read_logs
from tagmaker.intake.log.file import NoRowsError
from tagmaker.intake.log.finding import names_file
from tests.farms import make_farm
from tests.thermometer_logs import NOW


def farm_of(*names: str, **logs: str) -> Farm:
    """A farm of some coolers, some of which name their log."""
    coolers = {name: Cooler(name=name, log=logs.get(name.replace(" ", "_"))) for name in names}
    return Farm(units="F", uses={"shop": Use(name="shop", vase_days=4, leaves=NOW.time())}, coolers=coolers)


def write(folder: Path, name: str, day: str = "2027-04-20", t_f: float = 38.0) -> None:
    """An export of one day in `logs/`."""
    (folder / "logs").mkdir(exist_ok=True)
    rows = "".join(f"{day} {hour:02}:00,{t_f + hour % 2}\n" for hour in range(24))
    (folder / "logs" / name).write_text(f"Time,Temp F\n{rows}", encoding="utf-8")


def files(farm: Farm, cooler: str, folder: Path) -> tuple[str, ...]:
    """The files that are read for a cooler."""
    found = read_logs(farm.coolers[cooler], farm, folder, NOW)
    return () if found is None else found.files


def test_a_cooler_without_a_log_reads_what_is_kept_for_it(tmp_path: Path) -> None:
    """Files that begin with its name, in capitals or not; hidden ones and folders are none."""
    farm = farm_of("Walk In")
    assert read_logs(farm.coolers["Walk In"], farm, tmp_path, NOW) is None
    for name in ("walk-in-april.csv", "WALK-IN-2.CSV", ".walk-in-3.csv", "walk-in.csv", "other-1.csv"):
        write(tmp_path, name)
    (tmp_path / "logs" / "walk-in-4.csv").mkdir()
    assert files(farm, "Walk In", tmp_path) == ("logs/WALK-IN-2.CSV", "logs/walk-in-april.csv")


def test_no_cooler_reads_another_one_s_files(tmp_path: Path) -> None:
    """Where one cooler's name begins with another's, the longer one has the file, with a log or not."""
    write(tmp_path, "barn-2027.csv")
    write(tmp_path, "barn-2-2027.csv", t_f=45.0)
    write(tmp_path, "barn-3-2027.csv", t_f=55.0)
    write(tmp_path, "elsewhere.csv")
    farm = farm_of("barn", "barn 2", "barn-3", **{"barn-3": "logs/elsewhere.csv"})
    assert files(farm, "barn", tmp_path) == ("logs/barn-2027.csv",)
    assert files(farm, "barn 2", tmp_path) == ("logs/barn-2-2027.csv",)
    assert files(farm, "barn-3", tmp_path) == ("logs/elsewhere.csv",)


def test_coolers_that_files_cannot_tell_apart_read_none(tmp_path: Path) -> None:
    """Whose the files are is not guessed: both coolers count as unread, which is said with what to do."""
    farm = farm_of("Café", "cafe")
    assert files(farm, "cafe", tmp_path) == ()
    write(tmp_path, "cafe-1.csv")
    for name, other in (("Café", "cafe"), ("cafe", "Café")):
        with pytest.raises(NoRowsError) as caught:
            read_logs(farm.coolers[name], farm, tmp_path, NOW)
        assert f'cafe- for "{other}"' in str(caught.value)


def test_kept_files_of_another_season_stop_nothing(tmp_path: Path) -> None:
    """Nobody named them: the cooler counts as unread, where a log that is named would stop the run."""
    write(tmp_path, "barn-1.csv", "2026-04-20")
    farm = make_farm(units="F")
    with pytest.raises(NoRowsError) as caught:
        read_logs(Cooler(name="barn"), farm, tmp_path, NOW)
    assert str(caught.value) == (
        "logs/barn-*: log must be of this season (got logs/barn-*, whose last reading is of 2026-04-20). "
        "Add newer readings, or take these files out of logs."
    )
    with pytest.raises(InputProblems) as named:
        read_logs(Cooler(name="barn", log="logs/barn-1.csv"), farm, tmp_path, NOW)
    assert not isinstance(named.value, NoRowsError)


@pytest.mark.parametrize(
    ("log", "is_read"),
    [
        (None, True),
        ("logs/*", True),
        ("./logs/barn-*.csv", True),
        ("**/*.csv", True),
        ("logs/old.csv", False),
        ("*.csv", False),
    ],
)
def test_whether_a_new_file_would_be_read(tmp_path: Path, log: str | None, is_read: bool) -> None:
    """By what the settings say of the cooler's log."""
    assert names_file(Cooler(name="barn", log=log), "barn-2027-04-01-2027-04-20.csv", tmp_path) == is_read
