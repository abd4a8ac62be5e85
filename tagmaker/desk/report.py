"""Computed dates for the terminal and as JSON: one shape each, no calculation."""

from __future__ import annotations

import json
import math
from collections.abc import Iterable, Sequence
from dataclasses import asdict
from datetime import datetime
from typing import Any

from tagmaker.desk.overview import Overview
from tagmaker.lot import OrderDates, Plan, StorageDates, Verdict
from tagmaker.storage.room import Overfull, RoomDay
from tagmaker.telling.agenda import next_task
from tagmaker.telling.deadlines import WaterWord, selling_told, water_told
from tagmaker.telling.overflow import overflow_note
from tagmaker.telling.parts import rest_state
from tagmaker.telling.teller import Teller
from tagmaker.telling.wording import Wording


def as_json_text(found: Overview, teller: Teller) -> str:
    """Everything that `dates` knows, as one JSON text."""
    wording = teller.wording
    content: dict[str, Any] = {
        "problems": [{"where": p.where, "what": p.what, "remedy": p.remedy} for p in found.problems],
        "lots": [_lot(dates, _said(found, dates, wording), teller) for dates in found.lots],
        "planned": [_plan(plan, wording) for plan in found.plans],
        "room": [_room(day) for day in found.rooms],
        "overfull": [_overfull(run) for run in found.overfull],
        "reprint": found.reprint,
        "could_say_more": found.say_more,
    }
    return json.dumps(content, ensure_ascii=False, indent=1, allow_nan=False)


def _said(found: Overview, dates: StorageDates, wording: Wording) -> list[str]:
    """The warnings of a lot as sentences."""
    return [wording.say(note) for note in found.warnings.get(dates.lot.lot_code, ())]


def _moment(moment: datetime | None) -> str | None:
    return None if moment is None else f"{moment:%Y-%m-%dT%H:%M}"


def _lot(dates: StorageDates, warnings: Sequence[str], teller: Teller) -> dict[str, Any]:
    return {
        "lot": dates.lot.lot_code,
        "crop": dates.lot.crop,
        "code": dates.code.value,
        "kept": dates.kept.value,
        "state": dates.state.value,
        "marks": [mark.value for mark in dates.marks],
        "next": _next(dates, teller),
        "keeps_until": _moment(dates.keeps_until),
        "sell_by": _moment(dates.sell_by),
        "sell_by_use": dates.sell_by_use,
        "elsewhere": [[use, _moment(moment)] for use, moment in dates.elsewhere],
        "into_water_by": _moment(dates.into_water_by),
        "ready_from": _moment(dates.ready_from),
        "out_by": _moment(dates.out_by),
        "test_first": dates.test_first,
        "life_used": round(dates.life_used, 3) if math.isfinite(dates.life_used) else None,
        "vase_days": None if dates.vase_days is None else [round(days, 1) for days in dates.vase_days],
        "early": _moment(dates.early),
        "late": _moment(dates.late),
        "cautious_sell_by": _moment(dates.cautious_sell_by),
        "left": dates.left,
        "orders": [_order(order) for order in dates.orders],
        "why": teller.wording.say(dates.why),
        "warnings": list(warnings),
    }


def _next(dates: StorageDates, teller: Teller) -> dict[str, Any] | None:
    """The lot's next task; None: nothing is to be done."""
    task = next_task(dates, teller.farm, teller.now)
    if task is None:
        return None
    return {
        "kind": task.kind.value,
        "by": _moment(task.by),
        "now": task.now,
        "bunches": task.bunches,
        "order": _moment(task.order.leaves) if task.order else None,
        "cooler": task.cooler,
        "words": _next_words(dates, teller),
    }


def _next_words(dates: StorageDates, teller: Teller) -> str:
    say, task = teller.wording.macros("agenda.j2"), next_task(dates, teller.farm, teller.now)
    return "-" if task is None else str(say.next(task=task))


def _order(order: OrderDates) -> dict[str, Any]:
    return {
        "leaves": _moment(order.leaves),
        "stems": order.stems,
        "use": order.use,
        "ok": order.ok,
        "too_late": order.verdict is Verdict.TOO_LATE,
        "test_first": order.test_first,
        "into_water_by": _moment(order.into_water_by),
    }


