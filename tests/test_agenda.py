"""What is to be done with a lot: each task on its hour, and never two at once."""

from dataclasses import replace
from datetime import date
from itertools import groupby
from typing import Any

import pytest

from tagmaker.farm import Farm
from tagmaker.lot import HandLow, Mark, Move, NoDate, State, StorageDates, Surface, Verdict
from tagmaker.telling.agenda import Kind, Task, agenda, lot_tasks, next_task
from tagmaker.telling.deadlines import SellWord, selling_told
from tagmaker.telling.order import Share, works
from tagmaker.telling.parts import apart, parts
from tagmaker.telling.wording import Wording
from tests.told_lots import CROPS, FARM, NOW, a_lot, an_order, at, dates, standing_in_water


def by_day(dated: StorageDates, days: int = 7, farm: Farm = FARM) -> dict[int, list[Task]]:
    """The days of the month that have tasks, with them."""
    tasks = agenda([dated], farm, NOW, days)
    return {day.day: list(found) for day, found in groupby(tasks, key=lambda task: task.day(NOW.date()))}


def kinds(dated: StorageDates, days: int = 7) -> dict[int, list[Kind]]:
    """The days of the month that have tasks, with what they are."""
    return {day: [task.kind for task in tasks] for day, tasks in by_day(dated, days).items()}


def test_a_dry_lot_goes_into_water_and_leaves_at_its_sell_by() -> None:
    """Without orders the whole lot goes into water by its date and is out by its sell-by."""
    found = by_day(dates())
    assert {day: [(t.kind, t.by, t.bunches, t.use) for t in tasks] for day, tasks in found.items()} == {
        26: [(Kind.INTO_WATER, at(26, 18), 12, "shop")],
        27: [(Kind.LEAVES, at(27), 12, "shop")],
    }


def test_a_task_says_where_the_lot_stands_then() -> None:
    """Cooler and place as they are at its hour: a move drops the place, unless it names one."""
    moves = (Move(since=at(24, 12), place="porch"), Move(since=at(27, 7), place="porch", spot="rack 2"))
    lot = a_lot(place="shelf 1", moves=moves)
    found = agenda([dates(lot)], FARM, NOW)
    assert [(task.kind, task.cooler, task.place, task.to) for task in found] == [
        (Kind.MOVE, "barn", "shelf 1", "porch"),
        (Kind.INTO_WATER, "porch", "", ""),
        (Kind.LEAVES, "porch", "rack 2", ""),
    ]


def test_part_orders_have_their_own_water_and_departure_and_the_rest_the_lots() -> None:
    """An order for some of the stems goes by its own hours; what it leaves goes by the lot's."""
    order = an_order(at(24), 35, into_water_by=at(23, 18))
    found = by_day(dates(orders=(order,)))
    assert {day: [(t.kind, t.stems, t.bunches, t.order) for t in tasks] for day, tasks in found.items()} == {
        23: [(Kind.INTO_WATER, 35, 4, order)],
        24: [(Kind.LEAVES, 35, 4, order)],
        26: [(Kind.INTO_WATER, 85, 8, None)],
        27: [(Kind.LEAVES, 85, 8, None)],
    }


def test_a_whole_lot_order_takes_what_part_orders_leave_and_no_sell_by_remains() -> None:
    """With an order for the whole lot nothing is left to go at the sell-by."""
    part = an_order(at(24), 20, into_water_by=at(23, 18))
    whole = an_order(at(25), None, into_water_by=at(24, 18))
    dated = dates(orders=(part, whole), tag_order=whole, sell_by=at(27), into_water_by=at(24, 18))
    assert [(some.order, some.stems, some.bunches) for some in parts(dated, NOW)] == [
        (part, 20, 2),
        (whole, 100, 10),
    ]


def test_orders_for_every_stem_leave_no_sell_by() -> None:
    """Part orders that take all stems leave nothing to go at the sell-by."""
    dated = dates(orders=(an_order(at(24), 120, into_water_by=at(23, 18)),))
    assert kinds(dated) == {23: [Kind.INTO_WATER], 24: [Kind.LEAVES]}


