"""What the bench page asks to be printed: a form, checked field by field."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass

from tagmaker.errors import UsageProblem

PAPERS = ("wraps", "crates", "checklist")
WHICH = ("new", "reprint")
MOST_TAGS = 600  # labels of one lot at a time: more is a slip of the finger (chosen)


@dataclass(frozen=True, slots=True, kw_only=True)
class Wish:
    """One paper to print."""

    paper: str  # one of PAPERS
    lot: str = ""  # lot code; empty: all lots
    which: str = ""  # "new" or "reprint" wrap labels of all lots
    tags: int | None = None  # wrap labels of the lot; None: one a bunch
    stock: str  # label stock
    first: int = 1  # first free label on the sheet


@dataclass(frozen=True, slots=True)
class Paper:
    """A printed paper."""

    pdf: bytes
    labels: int  # wrap labels on it
    next_label: int  # first free label of the last sheet


def read_wish(
    form: Mapping[str, str], lots: Mapping[str, object], stocks: Mapping[str, int], stock: str
) -> Wish:
    """The wish that a form asks for.

    Args:
        form: its fields, as anybody may have sent them
        lots: lot codes that may be printed
        stocks: label stocks and the labels on a sheet of each
        stock: the farm's, where the form names none

    Raises:
        UsageProblem: a field that no form of ours sends, or a number out of bounds.
    """
    paper, lot, which = form.get("paper", ""), form.get("lot", ""), form.get("which", "")
    stock = form.get("stock", stock)
    if paper not in PAPERS:
        raise UsageProblem(f"the paper must be one of {', '.join(PAPERS)}")
    if stock not in stocks:
        raise UsageProblem(f"the label stock must be one of {', '.join(stocks)}")
    if which and (which not in WHICH or paper != "wraps" or lot):
        raise UsageProblem("only the labels of all lots can be the new ones or those to reprint")
    if lot and lot not in lots:
        raise UsageProblem("the lot must be one of the sheet that has been cut")
    if paper != "checklist" and not lot and not which:
        raise UsageProblem("a lot must be named")
    tags = None
    if paper == "wraps" and lot and "tags" in form:
        tags = _whole(form["tags"], "how many tags", MOST_TAGS)
    first = _whole(form.get("first", "1"), f"the first free label of {stock}", stocks[stock])
    return Wish(paper=paper, lot=lot, which=which, tags=tags, stock=stock, first=first)


def _whole(text: str, what: str, most: int) -> int:
    """A whole number from 1 to `most`."""
    if not re.fullmatch(r"\s*[0-9]{1,6}\s*", text) or not 1 <= int(text) <= most:
        shown = re.sub(r"[^ -~]", "?", text[:12])
        raise UsageProblem(f'{what} must be a whole number from 1 to {most} (got "{shown}")')
    return int(text)
