"""A week with a broken door: which lots lost days, which tags are no longer true, and printing just those."""

from __future__ import annotations

import json
from datetime import datetime, timedelta
from pathlib import Path

import pytest
from click.testing import CliRunner, Result
from pypdf import PdfReader

from tagmaker.cli import main

BEFORE, AFTER = "2027-04-15T08:00", "2027-04-20T08:00"
DOOR_OPENS, DOOR_SHUTS = datetime(2027, 4, 17, 19), datetime(2027, 4, 19, 7)
START = datetime(2027, 4, 1)
SETTINGS = """
units = "F"
[uses.shop]
vase_days = 4
[coolers.barn]
set_point = 38
log = "barn.csv"
[coolers.porch]
set_point = 38
"""
LOTS = """lot,crop,form,cut,stage,stems,cooler
041,tulip,single,2027-04-12T08:00,tight,60,barn
042,tulip,double,2027-04-05T08:00,tight,60,barn
043,tulip,single,2027-04-12T08:00,tight,60,porch
044,zinnia,,2027-04-14T08:00,open,50,barn
"""


def run(command: str, folder: Path, today: str, *more: str) -> Result:
    """What a command prints, and its exit code."""
    return CliRunner().invoke(main, [command, str(folder / "lots.csv"), "--today", today, *more])


def write_log(folder: Path, until: str) -> None:
    """Quarter hours at 38 °F, and at 55 °F while the door is open: warm, but not so that buds open."""
    moments = []
    moment = START
    while moment <= datetime.fromisoformat(until):
        warm = DOOR_OPENS <= moment < DOOR_SHUTS
        moments.append(f"{moment:%Y-%m-%d %H:%M},{55.0 if warm else 38.0}")
        moment += timedelta(minutes=15)
    (folder / "barn.csv").write_text("\n".join(["time,temperature F", *moments]) + "\n", encoding="utf-8")


@pytest.fixture
def farm(tmp_path: Path) -> Path:
    """A farm whose labels were printed before the door broke, and whose log has gone on since."""
    (tmp_path / "tagmaker.toml").write_text(SETTINGS, encoding="utf-8")
    (tmp_path / "lots.csv").write_text(LOTS, encoding="utf-8")
    write_log(tmp_path, BEFORE)
    assert run("papers", tmp_path, BEFORE).exit_code == 0
    write_log(tmp_path, AFTER)
    return tmp_path


def test_dates_says_which_lots_lost_days_and_which_tags_to_reprint(farm: Path) -> None:
    """The lots behind the door lost days, the one on the porch did not."""
    found = json.loads(run("dates", farm, AFTER, "--json").stdout)
    lost = {
        lot["lot"] for lot in found["lots"] if any("lost by what the cooler" in w for w in lot["warnings"])
    }
    assert lost >= {"041", "042"}
    assert "043" not in lost
    assert {"041", "042"} <= set(found["reprint"]["wraps"])
    assert "043" not in found["reprint"]["wraps"]
    table = run("dates", farm, AFTER).stdout
    assert table.splitlines()[0] == "REPRINT FIRST, wrap labels that must go: 044, 042, 041"


def test_nothing_is_to_be_reprinted_before_the_door_breaks(farm: Path) -> None:
    """On the day of printing all tags are true."""
    write_log(farm, BEFORE)
    assert json.loads(run("dates", farm, BEFORE, "--json").stdout)["reprint"] == {}


def test_reprint_prints_just_those_and_then_none(farm: Path) -> None:
    """A lot that is too old gets none; the second --reprint has nothing to print."""
    first = run("wraps", farm, AFTER, "--reprint")
    assert first.exit_code == 0, first.output
    pages = PdfReader(farm / "papers" / "wrap-labels.pdf").pages
    words = " ".join(page.extract_text() for page in pages).split()
    assert {code for code in ("041", "042", "043", "044") if code in words} == {"041", "042"}
    assert "too old or without a date (--lot CODE prints them all the same): 044" in first.stderr
    second = run("wraps", farm, AFTER, "--reprint")
    assert (second.exit_code, second.stdout) == (0, "")
    assert "no wrap labels to print: no printed label must go" in second.stderr


def test_new_prints_only_bunches_without_a_label(farm: Path) -> None:
    """Thirty stems more in one lot are three labels more, and then none."""
    sheet = farm / "lots.csv"
    sheet.write_text(LOTS.replace("tight,60,porch", "tight,90,porch"), encoding="utf-8")
    assert run("wraps", farm, AFTER, "--new").exit_code == 0
    (page,) = PdfReader(farm / "papers" / "wrap-labels.pdf").pages
    assert page.extract_text().split().count("043") == 3
    assert run("wraps", farm, AFTER, "--new").stdout == ""


def test_no_record_remembers_nothing(farm: Path) -> None:
    """Printed without record, the old labels are still the ones that count."""
    assert run("wraps", farm, AFTER, "--reprint", "--no-record").exit_code == 0
    assert json.loads(run("dates", farm, AFTER, "--json").stdout)["reprint"]["wraps"] != []


def test_a_damaged_record_never_stops_printing(farm: Path) -> None:
    """It is set aside with a message, and the labels come."""
    (farm / "lots-printed.sqlite").write_bytes(b"not a database at all")
    result = run("wraps", farm, AFTER)
    assert result.exit_code == 0, result.output
    assert "was set aside as" in result.stderr
    assert len(list(farm.glob("lots-printed-set-aside-*.sqlite"))) == 1