@pytest.mark.parametrize("verdict", [Verdict.NOT_FOR, Verdict.TOO_LATE])
def test_an_order_that_cannot_be_served_takes_no_stems(verdict: Verdict) -> None:
    """Nothing is put in water for it, and its stems go with the rest."""
    dated = dates(orders=(an_order(at(25), 60, verdict=verdict, into_water_by=at(24, 18)),))
    assert {day: [task.stems for task in tasks] for day, tasks in by_day(dated).items()} == {
        26: [120],
        27: [120],
    }


def test_two_orders_that_are_alike_are_one_task_with_the_bunches_of_both() -> None:
    """The same stems at the same hour for the same outlet, twice."""
    order, same = (an_order(at(24), 20, into_water_by=at(23, 18)) for _ in range(2))
    (task,) = by_day(dates(orders=(order, same)))[24]
    assert (task.kind, task.bunches, task.stems, task.order) == (Kind.LEAVES, 4, 40, order)


def test_overdue_water_is_told_now_with_when_it_would_be_ready() -> None:
    """Dry stems whose time has passed go into water now."""
    dated = dates(into_water_by=at(20, 18), water_now=True, ready_from=at(22, 18), sell_by=at(22, 18))
    first = by_day(dated)[22][0]
    assert (first.kind, first.by, first.now, first.ready) == (Kind.INTO_WATER, at(20, 18), True, at(22, 18))


def test_an_overdue_part_order_is_put_in_water_now() -> None:
    """An order whose bench hour has passed but whose hours still fit goes into water now."""
    order = an_order(at(23, 6, 30), 30, into_water_by=at(22, 9))
    (task,) = [task for task in by_day(dates(orders=(order,)))[22] if task.kind is Kind.INTO_WATER]
    assert (task.now, task.stems) == (True, 30)


def test_a_sell_by_of_this_morning_is_told_now_and_asks_for_no_water() -> None:
    """A departure earlier today should have been done by now; water for it would come too late."""
    dated = dates(sell_by=at(22, 8), into_water_by=at(21, 18), water_now=True, ready_from=at(23, 2))
    assert [(task.kind, task.now) for task in by_day(dated)[22]] == [(Kind.LEAVES, True)]


# ---- what is not to be sold


@pytest.mark.parametrize(
    ("changes", "kind", "reason"),
    [
        ({"no_date": NoDate.FROST, "marks": (Mark.FROST,)}, Kind.DO_NOT_SELL, "frost"),
        ({"no_date": NoDate.SET_POINT}, Kind.DO_NOT_SELL, "set point"),
        ({"no_date": NoDate.NOTHING}, Kind.DO_NOT_SELL, "nothing would do"),
        ({"no_date": NoDate.HEAT}, Kind.THROW_OUT, "heat"),
        ({"state": State.TOO_OLD, "bad_since": date(2027, 3, 21)}, Kind.THROW_OUT, "tested bad"),
        ({"state": State.TOO_OLD, "sell_by": at(20)}, Kind.THROW_OUT, "too old"),
    ],
)
def test_a_lot_that_is_not_to_be_sold_is_told_nothing_else(
    changes: dict[str, object], kind: Kind, reason: str
) -> None:
    """Neither water nor a test, a move or fresh water."""
    undated = {"state": State.NO_DATE, "sell_by": None, "into_water_by": None}
    looks = {"tests_on": (at(23).date(),), "mould_on": at(23).date(), "look_at_buds": True}
    lot = a_lot(moves=(Move(since=at(24), place="porch"),))
    (task,) = agenda([dates(lot, **{**undated, **looks, **changes})], FARM, NOW)
    assert (task.kind, task.now, task.reason, task.bunches) == (kind, True, reason, 12)


def test_bunches_that_may_have_left_are_asked_for_and_told_nothing_else() -> None:
    """Neither to be sold, nor kept, nor given fresh water; frost and bad tests go before the question."""
    perhaps = standing_in_water(a_lot(may_have_left=at(20, 7)), state=State.SELL_FIRST)
    assert [(t.kind, t.by, t.bunches, t.now) for t in lot_tasks(perhaps, FARM, NOW, at(40).date())] == [
        (Kind.DID_THEY_LEAVE, at(20, 7), 12, True)
    ]
    bad = replace(perhaps, bad_since=date(2027, 3, 21))
    assert [task.kind for task in lot_tasks(bad, FARM, NOW, at(40).date())] == [Kind.THROW_OUT]


