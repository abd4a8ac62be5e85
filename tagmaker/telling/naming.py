"""What flowers are called, and the names of the pages of lots and coolers.

A page has the same name in codes, files and addresses: capital letters, digits, dots and hyphens only, which
are safe in file names and addresses and keep a code small. A lot code has no dot, so that no cooler's page
takes a lot's place.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable, Mapping
from datetime import datetime

from tagmaker.lot import Lot

# Names that Windows, and with it many a stick, keeps for devices; and the list of all lots.
_TAKEN = frozenset(
    {"CON", "PRN", "AUX", "NUL", "INDEX"} | {f"{port}{n}" for port in ("COM", "LPT") for n in range(10)}
)


def form(lot: Lot) -> str:
    """The form as the grower wrote it: one that was only assumed is not printed as a fact."""
    return "" if lot.form_assumed else lot.form


def title(lot: Lot) -> str:
    """Form and crop."""
    return f"{form(lot)} {lot.crop}".strip()


def variety(lot: Lot) -> str:
    """The variety; empty where it says no more than the crop."""
    return "" if lot.variety.casefold() == lot.crop.casefold() else lot.variety


def lot_page_name(lot_code: str) -> str:
    """Name of a lot's page: its code, but for the few codes that cannot be a file's name everywhere.

    >>> lot_page_name("041"), lot_page_name("AUX")
    ('041', 'LOT.AUX')
    """
    return f"LOT.{lot_code}" if lot_code in _TAKEN else lot_code


def cooler_page_names(coolers: Iterable[str]) -> Mapping[str, str]:
    """Name of each cooler's page, by the cooler's name; those that would be the same are numbered.

    >>> dict(cooler_page_names(["old fridge", "Old Fridge", "café"]))
    {'old fridge': 'COOLER.OLD-FRIDGE', 'Old Fridge': 'COOLER.OLD-FRIDGE.2', 'café': 'COOLER.CAFE'}
    """
    return _page_names("COOLER", coolers)


def pack_page_name(leaves: datetime, use: str, uses: Iterable[str]) -> str:
    """Name of the list of what leaves for a use at a moment.

    >>> pack_page_name(datetime(2027, 4, 24, 6, 30), "corner shop", ["stall", "corner shop"])
    'PACK.20270424.0630.CORNER-SHOP'
    """
    return _page_names(f"PACK.{leaves:%Y%m%d.%H%M}", uses)[use]


def _page_names(prefix: str, known: Iterable[str]) -> Mapping[str, str]:
    """A page name for each of some names, all with the same beginning."""
    names: dict[str, str] = {}
    for name in known:
        plain = unicodedata.normalize("NFKD", name).encode("ascii", "ignore").decode("ascii").upper()
        base = page = ".".join(
            part for part in (prefix, re.sub(r"[^A-Z0-9]+", "-", plain).strip("-")) if part
        )
        number = 2
        while page in names.values():
            page = f"{base}.{number}"
            number += 1
        names[name] = page
    return names
