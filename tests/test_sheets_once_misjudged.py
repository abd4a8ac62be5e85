"""Sheets that once got a wrong date, or none where one was due: each through `dates`, as a grower runs it."""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner

from tagmaker.cli import main

TODAY = "2027-04-20T08:00"  # a Tuesday
SETTINGS = """
units = "F"
[uses.shop]
vase_days = 4
[uses.stall]
vase_days = 4
days = ["Sat"]
leaves = "06:30"
[uses.event]
vase_days = 2
"""
BARN = '[coolers.barn]\nset_point = "36F"\n'
LOGGED = f'{BARN}log = "log.csv"\n'
TULIP = {"lot": "1", "crop": "tulip", "form": "single", "stage": "tight", "stems": "100"}
CUT = {**TULIP, "cut": "2027-04-12T08:00"}


@dataclass(frozen=True)
class Told:
    """What `dates` told of a sheet."""

    code: int
    lots: Mapping[str, Mapping[str, Any]]
    rooms: tuple[Mapping[str, Any], ...]
    planned: tuple[str, ...]
    complaints: str  # problems and what was said beside the dates


def told(folder: Path, *rows: Mapping[str, str], settings: str = BARN, today: str = TODAY) -> Told:
    """The dates of some rows."""
    columns = list(dict.fromkeys(column for row in rows for column in row))
    lines = [",".join(columns), *(",".join(row.get(column, "") for column in columns) for row in rows)]
    (folder / "lots.csv").write_text("\n".join(lines) + "\n", encoding="utf-8")
    (folder / "tagmaker.toml").write_text(SETTINGS + settings, encoding="utf-8")
    done = CliRunner().invoke(main, ["dates", str(folder / "lots.csv"), "--json", "--today", today])
    found = json.loads(done.stdout) if done.stdout.startswith("{") else {}
    return Told(
        code=done.exit_code,
        lots={lot["lot"]: lot for lot in found.get("lots", ())},
        rooms=tuple(found.get("room", ())),
        planned=tuple(plan["lot"] for plan in found.get("planned", ())),
        complaints=done.stderr + json.dumps(found.get("problems", []), ensure_ascii=False),
    )


def write_log(
    folder: Path,
    t_c: Callable[[datetime], float],
    first: str = "2027-04-01T00:00",
    last: str = TODAY,
    step: timedelta = timedelta(hours=1),
    unit: str = "C",
) -> None:
    """An hourly log of the barn."""
    moment, lines = datetime.fromisoformat(first), [f"Time,Temperature ({unit})"]
    while moment <= datetime.fromisoformat(last):
        lines.append(f"{moment:%Y-%m-%d %H:%M},{t_c(moment)}")
        moment += step
    (folder / "log.csv").write_text("\n".join(lines) + "\n", encoding="utf-8")


def between(first: str, last: str, inside: float, else_: float) -> Callable[[datetime], float]:
    """One temperature from a moment to another, and another one else."""
    start, end = datetime.fromisoformat(first), datetime.fromisoformat(last)
    return lambda moment: inside if start <= moment < end else else_


def days(lot: Mapping[str, Any]) -> int:
    """Calendar days from the cut of Monday 12 April to the sell by."""
    return (datetime.fromisoformat(lot["sell_by"]).date() - datetime(2027, 4, 12).date()).days


def test_stems_that_stood_ten_hours_at_five_below_have_no_date(tmp_path: Path) -> None:
    """They may be frozen: no date, and no label."""
    write_log(tmp_path, between("2027-04-15T00:00", "2027-04-15T10:00", -5.0, 2.2))
    lot = told(tmp_path, CUT, settings=LOGGED).lots["1"]
    assert (lot["state"], lot["sell_by"]) == ("no date", None)
    printed = CliRunner().invoke(main, ["wraps", str(tmp_path / "lots.csv"), "--today", TODAY])
    assert "no wrap labels for lots that are too old or without a date" in printed.stderr
    assert not (tmp_path / "papers" / "wrap-labels.pdf").exists()


