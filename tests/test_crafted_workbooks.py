"""Workbooks made to harm: each ends in a message, soon, and the process stays small."""

from __future__ import annotations

import json
import subprocess
import sys
from typing import Any

import pytest

from tests.crafted_workbooks import write

pytestmark = pytest.mark.slow
resource = pytest.importorskip("resource", reason="this system has no limits for a process")
MOST_SECONDS, MOST_MB = 10, 500
ADDRESSES = 4_000_000_000  # [bytes] so that a test that fails does not take the machine with it
# What is read all the same, because nothing in it is out of measure: strings and spaces that no cell shows.
HARMLESS = ("bomb-of-strings.xlsx as lots", "spaces.xlsx as lots")


def limit() -> None:
    """What the process may take at most."""
    resource.setrlimit(resource.RLIMIT_AS, (ADDRESSES, ADDRESSES))
    resource.setrlimit(resource.RLIMIT_CPU, (300, 300))


@pytest.fixture(scope="module")
def outcome(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Any]:
    """What came of all the workbooks, read one after the other by one process."""
    folder = tmp_path_factory.mktemp("crafted")
    write(folder)
    command = [sys.executable, "-m", "tests.crafted_workbooks", str(folder)]
    run = subprocess.run(command, capture_output=True, text=True, check=True, preexec_fn=limit)
    found = json.loads(run.stdout)
    assert isinstance(found, dict)
    return found


def test_every_crafted_workbook_ends_in_a_message(outcome: dict[str, Any]) -> None:
    """Read as lots or as a log, each says what it must be, what was found and what to do."""
    silent = [name for name, (told, _) in outcome["told"].items() if not told and "by hand" not in name]
    assert sorted(silent) == sorted(HARMLESS)
    assert all(": must " in line for told, _ in outcome["told"].values() for line in told)


def test_no_crafted_workbook_takes_long(outcome: dict[str, Any]) -> None:
    """Ten seconds of the processor at most, each."""
    slow = {name: seconds for name, (_, seconds) in outcome["told"].items() if seconds > MOST_SECONDS}
    assert slow == {}


def test_no_crafted_workbook_takes_much_memory(outcome: dict[str, Any]) -> None:
    """500 MB at most, all of them one after the other."""
    assert outcome["peak_mb"] < MOST_MB


@pytest.mark.parametrize(
    ("name", "cell"),
    [
        ("far-cell.xlsx", "XFD1048570"),
        ("far-column.xlsx", "XFD2"),
        ("far-cell-above-others.xlsx", "XFD1048570"),
        ("prefixed.xlsx", "XFD1048570"),
        ("rows-repeated.ods", "A2000000000"),
    ],
)
def test_the_stray_cell_is_named(outcome: dict[str, Any], name: str, cell: str) -> None:
    """The grower can find it."""
    told, _ = outcome["told"][f"{name} as lots"]
    most = f"must be at most 100,000 rows and 500 columns (got something in cell {cell})"
    remedy = "Delete what is not needed, or start a sheet for each season."
    assert told == [f'{name}, sheet "Lots": {most}. {remedy}']
