"""`pack`: which bunches go where, what is kept of it, and the question on the telephone."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import date, datetime, timedelta
from pathlib import Path

import pytest
from click.testing import CliRunner

from tagmaker.cli import main
from tagmaker.desk.pack_entries import keeps
from tagmaker.desk.packing import asked_of, day_named, packing
from tagmaker.desk.season import Day, read_season
from tagmaker.desk.telephone import answer_to, question
from tagmaker.lot import Order, StorageCode, Verdict
from tagmaker.record.journal.entries import Kind
from tagmaker.storage.crops import crop_table
from tagmaker.storage.dating import date_lot
from tagmaker.telling.packing import numbered_buckets
from tests.entered_season import entries, run
from tests.packed_season import NOW, ORDERS, ROWS, bunches_of, chosen, pack, season_of, write_season

STALL = ("--for", "stall", "--on", "SAT", "--bunches", "25")
FAULTY = "A-3,soon,stall,,,,,,3,,"


@pytest.fixture
def sheet(tmp_path: Path) -> Path:
    """A season of four lots and two orders."""
    return write_season(tmp_path / "season")


def test_the_table_of_a_departure(sheet: Path) -> None:
    """Orders and what is needed first, then what the stall sells; in walking order, with hour and bucket."""
    said = pack(sheet, *STALL).stdout.splitlines()
    assert [re.sub(r"  +", "  ", line) for line in said[:-1]] == [
        "SAT 24 APR 6:30 AM stall: 25 bunches of 3 lots, 3 buckets",
        "  FRI 23 APR: INTO WATER by 6 PM: 15 bunches, 2 buckets",
        "  10 bunches stand in water already",
        "  LOT  CODE  WHERE  VARIETY  BUNCHES  INTO WATER BY  BUCKET  FOR",
        "  102  WATER  walk-in, floor  Thimble Snow, narcissus, white  10  in water  1  to sell",
        (
            "  101  DRY  walk-in, rack 1  Grey Wicket, single tulip, lilac  10  FRI 23 APR 6 PM  2–3  "
            "ordered 3, to sell 7"
        ),
        "  201  DRY  annexe, rack 10  Pale Harbour, double tulip, apricot  5  FRI 23 APR 6 PM  3  A-2",
        "  A-2: 45 stems ordered, 50 here",
        "  102 before 201: keeps cold until MON 26 APR",
        "  101 before 201: keeps cold until SAT 8 MAY",
        "  201: no other lot will do",
    ]
    assert said[-1] == str(sheet.parent / "papers" / "pack-sheet.pdf")


def test_without_a_day_the_week_is_told(sheet: Path) -> None:
    """Each departure that has an order, by moment; an order in eight days is none of them."""
    write_season(sheet.parent, orders=(*ORDERS, "A-9,2027-04-29,wedding,tulip,,,,,2,,"))
    found = chosen(sheet)
    assert [(one.leaves, one.use) for one in found.departures] == [
        (datetime(2027, 4, 23, 8, 30), "florist"),
        (datetime(2027, 4, 24, 6, 30), "stall"),
    ]
    assert any(line.demand.code == "A-9" for line in found.allocation.lines)


def test_what_is_missing_is_said(tmp_path: Path) -> None:
    """More than there is: what there is is listed, and what lacks, with the reason."""
    sheet = write_season(tmp_path / "season", orders=("A-1,2027-04-23,florist,tulip,double,,,,40,,",))
    said = pack(sheet).stdout
    assert "A-1: 40 bunches ordered, ONLY 32 HERE" in said
    assert "! SHORT, A-1: 8 bunches are missing: no more are left" in said


def test_no_bunch_is_promised_twice_and_none_that_the_dates_refuse(demo: Path) -> None:
    """Over all departures of the demo: at most what is left, each line one that would do as a part order."""
    season = read_season(demo / "lots.xlsx", Day(date(2027, 4, 21), datetime(2027, 4, 21, 9)))
    found = packing(season, asked_of(season, "stall", "SAT", 120))
    given: dict[str, int] = {}
    lines = found.allocation.lines
    for line in lines:
        lot = line.supply.lot
        given[lot.lot_code] = given.get(lot.lot_code, 0) + line.stems
        order = Order(leaves=line.demand.leaves, stems=line.stems, use=line.demand.use)
        alone = replace(lot, orders=(order,), gone=0)
        (judged,) = date_lot(alone, season.farm, season.crops, season.now, season.airs).orders
        assert judged.verdict in (Verdict.USABLE, Verdict.STRETCHED)
        assert judged.into_water_by == line.serving.into_water_by
    left = {lot.lot_code: lot.left for lot in season.lots}
    assert [code for code, stems in given.items() if stems > (left[code] or 0)] == []
    assert len(lines) > 15


def test_places_are_walked_as_they_are_counted(tmp_path: Path) -> None:
    """The coolers as in the settings, and rack 2 before rack 10."""
    orders = ("A-1,2027-04-24,stall,tulip,,,,,40,,",)
    sheet = write_season(tmp_path / "season", orders=orders)
    (one,) = chosen(sheet, "stall", "SAT").departures
    assert [(line.cooler, line.place) for line in one.lines] == [
        ("walk-in", "rack 1"),
        ("annexe", "rack 2"),
        ("annexe", "rack 10"),
    ]


def test_buckets_are_filled_one_after_another() -> None:
    """A bucket with room is filled up by the next lot; daffodils have buckets of their own (arithmetic)."""
    crops = crop_table()
    tulip = crops.keeping("tulip", "single", StorageCode.DRY)
    daffodil = crops.keeping("narcissus", "", StorageCode.DRY)
    assert tulip is not None
    assert daffodil is not None
    full, half = tulip.per_bucket, tulip.per_bucket // 2
    assert numbered_buckets([(tulip, full), (daffodil, 10), (tulip, half), (tulip, half), (tulip, 1)]) == [
        (1, 1),
        (4, 4),
        (2, 2),
        (2, 2),
        (3, 3),
    ]


# ---- keeping


def test_keep_writes_the_choice_once(sheet: Path) -> None:
    """Kept once, the same is listed as kept, and nothing is written again."""
    before = bunches_of(chosen(sheet, "stall", "SAT", 25))
    assert "kept in the journal: 101 7, 102 10, 201 5" in pack(sheet, *STALL, "--keep").stderr
    assert [(e.kind, e.lot, e.stems) for e in entries(sheet)] == [
        (Kind.KEPT, "101", 70),
        (Kind.KEPT, "102", 100),
        (Kind.KEPT, "201", 50),
    ]
    assert "all of it was kept already" in pack(sheet, *STALL, "--keep").stderr
    assert len(entries(sheet)) == 3
    found = chosen(sheet, "stall", "SAT", 25)
    assert bunches_of(found) == before
    assert all(line.is_kept for line in found.departures[0].lines)


def test_labels_and_dates_follow_what_is_kept(sheet: Path) -> None:
    """The lot has an order for its part, and its own sell by is what it was."""
    before = {dates.lot.lot_code: dates.sell_by for dates in season_of(sheet).dated}
    pack(sheet, *STALL, "--keep")
    after = {dates.lot.lot_code: dates for dates in season_of(sheet).dated}
    assert {code: dates.sell_by for code, dates in after.items()} == before
    assert [(order.leaves, order.stems) for order in after["102"].orders] == [
        (datetime(2027, 4, 24, 6, 30), 100)
    ]


def test_what_is_kept_is_promised_to_nobody_else(sheet: Path) -> None:
    """On the telephone, the daffodils that go to the stall are no more to be had."""
    asked = "5 daffodils stall 2027-04-24"
    assert pack(sheet, "--ask", asked).stdout.startswith("YES 5 bunches")
    pack(sheet, *STALL, "--keep")
    assert pack(sheet, "--ask", asked).stdout.splitlines() == [
        "NO, 5 bunches for SAT 24 APR 6:30 AM stall",
        "  5 bunches are missing: promised already: 102 to stall",
    ]


def test_more_is_kept_beside_what_was(sheet: Path) -> None:
    """Asked for more, the entry of a lot says the sum in place of the earlier one."""
    pack(sheet, "--for", "stall", "--on", "SAT", "--bunches", "12", "--keep")
    pack(sheet, *STALL, "--keep")
    (lot,) = (lot for lot in season_of(sheet).lots if lot.lot_code == "102")
    assert [order.stems for order in lot.orders] == [100]
    assert [(e.lot, e.stems) for e in entries(sheet)] == [
        ("102", 40),
        ("201", 50),
        ("101", 70),
        ("102", 100),
    ]


def test_fewer_are_chosen_again(sheet: Path) -> None:
    """Asked for fewer than are kept, those that are not chosen any more are free."""
    pack(sheet, *STALL, "--keep")
    few = ("--for", "stall", "--on", "SAT", "--bunches", "10")
    assert "kept in the journal: 101 no longer, 102 2" in pack(sheet, *few, "--keep").stderr
    lots = {lot.lot_code: lot for lot in season_of(sheet).lots}
    assert [order.stems for order in lots["101"].orders] == [30]
    assert [order.stems for order in lots["102"].orders] == [20]


def test_a_choice_stays_until_it_is_made_anew(sheet: Path) -> None:
    """Sold elsewhere, a lot's bunches are replaced beside what is kept; --anew chooses all of it again."""
    pack(sheet, *STALL, "--keep")
    more = "203,tulip,single,Salt Parade,white,2027-04-10T08:00,tight,100,dry,annexe,rack 3,stall,"
    write_season(sheet.parent, rows=(*ROWS, more))
    kept = bunches_of(chosen(sheet, "stall", "SAT", 25))
    assert kept == [{"102": 10, "101": 10, "201": 5}]
    pack(sheet, *STALL, "--anew", "--keep")
    assert bunches_of(chosen(sheet, "stall", "SAT", 25)) == [{"101": 3, "102": 10, "201": 5, "203": 7}]


