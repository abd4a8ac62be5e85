"""The cooler checklist: its pages, what stands on them, and that nothing runs into anything."""

import math
import re
from collections.abc import Sequence
from dataclasses import replace
from datetime import date, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest

from tagmaker import notes
from tagmaker.farm import Cooler, Farm
from tagmaker.lot import HandLow, Lot, Mark, Move, State, StorageCode, StorageDates, Surface, Verdict
from tagmaker.paper.checklist.grid import PAD, PAGES, WRITE_ON, Grid
from tagmaker.paper.checklist.pages import checklist_sheets, cooler_checklists
from tagmaker.paper.checklist.rows import NAME_HEIGHT
from tagmaker.paper.checklist.words import TEMPLATE, what
from tagmaker.paper.press.boxes import Box, Frame, Sheet, Text, Trace
from tagmaker.paper.proof.proving import prove
from tagmaker.storage.crops import crop_table
from tagmaker.storage.room import Overfull, overfull
from tagmaker.telling.agenda import Kind, Task, agenda
from tagmaker.telling.naming import cooler_page_names
from tagmaker.telling.teller import Teller
from tagmaker.telling.wording import WEEKDAYS, Wording
from tests.cooler_stories import logged, story
from tests.paper_samples import in_water, sample_dates, sample_farm, sample_lot, sample_order, worst_lot
from tests.sheet_checks import (
    characters,
    codes,
    leaving_their_box,
    overlapping,
    read_back,
    text_elements,
    texts,
)

CROPS = crop_table()
PAPERS = ["letter", "a4"]
NOW = datetime(2027, 3, 1, 9)  # a Monday: the sample lot goes into water on Friday and sells on Saturday
LONG_COOLER = "the cold room behind the old packing shed"


def pages_of(*dated: StorageDates, farm: Farm | None = None, **more: Any) -> tuple[Sheet, ...]:
    """The checklist's pages of some lots."""
    farm = farm or sample_farm()
    return checklist_sheets(dated, Teller(farm, CROPS, Wording(farm.units), NOW), **more)


def one_cooler(**changes: Any) -> Farm:
    """The sample farm with its walk-in alone."""
    farm = sample_farm(**changes)
    return replace(farm, coolers={"walk-in": farm.coolers["walk-in"]})


def season(count: int) -> list[StorageDates]:
    """Lots of every kind, one after another through the week and beyond."""
    start = datetime(2027, 3, 1, 6, 30)
    lots = []
    for n in range(count):
        lot = sample_lot(lot_code=f"{100 + n}", stems=40 + 10 * (n % 9), use=("stall", "shop")[n % 2])
        sell_by = start + timedelta(days=n % 12 - 2)
        water = datetime.combine(sell_by - timedelta(days=1), datetime.min.time()).replace(hour=18)
        past = sell_by.date() < NOW.date()
        if n % 3:
            dated = sample_dates(lot, sell_by=sell_by, into_water_by=water, water_now=water < NOW)
        else:
            dated = in_water(lot, sell_by=sell_by)
        if not past and n % 4 == 0:
            order = sample_order(leaves=sell_by, stems=20, into_water_by=dated.into_water_by and water)
            dated = replace(dated, orders=(order,))
        lots.append(replace(dated, state=State.TOO_OLD if past else State.KEEP, test_first=n % 5 == 0))
    return lots


def worst() -> list[StorageDates]:
    """Long names, many jobs on one day, a wet lot, one without a date, one that moves."""
    late = datetime(2027, 3, 1, 23, 45)
    lot = worst_lot(cooler=LONG_COOLER, place="third shelf from the top, at the far end", stems=999)
    orders = tuple(
        sample_order(
            leaves=datetime(2027, 3, 3 + n % 2, 10, 30 + 15 * (n % 2)),
            into_water_by=datetime(2027, 3, 2, 17, 45),
            use="the market in the county town",
            verdict=list(Verdict)[n % 4],
        )
        for n in range(8)
    )
    why = notes.WhyWet(lot="041")
    none: dict[str, Any] = {"sell_by": None, "into_water_by": None, "state": State.NO_DATE, "why": why}
    move = Move(since=datetime(2027, 3, 3, 12), place="porch")
    return [
        sample_dates(lot, orders=orders, test_first=True, tests_on=(date(2027, 2, 27), date(2027, 3, 2))),
        sample_dates(replace(lot, stage=None), state=State.TOO_OLD, water_now=True, ready_from=late),
        sample_dates(replace(lot, surface=Surface.WET, in_cooler=None), **none),
        sample_dates(replace(lot, moves=(move,)), **none),
        in_water(lot, kept=StorageCode.DRY, ready_from=late),
    ]


