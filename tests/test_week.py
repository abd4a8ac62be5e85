"""The week's plan of a cooler: which lots, in which order, and which job on which day."""

from dataclasses import replace
from datetime import date, datetime, time, timedelta
from typing import Any

import pytest

from tagmaker import notes
from tagmaker.farm import Cooler, Farm, Use, Workday
from tagmaker.lot import (
    Lot,
    Move,
    OrderDates,
    Stage,
    State,
    StorageCode,
    StorageDates,
    Surface,
    Verdict,
)
from tagmaker.storage.crops import crop_table
from tagmaker.telling.day_strip import Draw, SellingDay, Share
from tagmaker.telling.lot_week import Job, Task, departures, lot_jobs, spare_stems
from tagmaker.telling.week import CoolerWeek, Limits, limits, week_plans

NOW = datetime(2027, 3, 22, 10)  # a Monday
CROPS = crop_table()
SATURDAY = frozenset({5})
SUNDAY = frozenset({6})
FARM = Farm(
    workday=Workday(days_off=SUNDAY),
    uses={
        "shop": Use(name="shop", vase_days=4, leaves=time(8)),
        "stall": Use(name="stall", vase_days=4, days=SATURDAY, leaves=time(6, 30)),
        "table": Use(name="table", vase_days=2, days=SATURDAY, leaves=time(6, 30), open=True),
    },
    coolers={
        "barn": Cooler(name="barn", set_point_c=2.0),
        "porch": Cooler(name="porch", set_point_c=4.0),
    },
)


def at(day: int, hour: int = 8, minute: int = 0) -> datetime:
    """A moment of March 2027; the 22nd is a Monday, days past the 31st run on into April."""
    return datetime(2027, 3, 1, hour, minute) + timedelta(days=day - 1)


def a_lot(**changes: Any) -> Lot:
    """A lot of twelve bunches of tulips in the barn."""
    values: dict[str, Any] = {
        "lot_code": "401",
        "crop": "tulip",
        "form": "single",
        "cut": at(15, 9),
        "stage": Stage.TIGHT,
        "stems": 120,
        "field_c": 15.0,
        "cooler": "barn",
        "in_cooler": at(15, 11),
        "use": "shop",
    }
    return Lot(**{**values, **changes})


def dates(lot: Lot | None = None, **changes: Any) -> StorageDates:
    """The lot kept dry, to go into water on Friday the 26th by 18:00 and to be sold by Saturday at 8:00."""
    values: dict[str, Any] = {
        "lot": lot or a_lot(),
        "code": StorageCode.DRY,
        "kept": StorageCode.DRY,
        "state": State.KEEP,
        "sell_by": at(27),
        "into_water_by": at(26, 18),
        "water_now": False,
        "ready_from": None,
        "stand_warm_from": None,
        "out_by": None,
        "tag_order": None,
        "test_first": False,
        "tests_on": (),
        "life_used": 0.3,
        "vase_days": (4.0, 6.0),
        "early": at(26),
        "late": at(29),
        "cautious_sell_by": None,
        "orders": (),
        "dated_for_c": 5.0,
        "why": notes.WhyWet(lot="041"),
        "why_into_water": None,
        "warnings": (),
    }
    return StorageDates(**{**values, **changes})


def standing_in_water(lot: Lot | None = None, **changes: Any) -> StorageDates:
    """The lot cut and in water from the start."""
    wet = {"code": StorageCode.WATER, "kept": StorageCode.WATER, "into_water_by": None}
    return dates(lot, **{**wet, **changes})


def an_order(leaves: datetime, stems: int | None, **changes: Any) -> OrderDates:
    """An order the lot can serve."""
    values: dict[str, Any] = {
        "leaves": leaves,
        "stems": stems,
        "use": "shop",
        "verdict": Verdict.USABLE,
        "test_first": False,
        "test_on": None,
        "into_water_by": None,
        "stand_warm_from": None,
    }
    return OrderDates(**{**values, **changes})


