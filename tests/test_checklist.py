"""The cooler checklist: its pages, what stands on them, and that nothing runs into anything."""

import math
from dataclasses import replace
from datetime import date, datetime, timedelta
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest

from tagmaker import notes
from tagmaker.farm import Cooler, Farm
from tagmaker.lot import Lot, Mark, Move, State, StorageCode, StorageDates, Surface, Verdict
from tagmaker.paper.checklist import rows as checklist_rows
from tagmaker.paper.checklist.grid import FOOT, PAGES, WRITE_ON, Grid
from tagmaker.paper.checklist.pages import checklist_sheets, cooler_checklists
from tagmaker.paper.checklist.rows import paginate
from tagmaker.paper.checklist.words import TEMPLATE, RowWords, task_paragraphs
from tagmaker.paper.press.boxes import Box, Frame, Rule, Sheet, Trace
from tagmaker.paper.proof.proving import prove
from tagmaker.storage.crops import crop_table
from tagmaker.storage.room import RoomDay, room
from tagmaker.telling.agenda import Kind, Task
from tagmaker.telling.naming import cooler_page_names
from tagmaker.telling.teller import Teller
from tagmaker.telling.wording import Wording
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


def overfull(farm: Farm, lots: list[StorageDates]) -> tuple[RoomDay, ...]:
    """The room that lots take in the week."""
    return room(lots, farm, CROPS, NOW, 7)


# ---- the pages


@pytest.mark.parametrize("paper", PAPERS)
def test_every_cooler_has_a_lying_page_for_its_week(paper: str) -> None:
    """In the order of the settings, with the seven days from today, lots or not."""
    pages = pages_of(farm=sample_farm(paper_size=paper))
    assert [(page.width, page.height) for page in pages] == [PAGES[paper]] * 2
    for page, cooler in zip(pages, ("walk-in", "porch"), strict=True):
        words = texts([page])
        expected = [f"COOLER {cooler}", "MON 1 MAR to SUN 7 MAR", "page 1 of 1", "MON 1 MAR", "SUN 7 MAR"]
        assert [text for text in expected if text not in words] == []


def test_lots_that_do_not_fit_continue_on_further_pages() -> None:
    """Thirty lots in one cooler: every one once, in selling order, and the pages are counted."""
    lots = season(30)
    pages = pages_of(*lots, farm=one_cooler())
    printed = [text for page in pages for text in texts([page]) if text.isdigit()]
    in_order = sorted(lots, key=lambda dated: (dated.sell_by or NOW, dated.lot.lot_code))
    assert printed == [dated.lot.lot_code for dated in in_order]
    assert [f"page {n} of {len(pages)}" in texts([page]) for n, page in enumerate(pages, 1)] == [True] * len(
        pages
    )
    assert len(pages) > 1


def rows_on(page: Sheet) -> list[Box]:
    """The rows of a page that have a box for what is left: lots', and blank ones."""
    wide = Grid(page.width, page.height).inner.width
    frames = [element for element in page.placed[0].drawing.elements if isinstance(element, Frame)]
    return [frame.box for frame in frames if math.isclose(frame.box.width, wide)]


@pytest.mark.parametrize(("count", "least"), [(0, 8), (1, 8), (3, 4), (30, 8), (400, 2)])
def test_blank_rows_wait_for_lots_that_come_in(count: int, least: int) -> None:
    """Eight at least, four where that keeps one page, two where it saves a page of nothing else."""
    pages = pages_of(*season(count), farm=one_cooler())
    rows = [row for page in pages for row in rows_on(page)]
    assert len(rows) >= count + least
    assert (len(pages) == 1) == (count <= 3)
    end = Grid(*PAGES["letter"]).inner.bottom - (FOOT + 1.5 if len(pages) == 1 else 0.0)
    assert end - WRITE_ON - 2 <= rows[-1].bottom <= end


def test_no_page_of_blank_rows_alone_is_begun_while_two_are_left_before_it() -> None:
    """Eight lots of 10 mm leave two blank rows on 100 mm: one page. Nine leave one, and more get a page."""
    lot = checklist_rows.LotRow(RowWords(lot="041", code="DRY", sell_by="", below=()), ((),) * 7, 10.0)
    found = [checklist_rows.pages_of([lot] * count, 100.0, 190.0) for count in (8, 9)]
    blanks = [[sum(row.words is None for row in page) for page in pages] for pages in found]
    assert blanks == [[2], [1, 23]]