def worst_farm(**changes: Any) -> Farm:
    """A farm whose coolers have long names."""
    farm = sample_farm(name="The Flower Growers of the Upper Valley Ltd", **changes)
    cooler = Cooler(name=LONG_COOLER, set_point_c=3.0, crates=2, buckets=1)
    return replace(farm, coolers={LONG_COOLER: cooler, "porch": farm.coolers["porch"]})


def too_full(farm: Farm, lots: list[StorageDates]) -> tuple[Overfull, ...]:
    """The days on which lots have too little room."""
    return overfull(lots, farm, CROPS, NOW)


# ---- what a reader finds on them


def work_of(pages: Sequence[Sheet]) -> dict[str, list[Text]]:
    """The tasks of each day, by the day's name."""
    found: dict[str, list[Text]] = {}
    for page in pages:
        day = None
        for text in text_elements([page]):
            words = said(text).removesuffix(", goes on")
            if words in ("LOT", "OUTSIDE THE LIMITS") or words.startswith("LOWEST since"):
                day = None
            elif text.box.height == WRITE_ON and words.split(" ")[0] in WEEKDAYS:
                day = words
                found.setdefault(day, [])
            elif day is not None and text.size >= 10:
                found[day].append(text)
    return found


def said(text: Text) -> str:
    """The words of a text, its lines joined."""
    return " ".join(line.text for line in text.lines)


def row_of(code: str, pages: Sequence[Sheet]) -> list[str]:
    """What stands in a lot's row, cell by cell."""
    for page in pages:
        below = texts_of_lots(page)
        name = next((text for text in below if said(text) == code and text.size >= 7), None)
        if name is not None:
            row = next(box for box in rows_on(page) if box.holds(name.box))
            return [said(text) for text in below if row.holds(text.box)]
    return []


def texts_of_lots(page: Sheet) -> list[Text]:
    """The texts where the rows of lots stand."""
    top = lots_top(page)
    return [text for text in text_elements([page]) if text.box.y > top]


def lots_top(page: Sheet) -> float:
    """Where the rows of lots begin on a page [mm]; below the page where it has none."""
    tops = [row.y for row in rows_on(page)]
    return min(tops, default=page.height) - 0.01


def rows_on(page: Sheet) -> list[Box]:
    """The rows of a page: lots', and blank ones."""
    wide = Grid(page.width, page.height).inner.width
    frames = [element for element in page.placed[0].drawing.elements if isinstance(element, Frame)]
    return [frame.box for frame in frames if math.isclose(frame.box.width, wide)]


def lots_on(pages: Sequence[Sheet]) -> list[str]:
    """The lots that have rows, in order."""
    wide = [(page, text) for page in pages for text in texts_of_lots(page)]
    return [
        said(text)
        for page, text in wide
        if math.isclose(text.box.x, Grid(page.width, page.height).inner.x + PAD)
        and math.isclose(text.box.height, NAME_HEIGHT)
    ]


