"""Pages as files: what is written, what is taken away, and that no page is ever half."""

from __future__ import annotations

import csv
import os
import shutil
from dataclasses import replace
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from tagmaker.cli import main
from tagmaker.errors import OutputProblem
from tagmaker.scan.page_files import page_files, write_pages
from tests.farms import make_lot
from tests.page_sources import main_text, page_source, parsed, tag

pytestmark = pytest.mark.slow

TODAY = ("--today", "2027-04-21T09:00")


def names_in(folder: Path) -> set[str]:
    """The files of a folder."""
    return {path.name for path in folder.iterdir()}


def test_a_page_each_with_the_index_last(tmp_path: Path) -> None:
    """Two lots and a cooler make four pages, a stylesheet and a script."""
    paths = write_pages(page_source(make_lot(), make_lot(lot_code="042")), tmp_path / "made" / "pages")
    assert [path.name for path in paths] == ["041.html", "042.html", "COOLER.BARN.html", "index.html"]
    assert names_in(tmp_path / "made" / "pages") == {path.name for path in paths} | {"pages.css", "pages.js"}


def test_a_page_of_a_lot_that_is_gone_is_taken_away(tmp_path: Path) -> None:
    """Its dates would be looked after by nobody; what is not ours stays."""
    both = page_source(make_lot(), make_lot(lot_code="042"))
    write_pages(both, tmp_path)
    (tmp_path / "mine.html").write_text("<!doctype html><title>Prices</title>", encoding="utf-8")
    (tmp_path / "042.txt").write_text("mine", encoding="utf-8")
    write_pages(page_source(make_lot()), tmp_path)
    assert names_in(tmp_path) == {
        *("041.html", "COOLER.BARN.html", "index.html", "pages.css", "pages.js"),
        *("mine.html", "042.txt"),
    }


def test_a_printed_lot_that_left_the_sheet_keeps_a_page_that_says_so(tmp_path: Path) -> None:
    """A scan of a crate that is still there finds what was printed, and that nobody checked it since."""
    source = page_source(make_lot())
    write_pages(replace(source, printed={"042": (tag(source.dates_of["041"]),)}), tmp_path)
    text = main_text((tmp_path / "042.html").read_text(encoding="utf-8"))
    assert "NOT IN THE SHEET any more." in text
    assert "Nobody has checked these dates since." in text


def test_one_lot_alone_leaves_the_other_pages(tmp_path: Path) -> None:
    """Only the page that was asked for is written, and none removed."""
    both = page_source(make_lot(), make_lot(lot_code="042"))
    write_pages(both, tmp_path)
    for name in ("041.html", "042.html", "index.html"):
        (tmp_path / name).write_text(f"old {name}", encoding="utf-8")
    paths = write_pages(both, tmp_path, ["042"])
    assert paths == (tmp_path / "042.html",)
    kept = {name: (tmp_path / name).read_text(encoding="utf-8") for name in ("041.html", "index.html")}
    assert kept == {"041.html": "old 041.html", "index.html": "old index.html"}
    assert (tmp_path / "042.html").read_text(encoding="utf-8") == page_files(both)["042.html"]


@pytest.mark.parametrize("stop_at", range(6))
def test_a_failure_in_the_middle_leaves_every_page_whole(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, stop_at: int
) -> None:
    """Wherever the disk fails, each file is the old one or the new one, and no part is left lying."""
    old = page_files(page_source(make_lot(variety="Old"), make_lot(lot_code="042")))
    new = page_files(page_source(make_lot(variety="New"), make_lot(lot_code="042", variety="New")))
    write_pages(page_source(make_lot(variety="Old"), make_lot(lot_code="042")), tmp_path)
    calls = iter(range(100))
    sync = os.fsync

    def full_disk(file: int) -> None:
        if next(calls) == stop_at:
            raise OSError(28, "No space left on device")
        sync(file)

    monkeypatch.setattr(os, "fsync", full_disk)
    source = page_source(make_lot(variety="New"), make_lot(lot_code="042", variety="New"))
    with pytest.raises(OutputProblem, match=r"could not be written \(No space left on device\)"):
        write_pages(source, tmp_path)
    found = {name: (tmp_path / name).read_text(encoding="utf-8") for name in names_in(tmp_path)}
    assert set(found) == set(old)
    assert [name for name, text in found.items() if text not in (old[name], new[name])] == []


