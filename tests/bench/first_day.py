"""A first day as a new grower has it: questions, a double-click, a spreadsheet, Chromium, a printer.

`python -m tests.bench.first_day FOLDER` goes through it and counts what a hand does. The printer is a
scheduler of its own, the sheet is saved by a spreadsheet program without a window, and the file to
double-click is run as a desktop runs it. Pictures of the screens go into FOLDER.
"""

from __future__ import annotations

import os
import pty
import re
import shlex
import subprocess
import sys
import time
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from datetime import datetime, timedelta
from pathlib import Path

import click
import openpyxl
import pypdfium2  # type: ignore[import-untyped]  # it comes without types
import zxingcpp
from playwright.sync_api import Page, sync_playwright

from tagmaker.intake.columns import NAMES
from tests.desktop_entries import arguments_of, entry_of
from tests.private_spooler import PRINTER, Spooler, private_spooler

ANSWERS = (
    "Larkmarrow Yard",
    "F",
    "letter",
    "letter-3x10",
    "walk-in 39; fridge 41",
    "shop: every day, 4; stall: Sat, 4; wedding: Fri, Sat, 3",
    PRINTER,
)
FORMS = ("single", "double", "parrot", "fringed")
LOTS = 20


class Day:
    """What was done, step by step."""

    def __init__(self, folder: Path) -> None:
        self.folder, self.steps, self.shots = folder, 0, 0

    def step(self, words: str) -> None:
        """Something that a hand does."""
        self.steps += 1
        click.echo(f"{self.steps:2}. {words}")

    def shot(self, page: Page) -> None:
        """A picture of the screen."""
        self.shots += 1
        page.screenshot(path=self.folder / f"screen-{self.shots:02}.png", full_page=True)


def begin(day: Day, season: Path, environment: Mapping[str, str]) -> None:
    """The one command, at a terminal."""
    main, side = pty.openpty()
    command = [sys.executable, "-m", "tagmaker", "start", str(season)]
    with subprocess.Popen(command, stdin=side, stdout=side, stderr=side, env=environment) as process:
        os.close(side)
        day.step(f"type: tagmaker start {season.name!r}")
        for answer in ANSWERS:
            day.step(f"answer: {answer}")
            os.write(main, f"{answer}\n".encode())
        shown = b""
        while True:
            try:
                shown += os.read(main, 4096)
            except OSError:
                break
    click.echo(shown.decode())
    assert process.returncode == 0


def fill_in(day: Day, sheet: Path, link: str) -> None:
    """Twenty lots and the link, typed and saved by a spreadsheet program."""
    day.step("open the sheet by the path that the first page copies")
    book = openpyxl.load_workbook(sheet)
    farm = book["Farm"]
    next(row for row in farm.iter_rows() if row[0].value == "link")[1].value = link
    day.step("copy the link from the first page into the sheet Farm")
    for number in range(LOTS):
        day_before = datetime.now() - timedelta(days=1 + number % 4)
        cut = day_before.replace(hour=9, minute=0, second=0, microsecond=0)
        cells: dict[str, str | int | datetime] = {"crop": "tulip", "form": FORMS[number % 4], "cut": cut}
        cells |= {"variety": f"Pale Harbour {number + 1}", "stage": "tight", "stems": 40 + 10 * (number % 5)}
        cells |= {"cooler": "fridge"} if number % 5 == 0 else {}
        for column, value in cells.items():
            book["Lots"].cell(row=number + 2, column=NAMES.index(column) + 1, value=value)
        day.step(f"type lot {number + 1:03}: crop, form, cut, variety, stage, stems")
    draft = sheet.parent.parent / "typed" / sheet.name
    draft.parent.mkdir(exist_ok=True)
    book.save(draft)
    command = ["soffice", "--headless", "--convert-to", "xlsx", "--outdir", str(sheet.parent), str(draft)]
    subprocess.run(command, check=True, capture_output=True, timeout=120)
    day.step("save")


@contextmanager
def double_clicked(day: Day, season: Path, environment: Mapping[str, str]) -> Iterator[str]:
    """The file to double-click, run as a desktop runs it; the address that its browser is led to."""
    entry = entry_of((season / "Open tagmaker.desktop").read_text(encoding="utf-8"))
    day.step("double-click: Open tagmaker")
    log = (day.folder / "window.txt").open("w", encoding="utf-8")
    with (
        log,
        subprocess.Popen(
            arguments_of(entry["Exec"]),
            cwd=entry["Path"],
            env=environment,
            stdin=subprocess.DEVNULL,
            stderr=log,
        ) as process,
    ):
        opened, until = day.folder / "opened.txt", time.monotonic() + 60
        while not opened.exists():
            assert time.monotonic() < until, (day.folder / "window.txt").read_text()
            time.sleep(0.1)
        yield opened.read_text().strip()
        process.terminate()


