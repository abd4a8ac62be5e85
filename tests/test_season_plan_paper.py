"""The season plan on paper: all in its place on Letter and A4, rows by their names, the room as bars."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from itertools import combinations
from typing import Any

import pytest

from tagmaker.desk.season_planning import PlannedSeason, plan_season
from tagmaker.farm import PAPER_SIZES, Cooler
from tagmaker.paper.plan.charts import room_charts
from tagmaker.paper.plan.pages import MARGIN, plan_sheets, season_plan_paper
from tagmaker.paper.press.boxes import Box, Frame, Sheet, Text
from tagmaker.paper.press.chart import draw_chart
from tagmaker.paper.press.fitting import ELLIPSIS
from tagmaker.paper.proof.proving import prove
from tagmaker.storage.room import RoomDay
from tagmaker.storage.season_ground import PLAN_DAYS, Ground
from tagmaker.telling.season_told import PlanResult, PlanWords, plan_words
from tagmaker.telling.teller import Teller
from tagmaker.telling.wording import Wording
from tests.farms import CROPS
from tests.season_farms import NOW, a_cooler, farm_of, ground, planned, random_ground, shop
from tests.sheet_checks import overlap

FAHRENHEIT = Wording("F")


def told(plan: PlannedSeason) -> PlanWords:
    """What is said of a plan."""
    result = PlanResult(
        lots=plan.ground.lots,
        found=plan.found,
        overfull=plan.overfull,
        would_do=plan.would_do,
        unsaid=plan.unsaid,
        unproven=plan.unproven,
        seconds=30.0,
        until=NOW.date() + timedelta(days=PLAN_DAYS - 1),
    )
    return plan_words(result, Teller(plan.ground.farm, CROPS, FAHRENHEIT, NOW))


def long_names() -> Ground:
    """A glut of the longest names that hardly fits anything."""
    use = replace(shop(200), name="the corner flower shop by the old mill bridge")
    small = a_cooler("the large walk-in cooler behind the second barn", crates=2, buckets=1)
    farm = farm_of(
        use, coolers=[small, a_cooler("the other one with quite a long name", crates=30, buckets=9)]
    )
    names: dict[str, Any] = {
        "variety": "Queen of the Early Northern Night Sky",
        "colour": "dark violet, white rim",
    }
    return ground(farm, [planned(1, "NORTH-FIELD7", 20_000, cooler=small.name, use=use.name, **names)])


GROUNDS = {
    "many": lambda: random_ground(3, 14, 6, 8, ("barn", "south", "north")),
    "few": lambda: random_ground(5, 1, 1, 1),
    "none": lambda: ground(farm_of(shop()), []),
    "long": long_names,
}


@pytest.fixture(scope="module")
def plans() -> dict[str, PlannedSeason]:
    """The plans of some farms."""
    return {name: plan_season(make()) for name, make in GROUNDS.items()}


@pytest.mark.parametrize("paper", ["letter", "a4"])
@pytest.mark.parametrize("name", GROUNDS)
def test_everything_is_in_its_place(plans: dict[str, PlannedSeason], name: str, paper: str) -> None:
    """No words leave the page's margins or lie on others; every page reads back from the finished PDF."""
    plan = plans[name]
    farm = replace(plan.ground.farm, paper_size=paper, name="Larkmarrow Yard")
    words = told(plan)
    sheets = plan_sheets(words, plan.rooms, farm, FAHRENHEIT, NOW)
    inner = Box(0, 0, *PAPER_SIZES[paper]).inset(MARGIN)
    for sheet in sheets:
        texts = texts_of(sheet)
        assert [text for text in texts if not inner.holds(text.box, 0.5)] == []
        assert [pair for pair in combinations([ink(text) for text in texts], 2) if overlap(*pair)] == []
    proof = prove(season_plan_paper(words, plan.rooms, farm, FAHRENHEIT, NOW))
    assert proof.pages == len(sheets)
    shown = {line.text for sheet in sheets for text in texts_of(sheet) for line in text.lines}
    assert {row.id for row in words.rows} <= shown


def texts_of(sheet: Sheet) -> list[Text]:
    """All words of a page."""
    return [e for placed in sheet.placed for e in placed.drawing.elements if isinstance(e, Text)]


def ink(text: Text) -> Box:
    """About where the letters of a text are: from its first line's capitals to its last baseline."""
    size = text.size * 0.3528
    top = text.lines[0].y - 0.7 * size
    return Box(text.lines[0].x, top, text.box.right - text.lines[0].x - 0.1, text.lines[-1].y - top)


