"""What holds for every wrap label, whatever its size, its printer, its lot and its words."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace
from datetime import datetime
from typing import NamedTuple

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tagmaker.errors import InputProblems, Problem
from tagmaker.farm import Farm
from tagmaker.lot import OrderDates, State, StorageCode, StorageDates
from tagmaker.paper.press.boxes import Box, Code, Drawing, Placed, Sheet, Text
from tagmaker.paper.press.qr import LEAST_MODULE, lot_text
from tagmaker.paper.stock.label_sheets import TagSpace
from tagmaker.paper.stock.label_stock import EDGE
from tagmaker.paper.tag.captions import CAPTION
from tagmaker.paper.tag.frame import SHORT_LINK
from tagmaker.paper.tag.rows import LEAST_DATE
from tagmaker.paper.tag.words import DateRow, TagWords, tag_words, wet_words
from tagmaker.paper.tag.wraps import lot_labels
from tagmaker.telling.bunches import bunches_of
from tagmaker.telling.readiness import is_wet
from tagmaker.telling.teller import Teller
from tagmaker.telling.wording import Wording
from tests.paper_samples import NOW, sample_farm
from tests.sheet_checks import leaving_their_box, overlapping
from tests.wrap_samples import CROPS, typical, worst

pytestmark = pytest.mark.slow

WIDTHS = st.floats(15, 75) | st.floats(15, 220)  # [mm]; most of what is difficult is narrow
HEIGHTS = st.floats(10, 60) | st.floats(10, 300)  # [mm]
LINKS = (
    None,
    "HTTPS://LMYARD.EXAMPLE/L/{lot}",
    "https://farm.example/lots/{lot}#row-{row}",
    "https://a-very-long-name-of-a-farm.example/lots/of/the/season/2027/pages/{lot}.html?row={row}",
)
NAMES = st.text("abcdefgijlmnopqtwyzÄÅÇÉŁŐÑßøgjW×',-®½  ", max_size=40).map(
    lambda name: " ".join(name.split())
)
LOT_CODES = st.from_regex(r"[A-Z0-9-]{0,11}[A-Z0-9]", fullmatch=True)
MOMENTS = st.datetimes(datetime(2027, 1, 1), datetime(2027, 12, 31)).map(
    lambda moment: moment.replace(minute=moment.minute // 15 * 15, second=0, microsecond=0)
)


class Case(NamedTuple):
    """A lot, and what it is printed on."""

    dates: StorageDates
    farm: Farm
    space: TagSpace

    def labels(self) -> list[Drawing]:
        """Each of its labels once."""
        wording = Wording(self.farm.units)
        return [
            label for label, _ in lot_labels(self.dates, self.space, Teller(self.farm, CROPS, wording, NOW))
        ]

    def words(self) -> list[tuple[TagWords, OrderDates | None]]:
        """What each of them has to say."""
        wording = Wording(self.farm.units)
        if is_wet(self.dates):
            return [(wet_words(self.dates, wording), None)]
        teller = Teller(self.farm, CROPS, wording, NOW)
        return [
            (tag_words(self.dates, some.order, some.stems, teller), some.order)
            for some in bunches_of(self.dates)
        ]


@st.composite
def lots(draw: st.DrawFn) -> StorageDates:
    """A lot of any kind with any names and hours."""
    dates = draw(st.sampled_from([*typical(), *worst()]))
    crop = draw(st.sampled_from(["tulip", "lily", "narcissus", "rose", "anemone"]))
    lot = replace(
        dates.lot,
        lot_code=draw(LOT_CODES),
        variety=draw(NAMES),
        colour=draw(NAMES),
        crop=crop,
        form=draw(st.sampled_from(CROPS.forms(crop) or ("",))),
        stems=draw(st.integers(1, 200)),
        per_bunch=draw(st.integers(1, 100)),
        orders=(),
        gone=0,
        dumped=0,
        split_off=0,
    )
    changes: dict[str, object] = {"lot": lot}
    if dates.sell_by is not None:
        changes |= {
            name: draw(st.none() | MOMENTS)
            for name in ("ready_from", "out_by", "stand_warm_from", "into_water_by")
        }
        changes |= {
            "sell_by": draw(MOMENTS),
            "code": draw(st.sampled_from(StorageCode)),
            "test_first": draw(st.booleans()),
            "state": draw(st.sampled_from([State.KEEP, State.SELL_FIRST, State.TOO_OLD])),
        }
    return replace(dates, **changes)  # type: ignore[arg-type]  # fields of their own types


@st.composite
def cases(draw: st.DrawFn) -> Case:
    """A lot on a label."""
    farm = sample_farm(units=draw(st.sampled_from("FC")), link=draw(st.sampled_from(LINKS)))
    return Case(draw(lots()), farm, TagSpace(draw(WIDTHS), draw(HEIGHTS), draw(st.integers(100, 600))))


@settings(max_examples=100)
@given(cases())
def test_a_label_is_sound_or_refused_with_what_would_do(case: Case) -> None:
    """Any size from 15 × 10 mm up, any printer, any lot."""
    try:
        drawn = case.labels()
    except InputProblems as error:
        check_refusal(error.problems, case)
        return
    words = case.words()
    assert len(drawn) == len(words)
    for label, (said, order) in zip(drawn, words, strict=True):
        check_label(label, said, lot_text(case.dates, case.farm.link, order), case.space)


def check_refusal(problems: Sequence[Problem], case: Case) -> None:
    """The largest size named does carry the lot; a link that is asked for is shorter than this one."""
    for problem in problems:
        size = re.search(r"needs (\d+) x (\d+) mm", problem.what)
        shorter = re.findall(r"at most (\d+) characters|in capitals, (\d+) would", str(problem))
        assert size or shorter, problem.what
        if shorter:
            assert "Shorten the link" in problem.remedy
            most = [int(figure) for found in shorter for figure in found if figure]
            assert most[0] < len(lot_text(case.dates, case.farm.link))
            assert max(most) >= SHORT_LINK
    named = [re.search(r"needs (\d+) x (\d+) mm", problem.what) for problem in problems]
    sizes = [(float(size[1]), float(size[2])) for size in named if size]
    if sizes:
        assert case._replace(space=TagSpace(*max(sizes), case.space.dpi)).labels()


def check_label(label: Drawing, words: TagWords, code_text: str, space: TagSpace) -> None:
    """All that must be true of a label."""
    assert (label.width, label.height) == pytest.approx(space[:2])
    sheet = Sheet(label.width, label.height, (Placed(label, 0, 0),))
    assert leaving_their_box([sheet]) == []
    assert overlapping(sheet) == []
    inner = Box(0, 0, label.width, label.height).inset(EDGE)
    texts = [part for part in label.elements if isinstance(part, Text)]
    assert [text for text in texts if not inner.holds(text.box)] == []
    assert [text for text in texts if text.size < CAPTION - 0.001] == []
    assert [text for text in texts if not all(line.text for line in text.lines)] == []
    (code,) = (part for part in label.elements if isinstance(part, Code))
    dots = code.sized.module / (25.4 / space.dpi)
    assert code.sized.module >= LEAST_MODULE
    assert abs(dots - round(dots)) < 1e-6
    assert code.sized.symbol.text == code_text
    assert Box(0, 0, label.width, label.height).holds(code.box)
    lines = [(line.text, text.size) for text in texts for line in text.lines]
    assert (words.lot, words.code) == (lines[0][0], lines[1][0])
    check_rows(words.rows, lines)
    if words.advice:
        check_advice(words, [line for line, _ in lines])


def check_rows(rows: tuple[DateRow, ...], lines: list[tuple[str, float]]) -> None:
    """The first and the last of them are there, each date of 10 pt or more and with its caption."""
    told = " ".join(line for line, _ in lines)
    for row in (*rows[:1], *rows[1:][-1:]):
        assert row.caption in told
        whole = [size for line, size in lines if line == row.value]
        parts = [[size for line, size in lines if line == part] for part in (row.day, row.hour) if part]
        assert whole or all(parts), (row, told)
        if row.is_date:
            assert max(whole or [0], default=0) >= LEAST_DATE - 0.001 or all(
                max(sizes, default=0) >= LEAST_DATE - 0.001 for sizes in parts
            ), (row, lines)


def check_advice(words: TagWords, lines: list[str]) -> None:
    """What a slip tells to do is there whole; of the reason why there is no date at least a beginning."""
    told = " ".join(lines)
    begun = [line.removesuffix("…") for line in lines if line.endswith("…")]
    starts = any(words.advice.startswith(told[told.find(words.advice[:5]) :][: len(line)]) for line in begun)
    assert words.advice in told or (words.rows and starts), lines
