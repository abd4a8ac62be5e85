"""Sending to a real spooler: what reaches the printer has the stock's size, nothing moved or shrunk."""

import subprocess
from collections.abc import Iterator
from pathlib import Path

import pypdfium2 as pdfium  # type: ignore[import-untyped]  # it comes without types
import pytest
import zxingcpp
from click.testing import CliRunner

from tagmaker.cli import main
from tagmaker.errors import OutputProblem
from tagmaker.paper.deliver.spooler import PaperFile, send
from tagmaker.paper.press.boxes import MM, Box, Code, Drawing, Frame, Placed, Sheet
from tagmaker.paper.press.ink import print_sheets
from tagmaker.paper.press.qr import sized_symbol
from tests.private_spooler import PRINTER, Spooler, private_spooler
from tests.served import SETTINGS, Served, print_wraps, row, settled, write_season

pytestmark = pytest.mark.slow

DPI = 300
POINT = 1 / MM  # [mm]
MOVED = 0.3  # [mm] that a code may have moved at most; a page made to fit moves its corners by 6 mm

Marks = dict[tuple[str, int], tuple[float, float]]  # a code's text and number on the page -> its centre [mm]


@pytest.fixture(scope="module")
def spooler() -> Iterator[Spooler]:
    """A scheduler of our own for this file's tests."""
    with private_spooler() as running:
        yield running


