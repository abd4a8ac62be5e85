"""Wrap labels: how many, what they say, and the file that they are in."""

from dataclasses import replace
from datetime import datetime, timedelta

import pytest

from tagmaker.errors import InputProblems
from tagmaker.farm import Printer
from tagmaker.lot import Mark, State, StorageCode, Surface, Verdict
from tagmaker.paper.stock.label_stock import STOCKS, LabelStock
from tagmaker.telling.bunches import bunches_of
from tests.paper_samples import (
    NOW,
    in_water,
    sample_dates,
    sample_lot,
    sample_order,
)
from tests.wrap_samples import EVERY_STOCK, drawings, first, labels, last, said, typical, undated, wet

# --- how many


@pytest.mark.parametrize(
    ("stems", "gone", "per_bunch", "counts"),
    [
        (120, 0, 10, {10: 12}),
        (125, 0, 10, {10: 12, 5: 1}),
        (120, 31, 10, {10: 8, 9: 1}),
        (7, 0, 10, {7: 1}),
        (120, 120, 10, {}),
        (20, 0, 1, {1: 20}),
    ],
)
def test_every_bunch_left_has_a_label_and_the_last_its_own_count(
    stems: int, gone: int, per_bunch: int, counts: dict[int, int]
) -> None:
    """Labels are stems left over stems a bunch, rounded up."""
    lot = sample_lot(stems=stems, gone=gone, per_bunch=per_bunch)
    found = {bunches.stems: bunches.count for bunches in bunches_of(sample_dates(lot))}
    assert found == counts


def test_the_bunches_of_a_part_order_come_first_and_the_rest_are_the_lot_s() -> None:
    """25 of 62 stems for one order, in tens: three bunches, then three, then one of two."""
    order = sample_order(stems=25)
    dates = sample_dates(sample_lot(stems=62), orders=(order,))
    found = [(bunches.order, bunches.stems, bunches.count) for bunches in bunches_of(dates)]
    assert found == [(order, 10, 3), (None, 10, 3), (None, 2, 1)]


def test_orders_for_more_than_is_left_get_no_more_labels_than_bunches() -> None:
    """The nearest order is served first; nothing is left for the lot itself."""
    near, far = sample_order(stems=30), sample_order(stems=30, leaves=datetime(2027, 3, 1, 8))
    dates = sample_dates(sample_lot(stems=45), orders=(near, far))
    found = [(bunches.order, bunches.stems, bunches.count) for bunches in bunches_of(dates)]
    assert found == [(near, 10, 3), (far, 10, 1), (far, 5, 1)]


def test_a_lot_with_none_left_prints_nothing_and_the_page_says_so() -> None:
    """The file is there, with one sentence on its first label."""
    inked = labels(sample_dates(sample_lot(stems=20, gone=20)))
    assert [said(drawing) for drawing in drawings(inked)] == [["No stems left: no labels to print"]]


def test_stems_that_are_not_given_are_a_problem_for_every_such_lot() -> None:
    """Labels are counted from them; all such lots are named at once."""
    lots = [sample_dates(sample_lot(stems=None, lot_code=code)) for code in ("041", "042")]
    with pytest.raises(InputProblems) as error:
        labels(*lots)
    assert [problem.what for problem in error.value.problems] == [
        f"stems of lot {code} must be given for wrap labels (got nothing)" for code in ("041", "042")
    ]


def test_a_wet_lot_that_is_to_be_kept_dry_has_one_slip_and_no_label() -> None:
    """Wrapping wet is the fault; the word DRY is only ever the storage code."""
    (slip,) = drawings(labels(wet()))
    words = said(slip)
    assert words[:2] == ["041", "WET"]
    assert "FAN UNTIL NO DROPS ARE LEFT, DO NOT WRAP YET" in words
    assert [word for word in words if "DRY" in word.split()] == []