def jobs_by_day(dated: StorageDates, now: datetime = NOW, farm: Farm = FARM) -> dict[int, list[Job]]:
    """The days of the month that have jobs, with them."""
    week = lot_jobs(dated, farm, now)
    days = [now.date() + timedelta(days=ahead) for ahead in range(len(week))]
    return {day.day: list(jobs) for day, jobs in zip(days, week, strict=True) if jobs}


def tasks(dated: StorageDates, now: datetime = NOW, farm: Farm = FARM) -> dict[int, list[Task]]:
    """The days of the month that have jobs, with their tasks."""
    return {day: [job.task for job in jobs] for day, jobs in jobs_by_day(dated, now, farm).items()}


def pages(*lots: StorageDates, farm: Farm = FARM, now: datetime = NOW) -> dict[str, CoolerWeek]:
    """The week's plan by cooler."""
    return {week.cooler.name: week for week in week_plans(lots, farm, CROPS, now)}


def codes(week: CoolerWeek) -> list[str]:
    """Lot codes of a page in their order."""
    return [row.dated.lot.lot_code for row in week.rows]


# ---- the jobs of one lot


def test_a_dry_lot_goes_into_water_and_leaves_at_its_sell_by() -> None:
    """Without orders the whole lot goes into water by its date and is out by its sell-by."""
    expected = {
        26: [Job(task=Task.INTO_WATER, at=at(26, 18), stems=120, bunches=12, use="shop")],
        27: [Job(task=Task.LAST, at=at(27), stems=120, bunches=12, use="shop")],
    }
    assert expected == jobs_by_day(dates())


def test_part_orders_have_their_own_water_and_departure_and_the_rest_the_lots() -> None:
    """An order for some of the stems goes by its own hours; what it leaves goes by the lot's."""
    order = an_order(at(24), 35, into_water_by=at(23, 18))
    jobs = jobs_by_day(dates(orders=(order,)))
    assert [(job.task, job.stems, job.bunches) for job in jobs[23]] == [(Task.INTO_WATER, 35, 4)]
    assert [(job.task, job.stems, job.bunches) for job in jobs[24]] == [(Task.LEAVES, 35, 4)]
    assert [(job.task, job.stems, job.bunches) for job in jobs[26]] == [(Task.INTO_WATER, 85, 9)]
    assert [(job.task, job.stems, job.bunches) for job in jobs[27]] == [(Task.LAST, 85, 9)]


def test_a_whole_lot_order_takes_what_part_orders_leave_and_no_sell_by_remains() -> None:
    """With an order for the whole lot nothing is left to go at the sell-by."""
    part = an_order(at(24), 20, into_water_by=at(23, 18))
    whole = an_order(at(25), None, into_water_by=at(24, 18))
    dated = dates(orders=(part, whole), tag_order=whole, sell_by=at(27), into_water_by=at(24, 18))
    assert [(at(24), 20, True), (at(25), 100, True)] == [
        (departure.leaves, departure.stems, departure.order) for departure in departures(dated)
    ]


def test_orders_for_every_stem_leave_no_sell_by() -> None:
    """Part orders that take all stems leave nothing to go at the sell-by."""
    dated = dates(orders=(an_order(at(24), 120, into_water_by=at(23, 18)),))
    assert tasks(dated) == {23: [Task.INTO_WATER], 24: [Task.LEAVES]}


@pytest.mark.parametrize("verdict", [Verdict.NOT_FOR, Verdict.TOO_LATE])
def test_an_order_that_cannot_be_served_is_named_on_its_day_and_takes_no_stems(verdict: Verdict) -> None:
    """It stands on its day as one the lot cannot serve, and the stems go with the rest."""
    dated = dates(orders=(an_order(at(25), 60, verdict=verdict, into_water_by=at(24, 18)),))
    jobs = jobs_by_day(dated)
    assert [Job(task=Task.CANNOT, at=at(25), stems=60, use="shop", verdict=verdict)] == jobs[25]
    assert [job.stems for job in jobs[27]] == [120]


