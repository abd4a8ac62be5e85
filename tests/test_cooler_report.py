"""The thermometer report: what it says on the terminal, and its pages."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import timedelta
from itertools import combinations
from pathlib import Path

import pypdfium2 as pdfium  # type: ignore[import-untyped]  # it comes without types
import pytest

from tagmaker.errors import InputProblems
from tagmaker.farm import PAPER_SIZES
from tagmaker.intake.columns import ON_PAPER
from tagmaker.lot import Lot, Stage
from tagmaker.paper.cooler.report import FILE_NAME, MARGIN, cooler_report, report_sheets, report_text
from tagmaker.paper.press.boxes import Box, Element, Frame, Sheet, Text
from tagmaker.paper.press.ink import Inked
from tagmaker.storage.cooler_summary import CoolerSummary
from tagmaker.storage.readings import SetAside
from tagmaker.telling.wording import Wording
from tests.cooler_stories import DAY, HOUR, NOW, barn_set_to, broken_door, by_hand, logged, story, swinging
from tests.farms import celsius, make_farm, make_lot
from tests.sheet_checks import overlap

FAHRENHEIT, CELSIUS, BOTH = Wording("F"), Wording("C"), Wording(None)


def peonies(count: int = 1) -> list[Lot]:
    """Some lots of peonies."""
    return [make_lot(lot_code=f"P{n:03}", crop="peony", stage=Stage.TIGHT, stems=100) for n in range(count)]


def told(summary: CoolerSummary, wording: Wording = FAHRENHEIT) -> str:
    """The terminal's report in one line, so that its breaks do not matter."""
    return " ".join(report_text([summary], wording).split())


def page_texts(inked: Inked) -> list[str]:
    """The words of each page, read back from the PDF."""
    pdf = pdfium.PdfDocument(inked.pdf)
    pages = [" ".join(page.get_textpage().get_text_bounded().split()) for page in pdf]
    pdf.close()
    return pages


def elements_of(sheet: Sheet) -> Iterator[Element]:
    """Everything on a page."""
    for placed in sheet.placed:
        yield from placed.drawing.elements


def sheets(summary: CoolerSummary, wording: Wording = FAHRENHEIT, **farm: object) -> tuple[Sheet, ...]:
    """The pages of one cooler."""
    return report_sheets([summary], replace(make_farm(), **farm), wording, NOW)  # type: ignore[arg-type]


# ---- the terminal


def test_days_come_first_then_what_to_do_then_small_print() -> None:
    """A lot's lost days stand above all advice."""
    text = report_text([story(logged(celsius(45), days=12), peonies())], FAHRENHEIT)
    places = [text.index(word) for word in ("COOLER barn", "loses days", "P000", "WHAT TO DO", "SMALL PRINT")]
    assert places == sorted(places)


def test_a_lost_lot_has_its_days_and_both_dates() -> None:
    """Peonies at 45 °F for twelve days, which count at 41 °F without readings."""
    found = story(logged(celsius(45), days=12), peonies())
    (lot,) = found.lots
    assert lot.days is not None
    assert lot.read.sell_by is not None
    assert lot.assumed.sell_by is not None
    line = next(row for row in report_text([found], FAHRENHEIT).splitlines() if "P000" in row)
    assert line.split() == [
        "P000",
        f"−{-lot.days}",
        *FAHRENHEIT.day(lot.read.sell_by).split(),
        *FAHRENHEIT.day(lot.assumed.sell_by).split(),
        f"{lot.read.life_used * 100:.0f}",
        "%,",
        "not",
        f"{lot.assumed.life_used * 100:.0f}",
        "%",
        "peony",
        "DRY",
    ]