def test_an_order_that_is_closed_gives_its_bunches_back(sheet: Path) -> None:
    """Done in the sheet, it keeps nothing: its bunches are given to others, and taken back with --keep."""
    pack(sheet, *STALL, "--keep")
    write_season(sheet.parent, orders=(ORDERS[0], ORDERS[1].replace(",45,,,", ",45,,yes,")))
    assert bunches_of(chosen(sheet, "stall", "SAT", 20)) == [{"102": 10, "101": 10}]
    assert "201 no longer" in pack(sheet, "--for", "stall", "--on", "SAT", "--keep").stderr


def test_undo_takes_back_what_was_kept(sheet: Path) -> None:
    """Undone, the earlier word holds again."""
    pack(sheet, "--for", "stall", "--on", "SAT", "--bunches", "12", "--keep")
    pack(sheet, *STALL, "--keep")
    run(sheet, "102", "undo", today="2027-04-21T09:30")
    (lot,) = (lot for lot in season_of(sheet, NOW + timedelta(hours=1)).lots if lot.lot_code == "102")
    assert [order.stems for order in lot.orders] == [40]


def test_a_writing_that_is_replaced_goes_once(sheet: Path) -> None:
    """What the grower typed stays, though an entry that is replaced wrote the same."""
    row = ROWS[3].removesuffix(",") + ",2027-04-24T06:30 stall x 20"
    write_season(sheet.parent, rows=(*ROWS[:3], row), orders=())
    for stems in (20, 30):
        words = f"kept {stems} stems for 2027-04-24T06:30 stall order B-1"
        run(sheet, "102", words, today="2027-04-21T09:05")
    (lot,) = (lot for lot in season_of(sheet, NOW + timedelta(hours=1)).lots if lot.lot_code == "102")
    assert sorted(order.stems or 0 for order in lot.orders) == [20, 30]