def fridge(count: int) -> list[StorageDates]:
    """Lots of which a few are sold at each of the next markets, as in a small fridge."""
    start = datetime(2027, 3, 6, 6, 30)
    lots = []
    for n in range(count):
        sell_by = start + timedelta(days=7 * (n // 3))
        water = sell_by - timedelta(hours=12.5)
        lots.append(sample_dates(sample_lot(lot_code=f"{100 + n}"), sell_by=sell_by, into_water_by=water))
    return lots


# ---- the pages


@pytest.mark.parametrize("paper", PAPERS)
def test_every_cooler_has_a_lying_page_for_its_week(paper: str) -> None:
    """In the order of the settings, with the seven days from today, lots or not."""
    pages = pages_of(farm=sample_farm(paper_size=paper))
    assert [(page.width, page.height) for page in pages] == [PAGES[paper]] * 2
    for page, cooler in zip(pages, ("walk-in", "porch"), strict=True):
        words = texts([page])
        expected = [f"COOLER {cooler}", "THE WEEK'S WORK, MON 1 MAR to SUN 7 MAR", "MON 1 MAR", "SUN 7 MAR"]
        assert [text for text in expected if text not in words] == []
        assert [text for text in words if text.startswith("page 1 of 1 · printed MON 1 MAR 9 AM")] != []


@pytest.mark.parametrize("paper", PAPERS)
def test_a_fridge_of_eight_lots_is_one_page(paper: str) -> None:
    """Work above, lots below, and a row for one more that comes in."""
    pages = pages_of(*fridge(8), farm=one_cooler(paper_size=paper))
    assert (len(pages), len(lots_on(pages))) == (1, 8)
    assert len(rows_on(pages[0])) >= 9


@pytest.mark.parametrize("paper", PAPERS)
def test_eight_lots_with_much_to_do_are_two_pages_at_most(paper: str) -> None:
    """Every day has several tasks."""
    assert len(pages_of(*season(8), farm=one_cooler(paper_size=paper))) <= 2


@pytest.mark.parametrize("paper", PAPERS)
def test_thirty_lots_are_three_pages_at_most(paper: str) -> None:
    """Work on the first, lots behind it, every one once and in selling order."""
    lots = season(30)
    pages = pages_of(*lots, farm=one_cooler(paper_size=paper))
    in_order = sorted(lots, key=lambda dated: (dated.sell_by or NOW, dated.lot.lot_code))
    assert lots_on(pages) == [dated.lot.lot_code for dated in in_order]
    assert len(pages) == 3


def test_four_hundred_lots_stand_once_each_and_pages_are_counted() -> None:
    """Every page names cooler, week and its own number of all; the last has blank rows."""
    pages = pages_of(*season(400), farm=one_cooler())
    assert sorted(lots_on(pages)) == [f"{100 + n}" for n in range(400)]
    for number, page in enumerate(pages, 1):
        words = texts([page])
        assert "COOLER walk-in" in words
        assert [text for text in words if text.endswith("MON 1 MAR to SUN 7 MAR")] != []
        assert [text for text in words if text.startswith(f"page {number} of {len(pages)} ·")] != []


@pytest.mark.parametrize("count", [0, 1, 3, 8])
def test_blank_rows_wait_for_lots_that_come_in(count: int) -> None:
    """Eight rows where there is room, blank ones among them."""
    (page,) = pages_of(*fridge(count), farm=one_cooler())
    assert len(rows_on(page)) >= 8


@pytest.mark.parametrize("paper", PAPERS)
def test_boxes_and_words_are_large_enough_for_the_door(paper: str) -> None:
    """Boxes to write in 8 mm, rows 9 mm, ticks 4 mm, days 14 pt, tasks 12 pt: on one page and on several."""
    for lots in (fridge(8), season(30), season(400)):
        pages = pages_of(*lots, farm=one_cooler(paper_size=paper))
        elements = [element for page in pages for element in page.placed[0].drawing.elements]
        frames = [element.box for element in elements if isinstance(element, Frame)]
        boxes = [box for box in frames if math.isclose(box.height, WRITE_ON)]
        assert (len(boxes), WRITE_ON) == (5 * 7, 8.0)
        assert min(box.width for box in boxes) >= 8
        assert min(row.height for page in pages for row in rows_on(page)) >= 8.99
        ticks = [box for box in frames if math.isclose(box.width, box.height) and box.width < 8]
        tasks = [task for day in work_of(pages).values() for task in day]
        assert len(ticks) == len([task for task in tasks if said(task) != "day off"]) > 0
        assert min(box.width for box in ticks) >= 4
        assert min(task.size for task in tasks) >= 12
        named = [text for text in text_elements(pages) if text.box.height == WRITE_ON]
        days = [text for text in named if said(text).split(" ")[0] in WEEKDAYS]
        assert min(text.size for text in days) == 14


# ---- what they say


def test_a_lots_row_says_what_it_is() -> None:
    """Lot, code, water before selling, the hours small; flowers, place and bunches."""
    pages = pages_of(sample_dates(), farm=one_cooler())
    assert row_of("041", pages) == [
        "041",
        "DRY",
        "FRI 5 MAR",
        "6 PM",
        "SAT 6 MAR",
        "leaves 6:30 AM",
        "Pale Harbour, double tulip, apricot",
        "shelf 2",
        "12",
    ]


def test_the_days_lots_stand_together() -> None:
    """Into water with buckets, out with bunches; what sells later is not asked for."""
    lots = [
        sample_dates(),
        sample_dates(sample_lot(lot_code="042", stems=60)),
        sample_dates(
            sample_lot(lot_code="043"),
            sell_by=datetime(2027, 3, 13, 6, 30),
            into_water_by=datetime(2027, 3, 12, 18),
        ),
        in_water(sample_lot(lot_code="044")),
    ]
    work = {
        day: [said(task) for task in tasks]
        for day, tasks in work_of(pages_of(*lots, farm=one_cooler())).items()
    }
    assert work["FRI 5 MAR"] == [
        "by 6 PM INTO WATER: 041 (12), 042 (6), fills 3 buckets",
        "FRESH WATER: 044 (12)",
    ]
    assert work["SAT 6 MAR"] == ["SELL BY 6:30 AM stall: 041 (12), 042 (6), 044 (12)"]
    assert work["SUN 7 MAR"] == ["day off"]


def test_a_task_of_more_than_two_lines_names_the_page_where_its_lots_are_marked() -> None:
    """Thirty lots into water at one hour: each has the letter and its bunches in the box of that day."""
    lots = [sample_dates(sample_lot(lot_code=f"{100 + n}")) for n in range(30)]
    pages = pages_of(*lots, farm=one_cooler())
    work = work_of(pages)
    assert [said(task) for task in work["FRI 5 MAR"]] == [
        "by 6 PM INTO WATER: 30 lots (360) marked A, pages 2–3, fills 45 buckets"
    ]
    assert [said(task) for task in work["SAT 6 MAR"]] == [
        "SELL BY 6:30 AM stall: 30 lots (360) marked B, pages 2–3"
    ]
    assert [code for code in lots_on(pages) if row_of(code, pages)[-2:] != ["A 12", "B 12"]] == []


def test_cuts_to_come_have_no_rows_and_are_always_named() -> None:
    """Thirty plans whose day has come, and no lot: no letter leads nowhere."""
    plans = [sample_lot(lot_code=f"{100 + n}", cut=NOW, plan_written=True, planned=True) for n in range(30)]
    (page,) = pages_of(farm=one_cooler(), plans=plans)
    (task,) = work_of([page])["MON 1 MAR"]
    assert re.findall(r"(\d+) \(12\)", said(task)) == [f"{100 + n}" for n in range(30)]


@pytest.mark.parametrize("count", [1, 8, 34, 90])
def test_every_task_of_the_agenda_is_on_the_sheet_on_its_day(count: int) -> None:
    """By name with its bunches, or by a letter that its row has on that day."""
    lots, farm = season(count), one_cooler()
    pages = pages_of(*lots, farm=farm)
    work, wording = work_of(pages), Wording("F")
    rows = {code: row_of(code, pages) for code in lots_on(pages)}
    tasks = agenda(lots, farm, NOW)
    assert tasks
    for task in tasks:
        line = what(task, "walk-in", wording)
        told = [said(text) for text in work[wording.day(task.day(NOW.date()))] if said(text).startswith(line)]
        letters = [found[1] for text in told if (found := re.search(r" marked ([A-Z]+)", text))]
        marked = [cell for cell in rows[task.lot] if cell.split(" ")[0] in letters]
        assert marked or any(re.search(rf"\b{task.lot} \(\d+\)", text) for text in told), task


def test_work_that_no_page_holds_goes_on_on_the_next() -> None:
    """Forty orders at as many hours of one day: all are there, and the day says so."""
    orders = [
        sample_dates(
            sample_lot(lot_code=f"{200 + n}"),
            orders=(sample_order(leaves=datetime(2027, 3, 2, 8 + n // 4, 15 * (n % 4)), stems=120),),
        )
        for n in range(40)
    ]
    pages = pages_of(*orders, farm=one_cooler())
    leaving = [said(task) for task in work_of(pages)["TUE 2 MAR"] if "LEAVES" in said(task)]
    assert [re.findall(r"(\d+) \(", text) for text in leaving] == [[f"{200 + n}"] for n in range(40)]
    assert "TUE 2 MAR, goes on" in texts(pages)
    assert [pair for page in pages for pair in overlapping(page)] == []
    assert leaving_their_box(pages) == []


def test_room_trouble_is_one_line_above_the_work() -> None:
    """In bold at the size of a task, in its week and for its cooler alone."""
    run = Overfull(
        cooler="walk-in",
        first=date(2027, 3, 5),
        last=date(2027, 3, 12),
        crates=5,
        buckets=0,
        throw_out=(),
        sell=("042", "041"),
        move=(),
        plans=(),
    )
    pages = pages_of(sample_dates(), farm=one_cooler(), overfull=(run, replace(run, cooler="porch")), weeks=3)
    lines = [text for text in text_elements(pages) if "too many" in said(text)]
    expected = "walk-in, 5–12 Mar: 5 crates too many. Selling 042 and 041 first makes room."
    assert [(said(text), text.weight, text.size, len(text.lines)) for text in lines] == [
        (expected, "bold", 12.0, 1)
    ] * 2


def test_a_log_that_is_not_there_is_said_loudly() -> None:
    """Above the work, in bold, at the size of a task."""
    note = notes.LogUnread(cooler="walk-in", whole=True, fault="barn.csv: no such file")
    summary = story(logged(4.0))
    summary = replace(summary, cooler=replace(summary.cooler, name="walk-in"), notes=(note,), now=NOW)
    (line,) = [
        text
        for text in text_elements(pages_of(farm=one_cooler(), told=[summary]))
        if "no such file" in said(text)
    ]
    assert (said(line), line.weight, line.size) == (
        "nothing was read in walk-in: barn.csv: no such file",
        "bold",
        12.0,
    )


def a_task(kind: Kind, **changes: Any) -> Task:
    """A task of a lot in the walk-in, at the moment of printing."""
    return Task(**{"by": NOW, "kind": kind, "lot": "041", "cooler": "walk-in", **changes})


ORDER = sample_order()
TASKS = [
    (a_task(Kind.FAN, now=True, any_hour=True), "FAN UNTIL NO DROPS ARE LEFT, DO NOT WRAP YET"),
    (
        a_task(Kind.DO_NOT_SELL, now=True, any_hour=True, reason="frost"),
        "FROST? DO NOT SELL: open a bunch, 24 h in water",
    ),
    (
        a_task(Kind.DO_NOT_SELL, now=True, any_hour=True, reason="set point"),
        "FROST? DO NOT SELL: the cooler is set too cold",
    ),
    (a_task(Kind.DO_NOT_SELL, now=True, any_hour=True, reason="nothing would do"), "NO DATE: DO NOT SELL"),
    (a_task(Kind.THROW_OUT, now=True, any_hour=True, reason="too old"), "TOO OLD: THROW OUT"),
    (a_task(Kind.THROW_OUT, now=True, any_hour=True, reason="heat"), "TOO HOT: THROW OUT"),
    (a_task(Kind.THROW_OUT, now=True, any_hour=True, reason="tested bad"), "TESTED BAD: THROW OUT"),
    (a_task(Kind.SELL_ELSEWHERE, now=True, use="shop"), "SELL ELSEWHERE shop MON 1 MAR 9 AM"),
    (a_task(Kind.SELL_ELSEWHERE, now=True), "SELL ELSEWHERE by MON 1 MAR 9 AM"),
    (a_task(Kind.CONFIRM_CUT, any_hour=True), "CUT? Take the word plan away"),
    (
        a_task(Kind.LOOK_FOR_FROST, any_hour=True, low=HandLow(date(2027, 2, 28), -4.0)),
        "LOOK FOR FROST (25 °F SUN 28 FEB): open a bunch, 24 h in water",
    ),
    (a_task(Kind.LOOK_AT_BUDS, any_hour=True), "LOOK AT THE BUDS: how open?"),
    (a_task(Kind.LOOK_FOR_MOULD, any_hour=True), "LOOK FOR MOULD, open no bunch"),
    (a_task(Kind.LOOK_AT_TEST, any_hour=True), "LOOK AT THE TEST BUNCH: ok or bad?"),
    (a_task(Kind.TEST_A_BUNCH, any_hour=True), "TEST A BUNCH: open it, 24 h in water"),
    (a_task(Kind.INTO_WATER), "by 9 AM INTO WATER"),
    (
        a_task(Kind.INTO_WATER, now=True, ready=datetime(2027, 3, 1, 17)),
        "PUT IN WATER NOW, ready from MON 1 MAR 5 PM",
    ),
    (a_task(Kind.INTO_WATER, now=True), "PUT IN WATER NOW"),
    (a_task(Kind.INTO_THE_WARM), "at 9 AM INTO THE WARM"),
    (a_task(Kind.INTO_THE_WARM, now=True), "INTO THE WARM NOW, was MON 1 MAR 9 AM"),
    (a_task(Kind.LEAVES, use="shop", order=ORDER), "9 AM shop LEAVES"),
    (a_task(Kind.LEAVES, use="shop"), "SELL BY 9 AM shop"),
    (a_task(Kind.LEAVES, now=True), "SOLD? MON 1 MAR 9 AM"),
    (a_task(Kind.LEAVES, now=True, use="shop", order=ORDER), "DID THEY LEAVE? MON 1 MAR 9 AM shop"),
    (a_task(Kind.DID_THEY_LEAVE, now=True), "DID THEY LEAVE? MON 1 MAR 9 AM"),
    (a_task(Kind.MOVE, to="porch"), "at 9 AM MOVE TO porch"),
    (a_task(Kind.MOVE, to="out"), "at 9 AM TAKE OUT"),
    (a_task(Kind.MOVE, to="walk-in", cooler="porch"), "COMES FROM porch at 9 AM"),
    (a_task(Kind.MOVE, to="walk-in"), "COMES BACK at 9 AM"),
    (a_task(Kind.FRESH_WATER, any_hour=True), "FRESH WATER"),
    (a_task(Kind.ANY_DROPS, any_hour=True), "Any drops left? Touch."),
]


@pytest.mark.parametrize(
    ("task", "expected"), TASKS, ids=lambda value: value if isinstance(value, str) else ""
)
def test_every_task_has_its_words(task: Task, expected: str) -> None:
    """Each kind, on its day and overdue; the hour first."""
    assert what(task, "walk-in", Wording("F")) == expected


def test_every_kind_of_task_is_covered() -> None:
    """The table above has each."""
    assert {task.kind for task, _ in TASKS} == set(Kind)


def test_what_holds_now_is_bold() -> None:
    """What is overdue is seen first; ordinary tasks are not bold."""
    late = sample_dates(sample_lot(lot_code="042"), water_now=True, into_water_by=datetime(2027, 2, 28, 18))
    work = work_of(pages_of(sample_dates(), late, farm=one_cooler()))
    assert [(said(task), task.weight) for task in work["MON 1 MAR"]] == [
        ("PUT IN WATER NOW: 042 (12), fills 2 buckets", "bold")
    ]
    assert {task.weight for task in work["FRI 5 MAR"]} == {"regular"}


def test_what_is_said_with_its_moment_stands_with_its_like_alone() -> None:
    """Two lots for the same use on two days are two tasks: neither is told the other's day."""
    past: dict[str, Any] = {"state": State.SELL_ELSEWHERE, "sell_by": datetime(2027, 2, 27, 6, 30)}
    lots = [
        sample_dates(
            sample_lot(lot_code=f"04{day}"), elsewhere=(("shop", datetime(2027, 3, day, 8)),), **past
        )
        for day in (2, 3)
    ]
    work = work_of(pages_of(*lots, farm=one_cooler()))
    told = [said(task) for task in work["MON 1 MAR"]]
    assert told == [f"SELL ELSEWHERE shop {day} 8 AM: 04{day[4]} (12)" for day in ("TUE 2 MAR", "WED 3 MAR")]


def test_a_lot_that_moves_stands_on_both_coolers_pages() -> None:
    """It is moved on the one and comes to the other, where it has another place."""
    lot: Lot = sample_lot(moves=(Move(since=datetime(2027, 3, 3, 12), place="porch", spot="top"),))
    first, second = pages_of(sample_dates(lot))
    assert [said(task) for task in work_of([first])["WED 3 MAR"]] == ["at NOON MOVE TO porch: 041 (12)"]
    assert [said(task) for task in work_of([second])["WED 3 MAR"]] == ["COMES FROM walk-in at NOON: 041 (12)"]
    assert ["shelf 2" in row_of("041", [page]) for page in (first, second)] == [True, False]
    assert ["top" in row_of("041", [page]) for page in (first, second)] == [False, True]


WET: dict[str, Any] = {"sell_by": None, "into_water_by": None, "state": State.NO_DATE}


@pytest.mark.parametrize(
    ("dated", "expected"),
    [
        (sample_dates(state=State.SELL_FIRST), ["SELL FIRST"]),
        (sample_dates(marks=(Mark.TEST_A_BUNCH,), tests_on=(date(2027, 3, 3),)), ["TEST A BUNCH WED 3 MAR"]),
        (sample_dates(marks=(Mark.HOW_OPEN,)), ["HOW OPEN? WRITE IT"]),
        (
            sample_dates(
                state=State.SELL_ELSEWHERE,
                into_water_by=datetime(2027, 2, 28, 18),
                elsewhere=(("shop", datetime(2027, 3, 3, 8)),),
            ),
            ["SELL ELSEWHERE", "STILL DRY?"],
        ),
        (sample_dates(sample_lot(moves=(Move(since=datetime(2027, 2, 28), place="out"),))), ["OUTSIDE NOW"]),
        (
            sample_dates(sample_lot(surface=Surface.WET, in_cooler=None), **WET),
            ["WET: FAN UNTIL NO DROPS ARE LEFT"],
        ),
        (sample_dates(**WET, why=notes.WhyWet(lot="041")), ["NO DATE"]),
        (sample_dates(state=State.TOO_OLD), ["TOO OLD"]),
        (
            sample_dates(
                water_now=True, into_water_by=datetime(2027, 2, 28, 18), ready_from=datetime(2027, 3, 2, 8)
            ),
            ["NOW", "ready from TUE 2 MAR 8 AM"],
        ),
        (in_water(kept=StorageCode.DRY), ["in water", "was DRY"]),
        (
            sample_dates(state=State.TOO_OLD, orders=(sample_order(leaves=datetime(2027, 3, 4, 8)),)),
            ["KEEP 60 STEMS FOR THU 4 MAR · THE OTHER 60: TOO OLD"],
        ),
    ],
    ids=lambda value: value[0] if isinstance(value, list) else "",
)
def test_how_a_lot_stands_is_said_in_its_row(dated: StorageDates, expected: list[str]) -> None:
    """State, marks with their day, and what stands in place of a date."""
    row = row_of("041", pages_of(dated, farm=one_cooler()))
    assert [text for text in expected if text not in row] == []


def test_nothing_too_old_has_a_date_to_sell_or_to_water_by() -> None:
    """Past lots were once to be watered and thrown out in one cell."""
    row = row_of("041", pages_of(sample_dates(state=State.TOO_OLD), farm=one_cooler()))
    assert [text for text in row if "MAR" in text or "water" in text] == []


def test_limits_are_written_in_the_farms_degrees() -> None:
    """Set to 4 °C: not below 2 °C (36 °F) and not above 7 °C (45 °F)."""
    for units, low, high in (("F", "36 °F", "45 °F"), ("C", "2 °C", "7 °C")):
        (line,) = [
            text for text in texts(pages_of(farm=one_cooler(units=units))) if text.startswith("LOWEST since")
        ]
        assert line.startswith(
            f"LOWEST since last look (limit {low}) · HIGHEST since last look (limit {high}) · "
        )


def test_the_foot_says_what_to_do_and_what_never_stands_here() -> None:
    """Outside the limits, mould, no fruit or food, and the cautions."""
    words = " ".join(texts(pages_of(farm=one_cooler())))
    expected = ["OUTSIDE THE LIMITS", "MOULD", "No fruit", "open from inside", "Local codes"]
    assert [text for text in expected if text not in words] == []


# ---- the chart, the code and the standing grid


def test_without_readings_the_chart_is_empty_to_plot_by_hand() -> None:
    """Axes and limits only, and it says why."""
    pages = pages_of(farm=one_cooler())
    assert "TEMPERATURE: no readings, plot by hand" in texts(pages)
    assert [e for e in pages[0].placed[0].drawing.elements if isinstance(e, Trace)] == []


def test_readings_are_drawn_inside_their_chart() -> None:
    """A week's line stays between the chart's edges, however warm it was."""
    told = story(logged(lambda moment: 34.0 if moment.hour == 7 else 4.0))
    told = replace(told, cooler=replace(told.cooler, name="walk-in"))
    pages = pages_of(farm=one_cooler(), told=[told])
    elements = pages[0].placed[0].drawing.elements
    traces = [e for e in elements if isinstance(e, Trace)]
    plots = [e.box for e in elements if isinstance(e, Frame) and e.box.y > 170 and e.box.height < 30]
    (plot,) = plots
    outside = [point for e in traces for point in e.points if not plot.holds(Box(*point, 0, 0))]
    assert (bool(traces), outside) == (True, [])
    assert "TEMPERATURE, last seven days" in texts(pages)


def test_what_is_to_be_known_of_the_readings_stands_on_the_list() -> None:
    """A log that ended days ago is said beside the day's work."""
    told = story(logged(4.0, until=datetime(2027, 3, 29, 9)))  # three days before the story's own now
    told = replace(told, cooler=replace(told.cooler, name="walk-in"))
    assert told.notes
    said = " ".join(texts(pages_of(farm=one_cooler(), told=[told])))
    assert "the log of barn ended MON 29 MAR 9 AM" in said


def test_the_code_names_cooler_and_week_without_a_link() -> None:
    """A scan without a network says which list it is."""
    (code,) = codes(pages_of(farm=one_cooler()))
    assert code.sized.symbol.text == "COOLER WALK-IN WEEK 2027-03-01"


def test_the_code_leads_to_the_coolers_page_with_a_link() -> None:
    """The link with the name of the cooler's page for a lot's, in letters that keep the code small."""
    farm = worst_farm(link="https://larkmarrow.example/L/{lot}")
    link = codes(pages_of(farm=farm))[0].sized.symbol.text
    assert link == "HTTPS://LARKMARROW.EXAMPLE/L/" + cooler_page_names([LONG_COOLER])[LONG_COOLER]
    rows = codes(pages_of(farm=one_cooler(link="HTTPS://LARKMARROW.EXAMPLE/R/{row}")))
    assert rows[0].sized.symbol.text == "COOLER WALK-IN WEEK 2027-03-01"


@pytest.mark.parametrize("paper", PAPERS)
def test_the_standing_grid_has_no_dates_and_rows_down_to_the_foot(paper: str) -> None:
    """Weekdays, limits, lines for tasks and a page of empty rows, whatever lots there are."""
    farm = one_cooler(paper_size=paper)
    pages = pages_of(*season(20), farm=farm, blank=True)
    words = texts(pages)
    assert [page for page in pages if len(rows_on(page)) >= 15] == [pages[1]]
    assert [text for text in words if "MAR" in text] == []
    assert [day for day in ("MON", "SUN") if f"{day} ____" not in words] == []
    assert codes(pages)[0].sized.symbol.text == "COOLER WALK-IN"
    assert [pair for page in pages for pair in overlapping(page)] == []


# ---- that nothing collides


@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize("units", ["F", "C", None])
def test_no_two_boxes_overlap_and_no_words_leave_theirs(paper: str, units: str | None) -> None:
    """On a full season and on the worst lots, in either unit and in both at once."""
    for farm, lots in (
        (sample_farm(paper_size=paper, units=units), season(40)),
        (worst_farm(paper_size=paper, units=units), worst()),
    ):
        pages = pages_of(*lots, farm=farm, overfull=too_full(farm, lots))
        assert [pair for page in pages for pair in overlapping(page)] == []
        assert leaving_their_box(pages) == []


@pytest.mark.parametrize("paper", PAPERS)
def test_words_are_8_points_and_more(paper: str) -> None:
    """Read on the wall: on an ordinary week nothing is smaller."""
    lots = season(12)
    farm = one_cooler(paper_size=paper)
    pages = pages_of(*lots, farm=farm, overfull=too_full(farm, lots))
    assert [text for text in text_elements(pages) if text.size < 7.99] == []


@pytest.mark.parametrize("paper", PAPERS)
def test_only_names_are_ever_cut(paper: str) -> None:
    """Only the names of flowers and farm end in an ellipsis: no date, job or advice does."""
    farm = worst_farm(paper_size=paper)
    cut = [
        text for text in texts(pages_of(*worst(), farm=farm, overfull=too_full(farm, worst()))) if "…" in text
    ]
    named = ("berw", "printed MON 1 MAR 9 AM, The Flower")
    assert [text for text in cut if not any(name in text for name in named)] == []


@pytest.mark.parametrize("paper", PAPERS)
def test_ink_keeps_off_the_seal_of_the_film(paper: str) -> None:
    """Read back from the PDF: nothing that is printed comes within 6 mm of the line that is cut along."""
    farm = worst_farm(paper_size=paper)
    width, height = PAGES[paper]
    inked = cooler_checklists(worst(), Teller(farm, CROPS, Wording("F"), NOW))
    inside = Box(5, 5, width - 10, height - 5 - 7).inset(6 - 0.05)
    assert [box for _, box in characters(inked) if not inside.holds(box)] == []


# ---- the file


def test_every_code_of_the_finished_file_reads_back() -> None:
    """Full, worst and standing pages are proven before they are handed over."""
    for farm, lots, blank in (
        (sample_farm(), season(40), False),
        (worst_farm(paper_size="a4"), worst(), False),
        (sample_farm(), [], True),
    ):
        prove(cooler_checklists(lots, Teller(farm, CROPS, Wording(farm.units), NOW), blank=blank))


def test_the_words_read_back_from_the_file() -> None:
    """A PDF reader finds cooler, week and jobs as words."""
    inked = cooler_checklists([sample_dates()], Teller(one_cooler(), CROPS, Wording("F"), NOW))
    (page,) = read_back(inked)
    expected = ["COOLER walk-in", "MON 1 MAR to SUN 7 MAR", "SAT 6 MAR leaves 6:30 AM", "OUTSIDE THE LIMITS"]
    assert [text for text in expected if text not in page] == []


def test_the_same_lots_give_the_same_bytes() -> None:
    """Twice the same, byte for byte."""
    farm = sample_farm()
    twice = [cooler_checklists(season(20), Teller(farm, CROPS, Wording("F"), NOW)).pdf for _ in range(2)]
    assert twice[0] == twice[1]


def test_own_wording_is_printed_and_still_fits(tmp_path: Path, repository: Path) -> None:
    """A template of the grower's own overrides the shipped one; longer advice is made smaller, then cut."""
    shipped = (repository / "templates" / TEMPLATE).read_text(encoding="utf-8")
    longer = shipped.replace("Shut the door,", "Shut the door at once and do not open it again, " * 9)
    (tmp_path / TEMPLATE).write_text(longer, encoding="utf-8")
    farm = one_cooler()
    pages = checklist_sheets([sample_dates()], Teller(farm, CROPS, Wording("F", tmp_path), NOW))
    assert [pair for page in pages for pair in overlapping(page)] == []
    assert leaving_their_box(pages) == []
    assert [head for head in ("OUTSIDE THE LIMITS", "MOULD") if head not in texts(pages)] == []
