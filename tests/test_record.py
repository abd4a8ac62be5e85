"""Printed tags: which of them are still true, and which bunches have none."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime, timedelta
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tagmaker.lot import State, StorageCode, StorageDates, Surface
from tagmaker.record.tags import Printed, by_lot, missing, printed_now, stale, tags_printed
from tests.paper_samples import NOW, in_water, sample_dates, sample_lot, sample_order

DAY = timedelta(days=1)
SELL_BY = datetime(2027, 3, 6, 6, 30)  # of `sample_dates`
INTO_WATER_BY = datetime(2027, 3, 5, 18)


def wrap_line(dates: StorageDates, count: int = 12, printing: int = 1, **more: Any) -> Printed:
    """Wrap labels printed from dates, all twelve of the lot's bunches unless a count is given."""
    return replace(printed_now("wraps", dates, count, NOW, **more), printing=printing)


def wet() -> StorageDates:
    """The lot while it still has drops on it."""
    lot = sample_lot(surface=Surface.WET, in_cooler=None)
    return sample_dates(lot, sell_by=None, into_water_by=None, state=State.NO_DATE)


# --- tags that are no longer true --------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("now_computed", "expected"),
    [
        (sample_dates(), False),
        (sample_dates(sell_by=SELL_BY - DAY), True),
        (sample_dates(into_water_by=INTO_WATER_BY - DAY), True),
        (sample_dates(sell_by=SELL_BY - timedelta(minutes=15)), True),
        (sample_dates(sell_by=SELL_BY + DAY, into_water_by=INTO_WATER_BY + DAY), False),
        (sample_dates(sell_by=None), True),
        (sample_dates(code=StorageCode.BULB), True),
        (in_water(), True),
        (sample_dates(sample_lot(gone=120), sell_by=SELL_BY - DAY), False),
    ],
    ids=[
        "same dates",
        "sell-by earlier",
        "into-water-by earlier",
        "an hour that moved",
        "both later",
        "no date any more",
        "another code",
        "put in water",
        "none left",
    ],
)
def test_stale_is_a_date_printed_later_than_computed_or_another_code(
    now_computed: StorageDates, expected: bool
) -> None:
    """Dates that moved later leave the tag true; a lot with none left has no tag to correct."""
    assert stale([wrap_line(sample_dates())], now_computed) == expected


def test_a_tag_without_a_date_is_stale_once_there_is_one() -> None:
    """NO DATE holds nobody to a date, so it counts as later than any."""
    undated = sample_dates(sell_by=None)
    assert not stale([wrap_line(undated)], undated)
    assert stale([wrap_line(undated)], sample_dates())


def test_a_reprint_with_the_new_dates_is_not_stale() -> None:
    """What replaced the old tags counts; the old ones do not."""
    earlier = sample_dates(sell_by=SELL_BY - DAY)
    assert stale([wrap_line(sample_dates())], earlier)
    assert not stale([wrap_line(sample_dates()), wrap_line(earlier, printing=2)], earlier)


def test_tags_for_new_bunches_do_not_make_the_older_ones_true() -> None:
    """Three tags with the new date beside twelve with the old one: the lot is still to be reprinted."""
    earlier = sample_dates(sample_lot(stems=150), sell_by=SELL_BY - DAY)
    lines = [wrap_line(sample_dates()), wrap_line(earlier, 3, 2, replaces=False)]
    assert stale(lines, earlier)


def test_tags_of_an_order_are_compared_with_that_order() -> None:
    """Bunches for Saturday go into water on Friday, however the lot's own date lies."""
    order = sample_order()
    dates = sample_dates(orders=(order,))
    line = wrap_line(dates, 6, order=order)
    assert line.into_water_by == order.into_water_by
    assert not stale([line], dates)
    sooner = replace(order, into_water_by=datetime(2027, 2, 25, 18))
    assert stale([line], sample_dates(orders=(sooner,)))


def test_tags_of_an_order_that_is_over_are_compared_with_the_lot() -> None:
    """Bunches that a buyer left behind still carry dates that must not be later than the lot's."""
    line = wrap_line(sample_dates(), 6, order=sample_order())
    assert not stale([line], sample_dates(orders=()))
    assert stale([line], sample_dates(orders=(), into_water_by=datetime(2027, 2, 25, 18)))


def test_two_orders_that_leave_together_are_both_true() -> None:
    """An outlet that wants them open has its own hour; its tag is not held to the other one's."""
    early = sample_order(use="table", into_water_by=datetime(2027, 2, 25, 18))
    dates = sample_dates(orders=(early, sample_order()))
    assert not stale([wrap_line(dates, 6, order=order) for order in dates.orders], dates)


def test_a_wet_lot_has_one_slip_and_no_tags() -> None:
    """The slip is missing until it is printed, is never stale, and leaves all bunches to be tagged."""
    slip = wrap_line(wet(), count=1)
    dry = sample_dates(sample_lot(surface=Surface.DRIED))
    assert (missing([], wet()), missing([slip], wet()), missing([slip], dry)) == (1, 0, 12)
    assert (stale([slip], wet()), stale([slip], dry), tags_printed([slip], dry.lot)) == (False, False, 0)


