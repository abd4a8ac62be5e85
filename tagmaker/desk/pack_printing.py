"""The pack sheet of a command: proven, put in place and handed over; and the same as a table to read."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from tagmaker.desk.drawing import farm_for, in_its_fonts
from tagmaker.desk.handing import hand_out
from tagmaker.desk.packing import DAYS, Packing
from tagmaker.desk.season import Season
from tagmaker.errors import InputProblems, Problem
from tagmaker.intake.columns import ON_PAPER
from tagmaker.notes import Note
from tagmaker.paper.deliver.filing import Filed
from tagmaker.paper.names import name_problems
from tagmaker.paper.pack.pages import pack_sheets
from tagmaker.paper.press.characters import font_problems
from tagmaker.paper.press.ink import Inked
from tagmaker.paper.press.on_paper import check_on_paper
from tagmaker.telling.pack_words import TEMPLATE, LineWords, packed_words
from tagmaker.telling.packing import Packed

Tell = Callable[[str], None]  # says a line to whoever runs the command


@dataclass(frozen=True, slots=True, kw_only=True)
class Handing:
    """Where a pack sheet goes."""

    out: Path | None = None  # folder; None: papers/ beside the sheet
    printer: str | None = None  # of the settings; None: the farm's
    send_to: str | None = None  # queue of the spooler
    preview: bool = False


def print_pack_sheet(
    found: Packing, handing: Handing, tell: Tell, show: Callable[[Sequence[Filed]], None]
) -> None:
    """Print the departures that were asked about; nothing where there are none.

    Raises:
        InputProblems: a name that cannot be printed.
        UsageProblem: there is no such printer.
        OutputProblem: the file does not read back, cannot be written or was not sent.
    """
    if not found.departures:
        return
    season = replace(found.season, farm=farm_for(found.season.farm, None, handing.printer))
    inked = draw_pack_sheet(season, found.departures, None if found.offer is None else found.offer.why)
    folder = handing.out or season.sheet.parent / "papers"
    hand_out(inked, folder, tell, show, preview=handing.preview, send_to=handing.send_to)


@in_its_fonts
def draw_pack_sheet(season: Season, departures: Sequence[Packed], offer: Note | None = None) -> Inked:
    """The pages of some departures, which the printer leaves on its sheets."""
    problems = list(_unprintable(season, departures))
    if problems:
        raise InputProblems(problems)
    inked = pack_sheets(departures, season, offer)
    check_on_paper(inked)
    return inked


def _unprintable(season: Season, departures: Sequence[Packed]) -> Iterator[Problem]:
    """Names and notes that the fonts do not have."""
    lots = {line.lot.lot_code: line.lot for packed in departures for line in packed.lines}
    yield from name_problems(["pack"], list(lots.values()), season.farm, ON_PAPER)
    for packed in departures:
        for order in packed.orders:
            row = order.demand.order
            if row is not None:
                yield from font_problems([row.note], row.where)
        yield from font_problems([packed.use], f"tagmaker.toml, [uses.{packed.use}]")


def pack_text(found: Packing) -> str:
    """The departures for a terminal, a table each."""
    if not found.departures:
        return str(found.season.wording.macros(TEMPLATE).no_departures(days=DAYS))
    offer = None if found.offer is None else found.offer.why
    return "\n\n".join("\n".join(_lines(packed, found.season, offer)) for packed in found.departures)


def _lines(packed: Packed, season: Season, offer: Note | None) -> Iterator[str]:
    say, words = season.wording.macros(TEMPLATE), packed_words(packed, season, offer)
    yield f"{words.head}: {words.sums}"
    yield from (f"  {work}" for work in words.works)
    if words.lines:
        heads = (
            say.lot_head(),
            say.code_head(),
            say.where_head(),
            say.flowers_head(),
            say.bunches_head(),
            say.water_head(),
            say.bucket_head(),
            say.for_head(),
            "",
        )
        yield from aligned([heads, *(_row(line) for line in words.lines)], "  ")
    yield from (f"  {order}" for order in words.orders)
    yield from (f"  ! {short}" for short in words.short)
    if words.offer:
        yield f"  {words.offer}"
    yield from (f"  {why}" for line in words.lines for why in line.why)


def _row(line: LineWords) -> tuple[str, ...]:
    where = f"{line.cooler}, {line.place}" if line.place else line.cooler
    bunches = f"{line.bunches} ({line.stems})" if line.stems else line.bunches
    water = f"{line.water} {line.water_small}".strip()
    return line.lot, line.code, where, line.flowers, bunches, water, line.bucket, line.to, line.marks


def aligned(rows: Sequence[Sequence[str]], indent: str = "") -> Iterator[str]:
    """Rows with their cells under one another."""
    widths = [max(map(len, column)) for column in zip(*rows, strict=True)]
    for row in rows:
        yield indent + "  ".join(cell.ljust(width) for cell, width in zip(row, widths, strict=True)).rstrip()
