"""How messages about a log name the settings of its cooler: their cells, or their table of the file."""

from __future__ import annotations

from tagmaker.farm import Cooler
from tagmaker.intake.cells.plain_text import squash

FILE_NAME = "tagmaker.toml"


def cooler_key(cooler: str) -> str:
    """The header of a cooler's table.

    >>> cooler_key("barn"), cooler_key("old fridge")
    ('[coolers.barn]', '[coolers."old fridge"]')
    """
    return f"[coolers.{cooler}]" if squash(cooler) == cooler else f'[coolers."{cooler}"]'


def settings_place(cooler: Cooler, key: str = "log") -> str:
    """Where a key of a cooler stands."""
    return cooler.cells.get(key, f"{FILE_NAME}, {cooler_key(cooler.name)}")


def to_set(cooler: Cooler, key: str, value: str) -> str:
    """What is to be set where.

    >>> to_set(Cooler(name="barn"), "probe", '"shelf 2"')
    'probe = "shelf 2" under [coolers.barn] in tagmaker.toml'
    >>> to_set(Cooler(name="barn", cells={"probe": 'lots.xlsx, sheet "Coolers", cell F2'}), "probe", '"2"')
    'probe = 2 in lots.xlsx, sheet "Coolers", cell F2'
    """
    if key in cooler.cells:
        bare = value.replace('"', "")
        return f"{key} = {bare} in {cooler.cells[key]}"
    return f"{key} = {value} under {cooler_key(cooler.name)} in {FILE_NAME}"


def to_clear(cooler: Cooler, key: str) -> str:
    """What is to be done so that a key says nothing.

    >>> to_clear(Cooler(name="barn"), "log")
    'take log out of [coolers.barn]'
    """
    if key in cooler.cells:
        return f"clear {cooler.cells[key]}"
    return f"take {key} out of {cooler_key(cooler.name)}"
