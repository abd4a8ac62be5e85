"""Opening a finished file in the program that the system has for it."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import threading
from collections.abc import Mapping
from pathlib import Path

import click

PATIENCE_S = 3.0  # seconds in which an opener that finds no viewer has given up (chosen)


def open_in_viewer(path: Path, patience_s: float = PATIENCE_S) -> str:
    """Show a file in the system's viewer; why that failed, empty where it did not."""
    path = path.resolve()
    if sys.platform.startswith(("win", "darwin", "cygwin")):
        opened = click.launch(str(path)) == 0
    else:
        opened = _has_screen(os.environ) and _open_on_screen(path, patience_s)
    if opened:
        return ""
    return f"{path} was written but not opened: no viewer for it was found on this machine. Open it by hand."


def _has_screen(environment: Mapping[str, str]) -> bool:
    """Whether a window can be shown; without one the opener might take the terminal for a text browser."""
    return any(environment.get(name) for name in ("DISPLAY", "WAYLAND_DISPLAY"))


def _open_on_screen(path: Path, patience_s: float) -> bool:
    """Run xdg-open: some end at once, some only with the viewer, and those without a viewer say so soon."""
    opener = shutil.which("xdg-open")
    if opener is None:
        return False
    nothing = subprocess.DEVNULL
    try:
        viewer = subprocess.Popen(
            [opener, str(path)], stdin=nothing, stdout=nothing, stderr=nothing, start_new_session=True
        )
    except OSError:
        return False
    try:
        return viewer.wait(patience_s) == 0
    except subprocess.TimeoutExpired:
        threading.Thread(target=viewer.wait, daemon=True).start()  # sees to its end, whenever that is
        return True
