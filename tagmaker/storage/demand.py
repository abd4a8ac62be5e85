"""What buyers want: a row of the Orders sheet, and which lots its words fit.

An order speaks of stems or of bunches, of whatever size a lot has them; it names no lot. Which lots may
serve it is asked of the dating rules, never answered here.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from tagmaker.lot import Lot


@dataclass(frozen=True, slots=True, kw_only=True)
class WrittenOrder:
    """A row of the Orders sheet, read and checked. One of `stems` and `bunches` is given."""

    order_code: str  # the grower's own, unique among the orders
    leaves: datetime
    use: str  # name of one of the farm's uses
    crops: frozenset[str] = frozenset()  # crops of the crop table; empty: any
    forms: frozenset[str] = frozenset()  # as the crop table calls them; empty: any
    varieties: frozenset[str] = frozenset()  # case-folded; empty: any
    colours: frozenset[str] = frozenset()  # case-folded; empty: any
    stems: int | None = None
    bunches: int | None = None
    done_stems: int = 0  # served already, of an order in stems
    done_bunches: int = 0  # likewise in bunches
    note: str = ""  # not shown to whom is only reading
    where: str = ""  # file, sheet and row, as the grower sees them
    row: int = 0  # row of the sheet, counted from 1 as a spreadsheet shows it

    @property
    def open_stems(self) -> int | None:
        """Stems still to be served; None where the order is in bunches."""
        return None if self.stems is None else max(self.stems - self.done_stems, 0)

    @property
    def open_bunches(self) -> int | None:
        """Bunches still to be served; None where the order is in stems."""
        return None if self.bunches is None else max(self.bunches - self.done_bunches, 0)

    @property
    def is_done(self) -> bool:
        """Whether nothing of it is left to be served."""
        return not (self.open_stems or self.open_bunches)

    def fits(self, lot: Lot) -> bool:
        """Whether its words are true of a lot; whether the stems will do is another question.

        A form that nobody wrote down is true of none.
        """
        return not (self.forms and lot.form_assumed) and all(
            not asked or said in asked
            for asked, said in (
                (self.crops, lot.crop),
                (self.forms, lot.form),
                (self.varieties, lot.variety.casefold()),
                (self.colours, lot.colour.casefold()),
            )
        )
