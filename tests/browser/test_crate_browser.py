"""The buttons at the crate in Chromium, on a small phone: tapped twice, without signal, without script."""

from __future__ import annotations

import os
from collections.abc import Iterator
from datetime import timedelta
from pathlib import Path
from typing import Literal

import pytest
from playwright.sync_api import Browser, BrowserContext, Page, Route

from tests.browser.checks import axe_faults, least_contrast, sideways
from tests.entered_season import entries
from tests.served import CODE, NOW, opened, row, write_season
from tests.test_server_crate import SETTINGS

pytestmark = pytest.mark.slow

LEAST_PX = 64  # of what is tapped with gloves on


@pytest.fixture
def sheet(tmp_path: Path) -> Path:
    """A season of two lots."""
    return write_season(tmp_path, row("041"), row("042", "Larkspan", stems=85), settings=SETTINGS)


@pytest.fixture
def address(sheet: Path) -> Iterator[str]:
    """The page of a lot, served."""
    with opened(sheet) as (listener, _):
        yield f"http://127.0.0.1:{listener.effective_port}/L/041"


def small(
    chromium: Browser, *, script: bool = True, scheme: Literal["light", "dark"] = "light"
) -> BrowserContext:
    """A phone of 360 by 640."""
    return chromium.new_context(
        viewport={"width": 360, "height": 640}, java_script_enabled=script, color_scheme=scheme
    )


@pytest.fixture
def phone(chromium: Browser, address: str) -> Iterator[Page]:
    """A phone that shows the lot."""
    context = small(chromium)
    page = context.new_page()
    page.goto(address)
    yield page
    context.close()


def tap(page: Page, button: str, *choices: str) -> None:
    """Open a button, choose, and save."""
    page.locator("summary", has_text=button).click()
    for choice in choices:
        page.locator("details[open] label", has_text=choice).first.click()
    page.locator("details[open] button").first.click()


def test_sold_three_and_undone(phone: Page, sheet: Path) -> None:
    """Three taps to take it down, one to take it back."""
    tap(phone, "SOLD", "3")
    phone.locator(".saved").filter(has_text="Sold 3 bunches, 9 bunches left.").wait_for()
    assert "9 bunches (90 stems) left" in phone.locator(".top").inner_text()
    phone.get_by_role("button", name="UNDO").click()
    phone.locator(".saved").filter(has_text="12 bunches left").wait_for()
    assert [entry.stems for entry in entries(sheet)] == [30, None]


def test_a_double_tap_is_one_entry(phone: Page, sheet: Path) -> None:
    """Two quick taps on SAVE, and a reload of what comes of it."""
    phone.locator("summary", has_text="SOLD").click()
    phone.locator("details[open] button").first.dblclick()
    phone.locator(".saved").wait_for()
    phone.reload()
    phone.locator(".saved").wait_for()
    assert [entry.stems for entry in entries(sheet)] == [10]


def test_without_signal_nothing_is_called_saved(phone: Page, sheet: Path) -> None:
    """Two SOLDs on one open page are two entries; they wait in red, and are sent when the signal is back."""
    phone.context.set_offline(True)
    for _ in range(2):
        tap(phone, "SOLD", "2")
        phone.wait_for_timeout(900)
    assert phone.locator(".waiting").inner_text() == "NOT SAVED YET, 2 WAITING"
    assert (entries(sheet), phone.locator(".saved").count()) == ((), 0)
    phone.context.set_offline(False)
    phone.wait_for_url("**saved=2")
    assert [entry.stems for entry in entries(sheet)] == [20, 20]
    assert phone.locator(".waiting").is_hidden()


def test_a_cut_connection_is_sent_again(phone: Page, sheet: Path) -> None:
    """The computer has it, the phone does not know: sent again it is the same entry."""
    lost: list[object] = []

    def lose(route: Route) -> None:
        if lost:
            route.continue_()
            return
        lost.append(route.fetch())
        route.abort()

    phone.route("**/enter", lose)
    tap(phone, "SOLD", "3")
    phone.locator(".waiting").filter(has_text="1 WAITING").wait_for()
    phone.wait_for_url("**saved=1")
    assert [entry.stems for entry in entries(sheet)] == [30]


