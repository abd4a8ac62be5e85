"""Pages of lots and coolers: what they say, in which order, and that a sheet's text stays text."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Callable
from dataclasses import fields, replace
from datetime import datetime, timedelta
from pathlib import Path

import pytest

from tagmaker.errors import InputProblems, Problem
from tagmaker.farm import Cooler
from tagmaker.lot import Lot, Move, State, StorageCode, Surface
from tagmaker.paper.crate.words import card_words, told_on
from tagmaker.scan.pages import (
    ASSETS,
    NoSuchPage,
    asset,
    cooler_page,
    index_page,
    lot_page,
    missing_page,
    page_for,
)
from tagmaker.scan.source import PageSource
from tagmaker.telling.agenda import next_task
from tagmaker.telling.bunches import crates_of
from tagmaker.telling.naming import cooler_page_names, lot_page_name
from tagmaker.telling.wording import Wording
from tests.farms import COOLERS, NOW, make_farm, make_lot, order
from tests.page_sources import facts, main_text, page_source, parsed, tag, text_of

DAY = timedelta(days=1)
FRIDAY = datetime(2027, 4, 2, 8)


def lots_of_all_kinds() -> tuple[Lot, ...]:
    """A lot for every way in which a page can look."""
    return (
        make_lot(lot_code="041", variety="Pale Harbour", colour="apricot", cells={"Lot": "041", "Note": ""}),
        make_lot(lot_code="042", cut=NOW - 40 * DAY, in_cooler=NOW - 40 * DAY),  # past
        make_lot(lot_code="043", surface=Surface.WET, in_cooler=None),  # wet
        make_lot(lot_code="044", storage=StorageCode.WATER),
        make_lot(lot_code="045", in_water=NOW - timedelta(hours=2)),
        make_lot(lot_code="046", orders=(order(FRIDAY, 100), order(NOW + 60 * DAY, 60))),
        make_lot(lot_code="047", gone=300),  # none left
        make_lot(lot_code="048", stems=None, stage=None),
        make_lot(lot_code="049", use="table", orders=(order(FRIDAY, use="table"),)),  # stands warm first
        make_lot(lot_code="P-1", cut=NOW + 10 * DAY, planned=True, orders=(order(NOW + 20 * DAY),)),
    )


@pytest.fixture(scope="module")
def everything() -> PageSource:
    """A season with a lot of every kind, a faulty row, and a lot that has left the sheet."""
    source = page_source(*lots_of_all_kinds())
    gone = tag(source.dates_of["041"])
    problem = Problem(
        "lots.csv, line 9, column crop", 'crop must be known (got "tulpi")', "Correct it.", "050"
    )
    return replace(source, printed={"099": (gone,), "050": (gone,)}, problems=(problem,))


def all_pages(source: PageSource, *, live: bool = False) -> dict[str, str]:
    """Every page of a season, by its name."""
    return {
        "index": index_page(source, live=live),
        **{code: lot_page(source, code, live=live) for code in source.lot_codes},
        **{name: cooler_page(source, name, live=live) for name in source.summary_of},
        "missing": missing_page(source, "04", live=live),
    }


# --- a lot's page -------------------------------------------------------------------------------------------


def test_a_lot_page_says_everything_in_the_order_in_which_it_is_needed() -> None:
    """What it is, what is next, what is left, the dates, what they are made from; then the reasons."""
    lot = make_lot(variety="Pale Harbour", place="rack 2", orders=(order(FRIDAY, 100),), cells={"Lot": "041"})
    source = page_source(lot)
    dates = source.dates_of["041"]
    assert dates.sell_by is not None
    old = tag(dates, sell_by=dates.sell_by + 2 * DAY, differs=True, untrue=True)
    text = main_text(lot_page(replace(source, printed={"041": (old,)}), "041"))
    expected = [
        "041 DRY Pale Harbour, single tulip",
        "NEXT THU 1 APR: INTO WATER by 6 PM for FRI 2 APR shop: 10 bunches",
        "30 bunches (300 stems) left",
        "INTO WATER BY " + source.wording.moment(dates.into_water_by or NOW),
        "trim stem ends · 8 h in water",
        "SELL BY " + source.wording.day(dates.sell_by),
        "Made on TUE 23 MAR 8 AM from a thermometer log to TUE 23 MAR 8 AM.",
        "Vase days",
        "Stands dry, cut; in barn, rack 2",
        "Why Sell by " + source.wording.say(dates.why),
        "Into water 8 h in water before it leaves",
        "Cautious",
        "May be off early",
        "Orders FRI 2 APR 8 AM shop, 100 stems TAKE 10 FROM CRATE 1 of 3 in water by THU 1 APR 6 PM",
        "Printed before wrap label, printed TUE 23 MAR 8 AM, says DRY sell by "
        + source.wording.day(dates.sell_by + 2 * DAY),
        ": MUST GO",
        "Cautions Sap and bulbs irritate skin",
        "Its row",
        "Lot 041",
    ]
    places = [text.find(words) for words in expected]
    assert [words for words, place in zip(expected, places, strict=True) if place < 0] == []
    assert places == sorted(places)


def test_a_date_is_there_for_the_script_and_for_who_has_none() -> None:
    """The day stands in words; the script finds the same day as a date, hidden until it has words for it."""
    source = page_source()
    sell_by = source.dates_of["041"].sell_by
    assert sell_by is not None
    page = parsed(lot_page(source, "041"))
    times = {element.get("datetime"): text_of(element) for element in page.iter("time")}
    assert times[f"{sell_by:%Y-%m-%d}"] == source.wording.day(sell_by)
    places = [span for span in page.iter("span") if "away" in (span.get("class") or "").split()]
    assert f"{sell_by:%Y-%m-%d}" in {span.get("data-to") for span in places}
    assert {(span.get("hidden"), text_of(span)) for span in places} == {("", "")}


@pytest.mark.parametrize(
    ("code", "expected"),
    [
        ("042", ("NOW TOO OLD: THROW OUT: ",)),
        ("043", ("WET", "NOW FAN UNTIL NO DROPS ARE LEFT, DO NOT WRAP YET", "to be kept dry, cut")),
        ("044", ("WATER", "INTO WATER BY IN WATER", "cut, in water")),
        ("045", ("WATER", "was DRY", "IN WATER, READY FROM TUE 23 MAR 2 PM")),
        ("046", ("NOT FOR SAT 22 MAY 8 AM", "shop, 60 stems", "the last day that would do is")),
        ("047", ("none left",)),
        ("048", ("stems not noted left",)),
        ("049", ("INTO WATER BY for FRI 2 APR table", "INTO THE WARM AT THU 1 APR")),
        ("P-1", ("PLANNED", "TO BE CUT FRI 2 APR", "NEEDED MON 12 APR 8 AM", "DRY cut from")),
        ("050", ("NO DATE: its row must be corrected first", 'got "tulpi"', "Last printed", "sell by")),
        ("099", ("NOT IN THE SHEET any more.", "Nobody has checked these dates since.", "says DRY sell by")),
    ],
)
def test_a_page_for_every_kind_of_lot(everything: PageSource, code: str, expected: tuple[str, ...]) -> None:
    """Past, wet, in water, with orders, without stems or stage, planned, faulty, gone."""
    text = main_text(lot_page(everything, code))
    assert [words for words in expected if words not in text] == []


@pytest.mark.parametrize("code", ["043", "047", "050", "099", "P-1"])
def test_no_sell_by_is_said_that_does_not_hold(everything: PageSource, code: str) -> None:
    """A wet, finished, faulty, planned or gone lot has no date to be sold by at the top of its page."""
    assert "SELL BY" not in facts(lot_page(everything, code))


def test_stems_that_heat_has_cost_show_no_number_without_end() -> None:
    """Above 40 °C all of the storage life is used, which no per cent can say."""
    page = text_of(parsed(lot_page(page_source(make_lot(field_c=45.0)), "041")))
    assert "all of it by" in page
    assert re.search(r"\b(inf|nan)\b", page, re.IGNORECASE) is None


def test_stems_kept_for_an_order_are_told_apart_from_the_others() -> None:
    """Where the rest is done but an order is to come, the page says what to keep and what not."""
    source = page_source(make_lot(orders=(order(FRIDAY, 60),)))
    passed = replace(
        source.dates_of["041"], sell_by=NOW - 2 * DAY, keeps_until=NOW - DAY, state=State.SELL_ELSEWHERE
    )
    shown = facts(lot_page(replace(source, dated=(passed,)), "041"))
    keep = "KEEP 60 STEMS FOR FRI 2 APR, into water by THU 1 APR 6 PM"
    assert (shown[keep], shown["THE OTHER 240: TOO OLD"]) == ("leaves 8 AM", "")
    assert [caption for caption in shown if "SELL" in caption or "INTO WATER" in caption] == []


def test_an_outlet_that_would_still_take_a_lot_has_its_hour_for_water() -> None:
    """Beside its day and hour, where the stems are still dry."""
    source = page_source(make_lot())
    elsewhere = (("shop", FRIDAY), ("stall", FRIDAY + DAY))
    dates = replace(
        source.dates_of["041"],
        sell_by=NOW - DAY,
        state=State.SELL_ELSEWHERE,
        elsewhere=elsewhere,
        elsewhere_water={"stall": FRIDAY.replace(hour=18)},
    )
    shown = facts(lot_page(replace(source, dated=(dates,)), "041"))
    (told,) = [text for caption, text in shown.items() if caption.startswith("SELL ELSEWHERE")]
    assert "shop FRI 2 APR, leaves 8 AM" in told
    assert "stall SAT 3 APR, leaves 8 AM, into water by FRI 2 APR 6 PM" in told


def test_an_order_names_the_crates_that_its_bunches_lie_in() -> None:
    """Each order and crate as on the crates' cards, whatever else the lot has orders for."""
    orders = (order(FRIDAY, 60), order(FRIDAY + DAY, 600))
    source = page_source(make_lot(stems=1200, orders=orders))
    dates = source.dates_of["041"]
    loads = crates_of(dates, source.crops)
    words = [
        ", ".join(
            f"{count} FROM CRATE {n} of {len(loads)}"
            for n, load in enumerate(loads, 1)
            for taken, count in load.takes
            if taken is judged
        )
        for judged in dates.orders
    ]
    text = main_text(lot_page(source, "041"))
    assert [told for told in words if f"TAKE {told} in water by" not in text] == []
    assert words[0] == f"6 FROM CRATE 1 of {len(loads)}"
    assert words[1].count("FROM") > 1
    cards = [
        card_words(told_on(dates, load, source, is_first=n == 0), source) for n, load in enumerate(loads)
    ]
    here = [count for card in cards for line in card.takes for count in re.findall(r"TAKE (\d+) HERE", line)]
    assert here == [count for told in words for count in re.findall(r"(\d+) FROM", told)]