def test_sold_for_an_order_counts_as_done(sheet: Path) -> None:
    """Two bunches that left early are not packed again."""
    run(sheet, "201", "sold 2 bunches for A-1", today="2027-04-21T09:05")
    found = packing(
        season := season_of(sheet, datetime(2027, 4, 21, 10)), asked_of(season, "florist", "FRI", None)
    )
    assert [line.bunches for line in found.departures[0].lines] == [4]


# ---- what cannot be


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("--for", "stal"), "--for must be a use of the farm: stall, florist or wedding (got 'stal'). The"),
        (("--on", "soon"), "--on must be a weekday, today, tomorrow or a date (got 'soon')"),
        (("--on", "04/05/2027"), "--on must be a weekday, today, tomorrow or a date"),
        (("--bunches", "6"), "--bunches must stand with --for and --on"),
        (("--for", "stall", "--on", "SAT", "--bunches", "0"), "--bunches must be a whole number from 1"),
        (("--for", "stall", "--on", "2027-04-17"), "--on must be a day whose departure is to come"),
        (("--ask", "florist"), "the question must begin with how many"),
        (("--ask", "60 florist"), "he question must name a day"),
        (("--ask", "60 2027-04-30"), "the question must name one of the uses: stall, florist or wedding"),
        (("--ask", "60 florist 04/05/2027"), "the question must name a date that reads one way"),
        (("--ask", "60 florist 2027-04-16"), "the question must be about a day to come"),
        (
            ("--ask", "60 blue whales florist 2027-04-30"),
            "the question must name a crop, a form, or a variety or",
        ),
        (("--printer", "shed"), "--printer must be one of the settings' printers"),
    ],
)
def test_a_wrong_option(sheet: Path, words: tuple[str, ...], said: str) -> None:
    """It ends with exit code 2, says what it must be, and writes nothing."""
    assert said in pack(sheet, *words, ok=2).stderr
    assert not (sheet.parent / "papers").exists()


