"""The crop table: what is known of each crop, form and way of keeping it.

The figures stand in `crops.csv` beside this file, one row per crop, form and way, each with its
source; a farm's settings may change any of them or add a crop. A crop whose figures are not all
there is refused with what to set, never guessed.
"""

from __future__ import annotations

import csv
import difflib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, fields, replace
from functools import cache
from importlib import resources

from tagmaker.errors import InputProblems, Problem
from tagmaker.lot import Stage, StorageCode

SYNONYMS: Mapping[str, str] = {
    "daffodil": "narcissus",
    "jonquil": "narcissus",
    "dutch iris": "iris",
    "antirrhinum": "snapdragon",
    "matthiola": "stock",
    "eustoma": "lisianthus",
    "paeonia": "peony",
    "lilium": "lily",
    "helianthus": "sunflower",
    "gladiola": "gladiolus",
    "windflower": "anemone",
    "buttercup": "ranunculus",
    "roses": "rose",
    "lilies": "lily",
    "peonies": "peony",
    "tulips": "tulip",
}

_WAY_TABLES = {"dry": StorageCode.DRY, "water": StorageCode.WATER, "bulb": StorageCode.BULB}
_REQUIRED = ("life_days", "cap_days", "fresh_days", "loss_days", "right_stage", "per_bucket")
_TEXT = ("stem_end", "caution", "source", "note")
_WHOLE = ("cap_days", "stretch_days", "per_crate", "per_bucket")


@dataclass(frozen=True, slots=True, kw_only=True)
class Keeping:
    """One crop and form, kept one way."""

    crop: str
    form: str = ""  # empty where the crop has no forms
    code: StorageCode
    life_days: float  # [d] storage life at 0 °C
    cap_days: int  # [d] calendar days from the cut that are never passed
    stretch_days: int | None = None  # [d] calendar days an order of few vase days may reach
    cautious_days: float | None = None  # [d] the lower published figure, held up to 4.4 °C
    fresh_days: float  # [d] vase life of fresh stems
    loss_days: float  # [d] vase life lost over a full stay
    right_stage: Stage  # the stage to cut at
    water_hours: float = 8.0  # [h] in water before the departure; 0 for stems kept in water
    opening_hours: float = 0.0  # [h] at room temperature to open
    per_crate: int | None = None  # stems; None: not kept in crates
    per_bucket: int  # stems
    never_below_c: float | None = None  # [°C] chilling limit
    freezes_c: float = -1.7  # [°C] freezing point of the flower
    stem_end: str = "recut"  # what to do with the stem end before water
    own_bucket: bool = False  # never shares its water
    caution: str = ""  # key of the caution in the templates, empty for none
    source: str = ""
    note: str = ""

    @property
    def title(self) -> str:
        """Crop and form as one name: 'tulip double'."""
        return f"{self.crop} {self.form}".strip()


class CropTable:
    """All keepings of a farm, looked up by crop, form and storage code."""

    def __init__(self, keepings: Iterable[Keeping]) -> None:
        self._ways: dict[tuple[str, str], dict[StorageCode, Keeping]] = {}
        for keeping in keepings:
            self._ways.setdefault((keeping.crop, keeping.form), {})[keeping.code] = keeping
        self._forms: dict[str, list[str]] = {}
        for crop, form in self._ways:
            self._forms.setdefault(crop, []).append(form)

    @property
    def crops(self) -> tuple[str, ...]:
        """Names of all crops, in the table's order."""
        return tuple(self._forms)

    @property
    def keepings(self) -> tuple[Keeping, ...]:
        """Every row of the table."""
        return tuple(keeping for ways in self._ways.values() for keeping in ways.values())

    def find(self, word: str) -> str | None:
        """The crop that a word of the sheet means, by name or trade synonym; None if unknown.

        >>> crop_table().find(" Daffodil ")
        'narcissus'
        """
        name = " ".join(word.lower().split())
        name = SYNONYMS.get(name, name)
        return name if name in self._forms else None

    def nearest(self, word: str) -> tuple[str, ...]:
        """Up to three known crop names that look most like an unknown word."""
        names = {**dict.fromkeys(self._forms), **SYNONYMS}
        hits = difflib.get_close_matches(word.lower().strip(), list(names), n=3, cutoff=0.5)
        return tuple(dict.fromkeys(SYNONYMS.get(hit, hit) for hit in hits))

    def forms(self, crop: str) -> tuple[str, ...]:
        """Forms of a crop; empty where it has none."""
        return tuple(form for form in self._forms.get(crop, ()) if form)

    def shortest_form(self, crop: str) -> str:
        """The form with the shortest fresh vase life: what a blank form is dated as."""
        forms = self._forms[crop]
        return min(forms, key=lambda form: min(way.fresh_days for way in self.ways(crop, form)))

    def ways(self, crop: str, form: str) -> tuple[Keeping, ...]:
        """The ways to keep a crop and form; the first is what the tool chooses by itself."""
        return tuple(self._ways.get((crop, form), {}).values())

    def keeping(self, crop: str, form: str, code: StorageCode) -> Keeping | None:
        """One way of keeping a crop and form; None where the crop is not kept that way."""
        return self._ways.get((crop, form), {}).get(code)


