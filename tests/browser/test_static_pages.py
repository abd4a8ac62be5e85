"""The files of `lot-pages`, opened from the disk as from a stick."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from dataclasses import replace
from datetime import datetime, timedelta
from pathlib import Path
from typing import Literal
from zoneinfo import ZoneInfo

import pytest
from playwright.sync_api import Browser, Page, ViewportSize

from tagmaker.lot import StorageCode, Surface
from tagmaker.scan.page_files import write_pages
from tests.browser.checks import axe_faults, least_contrast, sideways, small_targets
from tests.farms import NOW, make_farm, make_lot, order
from tests.page_sources import page_source, tag

pytestmark = pytest.mark.slow

PHONE = ViewportSize(width=360, height=640)
DAY = timedelta(days=1)
THERE = ZoneInfo("Europe/Dublin")  # puts its clocks forward on 28 March 2027, between some of the dates
LONG = "Schattenwindmühlenflügelschraubenschlüssel" * 2  # one word, wider than any phone


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A small season's pages: a usual lot, wet, past, in water, wordy, planned, and one that is gone."""
    source = page_source(
        make_lot(variety="Pale Harbour", colour="apricot"),
        make_lot(lot_code="045", orders=(order(datetime(2027, 4, 2, 8), 100),)),
        make_lot(lot_code="042", surface=Surface.WET, in_cooler=None),
        make_lot(lot_code="043", cut=NOW - 40 * DAY, in_cooler=NOW - 40 * DAY),
        make_lot(lot_code="044", storage=StorageCode.WATER),
        make_lot(
            lot_code="HOOP2-EARLY1", variety=LONG, place=LONG, note=LONG, cells={LONG: LONG}, stage=None
        ),
        make_lot(lot_code="P-1", cut=NOW + 10 * DAY, planned=True, orders=(order(NOW + 20 * DAY),)),
        farm=make_farm(name="Larkmarrow Yard"),
    )
    printed = tag(source.dates_of["041"], sell_by=NOW + 30 * DAY, differs=True, untrue=True)
    source = replace(source, printed={"041": (printed,), "099": (printed,)})
    place = tmp_path_factory.mktemp("stick") / "pages"
    write_pages(source, place)
    return place


@pytest.fixture
def phone(chromium: Browser) -> Iterator[Page]:
    """A small phone on the morning on which the pages were made."""
    context = chromium.new_context(viewport=PHONE, timezone_id=THERE.key)
    page = context.new_page()
    page.clock.set_fixed_time(NOW.replace(tzinfo=THERE))
    yield page
    context.close()


def open_page(page: Page, folder: Path, name: str = "041") -> None:
    """Open a file, as a stick's file is opened."""
    page.goto((folder / f"{name}.html").as_uri())


def test_the_dates_are_seen_without_scrolling(phone: Page, folder: Path) -> None:
    """At 360 × 640 lot, code and both dates stand on the first screen, as large as on the crate card."""
    open_page(phone, folder)
    assert phone.locator("h1").inner_text().split() == ["041", "DRY"]
    dates = phone.locator(".dates .date")
    assert dates.count() == 2
    for place in (phone.locator("h1"), dates.nth(0), dates.nth(1)):
        box = place.bounding_box()
        assert box is not None
        assert box["y"] + box["height"] <= PHONE["height"]
    size = phone.evaluate(
        "parseFloat(getComputedStyle(document.querySelector('.dates .date span')).fontSize)"
    )
    assert size >= 36  # [px] 27 pt, as large as the crate card's dates


