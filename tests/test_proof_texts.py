"""The proof of texts, sizes and counts: no word out of its box, no label too few, no page too small."""

import threading
from collections.abc import Iterator, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

import pypdfium2 as pdfium  # type: ignore[import-untyped]  # it comes without types
import pytest
from click.testing import CliRunner

from tagmaker.cli import main
from tagmaker.errors import OutputProblem
from tagmaker.farm import Printer
from tagmaker.paper.press.boxes import MM, Box, Drawing, Element, Line, Placed, Rule, Sheet, Text
from tagmaker.paper.press.fitting import fit
from tagmaker.paper.press.ink import Inked, print_sheets
from tagmaker.paper.proof.proving import prove
from tagmaker.paper.proof.report import Edges, edges_of, report_lines
from tagmaker.paper.proof.texts import OVERHANG, SLACK, TextProof
from tagmaker.paper.stock.feeding import feed
from tagmaker.paper.stock.label_sheets import label_sheets
from tests.paper_samples import sample_dates, sample_lot
from tests.wrap_samples import labels

BOX = Box(2, 2, 30, 5)


def tag(*elements: Element, lot: str = "041") -> Drawing:
    """A tag of 40 × 12 mm."""
    return Drawing(40, 12, elements, lot)


def sheet(*tags: Drawing, width: float = 210.0) -> Sheet:
    """Tags under one another on a page of A4 height."""
    return Sheet(width, 297, tuple(Placed(one, 20, 20 + 15 * n) for n, one in enumerate(tags)))


def printed(*sheets: Sheet) -> Inked:
    """The PDF of some sheets."""
    return print_sheets("tags.pdf", "Tags", sheets)


def fault(inked: Inked) -> str:
    """What the proof says."""
    with pytest.raises(OutputProblem) as error:
        prove(inked)
    return str(error.value)


def set_at(x: float, y: float, words: str = "PALE HARBOUR", size: float = 10.0) -> Text:
    """Words that begin at a place [mm], whatever their box."""
    return Text(BOX, (Line(words, x, y),), size, "bold")


# --- texts


@pytest.mark.parametrize(
    "words", ["Pale Harbour", "jolly ĵumping Jove", "Åse Ÿ q", "…", "-", "Κυανό Жар-птица"]
)
def test_fitted_words_are_proven(words: str) -> None:
    """What `fit` makes lies in its box, letters that reach behind their own start included."""
    for weight, size in (("bold", 40.0), ("regular", 6.0)):
        box = Box(2, 2, 36, 9)
        text = fit(words, box, most=size, least=4, lines=2, weight="bold" if weight == "bold" else "regular")
        assert prove(printed(sheet(tag(text)))).texts == 1


@pytest.mark.parametrize(
    ("x", "y"),
    [
        (BOX.right - 10, 5.5),  # runs out to the right
        (BOX.x - 1, 5.5),  # begins too far left
        (BOX.x, BOX.y + 1.0),  # sticks out above
        (BOX.x, BOX.bottom + 0.2),  # sinks below
    ],
)
def test_words_that_leave_their_box_fail_with_page_lot_and_words(x: float, y: float) -> None:
    """On whichever side it is."""
    inked = printed(sheet(tag(set_at(2.5, 5.5))), sheet(tag(set_at(x, y), lot="042")))
    assert fault(inked) == (
        'tags.pdf, page 2: the text "PALE HARBOUR" of lot 042 must lie in its box (its letters leave it). '
        "Nothing was written."
    )


def test_a_fault_leaves_no_thread_behind() -> None:
    """One that goes on until memory is tidied up may wait for ever for another that begins just then."""
    inked = printed(*(sheet(tag(set_at(BOX.right - 10, 5.5), lot=lot)) for lot in ("041", "042", "043")))
    with pytest.raises(OutputProblem, match="page 1") as held:
        prove(inked)
    assert [thread.name for thread in threading.enumerate() if "ThreadPool" in thread.name] == []
    assert held.tb is not None


def test_what_is_allowed_beyond_a_box() -> None:
    """Upwards a twentieth of a millimetre for rounding, sideways also a twentieth of the size for a "j"."""
    capitals = 0.711 * 10 / MM  # [mm] height of a flat capital at 10 pt
    lowest = BOX.y + capitals
    prove(printed(sheet(tag(set_at(3, lowest - SLACK + 0.02, "HIT")))))
    assert "must lie in its box" in fault(printed(sheet(tag(set_at(3, lowest - SLACK - 0.03, "HIT")))))
    sideways = SLACK + OVERHANG * 10 / MM
    stem = 0.06 * 10 / MM  # [mm] white before the stem of an "H", less than this
    prove(printed(sheet(tag(set_at(BOX.x - sideways, 5.5, "HIT")))))
    assert "must lie in its box" in fault(
        printed(sheet(tag(set_at(BOX.x - sideways - stem - 0.05, 5.5, "HIT"))))
    )


