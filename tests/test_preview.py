"""Previews: a picture of every page beside its PDF, whole or not at all, and none that is out of date."""

from pathlib import Path

import numpy as np
import pytest
from click.testing import CliRunner, Result
from PIL import Image
from PIL.PngImagePlugin import PngInfo

from tagmaker.cli import main
from tagmaker.errors import OutputProblem
from tagmaker.paper.deliver.filing import file_papers
from tagmaker.paper.deliver.preview import preview_names, preview_pages
from tagmaker.paper.press.boxes import Box, Drawing, Frame, Placed, Sheet
from tagmaker.paper.press.ink import Inked, print_sheets


def paper(pages: int, width: float = 215.9, height: float = 279.4, name: str = "tags.pdf") -> Inked:
    """Pages with a black box of 10 × 10 mm, 20 mm from the left and 10 mm from the top."""
    drawing = Drawing(10, 10, (Frame(Box(0, 0, 10, 10), filled=True),))
    return print_sheets(name, "Tags", [Sheet(width, height, (Placed(drawing, 20, 10),))] * pages)


def names(folder: Path) -> list[str]:
    """What lies in a folder."""
    return sorted(path.name for path in folder.iterdir())


def run(*arguments: object) -> Result:
    """What a command prints, and its exit code."""
    return CliRunner().invoke(main, [str(argument) for argument in arguments])


# --- the pictures


def test_names_have_the_digits_of_the_page_count() -> None:
    """So that a file list shows them in order."""
    assert preview_names(paper(3)) == ("tags-1.png", "tags-2.png", "tags-3.png")
    assert [preview_names(paper(12))[n] for n in (0, 11)] == ["tags-01.png", "tags-12.png"]
    assert preview_names(paper(100))[0] == "tags-001.png"


def test_a_picture_shows_the_page_for_a_screen(tmp_path: Path) -> None:
    """A hundred dots an inch, in grey, black where the page is black and upright."""
    (filed,) = file_papers(tmp_path, [paper(1)], preview=True)
    with Image.open(filed.previews[0]) as picture:
        assert (picture.format, picture.mode, picture.size) == ("PNG", "L", (850, 1100))
        assert picture.info["dpi"] == pytest.approx((100, 100), abs=0.1)
        dark = np.argwhere(np.asarray(picture) < 128) * 25.4 / 100  # [mm] down, across
    assert dark.min(axis=0) == pytest.approx((10, 20), abs=0.3)
    assert dark.max(axis=0) == pytest.approx((20, 30), abs=0.3)


def test_a_roll_s_label_is_shown_larger() -> None:
    """Six hundred dots along its longer side."""
    (content,) = preview_pages(paper(1, 57, 32))
    assert int.from_bytes(content[16:20], "big") == pytest.approx(600, abs=1)  # width in the PNG header


def test_the_same_paper_gives_the_same_pictures() -> None:
    """Byte for byte."""
    assert list(preview_pages(paper(2))) == list(preview_pages(paper(2)))


# --- in the folder


def test_pictures_of_an_earlier_longer_paper_are_taken_away(tmp_path: Path) -> None:
    """Twelve pages, then three, then one: no page of an older paper stays."""
    for pages in (12, 3, 1):
        file_papers(tmp_path, [paper(pages), paper(2, name="cards.pdf")], preview=True)
        expected = [*preview_names(paper(pages)), "tags.pdf", "cards-1.png", "cards-2.png", "cards.pdf"]
        assert names(tmp_path) == sorted(expected)


def test_pictures_that_are_not_ours_stay(tmp_path: Path) -> None:
    """By name alone a grower's own picture could look like a page; nor are those of other papers touched."""
    own = PngInfo()
    own.add_text("Software", "a camera")
    Image.new("L", (5, 5)).save(tmp_path / "tags-7.png", pnginfo=own)
    (tmp_path / "tags-8.png").write_bytes(b"")
    (tmp_path / "tags-9.png").mkdir()
    file_papers(tmp_path, [paper(1, name="tags-old.pdf")], preview=True)
    file_papers(tmp_path, [paper(1)], preview=True)
    kept = ["tags-7.png", "tags-8.png", "tags-9.png", "tags-old-1.png", "tags-old.pdf"]
    assert names(tmp_path) == sorted([*kept, "tags-1.png", "tags.pdf"])


