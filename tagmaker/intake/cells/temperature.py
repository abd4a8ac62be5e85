"""Temperatures as growers write them, turned into °C."""

from __future__ import annotations

import re

from tagmaker.intake.cells.plain_text import typed

_TEMPERATURE = re.compile(
    r"([+-]?\d{1,3}(?:[.,]\d{1,3})?)\s*(?:°|degrees|degree|deg\.?)?\s*([a-z]*)\.?", re.ASCII
)
_UNITS = {"f": "F", "fahrenheit": "F", "c": "C", "celsius": "C", "centigrade": "C"}
_DEGREE_SIGNS = str.maketrans("\u00ba\u02da", "\u00b0\u00b0")  # look-alikes that keyboards offer


class UnreadableTemperatureError(ValueError):
    """The text is no temperature at all."""


class NoUnitError(ValueError):
    """The text is a bare number, and the farm's unit is not known."""


def read_temperature(text: str, units: str | None) -> float:
    """The temperature that a text means [°C].

    Args:
        text: "75F", "24 °C", "75 degrees F", or a bare number in `units`.
        units: the farm's "F" or "C", or None where the settings do not say.

    Raises:
        UnreadableTemperatureError: it is no temperature.
        NoUnitError: it has no unit and there is none to fall back on.

    >>> read_temperature("50 °F", None)
    10.0
    """
    match = _TEMPERATURE.fullmatch(typed(text.translate(_DEGREE_SIGNS)).strip().lower())
    if match is None or (match[2] and match[2] not in _UNITS):
        raise UnreadableTemperatureError
    unit = _UNITS.get(match[2], units)
    if unit is None:
        raise NoUnitError
    degrees = float(match[1].replace(",", "."))
    return (degrees - 32.0) / 1.8 if unit == "F" else degrees