def test_an_own_page_of_an_earlier_version_gives_way_to_the_shipped_one(tmp_path: Path) -> None:
    """It asks for what is no longer told; one that is no template is a problem all the same."""
    source = page_source()
    own = replace(source, wording=Wording("F", tmp_path))
    (tmp_path / "lot-page.html.j2").write_text("{{ story.past }}", encoding="utf-8")
    assert lot_page(own, "041") == lot_page(source, "041")
    (tmp_path / "lot-page.html.j2").write_text("{{ story.", encoding="utf-8")
    with pytest.raises(InputProblems, match=r"lot-page\.html\.j2"):
        lot_page(replace(source, wording=Wording("F", tmp_path)), "041")


def test_without_readings_the_page_says_what_was_counted() -> None:
    """A page made from nothing but a set point says so."""
    assert "without readings, counted at 41 °F" in main_text(lot_page(page_source(read=False), "041"))


def test_tags_that_say_the_same_are_not_mentioned() -> None:
    """Only what differs is of interest; what is earlier than need be still holds."""
    source = page_source()
    same = tag(source.dates_of["041"])
    earlier = replace(same, differs=True)
    told = [main_text(lot_page(replace(source, printed={"041": (each,)}), "041")) for each in (same, earlier)]
    assert ["Printed before" in text for text in told] == [False, True]
    assert "holds, could say more" in told[1]
    assert ["REPRINT" in text for text in told] == [False, False]