def test_words_may_not_run_from_one_box_into_the_next() -> None:
    """Each letter lies in one of two boxes that touch, but the words belong to the first."""
    second = Text(Box(BOX.right, 2, 6, 5), (Line("10", BOX.right + 3, 5.5),), 8, "bold")
    assert "must lie in its box" in fault(printed(sheet(tag(set_at(BOX.right - 6, 5.5, "MINI"), second))))


def test_a_text_that_is_not_there_fails() -> None:
    """The ink of a tag without its name, with the plan of one that has it."""
    line = Rule(1, 11, 39, 11)
    ink, plan = printed(sheet(tag(line))), printed(sheet(tag(line, set_at(2.5, 5.5, "DRY"))))
    assert fault(replace(plan, pdf=ink.pdf)) == (
        'tags.pdf, page 1: the text "DRY" of lot 041 must be there (it does not read back). '
        "Nothing was written."
    )


def test_a_box_inside_another_s_hides_no_text() -> None:
    """Words in both: the outer box holds the inner one's letters too, and each text is found all the same."""
    outer = Text(Box(2, 2, 36, 9), (Line("HAY", 3, 5.0), Line("RYE", 3, 10.0)), 8, "bold")
    inner = Text(Box(20, 5, 10, 5), (Line("OATS", 21, 8.0),), 8, "bold")
    proof = prove(printed(sheet(tag(outer, inner))))
    assert proof.texts == 2


def test_a_drawing_is_read_once_and_every_new_one_is_read() -> None:
    """A fault on the last tag of the last page is found, behind any number of sound ones."""
    sound, bad = tag(set_at(2.5, 5.5)), tag(set_at(8.5, 5.5), lot="043")
    sheets = [sheet(*[sound] * 15), sheet(*[sound] * 14, tag(set_at(2.5, 5.5), lot="042"))]
    proof = prove(printed(*sheets))
    assert (proof.texts, proof.drawings, proof.labels) == (2, 2, 30)
    assert "page 3: the text" in fault(printed(*sheets, sheet(*[sound] * 14, bad)))


def test_taking_repeats_off_leaves_the_pdf_alone() -> None:
    """The page that was read is a loaded copy; loaded again it has all its drawings."""
    one = tag(set_at(2.5, 5.5))
    inked = printed(sheet(one, one, one))
    texts = TextProof()
    with pdfium.PdfDocument(inked.pdf) as document:
        assert texts.fault(document[0], inked.sheets[0], feed(Printer(), 210.0, 297.0)) == ""
        assert document[0].get_textpage().get_text_bounded().split() == ["PALE", "HARBOUR"] * 3
    assert (texts.texts, texts.drawings) == (1, 1)


# --- sizes and counts


def test_a_page_of_another_size_than_its_stock_fails() -> None:
    """The ink on Letter, the plan for A4."""
    one = tag(set_at(2.5, 5.5))
    ink, plan = printed(replace(sheet(one), width=215.9, height=279.4)), printed(sheet(one))
    assert fault(replace(plan, pdf=ink.pdf)) == (
        "tags.pdf, page 1: it must be 210 × 297 mm (got 215.9 × 279.4 mm). Nothing was written."
    )


def test_pages_of_two_sizes_fail() -> None:
    """A printer has one kind of paper in its tray."""
    one = tag(set_at(2.5, 5.5))
    assert fault(printed(sheet(one), sheet(one, width=200))).startswith(
        "tags.pdf: all pages must have one size"
    )


def test_a_drawing_too_few_in_the_ink_fails() -> None:
    """Tags without a code are counted too."""
    one, other = tag(set_at(2.5, 5.5)), tag(set_at(2.5, 5.5), lot="042")
    ink, plan = printed(sheet(one)), printed(sheet(one, other))
    assert "page 1: there must be 2 drawings (got 1)." in fault(replace(plan, pdf=ink.pdf))


@pytest.mark.parametrize(
    ("due", "message"),
    [
        ({"041": 2, "042": 1}, ""),
        ({"041": 3, "042": 1}, "lot 041 must have 3 labels, one a bunch (got 2)."),
        ({"041": 2, "042": 0}, "lot 042 must have 0 labels, one a bunch (got 1)."),
        ({"041": 2}, "lot 042 must have 0 labels, one a bunch (got 1)."),
        ({"041": 2, "042": 1, "043": 1}, "lot 043 must have 1 labels, one a bunch (got 0)."),
    ],
)
def test_labels_are_counted_lot_by_lot(due: dict[str, int], message: str) -> None:
    """One for every bunch that is due, and none for a lot that is not."""
    one, other = tag(set_at(2.5, 5.5)), tag(set_at(2.5, 5.5), lot="042")
    inked = replace(printed(sheet(one, other, one)), labels=due)
    if not message:
        assert (prove(inked).labels, prove(inked).bunches) == (3, 3)
    else:
        assert fault(inked) == f"tags.pdf: {message} Nothing was written."