@cache
def _packaged() -> tuple[Keeping, ...]:
    text = resources.files("tagmaker.storage").joinpath("crops.csv").read_text(encoding="utf-8")
    return tuple(_keeping_of_row(row) for row in csv.DictReader(text.splitlines()))


def _keeping_of_row(row: Mapping[str, str]) -> Keeping:
    values: dict[str, object] = {
        "crop": row["crop"],
        "form": row["form"],
        "code": StorageCode(row["way"]),
        "right_stage": Stage[row["right_stage"].upper()],
        "own_bucket": row["own_bucket"] == "yes",
    }
    for name, text in row.items():
        if name in values or name == "way" or text == "":
            continue
        values[name] = text if name in _TEXT else int(text) if name in _WHOLE else float(text)
    return Keeping(**values)  # type: ignore[arg-type]  # checked by the table's own test


def crop_table(overrides: Mapping[str, object] | None = None, where: str = "tagmaker.toml") -> CropTable:
    """The packaged table with a farm's `[crops]` settings laid over it.

    Args:
        overrides: `[crops]` of the settings: "tulip double" -> figures for all its ways, with
            sub-tables `dry`, `water` and `bulb` for figures of one way.
        where: the settings file, for messages.

    Raises:
        InputProblems: a key is unknown, a figure is out of range, or a new crop lacks figures.
    """
    keepings = {(k.crop, k.form, k.code): k for k in _packaged()}
    problems: list[Problem] = []
    for title, figures in (overrides or {}).items():
        place = f'{where}, [crops."{title}"]'
        if not isinstance(figures, Mapping):
            what = f"must be a table of figures (got {figures!r})"
            problems.append(Problem(place, what, f'Write [crops."{title}"] and the figures below it.'))
            continue
        for keeping in _overridden(title, figures, CropTable(keepings.values()), place, problems):
            keepings[keeping.crop, keeping.form, keeping.code] = keeping
    if problems:
        raise InputProblems(problems)
    return CropTable(keepings.values())


def _overridden(
    title: str, figures: Mapping[str, object], table: CropTable, place: str, problems: list[Problem]
) -> list[Keeping]:
    crop, form = _crop_and_form(title, table)
    shared = _checked(figures, place, problems)
    per_way = {
        _WAY_TABLES[name]: _checked(part, f"{place}.{name}", problems)
        for name, part in figures.items()
        if name in _WAY_TABLES and isinstance(part, Mapping)
    }
    known = {k.code: k for f in _forms_meant(crop, form, table) for k in table.ways(crop, f)}
    if not known and not per_way:
        what = "must say how the crop is kept"
        problems.append(Problem(place, what, _missing_remedy(title, _REQUIRED)))
        return []
    result = [
        replace(k, **_fitting(k.code, {**shared, **per_way.get(k.code, {})}))  # type: ignore[arg-type]
        for f in _forms_meant(crop, form, table)
        for k in table.ways(crop, f)
    ]
    base = table.ways(crop, form)
    for code, values in per_way.items():
        if code in known:
            continue
        inherited = {f.name: getattr(base[0], f.name) for f in fields(Keeping)} if base else {}
        values = {**inherited, **shared, **values, "crop": crop, "form": form, "code": code}
        missing = [name for name in _REQUIRED if name not in values]
        if missing:
            what = f"a crop kept {code} must have figures for {', '.join(missing)}"
            problems.append(Problem(place, what, _missing_remedy(title, missing)))
            continue
        result.append(Keeping(**_fitting(code, values)))  # type: ignore[arg-type]
    return result


