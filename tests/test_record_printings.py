"""Printings of the record: on their way, handed over, cut off, answered and undone."""

from __future__ import annotations

import shutil
import sqlite3
from collections.abc import Sequence
from contextlib import closing
from datetime import datetime
from pathlib import Path

import pytest

from tagmaker.desk.overview import overview
from tagmaker.desk.season import Day, read_season
from tagmaker.record.labels import Sheet, Start, Stretch, stretch
from tagmaker.record.printings import PrintRecord, Repeated, open_record, record_path
from tagmaker.record.rows import Batch, Known
from tagmaker.record.tags import Printed, by_lot, missing, printed_now
from tests.paper_samples import NOW, sample_dates, sample_lot

STOCK, PER_PAGE = "letter-3x10", 30
GONE = 4_194_304  # a process number that Linux never gives


@pytest.fixture
def sheet(tmp_path: Path) -> Path:
    """Where a lot sheet would lie."""
    return tmp_path / "lots.xlsx"


def wraps(code: str = "041", count: int = 12, *, replaces: bool = True) -> Printed:
    """Wrap labels of a lot."""
    return printed_now("wraps", sample_dates(sample_lot(lot_code=code)), count, NOW, replaces=replaces)


def taken(known: Known, labels: int = 12, first: int | None = None) -> Stretch:
    """The next labels."""
    return stretch(Start(stock=STOCK, per_page=PER_PAGE, first=first), known.sheet(STOCK), labels)


def begin(record: PrintRecord, *lines: Printed, form: str | None = None, device: str = "phone") -> int:
    """Reserve a printing of these lines."""

    def plan(known: Known) -> Sequence[Batch]:
        pieces = sum(line.pieces for line in lines)
        return [Batch(lines=lines, stretch=taken(known, pieces), form=form, device=device if form else None)]

    (number,), said = record.reserve(plan)
    assert said == []
    return number


def counts(sheet: Path) -> list[tuple[str, int]]:
    """Lots and labels that the record knows as printed."""
    return [(line.lot_code, line.count) for line in open_record(sheet, NOW)[0].known.lines("wraps")]


def next_label(sheet: Path) -> Sheet:
    """The sheet that was printed last."""
    return open_record(sheet, NOW)[0].known.sheet(STOCK)


def kill(sheet: Path) -> None:
    """As if the runs that reserved something had been killed."""
    with closing(sqlite3.connect(record_path(sheet), isolation_level=None)) as file:
        file.execute("UPDATE printings SET process = ? WHERE state = 'reserved'", [GONE])


# --- on its way, and handed over ---------------------------------------------------------------------------


def test_only_what_was_handed_over_counts(sheet: Path) -> None:
    """Reserved, its labels are taken and its bunches claimed; kept, it counts."""
    record, _ = open_record(sheet, NOW)
    number = begin(record, wraps())
    known = open_record(sheet, NOW)[0].known
    assert (known.lines("wraps"), len(known.claimed("wraps")), known.sheet(STOCK)) == ((), 1, Sheet(1, 13))
    assert record.keep(number) is None
    assert counts(sheet) == [("041", 12)]


def test_what_was_dropped_was_never_there(sheet: Path) -> None:
    """Its labels are free again."""
    record, _ = open_record(sheet, NOW)
    record.keep(begin(record, wraps(count=5)))
    record.drop(begin(record, wraps("042")))
    assert (counts(sheet), next_label(sheet)) == ([("041", 5)], Sheet(1, 6))
    assert open_record(sheet, NOW)[0].known.claimed("wraps") == open_record(sheet, NOW)[0].known.lines(
        "wraps"
    )


def test_labels_behind_which_somebody_printed_stay_taken(sheet: Path) -> None:
    """The second printing lies where it lies; the labels before it are left empty."""
    record, _ = open_record(sheet, NOW)
    first, second = begin(record, wraps("041")), begin(record, wraps("042"))
    record.drop(first)
    record.keep(second)
    assert (counts(sheet), next_label(sheet)) == ([("042", 12)], Sheet(1, 25))


