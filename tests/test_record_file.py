"""The file of the print record: what comes back from it, and that no state of it stops printing."""

from __future__ import annotations

import fcntl
import os
import random
import sqlite3
import tempfile
from collections.abc import Iterator, Sequence
from contextlib import closing, contextmanager
from dataclasses import replace
from datetime import datetime, timedelta
from pathlib import Path

import pytest

from tagmaker.record import aside
from tagmaker.record import file as record_file
from tagmaker.record.labels import Sheet, Stretch
from tagmaker.record.printings import PrintRecord, open_record, record_path
from tagmaker.record.rows import Batch
from tagmaker.record.tags import Printed, printed_now
from tests.paper_samples import NOW, in_water, sample_dates, sample_lot, sample_order

DAY = timedelta(days=1)


@pytest.fixture
def sheet(tmp_path: Path) -> Path:
    """Where a lot sheet would lie."""
    return tmp_path / "lots.xlsx"


def remember(record: PrintRecord, lines: Sequence[Printed], stretch: Stretch | None = None) -> str | None:
    """Reserve a printing and keep it; what was said of the file."""
    (number,), said = record.reserve(lambda _: [Batch(lines=lines, stretch=stretch)])
    return record.keep(number) or "".join(said) or None


def remembered(sheet: Path) -> list[str]:
    """Lot codes in the record, which must be sound."""
    record, message = open_record(sheet, NOW)
    assert message is None
    return [line.lot_code for line in record.known.lines("wraps")]


def keep(sheet: Path, *codes: str) -> None:
    """Remember a wrap label for each lot code, as one printing."""
    record, _ = open_record(sheet, NOW)
    assert remember(record, [a_line(code) for code in codes]) is None


def a_line(code: str) -> Printed:
    """Twelve wrap labels of a lot."""
    return printed_now("wraps", sample_dates(sample_lot(lot_code=code)), 12, NOW)


def test_lines_come_back_as_they_were_remembered(sheet: Path) -> None:
    """Every field, both papers, in the order of printing; lines of one printing share its number."""
    order = sample_order()
    first = [
        printed_now("wraps", sample_dates(sample_lot(gone=3, dumped=2, split_off=1)), 6, NOW, order=order),
        printed_now("crates", in_water(), 2, NOW),
    ]
    second = [printed_now("wraps", sample_dates(sell_by=None), 6, NOW + DAY, replaces=False)]
    record, message = open_record(sheet, NOW)
    assert (message, record.known.lines("wraps")) == (None, ())
    assert (remember(record, first), remember(record, second)) == (None, None)
    again, _ = open_record(sheet, NOW)
    wraps = (replace(first[0], printing=1), replace(second[0], printing=2))
    assert again.known.lines("wraps") == record.known.lines("wraps") == wraps
    assert again.known.lines("crates", "041") == (replace(first[1], printing=1),)
    assert again.known.lines("wraps", "042") == ()
    assert wraps[0].taken == 6


def test_the_record_is_one_file_beside_the_sheet(sheet: Path) -> None:
    """Its name is the sheet's; the same sheet saved as csv shares it; no companions stay behind."""
    keep(sheet, "041")
    assert [path.name for path in sheet.parent.iterdir()] == ["lots-printed.sqlite"]
    assert record_path(sheet.with_suffix(".csv")) == record_path(sheet)


def test_the_record_is_in_write_ahead_logging_and_knows_its_schema(sheet: Path) -> None:
    """Both stand in the file itself."""
    keep(sheet, "041")
    with closing(sqlite3.connect(record_path(sheet))) as file:
        pragmas = [file.execute(f"PRAGMA {name}").fetchone()[0] for name in ("journal_mode", "user_version")]
    assert pragmas == ["wal", 6]


def test_a_command_that_only_looks_begins_no_record(sheet: Path) -> None:
    """It finds no lines and leaves the folder as it was."""
    record, message = open_record(sheet, NOW, create=False)
    assert (record.known.lines("wraps"), message, list(sheet.parent.iterdir())) == ((), None, [])
    keep(sheet, "041")
    assert len(open_record(sheet, NOW, create=False)[0].known.lines("wraps")) == 1


def test_a_lost_record_is_begun_again_in_the_middle_of_a_run(sheet: Path) -> None:
    """Deleting the file while papers are drawn loses what was in it, not what is printed."""
    keep(sheet, "041")
    record, _ = open_record(sheet, NOW)
    record_path(sheet).unlink()
    assert remember(record, [a_line("042")]) is None
    assert remembered(sheet) == ["042"]


