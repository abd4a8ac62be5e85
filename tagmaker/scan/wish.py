"""What the bench page asks to be printed: a form, checked field by field, and what comes of it."""

from __future__ import annotations

import re
from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from tagmaker.errors import TagmakerError, UsageProblem
from tagmaker.farm import CARD_NAMES
from tagmaker.scan.pack_wish import PackAsked, read_asked

LABELS = ("wraps", "buyers")  # papers that are printed on label stock
OF_LOTS = (*LABELS, "crates")  # papers of a lot, or of all
PAPERS = (*OF_LOTS, "checklist", "pack-sheet", "cooler-report", "test-page")
WHICH = ("new", "reprint", "reprint-all")
ALL = "all"  # what the buttons for a paper of all lots send
MOST_WEEKS = 8  # of a checklist (chosen: longer than anything is stored)
CARDS = "reprint-cards"  # what the button for the crate cards of all lots sends
MOST_TAGS = 600  # labels of one lot at a time: more is a slip of the finger (chosen)


@dataclass(frozen=True, slots=True, kw_only=True)
class Wish:
    """One paper to print."""

    form: str  # id of the form: the same form with the same fields is one printing
    paper: str  # one of PAPERS
    lot: str = ""  # lot code; empty: all lots
    which: str = ""  # one of WHICH, of all lots
    tags: int | None = None  # wrap labels of the lot; None: one a bunch
    stock: str  # label stock
    first: int = 1  # first free label on the sheet
    offered: int = 1  # what the form showed as the first free label
    another: bool = False  # another sheet than the one printed last is in the printer
    card: str = ""  # kind of crate card; empty: the farm's
    weeks: int = 1  # of the checklist
    blank: bool = False  # the checklist without lots
    pack: PackAsked | None = None  # departure of the pack sheet
    fed: str = ""  # printer of the settings whose corrections the test page is printed with; empty: none
    printer: str = ""  # of the settings, at which it is to be printed; empty: it is handed to the phone


@dataclass(frozen=True, slots=True, kw_only=True)
class Paper:
    """A printed paper."""

    pdf: bytes
    labels: int  # wrap labels on it
    is_sent: bool  # to a printer; otherwise it is to be handed over
    keep: Callable[[], None]  # it was handed over: it counts
    drop: Callable[[], None]  # it was not: nothing of it counts
    old_cards: Sequence[str] = ()  # lots whose crate cards say something else than these labels


@dataclass(frozen=True, slots=True, kw_only=True)
class LastPaper:
    """What the bench printed last."""

    number: int
    moment: datetime  # local time of the farm
    paper: str  # "wraps" or "crates"
    pieces: int  # labels or cards
    lots: Sequence[str]  # lot codes
    is_undone: bool
    is_asked: bool  # whether all came out is still to be asked, of this browser


@dataclass(frozen=True, slots=True, kw_only=True)
class StockDrawing:
    """A page of a label stock, to be drawn to scale."""

    words: str  # how many labels of what size on what paper
    width: float  # [mm] of the page
    height: float  # [mm]
    labels: Sequence[tuple[float, float, float, float]]  # [mm] left, top, width, height


@dataclass(frozen=True, slots=True, kw_only=True)
class Corrections:
    """What makes a printer's test page right, from its lines: across, down, left, top [mm]."""

    offset_x: float  # [mm]
    offset_y: float  # [mm]
    scale_x: float
    scale_y: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Ledger:
    """The record of what was printed, as the bench uses it; each looks into the file itself."""

    free: Callable[[], Mapping[str, int]]  # label stock -> first free label of the sheet printed last
    last: Callable[[str], LastPaper | None]  # of a browser that has not said yet what came out, else of all
    answer: Callable[[int, int | None], None]  # number of a printing -> pieces that came out; None: all


class LabelTaken(TagmakerError):
    """The first label that was asked for is printed on."""

    def __init__(self, free: int) -> None:
        """Take the first free one."""
        super().__init__(f"the first free label is {free}")
        self.free = free


class PrintedBefore(TagmakerError):
    """The form was printed before, and its paper is no longer at hand."""