def test_a_phone_with_a_wrong_clock(phone: Page, sheet: Path) -> None:
    """A month behind: how long an entry waited counts. Set while it waits: it is asked about."""
    phone.clock.install(time="2027-02-20T08:00:00")
    phone.reload()
    phone.context.set_offline(True)
    tap(phone, "SOLD", "2")
    phone.clock.run_for(3_600_000)
    assert "1 WAITING" in phone.locator(".waiting").inner_text()
    phone.context.set_offline(False)
    phone.clock.run_for(5_000)
    phone.wait_for_url("**saved=1")
    (entry,) = entries(sheet)
    assert (entry.happened.day, entry.happened.hour) == (23, 7)  # an hour before eight on the computer
    phone.context.set_offline(True)
    tap(phone, "SOLD", "1")
    phone.clock.run_for(1_000)
    phone.clock.set_system_time("2027-01-01T08:00:00")
    phone.context.set_offline(False)
    phone.clock.run_for(5_000)
    phone.locator(".waiting").filter(has_text="clock was changed").wait_for()
    phone.get_by_role("button", name="DROP").click()
    assert (len(entries(sheet)), phone.locator(".waiting").is_hidden()) == (1, True)


def test_a_page_from_yesterday(chromium: Browser, sheet: Path) -> None:
    """Left open overnight: what changed since is told before anything is taken; the other lot goes on."""
    context, night = small(chromium), NOW + timedelta(days=1)
    with opened(sheet) as (listener, _):
        port, evening = int(listener.effective_port), context.new_page()
        changed, same = context.new_page(), context.new_page()
        for page, lot in ((changed, "041"), (same, "042"), (evening, "041")):
            page.goto(f"http://127.0.0.1:{port}/L/{lot}")
        tap(evening, "SOLD", "5")
        evening.wait_for_url("**saved=1")
    with opened(sheet, port=port, now=night):
        tap(changed, "SOLD", "2")
        changed.locator(".waiting").filter(has_text="has just changed").wait_for()
        changed.get_by_role("button", name="DROP").click()
        tap(same, "SOLD", "2")
        same.wait_for_url("**saved=2")
        changed.reload()
        assert "7 bunches (70 stems) left" in changed.locator(".top").inner_text()
        tap(changed, "SOLD", "2")
        changed.wait_for_url("**saved=3")
    assert [(entry.lot, entry.stems, entry.happened) for entry in entries(sheet)] == [
        ("041", 50, NOW),
        ("042", 20, night),
        ("041", 20, night),
    ]
    context.close()


def test_what_waits_in_an_unpaired_phone_stays_there(chromium: Browser, sheet: Path) -> None:
    """Removed and paired again: what it took down meanwhile is sent then."""
    with opened(sheet, code=CODE) as (listener, _):
        context = small(chromium)
        page = context.new_page()
        page.goto(f"http://127.0.0.1:{listener.effective_port}/L/041")
        page.get_by_role("link", name="PAIR THIS PHONE").click()
        page.get_by_label("Type the code").fill(CODE)
        page.get_by_role("button", name="Pair this phone").click()
        page.wait_for_url("**/L/041")
        cookies = context.cookies()
        context.clear_cookies()
        tap(page, "SOLD", "2")
        page.locator(".waiting").filter(has_text="PAIR AGAIN, THEN SENT").wait_for()
        assert entries(sheet) == ()
        context.add_cookies(cookies)  # type: ignore[arg-type]
        page.wait_for_url("**saved=1")
        assert [entry.stems for entry in entries(sheet)] == [20]
        context.close()


def test_two_phones_on_the_last_bunch(chromium: Browser, phone: Page, address: str, sheet: Path) -> None:
    """The second is told, decides, and drops it; nothing was recorded of it."""
    other = small(chromium).new_page()
    other.goto(address)
    tap(phone, "SOLD", "ALL")
    phone.locator(".saved").wait_for()
    tap(other, "SOLD", "1")
    other.locator(".waiting").filter(has_text="has just changed").wait_for()
    other.get_by_role("button", name="DROP").click()
    other.reload()
    assert "none left" in other.locator(".top").inner_text()
    assert [entry.stems for entry in entries(sheet)] == [120]
    other.context.close()


def test_all_of_it_without_scripting(chromium: Browser, address: str, sheet: Path) -> None:
    """Plain forms: sold, moved with its place, undone."""
    context = small(chromium, script=False)
    page = context.new_page()
    page.goto(address)
    tap(page, "SOLD", "5")
    page.wait_for_url("**saved=1")
    tap(page, "MOVED", "south")
    page.wait_for_url("**saved=2")
    page.get_by_role("button", name="UNDO").click()
    page.wait_for_url("**saved=3")
    page.reload()
    assert [entry.kind.value for entry in entries(sheet)] == ["sold", "moved", "undo"]
    context.close()


