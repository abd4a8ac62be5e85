"""Font files that the settings name: which are taken, and what is said about the others."""

from __future__ import annotations

import struct
from pathlib import Path

import pytest
from fontTools.fontBuilder import FontBuilder  # type: ignore[import-untyped]  # it comes without types
from fontTools.pens.t2CharStringPen import T2CharStringPen  # type: ignore[import-untyped]  # the same
from fontTools.ttLib import TTCollection, TTFont  # type: ignore[import-untyped]  # the same
from hypothesis import given, settings
from hypothesis import strategies as st

from tagmaker.errors import InputProblems
from tagmaker.farm import FontFiles
from tagmaker.intake.settings.farm import read_settings
from tagmaker.paper.press.characters import missing
from tagmaker.paper.press.fonts import typeface
from tests.own_fonts import blocks, make_font


def fonts_of(folder: Path, value: str) -> tuple[FontFiles, ...]:
    """What `fonts = VALUE` in a folder's settings becomes."""
    (folder / "tagmaker.toml").write_text(f"fonts = {value}\n", encoding="utf-8")
    return read_settings(folder / "tagmaker.toml").fonts


def problems_of(folder: Path, value: str) -> list[str]:
    """What is said about it."""
    with pytest.raises(InputProblems) as caught:
        fonts_of(folder, value)
    return [str(problem) for problem in caught.value.problems]


def postscript_font(path: Path) -> None:
    """A font whose outlines are PostScript curves."""
    builder = FontBuilder(1000, isTTF=False)
    builder.setupGlyphOrder([".notdef"])
    builder.setupCharacterMap({})
    builder.setupCFF("Curves", {}, {".notdef": T2CharStringPen(500, None).getCharString()}, {})
    builder.setupHorizontalMetrics({".notdef": (500, 0)})
    builder.setupHorizontalHeader()
    builder.setupNameTable({"psName": "Curves"})
    builder.setupOS2()
    builder.setupPost()
    builder.save(path)


def without_tables(path: Path, *tags: str) -> None:
    """The same font, less some tables."""
    with TTFont(path) as font:
        for tag in tags:
            del font[tag]
        font.save(path)


def collection(path: Path, *fonts: Path) -> None:
    """Several fonts in one file."""
    gathered = TTCollection()
    gathered.fonts = [TTFont(font) for font in fonts]
    gathered.save(path)


def test_files_are_counted_from_the_settings_folder(tmp_path: Path) -> None:
    """One file for both weights, or one for each; in the order of the settings; an absolute path as it is."""
    one = make_font(tmp_path / "fonts" / "One.ttf", blocks("中"))
    two = make_font(tmp_path / "fonts" / "Two.ttf", blocks("文"))
    absolute = two.as_posix()
    pair = '{regular = "fonts/Two.ttf", bold = "fonts/One.ttf"}'
    found = fonts_of(tmp_path, f'["fonts/One.ttf", {pair}, {{regular = "{absolute}"}}]')
    assert found == (FontFiles(one, one), FontFiles(two, one), FontFiles(two, two))
    assert fonts_of(tmp_path, "[]") == ()


def test_the_first_font_of_a_collection_is_used(tmp_path: Path) -> None:
    """Its letters are there, those of the second are not."""
    one, two = make_font(tmp_path / "1.ttf", blocks("中")), make_font(tmp_path / "2.ttf", blocks("文"))
    collection(tmp_path / "Both.ttc", one, two)
    with typeface(fonts_of(tmp_path, '["Both.ttc"]')):
        assert missing("中文") == ("文",)


@pytest.mark.parametrize(
    ("value", "said"),
    [
        ('"One.ttf"', 'be a list of font files (got "One.ttf"). Write it like ["fonts/Some.ttf"].'),
        ("[3]", 'be a list of font files (got "3" in it). Write it like "fonts/Some-Regular.ttf"'),
        ('[""]', 'be a list of font files (got "" in it). Write'),
        ('[{bold = "One.ttf"}]', 'name a regular and a bold font in a table (got the keys "bold"). Write'),
        (
            '[{regular = "One.ttf", light = "One.ttf"}]',
            'name a regular and a bold font in a table (got the keys "regular, light"). Write',
        ),
        (
            '["fonts/None.ttf"]',
            'name files that can be read (got "fonts/None.ttf": No such file or directory). Check the name',
        ),
        ('["."]', 'name files that can be read (got ".": Is a directory). Check'),
        ('["a\\u0000b"]', "be a list of font files (got"),
    ],
)
def test_what_is_no_list_of_files(tmp_path: Path, value: str, said: str) -> None:
    """The key, what it must be, what was found, and how to write it."""
    make_font(tmp_path / "One.ttf", blocks("中"))
    (problem,) = problems_of(tmp_path, value)
    assert problem.startswith(f"tagmaker.toml: fonts must {said}")