def test_without_a_file_it_remembers_for_this_run() -> None:
    """The stand-in numbers its printings like the file does."""
    record = PrintRecord(None)
    for code in ("041", "042"):
        assert remember(record, [a_line(code)]) is None
    assert [line.printing for line in record.known.lines("wraps")] == [1, 2]


# --- damage ------------------------------------------------------------------------------------------------


def alter(sheet: Path, *statements: str) -> None:
    """Do something to the record's file with SQL."""
    with closing(sqlite3.connect(record_path(sheet), isolation_level=None)) as file:
        for statement in statements:
            file.execute(statement)


def assert_set_aside(sheet: Path, why: str) -> None:
    """The file is renamed, said in one message, and the next run begins a new one without a word."""
    path = record_path(sheet)
    before = path.read_bytes()
    record, message = open_record(sheet, datetime(2027, 4, 21, 9, 5))
    assert message == (
        f"{path} could not be used as the print record: {why}. It was set aside as "
        "lots-printed-set-aside-20270421T0905.sqlite and a new one begun; what was printed until now counts "
        "as never printed."
    )
    assert path.with_name("lots-printed-set-aside-20270421T0905.sqlite").read_bytes() == before
    assert remember(record, [a_line("050")]) is None
    assert remembered(sheet) == ["050"]


def test_a_file_that_is_no_database_is_set_aside(sheet: Path) -> None:
    """Whatever it is, it is kept."""
    record_path(sheet).write_text("my notes on printing\n" * 100, encoding="utf-8")
    assert_set_aside(sheet, "it is damaged: file is not a database")


def test_a_damaged_page_is_set_aside(sheet: Path) -> None:
    """Found when the record is opened, not in the middle of a printing."""
    keep(sheet, *(f"{n}" for n in range(400)))
    content = bytearray(record_path(sheet).read_bytes())
    content[8192:8208] = b"\xff" * 16
    record_path(sheet).write_bytes(content)
    path = record_path(sheet)
    record, message = open_record(sheet, NOW)
    assert message is not None
    assert message.startswith(f"{path} could not be used as the print record: it is damaged: ")
    assert record.known.lines("wraps") == ()


def test_a_later_schema_is_set_aside(sheet: Path) -> None:
    """An older tagmaker neither reads nor changes what a newer one wrote."""
    keep(sheet, "041")
    alter(sheet, "PRAGMA user_version = 7")
    assert_set_aside(sheet, "it is of a later version of tagmaker: schema 7, this one knows up to 6")


def test_another_database_is_set_aside(sheet: Path) -> None:
    """A database without our schema version is somebody else's."""
    alter(sheet, "CREATE TABLE hens (name TEXT)")
    assert_set_aside(sheet, "it is a database of something else")


@pytest.mark.parametrize(
    ("change", "why"),
    [
        ("DROP TABLE printed", "no such table: printed"),
        ("UPDATE printed SET moment = 'soon'", "Invalid isoformat string: 'soon'"),
        ("UPDATE printed SET moment = x'00'", "fromisoformat: argument must be str"),
        (
            "UPDATE printed SET sell_by = '2027-03-06T06:30:00+01:00'",
            "a moment must be local (got '2027-03-06T06:30:00+01:00')",
        ),
        ("UPDATE printed SET paper = 'napkins'", "paper must be one of wraps, crates (got 'napkins')"),
        ("UPDATE printed SET code = 'WET'", "'WET' is not a valid StorageCode"),
        ("UPDATE printed SET count = 'many'", "a count must be a whole number (got 'many')"),
    ],
)
def test_lines_that_make_no_sense_are_set_aside(sheet: Path, change: str, why: str) -> None:
    """A record that was edited by hand ends in no traceback."""
    keep(sheet, "041")
    alter(sheet, change)
    assert_set_aside(sheet, f"it is damaged: {why}")


def test_text_that_is_no_utf8_is_set_aside(sheet: Path) -> None:
    """Bytes that Python cannot read are damage like any other."""
    keep(sheet, "041")
    alter(sheet, "UPDATE printed SET lot = CAST(x'ff41' AS TEXT)")
    _, message = open_record(sheet, NOW)
    assert message is not None
    assert "Could not decode to UTF-8" in message


def test_files_that_were_set_aside_are_never_overwritten(sheet: Path) -> None:
    """Two in the same minute get two names."""
    for text in ("first", "second"):
        record_path(sheet).write_text(text * 100, encoding="utf-8")
        open_record(sheet, NOW)
    assert sorted(path.name for path in sheet.parent.iterdir()) == [
        "lots-printed-set-aside-20270220T0900-2.sqlite",
        "lots-printed-set-aside-20270220T0900.sqlite",
        "lots-printed.sqlite",
    ]


