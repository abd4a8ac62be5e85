"""Printed tags: what they say, which bunches have one, and which of them must go.

Pure: it is handed the lines of the record (`printings`) and the dates as they are now.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from enum import Enum
from typing import Literal

from tagmaker.lot import Lot, OrderDates, StorageCode, StorageDates
from tagmaker.telling.bunches import bunches_of
from tagmaker.telling.readiness import is_wet

Paper = Literal["wraps", "crates"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Printed:
    """Tags of one lot that were printed together and say the same: one line of the record."""

    moment: datetime  # local time of the farm
    paper: Paper
    lot_code: str
    order: datetime | None = None  # departure of the part order they are for; None: the lot's own
    count: int  # wrap labels, one a bunch, or crate cards; 0: the slip of a wet lot, which tags no bunch
    code: StorageCode
    sell_by: datetime | None  # as printed; None: no date
    into_water_by: datetime | None  # as printed; None: it stands in water, or no date
    keeps_until: datetime | None = None  # as printed on a card; None: it does not say
    promised: Mapping[datetime, int] | None = None  # bunches a departure, as a card told; None: not noted
    replaces: bool = True  # in place of every earlier tag of the lot; False: for bunches that had none
    taken: int = 0  # stems of the lot that were sold, dumped or split off by then
    printing: int = 0  # lines with the same number were printed together; given by the record

    @property
    def pieces(self) -> int:
        """Labels or cards that came out for it, the slip of a wet lot among them."""
        return self.count or 1


class Stale(Enum):
    """What is wrong with printed tags."""

    MUST_GO = "must go"  # they promise more than the dates do, give a later deadline, or lack an order
    COULD_SAY_MORE = "could say more"  # they hold, and new ones would say something else


def printed_now(
    paper: Paper,
    dates: StorageDates,
    count: int,
    now: datetime,
    *,
    order: OrderDates | None = None,
    replaces: bool = True,
) -> Printed:
    """The line for tags that are printed from these dates.

    Args:
        paper: what was printed
        dates: of the lot
        count: tags or cards
        now: local time of the farm
        order: the part order that they are for
        replaces: whether earlier tags of the lot make way; False where only bunches without one get theirs
    """
    code, sell_by, into_water_by = _says(dates, order)
    on_card = paper == "crates"
    return Printed(
        moment=now,
        paper=paper,
        lot_code=dates.lot.lot_code,
        order=None if order is None else order.leaves,
        count=0 if paper == "wraps" and is_wet(dates) else count,
        code=code,
        sell_by=sell_by,
        into_water_by=into_water_by,
        keeps_until=dates.keeps_until if on_card else None,
        promised=_promised(dates) if on_card else None,
        replaces=replaces,
        taken=_taken(dates.lot),
    )


def by_lot(lines: Iterable[Printed]) -> Mapping[str, Sequence[Printed]]:
    """The lines of each lot; an empty sequence for a lot that has none."""
    found: defaultdict[str, list[Printed]] = defaultdict(list)
    for line in lines:
        found[line.lot_code].append(line)
    return found


# --- which bunches have a label ----------------------------------------------------------------------------


def tags_printed(lines: Iterable[Printed], lot: Lot) -> int:
    """Bunches of a lot that are still there and carry a wrap label, true or not.

    Labels that a later printing replaced count no more, and what was sold, dumped or split off is taken
    to have been labelled.
    """
    bunches = lot.bunches_left
    return (
        sum(line.count for line in _in_force(lines, lot)) if bunches is None else bunches - _bare(lines, lot)
    )


def missing(lines: Iterable[Printed], dates: StorageDates) -> int:
    """Wrap labels of a lot that were never printed: its new bunches, where stems were added.

    A wet lot has one slip in place of labels. A lot whose stems are unknown is missing none.
    """
    if dates.left is None or dates.left <= 0:
        return 0
    if is_wet(dates):
        return 0 if any(line.count == 0 for line in _in_force(lines, dates.lot)) else 1
    return _bare(lines, dates.lot)


def _bare(lines: Iterable[Printed], lot: Lot) -> int:
    """Bunches left without a label, counted in stems so that a short bunch that is filled up needs no second.

    Each label is good for a full bunch; what was taken since it was printed took its label along.
    """
    labelled = taken = 0  # stems
    for line in _in_force(lines, lot):
        labelled = max(labelled - max(line.taken - taken, 0), 0) + line.count * lot.per_bunch
        taken = line.taken
    labelled -= max(_taken(lot) - taken, 0)
    bare = (lot.left or 0) - max(labelled, 0)
    return max(-(-bare // lot.per_bunch), 0)


def _taken(lot: Lot) -> int:
    return lot.gone + lot.dumped + lot.split_off


def _in_force(lines: Iterable[Printed], lot: Lot) -> list[Printed]:
    """The lines of a lot that no later printing replaced.

    Codes come back next season: what was printed before the day of the cut was for another lot.
    """
    return last_printed(
        line for line in lines if line.lot_code == lot.lot_code and line.moment.date() >= lot.cut.date()
    )


def last_printed(lines: Iterable[Printed]) -> list[Printed]:
    """The lines of one lot, in the order of printing, that no later printing replaced."""
    force: list[Printed] = []
    for line in lines:
        if line.replaces and force and force[-1].printing != line.printing:
            force.clear()
        force.append(line)
    return force


# --- which tags are stale ----------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Standing:
    """Tags that are in use, against what would be printed now."""

    line: Printed
    stale: Stale | None = None


def stale(lines: Iterable[Printed], dates: StorageDates) -> Stale | None:
    """The worst that is wrong with the tags of a lot on one paper; None where nothing is, or none is left.

    All tags count since the last printing that replaced the earlier ones: after labels for a few new bunches
    the older ones are as wrong as before. Of bunches that may have left, their tags may have left with them.
    """
    if (dates.left is not None and dates.left <= 0) or dates.lot.may_have_left is not None:
        return None
    found = {tag.stale for tag in standing(lines, dates)}
    return next((kind for kind in Stale if kind in found), None)


def standing(lines: Iterable[Printed], dates: StorageDates) -> tuple[Standing, ...]:
    """The tags of a lot on one paper that no later printing replaced, each against the dates as they are now.

    Tags of a part order are compared with that order, or with the lot's own dates once it is no longer to
    come. Where an order came later, the tags with the lot's own dates must go: its bunches are among them.
    """
    force = _in_force(lines, dates.lot)
    lacking = _lacks_an_order(force, dates)
    return tuple(
        Standing(line, Stale.MUST_GO if lacking and line.order is None else _kind(line, dates))
        for line in force
        if line.count
    )


def _kind(line: Printed, dates: StorageDates) -> Stale | None:
    """What is wrong with a line; of two orders that leave at the same moment, the one that bears with it."""
    orders: list[OrderDates | None] = [order for order in dates.orders if order.leaves == line.order]
    orders = orders or [None]
    said = (line.code, line.sell_by, line.into_water_by)
    over = _is_over(line.keeps_until, dates.keeps_until)
    if over or all(_promises_more(line, dates, order) for order in orders):
        return Stale.MUST_GO
    same = any(_says(dates, order) == said for order in orders)
    if same and line.keeps_until in (None, dates.keeps_until):
        return None
    return Stale.COULD_SAY_MORE


def _promises_more(line: Printed, dates: StorageDates, order: OrderDates | None) -> bool:
    """Whether a tag holds stems to more than a tag printed now would.

    A date that cannot be given any more came earlier than any. A tag without a date promises nothing. Another
    code is another way of keeping, unless the stems were put in water as the tag asks.
    """
    code, sell_by, into_water_by = _says(dates, order)
    if _is_over(line.sell_by, sell_by):
        return True
    if dates.lot.in_water is not None and line.code is dates.kept:
        return False
    return line.code is not code or _is_over(line.into_water_by, into_water_by)


def _is_over(printed: datetime | None, computed: datetime | None) -> bool:
    """Whether a printed moment is later than the computed one, or there is none any more."""
    return printed is not None and (computed is None or printed > computed)


def _says(
    dates: StorageDates, order: OrderDates | None
) -> tuple[StorageCode, datetime | None, datetime | None]:
    """What a tag printed now says: code, sell-by, into-water-by. Without a sell-by it says no date at all."""
    if dates.sell_by is None:
        return dates.code, None, None
    if order is not None:
        return dates.code, order.leaves, order.into_water_by
    return dates.code, dates.sell_by, dates.into_water_by


def _promised(dates: StorageDates) -> dict[datetime, int]:
    """Bunches of a lot that part orders take, by departure, as far as there are any."""
    found: dict[datetime, int] = {}
    for bunches in bunches_of(dates) if dates.left is not None else ():
        if bunches.order is not None:
            leaves = bunches.order.leaves
            found[leaves] = found.get(leaves, 0) + bunches.count
    return found


def _lacks_an_order(force: Sequence[Printed], dates: StorageDates) -> bool:
    """Whether bunches of a part order have tags that know nothing of it, because it came later.

    Bunches that have no label at all can still be labelled for it. What an older record did not note of a
    card is not held against it.
    """
    wanted = _promised(dates)
    if not wanted or dates.sell_by is None or not any(line.count for line in force):
        return False
    if force[0].paper == "crates":
        told: dict[datetime, int] = {}
        for line in force:
            if line.promised is None:
                return False
            told |= line.promised
        return any(bunches > told.get(leaves, 0) for leaves, bunches in wanted.items())
    labelled: defaultdict[datetime | None, int] = defaultdict(int)
    for line in force:
        labelled[line.order] += line.count
    short = sum(max(bunches - labelled[leaves], 0) for leaves, bunches in wanted.items())
    return short > _bare(force, dates.lot)