@pytest.fixture(autouse=True)
def _our_own_server(spooler: Spooler, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("CUPS_SERVER", spooler.server)


def sizes(pdf: bytes) -> list[tuple[float, float]]:
    """Width and height of each page [mm]."""
    with pdfium.PdfDocument(pdf) as document:
        return [(width / MM, height / MM) for width, height in (page.get_size() for page in document)]


def codes(pdf: bytes, turned: int = 0) -> list[Marks]:
    """Where each code of each page is, read from its picture; a page that was turned is turned back."""
    with pdfium.PdfDocument(pdf) as document:
        pictures = [page.render(scale=DPI / 72, grayscale=True).to_pil() for page in document]
    return [_marks(picture.rotate(-turned, expand=True)) for picture in pictures]


def _marks(picture: object) -> Marks:
    centres: dict[str, list[tuple[float, float]]] = {}
    for code in zxingcpp.read_barcodes(picture):
        near, far = code.position.top_left, code.position.bottom_right
        centre = ((near.x + far.x) / 2 * 25.4 / DPI, (near.y + far.y) / 2 * 25.4 / DPI)
        centres.setdefault(code.text, []).append(centre)
    return {
        (text, n): centre
        for text, some in centres.items()
        for n, centre in enumerate(sorted(some, key=lambda centre: (round(centre[1]), round(centre[0]))))
    }


def furthest(before: list[Marks], after: list[Marks]) -> float:
    """How far the code that moved most has moved [mm]; all must be there before and after."""
    assert [sorted(page) for page in after] == [sorted(page) for page in before]
    assert sum(len(page) for page in before) > 0
    return max(
        abs(length - other)
        for page, printed in zip(before, after, strict=True)
        for key in page
        for length, other in zip(page[key], printed[key], strict=True)
    )


def corners(width: float, height: float) -> bytes:
    """Two pages with a code in each of two corners, and a frame along the edge."""
    side = min(width / 2, height) - 4
    code = Code(Box(0, 0, side, side), sized_symbol("041", side, "x"))
    tag = Drawing(side, side, (code,), "041")
    frame = Drawing(width, height, (Frame(Box(1, 1, width - 2, height - 2)),))
    placed = (Placed(tag, 2, 2), Placed(tag, width - side - 2, height - side - 2), Placed(frame, 0, 0))
    return print_sheets("tags.pdf", "Tags", [Sheet(width, height, placed)] * 2).pdf


def test_the_demo_s_wrap_labels_come_out_as_they_were_drawn(
    spooler: Spooler, demo: Path, tmp_path: Path
) -> None:
    """`wraps --send`: as many pages of the stock's size, and every code within 0.3 mm of its place."""
    command = ["wraps", str(demo / "lots.xlsx"), "--today", "2027-04-21T09:00", "-o", str(tmp_path)]
    result = CliRunner().invoke(main, [*command, "--no-record", "--send", PRINTER])
    assert result.exit_code == 0, result.output
    assert f"sent wrap-labels.pdf to {PRINTER}, Letter, not scaled (request id is {PRINTER}-" in result.stderr
    drawn, printed = (tmp_path / "wrap-labels.pdf").read_bytes(), spooler.printed()
    assert printed != drawn  # it went through the spooler's filter
    assert sizes(printed) == [pytest.approx((215.9, 279.4), abs=0.01)] * len(sizes(drawn))
    assert furthest(codes(drawn), codes(printed)) <= MOVED


def test_the_bench_prints_as_the_phone_would_have_got_it(spooler: Spooler, tmp_path: Path) -> None:
    """From the phone to the queue of the settings: twelve labels of a roll, and they count as printed."""
    settings = f'{SETTINGS}[printers.bench]\nqueue = "{PRINTER}"\n'
    served = Served(write_season(tmp_path, row("041"), settings=settings))
    roll = {"stock": "roll-57x32mm", "tags": "12"}
    answer = print_wraps(served.client, to="bench", **roll)
    assert "Sent to bench." in answer.get_data(as_text=True)
    printed = spooler.printed()
    assert sizes(printed) == [pytest.approx((57, 32), abs=POINT)] * 12
    drawn = print_wraps(served.client, **roll).get_data()
    assert furthest(codes(drawn), codes(printed)) <= MOVED
    assert [line.count for line in settled(served.sheet).lines("wraps")] == [12, 12]


def test_the_same_labels_made_to_fit_are_found_out(spooler: Spooler, demo: Path, tmp_path: Path) -> None:
    """What this file measures can fail: the same printer shrinks a page that is sent to be fitted."""
    command = ["wraps", str(demo / "lots.xlsx"), "--today", "2027-04-21T09:00", "-o", str(tmp_path)]
    assert CliRunner().invoke(main, [*command, "--no-record", "--lot", "101"]).exit_code == 0
    path = tmp_path / "wrap-labels.pdf"
    fitted = ["lp", "-d", PRINTER, "-o", "media=Letter", "-o", "print-scaling=fit", str(path)]
    subprocess.run(fitted, check=True, capture_output=True)
    assert furthest(codes(path.read_bytes()), codes(spooler.printed())) > 1.0


@pytest.mark.parametrize(
    ("width", "height"),
    [(215.9, 279.4), (210, 297), (57, 32), (62, 29), (50, 25), (101.6, 152.4), (76.2, 50.8)],
)
def test_every_size_keeps_its_size_and_place(
    spooler: Spooler, tmp_path: Path, width: float, height: float
) -> None:
    """Sheets and rolls, printed to the edge; the spooler counts paper in whole points, rounded down."""
    drawn = corners(width, height)
    (tmp_path / "tags.pdf").write_bytes(drawn)
    send([PaperFile(tmp_path / "tags.pdf", width, height)], PRINTER, lambda _: None)
    printed = spooler.printed()
    assert sizes(printed) == [pytest.approx((width, height), abs=POINT)] * 2
    assert furthest(codes(drawn), codes(printed)) <= MOVED


@pytest.mark.parametrize(("width", "height"), [(279.4, 215.9), (297, 210)])
def test_a_lying_page_is_turned_and_not_shrunk(
    spooler: Spooler, tmp_path: Path, width: float, height: float
) -> None:
    """The paper in the tray stands: the checklist comes out a quarter turn round, at its own size."""
    drawn = corners(width, height)
    (tmp_path / "tags.pdf").write_bytes(drawn)
    send([PaperFile(tmp_path / "tags.pdf", width, height)], PRINTER, lambda _: None)
    printed = spooler.printed()
    assert sizes(printed) == [pytest.approx((height, width), abs=POINT)] * 2
    assert furthest(codes(drawn), codes(printed, turned=90)) <= MOVED


def test_a_printer_that_the_real_spooler_does_not_know(tmp_path: Path) -> None:
    """The message names the one that it knows."""
    (tmp_path / "tags.pdf").write_bytes(corners(57, 32))
    with pytest.raises(OutputProblem, match=rf'the printer must be one of {PRINTER} \(got "GATS"\)'):
        send([PaperFile(tmp_path / "tags.pdf", 57, 32)], "GATS", lambda _: None)


def test_a_queue_that_takes_no_jobs_is_told_in_the_real_spooler_s_words(
    spooler: Spooler, tmp_path: Path
) -> None:
    """Set to refuse, as when a printer is away for repair."""
    (tmp_path / "tags.pdf").write_bytes(corners(57, 32))
    subprocess.run(["/usr/sbin/cupsreject", "-h", spooler.server, PRINTER], check=True, capture_output=True)
    try:
        with pytest.raises(OutputProblem, match=r"got from lp: .*not accepting jobs"):
            send([PaperFile(tmp_path / "tags.pdf", 57, 32)], PRINTER, lambda _: None)
    finally:
        subprocess.run(
            ["/usr/sbin/cupsaccept", "-h", spooler.server, PRINTER], check=True, capture_output=True
        )


def test_a_scheduler_that_is_not_there(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """CUPS is installed but does not run."""
    monkeypatch.setenv("CUPS_SERVER", str(tmp_path / "nobody"))
    (tmp_path / "tags.pdf").write_bytes(corners(57, 32))
    with pytest.raises(OutputProblem, match="See with lpstat -r that it runs"):
        send([PaperFile(tmp_path / "tags.pdf", 57, 32)], PRINTER, lambda _: None)