def test_overdue_water_stands_in_todays_cell_with_when_it_would_be_ready() -> None:
    """Dry stems whose time has passed go into water now."""
    dated = dates(into_water_by=at(20, 18), water_now=True, ready_from=at(22, 18), sell_by=at(22, 18))
    first = jobs_by_day(dated)[22][0]
    assert (
        Job(task=Task.INTO_WATER, at=at(20, 18), now=True, stems=120, bunches=12, ready=at(22, 18)) == first
    )


def test_an_overdue_part_order_is_put_in_water_now() -> None:
    """An order whose bench hour has passed but whose hours still fit goes into water now."""
    order = an_order(at(23, 6, 30), 30, into_water_by=at(22, 9))
    (job,) = [job for job in jobs_by_day(dates(orders=(order,)))[22] if job.task is Task.INTO_WATER]
    assert (job.now, job.stems) == (True, 30)


def test_a_lot_past_its_sell_by_says_so_today_and_once() -> None:
    """Past lots have one overdue job, and none for the departure they missed."""
    dated = standing_in_water(state=State.TOO_OLD, sell_by=at(20))
    assert Job(task=Task.PAST, now=True, at=at(20), stems=120, bunches=12) == jobs_by_day(dated)[22][0]
    assert not [task for day in tasks(dated).values() for task in day if task is Task.LAST]


def test_a_sell_by_of_this_morning_is_overdue() -> None:
    """A departure earlier today is what should have been done by now."""
    (job,) = jobs_by_day(standing_in_water(sell_by=at(22, 8), lot=a_lot(cut=at(21, 9))))[22]
    assert (job.task, job.now) == (Task.LAST, True)


def test_sell_now_stands_in_todays_cell() -> None:
    """A lot with at most a day to go is marked today."""
    assert Task.SELL in tasks(dates(state=State.SELL_FIRST))[22]


def test_a_test_stands_on_its_day() -> None:
    """The day to open a bunch is taken from the dates."""
    dated = dates(tests_on=(date(2027, 3, 24),), sell_by=at(30), into_water_by=at(29, 18))
    assert tasks(dated)[24] == [Task.TEST]


def test_a_missed_test_is_todays_while_its_departure_is_to_come() -> None:
    """A test day gone by moves to today as overdue, once, and not after the departure."""
    missed = (date(2027, 3, 18), date(2027, 3, 20))
    dated = dates(tests_on=missed)
    assert [(job.task, job.now) for job in jobs_by_day(dated)[22]] == [(Task.TEST, True)]
    gone = dates(tests_on=missed, sell_by=at(21), into_water_by=None, state=State.TOO_OLD)
    assert tasks(gone)[22] == [Task.PAST]


def test_fresh_water_every_second_day_for_what_stands_in_water() -> None:
    """Counted from the day it went in, and not on the day it leaves."""
    dated = standing_in_water(a_lot(cut=at(22, 9)), sell_by=at(28))
    assert [day for day, found in tasks(dated).items() if Task.FRESH in found] == [24, 26]


def test_fresh_water_counts_from_the_day_a_dry_lot_went_into_water() -> None:
    """`in water` begins the count anew."""
    dated = standing_in_water(a_lot(in_water=at(21, 18)), kept=StorageCode.DRY, sell_by=at(28))
    assert [day for day, found in tasks(dated).items() if Task.FRESH in found] == [23, 25, 27]


def test_fresh_water_on_a_day_off_moves_to_a_working_day_but_never_to_the_day_after_a_change() -> None:
    """Nobody works on Sunday the 28th: after Friday's change it waits for Monday, beyond the week."""
    dated = standing_in_water(a_lot(cut=at(22, 9)), sell_by=at(32))
    assert [day for day, found in tasks(dated).items() if Task.FRESH in found] == [24, 26]


