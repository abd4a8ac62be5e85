"""What the pages of `tagmaker help` say is what the program does: its words, and the figures of the dates."""

from __future__ import annotations

import re
from datetime import date, datetime, timedelta

import pytest

from tagmaker.desk.entry_words import EXAMPLES
from tagmaker.desk.manual import topics
from tagmaker.farm import CARD_NAMES
from tagmaker.intake.settings.print import PRINTER_KEYS, STOCK_KEYS
from tagmaker.lot import HandLow, Mark, State
from tagmaker.storage import air, frost, judging, looking, room, stems, usual, warmth
from tagmaker.storage.ageing import HOTTEST_C, rate
from tagmaker.storage.crop_figures import LEAST_WATER_HOURS
from tagmaker.storage.crops import WARM_CAP_C, crop_table
from tagmaker.telling.agenda import FRESH_WATER_DAYS, Kind, Task
from tagmaker.telling.wording import Wording, packaged_templates

NOW = datetime(2027, 3, 23, 8)
LOW = HandLow(on=date(2027, 3, 22), low_c=-3.0)
SAY = Wording("F")
REASONS = ("", "frost", "set point", "heat", "tested bad", "too old")


def page(topic: str) -> str:
    """A page as one line, without its marks."""
    return " ".join(topics()[topic].read_text(encoding="utf-8").replace("*", "").split())


def first_cells(topic: str, heading: str) -> list[str]:
    """What stands in the first column of the table below a heading."""
    text = topics()[topic].read_text(encoding="utf-8").split(f"## {heading}\n")[1].split("\n## ")[0]
    return [line.split("|")[1].strip() for line in text.splitlines() if line.startswith("| ")][1:]


# ---- words


def begun(kind: Kind, reason: str, now: bool) -> str:
    """How a task begins on every paper and page."""
    task = Task(by=NOW, kind=kind, lot="041", cooler="walk-in", reason=reason, low=LOW, now=now)
    return str(SAY.macros("agenda.j2").verb(task=task))


@pytest.mark.parametrize("state", State)
def test_every_state_is_explained(state: State) -> None:
    """A row of the page begins with its word."""
    assert SAY.macros("agenda.j2").state(state=state).strip() in first_cells("warnings", "How a lot stands")


@pytest.mark.parametrize("mark", Mark)
def test_every_mark_is_explained(mark: Mark) -> None:
    """A row of the page begins with its words."""
    words = SAY.macros("agenda.j2").mark(mark=mark, on=None).strip()
    assert words in first_cells("warnings", "Marks beside the dates")


@pytest.mark.parametrize("kind", Kind)
def test_every_task_is_explained(kind: Kind) -> None:
    """As it begins on papers and pages for whatever reason: in the list of what to do, or among the marks."""
    headings = ("What to do, in the list of the day", "Marks beside the dates", "How a lot stands")
    cells = [cell for heading in headings for cell in first_cells("warnings", heading)]
    begins = {begun(kind, reason, now) for reason in REASONS for now in (False, True)}
    told = {re.split(r" \(|: (?![A-Z])", words)[0].removesuffix(" NOW").strip() for words in begins}
    assert [begin for begin in told if begin not in ", ".join(cells)] == []


@pytest.mark.parametrize(
    "cell",
    [
        *first_cells("warnings", "What is said of an order"),
        *first_cells("warnings", "What is said of a cooler"),
    ],
)
def test_what_is_explained_is_said(cell: str) -> None:
    """Each part of it stands in the sentences of the program."""
    said = " ".join((packaged_templates() / "sentences.j2").read_text(encoding="utf-8").split())
    assert [part for part in cell.split("…") if part.strip() not in said] == []


@pytest.mark.parametrize("cell", first_cells("warnings", "Other words"))
def test_other_words_that_are_explained_are_said(cell: str) -> None:
    """Each of them stands in a template, or begins so."""
    said = " ".join(path.read_text(encoding="utf-8") for path in packaged_templates().glob("*.j2"))
    assert [word for word in re.split(r", (?=REPRINT|TOO|DAMP)", cell) if word not in said] == []


# ---- figures of the dates


def test_the_rate_of_ageing_is_the_one_that_counts() -> None:
    """k at each of the ten degrees that the page names, and below freezing."""
    named = re.findall(r"([\d.]+) at (\d+) °C", page("dates").split("The rate is k: ")[1].split(". Up to")[0])
    if_so = [(str(rate(float(t))).removesuffix(".0"), t) for t in ("0", "10", "20", "30", "40")]
    assert (named, rate(-1.0)) == (if_so, 1.0)


def test_the_tulip_figures_are_those_of_the_table() -> None:
    """Published days, life, cap and stretch of each way of each form."""
    cells = re.findall(
        r"^\| ([A-Z]+) \| [^|]* \| (.*) \| (.*) \| (.*) \|$",
        topics()["dates"].read_text("utf-8"),
        re.MULTILINE,
    )
    for form in crop_table().forms("tulip"):
        table = []
        for way in crop_table().ways("tulip", form):
            stretched = f"; {way.stretch_days} stretched" if (way.stretch_days or 0) > way.cap_days else ""
            figures = (
                f"{way.cautious_days:g} days",
                f"{way.life_days:g} days",
                f"{way.cap_days} days{stretched}",
            )
            table.append((way.code.value, *figures))
        assert sorted(cells) == sorted(table)