def test_a_grower_s_own_picture_in_the_place_of_ours_stops_all(tmp_path: Path) -> None:
    """It is not replaced, nor is the PDF; without a preview the PDF is printed."""
    own = tmp_path / "tags-2.png"
    Image.new("L", (5, 5)).save(own)
    before = own.read_bytes()
    with pytest.raises(OutputProblem, match=r"tags-2\.png must be free for a preview"):
        file_papers(tmp_path, [paper(2)], preview=True)
    assert names(tmp_path) == ["tags-2.png"]
    file_papers(tmp_path, [paper(2)])
    assert (names(tmp_path), own.read_bytes()) == (["tags-2.png", "tags.pdf"], before)


def test_without_preview_no_picture_is_made_and_none_of_an_older_paper_stays(tmp_path: Path) -> None:
    """Dates on a picture that the paper beside it no longer has would be wrong; other pictures stay."""
    Image.new("L", (5, 5)).save(tmp_path / "tags-7.png")
    file_papers(tmp_path, [paper(3), paper(1, name="cards.pdf")], preview=True)
    file_papers(tmp_path, [paper(1)])
    assert names(tmp_path) == ["cards-1.png", "cards.pdf", "tags-7.png", "tags.pdf"]


def test_a_full_disk_leaves_old_papers_and_pictures(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """At whichever file it is full: all are written before the first is moved."""
    file_papers(tmp_path, [paper(3)], preview=True)
    before = {path.name: path.read_bytes() for path in tmp_path.iterdir()}
    for room in range(3):
        left = [room]

        def flush(_: int, left: list[int] = left) -> None:
            left[0] -= 1
            if left[0] < 0:
                raise OSError(28, "No space left on device")

        monkeypatch.setattr("tagmaker.paper.deliver.filing.os.fsync", flush)
        with pytest.raises(OutputProblem, match="No space left on device"):
            file_papers(tmp_path, [paper(2, 210, 297)], preview=True)
        assert {path.name: path.read_bytes() for path in tmp_path.iterdir()} == before


def test_a_folder_in_a_picture_s_place_stops_all(tmp_path: Path) -> None:
    """The PDF is not replaced either, and the message names the place."""
    (tmp_path / "tags-2.png").mkdir()
    (tmp_path / "tags.pdf").write_bytes(b"old")
    with pytest.raises(OutputProblem, match=r"tags-2\.png could not be written \(Is a directory\)"):
        file_papers(tmp_path, [paper(2)], preview=True)
    assert names(tmp_path) == ["tags-2.png", "tags.pdf"]
    assert (tmp_path / "tags.pdf").read_bytes() == b"old"


# --- the command


@pytest.mark.parametrize("command", ["wraps", "crates", "checklist", "papers", "cooler"])
@pytest.mark.slow
def test_every_command_that_prints_has_previews(demo: Path, tmp_path: Path, command: str) -> None:
    """A picture for each page of each PDF; `papers` and its like name them after their PDF."""
    record = [] if command in ("checklist", "cooler") else ["--no-record"]
    result = run(
        command,
        demo / "lots.xlsx",
        "--today",
        "2027-04-21",
        "--lot",
        "101",
        "-o",
        tmp_path,
        "--preview",
        *record,
    )
    assert result.exit_code == 0, result.output
    papers, pictures = list(tmp_path.glob("*.pdf")), list(tmp_path.glob("*.png"))
    assert {path.name.rpartition("-")[0] for path in pictures} == {path.stem for path in papers}
    said = result.stderr if command == "cooler" else result.stdout
    assert [str(path) in said for path in (*papers, *pictures)] == [True] * len(papers + pictures)