def test_a_full_list_repeats_its_heads_on_every_page() -> None:
    """400 lots: every page names cooler, week, days and its own number of all."""
    pages = pages_of(*season(400), farm=one_cooler())
    for number, page in enumerate(pages, 1):
        expected = [
            "COOLER walk-in",
            "MON 1 MAR to SUN 7 MAR",
            "MON 1 MAR",
            f"page {number} of {len(pages)}",
            "left",
        ]
        assert [text for text in expected if text not in texts([page])] == []


def test_rows_fill_pages_in_order() -> None:
    """A row that does not fit begins the next page; one higher than a page stands alone."""
    assert paginate([10, 10, 10], first=20, later=30) == [2, 1]
    assert paginate([10, 10], first=5, later=30) == [0, 2]
    assert paginate([10, 40, 10], first=30, later=30) == [1, 1, 1]
    assert paginate([], first=30, later=30) == [0]


@pytest.mark.parametrize("paper", PAPERS)
def test_boxes_to_write_in_are_8_mm_and_more(paper: str) -> None:
    """Rows, days, halves of days and the column for what is left: room for a marker on film."""
    grid = Grid(*PAGES[paper])
    pages = pages_of(*season(12), farm=one_cooler(paper_size=paper))
    frames = [
        e.box
        for page in pages
        for e in page.placed[0].drawing.elements
        if isinstance(e, Frame) and e.width < 0.5
    ]
    rows = [box for box in frames if box.width > grid.inner.width / 2]
    assert min(box.height for box in rows) >= WRITE_ON == 8.0
    upright = sorted(
        {
            round(e.x1, 3)
            for e in pages[0].placed[0].drawing.elements
            if isinstance(e, Rule) and e.x1 == e.x2 and e.x1 > grid.lot_cell(0, 0).right - 0.01 and e.y1 < 150
        }
    )
    edges = [*upright, grid.inner.right]
    assert min(b - a for a, b in pairwise(edges)) >= WRITE_ON


# ---- what they say


def test_a_lots_row_says_what_it_is_and_what_is_to_be_done() -> None:
    """Lot, code, sell-by, bunches, flowers and place; into water on Friday, sold by Saturday."""
    words = texts(pages_of(sample_dates(), farm=one_cooler()))
    expected = [
        "041",
        "DRY",
        "SAT 6 MAR 6:30 AM",
        "12 bunches, Pale Harbour, double tulip, apricot, shelf 2",
        "INTO WATER by 6 PM: 12 bunches",
        "SELL BY 6:30 AM stall: 12 bunches",
    ]
    assert [text for text in expected if text not in words] == []


def test_the_strip_puts_the_days_lots_together() -> None:
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
    words = texts(pages_of(*lots, farm=one_cooler()))
    expected = [
        "INTO WATER by 6 PM, 18 bunches: 041 (12), 042 (6), fills 3 buckets",
        "SELL BY 6:30 AM stall, 30 bunches: 041 (12), 042 (6), 044 (12)",
    ]
    assert [text for text in expected if text not in words] == []


