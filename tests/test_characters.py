"""Which characters are printed, which are refused whatever the fonts have, and what is said."""

from __future__ import annotations

import re
import sys
import unicodedata
from pathlib import Path

import pytest

from tagmaker.paper.press.characters import Fault, fault_of, font_problems, missing, own_fault, tidy
from tagmaker.paper.press.fonts import packaged, typeface
from tagmaker.telling.wording import packaged_templates
from tests.own_fonts import blocks, both, make_font

PAGE = (packaged_templates() / "help" / "names.md").read_text(encoding="utf-8")
ROWS = re.findall(r"^\| ([^|]*`(\S+)`[^|]*) \| ((?:printed|refused)[^|]*) \|$", PAGE, re.MULTILINE)
# Letters, and where they need it marks, of scripts that no line of single glyphs can show.
SHAPED = {
    "Thai": "ทิวลิป", "Lao": "ດອກໄມ້", "Devanagari": "फूल", "Bengali": "ফুল", "Gurmukhi": "ਫੁੱਲ", "Gujarati": "ફૂલ",
    "Oriya": "ଫୁଲ", "Tamil": "பூ", "Telugu": "పువ్వు", "Kannada": "ಹೂವು", "Malayalam": "പൂവ്", "Sinhala": "මල",
    "Khmer": "ផ្កា", "Myanmar": "ပန်း", "Tibetan": "མེ་ཏོག", "Mongolian": "ᠴᠡᠴᠡᠭ", "Javanese": "ꦏꦼꦩ꧀ꦧꦁ",
}  # fmt: skip
TURNED = {
    "Hebrew": "צבעוני", "Arabic": "زنبق", "Syriac": "ܘܪܕܐ", "Thaana": "މާ", "Nko": "ߝߋߙߋ",
}  # fmt: skip


def rule_of(text: str) -> str:
    """What the one problem of a text says that every character must."""
    (problem,) = font_problems([text], "x", "041")
    found = re.match(r"lot 041: every character must (.*?) \(got ", problem.what)
    assert found is not None
    return found[1]


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


def test_nothing_of_the_packaged_font_is_refused_but_what_has_no_place_of_its_own() -> None:
    """Accents that hang on other letters, invisible and private ones; all letters and signs are printed."""
    has = [chr(code) for code in packaged().regular.font.face.charToGlyph]
    refused = {unicodedata.category(character) for character in has if fault_of(character)}
    assert refused == {"Mn", "Me", "Cc", "Cf", "Co"}
    assert not [c for c in has if fault_of(c) and unicodedata.category(c) not in refused]


def test_the_table_of_the_help_has_the_asked_for_characters() -> None:
    """The rows are found, and none of the list is lost."""
    found = {sample for _, sample, _ in ROWS}
    assert found >= set("×'’®½Łőñß中עไ🌷")
    assert len(ROWS) == len(re.findall(r"^\|[^|]*\| (?:printed|refused)", PAGE, re.MULTILINE))


@pytest.mark.parametrize(("sample", "said"), [(sample, said) for _, sample, said in ROWS])
def test_the_table_of_the_help_is_true(tmp_path: Path, sample: str, said: str) -> None:
    """Each sample under the rules, without and with a font that has every character of it."""
    code = re.fullmatch(r"U\+([0-9A-F]{4})", sample)
    text = tidy(chr(int(code[1], 16)) if code else sample)
    without = missing(text)
    own = make_font(tmp_path / "Own.ttf", blocks(set(text)))
    with typeface([both(own)]):
        beside = missing(text)
        problems = font_problems([text], "x")
    if said == "printed":
        assert (without, beside) == ((), ())
        assert missing(tidy(unicodedata.normalize("NFD", sample))) == ()
    elif said.startswith("printed if one of your fonts has it"):
        assert (without, beside) == (tuple(text), ())
    else:
        assert beside
        assert set(beside) <= set(without)
        script = re.match(r"refused: (\w+) (?:is written from right to left|letters do not)", said)
        assert script is None or f" {script[1]}" in problems[0].what


@pytest.mark.parametrize(("script", "text"), SHAPED.items())
def test_scripts_that_need_shaping_are_refused_by_name(tmp_path: Path, script: str, text: str) -> None:
    """Even where a font of the settings has all their letters; their marks count as their script."""
    with typeface([both(make_font(tmp_path / "Own.ttf", blocks(set(text))))]):
        assert rule_of(text) == "be of a script whose letters stand side by side"
        letters = [character for character in text if unicodedata.category(character)[0] in "LM"]
        assert {fault_of(letter) for letter in letters} == {Fault.SHAPED}
        assert f'"{text[0]}" U+{ord(text[0]):04X} {script}' in font_problems([text], "x")[0].what