def test_a_wet_lot_that_goes_into_water_has_a_slip_too() -> None:
    """Until it has gone in it has no date, whatever its way."""
    lot = sample_lot(surface=Surface.WET, in_cooler=None, stems=20)
    (slip,) = drawings(labels(in_water(lot)))
    assert said(slip)[:2] == ["041", "WET"]


@EVERY_STOCK
def test_labels_fill_pages_from_the_first_label(stock: str) -> None:
    """One more bunch than a page has labels takes a second page, in the first place of it."""
    sheet: LabelStock = STOCKS[stock]
    lot = sample_lot(stems=(sheet.per_page + 1) * 10)
    inked = labels(sample_dates(lot), label_stock=stock)
    assert [len(page) for page in inked.pages] == [sheet.per_page, 1]
    place, corner = inked.sheets[1].placed[-1], sheet.tag_boxes(Printer())[0]
    assert (place.x, place.y) == (corner.x, corner.y)


# --- what they say


def test_a_dry_lot_says_when_to_put_it_in_water_and_sell_it() -> None:
    """Lot and code first, the small print behind them; the flowers; both dates with their captions."""
    assert first(sample_dates(sell_by=datetime(2027, 3, 6, 8))) == [
        "041",
        "DRY",
        "tulip double",
        "dated for 41 °F",
        "Pale Harbour",
        "· apricot · 10",
        "INTO WATER BY",
        "FRI 5 MAR 6 PM",
        "SELL BY",
        "SAT 6 MAR",
    ]


def test_celsius_farms_have_hours_to_24() -> None:
    """Dates cannot be read two ways in either."""
    assert "FRI 5 MAR 18:00" in first(sample_dates(), units="C")


def test_the_hour_of_a_sell_by_stands_there_unless_it_is_the_workday_s_start() -> None:
    """Small, with what it is: the stall leaves at half past six, the bench opens at eight."""
    words = first(sample_dates())
    assert words[words.index("SELL BY") :][:3] == ["SELL BY", "leaves 6:30 AM", "SAT 6 MAR"]
    words = first(sample_dates(sell_by=datetime(2027, 3, 6, 8)))
    assert words[words.index("SELL BY") :][:2] == ["SELL BY", "SAT 6 MAR"]


def test_the_close_of_a_working_day_is_no_departure() -> None:
    """Where no selling day was left, the day alone stands there."""
    words = first(sample_dates(sell_by=datetime(2027, 3, 6, 18), at_close=True))
    assert words[words.index("SELL BY") :][:2] == ["SELL BY", "SAT 6 MAR"]


def test_a_sell_by_of_another_use_names_it() -> None:
    """The lot's own use has no day left."""
    words = first(sample_dates(sell_by_use="florist"))
    assert words[words.index("SELL BY florist") :][:2] == ["SELL BY florist", "leaves 6:30 AM"]


def test_a_lot_whose_use_is_over_says_where_it_still_sells() -> None:
    """The next moment at which another use would take it, with the use's name."""
    elsewhere = (("florist", datetime(2027, 3, 3, 7)), ("event", datetime(2027, 3, 6, 6, 30)))
    words = first(sample_dates(state=State.SELL_ELSEWHERE, elsewhere=elsewhere), label_stock="a4-3x7")
    at = words.index("SELL ELSEWHERE")
    assert words[at : at + 4] == ["SELL ELSEWHERE", "florist", "leaves 7 AM", "WED 3 MAR"]
    assert "SELL BY" not in words
    late = datetime(2027, 2, 18, 18)  # its hour for water is over, and nobody wrote whether it was kept
    dates = sample_dates(state=State.SELL_ELSEWHERE, elsewhere=elsewhere, into_water_by=late)
    assert ("STILL DRY?" in first(dates, label_stock="a4-3x7"), "STILL DRY?" in words) == (True, False)


