"""The file to double-click: it opens a season's pages on this computer, and in the browser.

One is written, that of this system, because it names this computer's Python. What it runs is the same
everywhere: `serve --lan --stay` of the sheet.
"""

from __future__ import annotations

import re
import shlex
from dataclasses import dataclass
from pathlib import Path

NAME = "Open tagmaker"
# -P: what lies in the folder is never taken for a part of the program (Python 3.11).
_SERVE = ("-P", "-m", "tagmaker", "serve", "--lan", "--stay")


@dataclass(frozen=True, slots=True)
class Opener:
    """A file to double-click."""

    name: str
    content: bytes
    mode: int = 0o755


def opener(system: str, python: str, sheet: Path) -> Opener:
    """The file of a system.

    Args:
        system: as `sys.platform` says it
        python: the interpreter, with its whole path
        sheet: the season's sheet, with its whole path; the file goes beside it
    """
    if system.startswith(("win", "cygwin")):
        return Opener(f"{NAME}.bat", batch(python, sheet.name))
    if system == "darwin":
        return Opener(f"{NAME}.command", command(python, sheet.name))
    return Opener(f"{NAME}.desktop", desktop(python, sheet))


def batch(python: str, sheet: str) -> bytes:
    """For Windows. A percent sign is doubled; within double quotes, no other character counts there."""
    words = [f'"{python}"', *_SERVE, f'"{sheet}"']
    lines = [
        "@echo off",
        "chcp 65001 >nul",  # the lines below are UTF-8
        'pushd "%~dp0"',
        " ".join(words).replace("%", "%%"),
        "if errorlevel 1 pause",
    ]
    return "".join(f"{line}\r\n" for line in lines).encode()


def command(python: str, sheet: str) -> bytes:
    """For macOS: a script of the shell."""
    words = [python, *_SERVE, sheet]
    return f'#!/bin/sh\ncd "$(dirname "$0")" || exit 1\nexec {shlex.join(words)}\n'.encode()


def desktop(python: str, sheet: Path) -> bytes:
    """For Linux: a desktop entry (Desktop Entry Specification 1.5, "Value types" and "The Exec key")."""
    words = [_quoted(python), *_SERVE, _quoted(str(sheet))]
    entry = {
        "Type": "Application",
        "Version": "1.5",
        "Name": NAME,
        "Comment": "The lots, and a bench to print from",
        "Exec": _escaped(" ".join(words)),
        "Path": _escaped(str(sheet.parent)),
        "Terminal": "true",
    }
    return ("[Desktop Entry]\n" + "".join(f"{key}={value}\n" for key, value in entry.items())).encode()


def _quoted(word: str) -> str:
    """An argument of Exec in double quotes; a percent sign would be a field code."""
    return '"' + re.sub(r'(["`$\\])', r"\\\1", word).replace("%", "%%") + '"'


def _escaped(text: str) -> str:
    """A value of type string."""
    return text.replace("\\", "\\\\").replace("\n", "\\n").replace("\t", "\\t").replace("\r", "\\r")
