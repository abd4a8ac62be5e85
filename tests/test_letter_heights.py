"""Capitals at the distances at which papers are read, measured in the finished files.

ISO 9241, as quoted: 22 arc minutes preferred, 16 at least. The smallest dates come out at 21.5 where the rule
of thumb in points (10 pt at 40 cm) says 22. Distances chosen: a tag in the hand at 40 cm, its small print
brought to 30 cm; a checklist on the door at 60 cm, its lots and small print at 40 cm. Crate cards are
measured in `test_card_stock`.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace
from datetime import datetime
from pathlib import Path

import pypdfium2 as pdfium  # type: ignore[import-untyped]  # it comes without types
import pytest

from tagmaker.desk.season import Day, read_season, summaries
from tagmaker.lot import StorageDates
from tagmaker.paper.checklist.pages import cooler_checklists
from tagmaker.paper.press.boxes import MM, Box, Text
from tagmaker.paper.press.ink import Inked
from tagmaker.storage.room import overfull
from tagmaker.telling.teller import Teller
from tests.test_checklist import work_of
from tests.wrap_samples import EVERY_LABEL, labels

pytestmark = pytest.mark.slow

LEAST, SEEN = 16.0, 21.5  # [arc minutes]
LONG_LOT = 15.0  # [arc minutes] of twelve Ms on 57 mm: better small than cut
DAYS = ("MON", "TUE", "WED", "THU", "FRI", "SAT", "SUN")


def minutes(height: float, distance: float) -> float:
    """How large a height [mm] looks at a distance [cm], in arc minutes.

    >>> round(minutes(2.56, 40.0), 1)
    22.0
    """
    return math.degrees(math.atan(height / 10 / distance)) * 60


def capitals(inked: Inked) -> Iterator[tuple[Text, float]]:
    """The first plain capital or figure of every text of a file, with its height [mm] as it is printed."""
    with pdfium.PdfDocument(inked.pdf) as document:
        for page, sheet in zip(document, inked.sheets, strict=True):
            height, letters = page.get_size()[1], page.get_textpage()
            boxes = [letters.get_charbox(n) for n in range(letters.count_chars())]
            told = letters.get_text_range(0, letters.count_chars())
            plain = [letter.isascii() and (letter.isupper() or letter.isdigit()) for letter in told]
            found = [
                Box(left / MM, (height - top) / MM, (right - left) / MM, (top - bottom) / MM)
                for (left, bottom, right, top), is_plain in zip(boxes, plain, strict=True)
                if is_plain
            ]
            for placed in sheet.placed:
                for text in (part for part in placed.drawing.elements if isinstance(part, Text)):
                    box = placed.on_sheet(text.box)
                    first = next((letter for letter in found if box.holds(letter, slack=0.06)), None)
                    if first is not None:
                        yield text, first.height


def is_date(text: Text) -> bool:
    """Whether a text is a day, perhaps with its hour, and nothing else."""
    words = text.lines[0].text.split()
    return len(words) in (3, 4, 5) and words[0] in DAYS and words[1].isdigit()


@EVERY_LABEL
def test_a_tag_is_read_in_the_hand(stock: str, lots: list[StorageDates]) -> None:
    """Dates 21.5 arc minutes at 40 cm, a lot of twelve Ms 15; all else 16 once it is brought to 30 cm."""
    inked = labels(*lots, label_stock=stock)
    codes = {dates.lot.lot_code for dates in lots}
    seen = [(text, height) for text, height in capitals(inked)]
    dates = [minutes(height, 40) for text, height in seen if is_date(text)]
    named = [minutes(height, 40) for text, height in seen if text.lines[0].text in codes]
    assert (len(dates) >= len(lots), len(named) >= len(lots)) == (True, True)
    assert min(dates) >= SEEN
    assert min(named) >= LONG_LOT
    assert min(minutes(height, 30) for _, height in seen) >= LEAST


@pytest.mark.parametrize("paper", ["letter", "a4"])
def test_a_checklist_is_read_on_the_door(demo: Path, paper: str) -> None:
    """Tasks 16 arc minutes at 60 cm, 12 pt and more; dates 21.5 at 40 cm, all else 16."""
    now = datetime(2027, 4, 21, 9)
    season = read_season(demo / "lots.csv", Day(now.date(), now))
    lots = [dates for dates in season.dated if dates.left]
    runs = overfull(season.dated, season.farm, season.crops, now)
    farm, told = replace(season.farm, paper_size=paper), summaries(season, set())
    inked = cooler_checklists(lots, Teller(farm, season.crops, season.wording, now), runs, told)
    seen = list(capitals(inked))
    work = {text for tasks in work_of(inked.sheets).values() for text in tasks}
    tasks = [(text.size, minutes(height, 60)) for text, height in seen if text in work]
    dates = [height for text, height in seen if is_date(text) and len(text.lines[0].text.split()) == 3]
    assert len(tasks) >= 20
    assert min(size for size, _ in tasks) >= 12
    assert min(tall for _, tall in tasks) >= LEAST
    assert min(minutes(height, 40) for _, height in seen) >= LEAST
    assert min(minutes(height, 40) for height in dates) >= SEEN
