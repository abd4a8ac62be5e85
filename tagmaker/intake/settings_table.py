"""One table of the settings file: its keys read one by one, and all that is wrong with them collected."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import TypeVar

from tagmaker.errors import Problem
from tagmaker.intake.plain_text import listed, nearest, shown
from tagmaker.intake.settings_values import UnfitValueError

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