def test_only_cells_that_are_filled_in_are_shown() -> None:
    """Blank cells of the row take no room; the others stand as typed."""
    cells = {"Lot": "041", "Variety": "  ", "Stems": "12 bunches", "Note": "left  by\nthe door"}
    shown = facts(lot_page(page_source(make_lot(cells=cells)), "041"))
    assert {name: shown.get(name) for name in cells} == {
        "Lot": "041", "Variety": None, "Stems": "12 bunches", "Note": "left by the door"
    }  # fmt: skip


# --- text stays text ----------------------------------------------------------------------------------------

HOSTILE = "<script>alert(1)</script>\"'><img src=x onerror=alert(2)>&amp;{{ 7 * 7 }}"
TEXT_FIELDS = [
    field.name for field in fields(Lot) if field.type == "str" and field.name not in ("lot_code", "use")
]


@pytest.mark.parametrize("field", [name for name in TEXT_FIELDS if name not in ("crop", "form", "cooler")])
@pytest.mark.slow
def test_text_of_every_cell_is_escaped(field: str) -> None:
    """A tag typed into any text of a lot is shown as it was typed, and makes no element."""
    lot = make_lot(**{field: HOSTILE}, cells={HOSTILE: HOSTILE})
    assert_harmless(page_source(lot))


