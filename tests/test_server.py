"""The pages, live: what is asked for, what changes, and what breaks."""

from __future__ import annotations

import re
import threading
import time
from pathlib import Path

import pytest

from tagmaker.desk import serving
from tagmaker.desk.jobs import Wanted
from tagmaker.desk.printing import print_papers
from tagmaker.desk.season import Day, read_season
from tagmaker.scan.live import OLD_S, PATIENCE_S, WATCH_EVERY_S, Shown
from tests.served import NOW, Served, print_wraps, row, write_season


@pytest.fixture
def served(tmp_path: Path) -> Served:
    """A folder of two lots, for this machine alone."""
    return Served(write_season(tmp_path, row("041"), row("042", "Larkspan")))


def printed(sheet: Path, *lots: str) -> None:
    """Print the wrap labels of some lots."""
    season = read_season(sheet, Day(NOW.date(), NOW))
    print_papers(season, Wanted(kinds=("wraps",), only=lots, out=sheet.parent / "out"), lambda _: None)


@pytest.mark.parametrize("address", ["/L/041", "/l/041", "/L/041/"])
def test_a_lot_is_answered_without_a_redirect(served: Served, address: str) -> None:
    """The address of a code is its page, in any case."""
    answer = served.client.get(address)
    assert (answer.status_code, "Pale Harbour" in answer.get_data(as_text=True)) == (200, True)


def test_letters_of_a_code_may_be_in_any_case(tmp_path: Path) -> None:
    """Who types a code by hand does not care for capitals."""
    served = Served(write_season(tmp_path, row("TU-12")))
    assert [served.client.get(f"/L/{code}").status_code for code in ("TU-12", "tu-12", "Tu-12")] == [200] * 3


def test_an_unknown_code_names_the_nearest(served: Served) -> None:
    """A code that was misread leads to those that look like it."""
    answer = served.client.get("/L/0411")
    assert answer.status_code == 404
    assert 'href="/L/041"' in answer.get_data(as_text=True)


def test_a_change_of_the_sheet_is_shown(served: Served) -> None:
    """What is saved is there at the next look, and not before it."""
    write_season(served.sheet.parent, row("041", "Copperlight"))
    assert "Copperlight" not in served.text("/L/041")
    served.later()
    assert "Copperlight" in served.text("/L/041")


def test_a_change_of_the_settings_is_shown(served: Served) -> None:
    """The settings are looked at like the sheet."""
    (served.sheet.parent / "tagmaker.toml").write_text(
        'units = "F"\nfarm = "Larkmarrow Yard, south"\n', encoding="utf-8"
    )
    served.later()
    assert "Larkmarrow Yard, south" in served.text("/")


def test_a_change_of_a_log_is_shown(tmp_path: Path) -> None:
    """A log that a pattern names is read again, one that is new too."""
    settings = 'units = "C"\n[coolers.barn]\nset_point = 3\nlog = "barn-*.csv"\n'

    def write(name: str, day: int, celsius: float) -> None:
        lines = [f"2027-03-{day} {hour:02}:00,{celsius}" for hour in range(8, 24)]
        (tmp_path / name).write_text("\n".join(["Time,Temperature (°C)", *lines]) + "\n", encoding="utf-8")

    write("barn-1.csv", 21, 3.0)
    served = Served(write_season(tmp_path, row("041"), settings=settings))
    before = served.text("/L/041")
    write("barn-2.csv", 22, 16.0)
    served.later()
    assert served.text("/L/041") != before


def test_a_sheet_that_is_being_saved_is_not_shown_yet(served: Served) -> None:
    """Cut off exactly between two rows it reads well; the pages wait until it is whole."""
    whole = write_season(served.sheet.parent, row("041", "Copperlight"), row("042")).read_text(
        encoding="utf-8"
    )
    first_row = "".join(whole.splitlines(keepends=True)[:2])
    served.sheet.write_text(first_row, encoding="utf-8")
    served.meanwhile.append(lambda: write_season(served.sheet.parent, row("041", "Copperlight"), row("042")))
    served.later()
    assert "Copperlight" in served.text("/L/041")
    assert served.client.get("/L/042").status_code == 200


