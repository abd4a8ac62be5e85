"""Crate cards: how many, what stands on them, how large, and that nothing runs into anything."""

from dataclasses import replace
from datetime import date, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
import zxingcpp

from tagmaker import notes
from tagmaker.farm import CARD_NAMES
from tagmaker.lot import Mark, State, StorageCode, StorageDates, Surface, Verdict
from tagmaker.paper.crate.cards import crate_cards, crate_sheets
from tagmaker.paper.crate.column import bunch_numbers
from tagmaker.paper.press.boxes import Box, Code, Placed, Sheet
from tagmaker.paper.proof.proving import prove
from tagmaker.paper.stock.card_stock import CARDS
from tagmaker.storage.crops import crop_table
from tagmaker.telling.teller import Teller
from tagmaker.telling.wording import Wording
from tests.code_readers import blurred, read_alone
from tests.paper_samples import (
    NOW,
    in_water,
    sample_dates,
    sample_farm,
    sample_lot,
    sample_order,
    worst_lot,
)
from tests.sheet_checks import (
    characters,
    codes,
    leaving_their_box,
    overlapping,
    read_back,
    text_elements,
    texts,
)

CROPS = crop_table()
PAPERS = ["letter", "a4"]
LEAST_DATE = {"quarter": 25, "roll-102x152mm": 25, "half": 50, "twin": 25, "tent": 50}  # [pt]
WHY = notes.WhyWet(lot="041")


def undated(marks: tuple[Mark, ...] = (), **changes: Any) -> StorageDates:
    """A lot that could be given no date."""
    known = {"sell_by": None, "into_water_by": None, "vase_days": None, "why": WHY, "marks": marks}
    return sample_dates(sample_lot(**changes), state=State.NO_DATE, **known)


def wet() -> StorageDates:
    """A lot to be kept dry that still has drops on it."""
    return undated(surface=Surface.WET, in_cooler=None)


def worst() -> list[StorageDates]:
    """Long names, late hours, every mark, more orders than there is room for."""
    late = datetime(2027, 3, 29, 0, 45)  # the widest moment of a year
    orders = tuple(
        sample_order(
            leaves=datetime(2027, 3, 6 + n, 10, 30),
            into_water_by=datetime(2027, 3, 5 + n, 17, 45),
            test_first=True,
            use="the market in the county town",
        )
        for n in range(6)
    )
    marked = {
        "state": State.SELL_FIRST,
        "marks": (Mark.HALF_COLOURED, Mark.HOW_OPEN, Mark.TEST_A_BUNCH),
        "test_first": True,
        "tests_on": (date(2027, 3, 22),),
        "sell_by": late,
        "into_water_by": late,
        "keeps_until": late,
    }
    elsewhere = {"state": State.SELL_ELSEWHERE, "elsewhere": (("the market in the county town", late),)}
    return [
        sample_dates(worst_lot(stems=600, per_bunch=3), orders=orders, **marked),
        sample_dates(worst_lot(stage=None, stems=150, crop="narcissus", form=""), **{**marked, **elsewhere}),
        in_water(worst_lot(stems=240), ready_from=late, out_by=late, kept=StorageCode.DRY),
        sample_dates(worst_lot(stems=None), stand_warm_from=late, tag_order=orders[0]),
        undated(lot_code="NORTH-FIELD7", variety="ABCDE " * 8),
        wet(),
    ]


def sheets_of(*dated: StorageDates, farm: Any = None) -> Any:
    """The pages of some lots' cards."""
    farm = farm or sample_farm()
    return crate_sheets(dated, Teller(farm, CROPS, Wording(farm.units), NOW))


def test_what_has_left_has_no_card() -> None:
    """Crates are counted from the stems left; a lot with none left prints nothing."""
    some = sample_dates(sample_lot(lot_code="042", gone=60))
    none = sample_dates(sample_lot(lot_code="043", gone=120))
    words = texts(sheets_of(some, none))
    assert ("CRATE 1 of 1" in words, "042" in words, "043" in words) == (True, True, False)


def test_a_lot_of_unknown_size_and_a_wet_one_have_one_card_without_a_count() -> None:
    """Their bunches are written in by hand."""
    for dated in (sample_dates(sample_lot(stems=None)), wet()):
        words = texts(sheets_of(dated))
        assert ("CRATE" in words, "BUNCHES LEFT (of 10) ______" in words) == (True, True)


def test_four_cards_stand_on_a_page() -> None:
    """Five crates take two pages; each page has its cut lines beside them."""
    pages = sheets_of(sample_dates(sample_lot(stems=600)))
    assert [len(page.placed) - 1 for page in pages] == [4, 1]


