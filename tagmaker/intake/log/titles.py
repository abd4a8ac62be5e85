"""What the title of a column of a thermometer log says: time, temperature, humidity, which probe, which unit.

The words are common practice of loggers, no source; those of other languages are from memory.
"""

from __future__ import annotations

import re
import unicodedata
from itertools import pairwise

from tagmaker.intake.cells.plain_text import one_line, squash
from tagmaker.intake.log.cells import offset_minutes

_DEGREE_SIGNS = str.maketrans("\u00ba\u02da\ufffd", "\u00b0\u00b0\u00b0")  # U+FFFD: lost in an export


def _words(text: str) -> frozenset[str]:
    return frozenset(text.split())


_TIME = _words(
    "time date datetime timestamp datestamp stamp when moment recorded logged measured sampled "
    "zeit datum uhrzeit zeitstempel zeitpunkt heure fecha hora tijd tijdstip data ora"
)
_LOCAL = _words("local here farm")
_ELSEWHERE = _words("utc gmt zulu server upload uploaded received sent synced epoch unix elapsed")
_TEMPERATURE = re.compile(r"temps?|t|temp[eé]rat\w*|thermo\w*")
_HUMIDITY = re.compile(r"rh|hr|hum|humid\w*|humedad|umidit\w*|(?:luft)?feucht\w*|(?:lucht)?vochtigheid|rf")
# Temperatures that are not the air's: computed ones, limits, and extremes of an interval.
_OTHER_TEMPERATURE = re.compile(
    r"dewpoint|wetbulb|heatindex|feelslike|windchill|taupunkt|setpoint|alarm|limit|threshold|target|offset|"
    r"calibration"
)
_EXTREME = _words("min max minimum maximum high low lo hi lowest highest set dew delta diff rate")
_NO_PROBE = _words(
    "no nr num number index idx id row record rec count counter sample seq sequence line point item "
    "battery batt bat volt volts voltage v mv rssi signal snr power pressure hpa mbar kpa co2 ppm light lux "
    "door event flag status alarm elapsed second seconds minute minutes hour hours uptime vpd dew year "
    "month day weekday latitude longitude altitude interval version serial"
)
_PROBE_NAME = _words(
    "probe probes sensor sensors device channel name location logger station source tag place room fridge "
    "cooler position parameter quantity measurement metric variable series"
)
_UNIT_MARKS = (
    re.compile(r"\u00b0\s*([fc])(?![^\W\d_])"),
    re.compile(r"(?<![^\W\d_])deg(?:rees?)?\.?[\s_]*([fc])(?![^\W\d_])"),
    re.compile(r"[(\[{]\s*\??([fc])\s*[)\]}]"),
    re.compile(r"(?<![^\W\d_])(f)ahrenheit"),
    re.compile(r"(?<![^\W\d_])(c)(?:elsius|entigrade)"),
    re.compile(r"[,/;:|]\s*([fc])\s*$"),
    re.compile(r"^\s*([fc])\s*$"),
)
_ZONE = re.compile(r"(?<![a-z])(?:utc|gmt)\s*([+-]\s*\d\d?(?::?\d\d)?)?(?![a-z])")


def _folded(title: str) -> str:
    text = re.sub(r"(?<=[a-z])(?=[A-Z])", " ", one_line(title).translate(_DEGREE_SIGNS))
    return unicodedata.normalize("NFKC", text).casefold()


def tokens(title: str) -> list[str]:
    """The words and numbers of a title, in small letters.

    >>> tokens("TempF"), tokens("Probe_1 (°C)")
    (['temp', 'f'], ['probe', '1', 'c'])
    """
    return re.findall(r"[^\W\d_]+|\d+", _folded(title))


def units_in(title: str) -> set[str]:
    """The units of temperature that a title names; a lone letter counts behind a temperature word only.

    >>> units_in("Temp_F"), units_in("Temperature (°C)"), units_in("Sensor C")
    ({'F'}, {'C'}, set())
    """
    text, words = _folded(title), tokens(title)
    found = {match[1].upper() for mark in _UNIT_MARKS for match in mark.finditer(text)}
    for before, word in pairwise(words):
        if word in ("f", "c") and _TEMPERATURE.fullmatch(before):
            found.add(word.upper())
    return found


def zone_in(title: str) -> int | None:
    """The offset to world time that a title names [min]; None where it names none.

    >>> zone_in("Date Time, GMT-05:00"), zone_in("Time (UTC)"), zone_in("Time")
    (-300, 0, None)
    """
    match = _ZONE.search(_folded(title))
    if match is None:
        return None
    return offset_minutes(match[1].replace(" ", "")) if match[1] else 0


def is_time(title: str) -> bool:
    """Whether a title names a date or time."""
    return not _TIME.isdisjoint(tokens(title))


def time_rank(title: str) -> int:
    """How well a title fits the local time of a reading; 0 is best."""
    words = set(tokens(title))
    if words & _LOCAL:
        return 0
    if words & _ELSEWHERE:
        return 3
    return 1 if words & _TIME else 2


def is_temperature(title: str) -> bool:
    """Whether a title names a temperature of the air, by a word or a unit."""
    named = any(map(_TEMPERATURE.fullmatch, tokens(title))) or bool(units_in(title))
    return named and not is_humidity(title) and not _is_other(title)


def _is_other(title: str) -> bool:
    return bool(_OTHER_TEMPERATURE.search(squash(title))) or not _EXTREME.isdisjoint(tokens(title))


def is_humidity(title: str) -> bool:
    """Whether a title names a relative humidity."""
    if "absolute" in tokens(title):
        return False
    return one_line(title).strip() in ("%", "(%)") or any(map(_HUMIDITY.fullmatch, tokens(title)))


def may_be_probe(title: str) -> bool:
    """Whether a column of numbers under a title that names no quantity may hold temperatures."""
    words = set(tokens(title))
    return not (words & _NO_PROBE or is_humidity(title) or _is_other(title))


def is_probe_name(title: str) -> bool:
    """Whether a column under this title may say which probe a row belongs to."""
    return not _PROBE_NAME.isdisjoint(tokens(title)) and not is_temperature(title)


def is_device(title: str) -> bool:
    """Whether a title names the number of a device."""
    return not {"id", "no", "nr", "number", "serial"}.isdisjoint(tokens(title))


def is_unit_title(title: str) -> bool:
    """Whether a column under this title says the unit of each row."""
    return squash(title) in ("unit", "units", "uom", "temperatureunit", "tempunit")


def probe_of(title: str) -> str:
    """The name of a probe in a title, squashed: without the quantity and its unit.

    >>> probe_of("Walk-in Temp (°F)"), probe_of("Walk-in RH %")
    ('walkin', 'walkin')
    """
    text = _folded(title)
    for mark in _UNIT_MARKS:
        text = mark.sub(" ", text)
    words = ["", *re.findall(r"[^\W\d_]+|\d+", text)]
    kept = [word for before, word in pairwise(words) if not _is_quantity(before, word)]
    return squash("".join(kept))


def _is_quantity(before: str, word: str) -> bool:
    """Whether a word names a quantity, or is the lone letter of a unit behind one."""
    if _TEMPERATURE.fullmatch(word) or _HUMIDITY.fullmatch(word) or word == "relative":
        return True
    return word in ("f", "c") and bool(_TEMPERATURE.fullmatch(before))
