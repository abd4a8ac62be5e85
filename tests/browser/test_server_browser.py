"""The live pages and the bench in Chromium, as on a phone."""

from __future__ import annotations

import io
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Literal

import pypdfium2 as pdfium  # type: ignore[import-untyped]
import pytest
import zxingcpp
from PIL import Image
from playwright.sync_api import Browser, Page, ViewportSize

from tagmaker.desk.season import Day, read_season
from tagmaker.desk.starting import begin
from tagmaker.intake.starter.beginning import Beginning
from tagmaker.storage.readings import EXPORT_BYTES
from tests.browser.checks import axe_faults, least_contrast, sideways, small_targets
from tests.served import CODE, NOW, SETTINGS, opened, row, settled, write_season

pytestmark = pytest.mark.slow

PHONE = ViewportSize(width=360, height=640)
LOOK_MS = 2500  # after which a change of the files has been read


@pytest.fixture
def phone(chromium: Browser) -> Iterator[Page]:
    """A small phone."""
    context = chromium.new_context(viewport=PHONE)
    yield context.new_page()
    context.close()


@pytest.fixture
def sheet(tmp_path: Path) -> Path:
    """A season of two lots."""
    return write_season(tmp_path, row("041"), row("042", "Larkspan"))


def codes(pdf: bytes) -> list[str]:
    """What the codes of a PDF say."""
    with pdfium.PdfDocument(pdf) as document:
        return [
            code.text
            for page in document
            for code in zxingcpp.read_barcodes(page.render(scale=3, grayscale=True).to_numpy())
        ]


def printed(page: Page, button: str) -> bytes:
    """The PDF that a button of the bench gives; its form is sent as the browser would."""
    form = page.get_by_role("button", name=button)
    fields: dict[str, str | float | bool] = form.evaluate(
        "button => Object.fromEntries(new FormData(button.form, button).entries())"
    )
    answer = page.request.post(page.url.partition("/bench")[0] + "/bench/print", form=fields)
    assert answer.headers["content-type"] == "application/pdf"
    return answer.body()


def test_a_lot_page_on_a_small_phone(phone: Page, sheet: Path) -> None:
    """Its code and the very dates that are computed for it are there on the first screen."""
    season = read_season(sheet, Day(NOW.date(), NOW))
    expected = {dates.lot.lot_code: dates for dates in season.dated}["041"]
    assert expected.sell_by is not None
    assert expected.into_water_by is not None
    say = season.wording
    with opened(sheet) as (listener, _):
        phone.goto(f"http://127.0.0.1:{listener.effective_port}/L/041")
        assert phone.locator("h1").inner_text().split() == ["041", "DRY"]
        assert phone.locator(".dates dt").all_inner_texts() == ["INTO WATER BY", "SELL BY"]
        dates = phone.locator(".dates .date")
        told = [" ".join(text.split()) for text in dates.all_inner_texts()]
        assert told == [say.moment(expected.into_water_by), say.day(expected.sell_by)]
        for place in (dates.nth(0), dates.nth(1)):
            box = place.bounding_box()
            assert box is not None
            assert box["y"] + box["height"] <= PHONE["height"]
        assert sideways(phone) == 0


def test_a_scan_of_a_crate_opens_its_lot(phone: Page, sheet: Path) -> None:
    """The address in the crate card's code is opened exactly as it is read, and says what the card says."""
    with opened(sheet) as (listener, _):
        address = f"http://127.0.0.1:{listener.effective_port}"
        write_season(
            sheet.parent, row("041"), row("042"), settings=f'{SETTINGS}link = "{address.upper()}/L/{{lot}}"\n'
        )
        phone.wait_for_timeout(LOOK_MS)
        phone.goto(f"{address}/bench/041")
        cards = printed(phone, "Print crate cards")
        (scanned,) = set(codes(cards))
        assert scanned == f"{address.upper()}/L/041"
        with pdfium.PdfDocument(cards) as document:
            card = " ".join(document[0].get_textpage().get_text_bounded().split())
        phone.goto(scanned)
        assert phone.locator("h1 .lot").inner_text() == "041"
        dates = [" ".join(text.split()) for text in phone.locator(".dates .date").all_inner_texts()]
        assert len(dates) == 2
        assert [text for text in ("041", *dates) if text not in card] == []