def test_a_cooler_set_to_five_below_gives_no_date(tmp_path: Path) -> None:
    """Nobody read it, and stems freeze at what it is set to."""
    lot = told(tmp_path, CUT, settings='[coolers.barn]\nset_point = "-5C"\n').lots["1"]
    assert (lot["state"], lot["sell_by"]) == ("no date", None)


CELLS = ("2027-04-24", "out 2027-04-13T06:00 75F; barn 2027-04-13T20:00", "2027-04-12T15:00")


@pytest.mark.parametrize(
    "headers",
    [
        ("Needed (date x stems)", "Moved to / when", "in cooler"),
        ("needed", "moved", "In cooller"),
    ],
)
def test_filled_columns_under_other_headers_are_read_or_refused(
    tmp_path: Path, headers: tuple[str, str, str]
) -> None:
    """Never passed over: the same dates as under known headers, or a problem that names the column."""
    plain = told(tmp_path, {**CUT, **dict(zip(("needed", "moved", "in cooler"), CELLS, strict=True))})
    found = told(tmp_path, {**CUT, **dict(zip(headers, CELLS, strict=True))})
    assert plain.lots["1"]["sell_by"] is not None
    if headers[2] == "In cooller":
        assert (found.code, "column In cooller" in found.complaints) == (1, True)
    else:
        assert found.lots == plain.lots


def test_a_weekday_that_has_gone_is_no_end_for_sound_stems(tmp_path: Path) -> None:
    """Doubles whose last Saturday has gone still have vase days for the shop: to sell there."""
    lot = {**TULIP, "form": "double", "cut": "2027-04-02T08:00", "use": "stall"}
    found = told(tmp_path, lot, today="2027-04-18T08:00").lots["1"]
    assert found["state"] == "sell elsewhere"
    assert dict(found["elsewhere"])["shop"] == "2027-04-19T08:00"


def test_holiday_stems_stay_dry_until_their_day_needs_water(tmp_path: Path) -> None:
    """An outlet may have dates, so nothing is soaked weeks before."""
    holiday = f'[uses.holiday]\nvase_days = 4\ndays = ["2027-05-01"]\nleaves = "06:30"\n{BARN}'
    lot = {**TULIP, "form": "double", "cut": "2027-04-17T08:00", "use": "holiday"}
    found = told(tmp_path, lot, settings=holiday).lots["1"]
    assert (found["into_water_by"], found["sell_by"]) == ("2027-04-30T18:00", "2027-05-01T06:30")


def test_one_open_door_in_two_days_of_log_costs_less_than_a_day(tmp_path: Path) -> None:
    """Six hours at 18 °C within 44 hours of log: no week before them or after them counts as warm."""
    lot = {**CUT, "form": "double", "cut": "2027-04-05T08:00"}
    ends = []
    for door_c in (2.0, 18.0):
        door = between("2027-04-19T10:00", "2027-04-19T16:00", door_c, 2.0)
        write_log(tmp_path, door, first="2027-04-18T12:00")
        ends.append(datetime.fromisoformat(told(tmp_path, lot, settings=LOGGED).lots["1"]["sell_by"]))
    assert ends[0] - ends[1] <= timedelta(days=1)


def test_bulb_on_is_not_stretched_to_six_weeks_at_41_fahrenheit(tmp_path: Path) -> None:
    """Six weeks were shown below freezing; the order is refused, with the last day that would do."""
    lot = {**TULIP, "cut": "2027-04-05T08:00", "bulb": "on", "use": "event", "needed": "2027-05-17"}
    found = told(tmp_path, lot).lots["1"]
    assert (found["orders"][0]["ok"], found["sell_by"] < "2027-05-07") == (False, True)