def test_no_name_of_a_row_is_cut(plans: dict[str, PlannedSeason]) -> None:
    """What has to be typed to accept a row stands there whole, for the longest code too."""
    plan = plans["long"]
    sheets = plan_sheets(told(plan), plan.rooms, plan.ground.farm, FAHRENHEIT, NOW)
    lines = [line.text for sheet in sheets for text in texts_of(sheet) for line in text.lines]
    assert [line for line in lines if line.startswith("NORTH-FIELD7-") and ELLIPSIS in line] == []
    assert len([line for line in lines if line.startswith("NORTH-FIELD7-0")]) == len(plan.found.rows) > 0


@pytest.mark.parametrize("paper", PAPER_SIZES)
@pytest.mark.parametrize("day", ["WED 28 APR", "WED 30 MAY", "WED 28 APR 2028"])
def test_no_day_of_a_row_is_cut(plans: dict[str, PlannedSeason], day: str, paper: str) -> None:
    """The widest days stand there whole with their hours, a year too where it is printed."""
    plan = plans["long"]
    words = told(plan)
    lines = (day, "12:30 PM")
    rows = [replace(row, leaves_lines=lines, water_lines=lines) for row in words.rows]
    farm = replace(plan.ground.farm, paper_size=paper)
    sheets = plan_sheets(replace(words, rows=tuple(rows)), plan.rooms, farm, FAHRENHEIT, NOW)
    texts = [line.text for sheet in sheets for text in texts_of(sheet) for line in text.lines]
    assert (texts.count(day), texts.count("12:30 PM")) == (2 * len(rows), 2 * len(rows))


def bars(cooler: Cooler, *days: tuple[int, int, float | None]) -> list[list[Frame]]:
    """The boxes of each chart of a cooler whose days have so many crates, buckets, and are so full."""
    told_days = [
        RoomDay(
            cooler=cooler.name,
            day=NOW.date() + timedelta(days=n),
            crates=crates,
            buckets=buckets,
            fill=fill,
            overflow=(),
        )
        for n, (crates, buckets, fill) in enumerate(days)
    ]
    box = Box(0, 0, 190, 62)
    charts = [draw_chart(chart, box) for chart in room_charts(cooler, told_days, FAHRENHEIT)]
    return [[element for element in chart if isinstance(element, Frame)] for chart in charts]


def test_shared_room_is_one_chart_and_what_is_too_much_is_black() -> None:
    """Crates and buckets stand on one another as shares of the cooler; beyond a full one the bar is black."""
    cooler = a_cooler(crates=10, buckets=10)
    (boxes,) = bars(cooler, (5, 2, 0.7), (8, 4, 1.2))
    filled = [frame for frame in boxes if frame.filled]
    crates, buckets, *_ = [frame for frame in boxes if not frame.filled]
    assert crates.box.height == pytest.approx(2.5 * buckets.box.height)
    assert buckets.box.bottom == pytest.approx(crates.box.y)
    (black,) = filled
    assert black.box.height == pytest.approx(buckets.box.height)  # a fifth of the room, as two buckets are


def test_room_of_its_own_for_buckets_is_a_chart_of_its_own() -> None:
    """Where crates and buckets do not share the space each kind has a chart in numbers."""
    assert len(bars(a_cooler(crates=10, buckets=10, shared=False), (5, 2, 0.5))) == 2
    assert len(bars(a_cooler(crates=10, shared=False), (5, 0, 0.5))) == 1
    assert len(bars(a_cooler(), (5, 2, None))) == 1


def test_a_plan_without_stems_is_asked_how_many() -> None:
    """Nothing is planned of it until somebody writes them."""
    plan = plan_season(ground(farm_of(shop()), [replace(planned(1), stems=None)]))
    words = told(plan)
    assert words.rows == ()
    assert words.makes_it == (
        "201: write how many stems there are to be; until then nothing is planned of it.",
    )


def test_what_is_not_proven_is_said() -> None:
    """A plan that was stopped says so, and at what."""
    plan = replace(plan_season(ground(farm_of(shop()), [planned(1)])), unproven="usual")
    assert told(plan).unproven == (
        "Not proven to be the best plan: the solver was stopped after 30 s at usual sales. "
        "Every row holds all the same."
    )