@pytest.mark.slow
def test_names_from_the_settings_are_escaped() -> None:
    """Farm, cooler, outlet and a crop of the grower's own may be called what they like."""
    farm = make_farm(name=HOSTILE)
    use = replace(farm.uses["shop"], name=HOSTILE)
    cooler = Cooler(name=HOSTILE, set_point_c=3.0)
    farm = replace(farm, uses={**farm.uses, HOSTILE: use}, coolers={HOSTILE: cooler, **COOLERS})
    lots = (
        make_lot(
            use=HOSTILE,
            cooler=HOSTILE,
            orders=(order(FRIDAY, 10, HOSTILE), order(NOW + 90 * DAY, 5, HOSTILE)),
        ),
        make_lot(
            lot_code="P-1", use=HOSTILE, cut=NOW + DAY, planned=True, orders=(order(FRIDAY, use=HOSTILE),)
        ),
    )
    assert_harmless(page_source(*lots, farm=farm))


def test_problems_banners_and_unknown_codes_are_escaped() -> None:
    """What was asked for and what is wrong are quoted, never obeyed."""
    nameless = Problem(HOSTILE, HOSTILE, HOSTILE)
    source = page_source(problems=(Problem(HOSTILE, HOSTILE, HOSTILE, "050"), nameless))
    assert_harmless(source)
    for page in (missing_page(source, HOSTILE), lot_page(source, "050", banner=(HOSTILE, HOSTILE))):
        assert_no_elements_of_ours(page)


def assert_harmless(source: PageSource) -> None:
    """None of a season's pages holds an element that the sheet brought."""
    pages = all_pages(source)
    for page in pages.values():
        assert_no_elements_of_ours(page)
    assert any("<script>alert(1)" in text_of(parsed(page)) for page in pages.values())


def assert_no_elements_of_ours(page: str) -> None:
    """One script, by its address; no picture; no handler; and no template was run twice."""
    elements = list(parsed(page).iter())
    assert [element.get("src") for element in elements if element.tag == "script"][1:] == []
    assert [element.tag for element in elements if element.tag in ("img", "iframe", "style")] == []
    assert [name for element in elements for name in element.attrib if name.startswith("on")] == []
    assert "{{ 7 * 7 }}" in page or "49" not in page


# --- HTML ---------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("live", [False, True], ids=["file", "live"])
def test_every_page_is_whole_and_valid(everything: PageSource, live: bool) -> None:
    """The strict parser of the HTML standard finds no fault; headings, names and labels are in order."""
    for name, page in all_pages(everything, live=live).items():
        tree = parsed(page)
        assert page.startswith('<!DOCTYPE html>\n<html lang="en">'), name
        headings = [element.tag for element in tree.iter() if element.tag in ("h1", "h2", "h3")]
        assert headings.count("h1") == 1, name
        assert headings[0] == "h1", name
        ids = Counter(element.get("id") for element in tree.iter() if element.get("id"))
        assert [found for found, count in ids.items() if count > 1] == [], name
        labels = {element.get("aria-labelledby") for element in tree.iter()} - {None}
        assert labels <= set(ids), name
        assert [len(tree.findall(f".//{tag}")) for tag in ("title", "main")] == [1, 1], name


def test_no_page_needs_anything_from_outside(everything: PageSource) -> None:
    """Every address is a file beside the page, and there is no script or style inside it."""
    for page in all_pages(everything).values():
        for element in parsed(page).iter():
            address = element.get("href") or element.get("src")
            assert address is None or not address.startswith(("http", "/", "data:", "javascript:"))
            assert element.get("style") is None
            assert element.tag != "script" or not text_of(element)
    for name in ASSETS:
        assert [
            word
            for word in ("http:", "https:", "url(", "@import", "eval(")
            if word in asset(everything, name)
        ] == []


def test_every_link_of_the_files_leads_to_a_page(everything: PageSource) -> None:
    """Links name files that are written."""
    files = {f"{name}.html" for name in (*everything.lot_names.values(), *everything.summary_of)} | {
        "index.html"
    }
    pages = all_pages(everything)
    links = {element.get("href") for page in pages.values() for element in parsed(page).iter("a")}
    assert links <= files
    assert files - links == set()