def test_a_day_at_the_crates(phone: Page, sheet: Path, address: str) -> None:
    """A new lot to its printed labels; some into water; moved; out and some back; thrown out; bad."""
    root = address.removesuffix("/L/041")
    phone.goto(f"{root}/bench/new")
    phone.get_by_label("Stems").fill("60")
    phone.get_by_label("Variety").fill("Cobble Pink")
    phone.get_by_role("button", name="SAVE, THEN ITS LABELS").click()
    phone.wait_for_url("**/bench/043")
    assert phone.get_by_label("How many labels").input_value() == "6"
    with phone.expect_response("**/bench/print") as answer:
        phone.get_by_role("button", name="Print wrap labels").click(no_wait_after=True)
    assert answer.value.headers["content-type"] == "application/pdf"
    phone.wait_for_url("**/bench/print")
    phone.goto(address)
    phone.locator("summary", has_text="INTO WATER").click()
    phone.locator("details[open] input[name=many]").fill("4")
    phone.locator("details[open] select[name=leaves]").select_option(index=1)
    phone.locator("details[open] button").click()
    phone.locator(".saved").filter(has_text="as lot 041B").wait_for()
    tap(phone, "MOVED", "ALL", "south")
    phone.locator(".saved").filter(has_text="Moved to south").wait_for()
    for title, number in (("Out to a market", "5"), ("Back from market", "2")):
        phone.locator("summary", has_text="MORE").click()
        form = phone.locator("form", has=phone.get_by_role("heading", name=title))
        form.locator("input[name=many]").fill(number)
        form.get_by_role("button", name="SAVE").click()
        phone.locator(".saved").filter(
            has_text=title.split()[0].lower().replace("out", "Out").replace("back", "Came back")
        ).wait_for()
    tap(phone, "THROWN OUT", "1", "mould")
    phone.locator(".saved").filter(has_text="Thrown out 1 bunch mould").wait_for()
    phone.locator("summary", has_text="MORE").click()
    form = phone.locator("form", has=phone.get_by_role("heading", name="A bunch that was opened"))
    form.locator("label", has_text="bad").click()
    form.get_by_role("button", name="SAVE").click()
    phone.locator(".saved").filter(has_text="Tested bad").wait_for()
    assert "TESTED BAD: THROW OUT" in phone.locator("main").inner_text()
    kinds = [entry.kind.value for entry in entries(sheet)]
    assert kinds == ["new lot", "into water", "moved", "out", "came back", "thrown out", "tested"]


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_every_button_is_for_a_glove(
    chromium: Browser, address: str, scheme: Literal["light", "dark"], request: pytest.FixtureRequest
) -> None:
    """At 360 by 640 whatever is tapped is 64 px or more each way, nothing too wide, all text has 7 to 1."""
    context = small(chromium, scheme=scheme)
    page = context.new_page()
    page.goto(address)
    for button in ("SOLD", "INTO WATER", "MOVED", "THROWN OUT", "MORE"):
        summary = page.locator("summary", has_text=button).last
        summary.click()
        shown = page.locator(
            ".bar summary, details[open] .choice label, details[open] button, details[open] .other > *"
        )
        boxes = [box for box in (item.bounding_box() for item in shown.all()) if box is not None]
        assert [box for box in boxes if min(round(box["width"]), round(box["height"])) < LEAST_PX] == [], (
            button
        )
        assert sideways(page) == 0
        assert least_contrast(page) >= 7
        summary.click()
    if os.environ.get("TAGMAKER_AXE"):
        assert axe_faults(page, request.getfixturevalue("axe")) == []
    context.close()


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_whatever_is_tapped_at_the_bench_is_for_a_glove(
    chromium: Browser, address: str, scheme: Literal["light", "dark"], request: pytest.FixtureRequest
) -> None:
    """First page, bench, counts, new lot, cooler, phones: 64 px or more, nothing too wide, text of 7 to 1."""
    context, root = small(chromium, scheme=scheme), address.removesuffix("/L/041")
    page = context.new_page()
    page.goto(address)
    tap(page, "SOLD", "1")
    page.locator(".saved").wait_for()
    for place in ("/", "/bench", "/bench/041", "/bench/count", "/bench/new", "/L/walk-in", "/pair"):
        page.goto(root + place)
        for summary in page.locator("main summary").all():
            summary.click()
        tapped = page.locator(
            "button, summary, select, input:not([type=hidden], [type=radio], [type=checkbox]), label.check, "
            ".choice label, nav a, .links a, .lots li"
        )
        boxes = [box for box in (item.bounding_box() for item in tapped.all()) if box is not None]
        small_ones = [box for box in boxes if min(round(box["width"]), round(box["height"])) < LEAST_PX]
        assert (small_ones, len(boxes) > 1) == ([], True), place
        assert sideways(page) == 0, place
        assert least_contrast(page) >= 7, place
        if os.environ.get("TAGMAKER_AXE"):
            assert axe_faults(page, request.getfixturevalue("axe")) == [], place
    context.close()
