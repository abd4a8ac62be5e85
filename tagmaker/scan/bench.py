"""The bench pages: the list of lots to print for, and the form of one lot."""

from __future__ import annotations

import secrets
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from tagmaker.farm import CARD_NAMES
from tagmaker.lot import State, StorageCode, StorageDates
from tagmaker.scan.form_page import form_page
from tagmaker.scan.live import View
from tagmaker.scan.lot_story import Todo, flowers, next_todo
from tagmaker.scan.wish import LastPaper, said_free
from tagmaker.storage.whereabouts import cooler_at
from tagmaker.telling.agenda import spot_at
from tagmaker.telling.readiness import is_wet


@dataclass(frozen=True, slots=True, kw_only=True)
class BenchRow:
    """A lot in the list of the bench."""

    code: str
    page: str  # name of its page
    name: str  # variety, crop, colour
    cooler: str  # where it stands, or stood before it was taken out
    place: str  # where in it
    next: Todo | None  # what is to be done with it next
    stands: StorageCode
    dates: StorageDates
    wet: bool  # one slip in place of labels
    bunches: int | None  # left; None: its stems are not given
    gets_labels: bool  # False: too old, without a date, or perhaps gone
    missing: int  # labels that were never printed
    must_go: bool  # its labels promise too much
    could_say_more: bool  # its labels hold, and new ones would say something else
    cards: str  # the same of its crate cards: "must go", "could say more" or nothing


def bench_rows(view: View) -> list[BenchRow]:
    """Every lot of which stems are left, in the order of their codes."""
    known = sorted(view.shown.source.dated, key=lambda dates: dates.lot.lot_code)
    return [_row(view, dates) for dates in known if dates.left is None or dates.left > 0]


def _row(view: View, dates: StorageDates) -> BenchRow:
    source, code, wet = view.shown.source, dates.lot.lot_code, is_wet(dates)
    tags = source.printed.get(code, ())
    worst = {
        paper: "must go" if any(tag.untrue for tag in some) else "could say more"
        for paper in ("wraps", "crates")
        if (some := [tag for tag in tags if tag.paper == paper and tag.differs])
        and dates.lot.may_have_left is None
    }
    return BenchRow(
        code=code,
        page=source.lot_names[code],
        name=flowers(source, dates.lot),
        cooler=cooler_at(dates.lot, source.farm, source.now).name,
        place=spot_at(dates.lot, source.now),
        next=next_todo(source, dates),
        stands=dates.code,
        dates=dates,
        wet=wet,
        bunches=dates.lot.bunches_left,
        gets_labels=(wet or dates.state not in (State.TOO_OLD, State.NO_DATE))
        and dates.lot.may_have_left is None,
        missing=view.shown.missing.get(code, 0),
        must_go=worst.get("wraps") == "must go",
        could_say_more=worst.get("wraps") == "could say more",
        cards=worst.get("crates", ""),
    )


def newest_first(rows: Sequence[BenchRow]) -> list[BenchRow]:
    """The rows by their cut, the last one first."""
    return sorted(rows, key=lambda row: row.dates.lot.cut, reverse=True)


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """What a bench page is made for, beside the lots."""

    token: str  # of its forms
    stock: str  # label stock that was last printed on
    free: Mapping[str, int] = field(default_factory=dict)  # label stock -> first free label, where not 1
    last: LastPaper | None = None  # what was printed last
    said: Sequence[str] = ()  # why the last wish was not carried out
    done: Sequence[str] = ()  # what came of it

    @property
    def shown_free(self) -> str:
        """What the forms send back of the first free labels."""
        return said_free(self.free)

    def new_form(self) -> str:
        """An id for one form: the same form sent twice is one printing."""
        return secrets.token_urlsafe(16)


def bench_page(view: View, asked: Asked) -> str:
    """The list of lots."""
    rows = newest_first(bench_rows(view))
    values = {
        "rows": rows,
        "new": sum(row.missing for row in rows),
        "must_go": sum(row.must_go and row.gets_labels for row in rows),
        "say_more": sum(row.could_say_more and row.gets_labels for row in rows),
        "stale_cards": sum(row.cards == "must go" for row in rows),
    }
    return render_bench(view, "bench.html.j2", asked, **values)


def bench_lot_page(view: View, code: str, asked: Asked) -> str | None:
    """The form of one lot; None: it is not in the list."""
    for row in bench_rows(view):
        if row.code == code:
            # All of them anew where they must go; one where every bunch has its label.
            tags = (row.bunches if row.must_go else row.missing) or 1
            return render_bench(view, "bench-lot.html.j2", asked, row=row, tags=tags)
    return None


def printers(view: View) -> list[str]:
    """Names of the settings' printers at which the bench may print."""
    return [name for name, printer in view.shown.source.farm.printers.items() if printer.queue is not None]


def render_bench(view: View, template: str, asked: Asked, **values: object) -> str:
    """A page of the bench, from its template."""
    shown = {
        "stocks": view.shown.stocks,
        "columns": view.shown.columns,
        "printers": printers(view),
        "cards": CARD_NAMES,
        "card": view.shown.source.farm.crate_card,
        "asked": asked,
    }
    more = [view.words.prints_nothing()] if view.faults else []
    return form_page(view, template, more=more, **{**shown, **values})
