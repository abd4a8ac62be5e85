"""This computer, as the journal knows it: its name, and a word of its own that a copied home would share."""

from __future__ import annotations

import os
import platform
import secrets
from pathlib import Path

_FILE = "computer.txt"


def settings_folder() -> Path:
    """Where a user's programs keep what is theirs."""
    base = os.environ.get("XDG_CONFIG_HOME") or os.environ.get("APPDATA")
    return (Path(base) if base else Path.home() / ".config") / "tagmaker"


def this_computer(*, create: bool = False) -> str:
    """Name and word, such as "shed 1f2e5a77"; the name alone where no word was given to it yet.

    Args:
        create: give it one, where it has none and the folder can be written to
    """
    name, path = platform.node() or "computer", settings_folder() / _FILE
    try:
        if create and not path.exists():
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_text(secrets.token_hex(4), encoding="ascii")
        word = path.read_text(encoding="ascii").strip()
    except (OSError, UnicodeDecodeError):
        return name
    return f"{name} {word}"
