"""Printed tags: which of them are still true, and which bunches have none."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime, timedelta
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tagmaker.lot import Lot, State, StorageCode, StorageDates, Surface
from tagmaker.record.tags import Printed, Stale, by_lot, missing, printed_now, stale, standing, tags_printed
from tests.paper_samples import NOW, in_water, sample_dates, sample_lot, sample_order

DAY = timedelta(days=1)
SELL_BY = datetime(2027, 3, 6, 6, 30)  # of `sample_dates`
INTO_WATER_BY = datetime(2027, 3, 5, 18)


def wrap_line(dates: StorageDates, count: int = 12, printing: int = 1, **more: Any) -> Printed:
    """Wrap labels printed from dates, all twelve of the lot's bunches unless a count is given."""
    return replace(printed_now("wraps", dates, count, NOW, **more), printing=printing)


def put_in_water() -> Lot:
    """The lot, put in water when its tag asks for it."""
    return sample_lot(in_water=INTO_WATER_BY)


def wet() -> StorageDates:
    """The lot while it still has drops on it."""
    lot = sample_lot(surface=Surface.WET, in_cooler=None)
    return sample_dates(lot, sell_by=None, into_water_by=None, state=State.NO_DATE)


# --- tags that are no longer true --------------------------------------------------------------------------


MUST_GO, COULD_SAY_MORE = Stale.MUST_GO, Stale.COULD_SAY_MORE


@pytest.mark.parametrize(
    ("now_computed", "expected"),
    [
        (sample_dates(), None),
        (sample_dates(sell_by=SELL_BY - DAY), MUST_GO),
        (sample_dates(into_water_by=INTO_WATER_BY - DAY), MUST_GO),
        (sample_dates(sell_by=SELL_BY - timedelta(minutes=15)), MUST_GO),
        (sample_dates(sell_by=SELL_BY + DAY, into_water_by=INTO_WATER_BY + DAY), COULD_SAY_MORE),
        (sample_dates(sell_by=SELL_BY + DAY, into_water_by=INTO_WATER_BY - DAY), MUST_GO),
        (sample_dates(sell_by=None), MUST_GO),
        (sample_dates(code=StorageCode.BULB), MUST_GO),
        (in_water(), MUST_GO),
        (in_water(put_in_water(), kept=StorageCode.DRY), COULD_SAY_MORE),
        (in_water(put_in_water(), kept=StorageCode.DRY, sell_by=SELL_BY - DAY), MUST_GO),
        (sample_dates(sample_lot(gone=120), sell_by=SELL_BY - DAY), None),
    ],
    ids=[
        "same dates",
        "sell-by earlier",
        "into-water-by earlier",
        "an hour that moved",
        "both later",
        "one later, one earlier",
        "no date any more",
        "another code",
        "another way",
        "put in water as the tag asks",
        "put in water, and sold earlier for it",
        "none left",
    ],
)
def test_what_promises_too_much_must_go_and_what_holds_could_say_more(
    now_computed: StorageDates, expected: Stale | None
) -> None:
    """A date printed later than computed, or another way of keeping; later dates leave a tag true."""
    assert stale([wrap_line(sample_dates())], now_computed) == expected


def test_a_tag_without_a_date_could_say_more_once_there_is_one() -> None:
    """NO DATE promises nothing to anybody."""
    undated = sample_dates(sell_by=None)
    assert stale([wrap_line(undated)], undated) is None
    assert stale([wrap_line(undated)], sample_dates()) is COULD_SAY_MORE


def test_a_card_that_keeps_cold_for_too_long_must_go() -> None:
    """Its KEEPS COLD UNTIL is a promise like the others; a card from before it was said is not held to it."""
    until = datetime(2027, 3, 12, 18)
    card = printed_now("crates", sample_dates(keeps_until=until), 1, NOW)
    assert stale([card], sample_dates(keeps_until=until)) is None
    assert stale([card], sample_dates(keeps_until=until - DAY)) is MUST_GO
    assert stale([card], sample_dates(keeps_until=until + DAY)) is COULD_SAY_MORE
    assert stale([replace(card, keeps_until=None)], sample_dates(keeps_until=until - DAY)) is None


def test_an_order_that_came_later_makes_its_bunches_labels_must_go() -> None:
    """Twelve labels of the lot, then six bunches are wanted sooner: labels and card; reprinted, all holds."""
    order = sample_order()
    ordered = sample_dates(orders=(order,))
    wraps, card = [wrap_line(sample_dates())], [printed_now("crates", sample_dates(), 1, NOW)]
    assert (stale(wraps, ordered), stale(card, ordered)) == (MUST_GO, MUST_GO)
    assert [tag.stale for tag in standing(wraps, ordered)] == [MUST_GO]
    again = [wrap_line(ordered, 6, 2, order=order), wrap_line(ordered, 6, 2)]
    assert stale([*wraps, *again], ordered) is None
    assert stale([*card, replace(printed_now("crates", ordered, 1, NOW), printing=2)], ordered) is None
    more = sample_dates(orders=(replace(order, stems=80),))
    assert stale(again, more) is MUST_GO
    assert stale([replace(card[0], promised=None)], ordered) is None


