"""The bench pages: the list of lots to print for, and the form of one lot."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from tagmaker.lot import StorageCode, StorageDates
from tagmaker.scan.live import View
from tagmaker.scan.lot_story import flowers
from tagmaker.scan.pages import SCRIPT, STYLE, Links
from tagmaker.telling.readiness import is_wet

BENCH_STYLE = "bench.css"
BENCH_SCRIPT = "bench.js"


@dataclass(frozen=True, slots=True, kw_only=True)
class BenchRow:
    """A lot in the list of the bench."""

    code: str
    page: str  # name of its page
    name: str  # variety, crop, colour
    stands: StorageCode
    dates: StorageDates
    wet: bool  # one slip in place of labels
    bunches: int | None  # left; None: its stems are not given
    missing: int  # labels that were never printed
    untrue: bool  # its tags are to be printed again


def bench_rows(view: View) -> list[BenchRow]:
    """Every lot of which stems are left, newest first."""
    source = view.shown.source
    return [
        BenchRow(
            code=dates.lot.lot_code,
            page=source.lot_names[dates.lot.lot_code],
            name=flowers(source, dates.lot),
            stands=dates.code,
            dates=dates,
            wet=is_wet(dates),
            bunches=dates.lot.bunches_left,
            missing=view.shown.missing.get(dates.lot.lot_code, 0),
            untrue=any(
                tag.untrue and tag.paper == "wraps" for tag in source.printed.get(dates.lot.lot_code, ())
            ),
        )
        for dates in sorted(source.dated, key=lambda dates: dates.lot.lot_code)
        if dates.left is None or dates.left > 0
    ]


def newest_first(rows: Sequence[BenchRow]) -> list[BenchRow]:
    """The rows by their cut, the last one first."""
    return sorted(rows, key=lambda row: row.dates.lot.cut, reverse=True)


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """What a bench page is made for, beside the lots."""

    token: str  # of its forms
    stock: str  # label stock that was last printed on
    free: Mapping[str, int] = field(default_factory=dict)  # label stock -> first free label, where not 1
    said: Sequence[str] = ()  # why the last wish was not carried out


def bench_page(view: View, asked: Asked) -> str:
    """The list of lots."""
    rows = newest_first(bench_rows(view))
    values = {
        "rows": rows,
        "new": sum(row.missing for row in rows),
        "reprint": [row.code for row in rows if row.untrue],
    }
    return _render(view, "bench.html.j2", asked, **values)


def bench_lot_page(view: View, code: str, asked: Asked) -> str | None:
    """The form of one lot; None: it is not in the list."""
    for row in bench_rows(view):
        if row.code == code:
            tags = (0 if row.untrue else row.missing) or row.bunches or 1  # untrue: all of them anew
            return _render(view, "bench-lot.html.j2", asked, row=row, tags=tags)
    return None


def passcode_page(view: View, token: str, said: Sequence[str] = ()) -> str:
    """The form that asks for the passcode; it shows nothing of the season."""
    asked = Asked(token=token, stock="", said=said)
    return _render(view, "passcode.html.j2", asked)


def _render(view: View, template: str, asked: Asked, **values: object) -> str:
    source = view.shown.source
    page = source.wording.render(
        template,
        farm=source.farm.name,
        now=source.now,
        live=True,
        links=Links(True),
        banner=[*view.banner, *([view.words.prints_nothing()] if view.faults else [])],
        style=STYLE,
        script=SCRIPT,
        bench_style=BENCH_STYLE,
        bench_script=BENCH_SCRIPT,
        stocks=view.shown.stocks,
        columns=view.shown.columns,
        asked=asked,
        **values,
    )
    return page + "\n"