@pytest.mark.parametrize(
    ("t_c", "lead"),
    [
        (celsius(45), "According to the thermometer, 2 of 2 lots lose days."),
        (celsius(34), "According to the thermometer, 2 of 2 lots gain days."),
        (celsius(41), "No date moves: its 2 lots sell by the same days as without readings."),
    ],
)
def test_the_lead_counts_the_lots(t_c: float, lead: str) -> None:
    """Lost, gained, or neither."""
    assert lead in told(story(logged(t_c, days=12), peonies(2)))


def test_an_empty_cooler_says_so() -> None:
    """Its climate is told all the same."""
    text = told(story(logged(swinging), []))
    assert "No lots stand in it now." in text
    assert "swing of an ordinary day" in text


def test_unmoved_lots_are_named_in_one_line() -> None:
    """They need no row of their own."""
    text = report_text([story(logged(celsius(41)), peonies(3))], FAHRENHEIT)
    assert "Same sell-by as without readings: P000, P001, P002." in text
    assert "WITHOUT READINGS" not in text


def test_lost_lots_are_to_be_reprinted() -> None:
    """Up to eight by name, the others by number."""
    few, many = (told(story(logged(celsius(45), days=12), peonies(count))) for count in (2, 11))
    assert "The labels and cards of P000, P001 may promise too much: tagmaker wraps --reprint" in few
    assert "P006, P007 and 3 more may promise too much" in many
    assert "--reprint" not in told(story(logged(celsius(34), days=12), peonies()))


def test_the_broken_door_is_told_with_its_night() -> None:
    """The hours above 45 °F, and the longest stretch to the quarter hour."""
    text = told(story(logged(broken_door)))
    assert "TOO WARM: 8.8 h above 45 °F in 7 days, longest SUN 28 MAR 9:15 PM to MON 29 MAR 6 AM" in text
    assert "up to 64 °F" in text


def test_hand_readings_have_no_longest_stretch() -> None:
    """It is said how their hours were counted."""
    text = told(story(hands=by_hand(celsius(38), celsius(50))))
    assert (
        "About 84 h above 45 °F in 7 days, up to 50 °F: half the time between two looks counts at HIGH"
        in text
    )
    assert "longest" not in text


def test_frost_stands_in_the_lead_because_no_date_counts_it() -> None:
    """A cold week gains days, and may have killed the flowers."""
    text = told(story(logged(lambda moment: -2.0 if moment.hour < 4 else 1.0), peonies()))
    assert "But it was too cold for some, which no date counts: see below." in text
    assert "TOO COLD: 28 h at 31 °F or colder in 7 days, within the thermometer's error of 30 °F" in text
    assert "where peony freezes" in text


def test_chilled_crops_are_to_be_moved() -> None:
    """Zinnias in a fridge for tulips."""
    zinnias = make_lot(lot_code="Z1", crop="zinnia", stage=Stage.OPEN)
    text = told(story(logged(celsius(38)), [make_lot(), zinnias]))
    assert "TOO COLD FOR ZINNIA: zinnia is harmed below 41 °F: 168 h of the last 7 days were." in text
    assert "Unless zinnia is moved: from 36 °F to 40 °F, 4 °F warmer" in text


def test_a_power_cut_an_ended_log_and_a_wrong_set_point_are_told() -> None:
    """The sentences are those of `dates`, with what to do behind them."""
    cut = (NOW - 5 * DAY, NOW - 5 * DAY + 10 * HOUR)
    text = told(story(logged(celsius(41), until=NOW - 2 * DAY, without=cut)))
    assert "POWER CUT?: barn has no readings from SAT 27 MAR 9 AM to SAT 27 MAR 7 PM" in text
    assert "LOG ENDED: the log of barn ended TUE 30 MAR 9 AM" in text
    assert "NOT AT ITS SET POINT: barn is set to 36 °F but ran at 41 °F on average." in text
    assert "1 gap of 10 h in all between readings is counted on the warm side." in text


