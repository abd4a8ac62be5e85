"""Labels for bunches that leave: what they say, and what they never say."""

from __future__ import annotations

import re
from typing import Any

import pytest

from tagmaker.errors import InputProblems
from tagmaker.lot import StorageDates
from tagmaker.paper.press.ink import Inked
from tagmaker.paper.proof.proving import prove
from tagmaker.paper.stock.label_stock import STOCKS
from tagmaker.paper.tag.buyer_labels import buyer_labels
from tagmaker.storage.crops import crop_table
from tagmaker.telling.teller import Teller
from tagmaker.telling.wording import Wording
from tests.paper_samples import NOW, in_water, sample_dates, sample_farm, sample_lot, sample_order, worst_lot
from tests.sheet_checks import codes, leaving_their_box, overlapping
from tests.wrap_samples import drawings, said

LINK = "HTTPS://LMYARD.EXAMPLE/L/{lot}"


def buyers(*lots: StorageDates, **farm: Any) -> Inked:
    """The labels of some lots."""
    made = sample_farm(**{"link": LINK, "name": "Larkmarrow Yard", **farm})
    return buyer_labels(lots, Teller(made, crop_table(), Wording(made.units), NOW))


def kinds() -> list[StorageDates]:
    """A short name, a usual lot with an order, the longest names, and a lily."""
    return [
        sample_dates(sample_lot(variety="", colour="", form="single", stems=20)),
        sample_dates(sample_lot(lot_code="042", stems=35), orders=(sample_order(),)),
        sample_dates(worst_lot("MMMMMMMMMMMM", stems=250)),
        in_water(sample_lot(lot_code="044", crop="lily", form="", variety="White Tide", stems=20)),
    ]


def test_a_label_says_what_whose_and_how_to_keep_it() -> None:
    """Variety, kind, colour and stems; farm; lot; the care of its crop; who must keep away."""
    words = said(drawings(buyers(sample_dates(), label_stock="letter-2x5"))[0])
    assert words[:2] == ["Pale Harbour", "double tulip, apricot, 10 stems"]
    assert "Larkmarrow Yard" in words
    assert "lot 041" in words
    assert "Not to eat. Poisonous to cats and dogs." in words
    assert [word for word in words if word.startswith("Trim the ends")] != []


def test_a_small_label_says_the_care_in_a_few_words() -> None:
    """On the common sheet: the kind as one says it, the farm, the short care, who must keep away."""
    words = said(drawings(buyers(sample_dates(), label_stock="letter-3x10"))[0])
    assert words == [
        "Pale Harbour",
        "double tulip, apricot, 10 stems",
        "Larkmarrow Yard",
        "Trim ends. Cold, clean water.",
        "Not to eat. Poisonous to cats and dogs.",
        "lot 041",
    ]


def test_a_lily_warns_of_cats_whatever_has_to_go() -> None:
    """On the smallest label too: the care gives way, the caution does not."""
    lily = in_water(sample_lot(crop="lily", form="", variety="White Tide", stems=20))
    for stock in STOCKS:
        assert "Lilies can kill cats" in " ".join(said(drawings(buyers(lily, label_stock=stock))[0]))


@pytest.mark.parametrize("stock", list(STOCKS))
def test_no_label_says_a_date_and_all_codes_lead_to_the_page(stock: str) -> None:
    """No month, no weekday and no storage word anywhere; a code for every bunch."""
    months = "JAN|FEB|MAR|APR|MAY|JUN|JUL|AUG|SEP|OCT|NOV|DEC|MON|TUE|WED|THU|FRI|SAT|SUN"
    inked = buyers(*kinds(), label_stock=stock)
    words = [word for drawing in drawings(inked) for text in said(drawing) for word in text.upper().split()]
    assert [word for word in words if re.fullmatch(rf"({months}|\d+/\d+|SELL|CUT|DRY|BULB)", word)] == []
    links = {code.sized.symbol.text for code in codes(inked.sheets)}
    assert links == {LINK.replace("{lot}", dates.lot.lot_code) for dates in kinds()}
    bunches = sum(-(-(dates.left or 0) // dates.lot.per_bunch) for dates in kinds())
    assert len(codes(inked.sheets)) == bunches
    prove(inked)


@pytest.mark.parametrize("stock", list(STOCKS))
def test_every_label_says_its_lot(stock: str) -> None:
    """A blot on a code's corner kills it, so the lot stands there in letters too."""
    found = [" ".join(said(drawing)) for drawing in drawings(buyers(*kinds(), label_stock=stock))]
    lots = [f"lot {dates.lot.lot_code}" for dates in kinds()]
    assert [words for words in found if not any(lot in words for lot in lots)] == []


@pytest.mark.parametrize("stock", list(STOCKS))
def test_words_stay_in_their_boxes(stock: str) -> None:
    """And no two of them share paper."""
    sheets = buyers(*kinds(), label_stock=stock).sheets
    assert leaving_their_box(sheets) == []
    assert [pair for sheet in sheets for pair in overlapping(sheet)] == []


def test_without_a_link_there_are_none() -> None:
    """A code would have to hold the dates themselves."""
    with pytest.raises(InputProblems) as error:
        buyers(sample_dates(), link=None)
    (problem,) = error.value.problems
    assert problem.what.startswith("link must be set for labels that leave the farm")


def test_a_label_that_is_too_small_is_refused() -> None:
    """With its lot."""
    figures = {
        "tiny": STOCKS["roll-50x25mm"].__class__(
            name="tiny", page_width=30, page_height=16, width=30, height=16, is_roll=True
        )
    }
    with pytest.raises(InputProblems) as error:
        buyers(sample_dates(), label_stock="tiny", label_stocks=figures)
    (problem,) = error.value.problems
    assert (problem.lot, problem.what.split(" (")[0]) == (
        "041",
        "a label must have room for its code and its words",
    )
