"""A line of the record and the row in which it is stored."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from typing import Any, get_args

from tagmaker.lot import StorageCode
from tagmaker.record.tags import Paper, Printed

COLUMNS = (
    "moment",
    "paper",
    "lot",
    "order_leaves",
    "count",
    "code",
    "sell_by",
    "into_water_by",
    "replaces",
    "taken",
    "keeps_until",
    "promised",
)


def row_of(line: Printed) -> tuple[object, ...]:
    """A line as it is stored, in the order of COLUMNS."""
    moments = (line.moment, line.order, line.sell_by, line.into_water_by, line.keeps_until)
    moment, order, sell_by, into_water_by, keeps_until = (
        None if at is None else at.isoformat() for at in moments
    )
    promised = None
    if line.promised is not None:
        promised = " ".join(f"{leaves.isoformat()} {bunches}" for leaves, bunches in line.promised.items())
    kept = (moment, line.paper, line.lot_code, order, line.count, line.code.value, sell_by, into_water_by)
    return (*kept, int(line.replaces), line.taken, keeps_until, promised)


def line_of(row: Sequence[Any]) -> Printed:
    """A row as it was found; anything may stand in it."""
    printing, moment, paper, lot_code, order, count, code, sell_by, into_water_by, *more = row
    replaces, taken, keeps_until, promised = more
    if paper not in get_args(Paper):
        raise ValueError(f"paper must be one of {', '.join(get_args(Paper))} (got {paper!r})")
    return Printed(
        moment=_moment(moment),
        paper=paper,
        lot_code=str(lot_code),
        order=None if order is None else _moment(order),
        count=_whole(count),
        code=StorageCode(code),
        sell_by=None if sell_by is None else _moment(sell_by),
        into_water_by=None if into_water_by is None else _moment(into_water_by),
        keeps_until=None if keeps_until is None else _moment(keeps_until),
        promised=None if promised is None else _bunches(str(promised).split()),
        replaces=_whole(replaces) == 1,
        taken=_whole(taken),
        printing=_whole(printing),
    )


def _bunches(words: Sequence[str]) -> dict[datetime, int]:
    return {_moment(at): int(bunches) for at, bunches in zip(words[::2], words[1::2], strict=True)}


def _moment(text: str) -> datetime:
    moment = datetime.fromisoformat(text)
    if moment.tzinfo is not None:
        raise ValueError(f"a moment must be local (got {text!r})")
    return moment


def _whole(number: object) -> int:
    if not isinstance(number, int):
        raise TypeError(f"a count must be a whole number (got {number!r})")
    return number