def test_an_over_full_cooler_names_the_lots_to_move_or_sell_first() -> None:
    """In the day's strip, in bold, with the crates and buckets."""
    full = RoomDay(
        cooler="walk-in", day=date(2027, 3, 5), crates=2, buckets=3, fill=1.4, overflow=("041", "042")
    )
    easy = RoomDay(cooler="walk-in", day=date(2027, 3, 2), crates=1, buckets=0, fill=0.25, overflow=())
    pages = pages_of(sample_dates(), farm=one_cooler(), room=(full, easy))
    (line,) = [text for text in text_elements(pages) if text.lines[0].text.startswith("TOO FULL")]
    said = " ".join(part.text for part in line.lines)
    assert (said, line.weight) == (
        "TOO FULL (2 crates, 3 buckets): sell first 041, 042",
        "bold",
    )
    assert "1 crate: 25 % full" in texts(pages)


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
    (
        a_task(Kind.THROW_OUT, now=True, any_hour=True, reason="tested bad", bunches=3),
        "TESTED BAD: THROW OUT: 3 bunches",
    ),
    (
        a_task(Kind.SELL_ELSEWHERE, now=True, use="shop", bunches=6),
        "SELL ELSEWHERE shop MON 1 MAR 9 AM: 6 bunches",
    ),
    (a_task(Kind.SELL_ELSEWHERE, now=True), "SELL ELSEWHERE by MON 1 MAR 9 AM"),
    (a_task(Kind.CONFIRM_CUT, any_hour=True), "CUT? Take the word plan away"),
    (a_task(Kind.LOOK_AT_BUDS, any_hour=True), "LOOK AT THE BUDS: how open?"),
    (a_task(Kind.LOOK_FOR_MOULD, any_hour=True), "LOOK FOR MOULD, open no bunch"),
    (a_task(Kind.LOOK_AT_TEST, any_hour=True), "LOOK AT THE TEST BUNCH: ok or bad?"),
    (a_task(Kind.TEST_A_BUNCH, any_hour=True), "TEST A BUNCH: open it, 24 h in water"),
    (a_task(Kind.INTO_WATER, bunches=1), "INTO WATER by 9 AM: 1 bunch"),
    (
        a_task(Kind.INTO_WATER, now=True, bunches=4, ready=datetime(2027, 3, 1, 17)),
        "PUT IN WATER NOW, ready from MON 1 MAR 5 PM: 4 bunches",
    ),
    (a_task(Kind.INTO_WATER, now=True), "PUT IN WATER NOW"),
    (a_task(Kind.INTO_THE_WARM), "INTO THE WARM at 9 AM"),
    (a_task(Kind.INTO_THE_WARM, now=True), "INTO THE WARM NOW, was MON 1 MAR 9 AM"),
    (a_task(Kind.LEAVES, use="shop", bunches=6, order=ORDER), "LEAVES 9 AM shop: 6 bunches"),
    (a_task(Kind.LEAVES, use="shop"), "SELL BY 9 AM shop"),
    (a_task(Kind.LEAVES, now=True), "SELL BY MON 1 MAR 9 AM: gone?"),
    (a_task(Kind.MOVE, to="porch"), "MOVE TO porch at 9 AM"),
    (a_task(Kind.MOVE, to="out"), "TAKE OUT at 9 AM"),
    (a_task(Kind.MOVE, to="walk-in", cooler="porch"), "COMES FROM porch at 9 AM"),
    (a_task(Kind.MOVE, to="walk-in"), "COMES BACK at 9 AM"),
    (a_task(Kind.FRESH_WATER, any_hour=True), "FRESH WATER"),
    (a_task(Kind.ANY_DROPS, any_hour=True), "Any drops left? Touch."),
]


@pytest.mark.parametrize(
    ("task", "expected"), TASKS, ids=lambda value: value if isinstance(value, str) else ""
)
def test_every_task_has_its_words(task: Task, expected: str) -> None:
    """Each kind, on its day and overdue."""
    (said,) = task_paragraphs([task], "walk-in", Wording("F"))
    assert said.text == expected


def test_what_holds_now_is_bold() -> None:
    """What is overdue is seen first; ordinary tasks are not bold."""
    tasks = [a_task(Kind.TEST_A_BUNCH, now=True), a_task(Kind.TEST_A_BUNCH)]
    assert [said.weight for said in task_paragraphs(tasks, "walk-in", Wording("F"))] == ["bold", "regular"]


def test_every_kind_of_task_is_covered() -> None:
    """The table above has each."""
    assert {task.kind for task, _ in TASKS} == set(Kind)


@pytest.mark.parametrize(
    ("dated", "expected"),
    [
        (sample_dates(state=State.SELL_FIRST), "SELL FIRST"),
        (sample_dates(marks=(Mark.TEST_A_BUNCH,)), "TEST A BUNCH"),
        (sample_dates(marks=(Mark.HOW_OPEN,)), "HOW OPEN? WRITE IT"),
        (sample_dates(sample_lot(moves=(Move(since=datetime(2027, 2, 28), place="out"),))), "OUTSIDE NOW"),
        (
            sample_dates(
                sample_lot(surface=Surface.WET, in_cooler=None),
                sell_by=None,
                into_water_by=None,
                state=State.NO_DATE,
            ),
            "041 WET: FAN UNTIL NO DROPS ARE LEFT, DO NOT WRAP YET",
        ),
        (
            sample_dates(sell_by=None, into_water_by=None, state=State.NO_DATE, why=notes.WhyWet(lot="041")),
            "NO DATE",
        ),
        (
            sample_dates(sell_by=None, into_water_by=None, state=State.NO_DATE, why=notes.WhyWet(lot="041")),
            "still wet: no date until it is dry to the touch and in the cooler",
        ),
    ],
    ids=lambda value: value if isinstance(value, str) else "",
)
def test_marks_and_reasons_stand_in_the_lots_cell(dated: StorageDates, expected: str) -> None:
    """Marks of the sell-by; a wet lot's instruction; NO DATE and why."""
    assert expected in texts(pages_of(dated, farm=one_cooler()))