def test_fresh_water_is_not_for_flowers_that_are_past() -> None:
    """What is to be thrown out needs no new water."""
    dated = replace(standing_in_water(a_lot(cut=at(22, 9)), sell_by=at(32)), state=State.TOO_OLD)
    assert [day for day, found in tasks(dated).items() if Task.FRESH in found] == []


def test_fresh_water_follows_when_a_dry_lot_goes_into_water_in_the_week() -> None:
    """In on Tuesday, out on Saturday: new water on Thursday."""
    dated = dates(into_water_by=at(23, 18), sell_by=at(27))
    assert [day for day, found in tasks(dated).items() if Task.FRESH in found] == [25]


def test_a_wet_lot_is_to_be_fanned_now() -> None:
    """A lot to be kept dry that still has drops is fanned first; it has no other job."""
    dated = dates(
        a_lot(surface=Surface.WET, in_cooler=None), state=State.NO_DATE, sell_by=None, into_water_by=None
    )
    assert {22: [Job(task=Task.FAN, now=True)]} == jobs_by_day(dated)


def test_stems_are_felt_on_the_day_of_the_cut() -> None:
    """A lot that says nothing of drops is felt on the day of the cut, and on no later day."""
    assert tasks(dates(a_lot(cut=at(22, 8))))[22] == [Task.FEEL]
    assert 22 not in tasks(dates(a_lot(cut=at(21, 8))))
    assert 22 not in tasks(dates(a_lot(cut=at(22, 8), surface=Surface.DRIED)))


def test_the_advice_to_use_water_stands_on_the_day_of_the_cut() -> None:
    """Needed within days: today's cell advises water, from the lot's warnings."""
    warned = dates(a_lot(cut=at(22, 8)), warnings=(notes.PutInWater(needed=at(24)),))
    assert Task.ADVISE_WATER in tasks(warned)[22]
    assert Task.ADVISE_WATER not in tasks(replace(warned, lot=a_lot()))[26]


def test_opening_hours_stand_on_the_day_they_begin() -> None:
    """Stems that must be open stand warm on the day the hours begin."""
    order = an_order(at(26), 120, into_water_by=at(24, 12), stand_warm_from=at(25, 8))
    assert tasks(dates(orders=(order,))) == {24: [Task.INTO_WATER], 25: [Task.WARM], 26: [Task.LEAVES]}


def test_stems_in_water_leave_the_cooler_to_open() -> None:
    """For a use that wants them open, `out_by` is the hour to take them out."""
    dated = standing_in_water(a_lot(cut=at(21, 9)), out_by=at(22, 18), sell_by=at(23, 18))
    assert tasks(dated)[22] == [Task.WARM]


def test_ready_stands_on_the_day_it_comes() -> None:
    """Stems put in water say from when they may be sold, while that is still to come."""
    dated = standing_in_water(a_lot(in_water=at(22, 9)), kept=StorageCode.DRY, ready_from=at(22, 17))
    assert Task.READY in tasks(dated)[22]
    assert Task.READY not in [task for day in tasks(dated, now=at(23)).values() for task in day]


def test_stems_without_a_count_have_jobs_without_a_count() -> None:
    """A blank stems cell leaves the counts open and the days as they are."""
    jobs = jobs_by_day(dates(a_lot(stems=None)))
    assert {day: [job.bunches for job in found] for day, found in jobs.items()} == {26: [None], 27: [None]}


# ---- the lots of a page


def test_lots_stand_in_selling_order() -> None:
    """Earliest sell-by first, then by lot; lots without a date at the end."""
    lots = [
        dates(a_lot(lot_code="404"), sell_by=None, into_water_by=None, state=State.NO_DATE),
        dates(a_lot(lot_code="403")),
        dates(a_lot(lot_code="402")),
        dates(a_lot(lot_code="405"), sell_by=at(25), into_water_by=at(24, 18)),
    ]
    assert codes(pages(*lots)["barn"]) == ["405", "402", "403", "404"]


