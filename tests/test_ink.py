"""The engine: what stands in the PDF, once, whole, and the same bytes every time."""

import re
from dataclasses import replace
from io import BytesIO
from typing import Any

import pypdfium2 as pdfium  # type: ignore[import-untyped]  # it comes without types
import pytest
from PIL import ImageChops, ImageFilter
from pypdf import PdfReader

from tagmaker.errors import InputProblems, OutputProblem
from tagmaker.paper.press.boxes import MM, Box, Code, Drawing, Frame, Placed, Rule, Sheet, Trace
from tagmaker.paper.press.fitting import fit
from tagmaker.paper.press.ink import Inked, print_sheets
from tagmaker.paper.press.qr import sized_symbol, symbol
from tagmaker.paper.proof.proving import prove

TEXT = "041 SELL 2027-03-06 TO WATER 2027-03-05 18:00"


def drawing(name: str = "Pale Harbour (late) \\ one") -> Drawing:
    """A tag with one element of each kind."""
    sized = sized_symbol(TEXT, 22.0, "x")
    return Drawing(
        66.7,
        25.4,
        (
            fit(name, Box(2, 2, 38, 5), most=12, least=7, lines=2),
            fit("FRI 5 MAR", Box(2, 10, 38, 6), most=20, least=10, weight="bold"),
            Frame(Box(2, 17, 10, 4)),
            Frame(Box(14, 17, 4, 4), filled=True),
            Rule(2, 8, 38, 8, dash=(2, 1)),
            Trace(((2, 23), (10, 22), (20, 24))),
            Code(Box(42, 1.5, 22, 22), sized),
        ),
        lot="041",
        where="lots.xlsx, row 7",
    )


def printed(*drawings: Drawing, pages: int = 1) -> Inked:
    """Pages with the drawings under one another."""
    placed = tuple(Placed(one, 5, 12 + 26 * n) for n, one in enumerate(drawings))
    return print_sheets("tags.pdf", "Wrap labels", [Sheet(215.9, 279.4, placed)] * pages)


def reader(inked: Inked) -> Any:
    """The PDF's structure."""
    return PdfReader(BytesIO(inked.pdf))


def test_the_same_sheets_give_the_same_bytes() -> None:
    """No date, no random name, no order of a dictionary."""
    assert printed(drawing(), pages=2).pdf == printed(drawing(), pages=2).pdf


def test_title_language_version_and_no_scaling_are_in_the_file() -> None:
    """PDF 1.7, and a printer is asked not to shrink the page."""
    inked = printed(drawing())
    catalog = reader(inked).trailer["/Root"]
    assert inked.pdf[:8] == b"%PDF-1.7"
    assert reader(inked).metadata.title == "Wrap labels"
    assert (catalog["/Lang"], catalog["/ViewerPreferences"]["/PrintScaling"]) == ("en", "/None")


def test_the_page_has_the_size_of_its_sheet() -> None:
    """US Letter is 612 by 792 points."""
    box = reader(printed(drawing())).pages[0].mediabox
    assert (float(box.width), float(box.height)) == (612.0, 792.0)


def test_a_drawing_is_written_once_and_placed_as_often_as_asked() -> None:
    """Three placements on each of two pages, one form, one use of each page's resources."""
    one = drawing()
    inked = printed(one, one, one, pages=2)
    pages = reader(inked).pages
    forms = [page["/Resources"]["/XObject"] for page in pages]
    assert [list(form) for form in forms] == [["/D0"], ["/D0"]]
    assert forms[0].raw_get("/D0") == forms[1].raw_get("/D0")
    assert [page.get_contents().get_data().count(b"/D0 Do") for page in pages] == [3, 3]


def test_every_font_is_embedded_and_says_what_its_letters_are() -> None:
    """No font of the viewer's choice: each has its program and a table back to Unicode."""
    form = reader(printed(drawing())).pages[0]["/Resources"]["/XObject"]["/D0"]
    fonts = [font.get_object() for font in form["/Resources"]["/Font"].values()]
    assert sorted(str(font["/BaseFont"]).split("+")[1] for font in fonts) == ["Roboto-Bold", "Roboto-Regular"]
    assert ["/FontFile2" in font["/FontDescriptor"] and "/ToUnicode" in font for font in fonts] == [
        True,
        True,
    ]


def test_words_read_back_as_they_were_written() -> None:
    """Accents, brackets and backslashes too."""
    inked = printed(drawing("Späte Königin (42) \\ Тюльпан …"))
    words = " ".join(pdfium.PdfDocument(inked.pdf)[0].get_textpage().get_text_bounded().split())
    assert words == "Späte Königin (42) \\ Тюльпан … FRI 5 MAR"


def test_more_letters_than_one_font_subset_holds_are_all_printed() -> None:
    """Past 256 characters the font goes on in a second subset."""
    letters = "".join(chr(code) for code in (*range(0xC0, 0x17F), *range(0x400, 0x450)))
    text = fit(letters, Box(1, 1, 200, 50), most=8, least=8, lines=9)
    inked = print_sheets("x.pdf", "x", [Sheet(210, 60, (Placed(Drawing(210, 60, (text,)), 0, 0),))])
    words = pdfium.PdfDocument(inked.pdf)[0].get_textpage().get_text_bounded()
    assert sorted(set(words) - {"\r", "\n"}) == sorted(letters)


