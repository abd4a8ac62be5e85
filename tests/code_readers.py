"""Reading codes as a careless scan shows them."""

from __future__ import annotations

from typing import Any

import cv2
import numpy as np
import pypdfium2 as pdfium  # type: ignore[import-untyped]  # it ships no types
from PIL import Image, ImageFilter

from tagmaker.paper.press.boxes import Box
from tagmaker.paper.press.ink import Inked

DPI = 150
Picture = np.ndarray[Any, np.dtype[np.uint8]]
# OpenCV has two ways to find a symbol's corners; each with how many times a code is enlarged for it.
LOOKS = ((cv2.QRCodeDetector(), 2), (cv2.QRCodeDetectorAruco(), 3), (cv2.QRCodeDetector(), 3))


def blurred(inked: Inked) -> list[Image.Image]:
    """Pages at 150 dots an inch, with a mild blur."""
    with pdfium.PdfDocument(inked.pdf) as document:
        pages = [page.render(scale=DPI / 72, grayscale=True).to_pil() for page in document]
    return [page.filter(ImageFilter.GaussianBlur(0.8)) for page in pages]


def read_alone(page: Image.Image, box: Box, looks: int = 1) -> str:
    """What OpenCV reads in a box [mm] of a page: the first of so many looks that finds a code."""
    dots = [round(length * DPI / 25.4) for length in (box.x, box.y, box.right, box.bottom)]
    return look_at(np.asarray(page.crop((dots[0], dots[1], dots[2], dots[3]))), looks)


def look_at(picture: Picture, looks: int = len(LOOKS)) -> str:
    """What OpenCV reads in a picture: the first of so many looks that finds a code."""
    for finder, times in LOOKS[:looks]:
        large = cv2.resize(picture, None, fx=times, fy=times, interpolation=cv2.INTER_CUBIC)
        found: str = finder.detectAndDecode(large)[0]
        if found:
            return found
    return ""
