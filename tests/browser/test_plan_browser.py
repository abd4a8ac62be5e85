"""The season plan of the bench in Chromium: rows to tick with a glove, accepted without a script."""

from __future__ import annotations

import os
from collections.abc import Iterator
from pathlib import Path
from typing import Literal

import pytest
from playwright.sync_api import Browser

from tagmaker.record.journal.beside import journal_path
from tagmaker.record.journal.entries import Kind
from tagmaker.record.journal.file import read_book
from tests.browser.checks import axe_faults, least_contrast, sideways
from tests.served import opened, row, write_season
from tests.test_server_crate import SETTINGS

pytestmark = pytest.mark.slow

LEAST_PX = 64  # of what is tapped with gloves on


@pytest.fixture
def sheet(tmp_path: Path) -> Path:
    """A season of two lots, and a stall that usually sells 150 stems."""
    rows = (row("041"), row("042", "Larkspan", stems=85))
    return write_season(tmp_path, *rows, settings=f"{SETTINGS}stems = 150\n")


@pytest.fixture
def address(sheet: Path) -> Iterator[str]:
    """The plan, served."""
    with opened(sheet) as (listener, _):
        yield f"http://127.0.0.1:{listener.effective_port}/bench/plan"


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_rows_are_ticked_with_a_glove_and_accepted_without_a_script(
    chromium: Browser,
    address: str,
    sheet: Path,
    scheme: Literal["light", "dark"],
    request: pytest.FixtureRequest,
) -> None:
    """64 px or more, nothing too wide, text of 7 to 1; one tick and a button keep the stems."""
    context = chromium.new_context(
        viewport={"width": 360, "height": 640}, java_script_enabled=False, color_scheme=scheme
    )
    page = context.new_page()
    page.goto(address)
    boxes = [item.bounding_box() for item in page.locator("label.planned, form button").all()]
    assert len(boxes) > 1
    assert [box for box in boxes if box is None or min(box["width"], box["height"]) < LEAST_PX] == []
    page.locator("label.planned").first.click()
    page.get_by_role("button", name="ACCEPT WHAT IS TICKED").click()
    assert "SAVED: 1 row of the plan accepted." in page.locator(".done").inner_text()
    (entry,) = read_book(journal_path(sheet)).entries
    assert entry.kind is Kind.KEPT
    context.close()
    looked = chromium.new_context(viewport={"width": 360, "height": 640}, color_scheme=scheme)
    page = looked.new_page()
    page.goto(address)
    assert sideways(page) == 0
    assert least_contrast(page) >= 7
    if os.environ.get("TAGMAKER_AXE"):
        assert axe_faults(page, request.getfixturevalue("axe")) == []
    looked.close()
