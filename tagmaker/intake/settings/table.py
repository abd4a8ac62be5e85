"""One table of the settings file: its keys read one by one, and all that is wrong with them collected."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from typing import TypeVar

from tagmaker.errors import Problem
from tagmaker.intake.cells.plain_text import listed, nearest, shown, squash
from tagmaker.intake.settings import values
from tagmaker.intake.settings.values import UnfitValueError

NOTHING: Mapping[str, object] = {}

T = TypeVar("T")


class SettingsTable:
    """One table of the file: reads its keys and collects what is wrong with them."""

    def __init__(
        self, content: Mapping[str, object], where: str, keys: Sequence[str], problems: list[Problem]
    ) -> None:
        self.content, self.where, self._problems = content, where, problems
        for key in content:
            if key not in keys:
                near = nearest(key, keys)
                remedy = (
                    f"The nearest known key is {near}." if near else f"Known keys: {listed(keys, 'and')}."
                )
                self.refuse(key, "be a known key", remedy)

    def read(self, key: str, reader: Callable[[object], T], default: T) -> T:
        """The value of a key, or its default where it is missing or wrong."""
        if key not in self.content:
            return default
        try:
            return reader(self.content[key])
        except UnfitValueError as unfit:
            self.refuse(key, unfit.must, unfit.remedy)
            return default

    def refuse(self, key: str, must: str, remedy: str) -> None:
        """Note a problem with a key."""
        got = written(self.content[key]) if key in self.content else "nothing"
        self._problems.append(Problem(self.where, f"{key} must {must} (got {got})", remedy))


def written(value: object) -> str:
    """A value as it stands in the file, shortened."""
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, str):
        return shown(value)
    return shown(str(value)).strip('"').replace("'", '"')


def named_tables(
    top: SettingsTable, key: str, keys: Sequence[str], problems: list[Problem]
) -> dict[str, SettingsTable]:
    """The tables `[key.NAME]`, by name, with their names checked."""
    tables: dict[str, SettingsTable] = {}
    seen: dict[str, str] = {}
    for name, content in top.read(key, values.table, NOTHING).items():
        where = f"{top.where}, [{key}.{name if name and squash(name) == name else shown(name)}]"
        word = squash(name)
        fault = ""
        if not any(letter.isalpha() for letter in name) or re.search(r"[;,\n]", name):
            fault = "the name must have letters in it, and no comma or semicolon"
        elif len(name) > values.MOST_NAME_LETTERS:
            fault = f"the name must be at most {values.MOST_NAME_LETTERS} letters"
        elif word in seen:
            fault = f"the name must differ from {shown(seen[word])} in more than case, spaces and punctuation"
        elif key == "coolers" and word == "out":
            fault = 'the name must not be "out", which stands for outside any cooler'
        if fault:
            problems.append(Problem(where, f"{fault} (got {shown(name)})", "Choose another name."))
        elif not isinstance(content, dict):
            what = f"must be a table (got {written(content)})"
            problems.append(Problem(where, what, f"Write [{key}.{name}] and its keys below it."))
        else:
            seen[word] = name
            tables[name] = SettingsTable(content, where, keys, problems)
    return tables
