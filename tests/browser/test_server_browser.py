"""The live pages and the bench in Chromium, as on a phone."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pypdfium2 as pdfium  # type: ignore[import-untyped]
import pytest
import zxingcpp
from playwright.sync_api import Browser, Page, ViewportSize

from tests.browser.checks import axe_faults, sideways
from tests.served import PASSCODE, SETTINGS, opened, row, write_season

PHONE = ViewportSize(width=360, height=640)
LOOK_MS = 1200  # after which the files have been looked at again


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
    """Its code and dates are there, and nothing is wider than the screen."""
    with opened(sheet) as (listener, _):
        phone.goto(f"http://127.0.0.1:{listener.effective_port}/L/041")
        assert "SELL BY" in phone.locator(".dates").inner_text().upper()
        assert sideways(phone) == 0


def test_a_scan_of_a_crate_opens_its_lot(phone: Page, sheet: Path) -> None:
    """The address in the crate card's code is opened exactly as it is read."""
    with opened(sheet) as (listener, _):
        address = f"http://127.0.0.1:{listener.effective_port}"
        write_season(
            sheet.parent, row("041"), row("042"), settings=f'{SETTINGS}link = "{address.upper()}/L/{{lot}}"\n'
        )
        phone.wait_for_timeout(LOOK_MS)
        phone.goto(f"{address}/bench/041")
        (scanned,) = set(codes(printed(phone, "Print crate cards")))
        assert scanned == f"{address.upper()}/L/041"
        phone.goto(scanned)
        assert phone.locator("h1 .lot").inner_text() == "041"


def test_twelve_tags_from_the_seventh_label_on(phone: Page, sheet: Path) -> None:
    """Numbers are typed, the button is pressed, and the PDF holds twelve codes."""
    with opened(sheet) as (listener, _):
        phone.goto(f"http://127.0.0.1:{listener.effective_port}/bench")
        phone.get_by_label("Show only").fill("lark")
        assert phone.locator("#rows > li:visible").count() == 1
        phone.get_by_role("link", name="042").click()
        phone.get_by_label("How many tags").fill("12")
        phone.get_by_label("First free label").fill("7")
        assert [text.split()[0] for text in codes(printed(phone, "Print wrap labels"))] == ["042"] * 12


def test_the_passcode_wrong_then_right(phone: Page, sheet: Path) -> None:
    """With the keyboard alone."""
    with opened(sheet, passcode=PASSCODE) as (listener, _):
        phone.goto(f"http://127.0.0.1:{listener.effective_port}/bench")
        phone.get_by_label("Passcode").fill("00000000")
        phone.keyboard.press("Enter")
        phone.get_by_role("alert").filter(has_text="not the passcode").wait_for()
        phone.get_by_label("Passcode").fill(PASSCODE)
        phone.keyboard.press("Enter")
        phone.get_by_role("heading", name="Lots, newest first").wait_for()
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


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_axe_finds_nothing_on_the_bench(chromium: Browser, axe: str, sheet: Path, scheme: str) -> None:
    """List, form and passcode, in light and dark."""
    context = chromium.new_context(
        viewport=PHONE, color_scheme="dark" if scheme == "dark" else "light", bypass_csp=True
    )
    page = context.new_page()
    with opened(sheet, passcode=PASSCODE) as (locked, _), opened(sheet) as (listener, _):
        places = (
            f"{listener.effective_port}/bench",
            f"{listener.effective_port}/bench/041",
            f"{locked.effective_port}/bench",
        )
        for place in places:
            page.goto(f"http://127.0.0.1:{place}")
            assert axe_faults(page, axe) == []
    context.close()