def test_every_file_that_cannot_be_printed_with_is_named(tmp_path: Path) -> None:
    """All at once, each with its reason."""
    whole = make_font(tmp_path / "Whole.ttf", blocks("中")).read_bytes()
    postscript_font(tmp_path / "Curves.otf")
    (tmp_path / "Web.woff2").write_bytes(b"wOF2" + whole[4:])
    (tmp_path / "Page.ttf").write_bytes(b"<html>no font</html>")
    (tmp_path / "Empty.ttf").write_bytes(b"")
    (tmp_path / "Short.ttf").write_bytes(whole[:-40])
    make_font(tmp_path / "Closed.ttf", blocks("中"), fs_type=0x0002)
    make_font(tmp_path / "Complete.ttf", blocks("中"), fs_type=0x0104)
    make_font(tmp_path / "Dots.ttf", blocks("中"), fs_type=0x0200)
    without_tables(make_font(tmp_path / "Picture.ttf", blocks("中")), "glyf", "loca")
    without_tables(make_font(tmp_path / "Half.ttf", blocks("中")), "post", "hmtx")
    listed = ", ".join(
        f'"{name}"'
        for name in (
            *("Curves.otf", "Web.woff2", "Page.ttf", "Empty.ttf", "Short.ttf"),
            *("Closed.ttf", "Complete.ttf", "Dots.ttf", "Picture.ttf", "Half.ttf"),
        )
    )
    begin = "tagmaker.toml: fonts must name TrueType fonts that can be printed with (got "
    truetype, other = "Take the TrueType version of the font (.ttf).", "Take another font."
    assert problems_of(tmp_path, f"[{listed}]") == [
        f'{begin}"Curves.otf": its outlines are PostScript curves, CFF). {truetype}',
        f'{begin}"Web.woff2": it is packed for web pages, WOFF). {truetype}',
        f'{begin}"Page.ttf": it is no font). {truetype}',
        f'{begin}"Empty.ttf": it is no font). {truetype}',
        f'{begin}"Short.ttf": it is cut short). Get the file again.',
        f'{begin}"Closed.ttf": it may not be embedded in a PDF, says its fsType 0x0002). {other}',
        f'{begin}"Complete.ttf": it may not be embedded in a PDF, says its fsType 0x0104). {other}',
        f'{begin}"Dots.ttf": it may not be embedded in a PDF, says its fsType 0x0200). {other}',
        f'{begin}"Picture.ttf": it has no outlines, but pictures in dots or colour). {truetype}',
        f'{begin}"Half.ttf": it lacks the tables hmtx, post). Get the file again, or take another font.',
    ]


@pytest.mark.parametrize("fs_type", [0x0000, 0x0004, 0x0008, 0x000E])
def test_fonts_that_may_be_embedded_are_taken(tmp_path: Path, fs_type: int) -> None:
    """Installable, for preview and print, editable; and where several rights are given, the widest counts."""
    make_font(tmp_path / "Own.ttf", blocks("中"), fs_type=fs_type)
    with typeface(fonts_of(tmp_path, '["Own.ttf"]')):
        assert missing("中") == ()


@settings(max_examples=200)
@given(
    st.binary(max_size=200), st.sampled_from([b"", b"\0\1\0\0", b"true", b"ttcf", b"OTTO", b"\0\1\0\0\0\3"])
)
@pytest.mark.slow
def test_no_file_ends_in_a_traceback(
    tmp_path_factory: pytest.TempPathFactory, rest: bytes, start: bytes
) -> None:
    """Whatever bytes stand in it, also behind the first four of a font: it is refused, in words."""
    folder = tmp_path_factory.mktemp("any")
    (folder / "Own.ttf").write_bytes(start + rest)
    (problem,) = problems_of(folder, '["Own.ttf"]')
    assert problem.startswith(
        'tagmaker.toml: fonts must name TrueType fonts that can be printed with (got "Own.ttf"'
    )


def test_a_file_that_only_looks_whole_is_refused_where_it_is_printed(tmp_path: Path) -> None:
    """A changed byte in a table is found by the table's checksum."""
    path = make_font(tmp_path / "Own.ttf", blocks("中"))
    data = bytearray(path.read_bytes())
    place = data.index(b"cmap")
    (offset,) = struct.unpack(">L", data[place + 8 : place + 12])
    data[offset + 12] ^= 0xFF
    path.write_bytes(data)
    fonts = fonts_of(tmp_path, '["Own.ttf"]')
    with pytest.raises(InputProblems) as caught, typeface(fonts):
        pass
    (problem,) = caught.value.problems
    assert str(problem).startswith(
        "tagmaker.toml: fonts must name TrueType fonts that are whole (got Own.ttf: "
    )
    assert problem.remedy == "Get the file again, or take it out."


def test_a_file_that_goes_away_after_the_settings_were_read(tmp_path: Path) -> None:
    """Refused in words too."""
    path = make_font(tmp_path / "Own.ttf", blocks("中"))
    fonts = fonts_of(tmp_path, '["Own.ttf"]')
    path.unlink()
    with pytest.raises(InputProblems, match="fonts must name TrueType fonts that are whole"), typeface(fonts):
        pass
