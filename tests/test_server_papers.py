"""What the bench prints now and then: cards of a kind, lists, buyer's labels, the report, the test page."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path

import pypdfium2 as pdfium  # type: ignore[import-untyped]
import pytest
from werkzeug.test import TestResponse

from tagmaker.farm import CARD_NAMES
from tagmaker.intake.settings.farm import read_settings
from tagmaker.paper.stock.label_stock import STOCKS
from tests.page_sources import main_text, parsed
from tests.served import CODE, SETTINGS, Served, form, row, settled, write_season

pytestmark = pytest.mark.slow

LINK = 'link = "https://example.org/{lot}"\n'
PRINTERS = f'{SETTINGS}{LINK}[printers.shed]\nscale_x = 1.01\n[printers."old one"]\noffset_y = 2\n'
PAGES = ("/bench/papers", "/bench/stocks", "/bench/test-page")


@pytest.fixture
def here(tmp_path: Path) -> Served:
    """A season of two lots, for this machine alone."""
    return Served(write_season(tmp_path, row("041"), row("042"), settings=PRINTERS))


def printed(served: Served, **fields: str) -> TestResponse:
    """Ask for a paper."""
    answer = served.client.post("/bench/print", data={**form(served.client), **fields})
    answer.get_data()
    return answer


def sheets(answer: TestResponse) -> list[tuple[float, float, str]]:
    """Size [mm] and text of each page of a PDF."""
    assert answer.mimetype == "application/pdf", answer.get_data(as_text=True)
    with pdfium.PdfDocument(answer.get_data()) as document:
        return [
            (
                round(page.get_width() / 72 * 25.4),
                round(page.get_height() / 72 * 25.4),
                page.get_textpage().get_text_bounded(),
            )
            for page in document
        ]


@pytest.mark.parametrize("card", CARD_NAMES)
def test_crate_cards_of_every_kind(here: Served, card: str) -> None:
    """Of one lot and of all lots; the roll's are as large as its label."""
    for lot, which in (("041", ""), ("", "all")):
        pages = sheets(printed(here, paper="crates", lot=lot, which=which, card=card))
        text = " ".join(text for *_, text in pages)
        assert ("041" in text, "042" in text) == (True, not lot)
        if card.startswith("roll"):
            assert {page[:2] for page in pages} == {(102, 152)}


def test_the_checklist_for_weeks_and_blank(here: Served) -> None:
    """Three weeks take more pages than one; the blank one names no lot."""
    one, three = (len(sheets(printed(here, paper="checklist", weeks=weeks))) for weeks in ("1", "3"))
    assert three > one
    blank = sheets(printed(here, paper="checklist", blank="1", weeks="3"))
    assert "041" not in " ".join(text for *_, text in blank)


def test_buyers_labels(here: Served) -> None:
    """One a bunch, of one lot or of all, from the free label on; the labels are taken from the sheet."""
    first = sheets(printed(here, paper="buyers", lot="041", stock="letter-2x5", first="3"))
    assert len(first) == 2
    settled(here.sheet)
    assert here.live.look().shown.ledger.free()["letter-2x5"] == 5
    both = sheets(printed(here, paper="buyers", which="all", stock="letter-2x5", another="1"))
    assert len(both) == 3
    assert here.client.get("/bench").status_code == 200


def test_the_cooler_report(here: Served) -> None:
    """The same that the command prints, and nothing is remembered of it."""
    (page, *_) = sheets(printed(here, paper="cooler-report"))
    assert "cooler" in page[2].lower()
    assert list(here.sheet.parent.glob("*printed*")) == []


@pytest.mark.parametrize(
    ("fed", "said"),
    [("", "scale_x 1, scale_y 1"), ("shed", "shed: printed with offset_x 0, offset_y 0, scale_x 1.01")],
)
def test_the_test_page_is_printed_with_what_is_chosen(here: Served, fed: str, said: str) -> None:
    """Without corrections, or with those of a printer of the settings."""
    pages = sheets(printed(here, paper="test-page", fed=fed, stock="a4-3x7"))
    assert said in " ".join(pages[1][2].split())
    assert pages[0][:2] == (210, 297)


@pytest.mark.parametrize(
    "fields",
    [
        {"paper": "crates", "lot": "041", "card": "../x"},
        {"paper": "crates"},
        {"paper": "buyers"},
        {"paper": "wraps", "which": "all"},
        {"paper": "checklist", "weeks": "9"},
        {"paper": "checklist", "weeks": "0"},
        {"paper": "test-page", "fed": "none"},
        {"paper": "cooler-report", "which": "new"},
        {"paper": "elsewhere"},
    ],
)
def test_what_no_form_of_ours_sends_is_refused(here: Served, fields: dict[str, str]) -> None:
    """A word on the bench, and nothing printed or recorded."""
    answer = printed(here, **fields)
    assert (answer.status_code, answer.mimetype) == (400, "text/html")
    assert list(here.sheet.parent.glob("*printed*")) == []


