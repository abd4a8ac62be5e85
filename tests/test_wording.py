"""How moments and temperatures are written, and where the words come from."""

from __future__ import annotations

from datetime import date, datetime
from pathlib import Path

import pytest

from tagmaker import notes
from tagmaker.errors import InputProblems
from tagmaker.telling.wording import Wording

FRIDAY = datetime(2027, 3, 5, 18)


def test_a_moment_is_unmistakable_in_both_units() -> None:
    """Weekday, day, month in letters, and the hour as the farm writes it."""
    assert Wording("F").moment(FRIDAY) == "FRI 5 MAR 6 PM"
    assert Wording("C").moment(FRIDAY) == "FRI 5 MAR 18:00"


@pytest.mark.parametrize(
    ("hour", "minute", "written"),
    [(0, 0, "12:01 AM"), (6, 30, "6:30 AM"), (12, 0, "NOON"), (12, 5, "12:05 PM"), (23, 45, "11:45 PM")],
)
def test_an_hour_in_a_fahrenheit_farm_has_am_and_pm(hour: int, minute: int, written: str) -> None:
    """Noon is written out, and midnight is the first minute of its day."""
    assert Wording("F").hour(datetime(2027, 3, 5, hour, minute)) == written


def test_weekdays_agree_with_the_calendar() -> None:
    """Every weekday of a year is the one that the standard library's calendar gives."""
    import calendar

    for ordinal in range(date(2027, 1, 1).toordinal(), date(2028, 1, 1).toordinal()):
        day = date.fromordinal(ordinal)
        name = calendar.day_abbr[day.weekday()].upper()
        month = calendar.month_abbr[day.month].upper()
        assert Wording("F").day(day) == f"{name} {day.day} {month}"


@pytest.mark.parametrize(
    ("units", "celsius", "written"),
    [
        ("F", 5.0, "41 °F"),
        ("C", 5.0, "5 °C"),
        ("C", -0.04, "0 °C"),
        ("C", 4.444, "4.4 °C"),
        (None, 5.0, "41 °F (5 °C)"),
    ],
)
def test_a_temperature_is_written_in_the_farms_unit(units: str | None, celsius: float, written: str) -> None:
    """Both where no unit is set, so that nobody guesses."""
    assert Wording(units).temp(celsius) == written


def test_a_figure_in_own_words_is_in_the_units_of_each_farm(tmp_path: Path) -> None:
    """Also where one process writes for several farms by the same file, and after it was changed."""
    for words in ("at {{ 5 | temp }}", "near {{ 5 | temp }}"):
        (tmp_path / "own.j2").write_text(words, encoding="utf-8")
        told = [Wording(units, tmp_path).render("own.j2") for units in ("F", "C", "F")]
        assert told == [f"{words.split()[0]} {degrees}" for degrees in ("41 °F", "5 °C", "41 °F")]


def test_own_words_replace_single_files(tmp_path: Path) -> None:
    """A file in the grower's folder is used, the rest stays as shipped."""
    (tmp_path / "dates-table.j2").write_text(
        "{% macro no_lots() %}nothing here{% endmacro %}", encoding="utf-8"
    )
    wording = Wording("F", tmp_path)
    assert wording.macros("dates-table.j2").no_lots() == "nothing here"
    assert wording.say(notes.Wet(code="WATER")) == "wet: fan until no drops are left"


@pytest.mark.parametrize(
    ("template", "message"),
    [
        ("{% macro wet(code) %}{{ nothing }}{% endmacro %}", "must use only the values it is given"),
        ("{% macro wet(code) %}", "must be a well-formed template"),
        ("{% macro wet(code) %}{{ code.stems }}{% endmacro %}", "must use only the values it is given"),
    ],
)
def test_faulty_words_are_a_problem_that_names_the_file(tmp_path: Path, template: str, message: str) -> None:
    """A wrong template never prints a blank or a traceback."""
    (tmp_path / "sentences.j2").write_text(template, encoding="utf-8")
    with pytest.raises(InputProblems, match=r"template sentences\.j2") as caught:
        Wording("F", tmp_path).say(notes.Wet(code="DRY"))
    assert message in str(caught.value)


@pytest.mark.parametrize(
    ("template", "said"),
    [
        ("{% macro wet() %}fan it{% endmacro %}", "fan it"),
        ("{% macro wet(code, more='') %}fan {{ code }}{{ more }}{% endmacro %}", "fan DRY"),
        (
            "{% macro wet(code, stems) %}{{ stems }}{% endmacro %}",
            "wet: fan until no drops are left, do not wrap yet",
        ),
        ("{# nothing of its own #}", "wet: fan until no drops are left, do not wrap yet"),
    ],
    ids=["fewer values", "other values", "a value of old", "no such macro"],
)
def test_own_words_of_an_earlier_version_go_on_working(tmp_path: Path, template: str, said: str) -> None:
    """Values that a macro does not ask for are left out, and a macro it lacks is the shipped one."""
    (tmp_path / "sentences.j2").write_text(template, encoding="utf-8")
    assert Wording("F", tmp_path).say(notes.Wet(code="DRY")) == said
