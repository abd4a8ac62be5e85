"""What pages are made from, in small: the lots of `tests.farms` and a cooler that was read for a week."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from datetime import datetime
from typing import Any
from xml.etree.ElementTree import Element

import html5lib

from tagmaker.farm import Farm
from tagmaker.lot import Lot, StorageDates
from tagmaker.scan.source import PageSource, PrintedTag
from tagmaker.storage.air import assumed_airs, read_air
from tagmaker.storage.cooler_summary import summarise
from tagmaker.storage.dating import date_lots
from tagmaker.storage.planning import plan_lots
from tagmaker.storage.room import room
from tagmaker.telling.wording import Wording
from tests.cooler_stories import logged
from tests.farms import CROPS, NOW, make_farm, make_lot


def page_source(
    *lots: Lot,
    farm: Farm | None = None,
    now: datetime = NOW,
    read: bool = True,
    **given: Any,
) -> PageSource:
    """The source of the pages of some lots; of one tulip lot where none is given."""
    farm = farm or make_farm(name="Larkmarrow Yard")
    lots = lots or (make_lot(),)
    airs = assumed_airs(farm)
    readings = {"barn": logged(4.0, until=now)} if read else {}
    for name, log in readings.items():
        airs = {**airs, name: read_air(farm.coolers[name], log)}
    dated = date_lots(lots, farm, CROPS, now, airs)
    assumed = date_lots(lots, farm, CROPS, now)
    usual: dict[str, Any] = {
        "warnings": {dates.lot.lot_code: dates.warnings for dates in dated},
        "plans": plan_lots(lots, farm, CROPS, now, airs),
        "rooms": room(dated, farm, CROPS, now, 7),
        "coolers": [
            summarise(air, readings.get(name), dated, assumed, CROPS, farm, now) for name, air in airs.items()
        ],
        "printed": {},
    }
    return PageSource(
        farm=farm, crops=CROPS, wording=Wording(farm.units), now=now, dated=dated, **{**usual, **given}
    )


def tag(dates: StorageDates, **changes: Any) -> PrintedTag:
    """A wrap label that was printed from dates and is still true, but for the changes."""
    values: dict[str, Any] = {
        "paper": "wraps",
        "moment": NOW,
        "order": None,
        "code": dates.code,
        "sell_by": dates.sell_by,
        "into_water_by": dates.into_water_by,
        "differs": False,
        "untrue": False,
    }
    return PrintedTag(**{**values, **changes})


def parsed(page: str) -> Element:
    """The elements of a page; any fault in its HTML is an error."""
    parser = html5lib.HTMLParser(strict=True, namespaceHTMLElements=False)
    tree: Element = parser.parse(page)
    return tree


def text_of(element: Element) -> str:
    """All the text of an element, blanks made single, and one between two blocks."""
    return re.sub(r"\s+", " ", "".join(_texts(element))).strip()


def _texts(element: Element) -> Iterator[str]:
    yield element.text or ""
    for child in element:
        apart = "" if child.tag in ("a", "b", "span", "strong", "time") else " "
        yield from (apart, *_texts(child), apart, child.tail or "")


def main_text(page: str) -> str:
    """The text of what a page is about."""
    (main,) = parsed(page).iter("main")
    return text_of(main)


def facts(page: str) -> Mapping[str, str]:
    """Each caption of a page's lists with the text beside it."""
    return {
        text_of(name): text_of(value)
        for row in parsed(page).iter("div")
        if len(row) == 2
        for name, value in [row]
        if (name.tag, value.tag) == ("dt", "dd")
    }