def test_an_order_that_bunches_without_a_label_can_take_leaves_the_others_true() -> None:
    """Five of twelve are labelled: the six that are wanted are among the seven that are not."""
    lines = [wrap_line(sample_dates(), 5)]
    assert stale(lines, sample_dates(orders=(sample_order(),))) is None
    assert stale(lines, sample_dates(orders=(sample_order(stems=80),))) is MUST_GO


def test_a_reprint_with_the_new_dates_is_not_stale() -> None:
    """What replaced the old tags counts; the old ones do not."""
    earlier = sample_dates(sell_by=SELL_BY - DAY)
    assert stale([wrap_line(sample_dates())], earlier) is MUST_GO
    assert stale([wrap_line(sample_dates()), wrap_line(earlier, printing=2)], earlier) is None


def test_tags_for_new_bunches_do_not_make_the_older_ones_true() -> None:
    """Three tags with the new date beside twelve with the old one: the lot is still to be reprinted."""
    earlier = sample_dates(sample_lot(stems=150), sell_by=SELL_BY - DAY)
    lines = [wrap_line(sample_dates()), wrap_line(earlier, 3, 2, replaces=False)]
    assert stale(lines, earlier) is MUST_GO


def test_tags_of_an_order_are_compared_with_that_order() -> None:
    """Bunches for Saturday go into water on Friday, however the lot's own date lies."""
    order = sample_order()
    dates = sample_dates(orders=(order,))
    line = wrap_line(dates, 6, order=order)
    assert line.into_water_by == order.into_water_by
    assert stale([line], dates) is None
    sooner = replace(order, into_water_by=datetime(2027, 2, 25, 18))
    assert stale([line], sample_dates(orders=(sooner,))) is MUST_GO


def test_tags_of_an_order_that_is_over_are_compared_with_the_lot() -> None:
    """Bunches that a buyer left behind still carry dates that must not be later than the lot's."""
    line = wrap_line(sample_dates(), 6, order=sample_order())
    assert stale([line], sample_dates(orders=())) is COULD_SAY_MORE
    assert stale([line], sample_dates(orders=(), into_water_by=datetime(2027, 2, 25, 18))) is MUST_GO


def test_two_orders_that_leave_together_are_both_true() -> None:
    """An outlet that wants them open has its own hour; its tag is not held to the other one's."""
    early = sample_order(use="table", into_water_by=datetime(2027, 2, 25, 18))
    dates = sample_dates(orders=(early, sample_order()))
    assert stale([wrap_line(dates, 6, order=order) for order in dates.orders], dates) is None


def test_a_wet_lot_has_one_slip_and_no_tags() -> None:
    """The slip is missing until it is printed, is never stale, and leaves all bunches to be tagged."""
    slip = wrap_line(wet(), count=1)
    dry = sample_dates(sample_lot(surface=Surface.DRIED))
    assert (missing([], wet()), missing([slip], wet()), missing([slip], dry)) == (1, 0, 12)
    assert (stale([slip], wet()), stale([slip], dry), tags_printed([slip], dry.lot)) == (None, None, 0)


def test_the_card_of_a_wet_lot_could_say_more_once_it_has_a_date() -> None:
    """A crate card says FAN; when the lot is dry and dated, the crate needs its dates."""
    card = printed_now("crates", wet(), 1, NOW)
    assert (card.count, stale([card], wet()), stale([card], sample_dates())) == (1, None, COULD_SAY_MORE)


def test_tags_from_before_the_cut_were_for_another_lot() -> None:
    """Codes come back next season, in the same sheet."""
    last_year = replace(wrap_line(sample_dates()), moment=NOW - 365 * DAY, code=StorageCode.BULB)
    assert stale([last_year], sample_dates()) is None
    assert missing([last_year], sample_dates()) == 12


def test_other_lots_do_not_count() -> None:
    """The lines of a whole sheet can be handed over."""
    lines = [wrap_line(sample_dates(sample_lot(lot_code=code))) for code in ("040", "042")]
    assert (missing(lines, sample_dates()), stale(lines, sample_dates(code=StorageCode.BULB))) == (12, None)
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
    assert (stale(lines, dates), missing(lines, dates)) == (None, 0)
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