def test_live_links_lead_to_addresses_of_the_server(everything: PageSource) -> None:
    """Live pages link to the addresses that the codes hold, to the bench and to the check."""
    links = {element.get("href") for element in parsed(index_page(everything, live=True)).iter("a")}
    expected = {f"/L/{name}" for name in (*everything.lot_names.values(), *everything.summary_of)}
    assert links == expected | {"/", "/bench", "/check"}


@pytest.mark.slow
def test_the_same_season_gives_the_same_pages() -> None:
    """Two runs as of the same moment do not differ in a letter."""
    assert all_pages(page_source(*lots_of_all_kinds())) == all_pages(page_source(*lots_of_all_kinds()))


# --- index, cooler, names -----------------------------------------------------------------------------------


def test_the_index_lists_every_lot_once_by_what_is_due(everything: PageSource) -> None:
    """Lots with a date come in the order in which something is to be done; what holds now leads."""
    (main,) = parsed(index_page(everything)).iter("main")
    codes = [text_of(link) for link in main.iter("a") if text_of(link) not in everything.farm.coolers]
    assert sorted(codes) == sorted(everything.lot_codes)
    dated = [code for code in codes if code in everything.dates_of and code not in ("043", "047")]
    tasks = [next_task(everything.dates_of[code], everything.farm, everything.now) for code in dated]
    due = [(not task.now, everything.now if task.now else task.by) for task in tasks if task]
    assert len(due) == len(dated) > 3
    assert due == sorted(due)


def test_a_plan_whose_day_has_come_is_due() -> None:
    """A written plan waits under its heading until its day; then it asks at its place in the list."""
    lot = make_lot(lot_code="P-1", cut=NOW + 2 * DAY, planned=True, plan_written=True)
    for now, title in ((NOW, "To be cut"), (NOW + 3 * DAY, "By what is due")):
        source = page_source(make_lot(), lot, now=now)
        page = index_page(source)
        (inside,) = (text_of(part) for part in parsed(page).iter("section") if "P-1" in text_of(part).split())
        assert inside.startswith(title)
        asked = "NOW CUT? Take the word plan away"
        told = (inside, main_text(lot_page(source, "P-1")))
        assert [asked in text for text in told] == [title != "To be cut"] * 2


def test_a_row_is_found_by_its_code_variety_crop_and_place() -> None:
    """That is what the filter looks at, on the list and on the cooler's page; not at counts and dates."""
    source = page_source(make_lot(variety="Pale Harbour", colour="apricot", place="rack 2"))
    for page in (index_page(source), cooler_page(source, "COOLER.BARN")):
        (row,) = (item for item in parsed(page).iter("li") if item.get("data-find"))
        assert row.get("data-find") == "041 Pale Harbour, single tulip, apricot barn rack 2"


def test_a_move_drops_the_place_unless_it_names_one() -> None:
    """Rack 2 is in the cooler that the lot left; after the move nothing of it is said."""
    farm = make_farm(coolers={**COOLERS, "fridge": Cooler(name="fridge", set_point_c=3.0)})
    for spot, told in (("", "in fridge"), ("shelf 4", "in fridge, shelf 4")):
        moved = Move(since=NOW - DAY, place="fridge", spot=spot)
        page = lot_page(page_source(make_lot(place="rack 2", moves=(moved,)), farm=farm), "041")
        assert told in main_text(page)
        assert "rack 2" not in main_text(page)


def test_what_is_wrong_with_the_whole_sheet_stands_on_the_index() -> None:
    """It is of no row, so it has no page of its own."""
    problem = Problem("lots.csv, column Cut", "dates must be in one order (got two)", "Set day_first.")
    page = index_page(page_source(problems=(problem,)))
    parsed(page)
    assert "Rows to correct lots.csv, column Cut: dates must be in one order (got two)." in main_text(page)
    assert "Rows to correct" not in main_text(index_page(page_source()))


def test_a_season_without_lots_has_an_index() -> None:
    """A new farm's list says that there is nothing."""
    source = replace(page_source(), dated=(), warnings={}, coolers=())
    assert "No cut lot has stems left." in main_text(index_page(source))