def test_no_lots_print_a_page_that_says_so() -> None:
    """An empty list is a page with a sentence, not a file that does not open."""
    assert texts(sheets_of()) == ["No crates to label: no lot has stems left."]


def test_bunches_are_counted_down_and_in_steps_where_they_are_many() -> None:
    """Every number while there are 21 at most, then every second, fifth, tenth."""
    assert bunch_numbers(12, 21) == tuple(range(12, 0, -1))
    assert bunch_numbers(40, 21) == tuple(range(40, 0, -2))
    assert len(bunch_numbers(5000, 21)) <= 21
    assert bunch_numbers(None, 21) == ()


# ---- what they say


WITH_THE_LOT = {"into_water_by": datetime(2027, 3, 5, 18)}  # an order that is due when the lot is


def cards(dates: StorageDates) -> list[list[str]]:
    """The texts of each card of a lot."""
    placed = [placed for sheet in sheets_of(dates) for placed in sheet.placed]
    drawn = [placed.drawing for placed in placed if any(isinstance(e, Code) for e in placed.drawing.elements)]
    return [texts([Sheet(100, 100, (Placed(drawing, 0, 0),))]) for drawing in drawn]


def test_an_order_sits_on_named_crates() -> None:
    """150 of 360 stems: all of the first crate, three bunches of the second, none of the third."""
    order = sample_order(stems=150, test_on=date(2027, 2, 22))
    first, second, third = cards(sample_dates(sample_lot(stems=360), orders=(order,)))
    assert "TAKE 12 HERE for SAT 27 FEB stall" in first
    told = "TAKE 3 HERE for SAT 27 FEB stall, into water by FRI 26 FEB 6 PM, TEST A BUNCH MON 22 FEB"
    assert told in second
    assert [text for text in third if "TAKE" in text or "27 FEB" in text] == []


def test_a_crate_that_an_order_takes_whole_carries_its_dates() -> None:
    """As the labels in it do; the next crate carries the lot's own."""
    first, second = cards(sample_dates(sample_lot(stems=240), orders=(sample_order(stems=120),)))
    at = first.index("INTO WATER BY")
    assert first[at : at + 5] == [
        *("INTO WATER BY", "FRI 26 FEB 6 PM", "ORDERED, SELL BY", "leaves 6:30 AM", "SAT 27 FEB")
    ]
    at = second.index("INTO WATER BY")
    assert second[at : at + 5] == [
        *("INTO WATER BY", "FRI 5 MAR 6 PM", "SELL BY", "leaves 6:30 AM", "SAT 6 MAR")
    ]


def test_an_order_keeps_its_bunches_of_a_lot_too_old() -> None:
    """The order's dates, and a mark that the rest is not to be sold; crates without it are thrown out."""
    dates = sample_dates(
        sample_lot(stems=240), orders=(sample_order(),), sell_by=datetime(2027, 2, 13, 8), state=State.TOO_OLD
    )
    first, second = cards(dates)
    assert [text in first for text in ("THE REST: TOO OLD", "ORDERED, SELL BY", "SAT 27 FEB")] == [True] * 3
    assert ("TOO OLD: THROW OUT" in second, "INTO WATER BY" in second) == (True, False)


def test_a_dry_lot_to_sell_elsewhere_says_both_ways() -> None:
    """What it is worth dry, and what it is if it went into water on time; no deadline any more."""
    dates = sample_dates(
        state=State.SELL_ELSEWHERE,
        sell_by=datetime(2027, 2, 19, 8),
        into_water_by=datetime(2027, 2, 18, 18),
        watered_until=datetime(2027, 2, 21, 18),
        keeps_until=datetime(2027, 2, 27, 18),
        elsewhere=(("shop", datetime(2027, 2, 22, 8)), ("stall", datetime(2027, 2, 26, 6, 30))),
    )
    (words,) = cards(dates)
    at = words.index("SELL ELSEWHERE: shop")
    assert words[at : at + 2] == ["SELL ELSEWHERE: shop", "MON 22 FEB"]
    told = "STILL DRY? Dry: keeps cold until SAT 27 FEB · put in water on time: "
    assert (f"{told}sell by SUN 21 FEB" in words, "INTO WATER BY" in words) == (True, False)
    (words,) = cards(replace(dates, watered_until=None))
    assert f"{told}too old" in words


def test_what_is_too_little_for_a_date_has_no_line_of_what_it_was_dated_for() -> None:
    """Only the cut, and when it was printed."""
    (words,) = cards(undated())
    assert "cut 15 Feb, printed 20 Feb" in words


