"""The season plan on the bench: shown to paired phones; rows are accepted once, and refused once changed."""

from __future__ import annotations

import re
from datetime import datetime
from pathlib import Path

import pytest

from tagmaker.desk.season import Day
from tagmaker.desk.serving import Folder
from tagmaker.record.journal.beside import journal_path
from tagmaker.record.journal.entries import Kind
from tagmaker.record.journal.file import read_book
from tests import served
from tests.glut import SUNDAY, write_glut
from tests.served import CODE, Served, pair

ADDRESS = "/bench/plan"


@pytest.fixture
def sheet(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The glut's season, as of its Sunday, on a computer of its own."""
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path / "config"))
    moment = datetime.fromisoformat(SUNDAY)

    def folder_of(sheet: Path, told: list[str]) -> Folder:
        day = Day(moment.date(), moment)
        return Folder(sheet=sheet, today=day, templates=None, wall=lambda _: moment, tell=told.append)

    monkeypatch.setattr(served, "folder_of", folder_of)
    return write_glut(tmp_path / "season", "walk-in")


def rows(page: str) -> list[str]:
    """The names of the rows that may be ticked."""
    return re.findall(r'<input type="checkbox" name="row" value="([^"]+)">', page)


def hidden(page: str) -> dict[str, str]:
    """The hidden fields of the form."""
    form = page[page.index('action="/bench/plan"') :]
    return dict(re.findall(r'<input type="hidden" name="(\w+)" value="([^"]*)"', form))


def test_ticked_rows_are_accepted_once(sheet: Path) -> None:
    """Two rows become a planned lot with its orders; the same form sent again writes nothing more."""
    here = Served(sheet)
    page = here.text(ADDRESS)
    names = rows(page)
    assert len(names) == 6
    assert "40 bunches WATER" in page
    holiday = [name for name in names if "-051" in name]
    form = {**hidden(page), "row": holiday}
    first = here.client.post(ADDRESS, data=form)
    assert (first.status_code, first.headers["Location"]) == (303, "/bench/plan?saved=2")
    again = here.client.post(ADDRESS, data=form)
    assert (again.status_code, again.headers["Location"]) == (303, "/bench/plan?saved=2")
    entries = read_book(journal_path(sheet)).entries
    assert [entry.kind for entry in entries] == [Kind.PLANNED, Kind.PLANNED, Kind.KEPT, Kind.KEPT]
    after = here.text("/bench/plan?saved=2")
    assert "SAVED: 2 rows of the plan accepted." in after
    assert set(rows(after)).isdisjoint(holiday)
    assert "for TUE 11 MAY; test a bunch first" in here.text("/L/201B")


def test_what_changed_since_is_refused(sheet: Path) -> None:
    """Once fewer stems are planned, rows of an older page are not those of the plan: nothing is written."""
    here = Served(sheet)
    page = here.text(ADDRESS)
    sheet.write_text(sheet.read_text().replace(",3000,", ",900,"), encoding="utf-8")
    here.later()
    here.text(ADDRESS)
    refused = here.client.post(ADDRESS, data={**hidden(page), "row": rows(page)})
    assert refused.status_code == 409
    assert "Nothing was accepted." in refused.get_data(as_text=True)
    assert not journal_path(sheet).exists()


def test_a_form_without_a_tick_is_told_so(sheet: Path) -> None:
    """Nothing is accepted where no row is ticked."""
    here = Served(sheet)
    answer = here.client.post(ADDRESS, data=hidden(here.text(ADDRESS)))
    assert answer.status_code == 400
    assert "no row is ticked" in answer.get_data(as_text=True)


def test_a_phone_that_is_not_paired_sees_no_plan_and_accepts_nothing(sheet: Path) -> None:
    """On the local network the plan and its form are for paired phones."""
    here = Served(sheet, code=CODE)
    assert rows(here.text(ADDRESS)) == []
    assert here.client.post(ADDRESS, data={"row": "201-0510-00000"}).status_code == 403
    pair(here.client, back=ADDRESS)
    assert len(rows(here.text(ADDRESS))) == 6
