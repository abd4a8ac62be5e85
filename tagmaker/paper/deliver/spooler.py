"""Handing finished papers to the system's print spooler with the command `lp`, as they are: never scaled.

`lp` comes with CUPS; option names are those of its manual page and of "Command-Line Printing and Options" in
the CUPS documentation. No shell is involved. Labels and cards are for one side of a sheet, whatever the
printer's own default is.
"""

from __future__ import annotations

import shutil
import subprocess
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import NamedTuple

from tagmaker.errors import OutputProblem
from tagmaker.farm import PAPER_SIZES

PATIENCE_S = 30.0  # seconds that the spooler may take for one file (chosen)
NAMED_MEDIA = {"Letter": PAPER_SIZES["letter"], "A4": PAPER_SIZES["a4"]}  # [mm] upright
SAME_MEDIA = 0.5  # [mm] by which a page may differ from a named size (chosen: a point and a half)


class PaperFile(NamedTuple):
    """A finished file and the one size of its pages."""

    path: Path
    width: float  # [mm]
    height: float  # [mm]


def printer_fault(printer: str) -> str:
    """Why a name cannot be that of a printer; empty where it can.

    A name that begins with "-" would be taken for an option.
    """
    if printer and not printer.startswith("-") and printer.isprintable() and " " not in printer:
        return ""
    return f'the printer must be named as the spooler names it: no blanks, no "-" in front (got "{printer}")'


def media(width: float, height: float) -> str:
    """A page size [mm] as the spooler calls it: Letter and A4, lying too, and all else by its measures.

    >>> media(279.4, 215.9), media(57, 32), media(101.6, 152.4)
    ('Letter', 'Custom.57x32mm', 'Custom.101.6x152.4mm')
    """
    for name, (across, down) in NAMED_MEDIA.items():
        if all(
            abs(side - named) <= SAME_MEDIA
            for side, named in zip(sorted((width, height)), (across, down), strict=True)
        ):
            return name
    return f"Custom.{round(width, 2):g}x{round(height, 2):g}mm"


def send(
    papers: Sequence[PaperFile],
    printer: str,
    tell: Callable[[str], None],
    patience_s: float = PATIENCE_S,
    sent: Callable[[PaperFile], None] = lambda _: None,
) -> None:
    """Hand files to a printer's queue, one after another, a copy of each.

    Args:
        papers: files that are in place
        printer: the queue, as the spooler names it
        tell: says a line to whoever runs the command
        patience_s: seconds that the spooler may take for each file
        sent: is told of each file that the spooler took

    Raises:
        OutputProblem: there is no spooler, it does not know the printer, refuses, or does not answer; the
            files stay, and the message names those that were not sent.
    """
    for n, paper in enumerate(papers):
        fault = printer_fault(printer) or _hand_over(paper, printer, tell, patience_s)
        if fault:
            names = ", ".join(waiting.path.name for waiting in papers[n:])
            raise OutputProblem(f"not sent: {names}: {fault}")
        sent(paper)


def _hand_over(paper: PaperFile, printer: str, tell: Callable[[str], None], patience_s: float) -> str:
    """Send one file; what went wrong, empty where nothing did."""
    lp = shutil.which("lp")
    if lp is None:
        return (
            "a print spooler must be there (got no command lp on this machine). "
            "Install CUPS, or open the file and print it at 100 %."
        )
    path = paper.path.resolve()  # absolute, so that it never begins with "-"
    size = media(paper.width, paper.height)
    options = [f"media={size}", "print-scaling=none", "sides=one-sided"]
    command = [lp, "-d", printer, "-n", "1", "-t", f"tagmaker {path.name}"]
    command += [part for option in options for part in ("-o", option)]
    try:
        done = _run([*command, str(path)], patience_s)
    except subprocess.TimeoutExpired:
        return (
            f"the spooler must answer within {patience_s:g} s (got nothing from lp). "
            f"Look with lpstat -o {printer} whether the file waits there before you send it again."
        )
    except OSError as error:
        return f"{lp} must be a command that can be run (got: {error.strerror or error}). Install CUPS again."
    if done.returncode:
        return _refusal(
            printer, _last_line(done.stderr).removeprefix("lp: ") or f"exit code {done.returncode}"
        )
    reply = _last_line(done.stdout)
    tell(f"sent {path.name} to {printer}, {size}, not scaled" + (f" ({reply})" if reply else ""))
    return ""


def _refusal(printer: str, reply: str) -> str:
    """What to say when the spooler did not take a file."""
    names = queues()
    if names is not None and printer.partition("/")[0] not in names:
        if not names:
            return (
                f'the spooler must know the printer (got "{printer}", and it names none). '
                "See with lpstat -r that it runs, and add the printer there."
            )
        return f'the printer must be one of {", ".join(names)} (got "{printer}"). Name one of these.'
    return f"the spooler must take it (got from lp: {reply}). Look with lpstat -p {printer} what stops it."


def queues() -> tuple[str, ...] | None:
    """The printers' queues that the spooler knows; None where it does not say."""
    lpstat = shutil.which("lpstat")
    if lpstat is None:
        return None
    try:
        done = _run([lpstat, "-e"], PATIENCE_S)
    except (OSError, subprocess.TimeoutExpired):
        return None
    return tuple(done.stdout.split()) if done.returncode == 0 else None


def _run(command: Sequence[str], patience_s: float) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        command,
        stdin=subprocess.DEVNULL,
        capture_output=True,
        text=True,
        encoding="utf-8",
        errors="replace",
        timeout=patience_s,
        check=False,
    )


def _last_line(text: str) -> str:
    lines = text.strip().splitlines()
    return lines[-1].strip() if lines else ""