def pair(day: Day, page: Page, address: str, name: str) -> None:
    """A browser is paired with the code that the computer's own page shows."""
    page.goto(address + "pair")
    found = re.search(r"\b(\d{4} \d{4})\b", page.inner_text("body"))
    assert found, page.inner_text("body")
    page.fill('input[name="code"]', found[1])
    if page.locator('input[name="name"]').count():
        page.fill('input[name="name"]', name)
    page.click("main form button")
    day.step(f"pair {name}: its code stands on the page /pair of the computer")


def printed(spooler: Spooler, address: str) -> int:
    """Pages of what the printer got last; its first code leads to a page of the server."""
    document = pypdfium2.PdfDocument(spooler.printed())
    picture = document[0].render(scale=4).to_pil()
    codes = [code.text for code in zxingcpp.read_barcodes(picture)]
    assert any(code.lower().startswith(f"{address}l/") for code in codes), codes
    return len(document)


def at_the_bench(day: Day, page: Page, address: str, spooler: Spooler) -> None:
    """Labels, cards and the checklist."""
    page.goto(address + "bench")
    day.shot(page)
    day.step("open the bench")
    page.click('button[name="which"][value="new"]')
    day.step(f"print new labels: {printed(spooler, address)} sheets")
    day.shot(page)
    page.click('button[name="answer"][value="all"]')
    day.step("say that all came out")
    page.goto(address + "bench/papers")
    day.shot(page)
    day.step("open More papers")
    page.click("text=Print cards of all lots")
    day.step(f"print cards: {printed(spooler, address)} pages")
    page.goto(address + "bench/papers")
    page.click("text=Print the checklist")
    day.step(f"print the checklist: {printed(spooler, address)} pages")


def readings_by_phone(day: Day, page: Page, address: str) -> None:
    """A logger's export, added to a cooler."""
    export = day.folder / "export.csv"
    begin = datetime.now().replace(minute=0, second=0, microsecond=0) - timedelta(days=4)
    lines = [f"{begin + timedelta(minutes=30 * row):%Y-%m-%d %H:%M},{38 + row % 3}" for row in range(180)]
    export.write_text("\n".join(["Time (UTC-05:00),Temperature (°F)", *lines]) + "\n", encoding="utf-8")
    page.goto(address)
    page.click("text=walk-in")
    page.click("text=Add readings")
    day.step("phone: the cooler's page, Add readings")
    page.set_input_files("#file", str(export))
    page.click("text=LOOK AT IT")
    day.shot(page)
    day.step("phone: choose the export, look at it")
    page.click("text=KEEP FOR WALK-IN")
    day.shot(page)
    assert "SAVED as logs/walk-in" in page.inner_text("body"), page.inner_text("body")
    day.step("phone: keep it")


def main(folder: Path) -> None:
    """The whole day."""
    folder.mkdir(parents=True)
    day, season = Day(folder), folder / "Blüten & Co 100% 'é'"
    browser = folder / "browser"
    browser.write_text(
        f'#!/bin/sh\necho "$1" > {shlex.quote(str(folder / "opened.txt"))}\n', encoding="utf-8"
    )
    browser.chmod(0o755)
    with private_spooler() as spooler, sync_playwright() as playwright:
        environment = {
            **os.environ,
            "CUPS_SERVER": spooler.server,
            "XDG_CONFIG_HOME": str(folder / "config"),
            "DISPLAY": ":99",
            "BROWSER": f"{browser} %s",
        }
        begin(day, season, environment)
        chromium = playwright.chromium.launch(executable_path="/usr/bin/chromium", args=["--no-sandbox"])
        with double_clicked(day, season, environment) as address:
            desk = chromium.new_page(viewport={"width": 1280, "height": 800})
            desk.goto(address)
            day.shot(desk)
            assert desk.input_value("#path") == str(season / "lots.xlsx")
            fill_in(day, season / "lots.xlsx", desk.input_value("#link"))
            until = time.monotonic() + 30
            while "Pale Harbour 20" not in desk.inner_text("body"):
                assert time.monotonic() < until, desk.inner_text("body")
                time.sleep(1)
                desk.goto(address)
            day.step("look again: the lots are there")
            day.shot(desk)
            pair(day, desk, address, "office")
            at_the_bench(day, desk, address, spooler)
            phone = chromium.new_context(viewport={"width": 360, "height": 640}).new_page()
            pair(day, phone, address, "phone")
            readings_by_phone(day, phone, address)
            desk.goto(address + "check")
            day.shot(desk)
        chromium.close()
    click.echo((folder / "window.txt").read_text(encoding="utf-8"))
    click.echo(f"{day.steps} steps, {LOTS} of them rows of lots, {len(ANSWERS)} answers")


if __name__ == "__main__":
    main(Path(sys.argv[1]).absolute())