def test_a_faulty_order_stops_keeping_and_printing(sheet: Path) -> None:
    """Its bunches would go to others: the table is told, the rest only with --skip-bad; exit code 1."""
    write_season(sheet.parent, orders=(*ORDERS, FAULTY))
    done = pack(sheet, *STALL, "--keep", ok=1)
    assert done.stdout.startswith("SAT 24 APR 6:30 AM stall: 25 bunches")
    assert "orders.csv, line 4, column leaves: leaves must be a date" in done.stderr
    assert "nothing was written" in done.stderr
    assert not (sheet.parent / "papers").exists()
    assert not list(sheet.parent.glob("*.sqlite"))
    pack(sheet, *STALL, "--keep", "--skip-bad", ok=1)
    assert (sheet.parent / "papers" / "pack-sheet.pdf").exists()


def test_nothing_to_pack(tmp_path: Path) -> None:
    """Without orders and usual sales it says so, and prints no sheet."""
    sheet = write_season(tmp_path / "season", rows=ROWS[:2], orders=())
    said = CliRunner().invoke(main, ["pack", str(sheet), "--today", "2027-04-21T09:00"]).stdout
    assert said.startswith("nothing to pack: no order, no kept bunches and no usual sale in the next 7 days")
    assert not (tmp_path / "season" / "papers").exists()


@pytest.mark.parametrize(
    ("word", "day"),
    [
        ("SAT", date(2027, 4, 24)),
        ("wednesday", date(2027, 4, 28)),
        ("today", date(2027, 4, 21)),
        ("Tomorrow", date(2027, 4, 22)),
        ("2027-05-08", date(2027, 5, 8)),
        ("24 apr 2027", date(2027, 4, 24)),
    ],
)
def test_days_as_they_are_said(sheet: Path, word: str, day: date) -> None:
    """A weekday is the next one whose departure is to come: at nine, the stall of this Wednesday is over."""
    assert day_named(season_of(sheet), word, "stall") == day


# ---- the telephone


def test_the_question_is_read_in_any_order(sheet: Path) -> None:
    """How many, then use, day and what flowers; stems are said, else bunches are meant."""
    season = season_of(sheet)
    asked = question(season, "20 stems of double tulips, apricot, for stall 2027-05-01".replace(",", ""))
    assert (asked.stems, asked.bunches, asked.use, asked.leaves) == (
        20,
        None,
        "stall",
        datetime(2027, 5, 1, 6, 30),
    )
    assert (asked.crops, asked.forms, asked.colours) == (
        frozenset({"tulip"}),
        frozenset({"double"}),
        frozenset({"apricot"}),
    )
    plain = question(season, "6 pale harbour 2027-04-30T07:00 wedding")
    assert (plain.bunches, plain.varieties, plain.leaves) == (
        6,
        frozenset({"pale harbour"}),
        datetime(2027, 4, 30, 7),
    )


