"""The typeface: what it can print and what it cannot, and that its measures are the font's own."""

import pytest
from reportlab.pdfbase.pdfmetrics import stringWidth

from tagmaker.paper.fonts import CAP_HEIGHT, face, font_problems, missing, tidy


@pytest.mark.parametrize(
    "text",
    [
        "Späte Königin, Éclat d’été, Čeština, Łąka, Ñandú, Île, Ærø, Straße",
        "Ανεμώνη",
        "Тюльпан Їжак",
        "Hoa mẫu đơn",
        "10 × 5 °C · 1–2 – “quoted” …",
    ],
)
def test_the_letters_of_growers_names_are_there(text: str) -> None:
    """Latin with accents, Greek, Cyrillic, Vietnamese and the signs that our templates use."""
    assert missing(text) == ()


@pytest.mark.parametrize(
    ("text", "named"),
    [
        ("花 tulip", '"花" U+82B1'),
        ("Tulip 🌷", '"🌷" U+1F337'),
        ("a\u200bb", "U+200B"),
        ("a\x07b", "U+0007"),
        ("a\ud83cb", "U+D83C"),
        ("ทิวลิป", '"ท" U+0E17'),
    ],
)
def test_a_character_without_a_glyph_is_a_problem_that_names_it(text: str, named: str) -> None:
    """With the lot and the place in the sheet; never a blank on paper."""
    (problem,) = font_problems([text], "lots.xlsx, row 7", "041")
    assert (problem.where, problem.lot) == ("lots.xlsx, row 7", "041")
    assert problem.what.startswith("lot 041: every character must be one that the font Roboto can print")
    assert f"(got {named}" in problem.what


@pytest.mark.parametrize("text", ["שלום", "زهرة", "tulip \u202egnorw"])
def test_right_to_left_writing_is_refused_as_such(text: str) -> None:
    """It would come out in the wrong order without a word."""
    (problem,) = font_problems([text], "x", "041")
    assert "must be of a script written from left to right" in problem.what


def test_white_space_of_any_kind_is_a_space() -> None:
    """A line break in a cell is no fault, and accents typed in two strokes become one letter."""
    assert tidy("Pale\tHarbour \n late\u00a0one e\u0301") == "Pale Harbour late one é"
    assert font_problems(["Pale\tHarbour\nlate\u00a0one"], "x") == ()


def test_several_bad_characters_are_one_problem_a_text() -> None:
    """Five are named, the rest only told of."""
    problems = font_problems(["花花葉茎根種実", "ok", "花"], "x", "041")
    assert [problem.what.count("U+") for problem in problems] == [5, 1]
    assert ", …" in problems[0].what


@pytest.mark.parametrize("weight", ["regular", "bold"])
def test_widths_are_those_that_the_page_is_set_with(weight: str) -> None:
    """Against reportlab's own string width, in em."""
    text = "SELL BY SAT 6 MAR · Späte Königin"
    assert face(weight).width(text) == pytest.approx(stringWidth(text, face(weight).name, 1.0), rel=1e-9)


@pytest.mark.parametrize("weight", ["regular", "bold"])
def test_capitals_are_as_high_as_the_font_says(weight: str) -> None:
    """The glyph H reaches the cap height of the file's OS/2 table and stands on the line."""
    up, down = face(weight).extent("H")
    assert (round(up, 3), down) == (CAP_HEIGHT, 0.0)


def test_accents_and_descenders_reach_further_than_capitals() -> None:
    """Ink heights are read glyph by glyph."""
    up, down = face("regular").extent("Ég")
    assert up > 0.85
    assert down > 0.2
    assert face("regular").extent(" ") == (0.0, 0.0)
