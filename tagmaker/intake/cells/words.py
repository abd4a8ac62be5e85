"""Words that growers write into cells, and what each means (common practice, no source).

They are compared without case, spaces and punctuation.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import TypeVar

from tagmaker.intake.cells.plain_text import squash
from tagmaker.lot import Finding, Stage, StorageCode, Surface

T = TypeVar("T")


def _by_word(meanings: Mapping[T, str]) -> dict[str, T]:
    return {squash(word): meaning for meaning, words in meanings.items() for word in words.split(",")}


STAGES = _by_word(
    {
        Stage.GREEN: "green, no colour, no color, green bud, all green, still green",
        Stage.TIGHT: (
            "tight, tight bud, showing, showing colour, showing color, colour showing, color showing, "
            "first colour, first color, soft, soft bud, marshmallow, gooseneck, pencil, closed, closed bud, "
            "bud, in bud, cracking"
        ),
        Stage.HALF: (
            "half, half coloured, half colored, half colour, half color, half in colour, half in color"
        ),
        Stage.COLOURED: (
            "coloured, colored, full colour, full color, fully coloured, fully colored, in colour, in color, "
            "colour, color, first third, one third, a third open"
        ),
        Stage.OPEN: "open, opened, opening, fully open, full open, wide open, in bloom, full bloom, bloom",
    }
)
BULBS = _by_word(
    {
        True: "on, yes, y, true, 1, bulb on, with, with bulb, attached, bulb, kept on",
        False: "off, no, n, false, 0, bulb off, without, without bulb, none, cut, cut off, removed, snipped",
    }
)
STORAGES = _by_word(
    {
        StorageCode.DRY: "dry, dry wrapped, wrapped, stored dry, kept dry, crate, in crate, in crates",
        StorageCode.WATER: "water, wet, in water, bucket, buckets, in bucket, in buckets, stored wet",
    }
)
SURFACES = _by_word(
    {
        Surface.WET: "wet, rain, rainy, rained on, in rain, washed, washing, dew, dewy, damp, moist",
        Surface.DRIED: "dried, fanned, fan dried, dried off, was wet, fan, blown dry",
        Surface.DRY: "dry, dry to the touch, no, none, no drops, not wet",
    }
)
# What became of a bunch that was opened.
FINDINGS = _by_word(
    {
        Finding.OK: "ok, okay, good, fine, sound, passed, all right, well",
        Finding.BAD: "bad, not ok, no good, failed, poor, rotten, rot",
        Finding.OPENED: "test, test bunch, bunch opened, bunch in water",
    }
)
# Names of flower forms that mean one of the crop table's.
FORMS = _by_word(
    {
        "single": "single early, single late, triumph, singles",
        "double": "double early, double late, peony flowered, doubles",
        "parrot": "parrots",
        "fringed": "fringe, frilled",
        "Darwin hybrid": "Darwin, Darwin hybrids, DH",
        "lily-flowered": "lily, lily form, lily flower",
        "botanical": "species, wild, rock garden",
    }
)
EVERYTHING = frozenset(
    map(squash, ("all", "everything", "all gone", "all of it", "sold out", "rest", "the rest"))
)