def test_lots_with_nothing_left_are_not_listed() -> None:
    """Sold, dumped and split stems are gone; a lot without a count is listed."""
    sold = dates(a_lot(lot_code="402", gone=100, dumped=20))
    uncounted = dates(a_lot(lot_code="403", stems=None))
    assert codes(pages(dates(), sold, uncounted)["barn"]) == ["401", "403"]


def test_every_cooler_has_a_page_in_the_order_of_the_settings() -> None:
    """A cooler without lots has its page too, with a strip for every day."""
    found = pages()
    assert list(found) == ["barn", "porch"]
    assert [date(2027, 3, 22 + ahead) for ahead in range(7)] == [s.day for s in found["porch"].strips]
    assert [strip.off for strip in found["porch"].strips] == [False] * 6 + [True]


def test_a_moved_lot_stands_on_the_page_of_its_last_cooler() -> None:
    """A move gone by counts; the first cooler no longer lists the lot."""
    found = pages(dates(a_lot(moves=(Move(since=at(20), place="porch"),))))
    assert (codes(found["barn"]), codes(found["porch"])) == ([], ["401"])


def test_a_move_within_the_week_is_a_job_of_the_one_and_an_arrival_of_the_other() -> None:
    """Until the move the jobs are on the first cooler's page, after it on the other's."""
    found = pages(dates(a_lot(moves=(Move(since=at(24, 12), place="porch"),))))
    by_page = {
        name: {
            day.day.day: [job.task for job in jobs]
            for day, jobs in zip(week.strips, row.jobs, strict=True)
            if jobs
        }
        for name, week in found.items()
        for row in week.rows
    }
    assert by_page == {
        "barn": {24: [Task.MOVE]},
        "porch": {24: [Task.COMES], 26: [Task.INTO_WATER], 27: [Task.LAST]},
    }


def test_a_lot_outside_stays_on_the_page_of_its_last_cooler() -> None:
    """Out of any cooler it is still to be dealt with, and marked as outside."""
    found = pages(dates(a_lot(moves=(Move(since=at(21), place="out"),))))
    assert [(row.dated.lot.lot_code, row.outside) for row in found["barn"].rows] == [("401", True)]


# ---- the strip of a day


def test_what_goes_into_water_by_the_same_hour_is_one_line_with_its_buckets() -> None:
    """120 and 85 tulips fill 2.6 buckets of 80: three."""
    lots = [dates(), dates(a_lot(lot_code="402", stems=85))]
    (soak,) = pages(*lots)["barn"].strips[4].soaks
    assert (Share("401", 120, 12), Share("402", 85, 9)) == soak.shares
    assert (at(26, 18), 3) == (soak.by, soak.buckets)


def test_daffodils_have_buckets_of_their_own() -> None:
    """40 tulips (80 a bucket) and 50 daffodils (100 a bucket) share no water: two buckets, not one."""
    daffodils = a_lot(lot_code="402", crop="narcissus", form="", stems=50)
    (soak,) = pages(dates(a_lot(stems=40)), dates(daffodils))["barn"].strips[4].soaks
    assert soak.buckets == 2


def test_what_leaves_together_is_one_line_per_outlet() -> None:
    """Bunches of the lots that leave at the same hour for the same outlet add up."""
    lots = [dates(), dates(a_lot(lot_code="402", stems=85))]
    (leaving,) = pages(*lots)["barn"].strips[5].outgoing
    assert (at(27), "shop", False, 21) == (leaving.by, leaving.use, leaving.order, leaving.bunches)