def _fitting(code: StorageCode, values: Mapping[str, object]) -> dict[str, object]:
    """The figures that a way takes: stems kept in water need no hours in water."""
    return {**values, "water_hours": 0.0} if code is StorageCode.WATER else dict(values)


def _crop_and_form(title: str, table: CropTable) -> tuple[str, str]:
    """Split 'tulip double' into a known crop and its form; a new crop is taken as it stands."""
    words = title.split()
    for count in range(len(words), 0, -1):
        crop = table.find(" ".join(words[:count]))
        if crop:
            form = " ".join(words[count:])
            known = {known.lower(): known for known in table.forms(crop)}
            return crop, known.get(form.lower(), form.lower())
    return " ".join(words).lower(), ""


def _forms_meant(crop: str, form: str, table: CropTable) -> tuple[str, ...]:
    """The forms that a settings entry changes: one, or all of a crop named without a form."""
    if form or not table.forms(crop):
        return (form,)
    return table.forms(crop)


def _missing_remedy(title: str, missing: Iterable[str]) -> str:
    return (
        f'Set {", ".join(missing)} below [crops."{title}"] or below [crops."{title}".dry] or '
        f'[crops."{title}".water]; take them from a source you trust or from your own trials.'
    )


# Figures a grower may set: name -> (least, most). Wider than any crop of the table, narrow
# enough to catch hours entered as days (chosen).
_RANGES: Mapping[str, tuple[float, float]] = {
    "life_days": (0.5, 120),
    "cap_days": (1, 120),
    "stretch_days": (1, 120),
    "cautious_days": (0.5, 120),
    "fresh_days": (1, 60),
    "loss_days": (0, 60),
    "water_hours": (6, 48),  # never under 6 h in water after dry storage (common practice, no source)
    "opening_hours": (0, 120),
    "per_crate": (1, 5000),
    "per_bucket": (1, 5000),
    "never_below_c": (-2, 15),
    "freezes_c": (-5, 5),
}


class _UnfitError(ValueError):
    """A figure that cannot be taken: what it must be, and what to do."""

    def __init__(self, what: str, remedy: str) -> None:
        super().__init__(what)
        self.what, self.remedy = what, remedy


def _checked(figures: Mapping[str, object], place: str, problems: list[Problem]) -> dict[str, object]:
    """The figures of one settings table, in the types of `Keeping`; faults go to `problems`."""
    values: dict[str, object] = {}
    for name, value in figures.items():
        if name in _WAY_TABLES and isinstance(value, Mapping):
            continue
        try:
            values[name] = _figure(name, value)
        except _UnfitError as unfit:
            problems.append(Problem(place, unfit.what, unfit.remedy))
    return values


def _figure(name: str, value: object) -> object:
    """One figure of a settings table, checked."""
    if name in _RANGES:
        return _number(name, value)
    if name == "right_stage":
        stages = {stage.word: stage for stage in Stage}
        if value not in stages:
            *words, last = stages
            what = f"right_stage must be {', '.join(words)} or {last} (got {value!r})"
            raise _UnfitError(what, "Write one of these words.")
        return stages[str(value)]
    if (name == "own_bucket" and isinstance(value, bool)) or (name in _TEXT and isinstance(value, str)):
        return value
    names = [*_RANGES, *_TEXT, *_WAY_TABLES, "right_stage", "own_bucket"]
    nearest = difflib.get_close_matches(name, names, n=1, cutoff=0)[0]
    what = f"must be a figure of the crop table (got {name} = {value!r})"
    raise _UnfitError(what, f"The nearest known key is {nearest}.")


def _number(name: str, value: object) -> float | int:
    least, most = _RANGES[name]
    if not isinstance(value, int | float) or isinstance(value, bool) or not least <= value <= most:
        what = f"{name} must be a number from {least:g} to {most:g} (got {value!r})"
        raise _UnfitError(what, "Correct it, or leave it out for the built-in figure.")
    if name not in _WHOLE:
        return float(value)
    if value != int(value):
        what = f"{name} must be a whole number (got {value!r})"
        raise _UnfitError(what, "Round it to the careful side.")
    return int(value)
