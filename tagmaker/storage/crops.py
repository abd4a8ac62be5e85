"""The crop table: what is known of each crop, form and way of keeping it.

The figures stand in `crops.csv` beside this file, one row per crop, form and way, each with its
source, and what the stages of its kind of bud look like in `stages.csv`; a farm's settings may change
any figure or add a crop, with figures of its own or those of another crop (`like`). A crop whose
figures are not all there is refused with what to set, never guessed.
"""

from __future__ import annotations

import csv
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, fields, replace
from functools import cache
from importlib import resources

from tagmaker.errors import InputProblems, Problem
from tagmaker.lot import Stage, StorageCode
from tagmaker.storage import crop_names
from tagmaker.storage.crop_figures import REQUIRED, TEXT, WAY_TABLES, WHOLE, YES_OR_NO, checked

WARM_CAP_C = 2.0  # [°C] warmer than this a crop's `warm_cap_days` holds (chosen)


@dataclass(frozen=True, slots=True, kw_only=True)
class Keeping:
    """One crop and form, kept one way."""

    crop: str
    form: str = ""  # empty where the crop has no forms
    code: StorageCode
    life_days: float  # [d] storage life at 0 °C
    cap_days: int  # [d] calendar days from the cut that are never passed
    warm_cap_days: int | None = None  # [d] the cap in a cooler not known to hold `WARM_CAP_C`
    stretch_days: int | None = None  # [d] calendar days an order of few vase days may reach
    cautious_days: float | None = None  # [d] the lower published figure, held up to 4.4 °C
    fresh_days: float  # [d] vase life of fresh stems
    loss_days: float  # [d] vase life lost over a full stay
    right_stage: Stage  # the stage to cut at
    bud: str = "bud"  # kind of bud: a row of stages.csv
    water_hours: float = 8.0  # [h] in water before the departure; 0 for stems kept in water
    opening_hours: float = 0.0  # [h] at room temperature to open
    per_crate: int | None = None  # stems; None: not kept in crates
    per_bucket: int  # stems
    never_below_c: float | None = None  # [°C] chilling limit
    freezes_c: float = -1.7  # [°C] freezing point of the flower
    stem_end: str = "trim stem ends"  # what to do with the stem end before water
    own_bucket: bool = False  # never shares its water
    always_test: bool = False  # hardly tried: a bunch is opened before any departure
    like: str = ""  # the crop and form whose figures these are; empty where they are its own
    caution: str = ""  # key of the caution in the templates, empty for none
    source: str = ""
    note: str = ""

    @property
    def title(self) -> str:
        """Crop and form as one name: 'tulip double'."""
        return f"{self.crop} {self.form}".strip()

    @property
    def stages(self) -> Mapping[Stage, str]:
        """What each stage looks like, to be held against the bud: 'first colour shows on a green bud'."""
        return _stages()[self.bud]


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
        name = crop_names.meant(word)
        return name if name in self._forms else None

    def nearest(self, word: str) -> tuple[str, ...]:
        """Up to three known crop names that look most like an unknown word."""
        return crop_names.nearest(word, self.crops)

    def remedy(self, word: str) -> str:
        """What to do about a word that is no crop of the table: the nearest, and how to add one."""
        return crop_names.remedy(word, self.crops)

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


def read_keepings(text: str) -> tuple[Keeping, ...]:
    """The rows of a crop table as csv; columns that it lacks keep their usual values.

    Args:
        text: a header of `Keeping`'s fields, `way` for the storage code, and a row a crop, form and way.
    """
    return tuple(_keeping_of_row(row) for row in csv.DictReader(text.splitlines()))


def _beside(name: str) -> str:
    return resources.files("tagmaker.storage").joinpath(name).read_text(encoding="utf-8")


@cache
def _packaged() -> tuple[Keeping, ...]:
    return read_keepings(_beside("crops.csv"))


@cache
def _stages() -> Mapping[str, Mapping[Stage, str]]:
    """Kind of bud -> stage -> what it looks like."""
    rows = csv.DictReader(_beside("stages.csv").splitlines())
    return {row["bud"]: {stage: row[stage.word] for stage in Stage} for row in rows}