def test_twelve_tags_from_the_seventh_label_on(phone: Page, sheet: Path) -> None:
    """Numbers are typed, the button is pressed, and the PDF holds twelve codes."""
    with opened(sheet) as (listener, _):
        phone.goto(f"http://127.0.0.1:{listener.effective_port}/bench")
        phone.get_by_label("Show only").fill("lark")
        assert phone.locator("#rows > li:visible").count() == 1
        phone.get_by_role("link", name="042").click()
        phone.get_by_label("How many labels").fill("12")
        phone.get_by_label("First free label").fill("7")
        assert [text.split()[0] for text in codes(printed(phone, "Print wrap labels"))] == ["042"] * 12


def test_the_bench_by_keyboard_alone(phone: Page, sheet: Path) -> None:
    """Filter, row, number, button: the tab key finds each, and the focus is seen."""
    with opened(sheet) as (listener, told):
        phone.goto(f"http://127.0.0.1:{listener.effective_port}/bench")

        def tab_to(name: str) -> None:
            for _ in range(15):
                phone.keyboard.press("Tab")
                if name in phone.evaluate(FOCUSED):
                    break
            assert name in phone.evaluate(FOCUSED)
            assert phone.evaluate("getComputedStyle(document.activeElement).outlineStyle") == "solid"

        tab_to("filter")
        phone.keyboard.type("lark")
        assert phone.get_by_role("status").filter(has_text="1 of 2 lots").is_visible()
        tab_to("042")
        phone.keyboard.press("Enter")
        phone.get_by_role("heading", name="042").wait_for()
        tab_to("tags")
        phone.keyboard.type("3")
        tab_to("Print wrap labels")
        phone.keyboard.press("Enter")
        phone.wait_for_url("**/bench/print")
        assert [line.split()[3:6] for line in told if "POST" in line] == [["POST", "/bench/print", "200"]]
    (line,) = settled(sheet).lines("wraps")
    assert (line.lot_code, line.count) == ("042", 3)


def test_each_label_sheet_has_its_first_free_label(phone: Page, sheet: Path) -> None:
    """Another sheet is chosen: its own next label stands in the field and in the line above the buttons."""
    with opened(sheet) as (listener, _):
        phone.goto(f"http://127.0.0.1:{listener.effective_port}/bench/042")
        phone.get_by_label("How many labels").fill("5")
        printed(phone, "Print wrap labels")
        phone.goto(f"http://127.0.0.1:{listener.effective_port}/bench")
        line, first = phone.locator("summary"), phone.get_by_label("First free label")
        assert line.inner_text() == "Onto letter-3x10 from label 6"
        line.click()
        phone.get_by_label("Label sheet").select_option("a4-3x7")
        assert (line.inner_text(), first.input_value()) == ("Onto a4-3x7 from label 1", "1")
        first.fill("4")
        assert line.inner_text() == "Onto a4-3x7 from label 4"
        phone.get_by_label("Label sheet").select_option("letter-3x10")
        assert first.input_value() == "6"


def test_the_sheet_is_drawn_with_the_label_to_begin_at(phone: Page, sheet: Path) -> None:
    """As many rows and columns as it has labels; used ones crossed out; nothing for a roll."""
    with opened(sheet) as (listener, _):
        phone.goto(f"http://127.0.0.1:{listener.effective_port}/bench/042")
        drawn = phone.get_by_role("img", name="The sheet: printing begins at label 1")
        assert (drawn.locator("tr").count(), drawn.locator("td").count()) == (10, 30)
        phone.get_by_label("First free label").fill("8")
        assert phone.locator("#drawn .first").inner_text() == "8"
        assert phone.locator("#drawn .used").all_inner_texts() == [str(number) for number in range(1, 8)]
        phone.get_by_label("Label sheet").select_option("a4-2x7")
        assert phone.locator("#drawn tr").count() == 7
        phone.get_by_label("Label sheet").select_option("roll-57x32mm")
        assert not phone.locator("#drawn").is_visible()