def test_a_cooler_page_says_how_warm_it_was_and_what_stands_in_it(everything: PageSource) -> None:
    """Its readings, its lots with their dates, and its room for a week."""
    page = cooler_page(everything, "COOLER.BARN")
    text = main_text(page)
    assert "Read until TUE 23 MAR 8 AM" in text
    assert "lowest 39 °F, mean 39 °F, highest 39 °F" in text
    (rows,) = (ul for ul in parsed(page).iter("ul") if "lots" in (ul.get("class") or "").split())
    inside = {dates.read.lot.lot_code for dates in everything.summary_of["COOLER.BARN"].lots}
    assert {text_of(link) for link in rows.iter("a")} == inside != set()
    assert [text_of(row[0]) for body in parsed(page).iter("tbody") for row in body][:2] == [
        "TUE 23 MAR",
        "WED 24 MAR",
    ]


def test_a_cooler_without_readings_says_what_is_counted() -> None:
    """Nothing was read: the page says what its lots are dated by."""
    text = main_text(cooler_page(page_source(read=False), "COOLER.BARN"))
    assert "Nothing was read in barn" in text
    assert "dated as if it ran at 41 °F" in text


@pytest.mark.parametrize("asked", ["P-1", "p-1", " P-1 ", "COOLER.BARN", "cooler.barn", "barn", "Barn"])
def test_a_page_is_found_in_any_case(everything: PageSource, asked: str) -> None:
    """A code that is typed in small letters leads to the same page; a cooler is found by its own name too."""
    expected = lot_page if "1" in asked else cooler_page
    name = "P-1" if "1" in asked else "COOLER.BARN"
    assert page_for(everything, asked) == expected(everything, name, live=True)


@pytest.mark.parametrize("asked", ["", "404", "../041", "041.html", "A" * 100_000, "\x00", "０４１"])
def test_what_nobody_knows_has_no_page(everything: PageSource, asked: str) -> None:
    """Anything else finds nothing, however long or odd, and the page that says so is short."""
    assert page_for(everything, asked) is None
    assert len(missing_page(everything, asked)) < 4000
    parsed(missing_page(everything, asked.replace("\x00", "")))


@pytest.mark.parametrize(("of", "name"), [(lot_page, "404"), (cooler_page, "041"), (asset, "../lots.csv")])
def test_a_name_that_is_not_there_is_said(
    everything: PageSource, of: Callable[[PageSource, str], str], name: str
) -> None:
    """Asking for a page by a wrong name is an error of the caller's, not an empty page."""
    with pytest.raises(NoSuchPage):
        of(everything, name)


def test_the_nearest_codes_are_offered(everything: PageSource) -> None:
    """A slip of a digit finds the lots that look like it."""
    (main,) = parsed(missing_page(everything, "o41", live=False)).iter("main")
    links = [(text_of(link), link.get("href")) for link in main.iter("a")]
    assert links[0] == ("041", "041.html")
    assert everything.nearest("04") == ("041", "042", "043", "044", "045")
    assert everything.nearest("") == everything.nearest("ZZZZ") == ()


def test_a_banner_comes_first_and_says_what_is_wrong() -> None:
    """Above the dates stands why they may be old."""
    page = lot_page(
        page_source(), "041", live=True, banner=("The sheet cannot be read.", "lots.xlsx is locked")
    )
    (body,) = parsed(page).iter("body")
    assert (body[0].get("class"), text_of(body[0])) == (
        "banner",
        "The sheet cannot be read. lots.xlsx is locked",
    )
    assert "banner" not in {element.get("class") for element in parsed(lot_page(page_source(), "041")).iter()}


@pytest.mark.parametrize("code", ["INDEX", "CON", "LPT1", "COM9"])
def test_a_lot_takes_no_name_that_a_stick_keeps_for_itself(code: str) -> None:
    """Device names of Windows, and the index, name no lot's file; the code still finds the page."""
    assert lot_page_name(code) == f"LOT.{code}"
    source = page_source(make_lot(lot_code=code))
    assert page_for(source, code) == page_for(source, f"lot.{code}") == lot_page(source, code, live=True)


def test_cooler_names_are_safe_and_different() -> None:
    """Names of coolers become capitals, digits and hyphens, each its own."""
    names = cooler_page_names(
        ["old fridge", "Old Fridge", "../etc", "çà & là", "冷蔵庫", "COOLER", "old fridge.2"]
    )
    assert list(names.values()) == [
        "COOLER.OLD-FRIDGE", "COOLER.OLD-FRIDGE.2", "COOLER.ETC", "COOLER.CA-LA", "COOLER", "COOLER.COOLER",
        "COOLER.OLD-FRIDGE-2",
    ]  # fmt: skip