def test_damp_air_is_told_from_half_an_hour_on() -> None:
    """Ninety-five percent for two hours a day."""
    damp = logged(celsius(37), rh=lambda moment: 95.0 if moment.hour < 2 else 85.0)
    assert "DAMP: 14 h at 93 % and more in 7 days" in told(story(damp))
    assert "DAMP" not in told(story(logged(celsius(37), rh=lambda _: 92.0)))


def test_the_dial_is_advice_with_days_per_crop() -> None:
    """Set to 40 °F and never below 39: peonies bear eight degrees less."""
    text = told(story(logged(celsius(39)), peonies(), farm=barn_set_to(celsius(40))))
    assert "THE DIAL, as advice: From 40 °F to 32 °F, 8 °F colder: the coldest reading was 39 °F" in text
    assert "and peony freezes near 30 °F. Storage days, about:" in text
    assert "peony DRY" in text


def test_a_dial_that_is_right_is_to_be_left() -> None:
    """Nothing colder than freezing is gained."""
    assert "Leave it at 32 °F" in told(story(logged(0.0), farm=barn_set_to(0.0)))


def test_nothing_to_change_is_said_where_it_is_so() -> None:
    """No set point, so no advice on a dial, and nothing else the matter."""
    assert "NOTHING TO CHANGE" in told(story(logged(swinging), farm=barn_set_to(None)))


def test_what_was_set_aside_is_told_by_reason() -> None:
    """Counted, with the reason in words."""
    aside: dict[str, int] = {SetAside.JUMP: 2, SetAside.NO_READING: 7, SetAside.TOO_OLD: 0}
    text = told(story(replace(logged(swinging), set_aside=aside)))
    assert "Set aside, not counted: 2 that jumped up or down and back, 7 without a reading." in text


@pytest.mark.parametrize("reason", list(SetAside))
def test_every_reason_has_its_words(reason: SetAside) -> None:
    """A new one needs a new word in the template."""
    assert "Set aside, not counted: 3 " in told(story(replace(logged(swinging), set_aside={reason: 3})))


def test_a_short_log_is_told_as_long_as_it_is() -> None:
    """Two days are no week."""
    assert "last 2 days" in told(story(logged(swinging, days=2)))


def test_a_cooler_without_readings_says_what_counts_and_what_to_do() -> None:
    """By hand, by a logger, and the ice-water check."""
    text = told(story(None, peonies(2)))
    assert "Nothing was read in barn: its 2 lots are dated as if it ran at 41 °F" in text
    for words in ("readings.csv", "cooler, moment, low, high", 'log = "logs/barn.csv"', "crushed ice"):
        assert words in text
    assert "SMALL PRINT" not in text


def test_several_coolers_follow_each_other() -> None:
    """In the order given, with a blank line between."""
    text = report_text([story(logged(swinging)), story()], FAHRENHEIT)
    assert text.count("COOLER barn") == 2
    assert "\n\nCOOLER barn, no readings" in text


def test_the_words_are_the_growers_own(tmp_path: Path, repository: Path) -> None:
    """A changed template changes the report."""
    own = (repository / "templates" / "cooler-report.j2").read_text(encoding="utf-8")
    (tmp_path / "cooler-report.j2").write_text(own.replace("WHAT TO DO", "JOBS"), encoding="utf-8")
    assert "JOBS" in told(story(logged(swinging)), Wording("F", tmp_path))


# ---- the pages

STORIES = {
    "door": lambda: story(logged(broken_door, days=12), [make_lot(), *peonies(3)]),
    "humid": lambda: story(logged(swinging, days=30, step=HOUR, rh=lambda m: 85.0 + m.hour / 2), peonies(2)),
    "cut": lambda: story(logged(swinging, without=(NOW - 3 * DAY, NOW - 2 * DAY)), peonies()),
    "hand": lambda: story(hands=by_hand(celsius(36), celsius(48))),
    "constant": lambda: story(logged(4.0)),
    "frozen": lambda: story(logged(-3.0), peonies()),
    "hot": lambda: story(logged(45.0, days=20, step=HOUR), peonies()),
    "short": lambda: story(logged(swinging, days=0.2)),
    "empty": lambda: story(logged(swinging), []),
    "unread": lambda: story(),
}


