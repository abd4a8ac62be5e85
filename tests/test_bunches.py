"""Which bunches are an order's, and in which crates of the lot they lie."""

from __future__ import annotations

from datetime import datetime

import pytest

from tagmaker.lot import OrderDates, StorageDates, Verdict
from tagmaker.storage.crops import crop_table
from tagmaker.telling.bunches import bunches_of, crates_of
from tests.paper_samples import in_water, sample_dates, sample_lot, sample_order

CROPS = crop_table()


def loads(dates: StorageDates) -> tuple[int | None, ...]:
    """Bunches in each crate or bucket of a lot."""
    return tuple(crate.bunches for crate in crates_of(dates, CROPS))


def takes(dates: StorageDates) -> list[list[tuple[datetime, int]]]:
    """Departure and bunches that each crate gives to part orders."""
    return [[(order.leaves, count) for order, count in crate.takes] for crate in crates_of(dates, CROPS)]


def test_a_dry_lot_has_a_card_for_each_crate_filled_one_after_another() -> None:
    """300 tulips, 120 a crate, tens: crates of 12, 12 and 6 bunches."""
    assert loads(sample_dates(sample_lot(stems=300))) == (12, 12, 6)


def test_a_lot_in_water_has_a_card_for_each_bucket() -> None:
    """300 tulips, 80 a bucket, tens: buckets of 8, 8, 8 and 6 bunches."""
    assert loads(in_water(sample_lot(stems=300))) == (8, 8, 8, 6)


@pytest.mark.parametrize(("stems", "per_bunch"), [(1, 10), (121, 10), (119, 7), (20_000, 100), (361, 1)])
def test_crates_are_as_many_as_the_stems_left_ask_for(stems: int, per_bunch: int) -> None:
    """Stems left over 120 a crate, rounded up; the bunches of all crates are the lot's bunches."""
    lot = sample_lot(stems=stems, per_bunch=per_bunch)
    shares = loads(sample_dates(lot))
    assert (len(shares), sum(share or 0 for share in shares)) == (-(-stems // 120), lot.bunches_left)


def test_bunches_larger_than_a_bucket_are_not_counted() -> None:
    """One bunch of 60 hydrangeas fills four buckets of 15: no bucket has a number of bunches."""
    lot = sample_lot(crop="hydrangea", form="", stems=60, per_bunch=60)
    assert loads(in_water(lot)) == (None,) * 4


def part(day: int, stems: int | None, **changes: object) -> OrderDates:
    """An order of March that the lot can serve."""
    return sample_order(leaves=datetime(2027, 3, day, 8), stems=stems, **changes)


FIRST, SECOND = part(3, 60), part(5, 85)


def test_the_bunches_of_orders_lie_in_the_first_crates() -> None:
    """Six bunches and nine out of crates of twelve: the second order goes on where the first ended."""
    dates = sample_dates(sample_lot(stems=300), orders=(FIRST, SECOND))
    assert takes(dates) == [[(FIRST.leaves, 6), (SECOND.leaves, 6)], [(SECOND.leaves, 3)], []]
    assert [crate.own for crate in crates_of(dates, CROPS)] == [0, 9, 6]


def test_crates_and_labels_give_an_order_the_same_bunches() -> None:
    """What the crates give to each order is what its labels are counted for."""
    dates = sample_dates(sample_lot(stems=125), orders=(FIRST, SECOND))
    from_crates = {FIRST.leaves: 0, SECOND.leaves: 0}
    for crate in takes(dates):
        for leaves, count in crate:
            from_crates[leaves] += count
    labels = {some.order.leaves: 0 for some in bunches_of(dates) if some.order}
    for some in bunches_of(dates):
        if some.order:
            labels[some.order.leaves] += some.count
    assert from_crates == labels == {FIRST.leaves: 6, SECOND.leaves: 7}


def test_orders_for_the_whole_lot_and_those_it_cannot_serve_take_no_crate() -> None:
    """Their dates are the lot's own, or none."""
    orders = (part(3, None), part(5, 60, verdict=Verdict.NOT_FOR))
    assert takes(sample_dates(sample_lot(stems=300), orders=orders)) == [[], [], []]


def test_the_one_card_of_an_uncounted_lot_has_every_order() -> None:
    """Where the sheet does not say how many stems there are."""
    assert takes(sample_dates(sample_lot(stems=None), orders=(FIRST, SECOND))) == [
        [(FIRST.leaves, 6), (SECOND.leaves, 9)]
    ]
