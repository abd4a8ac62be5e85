"""The print record: which tags were printed with which dates, and what has become of them since.

It is kept in a file beside the sheet (`record_file`) and never stops printing: where it cannot be read it is
set aside, where it cannot be written a stand-in remembers for this run only, and both are said in a message.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from pathlib import Path
from types import MappingProxyType
from typing import Literal, get_args

from tagmaker.lot import Lot, OrderDates, StorageCode, StorageDates
from tagmaker.record import file as record_file
from tagmaker.record.file import FileOutOfReach, Row, UnfitFile
from tagmaker.telling.readiness import is_wet

Paper = Literal["wraps", "crates"]
NO_SHEETS: Mapping[str, int] = MappingProxyType({})


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
    replaces: bool = True  # in place of every earlier tag of the lot; False: for bunches that had none
    taken: int = 0  # stems of the lot that were sold, dumped or split off by then
    printing: int = 0  # lines with the same number were printed together; given by the record


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
    return Printed(
        moment=now,
        paper=paper,
        lot_code=dates.lot.lot_code,
        order=None if order is None else order.leaves,
        count=0 if paper == "wraps" and is_wet(dates) else count,
        code=code,
        sell_by=sell_by,
        into_water_by=into_water_by,
        replaces=replaces,
        taken=_taken(dates.lot),
    )


# --- what became of printed tags ---------------------------------------------------------------------------


def by_lot(lines: Iterable[Printed]) -> Mapping[str, Sequence[Printed]]:
    """The lines of each lot; an empty sequence for a lot that has none."""
    found: defaultdict[str, list[Printed]] = defaultdict(list)
    for line in lines:
        found[line.lot_code].append(line)
    return found


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


def stale(lines: Iterable[Printed], dates: StorageDates) -> bool:
    """Whether a lot has tags that are no longer true and should be printed again.

    They are where the code is another, or a printed sell-by or into-water-by is later than the computed one.
    A date that cannot be given any more is one that came earlier than any; tags without a date hold nobody
    to one, so they are stale as soon as there is one. A computed date that moved later leaves a tag on the
    safe side, and true.

    All tags count since the last printing that replaced the earlier ones: after labels for a few new bunches
    the older ones are as wrong as before. Tags of a part order are compared with that order, or with the
    lot's own dates once it is no longer to come.
    """
    if dates.left is not None and dates.left <= 0:
        return False
    return any(line.count and _is_outdated(line, dates) for line in _in_force(lines, dates.lot))


@dataclass(frozen=True, slots=True)
class Standing:
    """Tags that are in use, against what would be printed now."""

    line: Printed
    differs: bool  # a tag printed now would say something else
    untrue: bool  # and these promise too much, or another way of keeping


def standing(lines: Iterable[Printed], dates: StorageDates) -> tuple[Standing, ...]:
    """The tags of a lot that no later printing replaced, each against the dates as they are now."""
    return tuple(
        Standing(line, _differs(line, dates), _is_outdated(line, dates))
        for line in _in_force(lines, dates.lot)
        if line.count
    )


def _differs(line: Printed, dates: StorageDates) -> bool:
    orders = [order for order in dates.orders if order.leaves == line.order]
    said = (line.code, line.sell_by, line.into_water_by)
    return all(_says(dates, order) != said for order in orders or (None,))


def _is_outdated(line: Printed, dates: StorageDates) -> bool:
    """No tag printed now would bear with the printed dates (two orders may leave at the same moment)."""
    orders = [order for order in dates.orders if order.leaves == line.order]
    for order in orders or (None,):
        code, sell_by, into_water_by = _says(dates, order)
        late = _is_later(line.sell_by, sell_by) or _is_later(line.into_water_by, into_water_by)
        if line.code is code and not late:
            return False
    return True


def _is_later(printed: datetime | None, computed: datetime | None) -> bool:
    if printed is None or computed is None:
        return printed is not computed
    return printed > computed


def _says(
    dates: StorageDates, order: OrderDates | None
) -> tuple[StorageCode, datetime | None, datetime | None]:
    """What a tag printed now says: code, sell-by, into-water-by. Without a sell-by it says no date at all."""
    if dates.sell_by is None:
        return dates.code, None, None
    if order is not None:
        return dates.code, order.leaves, order.into_water_by
    return dates.code, dates.sell_by, dates.into_water_by


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


# --- the record --------------------------------------------------------------------------------------------


class PrintRecord:
    """What was printed from one sheet. It holds no file open, so there is nothing to close.

    `lines` answers from what was read when it was opened and remembered since.
    """

    def __init__(
        self,
        path: Path | None = None,
        lines: Iterable[Printed] = (),
        sheets: Mapping[str, int] = NO_SHEETS,
        now: datetime = datetime.min,
    ) -> None:
        """Without a path it is a stand-in that remembers for this run only; `now` names what is set aside."""
        self._path = path
        self._now = now
        self._lines = list(lines)
        self._sheets = dict(sheets)

    def next_label(self, stock: str) -> int:
        """The first free label of the sheet of a stock that was printed last; 1 for a new sheet."""
        return self._sheets.get(stock, 1)

    def lines(self, paper: Paper, lot: str | None = None) -> tuple[Printed, ...]:
        """The lines of one paper, of one lot where a lot code is given, in the order of printing."""
        return tuple(
            line for line in self._lines if line.paper == paper and (lot is None or line.lot_code == lot)
        )

    def remember(self, lines: Sequence[Printed], sheets: Mapping[str, int] = NO_SHEETS) -> str | None:
        """Add the lines of one printing: all of them, or after a kill in the middle none.

        Args:
            lines: what was printed
            sheets: label stock -> its first free label from now on

        Returns:
            a message where they could be remembered for this run only, or the file had to be set aside.
        """
        message = None
        if not lines and not sheets:
            return message
        number = max((line.printing for line in self._lines), default=0) + 1
        if self._path is not None:
            path, rows = self._path, [_row(line) for line in lines]
            try:
                number, message = record_file.settled(
                    path, self._now, lambda: record_file.append_rows(path, rows, sheets)
                )
            except FileOutOfReach as error:
                self._path, message = None, _not_kept(path, error)
        self._lines += [replace(line, printing=number) for line in lines]
        self._sheets.update(sheets)
        return message


def record_path(sheet: Path) -> Path:
    """Where the record of a sheet lies; the same sheet saved as another type of file shares it."""
    return sheet.with_name(f"{sheet.stem}-printed.sqlite")


def open_record(sheet: Path, now: datetime, *, create: bool = True) -> tuple[PrintRecord, str | None]:
    """The print record beside a sheet, and what has to be said about it.

    A file that is damaged, of a later version or no record at all is renamed and a new one begun. Where the
    file cannot be written, a stand-in with the lines that can be read takes its place.

    Args:
        sheet: path of the lot sheet
        now: local time of the farm, for the name of a file that is set aside
        create: begin a record where there is none; a command that only looks leaves the folder alone
    """
    path = record_path(sheet)
    if not create and record_file.identity(path) is None:
        return PrintRecord(path, now=now), None
    try:
        (lines, sheets), message = record_file.settled(path, now, lambda: _read(path))
    except FileOutOfReach as error:
        return PrintRecord(None, *_copied(path)), _not_kept(path, error)
    return PrintRecord(path, lines, sheets, now), message


def _read(path: Path) -> tuple[tuple[Printed, ...], Mapping[str, int]]:
    return _parsed(record_file.read_rows(path)), record_file.read_sheets(path)


def _copied(path: Path) -> tuple[tuple[Printed, ...], Mapping[str, int]]:
    """What a copy of the record tells; nothing where that cannot be read either."""
    try:
        return record_file.read_copy(path, _read)
    except (FileOutOfReach, UnfitFile):
        return (), NO_SHEETS


def _not_kept(path: Path, error: FileOutOfReach) -> str:
    return (
        f"{path}: the print record must be a file that can be written (got: {error}). Printing goes on, but "
        "is not remembered. Mend that, or print with --no-record."
    )


def _parsed(rows: Iterable[Row]) -> tuple[Printed, ...]:
    try:
        return tuple(_line(row) for row in rows)
    except (TypeError, ValueError) as error:
        raise UnfitFile(f"it is damaged: {error}") from error


def _line(row: Row) -> Printed:
    """A row as it was found; anything may stand in it."""
    printing, moment, paper, lot_code, order, count, code, sell_by, into_water_by, replaces, taken = row
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
        replaces=_whole(replaces) == 1,
        taken=_whole(taken),
        printing=_whole(printing),
    )


def _moment(text: str) -> datetime:
    moment = datetime.fromisoformat(text)
    if moment.tzinfo is not None:
        raise ValueError(f"a moment must be local (got {text!r})")
    return moment


def _whole(number: object) -> int:
    if not isinstance(number, int):
        raise TypeError(f"a count must be a whole number (got {number!r})")
    return number


def _row(line: Printed) -> Row:
    """A line as it is stored, in the order of `record_file.COLUMNS`."""
    moments = (line.moment, line.order, line.sell_by, line.into_water_by)
    moment, order, sell_by, into_water_by = (None if at is None else at.isoformat() for at in moments)
    kept = (moment, line.paper, line.lot_code, order, line.count, line.code.value, sell_by, into_water_by)
    return (*kept, int(line.replaces), line.taken)