def test_an_ordinary_card_says_everything() -> None:
    """Lot, code, both dates with captions, hours and stem end, flowers, crate, place, handling, caution."""
    words = texts(
        sheets_of(
            sample_dates(
                orders=(sample_order(leaves=datetime(2027, 3, 5, 7), **WITH_THE_LOT),),
                keeps_until=datetime(2027, 3, 9, 18),
            )
        )
    )
    expected = [
        "041",
        "DRY",
        "CRATE 1 of 1",
        "walk-in · shelf 2",
        "INTO WATER BY",
        "FRI 5 MAR 6 PM",
        "SELL BY",
        "leaves 6:30 AM",
        "SAT 6 MAR",
        "KEEPS COLD UNTIL TUE 9 MAR",
        "trim stem ends · 8 h in water",
        "Pale Harbour, double tulip, apricot",
        "BUNCHES LEFT",
        "TAKE 6 HERE for FRI 5 MAR stall, into water by FRI 5 MAR 6 PM",
        "Limp stems are normal: keep wrapped and upright, lift gently.",
        "Sap and bulbs irritate skin: nitrile gloves, not vinyl. Poisonous to cats and dogs. Do not eat.",
        "cut 15 Feb, dated for 41 °F, 3–5 days in the vase, printed 20 Feb",
        "cut 15 Feb",
        "into water 5 Mar · sell by 6 Mar",
        *(str(number) for number in range(12, 0, -1)),
    ]
    assert [text for text in expected if text not in words] == []


@pytest.mark.parametrize(
    ("dated", "expected"),
    [
        (sample_dates(state=State.SELL_FIRST), ["SELL FIRST"]),
        (sample_dates(state=State.TOO_OLD), ["TOO OLD: THROW OUT"]),
        (sample_dates(tests_on=(date(2027, 2, 18), date(2027, 2, 27))), ["TEST A BUNCH", "SAT 27 FEB"]),
        (sample_dates(tests_on=(date(2027, 2, 18),)), ["TEST A BUNCH", "SAT 20 FEB"]),
        (sample_dates(marks=(Mark.HOW_OPEN,)), ["HOW OPEN? WRITE IT"]),
        (undated(marks=(Mark.FROST,)), ["FROST? DO NOT SELL"]),
        (sample_dates(sell_by=datetime(2027, 3, 6, 8)), ["SAT 6 MAR"]),
        (
            sample_dates(into_water_by=datetime(2027, 2, 19, 18), ready_from=datetime(2027, 2, 20, 17)),
            ["PUT IN WATER NOW, ready from", "SAT 20 FEB 5 PM"],
        ),
        (in_water(), ["WATER", "IN WATER", "BUCKET 1 of 2"]),
        (
            in_water(ready_from=datetime(2027, 2, 20, 17), kept=StorageCode.DRY),
            ["IN WATER, READY FROM", "SAT 20 FEB 5 PM"],
        ),
        (
            in_water(out_by=datetime(2027, 3, 4, 18)),
            ["IN WATER", "trim stem ends · INTO THE WARM AT THU 4 MAR 6 PM"],
        ),
        (
            sample_dates(tag_order=sample_order(stems=None)),
            ["INTO WATER BY for SAT 27 FEB stall"],
        ),
        (
            sample_dates(stand_warm_from=datetime(2027, 3, 4, 15)),
            ["trim stem ends · 8 h in water · INTO THE WARM AT THU 4 MAR 3 PM"],
        ),
        (sample_dates(orders=(sample_order(verdict=Verdict.NOT_FOR),)), ["NOT FOR SAT 27 FEB stall"]),
        (sample_dates(orders=(sample_order(verdict=Verdict.TOO_LATE),)), ["TOO LATE FOR SAT 27 FEB stall"]),
        (undated(), ["NO DATE: still wet: no date until it is dry to the touch and in the cooler"]),
    ],
    ids=lambda value: value[0] if isinstance(value, list) else "",
)
def test_a_card_says_how_the_lot_stands(dated: StorageDates, expected: list[str]) -> None:
    """Each state, mark and kind of date has its words."""
    words = texts(sheets_of(dated))
    assert [text for text in expected if text not in words] == []


def test_a_wet_card_never_says_dry() -> None:
    """DRY is only ever the storage code, and a wet lot has none yet."""
    words = texts(sheets_of(wet()))
    assert ("WET" in words, "FAN UNTIL NO DROPS ARE LEFT, DO NOT WRAP YET" in words) == (True, True)
    assert [text for text in words if "DRY" in text] == []


