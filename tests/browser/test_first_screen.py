"""The first screen of every lot's page: what to do now, what is left, and the dates, at any size of text."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest
from click.testing import CliRunner
from playwright.sync_api import Browser, Page, ViewportSize

from tagmaker.cli import main
from tests.browser.checks import sideways

pytestmark = pytest.mark.slow

PHONE = ViewportSize(width=360, height=640)
SEASONS = {
    "demo": ("demo_lots", "2027-04-21T09:00"),
    "a week": ("tests/data/thirty_four_lots", "2027-04-21T09:00"),
    "market's eve": ("tests/data/thirty_four_lots", "2027-04-23T17:40"),
}
# Bottom of what is needed first, and whether each date has a place in the window for all of its letters.
LOWEST = """() => Math.max(...[...document.querySelectorAll('.todo, .left, .dates > div')]
  .map((part) => part.getBoundingClientRect().bottom))"""
CUT = """() => [...document.querySelectorAll('time, .date, .away')].filter((date) => {
  if (!date.checkVisibility()) return false;
  const inside = (box) => box.left >= 0 && box.right <= document.documentElement.clientWidth;
  return ![...date.getClientRects()].every(inside);
}).map((date) => date.outerHTML)"""
BROKEN_WORDS = """() => [...document.querySelectorAll('.date span:first-child')].filter((day) => {
  const range = document.createRange();
  const text = day.firstChild;
  return text && text.nodeType === 3 && [...text.data.matchAll(/\\S+/g)].some((word) => {
    range.setStart(text, word.index);
    range.setEnd(text, word.index + word[0].length);
    return range.getClientRects().length > 1;
  });
}).map((day) => day.textContent)"""


@pytest.fixture(scope="module", params=SEASONS)
def pages(
    request: pytest.FixtureRequest, repository: Path, tmp_path_factory: pytest.TempPathFactory
) -> list[Path]:
    """The pages of a season as files."""
    folder, today = SEASONS[request.param]
    copy = tmp_path_factory.mktemp("season") / "season"
    shutil.copytree(repository / folder, copy)
    result = CliRunner().invoke(main, ["lot-pages", str(copy / "lots.csv"), "--today", today])
    assert result.exit_code == 0, result.output
    return sorted((copy / "papers" / "pages").glob("*.html"))


@pytest.fixture
def phone(chromium: Browser, pages: list[Path]) -> Iterator[Page]:
    """A small phone at the moment at which the pages were made."""
    context = chromium.new_context(viewport=PHONE, timezone_id="Europe/Dublin")
    page = context.new_page()
    page.goto(pages[0].as_uri())
    made = page.locator("time.made").get_attribute("datetime")
    page.clock.set_fixed_time(f"{made}:00+01:00")
    yield page
    context.close()


def test_what_to_do_what_is_left_and_the_dates_are_seen_at_once(phone: Page, pages: list[Path]) -> None:
    """At 360 × 640 nothing of it is below the first screen, with orders told apart and marks too."""
    lowest = {}
    for path in pages:
        phone.goto(path.as_uri())
        if phone.locator(".dates").count():
            lowest[path.stem] = phone.evaluate(LOWEST)
    assert {name: bottom for name, bottom in lowest.items() if bottom > PHONE["height"]} == {}
    assert len(lowest) > 30


def test_text_of_twice_the_size_cuts_no_date(phone: Page, pages: list[Path]) -> None:
    """Dates go on in the next line, no word of them is parted, and nothing is wider than the window."""
    seen = 0
    for path in pages:
        phone.goto(path.as_uri())
        phone.evaluate("document.documentElement.style.fontSize = '200%'")
        faults = [*phone.evaluate(CUT), *phone.evaluate(BROKEN_WORDS)]
        assert (path.stem, faults, sideways(phone)) == (path.stem, [], 0)
        seen += phone.locator(".dates .date").count()
    assert seen > 40