def test_the_card_of_a_wet_lot_is_stale_once_it_has_a_date() -> None:
    """A crate card says FAN; when the lot is dry and dated, the crate needs its dates."""
    card = printed_now("crates", wet(), 1, NOW)
    assert (card.count, stale([card], wet()), stale([card], sample_dates())) == (1, False, True)


def test_tags_from_before_the_cut_were_for_another_lot() -> None:
    """Codes come back next season, in the same sheet."""
    last_year = replace(wrap_line(sample_dates()), moment=NOW - 365 * DAY, code=StorageCode.BULB)
    assert not stale([last_year], sample_dates())
    assert missing([last_year], sample_dates()) == 12


def test_other_lots_do_not_count() -> None:
    """The lines of a whole sheet can be handed over."""
    lines = [wrap_line(sample_dates(sample_lot(lot_code=code))) for code in ("040", "042")]
    assert (missing(lines, sample_dates()), stale(lines, sample_dates(code=StorageCode.BULB))) == (12, False)
    assert {code: len(found) for code, found in by_lot(lines).items()} == {"040": 1, "042": 1}


@given(
    st.sampled_from(StorageCode),
    st.none() | st.datetimes(datetime(2027, 2, 21), datetime(2027, 4, 1)),
    st.none() | st.datetimes(datetime(2027, 2, 21), datetime(2027, 4, 1)),
    st.lists(st.datetimes(datetime(2027, 2, 21), datetime(2027, 2, 23)), max_size=3),
    st.integers(0, 130),
)
def test_what_was_just_printed_is_neither_stale_nor_missing(
    code: StorageCode,
    sell_by: datetime | None,
    into_water_by: datetime | None,
    leaves: list[datetime],
    gone: int,
) -> None:
    """A second --reprint or --new finds nothing to do, whatever the dates are."""
    orders = tuple(sample_order(leaves=at, stems=10, into_water_by=at - DAY) for at in leaves)
    dates = sample_dates(
        sample_lot(stems=135, gone=gone),
        code=code,
        sell_by=sell_by,
        into_water_by=into_water_by,
        orders=orders,
    )
    bunches = dates.lot.bunches_left or 0
    lines = [wrap_line(dates, 1, order=order) for order in orders[:bunches]]
    lines.append(wrap_line(dates, bunches - len(lines)))
    assert (stale(lines, dates), missing(lines, dates)) == (False, 0)
    assert tags_printed(lines, dates.lot) == bunches


# --- bunches that have no tag ------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("changes", "expected"),
    [
        ({}, (12, 0)),
        ({"stems": 150}, (12, 3)),
        ({"stems": 121}, (12, 1)),
        ({"gone": 60}, (6, 0)),
        ({"stems": 140, "gone": 60}, (6, 2)),
        ({"stems": 140, "gone": 20, "dumped": 20, "split_off": 20}, (6, 2)),
        ({"stems": 140, "gone": 130}, (0, 1)),
        ({"gone": 120}, (0, 0)),
        ({"stems": 110}, (11, 0)),
        ({"stems": None}, (12, 0)),
    ],
    ids=[
        "all tagged",
        "three bunches more",
        "one stem more",
        "half sold",
        "half sold, two more",
        "sold, dumped and split off",
        "sold beyond the tagged ones",
        "all sold",
        "counted again, fewer",
        "stems unknown",
    ],
)
def test_missing_counts_the_bunches_that_were_added(
    changes: dict[str, Any], expected: tuple[int, int]
) -> None:
    """Twelve bunches were tagged; what left since took its tags along."""
    lines, now = [wrap_line(sample_dates())], sample_dates(sample_lot(**changes))
    assert (tags_printed(lines, now.lot), missing(lines, now)) == expected


def test_missing_of_a_lot_that_was_never_printed_is_all_of_it() -> None:
    """Also after part of it was sold without tags."""
    assert missing([], sample_dates()) == 12
    assert missing([], sample_dates(sample_lot(gone=60))) == 6


def test_a_printing_that_was_repeated_tags_no_bunch_twice() -> None:
    """A paper jam and a second run: three added bunches are still missing."""
    lines = [wrap_line(sample_dates(), printing=n) for n in (1, 2)]
    assert missing(lines, sample_dates(sample_lot(stems=150))) == 3


def test_new_tags_add_to_the_older_ones() -> None:
    """Twelve, then three for new bunches, then half of all sold, then two more."""
    lines = [wrap_line(sample_dates()), wrap_line(sample_dates(sample_lot(stems=150)), 3, 2, replaces=False)]
    assert missing(lines, sample_dates(sample_lot(stems=150))) == 0
    assert missing(lines, sample_dates(sample_lot(stems=170, gone=75))) == 2


def test_a_short_bunch_that_is_filled_up_needs_no_second_tag() -> None:
    """115 stems are twelve bunches; so are 120."""
    lines = [wrap_line(sample_dates(sample_lot(stems=115)))]
    assert missing(lines, sample_dates(sample_lot(stems=120))) == 0


def test_a_reprint_after_sales_counts_from_what_was_left() -> None:
    """Sixty stems gone before the reprint took old tags along, and are not taken off the new ones."""
    sold = sample_lot(gone=60)
    lines = [wrap_line(sample_dates()), wrap_line(sample_dates(sold), 6, 2)]
    assert missing(lines, sample_dates(sold)) == 0
    assert missing(lines, sample_dates(replace(sold, gone=50))) == 1
