"""The crop table as text for the terminal: what there is, how it is kept, and where its figures are from."""

from __future__ import annotations

import textwrap
from collections.abc import Callable, Iterator, Sequence
from typing import Any

from tagmaker.errors import UsageProblem
from tagmaker.lot import StorageCode
from tagmaker.storage.ageing import rate
from tagmaker.storage.crops import WARM_CAP_C, CropTable, Keeping
from tagmaker.telling.wording import Wording

TEMPLATE = "crop-list.j2"
FRIDGE_C = 5.0  # [°C] the warmer end of how growers run their coolers: 41 °F (common practice, no source)
WIDTH = 100  # letters of a line
INDENT = "    "


def crop_list(crops: CropTable, wording: Wording) -> str:
    """Every crop in a line: its ways with their most days, and the stage to cut at."""
    say = wording.macros(TEMPLATE)
    rows = [tuple(str(say.heading(column=column)) for column in ("crop", "ways", "cut"))]
    for crop in crops.crops:
        ways = crops.ways(crop, (crops.forms(crop) or ("",))[0])
        first = ways[0]
        told = f"{first.right_stage.word}: {first.stages[first.right_stage]}"
        if first.like:
            told += f"; {say.like(crop=first.like)}"
        rows.append((crop, ", ".join(f"{way.code} {way.cap_days}" for way in ways), told))
    widths = [max(len(row[column]) for row in rows) for column in range(2)]
    lines = (f"{crop:{widths[0]}}  {ways:{widths[1]}}  {cut}" for crop, ways, cut in rows)
    return "\n".join([*lines, "", say.ask()])


def crop_story(word: str, crops: CropTable, wording: Wording) -> str:
    """One crop: its stages in words, and for each way its figures with their origin.

    Raises:
        UsageProblem: there is no such crop; the message names the nearest and how to add one.
    """
    crop = crops.find(word)
    if crop is None:
        raise UsageProblem(f"NAME must be a known crop (got {word[:40]!r}). {crops.remedy(word)}")
    return "\n".join(_story(crop, crops, wording.macros(TEMPLATE)))


def _story(crop: str, crops: CropTable, say: Any) -> Iterator[str]:
    forms = crops.forms(crop) or ("",)
    by_way = {way.code: [way] for way in crops.ways(crop, forms[0])}
    for form in forms[1:]:
        for way in crops.ways(crop, form):
            by_way.setdefault(way.code, []).append(way)
    (first, *_), *_ = by_way.values()
    yield f"{crop}{f': {say.like(crop=first.like)}' if first.like else ''}"
    if crops.forms(crop):
        yield say.forms(names=crops.forms(crop))
    yield from ("", say.stages())
    for stage, phrase in first.stages.items():
        yield f"{INDENT}{stage.word:10}{phrase}{f'  {say.right()}' if stage is first.right_stage else ''}"
    for code, ways in by_way.items():
        yield from ("", say.way(code=code.value, first=ways[0] is first and len(by_way) > 1))
        yield from _way(ways, say)


def _way(ways: Sequence[Keeping], say: Any) -> Iterator[str]:
    """The figures of one way; where the forms differ in one, each form's."""

    def each(figure: Callable[[Keeping], float | None]) -> str:
        values = {way.form: figure(way) for way in ways}
        if len(set(values.values())) == 1:
            return "" if figure(ways[0]) is None else f"{figure(ways[0]):g}"
        return ", ".join(f"{form} {value:g}" for form, value in values.items() if value is not None)

    first = ways[0]
    figures = {
        "life": say.life(
            freezing=each(lambda way: way.life_days),
            fridge=each(lambda way: round(way.life_days / rate(FRIDGE_C), 1)),
        ),
        "cap": say.cap(
            days=each(lambda way: way.cap_days),
            warm=each(lambda way: way.warm_cap_days),
            warm_c=WARM_CAP_C,
            stretched=each(lambda way: way.stretch_days),
        ),
        "cautious": say.cautious(days=each(lambda way: way.cautious_days)) if first.cautious_days else "",
        "fresh": say.fresh(days=each(lambda way: way.fresh_days)),
        "loss": say.loss(days=each(lambda way: way.loss_days)),
        "water": say.water(hours=each(lambda way: way.water_hours)) if first.water_hours else "",
        "opening": say.opening(hours=each(lambda way: way.opening_hours)) if first.opening_hours else "",
        "room": say.room(
            crate="" if first.code is StorageCode.WATER else each(lambda way: way.per_crate),
            bucket=each(lambda way: way.per_bucket),
        ),
        "cold": say.cold(freezes_c=first.freezes_c, never_below_c=first.never_below_c),
    }
    for name, text in figures.items():
        if text:
            yield f"{INDENT}{say.label(figure=name):18}{text}"
    if first.always_test:
        yield f"{INDENT}{say.always_test()}"
    for source in dict.fromkeys(way.source for way in ways if way.source):
        yield from _wrapped(say.origin(source=source))
    for note in dict.fromkeys(way.note for way in ways if way.note):
        yield from _wrapped(say.note(text=note))


def _wrapped(text: str) -> list[str]:
    return textwrap.wrap(text, WIDTH, initial_indent=INDENT, subsequent_indent=2 * INDENT)
