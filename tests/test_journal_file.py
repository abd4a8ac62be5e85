"""The file of the journal: what was kept comes back, nothing else, and no state of it loses an entry."""

from __future__ import annotations

import sqlite3
import stat
import threading
from collections.abc import Iterator, Sequence
from contextlib import closing
from dataclasses import replace
from datetime import date, datetime, timedelta
from pathlib import Path

import pytest

from tagmaker.record.journal import file as journal_file
from tagmaker.record.journal.beside import conflict_copies, copy_of_the_day, journal_path
from tagmaker.record.journal.book import Book, Learnt, NotKept, OtherContent, Pair, Seen, UnreadableJournal
from tagmaker.record.journal.entries import Entry, Kind, Topic, in_force, utc_of
from tagmaker.record.journal.file import append, clock_is_right, keep_here, learn, read_book
from tests.journal_entries import HERE, MORNING, ZONE, an_entry, kept

MINUTE = timedelta(minutes=1)


@pytest.fixture
def path(tmp_path: Path) -> Path:
    """Where the journal of a sheet lies."""
    return journal_path(tmp_path / "lots.xlsx")


def test_entries_come_back_as_they_were_kept(path: Path) -> None:
    """Every field, numbered from one; the journal has a name and knows who keeps it."""
    first = an_entry(Kind.SOLD, stems=30, device="Ada's phone", details={"order": "WEDDING", "all": False})
    second = an_entry(Kind.MOVED, at=2.0, stems=40, cooler="south", place="rack 2", details={"child": "104B"})
    one, two = kept(path, first, second)
    book = read_book(path)
    assert book.entries == (one, two) == (replace(first, number=1), replace(second, number=2))
    assert (book.name, book.keeper, book.last) == ("K7", HERE, 2)
    assert one.happened_utc == datetime(2027, 4, 21, 13)  # nine in New York's summer


def test_looking_writes_nothing(path: Path, tmp_path: Path) -> None:
    """Where there is no journal, it is empty and stays away."""
    assert read_book(path) == Book()
    assert list(tmp_path.iterdir()) == []


def test_the_same_id_is_one_entry(path: Path) -> None:
    """A double tap or a resend is answered with the entry as it was kept, whenever it arrives."""
    sold = an_entry(Kind.SOLD, stems=30, id="tap-1")
    (first,) = kept(path, sold)
    again = append(path, replace(sold, happened=MORNING + 3 * MINUTE), HERE, name="K7")
    assert again == (first, False)
    assert read_book(path).entries == (first,)


def test_the_same_id_with_other_content_is_shown(path: Path) -> None:
    """What an id was used for is told; nothing is added or changed."""
    (first,) = kept(path, an_entry(Kind.SOLD, stems=30, id="tap-1"))
    with pytest.raises(OtherContent, match="that of entry 1 again") as caught:
        append(path, an_entry(Kind.SOLD, stems=40, id="tap-1"), HERE, name="K7")
    assert caught.value.entry == first
    assert read_book(path).entries == (first,)


def test_every_entry_is_synced_before_it_counts_as_kept(path: Path) -> None:
    """The file is in rollback mode, and synced at least as fully as FULL, in the connection that writes."""
    told: list[tuple[int, str]] = []

    def look(file: sqlite3.Connection) -> None:
        (sync,) = file.execute("PRAGMA synchronous").fetchone()
        (mode,) = file.execute("PRAGMA journal_mode").fetchone()
        told.append((sync, mode))

    kept(path, an_entry(Kind.SOLD, stems=1))
    journal_file._written(path, look, HERE, "K7")
    assert told == [(3, "delete")]  # 2 is FULL; 3 syncs the folder too


@pytest.mark.parametrize("change", ["UPDATE entries SET stems = 1", "DELETE FROM entries"])
def test_the_file_itself_refuses_to_edit_entries(path: Path, change: str) -> None:
    """Not even another program changes or removes a line by a plain statement."""
    kept(path, an_entry(Kind.SOLD, stems=30))
    with closing(sqlite3.connect(path)) as file, pytest.raises(sqlite3.IntegrityError, match="never"):
        file.execute(change)