def test_a_code_is_one_path_that_has_the_symbol_s_modules() -> None:
    """The matrix, read back from the ink of the only path with so many rectangles."""
    form = reader(printed(drawing())).pages[0]["/Resources"]["/XObject"]["/D0"]
    path = re.search(rb"cm\n([\d\sre]+)\nf Q", form.get_data())
    assert path is not None
    dark = {
        (int(x) + step, int(y))
        for x, y, width, _ in re.findall(rb"(\d+) (\d+) (\d+) (\d+) re", path[1])
        for step in range(int(width))
    }
    rows = symbol(TEXT, "Q").rows
    assert dark == {(x, y) for y, row in enumerate(rows) for x, module in enumerate(row) if module == "1"}


def test_a_code_s_modules_are_as_large_as_planned() -> None:
    """The scale in the stream is the module in points: seven dots at 300 an inch."""
    form = reader(printed(drawing())).pages[0]["/Resources"]["/XObject"]["/D0"]
    scale = re.search(rb"q ([\d.]+) 0 0 -([\d.]+) ", form.get_data())
    assert scale is not None
    assert [float(part) for part in scale.groups()] == [pytest.approx(7 / 300 * 72, abs=1e-4)] * 2


def test_pages_name_the_codes_that_they_must_show() -> None:
    """Text, lot and the box of the dark part, on the page."""
    (code,) = printed(drawing()).pages[0]
    side = 29 * 7 * 25.4 / 300
    assert (code.text, code.lot) == (TEXT, "041")
    assert code.box == pytest.approx((5 + 42 + 11 - side / 2, 12 + 1.5 + 11 - side / 2, side, side))


def test_a_name_without_a_glyph_is_a_problem_and_no_pdf() -> None:
    """All of them at once, each with its lot and its place."""
    with pytest.raises(InputProblems) as error:
        printed(drawing("花"), drawing("🌷"), drawing("fine"))
    assert [(problem.lot, problem.where) for problem in error.value.problems] == [
        ("041", "lots.xlsx, row 7")
    ] * 2


def test_only_black_is_used() -> None:
    """No stream sets a colour: black is what a PDF starts with."""
    page = reader(printed(drawing())).pages[0]
    streams = [page.get_contents().get_data(), page["/Resources"]["/XObject"]["/D0"].get_data()]
    assert [re.findall(rb" (?:rg|RG|g|G|k|K|sc|SC|scn|gs)\b", stream) for stream in streams] == [[], []]


def test_frames_and_rules_lie_where_their_boxes_say() -> None:
    """A filled frame is black ink in its box, measured on the rendered page."""
    dpi = 254  # ten dots a millimetre
    page = pdfium.PdfDocument(printed(drawing()).pdf)[0].render(scale=dpi / 72, grayscale=True).to_pil()
    x, y = 5 + 14, 12 + 17
    assert [page.getpixel((round(10 * (x + dx)), round(10 * (y + 2)))) for dx in (-0.3, 0.3, 3.7, 4.3)] == [
        255,
        0,
        0,
        255,
    ]


def test_a_drawing_that_is_turned_lies_in_the_same_room_upside_down() -> None:
    """The same ink as the upright drawing's, turned by half a circle: no dot is further off than the next."""
    one = Drawing(66.0, 26.0, drawing().elements, "041")
    pages = []
    for turn in (0, 180):
        inked = print_sheets("x.pdf", "x", [Sheet(120, 80, (Placed(one, 50, 10, turn),))])
        page = pdfium.PdfDocument(inked.pdf)[0].render(scale=254 / 72, grayscale=True).to_pil()
        pages.append(page.crop((500, 100, 1160, 360)))
        left, top, right, bottom = page.point(lambda grey: 255 if grey < 128 else 0).getbbox()
        assert 500 <= left < right <= 1160
        assert 100 <= top < bottom <= 360
    upright, turned = pages[0], pages[1].rotate(180)
    for ink, other in ((upright, turned), (turned, upright)):
        near = other.filter(ImageFilter.MinFilter(3))  # dark where a dot or one of its neighbours is
        unmatched = ImageChops.subtract(near, ink).histogram()
        assert sum(unmatched[160:]) <= 0.001 * 660 * 260  # half-dark edges; laid the wrong way up it is 10 %


def test_a_turned_drawings_code_is_expected_where_it_lies() -> None:
    """The box of the code, mirrored in the drawing's middle; the proof finds it there, and only there."""
    one = drawing()
    inked = print_sheets("x.pdf", "x", [Sheet(120, 80, (Placed(one, 50, 10, 180),))])
    (code,) = inked.pages[0]
    side = 29 * 7 * 25.4 / 300
    left, top = 50 + 66.7 - (42 + 11) - side / 2, 10 + 25.4 - (1.5 + 11) - side / 2
    assert code.box == pytest.approx((left, top, side, side))
    prove(inked)
    upright = print_sheets("x.pdf", "x", [Sheet(120, 80, (Placed(one, 50, 10),))])
    with pytest.raises(OutputProblem, match="does not read back"):
        prove(replace(inked, pdf=upright.pdf))


def test_lengths_are_in_millimetres() -> None:
    """72 points are 25.4 mm."""
    assert pytest.approx(72 / 25.4) == MM