def test_a_selling_day_names_the_lots_it_can_draw_on() -> None:
    """On Friday: into water by 18:00 for Saturday's stall, from both lots that last that long."""
    stall = {"sell_by": at(34, 6, 30), "into_water_by": at(33, 18)}
    lots = [dates(a_lot(lot_code=code, use="stall"), **stall) for code in ("401", "406")]
    week = pages(*lots)["barn"]
    assert (
        SellingDay(use="stall", leaves=at(27, 6, 30), draws=(Draw(at(26, 18), ("401", "406")),)),
    ) == week.strips[4].selling
    assert [index for index, strip in enumerate(week.strips) if strip.selling] == [4]


def test_a_selling_day_draws_on_lots_in_water_without_an_hour() -> None:
    """Stems that stand in water need none; those not yet ready by then are left out."""
    stall = {"sell_by": at(27, 6, 30)}
    ready = standing_in_water(a_lot(lot_code="402", use="stall"), **stall)
    late = standing_in_water(a_lot(lot_code="403", use="stall"), ready_from=at(27, 9), **stall)
    strips = pages(ready, late)["barn"].strips
    assert (Draw(None, ("402",)),) == strips[5].selling[0].draws


@pytest.mark.parametrize(
    "changes",
    [
        {"sell_by": at(26, 18)},
        {"state": State.TOO_OLD},
        {"sell_by": None, "state": State.NO_DATE},
        {"orders": (an_order(at(30), None),)},
        {"orders": (an_order(at(27, 6, 30), 120, use="stall"),)},
    ],
    ids=["ends before", "past", "undated", "whole lot promised", "all stems promised"],
)
def test_a_selling_day_leaves_out_lots_it_cannot_have(changes: dict[str, Any]) -> None:
    """Lots that end before, are past or undated, or are promised, are not drawn on."""
    dated = dates(a_lot(use="stall"), **{"sell_by": at(34, 6, 30), **changes})
    assert [strip.selling for strip in pages(dated)["barn"].strips if strip.selling] == []


def test_a_selling_day_counts_opening_hours() -> None:
    """A tulip to be open on Saturday at 6:30 needs 8 h of water and 24 h of warmth: Thursday 18:00."""
    dated = dates(a_lot(use="table"), sell_by=at(34, 6, 30))
    (selling,) = pages(dated)["barn"].strips[3].selling
    assert (Draw(at(25, 18), ("401",)),) == selling.draws


def test_an_outlet_that_sells_every_day_has_no_selling_day_line() -> None:
    """It draws on all its lots until their sell-by: a line would say nothing."""
    assert [strip.selling for strip in pages(dates(sell_by=at(34)))["barn"].strips if strip.selling] == []


def test_spare_stems_are_those_promised_to_no_order() -> None:
    """Orders that can be served take theirs; others take none; the whole lot leaves none."""
    assert spare_stems(dates(orders=(an_order(at(24), 35),))) == 85
    assert spare_stems(dates(orders=(an_order(at(24), 35, verdict=Verdict.NOT_FOR),))) == 120
    assert spare_stems(dates(orders=(an_order(at(24), None),))) == 0
    assert spare_stems(dates(a_lot(stems=None))) is None


# ---- weeks to come


def weeks_of(*lots: StorageDates, count: int = 3) -> list[CoolerWeek]:
    """The barn's weeks, one after another."""
    return [week_plans(lots, FARM, CROPS, NOW, ahead)[0] for ahead in range(count)]


def test_weeks_follow_one_another_without_a_gap() -> None:
    """Each begins on the day after the last one's end, and has seven days."""
    days = [strip.day for week in weeks_of(dates()) for strip in week.strips]
    assert days == [NOW.date() + timedelta(days=n) for n in range(21)]
    assert [week.first_day for week in weeks_of(dates())] == days[::7]


