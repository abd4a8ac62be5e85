"""The questions of `start`: how an answer is written, and what it makes of a beginning."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace

from tagmaker.errors import InputProblems, Problem
from tagmaker.intake.cells.plain_text import listed, one_line, shown, squash
from tagmaker.intake.settings.cells import plain_value
from tagmaker.intake.starter.beginning import Beginning, Table

USUAL_STOCK = {"letter": "letter-3x10", "a4": "a4-3x7"}
SET_POINT = {"F": "39F", "C": "4C"}  # proposed for the first cooler (common practice, no source)
_TEMPERATURE = re.compile(r"(.*?)[\s:]+([+-]?\d[\d.,]*\s*°?\s*[FCfc]?)")


@dataclass(frozen=True, slots=True)
class Question:
    """One question of `start`."""

    text: str
    default: Callable[[Beginning], str]  # what Enter takes
    take: Callable[[Beginning, str], Beginning]  # raises InputProblems where the answer will not do


def questions(stocks: Callable[[str], Sequence[str]], queues: Sequence[str] = ()) -> tuple[Question, ...]:
    """All questions, in order.

    Args:
        stocks: names of the label stocks for a size of paper
        queues: printers that the spooler knows; without any, none is asked for
    """

    def paper(beginning: Beginning) -> str:
        return str(beginning.farm["paper_size"])

    def labels(beginning: Beginning, answer: str) -> Beginning:
        found = [name for name in stocks("") if squash(name) == squash(answer)]
        if not found:
            what = f"labels must be {listed(stocks(''))} (got {shown(answer)})"
            raise InputProblems([Problem("labels", what, "tagmaker label-stocks draws them")])
        return _with_key("label_stock")(beginning, found[0])

    printer = Question(
        f"Printer at the bench: {listed(queues)}; or none, then papers open in the browser",
        lambda _: "none",
        lambda beginning, answer: _with_queue(beginning, answer, queues),
    )
    return (
        Question("Name of the farm, for the papers", lambda _: "", _with_key("farm")),
        Question("Temperatures in F or C", lambda _: "F", _with_key("units")),
        Question(
            "Paper: letter or a4",
            lambda so_far: "letter" if so_far.farm["units"] == "F" else "a4",
            _with_key("paper_size"),
        ),
        Question("Labels in the printer", lambda so_far: USUAL_STOCK[paper(so_far)], labels),
        Question(
            "Coolers, and what each is set to, like: walk-in 39; fridge 41",
            lambda so_far: f"walk-in {SET_POINT[str(so_far.farm['units'])]}",
            with_coolers,
        ),
        Question(
            "Where the flowers go: days, and vase days promised, like: shop: every day, 4; stall: Sat, 4",
            lambda _: "shop: every day, 4",
            with_uses,
        ),
        *([printer] if queues else ()),
    )


def _with_queue(beginning: Beginning, answer: str, queues: Sequence[str]) -> Beginning:
    """A beginning with the printer of an answer."""
    if squash(answer) in ("none", "no"):
        return beginning
    found = [queue for queue in queues if queue.casefold() == answer.strip().casefold()]
    if not found:
        what = f"the printer must be {listed((*queues, 'none'))} (got {shown(answer)})"
        raise InputProblems([Problem("printer", what, "Write one of them")])
    return replace(beginning, queue=found[0])


def _with_key(key: str) -> Callable[[Beginning, str], Beginning]:
    """What takes an answer for a key of the farm; a blank one leaves it out."""

    def take(beginning: Beginning, answer: str) -> Beginning:
        others = {name: value for name, value in beginning.farm.items() if name != key}
        if not answer.strip():
            return replace(beginning, farm=others)
        value: object = plain_value(key, answer, answer)
        if key in ("units", "paper_size"):
            value = {"f": "F", "c": "C"}.get(squash(answer), squash(answer) if key != "units" else answer)
        found = replace(beginning, farm={**others, key: value})
        found.check()
        return found

    return take


def with_coolers(beginning: Beginning, answer: str) -> Beginning:
    """A beginning with the coolers of an answer: "walk-in 39; fridge 41F"."""
    coolers: dict[str, Table] = {}
    for part in _parts(answer):
        match = _TEMPERATURE.fullmatch(part)
        name = match[1].strip() if match else part
        _check_new(name, coolers, "cooler")
        bare = match is not None and match[2].strip()[-1].isdigit()
        unit = str(beginning.farm.get("units", "")) if bare else ""  # said, so that it holds if units change
        coolers[name] = {"set_point": f"{match[2]}{unit}"} if match else {}
    found = replace(beginning, coolers=coolers)
    found.check()
    return found


def with_uses(beginning: Beginning, answer: str) -> Beginning:
    """A beginning with the outlets of an answer: "shop: every day, 4; stall: Sat, 2027-05-08, 4"."""
    uses: dict[str, Table] = {}
    for part in _parts(answer):
        name, colon, rest = part.partition(":")
        entries = [entry.strip() for entry in rest.split(",") if entry.strip()]
        if not colon or not entries:
            what = f"an outlet must have its name, a colon, its days and its vase days (got {shown(part)})"
            raise InputProblems([Problem("outlets", what, "Write it like stall: Sat, 4")])
        days, vase_days = ", ".join(entries[:-1]), entries[-1]
        _check_new(name.strip(), uses, "outlet")
        uses[name.strip()] = {
            "vase_days": plain_value("vase_days", vase_days, vase_days),
            **({"days": plain_value("days", days, days)} if days and squash(days) != "everyday" else {}),
        }
    found = replace(beginning, uses=uses)
    found.check()
    return found


def _parts(answer: str) -> list[str]:
    parts = [one_line(part) for part in answer.split(";") if part.strip()]
    if not parts:
        raise InputProblems([Problem("answer", "one at least must be named (got nothing)", "Name it")])
    return parts


def _check_new(name: str, known: Mapping[str, Table], what: str) -> None:
    if squash(name) in map(squash, known):
        fault = f"a {what} must be named once (got {shown(name)} again)"
        raise InputProblems([Problem(what, fault, "Give one of the two another name")])