def test_a_layout_that_drops_a_label_is_caught(
    demo: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The number due comes from the stems, not from the layout that may be wrong: exit code 3, no file."""

    def without_the_last(labels: Sequence[Drawing], *rest: Any) -> Iterator[Sheet]:
        return label_sheets(labels[:-1], *rest)

    monkeypatch.setattr("tagmaker.paper.stock.label_sheets.label_sheets", without_the_last)
    result = _run("wraps", demo / "lots.xlsx", "-o", tmp_path / "tags", "--no-record")
    assert result[0] == 3
    assert "labels, one a bunch" in result[2]
    assert not (tmp_path / "tags").exists()


# --- the report


def _run(*arguments: object) -> tuple[int, str, str]:
    command = [str(argument) for argument in (*arguments, "--today", "2027-04-21T09:00")]
    result = CliRunner().invoke(main, command)
    return result.exit_code, result.stdout, result.stderr


def test_the_demo_s_report_says_what_was_checked(demo: Path, tmp_path: Path) -> None:
    """Pages, size, labels, codes, modules, texts and edges of each file, on stdout."""
    code, out, err = _run(
        "papers", demo / "lots.xlsx", "-o", tmp_path, "--no-record", "--proof-report", "--lot", "101"
    )
    assert code == 0, err
    tags = out[out.index("proof of wrap-labels.pdf") : out.index("proof of crate-cards.pdf")]
    rows = dict(line.strip().split("  ", 1) for line in tags.splitlines()[1:])
    labels_placed = int(rows["labels"].split()[0])
    assert rows["labels"].strip() == f"{labels_placed} placed for {labels_placed} due, one a bunch"
    assert rows["codes"].strip().startswith(f"{labels_placed} of {labels_placed} read back")
    assert rows["pages"].strip() == "1 of 215.9 × 279.4 mm, as the stock"
    assert 0.4 <= float(rows["module"].split()[0]) < 1
    assert rows["texts"].strip().endswith("each inside its box")
    assert [line for line in out.splitlines() if line.startswith("proof of")] == [
        "proof of wrap-labels.pdf",
        "proof of crate-cards.pdf",
        "proof of cooler-checklist.pdf",
    ]


def test_the_thermometer_report_is_proven_and_reported_too(demo: Path, tmp_path: Path) -> None:
    """A paper without labels says nothing of labels."""
    code, out, _ = _run("cooler", demo / "lots.xlsx", "-o", tmp_path, "--proof-report")
    assert code == 0
    report = out[out.index("proof of cooler-report.pdf") :]
    assert "codes" in report
    assert "labels" not in report


def test_modules_and_codes_of_a_report() -> None:
    """The smallest and the largest module among the drawings, the codes among the labels."""
    inked = labels(sample_dates(), sample_dates(sample_lot(lot_code="NORTH-FIELD7")))
    proof = prove(inked)
    assert proof.modules is not None
    assert 0.4 <= proof.modules[0] <= proof.modules[1] < 1
    assert (proof.codes, proof.pages) == (24, 1)
    assert prove(printed(sheet(tag(set_at(2.5, 5.5))))).modules is None


def test_ink_near_the_edge_of_a_sheet_is_a_warning() -> None:
    """Measured to words, not to lines or to the drawing's own frame; 5 mm is what office printers leave."""
    near = Sheet(210, 297, (Placed(tag(set_at(2.5, 5.5), Rule(1, 11, 39, 11)), 1.5, 200),))
    assert edges_of([near]) == Edges(3.5, 202, 176.5, 90)
    assert prove(printed(near)).warnings == (
        "words must stay 5 mm off the left edge, which the printer leaves white (got 3.5 mm)",
    )
    assert "  warning      words must stay 5 mm off" in "\n".join(report_lines(prove(printed(near))))
    assert prove(printed(sheet(tag(set_at(2.5, 5.5))))).warnings == ()


def test_a_printer_s_own_margins_and_what_it_shifts_count() -> None:
    """Words 18 mm from the left, moved by -4 mm, on a printer that leaves 15 mm white there."""
    printer = Printer(name="old", offset_x=-4.0, unprintable=(15.0, 3.0, 3.0, 3.0))
    inked = print_sheets("tags.pdf", "Tags", [sheet(tag(set_at(2.5, 5.5)))], printer=printer)
    assert prove(inked).edges == Edges(18.0, 22.0, 162.0, 270.0)
    assert prove(inked).warnings == ()
    nearer = print_sheets("tags.pdf", "Tags", inked.sheets, printer=replace(printer, offset_x=-8.0))
    assert [warning.split(" edge")[0] for warning in prove(nearer).warnings] == [
        "words must stay 15 mm off the left"
    ]


def test_a_roll_s_labels_may_reach_the_edge() -> None:
    """Their printers print to it."""
    roll = Sheet(57, 32, (Placed(tag(set_at(2.5, 5.5)), 0, 0),))
    assert prove(printed(roll)).warnings == ()


def test_an_empty_page_has_no_ink_near_its_edges() -> None:
    """Nor codes, nor texts."""
    proof = prove(printed(Sheet(210, 297, ())))
    assert (proof.edges, proof.codes, proof.texts, proof.warnings) == (None, 0, 0, ())
