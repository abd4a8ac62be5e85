"""The figures of a crop as a farm's settings may give them: what each must be."""

from __future__ import annotations

import difflib
from collections.abc import Collection, Mapping

from tagmaker.errors import Problem
from tagmaker.lot import Stage, StorageCode

WAY_TABLES = {"dry": StorageCode.DRY, "water": StorageCode.WATER, "bulb": StorageCode.BULB}
REQUIRED = ("life_days", "cap_days", "fresh_days", "loss_days", "right_stage", "per_bucket")
TEXT = ("bud", "stem_end", "caution", "source", "note")
WHOLE = ("cap_days", "warm_cap_days", "stretch_days", "per_crate", "per_bucket")
YES_OR_NO = ("own_bucket", "always_test")
LEAST_WATER_HOURS = 6.0  # [h] in water after dry storage (common practice, no source)

# Figures a grower may set: name -> (least, most). Wider than any crop of the table, narrow
# enough to catch hours entered as days (chosen).
_RANGES: Mapping[str, tuple[float, float]] = {
    "life_days": (0.5, 120),
    "cap_days": (1, 120),
    "warm_cap_days": (1, 120),
    "stretch_days": (1, 120),
    "cautious_days": (0.5, 120),
    "fresh_days": (1, 60),
    "loss_days": (0, 60),
    "water_hours": (LEAST_WATER_HOURS, 48),
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


def checked(
    figures: Mapping[str, object], place: str, buds: Collection[str], problems: list[Problem]
) -> dict[str, object]:
    """The figures of one settings table, in the types of `Keeping`; faults go to `problems`.

    Args:
        figures: name -> value, as the settings have them; tables of single ways are left out.
        place: of the table, for messages.
        buds: kinds of bud that there are.
        problems: receives what is wrong.
    """
    values: dict[str, object] = {}
    for name, value in figures.items():
        if name in WAY_TABLES and isinstance(value, Mapping):
            continue
        try:
            values[name] = _figure(name, value, buds)
        except _UnfitError as unfit:
            problems.append(Problem(place, unfit.what, unfit.remedy))
    return values


def _figure(name: str, value: object, buds: Collection[str]) -> object:
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
    if name == "bud" and value not in buds:
        what = f"bud must be a kind of bud: {', '.join(buds)} (got {value!r})"
        raise _UnfitError(what, "Take the kind whose stages look alike.")
    if isinstance(value, bool if name in YES_OR_NO else str) and name in (*YES_OR_NO, *TEXT):
        return value
    names = [*_RANGES, *TEXT, *WAY_TABLES, *YES_OR_NO, "right_stage", "like"]
    nearest = difflib.get_close_matches(name, names, n=1, cutoff=0)[0]
    what = f"must be a figure of the crop table (got {name} = {value!r})"
    raise _UnfitError(what, f"The nearest known key is {nearest}.")


def _number(name: str, value: object) -> float | int:
    least, most = _RANGES[name]
    if not isinstance(value, int | float) or isinstance(value, bool) or not least <= value <= most:
        what = f"{name} must be a number from {least:g} to {most:g} (got {value!r})"
        raise _UnfitError(what, "Correct it, or leave it out for the built-in figure.")
    if name not in WHOLE:
        return float(value)
    if value != int(value):
        what = f"{name} must be a whole number (got {value!r})"
        raise _UnfitError(what, "Round it to the careful side.")
    return int(value)