@pytest.mark.parametrize("paper", ["letter", "a4"])
@pytest.mark.parametrize("wording", [FAHRENHEIT, CELSIUS, BOTH], ids=["F", "C", "both"])
@pytest.mark.parametrize("name", STORIES)
@pytest.mark.slow
def test_everything_stays_inside_the_margins_and_no_texts_overlap(
    name: str, wording: Wording, paper: str
) -> None:
    """Every kind of week, in every unit, on both papers."""
    width, height = PAPER_SIZES[paper]
    inner = Box(0, 0, width, height).inset(MARGIN)
    for sheet in sheets(STORIES[name](), wording, paper_size=paper):
        assert (sheet.width, sheet.height) == (width, height)
        texts = [element for element in elements_of(sheet) if isinstance(element, Text)]
        assert [text for text in texts if not inner.holds(text.box)] == []
        frames = [element.box for element in elements_of(sheet) if isinstance(element, Frame)]
        assert [box for box in frames if not inner.holds(box)] == []
        overlaps = [
            (one.lines[0].text, other.lines[0].text)
            for one, other in combinations(texts, 2)
            if overlap(one.box, other.box, 0.05)
        ]
        assert overlaps == []


@pytest.mark.parametrize("wording", [FAHRENHEIT, CELSIUS], ids=["F", "C"])
@pytest.mark.parametrize("name", STORIES)
def test_no_text_of_a_farm_with_units_is_cut_or_too_small(name: str, wording: Wording) -> None:
    """Nothing ends in an ellipsis, and nothing is smaller than 5.5 pt."""
    for sheet in sheets(STORIES[name](), wording):
        texts = [element for element in elements_of(sheet) if isinstance(element, Text)]
        assert [text.lines for text in texts if text.lines[-1].text.endswith("…") or text.size < 5.5] == []


def test_each_cooler_has_its_page() -> None:
    """In the order given, without codes to scan."""
    inked = cooler_report(
        [story(logged(swinging)), story()], make_farm(name="Larkmarrow Yard"), FAHRENHEIT, NOW, ON_PAPER
    )
    first, second = page_texts(inked)
    assert inked.file_name == FILE_NAME == "cooler-report.pdf"
    assert inked.pages == ((), ())
    assert "read until THU 1 APR 9 AM" in first
    assert "printed THU 1 APR 9 AM, Larkmarrow Yard" in first
    assert "Nothing was read in barn" in second


def test_the_page_says_what_the_terminal_says() -> None:
    """Lead, lots, advice and small print are the same words."""
    found = story(logged(broken_door, days=12), peonies(2))
    (page,) = page_texts(cooler_report([found], make_farm(), FAHRENHEIT, NOW, ON_PAPER))
    text = told(found)
    both = ("WHAT TO DO", "TOO WARM", "8.8 h above 45 °F in 7 days", "THE DIAL, as advice", "last 12 days")
    for words in (*both, "hours by temperature", "of 2 lots", "a convention for drugs"):
        assert words in page
        assert words in text


@pytest.mark.slow
def test_many_lots_go_on_further_pages_each_once() -> None:
    """A hundred lots that all lose days: every code once, pages numbered."""
    found = story(logged(celsius(46), days=12), peonies(100))
    pages = page_texts(cooler_report([found], make_farm(), FAHRENHEIT, NOW, ON_PAPER))
    words = " ".join(pages).split()
    assert len(pages) > 1
    assert [f"page {n} of {len(pages)}" in page for n, page in enumerate(pages, 1)] == [True] * len(pages)
    unnamed = [f"P{n:03}" for n in range(8, 100)]  # the first eight stand in the advice too
    assert {code: words.count(code) for code in unnamed} == dict.fromkeys(unnamed, 1)


