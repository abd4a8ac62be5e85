"""A real browser for the pages: Chromium, and axe-core for what a screen reader or a dim eye would miss.

Without Chromium, or without axe-core's script at `TAGMAKER_AXE`, the tests are skipped and say why.
"""

from __future__ import annotations

import os
import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, sync_playwright

# Nothing but what is tested: no first-run pages, no updates, no sync, no calls home.
FLAGS = (
    *("--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run"),
    *("--disable-background-networking", "--disable-component-update", "--disable-sync"),
)


@pytest.fixture(scope="session")
def chromium() -> Iterator[Browser]:
    """Chromium without a window, with a new profile that is thrown away."""
    program = shutil.which("chromium")
    if program is None:
        pytest.skip("Chromium is not installed (Debian: apt-get install chromium)")
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=program, args=list(FLAGS))
        yield browser
        browser.close()


@pytest.fixture(scope="session")
def axe() -> str:
    """The script of axe-core."""
    place = os.environ.get("TAGMAKER_AXE", "")
    if not place or not Path(place).is_file():
        pytest.skip("axe-core is not there: TAGMAKER_AXE must be the path of its axe.min.js (npm: axe-core)")
    return Path(place).read_text(encoding="utf-8")
