"""The demo's papers, on Letter and A4: every code reads back twice, and every word has its own place."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from datetime import datetime
from pathlib import Path

import pytest
import zxingcpp

from tagmaker.desk.season import Day, read_season, summaries
from tagmaker.paper.checklist.pages import cooler_checklists
from tagmaker.paper.crate.cards import crate_cards
from tagmaker.paper.press.ink import Inked
from tagmaker.paper.tag.wraps import wrap_labels
from tagmaker.storage.room import overfull
from tests.code_readers import blurred, read_alone
from tests.sheet_checks import leaving_their_box, overlapping

pytestmark = pytest.mark.slow

NOW = datetime(2027, 4, 21, 9)
PAPERS = ("wraps", "crates", "checklist")


@pytest.fixture(scope="module", params=["letter", "a4"])
def papers(request: pytest.FixtureRequest, demo: Path) -> dict[str, Inked]:
    """All three, drawn once for each paper size."""
    read = read_season(demo / "lots.csv", Day(NOW.date(), NOW))
    stock = {"letter": "letter-3x10", "a4": "a4-3x7"}[request.param]
    farm = replace(read.farm, paper_size=request.param, label_stock=stock)
    lots = [dates for dates in read.dated if dates.left]
    given = (lots, replace(read, farm=farm))
    runs = overfull(read.dated, farm, read.crops, NOW)
    told = summaries(read, set())
    return {
        "wraps": wrap_labels(*given),
        "crates": crate_cards(*given),
        "checklist": cooler_checklists(*given, runs, told),
    }


@pytest.mark.parametrize("paper", PAPERS)
def test_every_code_of_the_demo_reads_on_the_whole_page(papers: dict[str, Inked], paper: str) -> None:
    """zxing-cpp, all codes of a page at once, at 150 dots an inch after a mild blur."""
    inked = papers[paper]
    read = [Counter(code.text for code in zxingcpp.read_barcodes(page)) for page in blurred(inked)]
    assert read == [Counter(code.text for code in page) for page in inked.pages]


@pytest.mark.parametrize("paper", PAPERS)
def test_every_code_of_the_demo_reads_alone_with_another_reader(papers: dict[str, Inked], paper: str) -> None:
    """OpenCV, each placed code cut out, from the same blurred pages.

    It finds corners in two ways, and each misses a few of 100 placements, blurred or not, and each time
    others: so, as a phone does, it looks again.
    """
    inked = papers[paper]
    expected, read = [], []
    for page, wanted in zip(blurred(inked), inked.pages, strict=True):
        expected += [code.text for code in wanted]
        read += [read_alone(page, code.box.inset(-2.0), looks=3) for code in wanted]
    missed = [text for text, found in zip(expected, read, strict=True) if found != text]
    assert (len(expected) > 0, missed) == (True, [])


@pytest.mark.parametrize("paper", PAPERS)
def test_every_word_of_the_demo_has_its_own_place(papers: dict[str, Inked], paper: str) -> None:
    """No text leaves its box, and no two boxes overlap."""
    sheets = papers[paper].sheets
    assert leaving_their_box(sheets) == []
    assert [pair for sheet in sheets for pair in overlapping(sheet)] == []