def test_a_sheet_that_is_saved_while_it_is_read_is_read_again(
    served: Served, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The half that was read is never shown."""
    load, loads = served.live._load, []

    def loaded() -> Shown:
        loads.append(1)
        if len(loads) > 1:
            return load()
        shown = load()
        write_season(served.sheet.parent, row("041"), row("042", "Copperlight"))
        return shown

    monkeypatch.setattr(served.live, "_load", loaded)
    write_season(served.sheet.parent, row("041"))
    served.later()
    assert "Copperlight" in served.text("/L/042")


def test_a_file_that_never_rests_is_read_all_the_same(served: Served) -> None:
    """A log that grows every second does not keep the sheet from being shown."""
    log = served.sheet.with_name("readings.csv")
    heading = "cooler,moment,low,high\n"

    def grow() -> None:
        log.write_text(heading + "\n" * len(served.meanwhile), encoding="utf-8")

    served.meanwhile += [grow] * 50
    write_season(served.sheet.parent, row("041", "Copperlight"))
    served.later()
    assert "Copperlight" in served.text("/L/041")
    assert len(served.meanwhile) > 30


@pytest.mark.slow
def test_others_are_answered_while_one_reads(served: Served, monkeypatch: pytest.MonkeyPatch) -> None:
    """A long reading keeps nobody waiting but who began it: the others see the last good state at once."""
    load, go_on = served.live._load, threading.Event()

    def waits() -> Shown:
        assert go_on.wait(20)
        return load()

    monkeypatch.setattr(served.live, "_load", waits)
    write_season(served.sheet.parent, row("041", "Copperlight"))
    served.later()
    first: list[str] = []
    reader = threading.Thread(target=lambda: first.append(served.text("/L/041")))
    reader.start()
    while not served.live._reading.locked():
        time.sleep(0.01)
    began = time.monotonic()
    assert "Pale Harbour" in served.text("/L/041")
    assert time.monotonic() - began < PATIENCE_S / 2
    go_on.set()
    reader.join()
    assert "Copperlight" in first[0]


def test_after_a_sleep_nobody_is_shown_yesterday(served: Served, monkeypatch: pytest.MonkeyPatch) -> None:
    """The machine wakes up: whoever asks waits for the reading, whoever began it."""
    load, begun = served.live._load, threading.Event()

    def slow() -> Shown:
        begun.set()
        time.sleep(0.2)
        return load()

    monkeypatch.setattr(served.live, "_load", slow)
    write_season(served.sheet.parent, row("041", "Copperlight"))
    served.seconds += OLD_S
    served.live._begin()
    assert begun.wait(20)
    assert "Copperlight" in served.text("/L/041")


def test_files_are_watched_without_any_request(served: Served) -> None:
    """While the pages are served, a change is read before anybody asks, so that nobody waits for it."""
    write_season(served.sheet.parent, row("041", "Copperlight"))
    with served.live.watched():
        until = time.monotonic() + 20
        while "Copperlight" not in served.text("/L/041") and time.monotonic() < until:
            time.sleep(0.05)  # the clock of the test stands: no request looks by itself
    assert "Copperlight" in served.text("/L/041")
    write_season(served.sheet.parent, row("041", "Larkspan"))
    time.sleep(2 * WATCH_EVERY_S)
    assert "Copperlight" in served.text("/L/041")


def test_a_record_that_changed_is_read_without_dating_again(
    served: Served, monkeypatch: pytest.MonkeyPatch
) -> None:
    """After printing, what has its label is counted anew; the season is the same."""
    assert "no label yet" in served.text("/bench/041")
    monkeypatch.setattr(serving, "read_season", None)  # reading would fail
    printed(served.sheet, "041")
    served.later()
    assert "all labelled" in served.text("/bench/041")
    assert 'class="banner"' not in served.text("/bench/041")


def without_ids(page: str) -> str:
    """A page without the ids of its forms, which are new each time."""
    return re.sub(r'name="id" value="[^"]*"', "", page)


@pytest.mark.parametrize("content", ["", "lot;;\n\x00\x01", "not,a,sheet\n1,2,3\n"])
@pytest.mark.slow
def test_a_broken_sheet_keeps_the_last_good_state(served: Served, content: str) -> None:
    """The dates stay, under a banner that names the file; the next good state takes the banner away."""
    good = served.text("/L/041")
    served.sheet.write_text(content, encoding="utf-8")
    served.later()
    page = served.text("/L/041")
    assert 'class="banner"' in page
    assert "lots.csv" in page
    assert [line in page for line in good.splitlines() if "<time" in line].count(False) == 0
    write_season(served.sheet.parent, row("041"))
    served.later()
    assert without_ids(served.text("/L/041")) == without_ids(good)


def test_a_sheet_that_is_gone_keeps_the_last_good_state(served: Served) -> None:
    """Some programs take the old file away before they put the new one in place."""
    served.sheet.unlink()
    served.later()
    assert 'class="banner"' in served.text("/")
    assert "Pale Harbour" in served.text("/L/041")


def test_broken_settings_are_named(served: Served) -> None:
    """The banner says which key must be mended."""
    (served.sheet.parent / "tagmaker.toml").write_text("farmm = 1\n", encoding="utf-8")
    served.later()
    assert "farmm" in served.text("/L/041")


def test_a_row_that_became_faulty_keeps_its_dates(served: Served) -> None:
    """One cell is wrong: its lot is shown as it was, with the cell; the other lots go on."""
    write_season(served.sheet.parent, row("041", cut="12.o2."), row("042", "Copperlight"))
    served.later()
    page = served.text("/L/041")
    assert ('class="banner"' in page, "12.o2." in page, "Pale Harbour" in page) == (True, True, True)
    assert "Copperlight" in served.text("/L/042")
    assert 'class="banner"' not in served.text("/L/042")


def test_a_broken_sheet_prints_nothing(served: Served) -> None:
    """Old dates may be looked at; they are never printed."""
    served.sheet.write_text("", encoding="utf-8")
    served.later()
    answer = print_wraps(served.client)
    assert (answer.status_code, answer.mimetype) == (409, "text/html")


def test_a_lot_that_left_the_sheet_shows_what_was_printed(served: Served) -> None:
    """Its tags still hang somewhere."""
    printed(served.sheet, "041")
    write_season(served.sheet.parent, row("042"))
    served.later()
    answer = served.client.get("/L/041")
    assert (answer.status_code, "Last printed" in answer.get_data(as_text=True)) == (200, True)


def test_files_are_looked_at_once_a_second(served: Served, monkeypatch: pytest.MonkeyPatch) -> None:
    """Fifty requests within a second cost one look."""
    looks: list[object] = []
    stamp = served.live._stamp

    def looked() -> object:
        looks.append(stamp())
        return looks[-1]

    monkeypatch.setattr(served.live, "_stamp", looked)
    for _ in range(50):
        served.client.get("/L/041")
    served.later()
    for _ in range(50):
        served.client.get("/L/041")
    assert len(looks) == 1