def read_wish(
    form: Mapping[str, str],
    lots: Mapping[str, object],
    stocks: Mapping[str, int],
    stock: str,
    printers: Collection[str] = (),
    known: Collection[str] = (),
) -> Wish:
    """The wish that a form asks for.

    Args:
        form: its fields, as anybody may have sent them
        lots: lot codes that may be printed
        stocks: label stocks and the labels on a sheet of each
        stock: the farm's, where the form names none
        printers: at which the bench may print
        known: every printer of the settings

    Raises:
        UsageProblem: a field that no form of ours sends, or a number out of bounds.
    """
    paper, lot, which = form.get("paper", ""), form.get("lot", ""), form.get("which", "")
    stock, printer, name = form.get("stock", stock), form.get("to", ""), form.get("form", "")
    if which == CARDS:
        paper, which = "crates", "reprint"
    if not re.fullmatch(r"[\w-]{16,64}", name, re.ASCII):
        raise UsageProblem("the form must carry its id")
    if paper not in PAPERS:
        raise UsageProblem(f"the paper must be one of {', '.join(PAPERS)}")
    if stock not in stocks:
        raise UsageProblem(f"the label stock must be one of {', '.join(stocks)}")
    if printer and printer not in printers:
        raise UsageProblem("the printer must be one of the settings that has a queue")
    if which == ALL and not lot and paper in ("buyers", "crates"):
        which = ""
    elif paper in OF_LOTS and not lot and not which:
        raise UsageProblem("a lot must be named")
    tags_alone = lot or paper not in ("wraps", "crates") or (which == "new" and paper != "wraps")
    if which and (which not in WHICH or tags_alone):
        raise UsageProblem("only the tags of all lots can be the new ones or those to reprint")
    if lot and lot not in lots:
        raise UsageProblem("the lot must be one of the sheet that has been cut")
    tags = None
    if paper == "wraps" and lot and "tags" in form:
        tags = _whole(form["tags"], "how many labels", MOST_TAGS)
    first = _whole(form.get("first", "1"), f"the first free label of {stock}", stocks[stock])
    more = _more(form, paper, known)
    return Wish(
        form=name,
        paper=paper,
        lot=lot,
        which=which,
        tags=tags,
        stock=stock,
        first=first,
        offered=_offered(form.get("free", ""), stock),
        another=form.get("another", "") == "1",
        printer=printer,
        **more,
    )


def _more(form: Mapping[str, str], paper: str, known: Collection[str]) -> dict[str, Any]:
    """What some papers have of their own."""
    if paper == "crates":
        card = form.get("card", "")
        if card and card not in CARD_NAMES:
            raise UsageProblem(f"the kind of crate card must be one of {', '.join(CARD_NAMES)}")
        return {"card": card}
    if paper == "checklist":
        if form.get("blank", "") == "1":
            return {"blank": True}
        return {"weeks": _whole(form.get("weeks", "1"), "the weeks of a checklist", MOST_WEEKS)}
    if paper == "pack-sheet":
        asked = read_asked(form, [form.get("use", "")])
        if asked is None:
            raise UsageProblem("an outlet and a day must be chosen")
        return {"pack": asked}
    if paper == "test-page":
        fed = form.get("fed", "")
        if fed and fed not in known:
            raise UsageProblem("the printer must be one of the settings")
        return {"fed": fed}
    return {}


def said_free(free: Mapping[str, int]) -> str:
    """The first free labels, as a form sends back what it showed."""
    return " ".join(f"{stock}:{label}" for stock, label in free.items() if label > 1)


def _offered(said: str, stock: str) -> int:
    shown = dict(re.findall(r"(\S+):([0-9]{1,6})(?=\s|$)", said))
    return int(shown.get(stock, 1))


def _whole(text: str, what: str, most: int) -> int:
    """A whole number from 1 to `most`."""
    if not re.fullmatch(r"\s*[0-9]{1,6}\s*", text) or not 1 <= int(text) <= most:
        shown = re.sub(r"[^ -~]", "?", text[:12])
        raise UsageProblem(f'{what} must be a whole number from 1 to {most} (got "{shown}")')
    return int(text)
