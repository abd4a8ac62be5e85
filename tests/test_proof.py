"""The proof: a PDF whose codes do not say what they should is never put in place."""

from dataclasses import replace
from pathlib import Path

import pytest

from tagmaker.errors import OutputProblem
from tagmaker.paper.deliver.filing import place_files
from tagmaker.paper.press.boxes import Box, Code, Drawing, Frame, Placed, Sheet
from tagmaker.paper.press.ink import Inked, print_sheets
from tagmaker.paper.press.qr import sized_symbol
from tagmaker.paper.proof.proving import prove


def tag(lot: str, *extra: Frame) -> Drawing:
    """A tag with a code and perhaps something drawn over it."""
    sized = sized_symbol(f"{lot} SELL 2027-03-06", 20.0, "x")
    return Drawing(40, 22, (Code(Box(1, 1, 20, 20), sized), *extra), lot)


def sheet(*tags: Drawing) -> Sheet:
    """Tags under one another."""
    return Sheet(210, 297, tuple(Placed(one, 10, 10 + 25 * n) for n, one in enumerate(tags)))


def printed(*sheets: Sheet, name: str = "tags.pdf") -> Inked:
    """The PDF of some sheets."""
    return print_sheets(name, "Tags", sheets)


def fault(inked: Inked) -> str:
    """What the proof says."""
    with pytest.raises(OutputProblem) as error:
        prove(inked)
    return str(error.value)


def test_a_sound_pdf_is_proven() -> None:
    """Two pages, five codes, one of them twice."""
    prove(printed(sheet(tag("041"), tag("042"), tag("042")), sheet(tag("043"), tag("044"))))


def test_a_page_without_codes_is_proven() -> None:
    """There is nothing to miss on it."""
    prove(printed(Sheet(210, 297, ())))


@pytest.mark.parametrize(
    "blot",
    [
        Frame(Box(1, 1, 8, 8), filled=True),  # over a corner square
        Frame(Box(2, 9, 18, 5), filled=True),  # across the middle
    ],
)
def test_a_code_that_is_drawn_over_fails_with_its_page_and_lot(blot: Frame) -> None:
    """The accident that a long name makes."""
    inked = printed(sheet(tag("041")), sheet(tag("042"), tag("043", blot)))
    assert fault(inked) == (
        'tags.pdf, page 2: the code of lot 043 must read "043 SELL 2027-03-06" (it does not read back). '
        "Nothing was written."
    )


def test_a_code_that_says_something_else_fails() -> None:
    """The ink of one lot with the plan of another."""
    ink, plan = printed(sheet(tag("041"), tag("042"))), printed(sheet(tag("041"), tag("043")))
    assert fault(replace(plan, pdf=ink.pdf)) == (
        'tags.pdf, page 1: the code of lot 043 must read "043 SELL 2027-03-06" (got "042 SELL 2027-03-06"). '
        "Nothing was written."
    )


def test_exchanged_codes_fail() -> None:
    """Both texts are on the page, each on the other's tag."""
    ink, plan = printed(sheet(tag("041"), tag("042"))), printed(sheet(tag("042"), tag("041")))
    assert 'the code of lot 042 must read "042' in fault(replace(plan, pdf=ink.pdf))


def test_a_code_too_many_fails() -> None:
    """Nothing that was not meant is handed over."""
    ink, plan = printed(sheet(tag("041"), tag("042"))), printed(sheet(tag("041")))
    message = fault(replace(plan, pdf=ink.pdf))
    assert message.startswith('tags.pdf, page 1: there must be 1 codes (got one more: "042 SELL')


def test_a_missing_page_fails() -> None:
    """Pages are counted."""
    ink, plan = printed(sheet(tag("041"))), printed(sheet(tag("041")), sheet(tag("042")))
    assert fault(replace(plan, pdf=ink.pdf)) == "tags.pdf must have 2 pages (got 1)."


def test_bytes_that_are_no_pdf_fail() -> None:
    """Without a traceback of the reader's."""
    assert fault(replace(printed(sheet(tag("041"))), pdf=b"no pdf")).startswith(
        "tags.pdf must be a PDF that opens"
    )


def test_a_small_code_that_the_whole_page_misses_is_looked_at_alone() -> None:
    """Modules of two thirds of the least size: the second look is large enough for them."""
    sized = sized_symbol("041 SELL 2027-03-06 TO WATER 2027-03-05 18:00 " + "X" * 40, 25.0, "x")
    small = Code(Box(1, 1, 20, 20), replace(sized, module=0.25))
    prove(printed(sheet(Drawing(40, 22, (small,), "041"))))


# --- putting files in place


def test_papers_are_put_in_place_in_a_folder_that_is_made(tmp_path: Path) -> None:
    """Each under its name and whole; nothing else stays behind."""
    papers = [printed(sheet(tag("041")), name="one.pdf"), printed(sheet(tag("042")), name="two.pdf")]
    paths = place_files(tmp_path / "season" / "papers", papers)
    assert [path.read_bytes() for path in paths] == [paper.pdf for paper in papers]
    assert sorted(path.name for path in paths[0].parent.iterdir()) == ["one.pdf", "two.pdf"]


def test_nothing_is_replaced_where_one_paper_does_not_read_back(tmp_path: Path) -> None:
    """All are proven before the first is written."""
    (tmp_path / "one.pdf").write_bytes(b"old")
    good = printed(sheet(tag("041")), name="one.pdf")
    bad = replace(printed(sheet(tag("042")), name="two.pdf"), pdf=printed(sheet(tag("043"))).pdf)
    with pytest.raises(OutputProblem, match=r"two\.pdf, page 1"):
        place_files(tmp_path, [good, bad])
    assert [(path.name, path.read_bytes()) for path in tmp_path.iterdir()] == [("one.pdf", b"old")]


def test_a_folder_that_cannot_be_made_is_an_output_problem(tmp_path: Path) -> None:
    """A file stands where the folder should be; exit code 3."""
    (tmp_path / "papers").write_text("a file", encoding="utf-8")
    with pytest.raises(OutputProblem, match="could not be written") as error:
        place_files(tmp_path / "papers", [printed(sheet(tag("041")))])
    assert error.value.exit_code == 3
    assert str(tmp_path / "papers") in str(error.value)


def test_a_place_that_cannot_be_taken_leaves_no_part_behind(tmp_path: Path) -> None:
    """A folder stands where the file should be: the old things stay, and nothing half-written."""
    (tmp_path / "tags.pdf").mkdir()
    with pytest.raises(OutputProblem, match=r"tags\.pdf could not be written"):
        place_files(tmp_path, [printed(sheet(tag("041")))])
    assert [path.name for path in tmp_path.iterdir()] == ["tags.pdf"]


def test_a_full_disk_leaves_the_old_file(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The file system gives up while the data is flushed."""

    def full(_: int) -> None:
        raise OSError(28, "No space left on device")

    (tmp_path / "tags.pdf").write_bytes(b"old")
    monkeypatch.setattr("tagmaker.paper.deliver.filing.os.fsync", full)
    with pytest.raises(OutputProblem, match="No space left on device"):
        place_files(tmp_path, [printed(sheet(tag("041")))])
    assert [(path.name, path.read_bytes()) for path in tmp_path.iterdir()] == [("tags.pdf", b"old")]