def test_a_folder_that_is_a_file_is_said(tmp_path: Path) -> None:
    """No traceback where pages cannot be put."""
    (tmp_path / "pages").write_text("", encoding="utf-8")
    with pytest.raises(OutputProblem, match="choose another folder with --out"):
        write_pages(page_source(), tmp_path / "pages")


# --- the command --------------------------------------------------------------------------------------------


def run(*arguments: str | Path) -> Result:
    """What the command says, and its exit code."""
    return CliRunner().invoke(main, ["lot-pages", *(str(argument) for argument in arguments)])


@pytest.fixture
def season(demo: Path, tmp_path: Path) -> Path:
    """The sheet of a copy of the demo, of which nothing was printed."""
    for name in ("lots.csv", "tagmaker.toml"):
        shutil.copy(demo / name, tmp_path)
    shutil.copytree(demo / "logs", tmp_path / "logs")
    return tmp_path / "lots.csv"


def test_the_command_writes_a_page_for_every_row_of_the_demo(season: Path) -> None:
    """Every lot of the sheet and every cooler has its page, and the index is named on stdout."""
    before = season.read_bytes()
    result = run(season, *TODAY)
    assert result.exit_code == 0, result.output
    folder = season.parent / "papers" / "pages"
    assert result.stdout == f"{folder / 'index.html'}\n"
    with season.open(encoding="utf-8", newline="") as sheet:
        codes = {row["Lot"] for row in csv.DictReader(sheet)}
    coolers = {"COOLER.WALK-IN", "COOLER.OLD-FRIDGE", "COOLER.BULB-ROOM"}
    assert names_in(folder) == {f"{name}.html" for name in codes | coolers | {"index"}} | {
        "pages.css",
        "pages.js",
    }
    assert season.read_bytes() == before
    for path in folder.glob("*.html"):
        parsed(path.read_text(encoding="utf-8"))


def test_tags_that_became_untrue_are_named_on_the_page(season: Path) -> None:
    """Labels are printed, the sheet changes, and the page says which date the tag still bears."""
    printed = CliRunner().invoke(main, ["wraps", str(season), *TODAY, "--lot", "110"])
    assert printed.exit_code == 0, printed.output
    text = season.read_text(encoding="utf-8")
    season.write_text(
        text.replace("2027-04-16T08:30,tight,120", "2027-04-16T08:30,coloured,120"), encoding="utf-8"
    )
    assert run(season, *TODAY, "--lot", "110").exit_code == 0
    page = main_text((season.parent / "papers" / "pages" / "110.html").read_text(encoding="utf-8"))
    assert "REPRINT TAG" in page
    assert "wrap label, printed WED 21 APR 9 AM, says DRY sell by TUE 27 APR" in page


def test_a_row_with_a_problem_has_a_page_and_stops_no_other(season: Path) -> None:
    """Exit code 1, the problem on stderr and on its page, all others written."""
    text = season.read_text(encoding="utf-8")
    season.write_text(text.replace("401,dahlia", "401,dalia"), encoding="utf-8")
    result = run(season, *TODAY)
    assert result.exit_code == 1
    assert "crop must be a known crop" in result.stderr
    folder = season.parent / "papers" / "pages"
    assert 'got "dalia"' in main_text((folder / "401.html").read_text(encoding="utf-8"))
    assert "SELL BY" in main_text((folder / "101.html").read_text(encoding="utf-8"))


def test_a_lot_that_is_not_in_the_sheet_is_a_usage_problem(season: Path) -> None:
    """Exit code 2, the nearest codes named, nothing written."""
    result = run(season, *TODAY, "--lot", "1O1")
    assert result.exit_code == 2
    assert "Nearest:" in result.stderr
    assert not (season.parent / "papers").exists()


def test_the_same_season_gives_the_same_files(season: Path) -> None:
    """Two runs as of the same moment write the same bytes."""
    folders = [season.parent / name for name in ("one", "two")]
    for folder in folders:
        assert run(season, *TODAY, "-o", folder).exit_code == 0
    one, two = ({path.name: path.read_bytes() for path in (folder / "pages").iterdir()} for folder in folders)
    assert one == two