def test_a_wet_lot_is_to_be_fanned_now() -> None:
    """A lot to be kept dry that still has drops is fanned first; it has no other task."""
    dated = dates(
        a_lot(surface=Surface.WET, in_cooler=None), state=State.NO_DATE, sell_by=None, into_water_by=None
    )
    assert kinds(dated) == {22: [Kind.FAN]}


def test_a_lot_whose_own_outlet_is_over_is_sold_elsewhere() -> None:
    """Told now, with the first outlet that would still take it; its missed sell-by and its water are not."""
    outlets = (("shop", at(24)), ("table", at(27, 6, 30)))
    dated = dates(sell_by=at(20), into_water_by=at(19, 18), state=State.SELL_ELSEWHERE, elsewhere=outlets)
    (task,) = agenda([dated], FARM, NOW)
    assert (task.kind, task.by, task.use, task.now) == (Kind.SELL_ELSEWHERE, at(24), "shop", True)
    told = "SELL ELSEWHERE shop WED 24 MAR 8 AM: 12 bunches"
    say = Wording("F").macros("agenda.j2")
    assert say.next(task=task) == f"{told} · STILL DRY?"
    (wet,) = agenda([replace(dated, into_water_by=None)], FARM, NOW)
    assert say.next(task=wet) == told


def test_a_sell_by_of_another_use_is_what_is_told_while_its_water_is_to_come() -> None:
    """Not the next outlet, for which dry stems were never put in water; once that hour is over, the next."""
    outlets = (("shop", at(24)), ("stall", at(27, 6, 30)))
    dated = dates(sell_by_use="stall", state=State.SELL_ELSEWHERE, sell_by=at(27, 6, 30), elsewhere=outlets)
    found = [(task.kind, task.by, task.use) for task in agenda([dated], FARM, NOW)]
    assert found == [
        (Kind.SELL_ELSEWHERE, at(27, 6, 30), "stall"),
        (Kind.INTO_WATER, at(26, 18), "stall"),
        (Kind.LEAVES, at(27, 6, 30), "stall"),
    ]
    told = selling_told(dated, None, FARM.workday, NOW)
    assert (told.word, told.moment, told.use) == (SellWord.ELSEWHERE, at(27, 6, 30), "stall")
    late = selling_told(replace(dated, into_water_by=at(21, 18)), None, FARM.workday, NOW)
    assert (late.moment, late.use) == (at(24), "shop")


def test_stems_that_no_use_would_take_are_sold_by_the_day_that_they_keep_until() -> None:
    """To whoever takes them; of unknown stage, somebody looks at the buds first: they may keep longer."""
    done: dict[str, Any] = {"sell_by": at(20), "into_water_by": at(19, 18), "state": State.SELL_ELSEWHERE}
    (task,) = agenda([dates(keeps_until=at(24, 18), **done)], FARM, NOW)
    assert (task.kind, task.by, task.use) == (Kind.SELL_ELSEWHERE, at(24, 18), "")
    (task,) = agenda([dates(a_lot(stage=None), keeps_until=at(24, 18), **done)], FARM, NOW)
    assert task.kind is Kind.LOOK_AT_BUDS
    (task,) = agenda([dates(a_lot(stage=None), keeps_until=at(21, 18), **done)], FARM, NOW)
    assert (task.kind, task.reason) == (Kind.THROW_OUT, "too old")


def test_what_an_order_keeps_and_what_is_too_old_are_told_apart() -> None:
    """Sixty stems go on to their order; the others, which no outlet takes, are thrown out."""
    order = an_order(at(25), 60, into_water_by=at(24, 18))
    dated = dates(sell_by=at(20), into_water_by=at(19, 18), state=State.SELL_ELSEWHERE, orders=(order,))
    kept, rest = apart(dated, NOW)
    assert [(some.order, some.stems) for some in kept] == [(order, 60)]
    assert rest is not None
    assert (rest.stems, rest.state) == (60, State.TOO_OLD)
    assert [(task.kind, task.stems) for task in agenda([dated], FARM, NOW)] == [
        (Kind.THROW_OUT, 60),
        (Kind.INTO_WATER, 60),
        (Kind.LEAVES, 60),
    ]


@pytest.mark.parametrize("state", [State.KEEP, State.SELL_FIRST])
def test_a_lot_that_is_kept_as_a_whole_is_not_told_apart(state: State) -> None:
    """Without an order there is one part, and with KEEP there is nothing to part."""
    assert apart(dates(state=state), NOW) == ((), None)
    keeping = dates(state=State.KEEP, orders=(an_order(at(25), 60),))
    assert apart(keeping, NOW) == ((), None)


