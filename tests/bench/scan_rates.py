"""How often two readers read the codes of each stock once a label on kraft paper is creased and tilted.

    python -m tests.bench.scan_rates [READS [STOCK ...]]

A simulation, not a test of phones: each read takes a label as it is printed (whole dots, black and white),
lays it on brown paper, creases and tilts it at random and looks at it with a camera of eight dots a
millimetre. The first reader is zxing-cpp; the second is OpenCV, which looks again as `tests.code_readers`
does. The lots are the shortest, a typical one and the worst: a lot code of twelve Ms shrinks the QR code.
"""

from __future__ import annotations

import sys
from collections.abc import Iterable, Iterator
from typing import Any, NamedTuple

import cv2
import numpy as np
import pypdfium2 as pdfium  # type: ignore[import-untyped]  # it comes without types
import zxingcpp

from tagmaker.errors import InputProblems
from tagmaker.farm import Printer
from tagmaker.lot import StorageDates
from tagmaker.paper.press.boxes import Box, Code, Placed, Sheet
from tagmaker.paper.press.ink import print_sheets
from tagmaker.paper.stock.label_sheets import tag_space
from tagmaker.paper.stock.label_stock import STOCKS
from tagmaker.paper.tag.wraps import lot_labels
from tagmaker.storage.crops import crop_table
from tagmaker.telling.teller import Teller
from tagmaker.telling.wording import Wording
from tests.code_readers import look_at
from tests.paper_samples import NOW, sample_farm
from tests.wrap_samples import lots_for

CAMERA = 8.0  # [dots/mm] of the label in the picture
PAPER, INK = 168.0, 52.0  # [grey] kraft paper and print on it
CREASES = (2, 6)  # how many, from and to
CREASE_MM = 0.5  # [mm] that a crease moves what lies at it, at most
TILT = 0.06  # that a corner moves, over the label's size
BLUR_MM = (0.05, 0.16)  # [mm] of the lens, from and to
NOISE = 6.0  # [grey]
MARGIN = 4.0  # [mm] of paper around the label
AROUND = 8.0  # [mm] around a code that the second reader sees
LINK = "HTTPS://MEADOW.EXAMPLE/L/{lot}"

Grey = np.ndarray[Any, np.dtype[np.float32]]


class Label(NamedTuple):
    """A label as its printer puts it down."""

    seen: Grey
    text: str  # what its code says
    module: float  # [mm]
    code: Box  # [mm]


def printed(dates: StorageDates, stock: str, link: str | None) -> Label | None:
    """The first label of a lot; None: it is refused."""
    space = tag_space(STOCKS[stock], Printer())
    farm = sample_farm(label_stock=stock, link=link)
    try:
        drawing, _ = next(
            iter(lot_labels(dates, space, Teller(farm, crop_table(), Wording(farm.units), NOW)))
        )
    except InputProblems:
        return None
    sheet = Sheet(drawing.width, drawing.height, (Placed(drawing, 0, 0),))
    code = next(part for part in drawing.elements if isinstance(part, Code))
    with pdfium.PdfDocument(print_sheets("label.pdf", "Label", [sheet]).pdf) as document:
        grey = document[0].render(scale=space.dpi / 72, grayscale=True).to_numpy()
    dots = np.where(grey.reshape(grey.shape[:2]) < 128, INK, PAPER).astype(np.float32)
    size = (round(drawing.width * CAMERA), round(drawing.height * CAMERA))
    seen = cv2.resize(dots, size, interpolation=cv2.INTER_AREA).astype(np.float32)
    return Label(seen, code.sized.symbol.text, code.sized.module, code.box)


def treated(label: Grey, chance: np.random.Generator) -> Grey:
    """The label creased, tilted, unevenly lit and out of focus."""
    margin = round(MARGIN * CAMERA)
    wide = cv2.copyMakeBorder(label, *(margin,) * 4, cv2.BORDER_CONSTANT, value=PAPER)
    tall, width = wide.shape
    y, x = np.mgrid[0:tall, 0:width].astype(np.float32)
    light = 1.0 + 0.12 * (x / width - 0.5) * chance.uniform(-1, 1)
    for _ in range(chance.integers(*CREASES, endpoint=True)):
        angle, reach = chance.uniform(0, np.pi), chance.uniform(2, 6) * CAMERA
        across = (x - chance.uniform(0, width)) * np.cos(angle) + (y - chance.uniform(0, tall)) * np.sin(
            angle
        )
        bump = np.exp(-((across / reach) ** 2)) * chance.uniform(-1, 1)
        x, y = x + bump * CREASE_MM * CAMERA * np.cos(angle), y + bump * CREASE_MM * CAMERA * np.sin(angle)
        light += 0.14 * bump * np.sign(across)
    bent = cv2.remap(wide, x.astype(np.float32), y.astype(np.float32), cv2.INTER_LINEAR, borderValue=PAPER)
    corners = np.array([(0, 0), (width, 0), (width, tall), (0, tall)], np.float32)
    moved = corners + chance.uniform(-TILT, TILT, (4, 2)).astype(np.float32) * (width, tall)
    turn = cv2.getPerspectiveTransform(corners, moved.astype(np.float32))
    seen = cv2.warpPerspective((bent * light).astype(np.float32), turn, (width, tall), borderValue=PAPER)
    blurred = cv2.GaussianBlur(seen, (0, 0), chance.uniform(*BLUR_MM) * CAMERA)
    return (blurred + chance.normal(0, NOISE, blurred.shape)).clip(0, 255).astype(np.float32)


def reads(seen: Grey, label: Label) -> tuple[bool, bool]:
    """Whether the first reader finds the code in the picture, and the second in the part around it."""
    picture = seen.astype(np.uint8)
    first = any(code.text == label.text for code in zxingcpp.read_barcodes(picture))
    near = label.code.inset(-AROUND).moved(MARGIN, MARGIN)
    left, top, right, bottom = (
        max(round(side * CAMERA), 0) for side in (near.x, near.y, near.right, near.bottom)
    )
    return first, look_at(picture[top:bottom, left:right]) == label.text


def rates(times: int, stocks: Iterable[str]) -> Iterator[str]:
    """A line for each stock and kind of code; per lot the module [mm] and the shares of both readers."""
    yield f"{'stock':16} {'code':6}" + "".join(f"{kind:>24}" for kind in ("shortest", "typical", "worst"))
    for stock in stocks:
        usual, worst = lots_for(stock, "typical"), lots_for(stock, "worst")
        for link in (LINK, None):
            columns = (_share(dates, stock, link, times) for dates in (usual[-1], usual[0], worst[0]))
            yield f"{stock:16} {'link' if link else 'dates':6}" + "".join(f"{text:>24}" for text in columns)


def _share(dates: StorageDates, stock: str, link: str | None, times: int) -> str:
    label = printed(dates, stock, link)
    if label is None:
        return "refused"
    chance = np.random.default_rng(27)
    got = [reads(treated(label.seen, chance), label) for _ in range(times)]
    first, second = (100 * sum(column) / times for column in zip(*got, strict=True))
    return f"{label.module:.2f} mm {first:4.0f} % {second:4.0f} %"


if __name__ == "__main__":
    for line in rates(int(sys.argv[1]) if sys.argv[1:] else 40, sys.argv[2:] or STOCKS):
        sys.stdout.write(line + "\n")
        sys.stdout.flush()
