"""Which season this computer serves where: whoever starts it again is led to the pages that are open.

What is remembered stands in the user's own settings; a server is asked before it is believed to be there.
"""

from __future__ import annotations

import hashlib
import http.client
import os
import sys
import threading
import webbrowser
from collections.abc import Callable, Iterable, Iterator, Mapping
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit

from tagmaker.desk.computer import settings_folder

WHO = "/running"  # the address under which a server says which one it is
PATIENCE_S = 2.0  # [s] in which a server that is there has answered (chosen)
BROWSER_S = 5.0  # [s] in which a browser has taken an address (chosen)
_LAST = "last-season.txt"


def answering(app: Callable[..., Iterable[bytes]], token: str) -> Callable[..., Iterable[bytes]]:
    """The same pages, and under WHO the word by which this server is known."""

    def answer(environ: dict[str, Any], start_response: Callable[..., Any]) -> Iterable[bytes]:
        if (environ.get("REQUEST_METHOD"), environ.get("PATH_INFO")) != ("GET", WHO):
            return app(environ, start_response)
        headers = [("Content-Type", "text/plain; charset=utf-8"), ("X-Content-Type-Options", "nosniff")]
        start_response("200 OK", headers)
        return [token.encode()]

    return answer


def running(sheet: Path) -> str:
    """The address of the pages of a season, if this computer serves them; else nothing."""
    try:
        address, token = _note(sheet).read_text(encoding="ascii").split()
    except (OSError, ValueError):
        return ""
    return address if _says(address) == token else ""


def _says(address: str) -> str:
    """The word of the server at an address; empty where there is none."""
    place = urlsplit(address)
    with suppress(OSError, ValueError, http.client.HTTPException):
        connection = http.client.HTTPConnection(place.hostname or "", place.port, timeout=PATIENCE_S)
        try:
            connection.request("GET", WHO)
            return connection.getresponse().read(64).decode("ascii")
        finally:
            connection.close()
    return ""


@contextmanager
def announced(sheet: Path, address: str, token: str) -> Iterator[None]:
    """Remember where a season is served, as long as it is, and that it was the last one."""
    note = _note(sheet)
    with suppress(OSError):  # then a second start does not find it
        note.parent.mkdir(parents=True, exist_ok=True)
        note.write_text(f"{address} {token}", encoding="ascii")
        remember(sheet)
    try:
        yield
    finally:
        with suppress(OSError, ValueError):
            if note.read_text(encoding="ascii").split()[-1] == token:
                note.unlink()


def remember(sheet: Path) -> None:
    """Take a season for the last one; raises OSError where that cannot be written down."""
    path = settings_folder() / _LAST
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_bytes(os.fsencode(sheet.resolve()))


def last_season() -> Path | None:
    """The sheet that was served or begun last, if it is still there."""
    try:
        path = Path(os.fsdecode((settings_folder() / _LAST).read_bytes()))
        return path if path.is_file() else None
    except (OSError, ValueError):
        return None


def _note(sheet: Path) -> Path:
    name = hashlib.sha256(os.fsencode(sheet.resolve())).hexdigest()[:16]
    return settings_folder() / f"serving-{name}.txt"


def open_browser(address: str, *, wait_s: float = 0.0) -> None:
    """Show an address in the browser, where this computer has a desktop.

    Args:
        address: of the pages
        wait_s: so long at most until the browser has it [s]: some only return when they are closed
    """
    if has_desktop(sys.platform, os.environ):
        showing = threading.Thread(target=webbrowser.open, args=(address,), daemon=True)
        showing.start()
        showing.join(wait_s)


def has_desktop(system: str, environment: Mapping[str, str]) -> bool:
    """Whether there is a desktop; without one, the terminal might be taken for a text browser."""
    if system.startswith(("win", "darwin", "cygwin")):
        return True
    return any(environment.get(name) for name in ("DISPLAY", "WAYLAND_DISPLAY"))