def test_a_lot_that_was_dry_says_so_in_small() -> None:
    """Code WATER, and what goes on counting beside the cut."""
    words = texts(sheets_of(in_water(kept=StorageCode.DRY, ready_from=NOW)))
    assert [text for text in words if text.startswith("cut 15 Feb, was DRY")] != []


def test_a_celsius_farm_reads_its_own_hours_and_degrees() -> None:
    """18:00 and 5 °C in place of 6 PM and 41 °F."""
    words = texts(sheets_of(sample_dates(), farm=sample_farm(units="C")))
    assert "FRI 5 MAR 18:00" in words
    assert [text for text in words if "dated for 5 °C" in text] != []


def test_each_caution_of_the_crop_table_has_words(tmp_path: Path) -> None:
    """No crop's caution is printed as its bare key; a grower's own words are printed as they are."""
    say = Wording("F", tmp_path).macros("crate-card.j2")
    keys = sorted({keeping.caution for keeping in CROPS.keepings if keeping.caution})
    assert [key for key in keys if say.caution(kind=key) == key] == []
    assert say.caution(kind="Thorns") == "Thorns"


def test_own_wording_is_printed_and_still_fits(tmp_path: Path, repository: Path) -> None:
    """A template beside the sheet overrides the shipped one; long words of its own stay in their box."""
    shipped = (repository / "templates" / "crate-card.j2").read_text(encoding="utf-8")
    mine = shipped.replace("}SELL BY{%", "}TO BE SOLD BY THE MORNING OF, AT THE VERY LATEST{%")
    (tmp_path / "crate-card.j2").write_text(mine, encoding="utf-8")
    pages = crate_sheets([sample_dates()], Teller(sample_farm(), CROPS, Wording("F", tmp_path), NOW))
    assert [text for text in texts(pages) if text.startswith("TO BE SOLD BY")] != []
    assert leaving_their_box(pages) == []


# ---- how large, and that nothing collides


@pytest.mark.parametrize(("card", "least"), LEAST_DATE.items())
@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.slow
def test_dates_are_read_from_afar_at_every_hour_of_a_year(paper: str, card: str, least: float) -> None:
    """25 points at 1 m, 50 at 2 m from the half page: whatever day and quarter hour it is, in either unit."""
    start = datetime(2028, 1, 1)
    moments = [start + timedelta(days=n, hours=n % 24, minutes=15 * (n % 4)) for n in range(365)]
    for units in ("F", "C"):
        wording = Wording(units)
        widest = max(moments, key=lambda moment: len(wording.moment(moment)))
        for moment in (widest, datetime(2027, 3, 29, 0, 45)):
            dated = sample_dates(sell_by=moment, into_water_by=moment)
            pages = sheets_of(dated, farm=sample_farm(units=units, paper_size=paper, crate_card=card))
            sizes = [
                text.size
                for text in text_elements(pages)
                if text.lines[0].text in (wording.moment(moment), wording.day(moment))
            ]
            assert len(sizes) == 2 * CARDS[card].copies
            assert min(sizes) >= least


@pytest.mark.parametrize("card", CARD_NAMES)
@pytest.mark.parametrize("code", list(StorageCode))
def test_the_storage_code_is_at_least_40_points(code: StorageCode, card: str) -> None:
    """On the narrower card, beside a lot code of twelve letters; larger where the card is."""
    dated = sample_dates(sample_lot(lot_code="NORTH-FIELD7"), code=code, kept=code)
    pages = sheets_of(dated, farm=sample_farm(paper_size="a4", crate_card=card))
    (size,) = {text.size for text in text_elements(pages) if text.lines[0].text == code.value}
    assert size > 50 if LEAST_DATE[card] == 50 else size == 40


def test_lot_codes_are_read_at_a_metre() -> None:
    """Up to six characters stand at 40 points or more beside the widest storage code."""
    pages = sheets_of(in_water(sample_lot(lot_code="041")))
    assert min(text.size for text in text_elements(pages) if text.lines[0].text == "041") >= 40


@pytest.mark.parametrize("card", CARD_NAMES)
@pytest.mark.parametrize("paper", PAPERS)
def test_no_two_boxes_overlap_and_no_words_leave_theirs(paper: str, card: str) -> None:
    """On ordinary cards and on the worst ones."""
    ordinary = [sample_dates(orders=(sample_order(),)), in_water(), sample_dates(test_first=True)]
    pages = sheets_of(*ordinary, *worst(), farm=sample_farm(paper_size=paper, crate_card=card))
    assert [pair for page in pages for pair in overlapping(page)] == []
    assert leaving_their_box(pages) == []


