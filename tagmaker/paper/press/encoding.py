"""A text as the modules of a QR symbol.

The `qrcode` package encodes; only the choice among the eight masks is made here. It comes to the same mask,
which the package finds by drawing and rating the whole symbol eight times, module after module. Here a symbol
is one number, a bit a module from the top left on, so that a mask or a neighbour is one operation.
"""

from __future__ import annotations

from functools import cache, lru_cache
from typing import Any

from qrcode.constants import ERROR_CORRECT_M, ERROR_CORRECT_Q
from qrcode.main import QRCode
from qrcode.util import mask_func

LEVELS = {"M": ERROR_CORRECT_M, "Q": ERROR_CORRECT_Q}
MASKS = range(8)
LEAST_NUMBERED = 7  # versions from here on say their number in the symbol (ISO/IEC 18004)
# What a mask is rated by (ISO/IEC 18004, evaluation of data masking results): five modules of a colour in a
# line and each further one, each 2 x 2 modules of a colour, each likeness of a finder pattern, and each full
# 5 % that the dark modules are away from half.
RUN_POINTS, LONGER_POINTS, BLOCK_POINTS, FINDER_POINTS, SHARE_POINTS = 3, 1, 3, 40, 10
FINDER_LIKE = ("10111010000", "00001011101")


class _Blank(QRCode[Any]):
    """A symbol without its data: modules that would hold some are None."""

    def map_data(self, data: Any, mask_pattern: int) -> None:
        """Leave them so."""


def encoded(text: str, level: str) -> tuple[str, ...]:
    """The rows of the smallest symbol that holds a text, "1" for a dark module.

    Args:
        text: what it says.
        level: error correction, "Q" or "M".
    """
    code = _smallest(text, level)
    code.makeImpl(True, MASKS[0])  # True: without the format, for masks are rated without it
    size, masks = code.modules_count, _masks(code.version)
    plain = _number(code.modules) ^ masks[0]
    best = min(MASKS, key=lambda mask: _points(plain ^ masks[mask], size))
    code.setup_type_info(False, best)
    if code.version >= LEAST_NUMBERED:
        code.setup_type_number(False)
    drawn = f"{_number(code.modules) ^ masks[0] ^ masks[best]:0{size * size}b}"
    return tuple(drawn[start : start + size] for start in range(0, size * size, size))


@lru_cache(maxsize=4096)
def modules_of(text: str, level: str) -> int:
    """Modules along a side of the smallest symbol that holds a text; it is not drawn for it."""
    return 17 + 4 * _smallest(text, level).version  # ISO/IEC 18004


def _smallest(text: str, level: str) -> QRCode[Any]:
    code: QRCode[Any] = QRCode(error_correction=LEVELS[level], border=0)
    code.add_data(text)
    code.best_fit()
    return code


def _number(modules: Any) -> int:
    return int("".join("1" if dark else "0" for row in modules for dark in row), 2)


@cache
def _masks(version: int) -> tuple[int, ...]:
    """The modules that each mask turns over in symbols of a version."""
    blank = _Blank(version=version)
    blank.makeImpl(True, MASKS[0])
    holds_data = [[module is None for module in row] for row in blank.modules]
    return tuple(
        _number((there and turns(i, j) for j, there in enumerate(row)) for i, row in enumerate(holds_data))
        for turns in map(mask_func, MASKS)
    )


def _points(symbol: int, size: int) -> int:
    """How ill a scanner might take a symbol: the fewer points, the better its mask."""
    points = SHARE_POINTS * int(abs(symbol.bit_count() / size**2 * 100 - 50) / 5)
    alike = [~(symbol ^ symbol >> step) & _ends(size, 2)[step] for step in (1, size)]  # to the one before
    points += BLOCK_POINTS * (alike[0] & alike[0] >> size & alike[1]).bit_count()
    for step, same in zip((1, size), alike, strict=True):
        pairs = same & same >> step
        fives = pairs & pairs >> 2 * step
        begun = (fives & ~(fives >> step)).bit_count()
        points += RUN_POINTS * begun + LONGER_POINTS * (fives.bit_count() - begun)
        for pattern in FINDER_LIKE:
            found = _ends(size, len(pattern))[step]
            for back, module in enumerate(reversed(pattern)):
                found &= (symbol if module == "1" else ~symbol) >> back * step
            points += FINDER_POINTS * found.bit_count()
    return points


@cache
def _ends(size: int, length: int) -> dict[int, int]:
    """Where so many modules in a line can end: across under 1, downwards under the size of the symbol."""
    row = (1 << size - length + 1) - 1
    return {
        1: sum(row << size * line for line in range(size)),
        size: (1 << size * (size - length + 1)) - 1,
    }
