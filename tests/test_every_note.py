"""Each kind of note comes of some sheet, and its sentence has no holes: what is new brings its own sheet."""

from __future__ import annotations

import csv
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from pathlib import Path

import pytest

from tagmaker import notes
from tagmaker.desk.better_packing import better
from tagmaker.desk.overview import overview
from tagmaker.desk.season import Day, read_season, summaries
from tagmaker.notes import Note
from tagmaker.storage.allocation import allocate
from tagmaker.storage.demand import WrittenOrder
from tagmaker.storage.serving import supplies
from tagmaker.telling.overflow import overflow_note
from tagmaker.telling.wording import Wording

NOW = datetime(2027, 3, 23, 8)  # a Tuesday
HALL = "2027-04-15 hall"  # more than three weeks after the cut
SETTINGS = """
units = "F"
{more}
[uses.shop]
vase_days = 4
[uses.stall]
vase_days = 4
days = ["Sat"]
[uses.hall]
vase_days = 2
[uses.hotel]
vase_days = 9
[coolers.barn]
set_point = 36
{barn}
[coolers.deep]
set_point = 24
[coolers.cold]
set_point = 31
"""
LOT = {
    "lot": "041",
    "crop": "tulip",
    "form": "single",
    "cut": "2027-03-22T09:00",
    "stage": "tight",
    "stems": "120",
    "use": "shop",
}
WEEK = (37.0,) * (8 * 24)  # readings of an hour each [°F]
SMALL = "crates = 3\nbuckets = 2"


@dataclass(frozen=True, slots=True, kw_only=True)
class Situation:
    """A season in which something is said: a tulip cut yesterday at nine, but for what is given."""

    cells: Mapping[str, str]
    more: str = ""  # of the settings
    barn: str = ""  # of the cooler's
    log: Sequence[float | None] = ()  # [°F] read in the barn every hour, None: nothing
    log_end: datetime = NOW
    now: datetime = NOW
    ordered: tuple[WrittenOrder, ...] = ()  # rows of the Orders sheet


def tulip(
    *,
    more: str = "",
    barn: str = "",
    log: Sequence[float | None] = (),
    log_end: datetime = NOW,
    now: datetime = NOW,
    ordered: tuple[WrittenOrder, ...] = (),
    **cells: str,
) -> Situation:
    """A lot with some cells of its own; `in_cooler` stands for the column in cooler."""
    named = {column.replace("_", " "): text for column, text in cells.items()}
    return Situation(cells=named, more=more, barn=barn, log=log, log_end=log_end, now=now, ordered=ordered)


FOR_SATURDAY = WrittenOrder(order_code="W1", leaves=datetime(2027, 3, 27, 8), use="shop", bunches=20)


SITUATIONS: dict[type[Note], Situation] = {
    notes.WhySellBy: tulip(),
    notes.WhyUndated: tulip(
        crop="hyacinth", form="", stage="coloured", storage="dry", field="95F", in_cooler="2027-03-22T22:00"
    ),
    notes.WhyWet: tulip(surface="wet"),
    notes.WhySetTooCold: tulip(cooler="deep"),
    notes.WhyFrozen: tulip(log=(*WEEK[12:], *(20.0,) * 12)),
    notes.WhyHot: tulip(field="107F"),
    notes.WhyIntoWater: tulip(),
    notes.NotFor: tulip(needed="2027-06-01"),
    notes.TooLateFor: tulip(needed="2027-03-23T10:00 x 60"),
    notes.Stretched: tulip(needed=HALL),
    notes.WrongDay: tulip(use="stall", needed="2027-03-26 x 60"),
    notes.KeepFor: tulip(needed=f"{HALL} x 40", now=datetime(2027, 4, 14, 9)),
    notes.OverOrdered: tulip(needed="2027-03-27 x 100; 2027-03-30 x 100"),
    notes.TestFirst: tulip(needed=HALL),
    notes.StageBlank: tulip(stage=""),
    notes.StageEarly: tulip(stage="green"),
    notes.StageLate: tulip(stage="half"),
    notes.HalfColoured: tulip(moved="out 2027-03-22T12:00 68F; barn 2027-03-23T04:00"),
    notes.TooOpen: tulip(moved="out 2027-03-22T12:00 86F; barn 2027-03-23T07:00"),
    notes.TestedBad: tulip(tested="2027-03-23 bad"),
    notes.DatedLike: tulip(
        crop="astrantia", form="", stage="coloured", more='crops.astrantia.like = "stock"'
    ),
    notes.FormAssumed: tulip(form=""),
    notes.Wet: tulip(surface="wet"),
    notes.PromiseAboveFresh: tulip(use="hotel"),
    notes.PutInWater: tulip(cut="2027-03-23T07:00", needed="2027-03-25"),
    notes.BelowFreezing: tulip(crop="peony", form="", cooler="cold"),
    notes.Chilling: tulip(crop="zinnia", form="", stage="open"),
    notes.NoBucketsInside: tulip(storage="water", barn='soak = "outside"'),
    notes.LogUnread: tulip(barn='log = "gone.csv"'),
    notes.LogEnded: tulip(log=WEEK, log_end=NOW - 2 * timedelta(days=1)),
    notes.LogOffSetPoint: tulip(log=(44.0,) * len(WEEK)),
    notes.PowerCut: tulip(log=(*WEEK[9:], *(None,) * 7, 37.0, 37.0)),
    notes.DaysLost: tulip(log=(59.0,) * len(WEEK)),
    notes.FitsUntil: tulip(cut="2027-03-23T07:00", stems="360", barn=SMALL, needed="2027-03-27 x 300"),
    notes.Overflow: tulip(stems="600", barn=SMALL),
    notes.PlanGood: tulip(cut="plan 2027-04-10", needed="2027-04-20"),
    notes.PlanBad: tulip(cut="plan 2027-04-10", needed="2027-06-20"),
    notes.PlanOpen: tulip(cut="plan 2027-04-10"),
    notes.PlanNothing: tulip(
        cut="plan 2027-04-10",
        crop="hyacinth",
        form="",
        stage="coloured",
        storage="dry",
        field="100F",
        more="half_cooling = 48",
    ),
    notes.WhyTaken: tulip(ordered=(FOR_SATURDAY,)),
    notes.WhyKept: tulip(needed="2027-03-27 x 60"),
    notes.WhyShort: tulip(ordered=(FOR_SATURDAY,)),
    notes.BetterIf: tulip(  # a bunch of ten is half wasted on the first
        ordered=(
            replace(FOR_SATURDAY, bunches=None, stems=15),
            replace(FOR_SATURDAY, bunches=None, stems=110, order_code="W2"),
        )
    ),
}


