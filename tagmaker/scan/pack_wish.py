"""What the bench page to pack asks for, and what it shows: forms, checked field by field."""

from __future__ import annotations

import re
from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime

from tagmaker.errors import UsageProblem
from tagmaker.telling.pack_words import PackedWords

MOST = 20_000  # bunches
ASK_LETTERS = 120  # of a question (chosen)
_NAME = re.compile(r"PACK\.(\d{4})(\d\d)(\d\d)\.\d{4}\.([A-Z0-9.-]*)", re.ASCII)


@dataclass(frozen=True, slots=True, kw_only=True)
class PackAsked:
    """A departure that is asked about."""

    use: str
    day: date
    bunches: int | None = None  # in all; None: what is kept, ordered and usually sold


@dataclass(frozen=True, slots=True, kw_only=True)
class CameRow:
    """A lot of which bunches were kept for a departure that is over."""

    code: str
    page: str
    name: str
    bunches: int  # that were kept
    told: str = ""  # what was entered of it already


@dataclass(frozen=True, slots=True, kw_only=True)
class PackShown:
    """What is shown of a departure."""

    packed: Sequence[PackedWords]
    to_keep: bool  # something of it is not kept yet
    came: Sequence[CameRow] = ()  # once it has left
    is_over: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Came:
    """What came of a lot at a departure: bunches."""

    asked: PackAsked
    lot: str
    sold: int | None  # None: not said
    back: int | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Packing:
    """What the page needs; each may raise TagmakerError, and those that write return what is then shown."""

    show: Callable[[PackAsked, bool], PackShown]  # with the notes of orders or without
    answer: Callable[[str], Sequence[str]]  # to a question
    keep: Callable[[PackAsked, str, str], tuple[object, str]]  # id of the form, device; and what is said
    came: Callable[[Came, str, str], tuple[object, str]]  # likewise


def read_asked(form: Mapping[str, str], uses: Collection[str]) -> PackAsked | None:
    """The departure that a form asks for; None: none yet.

    Raises:
        UsageProblem: a field that no form of ours sends, or a number out of bounds.
    """
    use, day, bunches = form.get("use", ""), form.get("day", ""), form.get("bunches", "").strip()
    if not use and not day:
        return None
    if use not in uses:
        raise UsageProblem("the outlet must be one of the settings")
    if bunches and not (re.fullmatch(r"\d{1,5}", bunches, re.ASCII) and 1 <= int(bunches) <= MOST):
        shown = re.sub(r"[^ -~]", "?", bunches[:12])
        raise UsageProblem(f'bunches must be a whole number from 1 to {MOST:,} (got "{shown}")')
    try:
        return PackAsked(use=use, day=date.fromisoformat(day), bunches=int(bunches) if bunches else None)
    except ValueError:
        raise UsageProblem("the day must be chosen") from None


def read_came(form: Mapping[str, str], asked: PackAsked) -> list[Came]:
    """What a list says of SOLD and BACK, lot by lot; lots of which nothing is said are left out.

    Raises:
        UsageProblem: a number that is none.
    """
    lots = [re.fullmatch(r"(?:sold|back)-([A-Z0-9-]{1,12})", name, re.ASCII) for name in form]
    found = []
    for lot in dict.fromkeys(match[1] for match in lots if match is not None):
        sold, back = (_number(form.get(f"{word}-{lot}", ""), lot) for word in ("sold", "back"))
        if sold is not None or back is not None:
            found.append(Came(asked=asked, lot=lot, sold=sold, back=back))
    return found


def _number(text: str, lot: str) -> int | None:
    if not text.strip():
        return None
    if not re.fullmatch(r"\s*\d{1,5}\s*", text, re.ASCII) or int(text) > MOST:
        shown = re.sub(r"[^ -~]", "?", text[:12])
        raise UsageProblem(f'bunches of {lot} must be a whole number (got "{shown}")')
    return int(text)


def page_day(name: str) -> tuple[datetime, str] | None:
    """The day and the outlet's part of a pack sheet's code; None: it is none."""
    found = _NAME.fullmatch(name.strip().upper())
    if found is None:
        return None
    try:
        return datetime(int(found[1]), int(found[2]), int(found[3])), found[4]
    except ValueError:
        return None