def test_a_plan_that_is_refused_changes_nothing(sheet: Path) -> None:
    """What it raises comes out, and nothing is reserved."""
    record, _ = open_record(sheet, NOW)
    record.keep(begin(record, wraps()))

    def plan(known: Known) -> Sequence[Batch]:
        return [Batch(lines=[wraps("042")], stretch=taken(known, first=7))]

    with pytest.raises(Exception, match="--first must be a free label"):
        record.reserve(plan)
    assert (counts(sheet), next_label(sheet)) == ([("041", 12)], Sheet(1, 13))


def test_a_form_is_one_printing(sheet: Path) -> None:
    """Sent again it is refused, in this process or in another; dropped, it may come again."""
    record, _ = open_record(sheet, NOW)
    number = begin(record, wraps(), form="a")
    with pytest.raises(Repeated):
        begin(open_record(sheet, NOW)[0], wraps(), form="a")
    record.drop(number)
    record.keep(begin(record, wraps(), form="a"))
    with pytest.raises(Repeated):
        begin(open_record(sheet, NOW)[0], wraps(), form="a")
    assert counts(sheet) == [("041", 12)]


def test_the_first_printing_of_all_may_be_dropped(sheet: Path) -> None:
    """Then no sheet was ever begun, and the record is sound."""
    record, _ = open_record(sheet, NOW)
    record.drop(begin(record, wraps()))
    again, message = open_record(sheet, NOW)
    assert (message, again.known.sheet(STOCK), counts(sheet)) == (None, Sheet(), [])


# --- what came out -----------------------------------------------------------------------------------------


def test_nothing_came_out(sheet: Path) -> None:
    """The bunches have no labels, the labels are free, and what was there before counts again."""
    record, _ = open_record(sheet, NOW)
    record.keep(begin(record, wraps(count=5), form="a"))
    number = begin(record, wraps("041"), form="b")
    record.keep(number)
    record.answer(number, 0)
    assert (counts(sheet), next_label(sheet)) == ([("041", 5)], Sheet(1, 6))
    record.answer(number, None)
    assert counts(sheet) == [("041", 5)]


def test_only_the_first_came_out(sheet: Path) -> None:
    """Fifteen of 24: all of 041, and three of 042, whose earlier labels go on counting."""
    record, _ = open_record(sheet, NOW)
    old = wraps("042", 12)
    record.keep(begin(record, old))
    number = begin(record, wraps("041"), wraps("042"), form="a")
    record.keep(number)
    record.keep(begin(record, wraps("043")))
    for _ in range(2):  # said twice it is the same
        record.answer(number, 15)
    lines = open_record(sheet, NOW)[0].known.lines("wraps")
    assert [(line.lot_code, line.count, line.replaces) for line in lines] == [
        ("042", 12, True),
        ("041", 12, True),
        ("042", 3, False),
        ("043", 12, True),
    ]
    assert missing(by_lot(lines)["042"], sample_dates(sample_lot(lot_code="042"))) == 0
    assert next_label(sheet) == Sheet(2, 19)


def test_it_is_asked_once_and_of_the_device_that_printed(sheet: Path) -> None:
    """Another device is told what was printed last, and may undo it; who prints again is asked of that."""
    record, _ = open_record(sheet, NOW)
    one = begin(record, wraps("041"), form="a", device="one")
    two = begin(record, wraps("042"), form="b", device="two")
    for number in (one, two):
        record.keep(number)

    def told(device: str) -> tuple[int, bool, bool]:
        last = open_record(sheet, NOW)[0].last(device)
        assert last is not None
        return last.number, last.is_asked, last.is_undone

    assert [told(device) for device in ("one", "two", "three")] == [
        (one, True, False),
        (two, True, False),
        (two, False, False),
    ]
    record.answer(one, None)
    assert told("one") == (two, False, False)
    three = begin(record, wraps("041"), form="c", device="two")
    record.keep(three)
    assert told("two") == (three, True, False)
    record.answer(three, 0)
    assert told("two") == (three, False, True)
    record.keep(begin(record, wraps("044")))
    assert told("one") == (three, False, True)  # a command is not the bench's


# --- killed runs -------------------------------------------------------------------------------------------