KINDS = [
    kind
    for kind in vars(notes).values()
    if isinstance(kind, type)
    and issubclass(kind, Note)
    and kind is not Note
    and not kind.__name__.startswith("_")
]


def said(folder: Path, situation: Situation) -> Iterator[Note]:
    """Everything that is told of a season: of its lots, plans, rooms and coolers."""
    barn = situation.barn
    if situation.log:
        barn += '\nlog = "barn.csv"'
        start = situation.log_end - timedelta(hours=len(situation.log) - 1)
        lines = [
            f"{start + timedelta(hours=hour):%Y-%m-%d %H:%M},{t_f}"
            for hour, t_f in enumerate(situation.log)
            if t_f is not None
        ]
        (folder / "barn.csv").write_text("\n".join(["Time,Temp (°F)", *lines]) + "\n", encoding="utf-8")
    (folder / "tagmaker.toml").write_text(SETTINGS.format(more=situation.more, barn=barn), encoding="utf-8")
    row = {**LOT, **situation.cells}
    with (folder / "lots.csv").open("w", encoding="utf-8", newline="") as file:
        csv.writer(file).writerows([list(row), list(row.values())])
    now = situation.now
    season = read_season(folder / "lots.csv", Day(now.date(), now))
    assert [str(problem) for problem in season.problems] == []
    found = overview(season, {"041"})
    for dates in found.lots:
        yield dates.why
        if dates.why_into_water is not None:
            yield dates.why_into_water
        yield from found.warnings[dates.lot.lot_code]
    yield from (plan.why for plan in found.plans)
    yield from map(overflow_note, found.overfull)
    for story in summaries(season, {"041"}):
        yield from story.notes
    there = supplies(season.dated, season.farm, season.crops, now, season.airs)
    allocation = allocate(there, situation.ordered, season.farm, now)
    yield from (line.why for line in allocation.lines)
    yield from (shortfall.why for shortfall in allocation.shortfalls)
    if (offer := better(allocation, there, season.farm)) is not None:
        yield offer.why


@pytest.mark.parametrize("kind", KINDS, ids=lambda kind: kind.__name__)
def test_a_note_comes_of_some_sheet(tmp_path: Path, kind: type[Note]) -> None:
    """A season brings it out, and in either unit it is a sentence without a hole."""
    assert kind in SITUATIONS, f"{kind.__name__} is new: say in SITUATIONS what brings it out"
    found = list(said(tmp_path, SITUATIONS[kind]))
    assert kind in {type(note) for note in found}
    for units in "FC":
        for sentence in map(Wording(units).say, found):
            assert [hole for hole in ("None", "{", "  ", "nan") if hole in sentence] == []


def test_an_ordinary_lot_is_warned_of_nothing(tmp_path: Path) -> None:
    """What brings a note out is what differs from this one."""
    kinds = {type(note) for note in said(tmp_path, tulip())}
    assert kinds == {notes.WhySellBy, notes.WhyIntoWater}
