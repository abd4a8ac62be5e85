"""The checklist of several weeks."""

from dataclasses import replace
from datetime import datetime
from itertools import pairwise
from typing import Any

from tagmaker.lot import State, Surface
from tagmaker.paper.checklist.foot import CHART_WIDTH
from tagmaker.paper.checklist.grid import WRITE_ON
from tagmaker.paper.press.boxes import Frame, Rule, Sheet, Trace
from tests.cooler_stories import logged, story
from tests.paper_samples import sample_dates, sample_farm, sample_lot
from tests.sheet_checks import codes, texts
from tests.test_checklist import lots_on, one_cooler, pages_of, said, season, too_full, work_of

# ---- several weeks


def week_heads(pages: tuple[Sheet, ...]) -> list[str]:
    """The week of each page."""
    heads = [text for page in pages for text in texts([page]) if text.startswith("THE ") and " to " in text]
    return [head.partition(", ")[2] for head in heads]


def test_each_week_has_pages_of_its_own_from_the_day_after_the_last_one() -> None:
    """Three weeks of two coolers: a set of pages a week, counted for each cooler and week."""
    pages = pages_of(sample_dates(), weeks=3)
    weeks = ["MON 1 MAR to SUN 7 MAR", "MON 8 MAR to SUN 14 MAR", "MON 15 MAR to SUN 21 MAR"]
    assert week_heads(pages) == [week for week in weeks for _ in range(2)]
    counted = [text.partition(" ·")[0] for text in texts(pages) if text.startswith("page ")]
    assert counted == ["page 1 of 1"] * 6


def test_the_first_of_several_weeks_is_the_one_that_is_printed_alone() -> None:
    """Word for word."""
    lots = season(12)
    runs = too_full(sample_farm(), lots)
    alone = pages_of(*lots, overfull=runs)
    several = pages_of(*lots, overfull=runs, weeks=3)
    assert texts(several[: len(alone)]) == texts(alone)


def test_a_later_week_lists_what_is_still_there_with_its_own_days() -> None:
    """What leaves in the first week is gone from the second; what leaves in the second has its jobs there."""
    later = sample_dates(
        sample_lot(lot_code="042"),
        sell_by=datetime(2027, 3, 13, 6, 30),
        into_water_by=datetime(2027, 3, 12, 18),
    )
    first, second, third = pages_of(sample_dates(), later, farm=one_cooler(), weeks=3)
    assert [lots_on([page]) for page in (first, second, third)] == [["041", "042"], ["042"], []]
    assert [said(task) for task in work_of([second])["FRI 12 MAR"]] == [
        "by 6 PM INTO WATER: 042 (12), fills 2 buckets"
    ]


def test_what_is_overdue_stands_in_the_first_week_alone() -> None:
    """No later page says NOW or FAN: by then it is done, or it is printed again."""
    wet = sample_lot(lot_code="041", surface=Surface.WET, in_cooler=None)
    undated: dict[str, Any] = {"sell_by": None, "into_water_by": None, "state": State.NO_DATE}
    pages = pages_of(*season(40), sample_dates(wet, **undated), farm=one_cooler(), weeks=2)
    assert "FAN UNTIL NO DROPS ARE LEFT, DO NOT WRAP YET: 041 (12)" in texts(pages)
    first = week_heads(pages).index("MON 8 MAR to SUN 14 MAR")
    overdue = ("PUT IN WATER NOW", "TOO OLD", "FAN")
    assert [text for text in texts(pages[:first]) if text.startswith(overdue)] != []
    assert [text for text in texts(pages[first:]) if text.startswith(overdue)] == []


def test_readings_are_drawn_on_the_first_week_and_later_ones_have_room_to_write() -> None:
    """The chart is of last week, as are the notes on the log; limits and boxes for readings are on all."""
    told = story(logged(4.0, until=datetime(2027, 3, 29, 9)))
    told = replace(told, cooler=replace(told.cooler, name="walk-in"))
    first, second = pages_of(farm=one_cooler(), told=[told], weeks=2)
    drawn = [any(isinstance(e, Trace) for e in page.placed[0].drawing.elements) for page in (first, second)]
    assert drawn == [True, False]
    assert ["NOTES" in texts([page]) for page in (first, second)] == [False, True]
    ended = ["the log of barn ended" in " ".join(texts([page])) for page in (first, second)]
    assert ended == [True, False]
    for page in (first, second):
        assert "LOWEST since last look (limit 36 °F)" in " ".join(texts([page]))
    lines = [
        e for e in second.placed[0].drawing.elements if isinstance(e, Rule) and e.x2 - e.x1 == CHART_WIDTH
    ]
    edges = [
        e.box
        for e in second.placed[0].drawing.elements
        if isinstance(e, Frame) and e.box.width == CHART_WIDTH
    ]
    (box,) = edges
    heights = sorted([box.y, *(line.y1 for line in lines), box.bottom])
    assert min(b - a for a, b in pairwise(heights)) >= WRITE_ON


def test_without_readings_every_week_has_a_chart_to_plot_by_hand() -> None:
    """It is of the week itself, so it is wanted on each."""
    pages = pages_of(farm=one_cooler(), weeks=2)
    assert ["TEMPERATURE: no readings, plot by hand" in texts([page]) for page in pages] == [True, True]


def test_the_code_of_each_week_names_it() -> None:
    """A scan tells the lists of two weeks apart."""
    said = [code.sized.symbol.text for code in codes(pages_of(farm=one_cooler(), weeks=2))]
    assert said == ["COOLER WALK-IN WEEK 2027-03-01", "COOLER WALK-IN WEEK 2027-03-08"]