def test_limits_are_written_in_the_farms_degrees() -> None:
    """Set to 4 °C: not below 2 °C (36 °F) and not above 7 °C (45 °F)."""
    fahrenheit = texts(pages_of(sample_dates(), farm=one_cooler()))
    celsius = texts(pages_of(sample_dates(), farm=one_cooler(units="C")))
    assert "LOWEST since last look (limit 36 °F)" in fahrenheit
    assert "HIGHEST since last look (limit 45 °F)" in fahrenheit
    assert "LOWEST since last look (limit 2 °C)" in celsius
    assert "HIGHEST since last look (limit 7 °C)" in celsius


def test_the_foot_says_what_to_do_and_what_never_stands_here() -> None:
    """Outside the limits, mould, no fruit or food, and the cautions."""
    said = " ".join(texts(pages_of(farm=one_cooler())))
    expected = ["OUTSIDE THE LIMITS", "MOULD", "No fruit", "open from inside", "Local codes"]
    assert [text for text in expected if text not in said] == []


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
    """A page a cooler to laminate: weekdays, limits and empty rows, whatever lots there are."""
    farm = one_cooler(paper_size=paper)
    pages = pages_of(*season(20), farm=farm, blank=True)
    words = texts(pages)
    assert len(pages) == 1
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
        pages = pages_of(*lots, farm=farm, room=overfull(farm, lots))
        assert [pair for page in pages for pair in overlapping(page)] == []
        assert leaving_their_box(pages) == []


@pytest.mark.parametrize("paper", PAPERS)
def test_words_are_8_points_and_more(paper: str) -> None:
    """Read on the wall: on an ordinary week nothing is smaller."""
    lots = season(12)
    farm = one_cooler(paper_size=paper)
    pages = pages_of(*lots, farm=farm, room=overfull(farm, lots))
    assert [text for text in text_elements(pages) if text.size < 7.99] == []


@pytest.mark.parametrize("paper", PAPERS)
def test_only_names_are_ever_cut(paper: str) -> None:
    """Only the names of flowers and farm end in an ellipsis: no date, job or advice does."""
    farm = worst_farm(paper_size=paper)
    cut = [text for text in texts(pages_of(*worst(), farm=farm, room=overfull(farm, worst()))) if "…" in text]
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


def test_a_strip_too_full_for_its_page_is_made_smaller_and_never_runs_over() -> None:
    """Forty orders at as many hours of one day: the strip keeps above the foot."""
    orders = [
        sample_dates(
            sample_lot(lot_code=f"{200 + n}"),
            orders=(sample_order(leaves=datetime(2027, 3, 2, 8 + n // 4, 15 * (n % 4)), stems=120),),
        )
        for n in range(40)
    ]
    pages = pages_of(*orders, farm=one_cooler())
    assert [pair for page in pages for pair in overlapping(page)] == []
    assert max(text.box.bottom for text in text_elements(pages)) <= PAGES["letter"][1] - 8


def test_a_day_with_more_jobs_than_its_row_holds_counts_them() -> None:
    """Twenty orders of a lot at as many hours: eleven are named, the rest counted, nothing runs over."""
    orders = tuple(
        sample_order(leaves=datetime(2027, 3, 2, 8 + n // 2, 30 * (n % 2)), stems=5, into_water_by=None)
        for n in range(20)
    )
    pages = pages_of(sample_dates(worst_lot(cooler="walk-in"), orders=orders), farm=one_cooler())
    assert "and 9 more: see the lot's page" in texts(pages)
    assert [pair for page in pages for pair in overlapping(page)] == []
    assert leaving_their_box(pages) == []


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
    expected = ["COOLER walk-in", "MON 1 MAR to SUN 7 MAR", "SAT 6 MAR 6:30 AM", "OUTSIDE THE LIMITS"]
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


def test_a_lot_that_moves_stands_on_both_coolers_pages() -> None:
    """It is moved on the one and comes to the other."""
    lot: Lot = sample_lot(moves=(Move(since=datetime(2027, 3, 3, 12), place="porch"),))
    first, second = pages_of(sample_dates(lot))
    assert "MOVE TO porch at NOON" in texts([first])
    assert "COMES FROM walk-in at NOON" in texts([second])
