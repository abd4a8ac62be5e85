"""The bench page to pack in Chromium, on a small phone and without script."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Literal

import pytest
from playwright.sync_api import Browser

from tagmaker.record.journal.beside import journal_path
from tagmaker.record.journal.file import read_book
from tests.browser.checks import axe_faults, sideways
from tests.browser.test_crate_browser import LEAST_PX, small
from tests.packed_season import SETTINGS
from tests.served import NOW, opened, row, write_season

pytestmark = pytest.mark.slow

DAY = "2027-03-27"


@pytest.fixture
def sheet(tmp_path: Path) -> Path:
    """A season of two lots, a Tuesday in March, with an order that has a note."""
    orders = f"order,leaves,use,crop,bunches,note\nA-1,{DAY},stall,tulip,6,at the back door\n"
    (tmp_path / "orders.csv").write_text(orders, encoding="utf-8")
    return write_season(tmp_path, row("041"), row("042", "Larkspan", stems=85), settings=SETTINGS)


@pytest.fixture
def address(sheet: Path) -> Iterator[str]:
    """The page, served."""
    with opened(sheet) as (listener, _):
        yield f"http://127.0.0.1:{listener.effective_port}/bench/pack"


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_packed_without_script(
    chromium: Browser, address: str, sheet: Path, scheme: Literal["light", "dark"]
) -> None:
    """Chosen, listed and kept on a phone of 360 by 640; what is tapped is 64 px, nothing runs sideways."""
    assert NOW.year == 2027
    context = small(chromium, script=False, scheme=scheme)
    page = context.new_page()
    page.goto(address)
    page.get_by_label("For", exact=True).select_option("stall")
    page.get_by_label("On", exact=True).select_option(DAY)
    page.get_by_label("Bunches in all").fill("9")
    page.get_by_role("button", name="WHAT TO PACK").click()
    assert page.get_by_text("9 bunches of").is_visible()
    for button in page.get_by_role("button").all():
        box = button.bounding_box()
        assert box is not None
        assert box["height"] >= LEAST_PX
    assert sideways(page) == 0
    page.get_by_role("button", name="KEEP THESE BUNCHES").click()
    assert page.get_by_text("All of it is kept.").is_visible()
    assert sum(entry.stems or 0 for entry in read_book(journal_path(sheet)).entries) == 90
    context.close()


def test_readers_of_a_screen_find_every_field(chromium: Browser, address: str, axe: str) -> None:
    """No fault that axe finds, on the form, the list and the answer on the telephone."""
    context = small(chromium)
    page = context.new_page()
    for query in ("", f"?use=stall&day={DAY}&bunches=9", f"?ask=6+tulips+stall+{DAY}"):
        page.goto(address + query)
        assert axe_faults(page, axe) == []
    context.close()