def test_the_jobs_of_the_weeks_are_those_of_all_their_days() -> None:
    """Cut into weeks, no job of three weeks is lost, doubled or moved."""
    order = an_order(at(31), 35, into_water_by=at(30, 18))
    lot = dates(
        orders=(order,), sell_by=at(38), into_water_by=at(37, 18), tests_on=(at(20).date(), at(32).date())
    )
    together = [jobs for week in weeks_of(lot) for row in week.rows for jobs in row.jobs]
    assert together == list(lot_jobs(lot, FARM, NOW, 21))
    assert [len(week.rows) for week in weeks_of(lot)] == [1, 1, 1]


def test_a_week_to_come_lists_what_will_not_have_left() -> None:
    """Gone with its last departure; past and wet lots are dealt with now, one without a date still stands."""
    lots = [
        dates(a_lot(lot_code="401")),
        dates(a_lot(lot_code="402"), sell_by=at(34), into_water_by=at(33, 18)),
        dates(a_lot(lot_code="403"), state=State.TOO_OLD, sell_by=at(20)),
        dates(a_lot(lot_code="404"), state=State.NO_DATE, sell_by=None, into_water_by=None),
        dates(a_lot(lot_code="405"), orders=(an_order(at(35), 20, verdict=Verdict.NOT_FOR),)),
        dates(
            a_lot(lot_code="406", surface=Surface.WET, in_cooler=None),
            state=State.NO_DATE,
            sell_by=None,
            into_water_by=None,
        ),
    ]
    assert [sorted(codes(week)) for week in weeks_of(*lots)] == [
        ["401", "402", "403", "404", "405", "406"],
        ["402", "404", "405"],
        ["404"],
    ]


def test_a_lot_stands_on_the_page_of_the_cooler_it_will_be_in() -> None:
    """Moved on the second Monday: on both pages that week, on the new cooler's alone from then on."""
    move = Move(since=at(29, 12), place="porch")
    lot = dates(a_lot(moves=(move,)), sell_by=at(41), into_water_by=at(40, 18))
    listed = [
        [week.cooler.name for week in week_plans([lot], FARM, CROPS, NOW, ahead) if week.rows]
        for ahead in range(3)
    ]
    assert listed == [["barn"], ["barn", "porch"], ["porch"]]


def test_a_selling_day_to_come_stands_in_the_week_that_its_hands_are_needed() -> None:
    """The stall's second Saturday asks for water on the Friday before it, in the second week."""
    lot = dates(a_lot(use="stall"), sell_by=at(34, 6, 30), into_water_by=at(33, 18))
    found = [
        (ahead, strip.day, selling.leaves)
        for ahead, week in enumerate(weeks_of(lot))
        for strip in week.strips
        for selling in strip.selling
    ]
    assert found == [(0, at(26).date(), at(27, 6, 30)), (1, at(33).date(), at(34, 6, 30))]


# ---- the limits


def test_limits_come_from_the_set_point_and_the_tenderest_crop() -> None:
    """Two degrees under the set point, never under what the tenderest crop bears; 7 °C on top."""
    barn = Cooler(name="barn", set_point_c=3.0)
    zinnia = standing_in_water(a_lot(crop="zinnia", form=""))
    assert Limits(1.0, 7.0) == limits(barn, [dates()], CROPS)
    assert Limits(5.0, 7.0) == limits(barn, [dates(), zinnia], CROPS)


def test_limits_of_tulips_with_the_bulb_on_go_below_zero() -> None:
    """They freeze at -1.7 °C: half a degree above that, rounded up; anything else with them asks for 0 °C."""
    cold = Cooler(name="cold", set_point_c=-0.6)
    bulbs = dates(code=StorageCode.BULB, kept=StorageCode.BULB)
    assert Limits(-1.0, 7.0) == limits(cold, [bulbs], CROPS)
    assert Limits(0.0, 7.0) == limits(cold, [bulbs, dates()], CROPS)


def test_limits_of_a_warm_cooler_leave_room_between_them() -> None:
    """A set point above 7 °C does not push the low limit past the high one."""
    assert Limits(3.0, 7.0) == limits(Cooler(name="porch", set_point_c=12.0), [], CROPS)