def test_the_answer_sets_all_promises_aside(sheet: Path) -> None:
    """Orders of the sheet are promised though nothing is kept yet: 32 bunches of doubles, less 6 and 5."""
    season = season_of(sheet)
    found = answer_to(season, question(season, "40 double tulips wedding 2027-04-30"))
    assert found.packed.bunches == 32 - 6 - 5
    few = answer_to(season, question(season, "3 double tulips wedding 2027-04-30"))
    assert [line.lot.lot_code for line in few.packed.lines] == ["201"]
    assert [supply.lot.lot_code for supply in few.others] == ["202"]


def test_an_answer_promises_nothing(sheet: Path) -> None:
    """Nothing is written by it."""
    pack(sheet, "--ask", "3 double tulips wedding 2027-04-30")
    assert sorted(path.name for path in sheet.parent.iterdir()) == ["lots.csv", "orders.csv", "tagmaker.toml"]


def test_a_better_answer_is_offered(tmp_path: Path) -> None:
    """An order for any tulip took doubles that the next order alone can use: the change is said."""
    single = ROWS[2].replace("2027-04-17T08:00", "2027-04-20T08:00").removesuffix("2027-04-24 x 30")
    orders = ("A-1,2027-04-24,stall,tulip,,,,,12,,", "A-2,2027-04-24,stall,tulip,double,,,,32,,")
    sheet = write_season(tmp_path / "season", rows=(*ROWS[:2], single), orders=orders)
    said = pack(sheet, "--for", "stall", "--on", "SAT").stdout
    assert "! SHORT, A-2: 12 bunches are missing" in said
    assert "MORE WOULD GO: 12 more bunches for A-2 (stall, SAT 24 APR) if you give" in said
    assert "12 bunches of 101 to A-1" in said


def test_bunches_that_go_into_water_take_their_promise_along(sheet: Path) -> None:
    """Four of the ten that are kept become a lot of their own: six stay kept, and none is promised twice."""
    pack(sheet, *STALL, "--keep")
    run(sheet, "101", "into water 4 for 2027-04-24T06:30 stall", today="2027-04-21T10:00")
    lots = {lot.lot_code: lot for lot in season_of(sheet, NOW + timedelta(hours=2)).lots}
    assert sorted(order.stems or 0 for order in lots["101"].orders) == [30, 30]
    assert [order.stems for order in lots["101B"].orders] == [40]
    season = season_of(sheet, NOW + timedelta(hours=2))
    found = packing(season, asked_of(season, "stall", "SAT", 25))
    assert bunches_of(found) == [{"102": 10, "101": 6, "101B": 4, "201": 5}]
    assert next(keeps(found), None) is None


def test_more_is_kept_after_some_went_into_water(sheet: Path) -> None:
    """The later word replaces what is left of the earlier one; undone, the bunches are kept again."""
    pack(sheet, "--for", "stall", "--on", "SAT", "--bunches", "12", "--keep")
    run(sheet, "102", "into water 3 for 2027-04-24T06:30 stall", today="2027-04-21T10:00", ok=0)
    pack(sheet, *STALL, "--keep", today="2027-04-21T11:00")
    at = NOW + timedelta(hours=3)
    lots = {lot.lot_code: lot for lot in season_of(sheet, at).lots}
    kept = {
        code: [order.stems for order in lot.orders] for code, lot in lots.items() if code.startswith("102")
    }
    assert kept == {"102": [70], "102B": [30]}


def test_a_cell_that_the_grower_changed_is_left_alone(sheet: Path) -> None:
    """What is kept by hand in the sheet is no writing of the journal's: nothing of it goes along."""
    row = ROWS[3].removesuffix(",") + ",2027-04-24T06:30 stall x 50"
    write_season(sheet.parent, rows=(*ROWS[:3], row), orders=())
    run(sheet, "102", "into water 3 for 2027-04-24T06:30 stall", today="2027-04-21T10:00")
    lots = {lot.lot_code: lot for lot in season_of(sheet, NOW + timedelta(hours=2)).lots}
    assert [order.stems for order in lots["102"].orders] == [50]


def test_rows_in_another_order_give_the_same_list(sheet: Path) -> None:
    """Whichever way lots and orders are sorted, the table is the same to the letter."""
    said = pack(sheet, *STALL).stdout
    write_season(sheet.parent, rows=tuple(reversed(ROWS)), orders=tuple(reversed(ORDERS)))
    assert pack(sheet, *STALL).stdout == said
