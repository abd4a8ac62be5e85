"""A paper that leaves nothing in the record: put in place, shown, and sent where that is asked."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path

from tagmaker.desk.leftovers import sweep
from tagmaker.paper.deliver.filing import Filed, file_papers
from tagmaker.paper.deliver.spooler import PaperFile, send
from tagmaker.paper.press.ink import Inked


def hand_out(
    inked: Inked,
    folder: Path,
    tell: Callable[[str], None],
    show: Callable[[Sequence[Filed]], None],
    *,
    preview: bool,
    send_to: str | None,
) -> None:
    """Put a paper in place, say what its proof warns of, and send it where a queue is named.

    Raises:
        OutputProblem: the file does not read back, cannot be written or was not sent.
    """
    sweep(folder)
    filed = file_papers(folder, [inked], preview=preview)
    for one in filed:
        for warning in one.proof.warnings:
            tell(f"{one.path.name}: {warning}")
    show(filed)
    if send_to is not None:
        send([PaperFile(one.path, *one.proof.size) for one in filed], send_to, tell)
