"""The pictures of the README: the demo's papers, and the screens of its season on a phone of 360 × 640.

    python -m tests.bench.pictures

Papers and pages are made from a copy of the demo, as of its own day; they are kept in few colours, so that
the README opens fast. Look at them afterwards: nothing else does.
"""

from __future__ import annotations

import shutil
import subprocess
import sys
import tempfile
import threading
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from datetime import datetime
from io import BytesIO
from pathlib import Path

from PIL import Image
from playwright.sync_api import Page, sync_playwright

from tagmaker.desk.season import Day
from tagmaker.desk.serving import Folder, serve
from tests.browser.conftest import FLAGS

REPOSITORY = Path(__file__).resolve().parents[2]
PICTURES = REPOSITORY / "demo_lots" / "pictures"
NOW = datetime(2027, 4, 21, 9)
PAPERS = {"wrap-labels": 510, "crate-cards": 510, "cooler-checklist": 770}  # widths in dots
PHONE = (360, 640)
COLOURS = 16
GREYS = 6  # of a paper
LINK = "HTTP://192.168.1.5:8008/L/{lot}"
PATH = "C:\\Users\\Ada\\my-season\\lots.xlsx"


def papers(sheet: Path) -> None:
    """The first page of each paper."""
    command = [
        sys.executable,
        "-m",
        "tagmaker",
        "papers",
        str(sheet),
        "--today",
        f"{NOW:%Y-%m-%dT%H:%M}",
        "--preview",
        "--no-record",
    ]
    subprocess.run(command, check=True, capture_output=True)
    for name, width in PAPERS.items():
        with Image.open(min((sheet.parent / "papers").glob(f"{name}-*.png"))) as page:
            grey = page.convert("L")
            keep(
                name,
                grey.resize((width, round(grey.height * width / grey.width)), Image.Resampling.LANCZOS),
                GREYS,
            )


@contextmanager
def served(sheet: Path, lan: bool) -> Iterator[str]:
    """The address of the season's live pages, whose clock stands."""
    day = Day(NOW.date(), NOW)
    folder = Folder(sheet=sheet, today=day, templates=None, wall=lambda _: NOW, tell=lambda _: None)
    listener = serve(folder, 0, lan=lan)
    running = threading.Thread(target=listener.run, daemon=True)
    running.start()
    try:
        yield f"http://{listener.effective_host}:{listener.effective_port}"
    finally:
        listener.stop()
        running.join(timeout=10)


def begin(page: Page) -> None:
    """What a season without a lot asks for; sheet and computer stand where a grower would have them."""
    page.goto("/")
    for field, text in (("#path", PATH), ("#link", LINK)):
        page.locator(field).evaluate("(field, text) => field.value = text", text)


def today(page: Page) -> None:
    """The first page: what is to be done."""
    page.goto("/")


def lot(page: Page) -> None:
    """What a scan opens: the lot, with the buttons at the thumb."""
    page.goto("/L/102")


def sold(page: Page) -> None:
    """SOLD, 3, not saved yet."""
    page.goto("/L/102")
    page.locator("summary", has_text="SOLD").click()
    page.locator("details[open] label", has_text="3").first.click()


def saved(page: Page) -> None:
    """The answer to SAVE."""
    sold(page)
    page.locator("details[open] button").first.click()
    page.locator(".saved").wait_for()


def bench(page: Page) -> None:
    """Where labels are printed."""
    page.goto("/bench?lot=102")


SCREENS: dict[str, Callable[[Page], None]] = {
    "screen-today": today,
    "screen-lot": lot,
    "screen-sold": sold,
    "screen-saved": saved,
    "screen-bench": bench,
}


def screens(sheet: Path, shown: Mapping[str, Callable[[Page], None]], *, lan: bool = False) -> None:
    """The first screen of each page, as a phone shows it."""
    with served(sheet, lan) as address, sync_playwright() as playwright:
        program = shutil.which("chromium")
        browser = playwright.chromium.launch(executable_path=program, args=list(FLAGS))
        for name, show in shown.items():
            context = browser.new_context(
                viewport={"width": PHONE[0], "height": PHONE[1]}, base_url=address, color_scheme="light"
            )
            page = context.new_page()
            page.clock.set_fixed_time(NOW)
            show(page)
            with Image.open(BytesIO(page.screenshot())) as picture:
                keep(name, picture)
            context.close()
        browser.close()


def keep(name: str, picture: Image.Image, colours: int = COLOURS) -> None:
    """Write a picture in few colours."""
    few = picture.convert("RGB").quantize(colours, dither=Image.Dither.NONE)
    path = PICTURES / f"{name}.png"
    few.save(path, optimize=True)
    print(f"{path.relative_to(REPOSITORY)}: {path.stat().st_size / 1000:.0f} kB")  # noqa: T201 – the talk of a tool


def main() -> None:
    """Take all of them."""
    with tempfile.TemporaryDirectory() as folder:
        season = Path(folder) / "demo"
        shutil.copytree(
            REPOSITORY / "demo_lots", season, ignore=shutil.ignore_patterns("papers", "*.sqlite*")
        )
        papers(season / "lots.xlsx")
        screens(season / "lots.xlsx", SCREENS)
        empty = Path(folder) / "my-season"
        subprocess.run(
            [sys.executable, "-m", "tagmaker", "start", "--yes", str(empty)], check=True, capture_output=True
        )
        screens(empty / "lots.xlsx", {"screen-begin": begin}, lan=True)


if __name__ == "__main__":
    main()
