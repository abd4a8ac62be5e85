"""The order of rows and columns of a sheet says nothing."""

from __future__ import annotations

import csv
import io
from datetime import datetime
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tagmaker.desk.season import Day, read_season
from tagmaker.lot import StorageDates
from tests.small_sheets import SETTINGS

NOW = datetime(2027, 4, 21, 9)
SHEET = """\
lot,crop,cut,stage,stems,surface,cooler,moved,tested,use,needed,gone,split from,Bed
041,tulip,2027-04-12,half,90,,barn,out 2027-04-17 70F; porch 2027-04-17,2027-04-20 ok,stall,2027-04-24 x 60,,,
042,tulip,2027-04-11,,120,,porch,,,shop,,40,,8
043,,,,40,,,,,,,,041 x 20; 042 x 20,
044,,,,30,,,barn 2027-04-19,,event,2027-04-26T09:00,,041,
045,lily,2027-04-19,tight,80,dried,barn,,,shop,,,,3
046,tulip,plan 2027-04-26,,200,,,,,stall,,,,
047,tulip,2027-04-19,tight,100,wet,barn,,,shop,,,,
"""
ROWS = list(csv.reader(io.StringIO(SHEET)))


def dated(folder: Path, rows: list[list[str]]) -> dict[str, tuple[object, ...]]:
    """What every lot is told, by its code."""
    text = io.StringIO()
    csv.writer(text).writerows(rows)
    (folder / "order.csv").write_text(text.getvalue(), encoding="utf-8")
    (folder / "tagmaker.toml").write_text(SETTINGS, encoding="utf-8")
    season = read_season(folder / "order.csv", Day(NOW.date(), NOW))
    assert [str(problem) for problem in season.problems] == []
    assert [lot.lot_code for lot in season.lots if lot.planned] == ["046"]
    return {dates.lot.lot_code: facts(dates) for dates in season.dated}


def facts(dates: StorageDates) -> tuple[object, ...]:
    """The dates of a lot, and what it stands for."""
    told = (
        dates.state,
        dates.code,
        dates.sell_by,
        dates.into_water_by,
        dates.early,
        dates.late,
        dates.orders,
    )
    return (*told, dates.life_used, dates.vase_days, dates.lot.moves, dates.lot.left, dates.lot.place)


@pytest.mark.slow
@settings(max_examples=25)
@given(st.permutations(range(len(ROWS[0]))), st.permutations(ROWS[1:]))
def test_any_order_of_columns_and_rows_gives_the_same_dates(
    tmp_path_factory: pytest.TempPathFactory, columns: list[int], rows: list[list[str]]
) -> None:
    """A lot may stand above the one that it was split from, and its code in the last column."""
    folder = tmp_path_factory.getbasetemp()
    shuffled = [[row[column] for column in columns] for row in (ROWS[0], *rows)]
    assert dated(folder, shuffled) == dated(folder, ROWS)
