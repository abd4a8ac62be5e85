"""The pages, live: what is asked for, what changes, what breaks, and what nobody may do."""

from __future__ import annotations

import hashlib
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tagmaker.jobs import Wanted
from tagmaker.printing import print_papers
from tagmaker.scan.server import SECURITY
from tagmaker.season import Day, read_season
from tests.served import NOW, Served, print_wraps, row, write_season

ROUTES = ("/", "/L/", "/l/", "/bench/", "/bench/print/", "/pages.css/", "/bench.js/")
UPWARDS = (
    "../lots.csv",
    "..%2flots.csv",
    "%2e%2e/%2e%2e/etc/passwd",
    "..\\lots.csv",
    "%2fetc%2fpasswd",
    "%00",
)
FIELDS = ("variety", "colour", "place", "note", "cooler", "why dumped", "vase days seen", "use")


@pytest.fixture
def served(tmp_path: Path) -> Served:
    """A folder of two lots, for this machine alone."""
    return Served(write_season(tmp_path, row("041"), row("042", "Larkspan")))


def printed(sheet: Path, *lots: str) -> None:
    """Print the wrap labels of some lots."""
    season = read_season(sheet, Day(NOW.date(), NOW))
    print_papers(season, Wanted(kinds=("wraps",), only=lots, out=sheet.parent / "out"), lambda _: None)


def kept(folder: Path) -> dict[str, str]:
    """The grower's files and their content; the record of what was printed is ours."""
    return {
        path.name: hashlib.sha256(path.read_bytes()).hexdigest()
        for path in folder.iterdir()
        if path.suffix != ".sqlite"
    }


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
        'units = "F"\nfarm = "Shortmeadow"\n', encoding="utf-8"
    )
    served.later()
    assert "Shortmeadow" in served.text("/")


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


@pytest.mark.parametrize("content", ["", "lot;;\n\x00\x01", "not,a,sheet\n1,2,3\n"])
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
    assert served.text("/L/041") == good


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
    looks: list[int] = []
    monkeypatch.setattr(served.live, "_stamp", lambda: looks.append(1))
    for _ in range(50):
        served.client.get("/L/041")
    served.later()
    for _ in range(50):
        served.client.get("/L/041")
    assert len(looks) == 1


# --- nobody may --------------------------------------------------------------------------------------------


@pytest.mark.parametrize("route", ROUTES)
@pytest.mark.parametrize("way", UPWARDS)
def test_no_address_leads_out_of_the_pages(served: Served, route: str, way: str) -> None:
    """Traversal in every route finds nothing, whatever it is written like."""
    answer = served.client.get(route + way)
    assert answer.status_code in (404, 405)
    assert "root:" not in answer.get_data(as_text=True)
    assert "Larkspan" not in answer.get_data(as_text=True)


@pytest.fixture(scope="module")
def one_lot(tmp_path_factory: pytest.TempPathFactory) -> Served:
    """A folder of one lot that many addresses are tried on."""
    return Served(write_season(tmp_path_factory.mktemp("one"), row("041")))


@given(asked=st.text(max_size=200))
def test_any_address_is_answered(asked: str, one_lot: Served) -> None:
    """Whatever is asked for, the answer is a page or a refusal, never a fault."""
    for route in ("/L/", "/bench/", "/"):
        answer = one_lot.client.get(route + asked.replace("?", "").replace("#", ""))
        assert answer.status_code in (200, 404, 405)


@pytest.mark.parametrize("method", ["POST", "PUT", "DELETE", "PATCH", "OPTIONS", "TRACE"])
@pytest.mark.parametrize("address", ["/", "/L/041", "/bench", "/bench/041", "/pages.css"])
def test_pages_are_only_read(served: Served, method: str, address: str) -> None:
    """Nothing but GET and HEAD."""
    answer = served.client.open(address, method=method)
    assert (answer.status_code, answer.headers["Allow"]) == (405, "GET, HEAD")


@pytest.mark.parametrize(
    "address", ["/", "/L/041", "/L/nope", "/bench", "/bench/041", "/pages.css", "/bench.js"]
)
def test_every_answer_carries_the_guards(served: Served, address: str) -> None:
    """Policy, no sniffing, no referrer, no frames; and nothing inline that the policy would forbid."""
    answer = served.client.get(address)
    assert {name: answer.headers.get(name) for name in SECURITY} == SECURITY
    text = answer.get_data(as_text=True)
    if answer.mimetype == "text/html":
        assert [
            mark for mark in ("<style", " style=", "<script>", " onclick=", "javascript:") if mark in text
        ] == []


@pytest.mark.parametrize("field", FIELDS)
def test_no_cell_becomes_part_of_a_page(tmp_path: Path, field: str) -> None:
    """Text of any cell stays text, on every page that shows it."""
    evil = "<script>alert(1)</script>\"' onload='x"
    quoted = '"' + evil.replace('"', '""') + '"'
    (tmp_path / "tagmaker.toml").write_text('units = "F"\n', encoding="utf-8")
    sheet = tmp_path / "lots.csv"
    sheet.write_text(
        f"lot,crop,cut,stage,stems,{field}\n041,tulip,2027-03-22,tight,120,{quoted}\n", encoding="utf-8"
    )
    served = Served(sheet)
    pages = [served.text(address) for address in ("/", "/L/041", "/bench", "/bench/041")]
    assert [page for page in pages if "<script>alert" in page or "' onload='" in page] == []
    assert any("&lt;script&gt;" in page for page in pages)


def test_no_variety_becomes_a_header(tmp_path: Path) -> None:
    """A name with line ends prints or is refused, and adds no header."""
    (tmp_path / "tagmaker.toml").write_text('units = "F"\n', encoding="utf-8")
    sheet = tmp_path / "lots.csv"
    sheet.write_text(
        'lot,crop,cut,stage,stems,variety\n041,tulip,2027-03-22,tight,120,"x\r\nSet-Cookie: a=b"\n',
        encoding="utf-8",
    )
    answer = print_wraps(Served(sheet).client)
    assert [value for name, value in answer.headers if "a=b" in value] == []
    assert answer.headers.get("Content-Disposition", "inline").startswith("inline")


def test_nothing_changes_the_grower_s_files(served: Served) -> None:
    """Reading and printing leave every file as it was; only the record is added to."""
    before = kept(served.sheet.parent)
    for address in ("/", "/L/041", "/L/nope", "/bench", "/bench/041"):
        served.client.get(address)
    assert print_wraps(served.client).mimetype == "application/pdf"
    assert kept(served.sheet.parent) == before


def test_a_fault_of_our_own_stays_in_the_terminal(served: Served, monkeypatch: pytest.MonkeyPatch) -> None:
    """A page never shows a traceback or a path."""

    def fails() -> None:
        raise RuntimeError("/secret/place")

    monkeypatch.setattr(served.live, "look", fails)
    answer = served.client.get("/L/041")
    assert (answer.status_code, "secret" in answer.get_data(as_text=True)) == (500, False)
    assert "/secret/place" in served.told[0]