def test_the_list_prints_without_its_forms(chromium: Browser, tmp_path: Path) -> None:
    """On paper stand the lots alone, all of them, one a line: forty on two pages at most."""
    sheet = write_season(tmp_path, *(row(f"{lot:03}") for lot in range(1, 41)))
    page = chromium.new_context(viewport=PHONE).new_page()
    with opened(sheet) as (listener, _):
        page.goto(f"http://127.0.0.1:{listener.effective_port}/bench")
        page.get_by_label("Show only").fill("no such lot")
        page.get_by_label("Show only").fill("")
        pdf = page.pdf(format="Letter")
    with pdfium.PdfDocument(pdf) as document:
        pages = [part.get_textpage().get_text_bounded() for part in document]
    text = "\n".join(pages)
    assert len(pages) <= 2
    assert [f"{lot:03}" for lot in range(1, 41) if f"{lot:03}" not in text] == []
    assert [
        words for words in ("Print new", "Cooler checklist", "Show only", "All lots") if words in text
    ] == []
    page.context.close()


# What has the focus: its words, its value and its name.
FOCUSED = "(e => [e.textContent, e.id, e.name].join(' '))(document.activeElement)"


def test_the_browser_shows_the_labels(chromium: Browser, sheet: Path) -> None:
    """The button is pressed and the PDF is there to be read, under our policy; it is asked for once."""
    page = chromium.new_context(viewport=ViewportSize(width=900, height=1000)).new_page()
    with opened(sheet) as (listener, told):
        page.goto(f"http://127.0.0.1:{listener.effective_port}/bench/042")
        page.get_by_role("button", name="Print wrap labels").click()
        seen: list[str] = []
        for _ in range(40):
            page.wait_for_timeout(500)
            image = Image.open(io.BytesIO(page.screenshot())).convert("L")
            seen = [code.text.split()[0] for code in zxingcpp.read_barcodes(image)]
            if len(seen) >= 12:
                break
        assert seen == ["042"] * 12
        assert [line.split()[3] for line in told if " /bench/print " in line] == ["POST"]
        page.goto(page.url)
        assert page.get_by_role("heading", name="Lots, newest first").is_visible()
    page.context.close()


def test_what_came_out_is_asked_and_undone(phone: Page, sheet: Path) -> None:
    """Three labels, printed on the phone: YES, then UNDO, by tapping; the record follows."""
    with opened(sheet) as (listener, _):
        bench = f"http://127.0.0.1:{listener.effective_port}/bench/041"
        phone.goto(bench)
        phone.get_by_label("How many labels").fill("3")
        printed(phone, "Print wrap labels")
        phone.goto(bench)
        phone.get_by_role("heading", name="Did all 3 labels of 041 come out?").wait_for()
        phone.get_by_role("button", name="YES").click()
        phone.get_by_role("status").filter(has_text="All 3 came out.").wait_for()
        assert [line.count for line in settled(sheet).lines("wraps")] == [3]
        phone.get_by_role("button", name="UNDO").click()
        phone.get_by_role("status").filter(has_text="None counts as printed.").wait_for()
        assert phone.get_by_role("button", name="UNDO").count() == 0
    assert settled(sheet).lines("wraps") == ()


def test_the_code_wrong_then_right(phone: Page, sheet: Path) -> None:
    """With the keyboard alone; one lands where one wanted to go."""
    with opened(sheet, code=CODE) as (listener, _):
        phone.goto(f"http://127.0.0.1:{listener.effective_port}/L/042")
        phone.get_by_role("link", name="Print its labels and cards").click()
        phone.get_by_label("Type the code").fill("00000000")
        phone.keyboard.press("Enter")
        phone.get_by_role("alert").filter(has_text="not the code").wait_for()
        phone.get_by_label("Type the code").fill(CODE)
        phone.keyboard.press("Enter")
        phone.get_by_role("heading", name="042").wait_for()
        assert phone.url.endswith("/bench/042")
        assert sideways(phone) == 0