def test_parts_of_korean_syllables_are_one_letter_or_refused() -> None:
    """Typed in parts, a syllable is composed; parts that make none would be set one behind the other."""
    assert tidy("\u1112\u1161\u11ab") == "한"
    assert rule_of("\u1112\u1112") == "be of a script whose letters stand side by side"


@pytest.mark.parametrize(("script", "text"), TURNED.items())
def test_scripts_from_right_to_left_are_refused_by_name(tmp_path: Path, script: str, text: str) -> None:
    """Even where a font of the settings has all their letters; vowel points count as their script."""
    with typeface([both(make_font(tmp_path / "Own.ttf", blocks(set(text))))]):
        assert rule_of(text) == "be of a script written from left to right"
        assert {fault_of(character) for character in text} == {Fault.TURNED}
        assert f" {script}" in font_problems([text], "x")[0].what


def test_every_right_to_left_character_is_refused() -> None:
    """All that Unicode says to be written from right to left, of every script."""
    turned = [
        c for c in map(chr, range(sys.maxunicode + 1)) if unicodedata.bidirectional(c) in ("R", "AL", "AN")
    ]
    assert len(turned) > 2000
    assert {own_fault(character) for character in turned} == {Fault.TURNED}


def test_no_mark_is_printed_as_a_character() -> None:
    """Nothing that Unicode calls a mark stands by itself, whatever the fonts have."""
    marks = [c for c in map(chr, range(sys.maxunicode + 1)) if unicodedata.category(c).startswith("M")]
    assert len(marks) > 2000
    assert not [mark for mark in marks if own_fault(mark) is Fault.NONE]


@pytest.mark.parametrize(
    ("text", "rule", "named"),
    [
        ("花 tulip", "be in the font Roboto", '"花" U+82B1'),
        ("Tulip 🌷", "be in the font Roboto", '"🌷" U+1F337'),
        ("a\u200bb", "be a visible one", "U+200B"),
        ("a\x07b", "be a visible one", "U+0007"),
        ("a\ud83cb", "be a visible one", "U+D83C"),
        ("®\ufe0f", "be a visible one", "U+FE0F"),
        ("x\u0302", "have a place of its own on the line", "U+0302"),
        ("🇫🇷", "have a place of its own on the line", '"🇫" U+1F1EB'),
        ("tulip \u202egnorw", "be of a script written from left to right", "U+202E"),
        ("٣ tulips", "be of a script written from left to right", '"٣" U+0663 Arabic'),
        ("ทิวลิป", "be of a script whose letters stand side by side", '"ท" U+0E17 Thai'),
        ("\ue000", f"be one of Unicode {unicodedata.unidata_version}", "U+E000"),
    ],
)
def test_a_character_that_cannot_be_printed_is_named(text: str, rule: str, named: str) -> None:
    """With the lot and the place in the sheet; never a blank or a wrong order on paper."""
    (problem,) = font_problems([text], "lots.xlsx, row 7", "041")
    assert (problem.where, problem.lot, rule_of(text)) == ("lots.xlsx, row 7", "041", rule)
    assert named in problem.what


def test_the_fonts_of_the_settings_are_named_too(tmp_path: Path) -> None:
    """So that the grower sees which files were asked."""
    with typeface([both(make_font(tmp_path / "Some Han.ttf", blocks("中")))]):
        assert rule_of("中文") == "be in one of the fonts Roboto, Some Han.ttf"


def test_the_worst_of_several_faults_gives_the_rule() -> None:
    """A name with a missing picture and Hebrew letters is told that no font helps."""
    assert rule_of("🌷 צבעוני") == "be of a script written from left to right"
    assert "no font changes that" in font_problems(["🌷 צבעוני"], "x")[0].remedy
    assert "under fonts in tagmaker.toml" in font_problems(["🌷"], "x")[0].remedy


def test_white_space_of_any_kind_is_a_space() -> None:
    """A line break in a cell is no fault, and accents typed in two strokes become one letter."""
    assert tidy("Pale\tHarbour \n late\u00a0one e\u0301") == "Pale Harbour late one é"
    assert tidy("郁金香\u3000黑") == "郁金香 黑"
    assert font_problems(["Pale\tHarbour\nlate\u00a0one"], "x") == ()


def test_several_bad_characters_are_one_problem_a_text() -> None:
    """Five are named, the rest only told of."""
    problems = font_problems(["花花葉茎根種実", "ok", "花"], "x", "041")
    assert [problem.what.count("U+") for problem in problems] == [5, 1]
    assert ", …" in problems[0].what