def number(value: float) -> str:
    """As the page writes a count."""
    words = {2: "two", 3: "three", 4: "four", 5: "five", 6: "six", 7: "seven", 10: "ten"}
    return words.get(int(value), f"{value:g}") if value == int(value) else f"{value:g}"


def hours(span: timedelta) -> str:
    """A span in hours, as the page writes it."""
    return number(span / timedelta(hours=1))


@pytest.mark.parametrize(
    "said",
    [
        # the air of a cooler
        f"Between two readings up to {hours(air.BRIDGED)} hours apart",
        f"A gap of up to {hours(air.POWER_CUT)} hours",
        f"the warmer neighbour or {air.POWER_CUT_C:g} °C",
        f"its last {usual.USUAL_DAYS} days that were read for {usual.DAY_HOURS:g} hours or more",
        f"the coldest of the last {number(usual.BROKEN_DAYS)} of them",
        f"With {number(air.KNOWN_DAYS)} such days",
        f"at the warmest of set point, {air.UNMEASURED_C:g} °C and usual",
        f"With {number(air.HALF_KNOWN_DAYS)} to {number(air.KNOWN_DAYS - 1)} such days",
        # opening
        f"the time above {warmth.WARM_C:g} °C",
        f"/ (k({warmth.ROOM_C:g}) − k({warmth.WARM_C:g}))",
        f"Up to {'¼' if warmth.QUICKER == 1 / 4 else warmth.QUICKER} nothing happens",
        f"From {'½' if warmth.HALF_COLOURED == 1 / 2 else warmth.HALF_COLOURED} on: HALF COLOURED",
        f"From {warmth.TOO_OPEN:g} on: TOO OPEN",
        f"{'Half a' if judging.HALF_LOSS_D == 1 / 2 else judging.HALF_LOSS_D} day less fresh vase life",
        f"{'A' if judging.TOO_OPEN_LOSS_D == 1 else judging.TOO_OPEN_LOSS_D} day less fresh vase life",
        f"{number(judging.TOO_OPEN_DAYS)} more days at most",
        # will it do
        f"air of its cooler is {WARM_CAP_C:g} °C or colder",
        f"it leaves within {number(judging.IN_WATER_DAYS)} days",
        f"at most {number(judging.IN_WATER_DAYS)} days from that order's hour into water",
        f"never under {number(LEAST_WATER_HOURS)}, and the opening hours",
        f"a use of {number(judging.STRETCH_VASE_DAYS)} vase days or fewer",
        f"while life used is {judging.STRETCH_USED:g} or less",
        # frost and heat
        f"read for fewer than {number(air.KNOWN_DAYS)} days, gives no date",
        f"more than {'half a degree' if frost.DEEP_C == 1 / 2 else frost.DEEP_C} below it for an hour",
        f"below it for {number(frost.COLD_H)} hours",
        f"Above {HOTTEST_C:g} °C, stated, or read for an hour: lost",
        # early and late
        f"life ± {100 * (max(each.life for each in stems.VARIED[:2]) - 1):.0f} %",
        f"fresh ± {max(each.fresh_d for each in stems.VARIED):g} days",
        f"loss ± {100 * (max(each.loss for each in stems.VARIED) - 1):.0f} %",
        f"unread air ± {max(each.shift_c for each in stems.VARIED):g} °C",
        f"half-cooling times or over {max(each.half_cooling for each in stems.VARIED):g}",
        f"k over k({(40 - 32) / 1.8:.1f} °C)",
        # tests and looks
        f"more than {number(looking.UNSURE_DAYS)} days after the cut",
        f"a stay of more than {looking.LONG_STAY_DAYS} days, for a use of",
        f"for a use of {number(looking.LONG_STAY_PROMISE)} vase days and more",
        f"on the workday {number(looking.TEST_DAYS_BEFORE)} days before",
        f"stays more than {number(looking.DRIED_STAY_DAYS)} days: look for mould on the fifth workday",
        f"For {room.ROOM_DAYS} days: stems left and planned",
    ],
)
def test_a_figure_of_the_page_is_the_one_that_counts(said: str) -> None:
    """Whoever works a date out by hand takes the figures of the program."""
    assert said in page("dates")


def test_the_figures_that_stand_in_words_are_those_of_the_program() -> None:
    """An hour below freezing or above 40 °C, the fifth workday, fresh water every second day."""
    assert (frost.DEEP_H, frost.HOT_H, looking.MOULD_WORKDAY, FRESH_WATER_DAYS) == (1, 1, 5, 2)
    assert "every second day" in page("warnings")


@pytest.mark.parametrize("key", [*STOCK_KEYS, *PRINTER_KEYS])
def test_every_key_of_a_stock_or_printer_has_its_row(key: str) -> None:
    """In the tables of the page on papers."""
    assert re.search(rf"^\| [^|]*`{key}`[^|]* \|", topics()["papers"].read_text("utf-8"), re.MULTILINE)


@pytest.mark.parametrize("name", CARD_NAMES)
def test_every_kind_of_crate_card_has_its_row(name: str) -> None:
    """With what it is for."""
    assert f"`{name}`" in first_cells("papers", "Kinds of crate card")


@pytest.mark.parametrize("example", re.findall(r'"([^"]+)"', EXAMPLES))
def test_what_can_be_entered_is_on_the_page_of_the_journal(example: str) -> None:
    """What a message gives as an example begins like one of the page."""
    typed = re.findall(r"`([^`\n]+)`", topics()["journal"].read_text(encoding="utf-8"))
    assert [words for words in typed if words.split()[0] == example.split()[0]] != []