@pytest.mark.parametrize("card", CARD_NAMES)
@pytest.mark.parametrize("paper", PAPERS)
def test_only_names_are_ever_cut(paper: str, card: str) -> None:
    """No date, code, count, caution or handling line ends in an ellipsis, however long the names are."""
    farm = sample_farm(paper_size=paper, crate_card=card)
    cut = [text for text in texts(sheets_of(*worst(), farm=farm)) if text.endswith("…")]
    assert [text for text in cut if "berw" not in text and "ABCDE" not in text] == []


@pytest.mark.parametrize("card", CARD_NAMES)
@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.slow
def test_every_caution_and_handling_line_is_on_the_worst_cards(paper: str, card: str) -> None:
    """Orders give way to the cautions, never the other way round, and say how many are not shown."""
    farm = sample_farm(paper_size=paper, crate_card=card)
    for dated in worst():
        words = texts(sheets_of(dated, farm=farm))
        assert [text for text in words if text.startswith("Sap ")] != []
        handled = [text for text in words if text.endswith(("lift gently.", "Keep the flowers dry."))]
        assert bool(handled) == (dated.lot.surface is not Surface.WET)


@pytest.mark.parametrize("card", CARD_NAMES)
@pytest.mark.parametrize("paper", PAPERS)
def test_ink_keeps_off_the_edge_of_the_page(paper: str, card: str) -> None:
    """Read back from the PDF: 4.9 mm at the sides (lasers), 6.9 mm below (inkjets); 2.9 mm on a roll."""
    farm = sample_farm(paper_size=paper, crate_card=card)
    roll = card.startswith("roll")
    width, height = (101.6, 152.4) if roll else {"letter": (215.9, 279.4), "a4": (210.0, 297.0)}[paper]
    edge, foot = (2.9, 2.9) if roll else (4.9, 6.9)
    inside = Box(edge, edge, width - 2 * edge, height - edge - foot)
    inked = crate_cards(worst(), Teller(farm, CROPS, Wording("F"), NOW))
    assert [box for _, box in characters(inked) if not inside.holds(box)] == []


# ---- the code and the file


def test_the_code_says_the_lot_and_its_dates_large_enough_for_half_a_metre() -> None:
    """Without a link: lot and dates as text, modules of 1.2 mm and more."""
    (code,) = codes(sheets_of(sample_dates()))
    assert code.sized.symbol.text == "041 WATER 05MAR18H SELL 06MAR"
    assert code.sized.module >= 1.2


def test_the_code_says_the_link_where_there_is_one() -> None:
    """The settings' link with the lot."""
    farm = sample_farm(link="HTTPS://LARKMARROW.EXAMPLE/L/{lot}")
    (code,) = codes(sheets_of(sample_dates(), farm=farm))
    assert code.sized.symbol.text == "HTTPS://LARKMARROW.EXAMPLE/L/041"


@pytest.mark.parametrize("card", CARD_NAMES)
@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.slow
def test_every_code_of_the_finished_file_reads_back(paper: str, card: str) -> None:
    """Proven as before it is handed over; and, after a mild blur, by two readers of other makes."""
    farm = sample_farm(paper_size=paper, crate_card=card)
    inked = crate_cards(worst(), Teller(farm, CROPS, Wording("F"), NOW))
    prove(inked)
    for page, wanted in zip(blurred(inked), inked.pages, strict=True):
        assert sorted(code.text for code in zxingcpp.read_barcodes(page)) == sorted(c.text for c in wanted)
        assert [read_alone(page, c.box.inset(-2.0), looks=3) for c in wanted] == [c.text for c in wanted]


def test_the_words_read_back_from_the_file() -> None:
    """A PDF reader finds the dates as words."""
    inked = crate_cards([sample_dates()], Teller(sample_farm(), CROPS, Wording("F"), NOW))
    (page,) = read_back(inked)
    assert [
        text for text in ("leaves 6:30 AM", "SAT 6 MAR", "FRI 5 MAR 6 PM", "CRATE 1 of 1") if text not in page
    ] == []


def test_the_same_lots_give_the_same_bytes() -> None:
    """Twice the same, byte for byte."""
    twice = [crate_cards(worst(), Teller(sample_farm(), CROPS, Wording("F"), NOW)).pdf for _ in range(2)]
    assert twice[0] == twice[1]


def test_a_mark_that_stands_in_place_of_the_dates_stands_there_once() -> None:
    """Where nobody wrote how open the buds were, and no use would take them by the cautious figures."""
    dates = sample_dates(
        sample_lot(stage=None), state=State.SELL_ELSEWHERE, elsewhere=(), marks=(Mark.HOW_OPEN,)
    )
    (words,) = cards(dates)
    assert words.count("HOW OPEN? WRITE IT") == 1