def test_what_is_not_yet_in_the_main_file_is_set_aside_with_it(sheet: Path) -> None:
    """Another program has the file open: its last lines stand in the write-ahead log."""
    keep(sheet, "041")
    with closing(sqlite3.connect(record_path(sheet), isolation_level=None)) as other:
        other.execute("UPDATE printed SET lot = '042'")
        other.execute("PRAGMA user_version = 7")
        assert "set aside" in str(open_record(sheet, NOW)[1])
        with closing(
            sqlite3.connect(sheet.with_name("lots-printed-set-aside-20270220T0900.sqlite"))
        ) as aside:
            assert aside.execute("SELECT lot FROM printed").fetchall() == [("042",)]
        keep(sheet, "043")
    assert remembered(sheet) == ["043"]


def test_damage_in_the_middle_of_a_run_loses_no_new_line(sheet: Path) -> None:
    """The printing that was on its way is remembered in the new file."""
    keep(sheet, "041")
    record, _ = open_record(sheet, NOW)
    record_path(sheet).write_bytes(b"rubbish" * 1000)
    message = remember(record, [a_line("042")])
    assert message is not None
    assert "set aside as lots-printed-set-aside-20270220T0900.sqlite" in message
    assert remembered(sheet) == ["042"]


@pytest.mark.parametrize("seed", range(40))
def test_any_damage_is_survived(sheet: Path, seed: int) -> None:
    """Bytes changed or cut off anywhere: no traceback, and the next printing is remembered."""
    keep(sheet, *(f"{n}" for n in range(60)))
    chance = random.Random(seed)
    content = bytearray(record_path(sheet).read_bytes())
    if seed % 4 == 0:
        del content[chance.randrange(len(content)) :]
    for _ in range(chance.randint(1, 30) if content else 0):
        # Every other change hits the header or the schema.
        content[chance.randrange(min(len(content), chance.choice([200, len(content)])))] = chance.randrange(
            256
        )
    record_path(sheet).write_bytes(content)
    remember(open_record(sheet, NOW)[0], [a_line("050")])
    assert remembered(sheet)[-1] == "050"


# --- schema ------------------------------------------------------------------------------------------------


def test_an_empty_file_is_schema_zero_and_begun(sheet: Path) -> None:
    """A run that was killed right after the file was made leaves one."""
    record_path(sheet).touch()
    assert remembered(sheet) == []
    keep(sheet, "041")
    assert remembered(sheet) == ["041"]