def _keeping_of_row(row: Mapping[str, str]) -> Keeping:
    values: dict[str, object] = {"code": StorageCode(row["way"])}
    for name, text in row.items():
        if name == "way" or text == "":
            continue
        if name == "right_stage":
            values[name] = Stage[text.upper()]
        elif name in YES_OR_NO:
            values[name] = text == "yes"
        elif name in ("crop", "form", *TEXT):
            values[name] = text
        else:
            values[name] = int(text) if name in WHOLE else float(text)
    return Keeping(**values)  # type: ignore[arg-type]  # checked by the table's own test


def crop_table(overrides: Mapping[str, object] | None = None, where: str = "tagmaker.toml") -> CropTable:
    """The packaged table with a farm's `[crops]` settings laid over it.

    Args:
        overrides: `[crops]` of the settings: "tulip double" -> figures for all its ways, with
            sub-tables `dry`, `water` and `bulb` for figures of one way, and `like` for the figures of
            another crop.
        where: the settings file, for messages.

    Raises:
        InputProblems: a key is unknown, a figure is out of range, or a new crop lacks figures.
    """
    keepings = {(k.crop, k.form, k.code): k for k in _packaged()}
    problems: list[Problem] = []
    settings = (overrides or {}).items()
    # What is like another crop comes last: it takes the farm's own figures of that one.
    for title, figures in sorted(
        settings, key=lambda entry: isinstance(entry[1], Mapping) and "like" in entry[1]
    ):
        place = f'{where}, [crops."{title}"]'
        if not isinstance(figures, Mapping):
            what = f"must be a table of figures (got {figures!r})"
            problems.append(Problem(place, what, f'Write [crops."{title}"] and the figures below it.'))
            continue
        own = {name: value for name, value in figures.items() if name != "like"}
        if "like" in figures:
            liked = _liked(title, figures["like"], CropTable(keepings.values()), place, problems)
            if not liked:
                continue
            keepings |= {(k.crop, k.form, k.code): k for k in liked}
        for keeping in _overridden(title, own, CropTable(keepings.values()), place, problems):
            keepings[keeping.crop, keeping.form, keeping.code] = keeping
    if problems:
        raise InputProblems(problems)
    return CropTable(keepings.values())


def _liked(
    title: str, other: object, table: CropTable, place: str, problems: list[Problem]
) -> tuple[Keeping, ...]:
    """The ways of a crop that nobody has figures for: those of the crop that it is like, never stretched."""
    crop, form = _crop_and_form(title, table)
    found, found_form = _crop_and_form(str(other), table)
    if not found_form and table.forms(found):
        found_form = table.shortest_form(found)
    ways = table.ways(found, found_form)
    if table.ways(crop, form):
        what = f"must be a crop without figures of its own (got like = {other!r})"
        problems.append(Problem(place, what, f"Take like out: {title} has figures; change single ones here."))
        return ()
    if not ways or ways[0].like:
        what = f"like must be a crop that has figures of its own (got {other!r})"
        near = ", ".join(table.nearest(str(other)))
        problems.append(Problem(place, what, f"The nearest is {near}." if near else "Run: tagmaker crops"))
        return ()
    own = {"crop": crop, "form": form, "like": ways[0].title, "source": "chosen by the farm"}
    without = {"stretch_days": None, "caution": "", "note": ""}
    return tuple(replace(way, **own, **without) for way in ways)  # type: ignore[arg-type]


def _overridden(
    title: str, figures: Mapping[str, object], table: CropTable, place: str, problems: list[Problem]
) -> list[Keeping]:
    crop, form = _crop_and_form(title, table)
    shared = checked(figures, place, _stages(), problems)
    per_way = {
        WAY_TABLES[name]: checked(part, f"{place}.{name}", _stages(), problems)
        for name, part in figures.items()
        if name in WAY_TABLES and isinstance(part, Mapping)
    }
    known = {k.code: k for f in _forms_meant(crop, form, table) for k in table.ways(crop, f)}
    if not known and not per_way:
        what = "must say how the crop is kept"
        problems.append(Problem(place, what, _missing_remedy(title, REQUIRED)))
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
        missing = [name for name in REQUIRED if name not in values]
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
        if crop and (count == len(words) or table.forms(crop)):  # "lily of the valley" is no lily
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
        f'[crops."{title}".water]; take them from a source you trust or from your own trials. Or write '
        'like = "…", a crop that keeps as it does.'
    )
