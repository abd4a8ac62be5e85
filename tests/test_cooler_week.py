"""The week of a cooler: which lots, in which order, and which of their tasks fall to it."""

from datetime import date, timedelta

from tagmaker.farm import Cooler
from tagmaker.lot import Move, State, StorageCode, StorageDates, Surface, Verdict
from tagmaker.telling.agenda import Kind, agenda
from tagmaker.telling.cooler_week import CoolerWeek, Limits, cooler_weeks, limits
from tagmaker.telling.teller import Teller
from tagmaker.telling.wording import Wording
from tests.told_lots import CROPS, FARM, NOW, a_lot, an_order, at, dates, standing_in_water

TELLER = Teller(FARM, CROPS, Wording("F"), NOW)


def pages(*lots: StorageDates) -> dict[str, CoolerWeek]:
    """The week by cooler."""
    return {week.cooler.name: week for week in cooler_weeks(lots, TELLER)}


def codes(week: CoolerWeek) -> list[str]:
    """Lot codes of a cooler in their order."""
    return [row.dates.lot.lot_code for row in week.lots]


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
    """A cooler without lots has its page too, and every day of it."""
    found = pages()
    assert list(found) == ["barn", "porch"]
    assert found["porch"].days == tuple(date(2027, 3, 22 + ahead) for ahead in range(7))
    assert found["porch"].works == ((),) * 7


def test_a_moved_lot_stands_on_the_page_of_its_last_cooler() -> None:
    """A move gone by counts; the first cooler no longer lists the lot."""
    found = pages(dates(a_lot(moves=(Move(since=at(20), place="porch"),))))
    assert (codes(found["barn"]), codes(found["porch"])) == ([], ["401"])


def test_a_move_within_the_week_is_a_task_of_the_one_and_an_arrival_of_the_other() -> None:
    """Until the move the tasks are on the first cooler's page, after it on the other's."""
    found = pages(dates(a_lot(moves=(Move(since=at(24, 12), place="porch"),))))
    by_page = {
        name: {
            day.day: [task.kind for task in tasks]
            for day, tasks in zip(week.days, row.tasks, strict=True)
            if tasks
        }
        for name, week in found.items()
        for row in week.lots
    }
    assert by_page == {
        "barn": {24: [Kind.MOVE]},
        "porch": {24: [Kind.MOVE], 26: [Kind.INTO_WATER], 27: [Kind.LEAVES]},
    }


def test_a_lot_outside_stays_on_the_page_of_its_last_cooler() -> None:
    """Out of any cooler it is still to be dealt with, and marked as outside."""
    found = pages(dates(a_lot(moves=(Move(since=at(21), place="out"),))))
    assert [(row.dates.lot.lot_code, row.outside) for row in found["barn"].lots] == [("401", True)]


# ---- weeks to come


def weeks_of(*lots: StorageDates, count: int = 3) -> list[CoolerWeek]:
    """The barn's weeks, one after another."""
    return [cooler_weeks(lots, TELLER, ahead)[0] for ahead in range(count)]


def test_weeks_follow_one_another_without_a_gap() -> None:
    """Each begins on the day after the last one's end, and has seven days."""
    days = [day for week in weeks_of(dates()) for day in week.days]
    assert days == [NOW.date() + timedelta(days=n) for n in range(21)]


def test_the_tasks_of_the_weeks_are_those_of_all_their_days() -> None:
    """Cut into weeks, no task of three weeks is lost, doubled or moved."""
    order = an_order(at(31), 35, into_water_by=at(30, 18))
    lot = dates(
        orders=(order,), sell_by=at(38), into_water_by=at(37, 18), tests_on=(at(20).date(), at(32).date())
    )
    together = [task for week in weeks_of(lot) for row in week.lots for tasks in row.tasks for task in tasks]
    assert together == list(agenda([lot], FARM, NOW, 21))
    assert [len(week.lots) for week in weeks_of(lot)] == [1, 1, 1]


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
        [week.cooler.name for week in cooler_weeks([lot], TELLER, ahead) if week.lots] for ahead in range(3)
    ]
    assert listed == [["barn"], ["barn", "porch"], ["porch"]]


def test_a_plan_to_confirm_stands_in_the_work_of_its_cooler() -> None:
    """It has no row among the lots."""
    plan = a_lot(lot_code="501", cooler="porch", cut=at(20), planned=True, plan_written=True)
    barn, porch = cooler_weeks([], TELLER, plans=[plan])
    assert [[work.task.kind for work in works] for works in porch.works] == [[Kind.CONFIRM_CUT], *[[]] * 6]
    assert (barn.works, porch.lots) == (((),) * 7, ())


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
