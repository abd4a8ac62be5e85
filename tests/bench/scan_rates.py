"""How often two readers read the codes of each stock once a label on kraft paper is creased and tilted.

    python -m tests.bench.scan_rates [READS [rough] [STOCK ...]]

A simulation, not a test of phones: each read takes a label as it is printed (whole dots, black and white),
lays it on brown paper, creases and tilts it at random and looks at it with a camera of eight dots a
millimetre. The first reader is zxing-cpp; the second is OpenCV, which looks again as `tests.code_readers`
does. The lots are the shortest, a typical one and the worst: a lot code of twelve Ms shrinks the QR code.
With `rough` the label is also bent round a wrap, and perspective, light, paper and noise are worse.
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
MARGIN = 4.0  # [mm] of paper around the label
AIM = 8.0  # [mm] by which a scan misses the middle of a code on a wrap, at most
AROUND = 8.0  # [mm] around a code that the second reader sees
LINK = "HTTPS://LMYARD.EXAMPLE/L/{lot}"

Grey = np.ndarray[Any, np.dtype[np.float32]]


class Treatment(NamedTuple):
    """What a label goes through before it is read; all of it is chosen."""

    creases: tuple[int, int]  # how many, from and to
    crease_mm: float  # [mm] that a crease moves what lies at it, at most
    tilt: float  # that a corner moves, over the label's size
    blur_mm: tuple[float, float]  # [mm] of the lens, from and to
    noise: float  # [grey] of the camera
    uneven: float  # share by which light differs from one side to the other, at most
    fibre: float  # [grey] of the paper's own grain
    radius_mm: tuple[float, float] | None  # [mm] of the wrap that the label is bent round; None: flat


CREASED = Treatment((2, 6), 0.5, 0.06, (0.05, 0.16), 6.0, 0.12, 0.0, None)
ROUGH = Treatment((3, 8), 0.6, 0.10, (0.08, 0.20), 9.0, 0.45, 7.0, (28.0, 60.0))


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


def treated(label: Label, chance: np.random.Generator, how: Treatment = CREASED) -> Grey:
    """The label bent, creased, tilted, unevenly lit and out of focus."""
    margin = round(MARGIN * CAMERA)
    wide = cv2.copyMakeBorder(label.seen, *(margin,) * 4, cv2.BORDER_CONSTANT, value=PAPER)
    tall, width = wide.shape
    wide = wide + how.fibre * _grain(wide.shape, chance)
    y, x = np.mgrid[0:tall, 0:width].astype(np.float32)
    light = 1.0 + how.uneven * (x / width - 0.5) * chance.uniform(-1, 1)
    if how.radius_mm is not None:
        aimed = MARGIN + label.code.x + label.code.width / 2 + chance.uniform(-AIM, AIM)
        x, shade = _bent(x, aimed * CAMERA, chance.uniform(*how.radius_mm) * CAMERA)
        light *= shade
    for _ in range(chance.integers(*how.creases, endpoint=True)):
        angle, reach = chance.uniform(0, np.pi), chance.uniform(2, 6) * CAMERA
        across = (x - chance.uniform(0, width)) * np.cos(angle) + (y - chance.uniform(0, tall)) * np.sin(
            angle
        )
        bump = np.exp(-((across / reach) ** 2)) * chance.uniform(-1, 1)
        push = bump * how.crease_mm * CAMERA
        x, y = x + push * np.cos(angle), y + push * np.sin(angle)
        light += 0.14 * bump * np.sign(across)
    bent = cv2.remap(wide, x.astype(np.float32), y.astype(np.float32), cv2.INTER_LINEAR, borderValue=PAPER)
    corners = np.array([(0, 0), (width, 0), (width, tall), (0, tall)], np.float32)
    moved = corners + chance.uniform(-how.tilt, how.tilt, (4, 2)).astype(np.float32) * (width, tall)
    turn = cv2.getPerspectiveTransform(corners, moved.astype(np.float32))
    seen = cv2.warpPerspective((bent * light).astype(np.float32), turn, (width, tall), borderValue=PAPER)
    blurred = cv2.GaussianBlur(seen, (0, 0), chance.uniform(*how.blur_mm) * CAMERA)
    return (blurred + chance.normal(0, how.noise, blurred.shape)).clip(0, 255).astype(np.float32)


def _bent(x: Grey, nearest: float, radius: float) -> tuple[Grey, Grey]:
    """Where the columns lie of a label bent round a wrap of a radius [dots], and its shade.

    Whoever scans aims at the code: there, about, the wrap is nearest to the camera.
    """
    across = np.clip((x - nearest) / radius, -0.98, 0.98)
    return (np.arcsin(across) * radius + nearest).astype(np.float32), np.sqrt(1 - 0.6 * across**2)


def _grain(shape: tuple[int, ...], chance: np.random.Generator) -> Grey:
    """The grain of kraft paper: fibres along the sheet, one grey deep on average."""
    grain = cv2.GaussianBlur(chance.normal(0, 1, shape), (0, 0), sigmaX=6.0, sigmaY=1.2)
    return np.asarray(grain / grain.std(), np.float32)


def reads(seen: Grey, label: Label) -> tuple[bool, bool]:
    """Whether the first reader finds the code in the picture, and the second in the part around it."""
    picture = seen.astype(np.uint8)
    first = any(code.text == label.text for code in zxingcpp.read_barcodes(picture))
    near = label.code.inset(-AROUND).moved(MARGIN, MARGIN)
    left, top, right, bottom = (
        max(round(side * CAMERA), 0) for side in (near.x, near.y, near.right, near.bottom)
    )
    return first, look_at(picture[top:bottom, left:right]) == label.text


def rates(times: int, stocks: Iterable[str], how: Treatment) -> Iterator[str]:
    """A line for each stock and kind of code; per lot the module [mm] and the shares of both readers."""
    yield f"{'stock':16} {'code':6}" + "".join(f"{kind:>24}" for kind in ("shortest", "typical", "worst"))
    for stock in stocks:
        usual, worst = lots_for(stock, "typical"), lots_for(stock, "worst")
        for link in (LINK, None):
            columns = (_share(dates, stock, link, times, how) for dates in (usual[-1], usual[0], worst[0]))
            yield f"{stock:16} {'link' if link else 'dates':6}" + "".join(f"{text:>24}" for text in columns)


def _share(dates: StorageDates, stock: str, link: str | None, times: int, how: Treatment) -> str:
    label = printed(dates, stock, link)
    if label is None:
        return "refused"
    chance = np.random.default_rng(27)
    got = [reads(treated(label, chance, how), label) for _ in range(times)]
    first, second = (100 * sum(column) / times for column in zip(*got, strict=True))
    return f"{label.module:.2f} mm {first:4.0f} % {second:4.0f} %"


if __name__ == "__main__":
    given = sys.argv[1:]
    reads_each = int(given.pop(0)) if given and given[0].isdigit() else 40
    treatment = ROUGH if "rough" in given else CREASED
    wanted = [name for name in given if name != "rough"] or list(STOCKS)
    for line in rates(reads_each, wanted, treatment):
        sys.stdout.write(line + "\n")
        sys.stdout.flush()