def test_an_older_schema_is_brought_up_to_date(sheet: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A later version adds a step; the lines stay, and the version without it sets the file aside."""
    keep(sheet, "041", "042")
    later = (*record_file.STEPS, "ALTER TABLE printed ADD COLUMN mould TEXT")
    monkeypatch.setattr(record_file, "STEPS", later)
    assert remembered(sheet) == ["041", "042"]
    keep(sheet, "043")
    assert remembered(sheet) == ["041", "042", "043"]
    monkeypatch.undo()
    assert_set_aside(sheet, "it is of a later version of tagmaker: schema 7, this one knows up to 6")


# --- out of reach ------------------------------------------------------------------------------------------


@contextmanager
def ordinary_user() -> Iterator[None]:
    """Without root's leave to write everywhere."""
    if os.geteuid() != 0:
        yield
        return
    os.seteuid(65534)  # "nobody" on Linux
    try:
        yield
    finally:
        os.seteuid(0)


@pytest.fixture
def shared_folder(monkeypatch: pytest.MonkeyPatch) -> Iterator[Path]:
    """A folder that everybody may look into, with a place for temporary files beside it."""
    with tempfile.TemporaryDirectory() as base:
        folder, scratch = Path(base, "season"), Path(base, "scratch")
        folder.mkdir()
        scratch.mkdir()
        for path, mode in ((Path(base), 0o755), (folder, 0o755), (scratch, 0o777)):
            path.chmod(mode)
        monkeypatch.setattr(tempfile, "tempdir", str(scratch))
        yield folder
        folder.chmod(0o755)


def not_kept(sheet: Path, why: str) -> str:
    """What is said where nothing can be remembered."""
    return (
        f"{record_path(sheet)}: the print record must be a file that can be written (got: {why}). Printing "
        "goes on, but is not remembered. Mend that, or print with --no-record."
    )


def test_a_folder_that_cannot_be_written_has_a_stand_in(shared_folder: Path) -> None:
    """It is said once, and the run goes on."""
    sheet = shared_folder / "lots.csv"
    shared_folder.chmod(0o555)
    with ordinary_user():
        record, message = open_record(sheet, NOW)
        assert remember(record, [a_line("041")]) is None
    assert message == not_kept(sheet, "the folder cannot be written to")
    assert [line.lot_code for line in record.known.lines("wraps")] == ["041"]
    assert list(shared_folder.iterdir()) == []


def test_a_record_in_a_folder_that_cannot_be_written_is_still_read(shared_folder: Path) -> None:
    """What was printed before counts; what is printed now is said not to be remembered."""
    sheet = shared_folder / "lots.csv"
    keep(sheet, "041")
    shared_folder.chmod(0o555)
    with ordinary_user():
        record, message = open_record(sheet, NOW)
        assert remember(record, [a_line("042")]) is None
    assert message is not None
    assert "must be a file that can be written" in message
    assert [line.lot_code for line in record.known.lines("wraps")] == ["041", "042"]
    assert remembered(sheet) == ["041"]


def test_the_next_label_is_known_where_the_record_can_only_be_read(shared_folder: Path) -> None:
    """Or the sheet would be printed on from its first label again."""
    sheet = shared_folder / "lots.csv"
    begun, _ = open_record(sheet, NOW)
    remember(begun, [a_line("041")], Stretch(stock="letter-3x10", per_page=30, sheet=1, first=2, labels=12))
    shared_folder.chmod(0o555)
    with ordinary_user():
        record, _ = open_record(sheet, NOW)
        assert record.known.sheet("letter-3x10") == Sheet(1, 14)


def test_a_damaged_record_in_a_folder_that_cannot_be_written_stays(shared_folder: Path) -> None:
    """It can be neither read nor renamed; printing goes on all the same."""
    sheet = shared_folder / "lots.csv"
    record_path(sheet).write_bytes(b"rubbish" * 1000)
    shared_folder.chmod(0o555)
    with ordinary_user():
        record, message = open_record(sheet, NOW)
    assert message == not_kept(sheet, "it cannot be renamed: Permission denied")
    assert record.known.lines("wraps") == ()


def test_a_folder_in_the_records_place_has_a_stand_in(sheet: Path) -> None:
    """No traceback, and the folder stays."""
    record_path(sheet).mkdir()
    record, message = open_record(sheet, NOW)
    assert message is not None
    assert "must be a file that can be written" in message
    assert remember(record, [a_line("041")]) is None
    assert record_path(sheet).is_dir()


def test_a_record_that_another_program_keeps_locked_stops_nothing(
    sheet: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """After the wait the tags are remembered for this run only, and the file is left where it is."""
    monkeypatch.setattr(aside, "PATIENCE_S", 0.1)
    keep(sheet, "041")
    with closing(sqlite3.connect(record_path(sheet), isolation_level=None)) as other:
        other.execute("BEGIN IMMEDIATE")
        record, message = open_record(sheet, NOW)
        assert message is None  # a writer keeps nobody from reading
        assert remember(record, [a_line("042")]) == not_kept(sheet, "another program keeps it locked")
    assert [line.lot_code for line in record.known.lines("wraps")] == ["041", "042"]
    assert remembered(sheet) == ["041"]


def test_a_record_locked_as_a_whole_is_read_from_a_copy(sheet: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A database browser that holds the file for itself hides no lines."""
    monkeypatch.setattr(aside, "PATIENCE_S", 0.1)
    keep(sheet, "041")
    with closing(sqlite3.connect(record_path(sheet), isolation_level=None)) as other:
        for statement in ("PRAGMA locking_mode = EXCLUSIVE", "BEGIN EXCLUSIVE"):
            other.execute(statement)
        record, message = open_record(sheet, NOW)
    assert message == not_kept(sheet, "another program keeps it locked")
    assert [line.lot_code for line in record.known.lines("wraps")] == ["041"]


def test_a_folder_that_another_program_keeps_locked_stops_nothing(
    sheet: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The lines are still read, and nothing is renamed or written."""
    monkeypatch.setattr(aside, "PATIENCE_S", 0.1)
    keep(sheet, "041")
    folder = os.open(sheet.parent, os.O_RDONLY)
    fcntl.flock(folder, fcntl.LOCK_EX)
    record, message = open_record(sheet, NOW)
    os.close(folder)
    assert message == not_kept(sheet, "another program keeps it locked")
    assert [line.lot_code for line in record.known.lines("wraps")] == ["041"]
