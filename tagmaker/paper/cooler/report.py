"""The thermometer report: for the terminal, and an upright page a cooler."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator, Mapping, Sequence
from datetime import datetime

from tagmaker.errors import InputProblems
from tagmaker.farm import PAPER_SIZES, Farm
from tagmaker.paper.cooler.page import cooler_pages
from tagmaker.paper.cooler.words import (
    TEMPLATE,
    bands,
    figures,
    headings,
    lead,
    lot_rows,
    small_print,
    to_do,
    unmoved,
)
from tagmaker.paper.names import name_problems
from tagmaker.paper.press.boxes import Box, Drawing, Placed, Sheet
from tagmaker.paper.press.fonts import typeface
from tagmaker.paper.press.ink import Inked, print_sheets
from tagmaker.storage.cooler_summary import CoolerSummary
from tagmaker.telling.wording import Wording

FILE_NAME = "cooler-report.pdf"
MARGIN = 10.0  # [mm] of white all round
TERMINAL = 100  # letters to a line (chosen)


def report_text(summaries: Sequence[CoolerSummary], wording: Wording) -> str:
    """The report of some coolers for a terminal: lots first, then what to do, then small print."""
    return "\n\n".join("\n".join(_text(summary, wording)) for summary in summaries)


def _text(summary: CoolerSummary, wording: Wording) -> Iterator[str]:
    say = wording.macros(TEMPLATE)
    yield f"{say.cooler(name=summary.cooler.name)}, {say.read(until=summary.read_until)}"
    yield from _wrapped(lead(summary, wording))
    rows = lot_rows(summary, wording)
    if rows:
        yield from _aligned((headings(wording), *rows), "  ")
    yield from _wrapped(unmoved(summary, wording))
    yield ""
    yield say.to_do()
    for advice in to_do(summary, wording):
        yield from _wrapped(f"{advice.head}: {advice.text}", "  ", "    ")
    small = [*figures(summary, wording), *bands(summary, wording)]
    notes = small_print(summary, wording)
    if small or notes:
        yield ""
        yield say.small_print()
    yield from _aligned(small, "  ")
    for note in notes:
        yield from _wrapped(note, "  ", "  ")


def _wrapped(text: str, first: str = "", further: str = "") -> list[str]:
    return textwrap.wrap(
        text, TERMINAL, initial_indent=first, subsequent_indent=further, break_on_hyphens=False
    )


def _aligned(rows: Sequence[Sequence[str]], indent: str) -> Iterator[str]:
    widths = [max(map(len, column)) for column in zip(*rows, strict=True)]
    for row in rows:
        yield indent + "  ".join(cell.ljust(width) for cell, width in zip(row, widths, strict=True)).rstrip()


def cooler_report(
    summaries: Sequence[CoolerSummary],
    farm: Farm,
    wording: Wording,
    now: datetime,
    on_paper: Mapping[str, Sequence[str]],
) -> Inked:
    """The report of some coolers, a page each, as a PDF in memory.

    Args:
        summaries: the coolers', in order.
        farm: paper size and name.
        wording: the farm's words.
        now: the moment of printing.
        on_paper: kind of paper -> the fields of a lot whose words are on it.

    Raises:
        InputProblems: a template is faulty, or the font lacks a character.
    """
    shown = [lot.read.lot for summary in summaries if summary.week for lot in summary.lots if lot.moved]
    with typeface(farm.fonts):
        problems = list(name_problems(["cooler report"], shown, farm, on_paper))
        if problems:
            raise InputProblems(problems)
        sheets = report_sheets(summaries, farm, wording, now)
        title = wording.macros(TEMPLATE).title()
        return print_sheets(FILE_NAME, title, sheets, printer=farm.chosen_printer)


def report_sheets(
    summaries: Sequence[CoolerSummary], farm: Farm, wording: Wording, now: datetime
) -> tuple[Sheet, ...]:
    """The pages of `cooler_report`, before they are ink; same arguments."""
    width, height = PAPER_SIZES[farm.paper_size]
    inner = Box(0, 0, width, height).inset(MARGIN)
    printed = wording.macros(TEMPLATE).printed(now=now, farm=farm.name)
    return tuple(
        Sheet(width, height, (Placed(Drawing(width, height, elements, where=summary.cooler.name), 0, 0),))
        for summary in summaries
        for elements in cooler_pages(summary, inner, wording, printed)
    )
