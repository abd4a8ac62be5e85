"""The rows of the sheet Orders: each read cell by cell, then judged as a whole."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import datetime, timedelta

from tagmaker.errors import Problem
from tagmaker.intake.cells import readers as cells
from tagmaker.intake.cells.dates import SheetDate
from tagmaker.intake.cells.moments import order_moment
from tagmaker.intake.cells.plain_text import nearest, shown
from tagmaker.intake.cells.reading import Reading
from tagmaker.intake.cells.unfit import UnfitCellError
from tagmaker.intake.files.grid import got, text_of
from tagmaker.intake.lots.codes import code_of, code_problem
from tagmaker.intake.lots.entry import Row, read_cells
from tagmaker.intake.orders.cells import BUNCHES, STEMS, Count
from tagmaker.intake.orders.columns import EXAMPLE, EXAMPLE_CODE, ORDERS
from tagmaker.lot import Lot
from tagmaker.storage.demand import WrittenOrder

AHEAD = timedelta(days=366)  # an order further ahead is a slip of the year (chosen)
_CODE = "order"


@dataclass(slots=True)
class _OrderRow:
    """A row whose cells were read, about to be judged as a whole."""

    row: Row
    code: str  # "": none that can be read
    values: Mapping[str, object]
    faulty: set[str]  # columns whose cell could not be read, or contradicts another
    problems: list[Problem] = field(default_factory=list)

    def refuse(self, column: str, what: str, remedy: str) -> None:
        """Note that a cell cannot be taken as it stands."""
        self.faulty.add(column)
        self.problems.append(self.row.problem(column, what, remedy, ""))

    def got(self, column: str) -> str:
        """A cell as messages repeat it."""
        return got(self.row.cells.get(column))

    def words(self, column: str) -> tuple[str, ...]:
        """The names in a cell; none where any will do."""
        found = self.values.get(column, ())
        assert isinstance(found, tuple)
        return found


def read_orders(
    rows: Sequence[Row], lots: Sequence[Lot], reading: Reading
) -> tuple[list[WrittenOrder], list[Problem], list[Problem]]:
    """The orders of some rows, the problems of the others, and what is worth a word.

    A row with nothing but a code is left alone, and so is the starter's example as it was written.
    """
    rows = [row for row in rows if row.cells.keys() != {_CODE} and not _is_example(row)]
    as_lots = [_with_code_as_lot(row) for row in rows]
    codes = [code_of(row) for row in as_lots]
    taken, count = {code for code in codes if code}, Counter(codes)
    first: dict[str, Row] = {}
    orders: list[WrittenOrder] = []
    problems: list[Problem] = []
    warnings: list[Problem] = []
    for row, as_lot, code in zip(rows, as_lots, codes, strict=True):
        found = _read(row, code, reading)
        if not code:
            fault = code_problem(as_lot, taken)
            found.refuse(_CODE, fault.what.replace("lot must", "order must", 1), fault.remedy)
        elif count[code] > 1 and code in first:
            what = f"code {code} is already used in {_short(first[code].place(_CODE))}"
            found.refuse(_CODE, what, "Give one of the two rows another code.")
        first.setdefault(code, row)
        order = _order(found, reading)
        problems += found.problems
        if order is not None and count[code] == 1:
            orders.append(order)
            warnings += _said_of(order, found, lots, reading.now)
    return orders, problems, warnings


def _is_example(row: Row) -> bool:
    """Whether a row is the starter's own, not touched; its use is one of the farm's."""
    cells = {column: text_of(value) for column, value in row.cells.items()}
    return {**cells, "use": EXAMPLE["use"]} == EXAMPLE


def _with_code_as_lot(row: Row) -> Row:
    """The row as the readers of codes want it, which are those of lots."""
    known = {"lot": row.cells[_CODE]} if _CODE in row.cells else {}
    return Row(row.where, row.number, known, lambda _: row.place(_CODE))


def _short(where: str) -> str:
    return where.rsplit(", ", 1)[-1] if ", column " not in where else where.split(", ")[1]


def _read(row: Row, code: str, reading: Reading) -> _OrderRow:
    columns = [column for column in ORDERS.columns if column.name != _CODE]
    values, faults = read_cells(row, columns, reading)
    if "note" in faults:  # it is told wherever the sheet's faults are, and notes are not for everybody
        what = "note must be plain text, of at most 2,000 letters (got something else)"
        faults["note"] = replace(faults["note"], what=what)
    found = _OrderRow(row, code, values, set(faults), list(faults.values()))
    if code == EXAMPLE_CODE:
        remedy = "Give it a code of its own, or clear the row."
        found.refuse(_CODE, f"order must be a code of your own (got {found.got(_CODE)})", remedy)
    return found


def _order(found: _OrderRow, reading: Reading) -> WrittenOrder | None:
    """The order that a row is; None where something of it is missing or contradicts the rest."""
    for column, remedy in (
        ("leaves", f"Write the day it leaves the farm, like {reading.now.date()}."),
        ("use", "Write what it is for: one of the uses of the settings."),
    ):
        if column not in found.row.cells:
            found.refuse(column, f"{column} must be filled in (got nothing)", remedy)
    count, done = _count(found), _done(found)
    forms = _forms(found, reading)
    leaves = _leaves(found, reading)
    if found.problems or leaves is None or count is None:
        return None
    in_stems = count.unit == STEMS
    return WrittenOrder(
        order_code=found.code,
        leaves=leaves,
        use=str(found.values["use"]),
        crops=frozenset(found.words("crop")),
        forms=forms,
        varieties=frozenset(name.casefold() for name in found.words("variety")),
        colours=frozenset(name.casefold() for name in found.words("colour")),
        stems=count.number if in_stems else None,
        bunches=None if in_stems else count.number,
        done_stems=done if in_stems else 0,
        done_bunches=0 if in_stems else done,
        note=str(found.values.get("note", "")),
        where=found.row.where,
        row=found.row.number,
    )


def _leaves(found: _OrderRow, reading: Reading) -> datetime | None:
    when, use = found.values.get("leaves"), found.values.get("use")
    if not isinstance(when, SheetDate) or use is None:
        return None
    leaves = order_moment(when, reading.farm.uses[str(use)].leaves)
    if leaves - reading.now > AHEAD:
        what = f"leaves must be at most a year ahead (got {found.got('leaves')})"
        found.refuse("leaves", what, "Correct the year.")
    return leaves


def _count(found: _OrderRow) -> Count | None:
    """How many are ordered: one of the two columns says it."""
    filled = [unit for unit in (STEMS, BUNCHES) if unit in found.row.cells]
    if len(filled) > 1:
        both = f"{found.got(STEMS)} stems and {found.got(BUNCHES)} bunches"
        found.refuse(BUNCHES, f"stems or bunches must be filled in, not both (got {both})", "Clear one.")
    elif not filled:
        what = "stems or bunches must be filled in (got nothing)"
        found.refuse(STEMS, what, "Write how many are ordered.")
    count = found.values.get(filled[0]) if len(filled) == 1 else None
    return count if isinstance(count, Count) else None


def _done(found: _OrderRow) -> int:
    """How many of it have left already, in the unit of the row."""
    done = found.values.get("done", Count())
    filled = [unit for unit in (STEMS, BUNCHES) if unit in found.row.cells]
    count = found.values.get(filled[0]) if len(filled) == 1 else None
    if not isinstance(done, Count) or not isinstance(count, Count):
        return 0
    if done.everything:
        return count.number
    if done.unit not in ("", count.unit):
        what = f"done must be in {count.unit}, as the order is (got {found.got('done')})"
        found.refuse("done", what, f"Write how many {count.unit} have left.")
    elif done.number > count.number:
        what = f"done must be at most what is ordered, {count.number} (got {found.got('done')})"
        found.refuse("done", what, "Write yes if all of it has left.")
    return done.number


def _forms(found: _OrderRow, reading: Reading) -> frozenset[str]:
    """The forms of the crops that may serve it; where its crop is blank, of any crop that has them."""
    crops = found.words("crop") or tuple(c for c in reading.crops.crops if reading.crops.forms(c))
    forms: set[str] = set()
    for name in found.words("form") if "crop" not in found.faulty else ():
        meant, fault = _form_of(name, crops, reading)
        forms |= meant
        if fault is not None:
            some = found.words("crop")
            must = fault.must if some else "a form of some crop"
            remedy = "Correct it, or leave it blank for any."
            found.refuse("form", f"form must be {must} (got {shown(name)})", remedy)
    return frozenset(forms)


def _form_of(name: str, crops: Iterable[str], reading: Reading) -> tuple[set[str], UnfitCellError | None]:
    """What a form is called in the crop table, crop by crop; a fault where none of them has it."""
    meant: set[str] = set()
    fault: UnfitCellError | None = None
    for crop in crops:
        try:
            meant.add(cells.crop_form(name, crop, reading.crops))
        except UnfitCellError as unfit:
            fault = fault or unfit
    return meant, None if meant else fault


def _said_of(order: WrittenOrder, found: _OrderRow, lots: Sequence[Lot], now: datetime) -> Iterator[Problem]:
    """What is worth a word about an order that stands."""
    if order.is_done:
        return
    if order.leaves < now:
        what = f"leaves must lie ahead, or its order must be done (got {found.got('leaves')}, which is past)"
        yield found.row.problem("leaves", what, "Write under done what has left, or yes.", "")
        return
    said: tuple[tuple[str, Callable[[Lot], str]], ...] = (
        ("variety", lambda lot: lot.variety),
        ("colour", lambda lot: lot.colour),
    )
    for column, of_lot in said:
        if not found.words(column):
            continue
        known = {of_lot(lot) for lot in lots if not order.crops or lot.crop in order.crops} - {""}
        folded = {name.casefold() for name in known}
        for name in found.words(column):
            if name.casefold() not in folded:
                near = nearest(name, sorted(known))
                remedy = f"The nearest is {near}." if near else "It counts once a lot has it."
                what = f"{column}: no lot and no plan has {shown(name)}"
                yield found.row.problem(column, what, remedy, "")
