"""Settings about printing: own label stocks and printers."""

from __future__ import annotations

from pathlib import Path

import pytest

from tagmaker.errors import InputProblems
from tagmaker.farm import Farm, Printer, StockFigures
from tagmaker.intake.settings.farm import read_settings
from tagmaker.intake.settings.print import PRINTER_KEYS, STOCK_KEYS

SHEET = """
[label_stocks."jar lids"]
page = "a4"
columns = 3
rows = 7
width = "63.5 mm"
height = "1.5 in"
left = 7.25
top = "1.515 cm"
pitch_x = 66
"""


def settings(folder: Path, text: str) -> Farm:
    """The farm of some settings."""
    path = folder / "tagmaker.toml"
    path.write_text(text, encoding="utf-8")
    return read_settings(path)


def problems(folder: Path, text: str) -> list[str]:
    """Everything that is wrong with some settings."""
    with pytest.raises(InputProblems) as error:
        settings(folder, text)
    return [f"{problem.where}: {problem.what}" for problem in error.value.problems]


def test_a_sheet_in_mm_cm_and_inches(tmp_path: Path) -> None:
    """A pitch that is left out is the label's own size: labels that touch."""
    found = settings(tmp_path, SHEET).label_stocks["jar lids"]
    lengths = (found.width, found.height, found.left, found.top, found.pitch_x, found.pitch_y)
    assert lengths == pytest.approx((63.5, 38.1, 7.25, 15.15, 66.0, 38.1))
    assert found == StockFigures(
        name="jar lids",
        page_width=210.0,
        page_height=297.0,
        columns=3,
        rows=7,
        width=found.width,
        height=found.height,
        left=found.left,
        top=found.top,
        pitch_x=found.pitch_x,
        pitch_y=found.pitch_y,
    )


def test_a_roll_needs_only_its_label(tmp_path: Path) -> None:
    """The page is the label."""
    farm = settings(tmp_path, '[label_stocks.reel]\nroll = true\nwidth = "2 in"\nheight = 30\n')
    reel = farm.label_stocks["reel"]
    assert (reel.page_width, reel.page_height, reel.is_roll, reel.columns) == (50.8, 30.0, True, 1)


def test_what_a_sheet_lacks_is_named_at_once(tmp_path: Path) -> None:
    """Every figure that cannot be guessed."""
    found = problems(tmp_path, "[label_stocks.half]\nwidth = 50\nheight = 30\n")
    assert [line.split(": ")[1].split(" ")[0] for line in found] == ["page", "columns", "rows", "left", "top"]


@pytest.mark.parametrize(
    ("line", "must"),
    [
        ('width = "two inches"', "width must be a length"),
        ("width = 2000", "width must be from 5 to 450 mm"),
        ('page = "a5"', "page must be a size of paper"),
        ("columns = 2.5", "columns must be a whole number from 1 to 50"),
        ("colums = 2", "colums must be a known key"),
        ("plain = 1", "plain must be true or false"),
    ],
)
def test_a_figure_that_cannot_be_is_refused(tmp_path: Path, line: str, must: str) -> None:
    """With its key."""
    key = line.split(" ")[0]
    kept = [known for known in SHEET.splitlines() if not known.startswith(f"{key} =")]
    (found,) = problems(tmp_path, "\n".join([*kept, line]) + "\n")
    assert found.startswith(f'tagmaker.toml, [label_stocks."jar lids"]: {must}')


def test_a_printer_and_which_one_to_print_for(tmp_path: Path) -> None:
    """All that a test page shows, and what the printer is."""
    farm = settings(
        tmp_path,
        'printer = "shed laser"\n[printers."shed laser"]\noffset_x = "0.5 cm"\n'
        'queue = "SHED_LASER"\n'
        "offset_y = -0.5\nscale_x = 1.004\nturn = 180\ndpi = 600\nunprintable = [4, 5, 4, 7]\n",
    )
    assert farm.chosen_printer == Printer(
        name="shed laser",
        queue="SHED_LASER",
        offset_x=5.0,
        offset_y=-0.5,
        scale_x=1.004,
        turn=180,
        dpi=600,
        unprintable=(4.0, 5.0, 4.0, 7.0),
    )
    assert settings(tmp_path, "").chosen_printer == Printer()


@pytest.mark.parametrize(
    ("text", "must"),
    [
        ('printer = "inkjet"', "printer must be a printer of these settings"),
        ("[printers.p]\nturn = 45", "turn must be 0, 90, 180 or 270"),
        ("[printers.p]\nscale_x = 1.5", "scale_x must be a number from 0.9 to 1.1"),
        ("[printers.p]\noffset_x = 40", "offset_x must be from -30 to 30 mm"),
        (
            '[printers.p]\nqueue = "two words"',
            'queue must be the name of a queue: no blanks, no "-" in front',
        ),
        ('[printers.p]\nqueue = "-o"', 'queue must be the name of a queue: no blanks, no "-" in front'),
        ("[printers.p]\nqueue = 7", 'queue must be the name of a queue: no blanks, no "-" in front'),
        ("[printers.p]\ndpi = 72", "dpi must be a whole number from 100 to 2400"),
        ("[printers.p]\nunprintable = [1, 2]", "unprintable must be one length, or four"),
    ],
)
def test_a_printer_that_cannot_be_is_refused(tmp_path: Path, text: str, must: str) -> None:
    """One problem each, with where it stands."""
    (found,) = problems(tmp_path, text + "\n")
    assert must in found


KEYS = [f"[label_stocks.x]\n{key}" for key in STOCK_KEYS] + [
    f"[printers.x]\n{key}"
    for key in PRINTER_KEYS
    if key != "queue"  # any word names one
]
SILLY = [
    "nan",
    "inf",
    "-inf",
    "1e308",
    "-100",
    "90.5",
    "9" * 400,
    "9" * 5000,
    "0x" + "f" * 6000,
    '""',
    '"x"',
    '"1e2 mm"',
    '"-9 in"',
    "[[1, 2], [3, 4]]",
    "[" * 3000 + "]" * 3000,
    "1979-05-27",
    "{a = 1}",
]


@pytest.mark.parametrize("key", KEYS)
def test_no_silly_figure_ends_in_a_traceback(tmp_path: Path, key: str) -> None:
    """Each of them is refused, and the message stays readable."""
    for value in SILLY:
        found = problems(tmp_path, f"{key} = {value}\n")
        assert found
        assert max(map(len, found)) < 300