def _plan(plan: Plan, wording: Wording) -> dict[str, Any]:
    return {
        "lot": plan.lot.lot_code,
        "crop": plan.lot.crop,
        "needed": _moment(plan.needed),
        "advice": None if plan.advice is None else plan.advice.value,
        "test_first": plan.test_first,
        "stage": plan.stage.word,
        "ways": {
            code.value: {"first_cut": f"{window.first_cut}", "last_cut": f"{window.last_cut}"}
            for code, window in plan.ways.items()
        },
        "why": wording.say(plan.why),
    }


def _room(day: RoomDay) -> dict[str, Any]:
    return {
        "cooler": day.cooler,
        "day": f"{day.day}",
        "crates": day.crates,
        "buckets": day.buckets,
        "fill": None if day.fill is None else round(day.fill, 2),
        "overflow": list(day.overflow),
    }


def _overfull(run: Overfull) -> dict[str, Any]:
    return {**asdict(run), "first": f"{run.first}", "last": f"{run.last}"}


def as_table(found: Overview, teller: Teller) -> str:
    """Everything that `dates` knows, to be read on a terminal."""
    wording = teller.wording
    words = wording.macros("dates-table.j2")
    lines = [words.reprint(paper=paper, lots=codes) for paper, codes in found.reprint.items()]
    lines += [words.say_more(paper=paper, lots=codes) for paper, codes in found.say_more.items()]
    heads = [
        words.heading(column=column) if column != "next" else words.next_heading() for column in _COLUMNS
    ]
    rows = [tuple(heads)]
    rows += [_row(dates, words, teller) for dates in found.lots]
    lines += list(_aligned(rows)) if found.lots else [words.no_lots()]
    for dates in found.lots:
        lines += ["", f"{dates.lot.lot_code}  {wording.say(dates.why)}"]
        if dates.why_into_water is not None:
            lines.append(f"    {words.into_water(why=wording.say(dates.why_into_water))}")
        lines += [f"    ! {sentence}" for sentence in _said(found, dates, wording)]
    if found.plans:
        lines += ["", words.planned()]
        lines += [f"{plan.lot.lot_code}  {plan.lot.crop}: {wording.say(plan.why)}" for plan in found.plans]
    if found.overfull:
        lines += ["", words.room(), *(wording.say(overflow_note(run)) for run in found.overfull)]
    return "\n".join(lines)


_COLUMNS = ("lot", "code", "state", "into_water_by", "sell_by", "vase_days", "left", "next", "marks")


def _row(dates: StorageDates, words: Any, teller: Teller) -> tuple[str, ...]:
    wording = teller.wording
    say = wording.macros("agenda.j2")
    water = water_told(dates, None, teller.now)
    into_water = "-" if water is None else words.in_water()
    if water is not None and water.word is WaterWord.NOW:
        into_water = words.water_now()
    elif water is not None and water.word is WaterWord.BY and water.moment is not None:
        into_water = wording.moment(water.moment)
    selling = selling_told(dates, None, teller.farm.workday, teller.now)
    sell_by = "-" if selling.moment is None else f"{wording.moment(selling.moment)} {selling.use}".rstrip()
    vase = "-" if dates.vase_days is None else f"{int(dates.vase_days[0])}-{int(dates.vase_days[1])}"
    return (
        dates.lot.lot_code,
        dates.code.value,
        say.state(state=rest_state(dates, teller.now).value),
        into_water,
        sell_by,
        vase,
        "-" if dates.left is None else str(dates.left),
        _next_words(dates, teller),
        ", ".join(say.mark(mark=mark.value, on=None) for mark in dates.marks),
    )


def _aligned(rows: Sequence[tuple[str, ...]]) -> Iterable[str]:
    widths = [max(len(row[column]) for row in rows) for column in range(len(rows[0]))]
    for row in rows:
        yield "  ".join(cell.ljust(width) for cell, width in zip(row, widths, strict=True)).rstrip()