def test_a_run_that_was_killed_before_its_paper_was_there_did_not_print(sheet: Path) -> None:
    """The next run says so, whether it was drawn or not, and its labels are free."""
    record, _ = open_record(sheet, NOW)
    number = begin(record, wraps("041"))
    record.drawn(number, b"new", sheet.parent / "wrap-labels.pdf")
    (sheet.parent / "wrap-labels.pdf").write_bytes(b"old")
    begin(record, wraps("042"))
    kill(sheet)
    _, said = open_record(sheet, NOW)[0].reserve(lambda _: [Batch(lines=[wraps("043")])])
    assert said == [
        f"the print run of 2027-02-20 09:00 was ended before its paper was there: not printed: "
        f"12 labels of {lot}."
        for lot in ("041", "042")
    ]
    assert (counts(sheet), next_label(sheet)) == ([], Sheet(1, 13))  # 042's came behind: 041's stay empty


def test_a_run_that_was_killed_after_its_paper_was_there_printed(sheet: Path) -> None:
    """The file is the one that was drawn: it counts, and the next run says so."""
    record, path = open_record(sheet, NOW)[0], sheet.parent / "wrap-labels.pdf"
    record.drawn(begin(record, wraps()), b"new", path)
    path.write_bytes(b"new")
    kill(sheet)
    _, said = open_record(sheet, NOW)[0].reserve(lambda _: [])
    assert said == [
        (
            f"the print run of 2027-02-20 09:00 was ended, but {path} is whole and counts as printed: "
            "12 labels of 041."
        )
    ]
    assert counts(sheet) == [("041", 12)]


@pytest.mark.parametrize("queue", ["TAGS", None])
def test_what_was_on_its_way_when_its_run_was_killed_counts_and_is_said(
    sheet: Path, queue: str | None
) -> None:
    """Whether a printer or a phone has it, nobody knows: tags that may hang there count."""
    record, _ = open_record(sheet, NOW)
    (number,), _ = record.reserve(lambda _: [Batch(lines=[wraps()], queue=queue)])
    record.drawn(number, b"new", None)
    kill(sheet)
    _, (said,) = open_record(sheet, NOW)[0].reserve(lambda _: [])
    assert f"on its way to {'the printer TAGS' if queue else 'a phone'}: look whether it came out" in said
    assert counts(sheet) == [("041", 12)]


def test_a_run_that_goes_on_is_left_alone(sheet: Path) -> None:
    """Its process is there: this one."""
    record, _ = open_record(sheet, NOW)
    number = begin(record, wraps())
    assert open_record(sheet, NOW)[0].reserve(lambda _: []) == ([], [])
    record.keep(number)
    assert counts(sheet) == [("041", 12)]


# --- a record of before ------------------------------------------------------------------------------------

OLD = Path(__file__).parent / "data" / "record_schema_2"


def test_a_record_of_before_is_read_on(tmp_path: Path) -> None:
    """Every line, what is labelled and what is next come out as they were; nothing of it is stale."""
    sheet = tmp_path / "lots.csv"
    shutil.copy(OLD / "lots.csv", sheet)
    (tmp_path / "tagmaker.toml").write_text('units = "F"\n', encoding="utf-8")
    shutil.copy(OLD / "record-schema-2.sqlite", record_path(sheet))
    with closing(sqlite3.connect(record_path(sheet))) as file:
        assert file.execute("PRAGMA user_version").fetchone() == (2,)
    moment = datetime(2027, 3, 24, 10)
    record, message = open_record(sheet, moment, create=False)
    assert (message, len(record.known.lines("wraps")), len(record.known.lines("crates"))) == (None, 9, 3)
    assert (record.known.sheet(STOCK).next_label, record.known.sheet("a4-3x7").next_label) == (25, 13)
    season = read_season(sheet, Day(moment.date(), moment))
    lines = by_lot(record.known.lines("wraps"))
    assert {d.lot.lot_code: missing(lines[d.lot.lot_code], d) for d in season.dated} == {
        "041": 0,
        "042": 0,
        "043": 0,
    }
    assert taken(record.known).positions[0] == (1, 25)
    number = begin(record, wraps("042"))
    record.keep(number)
    assert number == 4
    assert len(open_record(sheet, moment)[0].known.lines("wraps")) == 10
    found = overview(season, {"041", "042", "043"})
    assert "041" not in found.reprint.get(
        "crates", ()
    )  # what an older record did not note is not held against it