# ---- looks


def test_a_test_stands_on_its_day() -> None:
    """The day to open a bunch is taken from the dates."""
    dated = dates(tests_on=(date(2027, 3, 24),), sell_by=at(30), into_water_by=at(29, 18))
    assert kinds(dated)[24] == [Kind.TEST_A_BUNCH]


def test_a_missed_test_is_todays_while_its_departure_is_to_come() -> None:
    """A test day gone by is told now, once, and not after the departure."""
    missed = (date(2027, 3, 18), date(2027, 3, 20))
    assert [(task.kind, task.now) for task in by_day(dates(tests_on=missed))[22]] == [
        (Kind.TEST_A_BUNCH, True)
    ]
    gone = standing_in_water(a_lot(cut=at(21)), tests_on=missed, sell_by=at(22, 9))
    assert kinds(gone)[22] == [Kind.LEAVES]


def test_buds_mould_and_a_test_bunch_are_looked_at_on_their_days() -> None:
    """Buds today, mould on its day and not after it, an opened bunch from the day after on."""
    dated = dates(look_at_buds=True, mould_on=at(23).date(), look_at_test_on=at(21).date())
    assert kinds(dated)[22] == [Kind.LOOK_AT_TEST, Kind.LOOK_AT_BUDS]
    assert kinds(dated)[23] == [Kind.LOOK_FOR_MOULD]
    assert Kind.LOOK_FOR_MOULD not in kinds(replace(dated, mould_on=at(21).date()))[22]


def test_a_low_below_freezing_is_looked_for_before_buds_mould_and_a_test_and_the_dates_stay() -> None:
    """Today, in place of the looks of the same morning; water and departure are told as ever."""
    low = HandLow(at(21).date(), -4.0)
    today = at(22).date()
    dated = dates(low_by_hand=low, look_at_buds=True, mould_on=today, tests_on=(today,))
    found = by_day(dated)
    assert [(task.kind, task.low, task.now) for task in found[22]] == [(Kind.LOOK_FOR_FROST, low, False)]
    assert kinds(dated) == {22: [Kind.LOOK_FOR_FROST], **{day: kinds(dates())[day] for day in (26, 27)}}
    assert next_task(dated, FARM, NOW) == found[22][0]


def test_a_low_below_freezing_is_looked_for_before_the_stems_are_sold_elsewhere() -> None:
    """No outlet is named until somebody looked; what is too old, or frozen for sure, is not looked at."""
    gone: dict[str, Any] = {"sell_by": at(20), "into_water_by": at(19, 18)}
    dated = dates(low_by_hand=HandLow(at(21).date(), -4.0), elsewhere=(("shop", at(24)),), **gone)
    assert kinds(replace(dated, state=State.SELL_ELSEWHERE)) == {22: [Kind.LOOK_FOR_FROST]}
    assert kinds(replace(dated, state=State.TOO_OLD)) == {22: [Kind.THROW_OUT]}
    assert kinds(replace(dated, state=State.NO_DATE, no_date=NoDate.FROST)) == {22: [Kind.DO_NOT_SELL]}


def test_a_bunch_opened_after_the_cold_is_looked_at_before_another_is() -> None:
    """One of the day of the cold itself tells nothing yet."""
    gone: dict[str, Any] = {"sell_by": at(20), "elsewhere": (("shop", at(24)),)}
    dated = dates(low_by_hand=HandLow(at(21).date(), -4.0), state=State.SELL_ELSEWHERE, **gone)
    for opened, kind in ((20, Kind.LOOK_FOR_FROST), (21, Kind.LOOK_FOR_FROST), (22, Kind.LOOK_AT_TEST)):
        found = agenda([replace(dated, look_at_test_on=at(opened + 1).date())], FARM, NOW)
        assert kind in [task.kind for task in found]
        assert Kind.SELL_ELSEWHERE not in [task.kind for task in found]
        assert (Kind.LOOK_FOR_FROST in [task.kind for task in found]) is (kind is Kind.LOOK_FOR_FROST)