def test_an_edited_and_a_broken_sheet(phone: Page, sheet: Path) -> None:
    """A change is there on reload; a broken sheet leaves the last good dates under a banner."""
    with opened(sheet) as (listener, _):
        phone.goto(f"http://127.0.0.1:{listener.effective_port}/L/041")
        write_season(sheet.parent, row("041", "Copperlight"))
        phone.wait_for_timeout(LOOK_MS)
        phone.reload()
        assert "Copperlight" in phone.locator(".top").inner_text()
        sheet.write_text("", encoding="utf-8")
        phone.wait_for_timeout(LOOK_MS)
        phone.reload()
        assert "lots.csv" in phone.locator(".banner").inner_text()
        assert "Copperlight" in phone.locator(".top").inner_text()


MEASURES = {
    "Line across": "97",
    "Line down": "100",
    "Corner from the left": "18",
    "Corner from the top": "21",
}


@pytest.mark.parametrize("scripts", [True, False])
def test_readings_are_added_by_tapping(chromium: Browser, sheet: Path, scripts: bool) -> None:
    """From the cooler to SAVED, with scripts and without; a file that is too large is not sent."""
    context = chromium.new_context(viewport=PHONE, java_script_enabled=scripts)
    page = context.new_page()
    log = sheet.with_name("from the phone.csv")
    log.write_text("Time,Temp F\n2027-03-22 08:00,38\n2027-03-22 09:00,39\n", encoding="utf-8")
    with opened(sheet) as (listener, told):
        page.goto(f"http://127.0.0.1:{listener.effective_port}/L/COOLER.COOLER")
        page.get_by_role("link", name="Add readings").click()
        if scripts:
            large = sheet.with_name("large.csv")
            large.write_bytes(b" " * (EXPORT_BYTES + 1))
            page.get_by_label("File").set_input_files(large)
            page.get_by_role("button", name="LOOK AT IT").click()
            assert [line for line in told if "POST" in line] == []
        page.get_by_label("File").set_input_files(log)
        page.get_by_role("button", name="LOOK AT IT").click()
        page.get_by_role("heading", name="Keep this for cooler?").wait_for()
        assert "from the phone.csv" in page.locator("main").inner_text()
        page.get_by_role("button", name="KEEP FOR COOLER").click()
        page.get_by_role("status").filter(
            has_text="SAVED as logs/cooler-2027-03-22-2027-03-22.csv."
        ).wait_for()
    assert [path.name for path in (sheet.parent / "logs").iterdir()] == ["cooler-2027-03-22-2027-03-22.csv"]
    context.close()