def test_buds_half_coloured_lie_between_tight_and_coloured(tmp_path: Path) -> None:
    """Half is a stage of its own, and what a stage looks like is said where it is past the right one."""
    stages = ("tight", "half", "coloured")
    found = told(tmp_path, *({**CUT, "lot": stage, "stage": stage} for stage in stages)).lots
    assert days(found["COLOURED"]) < days(found["HALF"]) < days(found["TIGHT"])
    assert "about half coloured, closed" in found["HALF"]["warnings"][0]


def test_warm_hours_outside_have_no_step(tmp_path: Path) -> None:
    """Four hours and a quarter at 15.7 °C cost no more than eight at 15.5 °C; neither costs a week."""
    trips = (
        "",
        "out 2027-04-13T08:00 15.7C; barn 2027-04-13T12:15",
        "out 2027-04-13T08:00 15.5C; barn 2027-04-13T16:00",
    )
    found = told(tmp_path, *({**CUT, "lot": str(n), "moved": trip} for n, trip in enumerate(trips))).lots
    kept, short, long = (days(found[str(n)]) for n in range(3))
    assert kept > short >= long > kept - 3


def test_a_cooler_that_failed_counts_like_a_trip_as_warm(tmp_path: Path) -> None:
    """A day and a half at 15.7 °C open buds wherever the stems stood."""
    write_log(tmp_path, lambda _: 2.0)
    trip = {**CUT, "moved": "out 2027-04-13T08:00 15.7C; barn 2027-04-14T20:00"}
    outside = told(tmp_path, trip, settings=LOGGED).lots["1"]
    write_log(tmp_path, between("2027-04-13T08:00", "2027-04-14T20:00", 15.7, 2.0))
    inside = told(tmp_path, CUT, settings=LOGGED).lots["1"]
    assert days(inside) <= days(outside) < 17
    assert "half coloured" in inside["marks"]


def test_a_trip_without_hours_counts_a_working_day(tmp_path: Path) -> None:
    """Out and back on one day is from the workday's start to its end."""
    found = told(tmp_path, CUT, {**CUT, "lot": "2", "moved": "out 2027-04-13 75F; barn 2027-04-13"}).lots
    assert days(found["2"]) < days(found["1"]) - 2


def test_a_split_lot_with_a_move_of_its_own_keeps_its_parents_warm_trip(tmp_path: Path) -> None:
    """What its parent suffered before the split is its own past too."""
    parent = {**CUT, "moved": "out 2027-04-13T06:00 75F; barn 2027-04-13T20:00"}
    child = {"lot": "2", "split from": "1", "stems": "50", "moved": "porch 2027-04-15"}
    settings = BARN + '[coolers.porch]\nset_point = "36F"\n'
    found = told(tmp_path, parent, child, settings=settings).lots
    assert found["2"]["sell_by"] == found["1"]["sell_by"]


@pytest.mark.parametrize(
    "cells",
    [
        {"cut": "27/04/10"},
        {"cut": "2026-04-12"},
        {"cut": "2028-04-12"},
        {"cut": "2027-04-12", "needed": "2026-04-24"},
        {"cut": "2027-04-12", "needed": "2028-04-24"},
        {"cut": "2027-04-12", "in cooler": "2028-04-12"},
    ],
)
def test_a_wrong_year_is_a_problem(tmp_path: Path, cells: dict[str, str]) -> None:
    """Of the cut, an order or the cooler: named with its cell, and the lot is not dated."""
    column = list(cells)[-1]
    found = told(tmp_path, {**TULIP, **cells})
    assert (found.code, f"line 2, column {column}" in found.complaints) == (1, True)
    assert (found.lots, found.planned) == ({}, ())


def test_a_log_that_changes_its_unit_is_refused_and_turns_no_dial(tmp_path: Path) -> None:
    """It is refused at the row where °C begin, and no dial is advised from it."""
    write_log(tmp_path, between("2027-04-01T00:00", "2027-04-16T00:00", 38.0, 3.3), unit="F")
    found = told(tmp_path, CUT, settings=LOGGED)
    row = 1 + 15 * 24 + 1  # the header, and fifteen days before it
    assert found.code == 1
    assert f"log.csv, line {row}, column Temperature (F): must stay in one unit" in found.complaints
    report = CliRunner().invoke(main, ["cooler", str(tmp_path / "lots.csv"), "--today", TODAY])
    assert (report.exit_code, report.stdout) == (1, "")


