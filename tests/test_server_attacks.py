"""What nobody may do with the pages: leave them, change them, or become part of them."""

from __future__ import annotations

import csv
import hashlib
import sys
from collections.abc import Iterator
from pathlib import Path
from urllib.parse import quote

import pypdfium2 as pdfium  # type: ignore[import-untyped]
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tagmaker.intake.columns import NAMES
from tagmaker.scan.guards import SECURITY
from tests.served import Served, form, print_wraps, row, write_season

pytestmark = pytest.mark.slow

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


def kept(folder: Path) -> dict[str, str]:
    """The grower's files and their content; the record of what was printed is ours."""
    return {
        path.name: hashlib.sha256(path.read_bytes()).hexdigest()
        for path in folder.iterdir()
        if path.suffix != ".sqlite"
    }


@pytest.mark.parametrize("route", ROUTES)
@pytest.mark.parametrize("way", UPWARDS)
def test_no_address_leads_out_of_the_pages(served: Served, route: str, way: str) -> None:
    """Traversal in every route finds nothing, whatever it is written like."""
    answer = served.client.get(route + way)
    assert answer.status_code in (404, 405)
    assert "root:" not in answer.get_data(as_text=True)
    assert "Larkspan" not in answer.get_data(as_text=True)


@pytest.fixture(scope="module")
def opened_files() -> Iterator[list[str]]:
    """Names of files and folders that are opened, as Python itself tells."""
    names: list[str] = []
    listening = [True]

    def heard(event: str, values: tuple[object, ...]) -> None:
        if listening and event in ("open", "os.listdir", "os.scandir", "os.chdir", "sqlite3.connect"):
            names.append(str(values[0]))

    sys.addaudithook(heard)
    yield names
    listening.clear()


@pytest.mark.parametrize("route", ROUTES)
@pytest.mark.parametrize(
    "name", ["canary", "../canary", "..%2fcanary", "canary.html.j2", "%00canary", "canary/"]
)
def test_no_address_is_looked_for_on_the_disk(
    served: Served, opened_files: list[str], route: str, name: str
) -> None:
    """Whatever is asked for, nothing by that name is opened."""
    opened_files.clear()
    (served.sheet.parent / "heard").write_text("", encoding="utf-8")
    for address in (route + name, f"{route}x?canary={name}"):
        served.client.get(address)
        served.client.post(address, data={"lot": name, "stock": name, "paper": name})
    assert [opened for opened in opened_files if opened.endswith("heard")] != []
    assert [opened for opened in opened_files if "canary" in opened] == []


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


EVIL = "<script>alert(1)</script>\"' onload='x"
CELLS = {"lot": "041", "crop": "tulip", "cut": "2027-03-22", "stage": "tight", "stems": "120"}


def sheet_with(folder: Path, cells: dict[str, str]) -> Path:
    """A sheet of one row, and settings."""
    (folder / "tagmaker.toml").write_text('units = "F"\n', encoding="utf-8")
    sheet = folder / "lots.csv"
    with sheet.open("w", encoding="utf-8", newline="") as file:
        csv.writer(file).writerows([list(cells), list(cells.values())])
    return sheet


@pytest.mark.parametrize("column", NAMES)
def test_no_cell_becomes_part_of_a_page(tmp_path: Path, column: str) -> None:
    """Text of any cell stays text, on every page that shows it: as itself, or as what is wrong."""
    served = Served(sheet_with(tmp_path, {**CELLS, column: EVIL}))
    row = "row%202" if column == "lot" else "041"
    pages = [served.text(address) for address in ("/", f"/L/{row}", "/bench", f"/bench/{row}")]
    assert [page for page in pages if "<script>alert" in page or "' onload='" in page] == []
    assert any("&lt;script&gt;" in page for page in pages)
    asked = served.text("/L/" + quote(EVIL.replace("/", ""), safe=""))
    assert ("&lt;script&gt;" in asked, "<script>alert" in asked) == (True, False)


@pytest.mark.parametrize("column", NAMES)
def test_no_cell_that_becomes_faulty_is_part_of_the_banner(tmp_path: Path, column: str) -> None:
    """A page that keeps the dates from before says what is wrong, as text."""
    served = Served(sheet_with(tmp_path, CELLS))
    sheet_with(tmp_path, {**CELLS, column: EVIL})
    served.later()
    pages = [served.text(address) for address in ("/", "/L/041", "/bench", "/bench/041")]
    assert [page for page in pages if "<script>alert" in page or "' onload='" in page] == []


@pytest.mark.parametrize("paper", ["wraps", "crates", "checklist"])
def test_no_cell_becomes_part_of_a_pdf(tmp_path: Path, paper: str) -> None:
    """Brackets, backslashes and operators in a row's texts are text: the paper is whole and says them."""
    evil = r"\) Tj ET /X Do ((\\"
    texts = {"variety": evil, "colour": evil, "place": evil, "note": evil}
    served = Served(sheet_with(tmp_path, {**CELLS, **texts}))
    fields = {**form(served.client), "paper": paper, "lot": "" if paper == "checklist" else "041"}
    answer = served.client.post("/bench/print", data=fields)
    assert answer.mimetype == "application/pdf", answer.get_data(as_text=True)
    with pdfium.PdfDocument(answer.get_data()) as document:
        text = "".join(page.get_textpage().get_text_bounded() for page in document)
    assert "041" in text
    assert "Tj ET" in text


def test_no_variety_becomes_a_header(tmp_path: Path) -> None:
    """A name with line ends prints or is refused, and adds no header."""
    (tmp_path / "tagmaker.toml").write_text('units = "F"\n', encoding="utf-8")
    sheet = tmp_path / "lots.csv"
    sheet.write_text(
        'lot,crop,cut,stage,stems,variety\n041,tulip,2027-03-22,tight,120,"x\r\nSet-Cookie: a=b"\n',
        encoding="utf-8",
    )
    answer = print_wraps(Served(sheet).client)
    assert answer.status_code == 200
    assert [value for name, value in answer.headers if "a=b" in value] == []
    assert answer.headers["Content-Disposition"] == 'inline; filename="wraps-041.pdf"'


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