def test_lots_to_look_for_frost_in_are_told_together_where_the_low_is_the_same() -> None:
    """Each LOW has its own line, with the lots that it is about."""
    lows = {"401": -4.0, "402": -4.0, "403": -5.0}
    lots = {
        code: dates(a_lot(lot_code=code), low_by_hand=HandLow(at(21).date(), low))
        for code, low in lows.items()
    }
    found = works(agenda(lots.values(), FARM, NOW, 1), lots, CROPS)
    assert [[share.lot for share in work.shares] for work in found] == [["401", "402"], ["403"]]


def test_any_drops_are_felt_for_on_the_day_of_the_cut() -> None:
    """A dry lot that says nothing of drops, on the day of the cut and on no later day; not one in water."""
    assert kinds(dates(a_lot(cut=at(22, 8))))[22] == [Kind.ANY_DROPS]
    for lot in (a_lot(cut=at(21, 8)), a_lot(cut=at(22, 8), surface=Surface.DRIED)):
        assert 22 not in kinds(dates(lot))
    assert Kind.ANY_DROPS not in kinds(standing_in_water(a_lot(cut=at(22, 8)))).get(22, [])


# ---- water, warmth, moves


def test_fresh_water_every_second_day_for_what_stands_in_water() -> None:
    """Counted from the day it went in, and not on the day it leaves."""
    dated = standing_in_water(a_lot(cut=at(22, 9)), sell_by=at(28))
    assert [day for day, found in kinds(dated).items() if Kind.FRESH_WATER in found] == [24, 26]


def test_fresh_water_counts_from_the_day_a_dry_lot_went_into_water() -> None:
    """`in water` begins the count anew."""
    dated = standing_in_water(a_lot(in_water=at(21, 18)), kept=dates().kept, sell_by=at(28))
    assert [day for day, found in kinds(dated).items() if Kind.FRESH_WATER in found] == [23, 25, 27]


def test_fresh_water_on_a_day_off_moves_to_a_working_day_but_never_to_the_day_after_a_change() -> None:
    """Nobody works on Sunday the 28th: after Friday's change it waits for Monday, beyond the week."""
    dated = standing_in_water(a_lot(cut=at(22, 9)), sell_by=at(32))
    assert [day for day, found in kinds(dated).items() if Kind.FRESH_WATER in found] == [24, 26]


def test_fresh_water_follows_when_a_dry_lot_goes_into_water_in_the_week() -> None:
    """In on Tuesday, out on Saturday: new water on Thursday."""
    dated = dates(into_water_by=at(23, 18), sell_by=at(27))
    assert [day for day, found in kinds(dated).items() if Kind.FRESH_WATER in found] == [25]


def test_what_is_sold_elsewhere_goes_on_getting_fresh_water() -> None:
    """Until the last outlet that would take it; nobody works on Sunday the 21st."""
    dated = standing_in_water(
        a_lot(cut=at(17, 9)), sell_by=at(20), state=State.SELL_ELSEWHERE, elsewhere=(("shop", at(26)),)
    )
    assert [day for day, found in kinds(dated).items() if Kind.FRESH_WATER in found] == [22, 24]


def test_opening_hours_stand_on_the_day_they_begin() -> None:
    """Stems that must be open go into the warm on the day the hours begin."""
    order = an_order(at(26), 120, into_water_by=at(24, 12), stand_warm_from=at(25, 8))
    assert kinds(dates(orders=(order,))) == {
        24: [Kind.INTO_WATER],
        25: [Kind.INTO_THE_WARM],
        26: [Kind.LEAVES],
    }


def test_stems_in_water_leave_the_cooler_to_open() -> None:
    """For a use that wants them open, `out_by` is the hour to take them out."""
    dated = standing_in_water(a_lot(cut=at(21, 9)), out_by=at(22, 18), sell_by=at(23, 18))
    assert kinds(dated)[22] == [Kind.INTO_THE_WARM]


def test_stems_without_a_count_have_tasks_without_a_count() -> None:
    """A blank stems cell leaves the counts open and the days as they are."""
    found = by_day(dates(a_lot(stems=None)))
    assert {day: [task.bunches for task in tasks] for day, tasks in found.items()} == {26: [None], 27: [None]}


# ---- one at a time