def test_a_whole_lot_order_is_named_before_the_sell_by() -> None:
    """ORDERED FOR with its day and hour; one row for both where they are the same moment."""
    order = sample_order(stems=None, leaves=datetime(2027, 3, 5, 6, 30))
    words = first(sample_dates(tag_order=order), label_stock="a4-2x7")
    at = words.index("ORDERED FOR")
    assert words[at : at + 3] == ["ORDERED FOR", "leaves 6:30 AM", "FRI 5 MAR"]
    dates = sample_dates()
    assert dates.sell_by is not None
    same = first(replace(dates, tag_order=sample_order(stems=None, leaves=dates.sell_by)))
    assert ("ORDERED FOR" in same, "ORDERED, SELL BY" in same) == (False, True)


def test_a_part_order_has_labels_with_its_own_day_and_hour() -> None:
    """Once in water for it, they are sold when it leaves; the rest of the lot has the lot's dates."""
    dates = sample_dates(orders=(sample_order(into_water_by=datetime(2027, 2, 26, 9, 15)),))
    words, rest = first(dates), last(dates)
    assert "SAT 27 FEB" in words[words.index("ORDERED, SELL BY") :]
    assert "SELL BY" not in words
    assert "FRI 26 FEB 9:15 AM" in words
    assert ("ORDERED, SELL BY" in rest, "FRI 5 MAR 6 PM" in rest) == (False, True)


def test_an_order_that_cannot_be_served_has_no_labels_of_its_own() -> None:
    """NOT FOR and TOO LATE FOR are warnings, not labels."""
    orders = tuple(sample_order(verdict=verdict) for verdict in (Verdict.NOT_FOR, Verdict.TOO_LATE))
    assert [bunches.order for bunches in bunches_of(sample_dates(orders=orders))] == [None]


def test_stems_in_water_say_in_water_in_place_of_a_date() -> None:
    """With the hour they are ready from once that is known."""
    assert "IN WATER" in first(in_water())
    words = first(in_water(ready_from=datetime(2027, 2, 22, 16)))
    assert words[words.index("IN WATER, READY FROM") + 1] == "MON 22 FEB 4 PM"


def test_stems_put_in_water_from_dry_say_so() -> None:
    """The way that goes on counting, in small."""
    assert "was DRY" in first(in_water(kept=StorageCode.DRY))
    assert [word for word in first(in_water()) if word.startswith("was")] == []


def test_stems_in_water_for_an_open_use_say_when_they_leave_the_cooler() -> None:
    """INTO THE WARM AT, for dry ones too."""
    words = first(in_water(out_by=datetime(2027, 3, 4, 18)), label_stock="a4-3x7")
    assert words[words.index("INTO THE WARM AT") + 1].startswith("THU 4 MAR")
    words = first(sample_dates(stand_warm_from=datetime(2027, 3, 4, 18)), label_stock="a4-3x7")
    assert words[words.index("INTO THE WARM AT") + 1].startswith("THU 4 MAR")


@pytest.mark.parametrize("state", [State.KEEP, State.SELL_FIRST])
def test_a_date_for_water_that_has_passed_says_put_in_water_now(state: State) -> None:
    """With the hour they would be ready."""
    past = datetime(2027, 2, 19, 18)
    ready = datetime(2027, 2, 20, 17)
    dates = sample_dates(water_now=True, into_water_by=past, ready_from=ready, state=state)
    words = first(dates, label_stock="a4-3x7")
    assert "ready from SAT 20 FEB 5 PM PUT IN WATER NOW" in " ".join(words)


def test_marks_stand_with_the_sell_by() -> None:
    """SELL FIRST and all others stand between its caption and its date where they are too wide."""
    marks = (Mark.HALF_COLOURED, Mark.HOW_OPEN, Mark.TEST_A_BUNCH)
    dates = sample_dates(state=State.SELL_FIRST, marks=marks, test_first=True)
    words = first(dates, label_stock="a4-2x7")
    at = words.index("SELL BY")
    said_there = ["SELL FIRST", "HALF COLOURED", "HOW OPEN?", "TEST A BUNCH"]
    assert words[at : at + 7] == ["SELL BY", "leaves 6:30 AM", *said_there, "SAT 6 MAR"]


