"""Worked rows: a sheet whose dates a second, independent implementation of the rules gave.

The crop figures are those of `crops.csv` beside the rows, a copy of the table of that day, so that a better
figure in the table changes no worked row.
"""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner

from tagmaker.cli import main
from tagmaker.storage.crops import CropTable, read_keepings

ROWS = Path(__file__).parent / "data" / "dated_lots"
EXPECTED: dict[str, dict[str, Any]] = json.loads((ROWS / "expected.json").read_text(encoding="utf-8"))


@pytest.fixture(scope="module")
def computed() -> dict[str, dict[str, Any]]:
    """Every lot as `dates --json` gives it."""
    table = CropTable(read_keepings((ROWS / "crops.csv").read_text(encoding="utf-8")))
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("tagmaker.desk.season.crop_table", lambda _: table)
        result = CliRunner().invoke(
            main, ["dates", str(ROWS / "lots.csv"), "--json", "--today", "2027-03-23T08:00"]
        )
    assert result.exit_code == 0, result.output
    return {lot["lot"]: lot for lot in json.loads(result.stdout)["lots"]}


@pytest.mark.parametrize("lot", sorted(EXPECTED))
def test_dated_row_agrees_with_the_second_implementation(
    lot: str, computed: dict[str, dict[str, Any]]
) -> None:
    """All fields of a worked row are the same, orders too."""
    expected = EXPECTED[lot]
    found = {key: computed[lot][key] for key in expected}
    found["orders"] = [
        {key: order[key] for key in wanted}
        for order, wanted in zip(computed[lot]["orders"], expected["orders"], strict=True)
    ]
    assert found == expected


def test_dated_rows_are_all_there(computed: dict[str, dict[str, Any]]) -> None:
    """No row is lost on the way."""
    assert sorted(computed) == sorted(EXPECTED)