def measured(served: Served, **fields: str) -> TestResponse:
    """Type measures in."""
    found = re.search(r'name="token" value="(\w+)"', served.text("/bench/test-page"))
    assert found is not None
    usual = {"stock": "letter-3x10", "fed": "", "called": "bench"}
    values = {"across": "97", "down": "100", "left": "18", "top": "21,0 mm"}
    return served.client.post("/bench/test-page", data={"token": found[1], **usual, **values, **fields})


@pytest.mark.parametrize(
    ("fed", "called", "name"), [("", "bench 2", "bench 2"), ("shed", "", "shed"), ("old one", "", "old one")]
)
def test_the_measures_become_lines_for_the_settings(
    here: Served, tmp_path: Path, fed: str, called: str, name: str
) -> None:
    """Pasted into a settings file, they are the printer's corrections; the grower's file is left alone."""
    before = (here.sheet.parent / "tagmaker.toml").read_bytes()
    page = parsed(measured(here, fed=fed, called=called).get_data(as_text=True))
    lines, chosen = ("".join(block.itertext()) for block in page.iter("pre"))
    pasted = tmp_path / "pasted.toml"
    pasted.write_text(f"{chosen}\n{lines}\n", encoding="utf-8")
    printer = read_settings(pasted).chosen_printer
    assert (printer.name, printer.offset_y) == (name, 1.0 if fed == "old one" else -1.0)
    assert printer.scale_x == pytest.approx((1.01 if fed == "shed" else 1.0) / 0.97, abs=1e-4)
    assert tomllib.loads(lines)["printers"].keys() == {name}
    assert (here.sheet.parent / "tagmaker.toml").read_bytes() == before


@pytest.mark.parametrize(
    ("field", "text", "said"),
    [
        ("across", "", 'Line across (mm) must be a length like 98.5 (got "")'),
        ("left", "<b>", 'must be a length like 98.5 (got "&lt;b&gt;")'),
        ("down", "4", "must measure about 100 mm (got 4 mm)"),
        ("called", "a]b", "The name of a printer must be letters"),
        ("stock", "none", "The label sheet must be one of the list"),
    ],
)
def test_a_measure_that_cannot_be_is_said(here: Served, field: str, text: str, said: str) -> None:
    """On the same page, with what was typed still there."""
    answer = measured(here, **{field: text})
    page = answer.get_data(as_text=True)
    assert answer.status_code == 400
    assert said.lower() in page.replace("&#34;", '"').lower()
    assert "<pre" not in page


def test_a_label_sheet_is_chosen_by_its_drawing(here: Served) -> None:
    """Every stock is drawn with all its labels to one scale; the one that is tapped is used from then on."""
    tree = parsed(here.text("/bench/stocks"))
    drawn = {
        button.get("value"): button.find("{*}svg")
        for button in tree.iter("button")
        if button.get("name") == "stock"
    }
    assert drawn.keys() == STOCKS.keys()
    for name, picture in drawn.items():
        assert picture is not None
        stock = STOCKS[str(name)]
        assert len(picture.findall("{*}rect")) == 1 + stock.per_page
        width, height = (float(picture.get(side, "0")) for side in ("width", "height"))
        assert (width, height) == pytest.approx((stock.page_width * 0.4, stock.page_height * 0.4), abs=1)
    data = {**form(here.client), "stock": "a4-2x7", "lot": "041"}
    assert here.client.post("/bench/stock", data=data).headers["Location"] == "/bench/041"
    assert 'value="a4-2x7" data-first="1" data-columns="2" data-labels="14" selected' in here.text("/bench")
    assert "IN USE" in main_text(here.text("/bench/stocks"))


def test_every_page_is_valid_and_for_paired_phones_alone(
    here: Served, tmp_path_factory: pytest.TempPathFactory
) -> None:
    """Strict HTML, one heading, a label for each field; a stranger is led to the pairing and back."""
    lan = Served(write_season(tmp_path_factory.mktemp("lan"), row("041")), code=CODE)
    for address in PAGES:
        tree = parsed(here.text(address))
        assert len(list(tree.iter("h1"))) == 1
        fields = [
            field.get("id")
            for field in (*tree.iter("input"), *tree.iter("select"))
            if field.get("type") not in ("hidden", "checkbox", "radio")
        ]
        labels = [str(label.get("for")) for label in tree.iter("label") if label.get("for")]
        assert sorted(labels) == sorted(str(field) for field in fields)
        stranger = lan.text(address)
        assert "Pair this phone" in stranger
        assert f'value="{address}"' in stranger
    for address in ("/bench/stock", "/bench/test-page"):
        assert lan.client.post(address, data={"stock": "a4-2x7"}).status_code == 403
    links = [link.get("href") for link in parsed(here.text("/bench")).iter("a")]
    assert {"/bench/papers", "/bench/stocks"} <= set(links)