@pytest.mark.parametrize("days", [1, 7, 30])
def test_a_lot_is_told_one_thing_at_a_moment(days: int) -> None:
    """Of a part's tasks at one moment the gravest stands: no two of any lot share moment and bunches."""
    order = an_order(at(24), 35, into_water_by=at(22, 9), stand_warm_from=at(22, 9))
    lots = [
        dates(
            a_lot(lot_code=code, cut=at(20, 9), moves=(Move(since=at(26, 18), place="porch"),)),
            orders=(order,),
            look_at_buds=True,
            mould_on=at(22).date(),
            look_at_test_on=at(22).date(),
            tests_on=(at(22).date(),),
            **changes,
        )
        for code, changes in (("401", {}), ("402", {"into_water_by": at(20), "water_now": True}))
    ]
    told = [(task.lot, None if task.now else task.by, task.order) for task in agenda(lots, FARM, NOW, days)]
    assert len(told) == len(set(told))
    assert Kind.LOOK_AT_BUDS in [task.kind for task in agenda(lots, FARM, NOW, days)]


def test_the_next_task_is_the_first_that_is_told() -> None:
    """What holds now before what is due at an hour; nothing for a lot that is sold out."""
    dated = dates(tests_on=(at(20).date(),))
    following = next_task(dated, FARM, NOW)
    assert following is not None
    assert following == lot_tasks(dated, FARM, NOW, at(40).date())[0]
    assert following.kind is Kind.TEST_A_BUNCH
    assert next_task(dates(a_lot(gone=120)), FARM, NOW) is None


def test_a_written_plan_asks_from_its_day_on_whether_it_was_cut() -> None:
    """On its day and until the word is taken away; a bare date to come asks nothing."""
    plans = [
        a_lot(lot_code="501", cut=at(20), planned=True, plan_written=True),
        a_lot(lot_code="502", cut=at(24), planned=True, plan_written=True),
        a_lot(lot_code="503", cut=at(24), planned=True),
        a_lot(lot_code="504", cut=at(40), planned=True, plan_written=True),
    ]
    found = agenda([], FARM, NOW, plans=plans)
    assert [(task.lot, task.kind, task.now) for task in found] == [
        ("501", Kind.CONFIRM_CUT, True),
        ("502", Kind.CONFIRM_CUT, False),
    ]


# ---- lots together


def together(*lots: StorageDates) -> list[tuple[Kind, tuple[Share, ...], int | None, int | None]]:
    """What is done with several lots at once, with bunches and buckets."""
    dates_of = {dated.lot.lot_code: dated for dated in lots}
    found = works(agenda(lots, FARM, NOW), dates_of, CROPS)
    return [(work.task.kind, work.shares, work.bunches, work.buckets) for work in found]


def test_what_goes_into_water_by_the_same_hour_is_one_line_with_its_buckets() -> None:
    """120 and 85 tulips fill 2.6 buckets of 80: three; and they leave together."""
    shares = (Share("401", 12, 120), Share("402", 9, 85))
    assert together(dates(), dates(a_lot(lot_code="402", stems=85))) == [
        (Kind.INTO_WATER, shares, 21, 3),
        (Kind.LEAVES, shares, 21, None),
    ]


def test_daffodils_have_buckets_of_their_own() -> None:
    """40 tulips (80 a bucket) and 50 daffodils (100 a bucket) share no water: two buckets, not one."""
    daffodils = a_lot(lot_code="402", crop="narcissus", form="", stems=50)
    assert together(dates(a_lot(stems=40)), dates(daffodils))[0][3] == 2


def test_a_lot_is_named_once_with_the_bunches_of_all_its_orders() -> None:
    """Two orders and the rest into water by one hour; they leave by themselves."""
    orders = (
        an_order(at(27), 20, into_water_by=at(26, 18)),
        an_order(at(27, 9), 30, into_water_by=at(26, 18)),
    )
    found = together(dates(orders=orders))
    assert found[0] == (Kind.INTO_WATER, (Share("401", 12, 120),), 12, 2)
    assert [shares[0].bunches for _, shares, _, _ in found[1:]] == [2, 7, 3]


def test_an_order_and_a_sell_by_of_the_same_hour_are_told_apart() -> None:
    """What is promised to a buyer, and what is left to sell."""
    lots = [dates(orders=(an_order(at(27), 120, into_water_by=at(26, 18)),)), dates(a_lot(lot_code="402"))]
    assert [(kind, [share.lot for share in shares]) for kind, shares, _, _ in together(*lots)] == [
        (Kind.INTO_WATER, ["401", "402"]),
        (Kind.LEAVES, ["401"]),
        (Kind.LEAVES, ["402"]),
    ]
