"""Whether all that is drawn stays on the paper once a printer's settings have moved and stretched it."""

from __future__ import annotations

from tagmaker.errors import InputProblems, Problem
from tagmaker.paper.press.ink import STRAIGHT, Inked
from tagmaker.paper.proof.report import edges_of

OVER = 0.2  # [mm] that a box may reach over the edge: stretched, the white around words is less (chosen)


def check_on_paper(inked: Inked) -> None:
    """Refuse a paper of which words, frames or codes would lie beyond an edge.

    Raises:
        InputProblems: the printer's offset or scale is too much for this paper; says how far it goes.
    """
    printer = inked.printer
    edges = None if printer == STRAIGHT else edges_of(inked.sheets, printer)
    if edges is None or min(edges) >= -OVER:
        return
    distance, side = min(zip(edges, edges._fields, strict=True))
    what = f"offset and scale must leave all words of {inked.file_name} on the paper"
    got = f"got some {-distance:.1f} mm beyond its {side} edge"
    remedy = "Measure the printer again: tagmaker test-page prints what for, and says how."
    raise InputProblems([Problem(f"tagmaker.toml, [printers.{printer.name}]", f"{what} ({got})", remedy)])