@pytest.mark.parametrize(
    ("moment", "sell_by", "into_water", "old"),
    [
        (NOW, "in 16 days", "in 15 days", ""),
        (NOW.replace(hour=23, minute=59), "in 16 days", "in 15 days", ""),
        (datetime(2027, 4, 7, 7), "tomorrow", "today, in 11 h", "This page is 15 days old"),
        (datetime(2027, 4, 7, 17, 0, 30), "tomorrow", "in 59 min", "This page is 15 days old"),
        (datetime(2027, 4, 7, 17, 50), "tomorrow", "in 10 min", "This page is 15 days old"),
        (datetime(2027, 4, 7, 18, 0, 20), "tomorrow", "now", "This page is 15 days old"),
        (datetime(2027, 4, 7, 18, 20), "tomorrow", "20 min late", "This page is 15 days old"),
        (datetime(2027, 4, 7, 21), "tomorrow", "today, 3 h ago", "This page is 15 days old"),
        (datetime(2027, 4, 8, 0, 5), "today", "yesterday", "This page is 16 days old"),
        (datetime(2027, 4, 9, 8), "yesterday", "2 days ago", "This page is 17 days old"),
        (datetime(2027, 3, 24, 0, 5), "in 15 days", "in 14 days", "This page is from yesterday"),
    ],
)
def test_an_old_page_does_not_lie(
    phone: Page, folder: Path, moment: datetime, sell_by: str, into_water: str, old: str
) -> None:
    """How far away a date is follows the moment at which one looks, over the change to summer time too."""
    phone.clock.set_fixed_time(moment.replace(tzinfo=THERE))
    open_page(phone, folder)
    assert phone.locator(".dates .away").all_inner_texts() == [into_water, sell_by]
    assert phone.locator(".old p").inner_text()[: len(old) or None] == old
    over = phone.locator(".dates .away.over").all_inner_texts()
    late = ("ago", "late", "yesterday", "now")
    assert over == [words for words in (into_water, sell_by) if any(word in words for word in late)]


def test_an_old_page_is_offered_again(phone: Page, folder: Path, tmp_path: Path) -> None:
    """A page that stands open past midnight says so by itself; RELOAD shows what has been written since."""
    copy = tmp_path / "pages"
    shutil.copytree(folder, copy)
    phone.clock.install(time=NOW.replace(hour=23, minute=58, tzinfo=THERE))
    open_page(phone, copy)
    assert not phone.get_by_role("button", name="RELOAD").is_visible()
    phone.clock.fast_forward(180_000)
    assert phone.get_by_role("status").filter(has_text="This page is from yesterday").is_visible()
    fresh = (copy / "041.html").read_text(encoding="utf-8").replace("2027-03-23T08:00", "2027-03-24T00:01")
    (copy / "041.html").write_text(fresh, encoding="utf-8")
    phone.get_by_role("button", name="RELOAD").click()
    phone.wait_for_load_state()
    assert not phone.get_by_role("button", name="RELOAD").is_visible()


@pytest.mark.parametrize(
    ("page", "typed", "expected"),
    [
        ("index", "045", ["045"]),
        ("index", "pale", ["041"]),
        ("index", "TULIP barn", ["041", "042", "043", "044", "045", "HOOP2-EARLY1", "P-1"]),
        ("index", "p-1", ["P-1"]),
        ("index", "099", ["099"]),
        ("index", "nothing", []),
        ("COOLER.BARN", "harbour", ["041"]),
    ],
)
def test_a_list_shows_what_is_typed(
    phone: Page, folder: Path, page: str, typed: str, expected: list[str]
) -> None:
    """Code, variety, crop and place, in any case; headings with nothing below them go too, and it is said."""
    open_page(phone, folder, page)
    phone.get_by_label("Show only").fill(typed)
    assert sorted(phone.locator(".rows > li:visible a").all_inner_texts()) == expected
    assert phone.get_by_role("status").filter(has_text=f"{len(expected)} of ").is_visible()
    if not expected:
        assert phone.locator("h2:visible").count() == 0
    phone.get_by_label("Show only").fill("")
    assert phone.locator(".rows > li:visible").count() == phone.locator(".rows > li").count() > len(expected)


