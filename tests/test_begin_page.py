"""The first page of a season that has no lot yet: what to do next."""

from __future__ import annotations

from pathlib import Path

import openpyxl
import pytest

from tagmaker.desk.starting import begin
from tagmaker.intake.starter.beginning import Beginning
from tests.served import Served, row, write_season


@pytest.fixture
def sheet(tmp_path: Path) -> Path:
    """A season that has just been begun, in a folder with a name of its own."""
    return begin(tmp_path / "Blüte & Co 100% 'é\"<b>", Beginning())[0]


def test_three_things_to_do_and_the_path_to_copy(sheet: Path) -> None:
    """The sheet with its whole path, rows to write, labels to print; the lists of nothing are not there."""
    page = Served(sheet, own=("127.0.0.1",)).client.get("/").get_data(as_text=True)
    headings = ("Open the sheet", "Write a row for each lot, and save", "Print its labels")
    assert [page.count(f"<h2>{heading}</h2>") for heading in headings] == [1, 1, 1]
    path = str(sheet).replace("&", "&amp;").replace("<", "&lt;").replace(">", "&gt;")
    assert f'value="{path.replace(chr(34), "&#34;").replace(chr(39), "&#39;")}"' in page
    assert ("By what is due" in page, "Show only" in page) == (False, False)
    assert ">walk-in</a>" in page


def test_the_link_for_the_codes_is_there_to_copy(sheet: Path) -> None:
    """Where phones can come, and as long as there is none: a tag printed first shall lead here too."""
    here, field = "http://192.168.1.5:8008", 'value="HTTP://192.168.1.5:8008/L/{lot}"'
    served = Served(sheet, own=("127.0.0.1",))
    assert field in served.client.get("/", base_url=here).get_data(as_text=True)
    assert 'id="link"' not in served.client.get("/").get_data(as_text=True)
    assert 'id="link"' not in Served(sheet).client.get("/", base_url=here).get_data(as_text=True)
    book = openpyxl.load_workbook(sheet)
    row_of_link = next(row for row in book["Farm"].iter_rows() if row[0].value == "link")
    row_of_link[1].value = "HTTP://192.168.1.5:8008/L/{lot}"
    book.save(sheet)
    served.later()
    assert 'id="link"' not in served.client.get("/", base_url=here).get_data(as_text=True)


def test_the_path_is_shown_to_this_computer_alone(sheet: Path) -> None:
    """A phone is told the name of the sheet, not where it lies."""
    page = Served(sheet).text("/")
    assert ("Open the sheet" in page, "lots.xlsx, on the computer" in page) == (True, True)
    assert str(sheet.parent.parent) not in page


def test_with_a_lot_it_is_the_list_again(tmp_path: Path) -> None:
    """So it is with a row that has to be corrected."""
    served = Served(write_season(tmp_path, row("041")))
    assert "No lots yet" not in served.text("/")
    write_season(tmp_path, "041,tulip,Pale Harbour,single,yesterday,tight,120,,")
    served.later()
    assert "Rows to correct" in served.text("/")
    assert "No lots yet" not in served.text("/")
