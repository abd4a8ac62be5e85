"""Cutting, punching and laminating: the marks, and the white that film needs along every cut."""

import math
from itertools import pairwise

import pytest

from tagmaker.paper.checklist.grid import PAGES, Grid
from tagmaker.paper.checklist.pages import checklist_sheets
from tagmaker.paper.checklist.trim import hole_box, notch_box, trim_box, trim_marks
from tagmaker.paper.press.boxes import Box, Rule, Sheet, Trace, symbol_box
from tagmaker.storage.crops import crop_table
from tagmaker.telling.teller import Teller
from tagmaker.telling.wording import Wording
from tests.paper_samples import NOW, sample_dates, sample_farm
from tests.sheet_checks import codes, overlap, text_elements, texts

PAPERS = ["letter", "a4"]
CLEAR = 6.0  # [mm] of white along a cut: film seals 3 to 6 mm
LASER, INKJET = 5.0, 7.0  # [mm] of a page that printers leave white, at the sides and below


def pages(paper: str, *, blank: bool) -> tuple[Sheet, ...]:
    """A checklist that runs on over several pages, or the standing one."""
    lots = [sample_dates() for _ in range(20)]
    farm = sample_farm(paper_size=paper)
    return checklist_sheets(lots, Teller(farm, crop_table(), Wording("F"), NOW), blank=blank)


def points(page: Sheet) -> list[tuple[float, float]]:
    """Corners of every printed thing of a page but its marks for cutting."""
    found: list[tuple[float, float]] = []
    for element in page.placed[0].drawing.elements:
        if isinstance(element, Rule):
            found += [(element.x1, element.y1), (element.x2, element.y2)]
        elif isinstance(element, Trace):
            found += element.points
        else:
            box = element.box
            found += [(box.x, box.y), (box.right, box.y), (box.x, box.bottom), (box.right, box.bottom)]
    return found


@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize("blank", [False, True])
def test_every_page_can_be_cut_and_punched(paper: str, blank: bool) -> None:
    """The same marks on each page, filled or standing."""
    drawn = {page.placed[1].drawing for page in pages(paper, blank=blank)}
    assert [len(drawing.elements) for drawing in drawn] == [len(trim_marks(*PAGES[paper]).elements)]


@pytest.mark.parametrize("paper", PAPERS)
def test_the_trim_line_lies_where_printers_reach(paper: str) -> None:
    """5 mm from the edges, 7 mm at the foot."""
    width, height = PAGES[paper]
    assert trim_box(width, height) == (LASER, LASER, width - 2 * LASER, height - LASER - INKJET)


@pytest.mark.parametrize("paper", PAPERS)
def test_the_line_runs_all_round_without_a_gap(paper: str) -> None:
    """Edges, round corners and notch: every end is the beginning of the next piece."""
    pieces = [
        ((e.x1, e.y1), (e.x2, e.y2)) if isinstance(e, Rule) else (e.points[0], e.points[-1])
        for e in trim_marks(*PAGES[paper]).elements
        if isinstance(e, Rule | Trace)
    ]
    hole = hole_box(*PAGES[paper])
    outline = [p for p in pieces if not all(hole.holds(Box(*end, 0, 0)) for end in p)]
    ends = [(round(x, 6), round(y, 6)) for piece in outline for x, y in piece]
    assert len(outline) == 10
    assert {ends.count(end) for end in ends} == {2}


@pytest.mark.parametrize("paper", PAPERS)
def test_corners_are_quarter_circles(paper: str) -> None:
    """Each touches both edges, and all its points are 6 mm from its middle."""
    box = trim_box(*PAGES[paper])
    middles = box.inset(6.0)
    corners = [e for e in trim_marks(*PAGES[paper]).elements if isinstance(e, Trace)][:4]
    for trace in corners:
        x = middles.x if trace.points[0][0] < box.x + box.width / 2 else middles.right
        y = middles.y if trace.points[0][1] < box.y + box.height / 2 else middles.bottom
        assert {round(math.dist(point, (x, y)), 6) for point in trace.points} == {6.0}
        assert max(math.dist(a, b) for a, b in pairwise(trace.points)) < 1.3


@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize("blank", [False, True])
def test_everything_printed_keeps_6_mm_off_every_cut(paper: str, blank: bool) -> None:
    """Off the trim line, its round corners and the notch, on the first page and on later ones."""
    width, height = PAGES[paper]
    inside = trim_box(width, height).inset(CLEAR)
    notch = notch_box(width, height).inset(-CLEAR)
    found = pages(paper, blank=blank)
    assert len(found) > 1
    for page in found:
        spots = points(page)
        assert [spot for spot in spots if not inside.holds(Box(*spot, 0, 0))] == []
        boxes = [text.box for text in text_elements([page])]
        boxes += [symbol_box(code) for code in codes([page])]
        assert [box for box in boxes if overlap(box, notch)] == []
        rules = [e for e in page.placed[0].drawing.elements if isinstance(e, Rule)]
        assert [rule for rule in rules if rule.y1 == rule.y2 and rule.y1 < notch.bottom - 0.01] == []


@pytest.mark.parametrize("paper", PAPERS)
def test_the_hole_goes_through_film_alone(paper: str) -> None:
    """3 mm of film sealed to film between the hole and the paper; the hole is below the film's own edge."""
    width, height = PAGES[paper]
    hole, notch, trim = hole_box(width, height), notch_box(width, height), trim_box(width, height)
    assert (hole.width, hole.height) == (6.0, 6.0)
    assert (hole.x - notch.x, notch.right - hole.right, notch.bottom - hole.bottom) == (3.0, 3.0, 3.0)
    assert hole.y == trim.y
    assert (
        hole.x + hole.width / 2
        == width / 2
        == Grid(width, height).inner.x + Grid(width, height).inner.width / 2
    )


@pytest.mark.parametrize("blank", [False, True])
def test_the_foot_says_how_to_laminate(blank: bool) -> None:
    """Thermal paper never hot; a marker that wipes off."""
    (said,) = [text for text in texts(pages("letter", blank=blank)[:1]) if text.startswith("To laminate")]
    assert "Never thermal paper in a hot laminator" in said
    assert "marker that wipes off" in said
    assert not said.endswith("…")