def test_two_devices_at_once_get_numbers_of_their_own(path: Path) -> None:
    """Four writers at once: every entry is there once, numbered without gaps."""
    kept(path, an_entry(Kind.NOTE, id="first"))

    def write(who: int) -> None:
        for n in range(5):
            kept(path, an_entry(Kind.SOLD, stems=1, id=f"{who}-{n}"))

    threads = [threading.Thread(target=write, args=(who,)) for who in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    entries = read_book(path).entries
    assert [entry.number for entry in entries] == list(range(1, 22))
    assert len({entry.id for entry in entries}) == 21


def test_the_second_sees_what_the_first_did(path: Path) -> None:
    """A check is shown the entries that its caller does not know yet, and can refuse."""
    first, second = kept(path, an_entry(Kind.SOLD, stems=1), an_entry(Kind.SOLD, stems=2))
    shown: list[Entry] = []

    def check(entries: Sequence[Entry]) -> None:
        shown.extend(entries)
        raise NotKept("decide")

    with pytest.raises(NotKept, match="decide"):
        append(path, an_entry(Kind.SOLD, stems=3), HERE, name="K7", since=first.number, check=check)
    assert shown == [second]
    assert read_book(path).last == 2


# --- the clock ---------------------------------------------------------------------------------------------


def test_a_clock_that_ran_back_stops_recording_until_it_is_declared_right(path: Path) -> None:
    """Nothing is recorded before what is recorded; a word of the grower's lets it go on."""
    kept(path, an_entry(Kind.SOLD, stems=1, at=5.0))
    early = an_entry(Kind.SOLD, stems=2, at=4.0)
    with pytest.raises(NotKept, match=r"must not run back \(got 2027-04-21 12:00, and entry 1 .* 13:00"):
        kept(path, early)
    assert read_book(path).last == 1
    clock_is_right(path, HERE)
    assert [entry.number for entry in kept(path, early)] == [2]
    with pytest.raises(NotKept, match="must not run back"):
        kept(path, an_entry(Kind.SOLD, stems=3, at=3.0))


def test_a_late_entry_is_no_clock_that_ran_back(path: Path) -> None:
    """What happened earlier may be recorded later."""
    late = an_entry(Kind.SOLD, stems=2, at=1.0, recorded=MORNING + timedelta(hours=6))
    assert [entry.number for entry in kept(path, an_entry(Kind.SOLD, stems=1, at=5.0), late)] == [1, 2]


def test_the_end_of_summer_time_is_no_clock_that_ran_back(path: Path) -> None:
    """The hour that comes twice runs on in UTC."""
    first = datetime(2027, 11, 7, 1, 50)
    second = first.replace(minute=10, fold=1)
    assert utc_of(second, ZONE) - utc_of(first, ZONE) == timedelta(minutes=20)
    assert len(kept(path, an_entry(Kind.NOTE, at=first), an_entry(Kind.NOTE, at=second))) == 2


# --- who keeps it ------------------------------------------------------------------------------------------


def test_one_computer_keeps_the_journal(path: Path) -> None:
    """Another reads; it records only once it was told to, and then the first does not."""
    kept(path, an_entry(Kind.SOLD, stems=1))
    other = an_entry(Kind.SOLD, stems=2, at=2.0)
    with pytest.raises(NotKept, match=r"got shed, which keeps it.*--keep-here"):
        append(path, other, "office 77aa", name="K7")
    assert not learn(path, Learnt(seen=[Seen("lots", "104", "", None, MORNING)]), "office 77aa")
    keep_here(path, "office 77aa")
    assert append(path, other, "office 77aa", name="K7")[0].number == 2
    with pytest.raises(NotKept, match="got office, which keeps it"):
        kept(path, an_entry(Kind.SOLD, stems=3, at=3.0))


def test_what_is_known_is_not_read_again(path: Path) -> None:
    """The entries from before are the same ones, fresh ones come to them; another journal is read whole."""
    kept(path, an_entry(Kind.SOLD, at=1, stems=10), an_entry(Kind.SOLD, at=2, stems=20))
    before = read_book(path)
    older = path.read_bytes()
    kept(path, an_entry(Kind.SOLD, at=3, stems=30))
    after = read_book(path, before)
    assert after == read_book(path)
    assert [one is other for one, other in zip(before.entries, after.entries, strict=False)] == [True, True]
    path.write_bytes(older)  # an older copy was put back
    assert read_book(path, after) == before
    path.unlink()
    append(path, an_entry(Kind.SOLD, at=9, stems=90), HERE, name="Q2")
    assert [entry.stems for entry in read_book(path, after).entries] == [90]


def test_what_was_accepted_and_seen_comes_back(path: Path) -> None:
    """Pairs in the order of acceptance; a row as it was last read, until it is forgotten."""
    pair = Pair("104", Topic.AMOUNTS, "120 0 0", None, 0, MORNING)
    seen = Seen("lots", "104", "120 0 0", 120, MORNING)
    append(path, an_entry(Kind.SOLD, stems=1), HERE, name="K7", learnt=Learnt(pairs=[pair], seen=[seen]))
    later = replace(seen, stems_left=90)
    assert learn(path, Learnt(pairs=[replace(pair, counts=1, includes=1)], seen=[later]), HERE)
    book = read_book(path)
    assert (book.pairs, book.seen) == ((pair, replace(pair, counts=1, includes=1)), (later,))
    assert learn(path, Learnt(forget=[("lots", "104")]), HERE)
    assert read_book(path).seen == ()


def test_nothing_is_remembered_where_there_is_no_journal(path: Path) -> None:
    """Reading sheets never begins one."""
    assert not learn(path, Learnt(), HERE)
    assert not path.exists()


# --- damage ------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("content", [b"", b"not a database at all, but long enough to be looked at" * 20])
def test_an_unreadable_journal_stays_as_it_is(path: Path, content: bytes) -> None:
    """It is not read, not written, not renamed and not begun anew."""
    path.write_bytes(content)
    with pytest.raises(UnreadableJournal):
        read_book(path)
    with pytest.raises(UnreadableJournal):
        kept(path, an_entry(Kind.SOLD, stems=1))
    assert [(p.name, p.read_bytes()) for p in path.parent.iterdir()] == [(path.name, content)]


@pytest.mark.parametrize("share", [0.5, 0.7, 0.9])
def test_a_journal_with_damaged_pages_is_unreadable(path: Path, share: float) -> None:
    """Bytes of entries that were overwritten are found before anything is laid over a sheet."""
    kept(path, *(an_entry(Kind.NOTE, at=n / 60, details={"text": "x" * 9000}) for n in range(5)))
    content = bytearray(path.read_bytes())
    at = int(len(content) * share)
    content[at : at + 3000] = b"\xff" * 3000
    path.write_bytes(content)
    with pytest.raises(UnreadableJournal):
        read_book(path)


def test_a_journal_of_a_later_version_is_unreadable(path: Path) -> None:
    """It is said so, and nothing is written into it."""
    kept(path, an_entry(Kind.SOLD, stems=1))
    with closing(sqlite3.connect(path)) as file:
        file.execute("PRAGMA user_version = 99")
    with pytest.raises(UnreadableJournal, match="later version"):
        kept(path, an_entry(Kind.SOLD, stems=2))


@pytest.fixture
def closed_folder(tmp_path: Path) -> Iterator[Path]:
    """A folder that cannot be written to, as on a read-only share."""
    folder = tmp_path / "closed"
    folder.mkdir()
    yield folder
    folder.chmod(stat.S_IRWXU)


def test_reading_needs_no_right_to_write(closed_folder: Path) -> None:
    """The journal of a closed folder is read; recording says what has to be mended."""
    path = closed_folder / "lots-journal.sqlite"
    (first,) = kept(path, an_entry(Kind.SOLD, stems=1))
    path.chmod(stat.S_IRUSR)
    closed_folder.chmod(stat.S_IRUSR | stat.S_IXUSR)
    assert read_book(path).entries == (first,)
    try:
        (closed_folder / "probe").touch()
    except PermissionError:
        with pytest.raises(NotKept, match="must be a file that can be written"):
            kept(path, an_entry(Kind.SOLD, stems=2, at=2.0))


# --- what lies beside it -----------------------------------------------------------------------------------


def test_a_copy_a_day_is_kept_for_a_week(path: Path) -> None:
    """Each is a whole journal; a second one on the same day is not made, the oldest go."""
    days = [date(2027, 4, 1) + timedelta(days=n) for n in range(9)]
    for n, day in enumerate(days):
        kept(path, an_entry(Kind.NOTE, at=float(n)))
        copy_of_the_day(path, day)
        copy_of_the_day(path, day)
    copies = sorted(path.parent.glob("lots-journal-copy-*"))
    assert [copy.name for copy in copies] == [f"lots-journal-copy-{day}.sqlite" for day in days[2:]]
    assert [read_book(copy).last for copy in copies] == [3, 4, 5, 6, 7, 8, 9]
    assert conflict_copies(path.with_name("lots.xlsx")) == []


@pytest.mark.parametrize(
    "name",
    [
        "lots-journal (conflicted copy 2027-04-21).sqlite",
        "lots-journal.sync-conflict-20270421-090000-ABCDEFG.sqlite",
        "lots-journal-SHED.sqlite",
        "lots-journal 2.sqlite",
        "lots-journal.sqlite.bak",
    ],
)
def test_another_file_of_that_name_is_seen(path: Path, name: str) -> None:
    """What a synced folder makes of two that differ is found beside the journal."""
    kept(path, an_entry(Kind.SOLD, stems=1))
    path.with_name(name).write_bytes(b"x")
    path.with_name("lots-journal.sqlite-journal").write_bytes(b"")
    assert [copy.name for copy in conflict_copies(path.with_name("lots.xlsx"))] == [name]


def test_undone_entries_are_out_of_force(path: Path) -> None:
    """Undo names its entry; what is in force stands in the order in which it happened."""
    sold, late = an_entry(Kind.SOLD, stems=1, at=3.0), an_entry(Kind.SOLD, stems=2, at=1.0)
    entries = kept(path, sold, an_entry(Kind.NOTE, at=4.0), an_entry(Kind.UNDO, at=5.0, undoes=2))
    entries += kept(
        path, replace(late, recorded=MORNING + 6 * 60 * MINUTE, recorded_utc=datetime(2028, 1, 1))
    )
    assert [entry.number for entry in in_force(entries)] == [4, 1]
