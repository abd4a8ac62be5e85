"""The typefaces: measured by the fonts' own tables, each letter set from the first font that has it."""

from __future__ import annotations

import io
import os
import sys
import threading
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import pypdfium2 as pdfium  # type: ignore[import-untyped]  # it comes without types
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pypdf import PdfReader
from reportlab.pdfbase.pdfmetrics import stringWidth

from tagmaker.errors import InputProblems
from tagmaker.farm import FontFiles
from tagmaker.paper.press.boxes import Box, Drawing, Placed, Sheet, Text
from tagmaker.paper.press.characters import missing
from tagmaker.paper.press.fitting import fit, text_height, wrap
from tagmaker.paper.press.fonts import CAP_HEIGHT, face, typeface, typeface_in_use
from tagmaker.paper.press.ink import print_sheets
from tests.own_fonts import BLANK, advances, blocks, both, make_font

LONG = "".join(chr(0x4E00 + n) for n in range(300))  # more than one subset of 256 holds


@pytest.fixture(scope="module")
def chinese(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A font that has some ideographs."""
    return make_font(tmp_path_factory.mktemp("fonts") / "Han.ttf", blocks("郁金香中") | blocks(LONG))


def page(text: Text) -> bytes:
    """A page with one text."""
    drawing = Drawing(100, 50, (text,), "041", "lots.xlsx, row 7")
    return print_sheets("x.pdf", "x", [Sheet(100, 50, (Placed(drawing, 0, 0),))]).pdf


def printed(words: str, fonts: Sequence[FontFiles] = ()) -> bytes:
    """A page with some words, set with these fonts."""
    with typeface(fonts):
        return page(fit(words, Box(5, 5, 90, 40), most=12, least=4, lines=9))


def read_back(pdf: bytes) -> str:
    """The text of the first page."""
    with pdfium.PdfDocument(pdf) as document:
        return str(document[0].get_textpage().get_text_bounded())


def embedded(pdf: bytes) -> dict[str, bool]:
    """Font name without its subset's letters -> whether its file is in the PDF."""
    found: dict[str, bool] = {}
    reader = PdfReader(io.BytesIO(pdf))
    for number in reader.xref[0]:
        entry: Any = reader.get_object(number) if number else None
        if isinstance(entry, dict) and entry.get("/Type") == "/Font":
            name = str(entry["/BaseFont"]).partition("+")[2]
            found[name] = "/FontFile2" in entry["/FontDescriptor"] and found.get(name, True)
    return found


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


@pytest.mark.parametrize("weight", ["regular", "bold"])
def test_a_letter_of_the_farms_font_is_measured_by_that_font(chinese: Path, weight: str) -> None:
    """Width and ink of "金" are the other font's, those of "Tulip" stay the packaged one's."""
    latin = face(weight).width("Tulip ")
    with typeface([both(chinese)]):
        mixed = face(weight).width("Tulip 金香")
        assert mixed == pytest.approx(latin + sum(advances(chinese)[letter] for letter in "金香"), abs=1e-9)
        assert face(weight).extent("金") == (0.88, 0.12)
        assert face(weight).extent("x金")[0] == 0.88


def test_the_first_font_that_has_a_letter_sets_it(tmp_path: Path) -> None:
    """Not a later one, and none of them where the packaged font has it."""
    first = make_font(tmp_path / "First.ttf", {"中": (700, 600, 0), "A": (100, 600, 0)})
    second = make_font(tmp_path / "Second.ttf", {"中": (900, 800, 0), "文": (800, 800, 0)})
    capital = face("regular").width("A")
    with typeface([both(first), both(second)]):
        assert [face("regular").width(letter) for letter in "中文A"] == pytest.approx([0.7, 0.8, capital])
    with typeface([both(second), both(first)]):
        assert [face("regular").width(letter) for letter in "中文A"] == pytest.approx([0.9, 0.8, capital])
    assert missing("中文A") == ("中", "文")


def test_a_bold_file_is_used_for_bold_only(tmp_path: Path) -> None:
    """And a letter that one of the two lacks cannot be printed: it may stand in either weight."""
    thin = make_font(tmp_path / "Thin.ttf", {"中": (700, 600, 0), "文": (700, 600, 0)})
    fat = make_font(tmp_path / "Fat.ttf", {"中": (900, 600, 0)})
    with typeface([FontFiles(thin, fat)]):
        assert (face("regular").width("中"), face("bold").width("中")) == pytest.approx((0.7, 0.9))
        assert missing("中文") == ("文",)


def test_a_letter_without_an_outline_is_not_there(tmp_path: Path) -> None:
    """As in fonts that hold coloured pictures: it would be a gap on paper."""
    empty = make_font(tmp_path / "Empty.ttf", {"🌷": BLANK, "中": (1000, 880, -120)})
    with typeface([both(empty)]):
        assert missing("中🌷") == ("🌷",)


def test_what_was_measured_with_other_fonts_is_forgotten(tmp_path: Path) -> None:
    """The settings change while the pages are served: the same path, another file, other widths."""
    path = make_font(tmp_path / "Own.ttf", {"中": (700, 600, 0)})
    box = Box(0, 0, 90, 20)
    with typeface([both(path)]):
        before = (face("regular").width("中x"), fit("中", box, most=12, least=12).lines[0].y)
    make_font(path, {"中": (900, 900, -300)})
    os.utime(path, ns=(1, 1))
    with typeface([both(path)]):
        after = (face("regular").width("中x"), fit("中", box, most=12, least=12).lines[0].y)
        assert text_height("中", 1, 10) == pytest.approx(1.2 * 10 / 72 * 25.4)
    assert after[0] - before[0] == pytest.approx(0.2)
    with typeface([both(path)]):
        assert face("regular").width("中x") == pytest.approx(after[0])
    assert missing("中") == ("中",)


def test_fonts_hold_for_their_own_thread(chinese: Path) -> None:
    """A paper that is drawn at the same time for another farm keeps its own."""
    seen: list[tuple[str, ...]] = []
    with typeface([both(chinese)]):
        other = threading.Thread(target=lambda: seen.append(missing("中")))
        other.start()
        other.join()
        assert missing("中") == ()
    assert seen == [("中",)]


def test_papers_drawn_at_once_come_out_as_alone(chinese: Path) -> None:
    """Eight threads that print with different fonts give the bytes that each gives by itself."""
    jobs = [("Tulip 金香", [both(chinese)]), ("Späte Königin", [])] * 4
    alone = [printed(words, fonts) for words, fonts in jobs]
    found: dict[int, bytes] = {}

    def draw(number: int) -> None:
        found[number] = printed(*jobs[number])

    threads = [threading.Thread(target=draw, args=(number,)) for number in range(len(jobs))]
    usual = sys.getswitchinterval()
    sys.setswitchinterval(1e-5)  # [s] in which threads take turns, so that they meet in the middle of things
    try:
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join()
    finally:
        sys.setswitchinterval(usual)
    assert [found[number] for number in range(len(jobs))] == alone


def test_the_fonts_outside_come_back_after_a_fault(chinese: Path) -> None:
    """Whatever happens inside, the fonts in use are those of before."""
    before = typeface_in_use()
    with pytest.raises(RuntimeError), typeface([both(chinese)]):
        raise RuntimeError
    assert typeface_in_use() is before


def test_text_of_two_fonts_reads_back(chinese: Path) -> None:
    """What a reader copies from the page is what was meant, in order."""
    assert read_back(printed("Tulip 郁金香 · 10", [both(chinese)])) == "Tulip 郁金香 · 10"


def test_more_letters_than_a_subset_holds(chinese: Path) -> None:
    """300 ideographs in lines of several subsets read back whole."""
    text = read_back(printed(LONG, [both(chinese)]))
    assert "".join(text.split()) == LONG


def test_only_fonts_that_are_used_are_embedded(chinese: Path) -> None:
    """The farm's font is in the file where a letter of it is, and all fonts of a file are embedded."""
    assert embedded(printed("Tulip 中", [both(chinese)])) == {"Roboto-Regular": True, "Han-1": True}
    assert embedded(printed("Tulip", [both(chinese)])) == {"Roboto-Regular": True}
    assert printed("Tulip", [both(chinese)]) == printed("Tulip")


def test_the_same_bytes_every_time(chinese: Path, tmp_path: Path) -> None:
    """Also from a copy of the file in another folder."""
    copy = tmp_path / chinese.name
    copy.write_bytes(chinese.read_bytes())
    assert len({printed("Tulip 中", [both(path)]) for path in (chinese, chinese, copy)}) == 1


def test_fonts_of_one_name_keep_their_own_glyphs(tmp_path: Path) -> None:
    """Two files that call themselves alike, in folders: both are embedded, and both letters are inked."""
    low = make_font(tmp_path / "a" / "Own.ttf", {"中": (1000, 200, 0)}, name="Same")
    high = make_font(tmp_path / "b" / "Own.ttf", {"文": (1000, 900, 700)}, name="Same")
    pdf = printed("中文", [both(low), both(high)])
    assert embedded(pdf) == {"Own-1": True, "Own-2": True}
    assert read_back(pdf) == "中文"
    size, dpi = 12, 720  # ten dots to a point
    with pdfium.PdfDocument(pdf) as document:
        dots = document[0].render(scale=dpi / 72, grayscale=True).to_numpy() < 128
    columns = dots.any(axis=0).nonzero()[0]
    halves = (columns[0] + columns[-1]) // 2
    tall = [int(half.any(axis=1).sum()) for half in (dots[:, :halves], dots[:, halves:])]
    assert tall == pytest.approx([0.2 * size * 10, 0.2 * size * 10], abs=2)
    tops = [int(half.any(axis=1).nonzero()[0][0]) for half in (dots[:, :halves], dots[:, halves:])]
    assert tops[0] - tops[1] == pytest.approx(0.7 * size * 10, abs=2)


def test_lines_of_tall_letters_do_not_touch(tmp_path: Path) -> None:
    """The pitch grows with the ink where a font reaches further than the packaged one."""
    tall = make_font(tmp_path / "Tall.ttf", {"高": (1000, 1200, -400)})
    with typeface([both(tall)]):
        text = fit("高" * 12, Box(0, 0, 30, 40), most=14, least=8, lines=4)
        assert len(text.lines) > 1
        pitch = text.lines[1].y - text.lines[0].y
        assert pitch >= 1.6 * text.size / 72 * 25.4 - 1e-9
        first, last = text.lines[0].y, text.lines[-1].y
        assert first - 1.2 * text.size / 72 * 25.4 >= -1e-6
        assert last + 0.4 * text.size / 72 * 25.4 <= 40 + 1e-6


def test_names_without_spaces_break_by_letters(chinese: Path) -> None:
    """A long Chinese name wraps inside its box, no letter lost."""
    box = Box(0, 0, 20, 30)
    with typeface([both(chinese)]):
        text = fit("郁金香" * 5, box, most=9, least=6, lines=3)
        widest = max(face("regular").width(line.text) for line in text.lines) * text.size / 72 * 25.4
    assert "".join(line.text for line in text.lines) == "郁金香" * 5
    assert len(text.lines) > 1
    assert widest <= box.width + 1e-6


def test_a_chinese_name_goes_on_where_the_line_has_room(chinese: Path) -> None:
    """Behind other words on the line, and never begins a line with a closing mark."""
    with typeface([both(chinese)]):
        wide = face("regular").width("12 bunches, 郁金") + 0.01
        assert wrap("12 bunches, 郁金香中郁金", wide) == ("12 bunches, 郁金", "香中郁金")
        assert wrap("12 bunches, chrysanthemum", wide) == ("12 bunches,", "chrysanthemum")
        assert wrap("郁金香中", 3.1) == ("郁金香", "中")
        assert wrap("郁金香)中", 3.1) == ("郁金", "香)中")


def test_a_chinese_name_is_cut_behind_a_letter(chinese: Path) -> None:
    """Not behind the last space, which would leave nothing of the name."""
    with typeface([both(chinese)]):
        text = fit("Tulip 郁金香中郁金香中", Box(0, 0, 25, 10), most=10, least=10)
    assert [line.text for line in text.lines] == ["Tulip 郁金香…"]


@settings(max_examples=150)
@given(st.data())
@pytest.mark.slow
def test_a_damaged_file_is_a_problem_or_prints(
    tmp_path_factory: pytest.TempPathFactory, data: st.DataObject
) -> None:
    """Any byte changed, or the end cut off: refused as a font of the settings, or no harm is done."""
    folder = tmp_path_factory.mktemp("damaged")
    whole = make_font(folder / "Own.ttf", blocks("中文")).read_bytes()
    place = data.draw(st.integers(0, len(whole) - 1))
    cut = data.draw(st.booleans())
    damaged = whole[:place] if cut else whole[:place] + bytes([whole[place] ^ 0xFF]) + whole[place + 1 :]
    (folder / "Own.ttf").write_bytes(damaged)
    refusal = ""
    try:
        pdf = printed("中", [both(folder / "Own.ttf")])
    except InputProblems as error:
        refusal = str(error)
    if refusal:
        assert refusal.startswith(("tagmaker.toml: fonts must name", "lots.xlsx, row 7: lot 041: every"))
    else:
        assert read_back(pdf) == "中"
