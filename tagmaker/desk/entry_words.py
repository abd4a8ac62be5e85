"""An entry in words, as it is typed: "sold 3 bunches", "into water 4 for 2027-04-24", "moved to south".

Amounts are bunches unless stems are said; what is kept is stems.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from datetime import datetime

from tagmaker.errors import UsageProblem
from tagmaker.farm import Farm
from tagmaker.intake.cells import lists
from tagmaker.intake.cells import readers as cells
from tagmaker.intake.cells.moments import order_moment
from tagmaker.intake.cells.plain_text import one_line, shown, squash, typed
from tagmaker.intake.cells.reading import Reading
from tagmaker.intake.cells.unfit import UnfitCellError
from tagmaker.intake.cells.words import STAGES, STORAGES
from tagmaker.intake.columns import COLUMNS
from tagmaker.lot import Lot
from tagmaker.record.journal.entries import Kind, Topic
from tagmaker.record.journal.rows import said
from tagmaker.storage.crops import CropTable

EXAMPLES = (
    '"sold 3 bunches", "thrown out 2 mould", "into water", "into water 4 for 2027-04-24 stall", '
    '"moved to south, rack 2", "moved 4 to south", "out 12 for stall", "back 5", "count 7", "more 2", '
    '"dried", "tested ok", "mould", "kept 3 for 2027-04-24 stall", "cut 120 stems tight", "planned water", '
    '"planned 60 bulb on", '
    '"renamed 104A", "note ask Ada", "settle water sheet", "new crop tulip; stems 60", "undo"'
)
BULBS = {"bulbon": "on", "bulb": "on", "bulboff": "off", "nobulb": "off"}  # squashed words of a plan
_AMOUNT = r"(?P<number>all|\d{1,5})\b\s*(?P<unit>bunch(?:es)?|bu|stems?|st)?\b\.?"


@dataclass(frozen=True, slots=True)
class Said:
    """What was typed, understood."""

    kind: Kind
    stems: int | None = None
    cooler: str = ""
    place: str = ""
    details: dict[str, object] = field(default_factory=dict)
    part: bool = False  # its stems become a lot of their own, or come back as one
    undoes: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Context:
    """What words are understood with."""

    farm: Farm
    crops: CropTable
    now: datetime
    lot: Lot | None  # as it is now; None: it cannot be read, or is not there yet
    cooler: str = ""  # where it stands

    def stems(self, match: re.Match[str]) -> tuple[int, bool]:
        """The stems that are meant, and whether it is all there are.

        The last bunch may be short: as many bunches as are left are what is left.
        """
        number, unit = match["number"], match["unit"] or "bunch"
        left = self.lot.left if self.lot is not None else None
        if number == "all":
            if left is None:
                raise UsageProblem(
                    "all must be a number where it is not known what is left. Write the stems."
                )
            return left, True
        if not unit.startswith("b") or not int(number):
            return int(number), False
        if self.lot is None:
            raise UsageProblem(
                f'the amount must be in stems, as the lot cannot be read (got {number}): "30 stems".'
            )
        stems = int(number) * self.lot.per_bunch
        if left is not None and left < stems < left + self.lot.per_bunch:
            stems = left
        return stems, False


def understood(text: str, about: Context) -> Said:
    """What an entry says.

    Raises:
        UsageProblem: it cannot be read; names what can be.
    """
    line = typed(one_line(text)).strip(" .")
    for pattern, reader in _READERS:
        match = re.fullmatch(pattern, line, re.IGNORECASE)
        if match:
            try:
                return reader(match, about)
            except UnfitCellError as unfit:
                found = "" if unfit.complete else f" (got {shown(text)})"
                raise UsageProblem(f"the entry must name {unfit.must}{found}. {unfit.remedy}") from None
    raise UsageProblem(f"an entry must be words like {EXAMPLES} (got {shown(text)})")


# --- one reader for each form ------------------------------------------------------------------------------


def _amount(kind: Kind, detail: str = "") -> Callable[[re.Match[str], Context], Said]:
    """Sold, thrown out, counted, cut later: so many, with a word more."""

    def read(match: re.Match[str], about: Context) -> Said:
        stems, everything = about.stems(match)
        details: dict[str, object] = {"all": True} if everything and kind is not Kind.COUNT else {}
        words = match.groupdict().get("words") or ""
        if detail and words:
            details[detail] = words
        return Said(kind, stems, details=details)

    return read


def _into_water(match: re.Match[str], about: Context) -> Said:
    if match["number"] is None or (match["number"] == "all" and not match["when"]):
        return Said(Kind.INTO_WATER)
    stems, _ = about.stems(match)
    details: dict[str, object] = {}
    if match["when"]:
        leaves, use = _departure(match["when"], about)
        details = {"leaves": said(leaves), "use": use}
    return Said(Kind.INTO_WATER, stems, details=details, part=True)


def _departure(text: str, about: Context) -> tuple[datetime, str]:
    uses = about.farm.uses
    (order, *more) = lists.orders(
        text, Reading.begin(about.farm, about.crops, about.now).dates("needed"), uses
    )
    if more:
        raise UsageProblem(f"one departure must be named (got {shown(text)})")
    use = order.use or (about.lot.use if about.lot is not None else next(iter(uses)))
    return order_moment(order.when, uses[use].leaves), use


def _moved(match: re.Match[str], about: Context) -> Said:
    name, _, place = (part.strip() for part in match["where"].partition(","))
    try:
        cooler = cells.name_among(name, about.farm.coolers, "cooler")
    except UnfitCellError as unfit:
        if place or not about.cooler or unfit.remedy.startswith("The nearest"):
            raise
        cooler, place = about.cooler, name  # "moved to rack 2": within its cooler
    place = cells.name_text(place)
    if re.search(r"[;\n]|\d[-/.]\d", place):
        raise UnfitCellError(
            f"a place without ; and without a date (got {shown(place)})", "Say it in words.", complete=True
        )
    if match["number"] is None or match["number"] == "all":
        return Said(Kind.MOVED, cooler=cooler, place=place)
    stems, _ = about.stems(match)
    return Said(Kind.MOVED, stems, cooler, place, part=True)


def _out(match: re.Match[str], about: Context) -> Said:
    stems, everything = about.stems(match)
    details: dict[str, object] = {"all": True} if everything else {}
    if match["use"]:
        details["use"] = cells.name_among(match["use"], about.farm.uses, "use")
    if match["warm"]:
        cells.field_temperature(match["warm"], about.farm.units)
        details["temperature"] = match["warm"].replace(" ", "")
    return Said(Kind.OUT, stems, details=details)


def _back(match: re.Match[str], about: Context) -> Said:
    cooler = about.cooler
    if match["where"]:
        cooler = cells.name_among(match["where"], about.farm.coolers, "cooler")
    stems, _ = (0, False) if match["number"] in ("0", "none") else about.stems(match)
    return Said(Kind.CAME_BACK, stems, cooler, part=stems > 0)


def _tested(match: re.Match[str], _: Context) -> Said:
    word = squash(match["found"] or "")
    if word in STAGES:
        return Said(Kind.TESTED, details={"found": STAGES[word].word})
    return Said(Kind.TESTED, details={"found": word})


def _kept(match: re.Match[str], about: Context) -> Said:
    leaves, use = _departure(match["when"], about)
    details: dict[str, object] = {"leaves": said(leaves), "use": use}
    if match["order"]:
        details["order"] = match["order"]
    return Said(Kind.KEPT, about.stems(match)[0], details=details)


def _cut(match: re.Match[str], about: Context) -> Said:
    stems, _ = about.stems(match)
    given = {"cut": said(about.now), "stems": str(stems)}
    if match["stage"]:
        given["stage"] = cells.stage(match["stage"]).word
    return Said(Kind.CUT, stems, details={"cells": given})


def _planned(match: re.Match[str], about: Context) -> Said:
    given: dict[str, str] = {}
    for word in re.split(r"[,;]", match["words"]):
        if squash(word) in BULBS:
            given["bulb"] = BULBS[squash(word)]
            continue
        if squash(word) in STORAGES:
            given["storage"] = STORAGES[squash(word)].value.lower()
            continue
        for column, names in (("cooler", about.farm.coolers), ("use", about.farm.uses)):
            try:
                given[column] = cells.name_among(word, names, column)
                break
            except UnfitCellError as unfit:
                fault = unfit
        else:
            raise UnfitCellError(
                f"dry, water, bulb on, bulb off, a use or a cooler (got {shown(word)})",
                fault.remedy,
                complete=True,
            )
    if match["number"] is None:
        return Said(Kind.PLANNED, details={"cells": given})
    return Said(Kind.PLANNED, about.stems(match)[0], details={"cells": given}, part=True)


def _given(match: re.Match[str]) -> dict[str, str]:
    """Cells as "column text; column text"."""
    names = sorted((column.name for column in COLUMNS), key=len, reverse=True)
    found = {}
    for part in match["cells"].split(";"):
        name = next((n for n in names if re.match(rf"{n}\b", part.strip(), re.IGNORECASE)), None)
        if name is None:
            raise UsageProblem(f'cells must be like "crop tulip; stems 60" (got {shown(part)})')
        found[name] = part.strip()[len(name) :].strip(" :=")
    return found


def _new(match: re.Match[str], _: Context) -> Said:
    return Said(Kind.NEW_LOT, details={"cells": _given(match)})


def _corrected(match: re.Match[str], _: Context) -> Said:
    return Said(Kind.CORRECTED, details={"cells": _given(match)})


def _settled(match: re.Match[str], _: Context) -> Said:
    return Said(
        Kind.SETTLE, details={"topic": Topic(match["topic"].lower()).value, "take": match["side"].lower()}
    )


def _plain(kind: Kind, detail: str = "") -> Callable[[re.Match[str], Context], Said]:
    """A kind that says it all, with a word more where it has one."""
    return lambda match, _: Said(kind, details={detail: match["words"]} if detail else {})


def _renamed(match: re.Match[str], _: Context) -> Said:
    return Said(Kind.RENAMED, details={"code": cells.lot_code(match["code"])})


def _undo(match: re.Match[str], _: Context) -> Said:
    return Said(Kind.UNDO, undoes=int(match["entry"]) if match["entry"] else None)


_FOR = r"(?:\s+for\s+(?P<words>.+))?"
_READERS: tuple[tuple[str, Callable[[re.Match[str], Context], Said]], ...] = (
    (rf"sold\s+{_AMOUNT}{_FOR}", _amount(Kind.SOLD, "order")),
    (
        rf"(?:thrown?|threw|dumped)(?:\s+(?:out|away))?\s+{_AMOUNT}(?:[,:]?\s+(?P<words>.+))?",
        _amount(Kind.THROWN_OUT, "why"),
    ),
    (rf"(?:put\s+)?in(?:to)?\s+water(?:\s+{_AMOUNT}(?:\s+for\s+(?P<when>.+))?)?", _into_water),
    (rf"moved?(?:\s+{_AMOUNT})?\s+(?:to\s+)?(?P<where>[^\d\s].*)", _moved),
    (rf"out\s+{_AMOUNT}(?:\s+for\s+(?P<use>.+?))?(?:\s+at\s+(?P<warm>-?\d+\s*°?\s*[CF]?))?", _out),
    (rf"(?:came\s+)?back\s+{_AMOUNT.replace('all', 'all|none')}(?:\s+(?:in)?to\s+(?P<where>.+))?", _back),
    (rf"(?:count(?:ed)?|left)\s+{_AMOUNT}(?:\s+left)?", _amount(Kind.COUNT)),
    (rf"(?:cut\s+)?more\s+{_AMOUNT}", _amount(Kind.MORE)),
    (r"dried", _plain(Kind.DRIED)),
    (r"tested(?:\s+(?P<found>ok|bad|opened|green|tight|half|coloured|colored|open))?", _tested),
    (r"mou?ld(?:\s+seen)?", _plain(Kind.MOULD)),
    (rf"kept?\s+{_AMOUNT}\s+for\s+(?P<when>.+?)(?:\s+order\s+(?P<order>\S+))?", _kept),
    (rf"cut\s+{_AMOUNT}(?:[,]?\s+(?P<stage>\w+))?", _cut),
    (rf"planned(?:\s+{_AMOUNT})?\s+(?P<words>.+)", _planned),
    (r"new\s+(?P<cells>.+)", _new),
    (r"corrected\s+(?P<cells>.+)", _corrected),
    (r"renamed?(?:\s+to)?\s+(?P<code>\S+)", _renamed),
    (r"note:?\s+(?P<words>.+)", _plain(Kind.NOTE, "text")),
    (r"settle\s+(?P<topic>water|place|tests|plan)\s+(?P<side>sheet|journal)", _settled),
    (r"undo(?:\s+(?P<entry>\d+))?", _undo),
)


def cells_of(details: Mapping[str, object]) -> dict[str, str]:
    """The cells that are given with an entry."""
    given = details.get("cells")
    return dict(given) if isinstance(given, Mapping) else {}