@contextmanager
def every_screen(sheet: Path, page: Page) -> Iterator[Callable[[], Iterator[str]]]:
    """A way to walk through all live pages: each is opened in turn, and its name given."""
    with opened(sheet) as (open_, _), opened(sheet, code=CODE) as (locked, _):
        here = f"http://127.0.0.1:{open_.effective_port}"

        def walk() -> Iterator[str]:
            addresses = (
                *(
                    "/",
                    "/check",
                    "/L/041",
                    "/L/COOLER.COOLER",
                    "/bench",
                    "/bench/041",
                    "/bench/043",
                    "/L/0411",
                ),
                *("/bench/papers", "/bench/stocks", "/bench/test-page", "/readings/COOLER.COOLER"),
            )
            for address in addresses:
                page.goto(here + address)
                yield address
            log = sheet.with_name("export.csv")
            log.write_text("Time,Temp F\n2027-03-22 08:00,38\n2027-03-22 09:00,39\n", encoding="utf-8")
            for button, screen in (
                ("LOOK AT IT", "looked at"),
                ("KEEP FOR COOLER", "kept"),
                ("LOOK AT IT", "not kept"),
            ):
                if button == "LOOK AT IT":
                    page.goto(here + "/readings/COOLER.COOLER")
                    page.get_by_label("File").set_input_files(log)
                page.get_by_role("button", name=button).click()
                page.wait_for_load_state()
                yield screen
            page.goto(here + "/bench/test-page")
            for label, length in MEASURES.items():
                page.get_by_label(label).fill(length)
            page.get_by_role("button", name="Work out the corrections").click()
            page.get_by_role("status").wait_for()
            yield "corrections"
            page.goto(here + "/bench/042")
            page.get_by_label("PDF on this phone").check()
            printed(page, "Print wrap labels")
            page.goto(here + "/bench")
            page.get_by_role("heading", name="Did all 12 labels of 042 come out?").wait_for()
            yield "asked"
            page.get_by_label("Only the first").fill("5")
            page.get_by_role("button", name="ONLY THESE").click()
            page.get_by_role("status").filter(has_text="5 of 12 count as printed.").wait_for()
            yield "answered"
            page.goto(here + "/bench")
            page.locator("summary").click()
            yield "fields of the list"
            page.get_by_label("First free label").fill("99")
            page.get_by_role("button", name="Print new labels").click()
            page.get_by_role("alert").wait_for()
            yield "refused"
            page.goto(f"http://127.0.0.1:{locked.effective_port}/bench")
            yield "pairing"
            page.get_by_label("Type the code").fill("1")
            page.keyboard.press("Enter")
            page.get_by_role("alert").wait_for()
            yield "wrong code"
            whole = sheet.read_text(encoding="utf-8")
            for what, text in (("faulty row", whole.replace("041,,tulip", "041,,tulpi")), ("unread", "")):
                sheet.write_text(text, encoding="utf-8")
                for address in ("/L/041", "/bench"):
                    page.wait_for_timeout(LOOK_MS)
                    page.goto(here + address)
                    yield f"{address}, {what}"
            assert page.locator(".banner").count() == 1

        yield walk


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_every_live_screen_is_sound(
    chromium: Browser, axe: str, tmp_path: Path, scheme: Literal["light", "dark"]
) -> None:
    """axe-core finds nothing, all text has 7 to 1, nothing is too wide, and a thumb finds its target."""
    sheet = write_season(
        tmp_path,
        row("041"),
        row("042", "Larkspan"),
        row("043"),
        settings=f'{SETTINGS}[printers.bench]\nqueue = "TAGS"\n',
    )
    wet = {"lot": "lot,surface", "041": "041,", "042": "042,", "043": "043,wet"}
    lines = [line.split(",", 1) for line in sheet.read_text(encoding="utf-8").splitlines()]
    sheet.write_text("".join(f"{wet[lot]},{rest}\n" for lot, rest in lines), encoding="utf-8")
    context = chromium.new_context(viewport=PHONE, color_scheme=scheme, bypass_csp=True)
    page = context.new_page()
    found = {}
    with every_screen(sheet, page) as walk:
        for name in walk():
            faults = [*axe_faults(page, axe), *small_targets(page)]
            faults += [f"contrast {ratio:.1f}"] if (ratio := least_contrast(page)) < 7 else []
            found[name] = [*faults, *([f"{over} px too wide"] if (over := sideways(page)) else [])]
    assert {name: faults for name, faults in found.items() if faults} == {}
    assert len(found) == 26
    context.close()


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_the_first_page_of_an_empty_season_is_sound(
    chromium: Browser, axe: str, tmp_path: Path, scheme: Literal["light", "dark"]
) -> None:
    """axe-core finds nothing, all text has 7 to 1, nothing is too wide; the path is copied by a script."""
    sheet, *_ = begin(tmp_path / "Blüten & Co 100% 'é'", Beginning())
    with opened(sheet) as (listener, _):
        context = chromium.new_context(viewport=PHONE, color_scheme=scheme, bypass_csp=True)
        page = context.new_page()
        page.goto(f"http://127.0.0.1:{listener.effective_port}/")
        assert page.input_value("#path") == str(sheet)
        assert (axe_faults(page, axe), small_targets(page), sideways(page)) == ([], [], 0)
        assert least_contrast(page) >= 7
        page.get_by_role("button", name="COPY").click()
        page.get_by_role("button", name="COPIED").wait_for()
        context.close()
        plain = chromium.new_context(viewport=PHONE, java_script_enabled=False).new_page()
        plain.goto(f"http://127.0.0.1:{listener.effective_port}/")
        assert not plain.get_by_role("button", name="COPY").is_visible()
        plain.context.close()
