"""The demo's papers in three renderers, and what other tools say of the files.

pdfium comes with the package; poppler, MuPDF and qpdf are programs of the system. What is missing is skipped.
"""

from __future__ import annotations

import shutil
import subprocess
from dataclasses import replace
from datetime import datetime
from itertools import combinations
from pathlib import Path
from typing import Any

import cv2
import numpy as np
import pypdfium2 as pdfium  # type: ignore[import-untyped]  # it comes without types
import pytest
from PIL import Image

from tagmaker.desk.jobs import Wanted
from tagmaker.desk.printing import print_papers
from tagmaker.desk.season import Day, read_season

pytestmark = pytest.mark.slow

NOW = datetime(2027, 4, 21, 9)
DPI = 300
# Renderers put edges up to half a dot apart, so pages are compared as an eye sees them that tells 0.34 mm
# apart. Measured on the demo's first pages: 0.7 to 2.8 of 255 on average and 32 to 52 at most, and pages as
# a whole 0.35 lighter or darker.
EYE_MM = 0.34
MEAN_OFF, MOST_OFF, DARKER = 4.0, 80.0, 1.0  # [grey of 255]
PAPERS = ("wrap-labels.pdf", "crate-cards.pdf", "cooler-checklist.pdf", "buyer-labels.pdf")
Grey = np.ndarray[Any, np.dtype[np.float32]]


def needs(*programs: str) -> pytest.MarkDecorator:
    """Skips a test where a program is not installed."""
    missing = [program for program in programs if shutil.which(program) is None]
    return pytest.mark.skipif(bool(missing), reason=f"not installed: {', '.join(missing)}")


@pytest.fixture(scope="module")
def papers(demo: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with all papers of the demo, on Letter."""
    folder = tmp_path_factory.mktemp("papers")
    season = read_season(demo / "lots.csv", Day(NOW.date(), NOW))
    season = replace(season, farm=replace(season.farm, link="HTTPS://LMYARD.EXAMPLE/L/{lot}"))
    kinds = ("wraps", "crates", "checklist", "buyers")
    print_papers(season, Wanted(kinds=kinds, out=folder, remember=False), lambda _: None)
    return folder


def seen(picture: Path) -> Grey:
    """A page in grey."""
    return np.asarray(Image.open(picture).convert("L"), dtype=np.float32)


def by_poppler(pdf: Path, number: int, folder: Path) -> Grey:
    """A page as poppler shows it."""
    target = folder / f"poppler-{number}"
    pages = ("-f", str(number), "-l", str(number))
    subprocess.run(
        ["pdftoppm", "-r", str(DPI), *pages, "-gray", "-png", "-singlefile", pdf, target], check=True
    )
    return seen(target.with_suffix(".png"))


def by_mupdf(pdf: Path, number: int, folder: Path) -> Grey:
    """A page as MuPDF shows it."""
    target = folder / f"mupdf-{number}.png"
    command = ["mutool", "draw", "-q", "-r", str(DPI), "-c", "gray", "-o", str(target), str(pdf), str(number)]
    subprocess.run(command, check=True, capture_output=True)
    return seen(target)


def by_pdfium(pdf: Path, number: int) -> Grey:
    """A page as pdfium shows it."""
    with pdfium.PdfDocument(pdf) as document:
        page = document[number - 1].render(scale=DPI / 72, grayscale=True)
        return np.asarray(page.to_pil(), dtype=np.float32)


@needs("pdftoppm", "mutool")
@pytest.mark.parametrize("name", PAPERS)
def test_three_renderers_show_a_paper_alike(papers: Path, tmp_path: Path, name: str) -> None:
    """First and last page: as dark as the others, and alike for an eye that tells a third of a mm apart."""
    pdf = papers / name
    with pdfium.PdfDocument(pdf) as document:
        ends = {1, len(document)}
    for number in ends:
        pages = [by_pdfium(pdf, number), by_poppler(pdf, number, tmp_path), by_mupdf(pdf, number, tmp_path)]
        tall, wide = (min(page.shape[side] for page in pages) for side in (0, 1))
        eye = EYE_MM * DPI / 25.4
        smooth = [cv2.GaussianBlur(page[:tall, :wide], (0, 0), eye) for page in pages]
        for one, other in combinations(smooth, 2):
            off = np.abs(one - other)
            assert (float(off.mean()) <= MEAN_OFF, float(off.max()) <= MOST_OFF) == (True, True)
            assert abs(float(one.mean() - other.mean())) <= DARKER


@needs("qpdf")
@pytest.mark.parametrize("name", PAPERS)
def test_another_tool_finds_nothing_wrong_with_the_file(papers: Path, name: str) -> None:
    """Syntax, streams and cross-references: qpdf ends with 0 only without errors and warnings."""
    done = subprocess.run(["qpdf", "--check", papers / name], capture_output=True, text=True, check=False)
    assert (done.returncode, "No syntax or stream encoding errors found" in done.stdout) == (0, True)


@needs("pdffonts")
@pytest.mark.parametrize("name", PAPERS)
def test_every_font_is_in_the_file(papers: Path, name: str) -> None:
    """Embedded, as a subset, with a table that gives its letters back."""
    done = subprocess.run(["pdffonts", papers / name], capture_output=True, text=True, check=True)
    rows = [line.split() for line in done.stdout.splitlines()[2:]]
    assert rows != []
    assert [row for row in rows if row[-5:-2] != ["yes", "yes", "yes"]] == []


@pytest.mark.parametrize("name", PAPERS)
def test_printing_in_grey_loses_nothing(papers: Path, name: str) -> None:
    """A page in colour is the same as in grey: every dot has three equal parts."""
    with pdfium.PdfDocument(papers / name) as document:
        for page in document:
            red, green, blue = np.moveaxis(np.asarray(page.render(scale=0.7).to_pil().convert("RGB")), -1, 0)
            assert bool((red == green).all() and (green == blue).all())
            assert int(red.min()) < 64