def test_a_mark_that_has_room_stands_behind_the_day() -> None:
    """So it takes no height from the dates."""
    words = first(sample_dates(marks=(Mark.TEST_A_BUNCH,), test_first=True))
    assert words[words.index("SELL BY") :][:4] == ["SELL BY", "leaves 6:30 AM", "SAT 6 MAR", "TEST A BUNCH"]


def test_a_lot_too_old_says_what_to_do_with_it_and_no_date() -> None:
    """It is to be thrown out: neither water nor a sell-by."""
    words = first(sample_dates(state=State.TOO_OLD, sell_by=datetime(2027, 2, 13, 8)))
    assert "TOO OLD: THROW OUT" in words
    assert [word for word in words if "BY" in word.split()] == []


def test_bunches_kept_for_an_order_outlast_the_rest_of_their_lot() -> None:
    """An order to come keeps its own bunches, not the others."""
    order = sample_order()
    dates = sample_dates(state=State.TOO_OLD, sell_by=datetime(2027, 2, 13, 8), orders=(order,))
    assert ("ORDERED, SELL BY" in first(dates), "TOO OLD: THROW OUT" in last(dates)) == (True, True)


def test_a_lot_without_a_date_says_why() -> None:
    """NO DATE and the sentence, with the mark that goes with it."""
    words = first(undated(marks=(Mark.FROST,)))
    assert words[words.index("NO DATE") :][:2] == ["NO DATE", "FROST? DO NOT SELL"]
    assert "still wet: no date until it is dry to the touch and in the cooler" in words


def test_lilies_carry_their_caution() -> None:
    """At most 24 letters."""
    words = first(in_water(sample_lot(crop="lily", form="", variety="White Tide")))
    assert "Keep away from cats" in words
    assert len("Keep away from cats") <= 24


def test_a_lot_without_a_variety_is_named_by_its_crop() -> None:
    """Form and crop stand where the variety would."""
    assert "single tulip" in first(sample_dates(sample_lot(variety="", colour="", form="single")))


# --- the file


def test_the_same_lots_give_the_same_bytes() -> None:
    """Twice in one process, from objects made anew."""
    assert labels(*typical()).pdf == labels(*typical()).pdf


def test_a_name_that_cannot_be_printed_is_a_problem_with_its_lot() -> None:
    """All such lots at once; nothing is printed."""
    lots = [
        sample_dates(sample_lot(variety="花", where="lots.csv, row 2")),
        sample_dates(sample_lot(lot_code="042", colour="🌷", where="lots.csv, row 3")),
    ]
    with pytest.raises(InputProblems) as error:
        labels(*lots)
    assert [(problem.lot, problem.where) for problem in error.value.problems] == [
        ("041", "lots.csv, row 2"),
        ("042", "lots.csv, row 3"),
    ]


def test_a_link_too_long_for_the_label_is_a_problem_with_its_lot() -> None:
    """It names the longest that fits."""
    with pytest.raises(InputProblems) as error:
        labels(sample_dates(), link="https://farm.example/" + "x" * 200 + "/{lot}")
    (problem,) = error.value.problems
    assert (problem.lot, problem.what.split(" (")[0]) == (
        "041",
        "a code of 22.0 mm must say at most 106 characters",
    )


def test_once_its_last_departure_is_over_a_lot_is_told_nothing_of_water() -> None:
    """The same day too: what has not left by then is asked after, not watered."""
    left_at = NOW - timedelta(hours=1)
    words = first(sample_dates(sell_by=left_at, into_water_by=left_at - timedelta(hours=14)))
    assert [word for word in words if "WATER" in word.split()] == []
