"""What a form at the crate says: checked field by field, and put into words as typed at the keyboard."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from tagmaker.errors import TagmakerError, UsageProblem

TEXT_LETTERS = 300  # of a note or a reason (chosen)
MOST = 20_000  # of any amount
# The cells that a new lot is given at the bench.
NEW_CELLS = (
    *(
        "crop",
        "variety",
        "form",
        "colour",
        "cut",
        "stage",
        "stems",
        "per bunch",
        "bulb",
        "storage",
        "surface",
    ),
    *("cooler", "place", "use", "note"),
)
AT_COOLER = frozenset({"reading", "mould here"})  # kinds of what is seen at a cooler
WHEN = ("now", "1h", "morning")


@dataclass(frozen=True, slots=True, kw_only=True)
class Tap:
    """One tap."""

    id: str  # minted where it was tapped: the same id is the same entry
    lot: str  # "": it is about a cooler
    cooler: str = ""
    words: str  # as they are typed
    when: str = "now"  # one of WHEN
    age_s: float | None = None  # [s] that it waited in the phone; None: it comes at once
    seen: int | None = None  # last entry of the lot that its page showed


@dataclass(frozen=True, slots=True, kw_only=True)
class Taken:
    """A tap that was taken down."""

    shown: Any  # what is shown from now on: a `live.Shown`
    number: int  # of the entry
    lot: str  # whose page shows it
    said: str  # one line
    recorded: datetime


class NotTaken(TagmakerError):
    """A tap that was refused: nothing was recorded; the text says why."""


def read_tap(form: Mapping[str, str]) -> Tap:
    """The tap of a form.

    Args:
        form: its fields, as anybody may have sent them

    Raises:
        UsageProblem: a field that no form of ours sends, or an amount that is none.
    """
    name, lot, kind = form.get("id", ""), form.get("lot", "").strip().upper(), form.get("kind", "")
    when, age, seen = form.get("when", "now"), form.get("age", ""), form.get("seen", "")
    if not re.fullmatch(r"[\w-]{16,64}", name, re.ASCII):
        raise UsageProblem("the form must carry its id")
    cooler = _text(form, "at") if kind in AT_COOLER else ""
    if not cooler and not re.fullmatch(r"[A-Z0-9-]{1,12}", lot, re.ASCII):
        raise UsageProblem("the form must name a lot")
    if kind not in _WORDS or when not in WHEN:
        raise UsageProblem("the form must say what happened, and when")
    if age and not re.fullmatch(r"-?\d{1,9}", age, re.ASCII):
        raise UsageProblem("the age of an entry must be a number of seconds")
    return Tap(
        id=name,
        lot="" if cooler else lot,
        cooler=cooler,
        words=_WORDS[kind](form),
        when=when,
        age_s=float(age) if age else None,
        seen=int(seen) if re.fullmatch(r"\d{1,9}", seen, re.ASCII) else None,
    )


def _amount(form: Mapping[str, str]) -> str:
    """Bunches, stems or all: the number that was typed, else the button that was chosen."""
    number = form.get("many", "").strip() or form.get("n", "")
    if number == "all":
        return number
    if not re.fullmatch(r"\d{1,5}", number, re.ASCII) or int(number) > MOST:
        raise UsageProblem(f'how many must be a whole number, or ALL (got "{_shown(number)}")')
    return f"{int(number)} {'stems' if form.get('unit') == 'stems' else 'bunches'}"


def _text(form: Mapping[str, str], field: str) -> str:
    text = " ".join(form.get(field, "").split())
    if len(text) > TEXT_LETTERS or not text.isprintable():
        raise UsageProblem(f"a text must be at most {TEXT_LETTERS} letters, on one line")
    return text


def _shown(text: str) -> str:
    return re.sub(r"[^ -~]", "?", text[:12])


def _after(word: str, text: str) -> str:
    return f" {word} {text}".replace("  ", " ") if text else ""


def _into_water(form: Mapping[str, str]) -> str:
    amount, leaves = _amount(form), _text(form, "leaves")
    return "into water" if amount == "all" and not leaves else f"into water {amount}{_after('for', leaves)}"


def _moved(form: Mapping[str, str]) -> str:
    amount, cooler, place = _amount(form), _text(form, "cooler"), _text(form, "place")
    some = "" if amount == "all" else f"{amount} "
    return f"moved {some}to {cooler}{', ' if place else ''}{place}"


def _back(form: Mapping[str, str]) -> str:
    amount = _amount(form)
    return "back none" if amount.startswith("0 ") else f"back {amount}"


def _one_of(word: str, field: str, choices: str) -> Callable[[Mapping[str, str]], str]:
    def read(form: Mapping[str, str]) -> str:
        chosen = form.get(field, "")
        if not re.fullmatch(choices, chosen):
            raise UsageProblem(f'{field} must be one of the choices (got "{_shown(chosen)}")')
        return f"{word} {chosen}".strip()

    return read


def _new(form: Mapping[str, str]) -> str:
    cells = {name: _text(form, name) for name in NEW_CELLS}
    if any(";" in text for text in cells.values()):
        raise UsageProblem("a cell of a new lot must be without ;")
    return "new " + "; ".join(f"{name} {text}" for name, text in cells.items() if text)


_WORDS: Mapping[str, Callable[[Mapping[str, str]], str]] = {
    "sold": lambda form: f"sold {_amount(form)}",
    "thrown out": lambda form: f"thrown out {_amount(form)}{_after('', _text(form, 'why'))}",
    "into water": _into_water,
    "moved": _moved,
    "count": lambda form: f"count {_amount(form)}",
    "out": lambda form: f"out {_amount(form)}{_after('for', _text(form, 'use'))}",
    "back": _back,
    "more": lambda form: f"more {_amount(form)}",
    "cut": lambda form: f"cut {_amount(form)}{_after('', _text(form, 'stage'))}",
    "tested": _one_of("tested", "found", "ok|bad|opened|green|tight|half|coloured|open"),
    "settle": lambda form: (
        f"settle {_one_of('', 'topic', 'water|place|tests|plan')(form)} "
        + _one_of("", "take", "sheet|journal")(form)
    ),
    "dried": lambda _: "dried",
    "mould": lambda _: "mould",
    "reading": lambda form: f"lowest {_text(form, 'low')} highest {_text(form, 'high')}",
    "mould here": _one_of("", "found", "mould|no mould"),
    "new": _new,
    "note": lambda form: f"note {_text(form, 'text')}",
    "undo": _one_of("undo", "entry", r"\d{1,9}"),
}