def test_without_script_the_plain_dates_stand(chromium: Browser, folder: Path) -> None:
    """Nothing is missing but the counting of days."""
    context = chromium.new_context(viewport=PHONE, java_script_enabled=False)
    page = context.new_page()
    open_page(page, folder)
    assert [" ".join(text.split()) for text in page.locator(".dates .date").all_inner_texts()] == [
        "WED 7 APR 6 PM",
        "THU 8 APR",
    ]
    assert page.locator(".away:visible").count() == 0
    context.close()


def test_links_lead_from_list_to_lot_to_cooler_and_back(phone: Page, folder: Path) -> None:
    """Relative links work from the disk."""
    open_page(phone, folder, "index")
    phone.get_by_role("link", name="041", exact=True).click()
    assert phone.url.endswith("/041.html")
    phone.get_by_role("link", name="barn").click()
    assert phone.locator("h1").inner_text() == "barn"
    phone.get_by_role("link", name="All lots").click()
    assert phone.locator("h1").inner_text() == "Lots"


def test_nothing_is_asked_of_the_network(chromium: Browser, folder: Path) -> None:
    """A page, its stylesheet and its script are all that is read, and no error is logged."""
    context = chromium.new_context(viewport=PHONE)
    page = context.new_page()
    asked: list[str] = []
    said: list[str] = []
    page.on("request", lambda request: asked.append(request.url))
    page.on("console", lambda message: said.append(message.text))
    page.on("pageerror", lambda error: said.append(str(error)))
    open_page(page, folder)
    assert asked == [(folder / name).as_uri() for name in ("041.html", "pages.css", "pages.js")]
    assert said == []
    context.close()


@pytest.mark.parametrize("width", [320, 360, 1280])
def test_no_page_scrolls_sideways(chromium: Browser, folder: Path, width: int) -> None:
    """On a small phone, a smaller one and a desk, with the longest code and words of eighty letters."""
    context = chromium.new_context(viewport=ViewportSize(width=width, height=640))
    page = context.new_page()
    page.clock.set_fixed_time(NOW + 20 * DAY)
    wide = {}
    for path in sorted(folder.glob("*.html")):
        page.goto(path.as_uri())
        wide[path.stem] = sideways(page)
    assert {name: over for name, over in wide.items() if over} == {}
    assert len(wide) == 10
    context.close()


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("later", [0, 20], ids=["fresh", "old"])
def test_axe_finds_nothing(
    chromium: Browser, folder: Path, axe: str, scheme: Literal["light", "dark"], later: int
) -> None:
    """Names, order, roles and contrast hold on every page, by day and in a dim cooler, fresh and old."""
    context = chromium.new_context(viewport=PHONE, color_scheme=scheme)
    page = context.new_page()
    page.clock.set_fixed_time(NOW + later * DAY)
    found = {}
    for path in sorted(folder.glob("*.html")):
        page.goto(path.as_uri())
        found[path.stem] = axe_faults(page, axe)
    assert {name: faults for name, faults in found.items() if faults} == {}
    assert len(found) == 10
    context.close()


def test_a_thumb_finds_every_link(phone: Page, folder: Path) -> None:
    """Whatever can be tapped is 44 pixels high or more."""
    small = {}
    for path in sorted(folder.glob("*.html")):
        phone.goto(path.as_uri())
        small[path.stem] = small_targets(phone)
    assert {name: found for name, found in small.items() if found} == {}


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_every_text_stands_out_from_its_ground(
    chromium: Browser, folder: Path, scheme: Literal["light", "dark"]
) -> None:
    """All text has a contrast of 7 to 1, the enhanced level of WCAG 2.2, because the light is dim."""
    context = chromium.new_context(viewport=PHONE, color_scheme=scheme)
    page = context.new_page()
    page.clock.set_fixed_time(NOW + 20 * DAY)
    least = {}
    for path in sorted(folder.glob("*.html")):
        page.goto(path.as_uri())
        least[path.stem] = least_contrast(page)
    assert {name: ratio for name, ratio in least.items() if ratio < 7} == {}
    context.close()
