"""What holds for every thermometer log: no text breaks the reader, and the order of exports means nothing."""

from collections.abc import Sequence
from datetime import datetime, timedelta
from pathlib import Path
from tempfile import TemporaryDirectory

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tagmaker.errors import InputProblems
from tagmaker.storage.readings import SetAside
from tests.farms import make_farm
from tests.thermometer_logs import NOW, read

pytestmark = pytest.mark.slow

HEADER = "Time,Temp (°F),RH"
START = datetime(2027, 4, 10)
CELLS = st.sampled_from(["38.0", "39.5", "41", "-999", "Err", "", "120", "-30", "38,4"]) | st.floats(
    25, 80
).map(lambda degrees: f"{degrees:.2f}")
# Steps of a logger: now and then none at all, an hour back as the clock is set, or a long gap.
STEPS = st.sampled_from([15, 15, 15, 15, 10, 1, 0, 0, -60, 600])


@st.composite
def logs(draw: st.DrawFn) -> list[str]:
    """Rows of a log whose clock mostly runs forward."""
    moment, rows = START, []
    for _ in range(draw(st.integers(1, 40))):
        moment += timedelta(minutes=draw(STEPS))
        cell = draw(CELLS).replace(",", ".")
        rows.append(f"{moment:%Y-%m-%d %H:%M},{cell},{draw(st.sampled_from(['90', '91.5', '']))}")
    return rows


def outcome(files: Sequence[Sequence[str]]) -> tuple[object, ...]:
    """What comes of these rows in files of their own: the series, or the problems without their places."""
    with TemporaryDirectory() as folder:
        for number, rows in enumerate(files):
            text = "\n".join([HEADER, *rows])
            (Path(folder) / f"{number}.csv").write_text(text + "\n", encoding="utf-8")
        try:
            found = read(Path(folder), "*.csv")
        except InputProblems as error:
            return tuple(sorted({problem.what.split(" (got")[0] for problem in error.problems}))
    return found.moments, found.t_c, found.rh, dict(found.set_aside)


@given(logs(), st.randoms(use_true_random=False))
def test_the_order_of_rows_makes_no_difference(rows: list[str], chance: object) -> None:
    """A shuffled export gives the same series."""
    shuffled = list(rows)
    chance.shuffle(shuffled)  # type: ignore[attr-defined]  # a random.Random of hypothesis
    assert outcome([shuffled]) == outcome([rows])


@given(logs(), st.data())
def test_overlapping_exports_make_no_difference(rows: list[str], data: st.DataObject) -> None:
    """Two files that share some rows give the same series as one."""
    rows = [row for row in rows if row.split(",")[1] not in ("-999", "Err", "", "120", "-30")] or rows
    begin = data.draw(st.integers(0, len(rows)))
    end = data.draw(st.integers(begin, len(rows)))
    files = [part for part in (rows[:end], rows[begin:]) if part]
    whole, parts = outcome([rows]), outcome(files)
    # Each file is judged by its own middle reading, so a part may be refused where the whole is not.
    assert parts == whole or len(parts) != 4


@given(logs())
def test_a_series_is_in_order_and_whole(rows: list[str]) -> None:
    """Moments strictly increase, every column has one cell for each, and nothing lies after now."""
    found = outcome([rows])
    if len(found) != 4:
        return
    moments, t_c, rh, aside = found
    assert isinstance(moments, tuple)
    assert isinstance(t_c, tuple)
    assert isinstance(rh, tuple)
    assert isinstance(aside, dict)
    assert list(moments) == sorted(set(moments))
    assert (len(t_c), len(rh) in (0, len(moments))) == (len(moments), True)
    assert all(moment <= NOW for moment in moments)
    assert all(-40 < degrees < 60 for degrees in t_c)
    assert set(aside) <= set(SetAside)
    assert 0 < len(moments) + sum(aside.values()) <= len(rows)


# What looks like a part of a log, or like one on purpose.
FRAGMENTS = (
    *("2027-04-10 10:00", "04/05/2027", "10:00", "24:00", "2027-04-10 10:00 PM", "2027-04-10T10:00+99:99"),
    *("46497.5", "1808244300", "38", "0,5", "1e400", "9" * 400, "٣٨", "°F", "=1/0", "\x00", '"', ",", ";"),
    *("Temp", "Time", "RH", "Probe"),
)
TEXT = st.text(max_size=30) | st.sampled_from(FRAGMENTS)


@settings(max_examples=150)
@given(st.lists(st.lists(TEXT, min_size=1, max_size=5), max_size=12), st.sampled_from([",", ";", "\t"]))
def test_no_text_breaks_the_reader(rows: list[list[str]], separator: str) -> None:
    """Whatever stands in the cells, the answer is a series or problems."""
    text = "\n".join(separator.join(row) for row in rows)
    assert is_answered(text.encode("utf-8", "surrogatepass"))


@settings(max_examples=100)
@given(st.integers(0, 4), st.lists(TEXT, min_size=3, max_size=3), st.sampled_from([None, "Temp", "Probe 1"]))
def test_no_text_in_a_sound_log_breaks_the_reader(at: int, row: list[str], probe: str | None) -> None:
    """A row of anything among sound ones, or in place of the header, is answered too."""
    lines = [HEADER, *(f"2027-04-1{day} 10:00,38.0,91" for day in range(4))]
    lines.insert(at, ",".join(row))
    assert is_answered("\n".join(lines).encode("utf-8", "surrogatepass"), probe)


@settings(max_examples=100)
@given(st.binary(max_size=400))
def test_no_bytes_break_the_reader(content: bytes) -> None:
    """Nor do bytes that are no text."""
    assert is_answered(content)
    assert is_answered(b"PK\x03\x04" + content)


def is_answered(content: bytes, probe: str | None = None) -> bool:
    """Whether the file is read, or every problem says where, what and what to do."""
    with TemporaryDirectory() as folder:
        (Path(folder) / "log.csv").write_bytes(content)
        try:
            readings = read(Path(folder), "log.csv", make_farm(timezone="Europe/Dublin"), probe=probe)
        except InputProblems as error:
            return all(problem.where and problem.what and problem.remedy for problem in error.problems)
    return len(readings.moments) > 0