def charts_of(summary: CoolerSummary) -> list[str]:
    """The heads of a page's charts."""
    (sheet,) = sheets(summary)
    texts = [element.lines[0].text for element in elements_of(sheet) if isinstance(element, Text)]
    return [text for text in texts if text.startswith(("TEMPERATURE", "RELATIVE", "LOWEST, MEAN"))]


def test_humidity_and_the_month_are_drawn_where_there_are_any() -> None:
    """A week without humidity has one chart, a month with it three, no readings none."""
    month = story(logged(swinging, days=30, step=HOUR, rh=lambda _: 90.0))
    assert charts_of(story(logged(swinging))) == ["TEMPERATURE, seven days"]
    assert charts_of(month) == [
        "TEMPERATURE, seven days",
        "RELATIVE HUMIDITY",
        "LOWEST, MEAN AND HIGHEST OF 28 DAYS, solid beyond a limit",
    ]
    assert charts_of(story()) == []


def test_hand_readings_are_named_as_such() -> None:
    """Alone, and beside a logger."""
    both = story(logged(swinging, without=(NOW - 3 * DAY, NOW - DAY)), hands=by_hand(2.0, 6.0))
    assert charts_of(story(hands=by_hand(2.0, 6.0))) == ["TEMPERATURE, seven days, LOWEST to HIGHEST by hand"]
    assert charts_of(both) == ["TEMPERATURE, seven days, boxes: LOWEST to HIGHEST by hand"]


def test_the_lots_stand_above_the_chart_and_the_small_print_at_the_foot() -> None:
    """Days first, whatever else there is."""
    (sheet,) = sheets(story(logged(broken_door, days=12), peonies(2)))
    tops = {e.lines[0].text: e.box.y for e in elements_of(sheet) if isinstance(e, Text)}
    order = ["LOT", "P000", "TEMPERATURE, seven days", "WHAT TO DO", "hours read"]
    assert [tops[text] for text in order] == sorted(tops[text] for text in order)


def test_units_are_the_farms() -> None:
    """°F, °C, or both where the settings do not say."""
    found = story(logged(celsius(41)))
    pages = {
        wording.units: page_texts(cooler_report([found], make_farm(), wording, NOW, ON_PAPER))[0]
        for wording in (FAHRENHEIT, CELSIUS, BOTH)
    }
    assert ("41 °F" in pages["F"], "°C" in pages["F"]) == (True, False)
    assert ("5 °C" in pages["C"], "°F" in pages["C"]) == (True, False)
    assert "41 °F (5 °C)" in pages[None]


def test_the_same_story_is_the_same_file() -> None:
    """Byte for byte."""
    first, second = (
        cooler_report(
            [story(logged(broken_door, days=12), peonies())], make_farm(), FAHRENHEIT, NOW, ON_PAPER
        ).pdf
        for _ in range(2)
    )
    assert first == second


def test_a_character_that_the_font_lacks_is_a_problem() -> None:
    """Never a blank on the page; it is named where it was written."""
    cell = 'lots.xlsx, sheet "Lots", cell C7'
    lot = make_lot(variety="春 Tulip", crop="peony", stage=Stage.TIGHT, name_cells={"variety": cell})
    with pytest.raises(InputProblems, match=f"^{cell}: lot 041: every character must be in the font"):
        cooler_report([story(logged(celsius(46), days=12), [lot])], make_farm(), FAHRENHEIT, NOW, ON_PAPER)


@pytest.mark.slow
def test_a_month_of_minutes_makes_a_small_file() -> None:
    """The line has no more points than paper can show."""
    found = story(logged(broken_door, days=28, step=timedelta(minutes=1), rh=lambda _: 90.0))
    inked = cooler_report([found], make_farm(), FAHRENHEIT, NOW, ON_PAPER)
    assert len(inked.pdf) < 60_000