def test_bunches_back_from_market_have_a_date(tmp_path: Path) -> None:
    """Put back in water on the evening of a warm market, they leave within three days of that."""
    trip = "out 2027-04-17T05:00 65F; barn 2027-04-17T13:00"
    lot = {**CUT, "cut": "2027-04-05T08:00", "in water": "2027-04-17", "moved": trip}
    found = told(tmp_path, lot, today="2027-04-19T08:00").lots["1"]
    assert (found["state"], found["sell_by"]) == ("keep", "2027-04-20T08:00")


def test_a_wet_lot_that_is_to_stand_in_water_has_no_label(tmp_path: Path) -> None:
    """Drops are on its wraps whichever way it goes: no date, and one slip in place of its labels."""
    lot = {**TULIP, "cut": "2027-04-19T08:00", "surface": "wet", "storage": "water"}
    found = told(tmp_path, lot).lots["1"]
    assert (found["state"], found["sell_by"]) == ("no date", None)
    assert found["next"]["kind"] == "fan"


def test_an_order_on_a_day_off_its_use_has_its_water_date(tmp_path: Path) -> None:
    """A stall order for a Thursday is put in water on Wednesday evening, and NEXT says so."""
    told(tmp_path, {**CUT, "use": "stall", "needed": "2027-04-22T09:00 x 60"})
    table = CliRunner().invoke(main, ["dates", str(tmp_path / "lots.csv"), "--today", TODAY]).stdout
    assert "WED 21 APR: INTO WATER by 6 PM for THU 22 APR stall: 6 bunches" in table


def test_plans_take_room(tmp_path: Path) -> None:
    """Five crates planned for tomorrow beside one that stands there."""
    plan = {**TULIP, "lot": "2", "stems": "600", "cut": "plan 2027-04-21"}
    found = told(tmp_path, CUT, plan, settings=f"{BARN}crates = 24\n")
    assert [day["crates"] for day in found.rooms[:2]] == [1, 6]


def test_a_plan_stays_a_plan_when_its_day_has_come(tmp_path: Path) -> None:
    """Until somebody takes the word away, it is not cut, and has no date."""
    found = told(tmp_path, {**TULIP, "cut": "plan 2027-04-18"})
    assert (found.code, found.lots, found.planned) == (0, {}, ("1",))


def test_a_missing_log_stops_nothing(tmp_path: Path) -> None:
    """Said loudly; the cooler counts as unread, and every lot is dated."""
    found = told(tmp_path, CUT, settings=LOGGED)
    assert 'no such file: "log.csv"' in found.complaints
    assert found.lots["1"]["sell_by"] == told(tmp_path, CUT).lots["1"]["sell_by"]


@pytest.mark.parametrize("crop", ["lily", "rose"])
def test_lilies_and_roses_are_sold_open(tmp_path: Path, crop: str) -> None:
    """Their hours in the warm end their storage; they do not use it up."""
    settings = f"[uses.supper]\nvase_days = 2\nopen = true\n{BARN}"
    lot = {
        **TULIP,
        "form": "",
        "crop": crop,
        "cut": "2027-04-19T08:00",
        "use": "supper",
        "needed": "2027-04-24 x 20",
    }
    assert told(tmp_path, lot, settings=settings).lots["1"]["orders"][0]["ok"]


def test_early_and_late_span_what_flowers_do(tmp_path: Path) -> None:
    """Four days or more to either side of a tulip's sell by that no limit in days closes."""
    found = told(tmp_path, CUT).lots["1"]
    early, end, late = (datetime.fromisoformat(found[key]) for key in ("early", "sell_by", "late"))
    assert (end - early >= timedelta(days=4), late - end >= timedelta(days=4)) == (True, True)
