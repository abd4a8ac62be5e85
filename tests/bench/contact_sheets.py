"""One picture per label stock: the shortest, typical and worst lots, with a link and without, to look at.

    python -m tests.bench.contact_sheets FOLDER [STOCK ...]

A label that is refused stands there as its message.
"""

from __future__ import annotations

import sys
import textwrap
from pathlib import Path

import pypdfium2 as pdfium  # type: ignore[import-untyped]  # it comes without types
from PIL import Image, ImageDraw

from tagmaker.errors import InputProblems
from tagmaker.farm import Printer
from tagmaker.lot import StorageDates
from tagmaker.paper.press.boxes import Placed, Sheet
from tagmaker.paper.press.ink import print_sheets
from tagmaker.paper.stock.label_sheets import tag_space
from tagmaker.paper.stock.label_stock import STOCKS
from tagmaker.paper.tag.wraps import lot_labels
from tagmaker.storage.crops import crop_table
from tagmaker.telling.teller import Teller
from tagmaker.telling.wording import Wording
from tests.paper_samples import NOW, sample_farm
from tests.wrap_samples import typical, worst

DPI = 150
GAP = 12  # [dots] between pictures
LINK = "HTTPS://LARKMARROW.EXAMPLE/L/{lot}"


def label(dates: StorageDates, stock: str, link: str | None) -> Image.Image:
    """The first label of a lot with a frame, or why there is none."""
    farm = sample_farm(label_stock=stock, link=link)
    space = tag_space(STOCKS[stock], Printer())
    try:
        drawing, _ = next(
            iter(lot_labels(dates, space, Teller(farm, crop_table(), Wording(farm.units), NOW)))
        )
    except InputProblems as error:
        return _note(str(error.problems[0].what), space.width, space.height)
    sheet = Sheet(drawing.width, drawing.height, (Placed(drawing, 0, 0),))
    with pdfium.PdfDocument(print_sheets("label.pdf", "Label", [sheet]).pdf) as document:
        picture: Image.Image = document[0].render(scale=DPI / 72, grayscale=True).to_pil()
    ImageDraw.Draw(picture).rectangle((0, 0, picture.width - 1, picture.height - 1), outline=160)
    return picture


def _note(text: str, width: float, height: float) -> Image.Image:
    picture = Image.new("L", (round(width * DPI / 25.4), round(height * DPI / 25.4)), 230)
    ImageDraw.Draw(picture).text((4, 4), "\n".join(textwrap.wrap(text, picture.width // 7)), fill=0)
    return picture


def contact_sheet(stock: str) -> Image.Image:
    """A row for each lot: on the left with a link, on the right without."""
    lots = [typical()[-1], *typical()[:-1], *worst()]
    rows = [[label(dates, stock, link) for link in (LINK, None)] for dates in lots]
    wide, tall = rows[0][0].width + GAP, rows[0][0].height + GAP
    across = 3
    down = -(-len(rows) // across)
    sheet = Image.new("L", (2 * wide * across + GAP, tall * down + GAP), 255)
    for n, row in enumerate(rows):
        for m, picture in enumerate(row):
            sheet.paste(picture, (GAP + (n // down * 2 + m) * wide, GAP + n % down * tall))
    return sheet


if __name__ == "__main__":
    folder = Path(sys.argv[1])
    folder.mkdir(parents=True, exist_ok=True)
    for name in sys.argv[2:] or STOCKS:
        contact_sheet(name).save(folder / f"{name}.png")
        sys.stdout.write(f"{folder / name}.png\n")
