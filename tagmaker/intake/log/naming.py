"""How messages about a log name its cooler's table in the settings."""

from __future__ import annotations

from tagmaker.intake.cells.plain_text import squash


def cooler_key(cooler: str) -> str:
    """The header of a cooler's table.

    >>> cooler_key("barn"), cooler_key("old fridge")
    ('[coolers.barn]', '[coolers."old fridge"]')
    """
    return f"[coolers.{cooler}]" if squash(cooler) == cooler else f'[coolers."{cooler}"]'


def settings_place(cooler: str) -> str:
    """Where the settings of a cooler stand."""
    return f"tagmaker.toml, {cooler_key(cooler)}"
